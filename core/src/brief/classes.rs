//! What a map shows: the class of every premise and block, and the legend that explains the classes. No drawing here.

use super::breaks::{Classing, Limits, limits};
use super::changed::by_change;
use super::ink::{self, ClassInk, Mark, Rgb};
use super::stand_out::by_standing_out;
use crate::foresee::Chance;
use crate::measure::{Counts, Programmes, Spot, by_block, spots};
use crate::reach::Gap;
use crate::survey::{Marking, RoundId, Standing, Survey, UnknownWord};
use std::str::FromStr;

/// Fewer inspected yards than this in a block are too few to be sure of its class; such blocks are hatched.
///
/// # Source
/// Common practice, no source: with four yards one positive makes an index of 25 per 100.
pub const FEW: u64 = 5;

/// What a map is coloured by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum ColourBy {
    /// Positive premises per 100 inspected, by block.
    #[default]
    HouseIndex,
    /// The same drawn towards the index of all blocks, the more the fewer premises were inspected.
    Smoothed,
    /// Wet containers per inspected premise, by block.
    Containers,
    /// Inspected premises out of all, by block.
    Coverage,
    /// Where each premise stands, and which are inside the reach and not inspected.
    Gaps,
    /// Blocks worse or better than chance together with their neighbours.
    HotSpots,
    /// Blocks like or unlike their neighbours.
    Clusters,
    /// The chance that each premise not inspected is positive.
    Foreseen,
    /// By how much the house index fell or rose since an earlier round, by block.
    Change,
}

impl ColourBy {
    /// Every value, in the order of the contract.
    pub const ALL: [Self; 9] = [
        Self::HouseIndex,
        Self::Containers,
        Self::Coverage,
        Self::Gaps,
        Self::Foreseen,
        Self::HotSpots,
        Self::Clusters,
        Self::Change,
        Self::Smoothed,
    ];

    /// The value as the command line writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::HouseIndex => "house-index",
            Self::Smoothed => "smoothed-house-index",
            Self::Containers => "containers",
            Self::Coverage => "coverage",
            Self::Gaps => "gaps",
            Self::HotSpots => "hot-spots",
            Self::Clusters => "clusters",
            Self::Foreseen => "foreseen",
            Self::Change => "change",
        }
    }

    /// The heading of a map coloured so.
    pub fn heading(self) -> &'static str {
        match self {
            Self::HouseIndex => "House index by block",
            Self::Smoothed => "Smoothed house index by block",
            Self::Containers => "Wet containers by block",
            Self::Coverage => "Coverage by block",
            Self::Gaps => "Yards still to see",
            Self::HotSpots => "Hot and cold blocks",
            Self::Clusters => "Blocks beside their neighbours",
            Self::Foreseen => "Chance in yards not seen",
            Self::Change => "Change of the house index by block",
        }
    }

    /// What the classes count, with its unit.
    pub fn unit(self) -> &'static str {
        match self {
            Self::HouseIndex => "Positive yards per 100 inspected",
            Self::Smoothed => "Positive yards per 100, few doors drawn to the mean",
            Self::Containers => "Wet containers per inspected yard",
            Self::Coverage => "Yards inspected, of all yards",
            Self::Gaps => "Where each yard stands",
            Self::HotSpots => "House index of a block and those round it",
            Self::Clusters => "Rate of a block and of those round it",
            Self::Foreseen => "Chance of larvae or pupae",
            Self::Change => "House index now less the earlier one, points per 100",
        }
    }

    /// Whether yards have classes of their own; otherwise they have that of their block.
    pub fn by_premise(self) -> bool {
        matches!(self, Self::Gaps | Self::Foreseen)
    }

    fn ramp(self) -> [Rgb; 5] {
        if self == Self::Coverage { ink::SEEING } else { ink::BREEDING }
    }

    fn value(self, counts: &Counts, spot: &Spot) -> Option<f64> {
        match self {
            Self::HouseIndex => counts.house_index(),
            Self::Smoothed => spot.smoothed,
            Self::Containers => counts.wet_per_inspected(),
            Self::Coverage => counts.coverage().filter(|_| counts.inspected > 0),
            Self::Gaps | Self::Foreseen | Self::HotSpots | Self::Clusters | Self::Change => None,
        }
    }
}

impl FromStr for ColourBy {
    type Err = UnknownWord;

    fn from_str(text: &str) -> Result<Self, UnknownWord> {
        let given = text.trim();
        Self::ALL.into_iter().find(|c| c.word().eq_ignore_ascii_case(given)).ok_or_else(|| UnknownWord {
            given: given.to_owned(),
            what: "a way to colour a map",
            known: Self::ALL.map(Self::word).join(", "),
        })
    }
}

/// One class: how it is drawn, what it means, how many are in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Class {
    /// How it is drawn.
    pub ink: ClassInk,
    /// What it means, in words for the legend.
    pub label: String,
    /// How many blocks, or premises on a map of gaps, are in it.
    pub count: u64,
}

/// One line of the legend: several classes may share it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LegendLine {
    /// How its swatch is drawn.
    pub ink: ClassInk,
    /// What it means.
    pub label: String,
    /// How many blocks, or premises on a map of gaps.
    pub count: u64,
}

/// What is shown of a survey.
#[derive(Clone, Copy, Debug, Default)]
pub struct Showing<'a> {
    /// What it is coloured by.
    pub colour_by: ColourBy,
    /// How values become classes.
    pub classing: Classing,
    /// The round; `None` before the first visit.
    pub round: Option<RoundId>,
    /// The round that a map of change compares it with; `None` for the one before. Read on a map of change alone.
    pub since: Option<RoundId>,
    /// Read on a map of gaps alone.
    pub gaps: &'a [Gap],
    /// Read on a map of chances alone; empty where none may be shown.
    pub chances: &'a [Chance],
}

/// The class of every premise and block, and what the classes are.
#[derive(Clone, Debug, PartialEq)]
pub struct Classes {
    /// What the map is coloured by.
    pub colour_by: ColourBy,
    /// What the classes count, with its unit; on a map of change with both rounds.
    pub unit: String,
    /// The class of each premise, in their order: a place in `classes`.
    pub premises: Vec<u8>,
    /// The class of each block, in their order; empty on a map of premises, where they alone have classes.
    pub blocks: Vec<u8>,
    /// The classes, empty ones among them.
    pub classes: Vec<Class>,
    /// How many of them, the first, are steps of a ramp from low to high.
    pub steps: usize,
    /// By what rule the breaks between them were chosen, with the scheme's name; empty where there are none.
    pub breaks_from: String,
    /// Which blocks are hatched, in words.
    few: String,
}

/// Sorts premises and blocks into classes.
///
/// The classes of a block map are: the steps from low to high; the same steps for blocks seen too little, hatched; blocks seen in
/// an earlier round only, dotted; not seen; in no block. Those of a map of gaps: a premise's [`Marking`] in its order, and 8 more for
/// gaps. Those of a map of chances: the steps, and then a premise's [`Marking`] in its order. Those of a map of change: fell by much,
/// fell, neither, rose, rose by much; seen too little; not seen in both rounds; in no block.
pub fn classify(survey: &Survey, standings: &[Standing], showing: &Showing<'_>) -> Classes {
    match showing.colour_by {
        ColourBy::Gaps => by_marking(survey, standings, showing.gaps),
        ColourBy::Foreseen => by_chance(survey, standings, showing),
        ColourBy::HotSpots | ColourBy::Clusters => by_standing_out(survey, standings, showing.colour_by, showing.round),
        ColourBy::Change => by_change(survey, standings, showing),
        _ => by_measure(survey, standings, showing),
    }
}

fn by_measure(survey: &Survey, standings: &[Standing], showing: &Showing<'_>) -> Classes {
    let (colour_by, classing) = (showing.colour_by, &showing.classing);
    let groups = by_block(survey, standings);
    let spots = if colour_by == ColourBy::Smoothed { spots(survey, &groups) } else { vec![Spot::default(); groups.len()] };
    let mut counts = vec![None; survey.blocks.len()];
    for ((block, c), spot) in groups.into_iter().zip(spots) {
        if let Some(block) = block {
            counts[block.row()] = Some((c, colour_by.value(&c, &spot)));
        }
    }
    let values: Vec<f64> = counts.iter().flatten().filter_map(|c| c.1).collect();
    let limits = limits(colour_by, classing, &Programmes::of(survey), &values);
    let steps = limits.labels.len();
    let earlier = seen_earlier(survey, showing.round);
    let blocks: Vec<u8> = (0..counts.len())
        .map(|row| {
            let found = counts[row].as_ref().and_then(|(c, value)| Some((c, (*value)?)));
            match found {
                // How many were inspected is known exactly, however few they are.
                Some((c, value)) if colour_by == ColourBy::Coverage || seen_enough(c, classing) => limits.class_of(value),
                Some((_, value)) => steps as u8 + limits.class_of(value),
                None if earlier[row] && counts[row].is_some_and(|c| c.0.attempted == 0) => 2 * steps as u8,
                None => 2 * steps as u8 + 1,
            }
        })
        .collect();
    let no_block = 2 * steps as u8 + 2;
    let premises = survey.premises.block.iter().map(|b| b.map_or(no_block, |b| blocks[b.row()])).collect();
    let mut classes = block_classes(colour_by, &limits);
    for &class in &blocks {
        classes[usize::from(class)].count += 1;
    }
    let few = format!("of these, under {FEW} yards or {:.0} % seen", 100.0 * classing.enough);
    Classes { colour_by, unit: colour_by.unit().to_owned(), premises, blocks, classes, steps, breaks_from: limits.said, few }
}

/// Whether a block was seen enough to be sure of its class.
fn seen_enough(counts: &Counts, classing: &Classing) -> bool {
    counts.inspected >= FEW && counts.coverage().is_some_and(|c| c >= classing.enough)
}

/// Which blocks had a visit before the round began.
fn seen_earlier(survey: &Survey, round: Option<RoundId>) -> Vec<bool> {
    let mut seen = vec![false; survey.blocks.len()];
    let Some(first) = round.and_then(|r| survey.rounds.get(r.row())).map(|r| r.first) else { return seen };
    for visit in survey.visits.rows().iter().filter(|v| Some(v.round) != round && v.when.day < first) {
        if let Some(block) = survey.premises.block[visit.premise.row()] {
            seen[block.row()] = true;
        }
    }
    seen
}

fn block_classes(colour_by: ColourBy, limits: &Limits) -> Vec<Class> {
    let class = |ink: ClassInk, label: &str| Class { ink, label: label.to_owned(), count: 0 };
    let ramp = ink::steps(&colour_by.ramp(), limits.labels.len());
    let plain = ramp.iter().zip(&limits.labels).map(|(colour, label)| class(ClassInk::filled(*colour), label));
    let few =
        ramp.iter().zip(&limits.labels).map(|(c, label)| class(ClassInk::filled(*c).with_hatching(), &format!("{label}, seen too little")));
    let earlier = class(ClassInk::earlier(), "seen in an earlier round only");
    let not_seen = class(ClassInk::outlined(Mark::None), "not seen");
    let no_block = class(ClassInk { edge: ink::LINE, ..ClassInk::outlined(Mark::None) }, "in no block");
    plain.chain(few).chain([earlier, not_seen, no_block]).collect()
}

fn place_of(marking: Marking) -> u8 {
    Marking::ALL.iter().position(|&x| x == marking).unwrap_or(0) as u8
}

fn by_marking(survey: &Survey, standings: &[Standing], gaps: &[Gap]) -> Classes {
    let mut premises: Vec<u8> = standings.iter().map(|s| place_of(s.marking(&survey.visits))).collect();
    for gap in gaps {
        premises[gap.premise.row()] += Marking::ALL.len() as u8;
    }
    let plain = Marking::ALL.map(|m| Class { ink: ink::of_marking(m), label: marking_words(m).to_owned(), count: 0 });
    let in_reach = Marking::ALL.map(|m| Class { ink: ink::of_gap(m), label: gap_words(m).to_owned(), count: 0 });
    of_premises(ColourBy::Gaps, premises, plain.into_iter().chain(in_reach).collect(), 0, String::new())
}

fn by_chance(survey: &Survey, standings: &[Standing], showing: &Showing<'_>) -> Classes {
    let values: Vec<f64> = showing.chances.iter().map(|c| c.probability).collect();
    let limits = limits(ColourBy::Foreseen, &showing.classing, &Programmes::of(survey), &values);
    let steps = limits.labels.len();
    let mut premises: Vec<u8> = standings.iter().map(|s| steps as u8 + place_of(s.marking(&survey.visits))).collect();
    for chance in showing.chances {
        let standing = &standings[chance.premise.row()];
        // Larvae seen from outside are no chance any more.
        if !standing.inspected() && !standing.source {
            premises[chance.premise.row()] = limits.class_of(chance.probability);
        }
    }
    let ramp = ink::steps(&ColourBy::Foreseen.ramp(), steps);
    let chances = ramp.into_iter().zip(&limits.labels).map(|(c, label)| Class { ink: ClassInk::filled(c), label: label.clone(), count: 0 });
    let seen = Marking::ALL.map(|m| Class { ink: ink::of_seen(m), label: seen_words(m).to_owned(), count: 0 });
    of_premises(ColourBy::Foreseen, premises, chances.chain(seen).collect(), steps, limits.said)
}

/// Classes of blocks that are no steps of a ramp, and of the premises in them.
pub(super) fn of_blocks(colour_by: ColourBy, premises: Vec<u8>, blocks: Vec<u8>, mut classes: Vec<Class>, breaks_from: String) -> Classes {
    for &class in &blocks {
        classes[usize::from(class)].count += 1;
    }
    Classes { colour_by, unit: colour_by.unit().to_owned(), premises, blocks, classes, steps: 0, breaks_from, few: String::new() }
}

fn of_premises(colour_by: ColourBy, premises: Vec<u8>, mut classes: Vec<Class>, steps: usize, breaks_from: String) -> Classes {
    for &class in &premises {
        classes[usize::from(class)].count += 1;
    }
    let unit = colour_by.unit().to_owned();
    Classes { colour_by, unit, premises, blocks: Vec::new(), classes, steps, breaks_from, few: String::new() }
}

/// What a marking means on a map of chances, where only yards without one are marked.
fn seen_words(marking: Marking) -> &'static str {
    match marking {
        Marking::NotVisited => "not visited, no chance worked out",
        Marking::Tried => "tried, no chance worked out",
        Marking::Refused => "refused, no chance worked out",
        Marking::SeenOverFence => "seen over the fence, no chance worked out",
        Marking::NoWater | Marking::Wet => "inspected, no larvae",
        Marking::Larvae => "larvae found",
        Marking::Pupae => "pupae found",
    }
}

fn marking_words(marking: Marking) -> &'static str {
    match marking {
        Marking::NotVisited => "not visited",
        Marking::Tried => "tried, not got in",
        Marking::Refused => "refused",
        Marking::SeenOverFence => "seen over the fence",
        Marking::NoWater => "inspected, no water",
        Marking::Wet => "inspected, water without larvae",
        Marking::Larvae => "larvae found",
        Marking::Pupae => "pupae found",
    }
}

fn gap_words(marking: Marking) -> &'static str {
    match marking {
        Marking::NotVisited => "in reach, not visited",
        Marking::Tried => "in reach, tried, not got in",
        Marking::Refused => "in reach, refused",
        Marking::SeenOverFence => "in reach, seen over the fence",
        Marking::NoWater | Marking::Wet => "in reach, not inspected",
        Marking::Larvae => "larvae found from outside",
        Marking::Pupae => "pupae found from outside",
    }
}

impl Classes {
    /// The lines of the legend. A block map shows its classes even when empty, then what was seen too little, long ago and not at
    /// all. A map of gaps shows the classes that occur: gaps first, then what breeds, then the rest; one of chances shows all
    /// steps, then what was found.
    pub fn legend(&self) -> Vec<LegendLine> {
        let line = |i: usize| {
            let class = &self.classes[i];
            LegendLine { ink: class.ink, label: class.label.clone(), count: class.count }
        };
        let n = self.steps;
        let occurs = |l: &LegendLine| l.count > 0;
        match self.colour_by {
            ColourBy::Gaps => {
                let order = [15, 14, 8, 9, 10, 11, 12, 13, 7, 6, 5, 4, 3, 2, 1, 0];
                order.into_iter().map(line).filter(occurs).collect()
            }
            ColourBy::Foreseen => {
                let steps = (0..n).rev().map(line).filter(|l| l.count > 0 || self.any(0..n));
                let mut lines: Vec<LegendLine> = steps.collect();
                for found in (n..n + Marking::ALL.len()).rev().map(line).filter(occurs) {
                    // Yards drawn alike are one line.
                    match lines.last_mut().filter(|l| l.label == found.label) {
                        Some(same) => same.count += found.count,
                        None => lines.push(found),
                    }
                }
                lines
            }
            // The last class is of premises in no block.
            ColourBy::HotSpots | ColourBy::Clusters => (0..self.classes.len() - 1).map(line).collect(),
            // What rose stands above; the last three classes are no steps. Where nothing could be compared there are none.
            ColourBy::Change => {
                let steps = self.classes.len() - 3;
                let compared = (0..steps).rev().map(line).filter(|_| self.any(0..steps + 1));
                compared.chain((steps..steps + 2).map(line).filter(occurs)).collect()
            }
            _ => {
                let of = |i: usize| LegendLine { count: self.classes[i].count + self.classes[i + n].count, ..line(i) };
                let few = self.classes[n..2 * n].iter().map(|c| c.count).sum();
                let ink = ClassInk { fill: None, edge: ink::EDGE, ..ClassInk::outlined(Mark::None) }.with_hatching();
                let few = LegendLine { ink, label: self.few.clone(), count: few };
                let rest = [2 * n, 2 * n + 1].map(line);
                (0..n).rev().map(of).chain([few].into_iter().chain(rest).filter(occurs)).collect()
            }
        }
    }

    /// Whether any of some classes holds something.
    fn any(&self, mut classes: std::ops::Range<usize>) -> bool {
        classes.any(|i| self.classes[i].count > 0)
    }

    /// What the legend counts: "blocks" or "yards".
    pub fn counted(&self) -> &'static str {
        if self.colour_by.by_premise() { "yards" } else { "blocks" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::foresee::Pulls;
    use crate::place::{Frame, LonLat};
    use crate::survey::{BlockId, Outcome, PremiseId, Round, Visit, VisitId, Visits, When, standings};
    use crate::units::Metres;
    use jiff::civil::date;
    use std::sync::Arc;

    /// Blocks of some premises each; a standing for each premise in order.
    fn survey(premises: &[Option<u32>]) -> Survey {
        let mut s = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        s.premises.parcel_id = Arc::new(premises.iter().map(|_| "1").collect());
        s.premises.block = Arc::new(premises.iter().map(|b| b.map(BlockId)).collect());
        s.blocks.block_id = Arc::new(["A", "B", "C"].into_iter().collect());
        s
    }

    fn seen(wet: u32, positive: u32) -> Standing {
        let source = positive > 0;
        Standing { attempts: 1, counted: Some(VisitId(0)), wet, positive_containers: positive, source, ..Standing::default() }
    }

    fn shown(s: &Survey, standings: &[Standing], colour_by: ColourBy) -> Classes {
        classify(s, standings, &Showing { colour_by, ..Showing::default() })
    }

    #[test]
    fn blocks_are_sorted_and_the_little_seen_hatched() {
        let mut blocks = vec![Some(0); 10];
        blocks.extend([Some(1), Some(1), Some(2), None]);
        let s = survey(&blocks);
        let mut standings = vec![seen(1, 0); 9];
        standings.extend([seen(3, 1), seen(5, 2), Standing::default(), Standing::default(), seen(1, 1)]);
        let c = shown(&s, &standings, ColourBy::HouseIndex);
        assert_eq!(c.blocks, [3, 9, 11]); // 10 of 100; 100 of 100 but one yard; nobody
        assert_eq!((c.premises[0], c.premises[10], c.premises[13]), (3, 9, 12));
        let legend: Vec<(String, u64)> = c.legend().into_iter().map(|l| (l.label, l.count)).collect();
        assert_eq!(legend[0], ("20 and over · risk".to_owned(), 1));
        assert_eq!(legend[1], ("10 to under 20 · risk".to_owned(), 1));
        assert_eq!(legend[5], ("of these, under 5 yards or 25 % seen".to_owned(), 1));
        assert_eq!(legend[6], ("not seen".to_owned(), 1));
        assert_eq!(shown(&s, &standings, ColourBy::Coverage).blocks, [4, 2, 11]);
        assert_eq!(shown(&s, &standings, ColourBy::Containers).blocks, [2, 9, 11]); // 12 in 10 yards; 5 in one
        // Ten of ten were seen, five of ten would not be enough.
        let classing = Classing { enough: 0.9, classes: 3, ..Classing::default() };
        let three = classify(&s, &standings, &Showing { classing, ..Showing::default() });
        assert_eq!((three.steps, three.blocks), (3, vec![2, 5, 7]));
    }

    #[test]
    fn a_block_that_only_an_earlier_round_saw_is_grey() {
        let mut s = survey(&[Some(0), Some(1), Some(2)]);
        let round = |name: &str, month: i8| Round { name: name.into(), first: date(2025, month, 1), last: date(2025, month, 9) };
        s.rounds = Arc::new(vec![round("1", 6), round("2", 7), round("3", 8)]);
        let visit = |premise: u32, round: u32| Visit {
            id: "v".into(),
            premise: PremiseId(premise),
            when: When { day: date(2025, 6 + round as i8, 2), time: None },
            outcome: Outcome::Inspected,
            round: RoundId(round),
            crew: "".into(),
            said: None,
            finds: 0..0,
        };
        // A in the first and second round, B in the first, C in the third.
        s.visits = Visits::from_rows(3, vec![(visit(0, 0), vec![]), (visit(0, 1), vec![]), (visit(1, 0), vec![]), (visit(2, 2), vec![])]);
        let round = Some(RoundId(1));
        let found = classify(&s, &standings(&s, RoundId(1)), &Showing { round, ..Showing::default() });
        let labels: Vec<&str> = found.blocks.iter().map(|&b| found.classes[usize::from(b)].label.as_str()).collect();
        assert_eq!(labels, ["under 1 · satisfactory, seen too little", "seen in an earlier round only", "not seen"]);
    }

    #[test]
    fn gaps_keep_their_marking_and_come_first() {
        let s = survey(&[None, None, None]);
        let gap = Gap {
            premise: PremiseId(1),
            reason: crate::reach::Reason::NotVisited,
            attempts: 0,
            last_attempt: None,
            sources_in_reach: 1,
            nearest_source: Metres(3.0),
            shares_fence: true,
            pupae_near: false,
            pupae_over_fence: false,
            seen_positive: false,
            seen_pupae: false,
        };
        let gaps = &[gap][..];
        let standings = [seen(2, 1), Standing::default(), Standing::default()];
        let c = classify(&s, &standings, &Showing { colour_by: ColourBy::Gaps, gaps, ..Showing::default() });
        assert_eq!(c.premises, [6, 8, 0]);
        let labels: Vec<String> = c.legend().into_iter().map(|l| l.label).collect();
        assert_eq!(labels, ["in reach, not visited", "larvae found", "not visited"]);
    }

    #[test]
    fn chances_are_shown_where_nobody_knows_better() {
        let s = survey(&[None; 4]);
        let (low, high, neighbours, pulls) = (0.0, 1.0, 3, Pulls::default());
        let chance = |premise: u32, probability: f64| Chance { premise: PremiseId(premise), probability, low, high, neighbours, pulls };
        let from_outside = Standing { attempts: 1, source: true, ..Standing::default() };
        let dry = Standing { last: Some(VisitId(0)), ..seen(0, 0) };
        let standings = [dry, Standing::default(), Standing::default(), from_outside];
        let chances = &[chance(1, 0.15), chance(2, 0.05), chance(3, 0.9)][..];
        let c = classify(&s, &standings, &Showing { colour_by: ColourBy::Foreseen, chances, ..Showing::default() });
        let labels: Vec<&str> = c.premises.iter().map(|&p| c.classes[usize::from(p)].label.as_str()).collect();
        assert_eq!(labels, ["inspected, no larvae", "10 to under 20 %", "5 to under 10 %", "larvae found"]);
        assert_eq!(c.legend().len(), 7);
    }

    #[test]
    fn every_class_has_a_line_and_counts_add_up() {
        let s = survey(&[Some(0), Some(1), Some(2)]);
        for by in ColourBy::ALL {
            let c = shown(&s, &[seen(0, 0), Standing::default(), seen(4, 4)], by);
            assert_eq!(c.classes.iter().map(|c| c.count).sum::<u64>(), 3, "{by:?}");
            assert_eq!(by.word().parse(), Ok(by));
        }
    }
}
