//! What belongs to the map itself, upper left over it: views, the ground underneath, measuring.

use crate::action::{Action, MapAction};
use crate::command::Command;
use crate::jobs::JobKind;
use crate::session::Place;
use crate::ui::{notice, theme, waiting, words};
use crate::view::View;
use egui::containers::menu::{MenuButton, MenuConfig};
use egui::{Align, Area, Button, Frame, Id, Layout, Margin, Order, PopupCloseBehavior, Rect, RichText, Stroke, TextEdit, Ui, WidgetInfo};
use yardring_core::place::Local;

/// What is typed into the bar.
#[derive(Clone, Debug, Default)]
pub struct BarMemory {
    view_name: String,
    address: String,
    attribution: String,
    caution: Option<String>,
    told: Option<String>,
}

impl BarMemory {
    /// Nothing typed yet; `caution` is what to know about whatever draws the map, if anything.
    pub fn new(caution: Option<String>) -> Self {
        Self { caution, ..Self::default() }
    }

    /// Says something over the map until somebody has read it.
    pub fn tell(&mut self, words: String) {
        self.told = Some(words);
    }
}

/// Draws the bar, and what is being measured below it.
pub fn show(ui: &Ui, map: Rect, view: &View<'_>, memory: &mut BarMemory, actions: &mut Vec<Action>) {
    let at = map.left_top() + egui::vec2(theme::INSIDE, theme::INSIDE);
    let area = Area::new(Id::unique("map bar")).order(Order::Middle).fixed_pos(at).constrain_to(map);
    area.show(ui.ctx(), |ui| {
        ui.spacing_mut().item_spacing.y = theme::NEAR;
        let menu = MenuConfig::new().close_behavior(PopupCloseBehavior::CloseOnClickOutside);
        let (button, _) = MenuButton::new("Views, ground, measure").config(menu).ui(ui, |ui| {
            ui.set_width(260.0);
            views(ui, view, memory, actions);
            ui.separator();
            item(ui, Command::Measure, view, actions);
            ui.separator();
            ground(ui, view, memory, actions);
            if let Some(caution) = &memory.caution {
                ui.separator();
                say(ui, caution);
            }
        });
        notice::focus_ring(ui, &button);
        let width = (map.width() - 2.0 * theme::INSIDE).min(theme::CARD);
        if let Some(way) = &view.session.stretch {
            panel(ui, width, |ui| measured(ui, view, way, actions));
        }
        if let Some(progress) = view.progress(JobKind::OpenGround) {
            panel(ui, width, |ui| {
                if waiting::waiting(ui, &progress) {
                    actions.push(Action::Cancel(JobKind::OpenGround));
                }
            });
        }
        if let Some(words) = &memory.told {
            let read = panel(ui, width, |ui| {
                ui.label(words);
                ui.button("Understood").clicked()
            });
            if read {
                memory.told = None;
            }
        }
        if let Some(trouble) = view.session.trouble_at(Place::Ground) {
            panel(ui, width, |ui| {
                notice::trouble(ui, trouble);
                if ui.button("Understood").clicked() {
                    actions.push(Action::Dismiss);
                }
            });
        }
    });
}

fn panel<R>(ui: &mut Ui, width: f32, draw: impl FnOnce(&mut Ui) -> R) -> R {
    let tones = theme::tones(ui);
    let frame = Frame::new().fill(tones.sheet).stroke(Stroke::new(1.0, tones.line)).corner_radius(theme::CORNER);
    let drawn = frame.inner_margin(Margin::same(theme::APART as i8)).show(ui, |ui| {
        ui.set_width(width - 2.0 * theme::APART);
        draw(ui)
    });
    drawn.inner
}

/// One command as a line of the menu, which closes when it is taken.
fn item(ui: &mut Ui, command: Command, view: &View<'_>, actions: &mut Vec<Action>) {
    let action = command.action(view);
    let button = Button::new(command.label()).shortcut_text(command.keys(ui.ctx()));
    let button = ui.add_enabled(action.is_some(), button).on_hover_text(command.tooltip());
    if button.on_disabled_hover_text(command.not_now()).clicked() {
        actions.extend(action);
        ui.close();
    }
}

/// Back and forward, and the views that were kept.
fn views(ui: &mut Ui, view: &View<'_>, memory: &mut BarMemory, actions: &mut Vec<Action>) {
    for command in [Command::ViewBack, Command::ViewForward, Command::ShowAll] {
        item(ui, command, view, actions);
    }
    ui.separator();
    for kept in view.survey().map(yardring_core::survey::Survey::views).unwrap_or_default() {
        ui.horizontal(|ui| {
            let room = (ui.available_width() - 70.0).max(60.0);
            let go = Button::new(&*kept.name).truncate().right_text("");
            let go = ui.add_sized(egui::vec2(room, 28.0), go).on_hover_text("Bring the map to this view");
            go.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, &*kept.name));
            if go.clicked() {
                actions.push(Action::Map(MapAction::ShowView(kept.name.to_string())));
                ui.close();
            }
            let forget = ui.small_button("Forget").on_hover_text("Undo brings it back");
            let label = format!("Forget the view {}", kept.name);
            forget.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, &label));
            if forget.clicked() {
                actions.push(Action::Map(MapAction::ForgetView(kept.name.to_string())));
            }
        });
    }
    ui.horizontal(|ui| {
        // Menus draw without edges; a field must have one.
        ui.reset_style();
        let edit = TextEdit::singleline(&mut memory.view_name).hint_text("Name for this view").desired_width(150.0);
        let typed = ui.add(edit);
        typed.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, "Name for this view"));
        let named = !memory.view_name.trim().is_empty();
        let entered = typed.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
        if ui.add_enabled(named, Button::new("Save view")).on_disabled_hover_text("Type a name for the view first").clicked()
            || (named && entered)
        {
            actions.push(Action::Map(MapAction::SaveView(std::mem::take(&mut memory.view_name))));
            ui.close();
        }
    });
}

fn ground(ui: &mut Ui, view: &View<'_>, memory: &mut BarMemory, actions: &mut Vec<Action>) {
    match &view.session.ground {
        None => say(ui, "No ground under the survey. A file of map tiles (.pmtiles, .mbtiles) may lie there."),
        Some(ground) => say(ui, &format!("Ground from {}", ground.source.name())),
    }
    item(ui, Command::ChooseGround, view, actions);
    item(ui, Command::NoGround, view, actions);
    ui.collapsing("Tiles from a server", |ui| server(ui, memory, actions));
}

/// A quiet line of a menu, whose own layout would stretch its words.
fn say(ui: &mut Ui, text: &str) {
    ui.with_layout(Layout::top_down(Align::Min), |ui| notice::quiet(ui, text));
}

/// Tiles from the network: only when an address was typed and somebody agreed to what that tells others.
fn server(ui: &mut Ui, memory: &mut BarMemory, actions: &mut Vec<Action>) {
    ui.reset_style();
    let field = |ui: &mut Ui, text: &mut String, label: &str, hint: &str| {
        say(ui, label);
        let typed = ui.add(TextEdit::singleline(text).hint_text(hint).desired_width(230.0));
        typed.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, label));
    };
    field(ui, &mut memory.address, "Tile address", "https://…/{z}/{x}/{y}.png");
    field(ui, &mut memory.attribution, "Whom its tiles ask to be named", "as their terms say");
    say(ui, "The server sees which ground you look at, and so whose. No survey data is sent. Off again when the window closes.");
    let typed = !memory.address.trim().is_empty();
    let agree = ui.add_enabled(typed, Button::new("I agree: use this server"));
    if agree.on_disabled_hover_text("Type the address of the tiles and whom to name first").clicked() {
        actions.push(Action::Map(MapAction::LayOnline(memory.address.clone(), memory.attribution.clone())));
        ui.close();
    }
}

/// How far it is along the way so far.
fn measured(ui: &mut Ui, view: &View<'_>, way: &[Local], actions: &mut Vec<Action>) {
    let Some(survey) = view.survey() else { return };
    let legs: Vec<f64> = way.windows(2).map(|w| survey.frame.ground_metres(w[0], w[1])).collect();
    if let Some(last) = legs.last() {
        ui.label(RichText::new(words::distance(legs.iter().sum())).font(theme::semibold(theme::LARGE)));
        if legs.len() > 1 {
            notice::quiet(ui, format!("{} legs, the last one {}", legs.len(), words::distance(*last)));
        }
    }
    let next = if way.is_empty() { "Click where the way begins." } else { "Click where it goes on." };
    notice::quiet(ui, format!("{next} With the keyboard: arrows move the cross, Enter sets a point. Esc ends."));
    ui.horizontal(|ui| {
        let less = ui.add_enabled(!way.is_empty(), Button::new("Take back the last point"));
        if less.on_disabled_hover_text("No point is set yet: click on the map").clicked() {
            actions.push(Action::Map(MapAction::MeasureLess));
        }
        if ui.button("End").clicked() {
            actions.push(Action::Map(MapAction::Measure));
        }
    });
}
