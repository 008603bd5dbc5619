//! What a look finds doubtful about a file before any of it comes in: where its own coordinate system puts it, ids that repeat,
//! temperatures that are hardly believable.

use super::ground::Extent;
use super::report::Account;
use super::text_index::TextIndex;
use super::whereabouts::{Misplaced, misplaced};
use super::{ColumnMap, Match, Role, temperatures};
use crate::files::Table;
use crate::survey::Strings;
use std::collections::BTreeMap;

/// The doubts about a layer, in sentences without their full stops; some hold for rows of one kind only.
#[derive(Debug, Default)]
pub(super) struct Doubts {
    of_any: Option<String>,
    of_role: BTreeMap<Role, Vec<String>>,
}

impl Doubts {
    pub(super) fn of(table: &Table, extent: Option<Extent>) -> Self {
        let of_role = [(Role::Parcels, repeated_ids(table)), (Role::Temperatures, weather(table))];
        Self { of_any: extent.and_then(|extent| place(table, extent)), of_role: of_role.into_iter().collect() }
    }

    /// Those about rows that are probably of some kind.
    pub(super) fn about(self, role: Option<Role>) -> impl Iterator<Item = String> {
        let Self { of_any, mut of_role } = self;
        of_any.into_iter().chain(role.and_then(|role| of_role.remove(&role)).into_iter().flatten())
    }
}

fn place(table: &Table, extent: Extent) -> Option<String> {
    let crs = table.crs.as_ref()?;
    let Misplaced { lies, suggestion } = misplaced(extent, crs, &[]).ok()??;
    Some(format!("In the coordinate system that it names, {crs}, it lies {lies}. {}", suggestion.why))
}

fn repeated_ids(table: &Table) -> Vec<String> {
    let column = Match::of(table, Role::Parcels, &ColumnMap::default()).ok().and_then(|m| m.column("parcel_id"));
    let Some(column) = column.filter(|_| table.has_shapes()) else { return Vec::new() };
    let ids = Strings::side_by_side(table.rows, |row, _, ids| ids.push(&table.cell(row, column)));
    let repeats = TextIndex::new(&ids).repeats();
    let name = &table.columns[column];
    match repeats {
        0 => Vec::new(),
        1 => vec![format!("1 row has the {name} of an earlier row")],
        n => vec![format!("{n} rows have the {name} of an earlier row")],
    }
}

/// What bringing its days in would tell. Where the district lies, and so when its winter is, is not known here.
fn weather(table: &Table) -> Vec<String> {
    let Ok(matched) = Match::of(table, Role::Temperatures, &ColumnMap::default()) else { return Vec::new() };
    let has = |meanings: &[&str]| meanings.iter().any(|m| matched.column(m).is_some());
    if table.has_shapes() || !has(&["date"]) || !has(&["mean_c", "max_c", "mean_f", "max_f"]) {
        return Vec::new();
    }
    let mut account = Account::new(&table.name, table, Role::Temperatures, matched.uses());
    let brought = temperatures::bring((&[], 0.0), table, &matched, None, &mut account);
    account.close();
    let known = |sentence: &String| !table.notes.contains(sentence);
    let findings = account.report.findings.into_iter().map(|finding| finding.sentence).filter(known);
    findings.chain(brought.err().map(|error| error.to_string())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::samples::{lot, table, with_rings};
    use super::*;
    use crate::place::Crs;

    #[test]
    fn ids_that_repeat_and_places_out_of_reach_are_told() {
        let mut lots = with_rings(table("lots", &["PIN"], &[&["A"], &["B"], &["A"]]), &[lot(0, 0), lot(1, 0), lot(2, 0)]);
        lots.crs = Some(Crs::Epsg(2248));
        let extent = super::super::ground::main_extent(&lots.shapes);
        let told: Vec<String> = Doubts::of(&lots, extent).about(Some(Role::Parcels)).collect();
        assert!(told[0].contains("EPSG:2248 is not meant for") && told[0].ends_with("Its numbers look like degrees"), "{told:?}");
        assert_eq!(told[1..], ["1 row has the PIN of an earlier row"]);
        assert_eq!(Doubts::of(&lots, extent).about(Some(Role::Blocks)).count(), 1);
    }

    #[test]
    fn a_day_far_from_its_neighbours_is_told() {
        let days: Vec<[String; 2]> =
            (1..=20).map(|d| [format!("2025-07-{d:02}"), if d == 9 { "-40" } else { "27.5" }.to_owned()]).collect();
        let rows: Vec<Vec<&str>> = days.iter().map(|d| vec![d[0].as_str(), d[1].as_str()]).collect();
        let rows: Vec<&[&str]> = rows.iter().map(Vec::as_slice).collect();
        let told: Vec<String> = Doubts::of(&table("weather", &["date", "mean_c"], &rows), None).about(Some(Role::Temperatures)).collect();
        assert!(told.iter().any(|s| s.contains("On 2025-07-09 the mean is -40.0 °C")), "{told:?}");
    }
}
