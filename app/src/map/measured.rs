//! A distance being measured: the way clicked so far, on to the pointer.

use super::camera::Camera;
use super::scene::Scene;
use egui::{Align2, Painter, Pos2, Rect, Shape, Stroke, Vec2};
use yardring_core::place::Local;

/// Draws the way, its corners, and a cross in the middle of the map where the keyboard sets the next one.
pub(super) fn paint(painter: &Painter, scene: &Scene, camera: &Camera, pointer: Option<Local>, keyboard: bool) {
    let Some(way) = &scene.measured else { return };
    let (line, around) = (Stroke::new(2.0, scene.inks.selection), Stroke::new(5.0, scene.inks.paper));
    let mut points: Vec<Pos2> = way.iter().map(|p| camera.on_screen(*p)).collect();
    let corners = points.len();
    let next = if keyboard { Some(camera.rect.center()) } else { pointer.map(|p| camera.on_screen(p)) };
    points.extend(next.filter(|_| corners > 0));
    painter.add(Shape::line(points.clone(), around));
    painter.extend(Shape::dashed_line(&points, line, 7.0, 3.0));
    for (i, at) in points[..corners].iter().enumerate() {
        painter.circle(*at, 4.0, scene.inks.paper, line);
        if i == 0 {
            let font = egui::TextStyle::Small.resolve(painter.ctx().global_style().as_ref());
            let galley = painter.layout_no_wrap("start".to_owned(), font, scene.inks.words);
            let box_ = Align2::LEFT_BOTTOM.anchor_size(*at + Vec2::new(6.0, -4.0), galley.size());
            painter.rect_filled(box_.expand(2.0), 3.0, scene.inks.paper.gamma_multiply(0.85));
            painter.galley(box_.min, galley, scene.inks.words);
        }
    }
    if keyboard {
        cross(painter, camera.rect, around, line);
    }
}

fn cross(painter: &Painter, map: Rect, around: Stroke, line: Stroke) {
    let at = map.center();
    for stroke in [around, line] {
        painter.line_segment([at - Vec2::new(9.0, 0.0), at + Vec2::new(9.0, 0.0)], stroke);
        painter.line_segment([at - Vec2::new(0.0, 9.0), at + Vec2::new(0.0, 9.0)], stroke);
    }
}
