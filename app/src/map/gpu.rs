//! The only place that talks to the graphics card: layers are laid once and drawn every frame.
//!
//! A layer's corners never change after it is laid. The class of each outline is one byte in a small texture, so that another
//! colouring uploads a byte an outline; the ink of each class is in a table of 32 rows.

mod card;
mod patchwork;
mod pipelines;

pub use self::card::{Card, Drawing, by_the_processor};
use self::patchwork::Patchwork;
use self::pipelines::PipelineMaker;
use super::camera::Camera;
use super::quilt::{Quilt, Spot};
use super::scene::{ClassInk, MOST_CLASSES, Sheet};
use super::tessellate::{self, Kind, Piece, SIZES, Share};
use eframe::egui_wgpu::{self, wgpu};
use egui::Color32;
use rayon::prelude::*;
use std::num::NonZeroU64;
use std::sync::{Arc, Mutex, PoisonError};
use wgpu::util::DeviceExt as _;
use yardring_core::job::{Cancelled, Watch};
use yardring_core::place::{Bounds, Local, Shapes};

/// Outlines to a row of the class texture; the shader counts on it.
const ROW: u32 = 2048;
/// Bytes of a corner.
const CORNER_STEP: u64 = size_of::<tessellate::Corner>() as u64;
/// Fewest outlines that a quilt is sewn for; fewer are drawn as they are, however small.
pub(super) const FEWEST_FOR_A_QUILT: usize = 1_000;
/// Points of the screen below which a typical outline is drawn as part of the quilt.
const QUILT_BELOW: f64 = 3.5;
/// Bytes from one piece's view to the next; every card accepts offsets of this step.
const VIEW_STEP: u64 = 256;

/// What is needed to lay layers on the graphics card. Cheap to clone, and may be handed to a job.
#[derive(Clone)]
pub struct Brush(Arc<Tools>);

struct Tools {
    device: wgpu::Device,
    queue: wgpu::Queue,
    layout: wgpu::BindGroupLayout,
    fill: wgpu::RenderPipeline,
    edge: wgpu::RenderPipeline,
    mark: wgpu::RenderPipeline,
    tile: wgpu::RenderPipeline,
    picture_layout: wgpu::BindGroupLayout,
    linear_light: bool,
}

impl std::fmt::Debug for Brush {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Brush")
    }
}

/// One layer of outlines or lines on the graphics card. Cheap to clone; freed when the last clone goes.
#[derive(Clone)]
pub struct Layer(Arc<Laid>);

struct Laid {
    tools: Arc<Tools>,
    pieces: Vec<OnCard>,
    views: wgpu::Buffer,
    inks: wgpu::Buffer,
    classes: wgpu::Texture,
    bind: wgpu::BindGroup,
    shown: Mutex<Shown>,
    outlines: u32,
    typical_side: f64,
    patchwork: Option<Patchwork>,
}

/// What the card holds at present, to upload only what changed.
#[derive(Default)]
struct Shown {
    classes: Option<Arc<Vec<u8>>>,
    inks: Option<Arc<Vec<ClassInk>>>,
}

/// Whether two columns of classes are the same one, or both empty.
fn same(a: &Arc<Vec<u8>>, b: &Arc<Vec<u8>>) -> bool {
    Arc::ptr_eq(a, b) || (a.is_empty() && b.is_empty())
}

struct OnCard {
    origin: Local,
    bounds: Bounds,
    first: u32,
    corners: wgpu::Buffer,
    triangles: wgpu::Buffer,
    index_format: wgpu::IndexFormat,
    anchors: wgpu::Buffer,
    shares: [Share; SIZES],
}

impl std::fmt::Debug for Layer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Layer of {} outlines in {} pieces", self.0.outlines, self.0.pieces.len())
    }
}

impl Layer {
    /// How many outlines or lines the layer was laid from.
    pub fn len(&self) -> usize {
        self.0.outlines as usize
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.outlines == 0
    }

    /// Side in metres of the square as large as the middle outline by size; 0 for lines.
    pub fn typical_side(&self) -> f64 {
        self.0.typical_side
    }

    /// Goes on colouring the far view of a sheet of this layer; whether something is left to do in the next frame.
    pub(super) fn go_on_colouring(&self, sheet: &Sheet) -> bool {
        self.0.patchwork.as_ref().is_some_and(|p| p.go_on(sheet))
    }

    /// Whether two handles are of the same layer.
    pub fn is(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

#[derive(Clone, Copy, bytemuck::Pod, bytemuck::Zeroable)]
#[repr(C)]
struct View {
    scale: [f32; 2],
    offset: [f32; 2],
    half: [f32; 2],
    pixels_per_metre: f32,
    first: u32,
    fade: f32,
    pixels_per_point: f32,
    unused: [f32; 2],
}

impl View {
    /// How a camera sees metres from an origin.
    fn of(camera: &Camera, origin: Local, pixels_per_point: f32) -> Self {
        let (width, height) = (f64::from(camera.rect.width()), f64::from(camera.rect.height()));
        let (across, up) = (2.0 * camera.points_per_metre / width, 2.0 * camera.points_per_metre / height);
        let offset = [(origin.x - camera.centre.x) * across, (origin.y - camera.centre.y) * up];
        Self {
            scale: [across as f32, up as f32],
            offset: offset.map(|v| v as f32),
            half: [(width / 2.0) as f32 * pixels_per_point, (height / 2.0) as f32 * pixels_per_point],
            pixels_per_metre: camera.points_per_metre as f32 * pixels_per_point,
            first: 0,
            fade: 1.0,
            pixels_per_point,
            unused: [0.0; 2],
        }
    }
}

#[derive(Clone, Copy, Default, bytemuck::Pod, bytemuck::Zeroable)]
#[repr(C)]
struct InkRow {
    fill: [f32; 4],
    edge: [f32; 4],
    mark: [f32; 4],
    how: [f32; 4],
}

impl Brush {
    /// The brush of a window; `None` when the window is not drawn by a graphics card.
    pub fn of(creation: &eframe::CreationContext<'_>) -> Option<Self> {
        creation.wgpu_render_state.as_ref().map(Self::for_render_state)
    }

    /// The brush of whatever is drawn with a render state, on a screen or off it.
    pub fn for_render_state(state: &egui_wgpu::RenderState) -> Self {
        let device = state.device.clone();
        let layout = pipelines::sheet_layout(&device);
        let picture_layout = pipelines::picture_layout(&device);
        let maker = PipelineMaker::new(&device, state.target_format);
        let sheet = [Some(&layout)];
        let corner = wgpu::VertexBufferLayout {
            array_stride: CORNER_STEP,
            step_mode: wgpu::VertexStepMode::Vertex,
            attributes: &wgpu::vertex_attr_array![0 => Float32x2, 1 => Uint32],
        };
        let from = wgpu::VertexBufferLayout { step_mode: wgpu::VertexStepMode::Instance, ..corner.clone() };
        let to = wgpu::VertexBufferLayout { attributes: &wgpu::vertex_attr_array![2 => Float32x2], ..from.clone() };
        let anchor = wgpu::VertexBufferLayout {
            array_stride: 16,
            step_mode: wgpu::VertexStepMode::Instance,
            attributes: &wgpu::vertex_attr_array![0 => Float32x2, 1 => Float32, 2 => Uint32],
        };
        let edges = [Some(from), Some(to)];
        Self(Arc::new(Tools {
            fill: maker.make("fill_corner", "fill_ink", &sheet, &[Some(corner)]),
            edge: maker.make("edge_corner", "edge_ink", &sheet, &edges),
            mark: maker.make("mark_corner", "mark_ink", &sheet, &[Some(anchor)]),
            tile: maker.make("tile_corner", "tile_ink", &[Some(&layout), Some(&picture_layout)], &[Some(patchwork::tile_buffer())]),
            linear_light: state.target_format.is_srgb(),
            queue: state.queue.clone(),
            layout,
            picture_layout,
            device,
        }))
    }

    /// Lays outlines: filled, edged, with room for a mark. Long work for many outlines; does not block the window.
    ///
    /// # Errors
    /// [`Cancelled`] when the watcher asked to stop.
    pub fn lay_outlines(&self, shapes: &Shapes, watch: &dyn Watch) -> Result<Layer, Cancelled> {
        self.lay(shapes, Kind::Outlines, watch)
    }

    /// Lays lines, such as the centrelines of streets.
    ///
    /// # Errors
    /// [`Cancelled`] when the watcher asked to stop.
    pub fn lay_lines(&self, shapes: &Shapes, watch: &dyn Watch) -> Result<Layer, Cancelled> {
        self.lay(shapes, Kind::Lines, watch)
    }

    /// Lays outlines for the far view alone, so that a large survey is seen at once; from near by nothing of them is drawn.
    ///
    /// # Errors
    /// [`Cancelled`] when the watcher asked to stop.
    pub fn sketch_outlines(&self, shapes: &Shapes, watch: &dyn Watch) -> Result<Layer, Cancelled> {
        watch.step("drawing the map", 0, 0)?;
        Ok(self.0.clone().layer(Vec::new(), shapes.len() as u32, &tessellate::spots(shapes)))
    }

    fn lay(&self, shapes: &Shapes, kind: Kind, watch: &dyn Watch) -> Result<Layer, Cancelled> {
        let runs = tessellate::runs(shapes);
        let total = shapes.len() as u64;
        let cut = |run: std::ops::Range<usize>| {
            watch.step("drawing the map", run.start as u64, total)?;
            let piece = tessellate::cut(shapes, run, kind);
            Ok((self.0.put_on_card(&piece), piece.spots))
        };
        let made = runs.into_par_iter().map(cut).collect::<Result<Vec<_>, Cancelled>>()?;
        let (pieces, spots): (Vec<OnCard>, Vec<Vec<Spot>>) = made.into_iter().filter(|(p, _)| !p.bounds.is_empty()).unzip();
        watch.step("drawing the map", total, total)?;
        Ok(self.0.clone().layer(pieces, shapes.len() as u32, &spots.concat()))
    }
}

/// The middle one of the outlines' sides; 0 when there is none.
fn typical_side(spots: &[Spot]) -> f64 {
    let mut sides: Vec<f32> = spots.iter().map(|s| s.side).collect();
    let half = sides.len() / 2;
    if sides.is_empty() { 0.0 } else { f64::from(*sides.select_nth_unstable_by(half, f32::total_cmp).1) }
}

impl Tools {
    fn put_on_card(&self, piece: &Piece) -> OnCard {
        let buffer = |contents: &[u8], usage| {
            let contents = if contents.is_empty() { &[0; 16] } else { contents };
            self.device.create_buffer_init(&wgpu::util::BufferInitDescriptor { label: None, contents, usage })
        };
        let short = piece.corners.len() <= usize::from(u16::MAX);
        let (triangles, index_format) = if short {
            let mut narrow: Vec<u16> = piece.triangles.iter().map(|&k| k as u16).collect();
            narrow.resize(narrow.len().next_multiple_of(2), 0);
            (buffer(bytemuck::cast_slice(&narrow), wgpu::BufferUsages::INDEX), wgpu::IndexFormat::Uint16)
        } else {
            (buffer(bytemuck::cast_slice(&piece.triangles), wgpu::BufferUsages::INDEX), wgpu::IndexFormat::Uint32)
        };
        OnCard {
            origin: piece.origin,
            bounds: piece.bounds,
            first: piece.first,
            corners: buffer(bytemuck::cast_slice(&piece.corners), wgpu::BufferUsages::VERTEX),
            triangles,
            index_format,
            anchors: buffer(bytemuck::cast_slice(&piece.anchors), wgpu::BufferUsages::VERTEX),
            shares: piece.shares,
        }
    }

    fn layer(self: Arc<Self>, pieces: Vec<OnCard>, outlines: u32, spots: &[Spot]) -> Layer {
        let typical_side = typical_side(spots);
        let quilt = if spots.len() >= FEWEST_FOR_A_QUILT { Quilt::of(spots, typical_side) } else { None };
        let patchwork = quilt.map(|q| Patchwork::new(&self, q));
        let uniform = wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST;
        let buffer =
            |size| self.device.create_buffer(&wgpu::BufferDescriptor { label: None, size, usage: uniform, mapped_at_creation: false });
        let views = buffer((pieces.len() as u64 + 1) * VIEW_STEP); // one more for the quilt
        let inks = buffer((MOST_CLASSES * size_of::<InkRow>()) as u64);
        // what the card cannot hold, beyond 16 million outlines on most, is drawn in the last row's classes
        let rows = outlines.div_ceil(ROW).clamp(1, self.device.limits().max_texture_dimension_2d);
        let classes = self.device.create_texture(&wgpu::TextureDescriptor {
            label: None,
            size: wgpu::Extent3d { width: ROW, height: rows, depth_or_array_layers: 1 },
            mip_level_count: 1,
            sample_count: 1,
            dimension: wgpu::TextureDimension::D2,
            format: wgpu::TextureFormat::R8Uint,
            usage: wgpu::TextureUsages::TEXTURE_BINDING | wgpu::TextureUsages::COPY_DST,
            view_formats: &[],
        });
        let texture = classes.create_view(&wgpu::TextureViewDescriptor::default());
        let view = wgpu::BufferBinding { buffer: &views, offset: 0, size: NonZeroU64::new(size_of::<View>() as u64) };
        let bind = self.device.create_bind_group(&wgpu::BindGroupDescriptor {
            label: None,
            layout: &self.layout,
            entries: &[
                wgpu::BindGroupEntry { binding: 0, resource: wgpu::BindingResource::Buffer(view) },
                wgpu::BindGroupEntry { binding: 1, resource: inks.as_entire_binding() },
                wgpu::BindGroupEntry { binding: 2, resource: wgpu::BindingResource::TextureView(&texture) },
            ],
        });
        Layer(Arc::new(Laid {
            tools: self,
            pieces,
            views,
            inks,
            classes,
            bind,
            shown: Mutex::default(),
            outlines,
            typical_side,
            patchwork,
        }))
    }
}

/// What of a sheet is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pass {
    Fills,
    Edges,
    Marks,
}

/// Sheets to be drawn in this frame, and in which order.
pub(super) struct Painting {
    pub camera: Camera,
    pub sheets: Vec<(Sheet, f32)>,
    pub order: Vec<(usize, Pass)>,
}

impl Painting {
    /// Goes on with far views that are not coloured yet; whether something is left to do in the next frame.
    pub fn go_on_colouring(&self) -> bool {
        self.sheets.iter().fold(false, |left, (sheet, _)| sheet.layer.go_on_colouring(sheet) || left)
    }

    /// Hands the painting to the window; drawn below whatever is painted after it.
    pub fn paint(self, painter: &egui::Painter) {
        if !self.order.is_empty() && self.camera.rect.is_positive() {
            painter.add(egui_wgpu::Callback::new_paint_callback(self.camera.rect, self));
        }
    }
}

impl egui_wgpu::CallbackTrait for Painting {
    fn prepare(
        &self,
        _device: &wgpu::Device,
        _queue: &wgpu::Queue,
        screen: &egui_wgpu::ScreenDescriptor,
        _encoder: &mut wgpu::CommandEncoder,
        _resources: &mut egui_wgpu::CallbackResources,
    ) -> Vec<wgpu::CommandBuffer> {
        let _timed = tracing::trace_span!("map told to the card").entered();
        for (sheet, fade) in &self.sheets {
            sheet.layer.0.bring_up_to_date(sheet);
            sheet.layer.0.look(&self.camera, screen.pixels_per_point, *fade);
        }
        Vec::new()
    }

    fn paint(&self, _info: egui::PaintCallbackInfo, pass: &mut wgpu::RenderPass<'static>, _resources: &egui_wgpu::CallbackResources) {
        let _timed = tracing::trace_span!("map drawn").entered();
        for &(sheet, what) in &self.order {
            self.sheets[sheet].0.layer.0.draw(pass, what, &self.camera);
        }
    }
}

impl Laid {
    /// Uploads classes and inks that differ from what the card holds.
    fn bring_up_to_date(&self, sheet: &Sheet) {
        let mut shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        if shown.classes.as_ref().is_none_or(|c| !same(c, &sheet.classes)) {
            self.upload_classes(&sheet.classes);
            shown.classes = Some(sheet.classes.clone());
        }
        if shown.inks.as_ref().is_none_or(|i| *i != sheet.inks) {
            let mut rows = [InkRow::default(); MOST_CLASSES];
            for (row, ink) in rows.iter_mut().zip(sheet.inks.iter()) {
                *row = self.ink_row(ink);
            }
            self.tools.queue.write_buffer(&self.inks, 0, bytemuck::cast_slice(&rows));
            shown.inks = Some(sheet.inks.clone());
        }
    }

    /// Whole rows go as they are; what is left of the last one, and rows without a class, are filled up with class 0.
    fn upload_classes(&self, classes: &[u8]) {
        let row = ROW as usize;
        let rows = self.classes.height() as usize;
        let classes = &classes[..classes.len().min(self.outlines as usize).min(rows * row)];
        let whole = classes.len() / row;
        let mut rest = classes[whole * row..].to_vec();
        rest.resize((rows - whole) * row, 0);
        self.upload_rows(0, &classes[..whole * row]);
        self.upload_rows(whole as u32, &rest);
    }

    fn upload_rows(&self, first: u32, bytes: &[u8]) {
        let height = bytes.len() as u32 / ROW;
        if height > 0 {
            let to = wgpu::TexelCopyTextureInfo { origin: wgpu::Origin3d { x: 0, y: first, z: 0 }, ..self.classes.as_image_copy() };
            let rows = wgpu::TexelCopyBufferLayout { offset: 0, bytes_per_row: Some(ROW), rows_per_image: None };
            self.tools.queue.write_texture(to, bytes, rows, wgpu::Extent3d { width: ROW, height, depth_or_array_layers: 1 });
        }
    }

    fn ink_row(&self, ink: &ClassInk) -> InkRow {
        let colour = |c: Color32| {
            if self.tools.linear_light {
                let [r, g, b, a] = egui::Rgba::from(c).to_rgba_unmultiplied();
                [r, g, b, a]
            } else {
                c.to_srgba_unmultiplied().map(|v| f32::from(v) / 255.0)
            }
        };
        let flags = f32::from(u8::from(ink.hatched) + 2 * u8::from(ink.inside) + 4 * u8::from(ink.dotted));
        InkRow {
            fill: colour(ink.fill),
            edge: colour(ink.edge),
            mark: colour(ink.mark_ink),
            how: [ink.edge_width, ink.ground_width, f32::from(ink.mark as u8), flags],
        }
    }

    /// The quilt, where the map is so far out that it is drawn.
    fn far_out(&self, camera: &Camera) -> Option<&Patchwork> {
        let only = self.pieces.is_empty();
        self.patchwork.as_ref().filter(|_| only || self.typical_side * camera.points_per_metre < QUILT_BELOW)
    }

    /// Tells the card where the pieces in view fall on the screen.
    fn look(&self, camera: &Camera, pixels_per_point: f32, fade: f32) {
        let mut rows = vec![0u8; self.views.size() as usize];
        let mut tell = |slot: usize, row: View| {
            let at = slot * VIEW_STEP as usize;
            rows[at..at + size_of::<View>()].copy_from_slice(bytemuck::bytes_of(&row));
        };
        for (i, piece) in self.in_view(&camera.view()) {
            tell(i, View { first: piece.first, fade, ..View::of(camera, piece.origin, pixels_per_point) });
        }
        if let Some(patchwork) = self.far_out(camera) {
            let view = View::of(camera, patchwork.origin(), pixels_per_point);
            tell(self.pieces.len(), View { fade: patchwork.level(view.pixels_per_metre), ..view });
        }
        self.tools.queue.write_buffer(&self.views, 0, &rows);
    }

    fn in_view(&self, view: &Bounds) -> impl Iterator<Item = (usize, &OnCard)> {
        self.pieces.iter().enumerate().filter(move |(_, p)| p.bounds.touches(view))
    }

    fn draw(&self, pass: &mut wgpu::RenderPass<'static>, what: Pass, camera: &Camera) {
        let (view, points_per_metre) = (&camera.view(), camera.points_per_metre);
        let quilt = self.far_out(camera);
        if let (Pass::Fills, Some(patchwork)) = (what, quilt) {
            pass.set_pipeline(&self.tools.tile);
            pass.set_bind_group(0, &self.bind, &[(self.pieces.len() as u64 * VIEW_STEP) as u32]);
            patchwork.draw(pass);
        }
        match what {
            Pass::Fills => {
                let least = quilt.map_or(0.5, |q| q.largest() * points_per_metre);
                self.draw_with(
                    pass,
                    &self.tools.fill,
                    view,
                    |piece| piece.share(least, points_per_metre).triangle_corners,
                    |pass, piece, n| {
                        pass.set_vertex_buffer(0, piece.corners.slice(..));
                        pass.set_index_buffer(piece.triangles.slice(..), piece.index_format);
                        pass.draw_indexed(0..n, 0, 0..1);
                    },
                );
            }
            Pass::Edges => {
                let edges = |piece: &OnCard| piece.share(2.0, points_per_metre).corners.saturating_sub(1);
                self.draw_with(pass, &self.tools.edge, view, edges, |pass, piece, n| {
                    pass.set_vertex_buffer(0, piece.corners.slice(..));
                    pass.set_vertex_buffer(1, piece.corners.slice(CORNER_STEP..));
                    pass.draw(0..4, 0..n);
                });
            }
            Pass::Marks => {
                self.draw_with(
                    pass,
                    &self.tools.mark,
                    view,
                    |piece| piece.share(8.0, points_per_metre).anchors,
                    |pass, piece, n| {
                        pass.set_vertex_buffer(0, piece.anchors.slice(..));
                        pass.draw(0..4, 0..n);
                    },
                );
            }
        }
    }

    /// Draws as much of each piece in view as `how_many` says, and nothing of a piece with none.
    fn draw_with(
        &self,
        pass: &mut wgpu::RenderPass<'static>,
        pipeline: &wgpu::RenderPipeline,
        view: &Bounds,
        how_many: impl Fn(&OnCard) -> u32,
        draw: impl Fn(&mut wgpu::RenderPass<'static>, &OnCard, u32),
    ) {
        pass.set_pipeline(pipeline);
        for (i, piece) in self.in_view(view) {
            let n = how_many(piece);
            if n > 0 {
                pass.set_bind_group(0, &self.bind, &[(i as u64 * VIEW_STEP) as u32]);
                draw(pass, piece, n);
            }
        }
    }
}

impl OnCard {
    /// What of the piece is at least some points of the screen in size.
    fn share(&self, points: f64, points_per_metre: f64) -> Share {
        let step = (0..SIZES).rev().find(|&k| tessellate::least_size(k) * points_per_metre <= points).unwrap_or(0);
        self.shares[step]
    }
}
