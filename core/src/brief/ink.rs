//! Inks: the colours of what is drawn on paper and of the marks on the screen's map, by the part they play.

use crate::survey::Marking;

/// A colour in the sRGB colour space.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Rgb(pub u8, pub u8, pub u8);

impl Rgb {
    /// Relative luminance, 0 (black) to 1 (white).
    ///
    /// # Source
    /// W3C, Web Content Accessibility Guidelines 2.1, definition of relative luminance, with the transfer function of
    /// IEC 61966-2-1.
    pub fn luminance(self) -> f64 {
        let [r, g, b] = self.linear();
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// Contrast to another colour, 1 to 21.
    ///
    /// # Source
    /// W3C, Web Content Accessibility Guidelines 2.1, definition of contrast ratio.
    ///
    /// ```
    /// use yardring_core::brief::ink::Rgb;
    /// assert_eq!(Rgb(0, 0, 0).contrast(Rgb(255, 255, 255)), 21.0);
    /// ```
    pub fn contrast(self, other: Self) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// This colour with a share (0 to 1) of another one mixed in, in sRGB values.
    #[must_use]
    pub fn mixed(self, other: Self, share: f64) -> Self {
        let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * share).round() as u8;
        Self(mix(self.0, other.0), mix(self.1, other.1), mix(self.2, other.2))
    }

    /// A grey about as light.
    ///
    /// # Source
    /// Weights of ITU-R BT.601's luma.
    #[must_use]
    pub fn greyed(self) -> Self {
        let luma = (0.299 * f64::from(self.0) + 0.587 * f64::from(self.1) + 0.114 * f64::from(self.2)).round() as u8;
        Self(luma, luma, luma)
    }

    /// The three channels in linear light, 0 to 1.
    fn linear(self) -> [f64; 3] {
        [self.0, self.1, self.2].map(|v| {
            let v = f64::from(v) / 255.0;
            if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        })
    }
}

/// The ground of the map.
pub const PAPER: Rgb = Rgb(0xF6, 0xF3, 0xEC);
/// Worksheets and streets, lighter than the paper.
pub const SHEET: Rgb = Rgb(0xFD, 0xFB, 0xF7);
/// Words and dark marks.
pub const INK: Rgb = Rgb(0x23, 0x26, 0x2B);
/// Words that wait or explain.
pub const QUIET: Rgb = Rgb(0x5C, 0x5E, 0x60);
/// Thin lines between things.
pub const LINE: Rgb = Rgb(0xE0, 0xDB, 0xCF);
/// Outlines of premises nobody went to.
pub const EDGE: Rgb = Rgb(0x8A, 0x87, 0x7E);
/// What can be acted on.
pub const ACCENT: Rgb = Rgb(0x0B, 0x5C, 0x63);
/// Yards still to see inside the reach.
pub const GAP: Rgb = Rgb(0xBC, 0xDB, 0xD6);
/// Outlines and signs of yards still to see: quieter than what was found.
pub const GAP_EDGE: Rgb = Rgb(0x2C, 0x75, 0x79);
/// Deadlines, pupae and losses; nothing else.
pub const WARNING: Rgb = Rgb(0xB5, 0x37, 0x12);
/// Ground inside the reach.
pub const REACH: Rgb = Rgb(0xF6, 0xEA, 0xD0);
/// The edge of the reach: quieter than where yards stand.
pub const REACH_EDGE: Rgb = Rgb(0x8F, 0x74, 0x45);
/// A yard that was inspected and holds nothing that breeds.
pub const SEEN: Rgb = Rgb(0xEA, 0xE5, 0xD8);

/// How much breeds, in five classes from pale to dark. On the window's dark paper the darkest would stand out least (1.85:1), so
/// that by night the window spreads the five over the upper three quarters of the same ramp: see [`by_night`].
///
/// # Source
/// F. Crameri, Scientific colour maps 8.0 (MIT licence), doi 10.5281/zenodo.1243862: lajolla, light end first, rows 21, 55, 104,
/// 149 and 185 of 256, chosen so that CIE lightness falls in steps of 15 from 92 to 31.
pub const BREEDING: [Rgb; 5] =
    [Rgb(0xFB, 0xE8, 0x90), Rgb(0xEF, 0xB8, 0x56), Rgb(0xE3, 0x7D, 0x50), Rgb(0xBB, 0x4B, 0x48), Rgb(0x72, 0x38, 0x2F)];

/// How much was seen, in five classes from pale to dark.
///
/// # Source
/// F. Crameri, Scientific colour maps 8.0 (MIT licence), doi 10.5281/zenodo.1243862: davos, light end first, rows 38, 65, 101, 166
/// and 207 of 256, chosen so that CIE lightness falls in steps of 15 from 92 to 31.
pub const SEEING: [Rgb; 5] =
    [Rgb(0xE8, 0xEB, 0xC0), Rgb(0xB9, 0xC6, 0x93), Rgb(0x86, 0x9F, 0x89), Rgb(0x47, 0x73, 0x9D), Rgb(0x21, 0x47, 0x89)];

/// How much changed, in five classes: fell by much, fell, neither, rose, rose by much.
///
/// # Source
/// F. Crameri, Scientific colour maps 8.0 (MIT licence), doi 10.5281/zenodo.1243862: vik, rows 58, 91, 127, 165 and 210 of 256,
/// chosen so that both sides have CIE lightness 71 and 45 and the middle has 92.
pub const CHANGING: [Rgb; 5] =
    [Rgb(0x20, 0x71, 0x9E), Rgb(0x84, 0xB4, 0xCC), Rgb(0xEB, 0xE6, 0xE2), Rgb(0xD7, 0xA0, 0x81), Rgb(0xAF, 0x4C, 0x18)];

/// A block that only an earlier round saw: lighter than every step of a ramp, and dotted, so that grey paper tells it apart too.
pub const EARLIER: Rgb = SHEET;

/// A step of a ramp as it is drawn on dark paper; `None` for a colour of none of the two sequential ramps.
///
/// Ramps are not turned round by night: dark goes on meaning much, as on the printed map that lies beside the screen. But marks must
/// stand out from their ground at 3:1 (W3C, WCAG 2.1, criterion 1.4.11), and the darkest step has 1.85:1 to dark paper (#1C1E21). The
/// five steps are spread over the ramp from its light end to the fourth of its day steps instead: lightness falls from 92 to 47 in
/// steps of 11, and the darkest has 3.35:1. Between the day's steps colours are interpolated. Both sides of a change keep their
/// colours: their darkest have 3.1:1.
pub fn by_night(colour: Rgb) -> Option<Rgb> {
    let ramp = [BREEDING, SEEING].into_iter().find(|ramp| ramp.contains(&colour))?;
    let step = ramp.iter().position(|c| *c == colour)?;
    let (whole, quarters) = (3 * step / 4, 3 * step % 4);
    Some(ramp[whole].mixed(ramp[(whole + 1).min(4)], quarters as f64 / 4.0))
}

/// Some steps of a ramp, 1 to 5, as far apart as it goes.
pub fn steps(ramp: &[Rgb; 5], count: usize) -> Vec<Rgb> {
    let places: &[usize] = match count {
        0 | 1 => &[1],
        2 => &[1, 3],
        3 => &[0, 2, 4],
        4 => &[0, 1, 3, 4],
        _ => &[0, 1, 2, 3, 4],
    };
    places.iter().map(|&i| ramp[i]).collect()
}

/// How one crew's walk is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WalkInk {
    /// The tint of its line.
    pub tint: Rgb,
    /// Lengths of the strokes and the gaps of the line in points; no gap draws an unbroken line.
    pub pattern: (f32, f32),
    /// The shape of its stops.
    pub stop: Stop,
    /// Its stops are paper inside and the tint round it.
    pub hollow: bool,
}

/// The shape of a walk's stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// A disc.
    Disc,
    /// A square.
    Square,
    /// A square standing on its corner.
    Diamond,
}

/// How a crew's walk is drawn. No two of the first six share a tint or a mark for their stops; neighbours never share a pattern, and of
/// twelve those marked alike have other lines, so that grey paper tells them apart too.
///
/// # Source
/// P. Tol, Colour schemes (SRON technical note EPS/TN/09-002), dark colours of his "muted" scheme, from memory; the contrast to the
/// paper is computed in the tests.
pub fn walk(crew: usize) -> WalkInk {
    const TINTS: [Rgb; 6] = [
        Rgb(0x33, 0x22, 0x88),
        Rgb(0x88, 0x22, 0x55),
        Rgb(0x11, 0x77, 0x33),
        Rgb(0x66, 0x66, 0x33),
        Rgb(0x9A, 0x3D, 0x8A),
        Rgb(0x22, 0x55, 0x55),
    ];
    const PATTERNS: [(f32, f32); 4] = [(0.0, 0.0), (10.0, 4.0), (3.0, 4.0), (18.0, 5.0)];
    WalkInk {
        tint: TINTS[crew % TINTS.len()],
        pattern: PATTERNS[(crew + crew / 12) % PATTERNS.len()],
        stop: [Stop::Disc, Stop::Square, Stop::Diamond][crew % 3],
        hollow: (crew / 3) % 2 == 1,
    }
}

/// A sign inside an outline, told apart by shape before hue.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Mark {
    /// Nothing.
    #[default]
    None,
    /// One stroke from the lower left to the upper right: tried without getting in.
    SlantingStroke,
    /// A bar from side to side: refused.
    Bar,
    /// The lower half filled: seen over the fence.
    LowerHalf,
    /// The line of a drop: water without larvae.
    HollowDrop,
    /// A whole drop: larvae.
    Drop,
    /// A whole drop in a ring: pupae.
    RingedDrop,
}

/// How the outlines of one class are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClassInk {
    /// Inside; nothing lets the ground through.
    pub fill: Option<Rgb>,
    /// The outline.
    pub edge: Rgb,
    /// Whether the outline is drawn firmly, after those of its neighbours.
    pub firm: bool,
    /// The sign inside.
    pub mark: Mark,
    /// The sign's colour, and that of the hatching.
    pub mark_ink: Rgb,
    /// Slanting lines over the fill: seen too little to be sure of the class.
    pub hatched: bool,
    /// Sparse dots over the fill: known of an earlier round only.
    pub dotted: bool,
}

impl ClassInk {
    /// A fill with a quiet edge of its own hue, no sign.
    pub fn filled(fill: Rgb) -> Self {
        Self { fill: Some(fill), edge: fill.mixed(INK, 0.22), firm: false, mark: Mark::None, mark_ink: INK, hatched: false, dotted: false }
    }

    /// An outline with nothing inside, or with a sign.
    pub fn outlined(mark: Mark) -> Self {
        Self { fill: None, edge: EDGE, firm: false, mark, mark_ink: EDGE, hatched: false, dotted: false }
    }

    /// Width of the outline, in points: firm where nothing may wait, thin elsewhere.
    pub fn edge_width(&self) -> f32 {
        if self.firm && self.edge == WARNING { 1.6 } else { 1.0 }
    }

    /// A block that only an earlier round saw.
    pub fn earlier() -> Self {
        Self { dotted: true, mark_ink: QUIET, ..Self::filled(EARLIER) }
    }

    /// The same in grey as light as it is: of a time that is past.
    #[must_use]
    pub fn greyed(self) -> Self {
        Self { fill: self.fill.map(Rgb::greyed), edge: self.edge.greyed(), mark_ink: self.mark_ink.greyed(), ..self }
    }

    /// The same with slanting lines over it, dark on light and light on dark.
    #[must_use]
    pub fn with_hatching(self) -> Self {
        let dark_ground = self.fill.is_some_and(|f| f.contrast(PAPER) > f.contrast(INK));
        Self { hatched: true, mark_ink: if dark_ground { PAPER } else { INK }, ..self }
    }
}

/// How a premise is drawn by its marking.
pub fn of_marking(marking: Marking) -> ClassInk {
    let dark =
        |mark: Mark, edge: Rgb, firm: bool| ClassInk { edge, firm, mark, mark_ink: SHEET, ..ClassInk::filled(INK.mixed(QUIET, 0.35)) };
    match marking {
        Marking::NotVisited => ClassInk::outlined(Mark::None),
        Marking::Tried => ClassInk::outlined(Mark::SlantingStroke),
        Marking::Refused => ClassInk::outlined(Mark::Bar),
        Marking::SeenOverFence => ClassInk::outlined(Mark::LowerHalf),
        Marking::NoWater => ClassInk::filled(SEEN),
        Marking::Wet => ClassInk { mark: Mark::HollowDrop, mark_ink: QUIET, ..ClassInk::filled(SEEN) },
        Marking::Larvae => dark(Mark::Drop, INK, false),
        Marking::Pupae => dark(Mark::RingedDrop, WARNING, true),
    }
}

/// How a premise is drawn by its marking where colours stand for chances: yards that hold nothing step back.
pub fn of_seen(marking: Marking) -> ClassInk {
    match marking {
        Marking::NoWater | Marking::Wet => ClassInk { edge: EDGE, mark_ink: EDGE, ..ClassInk::filled(SHEET) },
        _ => of_marking(marking),
    }
}

/// How a gap is drawn: a premise inside the reach that was not inspected, with the sign of how far anybody got.
pub fn of_gap(marking: Marking) -> ClassInk {
    let plain = of_marking(marking);
    match marking {
        Marking::Larvae | Marking::Pupae => ClassInk { fill: Some(ACCENT), ..plain },
        _ => ClassInk { fill: Some(GAP), edge: GAP_EDGE, firm: true, mark_ink: GAP_EDGE, ..plain },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIE 1976 L*, a*, b* under D65, from linear sRGB (IEC 61966-2-1 and CIE 15, from memory).
    fn lab([r, g, b]: [f64; 3]) -> [f64; 3] {
        let x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505;
        let y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
        let z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089;
        let f = |t: f64| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
        [116.0 * f(y) - 16.0, 500.0 * (f(x) - f(y)), 200.0 * (f(y) - f(z))]
    }

    /// How people without one kind of cone see: protanopia, deuteranopia, tritanopia, on linear sRGB.
    /// Source: G. Machado, M. Oliveira, L. Fernandes, A physiologically-based model for simulation of color vision deficiency,
    /// IEEE TVCG 15 (2009), matrices of severity 1.0; the same as in the Python package colour-science 0.4; each row sums to 1.
    const DEFICIENCIES: [[[f64; 3]; 3]; 3] = [
        [[0.152_286, 1.052_583, -0.204_868], [0.114_503, 0.786_281, 0.099_216], [-0.003_882, -0.048_116, 1.051_998]],
        [[0.367_322, 0.860_646, -0.227_968], [0.280_085, 0.672_501, 0.047_413], [-0.011_820, 0.042_940, 0.968_881]],
        [[1.255_528, -0.076_749, -0.178_779], [-0.078_411, 0.930_809, 0.147_602], [0.004_733, 0.691_367, 0.303_900]],
    ];

    fn seen(colour: Rgb, by: &[[f64; 3]; 3]) -> [f64; 3] {
        let c = colour.linear();
        by.map(|row| row.iter().zip(c).map(|(m, v)| m * v).sum::<f64>().clamp(0.0, 1.0))
    }

    #[test]
    fn luminance_agrees_with_published_values() {
        // WCAG technique G18 gives 21:1 for black on white; #777777 on white is the well-known near miss of 4.48:1 (from memory).
        assert!((Rgb(0x77, 0x77, 0x77).contrast(Rgb(255, 255, 255)) - 4.48).abs() < 0.005);
        assert!((lab(Rgb(255, 255, 255).linear())[0] - 100.0).abs() < 0.01);
    }

    #[test]
    fn ramps_darken_in_even_steps_so_that_grey_paper_still_reads() {
        for ramp in [BREEDING, SEEING] {
            let l: Vec<f64> = ramp.iter().map(|c| lab(c.linear())[0]).collect();
            assert!(l.windows(2).all(|w| (w[0] - w[1] - 15.0).abs() < 2.0), "{l:?}");
        }
    }

    #[test]
    fn neighbouring_classes_stay_apart_for_every_kind_of_eye() {
        for row in DEFICIENCIES.iter().flatten() {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-6);
        }
        for ramp in [BREEDING, SEEING] {
            for (by, w) in DEFICIENCIES.iter().flat_map(|d| ramp.windows(2).map(move |w| (d, w))) {
                let (a, b) = (lab(seen(w[0], by)), lab(seen(w[1], by)));
                let apart = a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum::<f64>().sqrt();
                assert!(apart > 12.0 && a[0] - b[0] > 8.0, "{w:?}: {apart:.1}, lightness {:.1} to {:.1}", a[0], b[0]);
            }
        }
    }

    /// Better and worse are told apart by hue for every kind of eye, and large from small by lightness; on grey paper what fell is
    /// hatched as well, since both sides are equally dark.
    #[test]
    fn both_sides_of_a_change_stay_apart_for_every_kind_of_eye() {
        let l = CHANGING.map(|c| lab(c.linear())[0]);
        assert!((l[0] - l[4]).abs() < 1.5 && (l[1] - l[3]).abs() < 1.5, "neither side is stressed: {l:?}");
        assert!(l[2] - l[1] > 15.0 && l[1] - l[0] > 15.0, "{l:?}");
        for by in &DEFICIENCIES {
            for (i, j) in (0..5).flat_map(|i| (0..i).map(move |j| (i, j))) {
                assert!(apart(CHANGING[i], CHANGING[j], by) > 18.0, "{i} {j}: {:.1}", apart(CHANGING[i], CHANGING[j], by));
            }
        }
    }

    fn apart(a: Rgb, b: Rgb, by: &[[f64; 3]; 3]) -> f64 {
        let (a, b) = (lab(seen(a, by)), lab(seen(b, by)));
        a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum::<f64>().sqrt()
    }

    /// Fills of yards: paper for those nobody saw, pale for those without larvae, dark for those that breed, and gaps.
    #[test]
    fn fills_of_yards_stay_apart_for_every_kind_of_eye_and_on_a_grey_printer() {
        const GREY: [[f64; 3]; 3] = [[0.2126, 0.7152, 0.0722]; 3];
        let breeds = of_marking(Marking::Larvae).fill.unwrap();
        let pairs =
            [(PAPER, breeds, 40.0), (SEEN, breeds, 40.0), (GAP, breeds, 40.0), (GAP, PAPER, 9.0), (GAP, SEEN, 5.0), (PAPER, SEEN, 4.5)];
        for (by, (a, b, least)) in DEFICIENCIES.iter().chain([&GREY]).flat_map(|d| pairs.map(move |p| (d, p))) {
            assert!(apart(a, b, by) >= least, "{a:?} {b:?}: {:.1} of {least} in {by:?}", apart(a, b, by));
        }
        // Where two fills are near, outlines and signs tell the yards apart: see the inks.
        assert!(of_marking(Marking::NoWater).mark == Mark::None && of_gap(Marking::NotVisited).firm);
    }

    /// Blocks that an earlier round saw are no step of a ramp, not on grey paper either; and fewer steps stay farther apart.
    #[test]
    fn blocks_of_an_earlier_round_and_fewer_steps_stay_apart() {
        let earlier = ClassInk::earlier();
        assert!(earlier.dotted && earlier.mark_ink.contrast(EARLIER) >= 4.5);
        let lightest = lab(EARLIER.linear())[0];
        assert!(BREEDING.into_iter().chain(SEEING).all(|step| lightest - lab(step.linear())[0] > 5.0), "lighter than every step");
        for ramp in [BREEDING, SEEING] {
            for (by, step) in DEFICIENCIES.iter().flat_map(|d| ramp.map(|c| (d, c))) {
                assert!(apart(EARLIER, step, by) >= 7.0, "{step:?}: {:.1}", apart(EARLIER, step, by));
            }
            for count in 1..=5 {
                let some = steps(&ramp, count);
                let l: Vec<f64> = some.iter().map(|c| lab(c.linear())[0]).collect();
                assert!(some.len() == count && l.windows(2).all(|w| w[0] - w[1] > 13.0), "{l:?}");
            }
        }
    }

    #[test]
    fn words_and_marks_stand_out_from_their_ground() {
        for ground in [PAPER, SHEET, REACH] {
            for words in [INK, QUIET, ACCENT, WARNING] {
                assert!(words.contrast(ground) >= 4.5, "{words:?} on {ground:?}: {:.2}", words.contrast(ground));
            }
        }
        for ink in Marking::ALL.into_iter().flat_map(|m| [of_marking(m), of_gap(m)]) {
            let ground = ink.fill.unwrap_or(PAPER);
            assert!(ink.mark == Mark::None || ink.mark_ink.contrast(ground) >= 3.0, "{ink:?}");
            assert!(ink.fill.is_some() || ink.edge.contrast(PAPER) >= 3.0, "{ink:?}");
        }
        for ground in [PAPER, REACH, SEEN] {
            assert!(GAP_EDGE.contrast(ground) >= 3.0 && REACH_EDGE.contrast(ground) >= 3.0, "{ground:?}");
        }
        for ink in BREEDING.into_iter().chain(SEEING).chain(CHANGING).map(|c| ClassInk::filled(c).with_hatching()) {
            assert!(ink.mark_ink.contrast(ink.fill.unwrap_or(PAPER)) >= 3.0, "{ink:?}");
        }
    }
}
