//! The quilt on the card: a picture of all its tiles, drawn as one square a tile.

use super::{Tools, same};
use crate::map::quilt::{self, LEVELS, Quilt, TILE, TILES_ACROSS};
use crate::map::scene::{ClassInk, Sheet};
use eframe::egui_wgpu::wgpu;
use std::ops::Range;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};
use wgpu::util::DeviceExt as _;
use yardring_core::place::Local;

/// Tiles that are coloured and handed to the card together.
const TOGETHER: usize = 2;
/// How long one frame goes on colouring, so that no frame waits for all of the picture.
const A_FRAME: Duration = Duration::from_micros(400);
/// The same while there is no whole picture yet and everybody waits for one.
const AT_FIRST: Duration = Duration::from_millis(4);

/// A quilt and its pictures: the one that is drawn, and one to be coloured anew meanwhile.
pub(super) struct Patchwork {
    quilt: Quilt,
    pictures: [Picture; 2],
    tiles: wgpu::Buffer,
    work: Mutex<Work>,
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
    /// Tiles that are done.
    tiles: usize,
    /// Which picture is drawn.
    drawn: usize,
    /// Whether that picture was ever finished; before, people see it grow.
    whole: bool,
}

/// What a picture is coloured by.
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
        Self { quilt, pictures, tiles, work: Mutex::default() }
    }

    /// The place that the tiles are measured from.
    pub(super) fn origin(&self) -> Local {
        corner(&self.quilt, self.quilt.tiles.first().copied().unwrap_or_default())
    }

    /// The side in metres from which on outlines are not in the quilt.
    pub(super) fn largest(&self) -> f64 {
        self.quilt.largest()
    }

    /// How coarse a picture suits so many pixels to a metre: 0 the finest.
    pub(super) fn level(&self, pixels_per_metre: f32) -> f32 {
        let pixels_per_cell = self.quilt.cell as f32 * pixels_per_metre;
        (-pixels_per_cell.log2()).clamp(0.0, (LEVELS - 1) as f32)
    }

    /// Goes on colouring where classes or inks changed; whether something is left to do in the next frame.
    pub(super) fn go_on(&self, tools: &Tools, sheet: &Sheet) -> bool {
        let mut work = self.work.lock().unwrap_or_else(PoisonError::into_inner);
        if !work.wanted.as_ref().is_some_and(|c| c.is_of(sheet)) {
            work.wanted = Some(Colouring { classes: sheet.classes.clone(), inks: sheet.inks.clone() });
            work.tiles = 0;
        }
        let all = self.quilt.tiles.len();
        if work.tiles == all {
            return false;
        }
        let picture = if work.whole { 1 - work.drawn } else { work.drawn };
        let (start, long) = (Instant::now(), if work.whole { A_FRAME } else { AT_FIRST });
        while work.tiles < all {
            // one run never goes from one row of the picture into the next
            let row_ends = (work.tiles / TILES_ACROSS + 1) * TILES_ACROSS;
            let run = work.tiles..(work.tiles + TOGETHER).min(row_ends).min(all);
            work.tiles = run.end;
            self.colour(tools, sheet, &self.pictures[picture].texture, run);
            if start.elapsed() >= long {
                break;
            }
        }
        if work.tiles == all {
            (work.drawn, work.whole) = (picture, true);
        }
        work.tiles < all
    }

    /// Colours some tiles of one row in all their finenesses.
    fn colour(&self, tools: &Tools, sheet: &Sheet, to: &wgpu::Texture, tiles: Range<usize>) {
        let (row, column) = (tiles.start / TILES_ACROSS, tiles.start % TILES_ACROSS);
        let mut pictures = self.quilt.colours(tiles, &sheet.classes, &sheet.inks);
        let mut side = TILE;
        for level in 0..LEVELS as u32 {
            upload(tools, to, &pictures, (column * side, row * side), (side, level));
            pictures = quilt::halved(&pictures, side);
            side /= 2;
        }
    }

    /// Draws all tiles; the pipeline and the view are set already.
    pub(super) fn draw(&self, pass: &mut wgpu::RenderPass<'static>) {
        let drawn = self.work.lock().unwrap_or_else(PoisonError::into_inner).drawn;
        pass.set_bind_group(1, &self.pictures[drawn].bind, &[]);
        pass.set_vertex_buffer(0, self.tiles.slice(..));
        pass.draw(0..4, 0..self.quilt.tiles.len() as u32);
    }
}

/// Uploads tiles side by side at one fineness, to a place of the picture in its cells.
fn upload(tools: &Tools, texture: &wgpu::Texture, pictures: &[[u8; 4]], (x, y): (usize, usize), (side, level): (usize, u32)) {
    let width = (pictures.len() / side) as u32;
    let origin = wgpu::Origin3d { x: x as u32, y: y as u32, z: 0 };
    let to = wgpu::TexelCopyTextureInfo { mip_level: level, origin, ..texture.as_image_copy() };
    let rows = wgpu::TexelCopyBufferLayout { offset: 0, bytes_per_row: Some(4 * width), rows_per_image: None };
    let size = wgpu::Extent3d { width, height: side as u32, depth_or_array_layers: 1 };
    tools.queue.write_texture(to, bytemuck::cast_slice(&quilt::side_by_side(pictures, side)), rows, size);
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
