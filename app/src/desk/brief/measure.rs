//! Measure: what the map is coloured by, and the district's numbers.

use super::traced;
use crate::action::Action;
use crate::desk::{chances, papers};
use crate::jobs::Paper;
use crate::session::{Breaks, Classing, ColourBy, Trace};
use crate::tables;
use crate::ui::method::how;
use crate::ui::words::{NOT_SEEN, count, mean, number, per_hundred, share, with_interval};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{DragValue, RichText, Ui, WidgetInfo};
use yardring_core::measure::{Access, CONVENTION, Counts, Intervals};

/// How the indices are worked out.
const METHOD: &str = "Only inspected yards count, above and below the line. House index: Wilson's score, corrected for how much of the block was \
                      seen, exact where none or all were positive. Container index: yards as clusters. Breteau index: a negative binomial. If \
                      unseen: the house index were none, or all, of the yards nobody inspected positive. Pupae per hectare: over the parcel area \
                      of inspected yards. WHO density figure: the table of 1972, read per index.";

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let Some(picture) = view.round() else { return "adding up".to_owned() };
    let c = &picture.district;
    match c.house_index() {
        None => format!("house index {NOT_SEEN}: nobody got into a yard"),
        Some(v) => format!("house index {}", per_hundred(Some(v), c.house_index_interval())),
    }
}

/// What to colour by, and the numbers of the whole district.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    ui.label("Colour the map by");
    let all = [
        (ColourBy::HouseIndex, "house index"),
        (ColourBy::Containers, "wet containers"),
        (ColourBy::Coverage, "coverage"),
        (ColourBy::Gaps, "gaps"),
        (ColourBy::HotSpots, "hot and cold"),
        (ColourBy::Clusters, "clusters"),
        (ColourBy::Foreseen, "chances"),
        (ColourBy::Change, "change"),
    ];
    if let Some(colour) = notice::choices(ui, view.session.colour, &all) {
        actions.push(Action::Colour(colour));
    }
    classing(ui, view, actions);
    if view.session.colour == ColourBy::Foreseen {
        chances::show(ui, view, actions);
    }
    papers::show(ui, view, &[(Paper::Map, view.round().is_some())], actions);
    if let Some(picture) = view.round() {
        ui.add_space(theme::NEAR);
        ui.label(RichText::new("The whole district in this round").font(theme::semibold(theme::BODY)));
        numbers(ui, &picture.district, &picture.sure);
        if ui.link("List the yards behind these numbers").clicked() {
            actions.push(Action::Trace(Some(Trace::District)));
        }
        traced::show(ui, view, Trace::District, actions);
        notice::quiet(ui, "In brackets the 95 % interval: with few doors opened the true value may lie anywhere in it.");
        ui.add_space(theme::NEAR);
        more(ui, &picture.district, &picture.access);
        let inspected = count(picture.district.inspected, "inspected yard");
        how(ui, "indices", format!("{inspected}; house index by Wilson's score. {CONVENTION}"), METHOD);
    }
}

/// By what rule values become classes, and into how many.
fn classing(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    if matches!(view.session.colour, ColourBy::Gaps | ColourBy::Change) {
        return;
    }
    let now = view.session.classing;
    ui.label("Classes");
    let rules = [(Breaks::Programme, "programme limits"), (Breaks::Equal, "equal width"), (Breaks::Quantile, "equal count")];
    if let Some(breaks) = notice::choices(ui, now.breaks, &rules) {
        actions.push(Action::Classing(Classing { breaks, ..now }));
    }
    if let Some(classes) = notice::choices(ui, now.classes, &[(3, "3 classes"), (4, "4 classes"), (5, "5 classes")]) {
        actions.push(Action::Classing(Classing { classes, ..now }));
    }
    let mut percent = 100.0 * now.enough;
    ui.horizontal(|ui| {
        ui.label("Hatch blocks seen less than");
        let drawn = notice::fill_in(ui, DragValue::new(&mut percent).range(0.0..=100.0).speed(1.0).max_decimals(0).suffix(" %"));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Least share of yards inspected, in per cent"));
    });
    if percent != 100.0 * now.enough {
        actions.push(Action::Classing(Classing { enough: (percent / 100.0).clamp(0.0, 1.0), ..now }));
    }
    let painted = view.session.classes.latest().filter(|p| p.classes.colour_by == view.session.colour);
    if let Some(painted) = painted {
        notice::quiet(ui, &painted.classes.breaks_from);
    }
}

/// Measures behind the three indices, folded away until somebody wants them.
fn more(ui: &mut Ui, c: &Counts, access: &Access) {
    let id = ui.scope_id().with("further measures");
    let open = ui.data(|d| d.get_temp::<bool>(id)).unwrap_or(false);
    let word = if open { "Fewer measures" } else { "More measures: access, density, programmes' bands" };
    if ui.link(word).clicked() {
        ui.data_mut(|d| d.insert_temp(id, !open));
    }
    if open {
        notice::numbers(ui, "further", &tables::further(c, access));
    }
}

fn numbers(ui: &mut Ui, c: &Counts, sure: &Intervals) {
    let of = |n: u64, all: u64| format!("{} of {}", number(n), number(all));
    let pupae = if c.inspected == 0 { NOT_SEEN.to_owned() } else { number(c.pupae) };
    let rows = [
        ("Yards inspected", of(c.inspected, c.premises)),
        ("Coverage", share(c.coverage())),
        ("Positive yards", of(c.positive_premises, c.inspected)),
        ("House index", per_hundred(c.house_index(), sure.house)),
        ("Container index", per_hundred(c.container_index(), sure.container)),
        ("Breteau index, per 100 yards", with_interval(c.breteau_index(), sure.breteau, "")),
        ("Wet containers per inspected yard", mean(c.wet_per_inspected())),
        ("Pupae counted", pupae),
        ("Pupae per inspected yard", mean(c.pupae_per_premise())),
    ];
    notice::numbers(ui, "district", &rows);
}
