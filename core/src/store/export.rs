//! What can be handed out of a survey, layer by layer.

use crate::files::{Column, Drawn, Features};
use crate::job::{Cancelled, Watch};
use crate::measure::by_block;
use crate::place::{Local, Shapes, inside};
use crate::reach::{Gap, Ground, SourceKind, Wanted, fence, gaps, ground, mask_gaps, masked_ground, sources};
use crate::survey::{BlockId, Ranges, RoundId, Signal, SignalKind, Standing, Survey, UnknownWord, Visit, settings, standings};
use crate::walks::{Day, read_day, walk_rows};
use std::str::FromStr;
use std::sync::Arc;

/// A layer that can be handed out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layer {
    /// Premises with where they stand in the round.
    Premises,
    /// Blocks with their counts and house index in the round.
    Blocks,
    /// Visits of all rounds.
    Visits,
    /// Finds of all rounds.
    Finds,
    /// The reach as one ground.
    Reach,
    /// Premises inside the reach that nobody inspected in the round.
    Gaps,
    /// Cases, trap counts and complaints.
    Signals,
    /// Street centrelines.
    Streets,
    /// The doors of the day that was planned last.
    Walks,
}

impl Layer {
    /// Every layer.
    pub const ALL: [Self; 9] =
        [Self::Premises, Self::Blocks, Self::Visits, Self::Finds, Self::Reach, Self::Gaps, Self::Signals, Self::Streets, Self::Walks];

    /// The layer's name.
    pub fn word(self) -> &'static str {
        match self {
            Self::Premises => "premises",
            Self::Blocks => "blocks",
            Self::Visits => "visits",
            Self::Finds => "finds",
            Self::Reach => "reach",
            Self::Gaps => "gaps",
            Self::Signals => "signals",
            Self::Streets => "streets",
            Self::Walks => "walks",
        }
    }
}

impl FromStr for Layer {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let given = text.trim();
        Self::ALL.into_iter().find(|l| l.word().eq_ignore_ascii_case(given)).ok_or_else(|| UnknownWord {
            given: given.to_owned(),
            what: "a layer",
            known: Self::ALL.map(Self::word).join(", "),
        })
    }
}

/// What somebody asks to have handed out.
#[derive(Clone, Copy, Debug)]
pub struct Export {
    /// Which layer.
    pub layer: Layer,
    /// The round that states, counts and gaps are those of; without one nothing counts as visited.
    pub round: Option<RoundId>,
    /// The reach that the layers `reach` and `gaps` are those of.
    pub wanted: Wanted,
    /// Whether cases are handed out with their place, which is health information. They are left out otherwise, and a reach
    /// round them is drawn from their mask.
    pub unmasked: bool,
}

impl Export {
    /// Whether the reach is one that would show where cases are.
    fn masks(&self) -> bool {
        self.wanted.from == SourceKind::Cases && !self.unmasked
    }
}

/// The rows and shapes of a layer, ready to be written with [`crate::files::write_features`].
///
/// # Errors
/// [`Cancelled`] when somebody asked to stop.
pub fn export(survey: &Survey, what: &Export, watch: &dyn Watch) -> Result<Features, Cancelled> {
    watch.step("Gathering the rows", 0, 0)?;
    let states = || what.round.map_or_else(|| vec![Standing::default(); survey.premises.len()], |r| standings(survey, r));
    Ok(match what.layer {
        Layer::Premises => premises(survey, &states()),
        Layer::Blocks => blocks(survey, &states()),
        Layer::Visits => visits(survey),
        Layer::Finds => finds(survey),
        Layer::Reach => reach_features(survey, &ground_of(survey, &states(), what, watch)?, &what.wanted),
        Layer::Gaps => {
            let states = states();
            let from = sources(survey, &states, &what.wanted);
            let found = gaps(survey, &states, &from, &what.wanted, watch)?;
            let found = if what.masks() { mask_gaps(survey, &what.wanted, found) } else { found };
            gap_features(survey, &found)
        }
        Layer::Signals => signals(survey, what.unmasked),
        Layer::Streets => streets(survey),
        Layer::Walks => walk_rows(survey, planned_day(survey).as_ref()),
    })
}

/// The day that was planned last and is kept in the survey.
pub fn planned_day(survey: &Survey) -> Option<Day> {
    survey.settings.get(settings::WALKS).and_then(|text| read_day(survey, text))
}

fn ground_of(survey: &Survey, states: &[Standing], what: &Export, watch: &dyn Watch) -> Result<Ground, Cancelled> {
    let (from, radius) = (sources(survey, states, &what.wanted), what.wanted.radius);
    if what.masks() { masked_ground(survey, &from, radius, watch) } else { ground(survey, &from, radius, watch) }
}

fn block_name(survey: &Survey, block: Option<BlockId>) -> &str {
    block.map_or("", |b| survey.blocks.block_id.get(b.row()))
}

fn premises(survey: &Survey, states: &[Standing]) -> Features {
    let p = &survey.premises;
    let seen = |number: fn(&Standing) -> u32| states.iter().map(move |s| s.inspected().then(|| i64::from(number(s))));
    let mut columns = vec![
        Column::text("parcel_id", p.parcel_id.iter()),
        Column::text("block_id", p.block.iter().map(|&b| block_name(survey, b))),
        Column::text("address", p.address.iter()),
        Column::text("state", states.iter().map(|s| s.marking(&survey.visits).word())),
        Column::whole("attempts", states.iter().map(|s| Some(s.attempts.into()))),
        Column::whole("wet", seen(|s| s.wet)),
        Column::whole("positive", seen(|s| s.positive_containers)),
        Column::whole("pupae", seen(|s| s.pupae)),
    ];
    if !p.land_use.is_empty() {
        columns.push(Column::text("land_use", p.land_use.iter()));
    }
    if !p.year_built.is_empty() {
        columns.push(Column::whole("year_built", p.year_built.iter().map(|&year| (year > 0).then(|| year.into()))));
    }
    Features::new("premises", "Premises, and where they stand in the round", columns).drawn(
        survey.frame,
        Drawn::Outlines,
        Arc::clone(&p.outline),
    )
}

fn blocks(survey: &Survey, states: &[Standing]) -> Features {
    let mut counts = vec![None; survey.blocks.len()];
    for (block, c) in by_block(survey, states) {
        if let Some(block) = block {
            counts[block.row()] = Some(c);
        }
    }
    let counts: Vec<_> = counts.into_iter().map(Option::unwrap_or_default).collect();
    let interval = |c: &crate::measure::Counts| c.house_index_interval();
    let columns = vec![
        Column::text("block_id", survey.blocks.block_id.iter()),
        Column::whole("premises", counts.iter().map(|c| Some(c.premises as i64))),
        Column::whole("attempted", counts.iter().map(|c| Some(c.attempted as i64))),
        Column::whole("inspected", counts.iter().map(|c| Some(c.inspected as i64))),
        Column::whole("positive_premises", counts.iter().map(|c| Some(c.positive_premises as i64))),
        Column::number("coverage", 4, counts.iter().map(|c| c.coverage())),
        Column::number("house_index", 4, counts.iter().map(|c| c.house_index())),
        Column::number("house_index_low", 4, counts.iter().map(|c| interval(c).map(|i| i.low))),
        Column::number("house_index_high", 4, counts.iter().map(|c| interval(c).map(|i| i.high))),
    ];
    Features::new("blocks", "Blocks, with their counts and house index in the round", columns).drawn(
        survey.frame,
        Drawn::Outlines,
        Arc::clone(&survey.blocks.outline),
    )
}

/// Places inside the premises of some rows, as shapes of one place.
fn places_at<'a>(survey: &Survey, premises: impl Iterator<Item = &'a Visit>) -> Arc<Shapes> {
    Arc::new(points(premises.map(|v| inside(survey.premises.outline.get(v.premise.row())))))
}

fn points(places: impl Iterator<Item = Option<Local>>) -> Shapes {
    let mut shapes = Shapes::default();
    for place in places {
        if let Some(place) = place {
            shapes.push_ring(&[place]);
            shapes.end_part();
        }
        shapes.end_shape();
    }
    shapes
}

fn visits(survey: &Survey) -> Features {
    let rows = survey.visits.rows();
    let finds = |v| survey.visits.finds_of(v);
    let columns = vec![
        Column::text("visit_id", rows.iter().map(|v| &v.id)),
        Column::text("parcel_id", rows.iter().map(|v| survey.premises.parcel_id.get(v.premise.row()))),
        Column::text("block_id", rows.iter().map(|v| block_name(survey, survey.premises.block[v.premise.row()]))),
        Column::day("date", rows.iter().map(|v| Some(v.when.day))),
        Column::text("time", rows.iter().map(|v| v.when.time.map(|t| t.to_string()).unwrap_or_default())),
        Column::whole("minutes", rows.iter().map(|v| v.minutes().map(i64::from))),
        Column::text("outcome", rows.iter().map(|v| v.outcome.word())),
        Column::text("round", rows.iter().map(|v| &survey.rounds[v.round.row()].name)),
        Column::text("crew", rows.iter().map(|v| &v.crew)),
        Column::text("promise", rows.iter().map(|v| v.promise())),
        Column::text("cautions", rows.iter().map(|v| v.cautions())),
        // Sums have names that no column of the visits table has: brought in again they are no find.
        Column::whole("sum_wet", rows.iter().map(|v| Some(finds(v).iter().map(|f| i64::from(f.wet)).sum()))),
        Column::whole("sum_positive", rows.iter().map(|v| Some(survey.visits.positive_containers(v).into()))),
        Column::whole("sum_pupae", rows.iter().map(|v| Some(finds(v).iter().map(|f| i64::from(f.pupae)).sum()))),
    ];
    let about = "Attempts at premises; a visit is drawn inside its premise";
    Features::new("visits", about, columns).drawn(survey.frame, Drawn::Points, places_at(survey, rows.iter()))
}

/// Finds with the columns of the visits table, so that the file can be brought in again.
fn finds(survey: &Survey) -> Features {
    let rows: Vec<(&Visit, &crate::survey::Find)> =
        survey.visits.rows().iter().flat_map(|v| survey.visits.finds_of(v).iter().map(move |f| (v, f))).collect();
    let number = |count: fn(&crate::survey::Find) -> u32| rows.iter().map(move |(_, f)| Some(i64::from(count(f))));
    let columns = vec![
        Column::text("visit_id", rows.iter().map(|(v, _)| &v.id)),
        Column::text("parcel_id", rows.iter().map(|(v, _)| survey.premises.parcel_id.get(v.premise.row()))),
        Column::day("date", rows.iter().map(|(v, _)| Some(v.when.day))),
        Column::text("outcome", rows.iter().map(|(v, _)| v.outcome.word())),
        Column::text("round", rows.iter().map(|(v, _)| &survey.rounds[v.round.row()].name)),
        Column::text("container_type", rows.iter().map(|(_, f)| survey.kind_name(f.kind))),
        Column::whole("count", number(|f| f.count)),
        Column::whole("holds_water", number(|f| f.wet)),
        Column::whole("larvae", number(|f| f.with_larvae)),
        Column::whole("pupae", number(|f| f.with_pupae)),
        Column::whole("pupae_count", number(|f| f.pupae)),
        Column::text("stages", rows.iter().map(|(_, f)| f.stage.map_or("", |s| s.word()))),
        Column::number("litres", 2, rows.iter().map(|(_, f)| f.litres.map(f64::from))),
        Column::text("action", rows.iter().map(|(_, f)| f.action.map_or("", |a| a.word()))),
        Column::text("remains", rows.iter().map(|(_, f)| if f.remains { "yes" } else { "no" })),
        Column::text("promise", rows.iter().map(|(v, _)| v.promise())),
        Column::text("cautions", rows.iter().map(|(v, _)| v.cautions())),
    ];
    let about = "Containers found on visits; a find is drawn inside its premise";
    let places = places_at(survey, rows.iter().map(|(v, _)| *v));
    Features::new("finds", about, columns).drawn(survey.frame, Drawn::Points, places)
}

/// The reach as one row.
pub fn reach_features(survey: &Survey, ground: &Ground, wanted: &Wanted) -> Features {
    let columns = vec![
        Column::text("source", [wanted.from.word()]),
        Column::text("measured_from", [wanted.measure_from.word()]),
        Column::number("radius_m", 2, [Some(wanted.radius.0)]),
        Column::number("area_m2", 1, [Some(ground.area.0)]),
        Column::whole("parts", [Some(ground.parts as i64)]),
    ];
    Features::new("reach", "Ground inside flight range of the sources", columns).drawn(
        survey.frame,
        Drawn::Outlines,
        Arc::new(ground.shapes.clone()),
    )
}

/// Gaps in their order, with the columns of the contract; the chance stays empty until it is worked out.
pub fn gap_features(survey: &Survey, gaps: &[Gap]) -> Features {
    let p = &survey.premises;
    let columns = vec![
        Column::whole("rank", (1..=gaps.len() as i64).map(Some)),
        Column::text("parcel_id", gaps.iter().map(|g| p.parcel_id.get(g.premise.row()))),
        Column::text("block_id", gaps.iter().map(|g| block_name(survey, p.block[g.premise.row()]))),
        Column::text("address", gaps.iter().map(|g| p.address.get(g.premise.row()))),
        Column::text("reason", gaps.iter().map(|g| g.reason.word())),
        Column::whole("attempts", gaps.iter().map(|g| Some(g.attempts.into()))),
        Column::day("last_attempt", gaps.iter().map(|g| g.last_attempt)),
        Column::whole("sources_in_reach", gaps.iter().map(|g| (!g.masked()).then_some(g.sources_in_reach.into()))),
        Column::number("nearest_source_m", 2, gaps.iter().map(|g| (!g.masked()).then_some(g.nearest_source.0))),
        Column::text("shares_fence", gaps.iter().map(fence)),
        Column::number("probability", 4, gaps.iter().map(|_| None)),
    ];
    let rows: Vec<u32> = gaps.iter().map(|g| g.premise.0).collect();
    Features::new("gaps", "Premises inside the reach that were not inspected in the round", columns).drawn(
        survey.frame,
        Drawn::Outlines,
        Arc::new(p.outline.reordered(&rows)),
    )
}

fn signals(survey: &Survey, unmasked: bool) -> Features {
    let rows: Vec<&Signal> = survey.signals.iter().filter(|s| unmasked || s.kind != SignalKind::Case).collect();
    let columns = vec![
        Column::text("signal_id", rows.iter().map(|s| &s.id)),
        Column::day("date", rows.iter().map(|s| Some(s.day))),
        Column::text("kind", rows.iter().map(|s| s.kind.word())),
        Column::number("value", 2, rows.iter().map(|s| s.value)),
        Column::text("species", rows.iter().map(|s| &s.species)),
    ];
    let about = if unmasked { "Cases, trap counts and complaints" } else { "Trap counts and complaints; cases are left out" };
    let places = points(rows.iter().map(|s| Some(s.place)));
    Features::new("signals", about, columns).drawn(survey.frame, Drawn::Points, Arc::new(places))
}

fn streets(survey: &Survey) -> Features {
    let s = &survey.streets;
    let class = |i: usize| s.class.get(i).map_or("", |c| c.word());
    let mut columns = vec![
        Column::text("name", s.name.iter()),
        Column::text("class", (0..s.len()).map(class)),
        Column::whole("level", (0..s.len()).map(|i| s.level.get(i).map(|&level| level.into()))),
    ];
    let ranges = &survey.streets.ranges;
    if !ranges.is_empty() {
        let numbers = |pick: fn(&Ranges) -> Option<u32>| ranges.iter().map(move |r| pick(r).map(i64::from));
        columns.extend([
            Column::whole("left_from", numbers(|r| r.left.map(|n| n.from))),
            Column::whole("left_to", numbers(|r| r.left.map(|n| n.to))),
            Column::whole("right_from", numbers(|r| r.right.map(|n| n.from))),
            Column::whole("right_to", numbers(|r| r.right.map(|n| n.to))),
        ]);
    }
    Features::new("streets", "Street centrelines", columns).drawn(survey.frame, Drawn::Lines, Arc::clone(&survey.streets.line))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use crate::store::made_up;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]
        #[test]
        fn every_layer_has_its_rows_and_no_case_unless_asked_for(survey in made_up::survey()) {
            let rows = |layer, unmasked| {
                let what = Export { layer, round: survey.round(None), wanted: Wanted::default(), unmasked };
                export(&survey, &what, &Unwatched).unwrap().rows()
            };
            let cases = survey.signals.iter().filter(|s| s.kind == SignalKind::Case).count();
            prop_assert_eq!(rows(Layer::Signals, false), survey.signals.len() - cases);
            prop_assert_eq!(rows(Layer::Signals, true), survey.signals.len());
            prop_assert_eq!(rows(Layer::Premises, false), survey.premises.len());
            prop_assert_eq!(rows(Layer::Blocks, false), survey.blocks.len());
            prop_assert_eq!(rows(Layer::Visits, false), survey.visits.len());
            prop_assert_eq!(rows(Layer::Finds, false), survey.visits.finds().len());
            prop_assert_eq!(rows(Layer::Streets, false), survey.streets.len());
        }
    }
}
