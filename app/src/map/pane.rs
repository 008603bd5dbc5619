//! The map widget: panning, zooming, pointing, and the order in which things are drawn.

use super::camera::{self, CLOSEST, Camera, Look, Plat};
use super::gpu::{Painting, Pass};
use super::pick::premise_at;
use super::scene::{Scene, Sheet};
use super::{labels, measured, numbers, overlay, pointed, scale_bar};
use egui::{Key, Response, Ui, Vec2};
use tracing::trace_span;
use walkers::Position;
use yardring_core::place::{Bounds, Local, LonLat, Shapes, WebTile};
use yardring_core::survey::PremiseId;

/// Points of the screen that an arrow key moves the map by.
const KEY_STEP: f32 = 80.0;

/// Points of the reach's radius from which on its edge is firm.
const FIRM_REACH: f32 = 24.0;
/// Most outlines looked at to see what a legend would hide.
const MOST_LOOKED_AT: usize = 2_000;

/// A box that was fitted: where the map looked then, how large it was, and the corner that was kept free.
#[derive(Clone, Copy, Debug)]
struct Fit {
    extent: Bounds,
    look: Look,
    size: Vec2,
    aside: Vec2,
}

/// Where the map looks, kept from frame to frame.
#[derive(Clone, Debug, Default)]
pub struct MapMemory {
    walkers: walkers::MapMemory,
    placed: bool,
    to_fit: Option<Bounds>,
    camera: Option<Camera>,
    aside: Vec2,
    fitted: Option<Fit>,
    /// The first fit may still be mended: what is shown first has not all come.
    provisional: bool,
    /// How large the map was when it was shown last, and the whole window.
    size: Option<(Vec2, Vec2)>,
    middles: numbers::Middles,
    tried: labels::Tried,
    seen: Option<Look>,
    rested: bool,
}

impl MapMemory {
    /// Shows a place in the middle, at least as near as `zoom`.
    pub fn fly_to(&mut self, place: Local, zoom: f64) {
        (self.placed, self.to_fit) = (true, None);
        self.look_at(place);
        self.set_zoom(zoom.max(self.zoom()));
    }

    /// Shows a box, as large as it goes. An empty box changes nothing.
    pub fn fly_to_extent(&mut self, extent: Bounds) {
        if !extent.is_empty() {
            self.to_fit = Some(extent);
        }
    }

    /// Shows what was looked at before.
    pub fn look_again(&mut self, look: Look) {
        (self.placed, self.to_fit) = (true, None);
        self.look_at(look.centre);
        self.set_zoom(look.zoom);
    }

    /// Keeps a corner of the map free when a box is fitted: the lower right one, where a legend lies. Until all that is shown first
    /// has come the first fit makes room for it; afterwards a legend that becomes larger or smaller moves nothing: whoever compares
    /// two measures sees the same ground.
    pub fn set_aside(&mut self, corner: Vec2, all_has_come: bool) {
        let grown = corner.x > self.aside.x + 0.5 || corner.y > self.aside.y + 0.5;
        if self.provisional && self.to_fit.is_none() {
            self.to_fit = self.fitted_untouched().filter(|_| grown);
            self.provisional = grown || !all_has_come;
        }
        self.aside = corner;
    }

    /// What was fitted last, as long as nobody has moved the map since.
    fn fitted_untouched(&self) -> Option<Bounds> {
        let now = Look { centre: self.centre(), zoom: self.zoom() };
        self.fitted.filter(|f| f.look == now).map(|f| f.extent)
    }

    /// What is seen stays where it is on the screen when the map becomes wider or higher, as when the worksheet is folded. Until all
    /// that is shown first has come it is fitted anew, and so it is when the whole window changes its size before somebody has
    /// moved the map.
    fn keep_in_place(&mut self, size: Vec2, window: Vec2) {
        let before = self.size.replace((size, window));
        let Some((before, window_before)) = before.filter(|(before, _)| *before != size && self.placed) else { return };
        if self.provisional || window_before != window {
            self.to_fit = self.to_fit.or(self.fitted_untouched());
            return;
        }
        let grown = size - before;
        let (centre, scale) = (self.centre(), camera::points_per_metre(self.zoom()));
        let half = |points: f32| f64::from(points) / 2.0 / scale;
        self.look_at(Local { x: centre.x + half(grown.x), y: centre.y - half(grown.y) });
    }

    /// Comes one step nearer.
    pub fn zoom_in(&mut self) {
        self.zoom_by(1.0);
    }

    /// Goes one step back.
    pub fn zoom_out(&mut self) {
        self.zoom_by(-1.0);
    }

    /// The zoom: 0 shows half the globe, each whole step doubles the scale.
    pub fn zoom(&self) -> f64 {
        self.walkers.zoom()
    }

    /// Where the map looked when it was last shown; `None` before.
    pub fn camera(&self) -> Option<Camera> {
        self.camera
    }

    fn zoom_by(&mut self, steps: f64) {
        self.set_zoom(self.zoom() + steps);
    }

    /// Shows the same middle at another zoom; beyond 0 to [`CLOSEST`] it is the nearest of them.
    pub fn set_zoom(&mut self, zoom: f64) {
        // clamped, so it cannot be refused
        let _ = self.walkers.set_zoom(zoom.clamp(0.0, CLOSEST));
    }

    fn look_at(&mut self, place: Local) {
        self.walkers.center_at(Position::new(place.x, place.y));
    }

    fn centre(&self) -> Local {
        let p = self.walkers.detached().unwrap_or_default();
        Local { x: p.x(), y: p.y() }
    }

    /// Where the map looks now, when it has just come to rest there.
    fn rest(&mut self, ctx: &egui::Context) -> Option<Look> {
        let now = Look { centre: self.centre(), zoom: self.zoom() };
        if self.seen != Some(now) {
            (self.seen, self.rested) = (Some(now), false);
            // one more frame, to see whether it goes on moving
            ctx.request_repaint();
        } else if !self.rested {
            self.rested = true;
            return Some(now);
        }
        None
    }

    /// Where a box is seen as large as it goes, hardly any of what is in it hidden by the corner that is taken.
    fn fit(&self, scene: &Scene, extent: Bounds, size: Vec2) -> Fit {
        let content = content(&scene.outlines, &extent);
        let (zoom, shift) = camera::fit_beside(&extent, size, self.aside, &content);
        let (centre, scale) = (extent.centre(), camera::points_per_metre(zoom));
        let centre = Local { x: centre.x + f64::from(shift.x) / scale, y: centre.y - f64::from(shift.y) / scale };
        Fit { extent, look: Look { centre, zoom }, size, aside: self.aside }
    }

    /// Fits the first scene that holds something, or what was asked for since the last frame.
    fn settle(&mut self, scene: &Scene, size: Vec2, window: Vec2) {
        self.keep_in_place(size, window);
        let extent = &scene.extent;
        if !self.placed && !extent.is_empty() {
            self.to_fit.get_or_insert(*extent);
            self.provisional = true;
        }
        if let Some(extent) = self.to_fit.take() {
            self.placed = true;
            // The same box leads back to the same view, as long as no more of the map is taken.
            let free = |f: &Fit| f.extent == extent && f.size == size && self.aside.x <= f.aside.x + 0.5 && self.aside.y <= f.aside.y + 0.5;
            let fit = self.fitted.filter(free).unwrap_or_else(|| self.fit(scene, extent, size));
            self.look_at(fit.look.centre);
            self.set_zoom(fit.look.zoom);
            let look = Look { centre: self.centre(), zoom: self.zoom() };
            self.fitted = Some(Fit { look, ..fit });
        }
        if self.walkers.detached().is_none() {
            self.look_at(Local { x: 0.0, y: 0.0 });
        }
    }
}

/// Boxes of what lies in a part of the ground: of some premises, evenly chosen, or where these are few of cells of the ground.
fn content(outlines: &Shapes, extent: &Bounds) -> Vec<Bounds> {
    let boxes = outlines.bounds();
    let some = boxes.iter().step_by(boxes.len() / MOST_LOOKED_AT + 1);
    let chosen: Vec<Bounds> = some.filter(|b| !b.is_empty() && b.touches(extent)).copied().collect();
    if chosen.len() >= 200 {
        return chosen;
    }
    let corner = |i: u32, j: u32| Local {
        x: extent.min.x + extent.width() * f64::from(i) / 20.0,
        y: extent.min.y + extent.height() * f64::from(j) / 20.0,
    };
    (0..400).map(|k| Bounds { min: corner(k % 20, k / 20), max: corner(k % 20 + 1, k / 20 + 1) }).collect()
}

/// What the pointer did on the map in this frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MapEvents {
    /// The premise under the pointer.
    pub hovered: Option<PremiseId>,
    /// The premise that was clicked.
    pub clicked: Option<PremiseId>,
    /// The place that was clicked, whether or not a premise lies there.
    pub clicked_place: Option<Local>,
    /// The premise that was clicked twice in a row.
    pub double_clicked: Option<PremiseId>,
    /// The place under the pointer.
    pub pointer_place: Option<Local>,
    /// The same place in degrees.
    pub pointer: Option<LonLat>,
    /// The place in the middle, when Enter was pressed there while a distance is measured.
    pub typed_place: Option<Local>,
    /// Where the map looks, when it has just come to rest there.
    pub at_rest: Option<Look>,
    /// The tiles of the ground that are in view, those next to the middle first.
    pub tiles: Vec<WebTile>,
}

/// The map widget.
#[derive(Clone, Copy, Debug)]
pub struct MapPane;

impl MapPane {
    /// Shows a scene in all the space there is, and tells what the pointer did.
    pub fn show(ui: &mut Ui, scene: &Scene, memory: &mut MapMemory) -> MapEvents {
        let size = ui.available_size();
        memory.settle(scene, size, ui.ctx().content_rect().size());
        ui.painter().rect_filled(ui.available_rect_before_wrap(), 0.0, scene.inks.paper);
        let shown = walkers::Map::new(None, &mut memory.walkers, Position::default())
            .with_projection(&Plat)
            .zoom_with_ctrl(false)
            .double_click_to_zoom(false)
            .show(ui, |_, _, _, _| ());
        let response = shown.response;
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, "Map"));
        keys(ui, &response, memory);
        let camera = Camera { rect: response.rect, centre: memory.centre(), points_per_metre: camera::points_per_metre(memory.zoom()) };
        memory.camera = Some(camera);
        let mut events = point(scene, &response, &camera);
        events.at_rest = memory.rest(ui.ctx());
        events.typed_place =
            (scene.measured.is_some() && response.has_focus() && ui.input(|i| i.key_pressed(Key::Enter))).then_some(camera.centre);
        let painter = ui.painter_at(response.rect);
        if let Some(ground) = &scene.ground {
            events.tiles = ground.needed(&scene.frame, &camera, ui.ctx().pixels_per_point());
            ground.paint(&painter, &camera, &events.tiles, &scene.inks);
        }
        let painting = painting(scene, &camera);
        if trace_span!("far view coloured").in_scope(|| painting.go_on_colouring()) {
            ui.ctx().request_repaint();
        }
        painting.paint(&painter);
        let signs = overlay::signs(scene, &camera);
        if let Some(streets) = &scene.street_names {
            trace_span!("street names").in_scope(|| labels::paint(&painter, streets, &camera, &scene.inks, &signs, &mut memory.tried));
        }
        trace_span!("house numbers").in_scope(|| numbers::paint(&painter, scene, &camera, &signs, &mut memory.middles));
        trace_span!("what lies over").in_scope(|| overlay::paint(&painter, scene, &camera, events.hovered));
        measured::paint(&painter, scene, &camera, events.pointer_place, response.has_focus());
        foot(&painter, scene, &camera, memory.aside.x, &events);
        notice_focus(&painter, scene, &response);
        events
    }
}

/// The map's foot: the scale bar, what the map shows, where the pointer is, and who made the ground.
fn foot(painter: &egui::Painter, scene: &Scene, camera: &Camera, taken: f32, events: &MapEvents) {
    let mut map = camera.rect;
    if let Some(ground) = scene.ground.as_ref() {
        map.max.y -= scale_bar::attribution(painter, map, &ground.attribution, &scene.inks);
    }
    scale_bar::paint(painter, map, camera.points_per_metre, &scene.inks);
    let degrees = events.pointer.map_or_else(String::new, pointed::degrees);
    let county = scene.county.as_ref().zip(events.pointer_place).map_or_else(String::new, |(grid, place)| grid.words(place));
    let between = if degrees.is_empty() || county.is_empty() { "" } else { " · " };
    scale_bar::caption(painter, map, taken, [&scene.caption, &format!("{degrees}{between}{county}")], &scene.inks);
}

/// A line round the map while it has the keyboard.
fn notice_focus(painter: &egui::Painter, scene: &Scene, response: &Response) {
    if response.has_focus() {
        let line = egui::Stroke::new(2.0, scene.inks.selection);
        painter.rect_stroke(response.rect.shrink(1.0), 0.0, line, egui::StrokeKind::Inside);
    }
}

/// What the keyboard asks for while the map has it.
fn keys(ui: &Ui, response: &Response, memory: &mut MapMemory) {
    if response.clicked() {
        response.request_focus();
    }
    if !response.has_focus() {
        return;
    }
    let arrows = egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, arrows));
    let (pan, zoom) = ui.input(|i| {
        let pressed = |key| f32::from(u8::from(i.key_pressed(key)));
        let east = pressed(Key::ArrowRight) - pressed(Key::ArrowLeft);
        let north = pressed(Key::ArrowUp) - pressed(Key::ArrowDown);
        let nearer = pressed(Key::Plus).max(pressed(Key::Equals)) - pressed(Key::Minus);
        (Vec2::new(east, north) * KEY_STEP, f64::from(nearer))
    });
    if pan != Vec2::ZERO {
        let scale = camera::points_per_metre(memory.zoom());
        let c = memory.centre();
        memory.look_at(Local { x: c.x + f64::from(pan.x) / scale, y: c.y + f64::from(pan.y) / scale });
    }
    if zoom != 0.0 {
        memory.zoom_by(zoom);
    }
}

/// What lies under the pointer and what was clicked.
fn point(scene: &Scene, response: &Response, camera: &Camera) -> MapEvents {
    let Some(at) = response.hover_pos().or_else(|| response.interact_pointer_pos()) else { return MapEvents::default() };
    let place = camera.on_ground(at);
    let under = premise_at(&scene.outlines, &scene.index, place);
    MapEvents {
        hovered: under.filter(|_| !response.dragged()),
        clicked: under.filter(|_| response.clicked()),
        clicked_place: response.clicked().then_some(place),
        double_clicked: under.filter(|_| response.double_clicked()),
        pointer_place: Some(place),
        pointer: Some(scene.frame.lon_lat_from_local(place)),
        ..MapEvents::default()
    }
}

/// How firmly edges are drawn: not at all where a typical outline is smaller than `from` points, whole from twice that.
fn edge_fade(sheet: &Sheet, camera: &Camera, from: f64) -> f32 {
    let points = sheet.layer.typical_side() * camera.points_per_metre;
    ((points / from) - 1.0).clamp(0.0, 1.0) as f32
}

/// How firmly the edge of the reach is drawn: far out, where rings are small and many, it must not cover the yards; paper thins it.
fn reach_fade(scene: &Scene, camera: &Camera) -> f32 {
    let radius = (scene.reach_radius * camera.points_per_metre) as f32;
    if scene.reach_radius > 0.0 { (radius / FIRM_REACH).clamp(0.25, 1.0) } else { 1.0 }
}

/// The sheets in the order they lie on one another.
fn painting(scene: &Scene, camera: &Camera) -> Painting {
    let mut painting = Painting { camera: *camera, sheets: Vec::new(), order: Vec::new() };
    let mut on_top = Vec::new();
    let mut add = |sheet: &Option<Sheet>, fade: &dyn Fn(&Sheet) -> f32, below: &[Pass], above: &[Pass]| {
        if let Some(sheet) = sheet {
            let (i, fade) = (painting.sheets.len(), fade(sheet));
            painting.sheets.push((sheet.clone(), fade));
            let seen = |p: &&Pass| **p != Pass::Edges || fade > 0.0;
            painting.order.extend(below.iter().filter(seen).map(|&p| (i, p)));
            on_top.extend(above.iter().filter(seen).map(|&p| (i, p)));
        }
    };
    add(&scene.reach, &|_| reach_fade(scene, camera), &[Pass::Fills], &[Pass::Edges]);
    add(&scene.blocks, &|s| edge_fade(s, camera, 12.0), &[Pass::Fills], &[Pass::Edges]);
    let right_of_way = 16.0 * camera.points_per_metre;
    add(&scene.streets, &|_| (right_of_way / 1.5).min(1.0) as f32, &[Pass::Edges], &[]);
    add(&scene.premises, &|s| edge_fade(s, camera, 5.0), &[Pass::Fills, Pass::Edges, Pass::Marks], &[]);
    on_top.reverse();
    painting.order.extend(on_top);
    painting
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ui::theme;
    use egui::{Pos2, Rect, vec2};
    use yardring_core::place::Frame;

    /// On paper the edge is as thin far out as here it is faint: see `brief`.
    #[test]
    fn the_edge_of_the_reach_steps_back_from_far_out() {
        let scene =
            Scene { reach_radius: 150.0, ..Scene::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }), theme::map_inks(false)) };
        let fade = |points_per_metre: f64| {
            let rect = Rect::from_min_size(Pos2::ZERO, vec2(800.0, 600.0));
            reach_fade(&scene, &Camera { rect, centre: Local { x: 0.0, y: 0.0 }, points_per_metre })
        };
        assert_eq!((fade(1.0), fade(0.16), fade(0.001)), (1.0, 1.0, 0.25));
        assert!((fade(0.08) - 0.5).abs() < 1e-6, "{}", fade(0.08));
    }
}
