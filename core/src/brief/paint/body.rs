//! The map itself: ground, streets, blocks, premises, signs and the edge of the reach.

use super::super::classes::{Classes, ColourBy};
use super::super::ink::{self, ClassInk, Mark, Rgb};
use super::canvas::Canvas;
use super::ground::Underlay;
use super::hatch;
use super::marks;
use super::sheet::Sheet;
use super::view::View;
use crate::job::{Cancelled, Watch};
use crate::place::{Shapes, inside};
use crate::reach::{Ground, Sources};
use crate::survey::{Signal, SignalKind, Survey};
use crate::walks::Day;
use rayon::prelude::*;
use tiny_skia::{Path, PathBuilder};

/// The ground inside flight range of the sources, to be drawn on a map.
pub struct Reach<'a> {
    pub ground: &'a Ground,
    pub sources: &'a Sources,
    /// Whether the sources are cases.
    pub of_cases: bool,
    /// The radius in pixels.
    pub radius_pixels: f32,
}

/// What is drawn.
pub struct Body<'a> {
    pub survey: &'a Survey,
    pub classes: &'a Classes,
    pub reach: Option<Reach<'a>>,
    /// The walks of a day, if they are drawn.
    pub walks: Option<&'a Day>,
    /// Pictures of the ground underneath. They show the streets themselves, and the reach must not hide them.
    pub ground: Option<&'a Underlay>,
    /// Draws cases where they are.
    pub unmasked: bool,
    /// Size of a pixel on the reference sheet of 1600 by 1200.
    pub unit: f32,
    /// How large a middling premise is in pixels.
    pub premise_pixels: f64,
    /// How large a middling block is in pixels; 0 where there is none with an outline.
    pub block_pixels: f64,
}

/// Rows of pixels that are painted in one go.
const BAND: u32 = 160;
/// Premises smaller than this many pixels get no outline of their own.
const LEAST_OUTLINED: f64 = 5.0;
/// Premises smaller than this many pixels get no sign.
const LEAST_MARKED: f64 = 9.0;
/// How much of the reach's ink lies over pictures of the ground.
const OVER_GROUND: f32 = 0.25;
/// So many yards and no more are drawn as dots from far out.
const MOST_SPECKS: usize = 1_000;
/// Half the height of a signal's sign in pixels of the reference sheet.
const SIGNAL: f32 = 9.0;

impl Body<'_> {
    /// Paints the map, band after band, all processors at work. The picture does not depend on how many there are.
    pub fn paint(&self, view: &View, watch: &dyn Watch) -> Result<Option<Canvas>, Cancelled> {
        let starts: Vec<u32> = (0..view.size.1).step_by(BAND as usize).collect();
        let bands: Result<Vec<Option<Canvas>>, Cancelled> = starts
            .par_iter()
            .map(|&from| {
                watch.step("painting the map", 0, 0)?;
                Ok(self.band(&view.band(from, (from + BAND).min(view.size.1))))
            })
            .collect();
        let Some(mut sheet) = Canvas::new(view.size.0, view.size.1, ink::PAPER) else { return Ok(None) };
        for (from, band) in starts.iter().zip(bands?) {
            let Some(band) = band else { return Ok(None) };
            sheet.lay(&band, 0, *from as i32);
        }
        Ok(Some(sheet))
    }

    fn band(&self, view: &View) -> Option<Canvas> {
        let mut canvas = Canvas::new(view.size.0, view.size.1, ink::PAPER)?;
        self.draw(view, &mut canvas);
        Some(canvas)
    }

    /// Draws the map on a sheet.
    pub fn draw(&self, view: &View, sheet: &mut dyn Sheet) {
        if let Some(ground) = self.ground {
            sheet.part("ground");
            let (x, y, scale) = ground.on(view);
            sheet.picture(&ground.pixels, (x, y), scale);
        }
        sheet.part("reach");
        let reach = self.reach.as_ref().map(|r| &r.ground.shapes);
        if let Some(path) = reach.and_then(|shapes| outlines(view, shapes, |_| true)) {
            match self.ground {
                Some(_) => sheet.wash(&path, ink::REACH, OVER_GROUND),
                None => sheet.fill_even_odd(&path, ink::REACH),
            }
        }
        sheet.part("streets");
        if self.ground.is_none() {
            self.streets(view, sheet);
        }
        sheet.part("fills");
        self.fills(view, sheet);
        sheet.part("outlines");
        self.edges(view, sheet);
        sheet.part("signs");
        self.signs(view, sheet);
        sheet.part("edge-of-reach");
        self.reach_edge(view, sheet);
    }

    /// A firm edge, thinner where the rings are small.
    fn reach_edge(&self, view: &View, sheet: &mut dyn Sheet) {
        let Some(reach) = &self.reach else { return };
        let Some(path) = outlines(view, &reach.ground.shapes, |_| true) else { return };
        let width = (reach.radius_pixels / 20.0).clamp(0.5 * self.unit, 1.8 * self.unit);
        if reach.radius_pixels > 20.0 * self.unit {
            sheet.line(&path, ink::SHEET, 2.2 * width);
        }
        sheet.line(&path, ink::REACH_EDGE, width);
    }

    fn streets(&self, view: &View, sheet: &mut dyn Sheet) {
        let lines = &self.survey.streets.line;
        let mut path = PathBuilder::new();
        for i in (0..lines.len()).filter(|&i| view.sees(&lines.bounds()[i], 20.0)) {
            view.add_runs(&mut path, lines.get(i));
        }
        if let Some(path) = path.finish() {
            let on_ground = (6.0 * view.scale) as f32;
            sheet.soft_line(&path, ink::LINE, on_ground.clamp(1.0, 14.0 * self.unit) + 1.4 * self.unit);
            sheet.soft_line(&path, ink::SHEET, on_ground.clamp(0.6, 14.0 * self.unit));
        }
    }

    /// Blocks in their class where they have an outline, premises elsewhere.
    fn fills(&self, view: &View, sheet: &mut dyn Sheet) {
        let (survey, classes) = (self.survey, self.classes);
        let outlined = |b: usize| !survey.blocks.outline.get(b).is_empty();
        let drawn_by_block = |p: usize| !classes.blocks.is_empty() && survey.premises.block[p].is_some_and(|b| outlined(b.row()));
        for (n, class) in classes.classes.iter().enumerate() {
            let blocks = outlines(view, &survey.blocks.outline, |b| classes.blocks.get(b).is_some_and(|&c| usize::from(c) == n));
            let premises = outlines(view, &survey.premises.outline, |p| usize::from(classes.premises[p]) == n && !drawn_by_block(p));
            for path in [blocks, premises].into_iter().flatten() {
                self.fill(sheet, &path, &class.ink);
            }
        }
        self.specks(view, sheet);
    }

    /// From far out, yards too few to make a tone would be smaller than a pixel and not be seen at all: each gets a dot.
    fn specks(&self, view: &View, sheet: &mut dyn Sheet) {
        let boxes = self.survey.premises.outline.bounds();
        if boxes.len() > MOST_SPECKS || self.premise_pixels >= f64::from(2.0 * self.unit) {
            return;
        }
        for (b, class) in boxes.iter().zip(&self.classes.premises).filter(|(b, _)| view.sees(b, 6.0)) {
            let class = &self.classes.classes[usize::from(*class)].ink;
            marks::dot(sheet, view.pixel(b.centre()), 1.6 * self.unit, class.fill.unwrap_or(class.edge));
        }
    }

    fn fill(&self, sheet: &mut dyn Sheet, path: &Path, class: &ClassInk) {
        if let Some(fill) = class.fill {
            sheet.fill(path, fill);
        }
        if class.hatched {
            let small = self.block_pixels < f64::from(24.0 * self.unit);
            let (apart, width) = if small { (5.0, 0.8) } else { (9.0, 1.1) };
            sheet.hatch(path, class.mark_ink, ((apart * self.unit).round() as u32).max(3), width * self.unit);
        }
        if class.dotted {
            let apart = if self.block_pixels < f64::from(24.0 * self.unit) { 5.0 } else { 9.0 };
            hatch::dots(path, apart * self.unit, 2.0 * self.unit).iter().for_each(|dots| sheet.fill(dots, class.mark_ink));
        }
    }

    /// Outlines of premises and blocks: quiet ones first, so that no neighbour hides a firm one, and those that warn last of all.
    fn edges(&self, view: &View, sheet: &mut dyn Sheet) {
        let (survey, classes) = (self.survey, self.classes);
        let hair = if self.premise_pixels < 2.0 * LEAST_OUTLINED { 0.6 } else { 1.0 };
        let mut order: Vec<usize> = (0..classes.classes.len()).filter(|&n| classes.classes[n].count > 0).collect();
        order.sort_by_key(|&n| (classes.classes[n].ink.firm, classes.classes[n].ink.edge == ink::WARNING));
        for n in order.into_iter().filter(|_| self.premise_pixels >= LEAST_OUTLINED) {
            let class = &classes.classes[n].ink;
            let ink = if classes.blocks.is_empty() { class.edge } else { self.inner_edge(class) };
            let width = if class.firm { class.edge_width().max(hair) } else { hair } * self.unit;
            if let Some(path) = outlines(view, &survey.premises.outline, |p| usize::from(classes.premises[p]) == n) {
                sheet.line(&path, ink, width);
            }
        }
        for (n, class) in classes.classes.iter().enumerate() {
            if let Some(path) = outlines(view, &survey.blocks.outline, |b| classes.blocks.get(b).is_some_and(|&c| usize::from(c) == n)) {
                let small = self.block_pixels < f64::from(24.0 * self.unit);
                let ink = if small && class.ink.fill.is_none() { ink::LINE } else { class.ink.edge };
                sheet.line(&path, ink, if small { 0.6 } else { 1.2 } * self.unit);
            }
        }
    }

    /// The edge of a premise inside a coloured block: only a shade off the block's own colour.
    fn inner_edge(&self, class: &ClassInk) -> Rgb {
        let ground = class.fill.unwrap_or(ink::PAPER);
        if ground.luminance() < 0.2 { ground.mixed(ink::PAPER, 0.25) } else { ground.mixed(ink::INK, 0.14) }
    }

    fn signs(&self, view: &View, sheet: &mut dyn Sheet) {
        if !self.classes.colour_by.by_premise() || self.premise_pixels < LEAST_MARKED {
            return;
        }
        let outlines = &self.survey.premises.outline;
        let seen = (0..outlines.len()).filter(|&p| view.sees(&outlines.bounds()[p], 0.0));
        for p in seen {
            let class = &self.classes.classes[usize::from(self.classes.premises[p])].ink;
            let shape = outlines.get(p);
            let side = (shape.area().sqrt() * view.scale) as f32;
            if class.mark == Mark::None || side < LEAST_MARKED as f32 {
                continue;
            }
            if class.mark == Mark::LowerHalf {
                marks::lower_half(sheet, view, shape, class.mark_ink);
            } else if let Some(place) = inside(shape) {
                let size = self.mark_size(side);
                marks::draw(sheet, class.mark, view.pixel(place), size, class);
            }
        }
    }

    /// The height of the mark in a yard with a side of so many pixels.
    pub fn mark_size(&self, side: f32) -> f32 {
        (0.62 * side).min(17.0 * self.unit)
    }

    /// Sources as filled dots where their premises are too small for a sign.
    pub fn sources(&self, view: &View, sheet: &mut dyn Sheet) {
        // A case is the middle of nothing.
        let Some(reach) = self.reach.as_ref().filter(|r| !r.of_cases) else { return };
        if !self.draws_dots() {
            return;
        }
        for source in reach.sources.list() {
            let place = source.premise.and_then(|p| inside(self.survey.premises.outline.get(p.row())));
            if let Some(place) = place {
                let ink = if source.pupae { ink::WARNING } else { ink::INK };
                let radius = (reach.radius_pixels / 7.0).clamp(0.9 * self.unit, 3.2 * self.unit);
                marks::dot(sheet, view.pixel(place), radius, ink);
            }
        }
    }

    /// Whether sources are drawn as dots: from near by the marks of their yards tell them.
    pub fn draws_dots(&self) -> bool {
        self.reach.as_ref().is_some_and(|r| !r.of_cases) && self.premise_pixels < LEAST_MARKED
    }

    /// Traps and complaints. A case is drawn only where somebody asked for it.
    pub fn signals(&self, view: &View, sheet: &mut dyn Sheet) {
        for signal in self.shown_signals() {
            marks::signal(sheet, signal.kind, view.pixel(signal.place), SIGNAL * self.unit);
        }
    }

    /// The boxes (left, top, right, bottom) that signals take up, in pixels.
    pub fn signal_boxes(&self, view: &View) -> Vec<[f32; 4]> {
        let half = SIGNAL * self.unit;
        let box_round = |(x, y): (f32, f32)| [x - half, y - half, x + half, y + half];
        self.shown_signals().map(|s| box_round(view.pixel(s.place))).collect()
    }

    fn shown_signals(&self) -> impl Iterator<Item = &Signal> {
        let (shown, unmasked) = (self.classes.colour_by == ColourBy::Gaps, self.unmasked);
        self.survey.signals.iter().filter(move |s| shown && (unmasked || s.kind != SignalKind::Case))
    }
}

/// The outlines of some shapes that can be seen, as one path.
fn outlines(view: &View, shapes: &Shapes, wanted: impl Fn(usize) -> bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (i, bounds) in shapes.bounds().iter().enumerate() {
        if wanted(i) && view.sees(bounds, 6.0) {
            view.add(&mut path, shapes.get(i));
        }
    }
    path.finish()
}
