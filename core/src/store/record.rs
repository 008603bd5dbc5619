//! One setting written into a survey's file, all else left as it is.

use super::schema::OFFICE_PART;
use super::{StoreError, load};
use rusqlite::{Connection, OpenFlags, params};
use std::path::Path;
use std::time::Duration;

/// Writes one of the office's settings into the file of a survey without rewriting the rest.
///
/// # Errors
/// [`StoreError`] when the file is no survey, or cannot be written.
pub fn record_setting(path: &Path, name: &str, value: &str) -> Result<(), StoreError> {
    load::check_file(path)?;
    let told = |source: rusqlite::Error| match source.sqlite_error_code() {
        Some(rusqlite::ErrorCode::DatabaseBusy | rusqlite::ErrorCode::DatabaseLocked) => StoreError::InUse { path: path.to_owned() },
        _ => StoreError::Database { path: path.to_owned(), source },
    };
    let write = || {
        let mut file = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
        file.busy_timeout(Duration::from_secs(2))?;
        let both = file.transaction()?;
        both.execute("DELETE FROM settings WHERE part = ?1 AND name = ?2", params![OFFICE_PART, name])?;
        both.execute("INSERT INTO settings (part, name, value) VALUES (?1, ?2, ?3)", params![OFFICE_PART, name, value])?;
        both.commit()
    };
    write().map_err(told)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::place::{Frame, LonLat};
    use crate::store::{Parts, load, save};
    use crate::survey::Survey;

    #[test]
    fn a_recorded_setting_is_read_again_and_nothing_else_changes() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
        save(&survey, &path, &Unwatched).unwrap();
        for value in ["first", "second"] {
            record_setting(&path, "case_mask", value).unwrap();
            std::sync::Arc::make_mut(&mut survey.settings).insert("case_mask".into(), value.into());
            assert_eq!(load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), survey);
        }
    }

    #[test]
    fn a_file_that_is_no_survey_stays_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("notes.txt");
        std::fs::write(&path, "dogs at number 9").unwrap();
        assert!(matches!(record_setting(&path, "a", "b"), Err(StoreError::NotASurvey { .. })));
        assert_eq!(std::fs::read(&path).unwrap(), b"dogs at number 9");
    }
}
