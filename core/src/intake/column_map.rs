//! Which column of which file means what, as people write it down.

use super::words::{WordList, WordMap};
use super::{DateOrder, IntakeError, Role};
use std::collections::BTreeMap;
use toml::{Table, Value};

/// Which column of which file means what, as people write it down: tables such as `[parcels]` with lines such as
/// `parcel_id = "PIN"`; a blank name says that no column means it. Under `[words]` stands which of a file's words stand for which
/// of the district's lists: `[words.outcome]` with lines such as `"nobody home" = "no answer"`.
///
/// ```
/// use yardring_core::intake::{ColumnMap, Role, WordList};
/// let map = ColumnMap::from_toml("[parcels]\nparcel_id = \"ML\"\n")?;
/// assert_eq!(map.table(Role::Parcels).collect::<Vec<_>>(), [("parcel_id", "ML")]);
/// assert_eq!(map.to_toml(), "[parcels]\nparcel_id = \"ML\"\n");
/// assert!(ColumnMap::from_toml("[parcels]\npin = \"ML\"\n").is_err());
/// let map = ColumnMap::from_toml("[words.outcome]\n\"Nobody home\" = \"no answer\"\n")?;
/// assert_eq!(map.words().said(WordList::Outcome, "nobody home"), Some("no answer"));
/// # Ok::<(), yardring_core::intake::IntakeError>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ColumnMap {
    tables: BTreeMap<Role, BTreeMap<String, String>>,
    orders: BTreeMap<Role, DateOrder>,
    words: WordMap,
}

/// The line of a column map that says in which order the numbers of a date are.
const DATE_ORDER: &str = "date_order";
/// The table of a column map that says what a file's words stand for.
const WORDS: &str = "words";

impl ColumnMap {
    /// Reads a column map.
    ///
    /// # Errors
    /// [`IntakeError::MapText`] when it is no TOML of that form or puts a word on a list that has it not,
    /// [`IntakeError::MapName`] when it has a table or a meaning that does not exist.
    pub fn from_toml(text: &str) -> Result<Self, IntakeError> {
        let read: Table = toml::from_str(text).map_err(|e| IntakeError::MapText(e.message().to_owned()))?;
        let mut out = Self::default();
        for (table, lines) in &read {
            let lines = lines.as_table().ok_or_else(|| IntakeError::MapText(format!("'{table}' stands under no table")))?;
            if table == WORDS {
                out.read_words(lines)?;
                continue;
            }
            let role = Role::ALL.into_iter().find(|r| r.name() == table).ok_or_else(|| IntakeError::MapName {
                found: format!("a table [{table}]"),
                known: Role::ALL.map(|r| format!("[{r}]")).join(", ") + ", [words]",
            })?;
            for (meaning, column) in lines {
                out.set(role, meaning, said(&format!("{table}.{meaning}"), column)?.to_owned())?;
            }
        }
        Ok(out)
    }

    fn read_words(&mut self, lists: &Table) -> Result<(), IntakeError> {
        for (name, words) in lists {
            let list = WordList::ALL.into_iter().find(|l| l.name() == name).ok_or_else(|| IntakeError::MapName {
                found: format!("a list [words.{name}]"),
                known: WordList::ALL.map(|l| format!("[words.{}]", l.name())).join(", "),
            })?;
            let of_list = words.as_table().ok_or_else(|| IntakeError::MapText(format!("'words.{name}' is no table of words")))?;
            for (theirs, ours) in of_list {
                self.words.set(list, theirs, said(&format!("words.{name}.{theirs}"), ours)?)?;
            }
        }
        Ok(())
    }

    /// Says that a column means something, or with a blank name that none does; where there are dates also `date_order`:
    /// "day first", "month first" or "year first".
    ///
    /// # Errors
    /// [`IntakeError::MapName`] when there is no such meaning, [`IntakeError::MapText`] when there is no such order.
    pub fn set(&mut self, role: Role, meaning: &str, column: String) -> Result<(), IntakeError> {
        if meaning == DATE_ORDER && role.meaning("date").is_some() {
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

    /// Takes back what was said about a meaning.
    pub fn forget(&mut self, role: Role, meaning: &str) {
        if let Some(lines) = self.tables.get_mut(&role) {
            lines.remove(meaning);
        }
    }

    /// Says in which order the numbers of a date are.
    pub fn set_date_order(&mut self, role: Role, order: DateOrder) {
        self.orders.insert(role, order);
    }

    /// Says that a word of a file stands for one of a list; a blank one takes it back.
    ///
    /// # Errors
    /// [`IntakeError::MapText`] when the list has no such word.
    pub fn set_word(&mut self, list: WordList, theirs: &str, ours: &str) -> Result<(), IntakeError> {
        self.words.set(list, theirs, ours)
    }

    /// The lines for one kind of file: meaning and column, in alphabetical order of the meanings.
    pub fn table(&self, role: Role) -> impl Iterator<Item = (&str, &str)> {
        self.tables.get(&role).into_iter().flatten().map(|(m, c)| (m.as_str(), c.as_str()))
    }

    /// In which order the numbers of a date are, where somebody said it.
    pub fn date_order(&self, role: Role) -> Option<DateOrder> {
        self.orders.get(&role).copied()
    }

    /// What a file's words stand for.
    pub fn words(&self) -> &WordMap {
        &self.words
    }

    /// The part of the map about one kind of file.
    #[must_use]
    pub fn only(&self, role: Role) -> Self {
        Self {
            tables: self.tables.iter().filter(|(r, _)| **r == role).map(|(r, t)| (*r, t.clone())).collect(),
            orders: self.orders.iter().filter(|(r, _)| **r == role).map(|(r, o)| (*r, *o)).collect(),
            words: self.words.only(role),
        }
    }

    /// Whether the map says nothing about a kind of file.
    pub fn says_nothing_about(&self, role: Role) -> bool {
        self.table(role).next().is_none() && self.date_order(role).is_none() && self.words.only(role).is_empty()
    }

    /// This map with the lines of another over it.
    #[must_use]
    pub fn under(mut self, other: &Self) -> Self {
        for (role, lines) in &other.tables {
            let own = self.tables.entry(*role).or_default();
            own.retain(|_, column| column.is_empty() || !lines.values().any(|c| c == column));
            own.extend(lines.clone());
        }
        self.orders.extend(&other.orders);
        self.words.extend(&other.words);
        self
    }

    /// The map as TOML; [`ColumnMap::from_toml`] reads it back.
    pub fn to_toml(&self) -> String {
        let mut all = Table::new();
        for role in Role::ALL {
            let mut lines: Table = self.table(role).map(|(m, c)| (m.to_owned(), Value::from(c))).collect();
            lines.extend(self.date_order(role).map(|o| (DATE_ORDER.to_owned(), Value::from(o.word()))));
            if !lines.is_empty() {
                all.insert(role.name().to_owned(), Value::Table(lines));
            }
        }
        let of_list =
            |words: &BTreeMap<String, String>| Value::Table(words.iter().map(|(t, o)| (t.clone(), Value::from(o.as_str()))).collect());
        let words: Table = self.words.lists().map(|(list, words)| (list.name().to_owned(), of_list(words))).collect();
        if !words.is_empty() {
            all.insert(WORDS.to_owned(), Value::Table(words));
        }
        toml::to_string(&all).unwrap_or_default()
    }
}

/// The text of a line.
fn said<'a>(place: &str, value: &'a Value) -> Result<&'a str, IntakeError> {
    value.as_str().ok_or_else(|| IntakeError::MapText(format!("'{place}' is no text between quotation marks")))
}

#[cfg(test)]
mod tests {
    use super::*;

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
    fn words_are_read_and_written_and_unknown_ones_are_told() {
        let text = "[visits]\ndate_order = \"day first\"\noutcome = \"RESULT\"\nround = \"\"\n\n[words.outcome]\n\"nobody home\" = \"no answer\"\n\n[words.yes_no]\nsi = \"yes\"\n";
        let map = ColumnMap::from_toml(text).unwrap();
        assert_eq!(map.to_toml(), text);
        assert!(map.only(Role::Parcels) == ColumnMap::default() && map.only(Role::Visits) == map);
        let over = ColumnMap::from_toml("[words.outcome]\n\"nobody home\" = \"refused\"\n").unwrap();
        assert_eq!(map.under(&over).words().said(WordList::Outcome, "Nobody home"), Some("refused"));
        let told = |text: &str| ColumnMap::from_toml(text).unwrap_err().to_string();
        assert!(told("[words.result]\na = \"b\"").contains("[words.result]") && told("[words]\noutcome = 3").contains("no table of words"));
        assert!(told("[words.outcome]\nout = \"vanished\"").contains("'vanished' under [words.outcome]"));
        assert!(told("[visits]\ndate = 3").contains("'visits.date' is no text"));
    }
}
