//! Reach: how far they fly.

use crate::action::Action;
use crate::ui::words::{area, both_units, count};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{DragValue, Slider, SliderClamping, Ui, WidgetInfo};
use yardring_core::units::Metres;

/// The shortest and the longest radius, in metres.
const RANGE: std::ops::RangeInclusive<f64> = 10.0..=1600.0;

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
    notice::quiet(ui, "A yard is inside when any part of its lot is no farther than this from a source.");
}
