//! Writing a survey to its file.

use super::{StoreError, schema, write_layers, write_tables};
use crate::files::Unfinished;
use crate::files::geopackage::{create_frame_tables, describe_table};
use crate::job::{Cancelled, Watch};
use crate::survey::Survey;
use rusqlite::{Connection, OpenFlags};
use std::io::ErrorKind;
use std::path::Path;

/// The moment that stands in a file about a survey without a single date: files must not depend on a clock.
const NO_DATE: &str = "2000-01-01T00:00:00.000Z";

/// Writes a survey to a GeoPackage, in place of the file that is there. The same survey gives the same bytes. Until the new
/// file is whole and on the disk the old one stays.
///
/// # Errors
/// [`StoreError::Refused`] or [`StoreError::Database`] when the file cannot be written, [`StoreError::InUse`] when another
/// program has unsaved changes in it, [`StoreError::Cancelled`] when somebody asked to stop.
pub fn save(survey: &Survey, path: &Path, watch: &dyn Watch) -> Result<(), StoreError> {
    let unfinished = Unfinished::beside(path);
    write(survey, unfinished.path(), watch).map_err(|failure| match failure {
        Failure::Cancelled(c) => c.into(),
        Failure::Database(source) => explain(path, source),
    })?;
    watch.step("Saving the survey", 1, 1)?;
    unfinished.finish().map_err(|source| match source.kind() {
        ErrorKind::ResourceBusy => StoreError::InUse { path: path.to_owned() },
        _ => StoreError::Refused { path: path.to_owned(), source },
    })
}

/// Why writing stopped.
#[derive(Debug, thiserror::Error)]
pub(super) enum Failure {
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    #[error(transparent)]
    Database(#[from] rusqlite::Error),
}

fn explain(path: &Path, source: rusqlite::Error) -> StoreError {
    let path = path.to_owned();
    match path.parent().filter(|p| !p.as_os_str().is_empty()).map(std::fs::metadata) {
        Some(Err(source)) => StoreError::Refused { path, source },
        _ => StoreError::Database { path, source },
    }
}

fn write(survey: &Survey, path: &Path, watch: &dyn Watch) -> Result<(), Failure> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut file = Connection::open_with_flags(path, flags)?;
    // A half-written file is thrown away, so nothing need be kept to roll back with, and the disk is waited for only once.
    file.execute_batch(
        "PRAGMA page_size = 4096; PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA locking_mode = EXCLUSIVE;
         PRAGMA cache_size = -16384; PRAGMA temp_store = MEMORY; PRAGMA cell_size_check = OFF;",
    )?;
    let changed = latest_date(survey);
    let all = file.transaction()?;
    create_frame_tables(&all, &survey.frame)?;
    all.execute_batch(schema::TABLES)?;
    write_layers::premises(&all, survey, &changed, watch)?;
    write_layers::blocks(&all, survey, &changed)?;
    write_layers::streets(&all, survey, &changed)?;
    write_layers::signals(&all, survey, &changed)?;
    write_tables::visits(&all, survey, watch)?;
    write_tables::finds(&all, survey, watch)?;
    write_tables::lists(&all, survey)?;
    write_tables::settings(&all, survey)?;
    for (name, about) in schema::PLAIN_TABLES {
        describe_table(&all, name, about, &changed)?;
    }
    all.commit()?;
    file.close().map_err(|(_, source)| source)?;
    Ok(())
}

/// The latest day that the survey knows of, as the standard writes moments.
fn latest_date(survey: &Survey) -> String {
    let visits = survey.rounds.iter().map(|r| r.last);
    let others = survey.signals.iter().map(|s| s.day).chain(survey.temperatures.iter().map(|t| t.day));
    match visits.chain(others).max() {
        Some(day) => format!("{day}T00:00:00.000Z"),
        None => NO_DATE.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::store::{Parts, load, made_up};
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn what_was_saved_is_read_back_whole(survey in made_up::survey()) {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("s.gpkg");
            save(&survey, &path, &Unwatched).unwrap();
            prop_assert_eq!(&load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), &survey);
            let light = load(&path, Parts::WITHOUT_OUTLINES, &Unwatched).unwrap();
            prop_assert_eq!(light.premises.outline.len(), survey.premises.len());
            prop_assert_eq!((&light.premises.parcel_id, &light.visits), (&survey.premises.parcel_id, &survey.visits));
            let bytes = std::fs::read(&path).unwrap();
            save(&survey, &path, &Unwatched).unwrap();
            prop_assert!(bytes == std::fs::read(&path).unwrap(), "saving again gave other bytes");
            prop_assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        }
    }
}
