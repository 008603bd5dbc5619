//! House numbers, or parcel ids, in yards that are drawn large enough, as the window writes them.

use super::super::doors;
use super::super::ink::{self, ClassInk, Mark, Rgb};
use super::body::Body;
use super::lettering::{Hand, Lettering, Weight};
use super::sheet::Sheet;
use super::view::View;
use crate::place::{BoxIndex, ShapeView, inside};
use tiny_skia::Transform;

/// A middling yard that is smaller than this, in pixels of the reference sheet, has no room for a number beside its mark.
const ROOMY: f32 = 34.0;
/// Height of the letters, and the distance to the mark beside them.
const LETTERS: f32 = 11.0;
const GAP: f32 = 3.0;

/// A box on the sheet: left, top, right, bottom.
type Pixels = [f32; 4];

impl Body<'_> {
    /// Writes a number in each yard with room for it beside its mark, over no sign of a trap or a complaint, and none that the
    /// map's edge would cut.
    pub fn numbers(&self, view: &View, sheet: &mut dyn Sheet, lettering: &Lettering) {
        if self.premise_pixels < f64::from(ROOMY * self.unit) {
            return;
        }
        let premises = &self.survey.premises;
        let index = BoxIndex::new(premises.outline.bounds());
        let hand = Hand { weight: Weight::Regular, size: LETTERS * self.unit, ink: ink::INK };
        let signs = self.signal_boxes(view);
        index.each_touching(&view.ground(), |i| {
            let Some(text) = doors::written(&premises.address, &premises.parcel_id, &premises.outline, &index, i) else { return };
            let outline = premises.outline.get(i);
            let places = self.places(view, outline, i, (lettering.width(&text, hand), hand.size));
            let whole = |b: &Pixels| b[0] > 0.0 && b[1] > 0.0 && b[2] < view.size.0 as f32 && b[3] < view.size.1 as f32;
            let free = |b: &Pixels| whole(b) && inside_outline(view, outline, b, self.unit) && !signs.iter().any(|s| touch(s, b));
            let Some([left, _, _, bottom]) = places.into_iter().find(free) else { return };
            let at = Transform::from_translate(left, bottom - 0.14 * hand.size);
            let (letters, halo) = self.inks_on(i);
            let hand = Hand { ink: letters, ..hand };
            if let Some(around) = lettering.outlines(&text, hand).and_then(|p| p.transform(at)) {
                sheet.line(&around, halo, 2.8 * self.unit);
            }
            sheet.letters(lettering, &text, hand, at);
        });
    }

    /// Where a number of some size may stand in a yard, the best place first.
    fn places(&self, view: &View, outline: ShapeView<'_>, i: usize, (wide, high): (f32, f32)) -> Vec<Pixels> {
        let Some(middle) = inside(outline).map(|p| view.pixel(p)) else { return Vec::new() };
        let mark = self.mark_of(i);
        let side = (outline.area().sqrt() * view.scale) as f32;
        let away = if mark == Mark::None { 0.0 } else { 0.5 * self.mark_size(side) + GAP * self.unit };
        let (up, aside) = (away + 0.5 * high, away + 0.5 * wide);
        let shifts: &[(f32, f32)] = match mark {
            Mark::None => &[(0.0, 0.0), (0.0, high), (0.0, -high)],
            Mark::LowerHalf => &[(0.0, -up)],
            _ => &[(0.0, up), (0.0, -up), (aside, 0.0), (-aside, 0.0)],
        };
        let box_at = |(x, y): &(f32, f32)| {
            let (x, y) = (middle.0 + x, middle.1 + y);
            [x - wide / 2.0, y - high / 2.0, x + wide / 2.0, y + high / 2.0]
        };
        shifts.iter().map(box_at).collect()
    }

    /// How a yard is drawn.
    fn class_of(&self, i: usize) -> Option<&ClassInk> {
        self.classes.premises.get(i).map(|&c| &self.classes.classes[usize::from(c)].ink)
    }

    /// The inks of a number and of what is round it: dark on light, light on dark.
    fn inks_on(&self, i: usize) -> (Rgb, Rgb) {
        match self.class_of(i).and_then(|c| c.fill) {
            Some(fill) if fill.contrast(ink::SHEET) > fill.contrast(ink::INK) => (ink::SHEET, fill),
            _ => (ink::INK, ink::SHEET),
        }
    }

    /// The mark that is drawn in a yard.
    fn mark_of(&self, i: usize) -> Mark {
        self.class_of(i).filter(|_| self.classes.colour_by.by_premise()).map_or(Mark::None, |c| c.mark)
    }
}

/// Whether all corners of a box lie inside an outline.
fn inside_outline(view: &View, outline: ShapeView<'_>, b: &Pixels, unit: f32) -> bool {
    let [left, top, right, bottom] = [b[0] - unit, b[1] - unit, b[2] + unit, b[3] + unit].map(f64::from);
    [(left, top), (right, top), (right, bottom), (left, bottom)].into_iter().all(|(x, y)| outline.holds(view.place(x, y)))
}

fn touch(a: &Pixels, b: &Pixels) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}
