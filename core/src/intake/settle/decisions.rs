//! What was decided about rows, kept with the survey and found again by what stands in the row.

use crate::files::Table;
use crate::intake::join::Finder;
use crate::place::Local;
use crate::survey::{PremiseId, RefusedRow, Survey, mark, settings};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What was decided about one row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(in crate::intake) enum Decided {
    /// It belongs to this premise.
    Premise {
        /// The premise's parcel id; may be blank.
        parcel_id: String,
        /// A place inside it, in the survey's frame, which tells premises with the same id apart.
        at: Option<(f64, f64)>,
    },
    /// It is left where it is and no longer asked about.
    SetAside,
}

/// All decisions of a survey: by file, then by the key of the row.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub(in crate::intake) struct Decisions(BTreeMap<String, BTreeMap<String, Decided>>);

impl Decisions {
    /// The decisions that a survey keeps; none when another program has spoiled them.
    pub(in crate::intake) fn of(survey: &Survey) -> Self {
        survey.settings.get(settings::SETTLED).and_then(|text| serde_json::from_str(text).ok()).unwrap_or_default()
    }

    /// Puts the decisions into a survey.
    pub(in crate::intake) fn keep_in(&self, survey: &mut Survey) {
        let all = Arc::make_mut(&mut survey.settings);
        if self.0.values().all(BTreeMap::is_empty) {
            all.remove(settings::SETTLED);
        } else if let Ok(text) = serde_json::to_string(self) {
            all.insert(settings::SETTLED.into(), text.into());
        }
    }

    /// Decides about a refused row, or takes the decision back.
    pub(super) fn put(&mut self, row: &RefusedRow, decided: Option<Decided>) {
        let of_file = self.0.entry(row.file.to_string()).or_default();
        let key = key_of_refused(row);
        match decided {
            Some(decided) => drop(of_file.insert(key, decided)),
            None => drop(of_file.remove(&key)),
        }
    }

    /// What was decided about a refused row.
    pub(super) fn about(&self, row: &RefusedRow) -> Option<&Decided> {
        self.0.get(&*row.file)?.get(&key_of_refused(row))
    }

    /// The premise that a visit of a file belongs to by the decision about one of its rows.
    pub(in crate::intake) fn premise(&self, table: &Table, rows: &[u32], finder: &Finder<'_>) -> Option<PremiseId> {
        let of_file = self.0.get(&table.name).filter(|m| !m.is_empty())?;
        rows.iter().find_map(|&row| match of_file.get(&key_in_table(table, row as usize))? {
            Decided::Premise { parcel_id, at } => finder.by_id_at(parcel_id, at.map(|(x, y)| Local { x, y })),
            Decided::SetAside => None,
        })
    }
}

/// The key of a row of a table: what stands in its cells, wherever the row stands in the file.
pub(in crate::intake) fn key_in_table(table: &Table, row: usize) -> String {
    key((0..table.columns.len()).map(|c| (table.columns[c].as_str().into(), table.cell(row, c))))
}

/// The key of a refused row; the same as in its table.
pub(in crate::intake) fn key_of_refused(row: &RefusedRow) -> String {
    key(row.cells.iter().map(|(name, text)| ((&**name).into(), (&**text).into())))
}

fn key<'a>(cells: impl Iterator<Item = (std::borrow::Cow<'a, str>, std::borrow::Cow<'a, str>)>) -> String {
    let all = cells.fold(mark::FIRST, |all, (name, text)| mark::after(all, name.bytes().chain([0]).chain(text.bytes()).chain([1])));
    format!("{all:016x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test vectors of the FNV authors' page, from memory: the empty text, and "a" with a hash of its own.
    #[test]
    fn the_key_is_that_of_the_cells() {
        assert_eq!(key(std::iter::empty()), "cbf29ce484222325");
        let one = |name: &'static str, text: &'static str| key([(name.into(), text.into())].into_iter());
        assert_ne!(one("ab", "c"), one("a", "bc"));
        assert_eq!(one("ab", "c"), one("ab", "c"));
    }
}
