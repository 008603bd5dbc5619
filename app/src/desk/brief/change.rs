//! Change: did it work?

use super::traced;
use crate::action::Action;
use crate::session::{ColourBy, Compare, Trace};
use crate::tables::{self, compared_words, less_words};
use crate::ui::method::how;
use crate::ui::words::{NOT_SEEN, number, sentence};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Color32, ComboBox, RichText, Stroke, Ui, WidgetInfo};
use egui_plot::{Line, MarkerShape, Plot, PlotPoints, PlotUi, Points};
use yardring_core::measure::{AreaRound, Reduction, RoundChange, in_order};
use yardring_core::survey::{BlockId, RoundId, Survey};

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let Some(survey) = view.survey() else { return String::new() };
    if survey.rounds.len() < 2 {
        return "there is one round only".to_owned();
    }
    let Some(found) = view.session.measured.change.latest() else { return "comparing the rounds".to_owned() };
    let index = |r: &AreaRound| r.counts.house_index().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.0} %"));
    let name = survey.rounds.get(found.from.row()).map_or("", |r| &*r.name);
    format!("house index {} in {name}, {} now: {}", index(&found.worked.before), index(&found.worked.after), best(found))
}

/// The reduction that says most: beside the control where there is one.
fn best(found: &RoundChange) -> String {
    let house = &found.reductions[0];
    match found.control {
        Some(_) => format!("{} beside the control", less_words(house.beside_control, house.beside_control_interval)),
        None => less_words(house.alone, house.alone_interval),
    }
}

/// Which rounds, beside which blocks, the chart and the numbers. `block` is the one chosen in the table of blocks.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, block: Option<BlockId>, actions: &mut Vec<Action>) {
    let Some(survey) = view.survey() else { return };
    if survey.rounds.len() < 2 {
        ui.label("A change needs two rounds. Bring in the visits of another round at the Intake desk.");
        return;
    }
    from_round(ui, view, survey, actions);
    control(ui, view, survey, block, actions);
    let Some(found) = view.session.measured.change.latest() else { return };
    chart(ui, survey, found);
    on_the_map(ui, view, actions);
    numbers(ui, found);
    same_yards(ui, found, actions);
    traced::show(ui, view, Trace::Changed, actions);
    let yards = (found.worked.before.counts.inspected, found.worked.after.counts.inspected);
    how(ui, "change", format!("{} and {} inspected yards, 95 % intervals", number(yards.0), number(yards.1)), tables::CHANGE_METHOD);
}

fn from_round(ui: &mut Ui, view: &View<'_>, survey: &Survey, actions: &mut Vec<Action>) {
    let (now, compare) = (view.open().and_then(|o| o.round), &view.session.measured.compare);
    let from = view.session.measured.change.latest().map(|c| c.from);
    let name = |r: RoundId| survey.rounds.get(r.row()).map_or("", |r| &*r.name);
    ui.horizontal_wrapped(|ui| {
        ui.label("From");
        let named = from.map_or("", name);
        let drawn = ComboBox::from_id_salt("from round").selected_text(named).show_ui(ui, |ui| {
            for round in in_order(survey).into_iter().filter(|r| Some(*r) != now) {
                if ui.selectable_label(from == Some(round), name(round)).clicked() {
                    actions.push(Action::Compare(Compare { from: Some(round), ..compare.clone() }));
                }
            }
        });
        drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, format!("Compare from: {named}")));
        ui.label(format!("to {}", now.map_or("", name)));
    });
}

fn control(ui: &mut Ui, view: &View<'_>, survey: &Survey, block: Option<BlockId>, actions: &mut Vec<Action>) {
    let compare = &view.session.measured.compare;
    let name = |b: BlockId| survey.blocks.block_id.get(b.row());
    if compare.control.is_empty() {
        notice::quiet(ui, "Without a control area rain and season are in the number too. Choose a block where nothing was done in step 2.");
    } else {
        let names: Vec<&str> = compare.control.iter().map(|b| name(*b)).collect();
        ui.label(format!("Control: block {}", names.join(", ")));
    }
    ui.horizontal_wrapped(|ui| {
        if let Some(block) = block {
            let taken = compare.control.contains(&block);
            let word = if taken { "Leave out of the control" } else { "Take as control" };
            if ui.button(format!("{word}: block {}", name(block))).clicked() {
                let others = compare.control.iter().copied().filter(|b| *b != block);
                let control = others.chain((!taken).then_some(block)).collect();
                actions.push(Action::Compare(Compare { control, ..compare.clone() }));
            }
        }
        if !compare.control.is_empty() && ui.button("No control").clicked() {
            actions.push(Action::Compare(Compare { control: Vec::new(), ..compare.clone() }));
        }
    });
}

/// The same change block by block, on the map.
fn on_the_map(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    if view.session.colour != ColourBy::Change && ui.button("Show by block on the map").clicked() {
        actions.push(Action::Colour(ColourBy::Change));
    }
}

/// The house index of every round with its interval, worked and control area side by side.
fn chart(ui: &mut Ui, survey: &Survey, found: &RoundChange) {
    let tones = theme::tones(ui);
    let names: Vec<String> =
        found.course.iter().map(|c| survey.rounds.get(c.0.row()).map_or_else(String::new, |r| r.name.to_string())).collect();
    let said = found.course.iter().zip(&names).map(|(c, name)| format!("{name} {}", index(&c.1))).collect::<Vec<_>>().join(", ");
    let label = names.clone();
    let plot = Plot::new("change")
        .height(150.0)
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_axis_zoom_drag(false)
        .show_background(false)
        .include_y(0.0)
        .include_x(-0.4)
        .include_x(names.len() as f64 - 0.6)
        .x_grid_spacer(|_| Vec::new())
        .y_axis_formatter(|mark, _| format!("{:.0} %", mark.value));
    let drawn = plot.show(ui, |plot| {
        let worked: Vec<(f64, AreaRound)> = found.course.iter().enumerate().map(|(i, c)| (i as f64, c.1)).collect();
        series(plot, "worked area", &worked, tones.accent, MarkerShape::Circle);
        let control: Vec<(f64, AreaRound)> = found.course.iter().enumerate().filter_map(|(i, c)| Some((i as f64 + 0.08, c.2?))).collect();
        series(plot, "control area", &control, tones.quiet, MarkerShape::Square);
    });
    drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::Image, true, format!("House index by round: {said}")));
    let control = if found.control.is_some() { "; square: control area" } else { "" };
    notice::quiet(ui, format!("House index in {}, with 95 % intervals. Disc: worked area{control}.", label.join(", ")));
}

/// One area: its index in every round, joined, with upright intervals.
fn series(plot: &mut PlotUi<'_>, name: &str, rounds: &[(f64, AreaRound)], colour: Color32, mark: MarkerShape) {
    let points: Vec<[f64; 2]> = rounds.iter().filter_map(|(x, r)| Some([*x, r.counts.house_index()?])).collect();
    for (x, interval) in rounds.iter().filter_map(|(x, r)| Some((*x, r.sure.house?))) {
        let upright = PlotPoints::from(vec![[x, interval.low], [x, interval.high]]);
        plot.line(Line::new(name, upright).stroke(Stroke::new(1.5, colour)));
    }
    plot.line(Line::new(name, PlotPoints::from(points.clone())).stroke(Stroke::new(1.0, colour)));
    plot.points(Points::new(name, PlotPoints::from(points)).color(colour).radius(4.0).shape(mark));
}

fn index(r: &AreaRound) -> String {
    crate::ui::words::per_hundred(r.counts.house_index(), r.sure.house.map(|i| (i.low, i.high)))
}

fn numbers(ui: &mut Ui, found: &RoundChange) {
    ui.label(RichText::new("Since the earlier round").font(theme::semibold(theme::BODY)));
    let value = |r: &Reduction| match found.control {
        Some(_) => less_words(r.beside_control, r.beside_control_interval),
        None => less_words(r.alone, r.alone_interval),
    };
    for r in &found.reductions {
        ui.label(format!("{}: {}", sentence(compared_words(r.of)), value(r)));
    }
    if found.control.is_some() {
        notice::quiet(ui, "Beside the control area, by Mulla's formula.");
    }
}

fn same_yards(ui: &mut Ui, found: &RoundChange, actions: &mut Vec<Action>) {
    let p = &found.worked.paired;
    if p.premises() == 0 {
        notice::quiet(ui, "No yard was inspected in both rounds.");
        return;
    }
    let chance = found.worked.same_yards_p.map_or_else(String::new, |p| format!(", p {p:.3}"));
    let points = found.worked.same_yards.map_or_else(String::new, |c| {
        format!(" House index {:+.0} points ({:+.0} to {:+.0}){chance}.", c.difference, c.interval.low, c.interval.high)
    });
    if let Some(c) = found.worked.all_yards {
        let all =
            format!("All inspected yards: house index {:+.0} points ({:+.0} to {:+.0}).", c.difference, c.interval.low, c.interval.high);
        ui.label(all);
    }
    ui.label(format!(
        "The same {} yards twice: {} became negative, {} became positive.{points}",
        number(p.premises()),
        number(p.became_negative),
        number(p.became_positive)
    ));
    if p.became_negative + p.became_positive > 0 && ui.link("List the yards that changed").clicked() {
        actions.push(Action::Trace(Some(Trace::Changed)));
    }
}
