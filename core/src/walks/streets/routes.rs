//! How long it takes from spot to spot, and which way it goes.

use super::corners::Wanted;
use super::cuts::between;
use super::{Spot, StreetNetwork, kerbs};
use crate::job::{Cancelled, Watch};
use crate::place::Local;
use crate::survey::StreetClass;
use rayon::prelude::*;

/// The way from one spot to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    /// Metres walked along streets and off them; crossings count nothing.
    pub metres: f64,
    /// Seconds with crossings; infinite where no way leads.
    pub seconds: f64,
    /// The line that is walked: along centrelines, and where a barrier lies in the street along its sides.
    pub line: Vec<Local>,
}

/// The end of a spot's side by which it is reached.
struct End {
    seconds: f64,
    corner: u32,
    last: bool,
}

impl StreetNetwork {
    /// Seconds from every spot to every other, in rows; infinite where barriers leave no way.
    ///
    /// # Errors
    /// [`Cancelled`] when the watch asks to stop.
    pub fn travel(&self, spots: &[Spot], watch: &dyn Watch) -> Result<Vec<Vec<f64>>, Cancelled> {
        watch.step("walking the streets", 0, 0)?;
        let wanted = self.wanted(spots);
        let row = |seconds: &mut Vec<f64>, from: &Spot| {
            if watch.cancelled() {
                return Err(Cancelled);
            }
            self.corners.spread(&self.starts(from), &wanted, seconds, |_, _| ());
            Ok(spots.iter().map(|to| self.seconds(from, to, seconds)).collect())
        };
        spots.par_iter().map_init(Vec::new, row).collect()
    }

    /// The way from one spot to another.
    pub fn route(&self, from: &Spot, to: &Spot) -> Route {
        let wanted = self.wanted(std::slice::from_ref(to));
        let (mut seconds, mut through) = (Vec::new(), vec![u32::MAX; self.corners.len()]);
        self.corners.spread(&self.starts(from), &wanted, &mut seconds, |corner, way| through[corner as usize] = way);
        let total = self.seconds(from, to, &seconds);
        let mut line = vec![from.place, from.line];
        let along = match (self.by_corners(from, to, &seconds), self.straight_on(from, to)) {
            (Some(end), direct) if direct.is_none_or(|direct| end.seconds < direct) => self.lay(from, to, &end, &through, &mut line),
            (_, Some(_)) => self.lay_direct(from, to, &mut line),
            _ => from.line.distance(to.line) * self.walking.detour,
        };
        line.extend([to.line, to.place]);
        line.dedup();
        let metres = along + (from.off + to.off) * self.walking.detour;
        Route { metres: if from == to { 0.0 } else { metres }, seconds: total, line }
    }

    fn wanted(&self, spots: &[Spot]) -> Wanted {
        let corners = spots.iter().filter_map(|s| s.on).flat_map(|(stretch, left, _)| self.corners.of_side(stretch as usize, left));
        Wanted::new(self.corners.len(), corners)
    }

    /// The corners at both ends of a spot's side, with the seconds to each; infinite where a barrier stands before it.
    fn starts(&self, spot: &Spot) -> Vec<(u32, f64)> {
        let Some((stretch, left, along)) = spot.on else { return Vec::new() };
        let length = self.stretches[stretch as usize].length;
        let [first, last] = self.corners.of_side(stretch as usize, left);
        let seconds = |metres: f64, end: f64| {
            let open = self.corners.kerbs.open(stretch as usize, left, along, end);
            if open { metres / self.walking.speed } else { f64::INFINITY }
        };
        vec![(first, seconds(along, f64::NEG_INFINITY)), (last, seconds(length - along, f64::INFINITY))]
    }

    /// Seconds for what is walked off the streets at both ends.
    fn off(&self, from: &Spot, to: &Spot) -> f64 {
        (from.off + to.off) * self.walking.detour / self.walking.speed
    }

    /// Seconds from a spot to another when those to all corners are known.
    fn seconds(&self, from: &Spot, to: &Spot, corners: &[f64]) -> f64 {
        if from.on.is_none() || to.on.is_none() {
            return from.place.distance(to.place) * self.walking.detour / self.walking.speed;
        }
        let by_corners = self.by_corners(from, to, corners).map_or(f64::INFINITY, |end| end.seconds);
        let least = self.straight_on(from, to).map_or(by_corners, |direct| direct.min(by_corners));
        least + if from == to { 0.0 } else { self.off(from, to) }
    }

    /// The better of the two ends of the other spot's side, when those seconds lead to the corners.
    fn by_corners(&self, from: &Spot, to: &Spot, corners: &[f64]) -> Option<End> {
        from.on?;
        let ends = self.starts(to).into_iter().zip([false, true]);
        let ends = ends.map(|((corner, rest), last)| End { seconds: corners[corner as usize] + rest, corner, last });
        ends.filter(|end| end.seconds.is_finite()).min_by(|a, b| a.seconds.total_cmp(&b.seconds))
    }

    /// Seconds along one and the same stretch; `None` where that is not one way.
    fn straight_on(&self, from: &Spot, to: &Spot) -> Option<f64> {
        let ((stretch, left, a), (other, to_left, b)) = (from.on?, to.on?);
        let of = &self.stretches[stretch as usize];
        let crossed = || left == to_left || self.crossed_anywhere(stretch as usize);
        if stretch != other || !crossed() || !self.corners.kerbs.open(stretch as usize, left, a, b) {
            return None;
        }
        let across = if left == to_left { 0.0 } else { self.walking.cross(of.class)? };
        Some((a - b).abs() / self.walking.speed + across)
    }

    /// Whether people cross a stretch between its junctions: where they cross a minor street or a path, and no barrier is near.
    fn crossed_anywhere(&self, stretch: usize) -> bool {
        matches!(self.stretches[stretch].class, StreetClass::Minor | StreetClass::Path) && !self.corners.kerbs.touches(stretch)
    }

    /// Lays the line along the one stretch that both spots are on; gives its metres.
    fn lay_direct(&self, from: &Spot, to: &Spot, line: &mut Vec<Local>) -> f64 {
        match (from.on, to.on) {
            (Some((stretch, left, a)), Some((_, _, b))) => self.lay_part(stretch as usize, left, (a, b), line),
            _ => 0.0,
        }
    }

    /// Lays the line by the corners, found backwards from the other spot; gives its metres.
    fn lay(&self, from: &Spot, to: &Spot, end: &End, through: &[u32], line: &mut Vec<Local>) -> f64 {
        let (mut corner, mut walked) = (end.corner, Vec::new());
        while through[corner as usize] != u32::MAX {
            let (before, way) = self.corners.way(through[corner as usize]);
            walked.push((way.walked, [before, corner]));
            corner = before;
        }
        let mut metres = 0.0;
        let end_of = |stretch: u32, last: bool| if last { self.stretches[stretch as usize].length } else { 0.0 };
        if let Some((stretch, left, along)) = from.on {
            let left_by = self.starts(from).into_iter().zip([false, true]).filter(|((c, _), _)| *c == corner);
            let last = left_by.min_by(|a, b| a.0.1.total_cmp(&b.0.1)).is_some_and(|(_, last)| last);
            metres += self.lay_part(stretch as usize, left, (along, end_of(stretch, last)), line);
        }
        for &(way, [before, after]) in walked.iter().rev().filter(|w| w.0 != 0) {
            let stretch = way.unsigned_abs() - 1;
            let left = self.on_left(stretch as usize, if way < 0 { [after, before] } else { [before, after] });
            metres += self.lay_part(stretch as usize, left, (end_of(stretch, way < 0), end_of(stretch, way > 0)), line);
        }
        if let Some((stretch, left, along)) = to.on {
            metres += self.lay_part(stretch as usize, left, (end_of(stretch, end.last), along), line);
        }
        metres
    }

    /// Whether somebody who walks from the one corner of a stretch to the other walks on its left: at a dead end both sides begin at the same
    /// corner, and where both are dead the open one is walked.
    fn on_left(&self, stretch: usize, corners: [u32; 2]) -> bool {
        let leads = |left: bool| self.corners.of_side(stretch, left) == corners;
        let open = || self.corners.kerbs.open(stretch, true, f64::NEG_INFINITY, f64::INFINITY);
        leads(true) && (!leads(false) || open())
    }

    /// Adds the places of a stretch between two of its metres, in the direction from the first to the second; gives how far
    /// apart these are. Where a barrier lies in the street, the places of the side that is walked.
    fn lay_part(&self, stretch: usize, left: bool, (a, b): (f64, f64), line: &mut Vec<Local>) -> f64 {
        let (low, high) = (a.min(b), a.max(b));
        let mut part = if self.corners.kerbs.touches(stretch) {
            let path = self.side(stretch, left);
            let inner = path.iter().filter(|p| p.0 > low && p.0 < high).map(|p| p.1);
            [kerbs::at(&path, low)].into_iter().chain(inner).chain([kerbs::at(&path, high)]).collect()
        } else {
            self.centre(stretch, low, high)
        };
        if a > b {
            part.reverse();
        }
        line.extend(part);
        high - low
    }

    /// The line that people walk on a side of a stretch.
    pub(super) fn side(&self, stretch: usize, left: bool) -> Vec<(f64, Local)> {
        let corners = self.corners.of_side(stretch, left);
        self.corners.kerbs.path(self.places_of(stretch), self.stretches[stretch].length, corners, left)
    }

    /// The centreline of a stretch between two of its metres.
    fn centre(&self, stretch: usize, low: f64, high: f64) -> Vec<Local> {
        let (mut before, mut part) = (0.0, Vec::new());
        for w in self.places_of(stretch).windows(2) {
            let length = w[0].distance(w[1]);
            let share = |metres: f64| if length > 0.0 { ((metres - before) / length).clamp(0.0, 1.0) } else { 0.0 };
            if before + length >= low && before <= high {
                part.extend([between(w[0], w[1], share(low)), between(w[0], w[1], share(high))]);
            }
            before += length;
        }
        part
    }
}
