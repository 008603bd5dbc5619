//! How the window looks: every colour, every size, every distance.

use crate::map;
use egui::{Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Stroke, TextStyle, Theme, Visuals};
use std::sync::Arc;
use yardring_core::brief::ink::{self, Rgb};
use yardring_core::survey::Marking;

/// The roles that colours play. Nothing else in the window names a colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tones {
    /// The map's ground and the window behind everything.
    pub paper: Color32,
    /// The worksheet, lighter than the paper it lies on.
    pub sheet: Color32,
    /// Fields to write in, rows under the pointer's card.
    pub field: Color32,
    /// What is read.
    pub ink: Color32,
    /// What waits or explains.
    pub quiet: Color32,
    /// Thin lines between things.
    pub line: Color32,
    /// Edges of what can be touched.
    pub edge: Color32,
    /// What can be acted on.
    pub accent: Color32,
    /// Words on the accent.
    pub on_accent: Color32,
    /// A row that is chosen or under the pointer.
    pub accent_wash: Color32,
    /// Deadlines, pupae and losses; nothing else.
    pub warning: Color32,
    /// Ground behind a sentence of warning.
    pub warning_wash: Color32,
}

/// By day: warm paper.
pub const LIGHT: Tones = Tones {
    paper: Color32::from_rgb(0xF6, 0xF3, 0xEC),
    sheet: Color32::from_rgb(0xFD, 0xFB, 0xF7),
    field: Color32::from_rgb(0xFF, 0xFF, 0xFF),
    ink: Color32::from_rgb(0x23, 0x26, 0x2B),
    quiet: Color32::from_rgb(0x60, 0x62, 0x63),
    line: Color32::from_rgb(0xE0, 0xDB, 0xCF),
    edge: Color32::from_rgb(0x8A, 0x87, 0x7E),
    accent: Color32::from_rgb(0x0B, 0x5C, 0x63),
    on_accent: Color32::from_rgb(0xFD, 0xFB, 0xF7),
    accent_wash: Color32::from_rgb(0xDD, 0xEB, 0xE8),
    warning: Color32::from_rgb(0xB5, 0x37, 0x12),
    warning_wash: Color32::from_rgb(0xFB, 0xE9, 0xE0),
};

/// By night: the same roles on dark paper.
pub const DARK: Tones = Tones {
    paper: Color32::from_rgb(0x1C, 0x1E, 0x21),
    sheet: Color32::from_rgb(0x25, 0x28, 0x2B),
    field: Color32::from_rgb(0x17, 0x19, 0x1B),
    ink: Color32::from_rgb(0xEC, 0xE8, 0xDF),
    quiet: Color32::from_rgb(0xAD, 0xAA, 0xA2),
    line: Color32::from_rgb(0x3A, 0x3D, 0x40),
    edge: Color32::from_rgb(0x7E, 0x80, 0x80),
    accent: Color32::from_rgb(0x63, 0xC0, 0xBE),
    on_accent: Color32::from_rgb(0x10, 0x24, 0x26),
    accent_wash: Color32::from_rgb(0x24, 0x3F, 0x41),
    warning: Color32::from_rgb(0xFF, 0x93, 0x6B),
    warning_wash: Color32::from_rgb(0x47, 0x2B, 0x22),
};

/// Notes and table heads, in points.
pub const SMALL: f32 = 12.0;
/// Running text.
pub const BODY: f32 = 14.0;
/// Names of steps and cards.
pub const LARGE: f32 = 17.0;
/// One line that a whole screen is about.
pub const TITLE: f32 = 22.0;

/// Distance between things that belong together.
pub const NEAR: f32 = 4.0;
/// Distance between things of one group.
pub const APART: f32 = 8.0;
/// Distance inside cards.
pub const INSIDE: f32 = 12.0;
/// Distance between steps.
pub const STEP: f32 = 20.0;
/// Height of one row of a list.
pub const ROW: f32 = 24.0;
/// Width of the worksheet.
pub const WORKSHEET: f32 = 380.0;
/// Height of the time strip.
pub const TIME_STRIP: f32 = 68.0;
/// Width of the yard card.
pub const CARD: f32 = 300.0;
/// Rounding of corners.
pub const CORNER: u8 = 4;

/// The tones of the theme that a part of the window is drawn in.
pub fn tones(ui: &egui::Ui) -> &'static Tones {
    of(ui.visuals().dark_mode)
}

/// The tones by day or by night.
pub fn of(dark: bool) -> &'static Tones {
    if dark { &DARK } else { &LIGHT }
}

/// The semibold cut of the window's type at a size.
pub fn semibold(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name("semibold".into()))
}

/// An ink of the map by day, as core names it, or its counterpart by night: the roles stay, light and dark change places for
/// paper, lines and signs. The ramps of block maps are not turned round, but spread over their lighter part: see
/// [`ink::by_night`].
fn map_colour(rgb: Rgb, night: bool) -> Color32 {
    let day = as_colour(rgb);
    if !night {
        return day;
    }
    let larvae = ink::of_marking(Marking::Larvae).fill;
    let roles = [
        (ink::PAPER, DARK.paper),
        (ink::SHEET, DARK.sheet),
        (ink::INK, DARK.ink),
        (ink::QUIET, DARK.quiet),
        (ink::LINE, DARK.line),
        (ink::EDGE, DARK.edge),
        (ink::ACCENT, DARK.accent),
        (ink::GAP, Color32::from_rgb(0x31, 0x6E, 0x70)),
        (ink::GAP_EDGE, Color32::from_rgb(0x9B, 0xDA, 0xD7)),
        (ink::WARNING, DARK.warning),
        (ink::REACH, Color32::from_rgb(0x2E, 0x2B, 0x22)),
        (ink::REACH_EDGE, Color32::from_rgb(0xA8, 0x92, 0x68)),
        (ink::SEEN, Color32::from_rgb(0x46, 0x44, 0x3E)),
        (ink::ClassInk::filled(ink::SEEN).edge, Color32::from_rgb(0x62, 0x5F, 0x58)),
        (ink::ClassInk::filled(ink::EARLIER).edge, Color32::from_rgb(0x5E, 0x61, 0x64)),
    ];
    match roles.into_iter().find(|(role, _)| *role == rgb) {
        Some((_, colour)) => colour,
        None if larvae == Some(rgb) => Color32::from_rgb(0xD5, 0xD1, 0xC8),
        None => ink::by_night(rgb).map_or(day, as_colour),
    }
}

fn as_colour(rgb: Rgb) -> Color32 {
    Color32::from_rgb(rgb.0, rgb.1, rgb.2)
}

/// The edge of a step of a ramp on dark paper: lighter than the step, where by day it is darker.
fn night_edge(step: Rgb) -> Color32 {
    let [r, g, b, _] = DARK.ink.to_array();
    as_colour(step.mixed(Rgb(r, g, b), 0.3))
}

/// How a class is drawn on the map, by day or by night.
pub fn map_ink(class: &ink::ClassInk, night: bool) -> map::ClassInk {
    let mark = match class.mark {
        ink::Mark::None => map::Mark::None,
        ink::Mark::SlantingStroke => map::Mark::SlantingStroke,
        ink::Mark::Bar => map::Mark::Bar,
        ink::Mark::LowerHalf => map::Mark::LowerHalf,
        ink::Mark::HollowDrop => map::Mark::HollowDrop,
        ink::Mark::Drop => map::Mark::Drop,
        ink::Mark::RingedDrop => map::Mark::RingedDrop,
    };
    let step = class.fill.filter(|_| night).and_then(ink::by_night);
    // Lines over a step are dark on light and light on dark, as the step is by night.
    let over = step.map_or(class.mark_ink, |s| ink::ClassInk::filled(s).with_hatching().mark_ink);
    map::ClassInk {
        fill: class.fill.map_or(Color32::TRANSPARENT, |f| map_colour(f, night)),
        edge: step.map_or_else(|| map_colour(class.edge, night), night_edge),
        edge_width: class.edge_width(),
        ground_width: 0.0,
        mark,
        mark_ink: if class.hatched && class.fill.is_some() { map_colour(over, false) } else { map_colour(class.mark_ink, night) },
        hatched: class.hatched,
        dotted: class.dotted,
        inside: class.firm,
    }
}

/// How premises are drawn where their blocks carry the colour: a thin outline.
pub fn bare_premise(night: bool) -> map::ClassInk {
    let line = map_colour(ink::EDGE, night).gamma_multiply(0.6);
    map::ClassInk::plain(Color32::TRANSPARENT, line)
}

/// How premises are drawn until their classes are known: pale, so that even from far out the district is seen at once.
pub fn uncoloured_premise(night: bool) -> map::ClassInk {
    map::ClassInk { fill: of(night).line.gamma_multiply(0.7), ..bare_premise(night) }
}

/// How streets are drawn: a light band as wide as a carriageway.
pub fn street(night: bool) -> map::ClassInk {
    let band = if night { Color32::from_rgb(0x34, 0x38, 0x3C) } else { map_colour(ink::SHEET, night) };
    map::ClassInk { ground_width: 7.0, ..map::ClassInk::plain(Color32::TRANSPARENT, band) }
}

/// How the reach is drawn: ground slightly warmed, a thin edge.
pub fn reach(night: bool) -> map::ClassInk {
    let edge = map_colour(ink::REACH_EDGE, night);
    map::ClassInk { edge_width: 1.3, ..map::ClassInk::plain(map_colour(ink::REACH, night), edge) }
}

/// How a crew's walk is drawn: its tint and its line pattern, strokes and gaps in points; by day as on paper. No two of the first six
/// share a tint, neighbours never share a pattern, so that grey paper tells them apart too.
///
/// # Source
/// P. Tol, Colour schemes (SRON technical note EPS/TN/09-002), his "light" scheme by night, from memory; the contrast to the paper is
/// computed in the tests.
pub fn walk(crew: usize, night: bool) -> (Color32, (f32, f32)) {
    const NIGHT: [Color32; 6] = [
        Color32::from_rgb(0x77, 0xAA, 0xDD),
        Color32::from_rgb(0xFF, 0xAA, 0xBB),
        Color32::from_rgb(0xBB, 0xCC, 0x33),
        Color32::from_rgb(0xEE, 0xDD, 0x88),
        Color32::from_rgb(0xD9, 0x9C, 0xE8),
        Color32::from_rgb(0x44, 0xBB, 0x99),
    ];
    let by_day = ink::walk(crew);
    (if night { NIGHT[crew % NIGHT.len()] } else { as_colour(by_day.tint) }, by_day.pattern)
}

/// How the stops of a crew are marked, as on paper. No two of the first six are marked alike; of twelve those marked alike have other
/// lines.
pub fn stop(crew: usize) -> map::StopMark {
    let how = ink::walk(crew);
    let shape = match how.stop {
        ink::Stop::Disc => map::StopShape::Disc,
        ink::Stop::Square => map::StopShape::Square,
        ink::Stop::Diamond => map::StopShape::Diamond,
    };
    map::StopMark { shape, hollow: how.hollow }
}

/// A line that no crew crosses: its tint, and the lengths of its dashes and gaps in points.
pub fn never_crossed(night: bool) -> (Color32, (f32, f32)) {
    (if night { DARK.ink } else { LIGHT.ink }, (2.0, 3.0))
}

/// How the reach is drawn over pictures of the ground: they show through.
pub fn reach_over_ground(night: bool) -> map::ClassInk {
    let ink = reach(night);
    map::ClassInk { fill: ink.fill.gamma_multiply(0.25), edge_width: 2.0, ..ink }
}

/// Inks of the map that belong to no class.
pub fn map_inks(night: bool) -> map::Inks {
    let t = of(night);
    map::Inks {
        paper: t.paper,
        words: t.ink,
        street_name: t.quiet,
        source: t.ink,
        source_with_pupae: t.warning,
        source_edge: t.sheet,
        unplaced: t.warning,
        selection: t.accent,
        hover: t.accent,
        // by night pictures of the ground must not outshine what lies on them
        ground: if night { Color32::from_rgb(0x9A, 0x9A, 0x9A) } else { Color32::WHITE },
    }
}

/// Gives the window its type, its sizes and both sets of tones.
pub fn install(ctx: &Context) {
    ctx.set_fonts(fonts());
    for (theme, tones) in [(Theme::Light, &LIGHT), (Theme::Dark, &DARK)] {
        ctx.set_visuals_of(theme, visuals(theme, tones));
        ctx.style_mut_of(theme, |style| {
            style.text_styles = [
                (TextStyle::Small, FontId::proportional(SMALL)),
                (TextStyle::Body, FontId::proportional(BODY)),
                (TextStyle::Button, FontId::proportional(BODY)),
                (TextStyle::Monospace, FontId::proportional(BODY)),
                (TextStyle::Heading, semibold(LARGE)),
            ]
            .into();
            style.spacing.item_spacing = egui::vec2(APART, APART);
            style.spacing.button_padding = egui::vec2(INSIDE, NEAR);
            style.spacing.interact_size = egui::vec2(40.0, 28.0);
            style.spacing.menu_margin = Margin::same(APART as i8);
            style.spacing.slider_width = 200.0;
            style.spacing.scroll = egui::style::ScrollStyle::thin();
            style.animation_time = 0.1;
            // A drag that begins beside a control must not mark the words there.
            style.interaction.selectable_labels = false;
        });
    }
}

/// Open Sans, regular and semibold; its figures all have one width. What it lacks comes from the toolkit's own type.
fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let cuts: [(&str, &'static [u8]); 2] = [
        ("regular", include_bytes!("../../../core/assets/fonts/OpenSans-Regular.ttf")),
        ("semibold", include_bytes!("../../../core/assets/fonts/OpenSans-Semibold.ttf")),
    ];
    for (name, bytes) in cuts {
        fonts.font_data.insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
    }
    let rest = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    let with = |first: &str| std::iter::once(first.to_owned()).chain(rest.iter().cloned()).collect::<Vec<_>>();
    let (regular, semibold) = (with("regular"), with("semibold"));
    fonts.families.insert(FontFamily::Name("semibold".into()), semibold);
    fonts.families.insert(FontFamily::Monospace, regular.clone());
    fonts.families.insert(FontFamily::Proportional, regular);
    fonts
}

fn visuals(theme: Theme, t: &Tones) -> Visuals {
    let mut v = theme.default_visuals();
    v.override_text_color = None;
    v.weak_text_color = Some(t.quiet);
    v.hyperlink_color = t.accent;
    v.panel_fill = t.paper;
    v.window_fill = t.sheet;
    v.window_stroke = Stroke::new(1.0, t.line);
    v.faint_bg_color = t.paper;
    v.extreme_bg_color = t.field;
    v.text_edit_bg_color = Some(t.field);
    v.code_bg_color = t.paper;
    v.warn_fg_color = t.warning;
    v.error_fg_color = t.warning;
    v.selection.bg_fill = t.accent_wash;
    v.selection.stroke = Stroke::new(1.0, t.accent);
    v.text_cursor.stroke = Stroke::new(2.0, t.accent);
    v.slider_trailing_fill = true;
    v.window_corner_radius = CornerRadius::same(CORNER);
    v.menu_corner_radius = CornerRadius::same(CORNER);
    for w in [&mut v.widgets.noninteractive, &mut v.widgets.inactive, &mut v.widgets.hovered, &mut v.widgets.active, &mut v.widgets.open] {
        w.corner_radius = CornerRadius::same(CORNER);
        w.expansion = 0.0;
        w.bg_fill = t.field;
        w.weak_bg_fill = t.field;
        w.bg_stroke = Stroke::new(1.0, t.edge);
        w.fg_stroke = Stroke::new(1.0, t.ink);
    }
    v.widgets.noninteractive.bg_stroke.color = t.line;
    v.widgets.hovered.bg_stroke.color = t.accent;
    v.widgets.hovered.weak_bg_fill = t.accent_wash;
    v.widgets.active.weak_bg_fill = t.accent_wash;
    v.widgets.active.bg_stroke = Stroke::new(2.0, t.accent);
    v.widgets.inactive.bg_fill = t.line;
    v
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast ratio. Source: W3C, Web Content Accessibility Guidelines 2.1, definitions of
    /// "relative luminance" and "contrast ratio".
    fn contrast(a: Color32, b: Color32) -> f64 {
        let luminance = |c: Color32| {
            let linear = |v: u8| {
                let s = f64::from(v) / 255.0;
                if s <= 0.03928 { s / 12.92 } else { ((s + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * linear(c.r()) + 0.7152 * linear(c.g()) + 0.0722 * linear(c.b())
        };
        let (x, y) = (luminance(a), luminance(b));
        (x.max(y) + 0.05) / (x.min(y) + 0.05)
    }

    #[test]
    fn black_on_white_is_twenty_one_to_one() {
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
    }

    #[test]
    fn text_reads_at_four_and_a_half_and_marks_at_three() {
        for t in [&LIGHT, &DARK] {
            for ground in [t.paper, t.sheet, t.field, t.accent_wash] {
                for text in [t.ink, t.quiet, t.accent, t.warning] {
                    assert!(contrast(text, ground) >= 4.5, "{text:?} on {ground:?}: {:.2}", contrast(text, ground));
                }
            }
            assert!(contrast(t.on_accent, t.accent) >= 4.5);
            assert!(contrast(t.warning, t.warning_wash) >= 4.5 && contrast(t.ink, t.warning_wash) >= 4.5);
            for ground in [t.paper, t.sheet, t.field] {
                assert!(contrast(t.edge, ground) >= 3.0, "edge on {ground:?}: {:.2}", contrast(t.edge, ground));
            }
        }
    }

    /// Numbers stand in the paper's colour on the tint.
    #[test]
    fn walks_stand_out_from_the_paper_and_their_numbers_from_them() {
        for (night, t) in [(false, &LIGHT), (true, &DARK)] {
            for crew in 0..12 {
                let (tint, pattern) = walk(crew, night);
                assert!(contrast(tint, t.paper) >= 4.5, "crew {crew}: {:.2}", contrast(tint, t.paper));
                assert_ne!(pattern, walk(crew + 1, night).1);
                assert!((0..crew).all(|other| walk(other, night) != walk(crew, night)), "crew {crew}");
                // On grey paper: shape and filling, and the line's pattern where those are shared.
                let grey = |crew: usize| (stop(crew), walk(crew, night).1);
                let told = |other: usize| {
                    if crew < 6 { stop(other) != stop(crew) } else { grey(other).0 != grey(crew).0 || grey(other).1 != grey(crew).1 }
                };
                assert!((0..crew).all(told), "crew {crew} on grey paper");
            }
        }
    }

    /// CIE 1976 L*, a*, b* under D65 of linear sRGB (IEC 61966-2-1 and CIE 15, from memory).
    fn lab([r, g, b]: [f64; 3]) -> [f64; 3] {
        let x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505;
        let y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
        let z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089;
        let f = |t: f64| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
        [116.0 * f(y) - 16.0, 500.0 * (f(x) - f(y)), 200.0 * (f(y) - f(z))]
    }

    /// Protanopia, deuteranopia, tritanopia, and a grey copy, on linear sRGB. Source: G. Machado, M. Oliveira, L. Fernandes, A
    /// physiologically-based model for simulation of color vision deficiency, IEEE TVCG 15 (2009), severity 1.0.
    const EYES: [[[f64; 3]; 3]; 4] = [
        [[0.152_286, 1.052_583, -0.204_868], [0.114_503, 0.786_281, 0.099_216], [-0.003_882, -0.048_116, 1.051_998]],
        [[0.367_322, 0.860_646, -0.227_968], [0.280_085, 0.672_501, 0.047_413], [-0.011_820, 0.042_940, 0.968_881]],
        [[1.255_528, -0.076_749, -0.178_779], [-0.078_411, 0.930_809, 0.147_602], [0.004_733, 0.691_367, 0.303_900]],
        [[0.2126, 0.7152, 0.0722]; 3],
    ];

    fn seen(colour: Color32, eye: &[[f64; 3]; 3]) -> [f64; 3] {
        let linear = egui::Rgba::from(colour);
        let c = [linear.r(), linear.g(), linear.b()].map(f64::from);
        lab(eye.map(|row| row.iter().zip(c).map(|(m, v)| m * v).sum::<f64>().clamp(0.0, 1.0)))
    }

    fn apart(a: Color32, b: Color32, eye: &[[f64; 3]; 3]) -> f64 {
        seen(a, eye).iter().zip(seen(b, eye)).map(|(x, y)| (x - y).powi(2)).sum::<f64>().sqrt()
    }

    /// The same pairs as by day, and what by night lay nearest: gaps beside inspected yards, and both beside streets and the reach.
    #[test]
    fn fills_by_night_stay_apart_for_every_kind_of_eye_and_in_grey() {
        let fill = |ink: ink::ClassInk| map_ink(&ink, true).fill;
        let (gap, inspected) = (fill(ink::of_gap(Marking::NotVisited)), fill(ink::of_marking(Marking::NoWater)));
        let (breeds, street, warmed) = (fill(ink::of_marking(Marking::Larvae)), street(true).edge, reach(true).fill);
        let pairs = [
            (DARK.paper, breeds, 40.0),
            (inspected, breeds, 40.0),
            (gap, breeds, 40.0),
            (gap, DARK.paper, 25.0),
            (gap, warmed, 20.0),
            (gap, inspected, 12.0),
            (DARK.paper, inspected, 12.0),
            (warmed, inspected, 9.0),
            (street, inspected, 5.0),
            (street, DARK.paper, 9.0),
            (street, warmed, 5.0),
        ];
        for (eye, (a, b, least)) in EYES.iter().flat_map(|eye| pairs.map(move |p| (eye, p))) {
            assert!(apart(a, b, eye) >= least, "{a:?} {b:?}: {:.1} of {least} for {eye:?}", apart(a, b, eye));
        }
        for ink in Marking::ALL.into_iter().flat_map(|m| [ink::of_marking(m), ink::of_gap(m), ink::of_seen(m)]) {
            let drawn = map_ink(&ink, true);
            let ground = if ink.fill.is_some() { drawn.fill } else { DARK.paper };
            assert!(ink.mark == ink::Mark::None || contrast(drawn.mark_ink, ground) >= 3.0, "{ink:?}");
            assert!(ink.fill.is_some() || contrast(drawn.edge, DARK.paper) >= 3.0, "{ink:?}");
        }
    }

    /// No step of a ramp sinks into dark paper, dark goes on meaning much, and neighbours stay apart; the edge is lighter than its step.
    #[test]
    fn ramps_by_night_stand_out_from_dark_paper_and_stay_in_order() {
        for ramp in [ink::BREEDING, ink::SEEING] {
            let steps = ramp.map(|c| map_ink(&ink::ClassInk::filled(c), true));
            for step in steps {
                assert!(contrast(step.fill, DARK.paper) >= 3.0 && contrast(step.edge, DARK.paper) >= contrast(step.fill, DARK.paper) - 0.1);
            }
            assert!(contrast(steps[4].edge, DARK.paper) >= 5.0, "{:.2}", contrast(steps[4].edge, DARK.paper));
            for (eye, pair) in EYES.iter().flat_map(|eye| steps.windows(2).map(move |w| (eye, [w[0].fill, w[1].fill]))) {
                let [pale, dark] = pair.map(|c| seen(c, eye)[0]);
                assert!(pale - dark > 9.0 && apart(pair[0], pair[1], eye) > 10.0, "{pair:?} {pale:.1} {dark:.1}");
            }
            for (day, hatched) in ramp.iter().map(|c| (c, map_ink(&ink::ClassInk::filled(*c).with_hatching(), true))) {
                assert!(contrast(hatched.mark_ink, hatched.fill) >= 3.0, "{day:?}: {:.2}", contrast(hatched.mark_ink, hatched.fill));
            }
        }
        for step in ink::CHANGING {
            assert!(contrast(map_ink(&ink::ClassInk::filled(step), true).fill, DARK.paper) >= 3.0, "{step:?}");
        }
    }

    #[test]
    fn figures_all_have_one_width() {
        let ctx = Context::default();
        install(&ctx);
        ctx.run_ui(egui::RawInput::default(), |_| {}).textures_delta.clear();
        for font in [FontId::proportional(BODY), semibold(BODY), FontId::proportional(SMALL)] {
            let widths: Vec<f32> = ctx.fonts_mut(|f| ('0'..='9').map(|c| f.glyph_width(&font, c)).collect());
            assert!(widths.iter().all(|w| *w == widths[0]) && widths[0] > 4.0, "{widths:?}");
        }
    }
}
