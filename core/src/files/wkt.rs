//! Coordinate systems as files name them.

use crate::place::Crs;

/// Words that a description of a coordinate system in well-known text begins with.
///
/// # Source
/// OGC 01-009 (WKT 1) and OGC 18-010r7 (WKT 2), from memory.
const BEGINNINGS: [&str; 14] = [
    "GEOGCS",
    "PROJCS",
    "COMPD_CS",
    "GEOCCS",
    "LOCAL_CS",
    "BOUNDCRS",
    "PROJCRS",
    "GEOGCRS",
    "GEODCRS",
    "COMPOUNDCRS",
    "PROJECTEDCRS",
    "GEOGRAPHICCRS",
    "GEODETICCRS",
    "ENGCRS",
];

/// The system that a text describes; when it describes none, a note says so.
pub(super) fn named(text: &str, where_from: &str, notes: &mut Vec<String>) -> Option<Crs> {
    let text = text.trim().trim_start_matches('\u{feff}').trim_matches('\0').trim();
    let upper: String = text.chars().take(16).collect::<String>().to_ascii_uppercase();
    if BEGINNINGS.iter().any(|b| upper.strip_prefix(b).is_some_and(|rest| rest.trim_start().starts_with(['[', '(']))) {
        return Some(Crs::Text(text.to_owned()));
    }
    if let Ok(crs) = Crs::from_code(text) {
        return Some(crs);
    }
    let begins: String = text.chars().take(30).collect();
    notes.push(format!("the {where_from} describes no known coordinate system (it begins '{begins}')"));
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_descriptions_and_codes_pass() {
        let mut notes = Vec::new();
        assert_eq!(named("epsg:2249", "x", &mut notes), Some(Crs::Epsg(2249)));
        let text = "PROJCS[\"Some_Plane\",GEOGCS[\"GCS\"]]";
        assert_eq!(named(text, "x", &mut notes), Some(Crs::Text(text.to_owned())));
        assert!(notes.is_empty());
        assert_eq!(named("garbage here", ".prj file", &mut notes), None);
        assert_eq!(notes, ["the .prj file describes no known coordinate system (it begins 'garbage here')"]);
    }
}
