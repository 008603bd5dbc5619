//! What the map is asked to draw: plain data, no desk and no session.

use super::gpu::Layer;
use super::ground::Ground;
use super::pointed::CountyGrid;
use egui::Color32;
use std::sync::Arc;
use yardring_core::place::{Bounds, BoxIndex, Frame, Local, Shapes};
use yardring_core::survey::{PremiseId, Strings};

/// Most classes that a layer can be drawn in.
pub const MOST_CLASSES: usize = 32;

/// A sign inside an outline, told apart by shape before hue.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mark {
    /// Nothing.
    #[default]
    None,
    /// One stroke from the lower left to the upper right.
    SlantingStroke,
    /// A bar from side to side.
    Bar,
    /// The lower half filled with the mark's ink.
    LowerHalf,
    /// The line of a drop.
    HollowDrop,
    /// A whole drop.
    Drop,
    /// A whole drop in a ring.
    RingedDrop,
}

/// How the outlines of one class are drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClassInk {
    /// Inside.
    pub fill: Color32,
    /// The outline, or the line of a street.
    pub edge: Color32,
    /// Least width of the outline in points of the screen; 0 draws none.
    pub edge_width: f32,
    /// Width of the line on the ground in metres, where that is wider than `edge_width`.
    pub ground_width: f32,
    /// The sign inside.
    pub mark: Mark,
    /// The sign's colour, and that of the hatching.
    pub mark_ink: Color32,
    /// Slanting lines over the fill, for what was seen too little.
    pub hatched: bool,
    /// Sparse dots over the fill, for what only an earlier round saw.
    pub dotted: bool,
    /// Draws the line of an outline wholly inside it, so that no neighbour hides it. For outlines, not for lines.
    pub inside: bool,
}

impl ClassInk {
    /// A fill and an outline of one point, no sign.
    pub fn plain(fill: Color32, edge: Color32) -> Self {
        Self {
            fill,
            edge,
            edge_width: 1.0,
            ground_width: 0.0,
            mark: Mark::None,
            mark_ink: edge,
            hatched: false,
            dotted: false,
            inside: false,
        }
    }
}

/// One layer of outlines or lines with the class of each and the ink of each class.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// What was laid on the graphics card.
    pub layer: Layer,
    /// The class of each outline, in the layer's order; an outline past the end is in class 0.
    pub classes: Arc<Vec<u8>>,
    /// How each class is drawn, at most [`MOST_CLASSES`]; a class past the end is not drawn.
    pub inks: Arc<Vec<ClassInk>>,
}

/// Where a signal is and how it is marked. A case has no mark: only the ring round it is drawn, and that by whoever masks it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SignalSpot {
    /// Where.
    pub place: Local,
    /// What.
    pub kind: SpotKind,
}

/// A source of the reach, to be drawn as a dot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SourceSpot {
    /// Where.
    pub place: Local,
    /// Whether pupae were recorded there.
    pub pupae: bool,
}

/// The signals that have a mark of their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpotKind {
    /// A trap: an upright triangle.
    Trap,
    /// A complaint: a square standing on its corner.
    Complaint,
}

/// One crew's walk: its stops in order, joined along the way walked.
#[derive(Clone, Debug, PartialEq)]
pub struct WalkLine {
    /// The way walked, as a chain of places.
    pub way: Arc<Vec<Local>>,
    /// The stops, in order; numbered from 1 when there is room.
    pub stops: Arc<Vec<Local>>,
    /// Its tint.
    pub tint: Color32,
    /// Length of the strokes and the gaps of its line, in points; no gap draws an unbroken line.
    pub pattern: (f32, f32),
    /// How its stops are marked.
    pub stop: StopMark,
}

/// How the stops of one crew are marked, so that grey paper tells them from another's.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct StopMark {
    /// The shape.
    pub shape: StopShape,
    /// Paper inside and the crew's tint round it, instead of the tint inside.
    pub hollow: bool,
}

/// The shape of a stop's mark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum StopShape {
    /// A disc.
    #[default]
    Disc,
    /// A square.
    Square,
    /// A square standing on its corner.
    Diamond,
}

/// The names of streets and where the streets run.
#[derive(Clone, Debug)]
pub struct StreetNames {
    /// Names, empty where there is none.
    pub names: Arc<Strings>,
    /// Centrelines, beside the names.
    pub lines: Arc<Shapes>,
    /// Where each centreline is.
    pub index: Arc<BoxIndex>,
}

/// What each yard is called, beside the outlines; for house numbers from near by.
#[derive(Clone, Debug)]
pub struct YardNames {
    /// Addresses, empty where there is none.
    pub addresses: Arc<Strings>,
    /// Parcel ids, for yards without a house number.
    pub ids: Arc<Strings>,
}

/// Inks that belong to no class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inks {
    /// The ground of the map.
    pub paper: Color32,
    /// Words and the scale bar on the map.
    pub words: Color32,
    /// Names of streets.
    pub street_name: Color32,
    /// The dot of a source, and what a trap or a complaint is drawn with.
    pub source: Color32,
    /// The dot of a source with pupae.
    pub source_with_pupae: Color32,
    /// The line round dots, and the inside of a trap or a complaint.
    pub source_edge: Color32,
    /// Where something was taken that has no premise yet.
    pub unplaced: Color32,
    /// The outline of the chosen premise.
    pub selection: Color32,
    /// The outline of the premise under the pointer.
    pub hover: Color32,
    /// What pictures of the ground are multiplied with; white leaves them as they are.
    pub ground: Color32,
}

/// Everything on the map. Cheap to clone: the columns are shared. Things are drawn in the order of the fields.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The district frame that every place of the scene is in.
    pub frame: Frame,
    /// What to fit into view first; empty for a scene of nothing.
    pub extent: Bounds,
    /// Inks that belong to no class.
    pub inks: Inks,
    /// The ground underneath, if any.
    pub ground: Option<Ground>,
    /// The ground within reach, filled below everything and its edge drawn above the premises.
    pub reach: Option<Sheet>,
    /// Blocks; filled below the premises.
    pub blocks: Option<Sheet>,
    /// Street centrelines.
    pub streets: Option<Sheet>,
    /// Premises.
    pub premises: Option<Sheet>,
    /// Outlines of the premises, for the pointer and for what is lit up.
    pub outlines: Arc<Shapes>,
    /// Where each outline is.
    pub index: Arc<BoxIndex>,
    /// Names along the streets.
    pub street_names: Option<StreetNames>,
    /// House numbers in the yards.
    pub yard_names: Option<YardNames>,
    /// Walks of the day.
    pub walks: Vec<WalkLine>,
    /// Where walks begin and end.
    pub meeting_point: Option<Local>,
    /// Where something was taken that has no premise yet.
    pub unplaced: Option<Local>,
    /// How far the reach goes from its sources, in metres.
    pub reach_radius: f64,
    /// Sources of the reach, as dots.
    pub sources: Arc<Vec<SourceSpot>>,
    /// Traps and complaints.
    pub signals: Arc<Vec<SignalSpot>>,
    /// Premises lit up as a group, such as the neighbours of the chosen one.
    pub lit: Vec<PremiseId>,
    /// The chosen premise.
    pub selected: Option<PremiseId>,
    /// What the map shows, of when and from which file, beside the scale bar; may be empty.
    pub caption: String,
    /// The way being measured, if somebody measures.
    pub measured: Option<Arc<Vec<Local>>>,
    /// The county's coordinate system, for the place under the pointer.
    pub county: Option<Arc<CountyGrid>>,
    /// The premise that something else points at, such as a row of a list.
    pub pointed_at: Option<PremiseId>,
}

impl Scene {
    /// A scene of nothing in a frame.
    pub fn empty(frame: Frame, inks: Inks) -> Self {
        Self {
            frame,
            extent: Bounds::EMPTY,
            inks,
            ground: None,
            reach: None,
            blocks: None,
            streets: None,
            premises: None,
            outlines: Arc::default(),
            index: Arc::default(),
            street_names: None,
            yard_names: None,
            walks: Vec::new(),
            meeting_point: None,
            unplaced: None,
            reach_radius: 0.0,
            sources: Arc::default(),
            signals: Arc::default(),
            lit: Vec::new(),
            selected: None,
            caption: String::new(),
            measured: None,
            county: None,
            pointed_at: None,
        }
    }
}
