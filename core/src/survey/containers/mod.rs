//! What the district knows about kinds of container: whether they can be tipped, what to do with them, and who must.

mod rows;
mod spanish;
mod usual;

use super::outcome::written_words;
use super::{Action, Find, KindId, Language, Survey, settings};
use std::borrow::Cow;

pub use rows::{COLUMNS, KnowledgeError};

/// Something that ends breeding in a container.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Remedy {
    /// Tip the water out.
    Tip,
    /// Turn it upside down.
    Turn,
    /// Drill it where water collects last.
    Drill,
    /// Cover it with a screen.
    Screen,
    /// Put it under a roof.
    StoreInside,
    /// Throw it out.
    ThrowOut,
    /// Fill the hollow so that it holds no water.
    Fill,
    /// Clear it so that water runs off.
    Clear,
    /// Stock it with fish.
    Fish,
    /// Keep the water moving.
    Circulate,
    /// Treat the water as the product's label says.
    Treat,
}

written_words!(Remedy, "something to do with a container",
    Tip => "tip out", Turn => "turn over", Drill => "drill at the lowest corner", Screen => "screen",
    StoreInside => "store inside", ThrowOut => "throw out", Fill => "fill with sand", Clear => "clear so it drains",
    Fish => "stock fish", Circulate => "circulate", Treat => "treat");

impl Remedy {
    /// What a crew must carry for it; `None` where hands are enough. Common practice, no source.
    pub fn supply(self) -> Option<&'static str> {
        match self {
            Self::Drill => Some("drill and bits"),
            Self::Screen => Some("mesh and ties"),
            Self::ThrowOut => Some("sacks"),
            Self::Fill => Some("sand"),
            Self::Fish => Some("fish"),
            Self::Treat => Some("larvicide, as its label says"),
            Self::Tip | Self::Turn | Self::StoreInside | Self::Clear | Self::Circulate => None,
        }
    }
}

/// Who must see to a container.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Who {
    /// Whoever lives there.
    Householder,
    /// The crew, on the spot.
    Crew,
    /// Somebody with a licence to treat water.
    Applicator,
    /// The city or the utility that it belongs to.
    PublicWorks,
}

written_words!(Who, "somebody who acts",
    Householder => "householder", Crew => "crew", Applicator => "licensed applicator", PublicWorks => "public works");

/// What is known about one kind of container.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownContainer {
    /// What it is called.
    pub kind: Box<str>,
    /// Other names for it in visits.
    pub also_called: Vec<Box<str>>,
    /// Whether one person can tip it.
    pub can_be_tipped: bool,
    /// Whether it holds water upside down too, in a rim, a fold or a hollow.
    pub holds_upside_down: bool,
    /// What to do, the best first.
    pub to_do: Vec<Remedy>,
    /// Who must act.
    pub who: Who,
    /// What to say to the householder, in English.
    pub words: Box<str>,
    /// What it is called in Spanish; empty where nobody has said.
    pub kind_in_spanish: Box<str>,
    /// What to say to the householder, in Spanish; empty where nobody has said: then [`Self::to_do`] is told in general words.
    pub words_in_spanish: Box<str>,
    /// Where this is known from.
    pub source: Box<str>,
}

impl KnownContainer {
    /// What to do in words: "store inside, or drill at the lowest corner".
    pub fn to_do_words(&self) -> String {
        self.to_do.iter().map(|r| r.word()).collect::<Vec<_>>().join(", or ")
    }

    /// What it is called in a language, where that is known.
    pub fn called_in(&self, language: Language) -> Option<&str> {
        Some(if language == Language::Spanish { &*self.kind_in_spanish } else { &*self.kind }).filter(|name| !name.is_empty())
    }

    /// What to say to the householder in a language, where that is known.
    pub fn words_in(&self, language: Language) -> Option<&str> {
        Some(if language == Language::Spanish { &*self.words_in_spanish } else { &*self.words }).filter(|words| !words.is_empty())
    }
}

/// Why something found may breed again although somebody was there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StaysOpen {
    /// Its water was left standing.
    LeftStanding,
    /// It was turned over, but holds water upside down too.
    HoldsUpsideDown,
    /// Something is left for the householder.
    Promised,
}

/// The district's table of container kinds, in alphabetical order; no kind stands in it twice.
///
/// ```
/// use yardring_core::survey::{ContainerKnowledge, Remedy};
/// let known = ContainerKnowledge::usual();
/// let pot = known.what_to_do("Upturned pots").unwrap();
/// assert!(pot.holds_upside_down && pot.to_do.contains(&Remedy::Drill));
/// assert!(known.what_to_do("spaceship").is_none());
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ContainerKnowledge {
    kinds: Vec<KnownContainer>,
}

impl ContainerKnowledge {
    /// The table every survey begins with.
    ///
    /// # Source
    /// Common practice, no source.
    pub fn usual() -> Self {
        usual::table()
    }

    /// The table of a survey: the one its office has settled, or the usual one.
    pub fn of(survey: &Survey) -> Self {
        let settled = survey.settings.get(settings::CONTAINERS).and_then(|text| Self::from_csv(text).ok());
        settled.unwrap_or_else(Self::usual)
    }

    /// Puts rows in order.
    ///
    /// # Errors
    /// [`KnowledgeError::Twice`] when two rows claim one name.
    pub fn from_kinds(mut kinds: Vec<KnownContainer>) -> Result<Self, KnowledgeError> {
        kinds.sort_by(|a, b| a.kind.cmp(&b.kind));
        let mut names: Vec<(Vec<String>, &str)> = kinds.iter().flat_map(|k| names(k).map(move |n| (words_of(n), n))).collect();
        names.sort();
        if let Some(pair) = names.windows(2).find(|w| w[0].0 == w[1].0) {
            return Err(KnowledgeError::Twice { name: pair[1].1.to_owned() });
        }
        Ok(Self { kinds })
    }

    /// The rows, in alphabetical order.
    pub fn kinds(&self) -> &[KnownContainer] {
        &self.kinds
    }

    /// What is known about a kind as visits name it. A name or another name of the table counts whatever its case and number;
    /// otherwise the longest one whose words all stand in the given name ("blue plastic bucket" is a bucket). `None` when the
    /// table says nothing.
    pub fn what_to_do(&self, kind: &str) -> Option<&KnownContainer> {
        let wanted = words_of(kind);
        let fits = |name: &str| {
            let words = words_of(name);
            let inside = !words.is_empty() && words.iter().all(|w| wanted.contains(w));
            inside.then_some((words == wanted, words.len()))
        };
        let best = |k: &'_ KnownContainer| names(k).filter_map(fits).max();
        // The last of equals would win; the table is walked backwards so that the first in the alphabet does.
        self.kinds.iter().rev().filter_map(|k| Some((best(k)?, k))).max_by_key(|(fit, _)| *fit).map(|(_, k)| k)
    }

    /// Why a find may breed again; `None` when it is done with. `known` is what [`Self::what_to_do`] says of its kind.
    pub fn stays_open(known: Option<&KnownContainer>, find: &Find) -> Option<StaysOpen> {
        let rim = known.is_some_and(|k| k.holds_upside_down);
        match find.action {
            None | Some(Action::Left) if find.wet > 0 => Some(StaysOpen::LeftStanding),
            Some(Action::TurnedOver) if rim => Some(StaysOpen::HoldsUpsideDown),
            _ => find.remains.then_some(StaysOpen::Promised),
        }
    }

    /// What is known about each kind of a survey, in the order of its kinds.
    pub fn by_kind(&self, survey: &Survey) -> Vec<Option<&KnownContainer>> {
        (0..survey.kinds.len() as u32).map(|k| self.what_to_do(survey.kind_name(KindId(k)))).collect()
    }

    /// The value of the setting [`settings::CONTAINERS`] that keeps this table in a survey; `None` for the usual table, which
    /// need not be kept.
    pub fn setting(&self) -> Option<Box<str>> {
        (*self != Self::usual()).then(|| self.to_csv().into())
    }
}

/// All names of a kind.
fn names(k: &KnownContainer) -> impl Iterator<Item = &str> {
    std::iter::once(&*k.kind).chain(k.also_called.iter().map(|n| &**n))
}

/// The words of a name without case, punctuation and plural endings.
fn words_of(name: &str) -> Vec<String> {
    let parts = name.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty());
    parts.map(|w| singular(&w.to_lowercase()).into_owned()).collect()
}

/// A word without the ending of an English plural.
fn singular(word: &str) -> Cow<'_, str> {
    let long = ["ches", "shes", "xes", "sses"].iter().any(|e| word.ends_with(e));
    match word {
        _ if long => Cow::Borrowed(&word[..word.len() - 2]),
        _ if word.len() > 3 && word.ends_with('s') && !word.ends_with("ss") && !word.ends_with("us") => {
            Cow::Borrowed(&word[..word.len() - 1])
        }
        _ => Cow::Borrowed(word),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(action: Option<Action>, wet: u32, remains: bool) -> Find {
        Find { kind: KindId(0), count: 1, wet, with_larvae: 0, with_pupae: 0, pupae: 0, stage: None, litres: None, action, remains }
    }

    #[test]
    fn names_are_met_as_people_write_them() {
        let known = ContainerKnowledge::usual();
        let told = |name: &str| known.what_to_do(name).map(|k| k.kind.to_string());
        assert_eq!(told("TIRES").as_deref(), Some("tire"));
        assert_eq!(told("blue plastic bucket").as_deref(), Some("bucket"));
        assert_eq!(told("Pet dishes").as_deref(), Some("pet dish"));
        assert_eq!(told("pool cover").as_deref(), Some("tarp"));
        assert_eq!((told(""), told("??")), (None, None));
    }

    /// A turned-over pot with a rim is still open; a saucer is not.
    #[test]
    fn a_rim_keeps_a_find_open() {
        let known = ContainerKnowledge::usual();
        let told = |kind: &str, f: &Find| ContainerKnowledge::stays_open(known.what_to_do(kind), f);
        let turned = find(Some(Action::TurnedOver), 1, false);
        assert_eq!((told("upturned pot", &turned), told("plant saucer", &turned)), (Some(StaysOpen::HoldsUpsideDown), None));
        assert_eq!(told("bucket", &find(Some(Action::Emptied), 1, true)), Some(StaysOpen::Promised));
        assert_eq!(told("bucket", &find(None, 2, false)), Some(StaysOpen::LeftStanding));
        assert_eq!(told("bucket", &find(None, 0, false)), None);
    }

    #[test]
    fn one_name_means_one_kind() {
        let mut kinds = ContainerKnowledge::usual().kinds().to_vec();
        kinds[0].also_called.push("Buckets".into());
        assert_eq!(ContainerKnowledge::from_kinds(kinds), Err(KnowledgeError::Twice { name: "bucket".to_owned() }));
    }

    #[test]
    fn the_usual_table_covers_the_kinds_of_the_trade() {
        let known = ContainerKnowledge::usual();
        let must = [
            "corrugated drain pipe",
            "buried pipe",
            "gutter with seedlings",
            "hollow toy",
            "ponding tarp",
            "draped tarp",
            "covered deck",
            "open deck",
            "pond with fish",
            "pond without fish",
            "pool with idle pump",
            "tree hole",
            "bamboo stump",
        ];
        must.iter().for_each(|m| assert!(known.what_to_do(m).is_some(), "{m}"));
        assert!(known.kinds().iter().all(|k| !k.words.is_empty() && &*k.source == "common practice, no source"));
        assert!(["bucket", "recycling bin", "upturned pot"].iter().all(|k| known.what_to_do(k).unwrap().holds_upside_down));
    }
}
