//! Why an intake could not be done at all. Single odd rows are no error: they are refused with their reason.

use super::Role;
use super::whereabouts::CrsSuggestion;
use crate::error::Hint;
use crate::files::FileError;
use crate::job::Cancelled;
use crate::place::CrsError;

/// Why an intake could not be done; the survey is as it was.
#[derive(Debug, thiserror::Error)]
pub enum IntakeError {
    /// The file could not be read.
    #[error(transparent)]
    File(#[from] FileError),
    /// Its coordinate system could not be used.
    #[error("{file}: {error}")]
    Crs {
        /// The file's name.
        file: String,
        /// What was wrong with the system.
        error: CrsError,
    },
    /// The file names no coordinate system.
    #[error("{file} names no coordinate system; its numbers run from {from} to {to}")]
    NoCrs {
        /// The file's name.
        file: String,
        /// The least coordinates, as "x, y".
        from: String,
        /// The largest coordinates, as "x, y".
        to: String,
        /// What the numbers look like, and so what to try.
        suggestion: Box<CrsSuggestion>,
    },
    /// The coordinate system that the file names puts it where it cannot be.
    #[error("{file}: in the coordinate system that it names, {crs}, it lies {lies}")]
    Misplaced {
        /// The file's name.
        file: String,
        /// The system that it names.
        crs: String,
        /// How that system is named to take the file as it is: `EPSG:` and its number, where the register has it.
        own: Option<String>,
        /// Where it lies then, and why that cannot be.
        lies: String,
        /// What to try.
        suggestion: Box<CrsSuggestion>,
    },
    /// There is no survey yet, and no parcels to start one with.
    #[error("there is no survey yet, and no parcels to start one with")]
    NoParcels,
    /// No row of a file could be used.
    #[error("{file}: none of its {rows} rows could be brought in as {role}: {reason}")]
    NothingUsable {
        /// The file's name.
        file: String,
        /// What the rows should have become.
        role: Role,
        /// Rows read.
        rows: usize,
        /// The commonest reason.
        reason: String,
    },
    /// A file of barriers holds no line.
    #[error("{file} holds no line")]
    NoLine {
        /// The file's name.
        file: String,
    },
    /// The file has no column for something that cannot be missing.
    #[error("{file} has no column for {wanted}; its columns are {columns}")]
    NoColumn {
        /// The file's name.
        file: String,
        /// What the file should have become.
        role: Role,
        /// The meaning, or the meanings one of which is needed.
        wanted: String,
        /// The first of them, for the hint.
        example: &'static str,
        /// The columns that it has.
        columns: String,
    },
    /// The column map is not written as it should be.
    #[error("the column map cannot be read: {0}")]
    MapText(String),
    /// The column map has a table or a meaning that does not exist.
    #[error("the column map has {found}; there are {known}")]
    MapName {
        /// The table or meaning that was found.
        found: String,
        /// What could stand there.
        known: String,
    },
    /// The column map names a column that the file has not.
    #[error("the column map takes {meaning} of {role} from the column '{column}', but {file} has only {columns}")]
    MapColumn {
        /// The file's name.
        file: String,
        /// The table of the map.
        role: Role,
        /// The meaning.
        meaning: String,
        /// The column named in the map.
        column: String,
        /// The columns that the file has.
        columns: String,
    },
    /// No date of the file can be read without knowing the order of its numbers.
    #[error("{file}: dates such as '{example}' may be written day first or month first")]
    DateOrder {
        /// The file's name.
        file: String,
        /// What its rows become.
        role: Role,
        /// One of the dates.
        example: String,
    },
    /// Temperatures are too high for degrees Celsius.
    #[error("{file}: {why}, which is too warm for degrees Celsius; are they degrees Fahrenheit?")]
    Fahrenheit {
        /// The file's name.
        file: String,
        /// What is too warm, in words.
        why: String,
    },
    /// A choice is about a row that is not among the refused rows.
    #[error("row {row} of {file} is not among those that wait for a premise")]
    NoSuchRow {
        /// The file's name.
        file: String,
        /// The row's number in it.
        row: u64,
    },
    /// A settled row cannot come in for another reason.
    #[error("row {row} of {file} cannot come in: {reason}")]
    NotSettled {
        /// The file's name.
        file: String,
        /// The row's number in it.
        row: u64,
        /// Why it was refused.
        reason: String,
    },
    /// The person who asked for it stopped it.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl Hint for IntakeError {
    fn hint(&self) -> String {
        match self {
            Self::File(error) => error.hint(),
            Self::Crs { error, .. } => error.hint(),
            Self::NoCrs { suggestion, .. } => suggestion.hint(),
            Self::Misplaced { suggestion, own, .. } => {
                let own = own.as_deref().unwrap_or("with its own EPSG number");
                let alone = if suggestion.is_turned() { "" } else { ", with this file alone" };
                format!("What it says of its numbers may be wrong. {}{alone}; --crs {own} takes it as it is", suggestion.hint())
            }
            Self::NoParcels => "Give the county's parcel file with --parcels first".to_owned(),
            Self::NothingUsable { role: Role::Parcels, .. } => "Give a file of parcel outlines (polygons)".to_owned(),
            Self::NothingUsable { .. } => "Look at the file with 'yardring look'".to_owned(),
            Self::NoLine { .. } => "Give a file of lines, such as rivers or wide roads".to_owned(),
            Self::NoColumn { role, example, .. } => {
                format!("Say which column it is in a column map (--columns): [{role}] {example} = \"the column's name\"")
            }
            Self::MapText(_) => "Write it as TOML: a table such as [parcels], then lines such as parcel_id = \"PIN\"".to_owned(),
            Self::MapName { .. } | Self::MapColumn { .. } => "Correct the column map".to_owned(),
            Self::DateOrder { role, .. } => {
                format!("Say which in a column map (--columns): [{role}] date_order = \"month first\" or \"day first\"")
            }
            Self::Fahrenheit { .. } => {
                "Say which in a column map (--columns): [temperatures] min_f and max_f or mean_f for Fahrenheit, min_c and max_c or mean_c for Celsius, each = \"the column's name\"".to_owned()
            }
            Self::NoSuchRow { .. } => "List those that wait: yardring settle SURVEY.gpkg --list".to_owned(),
            Self::NotSettled { .. } => "Mend the row in its file and bring the file in again".to_owned(),
            Self::Cancelled(_) => String::new(),
        }
    }

    fn in_window(&self) -> String {
        match self {
            Self::File(error) => error.in_window(),
            Self::Crs { error, .. } => error.in_window(),
            Self::NoCrs { suggestion, .. } => suggestion.in_window(),
            Self::Misplaced { suggestion, own, .. } => {
                let own = own.as_deref().unwrap_or("its own EPSG number");
                let told = format!("What it says of its numbers may be wrong. {}", suggestion.in_window());
                if suggestion.is_turned() {
                    format!("{told}; {own} typed below the files takes it as it is")
                } else {
                    format!("{told}, typed below the files, with this file alone; {own} typed there takes it as it is")
                }
            }
            Self::NoParcels => "Choose the county's parcel file too".to_owned(),
            Self::NothingUsable { .. } => "Choose a file that has such rows".to_owned(),
            Self::NoColumn { .. } => "Say which column it is in step 2, Columns".to_owned(),
            Self::MapColumn { .. } => "Choose the columns again in step 2, Columns".to_owned(),
            Self::DateOrder { .. } => "Say in step 2, Columns, whether dates begin with the day or the month".to_owned(),
            Self::Fahrenheit { .. } => "Say in step 2, Columns, which unit the temperatures have".to_owned(),
            Self::NoSuchRow { .. } => "Choose a row of the list again".to_owned(),
            _ => self.hint(),
        }
    }
}
