//! Which column of a file means what: said by a column map, or guessed.

use super::guess::guess_missing;
use super::{ColumnMap, IntakeError, Role};
use crate::files::{ColumnLook, Table, column_looks};
use crate::survey::Survey;

/// How sure it is that a column means what it was taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Sureness {
    /// The name is a usual one, but what stands in the column does not look like it.
    Doubtful,
    /// Only what stands in the column says so.
    Values,
    /// The name is a usual one that may mean other things too.
    Guess,
    /// The name is a usual spelling.
    Likely,
    /// The name is the meaning's own.
    Sure,
    /// It was said so for an earlier file with the same columns.
    Remembered,
    /// A column map, or somebody at the intake desk, says so.
    Given,
}

impl Sureness {
    /// In words for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Doubtful => "doubtful: its values do not look like it",
            Self::Values => "a guess from its values",
            Self::Guess => "a guess from its name",
            Self::Likely => "likely, a usual spelling",
            Self::Sure => "certain, by its name",
            Self::Remembered => "as for an earlier file",
            Self::Given => "as you said",
        }
    }

    /// In one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Doubtful => "doubtful",
            Self::Values | Self::Guess => "guess",
            Self::Likely => "likely",
            Self::Sure => "certain",
            Self::Remembered => "remembered",
            Self::Given => "said",
        }
    }
}

/// One column taken for a meaning.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct ColumnUse {
    /// The meaning.
    pub meaning: &'static str,
    /// The column's name in the file.
    pub column: String,
    /// How sure that is.
    pub sure: Sureness,
    /// The first different values that stand in it, at most five.
    pub samples: Vec<String>,
    /// Its number in the file.
    #[serde(skip)]
    pub number: usize,
}

/// The columns of one file and what they mean.
#[derive(Clone, Debug, Default)]
pub struct Match {
    uses: Vec<ColumnUse>,
}

impl Match {
    /// Matches the columns of a table; the map's word counts before a guess, and a blank name in it says that there is none.
    ///
    /// # Errors
    /// [`IntakeError::MapColumn`] when the map names a column that the table has not.
    pub fn of(table: &Table, role: Role, map: &ColumnMap) -> Result<Self, IntakeError> {
        Self::within(table, role, map, None)
    }

    /// [`Match::of`], with a survey whose parcel ids may give a column away.
    ///
    /// # Errors
    /// As [`Match::of`].
    pub fn within(table: &Table, role: Role, map: &ColumnMap, survey: Option<&Survey>) -> Result<Self, IntakeError> {
        let mut given = Vec::new();
        for (meaning, name) in map.table(role).filter(|(_, name)| !name.is_empty()) {
            let number = table.column(name).ok_or_else(|| IntakeError::MapColumn {
                file: table.name.clone(),
                role,
                meaning: meaning.to_owned(),
                column: name.to_owned(),
                columns: names(&table.columns),
            })?;
            given.push((meaning, number));
        }
        Ok(Self::said_and_guessed(&column_looks(table), role, (map, &given), survey))
    }

    /// The match of columns that were looked at; a line of the map about a column that is not there says nothing.
    pub fn of_looks(columns: &[ColumnLook], role: Role, map: &ColumnMap, survey: Option<&Survey>) -> Self {
        let number = |name: &str| {
            let exactly = columns.iter().position(|c| c.name == name);
            exactly.or_else(|| columns.iter().position(|c| c.name.eq_ignore_ascii_case(name)))
        };
        let given: Vec<(&str, usize)> = map.table(role).filter_map(|(meaning, name)| Some((meaning, number(name)?))).collect();
        Self::said_and_guessed(columns, role, (map, &given), survey)
    }

    fn said_and_guessed(columns: &[ColumnLook], role: Role, (map, given): (&ColumnMap, &[(&str, usize)]), survey: Option<&Survey>) -> Self {
        let mut uses = Vec::new();
        for &(meaning, number) in given {
            let meaning = role.meaning(meaning).map_or("", |m| m.name);
            let ColumnLook { name, samples } = columns[number].clone();
            uses.push(ColumnUse { meaning, column: name, sure: Sureness::Given, samples, number });
        }
        let ruled_out: Vec<&str> = map.table(role).filter(|(_, name)| name.is_empty()).map(|(m, _)| m).collect();
        guess_missing(role, columns, &ruled_out, survey, &mut uses);
        Self { uses }
    }

    /// Notes which columns are not from the map given now but from one that was given earlier.
    pub fn tell_remembered(&mut self, role: Role, given: &ColumnMap) {
        for used in self.uses.iter_mut().filter(|u| u.sure == Sureness::Given) {
            if !given.table(role).any(|(meaning, _)| meaning == used.meaning) {
                used.sure = Sureness::Remembered;
            }
        }
    }

    /// The number of the column with a meaning.
    pub fn column(&self, meaning: &str) -> Option<usize> {
        self.uses.iter().find(|u| u.meaning == meaning).map(|u| u.number)
    }

    /// All columns that mean something, in the order of the meanings.
    pub fn uses(&self) -> &[ColumnUse] {
        &self.uses
    }

    /// The map that names every column that is used.
    pub fn as_map(&self, role: Role) -> ColumnMap {
        let mut out = ColumnMap::default();
        for used in &self.uses {
            // The meaning is one of the role's.
            let _ = out.set(role, used.meaning, used.column.clone());
        }
        out
    }

    /// What a file with these columns does not tell, and what that comes to, in a sentence; `None` where it tells what counts.
    pub fn untold(&self, role: Role) -> Option<&'static str> {
        let silent = role == Role::Visits && ["larvae", "pupae", "pupae_count", "stages"].iter().all(|m| self.column(m).is_none());
        silent.then_some("No column says whether larvae or pupae were found, so every inspected yard comes in as free of them")
    }

    /// The columns that mean nothing, of all that the file has.
    pub fn unused<'c>(&self, columns: impl Iterator<Item = &'c str>) -> Vec<&'c str> {
        columns.enumerate().filter(|(i, _)| !self.uses.iter().any(|u| u.number == *i)).map(|(_, name)| name).collect()
    }

    /// What such a file cannot do without and no column means: the meanings one of which is needed, each with the others.
    pub fn lacks(&self, role: Role, has_shapes: bool) -> Vec<&'static [&'static str]> {
        let all = role.needs().iter().copied();
        all.filter(|one_of| !(has_shapes && one_of.contains(&"lon")) && one_of.iter().all(|m| self.column(m).is_none())).collect()
    }

    /// One of the meanings must have a column.
    ///
    /// # Errors
    /// [`IntakeError::NoColumn`] when none has.
    pub fn require(&self, table: &Table, role: Role, wanted: &[&'static str]) -> Result<(), IntakeError> {
        if wanted.iter().any(|m| self.column(m).is_some()) {
            return Ok(());
        }
        Err(IntakeError::NoColumn {
            file: table.name.clone(),
            role,
            wanted: wanted.join(" or "),
            example: wanted[0],
            columns: names(&table.columns),
        })
    }
}

pub(super) fn names(columns: &[String]) -> String {
    if columns.is_empty() { "none".to_owned() } else { columns.join(", ") }
}

#[cfg(test)]
mod tests {
    use super::super::samples::table;
    use super::*;

    #[test]
    fn a_spelling_of_the_trade_is_found_and_each_column_used_once() {
        let t = table("lots", &["OBJECTID", "APN", "SITE_ADDR", "BLOCK", "LU", "YR_BLT"], &[&["1", "7-1", "1 Elm", "B", "R", "1950"]]);
        let m = Match::of(&t, Role::Parcels, &ColumnMap::default()).unwrap();
        let found: Vec<_> = m.uses().iter().map(|u| (u.meaning, u.number, u.sure)).collect();
        assert_eq!(
            found,
            [
                ("parcel_id", 1, Sureness::Likely),
                ("address", 2, Sureness::Likely),
                ("block_id", 3, Sureness::Likely),
                ("land_use", 4, Sureness::Likely),
                ("year_built", 5, Sureness::Likely)
            ]
        );
        assert_eq!(m.uses()[1].samples, ["1 Elm"]);
    }

    #[test]
    fn the_map_counts_before_the_name() {
        let t = table("lots", &["PARCEL_ID", "ml"], &[&["a", "b"]]);
        let map = ColumnMap::from_toml("[parcels]\nparcel_id = \"ML\"").unwrap();
        let m = Match::of(&t, Role::Parcels, &map).unwrap();
        assert_eq!((m.column("parcel_id"), m.uses()[0].sure), (Some(1), Sureness::Given));
    }

    #[test]
    fn what_is_unknown_is_told_with_what_there_is() {
        let told = |text: &str| ColumnMap::from_toml(text).unwrap_err().to_string();
        assert!(told("[lots]\na = \"b\"").contains("[lots]") && told("[lots]\na = \"b\"").contains("[parcels]"));
        assert!(told("[visits]\nwhen = \"b\"").contains("'when' under [visits]"));
        assert!(told("parcel_id = \"b\"").contains("cannot be read"));
        let t = table("lots", &["A", "B"], &[]);
        let map = ColumnMap::from_toml("[parcels]\nparcel_id = \"ML\"").unwrap();
        let e = Match::of(&t, Role::Parcels, &map).unwrap_err().to_string();
        assert!(e.contains("'ML'") && e.contains("A, B"), "{e}");
    }

    #[test]
    fn text_where_numbers_belong_is_doubtful() {
        let t = table("v", &["lon", "lat", "date"], &[&["west", "39", "2025-01-01"]]);
        let m = Match::of(&t, Role::Visits, &ColumnMap::default()).unwrap();
        let lon = m.uses().iter().find(|u| u.meaning == "lon").unwrap();
        assert_eq!(lon.sure, Sureness::Doubtful);
    }
}
