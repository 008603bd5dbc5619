//! The only place that talks to the graphics card: layers are laid once and drawn every frame.
//!
//! A layer's corners never change after it is laid. The class of each outline is one byte in a small texture, so that another
//! colouring uploads a byte an outline; the ink of each class is in a table of 32 rows.

use super::camera::Camera;
use super::scene::{ClassInk, MOST_CLASSES, Sheet};
use super::tessellate::{self, Kind, Piece, SIZES, Share};
use eframe::egui_wgpu::{self, wgpu};
use egui::Color32;
use rayon::prelude::*;
use std::num::NonZeroU64;
use std::sync::{Arc, Mutex};
use wgpu::util::DeviceExt as _;
use yardring_core::job::{Cancelled, Watch};
use yardring_core::place::{Bounds, Local, Shapes};

/// Outlines to a row of the class texture; the shader counts on it.
const ROW: u32 = 2048;
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
    edge_raised: wgpu::RenderPipeline,
    mark: wgpu::RenderPipeline,
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
}

/// What the card holds at present, to upload only what changed.
#[derive(Default)]
struct Shown {
    classes: Option<Arc<Vec<u8>>>,
    inks: Option<Arc<Vec<ClassInk>>>,
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

    fn for_render_state(state: &egui_wgpu::RenderState) -> Self {
        let device = state.device.clone();
        let layout = bind_layout(&device);
        let maker = PipelineMaker::new(&device, &layout, state.target_format);
        let corner = wgpu::VertexBufferLayout {
            array_stride: 12,
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
            fill: maker.make("fill_corner", "fill_ink", &[Some(corner)]),
            edge: maker.make("edge_plain", "edge_ink", &edges),
            edge_raised: maker.make("edge_raised", "edge_ink", &edges),
            mark: maker.make("mark_corner", "mark_ink", &[Some(anchor)]),
            linear_light: state.target_format.is_srgb(),
            queue: state.queue.clone(),
            layout,
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

    fn lay(&self, shapes: &Shapes, kind: Kind, watch: &dyn Watch) -> Result<Layer, Cancelled> {
        let runs = tessellate::runs(shapes);
        let total = shapes.len() as u64;
        let cut = |run: std::ops::Range<usize>| {
            watch.step("drawing the map", run.start as u64, total)?;
            let piece = tessellate::cut(shapes, run, kind);
            let middle = piece.sides.get(piece.sides.len() / 2).copied().unwrap_or(0.0);
            Ok((self.0.put_on_card(&piece), middle, piece.sides.len()))
        };
        let made = runs.into_par_iter().map(cut).collect::<Result<Vec<_>, Cancelled>>()?;
        let typical_side = typical(made.iter().map(|(_, middle, count)| (*middle, *count)).collect());
        let pieces = made.into_iter().map(|(piece, _, _)| piece).filter(|p| !p.bounds.is_empty()).collect();
        Ok(self.0.clone().layer(pieces, shapes.len() as u32, typical_side))
    }
}

/// The middle of some values, each counted so many times.
fn typical(mut middles: Vec<(f32, usize)>) -> f64 {
    middles.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let half: usize = middles.iter().map(|m| m.1).sum::<usize>() / 2;
    let mut so_far = 0;
    let middle = middles.iter().find(|(_, count)| {
        so_far += count;
        so_far > half
    });
    middle.map_or(0.0, |m| f64::from(m.0))
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

    fn layer(self: Arc<Self>, pieces: Vec<OnCard>, outlines: u32, typical_side: f64) -> Layer {
        let uniform = wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST;
        let buffer =
            |size| self.device.create_buffer(&wgpu::BufferDescriptor { label: None, size, usage: uniform, mapped_at_creation: false });
        let views = buffer(pieces.len().max(1) as u64 * VIEW_STEP);
        let inks = buffer((MOST_CLASSES * size_of::<InkRow>()) as u64);
        let classes = self.device.create_texture(&wgpu::TextureDescriptor {
            label: None,
            size: wgpu::Extent3d { width: ROW, height: outlines.div_ceil(ROW).max(1), depth_or_array_layers: 1 },
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
        Layer(Arc::new(Laid { tools: self, pieces, views, inks, classes, bind, shown: Mutex::default(), outlines, typical_side }))
    }
}

fn bind_layout(device: &wgpu::Device) -> wgpu::BindGroupLayout {
    let both = wgpu::ShaderStages::VERTEX_FRAGMENT;
    let uniform = |has_dynamic_offset, size| wgpu::BindingType::Buffer {
        ty: wgpu::BufferBindingType::Uniform,
        has_dynamic_offset,
        min_binding_size: NonZeroU64::new(size as u64),
    };
    let texture = wgpu::BindingType::Texture {
        sample_type: wgpu::TextureSampleType::Uint,
        view_dimension: wgpu::TextureViewDimension::D2,
        multisampled: false,
    };
    let entry = |binding, visibility, ty| wgpu::BindGroupLayoutEntry { binding, visibility, ty, count: None };
    device.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
        label: None,
        entries: &[
            entry(0, both, uniform(true, size_of::<View>())),
            entry(1, both, uniform(false, MOST_CLASSES * size_of::<InkRow>())),
            entry(2, wgpu::ShaderStages::VERTEX, texture),
        ],
    })
}

struct PipelineMaker<'a> {
    device: &'a wgpu::Device,
    module: wgpu::ShaderModule,
    layout: wgpu::PipelineLayout,
    format: wgpu::TextureFormat,
}

impl<'a> PipelineMaker<'a> {
    fn new(device: &'a wgpu::Device, bind: &wgpu::BindGroupLayout, format: wgpu::TextureFormat) -> Self {
        let source = wgpu::ShaderSource::Wgsl(include_str!("shader.wgsl").into());
        let module = device.create_shader_module(wgpu::ShaderModuleDescriptor { label: None, source });
        let layout =
            device.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor { bind_group_layouts: &[Some(bind)], ..Default::default() });
        Self { device, module, layout, format }
    }

    fn make(&self, corner: &str, ink: &str, buffers: &[Option<wgpu::VertexBufferLayout<'_>>]) -> wgpu::RenderPipeline {
        let target = wgpu::ColorTargetState {
            format: self.format,
            blend: Some(wgpu::BlendState::PREMULTIPLIED_ALPHA_BLENDING),
            write_mask: wgpu::ColorWrites::ALL,
        };
        self.device.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
            label: Some(corner),
            layout: Some(&self.layout),
            vertex: wgpu::VertexState { module: &self.module, entry_point: Some(corner), compilation_options: Default::default(), buffers },
            primitive: wgpu::PrimitiveState::default(),
            depth_stencil: None,
            multisample: Default::default(),
            fragment: Some(wgpu::FragmentState {
                module: &self.module,
                entry_point: Some(ink),
                compilation_options: Default::default(),
                targets: &[Some(target)],
            }),
            multiview_mask: None,
            cache: None,
        })
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
    /// Hands the painting to the window; drawn below whatever is painted after it.
    pub fn paint(self, painter: &egui::Painter) {
        if !self.order.is_empty() {
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
        for (sheet, fade) in &self.sheets {
            sheet.layer.0.bring_up_to_date(sheet);
            sheet.layer.0.look(&self.camera, screen.pixels_per_point, *fade);
        }
        Vec::new()
    }

    fn paint(&self, _info: egui::PaintCallbackInfo, pass: &mut wgpu::RenderPass<'static>, _resources: &egui_wgpu::CallbackResources) {
        let view = self.camera.view();
        for &(sheet, what) in &self.order {
            self.sheets[sheet].0.layer.0.draw(pass, what, &view, self.camera.points_per_metre);
        }
    }
}

impl Laid {
    /// Uploads classes and inks that differ from what the card holds.
    fn bring_up_to_date(&self, sheet: &Sheet) {
        let mut shown = self.shown.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if shown.classes.as_ref().is_none_or(|c| !Arc::ptr_eq(c, &sheet.classes)) {
            self.upload_classes(&sheet.classes);
            shown.classes = Some(sheet.classes.clone());
        }
        if shown.inks.as_ref().is_none_or(|i| !Arc::ptr_eq(i, &sheet.inks)) {
            let mut rows = [InkRow::default(); MOST_CLASSES];
            for (row, ink) in rows.iter_mut().zip(sheet.inks.iter()) {
                *row = self.ink_row(ink);
            }
            self.tools.queue.write_buffer(&self.inks, 0, bytemuck::cast_slice(&rows));
            shown.inks = Some(sheet.inks.clone());
        }
    }

    fn upload_classes(&self, classes: &[u8]) {
        let size = self.classes.size();
        let mut bytes = classes[..classes.len().min(self.outlines as usize)].to_vec();
        bytes.resize((size.width * size.height) as usize, 0);
        let rows = wgpu::TexelCopyBufferLayout { offset: 0, bytes_per_row: Some(ROW), rows_per_image: None };
        self.tools.queue.write_texture(self.classes.as_image_copy(), &bytes, rows, size);
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
        let flags = f32::from(u8::from(ink.hatched) + 2 * u8::from(ink.raised));
        InkRow {
            fill: colour(ink.fill),
            edge: colour(ink.edge),
            mark: colour(ink.mark_ink),
            how: [ink.edge_width, ink.ground_width, f32::from(ink.mark as u8), flags],
        }
    }

    /// Tells the card where the pieces in view fall on the screen.
    fn look(&self, camera: &Camera, pixels_per_point: f32, fade: f32) {
        let view = camera.view();
        let (width, height) = (f64::from(camera.rect.width()), f64::from(camera.rect.height()));
        let (across, up) = (2.0 * camera.points_per_metre / width, 2.0 * camera.points_per_metre / height);
        for (i, piece) in self.in_view(&view) {
            let offset = [(piece.origin.x - camera.centre.x) * across, (piece.origin.y - camera.centre.y) * up];
            let row = View {
                scale: [across as f32, up as f32],
                offset: offset.map(|v| v as f32),
                half: [(width / 2.0) as f32 * pixels_per_point, (height / 2.0) as f32 * pixels_per_point],
                pixels_per_metre: camera.points_per_metre as f32 * pixels_per_point,
                first: piece.first,
                fade,
                pixels_per_point,
                unused: [0.0; 2],
            };
            self.tools.queue.write_buffer(&self.views, i as u64 * VIEW_STEP, bytemuck::bytes_of(&row));
        }
    }

    fn in_view(&self, view: &Bounds) -> impl Iterator<Item = (usize, &OnCard)> {
        self.pieces.iter().enumerate().filter(move |(_, p)| p.bounds.touches(view))
    }

    fn draw(&self, pass: &mut wgpu::RenderPass<'static>, what: Pass, view: &Bounds, points_per_metre: f64) {
        match what {
            Pass::Fills => self.draw_with(pass, &self.tools.fill, view, |pass, piece| {
                let share = piece.share(0.5, points_per_metre);
                pass.set_vertex_buffer(0, piece.corners.slice(..));
                pass.set_index_buffer(piece.triangles.slice(..), piece.index_format);
                pass.draw_indexed(0..share.triangle_corners, 0, 0..1);
            }),
            Pass::Edges => {
                for pipeline in [&self.tools.edge, &self.tools.edge_raised] {
                    self.draw_with(pass, pipeline, view, |pass, piece| {
                        let share = piece.share(2.0, points_per_metre);
                        if share.corners > 1 {
                            pass.set_vertex_buffer(0, piece.corners.slice(..));
                            pass.set_vertex_buffer(1, piece.corners.slice(12..));
                            pass.draw(0..6, 0..share.corners - 1);
                        }
                    });
                }
            }
            Pass::Marks => self.draw_with(pass, &self.tools.mark, view, |pass, piece| {
                let share = piece.share(6.0, points_per_metre);
                if share.anchors > 0 {
                    pass.set_vertex_buffer(0, piece.anchors.slice(..));
                    pass.draw(0..6, 0..share.anchors);
                }
            }),
        }
    }

    fn draw_with(
        &self,
        pass: &mut wgpu::RenderPass<'static>,
        pipeline: &wgpu::RenderPipeline,
        view: &Bounds,
        draw: impl Fn(&mut wgpu::RenderPass<'static>, &OnCard),
    ) {
        pass.set_pipeline(pipeline);
        for (i, piece) in self.in_view(view) {
            pass.set_bind_group(0, &self.bind, &[(i as u64 * VIEW_STEP) as u32]);
            draw(pass, piece);
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
