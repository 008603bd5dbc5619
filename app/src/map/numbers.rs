//! From near by: the house number in each yard, or its parcel id, where it fits.

use super::camera::Camera;
use super::scene::{Inks, Mark, Scene, YardNames};
use super::tessellate;
use egui::{CornerRadius, FontId, Galley, Painter, Pos2, Rect, Vec2};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use yardring_core::brief::doors;
use yardring_core::place::{Local, ShapeView, Shapes};

/// A typical yard that is smaller than this on the screen, in points, has no room for a number beside its mark.
const ROOMY: f64 = 44.0;
/// Most yards looked at in one frame.
const MOST_YARDS: usize = 700;
/// Most numbers that appear in one frame: laying out letters and looking for room takes longest the first time.
const MOST_NEW: usize = 24;
/// Most yards that are remembered.
const MOST_REMEMBERED: usize = 4_000;
/// A number that fits goes on fitting until the map is so much nearer or farther, as a share: its place moves by less than the margin.
const MUCH_THE_SAME: f64 = 0.03;
/// Points from a yard's middle to the edge of a drop there.
const DROP: f32 = 12.5;
/// Points between a number and the mark beside it.
const GAP: f32 = 4.0;

/// A yard whose number was written lately.
#[derive(Clone, Debug)]
struct Written {
    middle: Local,
    /// Its letters; none where nothing is written: there is no name, or another premise on the same outline has it.
    galley: Option<Arc<Galley>>,
    /// The mark and the points to a metre that a place was looked for at, and which place has room.
    place: Option<(Mark, f64, Option<usize>)>,
}

/// What is remembered of yards whose numbers were written lately: their middles take long to find, their letters long to lay out.
#[derive(Clone, Debug, Default)]
pub(super) struct Middles {
    of: Option<(Arc<Shapes>, YardNames)>,
    /// A number laid out anew in every frame: as long as the letters are the same it is the same too.
    letters: Option<Arc<Galley>>,
    known: BTreeMap<usize, Written>,
    /// The yards whose numbers the last frame wrote.
    written: BTreeSet<usize>,
}

impl Middles {
    /// Forgets what was laid out of other yards, or in other letters.
    fn renew(&mut self, outlines: &Arc<Shapes>, names: &YardNames, letters: Arc<Galley>) {
        let same_letters = self.letters.as_ref().is_some_and(|l| Arc::ptr_eq(l, &letters));
        let same = |(o, n): &(Arc<Shapes>, YardNames)| {
            Arc::ptr_eq(o, outlines) && Arc::ptr_eq(&n.addresses, &names.addresses) && Arc::ptr_eq(&n.ids, &names.ids)
        };
        let same_yards = self.of.as_ref().is_some_and(same);
        if !same_letters || !same_yards || self.known.len() >= MOST_REMEMBERED {
            self.known.clear();
            self.of = Some((Arc::clone(outlines), names.clone()));
            self.letters = Some(letters);
        }
    }
}

/// Writes the numbers of the yards in view, over none of the signs.
pub(super) fn paint(painter: &Painter, scene: &Scene, camera: &Camera, signs: &[Rect], middles: &mut Middles) {
    let Some(names) = &scene.yard_names else { return };
    let Some(side) = scene.premises.as_ref().map(|p| p.layer.typical_side()) else { return };
    if side * camera.points_per_metre < ROOMY {
        return;
    }
    let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
    let pen = Pen { painter, camera, signs, inks: &scene.inks, font };
    middles.renew(&scene.outlines, names, pen.letters("0".to_owned()));
    let (mut looked_at, mut new) = (0, 0);
    let before = std::mem::take(&mut middles.written);
    scene.index.each_touching(&camera.view(), |i| {
        looked_at += 1;
        if looked_at <= MOST_YARDS && i < scene.outlines.len() {
            new += usize::from(!before.contains(&i));
            if new > MOST_NEW && !before.contains(&i) {
                return;
            }
            middles.written.insert(i);
            let outline = scene.outlines.get(i);
            let made = || {
                let text = doors::written(&names.addresses, &names.ids, &scene.outlines, &scene.index, i);
                let middle = text.as_ref().map(|_| tessellate::middle(outline).0);
                Written { middle: middle.unwrap_or_default(), galley: text.map(|t| pen.letters(t)), place: None }
            };
            pen.write(middles.known.entry(i).or_insert_with(made), mark_of(scene, i), outline);
        }
    });
    if new > MOST_NEW {
        painter.ctx().request_repaint();
    }
}

/// What numbers are written with.
struct Pen<'a> {
    painter: &'a Painter,
    camera: &'a Camera,
    signs: &'a [Rect],
    inks: &'a Inks,
    font: FontId,
}

impl Pen<'_> {
    fn letters(&self, text: String) -> Arc<Galley> {
        self.painter.layout_no_wrap(text, self.font.clone(), self.inks.words)
    }

    /// Writes a yard's number where its mark leaves room, wherever all of it lies inside the yard.
    fn write(&self, number: &mut Written, mark: Mark, outline: ShapeView<'_>) {
        let Some(galley) = &number.galley else { return };
        let (size, middle) = (galley.size(), self.camera.on_screen(number.middle));
        let places = beside(mark, size).map(|aside| Rect::from_center_size(middle + aside, size));
        let scale = self.camera.points_per_metre;
        let room = match number.place {
            Some((of, at, room)) if of == mark && (scale / at - 1.0).abs() < MUCH_THE_SAME => room,
            _ => {
                let fits = |r: &Rect| corners(r.expand(2.0)).iter().all(|c| outline.holds(self.camera.on_ground(*c)));
                let room = places.iter().position(fits);
                number.place = Some((mark, scale, room));
                room
            }
        };
        if let Some(at) = room.map(|k| places[k]).filter(|at| !self.signs.iter().any(|s| s.intersects(*at))) {
            self.painter.rect_filled(at.expand2(Vec2::new(3.0, -1.0)), CornerRadius::ZERO, self.inks.paper.gamma_multiply(0.8));
            self.painter.galley(at.min, Arc::clone(galley), self.inks.words);
        }
    }
}

/// The mark in a yard.
fn mark_of(scene: &Scene, i: usize) -> Mark {
    let Some(sheet) = &scene.premises else { return Mark::None };
    let class = sheet.classes.get(i).copied().unwrap_or(0);
    sheet.inks.get(usize::from(class)).map_or(Mark::None, |ink| ink.mark)
}

/// Where the middle of a number of some size may lie, from the middle of its yard, so that it keeps clear of the mark there;
/// the best place first.
fn beside(mark: Mark, size: Vec2) -> [Vec2; 4] {
    let half = size / 2.0;
    let (below, right) = (Vec2::new(0.0, DROP + GAP + half.y), Vec2::new(DROP + GAP + half.x, 0.0));
    match mark {
        Mark::None => [Vec2::ZERO, below, -below, right],
        // The stroke goes from the lower left to the upper right: the other two quarters are free.
        Mark::SlantingStroke => [half + Vec2::splat(GAP), -half - Vec2::splat(GAP), below, -below],
        Mark::Bar | Mark::LowerHalf => {
            let above = Vec2::new(0.0, -half.y - GAP - 1.0);
            [above, -above, above + right, above - right]
        }
        Mark::HollowDrop | Mark::Drop | Mark::RingedDrop => [below, -below, right, -right],
    }
}

fn corners(r: Rect) -> [Pos2; 4] {
    [r.left_top(), r.right_top(), r.right_bottom(), r.left_bottom()]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Drops reach 11 points from the middle with a ring of 1.5 round them, strokes and bars 26 at most: see the shader.
    #[test]
    fn numbers_keep_clear_of_every_mark() {
        let size = Vec2::new(22.0, 16.0);
        let lies = |aside: Vec2| Rect::from_center_size(aside.to_pos2(), size);
        for drop in [Mark::HollowDrop, Mark::Drop, Mark::RingedDrop] {
            let ring = Rect::from_center_size(Pos2::ZERO, Vec2::splat(25.0)).expand(2.0);
            assert!(beside(drop, size).iter().all(|aside| !lies(*aside).intersects(ring)), "{drop:?}");
        }
        for (mark, along) in [(Mark::Bar, Vec2::X), (Mark::SlantingStroke, Vec2::new(0.707, -0.707))] {
            for aside in beside(mark, size) {
                let on_the_line = (-26..=26).map(|k| (along * k as f32).to_pos2());
                assert!(on_the_line.into_iter().all(|p| !lies(aside).expand(1.5).contains(p)), "{mark:?} at {aside:?}");
            }
        }
        assert_eq!(beside(Mark::None, size)[0], Vec2::ZERO, "in a yard without a mark the number stands in the middle");
    }
}
