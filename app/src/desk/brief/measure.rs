//! Measure: what the map is coloured by, and the district's numbers.

use super::{bands, sets, traced};
use crate::action::Action;
use crate::desk::{chances, papers};
use crate::jobs::Paper;
use crate::session::{Breaks, Classing, ColourBy, Trace};
use crate::ui::method::how;
use crate::ui::words::{NOT_SEEN, count, per_hundred};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{DragValue, RichText, Ui, WidgetInfo};
use yardring_core::measure::CONVENTION;

/// How the indices are worked out.
const METHOD: &str = "Only inspected yards count, above and below the line. House index: Wilson's score, corrected for how much of the block was \
                      seen, exact where none or all were positive, and never beyond what is certain. Container index: yards as clusters. Breteau index: a \
                      negative binomial; among more measures also by drawing yards again (from 10 yards to 20,000). If \
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
pub(super) fn show(ui: &mut Ui, view: &View<'_>, other: &mut Option<String>, editing: &mut bands::Editing, actions: &mut Vec<Action>) {
    ui.label("Colour the map by");
    let all = [
        (ColourBy::HouseIndex, "house index"),
        (ColourBy::Smoothed, "smoothed index"),
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
    let ready = view.round().is_some();
    papers::show(ui, view, &[(Paper::Map, ready), (Paper::Briefing, ready), (Paper::Notices, ready)], actions);
    if let Some(found) = view.session.measured.kinds.latest() {
        ui.add_space(theme::NEAR);
        ui.label(RichText::new("The whole district in this round").font(theme::semibold(theme::BODY)));
        sets::show(ui, view, "district", &found.sets.district);
        if ui.link("List the yards behind these numbers").clicked() {
            actions.push(Action::Trace(Some(Trace::District)));
        }
        traced::show(ui, view, Trace::District, actions);
        notice::quiet(ui, "In brackets the 95 % interval: with few doors opened the true value may lie anywhere in it.");
        sets::others(ui, view, other);
        bands::show(ui, view, editing, actions);
        let inspected = count(found.sets.district.counts().inspected, "inspected yard");
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
