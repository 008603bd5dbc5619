//! A look into a file before it comes in: what it is, what its columns mean, what has to be asked about it.

use super::cells::folded;
use super::dates::Orders;
use super::doubts::Doubts;
use super::ground::{Extent, main_extent};
use super::remembered::FilesSeen;
use super::whereabouts::{CrsSuggestion, Known, suggest};
use super::words::WordList;
use super::{ColumnMap, ColumnUse, Role, guess_role};
use crate::files::{FileError, Look, Table, look_with};
use crate::job::Watch;
use crate::survey::Survey;
use std::collections::BTreeMap;
use std::path::Path;

/// A column with more different texts than this holds no words of a list.
const MOST_WORDS: usize = 60;
/// Cells that are looked at for words and dates, in files of very many rows.
const CELLS_LOOKED_AT: usize = 4_000_000;

/// What a file holds, and what is to be known before it comes in.
#[derive(Debug)]
pub struct Inspected {
    /// What it holds.
    pub look: Look,
    /// The same for each of its layers, in the same order.
    pub layers: Vec<LayerFacts>,
}

/// What is to be known about a layer before it comes in.
#[derive(Clone, Debug, Default)]
pub struct LayerFacts {
    /// What its rows probably are.
    pub role: Option<Role>,
    /// By the number of the column, a date that means two days while no other date of it tells which.
    pub unclear_dates: BTreeMap<usize, String>,
    /// By the number of the column, the different words in it and how many rows have each, for columns of few words.
    pub words: BTreeMap<usize, Vec<(String, usize)>>,
    /// Where its numbers lie, for a layer that names its system.
    pub known: Option<Known>,
    /// The box round its numbers, for a layer with shapes that names no system.
    pub unplaced: Option<[[f64; 2]; 2]>,
}

impl LayerFacts {
    fn of(table: &Table, extent: Option<Extent>, what: &str) -> Self {
        let rows = table.rows.min(CELLS_LOOKED_AT / table.columns.len().max(1));
        let mut out = Self {
            known: table.crs.clone().zip(extent).and_then(|(crs, extent)| Known::of_numbers(crs, extent, what.to_owned())),
            unplaced: extent.filter(|_| table.crs.is_none()),
            ..Self::default()
        };
        for column in 0..table.columns.len() {
            let orders = Orders::of((0..rows).map(|row| (row, table.cell(row, column))));
            out.unclear_dates.extend(orders.to_ask().map(|date| (column, date.to_owned())));
            out.words.extend(words(table, column, rows).map(|words| (column, words)));
        }
        out
    }

    /// What its numbers look like, for a layer that names no system; `known` is other ground that should lie near.
    pub fn crs_suggestion(&self, known: &[Known]) -> Option<CrsSuggestion> {
        self.unplaced.map(|extent| suggest(extent, known))
    }
}

/// The different words of a column, the commonest first; `None` where there are too many.
fn words(table: &Table, column: usize, rows: usize) -> Option<Vec<(String, usize)>> {
    let mut times: BTreeMap<String, usize> = BTreeMap::new();
    for row in 0..rows {
        let cell = table.cell(row, column);
        if cell.is_empty() {
            continue;
        }
        if let Some(n) = times.get_mut(&*cell) {
            *n += 1;
        } else if times.len() == MOST_WORDS {
            return None;
        } else {
            times.insert(cell.into_owned(), 1);
        }
    }
    let mut out: Vec<(String, usize)> = times.into_iter().collect();
    out.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    Some(out)
}

/// Looks into a file that may come in. Changes nothing.
///
/// # Errors
/// [`FileError`] as [`crate::files::look`] has it.
pub fn inspect(path: &Path, watch: &dyn Watch) -> Result<Inspected, FileError> {
    let file = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let (mut layers, mut doubts) = (Vec::new(), Vec::new());
    let mut look = look_with(path, watch, &mut |table| {
        let extent = main_extent(&table.shapes);
        layers.push(LayerFacts::of(table, extent, &file));
        doubts.push(Doubts::of(table, extent));
    })?;
    for ((facts, layer), doubts) in layers.iter_mut().zip(&look.layers).zip(doubts) {
        facts.role = guess_role(layer);
        look.defects.extend(doubts.about(facts.role));
        if let (Some(known), Some(role)) = (&mut facts.known, facts.role) {
            known.what = super::whereabouts::named(role, &file);
        }
    }
    Ok(Inspected { look, layers })
}

/// What was said about an earlier file of the same name or with the same columns, where a survey remembers one.
pub fn remembered_map(survey: &Survey, file: &str, role: Role, columns: &[String]) -> ColumnMap {
    FilesSeen::of(survey).map_for(file, role, columns).unwrap_or_default()
}

/// A word of a file that is on no list.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct UnknownWord {
    /// The list that it should be on, as column maps name it.
    #[serde(serialize_with = "by_name")]
    pub list: WordList,
    /// The word.
    pub word: String,
    /// How many rows have it, among those looked at.
    pub rows: usize,
}

fn by_name<S: serde::Serializer>(list: &WordList, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_str(list.name())
}

/// The words of a layer that are on no list of the columns that they stand in, list by list, the commonest first. A word that
/// somebody has put on a list stays among them, so that it can be put elsewhere.
pub fn unknown_words(role: Role, uses: &[ColumnUse], facts: &LayerFacts, survey: Option<&Survey>) -> Vec<UnknownWord> {
    // Spellings that differ in case and blanks only are one word, written as most rows have it.
    let mut times: BTreeMap<(WordList, String), UnknownWord> = BTreeMap::new();
    for used in uses {
        let Some((list, words)) = WordList::of(role, used.meaning).zip(facts.words.get(&used.number)) else { continue };
        for (word, rows) in words.iter().filter(|(word, _)| !list.reads(word, survey)) {
            let fresh = || UnknownWord { list, word: word.clone(), rows: 0 };
            times.entry((list, folded(word))).or_insert_with(fresh).rows += rows;
        }
    }
    let mut out: Vec<UnknownWord> = times.into_values().collect();
    out.sort_by(|a, b| a.list.cmp(&b.list).then(b.rows.cmp(&a.rows)).then_with(|| a.word.cmp(&b.word)));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::Match;
    use crate::job::Unwatched;

    #[test]
    fn a_sheet_is_looked_into_before_it_comes_in() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.csv");
        let text = "visit_id,date,address,outcome,larvae\nV1,03/04/2025,1 Elm St,Nobody home,ja\nV2,04/04/2025,2 Elm St,nobody home,N\nV3,05/04/2025,3 Elm St,refused,ja\n";
        std::fs::write(&path, text).unwrap();
        let seen = inspect(&path, &Unwatched).unwrap();
        let facts = &seen.layers[0];
        assert_eq!((facts.role, facts.unclear_dates.get(&1).map(String::as_str)), (Some(Role::Visits), Some("03/04/2025")));
        let matched = Match::of_looks(&seen.look.layers[0].columns, Role::Visits, &ColumnMap::default(), None);
        let unknown: Vec<_> =
            unknown_words(Role::Visits, matched.uses(), facts, None).into_iter().map(|w| (w.list, w.word, w.rows)).collect();
        let word = |list, text: &str, rows| (list, text.to_owned(), rows);
        assert_eq!(unknown, [word(WordList::Outcome, "Nobody home", 2), word(WordList::YesNo, "ja", 2)]);
    }

    #[test]
    fn a_layer_without_a_system_gets_a_suggestion_from_its_neighbours() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("lots.geojson");
        std::fs::write(&path, r#"{"type":"Feature","properties":{"PIN":"1"},"geometry":{"type":"Polygon","coordinates":[[[-90,30],[-89.99,30],[-89.99,30.01],[-90,30]]]}}"#).unwrap();
        let seen = inspect(&path, &Unwatched).unwrap();
        let known = seen.layers[0].known.clone().unwrap();
        assert_eq!((known.what.as_str(), seen.layers[0].crs_suggestion(&[])), ("the parcels in lots.geojson", None));
        // Louisiana South in US survey feet, EPSG:3452; place by pyproj 3.7.2, as in the tests of this room.
        let bare = LayerFacts { unplaced: Some([[3_702_897.0, 547_984.0], [3_704_000.0, 549_000.0]]), ..LayerFacts::default() };
        assert_eq!(bare.crs_suggestion(&[known]).unwrap().crs, Some(crate::place::Crs::Epsg(3452)));
    }
}
