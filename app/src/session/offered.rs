//! Files on their way in.

use crate::ui::notice::Trouble;
use crate::ui::words::{meaning, sentence};
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::files::LayerLook;
use yardring_core::intake::{
    Change, ColumnMap, ColumnUse, CrsSuggestion, Inspected, LayerFacts, Match, Report, Role, UnknownWord, WordList,
};

/// A file somebody wants to bring in, or one layer of a file.
#[derive(Clone, Debug)]
pub struct Offered {
    /// Where it is.
    pub path: PathBuf,
    /// Which of its layers is meant; `None` until somebody chooses one of several.
    pub layer: Option<usize>,
    /// What its rows are to become; `None` until somebody or its columns say so.
    pub kind: Option<Role>,
    /// What it holds; `None` until it was looked at.
    pub look: Option<Arc<Result<LookedAt, Trouble>>>,
    /// What somebody said about its columns and words.
    pub said: ColumnMap,
    /// The columns as they would be read now.
    pub fitted: Fitted,
}

/// What was seen in a file.
#[derive(Debug)]
pub struct LookedAt {
    /// What it holds.
    pub inspected: Inspected,
    /// For each layer that names no coordinate system, what its numbers look like.
    pub suggestions: Vec<Option<CrsSuggestion>>,
}

/// How a file's columns would be read, and what there is to ask about them.
#[derive(Clone, Debug, Default)]
pub struct Fitted {
    /// Columns that mean something.
    pub matched: Match,
    /// What was said about an earlier file of the same shape.
    pub remembered: ColumnMap,
    /// Meanings that it cannot do without and that no column has: of each group one.
    pub lacks: Vec<&'static [&'static str]>,
    /// A date that means two days, when nobody has said which.
    pub unclear_date: Option<String>,
    /// Words that are on no list.
    pub unknown: Vec<UnknownWord>,
}

impl Offered {
    /// A file that nobody has looked at yet.
    pub fn new(path: PathBuf) -> Self {
        Self { path, layer: None, kind: None, look: None, said: ColumnMap::default(), fitted: Fitted::default() }
    }

    /// Its name without its folders, with the layer behind it where it has several.
    pub fn name(&self) -> String {
        let file = self.path.file_name().map_or_else(|| self.path.display().to_string(), |n| n.to_string_lossy().into_owned());
        match self.layer_looked_at().filter(|_| self.has_layers()) {
            Some((layer, _)) => format!("{file}#{}", layer.name),
            None => file,
        }
    }

    /// What was seen in it.
    pub fn seen(&self) -> Option<&LookedAt> {
        self.look.as_deref().and_then(|look| look.as_ref().ok())
    }

    /// Whether it is a file of one layer that does not say where its numbers lie.
    pub fn lies_unsaid(&self) -> bool {
        self.seen().is_some_and(|seen| matches!(seen.inspected.layers.as_slice(), [one] if one.unplaced.is_some()))
    }

    /// The layer that is meant.
    pub fn layer_looked_at(&self) -> Option<(&LayerLook, &LayerFacts)> {
        let inspected = &self.seen()?.inspected;
        let layer = self.layer?;
        inspected.look.layers.get(layer).zip(inspected.layers.get(layer))
    }

    /// Whether it has several layers.
    pub fn has_layers(&self) -> bool {
        self.seen().is_some_and(|s| s.inspected.look.layers.len() > 1)
    }

    /// The path with the layer behind it, as intake takes it.
    pub fn source(&self) -> PathBuf {
        match self.layer_looked_at().filter(|_| self.has_layers()) {
            Some((layer, _)) => PathBuf::from(format!("{}#{}", self.path.display(), layer.name)),
            None => self.path.clone(),
        }
    }

    /// Rows that would be refused because how the visit went is a word on no list.
    pub fn rows_lost(&self) -> usize {
        let outcomes = self.fitted.unknown.iter().filter(|w| w.list == WordList::Outcome && self.stands_for(w).is_none());
        outcomes.map(|w| w.rows).sum()
    }

    /// What a word was said to stand for.
    pub fn stands_for(&self, word: &UnknownWord) -> Option<&str> {
        let said = self.said.words().said(word.list, &word.word);
        said.or_else(|| self.fitted.remembered.words().said(word.list, &word.word))
    }

    /// The columns that mean something.
    pub fn uses(&self) -> &[ColumnUse] {
        self.fitted.matched.uses()
    }

    /// What has to be answered about its columns, in words.
    pub fn question(&self) -> Option<String> {
        if let Some(one_of) = self.fitted.lacks.first() {
            let wanted = one_of.iter().map(|m| meaning(m)).collect::<Vec<_>>().join(" or ");
            return Some(format!("Say which column of {} is the {wanted}", self.name()));
        }
        let date = self.fitted.unclear_date.as_ref()?;
        Some(format!("Say whether dates such as {date} in {} begin with the day or the month", self.name()))
    }
}

/// The intake desk's state.
#[derive(Clone, Debug, Default)]
pub struct Intake {
    /// Files waiting to be brought in.
    pub offered: Vec<Offered>,
    /// The coordinate system for files that name none, as typed.
    pub crs: String,
    /// What came in last.
    pub report: Option<Report>,
    /// What a newer parcel file changed, those with most visits first, and how long the survey's log was then.
    pub changes: Option<(usize, Vec<Change>)>,
}

impl Intake {
    /// Why the files cannot be brought in yet, in words; `None` when they can.
    pub fn waits_for(&self) -> Option<String> {
        if self.offered.is_empty() {
            return Some("Choose files, or drop them on the window".to_owned());
        }
        if let Some(o) = self.offered.iter().find(|o| o.look.as_deref().is_some_and(Result::is_err)) {
            return Some(format!("{} cannot be read: leave it out", o.name()));
        }
        if let Some(o) = self.offered.iter().find(|o| o.has_layers() && o.layer.is_none()) {
            return Some(format!("Choose a layer of {}", o.name()));
        }
        if let Some(o) = self.offered.iter().find(|o| o.kind.is_none()) {
            return Some(format!("Say what {} is", o.name()));
        }
        let twice = Role::ALL.iter().find_map(|kind| {
            let same = self.offered.iter().filter(|o| o.kind == Some(*kind)).count();
            (same > 1).then(|| format!("Two files are called {}: bring them in one after the other", kind.name()))
        });
        twice.or_else(|| self.questions().into_iter().next()).or_else(|| {
            let unnamed = self.offered.iter().find(|o| o.layer_looked_at().is_some_and(|(l, _)| l.geometry != "none" && l.crs.is_none()));
            let asked = unnamed.filter(|_| self.crs.trim().is_empty());
            asked.map(|o| format!("Say which coordinate system the numbers of {} are in", o.name()))
        })
    }

    /// What has to be answered about columns before the files can come in.
    pub fn questions(&self) -> Vec<String> {
        self.offered.iter().filter_map(Offered::question).map(|q| sentence(&q)).collect()
    }

    /// What was said about the columns of all files together.
    pub fn column_map(&self) -> ColumnMap {
        let of = |o: &Offered| o.kind.map(|role| o.fitted.remembered.only(role).under(&o.said.only(role)));
        self.offered.iter().filter_map(of).fold(ColumnMap::default(), |all, one| all.under(&one))
    }

    /// The map that would read all files in the same way again: every column that is used, and what was said.
    pub fn whole_map(&self) -> ColumnMap {
        let used = self.offered.iter().filter_map(|o| o.kind.map(|role| o.fitted.matched.as_map(role)));
        used.fold(ColumnMap::default(), |all, one| all.under(&one)).under(&self.column_map())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_wait_until_each_is_named_and_named_once() {
        let mut intake = Intake::default();
        assert!(intake.waits_for().unwrap().starts_with("Choose files"));
        intake.offered.push(Offered::new("a.shp".into()));
        assert_eq!(intake.waits_for().unwrap(), "Say what a.shp is");
        intake.offered[0].kind = Some(Role::Parcels);
        assert_eq!(intake.waits_for(), None);
        intake.offered.push(Offered { kind: Some(Role::Parcels), ..Offered::new("b.shp".into()) });
        assert!(intake.waits_for().unwrap().contains("parcels"));
    }

    #[test]
    fn files_wait_until_their_columns_are_clear() {
        let mut intake = Intake::default();
        let fitted = Fitted { lacks: vec![&["outcome"][..]], unclear_date: Some("03/04/2025".to_owned()), ..Fitted::default() };
        intake.offered.push(Offered { kind: Some(Role::Visits), fitted, ..Offered::new("v.csv".into()) });
        assert_eq!(intake.waits_for().unwrap(), "Say which column of v.csv is the outcome");
        intake.offered[0].fitted.lacks.clear();
        assert!(intake.waits_for().unwrap().contains("dates such as 03/04/2025 in v.csv"));
    }
}
