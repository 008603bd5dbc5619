//! Words of a file that stand for words of the district's lists.

use super::cells::{self, folded};
use super::{IntakeError, Role};
use crate::survey::{Action, Outcome, SignalKind, Stage, Survey};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// A list of words that a column's words belong to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WordList {
    /// How a visit ended.
    Outcome,
    /// The oldest stage seen.
    Stages,
    /// What was done.
    Action,
    /// What kind of signal it is.
    Kind,
    /// Yes and no, of all columns that take them.
    YesNo,
    /// Kinds of container; any word can be one.
    ContainerType,
}

impl WordList {
    /// Every list.
    pub const ALL: [Self; 6] = [Self::Outcome, Self::Stages, Self::Action, Self::Kind, Self::YesNo, Self::ContainerType];

    /// Its name in column maps, under `[words]`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Outcome => "outcome",
            Self::Stages => "stages",
            Self::Action => "action",
            Self::Kind => "kind",
            Self::YesNo => "yes_no",
            Self::ContainerType => "container_type",
        }
    }

    /// The list that the words of a meaning belong to.
    pub fn of(role: Role, meaning: &str) -> Option<Self> {
        match (role, meaning) {
            (Role::Visits, "outcome") => Some(Self::Outcome),
            (Role::Visits, "stages") => Some(Self::Stages),
            (Role::Visits, "action") => Some(Self::Action),
            (Role::Visits, "container_type") => Some(Self::ContainerType),
            (Role::Visits, "holds_water" | "larvae" | "pupae" | "remains") => Some(Self::YesNo),
            (Role::Signals, "kind") => Some(Self::Kind),
            _ => None,
        }
    }

    /// Whether it serves files of a role.
    fn serves(self, role: Role) -> bool {
        matches!((self, role), (Self::Kind, Role::Signals)) || (self != Self::Kind && role == Role::Visits)
    }

    /// The words of the list; of containers those that the survey knows.
    pub fn known(self, survey: Option<&Survey>) -> Vec<String> {
        match self {
            Self::Outcome => Outcome::ALL.iter().map(ToString::to_string).collect(),
            Self::Stages => Stage::ALL.iter().map(ToString::to_string).collect(),
            Self::Action => Action::ALL.iter().map(ToString::to_string).collect(),
            Self::Kind => SignalKind::ALL.iter().map(ToString::to_string).collect(),
            Self::YesNo => vec!["yes".to_owned(), "no".to_owned()],
            Self::ContainerType => survey.map_or_else(Vec::new, |s| s.kinds.iter().map(|k| k.to_string()).collect()),
        }
    }

    /// Whether a file's word can be read as it stands. Any word is a kind of container; it is a known one when the survey has it,
    /// or has none yet.
    pub fn reads(self, text: &str, survey: Option<&Survey>) -> bool {
        match self {
            Self::Outcome => cells::outcome(text).is_ok(),
            Self::Stages => cells::stage(text).is_some(),
            Self::Action => cells::action(text).is_some(),
            Self::Kind => text.parse::<SignalKind>().is_ok(),
            Self::YesNo => cells::amount(text, "").is_ok(),
            Self::ContainerType => {
                let fold = folded(text);
                survey.is_none_or(|s| s.kinds.is_empty() || s.kinds.iter().any(|k| folded(k) == fold))
            }
        }
    }
}

/// Which words of a file stand for which words of the lists. Case and blanks do not matter.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WordMap(BTreeMap<WordList, BTreeMap<String, String>>);

impl WordMap {
    /// Says that a word stands for one of a list; a blank one takes it back.
    ///
    /// # Errors
    /// [`IntakeError::MapText`] when the list has no such word.
    pub fn set(&mut self, list: WordList, theirs: &str, ours: &str) -> Result<(), IntakeError> {
        let (theirs, ours) = (folded(theirs), ours.trim());
        let of_list = self.0.entry(list).or_default();
        if ours.is_empty() {
            of_list.remove(&theirs);
        } else if list == WordList::ContainerType || list.reads(ours, None) {
            of_list.insert(theirs, ours.to_owned());
        } else {
            let known = list.known(None).join(", ");
            return Err(IntakeError::MapText(format!("'{ours}' under [words.{}] is none of {known}", list.name())));
        }
        self.0.retain(|_, words| !words.is_empty());
        Ok(())
    }

    /// What a file's word stands for; the word itself where nobody said anything.
    pub fn ours<'a>(&'a self, list: WordList, text: Cow<'a, str>) -> Cow<'a, str> {
        match self.said(list, &text) {
            Some(ours) => Cow::Borrowed(ours),
            None => text,
        }
    }

    /// What somebody said that a word stands for.
    pub fn said(&self, list: WordList, text: &str) -> Option<&str> {
        self.0.get(&list)?.get(&folded(text)).map(String::as_str)
    }

    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The part about files of a role.
    pub(super) fn only(&self, role: Role) -> Self {
        Self(self.0.iter().filter(|(list, _)| list.serves(role)).map(|(l, w)| (*l, w.clone())).collect())
    }

    /// Takes in what another says, over what is said already.
    pub(super) fn extend(&mut self, other: &Self) {
        for (list, words) in &other.0 {
            self.0.entry(*list).or_default().extend(words.clone());
        }
    }

    /// The words said of each list.
    pub(super) fn lists(&self) -> impl Iterator<Item = (WordList, &BTreeMap<String, String>)> {
        self.0.iter().map(|(l, w)| (*l, w))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_stands_for_one_of_its_list_whatever_its_case() {
        let mut map = WordMap::default();
        map.set(WordList::Outcome, "Nobody  Home", "no answer").unwrap();
        map.set(WordList::ContainerType, "Llanta", "tire").unwrap();
        assert_eq!(map.ours(WordList::Outcome, "nobody home".into()), "no answer");
        assert_eq!(map.ours(WordList::Action, "nobody home".into()), "nobody home");
        let told = map.set(WordList::YesNo, "ja", "perhaps").unwrap_err().to_string();
        assert!(told.contains("'perhaps' under [words.yes_no] is none of yes, no"), "{told}");
        assert_eq!(map.only(Role::Signals), WordMap::default());
        map.set(WordList::Outcome, "NOBODY home", "").unwrap();
        assert_eq!(map.said(WordList::Outcome, "nobody home"), None);
    }

    #[test]
    fn the_words_of_a_list_are_read_by_the_list() {
        for list in WordList::ALL {
            assert!(list.known(None).iter().all(|w| list.reads(w, None)), "{list:?}");
            assert!(list == WordList::ContainerType || !list.reads("gone fishing", None), "{list:?}");
        }
    }
}
