//! Settle: rows that could not be brought in, whole and with the reason.

use crate::action::Action;
use crate::desk::{list_height, papers};
use crate::jobs::Paper;
use crate::ui::list::List;
use crate::ui::words::{count, sentence};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Grid, Label, RichText, ScrollArea, Ui};
use yardring_core::survey::RefusedRow;

/// Height of one refused row's two lines.
const ROW: f32 = 44.0;

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    match view.survey().map_or(0, |s| s.refused.len()) {
        0 => ("every row came in".to_owned(), false),
        n => (format!("{} did not come in: see why", count(n as u64, "row")), true),
    }
}

/// The refused rows, and the cells of the one looked at.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, chosen: &mut Option<usize>, actions: &mut Vec<Action>) {
    let Some(refused) = view.survey().map(|s| &s.refused).filter(|r| !r.is_empty()) else {
        ui.label("Nothing is left to settle.");
        return;
    };
    notice::quiet(ui, "Nothing of these rows is lost. Mend them in the file they came from and bring it in again.");
    let cells = chosen.and_then(|c| refused.get(c));
    let below = if cells.is_some() { 270.0 } else { 110.0 };
    let list = List {
        name: "refused",
        rows: refused.len(),
        row_height: ROW,
        height: list_height(ui, below),
        chosen: *chosen,
        glowing: None,
        reveal: false,
    };
    let events = list.show(ui, |ui, i| refused.get(i).map_or_else(String::new, |r| row(ui, r)));
    if events.chosen.is_some() {
        *chosen = events.chosen;
    }
    if let Some(row) = cells {
        whole(ui, row);
    }
    papers::show(ui, view, &[(Paper::Refused, true)], actions);
}

fn row(ui: &mut Ui, row: &RefusedRow) -> String {
    let tones = theme::tones(ui);
    let place = format!("{}, row {}", row.file, row.row);
    let reason = sentence(&row.reason);
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.add_space(4.0);
        ui.add(Label::new(RichText::new(&reason).color(tones.ink)).truncate()).on_hover_text(&reason);
        ui.add(Label::new(RichText::new(&place).size(theme::SMALL).color(tones.quiet)).truncate());
    });
    format!("{place}: {reason}")
}

fn whole(ui: &mut Ui, row: &RefusedRow) {
    ui.label(RichText::new(sentence(&row.reason)).font(theme::semibold(theme::SMALL)));
    ScrollArea::vertical().max_height(110.0).id_salt("cells").show(ui, |ui| {
        Grid::new("cells").num_columns(2).spacing([theme::INSIDE, 2.0]).show(ui, |ui| {
            for (name, text) in row.cells.iter().filter(|(_, text)| !text.is_empty()) {
                notice::quiet(ui, name.to_string());
                ui.label(RichText::new(&**text).size(theme::SMALL));
                ui.end_row();
            }
        });
    });
}
