//! Blocks that are worse or better than chance, with their neighbours.

use super::{ByChance, Counts, Nearby, Score, believed, gi_star, smoothed_rates};
use crate::place::{Bounds, Shapes};
use crate::survey::{BlockId, Survey, UnknownWord, settings};
use crate::units::Metres;

/// Blocks whose outlines lie no farther apart than this are taken as neighbours: across a wide street.
pub const BLOCKS_APART: f64 = 60.0;

/// Outlines that lie no farther apart than this touch, in metres: corners of two blocks are seldom drawn on the same spot.
const TOUCHING: f64 = 0.5;

/// Which blocks count as neighbours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Neighbours {
    /// Those whose outlines touch.
    Touching,
    /// Those whose outlines lie no farther apart than so many metres.
    Apart(f64),
}

impl Default for Neighbours {
    /// Those within [`BLOCKS_APART`].
    fn default() -> Self {
        Self::Apart(BLOCKS_APART)
    }
}

impl Neighbours {
    /// The rule of a survey: the one its office has settled, or the usual one.
    pub fn of(survey: &Survey) -> Self {
        survey.settings.get(settings::NEIGHBOURS).and_then(|text| text.parse().ok()).unwrap_or_default()
    }

    /// How far apart neighbours lie at most, in metres.
    pub fn metres(self) -> f64 {
        match self {
            Self::Touching => TOUCHING,
            Self::Apart(metres) => metres,
        }
    }

    /// The rule in words, to stand after "neighbours:".
    pub fn words(self) -> String {
        match self {
            Self::Touching => format!("blocks whose outlines touch (to {TOUCHING} m)"),
            Self::Apart(metres) => format!("blocks within {metres:.0} m"),
        }
    }

    /// The value of the setting [`settings::NEIGHBOURS`] that keeps the rule in a survey; `None` for the usual one, which need not be kept.
    pub fn setting(self) -> Option<Box<str>> {
        (self != Self::default()).then(|| match self {
            Self::Touching => "touching".into(),
            Self::Apart(metres) => format!("{metres}m").into(),
        })
    }
}

impl std::str::FromStr for Neighbours {
    type Err = UnknownWord;

    /// "touching", or a length with its unit.
    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let given = text.trim();
        if given.eq_ignore_ascii_case("touching") {
            return Ok(Self::Touching);
        }
        let metres = given.parse::<Metres>().ok().map(|m| m.0).filter(|m| m.is_finite() && *m >= 0.0);
        let unknown = || UnknownWord {
            given: given.to_owned(),
            what: "a rule for neighbours",
            known: "touching, or a length as 60m or 200ft".to_owned(),
        };
        metres.map(Self::Apart).ok_or_else(unknown)
    }
}

/// Of the blocks named hot or cold, at most this share is so by chance alone.
pub const FALSE_SHARE: f64 = 0.10;

/// Fewer blocks with an inspected premise than this tell nothing of clusters.
const FEWEST: usize = 10;

/// Whether a block and its neighbours are worse or better than the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heat {
    /// Worse.
    Hot,
    /// Better.
    Cold,
    /// No more than chance.
    Neither,
}

impl Heat {
    /// The word that files and screens write.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hot => "hot",
            Self::Cold => "cold",
            Self::Neither => "neither",
        }
    }
}

/// A block's house index beside those of the others.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spot {
    /// The house index, per 100, drawn towards the index of all blocks, the more the fewer premises were inspected.
    pub smoothed: Option<f64>,
    /// How far the block and its neighbours are from the rest (Gi*).
    pub score: Option<Score>,
    /// Hot or cold, so that at most [`FALSE_SHARE`] of those named are so by chance.
    pub heat: Option<Heat>,
}

/// Whether a block with an inspected premise has no outline, so that the outlines of its premises are needed to place it.
pub fn needs_premises(survey: &Survey, groups: &[(Option<BlockId>, Counts)]) -> bool {
    let placed = |b: BlockId| survey.blocks.outline.bounds().get(b.row()).is_some_and(|bounds| !bounds.is_empty());
    groups.iter().any(|(block, counts)| counts.inspected > 0 && block.is_some_and(|b| !placed(b)))
}

/// The spots of the groups that [`super::by_block`] gives, in their order. Only blocks with an inspected premise enter;
/// premises without a block do not. Neighbours are those of the survey's rule ([`Neighbours::of`]); for a block without an outline, by the box
/// round its premises.
///
/// # Source
/// See [`smoothed_rates`] (binomial), [`gi_star`] and [`believed`]. The two numbers above are conventions of this program.
pub fn spots(survey: &Survey, groups: &[(Option<BlockId>, Counts)]) -> Vec<Spot> {
    spots_within(survey, groups, Neighbours::of(survey).metres())
}

/// The same with neighbours up to another distance, in metres.
pub fn spots_within(survey: &Survey, groups: &[(Option<BlockId>, Counts)], apart: f64) -> Vec<Spot> {
    let mut out = vec![Spot::default(); groups.len()];
    let seen: Vec<(usize, Counts)> =
        groups.iter().enumerate().filter(|(_, (b, c))| b.is_some() && c.inspected > 0).map(|(i, g)| (i, g.1)).collect();
    let events: Vec<f64> = seen.iter().map(|s| s.1.positive_premises as f64).collect();
    let doors: Vec<f64> = seen.iter().map(|s| s.1.inspected as f64).collect();
    for (s, rate) in seen.iter().zip(smoothed_rates(&events, &doors, ByChance::Binomial)) {
        out[s.0].smoothed = rate.map(|r| 100.0 * r);
    }
    let placed = placed(survey, groups);
    if placed.enough() {
        scores(&placed, &placed.nearby(survey, apart), &mut out);
    }
    out
}

/// Blocks with an inspected premise that have a place: by the place of their group, with what was counted and their box.
pub(super) struct Placed {
    pub(super) groups: Vec<(usize, BlockId, Counts)>,
    boxes: Vec<Bounds>,
}

/// The groups of a survey that can be compared with their neighbours.
pub(super) fn placed(survey: &Survey, groups: &[(Option<BlockId>, Counts)]) -> Placed {
    let boxes = boxes(survey);
    let seen = groups.iter().enumerate().filter_map(|(i, (b, c))| b.filter(|_| c.inspected > 0).map(|b| (i, b, *c)));
    let groups: Vec<(usize, BlockId, Counts)> = seen.filter(|s| !boxes[s.1.row()].is_empty()).collect();
    let boxes = groups.iter().map(|s| boxes[s.1.row()]).collect();
    Placed { groups, boxes }
}

impl Placed {
    /// Whether they tell anything of clusters.
    pub(super) fn enough(&self) -> bool {
        self.groups.len() >= FEWEST
    }

    /// Which of them lie no farther apart than some metres.
    pub(super) fn nearby(&self, survey: &Survey, apart: f64) -> Nearby {
        let mut outlines = Shapes::default();
        for (_, block, _) in &self.groups {
            // A block may be known by name alone.
            if block.row() < survey.blocks.outline.len() {
                outlines.push_view(survey.blocks.outline.get(block.row()));
            } else {
                outlines.end_shape();
            }
        }
        Nearby::outlines(&outlines, &self.boxes, apart)
    }
}

fn scores(placed: &Placed, nearby: &Nearby, out: &mut [Spot]) {
    let values: Vec<f64> = placed.groups.iter().map(|s| s.2.house_index().unwrap_or(0.0)).collect();
    let found = gi_star(&values, nearby);
    let tested: Vec<(usize, Score)> = placed.groups.iter().zip(found).filter_map(|(s, score)| score.map(|score| (s.0, score))).collect();
    let chances: Vec<f64> = tested.iter().map(|t| t.1.p).collect();
    for ((at, score), sure) in tested.into_iter().zip(believed(&chances, FALSE_SHARE)) {
        out[at].score = Some(score);
        out[at].heat = Some(match sure {
            true if score.z > 0.0 => Heat::Hot,
            true => Heat::Cold,
            false => Heat::Neither,
        });
    }
}

/// The box of each block: round its outline, or else round its premises.
fn boxes(survey: &Survey) -> Vec<Bounds> {
    let mut boxes = survey.blocks.outline.bounds().to_vec();
    boxes.resize(survey.blocks.len(), Bounds::EMPTY);
    let known: Vec<bool> = boxes.iter().map(|b| !b.is_empty()).collect();
    for (block, lot) in survey.premises.block.iter().zip(survey.premises.outline.bounds()) {
        if let Some(b) = block.map(BlockId::row).filter(|&b| !known[b]) {
            boxes[b] = boxes[b].union(*lot);
        }
    }
    boxes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, Local, LonLat};
    use std::sync::Arc;

    /// Blocks of 100 m, 20 m apart, six to a row; the first without an outline.
    fn survey(rows: usize) -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        let n = rows * 6;
        s.blocks.block_id = Arc::new((0..n).map(|i| format!("{i:03}")).collect());
        s.premises.parcel_id = s.blocks.block_id.clone();
        s.premises.block = Arc::new((0..n as u32).map(|b| Some(BlockId(b))).collect());
        let mut outlines = Shapes::default();
        let mut lots = Shapes::default();
        for i in 0..n {
            let (x, y) = ((i % 6) as f64 * 120.0, (i / 6) as f64 * 120.0);
            let ring = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)].map(|(a, b)| Local { x: x + a, y: y + b });
            for shapes in [&mut outlines, &mut lots].into_iter().skip(usize::from(i == 0)) {
                shapes.push_ring(&ring);
                shapes.end_part();
            }
            outlines.end_shape();
            lots.end_shape();
        }
        s.blocks.outline = Arc::new(outlines);
        s.premises.outline = Arc::new(lots);
        s
    }

    #[test]
    fn a_bad_corner_is_hot_and_the_unseen_stay_empty() {
        let s = survey(6);
        let groups: Vec<(Option<BlockId>, Counts)> = (0..36u32)
            .map(|b| {
                let bad = b % 6 < 2 && b / 6 < 3;
                let inspected = if b == 35 { 0 } else { 10 };
                let positive_premises = if b == 35 { 0 } else { u64::from(b % 3) + if bad { 6 } else { 0 } };
                (Some(BlockId(b)), Counts { premises: 20, inspected, positive_premises, ..Counts::default() })
            })
            .collect();
        assert!(needs_premises(&s, &groups));
        let found = spots(&s, &groups);
        assert_eq!(found[35], Spot::default());
        assert_eq!((found[0].heat, found[7].heat, found[22].heat), (Some(Heat::Hot), Some(Heat::Hot), Some(Heat::Neither)));
        let (raw, smoothed) = (groups[7].1.house_index().unwrap(), found[7].smoothed.unwrap());
        assert!(smoothed < raw && smoothed > 20.0, "{smoothed} of {raw}");
        assert!(spots(&survey(1), &groups[..6]).iter().all(|s| s.score.is_none() && s.smoothed.is_some()));
    }
}
