//! Pipelines and what is bound to them.

use super::{InkRow, View};
use crate::map::scene::MOST_CLASSES;
use eframe::egui_wgpu::wgpu;
use std::num::NonZeroU64;

/// What every pipeline gets: the piece's view, the inks of the classes, the class of each outline.
pub(super) fn sheet_layout(device: &wgpu::Device) -> wgpu::BindGroupLayout {
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

/// What the quilt's pipeline gets besides: the picture of all tiles and how to read between its cells.
pub(super) fn picture_layout(device: &wgpu::Device) -> wgpu::BindGroupLayout {
    let picture = wgpu::BindingType::Texture {
        sample_type: wgpu::TextureSampleType::Float { filterable: true },
        view_dimension: wgpu::TextureViewDimension::D2,
        multisampled: false,
    };
    let entry = |binding, ty| wgpu::BindGroupLayoutEntry { binding, visibility: wgpu::ShaderStages::FRAGMENT, ty, count: None };
    device.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
        label: None,
        entries: &[entry(0, picture), entry(1, wgpu::BindingType::Sampler(wgpu::SamplerBindingType::Filtering))],
    })
}

/// Makes the pipelines, which differ in their entry points and corners alone.
pub(super) struct PipelineMaker<'a> {
    device: &'a wgpu::Device,
    module: wgpu::ShaderModule,
    format: wgpu::TextureFormat,
}

impl<'a> PipelineMaker<'a> {
    pub(super) fn new(device: &'a wgpu::Device, format: wgpu::TextureFormat) -> Self {
        let source = wgpu::ShaderSource::Wgsl(include_str!("../shader.wgsl").into());
        let module = device.create_shader_module(wgpu::ShaderModuleDescriptor { label: None, source });
        Self { device, module, format }
    }

    /// A pipeline that starts at two named functions of the shader: triangles, or one square an instance.
    pub(super) fn make(
        &self,
        corner: &str,
        ink: &str,
        binds: &[Option<&wgpu::BindGroupLayout>],
        buffers: &[Option<wgpu::VertexBufferLayout<'_>>],
    ) -> wgpu::RenderPipeline {
        let layout =
            self.device.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor { bind_group_layouts: binds, ..Default::default() });
        let by_instance = buffers.iter().flatten().any(|b| b.step_mode == wgpu::VertexStepMode::Instance);
        let topology = if by_instance { wgpu::PrimitiveTopology::TriangleStrip } else { wgpu::PrimitiveTopology::TriangleList };
        let target = wgpu::ColorTargetState {
            format: self.format,
            blend: Some(wgpu::BlendState::PREMULTIPLIED_ALPHA_BLENDING),
            write_mask: wgpu::ColorWrites::ALL,
        };
        self.device.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
            label: Some(corner),
            layout: Some(&layout),
            vertex: wgpu::VertexState { module: &self.module, entry_point: Some(corner), compilation_options: Default::default(), buffers },
            primitive: wgpu::PrimitiveState { topology, ..Default::default() },
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
