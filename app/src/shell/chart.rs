//! The map of the desk looked at: what the session knows, as a scene.

use super::legend::Besides;
use crate::action::Action;
use crate::map::{Brush, MapMemory, MapPane, Scene, Sheet, SpotKind, StreetNames};
use crate::session::{ColourBy, Desk, Laid, Painted, Target};
use crate::ui::{theme, words};
use crate::view::View;
use egui::Ui;
use std::sync::Arc;
use yardring_core::reach::SourceKind;
use yardring_core::survey::Survey;

/// The zoom at which one yard is seen with its neighbours.
const YARD_ZOOM: f64 = 17.5;
/// Most yards behind a number that are lit up: more would hide the map.
const MOST_LIT: usize = 400;
/// Points of the screen to a metre from which on the marks of yards can be told apart.
const MARKS_SHOW: f64 = 0.45;

/// The map widget and where it looks.
#[derive(Debug, Default)]
pub struct Chart {
    /// What lays outlines on the graphics card, where there is one.
    pub brush: Option<Brush>,
    /// Where the map looks.
    pub memory: MapMemory,
    /// What the last frame drew over the classes.
    pub besides: Besides,
    followed: u64,
}

impl Chart {
    /// A map that lays outlines with a brush, or draws no outlines without one.
    pub fn new(brush: Option<Brush>) -> Self {
        Self { brush, ..Self::default() }
    }

    /// Shows the map, follows where it was sent, and tells what the pointer did.
    pub fn show(&mut self, ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
        self.follow(view);
        let Some((survey, laid)) = view.survey().zip(view.session.ground()) else { return };
        let mut scene = scene(view, survey, laid, ui.visuals().dark_mode);
        // From near by the yards' own marks tell the sources, and a dot would lie on top of them.
        let marked = matches!(view.session.plan.from, SourceKind::Positives | SourceKind::Pupae);
        if marked && self.memory.camera().is_some_and(|c| c.points_per_metre > MARKS_SHOW) {
            scene.sources = Arc::default();
        }
        let of = |kind| scene.signals.iter().filter(|s| s.kind == kind).count() as u64;
        let dots = !scene.sources.is_empty();
        self.besides = Besides { dots, traps: of(SpotKind::Trap), complaints: of(SpotKind::Complaint) };
        let events = MapPane::show(ui, &scene, &mut self.memory);
        if let Some(premise) = events.hovered {
            actions.push(Action::Hover(Some(premise)));
        }
        match (events.double_clicked, events.clicked, events.clicked_place) {
            (Some(premise), ..) => actions.push(Action::ShowPremise(premise)),
            (_, Some(premise), _) => actions.push(Action::Choose(Some(premise))),
            (_, None, Some(_)) if view.session.chosen.is_some() => actions.push(Action::Choose(None)),
            _ => {}
        }
    }

    fn follow(&mut self, view: &View<'_>) {
        let Some((times, target)) = view.session.target.filter(|t| t.0 != self.followed) else { return };
        self.followed = times;
        let outlines = view.survey().map(|s| &s.premises.outline);
        match target {
            Target::Extent(extent) => self.memory.fly_to_extent(extent),
            Target::Place(place) => self.memory.fly_to(place, YARD_ZOOM),
            Target::Premise(premise) => {
                let bounds = outlines.and_then(|o| o.bounds().get(premise.row())).filter(|b| !b.is_empty());
                if let Some(bounds) = bounds {
                    self.memory.fly_to(bounds.centre(), YARD_ZOOM);
                }
            }
        }
    }
}

fn scene(view: &View<'_>, survey: &Survey, laid: &Laid, night: bool) -> Scene {
    let session = view.session;
    let painted = session.classes.latest().filter(|p| p.premises.len() == survey.premises.len());
    let (premises, blocks) = sheets(laid, painted.map(|p| &**p), night);
    let reach = view.reach().filter(|_| session.shows_reach());
    let one = |layer: &crate::map::Layer, ink| Sheet { layer: layer.clone(), classes: Arc::default(), inks: Arc::new(vec![ink]) };
    let names = || StreetNames {
        names: Arc::clone(&survey.streets.name),
        lines: Arc::clone(&survey.streets.line),
        index: Arc::clone(&laid.street_index),
    };
    // Traps and complaints say why crews went somewhere; on a map of blocks for a meeting they would only raise questions.
    let signs = session.desk != Desk::Brief || session.colour == ColourBy::Gaps;
    Scene {
        extent: laid.extent,
        reach: reach.and_then(|r| r.layer.as_ref()).map(|l| one(l, theme::reach(night))),
        blocks,
        streets: laid.streets.as_ref().map(|l| one(l, theme::street(night))),
        premises,
        outlines: Arc::clone(&survey.premises.outline),
        index: Arc::clone(&laid.index),
        street_names: (!survey.streets.is_empty()).then(names),
        sources: reach.map(|r| Arc::clone(&r.dots)).unwrap_or_default(),
        signals: if signs { Arc::clone(&laid.signals) } else { Arc::default() },
        caption: caption(view, survey),
        lit: lit(view),
        selected: session.chosen,
        pointed_at: session.hovered,
        ..Scene::empty(survey.frame, theme::map_inks(night))
    }
}

/// Yards to light up: the neighbours of the chosen one, and those behind the number that is traced, in moderation.
fn lit(view: &View<'_>) -> Vec<yardring_core::survey::PremiseId> {
    let traced = view
        .session
        .measured
        .traced
        .iter()
        .filter(|_| view.session.desk == Desk::Brief)
        .flat_map(|t| t.yards.iter().take(t.speak).map(|y| y.0))
        .take(MOST_LIT);
    view.session.neighbours.iter().copied().chain(traced).collect()
}

/// The round, its days and the county's file, as the foot of a printed map says it.
fn caption(view: &View<'_>, survey: &Survey) -> String {
    let round = view.open().and_then(|o| o.round).and_then(|r| survey.rounds.get(r.row()));
    let round = round.map(|r| format!("{}, {}", r.name, words::days(r.first, r.last)));
    let parcels = survey.intake_log.iter().rev().find(|e| &*e.table == "parcels").map(|e| e.file.to_string());
    round.into_iter().chain(parcels).collect::<Vec<_>>().join(" · ")
}

/// Premises and blocks: where blocks have outlines and the map is one of blocks, they carry the colour; otherwise premises do.
fn sheets(laid: &Laid, painted: Option<&Painted>, night: bool) -> (Option<Sheet>, Option<Sheet>) {
    let bare = || Arc::new(vec![theme::bare_premise(night)]);
    let plain = |layer: &crate::map::Layer| Sheet { layer: layer.clone(), classes: Arc::default(), inks: bare() };
    let Some(painted) = painted else { return (laid.premises.as_ref().map(plain), None) };
    let inks = Arc::new(painted.classes.classes.iter().map(|c| theme::map_ink(&c.ink, night)).collect::<Vec<_>>());
    let sheet = |layer: &crate::map::Layer, classes| Sheet { layer: layer.clone(), classes, inks: Arc::clone(&inks) };
    match laid.blocks.as_ref().filter(|_| !painted.blocks.is_empty()) {
        Some(blocks) => (laid.premises.as_ref().map(plain), Some(sheet(blocks, Arc::clone(&painted.blocks)))),
        None => (laid.premises.as_ref().map(|l| sheet(l, Arc::clone(&painted.premises))), None),
    }
}
