//! The invented town as a scene of the map.

use super::town::{Town, noise};
use egui::Color32;
use std::sync::Arc;
use yardring::map::{Brush, ClassInk, Inks, Mark, Scene, Sheet, StreetNames, YardNames};
use yardring_core::job::{Cancelled, Unwatched};
use yardring_core::place::{BoxIndex, Frame, Local, LonLat, Shapes};
use yardring_core::survey::Strings;

/// Inks for trials: one class for each mark.
pub fn inks() -> (Inks, Arc<Vec<ClassInk>>) {
    let c = Color32::from_rgb;
    let (ink, quiet, white) = (c(35, 38, 43), c(150, 146, 136), c(255, 255, 255));
    let (pale, dark, warn) = (c(201, 222, 219), c(23, 90, 92), c(214, 66, 36));
    let clear = Color32::from_rgba_unmultiplied(255, 255, 255, 120);
    let class = |fill, mark, mark_ink| ClassInk { mark, mark_ink, ..ClassInk::plain(fill, quiet) };
    let classes = vec![
        class(clear, Mark::None, ink),
        class(clear, Mark::SlantingStroke, ink),
        class(clear, Mark::Bar, ink),
        class(clear, Mark::LowerHalf, c(90, 142, 140)),
        class(pale, Mark::None, ink),
        class(pale, Mark::HollowDrop, dark),
        class(dark, Mark::Drop, white),
        ClassInk { edge: warn, edge_width: 2.5, inside: true, ..class(dark, Mark::RingedDrop, white) },
    ];
    let inks = Inks {
        paper: c(246, 243, 236),
        words: ink,
        street_name: c(96, 92, 84),
        source: warn,
        source_edge: white,
        source_with_pupae: ink,
        unplaced: warn,
        selection: ink,
        hover: dark,
        ground: white,
    };
    (inks, Arc::new(classes))
}

/// A class for every lot, mostly the early ones, all of them here and there.
pub fn classes(lots: usize) -> Arc<Vec<u8>> {
    const OFTEN: [u8; 16] = [0, 0, 0, 0, 0, 1, 1, 2, 3, 4, 4, 4, 5, 5, 6, 7];
    Arc::new((0..lots).map(|i| OFTEN[((noise(i / 24, 7) + noise(i, 3)) * 8.0).min(15.0) as usize]).collect())
}

/// Nothing for most blocks, a tint for some, and hatching for one in ten.
fn classes_of_blocks(blocks: usize) -> Arc<Vec<u8>> {
    Arc::new((0..blocks).map(|i| if noise(i, 11) < 0.1 { 1 } else { 0 }).collect())
}

fn block_inks() -> Arc<Vec<ClassInk>> {
    let clear = Color32::TRANSPARENT;
    let edge = Color32::from_rgb(120, 116, 106);
    let open = ClassInk::plain(clear, edge);
    Arc::new(vec![open, ClassInk { hatched: true, ..open }])
}

fn reach_ink() -> ClassInk {
    ClassInk { edge_width: 1.5, ..ClassInk::plain(Color32::from_rgb(250, 232, 205), Color32::from_rgb(176, 120, 60)) }
}

/// Two overlapping rounds with a hole, as one outline.
fn reach() -> Shapes {
    let round = |x: f64, y: f64, r: f64| -> Vec<Local> {
        (0..96).map(|k| f64::from(k) * std::f64::consts::TAU / 96.0).map(|a| Local { x: x + r * a.cos(), y: y + r * a.sin() }).collect()
    };
    let mut out = Shapes::default();
    out.push_ring(&round(120.0, 60.0, 260.0));
    out.push_ring(&round(60.0, 120.0, 60.0));
    out.end_part();
    out.push_ring(&round(700.0, 60.0, 150.0));
    out.end_part();
    out.end_shape();
    out
}

/// The town as a scene, laid with a brush.
///
/// # Errors
/// [`Cancelled`] never, as nobody watches.
pub fn scene(town: &Town, brush: Option<&Brush>) -> Result<Scene, Cancelled> {
    let (inks, premise_inks) = inks();
    let mut scene = Scene::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }), inks);
    scene.extent = town.blocks.extent();
    scene.outlines = town.lots.clone();
    scene.index = Arc::new(BoxIndex::new(town.lots.bounds()));
    scene.street_names = Some(StreetNames {
        names: Arc::new((0..town.streets.len()).map(|i| format!("Invented Street {i}")).collect::<Strings>()),
        lines: town.streets.clone(),
        index: Arc::new(BoxIndex::new(town.streets.bounds())),
    });
    let lots = town.lots.len();
    scene.yard_names = Some(YardNames {
        addresses: Arc::new((0..lots).map(|i| format!("{} Invented Street", 1 + i % 998)).collect::<Strings>()),
        ids: Arc::new((0..lots).map(|i| format!("Q{i}")).collect::<Strings>()),
    });
    if let Some(brush) = brush {
        let laid = |shapes: &Shapes| brush.lay_outlines(shapes, &Unwatched);
        let white = Color32::from_rgb(255, 253, 248);
        let street = ClassInk { edge_width: 1.0, ground_width: 7.0, ..ClassInk::plain(white, Color32::from_rgb(226, 220, 207)) };
        let sheet = |layer, inks| Sheet { layer, classes: Arc::default(), inks };
        scene.blocks = Some(Sheet { classes: classes_of_blocks(town.blocks.len()), ..sheet(laid(&town.blocks)?, block_inks()) });
        let rounds = reach();
        scene.reach = Some(sheet(laid(&rounds)?, Arc::new(vec![reach_ink()])));
        scene.streets = Some(sheet(brush.lay_lines(&town.streets, &Unwatched)?, Arc::new(vec![street])));
        scene.premises = Some(Sheet { classes: classes(town.lots.len()), ..sheet(laid(&town.lots)?, premise_inks) });
    }
    Ok(scene)
}
