//! Reading visits and finds straight from the pages of the file that this program wrote.

use super::as_written::Table;
use super::quick_premises::text;
use super::read_layers::Keys;
use crate::files::geopackage::Cell;
use crate::survey::{Find, KindId, PremiseId, RoundId, Said, Visit, When};
use std::str::FromStr;

/// The keys that visits and finds name.
#[derive(Clone, Copy)]
pub(super) struct Named<'a> {
    pub premises: &'a Keys,
    pub rounds: &'a Keys,
    pub kinds: &'a Keys,
}

/// Visits, their keys, and finds, each with the row of its visit.
pub(super) type Read = (Vec<Visit>, Keys, Vec<(u32, Find)>);

/// Reads visits and finds; `None` when anything about them is not as this program writes it, so that SQLite must be asked.
pub(super) fn visits_and_finds(tables: &mut (Table, Table), named: Named<'_>) -> Option<Read> {
    let (on_visits, on_finds) = tables;
    let (mut visits, mut keys, mut finds) = (Vec::new(), Vec::new(), Vec::new());
    on_visits.pages.rows(&on_visits.leaves, |key, cells: &[Cell<'_>; 14]| {
        keys.push(key);
        visits.push(visit(cells, named)?);
        Some(())
    })?;
    let keys = Keys::list(keys);
    on_finds.pages.rows(&on_finds.leaves, |_, cells: &[Cell<'_>; 13]| {
        finds.push((keys.row(whole(cells[1])?)?, find(cells, named.kinds)?));
        Some(())
    })?;
    Some((visits, keys, finds))
}

/// A visit from its cells, in the order of [`schema::VISITS`].
fn visit(cells: &[Cell<'_>; 14], named: Named<'_>) -> Option<Visit> {
    let time = match text(cells[5])? {
        "" => None,
        time => Some(time.parse().ok()?),
    };
    let minutes = match cells[12] {
        Cell::Nothing => None,
        cell => Some(whole(cell)?.try_into().ok()?),
    };
    let by_hand = match cells[13] {
        Cell::Nothing => false,
        cell => yes(cell)?,
    };
    Some(Visit {
        id: text(cells[1])?.into(),
        premise: PremiseId(named.premises.row(whole(cells[2])?)?),
        when: When { day: text(cells[4])?.parse().ok()?, time },
        outcome: text(cells[6])?.parse().ok()?,
        round: RoundId(named.rounds.row(whole(cells[8])?)?),
        crew: text(cells[9])?.into(),
        said: Said::marked(Said::with_minutes(text(cells[10])?, text(cells[11])?, minutes), by_hand),
        finds: 0..0,
    })
}

/// A find from its cells, in the order of [`schema::FINDS`].
fn find(cells: &[Cell<'_>; 13], kinds: &Keys) -> Option<Find> {
    let count = |column: usize| u32::try_from(whole(cells[column])?).ok();
    Some(Find {
        kind: KindId(kinds.row(whole(cells[3])?)?),
        count: count(4)?,
        wet: count(5)?,
        with_larvae: count(6)?,
        with_pupae: count(7)?,
        pupae: count(8)?,
        stage: word(cells[9])?,
        litres: match cells[10] {
            Cell::Nothing => None,
            Cell::Number(litres) => Some(litres as f32),
            cell => Some(whole(cell)? as f32),
        },
        action: word(cells[11])?,
        remains: yes(cells[12])?,
    })
}

fn whole(cell: Cell<'_>) -> Option<i64> {
    match cell {
        Cell::Whole(number) => Some(number),
        _ => None,
    }
}

fn yes(cell: Cell<'_>) -> Option<bool> {
    match whole(cell)? {
        0 => Some(false),
        1 => Some(true),
        _ => None,
    }
}

/// A word of a list, or none where the cell is empty; `None` when it is something else.
fn word<T: FromStr>(cell: Cell<'_>) -> Option<Option<T>> {
    match text(cell)? {
        "" => Some(None),
        text => text.parse().ok().map(Some),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::store::as_written::AsWritten;
    use crate::store::read_tables::{self, kinds, rounds};
    use crate::store::{made_up, save};
    use proptest::prelude::*;
    use rusqlite::Connection;
    use std::path::Path;

    /// Both ways of reading the visits of a file.
    fn both_ways(path: &Path) -> (Option<Read>, Read) {
        let file = Connection::open(path).unwrap();
        let premises = Keys::up_to(&file, "premises").unwrap();
        let (rounds, kinds) = (rounds(&file).unwrap().1, kinds(&file).unwrap().1);
        let named = Named { premises: &premises, rounds: &rounds, kinds: &kinds };
        let quick = AsWritten::of(path, &file).unwrap().visits_and_finds.and_then(|mut tables| visits_and_finds(&mut tables, named));
        (quick, read_tables::through_sqlite(&file, named, &Unwatched).unwrap())
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn pages_and_sqlite_give_the_same_visits(survey in made_up::survey()) {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("s.gpkg");
            save(&survey, &path, &Unwatched).unwrap();
            let (quick, slow) = both_ways(&path);
            let (visits, keys, finds) = quick.unwrap();
            prop_assert_eq!((&visits, &finds), (&slow.0, &slow.2));
            prop_assert!(keys.same(&slow.1));
        }
    }

    #[test]
    fn a_table_with_another_column_is_left_to_sqlite() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.gpkg");
        save(&made_up::squares(12), &path, &Unwatched).unwrap();
        assert!(both_ways(&path).0.is_some());
        Connection::open(&path).unwrap().execute_batch("ALTER TABLE visits ADD COLUMN note TEXT").unwrap();
        assert!(both_ways(&path).0.is_none());
    }
}
