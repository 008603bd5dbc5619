//! Which coordinate system the numbers of a file are in: the file's own, or the one asked for.

use super::IntakeError;
use super::ground::{Extent, main_extent};
use super::report::Account;
use super::whereabouts::{Known, Misplaced, misplaced, suggest};
use crate::files::Table;
use crate::place::{Crs, register_number};

/// The system of a file's numbers, and whether it is the file's own word that nobody has confirmed.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Chosen {
    pub crs: Crs,
    pub unconfirmed: bool,
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
    known: &[Known],
    account: &mut Account,
) -> Result<Chosen, IntakeError> {
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
        (None, None) => return Err(missing(table, known)),
    };
    account.report.crs = Some(chosen.to_string());
    Ok(Chosen { unconfirmed: asked != Some(&chosen), crs: chosen })
}

/// Says that a file lies where it cannot be: as an error while nobody has confirmed its system, or else as a finding.
pub(super) fn check_place(
    file: &str,
    extent: Option<Extent>,
    chosen: &Chosen,
    (known, account): (&[Known], &mut Account),
) -> Result<(), IntakeError> {
    let broken = |error| IntakeError::Crs { file: file.to_owned(), error };
    let Some(extent) = extent else { return Ok(()) };
    let Some(Misplaced { lies, suggestion }) = misplaced(extent, &chosen.crs, known).map_err(broken)? else { return Ok(()) };
    if chosen.unconfirmed {
        let (file, crs) = (file.to_owned(), chosen.crs.to_string());
        let own = register_number(&chosen.crs).map(|number| format!("EPSG:{number}"));
        return Err(IntakeError::Misplaced { file, crs, own, lies, suggestion: Box::new(suggestion) });
    }
    account.notice(format!("Read in {}, the file lies {lies}", chosen.crs));
    Ok(())
}

fn missing(table: &Table, known: &[Known]) -> IntakeError {
    let extent = table.shapes.extent().unwrap_or([[0.0; 2]; 2]);
    let pair = |p: [f64; 2]| format!("{:.6}, {:.6}", p[0], p[1]).replace(".000000", "");
    let suggestion = Box::new(suggest(main_extent(&table.shapes).unwrap_or(extent), known));
    IntakeError::NoCrs { file: table.name.clone(), from: pair(extent[0]), to: pair(extent[1]), suggestion }
}

#[cfg(test)]
mod tests {
    use super::super::Role;
    use super::super::samples::{lot, table, with_rings};
    use super::*;

    fn asked_for(own: Option<Crs>, asked: Option<Crs>, alone: bool) -> (Result<Crs, IntakeError>, usize) {
        let mut t = with_rings(table("lots", &["A"], &[&["1"]]), &[lot(0, 0)]);
        t.crs = own;
        let mut account = Account::new("lots.shp", &t, Role::Parcels, &[]);
        let chosen = choose(&t, asked.as_ref(), alone, &[], &mut account);
        account.close();
        (chosen.map(|c| c.crs), account.report.findings.len())
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
        assert!(error.to_string().contains("names no coordinate system; its numbers run from -90, 30 to -89.999750"), "{error}");
    }

    #[test]
    fn a_misplaced_file_is_an_error_until_somebody_insists() {
        let known = |lon| {
            let at = crate::place::LonLat { lon, lat: 30.0 };
            Known {
                what: "the streets in s.shp".to_owned(),
                numbers: None,
                spread: super::super::whereabouts::Spread { least: at, most: at },
            }
        };
        let t = with_rings(table("lots", &["A"], &[&["1"]]), &[lot(0, 0)]);
        let extent = main_extent(&t.shapes);
        let mut account = Account::new("lots.shp", &t, Role::Parcels, &[]);
        let own = choose(&t, None, true, &[], &mut account).unwrap();
        assert!(check_place("lots.shp", extent, &own, (&[known(-90.2)], &mut account)).is_ok());
        let error = check_place("lots.shp", extent, &own, (&[known(-100.0)], &mut account)).unwrap_err().to_string();
        assert!(error.contains("km from the streets in s.shp"), "{error}");
        let insisted = choose(&t, Some(&Crs::Wgs84), true, &[], &mut account).unwrap();
        assert!(check_place("lots.shp", extent, &insisted, (&[known(-100.0)], &mut account)).is_ok());
        account.close();
        assert_eq!(account.report.findings.len(), 1);
    }
}
