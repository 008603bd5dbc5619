//! The gap list: sorted and filtered once, not in every frame.

use crate::session::{GapList, GapOrder, Session};
use std::cmp::Reverse;
use std::collections::BTreeMap;
use yardring_core::foresee::Chances;
use yardring_core::reach::Gap;
use yardring_core::survey::Survey;

/// Shows the gaps in another order.
pub(super) fn order(session: &mut Session, order: GapOrder) {
    session.gaps.order = order;
    arrange(session);
}

/// Shows gaps of one reason only, or all.
pub(super) fn reason(session: &mut Session, reason: Option<String>) {
    session.gaps.reason = reason;
    arrange(session);
}

/// Sorts and filters the gaps of the latest answer.
pub(super) fn arrange(session: &mut Session) {
    let Some(open) = &session.open else { return };
    let Some(answer) = session.reach.latest() else {
        session.gaps = GapList { order: session.gaps.order, ..GapList::default() };
        return;
    };
    let kept = session.gaps.reason.take();
    let outlook = session.outlook.exactly(session.round_key().as_ref());
    let chances = outlook.and_then(|o| o.as_ref().as_ref().ok());
    session.gaps = arranged(&open.survey, &answer.gaps, chances, session.gaps.order, kept);
}

fn arranged(survey: &Survey, gaps: &[Gap], chances: Option<&Chances>, order: GapOrder, reason: Option<String>) -> GapList {
    let mut by_reason: BTreeMap<_, u64> = BTreeMap::new();
    for gap in gaps {
        *by_reason.entry(gap.reason).or_default() += 1;
    }
    let reasons: Vec<(String, u64)> = by_reason.iter().map(|(r, n)| (r.to_string(), *n)).collect();
    // A reason that has no gap any more would leave an empty list behind.
    let reason = reason.filter(|wanted| reasons.iter().any(|(r, _)| r == wanted));
    let fits = |g: &Gap| reason.as_ref().is_none_or(|r| g.reason.word() == r);
    let mut rows: Vec<u32> = (0..gaps.len() as u32).filter(|&i| fits(&gaps[i as usize])).collect();
    let gap = |i: &u32| &gaps[*i as usize];
    match order {
        GapOrder::Rank => {}
        GapOrder::Distance => rows.sort_by(|a, b| gap(a).nearest_source.0.total_cmp(&gap(b).nearest_source.0)),
        GapOrder::Chance => {
            let certainty = |i: &u32| chances.map_or(0.0, |c| c.certainty(gap(i)));
            rows.sort_by(|a, b| certainty(b).total_cmp(&certainty(a)));
        }
        GapOrder::Attempts => rows.sort_by_key(|i| Reverse(gap(i).attempts)),
        GapOrder::Address => rows.sort_by(|a, b| {
            let key = |i: &u32| street_then_number(survey.premises.address.get(gap(i).premise.row()));
            key(a).cmp(&key(b))
        }),
    }
    let mut row_of: Vec<_> = rows.iter().enumerate().map(|(at, i)| (gap(i).premise, at as u32)).collect();
    row_of.sort_unstable();
    let sharing_fence = gaps.iter().filter(|g| g.shares_fence).count() as u64;
    let expected = chances.map(|c| c.expected(gaps.iter().map(|g| g.premise)));
    let seen = gaps.iter().filter(|g| g.seen_positive).count() as u64;
    GapList { order, reason, reasons, sharing_fence, expected, seen, rows, row_of }
}

/// An address in the order in which somebody walks: the street first, then the house number.
fn street_then_number(address: &str) -> (&str, u32, &str) {
    let digits = address.len() - address.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let (number, street) = address.split_at(digits);
    (street.trim_start(), number.parse().unwrap_or(u32::MAX), address)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_walked_street_by_street() {
        let mut all = ["12 Kettle Lane", "4 Kettle Lane", "9 Alder Row", "Kettle Lane"];
        all.sort_by(|a, b| street_then_number(a).cmp(&street_then_number(b)));
        assert_eq!(all, ["9 Alder Row", "4 Kettle Lane", "12 Kettle Lane", "Kettle Lane"]);
    }
}
