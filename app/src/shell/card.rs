//! The yard card: everything known about the chosen premise, lower left over the map.

use super::yard_words::{find_in_words, minds, remaining, said_in_words, state, state_in_a_word, visit_in_words};
use crate::action::Action;
use crate::session::walking::{Change, WalkAction};
use crate::session::{Desk, Place, RecordAction, Trace};
use crate::ui::words::{self, count, number, sentence, time_after};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Align2, Area, Frame, Margin, Order, Rect, RichText, ScrollArea, Stroke, Ui, WidgetInfo};
use yardring_core::foresee::MUST_NOT;
use yardring_core::survey::{PremiseId, Survey, Visit, promise_at};

/// Draws the card in the lower left corner of the map, when a premise is chosen.
pub fn show(ui: &Ui, map: Rect, view: &View<'_>, actions: &mut Vec<Action>) {
    let (Some(survey), Some(premise)) = (view.survey(), view.session.chosen) else { return };
    let tones = theme::tones(ui);
    let corner = map.left_bottom() + egui::vec2(theme::INSIDE, -60.0);
    let shadow = egui::epaint::Shadow { offset: [0, 2], blur: 8, spread: 0, color: tones.line };
    let frame = Frame::new().fill(tones.sheet).stroke(Stroke::new(1.0, tones.line)).corner_radius(theme::CORNER);
    let frame = frame.inner_margin(Margin::same(theme::INSIDE as i8)).shadow(shadow);
    let area = Area::new(egui::Id::unique("yard card")).order(Order::Middle).pivot(Align2::LEFT_BOTTOM).fixed_pos(corner);
    area.constrain_to(map).show(ui.ctx(), |ui| {
        frame.show(ui, |ui| {
            ui.set_width(theme::CARD.min(map.width() - 3.0 * theme::INSIDE));
            ui.spacing_mut().item_spacing.y = 3.0;
            ui.spacing_mut().interact_size.y = 20.0;
            head(ui, survey, premise, view, actions);
            let room = (map.height() - 220.0).clamp(80.0, 340.0);
            let area = ScrollArea::vertical().max_height(room).auto_shrink([false, true]).id_salt(("card", premise.0));
            area.show(ui, |ui| body(ui, survey, premise, view, actions));
        });
    });
}

fn head(ui: &mut Ui, survey: &Survey, premise: PremiseId, view: &View<'_>, actions: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        let room = ui.available_width() - 60.0;
        ui.scope(|ui| {
            ui.set_max_width(room);
            ui.label(RichText::new(view.name_of(premise)).heading());
        });
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
            if ui.small_button("Close").on_hover_text("Let go of this yard (Esc)").clicked() {
                actions.push(Action::Choose(None));
            }
        });
    });
    let block = survey.premises.block.get(premise.row()).copied().flatten();
    let block = block.map_or_else(|| "no block".to_owned(), |b| format!("block {}", survey.blocks.block_id.get(b.row())));
    notice::quiet(ui, format!("Parcel {} · {block}", survey.premises.parcel_id.get(premise.row())));
    if let (Some(picture), Some(round)) = (view.round(), view.open().and_then(|o| o.round)) {
        let name = &survey.rounds[round.row()].name;
        let colour = theme::tones(ui).ink;
        let text = RichText::new(state(survey, &picture.standings[premise.row()], name)).font(theme::semibold(theme::BODY));
        ui.label(text.color(colour));
    }
    if survey.premises.outline.get(premise.row()).is_empty() {
        notice::quiet(ui, "The county's file has no outline for this parcel, so it is not on the map.");
    }
}

fn body(ui: &mut Ui, survey: &Survey, premise: PremiseId, view: &View<'_>, actions: &mut Vec<Action>) {
    let left = remaining(survey, premise);
    if !left.is_empty() {
        heading(ui, "Left for the householder");
        ui.label(left.join(", "));
    }
    let minds = minds(survey, premise);
    if !minds.is_empty() {
        heading(ui, "To mind at the door");
        minds.iter().for_each(|mind| {
            ui.label(mind);
        });
    }
    if let Some((promised, written)) = promise_at(&survey.visits, premise) {
        heading(ui, "What was promised");
        ui.label(format!("{}, said on {}", sentence(&promised.words()), words::day(written)));
    }
    if view.session.desk == Desk::Plan {
        today(ui, premise, view, actions);
    }
    if let Some(chance) = view.chance(premise) {
        heading(ui, "Chance of larvae or pupae");
        notice::say(ui, format!("{}: {}", words::chance(chance), view.session.why));
        told_by(ui, premise, u64::from(chance.neighbours), view, actions);
        notice::quiet(ui, MUST_NOT);
    }
    heading(ui, "Visits");
    if ui.button("Enter a visit").on_hover_text("Write down who was here and what was found (Ctrl+E)").clicked() {
        actions.push(Action::Record(RecordAction::Begin(premise)));
    }
    visits(ui, survey, premise, view, actions);
    neighbours(ui, view, actions);
}

/// The visits, newest first, each with what can be done about it.
fn visits(ui: &mut Ui, survey: &Survey, premise: PremiseId, view: &View<'_>, actions: &mut Vec<Action>) {
    if let Some(trouble) = view.session.trouble_at(Place::Record).filter(|_| view.session.hand.writing.is_none()) {
        notice::trouble(ui, trouble);
    }
    let mut any = false;
    for visit in survey.visits.at(premise).iter().rev() {
        any = true;
        ui.label(visit_in_words(survey, visit));
        ui.horizontal(|ui| by_hand(ui, premise, visit, actions));
        said_in_words(visit).iter().for_each(|said| notice::quiet(ui, said));
        for find in survey.visits.finds_of(visit) {
            Frame::new().inner_margin(Margin { left: 12, ..Margin::ZERO }).show(ui, |ui| notice::quiet(ui, find_in_words(survey, find)));
        }
    }
    if !any {
        notice::quiet(ui, "Nobody has been here yet.");
    }
}

/// Links to correct a visit and to take it away.
fn by_hand(ui: &mut Ui, premise: PremiseId, visit: &Visit, actions: &mut Vec<Action>) {
    let of = words::day(visit.when.day);
    for (word, tip) in
        [("Correct", "Mend what was written down; what was there before stays in the intake log"), ("Take away", "Undo brings it back")]
    {
        let link = ui.link(RichText::new(word).size(theme::SMALL)).on_hover_text(tip);
        link.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, format!("{word} the visit of {of}, {}", visit.id)));
        if link.clicked() {
            let id = visit.id.clone();
            let action = if word == "Correct" { RecordAction::Correct(premise, id) } else { RecordAction::TakeAway(premise, id) };
            actions.push(Action::Record(action));
        }
    }
}

/// Inspected yards near by that a card lists at most.
const MOST_TOLD: usize = 40;

/// The inspected yards that the chance was told by: how many, and each with its distance once somebody asks.
fn told_by(ui: &mut Ui, premise: PremiseId, near: u64, view: &View<'_>, actions: &mut Vec<Action>) {
    let listed = view.session.measured.traced.as_ref().filter(|t| t.of == Trace::Near(premise));
    let Some(traced) = listed else {
        if near > 0 && ui.link(format!("List {} near by", count(near, "inspected yard"))).clicked() {
            actions.push(Action::Trace(Some(Trace::Near(premise))));
        }
        return;
    };
    notice::quiet(ui, format!("{} near by, {} positive:", count(traced.yards.len() as u64, "inspected yard"), number(traced.speak as u64)));
    for (yard, words) in traced.yards.iter().take(MOST_TOLD) {
        let link = ui.horizontal(|ui| {
            let link = ui.link(view.name_of(*yard));
            notice::quiet(ui, words);
            link
        });
        if link.inner.hovered() {
            actions.push(Action::Hover(Some(*yard)));
        }
        if link.inner.clicked() {
            actions.push(Action::Choose(Some(*yard)));
        }
    }
    if traced.yards.len() > MOST_TOLD {
        notice::quiet(ui, format!("and {} more, farther off", number((traced.yards.len() - MOST_TOLD) as u64)));
    }
}

/// Whether somebody goes there on the planned day, or a button so that somebody does.
fn today(ui: &mut Ui, premise: PremiseId, view: &View<'_>, actions: &mut Vec<Action>) {
    let walking = &view.session.walking;
    let Some(day) = &walking.day else { return };
    match walking.place_of(premise) {
        Some((spot, walk)) => {
            let at = time_after(day.begins, walk.doors[spot.door].arrive);
            notice::say(ui, format!("Door {} of {} on {}, at {at}", spot.door + 1, walk.crew, words::day(day.on)));
        }
        None => {
            if ui.button("Add to the walks").on_hover_text("Into the walk that grows least; the cost is shown first").clicked() {
                actions.push(Action::Walks(WalkAction::Weigh(Change::Add(premise, None))));
            }
        }
    }
}

fn neighbours(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    heading(ui, "Over the fence");
    if view.session.neighbours.is_empty() {
        notice::quiet(ui, "No yard shares a fence line with this one.");
    }
    for &neighbour in &view.session.neighbours {
        let state = view.marking(neighbour).map_or("", state_in_a_word);
        let link = ui.horizontal(|ui| {
            let link = ui.link(view.name_of(neighbour));
            notice::quiet(ui, state);
            link
        });
        let link = link.inner;
        if link.hovered() {
            actions.push(Action::Hover(Some(neighbour)));
        }
        if link.clicked() {
            actions.push(Action::Choose(Some(neighbour)));
        }
    }
}

fn heading(ui: &mut Ui, text: &str) {
    ui.add_space(theme::NEAR);
    ui.label(RichText::new(text).font(theme::semibold(theme::SMALL)).color(theme::tones(ui).quiet));
}
