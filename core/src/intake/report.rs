//! What came in, what did not, and why: for people and for programs.

use super::cells::Reason;
use super::{ColumnUse, Role, Sureness, UnknownWord, Vintage, WordList};
use crate::files::Table;
use crate::survey::{IntakeEntry, RefusedRow};
use crate::units::SquareMetres;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Changes of a newer parcel file that are told one by one in words; the report has all.
const CHANGES_TOLD: usize = 40;

/// Something odd that did not keep a file from coming in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// What was noticed, in a sentence.
    pub sentence: String,
    /// How many rows it concerns; 0 when it concerns the file as a whole.
    pub rows: usize,
    /// The first of these rows, the first row of the file being 1; at most ten.
    pub first: Vec<usize>,
}

/// What one file brought.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FileReport {
    /// The file's name, without its folders.
    pub file: String,
    /// What its rows became.
    pub table: &'static str,
    /// Rows read; always `brought_in + refused + not_filled_in`.
    pub rows: usize,
    /// Rows brought in, those that were there already counted.
    pub brought_in: usize,
    /// Rows refused.
    pub refused: usize,
    /// Rows of a sheet made for a day's walks that nobody wrote anything into: the doors that were not reached.
    pub not_filled_in: usize,
    /// The coordinate system that its numbers were read in; none for a table without shapes.
    pub crs: Option<String>,
    /// Which column was taken for what.
    pub columns: Vec<ColumnUse>,
    /// What was noticed.
    pub findings: Vec<Finding>,
    /// Words that are on no list, and so could not be read; a column map can put them on one.
    pub unknown_words: Vec<UnknownWord>,
}

/// What one intake brought, all files together; the keys of the machine text are the names of the fields.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Report {
    /// Parcel rows read; always `premises + refused`.
    pub rows: usize,
    /// Parcel rows kept.
    pub premises: usize,
    /// Parcel rows refused.
    pub refused: usize,
    /// Kept premises without an outline.
    pub without_outline: usize,
    /// Outlines that broke the rules and were made valid.
    pub mended: usize,
    /// Kept rows whose id repeats another row's.
    pub duplicates: usize,
    /// Sum of the outlines' areas in square metres on the ground.
    pub area_m2: f64,
    /// Street rows kept.
    pub streets: usize,
    /// Block rows kept.
    pub blocks: usize,
    /// Blocks made from the premises because no file gives any.
    pub derived_blocks: usize,
    /// Distinct visits; always `joined_by_id + joined_by_point + joined_by_address + unjoined`.
    pub visits: usize,
    /// Visits that found their premise by parcel id.
    pub joined_by_id: usize,
    /// Visits that found it by lying inside its outline.
    pub joined_by_point: usize,
    /// Visits that found it by address.
    pub joined_by_address: usize,
    /// Of these, visits whose address no premise has: they went where the house numbers of their street say.
    pub joined_by_numbers: usize,
    /// Visits that found none by themselves.
    pub unjoined: usize,
    /// Of these, visits that came in by what was decided about them earlier.
    pub settled: usize,
    /// Finds of the joined visits.
    pub finds: usize,
    /// Signals kept.
    pub signals: usize,
    /// Days with a temperature kept.
    pub temperatures: usize,
    /// What a newer parcel file changed about the premises that were there; none when there was none.
    pub vintage: Option<Vintage>,
    /// Rows in the refused list, all files together.
    pub refused_rows: usize,
    /// Each file.
    pub files: Vec<FileReport>,
    /// The refused rows, whole.
    #[serde(skip)]
    pub refused_list: Vec<RefusedRow>,
}

/// The account of one file while it is being brought in.
pub(super) struct Account {
    pub report: FileReport,
    pub refused: Vec<RefusedRow>,
    noticed: BTreeMap<String, (usize, Vec<usize>)>,
    unknown: BTreeMap<(WordList, String), usize>,
}

impl Account {
    pub(super) fn new(file: &str, table: &Table, role: Role, columns: &[ColumnUse]) -> Self {
        let mut out = Self {
            report: FileReport {
                file: file.to_owned(),
                table: role.name(),
                rows: table.rows,
                brought_in: 0,
                refused: 0,
                not_filled_in: 0,
                crs: None,
                columns: columns.to_vec(),
                findings: Vec::new(),
                unknown_words: Vec::new(),
            },
            refused: Vec::new(),
            noticed: BTreeMap::new(),
            unknown: BTreeMap::new(),
        };
        for note in &table.notes {
            out.notice(note.clone());
        }
        for used in columns.iter().filter(|u| u.sure == Sureness::Doubtful) {
            out.notice(format!("Column '{}' was taken for {}, but what stands in it does not look like that", used.column, used.meaning));
        }
        for used in columns.iter().filter(|u| u.sure == Sureness::Values) {
            out.notice(format!(
                "Column '{}' was taken for {} because of what stands in it; its name does not say so",
                used.column, used.meaning
            ));
        }
        out
    }

    /// Notes something about the file as a whole.
    pub(super) fn notice(&mut self, sentence: impl Into<String>) {
        self.noticed.entry(sentence.into()).or_default();
    }

    /// Notes that a row has a word that is on no list.
    pub(super) fn unknown_word(&mut self, list: WordList, word: &str) {
        *self.unknown.entry((list, word.to_owned())).or_default() += 1;
    }

    /// Notes something about a row; rows with the same sentence are told together.
    pub(super) fn notice_row(&mut self, sentence: &str, row: usize) {
        if !self.noticed.contains_key(sentence) {
            self.noticed.insert(sentence.to_owned(), (0, Vec::new()));
        }
        if let Some((rows, first)) = self.noticed.get_mut(sentence) {
            *rows += 1;
            first.push(row + 1);
            // Keep the smallest ten, whatever the order in which rows are told.
            if first.len() > 40 {
                first.sort_unstable();
                first.truncate(10);
            }
        }
    }

    /// Refuses a row, keeping all of its cells.
    pub(super) fn refuse(&mut self, table: &Table, row: usize, reason: &Reason) {
        self.refused.push(RefusedRow {
            file: self.report.file.as_str().into(),
            table: self.report.table.into(),
            row: row as u64 + 1,
            reason: reason.0.clone(),
            cells: table.whole_row(row),
        });
    }

    /// Counts a row of a day's sheet that nobody wrote anything into.
    pub(super) fn pass_over(&mut self, row: usize) {
        self.report.not_filled_in += 1;
        self.notice_row("Doors of the day's walks that nothing was written about: they stay as they were", row);
    }

    /// Closes the account: every row is brought in, refused, or was not filled in.
    pub(super) fn close(&mut self) {
        self.refused.sort_by_key(|r| r.row);
        self.report.refused = self.refused.len();
        self.report.brought_in = self.report.rows - self.report.refused - self.report.not_filled_in;
        self.report.unknown_words = self.unknown_words();
        self.report.findings = std::mem::take(&mut self.noticed)
            .into_iter()
            .map(|(sentence, (rows, mut first))| {
                first.sort_unstable();
                first.truncate(10);
                Finding { sentence, rows, first }
            })
            .collect();
    }

    fn unknown_words(&mut self) -> Vec<UnknownWord> {
        let one = |((list, word), rows)| UnknownWord { list, word, rows };
        let mut out: Vec<UnknownWord> = std::mem::take(&mut self.unknown).into_iter().map(one).collect();
        out.sort_by(|a, b| a.list.cmp(&b.list).then(b.rows.cmp(&a.rows)).then_with(|| a.word.cmp(&b.word)));
        out
    }

    /// The commonest reason for a refusal.
    pub(super) fn commonest_reason(&self) -> Option<&str> {
        let mut times: BTreeMap<&str, usize> = BTreeMap::new();
        for row in &self.refused {
            *times.entry(&row.reason).or_default() += 1;
        }
        times.into_iter().max_by_key(|&(reason, n)| (n, std::cmp::Reverse(reason))).map(|(reason, _)| reason)
    }
}

impl Report {
    /// Takes in the closed account of a file.
    pub(super) fn take(&mut self, account: Account) {
        self.refused_rows += account.refused.len();
        self.refused_list.extend(account.refused);
        self.files.push(account.report);
    }

    /// Adds a finding about the survey as a whole to the first file of one of some roles.
    pub(super) fn find(&mut self, roles: &[Role], sentence: String) {
        let names: Vec<&str> = roles.iter().map(|r| r.name()).collect();
        if let Some(file) = self.files.iter_mut().find(|f| names.contains(&f.table)) {
            file.findings.push(Finding { sentence, rows: 0, first: Vec::new() });
        }
    }

    /// Whether people should look at something: rows refused, or something noticed.
    pub fn needs_a_look(&self) -> bool {
        self.refused_rows > 0 || self.files.iter().any(|f| !f.findings.is_empty())
    }

    /// What the survey's intake log keeps of this intake.
    pub fn log_entries(&self) -> Vec<IntakeEntry> {
        let entry = |f: &FileReport| IntakeEntry {
            file: f.file.as_str().into(),
            table: f.table.into(),
            rows: (f.rows - f.not_filled_in) as u64,
            kept: f.brought_in as u64,
            findings: f.findings.iter().map(|x| x.in_words().into()).collect(),
        };
        self.files.iter().map(entry).collect()
    }

    /// The column map that would give the same match again.
    pub fn column_map(&self) -> super::ColumnMap {
        let mut map = super::ColumnMap::default();
        for file in &self.files {
            for used in &file.columns {
                if let Some(role) = Role::ALL.into_iter().find(|r| r.name() == file.table) {
                    // The meaning comes from the role itself, so it is one of the role's meanings.
                    let _ = map.set(role, used.meaning, used.column.clone());
                }
            }
        }
        map
    }

    /// The whole report in words, one line a fact.
    pub fn in_words(&self) -> String {
        let mut out = String::new();
        for file in &self.files {
            file.write_words(&mut out);
        }
        if let Some(vintage) = self.vintage.as_ref().filter(|v| !v.changes.is_empty() || v.new > 0) {
            out.push_str(&vintage.table(CHANGES_TOLD));
        }
        self.write_sums(&mut out);
        out
    }

    fn write_sums(&self, out: &mut String) {
        if self.rows > 0 {
            let _ = writeln!(
                out,
                "{} premises from {} rows, {} mended, {} without an outline, {} with a repeated id, {} of ground",
                self.premises,
                self.rows,
                self.mended,
                self.without_outline,
                self.duplicates,
                SquareMetres(self.area_m2)
            );
        }
        if self.visits > 0 {
            let _ = writeln!(
                out,
                "{} visits: {} joined by parcel id, {} by place, {} by address; {} found no premise and wait",
                self.visits,
                self.joined_by_id,
                self.joined_by_point,
                self.joined_by_address,
                self.unjoined - self.settled
            );
            if self.joined_by_numbers > 0 {
                let _ = writeln!(out, "{} of those by address went where the house numbers of their street say", self.joined_by_numbers);
            }
            if self.settled > 0 {
                let _ = writeln!(out, "{} more came in as was decided earlier", self.settled);
            }
        }
        if self.refused_rows > 0 {
            let _ = writeln!(out, "{} rows were not brought in; each is kept in the survey with its reason", self.refused_rows);
        }
    }
}

impl FileReport {
    fn write_words(&self, out: &mut String) {
        let Self { file, table, rows, brought_in, refused, .. } = self;
        let _ = write!(out, "{file} as {table}: {rows} rows read, {brought_in} brought in, {refused} refused");
        let _ = match self.not_filled_in {
            0 => writeln!(out),
            n => writeln!(out, ", {n} not filled in"),
        };
        if let Some(crs) = &self.crs {
            let _ = writeln!(out, "  coordinates: {crs}");
        }
        if !self.columns.is_empty() {
            let (same, other): (Vec<_>, Vec<_>) = self.columns.iter().partition(|u| u.meaning == u.column);
            let mut used: Vec<String> = other.iter().map(|u| format!("{} = {} ({})", u.meaning, u.column, u.sure.words())).collect();
            if !same.is_empty() {
                used.push(format!("{} named as Yardring names them", same.len()));
            }
            let _ = writeln!(out, "  columns: {}", used.join(", "));
        }
        for finding in &self.findings {
            let _ = writeln!(out, "  {}", finding.in_words());
        }
        for UnknownWord { list, word, rows } in &self.unknown_words {
            let (list, s) = (list.name(), if *rows == 1 { "" } else { "s" });
            let _ = writeln!(out, "  '{word}' ({rows} row{s}) is on no list: say what it stands for under [words.{list}] in a column map");
        }
    }
}

impl Finding {
    /// The sentence with the rows that it concerns.
    pub fn in_words(&self) -> String {
        if self.rows == 0 {
            return self.sentence.clone();
        }
        let first: Vec<String> = self.first.iter().map(ToString::to_string).collect();
        let more = if self.rows > self.first.len() { ", …" } else { "" };
        let word = if self.rows == 1 { "row" } else { "rows" };
        format!("{}: {} {word} ({}{more})", self.sentence, self.rows, first.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::table;
    use super::*;

    #[test]
    fn every_row_is_brought_in_or_refused_and_refused_rows_are_whole() {
        let t = table("lots", &["PIN", "NOTE"], &[&["1", "a"], &["2", "b"], &["3", "c"]]);
        let mut account = Account::new("lots.csv", &t, Role::Parcels, &[]);
        account.refuse(&t, 2, &Reason::new("why not"));
        account.notice_row("Something odd", 1);
        account.notice_row("Something odd", 0);
        account.close();
        let r = &account.report;
        assert_eq!((r.rows, r.brought_in, r.refused), (3, 2, 1));
        assert_eq!(account.refused[0].cells[1], ("NOTE".into(), "c".into()));
        assert_eq!(r.findings[0].in_words(), "Something odd: 2 rows (1, 2)");
    }
}
