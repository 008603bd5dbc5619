//! Reading a survey from its file.

use super::read_layers::{self, Keys};
use super::{StoreError, read_tables, schema};
use crate::files::geopackage::{APPLICATION_ID, Broken};
use crate::job::{Cancelled, Watch};
use crate::place::{Frame, LonLat};
use crate::survey::{Survey, UnknownWord};
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension as _};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// Which parts of a survey to read: what an answer does not need, need not be waited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parts {
    pub(super) outlines: bool,
}

impl Parts {
    /// All of it.
    pub const EVERYTHING: Self = Self { outlines: true };
    /// All but the outlines of premises, which are then empty.
    pub const WITHOUT_OUTLINES: Self = Self { outlines: false };
}

/// Reads a survey from its file. The file is not changed.
///
/// # Errors
/// [`StoreError::Missing`], [`StoreError::NotASurvey`], [`StoreError::Newer`] or [`StoreError::Damaged`] when the file is not
/// there, is something else, was written by a newer program, or is broken; [`StoreError::Cancelled`] when somebody asked to
/// stop.
pub fn load(path: &Path, what: Parts, watch: &dyn Watch) -> Result<Survey, StoreError> {
    let told = |trouble| explain(path, trouble);
    look_at_path(path)?;
    let file = open(path).map_err(told)?;
    let own = check(path, &file)?;
    read(path, &file, &own, what, watch).map_err(told)
}

/// Opens the file for reading alone.
pub(super) fn open(path: &Path) -> Result<Connection, Trouble> {
    let file = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    file.busy_timeout(std::time::Duration::from_secs(2))?;
    Ok(file)
}

/// Why reading stopped, before the file's name is added.
#[derive(Debug, thiserror::Error)]
pub(super) enum Trouble {
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    #[error(transparent)]
    Database(#[from] rusqlite::Error),
    #[error("{what}")]
    Damaged { table: &'static str, row: Option<i64>, what: String },
}

impl Trouble {
    /// A broken row.
    pub(super) fn row(table: &'static str, row: i64, what: impl ToString) -> Self {
        Self::Damaged { table, row: Some(row), what: what.to_string() }
    }
}

/// What a row was to blame for.
#[derive(Debug, thiserror::Error)]
pub(super) enum BadCell {
    #[error(transparent)]
    Geometry(#[from] Broken),
    #[error(transparent)]
    Word(#[from] UnknownWord),
    #[error("expected {expected}, found {found}")]
    Value { expected: &'static str, found: String },
    #[error(transparent)]
    Database(#[from] rusqlite::Error),
}

fn explain(path: &Path, trouble: Trouble) -> StoreError {
    let path = path.to_owned();
    match trouble {
        Trouble::Cancelled(c) => c.into(),
        Trouble::Damaged { table, row, what } => StoreError::Damaged { path, table, row, what },
        Trouble::Database(source) => match source.sqlite_error_code() {
            Some(ErrorCode::NotADatabase) => StoreError::NotASurvey { path, found: "it is no GeoPackage at all" },
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::InUse { path },
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::Unknown) | None => {
                StoreError::Damaged { path, table: "sqlite_schema", row: None, what: source.to_string() }
            }
            _ => StoreError::Database { path, source },
        },
    }
}

fn look_at_path(path: &Path) -> Result<(), StoreError> {
    match std::fs::metadata(path) {
        Ok(m) if m.is_dir() => Err(StoreError::NotASurvey { path: path.to_owned(), found: "it is a folder" }),
        Ok(_) => Ok(()),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Err(StoreError::Missing { path: path.to_owned() }),
        Err(source) => Err(StoreError::Refused { path: path.to_owned(), source }),
    }
}

/// What the file says about itself.
pub(super) type Own = BTreeMap<String, String>;

/// Makes sure that the file is a survey of a layout known here.
fn check(path: &Path, file: &Connection) -> Result<Own, StoreError> {
    let told = |source: rusqlite::Error| explain(path, source.into());
    let not = |found| StoreError::NotASurvey { path: path.to_owned(), found };
    let id: i64 = file.pragma_query_value(None, "application_id", |row| row.get(0)).map_err(told)?;
    if id != APPLICATION_ID {
        return Err(not("it is a database, but no GeoPackage"));
    }
    let known = "SELECT 1 FROM sqlite_schema WHERE name = 'settings' AND sql LIKE '%part TEXT%'";
    if file.query_row(known, [], |_| Ok(())).optional().map_err(told)?.is_none() {
        return Err(not("it is a GeoPackage that another program wrote"));
    }
    let own = read_tables::settings(file, schema::FILE_PART).map_err(told)?;
    match own.get("layout").map(|l| l.parse::<i64>()) {
        None => Err(not("it is a GeoPackage that another program wrote")),
        Some(Ok(n)) if (1..=schema::LAYOUT).contains(&n) => Ok(own),
        Some(Ok(found)) if found > schema::LAYOUT => Err(StoreError::Newer { path: path.to_owned(), found, known: schema::LAYOUT }),
        Some(_) => Err(explain(path, unsettled("layout"))),
    }
}

fn unsettled(name: &str) -> Trouble {
    Trouble::Damaged { table: "settings", row: None, what: format!("expected a number for '{name}', found none") }
}

fn read(path: &Path, file: &Connection, own: &Own, what: Parts, watch: &dyn Watch) -> Result<Survey, Trouble> {
    let (blocks, block_keys) = read_layers::blocks(file)?;
    let premise_keys = Keys::of(file, "premises")?;
    let (premises, visits) = rayon::join(
        || read_layers::premises(path, own, &premise_keys, &block_keys, what, watch),
        || {
            let file = open(path)?;
            let (rounds, round_keys) = read_tables::rounds(&file)?;
            let (kinds, kind_keys) = read_tables::kinds(&file)?;
            let visits = read_tables::visits(&file, &premise_keys, &round_keys, &kind_keys, watch)?;
            Ok::<_, Trouble>((rounds, kinds, visits))
        },
    );
    let (rounds, kinds, visits) = visits?;
    Ok(Survey {
        frame: frame(own)?,
        premises: premises?,
        blocks,
        streets: read_layers::streets(file)?,
        visits,
        rounds: Arc::new(rounds),
        kinds: Arc::new(kinds),
        signals: Arc::new(read_layers::signals(file)?),
        temperatures: Arc::new(read_tables::temperatures(file)?),
        refused: Arc::new(read_tables::refused(file)?),
        intake_log: Arc::new(read_tables::intake_log(file)?),
        settings: Arc::new(
            read_tables::settings(file, schema::OFFICE_PART)?.into_iter().map(|(k, v)| (k.into_boxed_str(), v.into_boxed_str())).collect(),
        ),
    })
}

fn frame(own: &Own) -> Result<Frame, Trouble> {
    let degrees = |name: &str| own.get(name).and_then(|v| v.parse::<f64>().ok()).ok_or_else(|| unsettled(name));
    let centre = LonLat::new(degrees("frame_longitude")?, degrees("frame_latitude")?).ok_or_else(|| unsettled("frame_latitude"))?;
    Ok(Frame::centred_on(centre))
}
