//! Spreadsheets: the sheets of `.xlsx` and `.ods` files as tables, the first row with something in it being the header.

use super::columns::Columns;
use super::source::Source;
use super::{FileError, Table, archive};
use crate::job::Watch;
use calamine::{Data, DataRef, DataType, ExcelDateTime, Ods, Reader, Xlsx};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::BufReader;

/// Cells between two reports.
const REPORT: usize = 10_000;

/// A cell that holds something: row, column, text.
type Filled = (u32, u32, String);

/// An open spreadsheet.
pub(super) struct Workbook {
    file: String,
    inner: Inner,
}

enum Inner {
    Xlsx(Box<Xlsx<BufReader<File>>>),
    Ods(Ods<BufReader<File>>),
}

/// Whether a file's ending is that of a spreadsheet.
pub(super) fn is_ending(ending: &str) -> bool {
    matches!(ending, "xlsx" | "xlsm" | "ods")
}

impl Workbook {
    /// Opens a spreadsheet.
    ///
    /// # Errors
    /// [`FileError`] when it is none, or unpacks to far more than its size allows.
    pub fn open(source: &Source) -> Result<Self, FileError> {
        let file = source.file.clone();
        archive::check_size(&file, &source.path, source.size)?;
        let opened = BufReader::new(File::open(&source.path).map_err(|source| FileError::Closed { file: file.clone(), source })?);
        let inner = if source.ending == "ods" {
            Inner::Ods(Ods::new(opened).map_err(|error| broken(&file, "the workbook", &error))?)
        } else {
            Inner::Xlsx(Box::new(Xlsx::new(opened).map_err(|error| broken(&file, "the workbook", &error))?))
        };
        Ok(Self { file, inner })
    }

    /// The names of its sheets.
    pub fn sheets(&self) -> Vec<String> {
        match &self.inner {
            Inner::Xlsx(book) => book.sheet_names(),
            Inner::Ods(book) => book.sheet_names(),
        }
    }

    /// Reads one sheet; without a name the only one that holds something.
    ///
    /// # Errors
    /// [`FileError`] when there is no such sheet, several and none was named, one that cannot be read, or when somebody
    /// stopped it.
    pub fn read(&mut self, asked: Option<&str>, watch: &dyn Watch) -> Result<Table, FileError> {
        let sheets = self.sheets();
        if let Some(asked) = asked {
            let Some(name) = sheets.iter().find(|s| s.eq_ignore_ascii_case(asked)) else {
                return Err(FileError::NoSuchLayer { file: self.file.clone(), asked: asked.to_owned(), layers: sheets });
            };
            return Ok(table(name.clone(), self.filled(name, watch)?));
        }
        let mut found = Vec::new();
        for name in &sheets {
            let cells = self.filled(name, watch)?;
            if !cells.is_empty() {
                found.push((name.clone(), cells));
            }
        }
        match found.len() {
            0 => Err(FileError::broken(&self.file, "the sheets", "the names of the columns", "empty sheets")),
            1 => Ok(found.into_iter().map(|(name, cells)| table(name, cells)).next().unwrap_or_else(|| Table::empty(String::new()))),
            _ => Err(FileError::ManyLayers { file: self.file.clone(), layers: found.into_iter().map(|(name, _)| name).collect() }),
        }
    }

    /// The cells of a sheet that hold something, row by row.
    fn filled(&mut self, sheet: &str, watch: &dyn Watch) -> Result<Vec<Filled>, FileError> {
        let file = self.file.clone();
        let place = format!("sheet {sheet}");
        let mut cells = Vec::new();
        match &mut self.inner {
            Inner::Ods(book) => {
                let range = book.worksheet_range(sheet).map_err(|error| broken(&file, &place, &error))?;
                cells.extend(range.used_cells().map(|(row, column, value)| (row as u32, column as u32, owned(value))));
            }
            Inner::Xlsx(book) => {
                let mut reader = book.worksheet_cells_reader(sheet).map_err(|error| broken(&file, &place, &error))?;
                while let Some(cell) = reader.next_cell().map_err(|error| broken(&file, &place, &error))? {
                    if cells.len() % REPORT == 0 {
                        watch.step("reading cells", cells.len() as u64, 0)?;
                    }
                    let (row, column) = cell.get_position();
                    cells.push((row, column, text(cell.get_value())));
                }
            }
        }
        cells.retain(|(_, _, text)| !text.is_empty());
        cells.sort_by_key(|(row, column, _)| (*row, *column));
        Ok(cells)
    }
}

fn broken(file: &str, place: &str, error: &dyn std::fmt::Display) -> FileError {
    FileError::broken(file, place, "a spreadsheet that can be read", error.to_string())
}

/// The table of some cells: the first row names the columns, rows without anything are passed over.
fn table(name: String, cells: Vec<Filled>) -> Table {
    let first = cells.first().map_or(0, |c| c.0);
    let mut names: BTreeMap<u32, String> = cells.iter().map(|(_, column, _)| (*column, format!("column {}", column + 1))).collect();
    names.extend(cells.iter().take_while(|c| c.0 == first).map(|(_, column, text)| (*column, text.clone())));
    let numbers: BTreeMap<u32, usize> = names.keys().copied().zip(0..).collect();
    let mut columns = Columns::named(names.into_values().collect());
    let (mut rows, mut last) = (0, first);
    for (row, column, text) in cells.iter().filter(|c| c.0 != first) {
        if *row != last {
            columns.next_row();
            (rows, last) = (rows + 1, *row);
        }
        columns.put(numbers[column], text);
    }
    let (columns, cells) = columns.into_cells(rows);
    Table { columns, rows, cells: Box::new(cells), ..Table::empty(name) }
}

fn owned(value: &Data) -> String {
    match value {
        Data::DateTime(moment) => moment_in_words(moment),
        other => other.as_string().unwrap_or_default().trim().to_owned(),
    }
}

/// A value as text: whole numbers without decimals, days and times in the ISO order, errors as nothing.
fn text(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => number.to_string(),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => text.trim().to_owned(),
        DataRef::SharedString(text) => text.trim().to_owned(),
        DataRef::Bool(yes) => yes.to_string(),
        DataRef::DateTime(moment) => moment_in_words(moment),
        DataRef::Error(_) | DataRef::Empty => String::new(),
    }
}

/// A day as `2025-07-14`, with the time behind it where there is one, or a time alone.
fn moment_in_words(moment: &ExcelDateTime) -> String {
    let value = moment.as_f64();
    if moment.is_duration() || !(0.0..2_958_466.0).contains(&value) {
        return value.to_string();
    }
    let (year, month, day, hour, minute, second, _) = moment.to_ymd_hms_milli();
    let time = format!("{hour:02}:{minute:02}:{second:02}");
    match (value < 1.0, value.fract() == 0.0) {
        (true, _) => time,
        (false, true) => format!("{year:04}-{month:02}-{day:02}"),
        (false, false) => format!("{year:04}-{month:02}-{day:02}T{time}"),
    }
}
