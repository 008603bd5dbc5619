//! What the window is drawn by, and what happens when that stops.

use eframe::egui_wgpu::{self, wgpu};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// What the window is drawn by: a graphics card, or the processor in its place.
#[derive(Clone, Debug, Default)]
pub struct Card {
    name: String,
    software: bool,
    lost: Arc<AtomicBool>,
}

impl Card {
    /// The card of a window; `None` where nothing is drawn by wgpu. From now on a card that stops working is noticed instead of
    /// ending the program.
    ///
    /// # Panics
    /// Later, in a program built for its developers, when a card that works complains of what it was asked to draw.
    pub fn of(creation: &eframe::CreationContext<'_>) -> Option<Self> {
        let state = creation.wgpu_render_state.as_ref()?;
        let info = state.adapter.get_info();
        let card = Self { name: info.name, software: info.device_type == wgpu::DeviceType::Cpu, lost: Arc::default() };
        let (lost, window) = (Arc::clone(&card.lost), creation.egui_ctx.clone());
        state.device.set_device_lost_callback(move |_, words| {
            tracing::error!("the graphics card stopped: {words}");
            lost.store(true, Ordering::Relaxed);
            window.request_repaint();
        });
        let lost = Arc::clone(&card.lost);
        state.device.on_uncaptured_error(Arc::new(move |error| {
            tracing::error!("the graphics card complains: {error}");
            // While the program is being built a complaint must end it, or nobody would see it. A card that stopped complains of all.
            assert!(!cfg!(debug_assertions) || lost.load(Ordering::Relaxed), "the graphics card complains: {error}");
        }));
        Some(card)
    }

    /// A sentence where the processor draws because there is no card, which is slower; nothing where a card does.
    pub fn caution(&self) -> Option<String> {
        self.software.then(|| format!("No graphics card was found: the processor draws the map ({}), which is slower.", self.name))
    }

    /// Whether the card has stopped.
    pub fn is_lost(&self) -> bool {
        self.lost.load(Ordering::Relaxed)
    }
}

/// How a window is to be drawn.
pub type Drawing = egui_wgpu::WgpuConfiguration;

/// The choice of the processor in place of a card, for when the card that was chosen first cannot be used.
pub fn by_the_processor() -> Drawing {
    let mut setup = egui_wgpu::WgpuSetupCreateNew::without_display_handle();
    setup.native_adapter_selector = Some(Arc::new(|cards, surface| {
        let usable = |card: &&wgpu::Adapter| {
            card.get_info().device_type == wgpu::DeviceType::Cpu && surface.is_none_or(|s| card.is_surface_supported(s))
        };
        cards.iter().find(usable).cloned().ok_or_else(|| "no software renderer was found either".to_owned())
    }));
    Drawing { wgpu_setup: egui_wgpu::WgpuSetup::CreateNew(setup), ..Default::default() }
}
