//! Which coordinate system the numbers of a file are in: the file's own, or the one asked for.

use super::report::Account;
use super::{IntakeError, Role};
use crate::files::Table;
use crate::place::Crs;

/// What is known about the other files of the same call, for a suggestion.
pub(super) struct Neighbour {
    pub file: String,
    pub crs: Crs,
    pub extent: [[f64; 2]; 2],
}

/// The system of a file's numbers.
///
/// The file's own word counts. A system asked for serves files that name none; it overrules a file's own only where that file
/// is the only one with shapes in the call (`alone`), and that is told.
///
/// # Errors
/// [`IntakeError::NoCrs`] when nobody names one.
pub(super) fn choose(
    table: &Table,
    asked: Option<&Crs>,
    alone: bool,
    neighbours: &[Neighbour],
    account: &mut Account,
) -> Result<Crs, IntakeError> {
    let chosen = match (&table.crs, asked) {
        (None, Some(asked)) => {
            account.notice(format!("The file names no coordinate system; its numbers were read in {asked}, as asked"));
            asked.clone()
        }
        (Some(own), Some(asked)) if own != asked && alone => {
            account.notice(format!("The file says that its numbers are in {own}; they were read in {asked}, as asked"));
            asked.clone()
        }
        (Some(own), Some(asked)) if own != asked => {
            account.notice(format!("Its numbers were read in {own}, which the file names, not in {asked}"));
            own.clone()
        }
        (Some(own), _) => own.clone(),
        (None, None) => return Err(missing(table, neighbours)),
    };
    account.report.crs = Some(chosen.to_string());
    Ok(chosen)
}

fn missing(table: &Table, neighbours: &[Neighbour]) -> IntakeError {
    let extent = table.shapes.extent().unwrap_or([[0.0; 2]; 2]);
    let pair = |p: [f64; 2]| format!("{:.6}, {:.6}", p[0], p[1]).replace(".000000", "");
    IntakeError::NoCrs { file: table.name.clone(), from: pair(extent[0]), to: pair(extent[1]), suggestion: suggestion(extent, neighbours) }
}

fn suggestion(extent: [[f64; 2]; 2], neighbours: &[Neighbour]) -> String {
    if let Some(near) = neighbours.iter().find(|n| overlap(n.extent, extent)) {
        return format!("They lie over those of {}: try --crs {}", near.file, code(&near.crs));
    }
    let within = |x: f64, y: f64| extent.iter().all(|p| p[0].abs() <= x && p[1].abs() <= y);
    if within(180.0, 90.0) {
        return "They look like degrees: try --crs EPSG:4326".to_owned();
    }
    if within(20_037_509.0, 20_048_967.0) && extent[0][0].abs() > 2_000_000.0 && extent[0][1].abs() > 2_000_000.0 {
        return "Ask whoever made the file; numbers of this size are often web map metres (--crs EPSG:3857) or State Plane feet".to_owned();
    }
    "They are metres or feet of some local system: ask whoever made the file and give its number, as --crs EPSG:2248".to_owned()
}

fn code(crs: &Crs) -> String {
    match crs {
        Crs::Wgs84 | Crs::Epsg(_) => crs.to_string(),
        Crs::Text(_) => format!("with the EPSG number of {crs}"),
    }
}

fn overlap(a: [[f64; 2]; 2], b: [[f64; 2]; 2]) -> bool {
    (0..2).all(|k| a[0][k] <= b[1][k] && b[0][k] <= a[1][k])
}

/// The neighbour that a table is to others.
pub(super) fn neighbour(table: &Table, role: Role) -> Option<Neighbour> {
    let crs = table.crs.clone()?;
    let extent = table.shapes.extent()?;
    Some(Neighbour { file: format!("the {role} in {}", table.name), crs, extent })
}

#[cfg(test)]
mod tests {
    use super::super::samples::{lot, table, with_rings};
    use super::*;

    fn asked_for(own: Option<Crs>, asked: Option<Crs>, alone: bool) -> (Result<Crs, IntakeError>, usize) {
        let mut t = with_rings(table("lots", &["A"], &[&["1"]]), &[lot(0, 0)]);
        t.crs = own;
        let mut account = Account::new("lots.shp", &t, Role::Parcels, &[]);
        let chosen = choose(&t, asked.as_ref(), alone, &[], &mut account);
        account.close();
        (chosen, account.report.findings.len())
    }

    #[test]
    fn nothing_is_overruled_in_silence() {
        let feet = Some(Crs::Epsg(2248));
        assert_eq!((asked_for(feet.clone(), None, true).0.unwrap(), asked_for(feet.clone(), None, true).1), (Crs::Epsg(2248), 0));
        let (c, told) = asked_for(feet.clone(), Some(Crs::Wgs84), true);
        assert_eq!((c.unwrap(), told), (Crs::Wgs84, 1));
        let (c, told) = asked_for(feet, Some(Crs::Wgs84), false);
        assert_eq!((c.unwrap(), told), (Crs::Epsg(2248), 1));
        let (c, told) = asked_for(None, Some(Crs::Epsg(2249)), false);
        assert_eq!((c.unwrap(), told), (Crs::Epsg(2249), 1));
    }

    #[test]
    fn a_missing_system_is_asked_for_with_what_the_numbers_look_like() {
        use crate::error::Hint as _;
        let error = asked_for(None, None, true).0.unwrap_err();
        assert!(error.hint().contains("EPSG:4326"), "{}", error.hint());
        let near = Neighbour { file: "the blocks in b".to_owned(), crs: Crs::Epsg(2248), extent: [[1e6, 1e6], [2e6, 2e6]] };
        assert!(suggestion([[1.4e6, 1.5e6], [1.41e6, 1.51e6]], &[near]).contains("EPSG:2248"));
        assert!(suggestion([[1.4e6, 0.5e6], [1.41e6, 0.51e6]], &[]).contains("ask whoever made the file"));
    }
}
