//! Reading a survey from its file.

use super::as_written::AsWritten;
use super::quick_visits::{self, Named};
use super::read_layers::{self, Asked, Keys};
use super::{StoreError, read_tables, schema};
use crate::files::geopackage::{APPLICATION_ID, Broken};
use crate::job::{Cancelled, Watch};
use crate::place::{Frame, LonLat};
use crate::survey::{Streets, Survey, UnknownWord};
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension as _};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Which parts of a survey to read: what an answer does not need, need not be waited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parts {
    pub(super) ids: bool,
    pub(super) attributes: bool,
    pub(super) outlines: bool,
    pub(super) blocks: bool,
    pub(super) streets: bool,
}

impl Parts {
    /// All of it.
    pub const EVERYTHING: Self = Self { ids: true, attributes: true, outlines: true, blocks: true, streets: true };
    /// What the list of gaps needs: no streets, and empty outlines of blocks.
    pub const FOR_GAPS: Self = Self { blocks: false, streets: false, ..Self::EVERYTHING };
    /// What the reach needs: the same with empty addresses, and neither land use nor year built.
    pub const FOR_REACH: Self = Self { attributes: false, ..Self::FOR_GAPS };
    /// What counting needs: no streets, and of the premises their blocks alone, with empty ids, addresses and outlines.
    pub const FOR_COUNTING: Self = Self { ids: false, attributes: false, outlines: false, blocks: true, streets: false };
}

/// Reads a survey from its file. The file is not changed.
///
/// # Errors
/// [`StoreError::Missing`], [`StoreError::NotASurvey`], [`StoreError::Newer`] or [`StoreError::Damaged`] when the file is not
/// there, is something else, was written by a newer program, or is broken; [`StoreError::Cancelled`] when somebody asked to
/// stop.
pub fn load(path: &Path, what: Parts, watch: &dyn Watch) -> Result<Survey, StoreError> {
    let (file, own) = checked(path)?;
    read(path, &file, &own, what, watch).map_err(|trouble| explain(path, trouble))
}

/// Whether a file is a survey, of this program or a newer one.
pub fn is_survey(path: &Path) -> bool {
    matches!(checked(path).map(drop), Ok(()) | Err(StoreError::Newer { .. }))
}

/// Makes sure that a file is a survey that this program knows.
pub(super) fn check_file(path: &Path) -> Result<(), StoreError> {
    checked(path).map(drop)
}

fn checked(path: &Path) -> Result<(Connection, Own), StoreError> {
    look_at_path(path)?;
    let file = open(path).map_err(|trouble| explain(path, trouble))?;
    let own = check(path, &file)?;
    Ok((file, own))
}

/// Opens the file for reading alone.
fn open(path: &Path) -> Result<Connection, Trouble> {
    let file = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    // Another window may be keeping something in the file; on a busy computer that takes its time.
    file.busy_timeout(std::time::Duration::from_secs(10))?;
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
pub(super) fn check(path: &Path, file: &Connection) -> Result<Own, StoreError> {
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
    whole(path, file).map_err(|trouble| explain(path, trouble))?;
    let own = read_tables::settings(file, schema::FILE_PART).map_err(told)?;
    match own.get("layout").map(|l| l.parse::<i64>()) {
        None => Err(not("it is a GeoPackage that another program wrote")),
        Some(Ok(n)) if (1..=schema::LAYOUT).contains(&n) => Ok(own),
        Some(Ok(found)) if found > schema::LAYOUT => Err(StoreError::Newer { path: path.to_owned(), found, known: schema::LAYOUT }),
        Some(_) => Err(explain(path, unsettled("layout"))),
    }
}

/// Makes sure that the file is as long as it says, so that one cut short in copying is noticed whatever is read of it.
fn whole(path: &Path, file: &Connection) -> Result<(), Trouble> {
    let number = |name| file.pragma_query_value(None, name, |row| row.get::<_, u64>(0));
    let (says, is) = (number("page_count")? * number("page_size")?, std::fs::metadata(path).map_or(0, |m| m.len()));
    // Pages that another program has not yet brought home from beside the file may make it longer.
    if is < says && !beside(path, "-wal").exists() {
        return Err(Trouble::Damaged { table: "sqlite_schema", row: None, what: format!("expected {says} bytes, found {is}") });
    }
    Ok(())
}

/// A file that SQLite keeps beside a database.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

fn unsettled(name: &str) -> Trouble {
    Trouble::Damaged { table: "settings", row: None, what: format!("expected a number for '{name}', found none") }
}

fn read(path: &Path, file: &Connection, own: &Own, what: Parts, watch: &dyn Watch) -> Result<Survey, Trouble> {
    // One look keeps other programs from writing until everything is read. Nothing below may ask for another: a program that
    // waits to write would keep it from us, while we keep that program from writing.
    let _reading = file.unchecked_transaction()?;
    let (rounds, round_keys) = read_tables::rounds(file)?;
    let (kinds, kind_keys) = read_tables::kinds(file)?;
    let mut quick = AsWritten::of(path, file)?;
    let (blocks, block_keys) = read_layers::blocks(quick.blocks.as_mut(), file, what)?;
    let asked = Asked::of(own, what, &block_keys);
    let likely = Keys::up_to(file, "premises")?;
    let named = |premises| Named { premises, rounds: &round_keys, kinds: &kind_keys };
    let (premises, visits) = rayon::join(
        || quick.premises.as_mut().map_or(Ok(None), |pages| pages.read(asked, watch)),
        || {
            let read = quick_visits::visits_and_finds(quick.visits_and_finds.as_mut()?, named(&likely))?;
            Some(read_tables::with_finds(likely.count(), read))
        },
    );
    let (premises, keys) = read_layers::premises(premises?, file, asked, watch)?;
    let visits = match visits {
        Some(visits) if likely.same(&keys) => visits,
        _ => read_tables::with_finds(keys.count(), read_tables::through_sqlite(file, named(&keys), watch)?),
    };
    Ok(Survey {
        frame: frame(own)?,
        premises,
        blocks,
        streets: if what.streets { read_layers::streets(file)? } else { Streets::default() },
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Hint as _;
    use crate::job::Unwatched;
    use crate::store::{made_up, save};
    use crate::survey::{Outcome, PremiseId, Round, RoundId, Said, Visit, Visits, When};

    fn saved(folder: &tempfile::TempDir) -> PathBuf {
        let path = folder.path().join("s.gpkg");
        save(&made_up::squares(120), &path, &Unwatched).unwrap();
        path
    }

    #[test]
    fn other_files_are_told_from_surveys() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x.gpkg");
        let found = || load(&path, Parts::EVERYTHING, &Unwatched).unwrap_err();
        assert!(matches!(found(), StoreError::Missing { .. }));
        std::fs::write(&path, "parcel_id,address\n").unwrap();
        assert!(matches!(found(), StoreError::NotASurvey { .. }), "{}", found());
        std::fs::write(&path, "").unwrap();
        assert!(matches!(found(), StoreError::NotASurvey { .. }), "{}", found());
        std::fs::remove_file(&path).unwrap();
        let other = Connection::open(&path).unwrap();
        other.execute_batch("PRAGMA application_id = 0x47504B47; CREATE TABLE settings (a TEXT)").unwrap();
        assert!(matches!(found(), StoreError::NotASurvey { .. }) && found().hint().contains("intake"), "{}", found());
        assert!(matches!(load(folder.path(), Parts::EVERYTHING, &Unwatched), Err(StoreError::NotASurvey { .. })));
    }

    #[test]
    fn a_newer_layout_and_broken_rows_are_refused_with_their_place() {
        let folder = tempfile::tempdir().unwrap();
        let path = saved(&folder);
        let change = |sql: &str| Connection::open(&path).unwrap().execute(sql, []).unwrap();
        change("UPDATE settings SET value = '2' WHERE name = 'layout'");
        assert!(matches!(load(&path, Parts::EVERYTHING, &Unwatched), Err(StoreError::Newer { found: 2, known: 1, .. })));
        change("UPDATE settings SET value = '1' WHERE name = 'layout'");
        Connection::open(&path)
            .unwrap()
            .execute_batch("DROP TRIGGER rtree_premises_geom_update3; DROP TRIGGER rtree_premises_geom_update4")
            .unwrap();
        change("UPDATE premises SET block_fid = 99 WHERE fid = 5");
        let told = load(&path, Parts::EVERYTHING, &Unwatched).unwrap_err().to_string();
        assert!(told.contains("table premises, row 5: expected the key of a block, found 99"), "{told}");
    }

    #[test]
    fn a_file_of_an_earlier_version_says_nothing_of_promises() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        let day = jiff::civil::date(2025, 7, 7);
        let mut survey = made_up::squares(120);
        survey.rounds = Arc::new(vec![Round { name: "1".into(), first: day, last: day }]);
        let visit = |said| Visit {
            id: "v".into(),
            premise: PremiseId(3),
            when: When { day, time: None },
            outcome: Outcome::NoAnswer,
            round: RoundId(0),
            crew: "A".into(),
            said,
            finds: 0..0,
        };
        survey.visits = Visits::from_rows(120, vec![(visit(Said::marked(Said::with_minutes("Saturday", "dog", Some(17)), true)), vec![])]);
        save(&survey, &path, &Unwatched).unwrap();
        assert_eq!(load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), survey);
        let file = Connection::open(&path).unwrap();
        file.execute_batch(
            "ALTER TABLE visits DROP COLUMN promise; ALTER TABLE visits DROP COLUMN cautions; ALTER TABLE visits DROP COLUMN minutes; \
             ALTER TABLE visits DROP COLUMN by_hand",
        )
        .unwrap();
        survey.visits = Visits::from_rows(120, vec![(visit(None), vec![])]);
        assert_eq!(load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), survey);
    }

    #[test]
    fn rows_that_another_program_deleted_leave_no_hole() {
        let folder = tempfile::tempdir().unwrap();
        let path = saved(&folder);
        let file = Connection::open(&path).unwrap();
        file.execute("DELETE FROM premises WHERE fid IN (1, 17, 120)", []).unwrap();
        let (all, left) = (made_up::squares(120), load(&path, Parts::EVERYTHING, &Unwatched).unwrap());
        let kept: Vec<u32> = (0..120).filter(|i| ![0, 16, 119].contains(i)).collect();
        assert_eq!(*left.premises.parcel_id, all.premises.parcel_id.reordered(&kept));
        assert_eq!(*left.premises.outline, all.premises.outline.reordered(&kept));
    }

    #[test]
    fn a_file_cut_short_or_with_flipped_bits_never_stops_the_program() {
        let folder = tempfile::tempdir().unwrap();
        let path = saved(&folder);
        let whole = std::fs::read(&path).unwrap();
        for cut in (0..whole.len()).step_by(2_011) {
            std::fs::write(&path, &whole[..cut]).unwrap();
            assert!(load(&path, Parts::EVERYTHING, &Unwatched).is_err(), "cut at {cut}");
        }
        for k in 0..400 {
            let mut broken = whole.clone();
            let at = k * 7_919 % whole.len();
            broken[at] ^= 1 << (k % 8);
            std::fs::write(&path, &broken).unwrap();
            let _ = load(&path, Parts::EVERYTHING, &Unwatched);
        }
    }
}
