//! The map on a sheet: streets with their names, lots, the walk's line, and every door with its number.

use super::super::ink::{self, Rgb};
use super::super::paint::lettering::{Hand, Weight};
use super::press::{At, Leaf, Line};
use super::streets;
use crate::place::{Bounds, Local, Shapes, inside};
use crate::survey::Survey;
use crate::walks::{CrewWalk, Day};

/// Paper as the printer has it.
pub const WHITE: Rgb = Rgb(0xFF, 0xFF, 0xFF);
/// The ground of a door's lot: a grey that pens and copies still show.
const LOT: Rgb = Rgb(0xDD, 0xDD, 0xDD);
/// Edges of other lots.
const HAIR: Rgb = Rgb(0xC4, 0xC4, 0xC4);
/// Edges of streets.
const KERB: Rgb = Rgb(0x90, 0x90, 0x90);
/// Metres of ground round a walk.
const ROUND: f64 = 30.0;
/// The least ground that is shown, in metres across.
const LEAST: f64 = 160.0;
/// Lots smaller than this on paper are left out, in points.
const LEAST_LOT: f64 = 3.0;
/// Radius of a door's number.
const DISC: f32 = 7.2;

/// Some ground in a box on a page, north up.
#[derive(Clone, Copy, Debug)]
pub struct Plat {
    /// Left, top, width and height in points.
    pub frame: (f32, f32, f32, f32),
    /// Points in a metre.
    pub scale: f64,
    centre: Local,
}

impl Plat {
    /// The ground of a walk, as large as it goes in a box.
    pub fn of(survey: &Survey, planned: &Day, walk: &CrewWalk, frame: (f32, f32, f32, f32)) -> Self {
        let lots = walk.doors.iter().map(|d| survey.premises.outline.bounds()[d.premise.row()]);
        let stands: Vec<Local> = walk.doors.iter().map(|d| d.at).chain([planned.meeting_point]).collect();
        let all = lots.fold(Bounds::of(&walk.path).union(Bounds::of(&stands)), Bounds::union).grown(ROUND);
        let across = |metres: f64, points: f32| f64::from(points) / metres.max(LEAST);
        let scale = across(all.width(), frame.2).min(across(all.height(), frame.3));
        Self { frame, scale, centre: all.centre() }
    }

    /// A place in points.
    pub fn at(&self, p: Local) -> At {
        let (x, y, w, h) = self.frame;
        (x + w / 2.0 + ((p.x - self.centre.x) * self.scale) as f32, y + h / 2.0 - ((p.y - self.centre.y) * self.scale) as f32)
    }

    /// The ground inside the box.
    pub fn ground(&self) -> Bounds {
        let (half_w, half_h) = (f64::from(self.frame.2) / 2.0 / self.scale, f64::from(self.frame.3) / 2.0 / self.scale);
        let c = self.centre;
        Bounds { min: Local { x: c.x - half_w, y: c.y - half_h }, max: Local { x: c.x + half_w, y: c.y + half_h } }
    }
}

/// Draws the map of a walk.
pub fn draw(leaf: &mut Leaf<'_, '_>, survey: &Survey, planned: &Day, walk: &CrewWalk, plat: &Plat) {
    let marks = marks(survey, walk, plat);
    leaf.frame(plat.frame, Some(WHITE), None);
    leaf.within(plat.frame, |leaf| {
        lots(leaf, survey, walk, plat);
        roads(leaf, survey, plat);
        way(leaf, walk, plat);
        let signs: Vec<At> = marks.iter().map(|m| m.disc).chain([plat.at(planned.meeting_point)]).collect();
        streets::names(leaf, &survey.streets, plat, &signs, &along(walk, plat));
        meeting_point(leaf, plat.at(planned.meeting_point), plat);
        numbers(leaf, walk, &marks);
    });
    leaf.frame(plat.frame, None, Some(Line(ink::INK, 0.8)));
}

/// Lots as hair lines, those of the walk's doors filled.
fn lots(leaf: &mut Leaf<'_, '_>, survey: &Survey, walk: &CrewWalk, plat: &Plat) {
    let (outlines, ground) = (&survey.premises.outline, plat.ground());
    let large = |b: &Bounds| b.width().max(b.height()) * plat.scale >= LEAST_LOT;
    for row in (0..outlines.len()).filter(|&r| large(&outlines.bounds()[r]) && outlines.bounds()[r].touches(&ground)) {
        leaf.shape(&rings(outlines, row, plat), None, Some(Line(HAIR, 0.4)));
    }
    for door in &walk.doors {
        leaf.shape(&rings(outlines, door.premise.row(), plat), Some(LOT), Some(Line(ink::INK, 0.8)));
    }
}

fn rings(outlines: &Shapes, row: usize, plat: &Plat) -> Vec<Vec<At>> {
    outlines.get(row).rings().map(|ring| ring.iter().map(|&p| plat.at(p)).collect()).collect()
}

/// Streets as white bands between grey kerbs.
fn roads(leaf: &mut Leaf<'_, '_>, survey: &Survey, plat: &Plat) {
    let (lines, ground) = (&survey.streets.line, plat.ground());
    let wide = ((7.0 * plat.scale) as f32).clamp(3.0, 12.0);
    let seen: Vec<Vec<At>> = (0..lines.len())
        .filter(|&i| !lines.bounds()[i].is_empty() && lines.bounds()[i].touches(&ground))
        .flat_map(|i| lines.get(i).rings())
        .map(|run| run.iter().map(|&p| plat.at(p)).collect())
        .collect();
    for line in [Line(KERB, wide + 1.6), Line(WHITE, wide)] {
        seen.iter().for_each(|run| leaf.line(run, line));
    }
}

/// The walk's line with an arrow now and then.
fn way(leaf: &mut Leaf<'_, '_>, walk: &CrewWalk, plat: &Plat) {
    let path: Vec<At> = walk.path.iter().map(|&p| plat.at(p)).collect();
    leaf.line(&path, Line(WHITE, 4.0));
    leaf.line(&path, Line(ink::INK, 1.6));
    let (apart, mut since) = (90.0f32, 45.0f32);
    for pair in path.windows(2) {
        let ((ax, ay), (bx, by)) = (pair[0], pair[1]);
        let long = (bx - ax).hypot(by - ay);
        let mut next = apart - since;
        while next <= long && long > 0.0 {
            let (ux, uy) = ((bx - ax) / long, (by - ay) / long);
            arrow(leaf, (ax + ux * next, ay + uy * next), (ux, uy));
            next += apart;
        }
        since = (since + long) % apart;
    }
}

/// Places along the walk's line, near enough that no name fits between two.
fn along(walk: &CrewWalk, plat: &Plat) -> Vec<At> {
    let path: Vec<At> = walk.path.iter().map(|&p| plat.at(p)).collect();
    let between = |pair: &[At]| {
        let ((ax, ay), (bx, by)) = (pair[0], pair[1]);
        let steps = (((bx - ax).hypot(by - ay) / 12.0).ceil() as usize).max(1);
        (0..=steps).map(move |k| k as f32 / steps as f32).map(move |t| (ax + (bx - ax) * t, ay + (by - ay) * t)).collect::<Vec<_>>()
    };
    path.windows(2).flat_map(between).collect()
}

/// An arrow's head at a place, pointing along a direction of length 1.
fn arrow(leaf: &mut Leaf<'_, '_>, (x, y): At, (ux, uy): At) {
    let corner = |along: f32, aside: f32| (x + ux * along - uy * aside, y + uy * along + ux * aside);
    leaf.shape(&[vec![corner(5.0, 0.0), corner(-3.5, 3.6), corner(-3.5, -3.6)]], Some(ink::INK), Some(Line(WHITE, 0.7)));
}

fn meeting_point(leaf: &mut Leaf<'_, '_>, (x, y): At, plat: &Plat) {
    let point = [(0.0, -10.0), (9.0, 6.5), (-9.0, 6.5)].map(|(dx, dy)| (x + dx, y + dy)).to_vec();
    leaf.shape(&[point], Some(ink::INK), Some(Line(WHITE, 1.4)));
    let hand = Hand { weight: Weight::Semibold, size: 8.5, ink: ink::INK };
    let (left, top, wide, high) = plat.frame;
    let half = leaf.width("Meet here", hand) / 2.0 + 4.0;
    // At the lower edge the words stand above the sign.
    let below = if y + 22.0 > top + high { -17.0 } else { 14.0 };
    leaf.write_round("Meet here", (x.clamp(left + half, left + wide - half), y + below), 0.0, hand, WHITE);
}

/// Where a door's number stands, and the place that it belongs to.
#[derive(Clone, Copy, Debug)]
struct NumberMark {
    disc: At,
    lot: At,
}

/// Numbers inside their lots; one that would lie on another steps aside.
fn marks(survey: &Survey, walk: &CrewWalk, plat: &Plat) -> Vec<NumberMark> {
    let mut out: Vec<NumberMark> = Vec::new();
    for door in &walk.doors {
        let place = inside(survey.premises.outline.get(door.premise.row())).unwrap_or(door.at);
        let lot = plat.at(place);
        let free = |at: &At| out.iter().all(|m| (m.disc.0 - at.0).hypot(m.disc.1 - at.1) >= 2.0 * DISC + 0.5);
        let aside = (1..=6).flat_map(|ring| {
            let radius = 5.0 * ring as f32;
            (0..12).map(move |k| (k as f32 * 30.0).to_radians()).map(move |a| (radius * a.cos(), radius * a.sin()))
        });
        let disc = std::iter::once((0.0, 0.0)).chain(aside).map(|(dx, dy)| (lot.0 + dx, lot.1 + dy)).find(free).unwrap_or(lot);
        out.push(NumberMark { disc, lot });
    }
    out
}

/// A disc for every door: filled where it cannot wait, hollow elsewhere.
fn numbers(leaf: &mut Leaf<'_, '_>, walk: &CrewWalk, marks: &[NumberMark]) {
    for (number, (door, mark)) in walk.doors.iter().zip(marks).enumerate() {
        if mark.disc != mark.lot {
            leaf.line(&[mark.lot, mark.disc], Line(ink::INK, 0.6));
        }
        number_disc(leaf, number + 1, door.must, mark.disc, DISC);
    }
}

/// A door's number in its disc.
pub fn number_disc(leaf: &mut Leaf<'_, '_>, number: usize, must: bool, at: At, radius: f32) {
    let (ground, figure) = if must { (ink::INK, WHITE) } else { (WHITE, ink::INK) };
    leaf.disc(at, radius, ground, Line(ink::INK, 1.0));
    let size = radius * if number > 99 { 0.95 } else { 1.2 };
    let hand = Hand { weight: Weight::Semibold, size, ink: figure };
    let text = number.to_string();
    let wide = leaf.width(&text, hand);
    leaf.write(&text, (at.0 - wide / 2.0, at.1 + size * 0.36), hand);
}

#[cfg(test)]
mod tests {
    use super::super::made_up;
    use super::*;

    #[test]
    fn the_whole_walk_is_on_the_map_and_no_number_hides_another() {
        let (survey, day) = made_up::day();
        for frame in [(36.0, 100.0, 520.0, 400.0), (36.0, 100.0, 540.0, 200.0), (0.0, 0.0, 100.0, 300.0)] {
            let plat = Plat::of(&survey, &day, &day.walks[0], frame);
            let ground = plat.ground();
            assert!(day.walks[0].path.iter().all(|&p| ground.holds(p)));
            let marks = marks(&survey, &day.walks[0], &plat);
            assert_eq!(marks.len(), day.walks[0].doors.len());
            if frame.2 > 300.0 {
                for (i, a) in marks.iter().enumerate() {
                    assert!(marks[..i].iter().all(|b| (a.disc.0 - b.disc.0).hypot(a.disc.1 - b.disc.1) >= 2.0 * DISC), "{a:?}");
                }
            }
        }
    }

    #[test]
    fn a_metre_is_as_long_both_ways() {
        let (survey, day) = made_up::day();
        let plat = Plat::of(&survey, &day, &day.walks[0], (36.0, 100.0, 520.0, 400.0));
        let (a, east, north) = (plat.at(Local { x: 0.0, y: 0.0 }), plat.at(Local { x: 10.0, y: 0.0 }), plat.at(Local { x: 0.0, y: 10.0 }));
        assert!((east.0 - a.0 - (a.1 - north.1)).abs() < 1e-3 && east.0 > a.0);
    }
}
