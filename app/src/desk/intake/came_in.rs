//! What came in: counts, and what was noticed in each file.

use crate::action::Action;
use crate::command::Command;
use crate::desk::papers;
use crate::jobs::Paper;
use crate::session::Desk;
use crate::ui::words::{count, number, sentence};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{RichText, Ui};
use yardring_core::survey::{IntakeEntry, Survey};

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let Some(survey) = view.survey() else { return String::new() };
    let premises = number(survey.premises.len() as u64);
    let visits = count(survey.visits.len() as u64, "visit");
    format!("{premises} premises, {visits} in {}", count(survey.rounds.len() as u64, "round"))
}

/// The counts, the files, and what to do next.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let Some(survey) = view.survey() else { return };
    counts(ui, survey, view.session.drawn().map_or(0, |l| l.without_outline));
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
