//! When the sheets are back: what was planned beside what was done, and what goes to the next day.

use crate::action::Action;
use crate::session::walking::WalkAction;
use crate::ui::words::{count, full_day};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{RichText, Ui};
use yardring_core::survey::Outcome;
use yardring_core::walks::{Compared, Day};

/// Rows of what remains that are shown.
const SHOWN: usize = 12;

/// What became of the day, and planning the next one.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, day: &Day, actions: &mut Vec<Action>) {
    ui.add_space(theme::NEAR);
    ui.label(RichText::new("When the sheets are back").font(theme::semibold(theme::BODY)));
    let Some(found) = &view.session.walking.after else {
        notice::quiet(ui, "Bring the filled visits table in at the Intake desk. Then what was done stands here beside the plan.");
        return;
    };
    notice::say(ui, ended(found, day));
    if let Some(learnt) = view.session.walking.learnt.latest() {
        notice::quiet(ui, learnt.words());
    }
    let remaining: Vec<_> = found.remaining().collect();
    if remaining.is_empty() {
        ui.label("Nothing remains for the next day.");
        return;
    }
    notice::say(ui, format!("{} to the next day:", goes(remaining.len() as u64)));
    for (door, reason) in remaining.iter().take(SHOWN) {
        ui.horizontal(|ui| {
            let name = view.name_of(door.premise);
            if ui.link(name).on_hover_text("Show this yard").clicked() {
                actions.push(Action::ShowPremise(door.premise));
            }
            ui.add(egui::Label::new(RichText::new(reason).size(theme::SMALL).color(theme::tones(ui).quiet)).truncate());
        });
    }
    if remaining.len() > SHOWN {
        notice::quiet(ui, format!("and {} more", remaining.len() - SHOWN));
    }
    let next = day.on.tomorrow().map_or_else(|_| String::new(), full_day);
    if ui.button(format!("Plan {next}")).on_hover_text("What remains comes along with its reason").clicked() {
        actions.push(Action::Walks(WalkAction::PlanNext));
    }
}

fn goes(n: u64) -> String {
    if n == 1 { "1 door goes".to_owned() } else { format!("{} go", count(n, "door")) }
}

/// "Of 40 doors 30 inspected, 6 no answer, 4 not reached; 2 done by another crew; 3 doors visited that were on no walk."
fn ended(found: &Compared, day: &Day) -> String {
    let kinds = Outcome::ALL.iter().map(|o| (found.count(Some(*o)), o.word())).chain([(found.count(None), "not reached")]);
    let kinds: Vec<String> = kinds.filter(|(n, _)| *n > 0).map(|(n, word)| format!("{n} {word}")).collect();
    let other = found.doors.iter().filter(|d| d.other_crew.is_some()).count();
    let mut out = format!("{}: of {} {}", full_day(day.on), count(found.doors.len() as u64, "door"), kinds.join(", "));
    if other > 0 {
        out += &format!("; {other} done by another crew");
    }
    if !found.unplanned.is_empty() {
        out += &format!("; {} visited that were on no walk", count(found.unplanned.len() as u64, "door"));
    }
    out + "."
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use yardring_core::survey::PremiseId;
    use yardring_core::walks::{Done, PlannedDoor};

    #[test]
    fn the_evening_is_said_in_a_sentence() {
        let done = |p: u32, outcome, other: Option<&str>| Done {
            door: PlannedDoor { premise: PremiseId(p), crew: "Crew 1".to_owned(), reason: "not visited".to_owned(), minutes: 9.0 },
            outcome,
            other_crew: other.map(str::to_owned),
        };
        let doors = vec![done(0, Some(Outcome::Inspected), Some("Crew 2")), done(1, Some(Outcome::NoAnswer), None), done(2, None, None)];
        let found = Compared { doors, unplanned: vec![PremiseId(9)] };
        let day = Day { on: date(2025, 7, 24), ..Day::default() };
        let said = ended(&found, &day);
        assert!(
            said.ends_with(
                "of 3 doors 1 inspected, 1 no answer, 1 not reached; 1 done by another crew; 1 door visited that were on no walk."
            ),
            "{said}"
        );
        assert_eq!((goes(1), goes(2)), ("1 door goes".to_owned(), "2 doors go".to_owned()));
    }
}
