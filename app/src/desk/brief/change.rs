//! Change: did it work?

use super::traced;
use crate::action::Action;
use crate::desk::papers;
use crate::jobs::Paper;
use crate::session::{ColourBy, Compare, Trace};
use crate::tables::{self, compared_words};
use crate::ui::method::how;
use crate::ui::words::{NOT_SEEN, number, sentence};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Color32, ComboBox, RichText, Stroke, Ui, WidgetInfo};
use egui_plot::{Line, MarkerShape, Plot, PlotPoints, PlotUi, Points};
use yardring_core::brief::words::{beside_words, less_words};
use yardring_core::measure::{AreaRound, Beside, Reduction, RoundChange, in_order};
use yardring_core::survey::{BlockId, RoundId, Survey};

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let Some(survey) = view.survey() else { return String::new() };
    if survey.rounds.len() < 2 {
        return "there is one round only".to_owned();
    }
    if view.session.rounds_compared().is_none() {
        return "this is the first round: nothing came before it".to_owned();
    }
    let Some(found) = view.session.measured.change.latest() else { return "comparing the rounds".to_owned() };
    let index = |r: &AreaRound| r.counts.house_index().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.0} %"));
    let name = survey.rounds.get(found.from.row()).map_or("", |r| &*r.name);
    format!("house index {} in {name}, {} now; {}", index(&found.worked.before), index(&found.worked.after), best(found))
}

/// The reduction that says most: beside the control where there is one.
fn best(found: &RoundChange) -> String {
    let house = &found.reductions[0];
    match found.control {
        Some(_) => format!("beside the control: {}", beside_words(found, house)),
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
    if view.session.rounds_compared().is_none() {
        ui.label("This is the first round. Choose a later one to see what changed since an earlier one.");
        return;
    }
    from_round(ui, view, survey, actions);
    beside(ui, view, survey, block, actions);
    let Some(found) = view.session.measured.change.latest() else { return };
    chart(ui, survey, found);
    papers::show(ui, view, &[(Paper::Change, true)], actions);
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
            for round in in_order(survey).into_iter().take_while(|r| Some(*r) != now) {
                if ui.selectable_label(from == Some(round), name(round)).clicked() {
                    actions.push(Action::Compare(Compare { from: Some(round), ..compare.clone() }));
                }
            }
        });
        drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, format!("Compare from: {named}")));
        ui.label(format!("to {}", now.map_or("", name)));
    });
}

fn beside(ui: &mut Ui, view: &View<'_>, survey: &Survey, block: Option<BlockId>, actions: &mut Vec<Action>) {
    let compare = &view.session.measured.compare;
    let name = |b: BlockId| survey.blocks.block_id.get(b.row());
    let named = || compare.beside.blocks().iter().map(|b| name(*b)).collect::<Vec<_>>().join(", ");
    match &compare.beside {
        Beside::Nothing => notice::quiet(
            ui,
            "Without a control area rain and season are in the number too. Choose a block in step 2, and say here whether it was left \
             alone or treated.",
        ),
        Beside::Control(_) => drop(ui.label(format!("Control: block {}. All others were treated.", named()))),
        Beside::Treated(_) => drop(ui.label(format!("Treated: block {}. All others are the control.", named()))),
    }
    let mut put = |beside: Beside| actions.push(Action::Compare(Compare { beside, ..compare.clone() }));
    ui.horizontal_wrapped(|ui| {
        for (word, next) in block.map_or_else(Vec::new, |b| offers(&compare.beside, b)) {
            if ui.button(format!("{word}: block {}", block.map_or("", name))).clicked() {
                put(next);
            }
        }
        if compare.beside != Beside::Nothing && ui.button("No control").clicked() {
            put(Beside::Nothing);
        }
    });
    if view.session.measured.change.latest().is_some_and(|c| c.control.is_none()) && compare.beside != Beside::Nothing {
        notice::quiet(ui, "No yard lies in the control area, so there is nothing to compare with.");
    }
}

/// What may be said of a block: each with the words of its button.
fn offers(now: &Beside, block: BlockId) -> Vec<(&'static str, Beside)> {
    let others = || now.blocks().iter().copied().filter(|b| *b != block);
    let (taken, with) = (now.blocks().contains(&block), || now.blocks().iter().copied().chain([block]));
    match now {
        Beside::Nothing => {
            vec![("Take as control", Beside::Control(vec![block])), ("Take as treated", Beside::Treated(vec![block]))]
        }
        Beside::Control(_) if taken => vec![("Leave out of the control", now.naming(others()))],
        Beside::Treated(_) if taken => vec![("Leave out of the treated", now.naming(others()))],
        Beside::Control(_) => vec![("Take as control", now.naming(with()))],
        Beside::Treated(_) => vec![("Take as treated", now.naming(with()))],
    }
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
    crate::ui::words::per_hundred(r.counts.house_index(), r.sure.house)
}

fn numbers(ui: &mut Ui, found: &RoundChange) {
    ui.label(RichText::new("Since the earlier round").font(theme::semibold(theme::BODY)));
    let value = |r: &Reduction| match found.control {
        Some(_) => beside_words(found, r),
        None => less_words(r.alone, r.alone_interval),
    };
    for r in &found.reductions {
        notice::say(ui, format!("{}: {}", sentence(compared_words(r.of)), value(r)));
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
        notice::say(ui, all);
    }
    notice::say(
        ui,
        format!(
            "The same {} yards twice: {} became negative, {} became positive.{points}",
            number(p.premises()),
            number(p.became_negative),
            number(p.became_positive)
        ),
    );
    if p.became_negative + p.became_positive > 0 && ui.link("List the yards that changed").clicked() {
        actions.push(Action::Trace(Some(Trace::Changed)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_is_offered_only_what_makes_sense() {
        let words = |now: &Beside, block| offers(now, BlockId(block)).iter().map(|o| o.0).collect::<Vec<_>>();
        assert_eq!(words(&Beside::Nothing, 3), ["Take as control", "Take as treated"]);
        let treated = Beside::Treated(vec![BlockId(3)]);
        assert_eq!(offers(&treated, BlockId(1)), [("Take as treated", Beside::Treated(vec![BlockId(1), BlockId(3)]))]);
        assert_eq!(offers(&treated, BlockId(3)), [("Leave out of the treated", Beside::Nothing)]);
        assert_eq!(words(&Beside::Control(vec![BlockId(3)]), 1), ["Take as control"]);
    }
}
