//! Spreadsheets: the sheets of `.xlsx` and `.ods` files as tables, the first row with something in it being the header.

use super::archive::{self, Archive};
use super::columns::{Columns, ROOM};
use super::source::Source;
use super::{FileError, Table, headings, sheet_extent};
use crate::job::Watch;
use calamine::{Data, ExcelDateTime, Ods, Reader, Xlsx};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufReader, Cursor, Write as _};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// What kind of file a spreadsheet of the open document format says it is.
const OPEN_DOCUMENT: &str = "application/vnd.oasis.opendocument.spreadsheet";
/// Cells between two reports.
const REPORT: usize = 10_000;

/// What spreadsheets write where a formula found no value.
const ERRORS: [&str; 9] = ["#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!", "Err:502", "#GETTING_DATA"];

/// A cell that holds something: row, column, text.
type Filled = (u32, u32, String);

/// An open spreadsheet.
pub(super) struct Workbook {
    file: String,
    inner: Inner,
}

enum Inner {
    Xlsx(Box<Xlsx<BufReader<File>>>),
    Ods(Ods<Cursor<Vec<u8>>>),
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
        let inner = if source.ending == "ods" {
            Inner::Ods(Ods::new(open_document(source)?).map_err(|error| broken(&file, "the workbook", &error))?)
        } else {
            let opened = File::open(&source.path).map_err(|source| FileError::Closed { file: file.clone(), source })?;
            let opened = BufReader::new(opened);
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
                cells.extend(range.used_cells().map(|(row, column, value)| (row as u32, column as u32, text(value))));
            }
            Inner::Xlsx(book) => {
                let mut reader = book.worksheet_cells_reader(sheet).map_err(|error| broken(&file, &place, &error))?;
                while let Some(cell) = reader.next_cell().map_err(|error| broken(&file, &place, &error))? {
                    if cells.len() % REPORT == 0 {
                        watch.step("reading cells", cells.len() as u64, 0)?;
                    }
                    let (row, column) = cell.get_position();
                    cells.push((row, column, text(&Data::from(cell.get_value().clone()))));
                }
            }
        }
        cells.retain(|(_, _, text)| !text.is_empty());
        cells.sort_by_key(|(row, column, _)| (*row, *column));
        Ok(cells)
    }
}

/// An open document for the reader, which takes no white space between its cells, though the standard allows it.
///
/// # Errors
/// [`FileError`] for one that breaks off, or whose few bytes stand for more cells than can be held.
fn open_document(source: &Source) -> Result<Cursor<Vec<u8>>, FileError> {
    let mut archive = Archive::open(&source.file, &source.path, source.size)?;
    let mut part = |name: &str| archive.named(name).map(Option::unwrap_or_default);
    let (manifest, content) = (part("META-INF/manifest.xml")?, part("content.xml")?);
    let content = String::from_utf8_lossy(&content);
    // The reader never ends on one that breaks off.
    if !sheet_extent::is_whole(&content) {
        return Err(FileError::broken(&source.file, "content.xml", "the end of every element", "one that is left open"));
    }
    let cells = sheet_extent::cells_spanned(&content);
    if cells > sheet_extent::MOST_CELLS {
        let what = format!("its sheets span {cells} cells; at most {} are read", sheet_extent::MOST_CELLS);
        return Err(FileError::TooBig { file: source.file.clone(), what });
    }
    let content = without_white_space(&content);
    let parts = [("mimetype", OPEN_DOCUMENT.as_bytes()), ("content.xml", content.as_bytes()), ("META-INF/manifest.xml", &manifest)];
    repacked(&parts).map_err(|error| broken(&source.file, "the workbook", &error))
}

/// An archive in memory, nothing in it made smaller.
fn repacked(parts: &[(&str, &[u8])]) -> zip::result::ZipResult<Cursor<Vec<u8>>> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let as_it_is = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (name, bytes) in parts {
        zip.start_file(*name, as_it_is)?;
        zip.write_all(bytes)?;
    }
    zip.finish()
}

/// The content of an open document without the white space that stands before the tags of tables, rows and cells.
fn without_white_space(content: &str) -> String {
    let mut out = String::with_capacity(content.len());
    for (n, part) in content.split('<').enumerate() {
        let name = part.strip_prefix('/').unwrap_or(part);
        if n > 0 && name.starts_with("table:") && out.trim_end().ends_with('>') {
            out.truncate(out.trim_end().len());
        }
        if n > 0 {
            out.push('<');
        }
        out.push_str(part);
    }
    out
}

fn broken(file: &str, place: &str, error: &dyn std::fmt::Display) -> FileError {
    FileError::broken(file, place, "a spreadsheet that can be read", error.to_string())
}

/// The table of some cells: the first row below a title names the columns, rows without anything are passed over.
fn table(name: String, mut cells: Vec<Filled>) -> Table {
    let lines: Vec<Vec<&str>> =
        cells.chunk_by(|a, b| a.0 == b.0).take(headings::LOOKED_AT).map(|line| line.iter().map(|c| c.2.as_str()).collect()).collect();
    let heading = headings::heading(&lines).min(lines.len());
    let mut notes: Vec<String> = headings::note(&lines[..heading]).into_iter().collect();
    let above: usize = lines[..heading].iter().map(Vec::len).sum();
    cells.drain(..above);
    notes.extend(errors(&cells));
    let first = cells.first().map_or(0, |c| c.0);
    let mut names: BTreeMap<u32, String> = cells.iter().map(|(_, column, _)| (*column, format!("column {}", column + 1))).collect();
    names.extend(cells.iter().take_while(|c| c.0 == first).map(|(_, column, text)| (*column, text.clone())));
    let numbers: BTreeMap<u32, usize> = names.keys().copied().zip(0..).collect();
    let mut columns = Columns::named(names.into_values().collect(), ROOM);
    let (mut rows, mut last) = (0, first);
    for (row, column, text) in cells.iter().filter(|c| c.0 != first) {
        if *row != last {
            columns.next_row();
            (rows, last) = (rows + 1, *row);
        }
        columns.put(numbers[column], text);
    }
    let (columns, cells) = columns.into_cells(&mut notes);
    Table { columns, rows, cells: Box::new(cells), notes, ..Table::empty(name) }
}

/// A word about cells that hold an error of the spreadsheet where a value should stand.
fn errors(cells: &[Filled]) -> Option<String> {
    let is_error = |c: &&Filled| ERRORS.contains(&c.2.as_str());
    let (row, column, text) = cells.iter().find(is_error)?;
    let place = format!("{}{}", letters(*column), row + 1);
    Some(match cells.iter().filter(is_error).count() {
        1 => format!("One cell holds an error of the spreadsheet instead of a value: {place}, {text}"),
        n => format!("{n} cells hold an error of the spreadsheet instead of a value, the first of them {place}, {text}"),
    })
}

/// The letters that a spreadsheet gives a column, counted from 0.
fn letters(column: u32) -> String {
    let last = char::from(b'A' + (column % 26) as u8);
    if column < 26 { last.to_string() } else { format!("{}{last}", letters(column / 26 - 1)) }
}

/// A value as text: whole numbers without decimals, days and times in the ISO order, errors by their names: who counts larvae in a
/// column must not take "#REF!" for none.
fn text(value: &Data) -> String {
    match value {
        Data::Int(number) => number.to_string(),
        Data::Float(number) => number.to_string(),
        Data::String(text) | Data::DateTimeIso(text) | Data::DurationIso(text) => text.trim().to_owned(),
        Data::Bool(yes) => yes.to_string(),
        Data::DateTime(moment) => moment_in_words(moment),
        Data::Error(error) => error.to_string(),
        Data::Empty => String::new(),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::archive::tests::packed;
    use crate::job::Unwatched;
    use std::path::{Path, PathBuf};

    /// A spreadsheet as ECMA-376 describes it (from memory): two sheets, the second one empty.
    fn xlsx(folder: &Path, rows: &str) -> PathBuf {
        let types = br#"<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>"#;
        let relations = br#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="a" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
        let book = br#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Visits" sheetId="1" r:id="s1"/><sheet name="Other" sheetId="2" r:id="s2"/></sheets></workbook>"#;
        let of_book = br#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="s1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="s2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet2.xml"/><Relationship Id="st" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>"#;
        let styles = br#"<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>"#;
        let sheet = |rows: &str| {
            format!(
                r#"<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>{rows}</sheetData></worksheet>"#
            )
        };
        packed(
            folder,
            "visits.xlsx",
            &[
                ("[Content_Types].xml", types),
                ("_rels/.rels", relations),
                ("xl/workbook.xml", book),
                ("xl/_rels/workbook.xml.rels", of_book),
                ("xl/styles.xml", styles),
                ("xl/worksheets/sheet1.xml", sheet(rows).as_bytes()),
                ("xl/worksheets/sheet2.xml", sheet("").as_bytes()),
            ],
        )
    }

    const ROWS: &str = r#"<row r="3"><c r="B3" t="inlineStr"><is><t>id</t></is></c><c r="C3" t="inlineStr"><is><t>date</t></is></c></row>
        <row r="5"><c r="B5"><v>12</v></c><c r="C5" s="1"><v>45852</v></c><c r="D5" t="b"><v>1</v></c></row>"#;

    fn read(path: &Path, sheet: Option<&str>) -> Result<Table, FileError> {
        Workbook::open(&Source::open(path)?)?.read(sheet, &Unwatched)
    }

    #[test]
    fn the_first_row_with_something_in_it_is_the_header() {
        let folder = tempfile::tempdir().unwrap();
        let path = xlsx(folder.path(), ROWS);
        let t = read(&path, None).unwrap();
        assert_eq!(
            (t.name.as_str(), t.columns.as_slice(), t.rows),
            ("Visits", &["id".to_owned(), "date".into(), "column 4".into()][..], 1)
        );
        // Serial day 45852 is 14 July 2025: 45658 is 1 January 2025 (from memory), and 194 days on.
        assert_eq!((t.cell(0, 0), t.cell(0, 1), t.cell(0, 2)), ("12".into(), "2025-07-14".into(), "true".into()));
        assert_eq!(read(&path, Some("other")).unwrap().rows, 0);
        assert!(matches!(read(&path, Some("none")), Err(FileError::NoSuchLayer { .. })));
    }

    #[test]
    fn two_cells_at_the_ends_of_a_sheet_cost_two_cells() {
        let folder = tempfile::tempdir().unwrap();
        let rows = r#"<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>2</v></c></row>"#;
        let t = read(&xlsx(folder.path(), rows), None).unwrap();
        assert_eq!((t.columns.join(" "), t.rows, t.cell(0, 1)), ("1 column 16384".to_owned(), 1, "2".into()));
    }

    // OASIS OpenDocument 1.2, from memory.
    const DOCUMENT: &[u8] = br#"<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet><table:table table:name="S"><table:table-row><table:table-cell office:value-type="string"><text:p>id</text:p></table:table-cell><table:table-cell office:value-type="string"><text:p>day</text:p></table:table-cell></table:table-row><table:table-row><table:table-cell office:value-type="float" office:value="7"><text:p>7</text:p></table:table-cell><table:table-cell office:value-type="date" office:date-value="2025-07-14"><text:p>x</text:p></table:table-cell></table:table-row></table:table></office:spreadsheet></office:body></office:document-content>"#;

    fn ods(folder: &Path, content: &[u8]) -> PathBuf {
        let manifest = br#"<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>"#;
        let mimetype = b"application/vnd.oasis.opendocument.spreadsheet";
        packed(folder, "a.ods", &[("mimetype", mimetype), ("content.xml", content), ("META-INF/manifest.xml", manifest)])
    }

    #[test]
    fn sheets_of_open_documents_are_read() {
        let folder = tempfile::tempdir().unwrap();
        let t = read(&ods(folder.path(), DOCUMENT), None).unwrap();
        assert_eq!((t.columns.join(" "), t.cell(0, 0), t.cell(0, 1)), ("id day".to_owned(), "7".into(), "2025-07-14".into()));
    }

    #[test]
    fn white_space_between_cells_is_none_of_a_cell() {
        let spaced = String::from_utf8(DOCUMENT.to_vec()).unwrap().replace("<table:", "\n  <table:").replace("</table:", "\n  </table:");
        let spaced = spaced.replace("<text:p>id</text:p>", "<text:p>an <text:span>old</text:span> <text:span>id</text:span></text:p>");
        let folder = tempfile::tempdir().unwrap();
        let t = read(&ods(folder.path(), spaced.as_bytes()), None).unwrap();
        assert_eq!((t.columns.join("|"), t.cell(0, 0), t.cell(0, 1)), ("an old id|day".to_owned(), "7".into(), "2025-07-14".into()));
    }

    #[test]
    fn errors_stay_in_their_cells_and_are_told() {
        let folder = tempfile::tempdir().unwrap();
        let rows = r##"<row r="1"><c r="A1"><v>1</v></c><c r="AB1"><v>2</v></c></row><row r="2"><c r="AB2" t="e"><v>#REF!</v></c></row>"##;
        let t = read(&xlsx(folder.path(), rows), None).unwrap();
        assert_eq!(t.cell(0, 1), "#REF!");
        assert_eq!(t.notes, ["One cell holds an error of the spreadsheet instead of a value: AB2, #REF!"]);
    }

    #[test]
    fn few_bytes_that_stand_for_very_many_cells_are_refused() {
        let content = br#"<table:table><table:table-row table:number-rows-repeated="6000"><table:table-cell table:number-columns-repeated="16000" office:value-type="string"/></table:table-row></table:table>"#;
        let folder = tempfile::tempdir().unwrap();
        let path = packed(folder.path(), "a.ods", &[("content.xml", content)]);
        assert!(matches!(read(&path, None), Err(FileError::TooBig { .. })));
    }

    #[test]
    fn cuts_and_flipped_bits_give_an_answer() {
        let folder = tempfile::tempdir().unwrap();
        for (whole, name) in [(xlsx(folder.path(), ROWS), "b.xlsx"), (ods(folder.path(), DOCUMENT), "b.ods")] {
            let (whole, path) = (std::fs::read(whole).unwrap(), folder.path().join(name));
            for n in (0..whole.len() * 8).step_by(149) {
                let mut bytes = whole.clone();
                bytes[n / 8] ^= 1 << (n % 8);
                for bytes in [&bytes[..], &whole[..n / 8]] {
                    std::fs::write(&path, bytes).unwrap();
                    if let Ok(t) = read(&path, None) {
                        assert!(t.rows <= 3);
                    }
                }
            }
        }
    }

    /// An archive's checksums catch most damage; what was damaged before it was packed comes through.
    #[test]
    fn damaged_sheets_in_a_sound_archive_give_an_answer() {
        let folder = tempfile::tempdir().unwrap();
        let damaged = |whole: &[u8], n: usize| {
            let mut bytes = whole.to_vec();
            bytes[n / 8] ^= 1 << (n % 8);
            [bytes, whole[..n / 8].to_vec()]
        };
        for n in (0..DOCUMENT.len() * 8).step_by(311) {
            for content in damaged(DOCUMENT, n) {
                if let Ok(t) = read(&ods(folder.path(), &content), None) {
                    assert!(t.rows <= 3, "{n}");
                }
            }
        }
        for n in (0..ROWS.len() * 8).step_by(311) {
            for rows in damaged(ROWS.as_bytes(), n) {
                if let Ok(t) = read(&xlsx(folder.path(), &String::from_utf8_lossy(&rows)), None) {
                    assert!(t.rows <= 1_048_576 && t.columns.len() <= 16_384, "{n}");
                }
            }
        }
    }
}
