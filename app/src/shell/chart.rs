//! The map of the desk looked at: what the session knows, as a scene.

use super::legend::Besides;
use super::map_bar::BarMemory;
use crate::action::{Action, MapAction};
use crate::map::{
    Brush, Card, CountyGrid, Ground, MapMemory, MapPane, Scene, Sheet, SpotKind, StopMark, StopShape, StreetNames, WalkLine, YardNames,
};
use crate::session::walking::WalkAction;
use crate::session::{ColourBy, Desk, Laid, Painted, Target, Trace, UnderSurvey};
use crate::ui::{theme, words};
use crate::view::View;
use egui::Ui;
use std::collections::BTreeSet;
use std::sync::Arc;
use yardring_core::place::Crs;
use yardring_core::reach::SourceKind;
use yardring_core::survey::{Survey, settings};

/// The zoom at which one yard is seen with its neighbours.
const YARD_ZOOM: f64 = 17.5;
/// Most yards behind a number that are lit up: more would hide the map.
const MOST_LIT: usize = 400;
/// Points of a typical yard's side from which on the marks of yards can be told apart.
const MARKS_SHOW: f64 = 9.0;

/// The map widget and where it looks.
#[derive(Debug, Default)]
pub struct Chart {
    /// What lays outlines on the graphics card, where there is one.
    pub brush: Option<Brush>,
    /// What draws the window, where that is known.
    pub card: Option<Card>,
    /// Where the map looks.
    pub memory: MapMemory,
    /// What the last frame drew over the classes.
    pub besides: Besides,
    /// What is typed into the bar over the map.
    pub bar: BarMemory,
    county: Option<(String, Option<Arc<CountyGrid>>)>,
    followed: u64,
}

impl Chart {
    /// The map of a window; without a graphics card it draws no outlines.
    pub fn new(creation: &eframe::CreationContext<'_>) -> Self {
        let card = Card::of(creation);
        let caution = card.as_ref().and_then(Card::caution);
        Self { brush: Brush::of(creation), card, bar: BarMemory::new(caution), ..Self::default() }
    }

    /// Shows the map, follows where it was sent, and tells what the pointer did.
    pub fn show(&mut self, ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
        self.follow(view);
        let Some((survey, laid)) = view.survey().zip(view.session.drawn()) else { return };
        let mut scene = scene(view, survey, laid, ui.visuals().dark_mode);
        // From near by the yards' own marks tell the sources, and a dot would lie on top of them.
        let marked = matches!(view.session.plan.from, SourceKind::Positives | SourceKind::Pupae);
        let side = scene.premises.as_ref().map_or(0.0, |p| p.layer.typical_side());
        if marked && self.memory.camera().is_some_and(|c| side * c.points_per_metre > MARKS_SHOW) {
            scene.sources = Arc::default();
        }
        let of = |kind| scene.signals.iter().filter(|s| s.kind == kind).count() as u64;
        let dots = !scene.sources.is_empty();
        let (flag, unplaced) = (scene.meeting_point.is_some(), scene.unplaced.is_some());
        self.besides = Besides { dots, traps: of(SpotKind::Trap), complaints: of(SpotKind::Complaint), flag, unplaced };
        scene.county = self.county(survey);
        let events = MapPane::show(ui, &scene, &mut self.memory);
        actions.extend(events.at_rest.map(|it| Action::Map(MapAction::LookedAt(it))));
        let shown = self.memory.camera().map(|c| c.view()).filter(|it| view.session.shown != Some(*it));
        actions.extend(shown.filter(|_| events.at_rest.is_some()).map(|it| Action::Map(MapAction::Shown(it))));
        if view.session.ground.as_ref().is_some_and(|g| g.in_view() != events.tiles) {
            actions.push(Action::Map(MapAction::TilesInView(events.tiles)));
        }
        if let Some(premise) = events.hovered {
            actions.push(Action::Hover(Some(premise)));
        }
        if let Some(place) = events.clicked_place.filter(|_| view.session.walking.picking) {
            actions.push(Action::Walks(WalkAction::MeetAt(place)));
            return;
        }
        if view.session.stretch.is_some() {
            actions.extend(events.clicked_place.or(events.typed_place).map(|it| Action::Map(MapAction::MeasureTo(it))));
            return;
        }
        match (events.double_clicked, events.clicked, events.clicked_place) {
            (Some(premise), ..) => actions.push(Action::ShowPremise(premise)),
            (_, Some(premise), _) => actions.push(Action::Choose(Some(premise))),
            (_, None, Some(_)) if view.session.chosen.is_some() => actions.push(Action::Choose(None)),
            _ => {}
        }
    }

    /// The county's coordinate system as the last frame used it.
    pub fn grid(&self) -> Option<Arc<CountyGrid>> {
        self.county.as_ref().and_then(|(_, grid)| grid.clone())
    }

    /// The county's coordinate system, made ready once for each survey that names one.
    fn county(&mut self, survey: &Survey) -> Option<Arc<CountyGrid>> {
        let named = survey.settings.get(settings::COUNTY_CRS)?;
        let key = format!("{named} {:?}", survey.frame.centre());
        if self.county.as_ref().is_none_or(|(known, _)| *known != key) {
            let grid = CountyGrid::new(&survey.frame, &Crs::from_definition(named));
            self.county = Some((key, grid.map(Arc::new)));
        }
        self.county.as_ref().and_then(|(_, grid)| grid.clone())
    }

    fn follow(&mut self, view: &View<'_>) {
        let Some((times, target)) = view.session.target.filter(|t| t.0 != self.followed) else { return };
        self.followed = times;
        let outlines = view.survey().map(|s| &s.premises.outline);
        match target {
            Target::Extent(extent) => self.memory.fly_to_extent(extent),
            Target::Look(look) => self.memory.look_again(look),
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
    let ground = session.ground.as_ref().map(under);
    // Pictures of the ground show the streets themselves, and the reach must not hide them.
    let streets = laid.streets.as_ref().filter(|_| ground.is_none());
    let warmed = if ground.is_some() { theme::reach_over_ground(night) } else { theme::reach(night) };
    Scene {
        extent: laid.extent,
        reach: reach.and_then(|r| r.layer.as_ref()).map(|l| one(l, warmed)),
        blocks,
        streets: streets.map(|l| one(l, theme::street(night))),
        ground,
        measured: session.stretch.clone(),
        premises,
        outlines: Arc::clone(&survey.premises.outline),
        index: Arc::clone(&laid.index),
        street_names: (!survey.streets.is_empty()).then(names),
        walks: if session.desk == Desk::Plan {
            never_crossed(view, night).chain(torn(view, night)).chain(walks(view, night)).collect()
        } else {
            Vec::new()
        },
        unplaced: session.unplaced().and_then(|w| w.place),
        meeting_point: session.walking.crews.meeting_point.filter(|_| session.desk == Desk::Plan),
        yard_names: Some(YardNames { addresses: Arc::clone(&survey.premises.address), ids: Arc::clone(&survey.premises.parcel_id) }),
        reach_radius: session.plan.radius.0,
        sources: reach.map(|r| Arc::clone(&r.dots)).unwrap_or_default(),
        signals: if signs { Arc::clone(&laid.signals) } else { Arc::default() },
        caption: caption(view, survey, laid),
        lit: lit(view),
        selected: session.chosen,
        pointed_at: session.hovered,
        ..Scene::empty(survey.frame, theme::map_inks(night))
    }
}

/// The day's walks, each in its crew's tint and pattern.
fn walks(view: &View<'_>, night: bool) -> Vec<WalkLine> {
    let line = |(i, (way, stops)): (usize, &(Arc<Vec<_>>, Arc<Vec<_>>))| {
        let (tint, pattern) = theme::walk(i, night);
        WalkLine { way: Arc::clone(way), stops: Arc::clone(stops), tint, pattern, stop: theme::stop(i) }
    };
    view.session.walking.lines.iter().enumerate().filter(|(_, l)| l.0.len() > 1).map(line).collect()
}

/// The places where streets are torn, while they are shown.
fn torn(view: &View<'_>, night: bool) -> Option<WalkLine> {
    let walking = &view.session.walking;
    walking.torn_at?;
    let (tint, pattern) = theme::never_crossed(night);
    let stops = walking.torn.iter().map(|place| place.0).collect();
    let stop = StopMark { shape: StopShape::Diamond, hollow: true };
    Some(WalkLine { way: Arc::default(), stops: Arc::new(stops), tint, pattern, stop })
}

/// The lines that no crew crosses.
fn never_crossed(view: &View<'_>, night: bool) -> impl Iterator<Item = WalkLine> {
    let (tint, pattern) = theme::never_crossed(night);
    let lines = view.session.walking.never_crossed.lines.iter();
    lines.map(move |line| WalkLine { way: Arc::clone(line), stops: Arc::default(), tint, pattern, stop: StopMark::default() })
}

/// The ground as the map draws it.
fn under(ground: &UnderSurvey) -> Ground {
    Ground { tiles: Arc::clone(&ground.tiles), stock: ground.stock, attribution: ground.source.attribution() }
}

/// Yards to light up: the neighbours of the chosen one, and those behind the number that is traced, in moderation.
fn lit(view: &View<'_>) -> Vec<yardring_core::survey::PremiseId> {
    let traced = view
        .session
        .measured
        .traced
        .iter()
        .filter(|t| match t.of {
            Trace::Near(_) => true,
            Trace::Sources | Trace::Inside => view.session.desk == Desk::Plan,
            _ => view.session.desk == Desk::Brief,
        })
        .flat_map(|t| t.yards.iter().take(t.speak).map(|y| y.0))
        .take(MOST_LIT);
    let offered = view.session.unplaced().into_iter().flat_map(|w| w.candidates.iter().map(|c| c.premise));
    view.session.neighbours.iter().copied().chain(traced).chain(offered).collect()
}

/// The round, its days and the county's file, as the foot of a printed map says it.
fn caption(view: &View<'_>, survey: &Survey, laid: &Laid) -> String {
    let round = view.open().and_then(|o| o.round).and_then(|r| survey.rounds.get(r.row()));
    let round = round.map(|r| format!("{}, {}", r.name, words::days(r.first, r.last)));
    let files: BTreeSet<&str> = survey.intake_log.iter().map(|e| &*e.file).collect();
    let more = |file: &str| match files.len() {
        0 | 1 => file.to_owned(),
        n => format!("{file} and {}", words::count(n as u64 - 1, "more file")),
    };
    let parcels = survey.intake_log.iter().rev().find(|e| &*e.table == "parcels").map(|e| more(&e.file));
    laid.astray.clone().into_iter().chain(round).chain(parcels).collect::<Vec<_>>().join(" · ")
}

/// Premises and blocks: where blocks have outlines and the map is one of blocks, they carry the colour; otherwise premises do.
fn sheets(laid: &Laid, painted: Option<&Painted>, night: bool) -> (Option<Sheet>, Option<Sheet>) {
    let bare = || Arc::new(vec![theme::bare_premise(night)]);
    let plain = |layer: &crate::map::Layer| Sheet { layer: layer.clone(), classes: Arc::default(), inks: bare() };
    let Some(painted) = painted else {
        let uncoloured = Arc::new(vec![theme::uncoloured_premise(night)]);
        return (laid.premises.as_ref().map(|l| Sheet { inks: uncoloured, ..plain(l) }), None);
    };
    let inks = Arc::new(painted.classes.classes.iter().map(|c| theme::map_ink(&c.ink, night)).collect::<Vec<_>>());
    let sheet = |layer: &crate::map::Layer, classes| Sheet { layer: layer.clone(), classes, inks: Arc::clone(&inks) };
    match laid.blocks.as_ref().filter(|_| !painted.blocks.is_empty()) {
        Some(blocks) => (laid.premises.as_ref().map(plain), Some(sheet(blocks, Arc::clone(&painted.blocks)))),
        None => (laid.premises.as_ref().map(|l| sheet(l, Arc::clone(&painted.premises))), None),
    }
}
