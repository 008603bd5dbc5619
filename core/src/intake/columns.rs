//! Which column of a file means what: guessed from the names, or said by a column map.

use super::{DateOrder, IntakeError, Role};
use crate::files::{LayerLook, Table};
use std::collections::BTreeMap;

/// How sure it is that a column means what it was taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Sureness {
    /// The name is a usual one, but what stands in the column does not look like it.
    Doubtful,
    /// The name is a usual spelling.
    Likely,
    /// The name is the meaning's own.
    Sure,
    /// It was said so for an earlier file with the same columns.
    Remembered,
    /// A column map says so.
    Given,
}

impl Sureness {
    /// In words for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Doubtful => "doubtful",
            Self::Likely => "by a usual spelling",
            Self::Sure => "by its name",
            Self::Remembered => "as for an earlier file",
            Self::Given => "by the column map",
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
    /// Matches the columns of a table; the map's word counts before a guess.
    ///
    /// # Errors
    /// [`IntakeError::MapColumn`] when the map names a column that the table has not.
    pub fn of(table: &Table, role: Role, map: &ColumnMap) -> Result<Self, IntakeError> {
        let mut uses = Vec::new();
        for (meaning, name) in map.table(role) {
            let number = table.column(name).ok_or_else(|| IntakeError::MapColumn {
                file: table.name.clone(),
                role,
                meaning: meaning.to_owned(),
                column: name.to_owned(),
                columns: names(&table.columns),
            })?;
            let meaning = role.meaning(meaning).map_or("", |m| m.name);
            uses.push(ColumnUse { meaning, column: table.columns[number].clone(), sure: Sureness::Given, samples: Vec::new(), number });
        }
        guess_missing(role, &table.columns, &mut uses);
        for used in &mut uses {
            used.samples = samples(table, used.number);
            if used.sure < Sureness::Given && looks_wrong(used) {
                used.sure = Sureness::Doubtful;
            }
        }
        uses.sort_by_key(|u| role.meanings().iter().position(|m| m.name == u.meaning));
        Ok(Self { uses })
    }

    /// Notes which columns are not from the map given now but from one that was given earlier.
    pub(super) fn tell_remembered(&mut self, role: Role, given: &ColumnMap) {
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

/// What columns with such names would mean, without a look at what stands in them: the number of the column, its meaning, how sure.
///
/// ```
/// use yardring_core::intake::{Role, guess_columns};
/// let guessed = guess_columns(Role::Parcels, &["OBJECTID".into(), "Map_Lot".into(), "SITUS".into()]);
/// assert_eq!((guessed[0].meaning, guessed[0].number), ("parcel_id", 1));
/// assert_eq!((guessed[1].meaning, guessed[1].number), ("address", 2));
/// ```
pub fn guess_columns(role: Role, columns: &[String]) -> Vec<ColumnUse> {
    let mut uses = Vec::new();
    guess_missing(role, columns, &mut uses);
    uses
}

/// What a layer's rows probably are, from what shapes it has and what its columns are called.
pub fn guess_role(layer: &LayerLook) -> Option<Role> {
    let names: Vec<String> = layer.columns.iter().map(|c| c.name.clone()).collect();
    let has = |role: Role, meaning: &str| guess_columns(role, &names).iter().any(|u| u.meaning == meaning);
    let outlines = layer.geometry.contains("outlines");
    match () {
        () if outlines && !has(Role::Parcels, "parcel_id") && has(Role::Blocks, "block_id") => Some(Role::Blocks),
        () if outlines => Some(Role::Parcels),
        () if layer.geometry.contains("lines") => Some(Role::Streets),
        () if has(Role::Temperatures, "mean_c") || has(Role::Temperatures, "max_c") => Some(Role::Temperatures),
        () if has(Role::Visits, "outcome") => Some(Role::Visits),
        () if has(Role::Signals, "kind") => Some(Role::Signals),
        () => None,
    }
}

fn guess_missing(role: Role, columns: &[String], uses: &mut Vec<ColumnUse>) {
    let plain: Vec<String> = columns.iter().map(|c| plain(c)).collect();
    for exact in [true, false] {
        for meaning in role.meanings() {
            if uses.iter().any(|u| u.meaning == meaning.name) {
                continue;
            }
            let free = |i: &usize| !uses.iter().any(|u| u.number == *i);
            let own = plain_name(meaning.name);
            let found = if exact {
                plain.iter().position(|p| *p == own).filter(free)
            } else {
                meaning.spellings.iter().find_map(|s| plain.iter().position(|p| p == s).filter(free))
            };
            if let Some(number) = found {
                let sure = if exact { Sureness::Sure } else { Sureness::Likely };
                uses.push(ColumnUse { meaning: meaning.name, column: columns[number].clone(), sure, samples: Vec::new(), number });
            }
        }
    }
    uses.sort_by_key(|u| role.meanings().iter().position(|m| m.name == u.meaning));
}

fn plain_name(meaning: &str) -> String {
    plain(meaning)
}

/// A name without case, blanks and marks.
fn plain(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

fn samples(table: &Table, column: usize) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for row in 0..table.rows.min(500) {
        let cell = table.cell(row, column);
        if !cell.is_empty() && !out.iter().any(|s| **s == *cell) {
            out.push(cell.into_owned());
            if out.len() == 5 {
                break;
            }
        }
    }
    out
}

/// Whether the first values cannot be what the name promises.
fn looks_wrong(used: &ColumnUse) -> bool {
    let number = |s: &String| s.parse::<f64>().is_ok();
    match used.meaning {
        "lon" | "lat" | "mean_c" | "min_c" | "max_c" | "litres" | "pupae_count" | "count" | "value" | "year_built" | "left_from"
        | "left_to" | "right_from" | "right_to" => !used.samples.is_empty() && !used.samples.iter().any(number),
        "parcel_id" | "block_id" | "visit_id" => used.samples.is_empty(),
        "address" => !used.samples.is_empty() && used.samples.iter().all(number),
        _ => false,
    }
}

pub(super) fn names(columns: &[String]) -> String {
    if columns.is_empty() { "none".to_owned() } else { columns.join(", ") }
}

/// Which column of which file means what, as people write it down: tables such as `[parcels]` with lines such as
/// `parcel_id = "PIN"`.
///
/// ```
/// use yardring_core::intake::{ColumnMap, Role};
/// let map = ColumnMap::from_toml("[parcels]\nparcel_id = \"ML\"\n")?;
/// assert_eq!(map.table(Role::Parcels).collect::<Vec<_>>(), [("parcel_id", "ML")]);
/// assert_eq!(map.to_toml(), "[parcels]\nparcel_id = \"ML\"\n");
/// assert!(ColumnMap::from_toml("[parcels]\npin = \"ML\"\n").is_err());
/// # Ok::<(), yardring_core::intake::IntakeError>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ColumnMap {
    tables: BTreeMap<Role, BTreeMap<String, String>>,
    orders: BTreeMap<Role, DateOrder>,
}

/// The line of a column map that says in which order the numbers of a date are.
const DATE_ORDER: &str = "date_order";

impl ColumnMap {
    /// Reads a column map.
    ///
    /// # Errors
    /// [`IntakeError::MapText`] when it is no TOML of that form, [`IntakeError::MapName`] when it has a table or a meaning that
    /// does not exist.
    pub fn from_toml(text: &str) -> Result<Self, IntakeError> {
        let read: BTreeMap<String, BTreeMap<String, String>> =
            toml::from_str(text).map_err(|e| IntakeError::MapText(e.message().to_owned()))?;
        let mut out = Self::default();
        for (table, lines) in read {
            let role = Role::ALL.into_iter().find(|r| r.name() == table).ok_or_else(|| IntakeError::MapName {
                found: format!("a table [{table}]"),
                known: Role::ALL.map(|r| format!("[{r}]")).join(", "),
            })?;
            for (meaning, column) in lines {
                out.set(role, &meaning, column)?;
            }
        }
        Ok(out)
    }

    /// Says that a column means something; for visits also `date_order`: "day first", "month first" or "year first".
    ///
    /// # Errors
    /// [`IntakeError::MapName`] when there is no such meaning, [`IntakeError::MapText`] when there is no such order.
    pub fn set(&mut self, role: Role, meaning: &str, column: String) -> Result<(), IntakeError> {
        if meaning == DATE_ORDER && role == Role::Visits {
            let order = column.parse().map_err(|e: crate::survey::UnknownWord| IntakeError::MapText(e.to_string()))?;
            self.orders.insert(role, order);
            return Ok(());
        }
        if role.meaning(meaning).is_none() {
            return Err(IntakeError::MapName {
                found: format!("'{meaning}' under [{role}]"),
                known: role.meanings().iter().map(|m| m.name).collect::<Vec<_>>().join(", "),
            });
        }
        self.tables.entry(role).or_default().insert(meaning.to_owned(), column);
        Ok(())
    }

    /// The lines for one kind of file: meaning and column, in alphabetical order of the meanings.
    pub fn table(&self, role: Role) -> impl Iterator<Item = (&str, &str)> {
        self.tables.get(&role).into_iter().flatten().map(|(m, c)| (m.as_str(), c.as_str()))
    }

    /// In which order the numbers of a date are, where somebody said it.
    pub fn date_order(&self, role: Role) -> Option<DateOrder> {
        self.orders.get(&role).copied()
    }

    /// The part of the map about one kind of file.
    #[must_use]
    pub fn only(&self, role: Role) -> Self {
        Self {
            tables: self.tables.iter().filter(|(r, _)| **r == role).map(|(r, t)| (*r, t.clone())).collect(),
            orders: self.orders.iter().filter(|(r, _)| **r == role).map(|(r, o)| (*r, *o)).collect(),
        }
    }

    /// Whether the map says nothing about a kind of file.
    pub fn says_nothing_about(&self, role: Role) -> bool {
        self.table(role).next().is_none() && self.date_order(role).is_none()
    }

    /// This map with the lines of another over it.
    #[must_use]
    pub fn under(mut self, other: &Self) -> Self {
        for (role, lines) in &other.tables {
            let own = self.tables.entry(*role).or_default();
            own.retain(|_, column| !lines.values().any(|c| c == column));
            own.extend(lines.clone());
        }
        self.orders.extend(&other.orders);
        self
    }

    /// The map as TOML; [`ColumnMap::from_toml`] reads it back.
    pub fn to_toml(&self) -> String {
        let mut tables: BTreeMap<&str, BTreeMap<&str, &str>> = BTreeMap::new();
        for role in Role::ALL {
            tables.entry(role.name()).or_default().extend(self.table(role));
        }
        for (role, order) in &self.orders {
            tables.entry(role.name()).or_default().insert(DATE_ORDER, order.word());
        }
        tables.retain(|_, lines| !lines.is_empty());
        toml::to_string(&tables).unwrap_or_default()
    }
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
    fn a_map_is_read_back_as_written() {
        let mut map = ColumnMap::default();
        map.set(Role::Visits, "parcel_id", "Lot \"no\"".to_owned()).unwrap();
        map.set(Role::Visits, "date_order", "month first".to_owned()).unwrap();
        assert!(map.set(Role::Visits, "date_order", "backwards".to_owned()).is_err());
        map.set(Role::Temperatures, "mean_c", "avg".to_owned()).unwrap();
        assert_eq!(ColumnMap::from_toml(&map.to_toml()).unwrap(), map);
    }

    #[test]
    fn text_where_numbers_belong_is_doubtful() {
        let t = table("v", &["lon", "lat", "date"], &[&["west", "39", "2025-01-01"]]);
        let m = Match::of(&t, Role::Visits, &ColumnMap::default()).unwrap();
        let lon = m.uses().iter().find(|u| u.meaning == "lon").unwrap();
        assert_eq!(lon.sure, Sureness::Doubtful);
    }
}
