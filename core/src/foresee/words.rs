//! Why a yard has the chance it has, in words for a crew leader.

use crate::place::{Bounds, BoxIndex};
use crate::survey::{PremiseId, Standing, Survey};

/// Rings that positive yards are counted in, in metres: over the fence, over the street, the block.
const RINGS: [f64; 3] = [40.0, 80.0, 150.0];

/// What stands for and against larvae at a premise, in words: inspected yards near by, what the county's file says, and how the
/// visits of the round ended. `index` is the tree over the boxes of all outlines.
///
/// ```
/// use yardring_core::foresee::explain;
/// use yardring_core::place::{BoxIndex, Frame, LonLat};
/// use yardring_core::survey::{PremiseId, Standing, Survey};
/// use std::sync::Arc;
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
/// survey.premises.parcel_id = Arc::new(["1"].into_iter().collect());
/// survey.premises.year_built = Arc::new(vec![1952]);
/// let index = BoxIndex::new(survey.premises.outline.bounds());
/// let words = explain(&survey, &[Standing::default()], &index, PremiseId(0));
/// assert_eq!(words, "no outline, so no yards near by, built 1952, not visited");
/// ```
pub fn explain(survey: &Survey, standings: &[Standing], index: &BoxIndex, premise: PremiseId) -> String {
    let row = premise.row();
    let mut said = vec![nearby(survey, standings, index, row)];
    if let Some(year) = survey.premises.year_built.get(row).filter(|&&y| y > 0) {
        said.push(format!("built {year}"));
    }
    if !survey.premises.land_use.is_empty() && !survey.premises.land_use.get(row).is_empty() {
        said.push(format!("land use {}", survey.premises.land_use.get(row)));
    }
    said.push(visits(survey, standings, row));
    said.join(", ")
}

fn nearby(survey: &Survey, standings: &[Standing], index: &BoxIndex, row: usize) -> String {
    let bounds = survey.premises.outline.bounds();
    let Some(own) = bounds.get(row).filter(|b| !b.is_empty()).map(Bounds::centre) else {
        return "no outline, so no yards near by".to_owned();
    };
    let mut inspected: Vec<(f64, bool)> = Vec::new();
    index.each_touching(&Bounds::of(&[own]).grown(RINGS[2]), |i| {
        if i != row && standings[i].inspected() {
            inspected.push((bounds[i].centre().distance(own), standings[i].positive()));
        }
    });
    let near = |radius: f64| {
        let inside = inspected.iter().filter(|y| y.0 <= radius);
        inside.fold((0, 0), |(all, positive), y| (all + 1, positive + usize::from(y.1)))
    };
    let rings = RINGS.map(|r| (r, near(r)));
    let (radius, (inspected, positive)) = rings.into_iter().find(|(_, n)| n.1 > 0).unwrap_or(rings[2]);
    match (inspected, positive) {
        (0, _) => format!("no yard inspected within {radius:.0} m"),
        (1, 0) => format!("one yard inspected within {radius:.0} m and not positive"),
        (n, 0) => format!("none of {n} inspected yards within {radius:.0} m positive"),
        (n, p) => format!("{p} of {n} inspected yards within {radius:.0} m positive"),
    }
}

fn visits(survey: &Survey, standings: &[Standing], row: usize) -> String {
    let standing = &standings[row];
    if standing.source {
        return "larvae or pupae seen here from outside".to_owned();
    }
    match (standing.last, standing.attempts) {
        (None, _) | (_, 0) => "not visited".to_owned(),
        (Some(last), n) => {
            let last = survey.visits.get(last).outcome.word();
            let times = match n {
                1 => "once".to_owned(),
                2 => "twice".to_owned(),
                n => format!("{n} times"),
            };
            format!("tried {times}, last {last}")
        }
    }
}
