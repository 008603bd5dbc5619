//! What one notice says, before it is laid out.
//!
//! Signals are not read here, nor who went: that somebody fell ill stands on no notice, and no name of a crew.

use super::doors::{Doors, NoticeReason, Picked};
use super::phrases::{Phrases, counts, filled};
use crate::foresee::Deadlines;
use crate::survey::{Action, Find, Language, Outcome, StaysOpen, Visit};
use jiff::civil::Date;

/// A piece of a notice, one below the other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Part {
    /// Sentences.
    Text(String),
    /// Sentences that must not be missed.
    Firm(String),
    /// A heading.
    Heading(&'static str),
    /// Something to do, with a box to tick: what it is of (may be empty), what was found, what to do (may be empty).
    ToDo { name: String, found: String, advice: String },
    /// Something that begins with a firm word or two.
    Led { lead: &'static str, text: String },
}

/// What one notice says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoticeWords {
    /// Its title.
    pub title: &'static str,
    /// The address, or else the parcel.
    pub address: String,
    /// The parcel, where the address stands before it.
    pub parcel: String,
    /// All the rest.
    pub parts: Vec<Part>,
    /// Whether the day by which something is to be done is over.
    pub late: bool,
}

/// What notices are made from.
pub struct Teller<'a> {
    pub doors: Doors<'a>,
    pub deadlines: Deadlines<'a>,
    /// The day on which notices are handed out.
    pub on: Date,
    pub language: Language,
}

impl Teller<'_> {
    /// The phrases of the language.
    pub fn phrases(&self) -> &'static Phrases {
        Phrases::of(self.language)
    }

    /// What the notice of a door says.
    pub fn notice(&self, picked: &Picked) -> NoticeWords {
        let premises = &self.doors.survey.premises;
        let (address, id) = (premises.address.get(picked.premise.row()), premises.parcel_id.get(picked.premise.row()));
        let parcel = filled(self.phrases().parcel, &[id]);
        let (address, parcel) = if address.is_empty() { (sentence(&parcel), String::new()) } else { (address.to_owned(), parcel) };
        let (title, (parts, late)) = match picked.reason {
            NoticeReason::LeftToDo => (self.phrases().left_title, self.left_to_do(self.doors.survey.visits.get(picked.visit))),
            NoticeReason::NoAnswer | NoticeReason::LockedGate => (self.phrases().shut_title, (self.shut(picked), false)),
        };
        NoticeWords { title, address, parcel, parts, late }
    }

    /// What a visit left, and whether the day by which it is to be seen to is over.
    fn left_to_do(&self, visit: &Visit) -> (Vec<Part>, bool) {
        let says = self.phrases();
        let open: Vec<(&Find, StaysOpen)> = self.doors.open(visit).collect();
        let seen = if visit.outcome == Outcome::Inspected { says.inspected } else { says.from_outside };
        let alive = if open.iter().any(|(f, _)| f.positive() > 0) { format!(" {}", says.larvae) } else { String::new() };
        let (by, late) = self.by(visit.when.day, &open);
        let opening = filled(seen, &[&(says.day)(visit.when.day)]) + &alive;
        let mut parts = vec![Part::Text(opening), Part::Heading(says.still_to_do), Part::Firm(by)];
        parts.extend(open.iter().map(|(find, why)| self.to_do(find, *why)));
        let seen_to: Vec<String> = self.doors.survey.visits.finds_of(visit).iter().filter_map(|f| self.seen_to(f, &open)).collect();
        if !seen_to.is_empty() {
            parts.push(Part::Led { lead: says.already_done, text: sentence(&seen_to.join("; ")) + "." });
        }
        (parts, late)
    }

    /// By which day, and whether it is over.
    fn by(&self, seen: Date, open: &[(&Find, StaysOpen)]) -> (String, bool) {
        let says = self.phrases();
        let deadline = self.deadlines.after(seen, open.iter().map(|(f, _)| *f));
        let day = (says.day)(deadline.day());
        if deadline.day() < self.on {
            (says.at_once.to_owned(), true)
        } else if deadline.last_safe_day.is_some() {
            (filled(says.before_they_fly, &[&day]), false)
        } else {
            ((says.within)(&day, deadline.days), false)
        }
    }

    /// What is left of a find.
    fn to_do(&self, find: &Find, why: StaysOpen) -> Part {
        let says = self.phrases();
        let known = self.doors.known[find.kind.row()];
        let many = counts(find).0 > 1;
        let done = match (why, find.action) {
            (StaysOpen::Promised, Some(action)) if action != Action::Left => sentence((says.done)(action, many)) + ".",
            _ => (says.open)(why, many).to_owned(),
        };
        let found = format!("{} {done}", (says.found)(find));
        let remedies = || {
            let all: Vec<&str> = known.map(|k| k.to_do.iter().map(|r| (says.remedy)(*r)).collect()).unwrap_or_default();
            (!all.is_empty()).then(|| filled(says.what_to_do, &[&all.join(&format!(", {} ", says.or))]))
        };
        let advice = known.and_then(|k| k.words_in(self.language)).map(str::to_owned).or_else(remedies);
        Part::ToDo {
            name: sentence(&self.name(find)),
            found: found.trim_end().to_owned(),
            advice: advice.unwrap_or_else(|| says.general.to_owned()),
        }
    }

    /// What was done with a find that needs nothing more: "rain barrel: covered with mesh", "rain barrel (2): covered with mesh".
    fn seen_to(&self, find: &Find, open: &[(&Find, StaysOpen)]) -> Option<String> {
        let action = find.action.filter(|a| *a != Action::Left)?;
        let is_open = open.iter().any(|(o, _)| std::ptr::eq(*o, find));
        let many = Some(counts(find).0).filter(|&n| n > 1);
        let number = many.map_or(String::new(), |n| format!(" ({n})"));
        (!is_open).then(|| format!("{}{number}: {}", self.name(find), (self.phrases().done)(action, many.is_some())))
    }

    /// What a find is of: in English as the visit has it, in other languages by the table of containers.
    fn name(&self, find: &Find) -> String {
        let kind = self.doors.survey.kind_name(find.kind);
        let named = self.doors.known[find.kind.row()].and_then(|k| k.called_in(self.language));
        match (self.language, named) {
            (Language::English, _) => kind.to_owned(),
            (_, Some(name)) => name.to_owned(),
            (_, None) => filled(self.phrases().unnamed, &[kind]),
        }
    }

    /// That nobody opened, what is asked, and what to look at meanwhile.
    fn shut(&self, picked: &Picked) -> Vec<Part> {
        let says = self.phrases();
        let days: Vec<String> = self.doors.shut_days(picked).into_iter().map(says.day).collect();
        let days = match days.split_last() {
            Some((last, before)) if !before.is_empty() => format!("{} {} {last}", before.join(", "), says.and),
            _ => days.concat(),
        };
        let opening = filled(if picked.reason == NoticeReason::LockedGate { says.locked_gate } else { says.no_answer }, &[&days]);
        let mut parts = vec![Part::Text(opening), Part::Firm(says.ask.to_owned()), Part::Heading(says.look)];
        parts.extend(says.look_at.iter().map(|what| Part::ToDo { name: String::new(), found: (*what).to_owned(), advice: String::new() }));
        parts
    }
}

/// A text that begins with a capital.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
