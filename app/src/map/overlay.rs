//! What lies over the layers and is few enough to be drawn anew in every frame: walks, sources, signals, what is lit up.

use super::camera::Camera;
use super::gpu::FEWEST_FOR_A_QUILT;
use super::pick::premise_at;
use super::scene::{Inks, Mark, Scene, SourceSpot, SpotKind, StopMark, StopShape, WalkLine};
use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, Vec2};
use yardring_core::place::Local;
use yardring_core::survey::PremiseId;

/// Points of an outline's narrower side from which on the drop in it is drawn: see the shader.
const ROOM_FOR_A_DROP: f64 = 7.5;
/// Points between the numbers of a walk below which they are left out.
const ROOM_FOR_NUMBERS: f64 = 22.0;

/// From far out, premises too few for a quilt would be smaller than a point and not be seen at all: each gets a dot.
fn paint_far_off(painter: &Painter, scene: &Scene, camera: &Camera) {
    let Some(sheet) = &scene.premises else { return };
    if scene.outlines.len() >= FEWEST_FOR_A_QUILT || sheet.layer.typical_side() * camera.points_per_metre > 2.0 {
        return;
    }
    scene.index.each_touching(&camera.view(), |i| {
        let class = sheet.classes.get(i).copied().unwrap_or(0);
        let bounds = scene.outlines.bounds().get(i).filter(|b| !b.is_empty());
        if let Some((ink, bounds)) = sheet.inks.get(usize::from(class)).zip(bounds) {
            let fill = if ink.fill.a() == 255 { ink.fill } else { ink.edge };
            painter.circle(camera.on_screen(bounds.centre()), 2.0, fill, Stroke::new(0.5, scene.inks.words));
        }
    });
}

/// Draws everything over the layers. `hovered` is the premise under the pointer.
pub(super) fn paint(painter: &Painter, scene: &Scene, camera: &Camera, hovered: Option<PremiseId>) {
    let view = camera.rect.expand(16.0);
    paint_far_off(painter, scene, camera);
    for walk in &scene.walks {
        paint_walk(painter, scene, camera, walk);
    }
    paint_sources(painter, scene, camera, view);
    for spot in scene.signals.iter() {
        let at = camera.on_screen(spot.place);
        if view.contains(at) {
            painter.add(self::spot(spot.kind, at, &scene.inks));
        }
    }
    for &id in &scene.lit {
        outline(painter, scene, camera, id, 1.5, scene.inks.hover);
    }
    for id in [hovered, scene.pointed_at].into_iter().flatten().filter(|id| Some(*id) != scene.selected) {
        outline(painter, scene, camera, id, 2.0, scene.inks.hover);
    }
    if let Some(id) = scene.selected {
        outline(painter, scene, camera, id, 3.0, scene.inks.selection);
    }
    // Above the chosen yard: its own stop is the one somebody looks for.
    for walk in &scene.walks {
        paint_stops(painter, scene, camera, walk, view);
    }
    let put = |place: Option<Local>, sign: fn(Pos2, &Inks) -> Vec<Shape>| {
        if let Some(at) = place.map(|p| camera.on_screen(p)).filter(|at| view.contains(*at)) {
            painter.extend(sign(at, &scene.inks));
        }
    };
    put(scene.meeting_point, flag);
    put(scene.unplaced, unplaced);
}

/// A strong line round a premise with a thin light one outside it, seen on any fill; a ring where the outline would be too
/// small to see.
fn outline(painter: &Painter, scene: &Scene, camera: &Camera, id: PremiseId, width: f32, ink: Color32) {
    if id.row() >= scene.outlines.len() {
        return;
    }
    let shape = scene.outlines.get(id.row());
    let bounds = shape.bounds();
    if shape.is_empty() || !bounds.touches(&camera.view()) {
        return;
    }
    let around = Stroke::new(width + 2.5, scene.inks.paper);
    let line = Stroke::new(width, ink);
    if bounds.width().max(bounds.height()) * camera.points_per_metre < 7.0 {
        let at = camera.on_screen(bounds.centre());
        painter.circle_stroke(at, 6.0, around);
        painter.circle_stroke(at, 6.0, line);
        return;
    }
    for stroke in [around, line] {
        for ring in shape.rings() {
            let points = ring.iter().map(|&p| camera.on_screen(p)).collect();
            painter.add(Shape::closed_line(points, stroke));
        }
    }
}

/// Dots, smaller where many fall close together far out. Near, they step aside so that the yard's own mark stays to be seen; where
/// that is the drop, it tells the source itself.
fn paint_sources(painter: &Painter, scene: &Scene, camera: &Camera, view: Rect) {
    let radius = (camera.points_per_metre * 12.0).clamp(0.7, 4.0) as f32;
    let edge = if radius < 2.5 { Stroke::NONE } else { Stroke::new(1.0, scene.inks.source_edge) };
    let aside = (camera.points_per_metre * 7.0).min(13.0) as f32;
    for source in scene.sources.iter() {
        let at = camera.on_screen(source.place) + Vec2::new(aside, -aside);
        if view.contains(at) && !marked(scene, camera, source) {
            let ink = if source.pupae { scene.inks.source_with_pupae } else { scene.inks.source };
            painter.circle(at, radius, ink, edge);
        }
    }
}

/// Whether the yard of a source has a drop that is large enough to be drawn.
fn marked(scene: &Scene, camera: &Camera, source: &SourceSpot) -> bool {
    let Some(sheet) = scene.premises.as_ref().filter(|s| s.layer.typical_side() * camera.points_per_metre > 1.0) else { return false };
    let Some(id) = premise_at(&scene.outlines, &scene.index, source.place) else { return false };
    let class = sheet.classes.get(id.row()).copied().unwrap_or(0);
    let drop = sheet.inks.get(usize::from(class)).is_some_and(|ink| matches!(ink.mark, Mark::Drop | Mark::RingedDrop));
    let bounds = scene.outlines.get(id.row()).bounds();
    drop && bounds.width().min(bounds.height()) * camera.points_per_metre >= ROOM_FOR_A_DROP
}

/// The boxes that signs of signals and the scale bar take up.
pub(super) fn signs(scene: &Scene, camera: &Camera) -> Vec<Rect> {
    let signs = scene.signals.iter().map(|s| Rect::from_center_size(camera.on_screen(s.place), Vec2::splat(16.0)));
    let bar = Rect::from_min_size(camera.rect.left_bottom() + Vec2::new(0.0, -56.0), Vec2::new(180.0, 56.0));
    signs.filter(|r| camera.rect.intersects(*r)).chain([bar]).collect()
}

/// The sign of a signal, as on paper: a triangle for a trap, a square on its corner for a complaint, pale inside a dark line.
pub fn spot(kind: SpotKind, at: Pos2, inks: &Inks) -> Shape {
    let corners: &[Vec2] = match kind {
        SpotKind::Trap => &[Vec2::new(0.0, -6.8), Vec2::new(6.8, 5.4), Vec2::new(-6.8, 5.4)],
        SpotKind::Complaint => &[Vec2::new(0.0, -7.2), Vec2::new(7.2, 0.0), Vec2::new(0.0, 7.2), Vec2::new(-7.2, 0.0)],
    };
    let points = corners.iter().map(|&c| at + c).collect();
    Shape::convex_polygon(points, inks.source_edge, Stroke::new(2.4, inks.source))
}

fn paint_walk(painter: &Painter, scene: &Scene, camera: &Camera, walk: &WalkLine) {
    let way: Vec<Pos2> = walk.way.iter().map(|&p| camera.on_screen(p)).collect();
    painter.add(Shape::line(way.clone(), Stroke::new(5.0, scene.inks.paper)));
    let stroke = Stroke::new(2.5, walk.tint);
    let (dash, gap) = walk.pattern;
    let points: f32 = way.windows(2).map(|w| w[0].distance(w[1])).sum();
    if dash > 0.0 && gap > 0.0 && points / (dash + gap) < 5_000.0 {
        painter.extend(Shape::dashed_line(&way, stroke, dash, gap));
    } else {
        painter.add(Shape::line(way, stroke));
    }
}

fn paint_stops(painter: &Painter, scene: &Scene, camera: &Camera, walk: &WalkLine, view: Rect) {
    let numbered = spacing(&walk.stops) * camera.points_per_metre >= ROOM_FOR_NUMBERS;
    for (k, &place) in walk.stops.iter().enumerate() {
        let at = camera.on_screen(place);
        if !view.contains(at) {
            continue;
        }
        painter.extend(stop(walk.stop, at, if numbered { 9.0 } else { 3.5 }, (walk.tint, scene.inks.paper)));
        if numbered {
            let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
            let figure = if walk.stop.hollow { walk.tint } else { scene.inks.paper };
            painter.text(at, egui::Align2::CENTER_CENTER, (k + 1).to_string(), font, figure);
        }
    }
}

/// The mark of a stop: about as large as a disc of some radius, in the crew's tint and the colour of the paper.
pub fn stop(mark: StopMark, at: Pos2, radius: f32, (tint, paper): (Color32, Color32)) -> Vec<Shape> {
    let (fill, line) = if mark.hollow { (paper, Stroke::new(2.0, tint)) } else { (tint, Stroke::new(1.5, paper)) };
    let corners: [Vec2; 4] = match mark.shape {
        StopShape::Disc => {
            let around = Shape::circle_filled(at, radius + 1.5, paper);
            return vec![around, Shape::circle_filled(at, radius, fill), Shape::circle_stroke(at, radius, line)];
        }
        StopShape::Square => [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| Vec2::new(x, y) * 0.92 * radius),
        StopShape::Diamond => [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)].map(|(x, y)| Vec2::new(x, y) * 1.38 * radius),
    };
    let around = Shape::convex_polygon(corners.map(|c| at + c * (1.0 + 1.5 / radius)).to_vec(), paper, Stroke::NONE);
    vec![around, Shape::convex_polygon(corners.map(|c| at + c).to_vec(), fill, line)]
}

/// A filled flag on its pole: walks begin and end here.
pub fn flag(at: Pos2, inks: &Inks) -> Vec<Shape> {
    let edge = Stroke::new(1.5, inks.paper);
    let cloth = [Vec2::new(0.0, -22.0), Vec2::new(15.0, -17.0), Vec2::new(0.0, -12.0)].map(|v| at + v).to_vec();
    let pole = [at, at + Vec2::new(0.0, -22.0)];
    vec![
        Shape::line_segment(pole, Stroke::new(4.5, inks.paper)),
        Shape::convex_polygon(cloth, inks.words, edge),
        Shape::line_segment(pole, Stroke::new(2.0, inks.words)),
        Shape::circle_filled(at, 4.0, inks.words),
        Shape::circle_stroke(at, 4.0, edge),
    ]
}

/// A cross in a ring: something was taken here that has no premise yet.
pub fn unplaced(at: Pos2, inks: &Inks) -> Vec<Shape> {
    let mut out = Vec::new();
    for stroke in [Stroke::new(5.5, inks.paper), Stroke::new(2.5, inks.unplaced)] {
        out.push(Shape::circle_stroke(at, 8.0, stroke));
        for (x, y) in [(4.0, 4.0), (4.0, -4.0)] {
            out.push(Shape::line_segment([at - Vec2::new(x, y), at + Vec2::new(x, y)], stroke));
        }
    }
    out
}

/// Metres from one stop to the next, on average.
fn spacing(stops: &[Local]) -> f64 {
    let total: f64 = stops.windows(2).map(|w| w[0].distance(w[1])).sum();
    if stops.len() > 1 { total / (stops.len() - 1) as f64 } else { f64::INFINITY }
}
