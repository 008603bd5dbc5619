//! Streets: centrelines with a name, and how they are for people on foot.

use super::Strings;
use crate::place::Shapes;
use std::sync::Arc;

/// How a street is for people on foot.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StreetClass {
    /// A path, an alley or steps: nothing to cross.
    Path,
    /// A street that is crossed anywhere.
    #[default]
    Minor,
    /// A street with much traffic, crossed at its corners.
    Major,
    /// Nobody walks there: a motorway or its ramps.
    NotOnFoot,
}

impl StreetClass {
    /// Every class.
    pub const ALL: [Self; 4] = [Self::Path, Self::Minor, Self::Major, Self::NotOnFoot];

    /// The class as files write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Path => "path",
            Self::Minor => "minor",
            Self::Major => "major",
            Self::NotOnFoot => "not on foot",
        }
    }

    /// The class that a word of a street file stands for; a word that says nothing of it is a minor street.
    ///
    /// ```
    /// use yardring_core::survey::StreetClass;
    /// assert_eq!(StreetClass::of("secondary_link"), StreetClass::Major);
    /// assert_eq!(StreetClass::of("S1400"), StreetClass::Minor);
    /// ```
    ///
    /// # Source
    /// Values of OpenStreetMap's key `highway` (its wiki, "Key:highway"); feature class codes of the US Census Bureau's
    /// street files (TIGER/Line technical documentation, appendix E); 1 to 3 as road inventories number functional classes
    /// (FHWA, Highway Functional Classification, 2013: 1 interstate to 4 minor arterial, 7 local), where a county file holds
    /// bare numbers. From memory.
    pub fn of(word: &str) -> Self {
        let word = word.trim().to_lowercase();
        if let Some(own) = Self::ALL.into_iter().find(|c| c.word() == word) {
            return own;
        }
        match word.trim_end_matches("_link") {
            "motorway" | "s1100" | "s1630" | "interstate" | "freeway" => Self::NotOnFoot,
            "trunk" | "primary" | "secondary" | "tertiary" | "s1200" | "arterial" | "collector" | "highway" => Self::Major,
            "footway" | "path" | "steps" | "pedestrian" | "cycleway" | "bridleway" | "track" | "corridor" | "alley" | "s1500" | "s1710"
            | "s1720" | "s1730" | "s1750" | "s1820" | "s1830" => Self::Path,
            number => match number.parse::<f64>() {
                Ok(n) if (1.0..4.0).contains(&n) => Self::Major,
                _ => Self::Minor,
            },
        }
    }
}

/// House numbers along one side of a centreline, from where its line begins to where it ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Numbers {
    /// The number where the line begins.
    pub from: u32,
    /// The number where the line ends; smaller than `from` where numbers fall along the line.
    pub to: u32,
}

/// House numbers along both sides of a centreline, as seen by somebody who walks from its beginning to its end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ranges {
    /// On the left hand.
    pub left: Option<Numbers>,
    /// On the right hand.
    pub right: Option<Numbers>,
}

impl Ranges {
    /// Both sides: whether it is the left one, and its numbers.
    pub fn sides(self) -> impl Iterator<Item = (bool, Numbers)> {
        [(true, self.left), (false, self.right)].into_iter().filter_map(|(left, numbers)| Some((left, numbers?)))
    }
}

/// The streets of a survey: one row for each centreline of the file, in an order that depends on the ground alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Streets {
    /// The name; empty where none was given.
    pub name: Arc<Strings>,
    /// The runs of the centreline in the district frame, each an open ring of its own part.
    pub line: Arc<Shapes>,
    /// How the street is for people on foot; no row where no file said so.
    pub class: Arc<Vec<StreetClass>>,
    /// The level, above 0 on bridges and below 0 in tunnels; no row where no file said so. Streets of different levels meet
    /// only at their ends.
    pub level: Arc<Vec<i8>>,
    /// House numbers along each centreline; no row where no file gave any.
    pub ranges: Arc<Vec<Ranges>>,
}

impl Streets {
    /// How many centrelines there are.
    pub fn len(&self) -> usize {
        self.name.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.name.is_empty()
    }

    /// How a street is for people on foot: [`StreetClass::Minor`] where nothing was said.
    pub fn class_of(&self, street: usize) -> StreetClass {
        self.class.get(street).copied().unwrap_or_default()
    }

    /// The level of a street: 0 where nothing was said.
    pub fn level_of(&self, street: usize) -> i8 {
        self.level.get(street).copied().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_class_is_read_from_its_own_word() {
        for class in StreetClass::ALL {
            assert_eq!(StreetClass::of(class.word()), class);
        }
    }

    #[test]
    fn classes_of_usual_street_files() {
        use StreetClass::{Major, Minor, NotOnFoot, Path};
        let cases = [
            ("residential", Minor),
            ("motorway_link", NotOnFoot),
            ("Tertiary", Major),
            ("footway", Path),
            ("S1200", Major),
            ("2.0", Major),
            ("7", Minor),
            ("", Minor),
        ];
        for (word, class) in cases {
            assert_eq!(StreetClass::of(word), class, "{word}");
        }
    }
}
