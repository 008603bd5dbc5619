//! Words written along a line on the screen, each letter turned with it.

use egui::emath::Rot2;
use egui::epaint::TextShape;
use egui::{Color32, FontId, Painter, Pos2, Rect, Vec2};
use std::sync::Arc;

/// Degrees by which a line may turn from one letter to the next.
const TURN_OF_A_LETTER: f32 = 20.0;
/// Degrees by which a line may turn under all of the words.
const TURN_OF_WORDS: f32 = 100.0;
/// Degrees below which words are written straight.
const STRAIGHT: f32 = 4.0;
/// Directions in which letters are written in the halo's ink: six leave no gap round letters of this size, and each costs as much
/// as the letters themselves.
const HALO: u8 = 6;
/// Places along a line that are tried.
const TRIES: [f32; 9] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.05, 0.95];

/// A line on the screen: its corners, and how far along the line each lies.
#[derive(Clone, Debug)]
pub(super) struct Line {
    points: Vec<Pos2>,
    along: Vec<f32>,
}

/// Words with a place for every letter.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    /// The middle of each letter and how it is turned.
    letters: Vec<(char, Pos2, f32)>,
    /// Half the height of the letters.
    half: f32,
    /// The most that one letter is turned against another, in degrees.
    bend: f32,
}

/// Ground of the screen that words are kept from: the boxes of what lies there, together with a box round each group of them.
#[derive(Clone, Debug, Default)]
pub(super) struct Taken(Vec<(Rect, Vec<Rect>)>);

impl Taken {
    /// Takes the ground of some boxes that lie together.
    pub(super) fn take(&mut self, boxes: Vec<Rect>) {
        self.0.push((round(&boxes), boxes));
    }

    /// Whether nothing lies under any of some boxes that lie together.
    fn is_free(&self, boxes: &[Rect]) -> bool {
        let all = round(boxes);
        let near = self.0.iter().filter(|(group, _)| group.intersects(all));
        near.flat_map(|(_, taken)| taken).all(|t| !t.intersects(all) || boxes.iter().all(|b| !t.intersects(*b)))
    }
}

/// The box round some boxes.
fn round(boxes: &[Rect]) -> Rect {
    boxes.iter().fold(Rect::NOTHING, |all, b| all.union(*b))
}

/// How words look before they are placed: their letters, where the middle of each lies from the words' left end, and the size
/// of all of them.
#[derive(Clone, Debug)]
pub(super) struct Words {
    letters: Vec<(char, f32)>,
    size: Vec2,
}

impl Words {
    /// Words in a type.
    pub(super) fn new(painter: &Painter, text: &str, font: &FontId, ink: Color32) -> Self {
        let galley = painter.layout_no_wrap(text.to_owned(), font.clone(), ink);
        let glyphs = galley.rows.iter().flat_map(|row| row.row.glyphs.iter());
        let letters = glyphs.map(|g| (g.chr, g.pos.x + g.advance_width / 2.0)).collect();
        Self { letters, size: galley.size() }
    }
}

impl Line {
    /// A line through some places; `None` for fewer than two different ones.
    pub(super) fn new(mut points: Vec<Pos2>) -> Option<Self> {
        points.dedup_by(|a, b| a.distance(*b) < 0.25);
        let mut along = Vec::with_capacity(points.len());
        let mut so_far = 0.0;
        for (i, p) in points.iter().enumerate() {
            so_far += if i == 0 { 0.0 } else { p.distance(points[i - 1]) };
            along.push(so_far);
        }
        (points.len() > 1).then_some(Self { points, along })
    }

    /// Its length in points.
    pub(super) fn length(&self) -> f32 {
        self.along.last().copied().unwrap_or(0.0)
    }

    /// The place so far along the line; before its beginning and behind its end it goes on straight.
    fn at(&self, far: f32) -> Pos2 {
        let last = self.points.len() - 1;
        let k = self.along.partition_point(|a| *a <= far).clamp(1, last);
        let (a, b) = (self.points[k - 1], self.points[k]);
        a + (b - a) * ((far - self.along[k - 1]) / (self.along[k] - self.along[k - 1]))
    }

    fn reversed(&self) -> Self {
        let length = self.length();
        let along = self.along.iter().rev().map(|a| length - a).collect();
        Self { points: self.points.iter().rev().copied().collect(), along }
    }

    /// Words on this line where they are bent least and lie on nothing that is taken, read from left to right; `None` where
    /// there is no room for them.
    pub(super) fn place(&self, words: &Words, taken: &Taken) -> Option<Placed> {
        let spare = self.length() - words.size.x - 12.0;
        if spare < 0.0 {
            return None;
        }
        let mut best: Option<Placed> = None;
        for share in TRIES {
            let Some(placed) = self.placed(words, 6.0 + spare * share) else { continue };
            let better = best.as_ref().is_none_or(|b| placed.bend + STRAIGHT < b.bend);
            if better && taken.is_free(&placed.boxes()) {
                let straight = placed.bend < STRAIGHT;
                best = Some(placed);
                if straight {
                    // None of the places left can be so much straighter that it would be taken.
                    break;
                }
            }
        }
        best
    }

    /// Words that begin so far along the line; `None` where it turns too much under them.
    fn placed(&self, words: &Words, from: f32) -> Option<Placed> {
        let (start, end) = (self.at(from), self.at(from + words.size.x));
        if end.x < start.x {
            let turned = self.reversed();
            let from = self.length() - from - words.size.x;
            return turned.letters(words, from);
        }
        self.letters(words, from)
    }

    fn letters(&self, words: &Words, from: f32) -> Option<Placed> {
        let half = words.size.y / 2.0;
        let angle = |far: f32| (self.at(far + half) - self.at(far - half)).angle();
        let letters: Vec<_> = words.letters.iter().map(|&(c, x)| (c, self.at(from + x), angle(from + x))).collect();
        let turns = letters.windows(2).map(|w| turned(w[0].2, w[1].2));
        if turns.fold(0.0, f32::max) > TURN_OF_A_LETTER {
            return None;
        }
        let first = letters.first()?.2;
        let bend = letters.iter().map(|l| turned(first, l.2)).fold(0.0, f32::max);
        (bend <= TURN_OF_WORDS).then_some(Placed { letters, half, bend })
    }
}

/// Degrees between two angles.
fn turned(a: f32, b: f32) -> f32 {
    let d = (a - b).abs().rem_euclid(std::f32::consts::TAU);
    d.min(std::f32::consts::TAU - d).to_degrees()
}

impl Placed {
    /// Boxes that together hold all letters.
    pub(super) fn boxes(&self) -> Vec<Rect> {
        self.letters.iter().map(|l| Rect::from_center_size(l.1, Vec2::splat(2.0 * self.half))).collect()
    }

    /// Writes the words with a halo round their letters.
    pub(super) fn write(&self, painter: &Painter, text: &str, font: &FontId, ink: Color32, halo: Color32) {
        if self.bend < STRAIGHT {
            let (Some(first), Some(last)) = (self.letters.first(), self.letters.last()) else { return };
            let angle = if self.letters.len() > 1 { (last.1 - first.1).angle() } else { first.2 };
            let galley = painter.layout_no_wrap(text.to_owned(), font.clone(), ink);
            let lead = galley.rows.first().and_then(|r| r.row.glyphs.first()).map_or(0.0, |g| g.pos.x + g.advance_width / 2.0);
            let middle = first.1 + Rot2::from_angle(angle) * Vec2::new(galley.size().x / 2.0 - lead, 0.0);
            halo_and_ink(painter, [(galley, middle, angle)].into_iter(), ink, halo);
            return;
        }
        let letters: Vec<_> =
            self.letters.iter().map(|&(c, at, angle)| (painter.layout_no_wrap(c.to_string(), font.clone(), ink), at, angle)).collect();
        halo_and_ink(painter, letters.into_iter(), ink, halo);
    }
}

type Turned = (Arc<egui::Galley>, Pos2, f32);

/// Writes pieces about their middles; all halos first, so that none covers the letter beside it.
fn halo_and_ink(painter: &Painter, pieces: impl Iterator<Item = Turned> + Clone, ink: Color32, halo: Color32) {
    let corner = |galley: &egui::Galley, middle: Pos2, angle: f32| middle - Rot2::from_angle(angle) * (galley.size() / 2.0);
    for (galley, middle, angle) in pieces.clone() {
        let at = corner(&galley, middle, angle);
        for step in 0..HALO {
            let aside = Vec2::angled(f32::from(step) * std::f32::consts::TAU / f32::from(HALO)) * 1.6;
            painter.add(TextShape::new(at + aside, Arc::clone(&galley), halo).with_override_text_color(halo).with_angle(angle));
        }
    }
    for (galley, middle, angle) in pieces {
        painter.add(TextShape::new(corner(&galley, middle, angle), galley, ink).with_angle(angle));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    /// Letters of 8 by 12 points.
    fn words(text: &str) -> Words {
        let letters: Vec<_> = text.chars().enumerate().map(|(i, c)| (c, 8.0 * i as f32 + 4.0)).collect();
        Words { size: Vec2::new(8.0 * letters.len() as f32, 12.0), letters }
    }

    fn under(sign: Rect) -> Taken {
        Taken(vec![(sign, vec![sign])])
    }

    fn arc(radius: f32, degrees: f32) -> Vec<Pos2> {
        let at = |k: u8| (f32::from(k) / 40.0 * degrees - 90.0).to_radians();
        (0..=40).map(|k| pos2(500.0, 500.0) + Vec2::angled(at(k)) * radius).collect()
    }

    #[test]
    fn letters_lie_on_the_line_and_turn_with_it() {
        let line = Line::new(arc(200.0, 120.0)).unwrap();
        let placed = line.place(&words("Kettle Lane"), &Taken::default()).unwrap();
        for (_, at, angle) in &placed.letters {
            let from_centre = *at - pos2(500.0, 500.0);
            assert!((from_centre.length() - 200.0).abs() < 1.0, "{at:?} lies off the street");
            let tangent = from_centre.rot90().angle();
            assert!(turned(*angle, tangent).min(turned(*angle + std::f32::consts::PI, tangent)) < 3.0, "{angle} at {at:?}");
        }
        assert!(placed.bend > STRAIGHT);
    }

    #[test]
    fn words_read_from_left_to_right_whichever_way_the_street_was_drawn() {
        for mut points in [arc(300.0, 60.0), vec![pos2(10.0, 10.0), pos2(400.0, 300.0)], vec![pos2(10.0, 300.0), pos2(30.0, 0.0)]] {
            for _ in 0..2 {
                let placed = Line::new(points.clone()).unwrap().place(&words("Mill"), &Taken::default()).unwrap();
                let (first, last) = (placed.letters[0].1, placed.letters[3].1);
                assert!(first.x < last.x, "{first:?} {last:?}");
                assert!(placed.letters.iter().all(|l| l.2.abs() <= std::f32::consts::FRAC_PI_2 + 0.2));
                points.reverse();
            }
        }
    }

    #[test]
    fn the_straightest_free_place_is_taken() {
        let bent: Vec<Pos2> = vec![pos2(0.0, 0.0), pos2(40.0, 100.0), pos2(80.0, 120.0), pos2(300.0, 120.0)];
        let line = Line::new(bent).unwrap();
        let straight = line.place(&words("Mill"), &Taken::default()).unwrap();
        assert!(straight.bend < 1.0, "{}", straight.bend);
        let there = round(&straight.boxes());
        let other = line.place(&words("Mill"), &under(there)).unwrap();
        assert!(other.boxes().iter().all(|b| !b.intersects(there)), "it lies on what is taken");
        let everywhere = Rect::from_min_max(pos2(-10.0, -10.0), pos2(400.0, 400.0));
        assert!(line.place(&words("Mill"), &under(everywhere)).is_none());
    }

    #[test]
    fn short_and_sharply_turning_streets_stay_without_words() {
        assert!(Line::new(vec![pos2(0.0, 0.0), pos2(0.1, 0.0)]).is_none());
        assert!(Line::new(vec![pos2(0.0, 0.0), pos2(30.0, 0.0)]).unwrap().place(&words("Kettle"), &Taken::default()).is_none());
        let zigzag = (0..12).map(|k| pos2(12.0 * k as f32, if k % 2 == 0 { 0.0 } else { 12.0 })).collect();
        assert!(Line::new(zigzag).unwrap().place(&words("Kettle Lane"), &Taken::default()).is_none());
    }
}
