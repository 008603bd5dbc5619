//! The table of container kinds as rows of text, as the survey keeps it and as the office edits it in a spreadsheet.

use super::{ContainerKnowledge, KnownContainer, Remedy, Who};
use crate::error::Hint;
use std::borrow::Cow;

/// The columns of the table, in their order. Several names or things to do stand in one cell with "; " between them.
pub const COLUMNS: [&str; 10] = [
    "kind",
    "also_called",
    "can_be_tipped",
    "holds_upside_down",
    "what_to_do",
    "who",
    "words",
    "kind_in_spanish",
    "words_in_spanish",
    "source",
];
/// Columns that a table may lack.
const OPTIONAL: [&str; 4] = ["also_called", "kind_in_spanish", "words_in_spanish", "source"];

/// What is wrong with a table of container kinds.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KnowledgeError {
    /// A column is missing.
    #[error("the table has no column '{name}'")]
    NoColumn {
        /// Its name.
        name: &'static str,
    },
    /// A cell says something that cannot be.
    #[error("row {row}, column {column}: {what}")]
    Cell {
        /// The row, the first below the header being 1.
        row: usize,
        /// The column.
        column: &'static str,
        /// What is wrong with it.
        what: String,
    },
    /// Two rows claim one name.
    #[error("two rows claim the name '{name}'")]
    Twice {
        /// The name.
        name: String,
    },
    /// There is no row.
    #[error("the table has no rows")]
    Empty,
    /// The text cannot be read as comma-separated rows.
    #[error("{what}")]
    Unreadable {
        /// What the reader said.
        what: String,
    },
}

impl Hint for KnowledgeError {
    fn hint(&self) -> String {
        match self {
            Self::NoColumn { .. } | Self::Empty | Self::Unreadable { .. } => {
                "Write the table out with: yardring containers SURVEY.gpkg --out kinds.csv, and edit that file"
            }
            Self::Cell { .. } => "Mend the cell and set the table again; nothing was changed",
            Self::Twice { .. } => "Keep one of the two rows, or take the name from its other names",
        }
        .to_owned()
    }

    fn in_window(&self) -> String {
        match self {
            Self::NoColumn { .. } | Self::Empty | Self::Unreadable { .. } => {
                "Save the table from here first, and edit that file".to_owned()
            }
            _ => self.hint(),
        }
    }
}

impl ContainerKnowledge {
    /// The table from rows of text under named columns; `also_called`, `source` and the columns in Spanish may be missing. `cell`
    /// gives the text of a row (from 0) in a column. Where a table has no column in Spanish, as tables of older surveys, kinds of the
    /// usual table are told in its Spanish, their words only where the English ones are still the usual ones.
    ///
    /// # Errors
    /// [`KnowledgeError`] with the first row and column that cannot be.
    pub fn from_rows<'a>(header: &[String], rows: usize, cell: impl Fn(usize, usize) -> Cow<'a, str>) -> Result<Self, KnowledgeError> {
        let place = |name: &str| header.iter().position(|h| h.trim().eq_ignore_ascii_case(name));
        let places = COLUMNS.map(place);
        if let Some((name, _)) = COLUMNS.into_iter().zip(places).find(|(name, at)| at.is_none() && !OPTIONAL.contains(name)) {
            return Err(KnowledgeError::NoColumn { name });
        }
        let text = |row: usize, column: usize| places[column].map_or(Cow::Borrowed(""), |at| cell(row, at));
        let kinds = (0..rows).map(|row| kind(row + 1, |column| text(row, column).trim().to_owned()));
        let mut kinds = kinds.collect::<Result<Vec<_>, _>>()?;
        tell_usual_in_spanish(&mut kinds, (place("kind_in_spanish").is_none(), place("words_in_spanish").is_none()));
        if kinds.is_empty() { Err(KnowledgeError::Empty) } else { Self::from_kinds(kinds) }
    }

    /// The table from comma-separated text with a header.
    ///
    /// # Errors
    /// [`KnowledgeError`] when the text is no table of container kinds.
    pub fn from_csv(text: &str) -> Result<Self, KnowledgeError> {
        let broken = |e: csv::Error| KnowledgeError::Unreadable { what: e.to_string() };
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header: Vec<String> = reader.headers().map_err(broken)?.iter().map(str::to_owned).collect();
        let rows = reader.records().collect::<Result<Vec<_>, _>>().map_err(broken)?;
        Self::from_rows(&header, rows.len(), |row, column| Cow::Borrowed(rows[row].get(column).unwrap_or_default()))
    }

    /// The table as comma-separated text with a header, the columns those of [`COLUMNS`].
    pub fn to_csv(&self) -> String {
        let mut out = COLUMNS.join(",") + "\n";
        for k in &self.kinds {
            let cells = k.cells().map(|cell| {
                let plain = !cell.contains([',', '"', '\n', '\r']);
                if plain { cell } else { format!("\"{}\"", cell.replace('"', "\"\"")) }
            });
            out += &(cells.join(",") + "\n");
        }
        out
    }
}

impl KnownContainer {
    /// The cells of a kind as text, in the order of [`COLUMNS`].
    pub fn cells(&self) -> [String; 10] {
        let yes_no = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
        [
            self.kind.to_string(),
            self.also_called.join("; "),
            yes_no(self.can_be_tipped),
            yes_no(self.holds_upside_down),
            self.to_do.iter().map(|r| r.word()).collect::<Vec<_>>().join("; "),
            self.who.word().to_owned(),
            self.words.to_string(),
            self.kind_in_spanish.to_string(),
            self.words_in_spanish.to_string(),
            self.source.to_string(),
        ]
    }
}

/// One row; `cell` gives its text by the number of the column in [`COLUMNS`].
fn kind(row: usize, cell: impl Fn(usize) -> String) -> Result<KnownContainer, KnowledgeError> {
    let wrong = |column: usize, what: String| KnowledgeError::Cell { row, column: COLUMNS[column], what };
    let filled = |column: usize| match cell(column) {
        empty if empty.is_empty() => Err(wrong(column, "the cell is empty".to_owned())),
        text => Ok(text.into_boxed_str()),
    };
    let list = |column: usize| cell(column).split(';').map(|t| t.trim().to_owned()).filter(|t| !t.is_empty()).collect::<Vec<_>>();
    let yes = |column: usize| match cell(column).to_ascii_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(true),
        "no" | "n" | "false" | "0" => Ok(false),
        other => Err(wrong(column, format!("'{other}' is neither yes nor no"))),
    };
    let to_do = list(4).iter().map(|t| t.parse::<Remedy>()).collect::<Result<Vec<_>, _>>();
    Ok(KnownContainer {
        kind: filled(0)?,
        also_called: list(1).into_iter().map(Into::into).collect(),
        can_be_tipped: yes(2)?,
        holds_upside_down: yes(3)?,
        to_do: to_do.map_err(|e| wrong(4, e.to_string()))?,
        who: cell(5).parse::<Who>().map_err(|e| wrong(5, e.to_string()))?,
        words: filled(6)?,
        kind_in_spanish: cell(7).into(),
        words_in_spanish: cell(8).into(),
        source: cell(9).into(),
    })
}

/// Gives kinds of the usual table its names and words in Spanish.
fn tell_usual_in_spanish(kinds: &mut [KnownContainer], (names, words): (bool, bool)) {
    let usual = if names || words { ContainerKnowledge::usual().kinds } else { Vec::new() };
    for kind in kinds {
        let Some(known) = usual.iter().find(|u| u.kind == kind.kind) else { continue };
        if names {
            kind.kind_in_spanish.clone_from(&known.kind_in_spanish);
        }
        if words && kind.words == known.words {
            kind.words_in_spanish.clone_from(&known.words_in_spanish);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::Language;

    #[test]
    fn the_table_is_read_back() {
        let known = ContainerKnowledge::usual();
        assert_eq!(ContainerKnowledge::from_csv(&known.to_csv()), Ok(known));
    }

    /// A table that an office kept before there were columns in Spanish: what it did not change is told in Spanish all the same.
    #[test]
    fn a_table_without_spanish_is_read() {
        let old = "kind,can_be_tipped,holds_upside_down,what_to_do,who,words\n\
                   tarp,yes,yes,clear so it drains,householder,Fold it.\n\
                   wheelbarrow,yes,no,turn over,householder,Stand the wheelbarrow on its nose.\n\
                   samovar,yes,no,tip out,householder,Tip it out.\n";
        let known = ContainerKnowledge::from_csv(old).unwrap();
        let told: Vec<[Option<&str>; 2]> =
            known.kinds().iter().map(|k| [k.called_in(Language::Spanish), k.words_in(Language::Spanish)]).collect();
        let [samovar, tarp, wheelbarrow] = told[..] else { panic!("three kinds") };
        assert_eq!((samovar, tarp), ([None; 2], [Some("lona"), None]));
        assert_eq!(wheelbarrow, [Some("carretilla"), Some("Deje la carretilla parada sobre la punta.")]);
        assert_eq!(known.kinds()[1].words_in(Language::English), Some("Fold it."));
        // What an office left empty on purpose stays empty.
        let emptied = known.to_csv().replace("lona", "");
        assert_eq!(ContainerKnowledge::from_csv(&emptied).unwrap().kinds()[1].called_in(Language::Spanish), None);
    }

    #[test]
    fn a_wrong_cell_is_told_with_its_place() {
        let told = |text: &str| ContainerKnowledge::from_csv(text).unwrap_err().to_string();
        let head = "kind,can_be_tipped,holds_upside_down,what_to_do,who,words\n";
        assert_eq!(
            told(&format!("{head}pot,maybe,no,tip out,crew,Tip it.\n")),
            "row 1, column can_be_tipped: 'maybe' is neither yes nor no"
        );
        assert!(told(&format!("{head}pot,yes,no,burn,crew,Tip it.\n")).contains("'burn' is not something to do with a container"));
        assert_eq!(told(&format!("{head},yes,no,tip out,crew,Tip it.\n")), "row 1, column kind: the cell is empty");
        assert_eq!(told("kind,who\npot,crew\n"), "the table has no column 'can_be_tipped'");
        assert_eq!(told(head), "the table has no rows");
    }
}
