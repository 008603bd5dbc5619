//! Radii that programmes use, each with where it comes from, and the list that an office keeps for itself.

use crate::survey::{Survey, settings};
use crate::units::{LengthError, METRES_PER_MILE, METRES_PER_YARD, Metres};

/// What the radii are worth, for every screen that offers them.
pub const ONLY_CONVENTIONS: &str = "These are conventions of programmes, not biology: how far mosquitoes fly differs by kind, place \
                                    and weather, and no ring is safe.";

/// One radius to choose from.
#[derive(Clone, Debug, PartialEq)]
pub struct Radius {
    /// How far.
    pub radius: Metres,
    /// The same with the unit that it is round in: "150 yd".
    pub said: String,
    /// Who uses it, as a phrase.
    pub source: &'static str,
}

/// # Source
/// The project's scientific reference, section 4.2, where each is marked as read or as known from memory.
const USED: [(f64, &str, &str); 8] = [
    (100.0, "100 m", "North Queensland, source reduction by the specialist team; WHO, early emergency control (from memory)"),
    (150.0, "150 m", "Miami-Dade 2016, all properties round a case; Brazil, round the case's block"),
    (200.0, "200 m", "North Queensland, council larval control; France, door to door; Italy, one case"),
    (400.0, "400 m", "WHO, widest control round a focus (from memory)"),
    (150.0 * METRES_PER_YARD, "150 yd", "CDC interim guidance 2016, round a case (from memory)"),
    (500.0 * METRES_PER_YARD, "500 yd", "a Gulf state 2016, round an imported case"),
    (0.5 * METRES_PER_MILE, "0.5 mi", "CDC interim guidance 2016, a zone about one mile across"),
    (METRES_PER_MILE, "1 mi", "no programme read; for comparison"),
];

/// What is said of a radius that the office put into its list itself.
const OWN: &str = "the office's own";

impl Radius {
    /// A radius as somebody wrote it.
    ///
    /// # Errors
    /// [`LengthError`] when it is not a length.
    fn read(text: &str) -> Result<Self, LengthError> {
        let radius: Metres = text.parse()?;
        let known = USED.iter().find(|u| (u.0 - radius.0).abs() < 0.05);
        Ok(Self { radius, said: text.trim().to_owned(), source: known.map_or(OWN, |u| u.2) })
    }
}

/// The radii of a survey: the office's own list, or those that programmes use where it has none.
///
/// ```
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::reach::radii;
/// use yardring_core::survey::Survey;
/// let survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
/// let all = radii(&survey);
/// assert_eq!((all.len(), all[4].said.as_str(), all[4].radius.0), (8, "150 yd", 137.16));
/// ```
pub fn radii(survey: &Survey) -> Vec<Radius> {
    let own = survey.settings.get(settings::RADII).and_then(|text| read_radii(text).ok()).filter(|own| !own.is_empty());
    own.unwrap_or_else(|| USED.iter().map(|&(m, said, source)| Radius { radius: Metres(m), said: said.to_owned(), source }).collect())
}

/// A list of radii with commas between them, each with its unit: "100 m, 150 yd, 0.5 mi". Shortest first, none twice.
///
/// # Errors
/// [`LengthError`] of the first that is not a length.
pub fn read_radii(text: &str) -> Result<Vec<Radius>, LengthError> {
    let mut all: Vec<Radius> = text.split(',').filter(|t| !t.trim().is_empty()).map(Radius::read).collect::<Result<_, _>>()?;
    all.sort_by(|a, b| a.radius.0.total_cmp(&b.radius.0));
    all.dedup_by(|a, b| (a.radius.0 - b.radius.0).abs() < 0.05);
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use std::sync::Arc;

    #[test]
    fn an_office_keeps_its_own_list() {
        let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
        let put = |survey: &mut Survey, text: &str| {
            Arc::make_mut(&mut survey.settings).insert(settings::RADII.into(), text.into());
        };
        put(&mut survey, "200 yd, 150 m,, 492.126 ft");
        let all: Vec<(String, &str)> = radii(&survey).into_iter().map(|r| (r.said, r.source)).collect();
        assert_eq!(all.len(), 2, "150 m and 492.126 ft are the same");
        assert!(all[0].1.starts_with("Miami-Dade") && all[1] == ("200 yd".to_owned(), OWN));
        put(&mut survey, "far");
        assert_eq!(radii(&survey).len(), 8, "a list that cannot be read is none");
        assert_eq!(read_radii("100 m, far").unwrap_err().given, " far");
    }

    /// The list of section 4.2 of the project's scientific reference.
    #[test]
    fn the_usual_list_says_what_it_means() {
        for (metres, said, source) in USED {
            assert_eq!((said.parse::<Metres>().unwrap().0 * 1e6).round(), (metres * 1e6).round());
            assert!(!source.is_empty());
        }
    }
}
