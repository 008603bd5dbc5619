//! What a map shows: the class of every premise and block, and the legend that explains the classes. No drawing here.

use super::ink::{self, ClassInk, Mark, Rgb};
use crate::foresee::Chances;
use crate::measure::{Counts, by_block};
use crate::reach::Gap;
use crate::survey::{Marking, PremiseId, Standing, Survey, UnknownWord};
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
    /// Wet containers per inspected premise, by block.
    Containers,
    /// Inspected premises out of all, by block.
    Coverage,
    /// Where each premise stands, and which are inside the reach and not inspected.
    Gaps,
    /// The chance of premises not inspected.
    Foreseen,
}

impl ColourBy {
    /// Every value, in the order of the contract.
    pub const ALL: [Self; 5] = [Self::HouseIndex, Self::Containers, Self::Coverage, Self::Gaps, Self::Foreseen];

    /// The value as the command line writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::HouseIndex => "house-index",
            Self::Containers => "containers",
            Self::Coverage => "coverage",
            Self::Gaps => "gaps",
            Self::Foreseen => "foreseen",
        }
    }

    /// The heading of a map coloured so.
    pub fn heading(self) -> &'static str {
        match self {
            Self::HouseIndex => "House index by block",
            Self::Containers => "Wet containers by block",
            Self::Coverage => "Coverage by block",
            Self::Gaps => "Yards still to see",
            Self::Foreseen => "Chances of unseen yards",
        }
    }

    /// What the classes count, with its unit.
    pub fn unit(self) -> &'static str {
        match self {
            Self::HouseIndex => "Positive yards per 100 inspected",
            Self::Containers => "Wet containers per inspected yard",
            Self::Coverage => "Yards inspected, of all yards",
            Self::Gaps => "Where each yard stands",
            Self::Foreseen => "Chance that a yard nobody has seen is positive",
        }
    }

    /// Where the breaks between the classes come from, as a sentence; empty where there are none.
    ///
    /// # Source
    /// House index 1 and 5: programme conventions (national rapid survey of Brazil; PAHO Scientific Publication 548, 1994).
    /// The others: common practice, no source.
    pub fn breaks_from(self) -> &'static str {
        match self {
            Self::HouseIndex => {
                "Breaks at 1 and 5 are conventions of mosquito programmes, 10 and 20 are round numbers; none is a law of nature."
            }
            Self::Containers => "Each break is twice the one before.",
            Self::Coverage => "Breaks are round numbers.",
            Self::Gaps => "",
            Self::Foreseen => "Each break is twice the one before. A chance orders doors and is no finding.",
        }
    }

    /// Least value of the second to the fifth class.
    fn breaks(self) -> [f64; 4] {
        match self {
            Self::HouseIndex => [1.0, 5.0, 10.0, 20.0],
            Self::Containers => [0.5, 1.0, 2.0, 4.0],
            Self::Coverage => [0.25, 0.5, 0.75, 0.9],
            Self::Gaps => [f64::INFINITY; 4],
            Self::Foreseen => [0.05, 0.1, 0.2, 0.4],
        }
    }

    fn labels(self) -> [&'static str; 5] {
        match self {
            Self::HouseIndex => ["under 1", "1 to under 5", "5 to under 10", "10 to under 20", "20 and over"],
            Self::Containers => ["under 0.5", "0.5 to under 1", "1 to under 2", "2 to under 4", "4 and over"],
            Self::Foreseen => ["under 5 %", "5 to under 10 %", "10 to under 20 %", "20 to under 40 %", "40 % and over"],
            Self::Coverage | Self::Gaps => ["under 25 %", "25 to under 50 %", "50 to under 75 %", "75 to under 90 %", "90 % and over"],
        }
    }

    fn ramp(self) -> [Rgb; 5] {
        if self == Self::Coverage { ink::SEEING } else { ink::BREEDING }
    }

    fn value(self, counts: &Counts) -> Option<f64> {
        match self {
            Self::HouseIndex => counts.house_index(),
            Self::Containers => counts.wet_per_inspected(),
            Self::Coverage => counts.coverage().filter(|_| counts.inspected > 0),
            Self::Gaps | Self::Foreseen => None,
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
    /// How many blocks, or premises on a map of premises, are in it.
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

/// The class of every premise and block, and what the classes are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Classes {
    /// What the map is coloured by.
    pub colour_by: ColourBy,
    /// The class of each premise, in their order: a place in `classes`.
    pub premises: Vec<u8>,
    /// The class of each block, in their order; empty on maps of gaps and chances, where premises alone have classes.
    pub blocks: Vec<u8>,
    /// The classes, empty ones among them, so that a class has the same number whatever was found.
    pub classes: Vec<Class>,
}

/// Class of blocks where nobody got in.
const NOT_SEEN: u8 = 10;
/// Class of premises that belong to no block.
const NO_BLOCK: u8 = 11;

/// Sorts premises and blocks into classes. `gaps` is read on a map of gaps alone.
///
/// The classes of a block map are: 0 to 4 from low to high, 5 to 9 the same for blocks with fewer than [`FEW`] inspected yards
/// (hatched), 10 not seen, 11 in no block. Those of a map of gaps: a premise's [`Marking`] in its order, and 8 more for gaps.
/// Those of a map of chances (`chances` is read there alone): 0 to 4 from low to high, 5 inspected, 6 without a chance.
pub fn classify(survey: &Survey, standings: &[Standing], colour_by: ColourBy, gaps: &[Gap], chances: Option<&Chances>) -> Classes {
    match colour_by {
        ColourBy::Gaps => by_premise(survey, standings, gaps),
        ColourBy::Foreseen => by_chance(standings, chances),
        ColourBy::HouseIndex | ColourBy::Containers | ColourBy::Coverage => by_measure(survey, standings, colour_by),
    }
}

fn by_chance(standings: &[Standing], chances: Option<&Chances>) -> Classes {
    let by = ColourBy::Foreseen;
    let class = |(row, s): (usize, &Standing)| match chances.and_then(|c| c.at(PremiseId(row as u32))) {
        Some(c) => by.breaks().iter().filter(|least| c.probability >= **least).count() as u8,
        None => 6 - u8::from(s.inspected()),
    };
    let premises: Vec<u8> = standings.iter().enumerate().map(class).collect();
    let filled = by.ramp().into_iter().zip(by.labels()).map(|(colour, label)| (ClassInk::filled(colour), label));
    let rest = [(ClassInk::filled(ink::SEEN), "inspected"), (ClassInk::outlined(Mark::None), "no chance shown")];
    let mut classes: Vec<Class> = filled.chain(rest).map(|(ink, label)| Class { ink, label: label.to_owned(), count: 0 }).collect();
    for &class in &premises {
        classes[usize::from(class)].count += 1;
    }
    Classes { colour_by: by, premises, blocks: Vec::new(), classes }
}

fn by_measure(survey: &Survey, standings: &[Standing], colour_by: ColourBy) -> Classes {
    let mut blocks = vec![NOT_SEEN; survey.blocks.len()];
    for (block, counts) in by_block(survey, standings) {
        if let Some(block) = block {
            blocks[block.row()] = class_of(colour_by, &counts);
        }
    }
    let premises = survey.premises.block.iter().map(|b| b.map_or(NO_BLOCK, |b| blocks[b.row()])).collect();
    let mut classes: Vec<Class> = colour_by
        .ramp()
        .into_iter()
        .zip(colour_by.labels())
        .map(|(colour, label)| Class { ink: ClassInk::filled(colour), label: label.to_owned(), count: 0 })
        .collect();
    for i in 0..5 {
        let few = Class { ink: classes[i].ink.with_hatching(), label: format!("{}, few yards seen", classes[i].label), count: 0 };
        classes.push(few);
    }
    classes.push(Class { ink: ClassInk::outlined(Mark::None), label: "not seen".to_owned(), count: 0 });
    classes.push(Class { ink: ClassInk { edge: ink::LINE, ..ClassInk::outlined(Mark::None) }, label: "in no block".to_owned(), count: 0 });
    for &class in &blocks {
        classes[usize::from(class)].count += 1;
    }
    Classes { colour_by, premises, blocks, classes }
}

fn class_of(colour_by: ColourBy, counts: &Counts) -> u8 {
    let Some(value) = colour_by.value(counts) else { return NOT_SEEN };
    let class = colour_by.breaks().iter().filter(|least| value >= **least).count() as u8;
    // How many were inspected is known exactly, however few they are.
    let unsure = colour_by != ColourBy::Coverage && counts.inspected < FEW;
    if unsure { class + 5 } else { class }
}

fn by_premise(survey: &Survey, standings: &[Standing], gaps: &[Gap]) -> Classes {
    let place = |m: Marking| Marking::ALL.iter().position(|&x| x == m).unwrap_or(0) as u8;
    let mut premises: Vec<u8> = standings.iter().map(|s| place(s.marking(&survey.visits))).collect();
    for gap in gaps {
        premises[gap.premise.row()] += Marking::ALL.len() as u8;
    }
    let plain = Marking::ALL.map(|m| Class { ink: ink::of_marking(m), label: marking_words(m).to_owned(), count: 0 });
    let in_reach = Marking::ALL.map(|m| Class { ink: ink::of_gap(m), label: gap_words(m).to_owned(), count: 0 });
    let mut classes: Vec<Class> = plain.into_iter().chain(in_reach).collect();
    for &class in &premises {
        classes[usize::from(class)].count += 1;
    }
    Classes { colour_by: ColourBy::Gaps, premises, blocks: Vec::new(), classes }
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
    /// The lines of the legend. A block map shows its five classes even when empty, then what was seen too little and not at
    /// all; a map of gaps shows the classes that occur: gaps first, then what breeds, then the rest.
    pub fn legend(&self) -> Vec<LegendLine> {
        let line = |i: usize| {
            let class = &self.classes[i];
            LegendLine { ink: class.ink, label: class.label.clone(), count: class.count }
        };
        if self.colour_by == ColourBy::Gaps {
            let order = [15, 14, 8, 9, 10, 11, 12, 13, 7, 6, 5, 4, 3, 2, 1, 0];
            return order.into_iter().map(line).filter(|l| l.count > 0).collect();
        }
        if self.colour_by == ColourBy::Foreseen {
            return [4, 3, 2, 1, 0, 5, 6].into_iter().map(line).filter(|l| l.count > 0).collect();
        }
        let of = |i: usize| LegendLine { count: self.classes[i].count + self.classes[i + 5].count, ..line(i) };
        let mut lines: Vec<LegendLine> = (0..5).rev().map(of).collect();
        let few: u64 = self.classes[5..10].iter().map(|c| c.count).sum();
        if few > 0 {
            let ink = ClassInk { fill: None, edge: ink::EDGE, ..ClassInk::outlined(Mark::None) }.with_hatching();
            lines.push(LegendLine { ink, label: format!("of these, fewer than {FEW} yards seen"), count: few });
        }
        lines.extend([usize::from(NOT_SEEN)].map(line).into_iter().filter(|l| l.count > 0));
        lines
    }

    /// What the legend counts: "blocks" or "yards".
    pub fn counted(&self) -> &'static str {
        if matches!(self.colour_by, ColourBy::Gaps | ColourBy::Foreseen) { "yards" } else { "blocks" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use crate::survey::{BlockId, VisitId};
    use crate::units::Metres;
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

    #[test]
    fn blocks_are_sorted_and_the_little_seen_hatched() {
        let mut blocks = vec![Some(0); 10];
        blocks.extend([Some(1), Some(1), Some(2), None]);
        let s = survey(&blocks);
        let mut standings = vec![seen(1, 0); 9];
        standings.extend([seen(3, 1), seen(5, 2), Standing::default(), Standing::default(), seen(1, 1)]);
        let c = classify(&s, &standings, ColourBy::HouseIndex, &[], None);
        assert_eq!(c.blocks, [3, 9, NOT_SEEN]); // 10 of 100; 100 of 100 but one yard; nobody
        assert_eq!((c.premises[0], c.premises[10], c.premises[13]), (3, 9, NO_BLOCK));
        let legend: Vec<(String, u64)> = c.legend().into_iter().map(|l| (l.label, l.count)).collect();
        assert_eq!(legend[0], ("20 and over".to_owned(), 1));
        assert_eq!(legend[1], ("10 to under 20".to_owned(), 1));
        assert_eq!(legend[5], ("of these, fewer than 5 yards seen".to_owned(), 1));
        assert_eq!(legend[6], ("not seen".to_owned(), 1));
        let coverage = classify(&s, &standings, ColourBy::Coverage, &[], None);
        assert_eq!(coverage.blocks, [4, 2, NOT_SEEN]);
        let wet = classify(&s, &standings, ColourBy::Containers, &[], None);
        assert_eq!(wet.blocks, [2, 9, NOT_SEEN]); // 12 in 10 yards; 5 in one
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
        let c = classify(&s, &[seen(2, 1), Standing::default(), Standing::default()], ColourBy::Gaps, &[gap], None);
        assert_eq!(c.premises, [6, 8, 0]);
        let labels: Vec<String> = c.legend().into_iter().map(|l| l.label).collect();
        assert_eq!(labels, ["in reach, not visited", "larvae found", "not visited"]);
    }

    #[test]
    fn every_class_has_a_line_and_counts_add_up() {
        let s = survey(&[Some(0), Some(1), Some(2)]);
        for by in ColourBy::ALL {
            let c = classify(&s, &[seen(0, 0), Standing::default(), seen(4, 4)], by, &[], None);
            assert_eq!(c.classes.iter().map(|c| c.count).sum::<u64>(), 3, "{by:?}");
            assert_eq!(by.word().parse(), Ok(by));
        }
    }
}
