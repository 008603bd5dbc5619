//! Settle: visits and signals that found no premise, parcels that repeat an id, and rows that could not be brought in, whole and
//! with the reason.

use crate::action::Action;
use crate::desk::{papers, steady_height};
use crate::jobs::{JobKind, Paper};
use crate::session::{Place, SettleLine, ToSettle};
use crate::ui::list::List;
use crate::ui::words::{count, number, sentence};
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::{Grid, Label, RichText, Role, ScrollArea, Sense, Ui, WidgetInfo};
use yardring_core::intake::Role as Table;
use yardring_core::intake::settle::{CLEAR, Choice, Repeat, SameId, Verdict, Waiting, Waits};
use yardring_core::survey::{RefusedRow, Survey};

/// Height of one refused row's two lines.
const ROW: f32 = 44.0;

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    let refused = view.survey().map_or(0, |s| s.refused.len());
    match to_settle(view) {
        Some(all) => closed_line(all.open, all.rows, all.ids, refused),
        None if refused == 0 => ("every row came in".to_owned(), false),
        None => ("looking for where rows belong".to_owned(), false),
    }
}

/// What waits to be placed, what has to be mended, and ids of several parcels; no row is counted twice.
fn closed_line(open: usize, mend: usize, ids: usize, refused: usize) -> (String, bool) {
    let parts: Vec<String> = [
        (open > 0).then(|| format!("{} to place", number(open as u64))),
        (mend > 0).then(|| format!("{} to mend in the file", count(mend as u64, "row"))),
        (ids > 0).then(|| format!("{} of several parcels", count(ids as u64, "id"))),
    ]
    .into_iter()
    .flatten()
    .collect();
    match (parts.is_empty(), refused) {
        (false, _) => (parts.join("; "), true),
        (true, 0) => ("every row came in".to_owned(), false),
        (true, _) => ("everything is settled".to_owned(), false),
    }
}

/// What there is to settle in the survey as it is now.
fn to_settle<'a>(view: &View<'a>) -> Option<&'a ToSettle> {
    let revision = view.open().map(|o| o.revision);
    view.session.waiting.exactly(revision.as_ref()).map(|t| &**t)
}

/// What waits, and what can be done about the line looked at.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let Some(survey) = view.survey() else { return };
    if let Some(trouble) = view.session.trouble_at(Place::Settle) {
        notice::trouble(ui, trouble);
    }
    for kind in [JobKind::Waiting, JobKind::Settle] {
        if let Some(progress) = view.progress(kind)
            && waiting::waiting(ui, &progress)
        {
            actions.push(Action::Cancel(kind));
        }
    }
    let Some(all) = to_settle(view) else { return };
    if all.lines.is_empty() {
        ui.label("Nothing is left to settle.");
        return;
    }
    notice::quiet(ui, "Say where a visit or a signal belongs and it comes in. Other rows are mended in their file and brought in again.");
    if all.clear > 1 {
        accept_clear(ui, view, all.clear, actions);
    }
    let chosen = view.session.settling;
    let looked_at = chosen.and_then(|c| all.lines.get(c));
    let list = List {
        name: "refused",
        rows: all.lines.len(),
        row_height: ROW,
        height: steady_height(ui, if looked_at.is_some() { 560.0 } else { 300.0 }),
        chosen,
        glowing: None,
        reveal: false,
        firm: true,
    };
    let events = list.show(ui, |ui, i| all.lines.get(i).map_or_else(String::new, |line| row(ui, survey, line)));
    actions.extend(events.chosen.map(Action::LookAt));
    if let Some(line) = looked_at {
        // What the row itself says comes before what may be done about it.
        if let Some(row) = line.row() {
            whole(ui, &survey.refused[row]);
        }
        match line {
            SettleLine::Visit(w) => decide(ui, view, survey, w, actions),
            SettleLine::SameId(same) => decide_id(ui, view, same, actions),
            SettleLine::Row(_) => {}
        }
    }
    papers::show(ui, view, &[(Paper::Refused, true)], actions);
}

/// All that one candidate fits clearly best, in one go.
fn accept_clear(ui: &mut Ui, view: &View<'_>, clear: usize, actions: &mut Vec<Action>) {
    let button = egui::Button::new(format!("Accept the {} clear offers", number(clear as u64)));
    let why = format!("Each fits {:.0} % or better and no other comes near; taken back with one undo", CLEAR * 100.0);
    if ui.add_enabled(!view.jobs.at_work(JobKind::Settle), button).on_hover_text(why).clicked() {
        actions.push(Action::SettleClear);
    }
}

/// The candidates of a visit or a signal, and the other ways out.
fn decide(ui: &mut Ui, view: &View<'_>, survey: &Survey, visit: &Waiting, actions: &mut Vec<Action>) {
    let first = visit.first(survey);
    let table = if matches!(visit.what, Waits::Signal(_)) { Table::Signals } else { Table::Visits };
    let settle = |verdict| Action::Settle(Choice { table, file: first.file.clone(), row: first.row, verdict });
    let busy = view.jobs.at_work(JobKind::Settle);
    ui.add_enabled_ui(!busy, |ui| {
        if visit.place.is_some() {
            notice::quiet(ui, "The cross on the map is where it was taken; the yards below are outlined.");
        }
        for candidate in &visit.candidates {
            let name = view.name_of(candidate.premise);
            let id = survey.premises.parcel_id.get(candidate.premise.row());
            ui.horizontal(|ui| {
                let accept = ui.button("Accept").on_hover_text(format!("It belongs to {name}"));
                accept.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("Accept {name}, parcel {id}")));
                if accept.clicked() {
                    actions.push(settle(Verdict::Premise(candidate.premise)));
                }
                let words = format!("{name} · {}", candidate.why);
                let link = ui.add(Label::new(RichText::new(&words).size(theme::SMALL)).truncate().sense(Sense::click()));
                let link = link.on_hover_text(format!("{words} · parcel {id}"));
                if link.clicked() {
                    actions.push(Action::ShowPremise(candidate.premise));
                }
                if link.hovered() || accept.hovered() {
                    actions.push(Action::Hover(Some(candidate.premise)));
                }
            });
        }
        ui.horizontal_wrapped(|ui| {
            match view.session.chosen {
                Some(premise) => {
                    if ui.button(format!("Use the yard on the map: {}", view.name_of(premise))).clicked() {
                        actions.push(settle(Verdict::Premise(premise)));
                    }
                }
                None => notice::quiet(ui, "Or click the yard on the map."),
            }
            let (label, verdict) = match visit.set_aside {
                true => ("Ask about it again", Verdict::AskAgain),
                false => ("Set aside", Verdict::SetAside),
            };
            if ui.button(label).clicked() {
                actions.push(settle(verdict));
            }
        });
    });
}

/// Whether premises with the same id are one, and where each of them is.
fn decide_id(ui: &mut Ui, view: &View<'_>, same: &Repeat, actions: &mut Vec<Action>) {
    for &premise in &same.premises {
        let link = ui.add(Label::new(RichText::new(view.name_of(premise)).size(theme::SMALL)).truncate().sense(Sense::click()));
        if link.clicked() {
            actions.push(Action::ShowPremise(premise));
        }
        if link.hovered() {
            actions.push(Action::Hover(Some(premise)));
        }
    }
    ui.add_enabled_ui(!view.jobs.at_work(JobKind::Settle), |ui| {
        ui.horizontal_wrapped(|ui| {
            let one = ui
                .button("One premise in parts")
                .on_hover_text("Their visits and ground are taken together, now and when the file comes again");
            if one.clicked() {
                actions.push(Action::SettleId(same.parcel_id.clone(), SameId::OnePremise));
            }
            if !same.separate && ui.button("Separate premises").on_hover_text("They stay as they are, and nobody asks again").clicked() {
                actions.push(Action::SettleId(same.parcel_id.clone(), SameId::Separate));
            }
        });
    });
}

/// What a line says, and where it stands.
fn told(survey: &Survey, line: &SettleLine) -> (String, String, bool) {
    match line {
        SettleLine::SameId(same) => {
            let apart = same.apart.map_or_else(|| "far apart".to_owned(), |m| format!("{m:.0} m apart"));
            let place = format!("{apart}{}", if same.separate { ", separate premises" } else { "" });
            (format!("{} have the id {}", count(same.premises.len() as u64, "parcel"), same.parcel_id), place, same.separate)
        }
        SettleLine::Visit(_) | SettleLine::Row(_) => {
            let aside = matches!(line, SettleLine::Visit(w) if w.set_aside);
            let Some(row) = line.row().and_then(|i| survey.refused.get(i)) else { return (String::new(), String::new(), aside) };
            (sentence(&row.reason), format!("{}, row {}{}", row.file, row.row, if aside { ", set aside" } else { "" }), aside)
        }
    }
}

fn row(ui: &mut Ui, survey: &Survey, line: &SettleLine) -> String {
    let tones = theme::tones(ui);
    let (reason, place, aside) = told(survey, line);
    let ink = if aside { tones.quiet } else { tones.ink };
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.add_space(4.0);
        ui.add(Label::new(RichText::new(&reason).color(ink)).truncate()).on_hover_text(&reason);
        ui.add(Label::new(RichText::new(&place).size(theme::SMALL).color(tones.quiet)).truncate());
    });
    format!("{place}: {reason}")
}

fn whole(ui: &mut Ui, row: &RefusedRow) {
    ui.label(RichText::new(sentence(&row.reason)).font(theme::semibold(theme::SMALL)));
    ScrollArea::vertical().max_height(150.0).min_scrolled_height(150.0).auto_shrink([false, true]).id_salt("cells").show(ui, |ui| {
        ui.spacing_mut().interact_size.y = 16.0;
        Grid::new("cells").num_columns(2).spacing([theme::INSIDE, 2.0]).show(ui, |ui| {
            for (name, text) in row.cells.iter().filter(|(_, text)| !text.is_empty()) {
                notice::quiet(ui, name.to_string());
                ui.label(RichText::new(&**text).size(theme::SMALL));
                ui.end_row();
            }
        });
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_row_is_counted_twice() {
        let said = |open, mend, ids| closed_line(open, mend, ids, open + mend).0;
        assert_eq!(said(6, 0, 3), "6 to place; 3 ids of several parcels");
        assert_eq!(said(6, 1, 0), "6 to place; 1 row to mend in the file");
        assert_eq!((said(0, 0, 0), closed_line(0, 0, 0, 4).0), ("every row came in".into(), "everything is settled".into()));
    }
}
