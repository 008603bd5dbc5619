//! One class of the map as a small square, with its sign and its hatching.

use super::theme;
use crate::map::{self, Inks, SpotKind, spot};
use egui::{Color32, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, pos2, vec2};
use yardring_core::brief::ink::{ClassInk, Mark};

/// Width and height of a swatch, in points.
const SIZE: egui::Vec2 = vec2(22.0, 16.0);

/// Draws the swatch of a class.
pub fn show(ui: &mut Ui, ink: &ClassInk) {
    let (rect, _) = ui.allocate_exact_size(SIZE, Sense::hover());
    let night = ui.visuals().dark_mode;
    let mapped = theme::map_ink(ink, night);
    let rect = rect.shrink(1.0);
    let painter = ui.painter_at(rect.expand(1.0));
    painter.rect_filled(rect, 0, mapped.fill);
    if ink.hatched {
        hatch(&painter, rect, mapped.mark_ink);
    }
    if ink.dotted {
        dots(&painter, rect, mapped.mark_ink);
    }
    mark(&painter, rect, ink.mark, mapped.mark_ink);
    painter.rect_stroke(rect, 0, Stroke::new(mapped.edge_width, mapped.edge), StrokeKind::Inside);
}

fn hatch(painter: &egui::Painter, rect: Rect, colour: Color32) {
    let inside = painter.with_clip_rect(rect);
    let mut x = rect.left() - rect.height();
    while x < rect.right() {
        inside.line_segment([pos2(x, rect.bottom()), pos2(x + rect.height(), rect.top())], Stroke::new(1.0, colour));
        x += 5.0;
    }
}

fn dots(painter: &egui::Painter, rect: Rect, colour: Color32) {
    for (x, y) in [(4.0, 4.0), (13.0, 4.0), (8.5, 10.0), (17.5, 10.0)] {
        painter.circle_filled(rect.min + vec2(x, y), 1.2, colour);
    }
}

fn mark(painter: &egui::Painter, rect: Rect, mark: Mark, colour: Color32) {
    let stroke = Stroke::new(1.5, colour);
    let c = rect.center();
    match mark {
        Mark::None => {}
        Mark::SlantingStroke => drop(painter.line_segment([c + vec2(-4.0, 4.0), c + vec2(4.0, -4.0)], stroke)),
        Mark::Bar => drop(painter.line_segment([c + vec2(-6.0, 0.0), c + vec2(6.0, 0.0)], Stroke::new(2.5, colour))),
        Mark::LowerHalf => drop(painter.rect_filled(Rect::from_min_max(pos2(rect.left(), c.y), rect.max), 0, colour)),
        Mark::HollowDrop => drop(painter.add(Shape::closed_line(water_drop(c, 4.0), Stroke::new(1.2, colour)))),
        Mark::Drop => drop(painter.add(Shape::convex_polygon(water_drop(c, 4.5), colour, Stroke::NONE))),
        Mark::RingedDrop => {
            painter.add(Shape::convex_polygon(water_drop(c, 3.5), colour, Stroke::NONE));
            painter.circle_stroke(c, 6.0, Stroke::new(1.2, colour));
        }
    }
}

/// A drop: a round belly and a tip at the top.
fn water_drop(centre: Pos2, size: f32) -> Vec<Pos2> {
    let belly = centre + vec2(0.0, size * 0.25);
    let radius = size * 0.75;
    let mut points = vec![centre + vec2(0.0, -size)];
    // From the right shoulder round below to the left one.
    for i in 0..=10 {
        let angle = (-25.0 + 23.0 * i as f32).to_radians();
        points.push(belly + radius * vec2(angle.cos(), angle.sin()));
    }
    points
}

/// The reach as a swatch: its ground and its edge.
pub fn reach(ui: &mut Ui) {
    let (rect, _) = ui.allocate_exact_size(SIZE, Sense::hover());
    let ink = theme::reach(ui.visuals().dark_mode);
    let rect = rect.shrink(1.0);
    ui.painter().rect(rect, 6, ink.fill, Stroke::new(ink.edge_width, ink.edge), StrokeKind::Inside);
}

/// A stretch of a crew's walk with the mark of its stops, as on the map.
pub fn walk(ui: &mut Ui, crew: usize) {
    let (rect, _) = ui.allocate_exact_size(SIZE + vec2(14.0, 0.0), Sense::hover());
    let (tint, (dash, gap)) = theme::walk(crew, ui.visuals().dark_mode);
    let ends = [rect.left_center(), rect.right_center()];
    let stroke = Stroke::new(2.5, tint);
    if gap > 0.0 {
        ui.painter().extend(Shape::dashed_line(&ends, stroke, dash, gap));
    } else {
        ui.painter().line_segment(ends, stroke);
    }
    let paper = theme::tones(ui).paper;
    ui.painter().extend(map::stop(theme::stop(crew), rect.center(), 5.0, (tint, paper)));
}

/// The flag where crews meet.
pub fn flag(ui: &mut Ui, inks: &Inks) {
    let (rect, _) = ui.allocate_exact_size(SIZE + vec2(0.0, 10.0), Sense::hover());
    ui.painter().extend(map::flag(rect.center_bottom() - vec2(4.0, 3.0), inks));
}

/// The mark of something that has no premise yet.
pub fn unplaced(ui: &mut Ui, inks: &Inks) {
    let (rect, _) = ui.allocate_exact_size(SIZE + vec2(0.0, 6.0), Sense::hover());
    ui.painter().extend(map::unplaced(rect.center(), inks));
}

/// The dot of a source, with pupae or without.
pub fn dot(ui: &mut Ui, inks: &Inks, pupae: bool) {
    let (rect, _) = ui.allocate_exact_size(SIZE, Sense::hover());
    let ink = if pupae { inks.source_with_pupae } else { inks.source };
    ui.painter().circle(rect.center(), 4.0, ink, Stroke::new(1.0, inks.source_edge));
}

/// The sign of a trap or a complaint, as on the map.
pub fn sign(ui: &mut Ui, kind: SpotKind, inks: &Inks) {
    let (rect, _) = ui.allocate_exact_size(SIZE, Sense::hover());
    ui.painter().add(spot(kind, rect.center(), inks));
}
