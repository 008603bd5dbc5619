//! How much of the reach has been seen, and how much of it a day's work would close.

use super::gaps::Inside;
use super::ways::Ways;
use super::{Sources, Wanted};
use crate::job::{Cancelled, Watch};
use crate::survey::{PremiseId, Standing, Survey};
use rayon::prelude::*;

/// Doors that one person sees in a day of eight hours.
///
/// # Source
/// The national norm of Brazil, 20 to 25 premises for an agent and day (the project's scientific reference, section 11); their
/// middle. A programme's convention: learn your own.
pub const DOORS_A_DAY: f64 = 22.5;

/// How many premises one thread takes at a time.
const STRIDE: usize = 512;

/// Premises inside the reach, and how many of them were inspected in the round.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Covered {
    /// Premises inside the reach.
    pub inside: u64,
    /// How many of them were inspected.
    pub inspected: u64,
}

impl Covered {
    /// The share that was inspected, 0 to 1; `None` when no premise lies inside.
    ///
    /// ```
    /// use yardring_core::reach::Covered;
    /// let c = Covered { inside: 90, inspected: 45 };
    /// assert_eq!((c.share(), c.days_left(22.5), c.share_a_day(22.5)), (Some(0.5), 2.0, Some(0.25)));
    /// ```
    pub fn share(&self) -> Option<f64> {
        (self.inside > 0).then(|| self.inspected as f64 / self.inside as f64)
    }

    /// The share of the reach that a day with so many doors would close; never more than is left. `None` when no premise lies
    /// inside.
    pub fn share_a_day(&self, doors: f64) -> Option<f64> {
        (self.inside > 0).then(|| doors.min((self.inside - self.inspected) as f64) / self.inside as f64)
    }

    /// How many days with so many doors the rest takes.
    pub fn days_left(&self, doors: f64) -> f64 {
        (self.inside - self.inspected) as f64 / doors
    }
}

/// Counts the premises inside the reach. `gaps` is how many gaps there are in it, where somebody has looked for them already; they
/// are counted too otherwise.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub fn coverage(
    survey: &Survey,
    standings: &[Standing],
    sources: &Sources,
    wanted: &Wanted,
    gaps: Option<usize>,
    watch: &dyn Watch,
) -> Result<Covered, Cancelled> {
    watch.step("adding up the reach", 0, 0)?;
    if sources.is_empty() {
        return Ok(Covered::default());
    }
    let asked = |s: &Standing| s.inspected() || gaps.is_none();
    let rows = rows_inside(survey, standings, (sources, wanted), asked, watch)?;
    let inspected = rows.iter().filter(|p| standings[p.row()].inspected()).count() as u64;
    let unseen = rows.len() as u64 - inspected;
    Ok(Covered { inside: inspected + gaps.map_or(unseen, |n| n as u64), inspected })
}

/// The inspected premises inside the reach, in their order: those that [`Covered::inspected`] counts.
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub fn inspected_inside(
    survey: &Survey,
    standings: &[Standing],
    sources: &Sources,
    wanted: &Wanted,
    watch: &dyn Watch,
) -> Result<Vec<PremiseId>, Cancelled> {
    rows_inside(survey, standings, (sources, wanted), Standing::inspected, watch)
}

/// The premises inside the reach of those that are asked for, in their order.
fn rows_inside(
    survey: &Survey,
    standings: &[Standing],
    (sources, wanted): (&Sources, &Wanted),
    asked: impl Fn(&Standing) -> bool + Sync,
    watch: &dyn Watch,
) -> Result<Vec<PremiseId>, Cancelled> {
    let ways = Ways::laid(sources, wanted.radius, watch)?;
    let inside = Inside { survey, sources, ways: ways.as_ref(), radius: wanted.radius };
    let parts: Result<Vec<Vec<PremiseId>>, Cancelled> = standings
        .par_chunks(STRIDE)
        .enumerate()
        .map(|(chunk, part)| {
            if watch.cancelled() {
                return Err(Cancelled);
            }
            let rows = (chunk * STRIDE..).zip(part).filter(|(_, s)| asked(s)).map(|(row, _)| row);
            Ok(rows.filter(|row| inside.holds(*row)).map(|row| PremiseId(row as u32)).collect())
        })
        .collect();
    Ok(parts?.concat())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::place::distance;
    use crate::reach::made_up::neighbourhood;
    use crate::reach::{gaps, sources};
    use crate::survey::{RoundId, standings};
    use crate::units::Metres;

    #[test]
    fn agrees_with_a_look_at_every_pair() {
        let survey = neighbourhood(300, 21);
        let standings = standings(&survey, RoundId(0));
        let wanted = Wanted { radius: Metres(45.0), ..Wanted::default() };
        let sources = sources(&survey, &standings, &wanted);
        let found = gaps(&survey, &standings, &sources, &wanted, &Unwatched).unwrap();
        let covered = coverage(&survey, &standings, &sources, &wanted, Some(found.len()), &Unwatched).unwrap();
        assert_eq!(coverage(&survey, &standings, &sources, &wanted, None, &Unwatched).unwrap(), covered);
        let near = |row: usize| {
            let here = survey.premises.outline.get(row);
            !here.is_empty() && sources.shapes().iter().any(|s| distance(here, s) <= 45.0)
        };
        let slow: Vec<usize> = (0..300).filter(|&row| near(row)).collect();
        let inspected = slow.iter().filter(|&&row| standings[row].inspected()).count() as u64;
        assert_eq!(covered, Covered { inside: slow.len() as u64, inspected });
        assert!(inspected > 20 && covered.inside > inspected);
        let listed = inspected_inside(&survey, &standings, &sources, &wanted, &Unwatched).unwrap();
        assert!(listed.iter().map(|p| p.row()).eq(slow.into_iter().filter(|&row| standings[row].inspected())));
    }
}
