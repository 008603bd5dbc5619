//! What a notice says, in the languages that notices are written in. Both say the same; a language that lacks a phrase does not compile.

use crate::survey::{Action, Find, Language, Remedy, StaysOpen};
use jiff::civil::Date;

/// The phrases of one language. `{}` stands for what is filled in.
///
/// # Source
/// What to say about water, yards over the fence and cautions: the project's product notes ("Cautions it must show") and its science
/// notes, 5.4 (the week), 8.5 (safety list) and 9.2 (doors that stay shut); the words themselves are common practice, no source.
pub struct Phrases {
    /// A day with its weekday and its year.
    pub day: fn(Date) -> String,
    /// Between the last two of several days.
    pub and: &'static str,
    pub parcel: &'static str,
    /// Which sheet of how many.
    pub sheet: &'static str,
    /// The title of the file, which readers of files show and no page has.
    pub file_title: &'static str,
    pub left_title: &'static str,
    pub shut_title: &'static str,
    /// That somebody was in the yard on a day, or saw a part of it from outside.
    pub inspected: &'static str,
    pub from_outside: &'static str,
    /// That somebody stood at the door, or at a locked gate, on some days.
    pub no_answer: &'static str,
    pub locked_gate: &'static str,
    /// What young mosquitoes are.
    pub larvae: &'static str,
    pub still_to_do: &'static str,
    /// By a day before what lives in the water flies.
    pub before_they_fly: &'static str,
    /// By a day, so many days after the visit; they are fewer where it is hot.
    pub within: fn(&str, i64) -> String,
    /// Where that day is over.
    pub at_once: &'static str,
    /// How many were found, with water and with larvae.
    pub found: fn(&Find) -> String,
    /// What was done with one or with many, in small letters.
    pub done: fn(Action, bool) -> &'static str,
    pub already_done: &'static str,
    /// Why one or many are not done with; empty where nothing has to be said.
    pub open: fn(StaysOpen, bool) -> &'static str,
    /// A thing that the table of containers has no name for in this language.
    pub unnamed: &'static str,
    /// What to do with a kind of which only the remedies are known, each of them, and the word between them.
    pub what_to_do: &'static str,
    pub remedy: fn(Remedy) -> &'static str,
    pub or: &'static str,
    /// What to do with any other container.
    pub general: &'static str,
    /// What somebody who was not at home is asked for.
    pub ask: &'static str,
    /// What to look at oneself.
    pub look: &'static str,
    pub look_at: [&'static str; 5],
    /// How to keep it so, and what to mind.
    pub keep: &'static str,
    pub keep_so: [&'static str; 3],
    pub care: &'static str,
    pub take_care: [&'static str; 5],
    /// Before what the office says of itself; before blank lines for its telephone and for a number of its own.
    pub questions: &'static str,
    pub telephone: &'static str,
    pub reference: &'static str,
    pub thanks: &'static str,
}

impl Phrases {
    /// The phrases of a language.
    pub fn of(language: Language) -> &'static Self {
        match language {
            Language::English => &super::english::PHRASES,
            Language::Spanish => &super::spanish::PHRASES,
        }
    }
}

/// A phrase with what it leaves open filled in, one after the other.
pub fn filled(phrase: &str, with: &[&str]) -> String {
    with.iter().fold(phrase.to_owned(), |text, part| text.replacen("{}", part, 1))
}

/// How many containers a find is of, how many held water, and how many held larvae or pupae: never more than there were.
pub fn counts(find: &Find) -> (u32, u32, u32) {
    let all = find.count.max(find.wet).max(find.positive()).max(1);
    (all, find.wet, find.positive())
}
