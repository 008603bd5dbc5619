//! Reach: how far they fly.

use crate::action::Action;
use crate::ui::words::{area, both_units, count};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{DragValue, Slider, SliderClamping, Ui, WidgetInfo};
use yardring_core::units::Metres;

/// The shortest and the longest radius, in metres.
const RANGE: std::ops::RangeInclusive<f64> = 10.0..=1610.0;

/// Radii that programmes use, each in its own unit.
///
/// # Source
/// Common practice of programmes, no source: round numbers, not a flight range that anybody measured.
const PRESETS: [(f64, Unit); 8] = [
    (100.0, Unit::Metres),
    (150.0, Unit::Metres),
    (200.0, Unit::Metres),
    (400.0, Unit::Metres),
    (150.0, Unit::Yards),
    (500.0, Unit::Yards),
    (0.5, Unit::Miles),
    (1.0, Unit::Miles),
];

/// What a preset is round in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Unit {
    Metres,
    Yards,
    Miles,
}

/// A preset's radius, and its words with its own unit first.
fn preset(number: f64, unit: Unit) -> (Metres, String) {
    match unit {
        Unit::Metres => (Metres(number), both_units(Metres(number))),
        Unit::Yards => (Metres::from_yards(number), format!("{number} yd · {:.0} m", Metres::from_yards(number).0)),
        Unit::Miles => {
            let radius = Metres(number * METRES_PER_MILE);
            (radius, format!("{number} mi · {} m", crate::ui::words::number(radius.0.round() as u64)))
        }
    }
}

/// Metres in an international mile. Source: international yard and pound agreement, 1959.
const METRES_PER_MILE: f64 = 1_609.344;

fn presets(ui: &mut Ui, now: Metres, actions: &mut Vec<Action>) {
    ui.label("Or one that programmes use");
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = egui::vec2(theme::NEAR, theme::NEAR);
        ui.spacing_mut().button_padding.x = 6.0;
        for (radius, words) in PRESETS.map(|(n, unit)| preset(n, unit)) {
            if notice::choice(ui, (radius.0 - now.0).abs() < 0.05, &words).clicked() {
                actions.push(Action::Radius(radius));
            }
        }
    });
    notice::quiet(ui, "These are programme conventions, not biology: how far mosquitoes fly differs by kind, place and weather.");
}

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let radius = both_units(view.session.plan.radius);
    match view.reach().filter(|r| !r.sources.is_empty()) {
        None => radius,
        Some(r) => {
            let stale = if view.reach_is_fresh() { "" } else { " · working" };
            let parts = if r.ground.parts > 1 { format!(" in {}", count(r.ground.parts as u64, "part")) } else { String::new() };
            format!("{radius}: {}{parts}{stale}", area(r.ground.area))
        }
    }
}

/// The controls: one radius, said in both units.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let before = view.session.plan.radius;
    let mut metres = before.0;
    let slider = Slider::new(&mut metres, RANGE).logarithmic(true).show_value(false).step_by(5.0).clamping(SliderClamping::Never);
    ui.spacing_mut().slider_width = (ui.available_width() - theme::APART).min(300.0);
    let drawn = ui.add(slider);
    drawn.widget_info(|| WidgetInfo::slider(true, metres, "Radius"));
    ui.horizontal(|ui| {
        let drawn = ui.add(DragValue::new(&mut metres).range(RANGE).speed(1.0).max_decimals(1).suffix(" m"));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Radius in metres"));
        let mut yards = Metres(metres).yards();
        let in_yards = Metres(*RANGE.start()).yards()..=Metres(*RANGE.end()).yards();
        let drawn = ui.add(DragValue::new(&mut yards).range(in_yards).speed(1.0).max_decimals(1).suffix(" yd"));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, "Radius in yards"));
        if drawn.changed() {
            metres = Metres::from_yards(yards).0;
        }
    });
    if metres != before.0 && metres.is_finite() {
        actions.push(Action::Radius(Metres(metres.clamp(*RANGE.start(), *RANGE.end()))));
    }
    presets(ui, before, actions);
    notice::quiet(ui, "A yard is inside when any part of its lot is no farther than this from a source.");
}
