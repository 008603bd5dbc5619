//! What to bring to a door, from what was found there and is still open.

use super::Supply;
use crate::survey::{Action, Find, PremiseId, Survey};

/// Words in the name of a kind of container, and what its open finds ask for. Our own mapping by what is usually done with
/// such a container; everything else is tipped out and bagged.
const BY_KIND: [(&[&str], &str); 4] = [
    (&["barrel", "drum", "cistern", "tank", "vent", "standpipe"], "screen"),
    (&["tire", "tyre", "bamboo"], "drill"),
    (&["pond", "fountain", "pool", "trough"], "fish or larvicide, by its label"),
    (&["gutter", "downspout", "spout", "pipe"], "gutter scoop"),
];

/// What to bring to a door: a notice, and something for every find of the last visit that was left or left to the householder.
pub fn door_supplies(survey: &Survey, premise: PremiseId) -> Vec<Supply> {
    let mut out = vec![piece("notice", 1.0)];
    let Some(last) = survey.visits.at(premise).last() else { return out };
    for find in survey.visits.finds_of(last).iter().filter(|f| is_open(f)) {
        let name = survey.kind_name(find.kind).to_lowercase();
        let what = BY_KIND.iter().find(|(words, _)| words.iter().any(|w| name.contains(w))).map_or("bag", |(_, what)| what);
        // One drill or scoop serves them all.
        let amount = if matches!(what, "screen" | "bag") { f64::from(find.count.max(1)) } else { 1.0 };
        add(&mut out, piece(what, amount));
    }
    out
}

fn is_open(f: &Find) -> bool {
    f.remains || (f.positive() > 0 && matches!(f.action, None | Some(Action::Left)))
}

fn piece(what: &str, amount: f64) -> Supply {
    Supply { what: what.to_owned(), amount, unit: String::new() }
}

/// Adds a supply to a list; the same thing in the same unit is counted together.
fn add(list: &mut Vec<Supply>, more: Supply) {
    match list.iter_mut().find(|s| s.what == more.what && s.unit == more.unit) {
        Some(held) => held.amount += more.amount,
        None => list.push(more),
    }
}

/// Supplies in words: "1 notice, 3 bags".
pub fn supply_words(list: &[Supply]) -> String {
    let one = |s: &Supply| match s.unit.as_str() {
        "" => format!("{} {}", s.amount, s.what),
        unit => format!("{} {unit} {}", s.amount, s.what),
    };
    list.iter().map(one).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::{KindId, Outcome, Round, RoundId, Visit, Visits, When};
    use crate::walks::made_up::town;
    use jiff::civil::date;
    use std::sync::Arc;

    #[test]
    fn open_finds_ask_for_what_their_kind_needs() {
        let mut survey = town(1);
        let day = date(2025, 7, 14);
        survey.kinds = Arc::new(vec!["rain barrel".into(), "saucer".into()]);
        survey.rounds = Arc::new(vec![Round { name: "1".into(), first: day, last: day }]);
        let find = |kind, count, action, remains| Find {
            kind: KindId(kind),
            count,
            wet: count,
            with_larvae: count,
            with_pupae: 0,
            pupae: 0,
            stage: None,
            litres: None,
            action,
            remains,
        };
        let visit = Visit {
            id: "1".into(),
            premise: PremiseId(2),
            when: When { day, time: None },
            outcome: Outcome::Inspected,
            round: RoundId(0),
            crew: "A".into(),
            finds: 0..0,
        };
        let finds = vec![find(0, 2, None, false), find(1, 3, Some(Action::Emptied), true), find(1, 4, Some(Action::Emptied), false)];
        survey.visits = Visits::from_rows(survey.premises.len(), vec![(visit, finds)]);
        assert_eq!(supply_words(&door_supplies(&survey, PremiseId(2))), "1 notice, 2 screen, 3 bag");
        assert_eq!(supply_words(&door_supplies(&survey, PremiseId(0))), "1 notice");
    }
}
