//! Classes of maps that show which blocks stand out from chance.

use super::classes::{Class, Classes, ColourBy, of_blocks};
use super::ink::{self, ClassInk, Mark};
use crate::job::Unwatched;
use crate::measure::{Among, Heat, Neighbours, SEED, by_block, clustering, spots};
use crate::survey::{BlockId, RoundId, Standing, Survey};

/// Sorts blocks by whether they stand out, and premises with them: hot and cold, or like and unlike their neighbours. The last
/// class but one is of blocks of which nothing can be told, the last of premises in no block.
pub(super) fn by_standing_out(survey: &Survey, standings: &[Standing], colour_by: ColourBy, round: Option<RoundId>) -> Classes {
    let groups = by_block(survey, standings);
    let (kinds, found): (Vec<(ClassInk, &str)>, Vec<Option<u8>>) = match colour_by {
        ColourBy::HotSpots => {
            let class = |heat: Heat| match heat {
                Heat::Hot => 0,
                Heat::Cold => 1,
                Heat::Neither => 2,
            };
            (heat_kinds(), spots(survey, &groups).iter().map(|s| s.heat.map(class)).collect())
        }
        _ => {
            // Nobody can stop a picture here, so that it never breaks off.
            let found =
                clustering(survey, &groups, Neighbours::of(survey).metres(), SEED, &Unwatched).map(|c| c.likeness).unwrap_or_default();
            (among_kinds(), found.iter().map(|l| l.map(|l| among_class(l.among))).collect())
        }
    };
    let untold = kinds.len() as u8;
    let mut blocks = vec![untold; survey.blocks.len()];
    for ((block, _), class) in groups.iter().zip(found) {
        if let (Some(block), Some(class)) = (block, class) {
            blocks[block.row()] = class;
        }
    }
    let premises = survey.premises.block.iter().map(|b| b.map_or(untold + 1, |b: BlockId| blocks[b.row()])).collect();
    let faint = ClassInk { edge: ink::LINE, ..ClassInk::outlined(Mark::None) };
    let more = [(ClassInk::outlined(Mark::None), "not seen, or nothing to tell"), (faint, "in no block")];
    // Clusters move: those of a round that is past are grey.
    let past = round.and_then(|r| later_round(survey, r));
    let ink = |ink: ClassInk| if past.is_some() { ink.greyed() } else { ink };
    let classes = kinds.into_iter().chain(more).map(|(of, label)| Class { ink: ink(of), label: label.to_owned(), count: 0 }).collect();
    let near = Neighbours::of(survey).words();
    let late = past.map_or_else(|| "Clusters move.".to_owned(), |name| format!("Grey, for {name} came later and clusters move."));
    let said = format!("Neighbours: {near}. Of the blocks named at most 10 % are so by chance. {late}");
    of_blocks(colour_by, premises, blocks, classes, said)
}

/// The name of the latest round, where another one is shown.
fn later_round(survey: &Survey, shown: RoundId) -> Option<&str> {
    let latest = survey.round(None).filter(|latest| *latest != shown)?;
    let (shown, latest) = (survey.rounds.get(shown.row())?, survey.rounds.get(latest.row())?);
    (latest.last > shown.last).then_some(&*latest.name)
}

/// Hot is dark, cold is light and hatched, so that grey paper still tells them apart.
fn heat_kinds() -> Vec<(ClassInk, &'static str)> {
    vec![
        (ClassInk::filled(ink::BREEDING[4]), "hot: worse, with its neighbours"),
        (ClassInk::filled(ink::SEEING[1]).with_hatching(), "cold: better, with its neighbours"),
        (ClassInk::filled(ink::SEEN), "no more than chance"),
    ]
}

fn among_kinds() -> Vec<(ClassInk, &'static str)> {
    vec![
        (ClassInk::filled(ink::BREEDING[4]), "high among high"),
        (ClassInk::filled(ink::BREEDING[2]).with_hatching(), "high among low"),
        (ClassInk::filled(ink::SEEING[2]).with_hatching(), "low among high"),
        (ClassInk::filled(ink::SEEING[1]), "low among low"),
        (ClassInk::filled(ink::SEEN), "no more than chance"),
    ]
}

fn among_class(among: Among) -> u8 {
    match among {
        Among::HighHigh => 0,
        Among::HighLow => 1,
        Among::LowHigh => 2,
        Among::LowLow => 3,
        Among::Neither => 4,
    }
}
