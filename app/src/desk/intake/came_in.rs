//! What came in: counts, and what was noticed in each file.

use super::settle;
use crate::action::Action;
use crate::command::Command;
use crate::desk::papers;
use crate::jobs::Paper;
use crate::session::Desk;
use crate::ui::list::List;
use crate::ui::words::{count, number, sentence};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Label, RichText, Ui};
use yardring_core::intake::Change;
use yardring_core::survey::{IntakeEntry, Survey};

/// Height of a changed premise's two lines, and how many premises are seen at once.
const CHANGE: f32 = 40.0;
const MOST_CHANGES: usize = 5;

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let Some(survey) = view.survey() else { return String::new() };
    let premises = number(survey.premises.len() as u64);
    let visits = count(survey.visits.len() as u64, "visit");
    format!("{premises} premises, {visits} in {}", count(survey.rounds.len() as u64, "round"))
}

/// The counts, the files, and what to do next.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, chosen: &mut Option<usize>, actions: &mut Vec<Action>) {
    let Some(survey) = view.survey() else { return };
    counts(ui, survey, view.session.drawn().map_or(0, |l| l.without_outline));
    changes(ui, view, chosen);
    for entry in survey.intake_log.iter() {
        file(ui, entry);
    }
    if view.session.intake.report.is_some() {
        papers::show(ui, view, &[(Paper::Report, true)], actions);
    }
    ui.add_space(theme::NEAR);
    if let Some(save) = Command::Save.action(view) {
        if notice::main_button(ui, "Save the survey").clicked() {
            actions.push(save);
        }
        notice::quiet(ui, "What came in is only in this window until it is saved.");
    } else if survey.visits.is_empty() {
        notice::quiet(ui, "Next: bring in a visits table, so that there is something to plan from.");
    } else if settle::answer(view).1 {
        // What waits comes first; whoever wants to plan all the same can.
        if notice::main_button(ui, "Go to Settle").clicked() {
            actions.push(Action::OpenStep(Desk::Intake, 4));
        }
        if ui.button("Go to Plan").clicked() {
            actions.push(Action::GoTo(Desk::Plan));
        }
    } else if notice::main_button(ui, "Go to Plan").clicked() {
        actions.push(Action::GoTo(Desk::Plan));
    }
}

fn counts(ui: &mut Ui, survey: &Survey, without: usize) {
    let rows = [
        ("Premises", survey.premises.len()),
        ("Of them without an outline", without),
        ("Blocks", survey.blocks.len()),
        ("Streets", survey.streets.len()),
        ("Visits", survey.visits.len()),
        ("Finds", survey.visits.finds().len()),
        ("Signals", survey.signals.len()),
        ("Days with temperatures", survey.temperatures.len()),
    ];
    let there: Vec<(&str, String)> = rows.into_iter().filter(|(_, n)| *n > 0).map(|(word, n)| (word, number(n as u64))).collect();
    notice::numbers(ui, "counts", &there);
}

/// What a newer parcel file changed, as long as that is not taken back.
fn changes(ui: &mut Ui, view: &View<'_>, chosen: &mut Option<usize>) {
    let intake = &view.session.intake;
    let Some((log, changes)) = &intake.changes else { return };
    let Some(vintage) = intake.report.as_ref().and_then(|r| r.vintage.as_ref()) else { return };
    if view.survey().is_none_or(|s| s.intake_log.len() < *log) {
        return;
    }
    ui.add_space(theme::NEAR);
    ui.label(RichText::new("What the newer parcel file changed").font(theme::semibold(theme::BODY)));
    let rows: Vec<(&str, String)> = vintage.counts().into_iter().map(|(word, n)| (word, number(n as u64))).collect();
    notice::numbers(ui, "vintage", &rows);
    if changes.is_empty() {
        return;
    }
    let height = CHANGE * changes.len().min(MOST_CHANGES) as f32;
    let list = List {
        name: "changes",
        rows: changes.len(),
        row_height: CHANGE,
        height,
        chosen: *chosen,
        glowing: None,
        reveal: false,
        firm: true,
    };
    let events = list.show(ui, |ui, i| changes.get(i).map_or_else(String::new, |change| line(ui, change)));
    *chosen = events.chosen.or(*chosen);
}

fn line(ui: &mut Ui, change: &Change) -> String {
    let tones = theme::tones(ui);
    let words = sentence(&change.in_words());
    let (what, visits) = words.split_once("; ").unwrap_or((&words, "no visit was made there"));
    let ink = if change.visits > 0 { tones.ink } else { tones.quiet };
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.add_space(2.0);
        ui.add(Label::new(RichText::new(what).color(ink)).truncate()).on_hover_text(&words);
        ui.add(Label::new(RichText::new(visits).size(theme::SMALL).color(tones.quiet)).truncate());
    });
    words
}

fn file(ui: &mut Ui, entry: &IntakeEntry) {
    ui.add_space(theme::NEAR);
    ui.label(RichText::new(format!("{} · {}", entry.file, entry.table)).font(theme::semibold(theme::SMALL)));
    let refused = entry.rows.saturating_sub(entry.kept);
    let lost = if refused == 0 { "none refused".to_owned() } else { format!("{} refused", number(refused)) };
    notice::quiet(ui, format!("{} read, {} brought in, {lost}", count(entry.rows, "row"), number(entry.kept)));
    for finding in &entry.findings {
        notice::quiet(ui, format!("· {}", sentence(finding)));
    }
}
