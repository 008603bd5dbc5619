//! Blocks: the table, worst first.

use super::doors::{self, Asked};
use super::{sets, traced};
use crate::action::{Action, Slow};
use crate::desk::{list_height, papers};
use crate::jobs::Paper;
use crate::session::{ColourBy, Trace};
use crate::tables;
use crate::ui::list::List;
use crate::ui::method::how;
use crate::ui::words::{NOT_SEEN, count, mean, number, per_hundred, share};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Align, Layout, RichText, Ui, vec2};
use yardring_core::brief::classes::FEW;
use yardring_core::measure::{Counts, Neighbours, RESHUFFLES};
use yardring_core::store::Edit;
use yardring_core::survey::{BlockId, Survey};

/// Widths of the first two columns; the third takes the rest.
const WIDTHS: [f32; 2] = [104.0, 96.0];

/// Least width of the first column, and of the third where there is room for it.
const LEAST_NAME: f32 = 40.0;
const VALUE: f32 = 92.0;

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let (Some(survey), Some(picture)) = (view.survey(), view.round()) else { return "adding up".to_owned() };
    let named = picture.blocks.iter().filter(|(b, _)| b.is_some()).count() as u64;
    if named == 0 {
        return "the parcels belong to no blocks".to_owned();
    }
    let worst = picture.blocks.iter().find(|(b, c)| b.is_some() && c.inspected >= FEW && c.positive_premises > 0);
    let few = picture.blocks.iter().filter(|(b, c)| b.is_some() && c.inspected < FEW).count() as u64;
    let worst = worst.map_or_else(String::new, |(b, c)| format!(", worst {}: {}", name(survey, *b), value(ColourBy::HouseIndex, c)));
    let unsure = if few > 0 { format!("; in {} fewer than {FEW} doors opened", number(few)) } else { String::new() };
    format!("{}{worst}{unsure}", count(named, "block"))
}

/// The table.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, chosen: &mut Option<BlockId>, asked: &mut Asked, actions: &mut Vec<Action>) {
    let (Some(survey), Some(picture)) = (view.survey(), view.round()) else { return };
    // A map of gaps colours yards, not blocks; the table then keeps the index.
    let by = match view.session.colour {
        ColourBy::Gaps | ColourBy::Foreseen => ColourBy::HouseIndex,
        other => other,
    };
    if picture.blocks.iter().all(|(b, _)| b.is_none()) {
        ui.label("Bring in block outlines, or parcels with a block column, at the Intake desk.");
        return;
    }
    head(ui, by);
    let rows = &picture.blocks;
    let list = List {
        name: "blocks",
        rows: rows.len(),
        row_height: theme::ROW,
        // With a block chosen its yards and doors stand below.
        height: if chosen.is_some() { 220.0 } else { list_height(ui, 210.0) },
        chosen: chosen.and_then(|c| rows.iter().position(|(b, _)| *b == Some(c))),
        glowing: None,
        reveal: false,
        firm: false,
    };
    let events = list.show(ui, |ui, i| rows.get(i).map_or_else(String::new, |(b, c)| row(ui, name(survey, *b), c, by)));
    if let Some(block) = events.chosen.and_then(|i| rows.get(i)).and_then(|(b, _)| *b) {
        *chosen = Some(block);
        actions.push(Action::ShowBlock(block));
    }
    ui.add_space(theme::NEAR);
    if let Some(block) = *chosen
        && let Some((_, counts)) = rows.iter().find(|(b, _)| *b == Some(block))
    {
        let found = view.session.measured.kinds.latest();
        if let Some((_, set)) = found.and_then(|f| f.sets.blocks.iter().find(|(b, _)| *b == Some(block))) {
            ui.label(RichText::new(format!("Block {}", name(survey, Some(block)))).font(theme::semibold(theme::BODY)));
            sets::show(ui, view, "block", set);
        }
        traced::show(ui, view, Trace::Block(block), actions);
        doors::show(ui, name(survey, Some(block)), counts, asked);
    }
    clusters(ui, view, survey, actions);
    papers::show(ui, view, &[(Paper::Blocks, true)], actions);
    let enough = 100.0 * view.session.classing.enough;
    notice::quiet(ui, format!("Worst house index first. Where fewer than {FEW} doors or {enough:.0} % opened the map is hatched."));
}

/// Which blocks count as neighbours.
fn neighbours(ui: &mut Ui, survey: &Survey, actions: &mut Vec<Action>) {
    let now = Neighbours::of(survey);
    ui.label("Neighbours are");
    let near = [Neighbours::Touching, Neighbours::default(), Neighbours::Apart(150.0)];
    let words = near.map(Neighbours::words);
    let all: Vec<(Neighbours, &str)> = near.into_iter().zip(words.iter().map(String::as_str)).collect();
    if let Some(chosen) = notice::choices(ui, now, &all) {
        actions.push(Action::Rule(Box::new(Edit::neighbours(chosen))));
    }
    if !near.contains(&now) {
        notice::quiet(ui, format!("Now {}.", now.words()));
    }
}

/// Whether bad blocks lie together, once somebody has asked.
fn clusters(ui: &mut Ui, view: &View<'_>, survey: &Survey, actions: &mut Vec<Action>) {
    let Some(found) = view.session.measured.clusters.latest() else {
        if ui.button("Look for clusters").on_hover_text("Do bad blocks lie together, and where do positive yards crowd?").clicked() {
            actions.push(Action::WorkOut(Slow::Clusters));
        }
        return;
    };
    neighbours(ui, survey, actions);
    ui.label(tables::clustering_words(&found.found));
    ui.label(tables::crowd_words(survey, found.crowd.as_ref()));
    if let Some(crowd) = &found.crowd {
        if ui.link("Show the crowd on the map").clicked() {
            actions.push(Action::ShowPremise(crowd.centre));
        }
        if ui.link("List the yards of the crowd").clicked() {
            actions.push(Action::Trace(Some(Trace::Crowd)));
        }
        traced::show(ui, view, Trace::Crowd, actions);
    }
    let line = format!("{} blocks, {} reshuffles; colour the map by clusters in step 1", found.found.blocks, RESHUFFLES);
    how(ui, "clusters", line, &tables::clusters_method(Neighbours::of(survey)));
}

fn name(survey: &Survey, block: Option<BlockId>) -> &str {
    block.map_or("no block", |b| survey.blocks.block_id.get(b.row()))
}

fn head(ui: &mut Ui, by: ColourBy) {
    let last = match by {
        ColourBy::Containers => "Wet per inspected",
        ColourBy::Coverage => "Coverage",
        ColourBy::HouseIndex
        | ColourBy::Smoothed
        | ColourBy::Gaps
        | ColourBy::HotSpots
        | ColourBy::Clusters
        | ColourBy::Foreseen
        | ColourBy::Change => "House index",
    };
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        ui.add_space(theme::APART);
        let text = |word: &str| RichText::new(word).size(theme::SMALL).color(theme::tones(ui).quiet);
        let (block, inside, last) = (text("Block"), text("Inspected"), text(last));
        let bar = ui.spacing().scroll.allocated_width();
        cells(ui, theme::ROW - 4.0, theme::APART + bar, [block, inside, last]);
    });
}

fn row(ui: &mut Ui, name: &str, c: &Counts, by: ColourBy) -> String {
    ui.spacing_mut().item_spacing.x = 0.0;
    let tones = theme::tones(ui);
    let inside = format!("{} of {}", number(c.inspected), number(c.premises));
    let value = value(by, c);
    let said = format!("Block {name}, inspected {inside}, {value}");
    let unsure = c.inspected < FEW;
    let colour = if unsure { tones.quiet } else { tones.ink };
    let ink = |text: String| RichText::new(text).color(colour);
    cells(ui, theme::ROW, 0.0, [ink(name.to_owned()), ink(inside), ink(value)]);
    said
}

fn cells(ui: &mut Ui, height: f32, right: f32, [first, second, third]: [RichText; 3]) {
    let cell = |ui: &mut Ui, width: f32, right: bool, text: RichText| {
        let layout = if right { Layout::right_to_left(Align::Center) } else { Layout::left_to_right(Align::Center) };
        ui.allocate_ui_with_layout(vec2(width, height), layout, |ui| {
            ui.set_width(width);
            ui.add(egui::Label::new(text).truncate());
        });
    };
    // With large text the column of names gives way, so that the value is whole.
    let name = (ui.available_width() - right - WIDTHS[1] - VALUE).clamp(LEAST_NAME, WIDTHS[0]);
    cell(ui, name, false, first);
    cell(ui, WIDTHS[1] - theme::APART, true, second);
    ui.add_space(theme::APART);
    let rest = (ui.available_width() - right).max(60.0);
    cell(ui, rest, true, third);
}

fn value(by: ColourBy, c: &Counts) -> String {
    match by {
        _ if c.inspected == 0 => NOT_SEEN.to_owned(),
        ColourBy::Containers => mean(c.wet_per_inspected()),
        ColourBy::Coverage => share(c.coverage()),
        ColourBy::HouseIndex
        | ColourBy::Smoothed
        | ColourBy::Gaps
        | ColourBy::HotSpots
        | ColourBy::Clusters
        | ColourBy::Foreseen
        | ColourBy::Change => per_hundred(c.house_index(), c.house_index_interval()),
    }
}
