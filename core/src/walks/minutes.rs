//! How long a crew is at a door.

use super::Walking;
use crate::place::inside;
use crate::survey::{Outcome, PremiseId, Survey, Visit};
use std::collections::BTreeMap;

/// Minutes at a door by what happens there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoorMinutes {
    /// A yard that is inspected.
    pub complete: f64,
    /// A door that does not open.
    pub closed: f64,
    /// A yard with many containers.
    pub many: f64,
}

impl Default for DoorMinutes {
    /// # Source
    /// The middle of what the trade reckons: 10 to 20 minutes complete, 2 to 4 closed, 30 to 45 with many containers. Common practice, no source.
    fn default() -> Self {
        Self { complete: 15.0, closed: 3.0, many: 37.5 }
    }
}

/// A yard has many containers when at least so many were counted on a visit. Common practice, no source.
pub const MANY: u32 = 15;
/// The usual share of doors that stay closed.
///
/// # Source
/// One Saturday in Santos, Brazil: 2,516 of 6,190 doors closed (the project's science notes, 1.5).
const CLOSED_SHARE: f64 = 0.406;
/// Visits that the usual value weighs as much as.
const WEIGHT: f64 = 10.0;
/// The longest time between two visits that still is one visit and the walk, in minutes; longer ones hold a break.
const LONGEST: f64 = 75.0;
/// The least and the most minutes from going in to coming out that are believed.
const LEAST: f64 = 1.0;
const MOST: f64 = 240.0;

/// Minutes at a door as a survey's own visits tell them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Learnt {
    /// The minutes, drawn towards the usual ones where few visits tell them.
    pub minutes: DoorMinutes,
    /// Visits that told them: complete, closed, many containers.
    pub visits: [usize; 3],
    /// The share of doors that do not open.
    pub closed_share: f64,
}

/// What a visit is for its length.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Length {
    Complete = 0,
    Closed = 1,
    Many = 2,
}

fn length(survey: &Survey, visit: &Visit) -> Option<Length> {
    match visit.outcome {
        Outcome::Inspected if containers(survey, visit) >= MANY => Some(Length::Many),
        Outcome::Inspected => Some(Length::Complete),
        outcome if is_closed(outcome) => Some(Length::Closed),
        _ => None,
    }
}

/// Whether nobody let the crew in.
fn is_closed(outcome: Outcome) -> bool {
    matches!(outcome, Outcome::NoAnswer | Outcome::LockedGate | Outcome::Refused)
}

/// Containers counted on a visit.
fn containers(survey: &Survey, visit: &Visit) -> u32 {
    survey.visits.finds_of(visit).iter().fold(0, |sum: u32, f| sum.saturating_add(f.count))
}

/// Learns minutes at a door: from visits that tell when somebody came and went; of those that only tell when somebody came, from one visit
/// of a crew to its next on the same day, less the walk between. The median of each kind of visit is drawn towards the usual value, which
/// weighs as much as ten visits.
pub fn learn_minutes(survey: &Survey, walking: &Walking) -> Learnt {
    let mut told: [Vec<f64>; 3] = Default::default();
    for visit in survey.visits.rows() {
        let minutes = visit.minutes().map(f64::from).filter(|m| (LEAST..=MOST).contains(m));
        if let (Some(minutes), Some(kind)) = (minutes, length(survey, visit)) {
            told[kind as usize].push(minutes);
        }
    }
    for day in days_of_crews(survey).values_mut() {
        day.sort_by_key(|(_, v)| (v.when.time, v.premise));
        for pair in day.windows(2).filter(|pair| pair[0].1.minutes().is_none()) {
            if let Some((kind, minutes)) = between(survey, walking, pair[0].1, pair[1].1) {
                told[kind as usize].push(minutes);
            }
        }
    }
    let usual = DoorMinutes::default();
    let visits = [told[0].len(), told[1].len(), told[2].len()];
    let [complete, closed, many] = [usual.complete, usual.closed, usual.many];
    let mut drawn = |kind: usize, usual: f64| drawn_in(&mut told[kind], usual);
    let minutes = DoorMinutes { complete: drawn(0, complete), closed: drawn(1, closed), many: drawn(2, many) };
    Learnt { minutes, visits, closed_share: closed_share(survey) }
}

/// The visits with a time, by day and crew. Visits without a crew's name are nobody's.
fn days_of_crews(survey: &Survey) -> BTreeMap<(jiff::civil::Date, &str), Vec<(usize, &Visit)>> {
    let mut days: BTreeMap<_, Vec<(usize, &Visit)>> = BTreeMap::new();
    for (i, visit) in survey.visits.rows().iter().enumerate() {
        if visit.when.time.is_some() && !visit.crew.is_empty() {
            days.entry((visit.when.day, &*visit.crew)).or_default().push((i, visit));
        }
    }
    days
}

/// Minutes of a visit, from the time of the next.
fn between(survey: &Survey, walking: &Walking, visit: &Visit, next: &Visit) -> Option<(Length, f64)> {
    let seconds = next.when.time?.duration_since(visit.when.time?).as_secs_f64();
    let place = |p: PremiseId| inside(survey.premises.outline.get(p.row()));
    let metres = place(visit.premise)?.distance(place(next.premise)?);
    let minutes = (seconds - metres * walking.detour / walking.speed) / 60.0;
    (minutes > 0.0 && minutes <= LONGEST).then_some(()).and(length(survey, visit)).map(|kind| (kind, minutes))
}

fn drawn_in(told: &mut [f64], usual: f64) -> f64 {
    told.sort_by(f64::total_cmp);
    let n = told.len();
    if n == 0 {
        return usual;
    }
    let median = f64::midpoint(told[(n - 1) / 2], told[n / 2]);
    (n as f64 * median + WEIGHT * usual) / (n as f64 + WEIGHT)
}

fn closed_share(survey: &Survey) -> f64 {
    let visits = survey.visits.rows();
    let closed = visits.iter().filter(|v| is_closed(v.outcome)).count();
    (closed as f64 + WEIGHT * CLOSED_SHARE) / (visits.len() as f64 + WEIGHT)
}

impl Learnt {
    /// The minutes to reckon with at a premise: what an open and a closed door take, by the share of doors that open. A yard
    /// where many containers were counted before takes as long as one with many.
    pub fn expected(&self, survey: &Survey, premise: PremiseId) -> f64 {
        let crowded = survey.visits.at(premise).iter().any(|v| containers(survey, v) >= MANY);
        let open = if crowded { self.minutes.many } else { self.minutes.complete };
        (1.0 - self.closed_share) * open + self.closed_share * self.minutes.closed
    }

    /// What was learnt, in a sentence.
    pub fn words(&self) -> String {
        let of = |minutes: f64, n: usize| match n {
            0 => format!("{minutes:.0} (usual)"),
            1 => format!("{minutes:.0} (1 visit)"),
            n => format!("{minutes:.0} ({n} visits)"),
        };
        let (m, n) = (self.minutes, self.visits);
        format!(
            "Minutes at a door: inspected {}, closed {}, many containers {}; {:.0} % of doors stay closed.",
            of(m.complete, n[0]),
            of(m.closed, n[1]),
            of(m.many, n[2]),
            100.0 * self.closed_share
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, Local, LonLat, Shapes};
    use crate::survey::{Premises, Round, RoundId, Visits, When};
    use jiff::civil::{date, time};
    use std::sync::Arc;

    /// Premises 120 m apart in a row, so that the walk from one to the next takes 130 s at 1.2 m/s and 1.3 times as far.
    fn survey(rows: &[(u32, i8, i8, Outcome)]) -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        let mut outline = Shapes::default();
        for i in 0..9 {
            let x = f64::from(i) * 120.0;
            outline.push_ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(dx, y)| Local { x: x + dx, y }));
            outline.end_part();
            outline.end_shape();
        }
        let ids = || (0..9).map(|i| i.to_string());
        s.premises = Premises {
            parcel_id: Arc::new(ids().collect()),
            address: Arc::new(ids().collect()),
            block: Arc::new(vec![None; 9]),
            outline: Arc::new(outline),
            ..Premises::default()
        };
        s.rounds = Arc::new(vec![Round { name: "1".into(), first: date(2025, 7, 7), last: date(2025, 7, 7) }]);
        let visit = |(i, (premise, hour, minute, outcome)): (usize, &(u32, i8, i8, Outcome))| Visit {
            id: i.to_string().into(),
            premise: PremiseId(*premise),
            when: When { day: date(2025, 7, 7), time: Some(time(*hour, *minute, 0, 0)) },
            outcome: *outcome,
            round: RoundId(0),
            crew: "A".into(),
            said: None,
            finds: 0..0,
        };
        s.visits = Visits::from_rows(9, rows.iter().enumerate().map(|r| (visit(r), vec![])).collect());
        s
    }

    #[test]
    fn times_between_visits_less_the_walk_are_drawn_to_the_usual() {
        use Outcome::{Inspected, NoAnswer};
        let s = survey(&[(0, 8, 0, Inspected), (1, 8, 22, NoAnswer), (2, 8, 28, Inspected), (3, 8, 50, Inspected), (4, 12, 0, NoAnswer)]);
        let learnt = learn_minutes(&s, &Walking::default());
        let walk = 120.0 * 1.3 / 1.2 / 60.0;
        // Inspected: 22 minutes twice, less the walk; the third holds a break. Closed: 6 minutes once.
        assert_eq!(learnt.visits, [2, 1, 0]);
        assert!((learnt.minutes.complete - (2.0 * (22.0 - walk) + 10.0 * 15.0) / 12.0).abs() < 1e-9);
        assert!((learnt.minutes.closed - ((6.0 - walk) + 10.0 * 3.0) / 11.0).abs() < 1e-9);
        assert_eq!(learnt.minutes.many, 37.5);
        assert!((learnt.closed_share - (2.0 + 4.06) / 15.0).abs() < 1e-9);
        let one = learnt.expected(&s, PremiseId(8));
        assert!(one > learnt.minutes.closed && one < learnt.minutes.complete);
    }

    #[test]
    fn when_somebody_came_and_went_is_believed_before_what_lies_between_two_visits() {
        use crate::survey::Said;
        let mut s = survey(&[(0, 8, 0, Outcome::Inspected), (1, 8, 40, Outcome::Inspected), (2, 9, 0, Outcome::NoAnswer)]);
        let minutes = [Some(31), None, Some(2)];
        let rows = s.visits.rows().iter().zip(minutes).map(|(v, m)| (Visit { said: Said::with_minutes("", "", m), ..v.clone() }, vec![]));
        s.visits = Visits::from_rows(9, rows.collect());
        let learnt = learn_minutes(&s, &Walking::default());
        let walk = 120.0 * 1.3 / 1.2 / 60.0;
        // The first tells 31 itself, though the next began 40 minutes later; the second tells 20 less the walk.
        assert_eq!(learnt.visits, [2, 1, 0]);
        assert!((learnt.minutes.complete - (2.0 * f64::midpoint(31.0, 20.0 - walk) + 150.0) / 12.0).abs() < 1e-9);
        assert!((learnt.minutes.closed - (2.0 + 30.0) / 11.0).abs() < 1e-9);
    }

    #[test]
    fn without_times_the_usual_minutes_hold() {
        let s = survey(&[]);
        let learnt = learn_minutes(&s, &Walking::default());
        assert_eq!((learnt.minutes, learnt.visits), (DoorMinutes::default(), [0; 3]));
        assert!(learnt.words().contains("15 (usual)"));
    }
}
