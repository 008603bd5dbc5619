//! Notices in English.

use super::phrases::{Phrases, counts};
use crate::brief::sheets::content::weekday;
use crate::foresee::DAYS_BETWEEN;
use crate::survey::{Action, Find, Remedy, StaysOpen};

pub const PHRASES: Phrases = Phrases {
    day: weekday,
    and: "and",
    parcel: "parcel {}",
    sheet: "sheet {} of {}",
    file_title: "Notices for householders",
    left_title: "Water in your yard: what is left to do",
    shut_title: "We came by: please call us",
    inspected: "We were in your yard on {} and looked for water in which mosquitoes breed.",
    from_outside: "On {} we saw a part of your yard from outside, with water in which mosquitoes breed.",
    no_answer: "We were at your door on {} to look for water in which mosquitoes breed. Nobody answered.",
    locked_gate: "We were at your gate on {} to look for water in which mosquitoes breed. The gate was locked.",
    larvae: "Larvae and pupae are young mosquitoes: in the water they bite nobody, and without the water they die.",
    still_to_do: "Still to do",
    before_they_fly: "Please do this by {}: after that day new mosquitoes can fly from this water.",
    within,
    at_once: "Please do this at once: from water that stood on the day of our visit mosquitoes can fly by now.",
    found,
    done,
    already_done: "Already done",
    open,
    unnamed: "{}",
    what_to_do: "What to do: {}.",
    remedy: Remedy::word,
    or: "or",
    general: "Tip the water out and keep it out: turn over or store inside what you need, throw out what you do not.",
    ask: "Please call and say when we may come. It takes a few minutes, and you may walk along with us. We come in only with permission or as the law allows.",
    look: "Until then, look yourself",
    look_at: [
        "Saucers, buckets, pots, toys: empty and dry?",
        "Tarps and covers: pulled tight, without puddles?",
        "Gutters and drain pipes: do they run dry?",
        "Tires: handed in, or under a roof?",
        "Rain barrels and cisterns: closed with a lid or mesh?",
    ],
    keep: "So that it stays so",
    keep_so: [
        "Every week and after rain, tip out, turn over or store inside whatever holds water, and scrub it: eggs stick to its walls.",
        "What cannot be moved: drill it at its lowest point, cover it with fine mesh, or fill it with sand.",
        "Look over the fence and tell your neighbours: mosquitoes fly from yard to yard, and the street has peace only when every yard is dry.",
    ],
    care: "Take care",
    take_care: [
        "Ladders: on firm ground only, with somebody to hold them.",
        "Look before you reach: glass, needles, rust, wasps, snakes. Wear gloves and closed shoes.",
        "Never treat drinking water, and do not drink water that stood in the open.",
        "Use no chemical whose label does not name this use. Pour no oil or bleach into water or drains.",
        "Ponds with fish: put nothing into them.",
    ],
    questions: "Questions, or help needed? {}",
    telephone: "Questions, or help needed? Telephone",
    reference: "Reference number",
    thanks: "Thank you.",
};

fn within(day: &str, days: i64) -> String {
    match days {
        1 => format!("Please do this by {day}: the day after our visit, for it is hot."),
        n if n < DAYS_BETWEEN => format!("Please do this by {day}: within {n} days of our visit, for it is hot."),
        n => format!("Please do this by {day}: within {n} days of our visit, and sooner when it is hot."),
    }
}

fn found(find: &Find) -> String {
    let living = match (find.with_larvae > 0, find.has_pupae()) {
        (true, true) => "larvae and pupae",
        (false, true) => "pupae",
        _ => "larvae",
    };
    match counts(find) {
        (1, 0, 0) => "one, dry when we looked.".to_owned(),
        (n, 0, 0) => format!("{n}, dry when we looked."),
        (1, _, 0) => "one, with water.".to_owned(),
        (1, _, _) => format!("one, with water and {living}."),
        (n, wet, 0) => format!("{n}, {wet} with water."),
        (n, wet, alive) => format!("{n}, {wet} with water, {alive} with {living}."),
    }
}

fn done(action: Action, _many: bool) -> &'static str {
    match action {
        Action::Emptied => "water tipped out",
        Action::TurnedOver => "turned over",
        Action::Drilled => "drilled so that water runs out",
        Action::Screened => "covered with mesh",
        Action::StoredInside => "stored inside",
        Action::Removed => "taken away",
        Action::Fish => "fish put in",
        Action::Treated => "water treated",
        Action::Aerated => "water set moving",
        Action::Left => "left as it was",
    }
}

fn open(why: StaysOpen, many: bool) -> &'static str {
    match (why, many) {
        (StaysOpen::LeftStanding, _) => "The water still stands.",
        (StaysOpen::HoldsUpsideDown, false) => "We turned it over, but upside down it holds water too.",
        (StaysOpen::HoldsUpsideDown, true) => "We turned them over, but upside down they hold water too.",
        (StaysOpen::Promised, _) => "",
    }
}
