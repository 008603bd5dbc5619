//! Writing a survey to its file.

use super::{Stamp, StoreError, schema, write_layers, write_tables};
use crate::files::Unfinished;
use crate::files::geopackage::{PAGE, create_frame_tables, describe_table};
use crate::job::{Cancelled, Watch};
use crate::survey::Survey;
use rusqlite::{Connection, OpenFlags};
use std::fs::File;
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
    put(survey, path, None, watch)
}

/// [`save`], but only while the file is as it was when the survey was read: what another program brought in since would be lost.
///
/// # Errors
/// As [`save`]; [`StoreError::Changed`] when another program has written the file since.
pub fn save_over(survey: &Survey, path: &Path, read: Stamp, watch: &dyn Watch) -> Result<(), StoreError> {
    put(survey, path, Some(read), watch)
}

fn put(survey: &Survey, path: &Path, read: Option<Stamp>, watch: &dyn Watch) -> Result<(), StoreError> {
    let unfinished = Unfinished::beside(path);
    write(survey, unfinished.path(), watch).map_err(|failure| match failure {
        Failure::Cancelled(c) => c.into(),
        Failure::Database(source) => explain(path, source),
        Failure::Io(source) => StoreError::Refused { path: path.to_owned(), source },
    })?;
    watch.step("Saving the survey", 1, 1)?;
    let finished = match read {
        Some(read) => unfinished.finish_while(|| read == Stamp::of(path)),
        None => unfinished.finish().map(|()| true),
    };
    match finished {
        Ok(true) => Ok(()),
        Ok(false) => Err(StoreError::Changed { path: path.to_owned() }),
        Err(source) if source.kind() == ErrorKind::ResourceBusy => Err(StoreError::InUse { path: path.to_owned() }),
        Err(source) => Err(StoreError::Refused { path: path.to_owned(), source }),
    }
}

/// Why writing stopped.
#[derive(Debug, thiserror::Error)]
pub(super) enum Failure {
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    #[error(transparent)]
    Database(#[from] rusqlite::Error),
    #[error(transparent)]
    Io(#[from] std::io::Error),
}

fn explain(path: &Path, source: rusqlite::Error) -> StoreError {
    let path = path.to_owned();
    match path.parent().filter(|p| !p.as_os_str().is_empty()).map(std::fs::metadata) {
        Some(Err(source)) => StoreError::Refused { path, source },
        _ => StoreError::Database { path, source },
    }
}

fn write(survey: &Survey, path: &Path, watch: &dyn Watch) -> Result<(), Failure> {
    let (roots, indexed) = write_database(survey, path, watch)?;
    let mut file = File::options().read(true).write(true).open(path)?;
    write_layers::fill_long_tables(&mut file, roots, survey, &indexed, watch)
}

/// Writes all but the longest tables, which are added when the database is closed.
fn write_database(survey: &Survey, path: &Path, watch: &dyn Watch) -> Result<(write_layers::Roots, write_layers::Indexed), Failure> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut file = Connection::open_with_flags(path, flags)?;
    // A half-written file is thrown away, so nothing need be kept to roll back with, and the disk is waited for only once.
    file.execute_batch(&format!(
        "PRAGMA page_size = {PAGE}; PRAGMA encoding = 'UTF-8'; PRAGMA auto_vacuum = NONE; PRAGMA journal_mode = OFF;
         PRAGMA synchronous = OFF; PRAGMA locking_mode = EXCLUSIVE; PRAGMA cache_size = -16384; PRAGMA temp_store = MEMORY;"
    ))?;
    let changed = latest_date(survey);
    let all = file.transaction()?;
    create_frame_tables(&all, &survey.frame)?;
    for tables in [schema::PREMISES, schema::BLOCKS, schema::TABLES, schema::VISITS, schema::FINDS] {
        all.execute_batch(tables)?;
    }
    watch.step("Indexing the premises", 0, 0)?;
    let indexed = write_layers::indexes(&all, survey, &changed)?;
    watch.step("Saving lists and settings", 0, 0)?;
    write_layers::signals(&all, survey, &changed)?;
    write_tables::lists(&all, survey)?;
    write_tables::settings(&all, survey)?;
    for (name, about) in schema::PLAIN_TABLES {
        describe_table(&all, name, about, &changed)?;
    }
    let roots = write_layers::Roots::of(&all)?;
    all.commit()?;
    file.close().map_err(|(_, source)| source)?;
    Ok((roots, indexed))
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
    use crate::place::{Bounds, Local};
    use crate::store::{Parts, load, made_up};
    use proptest::prelude::*;
    use rayon::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn what_was_saved_is_read_back_whole(survey in made_up::survey()) {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("s.gpkg");
            save(&survey, &path, &Unwatched).unwrap();
            prop_assert_eq!(&load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), &survey);
            let light = load(&path, Parts::FOR_COUNTING, &Unwatched).unwrap();
            prop_assert_eq!(light.premises.outline.len(), survey.premises.len());
            prop_assert_eq!(light.premises.parcel_id.iter().chain(light.premises.address.iter()).collect::<String>(), "");
            prop_assert_eq!((&light.premises.block, &light.visits), (&survey.premises.block, &survey.visits));
            prop_assert_eq!((light.premises.len(), light.premises.address.len()), (survey.premises.len(), survey.premises.len()));
            let for_gaps = load(&path, Parts::FOR_GAPS, &Unwatched).unwrap();
            prop_assert_eq!((&for_gaps.premises, &for_gaps.visits), (&survey.premises, &survey.visits));
            let for_reach = load(&path, Parts::FOR_REACH, &Unwatched).unwrap();
            prop_assert_eq!((&for_reach.premises.parcel_id, &for_reach.visits), (&survey.premises.parcel_id, &survey.visits));
            prop_assert_eq!((&for_reach.premises.outline, &for_reach.premises.block), (&survey.premises.outline, &survey.premises.block));
            prop_assert_eq!(&for_reach.blocks.block_id, &survey.blocks.block_id);
            prop_assert_eq!(for_reach.blocks.outline.len(), survey.blocks.len());
            let bytes = std::fs::read(&path).unwrap();
            save(&survey, &path, &Unwatched).unwrap();
            prop_assert!(bytes == std::fs::read(&path).unwrap(), "saving again gave other bytes");
            prop_assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        }
    }

    #[test]
    fn what_another_program_brought_in_meanwhile_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        let (mine, theirs) = (made_up::squares(40), made_up::squares(90));
        let none = Stamp::of(&path);
        save_over(&mine, &path, none, &Unwatched).unwrap();
        let read = Stamp::of(&path);
        save(&theirs, &path, &Unwatched).unwrap();
        for stale in [none, read] {
            assert!(matches!(save_over(&mine, &path, stale, &Unwatched), Err(StoreError::Changed { .. })));
            assert_eq!(load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), theirs);
        }
        save_over(&mine, &path, Stamp::of(&path), &Unwatched).unwrap();
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing half written stays");
        // Of many at once one gets through, over a file and where there is none yet.
        for path in [path, folder.path().join("new.gpkg")] {
            let read = Stamp::of(&path);
            let through = (0..8).into_par_iter().filter(|_| save_over(&mine, &path, read, &Unwatched).is_ok()).count();
            assert_eq!(through, 1, "{}", path.display());
        }
    }

    /// Against SQLite's own checks (`rtreecheck` and `integrity_check`) and a look at every box.
    #[test]
    fn the_spatial_index_is_sound_and_finds_what_a_look_at_every_box_finds() {
        for count in [1, 40, 60, 3_000] {
            let survey = made_up::squares(count);
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("s.gpkg");
            save(&survey, &path, &Unwatched).unwrap();
            let file = Connection::open(&path).unwrap();
            let say = |ask: &str| file.query_row(ask, [], |r| r.get::<_, String>(0)).unwrap();
            assert_eq!(say("PRAGMA integrity_check"), "ok");
            let layers = [("premises", &survey.premises.outline), ("blocks", &survey.blocks.outline), ("streets", &survey.streets.line)];
            for (layer, shapes) in layers {
                assert_eq!(say(&format!("SELECT rtreecheck('rtree_{layer}_geom')")), "ok", "{layer} of {count}");
                for k in 0..20 {
                    let middle = Local { x: f64::from(k) * 50.0, y: f64::from(k * 7 % 20) * 50.0 };
                    let b = Bounds::of(&[middle]).grown(f64::from(k * 3));
                    let ask = format!(
                        "SELECT id FROM rtree_{layer}_geom WHERE maxx >= ?1 AND minx <= ?2 AND maxy >= ?3 AND miny <= ?4 ORDER BY id"
                    );
                    let mut ask = file.prepare(&ask).unwrap();
                    let found = ask.query_map([b.min.x, b.max.x, b.min.y, b.max.y], |r| r.get(0)).unwrap();
                    let found: Vec<usize> = found.map(|id: rusqlite::Result<usize>| id.unwrap() - 1).collect();
                    let slow: Vec<usize> = (0..shapes.len()).filter(|&i| shapes.bounds()[i].touches(&b)).collect();
                    assert_eq!(found, slow, "{layer} of {count}");
                }
            }
            assert_eq!(load(&path, Parts::EVERYTHING, &Unwatched).unwrap(), survey);
        }
    }

    /// Against the requirements of OGC 12-128r18: 2 and 3 (header), 10 to 14 (tables), 75 and annex F.3 (index).
    #[test]
    fn the_file_says_of_itself_what_the_standard_asks() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        save(&made_up::squares(50), &path, &Unwatched).unwrap();
        let head = std::fs::read(&path).unwrap();
        assert_eq!((&head[68..72], &head[60..64]), (&b"GPKG"[..], &10_300u32.to_be_bytes()[..]));
        let file = Connection::open(&path).unwrap();
        let list = |ask: &str| {
            let mut ask = file.prepare(ask).unwrap();
            let rows = ask.query_map([], |r| r.get::<_, String>(0)).unwrap();
            rows.map(Result::unwrap).collect::<Vec<_>>()
        };
        assert_eq!(list("SELECT * FROM pragma_foreign_key_check"), Vec::<String>::new());
        assert_eq!(
            list("SELECT organization || srs_id FROM gpkg_spatial_ref_sys ORDER BY srs_id"),
            ["NONE-1", "NONE0", "EPSG4326", "NONE100001"]
        );
        assert_eq!(
            list("SELECT table_name FROM gpkg_contents WHERE data_type = 'features' ORDER BY 1"),
            ["blocks", "premises", "signals", "streets"]
        );
        let unlisted = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT GLOB 'gpkg_*' AND name NOT GLOB 'rtree_*' \
                        AND name NOT IN (SELECT table_name FROM gpkg_contents)";
        assert_eq!(list(unlisted), Vec::<String>::new());
        assert_eq!(list("SELECT name FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'premises'").len(), 6);
    }
}
