//! Sources: where mosquitoes, or the signs of them, were found.

use super::{Barriers, Kept};
use crate::place::{BoxIndex, Local, Shapes, inside};
use crate::survey::{PremiseId, Signal, SignalKind, Standing, Survey, UnknownWord};
use crate::units::Metres;
use std::str::FromStr;
use std::sync::Arc;

/// What the reach is drawn round.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum SourceKind {
    /// Premises where larvae or pupae were recorded in the round, whatever the visit's outcome.
    #[default]
    Positives,
    /// Premises where pupae were recorded in the round, whatever the visit's outcome.
    Pupae,
    /// Places of cases.
    Cases,
    /// Places of traps that caught more than was asked for; not of those whose catch was not written down.
    Traps,
    /// Places of complaints.
    Complaints,
}

impl SourceKind {
    /// Every kind, in the order of the contract.
    pub const ALL: [Self; 5] = [Self::Positives, Self::Pupae, Self::Cases, Self::Traps, Self::Complaints];

    /// The kind as the command line and the screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Positives => "positives",
            Self::Pupae => "pupae",
            Self::Cases => "cases",
            Self::Traps => "traps",
            Self::Complaints => "complaints",
        }
    }
}

impl FromStr for SourceKind {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let given = text.trim();
        Self::ALL.into_iter().find(|k| k.word().eq_ignore_ascii_case(given)).ok_or_else(|| UnknownWord {
            given: given.to_owned(),
            what: "a kind of source",
            known: Self::ALL.map(Self::word).join(", "),
        })
    }
}

/// From where on the source's side distances are measured. On the other side it is always the outline of the premise.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MeasureFrom {
    /// The outline of the source premise; for a signal the outline that holds it, or the place itself where none does.
    #[default]
    Outline,
    /// One place: the signal's own, or a place inside the source's outline (see [`crate::place::inside`]).
    Point,
}

impl MeasureFrom {
    /// Both, in the order of the contract.
    pub const ALL: [Self; 2] = [Self::Outline, Self::Point];

    /// The choice as the command line and the screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Outline => "outline",
            Self::Point => "point",
        }
    }
}

impl FromStr for MeasureFrom {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let given = text.trim();
        Self::ALL.into_iter().find(|m| m.word().eq_ignore_ascii_case(given)).ok_or_else(|| UnknownWord {
            given: given.to_owned(),
            what: "a way to measure",
            known: Self::ALL.map(Self::word).join(", "),
        })
    }
}

/// What reach somebody asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// What it is drawn round.
    pub from: SourceKind,
    /// How far it goes.
    pub radius: Metres,
    /// From where on the source's side it is measured.
    pub measure_from: MeasureFrom,
    /// Traps are sources when they caught more than this a night. A trap whose catch was not written down is none.
    pub trap_over: f64,
}

impl Default for Wanted {
    /// 150 m round the outlines of positive premises.
    fn default() -> Self {
        Self { from: SourceKind::Positives, radius: Metres(150.0), measure_from: MeasureFrom::Outline, trap_over: 0.0 }
    }
}

/// One source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// The premise: the positive one, or the one whose outline holds the signal.
    pub premise: Option<PremiseId>,
    /// A place that stands for it: inside the outline, or where the signal is.
    pub place: Local,
    /// Whether pupae were recorded there in the round.
    pub pupae: bool,
}

/// The sources of a reach, and the shapes that distances are measured from.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    list: Vec<Source>,
    shapes: Shapes,
    index: BoxIndex,
    without_outline: usize,
    barriers: Option<Arc<Barriers>>,
}

impl Sources {
    /// How many sources there are that have a place on the ground.
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The sources: premises in their order, or signals in the order of the survey.
    pub fn list(&self) -> &[Source] {
        &self.list
    }

    /// What distances are measured from, one shape for each source: its outline, or a ring of one place.
    pub fn shapes(&self) -> &Shapes {
        &self.shapes
    }

    /// The tree over the boxes of the shapes.
    pub fn index(&self) -> &BoxIndex {
        &self.index
    }

    /// Positive premises that have no outline, so that nothing can be measured from them.
    pub fn without_outline(&self) -> usize {
        self.without_outline
    }

    /// What flights have to go round; `None` when there is nothing.
    pub fn barriers(&self) -> Option<&Arc<Barriers>> {
        self.barriers.as_ref()
    }

    /// The same sources among barriers.
    #[must_use]
    pub fn among(self, barriers: Barriers) -> Self {
        Self { barriers: (!barriers.is_empty()).then(|| Arc::new(barriers)), ..self }
    }

    /// Sources of one place each that no premise stands beside.
    pub(super) fn of_places(places: impl Iterator<Item = Local>) -> Self {
        let mut out = Self::default();
        for place in places {
            out.push_place(Source { premise: None, place, pupae: false });
        }
        out.index = BoxIndex::new(out.shapes.bounds());
        out
    }

    fn push_place(&mut self, source: Source) {
        self.shapes.push_ring(&[source.place]);
        self.shapes.end_part();
        self.shapes.end_shape();
        self.list.push(source);
    }

    fn push(&mut self, survey: &Survey, source: Source, measure_from: MeasureFrom) {
        match source.premise {
            Some(p) if measure_from == MeasureFrom::Outline => {
                self.shapes.push_view(survey.premises.outline.get(p.row()));
                self.list.push(source);
            }
            _ => self.push_place(source),
        }
    }
}

/// The sources of a kind among the barriers that the survey keeps (see [`crate::survey::settings::BARRIERS`]); `standings` are
/// those of the round, in the order of the premises.
pub fn sources(survey: &Survey, standings: &[Standing], wanted: &Wanted) -> Sources {
    let mut found = match wanted.from {
        SourceKind::Positives => premises(survey, standings, wanted.measure_from, |s| s.source),
        SourceKind::Pupae => premises(survey, standings, wanted.measure_from, |s| s.source_with_pupae),
        SourceKind::Cases => signals(survey, standings, wanted, SignalKind::Case),
        SourceKind::Traps => signals(survey, standings, wanted, SignalKind::Trap),
        SourceKind::Complaints => signals(survey, standings, wanted, SignalKind::Complaint),
    };
    found.index = BoxIndex::new(found.shapes.bounds());
    match Kept::of(survey) {
        Some(kept) => found.among(kept.barriers()),
        None => found,
    }
}

fn premises(survey: &Survey, standings: &[Standing], measure_from: MeasureFrom, is_source: fn(&Standing) -> bool) -> Sources {
    let mut out = Sources::default();
    for (row, standing) in standings.iter().enumerate().filter(|(_, s)| is_source(s)) {
        let outline = survey.premises.outline.get(row);
        let Some(place) = inside(outline) else {
            out.without_outline += 1;
            continue;
        };
        let source = Source { premise: Some(PremiseId(row as u32)), place, pupae: standing.source_with_pupae };
        out.push(survey, source, measure_from);
    }
    out
}

fn signals(survey: &Survey, standings: &[Standing], asked: &Wanted, kind: SignalKind) -> Sources {
    let mut out = Sources::default();
    // An empty count is no count: nobody knows whether that trap caught anything.
    let enough = |s: &Signal| s.value.is_some_and(|caught| caught > asked.trap_over);
    let counts = |s: &&Signal| s.kind == kind && (kind != SignalKind::Trap || enough(s));
    let wanted: Vec<&Signal> = survey.signals.iter().filter(counts).collect();
    if wanted.is_empty() {
        return out;
    }
    let index = BoxIndex::new(survey.premises.outline.bounds());
    for signal in wanted {
        let premise = holder(survey, &index, signal.place);
        let pupae = premise.is_some_and(|p| standings[p.row()].source_with_pupae);
        out.push(survey, Source { premise, place: signal.place, pupae }, asked.measure_from);
    }
    out
}

/// The premise whose outline holds a place; of several the largest (to 0.001 m²), then the one with the smallest id.
fn holder(survey: &Survey, index: &BoxIndex, place: Local) -> Option<PremiseId> {
    let mut best: Option<(i64, usize)> = None;
    let ids = &survey.premises.parcel_id;
    index.each_touching(&crate::place::Bounds::of(&[place]), |row| {
        let outline = survey.premises.outline.get(row);
        if outline.holds(place) {
            let size = (outline.area() * 1000.0).round() as i64;
            let better = best.is_none_or(|(most, first)| size > most || (size == most && ids.get(row) < ids.get(first)));
            if better {
                best = Some((size, row));
            }
        }
    });
    best.map(|(_, row)| PremiseId(row as u32))
}
