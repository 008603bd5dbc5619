//! Lists that are drawn only where they are seen, walked with the arrow keys.

use super::theme;
use egui::{
    Align, Color32, EventFilter, Key, Layout, Rect, Response, Role, ScrollArea, Sense, Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo, vec2,
};

/// What somebody did with a list.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ListEvents {
    /// The row under the pointer.
    pub hovered: Option<usize>,
    /// The row clicked, or reached with the arrow keys.
    pub chosen: Option<usize>,
    /// The row that is being dragged.
    pub dragged: Option<usize>,
    /// The row that was dragged until now.
    pub dropped: Option<usize>,
    /// The row under the pointer, also while another is dragged.
    pub under: Option<usize>,
    /// Where that row is drawn.
    pub under_at: Option<Rect>,
}

/// A list of many rows of one height.
#[derive(Clone, Copy, Debug)]
pub struct List<'a> {
    /// Tells lists of one window apart.
    pub name: &'a str,
    /// How many rows.
    pub rows: usize,
    /// Height of one row.
    pub row_height: f32,
    /// Height of the list at most.
    pub height: f32,
    /// The chosen row.
    pub chosen: Option<usize>,
    /// A row to wash lightly: the one whose thing is under the pointer elsewhere.
    pub glowing: Option<usize>,
    /// Bring the chosen row into view now.
    pub reveal: bool,
    /// It keeps its height where the worksheet has to scroll for it; otherwise it takes what is left of the worksheet's first screen.
    pub firm: bool,
}

impl List<'_> {
    /// Draws the rows in view; `row` draws one and gives its name for those who hear the screen.
    pub fn show(self, ui: &mut Ui, row: impl FnMut(&mut Ui, usize) -> String) -> ListEvents {
        self.draw(ui, Sense::click(), row)
    }

    /// The same for rows that can be dragged.
    pub fn show_movable(self, ui: &mut Ui, row: impl FnMut(&mut Ui, usize) -> String) -> ListEvents {
        self.draw(ui, Sense::click_and_drag(), row)
    }

    fn draw(self, ui: &mut Ui, sense: Sense, mut row: impl FnMut(&mut Ui, usize) -> String) -> ListEvents {
        let mut events = ListEvents::default();
        let memory_id = ui.scope_id().with((self.name, "list"));
        let before: ListMemory = ui.data(|d| d.get_temp(memory_id)).unwrap_or_default();
        let mut area = ScrollArea::vertical().id_salt(self.name).max_height(self.height).auto_shrink([false, true]);
        if self.firm {
            area = area.min_scrolled_height(self.height.min(self.rows as f32 * self.row_height));
        }
        if let Some(offset) = self.offset_to_reveal(before.offset) {
            area = area.vertical_scroll_offset(offset);
        }
        let gap = std::mem::replace(&mut ui.spacing_mut().item_spacing.y, 0.0);
        let mut keyed = false;
        let drawn = area.show_rows(ui, self.row_height, self.rows, |ui, range| {
            for i in range {
                let response = self.one(ui, i, before.keyed, sense, &mut row);
                if response.clicked() {
                    response.request_focus();
                    events.chosen = Some(i);
                }
                if response.hovered() {
                    events.hovered = Some(i);
                }
                events.dragged = events.dragged.or(response.dragged().then_some(i));
                events.dropped = events.dropped.or(response.drag_stopped().then_some(i));
                if response.contains_pointer() && events.under.is_none() {
                    (events.under, events.under_at) = (Some(i), Some(response.rect.intersect(ui.clip_rect())));
                }
                keyed |= response.has_focus();
            }
        });
        ui.spacing_mut().item_spacing.y = gap;
        ui.data_mut(|d| d.insert_temp(memory_id, ListMemory { offset: drawn.state.clamped_offset().y, keyed }));
        if keyed && let Some(next) = self.walked(ui) {
            events.chosen = Some(next);
        }
        events
    }

    /// The row that an arrow key leads to.
    fn walked(&self, ui: &Ui) -> Option<usize> {
        let last = self.rows.checked_sub(1)?;
        let page = (self.height / self.row_height).max(2.0) as usize - 1;
        let now = self.chosen;
        ui.input(|i| {
            let on = |by: usize| Some(now.map_or(0, |n| n.saturating_add(by).min(last)));
            let back = |by: usize| Some(now.map_or(0, |n| n.saturating_sub(by)));
            match () {
                () if i.key_pressed(Key::ArrowDown) => on(1),
                () if i.key_pressed(Key::ArrowUp) => back(1),
                () if i.key_pressed(Key::PageDown) => on(page),
                () if i.key_pressed(Key::PageUp) => back(page),
                () if i.key_pressed(Key::Home) => Some(0),
                () if i.key_pressed(Key::End) => Some(last),
                () => None,
            }
        })
        .filter(|next| now != Some(*next))
    }

    /// Where to scroll so that the chosen row is seen, when it is not.
    fn offset_to_reveal(&self, now: f32) -> Option<f32> {
        let chosen = self.chosen.filter(|_| self.reveal)? as f32 * self.row_height;
        let seen = chosen >= now && chosen + self.row_height <= now + self.height;
        (!seen).then(|| (chosen - self.height / 2.0).max(0.0))
    }

    fn one(&self, ui: &mut Ui, i: usize, keyed: bool, sense: Sense, row: &mut impl FnMut(&mut Ui, usize) -> String) -> Response {
        let tones = theme::tones(ui);
        let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), self.row_height), sense);
        let chosen = self.chosen == Some(i);
        if chosen && keyed && self.reveal {
            response.request_focus();
        }
        // The arrows belong to the list while one of its rows has the keyboard.
        let arrows = EventFilter { vertical_arrows: true, ..Default::default() };
        ui.memory_mut(|m| m.set_focus_lock_filter(response.id, arrows));
        let wash = if chosen || response.hovered() || self.glowing == Some(i) { tones.accent_wash } else { Color32::TRANSPARENT };
        ui.painter().rect_filled(rect, theme::CORNER, wash);
        if chosen {
            ui.painter().vline(rect.left() + 1.0, rect.y_range(), Stroke::new(2.0, tones.accent));
        }
        if response.has_focus() {
            ui.painter().rect_stroke(rect, theme::CORNER, Stroke::new(1.0, tones.accent), StrokeKind::Inside);
        }
        let inside = rect.shrink2(vec2(theme::APART, 0.0));
        let mut child = ui.new_child(UiBuilder::new().max_rect(inside).layout(Layout::left_to_right(Align::Center)));
        child.style_mut().interaction.selectable_labels = false;
        let name = row(&mut child, i);
        // A line that is cut says all of itself here.
        let response = if response.dragged() { response } else { response.on_hover_text(&name) };
        response.widget_info(|| WidgetInfo::selected(Role::ListItem, true, chosen, &name));
        response
    }
}

/// What a list remembers from frame to frame.
#[derive(Clone, Copy, Debug, Default)]
struct ListMemory {
    offset: f32,
    keyed: bool,
}
