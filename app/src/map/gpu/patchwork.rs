//! The quilt on the card: a picture of all its tiles, drawn as one square a tile.

use super::Tools;
use crate::map::quilt::{self, LEVELS, Quilt, TILE, TILES_ACROSS};
use crate::map::scene::{ClassInk, Sheet};
use eframe::egui_wgpu::wgpu;
use std::sync::{Arc, Mutex};
use wgpu::util::DeviceExt as _;
use yardring_core::place::Local;

/// A quilt and its picture.
pub(super) struct Patchwork {
    quilt: Quilt,
    picture: wgpu::Texture,
    bind: wgpu::BindGroup,
    tiles: wgpu::Buffer,
    shown: Mutex<Option<Colouring>>,
}

/// What the picture was coloured by.
type Colouring = (Arc<Vec<u8>>, Arc<Vec<ClassInk>>);

const COLUMNS: [wgpu::VertexAttribute; 2] = wgpu::vertex_attr_array![0 => Float32x2, 1 => Float32];

/// The columns of the tiles: metres from the quilt's origin, and the side in metres.
pub(super) fn tile_buffer() -> wgpu::VertexBufferLayout<'static> {
    wgpu::VertexBufferLayout { array_stride: 12, step_mode: wgpu::VertexStepMode::Instance, attributes: &COLUMNS }
}

impl Patchwork {
    pub(super) fn new(tools: &Tools, quilt: Quilt) -> Self {
        let device = &tools.device;
        let rows = quilt.tiles.len().div_ceil(TILES_ACROSS).max(1);
        let picture = device.create_texture(&wgpu::TextureDescriptor {
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
        let view = picture.create_view(&wgpu::TextureViewDescriptor::default());
        let bind = device.create_bind_group(&wgpu::BindGroupDescriptor {
            label: None,
            layout: &tools.picture_layout,
            entries: &[
                wgpu::BindGroupEntry { binding: 0, resource: wgpu::BindingResource::TextureView(&view) },
                wgpu::BindGroupEntry { binding: 1, resource: wgpu::BindingResource::Sampler(&between) },
            ],
        });
        let contents = bytemuck::cast_slice(&tile_rows(&quilt)).to_vec();
        let usage = wgpu::BufferUsages::VERTEX;
        let tiles = device.create_buffer_init(&wgpu::util::BufferInitDescriptor { label: None, contents: &contents, usage });
        Self { quilt, picture, bind, tiles, shown: Mutex::default() }
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

    /// Colours the picture anew when classes or inks changed.
    pub(super) fn bring_up_to_date(&self, tools: &Tools, sheet: &Sheet) {
        let mut shown = self.shown.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if shown.as_ref().is_some_and(|(c, i)| Arc::ptr_eq(c, &sheet.classes) && Arc::ptr_eq(i, &sheet.inks)) {
            return;
        }
        let mut pictures = self.quilt.colours(&sheet.classes, &sheet.inks);
        let mut side = TILE;
        for level in 0..LEVELS as u32 {
            self.upload(tools, &pictures, side, level);
            pictures = quilt::halved(&pictures, side);
            side /= 2;
        }
        *shown = Some((sheet.classes.clone(), sheet.inks.clone()));
    }

    fn upload(&self, tools: &Tools, pictures: &[[u8; 4]], side: usize, level: u32) {
        let (picture, height) = quilt::side_by_side(pictures, side);
        let width = (TILES_ACROSS * side) as u32;
        let to = wgpu::TexelCopyTextureInfo { mip_level: level, ..self.picture.as_image_copy() };
        let rows = wgpu::TexelCopyBufferLayout { offset: 0, bytes_per_row: Some(4 * width), rows_per_image: None };
        let size = wgpu::Extent3d { width, height: height as u32, depth_or_array_layers: 1 };
        tools.queue.write_texture(to, bytemuck::cast_slice(&picture), rows, size);
    }

    /// Draws all tiles; the pipeline and the view are set already.
    pub(super) fn draw(&self, pass: &mut wgpu::RenderPass<'static>) {
        pass.set_bind_group(1, &self.bind, &[]);
        pass.set_vertex_buffer(0, self.tiles.slice(..));
        pass.draw(0..4, 0..self.quilt.tiles.len() as u32);
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
