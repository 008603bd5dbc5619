//! The quilt on the card: a picture of all its tiles, drawn as one square a tile.

use super::{Tools, same};
use crate::map::quilt::{self, LEVELS, Quilt, TILE, TILES_ACROSS};
use crate::map::scene::{ClassInk, Sheet};
use eframe::egui_wgpu::wgpu;
use std::ops::Range;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use wgpu::util::DeviceExt as _;
use yardring_core::place::Local;

/// How long a frame waits for the colouring, so that a small survey is coloured at once and no frame is late for a large one.
const A_FRAME: Duration = Duration::from_micros(300);

/// A quilt and its pictures on the card.
pub(super) struct Patchwork {
    cloth: Arc<Cloth>,
    tiles: wgpu::Buffer,
}

/// What the colouring needs, on a thread of its own: the picture that is drawn, and one to be coloured anew meanwhile.
struct Cloth {
    quilt: Quilt,
    pictures: [Picture; 2],
    queue: wgpu::Queue,
    work: Mutex<Work>,
    finished: Condvar,
}

/// All tiles side by side on the card.
struct Picture {
    texture: wgpu::Texture,
    bind: wgpu::BindGroup,
}

/// How far the colouring is.
#[derive(Default)]
struct Work {
    /// What is being coloured, or was last.
    wanted: Option<Colouring>,
    /// Counts what was wanted.
    turn: u64,
    /// Whether a thread is at work.
    busy: bool,
    /// Whether what is wanted is coloured.
    done: bool,
    /// Which picture is drawn.
    drawn: usize,
    /// Whether that picture was ever finished; before, people see it grow.
    whole: bool,
}

/// What a picture is coloured by.
#[derive(Clone)]
struct Colouring {
    classes: Arc<Vec<u8>>,
    inks: Arc<Vec<ClassInk>>,
}

impl Colouring {
    fn is_of(&self, sheet: &Sheet) -> bool {
        same(&self.classes, &sheet.classes) && (Arc::ptr_eq(&self.inks, &sheet.inks) || self.inks == sheet.inks)
    }
}

const COLUMNS: [wgpu::VertexAttribute; 2] = wgpu::vertex_attr_array![0 => Float32x2, 1 => Float32];

/// The columns of the tiles: metres from the quilt's origin, and the side in metres.
pub(super) fn tile_buffer() -> wgpu::VertexBufferLayout<'static> {
    wgpu::VertexBufferLayout { array_stride: 12, step_mode: wgpu::VertexStepMode::Instance, attributes: &COLUMNS }
}

impl Patchwork {
    pub(super) fn new(tools: &Tools, quilt: Quilt) -> Self {
        let contents = bytemuck::cast_slice(&tile_rows(&quilt)).to_vec();
        let usage = wgpu::BufferUsages::VERTEX;
        let tiles = tools.device.create_buffer_init(&wgpu::util::BufferInitDescriptor { label: None, contents: &contents, usage });
        let pictures = [Picture::new(tools, &quilt), Picture::new(tools, &quilt)];
        let (work, finished) = (Mutex::default(), Condvar::new());
        Self { cloth: Arc::new(Cloth { quilt, pictures, queue: tools.queue.clone(), work, finished }), tiles }
    }

    /// The place that the tiles are measured from.
    pub(super) fn origin(&self) -> Local {
        corner(&self.cloth.quilt, self.cloth.quilt.tiles.first().copied().unwrap_or_default())
    }

    /// The side in metres from which on outlines are not in the quilt.
    pub(super) fn largest(&self) -> f64 {
        self.cloth.quilt.largest()
    }

    /// How coarse a picture suits so many pixels to a metre: 0 the finest.
    pub(super) fn level(&self, pixels_per_metre: f32) -> f32 {
        let pixels_per_cell = self.cloth.quilt.cell as f32 * pixels_per_metre;
        (-pixels_per_cell.log2()).clamp(0.0, (LEVELS - 1) as f32)
    }

    /// Has the quilt coloured where classes or inks changed, beside the frames; whether it is not done yet.
    pub(super) fn go_on(&self, sheet: &Sheet) -> bool {
        let mut work = self.cloth.at_work();
        if !work.wanted.as_ref().is_some_and(|c| c.is_of(sheet)) {
            work.wanted = Some(Colouring { classes: sheet.classes.clone(), inks: sheet.inks.clone() });
            (work.turn, work.done) = (work.turn + 1, false);
        }
        if work.done {
            return false;
        }
        if !work.busy {
            work.busy = true;
            let cloth = Arc::clone(&self.cloth);
            if std::thread::Builder::new().name("far view".to_owned()).spawn(move || cloth.colour()).is_err() {
                // Without a second thread this frame waits.
                drop(work);
                self.cloth.colour();
                return false;
            }
        }
        let waited = self.cloth.finished.wait_timeout_while(work, A_FRAME, |w| !w.done);
        !waited.unwrap_or_else(PoisonError::into_inner).0.done
    }

    /// Draws all tiles; the pipeline and the view are set already.
    pub(super) fn draw(&self, pass: &mut wgpu::RenderPass<'static>) {
        let drawn = self.cloth.at_work().drawn;
        pass.set_bind_group(1, &self.cloth.pictures[drawn].bind, &[]);
        pass.set_vertex_buffer(0, self.tiles.slice(..));
        pass.draw(0..4, 0..self.cloth.quilt.tiles.len() as u32);
    }
}

impl Cloth {
    fn at_work(&self) -> MutexGuard<'_, Work> {
        self.work.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Colours what is wanted, and begins again when something else is wanted meanwhile.
    fn colour(self: &Arc<Self>) {
        loop {
            let (turn, wanted, picture) = {
                let work = self.at_work();
                (work.turn, work.wanted.clone(), if work.whole { 1 - work.drawn } else { work.drawn })
            };
            let all = self.quilt.tiles.len();
            // One run of tiles is one row of the picture.
            let runs = (0..all).step_by(TILES_ACROSS).map(|from| from..(from + TILES_ACROSS).min(all));
            for run in runs.take_while(|_| self.at_work().turn == turn) {
                // Nobody will see a quilt whose layer is gone.
                let Some(wanted) = wanted.as_ref().filter(|_| Arc::strong_count(self) > 1) else { return };
                self.colour_row(wanted, &self.pictures[picture].texture, run);
            }
            let mut work = self.at_work();
            if work.turn == turn {
                (work.drawn, work.whole, work.done, work.busy) = (picture, true, true, false);
                self.finished.notify_all();
                return;
            }
        }
    }

    /// Colours the tiles of one row in all their finenesses. On one thread: with all of them at work frames would have to wait.
    fn colour_row(&self, wanted: &Colouring, to: &wgpu::Texture, tiles: Range<usize>) {
        let row = tiles.start / TILES_ACROSS;
        let mut pictures = self.quilt.colours(tiles, &wanted.classes, &wanted.inks);
        let mut side = TILE;
        for level in 0..LEVELS as u32 {
            upload(&self.queue, to, &pictures, row * side, (side, level));
            pictures = quilt::halved(&pictures, side);
            side /= 2;
        }
    }
}

/// Uploads tiles side by side at one fineness, from a row of the picture's cells on.
fn upload(queue: &wgpu::Queue, texture: &wgpu::Texture, pictures: &[[u8; 4]], y: usize, (side, level): (usize, u32)) {
    let width = (pictures.len() / side) as u32;
    let origin = wgpu::Origin3d { x: 0, y: y as u32, z: 0 };
    let to = wgpu::TexelCopyTextureInfo { mip_level: level, origin, ..texture.as_image_copy() };
    let rows = wgpu::TexelCopyBufferLayout { offset: 0, bytes_per_row: Some(4 * width), rows_per_image: None };
    let size = wgpu::Extent3d { width, height: side as u32, depth_or_array_layers: 1 };
    queue.write_texture(to, bytemuck::cast_slice(&quilt::side_by_side(pictures, side)), rows, size);
}

impl Picture {
    /// A picture without any colour yet.
    fn new(tools: &Tools, quilt: &Quilt) -> Self {
        let device = &tools.device;
        let rows = quilt.tiles.len().div_ceil(TILES_ACROSS).max(1);
        let texture = device.create_texture(&wgpu::TextureDescriptor {
            label: None,
            size: wgpu::Extent3d { width: (TILES_ACROSS * TILE) as u32, height: (rows * TILE) as u32, depth_or_array_layers: 1 },
            mip_level_count: LEVELS as u32,
            sample_count: 1,
            dimension: wgpu::TextureDimension::D2,
            format: if tools.linear_light { wgpu::TextureFormat::Rgba8UnormSrgb } else { wgpu::TextureFormat::Rgba8Unorm },
            usage: wgpu::TextureUsages::TEXTURE_BINDING | wgpu::TextureUsages::COPY_DST,
            view_formats: &[],
        });
        let between = device.create_sampler(&wgpu::SamplerDescriptor {
            mag_filter: wgpu::FilterMode::Linear,
            min_filter: wgpu::FilterMode::Linear,
            mipmap_filter: wgpu::MipmapFilterMode::Linear,
            ..Default::default()
        });
        let view = texture.create_view(&wgpu::TextureViewDescriptor::default());
        let bind = device.create_bind_group(&wgpu::BindGroupDescriptor {
            label: None,
            layout: &tools.picture_layout,
            entries: &[
                wgpu::BindGroupEntry { binding: 0, resource: wgpu::BindingResource::TextureView(&view) },
                wgpu::BindGroupEntry { binding: 1, resource: wgpu::BindingResource::Sampler(&between) },
            ],
        });
        Self { texture, bind }
    }
}

/// The south-west corner of a tile.
fn corner(quilt: &Quilt, tile: [i32; 2]) -> Local {
    let side = quilt.cell * TILE as f64;
    Local { x: f64::from(tile[0]) * side, y: f64::from(tile[1]) * side }
}

fn tile_rows(quilt: &Quilt) -> Vec<[f32; 3]> {
    let origin = corner(quilt, quilt.tiles.first().copied().unwrap_or_default());
    let side = (quilt.cell * TILE as f64) as f32;
    let row = |&tile: &[i32; 2]| {
        let at = corner(quilt, tile);
        [(at.x - origin.x) as f32, (at.y - origin.y) as f32, side]
    };
    quilt.tiles.iter().map(row).collect()
}
