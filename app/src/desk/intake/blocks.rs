//! Blocks: which there are, where they come from, and how many premises lie in each.

use crate::action::Action;
use crate::ui::list::List;
use crate::ui::words::{count, number};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Align, Label, Layout, RichText, Ui};
use yardring_core::survey::{BlockId, Survey, settings};

/// Height of the list.
const HEIGHT: f32 = 240.0;
/// A block of fewer premises can never be seen well enough for a colour on the map of blocks.
const SMALL: u32 = 5;

/// What is counted of the blocks, for a revision of the survey.
#[derive(Clone, Debug, Default)]
pub(super) struct Counted {
    revision: u64,
    /// Premises of each block.
    premises: Vec<u32>,
    /// Premises in none.
    in_none: usize,
}

impl Counted {
    fn of(survey: &Survey, revision: u64) -> Self {
        let mut out = Self { revision, premises: vec![0; survey.blocks.len()], in_none: 0 };
        for block in survey.premises.block.iter() {
            match block.and_then(|b| out.premises.get_mut(b.row())) {
                Some(premises) => *premises += 1,
                None => out.in_none += 1,
            }
        }
        out
    }

    /// Premises of the block in the middle, when blocks stand in the order of their size.
    fn middle(&self) -> u32 {
        let mut sizes = self.premises.clone();
        let half = sizes.len() / 2;
        if sizes.is_empty() { 0 } else { *sizes.select_nth_unstable(half).1 }
    }
}

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let Some(survey) = view.survey() else { return String::new() };
    match (survey.blocks.len(), made(survey)) {
        (0, _) => "no blocks".to_owned(),
        (n, Some(_)) => format!("{}, made from the premises", count(n as u64, "block")),
        (n, None) => count(n as u64, "block"),
    }
}

/// By what the blocks were made, where no file gave them.
fn made(survey: &Survey) -> Option<&str> {
    survey.settings.get(settings::DERIVED_BLOCKS).map(|how| &**how)
}

/// Where the blocks come from, what is in them, and each of them.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, counted: &mut Option<Counted>, actions: &mut Vec<Action>) {
    let (Some(survey), Some(revision)) = (view.survey(), view.open().map(|o| o.revision)) else { return };
    if survey.blocks.is_empty() {
        ui.label("There are no blocks: no file names any, and no premise has an outline to make them from.");
        return;
    }
    match made(survey) {
        Some(how) => {
            ui.label(format!("No file gives blocks, so they were made from the premises: {how}."));
            let next = if survey.streets.is_empty() { "the streets or a file of block outlines" } else { "a file of block outlines" };
            notice::quiet(ui, format!("For blocks that follow your own lines bring in {next}."));
        }
        None => notice::quiet(ui, "As the files give them: a parcel's own block first, or else the outline that it lies in."),
    }
    if counted.as_ref().is_none_or(|c| c.revision != revision) {
        *counted = Some(Counted::of(survey, revision));
    }
    let Some(counted) = counted else { return };
    sizes(ui, counted);
    let blocks = &survey.blocks;
    let list = List {
        name: "blocks of the survey",
        rows: blocks.len(),
        row_height: theme::ROW,
        height: HEIGHT,
        chosen: None,
        glowing: None,
        reveal: false,
        firm: true,
    };
    let events = list.show(ui, |ui, i| row(ui, blocks.block_id.get(i), counted.premises.get(i).copied().unwrap_or(0)));
    if let Some(row) = events.chosen {
        actions.push(Action::ShowBlock(BlockId(row as u32)));
    }
}

fn sizes(ui: &mut Ui, counted: &Counted) {
    let sizes = || counted.premises.iter().copied();
    let small = sizes().filter(|&n| (1..SMALL).contains(&n)).count();
    let rows = [
        ("Premises in a block, in the middle", u64::from(counted.middle())),
        ("In the largest", u64::from(sizes().max().unwrap_or(0))),
        ("Blocks of fewer than 5 premises", small as u64),
        ("Premises in no block", counted.in_none as u64),
    ];
    notice::numbers(ui, "blocks", &rows.map(|(word, n)| (word, number(n))));
}

fn row(ui: &mut Ui, id: &str, premises: u32) -> String {
    let told = format!("{} premises", number(u64::from(premises)));
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.label(RichText::new(&told).size(theme::SMALL).color(theme::tones(ui).quiet));
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| ui.add(Label::new(id).truncate()));
    });
    format!("{id}, {told}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_block_in_the_middle_has_as_many_as_half_of_them_at_least() {
        let of = |premises: &[u32]| Counted { premises: premises.to_vec(), ..Counted::default() }.middle();
        assert_eq!((of(&[]), of(&[4]), of(&[9, 1, 5])), (0, 4, 5));
    }
}
