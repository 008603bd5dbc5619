//! One setting changed in a survey file, without writing the whole file again.

use super::StoreError;
use super::load::check_file;
use super::schema::OFFICE_PART;
use rusqlite::{Connection, OpenFlags, params};
use std::path::Path;
use std::time::Duration;

/// Keeps a setting in a survey file, or takes it away. Everything else in the file stays as it is; a call that is
/// interrupted changes nothing.
///
/// # Errors
/// [`StoreError`] when the file is no survey, or cannot be written.
pub fn keep_setting(path: &Path, name: &str, value: Option<&str>) -> Result<(), StoreError> {
    check_file(path)?;
    let told = |source: rusqlite::Error| match source.sqlite_error_code() {
        Some(rusqlite::ErrorCode::DatabaseBusy | rusqlite::ErrorCode::DatabaseLocked) => StoreError::InUse { path: path.to_owned() },
        _ => StoreError::Database { path: path.to_owned(), source },
    };
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut file = Connection::open_with_flags(path, flags).map_err(told)?;
    file.busy_timeout(Duration::from_secs(10)).map_err(told)?;
    let change = |file: &mut Connection| {
        let all = file.transaction()?;
        all.execute("DELETE FROM settings WHERE part = ?1 AND name = ?2", params![OFFICE_PART, name])?;
        if let Some(value) = value {
            all.execute("INSERT INTO settings (part, name, value) VALUES (?1, ?2, ?3)", params![OFFICE_PART, name, value])?;
        }
        all.commit()
    };
    change(&mut file).map_err(told)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::store::{Parts, load, made_up, save};

    #[test]
    fn a_setting_is_kept_and_all_else_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.gpkg");
        let survey = made_up::squares(500);
        save(&survey, &path, &Unwatched).unwrap();
        for value in ["first", "second"] {
            keep_setting(&path, "walks", Some(value)).unwrap();
        }
        let read = load(&path, Parts::EVERYTHING, &Unwatched).unwrap();
        assert_eq!(read.settings.get("walks").map(|v| &**v), Some("second"));
        keep_setting(&path, "walks", None).unwrap();
        assert_eq!(load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), survey);
        let none = folder.path().join("none.gpkg");
        assert!(keep_setting(&none, "walks", None).is_err() && !none.exists());
    }

    #[test]
    fn a_file_that_is_no_survey_stays_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("notes.txt");
        std::fs::write(&path, "dogs at number 9").unwrap();
        assert!(matches!(keep_setting(&path, "a", Some("b")), Err(StoreError::NotASurvey { .. })));
        assert_eq!(std::fs::read(&path).unwrap(), b"dogs at number 9");
    }

    #[test]
    fn one_window_reads_while_another_keeps_a_setting() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.gpkg");
        save(&made_up::squares(2_000), &path, &Unwatched).unwrap();
        let all_kept = || (0..60).all(|i| keep_setting(&path, "walks", Some(&i.to_string())).is_ok());
        let all_read = || (0..60).all(|_| load(&path, Parts::EVERYTHING, &Unwatched).is_ok());
        assert_eq!(rayon::join(all_kept, all_read), (true, true));
    }
}
