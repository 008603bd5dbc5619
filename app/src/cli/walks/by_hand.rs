//! `yardring walks SURVEY --change ...`: the kept plan changed by hand, and what that costs.

use super::super::reach_wanted::Asked;
use super::super::{Done, Failure, Output};
use super::wanted::{Asking, HandChange};
use super::{Walks, after, crew_named, parcel, told};
use serde_json::json;
use std::sync::Arc;
use yardring_core::error::Hint as _;
use yardring_core::survey::Survey;
use yardring_core::walks::by_hand::{Cost, Spot, cost};
use yardring_core::walks::{Change, Day, StreetNetwork, StreetWays, WalkError, Walking, restock};

/// Makes the changes one after the other, keeps the plan unless they are only weighed, and tells what they cost together.
///
/// # Errors
/// [`Failure`] when no plan of the day is kept, a change cannot be made, or a file cannot be written.
pub(super) fn run(walks: &Walks, asked: &Asked, output: &Output) -> Result<Done, Failure> {
    let survey = &Arc::new(Survey::clone(&asked.opened.survey));
    let before = after::kept(asked, walks.on)?;
    let ways = ways(survey, &before)?;
    let mut day = before.clone();
    for asking in &walks.change {
        let change = change(asking, survey, &day)?;
        let changed = change.make(survey, &day, &ways);
        day = changed.map_err(|error| Failure::new(format!("'{}' cannot be done: {error}", asking.text), error.hint()))?;
    }
    restock(survey, asked.opened.round, &mut day, &walks.notices);
    let cost = cost(&before, &day);
    if !walks.weigh {
        walks.keep(asked, &day).map_err(|error| Failure::new(error, ""))?;
    }
    let written = walks.out.as_deref().map(|folder| walks.hand_out(folder, asked, &day, None, output)).transpose()?;
    output.clear_progress();
    let mut words = told::crew_lines(&day) + &cost_words(&cost, &day);
    words.push_str(if walks.weigh { "Nothing was changed\n" } else { "The plan is kept in the survey\n" });
    for path in written.unwrap_or_default() {
        words.push_str(&format!("Written to {}\n", path.display()));
    }
    output.answer(&words, || {
        let crew = |walk: usize| &day.walks[walk].crew;
        json!({
            "on": day.on.to_string(), "kept": !walks.weigh, "walks": told::walks(survey, &day, &ways), "left_out": day.left_out.len(),
            "cost": { "minutes": cost.minutes, "metres": cost.metres,
                "too_long": cost.too_long.iter().map(|(walk, over)| json!({ "crew": crew(*walk), "minutes": over })).collect::<Vec<_>>(),
                "promises_broken": cost.promises_broken.iter().map(|p| survey.premises.parcel_id.get(p.row())).collect::<Vec<_>>() },
        })
    });
    Ok(Done::Clean)
}

/// The ways of a kept day.
fn ways(survey: &Arc<Survey>, day: &Day) -> Result<StreetWays, Failure> {
    let network = Arc::new(StreetNetwork::new(&survey.streets, &Walking::of(survey, day.on_foot)));
    Ok(StreetWays::new(Arc::clone(survey), network, day.meeting_point).ok_or(WalkError::NoStreetNear)?)
}

/// What was typed, by the doors and crews of the day.
fn change(asking: &HandChange, survey: &Survey, day: &Day) -> Result<Change, Failure> {
    let crews: Vec<String> = day.walks.iter().map(|w| w.crew.clone()).collect();
    let premise = || parcel(survey, "--change", &asking.what);
    let walk = asking.crew.as_deref().map(|crew| crew_named(&crews, crew)).transpose()?;
    Ok(match (asking.asking, walk) {
        (Asking::Move, Some(walk)) => match asking.place {
            Some(place) => Change::Move(premise()?, Spot { walk, door: place - 1 }),
            None => Change::HandOver(premise()?, walk),
        },
        (Asking::Move, None) => return Err(Failure::new(format!("'{}' names no crew", asking.text), "Write it as move P-17=Crew 2")),
        (Asking::Add, walk) => Change::Add(premise()?, walk),
        (Asking::TakeOff, _) => Change::TakeOff(premise()?),
        (Asking::Lock(locked), _) => match crews.iter().position(|c| c.eq_ignore_ascii_case(&asking.what)) {
            Some(walk) => Change::LockWalk(walk, locked),
            None if asking.what.to_lowercase().starts_with("crew ") => Change::LockWalk(crew_named(&crews, &asking.what)?, locked),
            None => Change::LockDoor(premise()?, locked),
        },
    })
}

/// "4 min more in all, 120 m more on foot; Crew 2 would be back 6 min after the shift".
fn cost_words(cost: &Cost, day: &Day) -> String {
    let more = |amount: f64, unit: &str| match amount.round() {
        n if n > 0.0 => format!("{n:.0} {unit} more"),
        n if n < 0.0 => format!("{:.0} {unit} less", -n),
        _ => format!("no {unit} more or less"),
    };
    let mut out = format!("{} in all, {} on foot\n", more(cost.minutes, "min"), more(cost.metres, "m"));
    for (walk, over) in &cost.too_long {
        out.push_str(&format!("{} is back {over:.0} min after the shift\n", day.walks[*walk].crew));
    }
    if !cost.promises_broken.is_empty() {
        out.push_str(&format!("{} missed\n", told::many(cost.promises_broken.len(), "promised hour")));
    }
    out
}
