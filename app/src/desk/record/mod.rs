//! A visit written down: the form that lies on the worksheet while somebody enters or corrects one.

mod finds;

use crate::action::Action;
use crate::jobs::JobKind;
use crate::session::{Place, RecordAction, Writing};
use crate::ui::words::full_day;
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::{ComboBox, Key, Modifiers, RichText, TextEdit, Ui, WidgetInfo};
use jiff::civil::Date;
use yardring_core::intake::record::{Entry, Fault};
use yardring_core::survey::{Outcome, PremiseId, Survey};

/// What the form remembers: what is typed, also when it was left without keeping.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    /// For which yard, which visit, and after how many kept ones it was typed.
    about: Option<(PremiseId, Option<Box<str>>, u64)>,
    entry: Entry,
    faults: Vec<Fault>,
    /// Keeping was tried: what is missing is told too.
    tried: bool,
    /// The form is new: the keyboard goes to its first field.
    fresh: bool,
    /// The find whose kind is being typed.
    naming: Option<usize>,
    /// The find that the keyboard goes to next.
    newest: Option<usize>,
}

impl Memory {
    /// Takes up what is written now; what was typed for the same visit and not kept is still there.
    fn take_up(&mut self, writing: &Writing, kept: u64) {
        let about = Some((writing.premise, writing.correcting.clone(), kept));
        if self.about != about {
            let entry = writing.begins.clone();
            *self = Self { about, faults: entry.faults(), entry, fresh: true, ..Self::default() };
        }
    }

    /// What is wrong with a cell of the visit, or of a find; what is merely empty is told once keeping was tried.
    fn fault(&self, find: Option<usize>, cell: &str) -> Option<&str> {
        let fault = self.faults.iter().find(|f| f.find == find && f.cell == cell)?;
        (self.tried || !self.is_empty(find, cell)).then_some(&*fault.words)
    }

    fn is_empty(&self, find: Option<usize>, cell: &str) -> bool {
        match find.and_then(|i| self.entry.finds.get(i)) {
            Some(find) => find.clone().cells().iter().any(|(name, text)| *name == cell && text.is_empty()),
            None => match cell {
                "date" => self.entry.date.is_empty(),
                "outcome" => self.entry.outcome.is_empty(),
                _ => false,
            },
        }
    }
}

/// Draws the form; `false` when nothing is being written down.
pub fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) -> bool {
    let Some((survey, writing)) = view.survey().zip(view.session.hand.writing.as_ref()) else { return false };
    memory.take_up(writing, view.session.hand.kept);
    let before = memory.entry.clone();
    head(ui, view, writing);
    let mut entered = visit(ui, survey, memory);
    entered |= finds::show(ui, survey, memory);
    memory.fresh = false;
    if memory.entry != before {
        memory.faults = memory.entry.faults();
    }
    entered |= ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, Key::Enter));
    foot(ui, view, writing, memory, entered, actions);
    true
}

fn head(ui: &mut Ui, view: &View<'_>, writing: &Writing) {
    let what = if writing.correcting.is_some() { "Correct a visit" } else { "Enter a visit" };
    ui.label(RichText::new(format!("{what} at {}", view.name_of(writing.premise))).font(theme::semibold(theme::LARGE)));
    let tip = "Tab goes on, Enter in a field keeps it, Esc leaves it. Other yards can be looked at meanwhile.";
    notice::quiet(ui, tip);
    ui.add_space(theme::NEAR);
}

/// A name before a control.
fn named(ui: &mut Ui, name: &str, control: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        ui.allocate_ui_with_layout(egui::vec2(64.0, 28.0), egui::Layout::left_to_right(egui::Align::Center), |ui| {
            ui.set_min_width(64.0);
            ui.label(name);
        });
        control(ui);
    });
}

/// A field to write in; whether Enter was pressed in it. One with something wrong in it has an edge that says so.
fn field(ui: &mut Ui, name: &str, text: &mut String, width: f32, wrong: bool) -> (egui::Response, bool) {
    let drawn = ui.add(TextEdit::singleline(text).desired_width(width));
    drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, name));
    if wrong {
        let edge = egui::Stroke::new(1.5, theme::tones(ui).warning);
        ui.painter().rect_stroke(drawn.rect, theme::CORNER, edge, egui::StrokeKind::Outside);
    }
    let entered = drawn.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    (drawn, entered)
}

/// What is wrong with some cells, in words below them.
fn told(ui: &mut Ui, memory: &Memory, find: Option<usize>, cells: &[&str]) {
    for words in cells.iter().filter_map(|cell| memory.fault(find, cell)) {
        notice::warn(ui, crate::ui::words::sentence(words));
    }
}

/// The visit itself; whether Enter was pressed in a field.
fn visit(ui: &mut Ui, survey: &Survey, memory: &mut Memory) -> bool {
    let mut entered = day_and_times(ui, memory);
    told(ui, memory, None, &["date", "time_in", "time_out", "minutes"]);
    named(ui, "Outcome", |ui| {
        let taken = memory.entry.outcome.trim().parse::<Outcome>().ok();
        let all: Vec<(Option<Outcome>, &str)> = Outcome::ALL.iter().map(|o| (Some(*o), o.word())).collect();
        if let Some(Some(outcome)) = notice::choices(ui, taken, &all) {
            memory.entry.outcome = outcome.to_string();
        }
    });
    told(ui, memory, None, &["outcome"]);
    named(ui, "Round", |ui| {
        entered |= field(ui, "Round", &mut memory.entry.round, 132.0, false).1;
        let choose = ComboBox::from_id_salt("known rounds").selected_text("Choose").width(76.0).show_ui(ui, |ui| {
            for round in survey.rounds.iter().rev() {
                if ui.selectable_label(*round.name == *memory.entry.round, &*round.name).clicked() {
                    memory.entry.round = round.name.to_string();
                }
            }
        });
        choose.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, "Choose a round"));
    });
    let round = memory.entry.round.trim();
    if !round.is_empty() && !survey.rounds.is_empty() && survey.round_called(round).is_none() {
        notice::quiet(ui, format!("{round} is a new round."));
    }
    named(ui, "Crew", |ui| entered |= field(ui, "Crew", &mut memory.entry.crew, 132.0, false).1);
    let room = (ui.available_width() - 76.0).max(120.0);
    named(ui, "Promised", |ui| entered |= field(ui, "What was promised, as Saturday after five", &mut memory.entry.promise, room, false).1);
    named(ui, "To mind", |ui| entered |= field(ui, "What to mind at the door, as dog", &mut memory.entry.cautions, room, false).1);
    entered
}

fn day_and_times(ui: &mut Ui, memory: &mut Memory) -> bool {
    let mut entered = false;
    let wrong = |memory: &Memory, cell| memory.fault(None, cell).is_some();
    let (date, came, went, minutes) =
        (wrong(memory, "date"), wrong(memory, "time_in"), wrong(memory, "time_out"), wrong(memory, "minutes"));
    named(ui, "Day", |ui| {
        let (drawn, enter) = field(ui, "Day, as 2025-07-24", &mut memory.entry.date, 104.0, date);
        entered |= enter;
        if memory.fresh {
            drawn.request_focus();
        }
        if let Ok(day) = memory.entry.date.trim().parse::<Date>() {
            notice::quiet(ui, full_day(day));
        }
    });
    named(ui, "Came", |ui| {
        entered |= field(ui, "When the crew came, as 08:50", &mut memory.entry.time_in, 56.0, came).1;
        ui.label("went");
        entered |= field(ui, "When it went, as 09:05", &mut memory.entry.time_out, 56.0, went).1;
        ui.label("or min");
        entered |= field(ui, "Minutes it was there", &mut memory.entry.minutes, 40.0, minutes).1;
    });
    entered
}

/// What goes with what is found, and the ways out.
fn foot(ui: &mut Ui, view: &View<'_>, writing: &Writing, memory: &mut Memory, entered: bool, actions: &mut Vec<Action>) {
    if memory.entry.finds.iter().any(|f| matches!(f.action.as_str(), "treated" | "fish")) {
        notice::quiet(
            ui,
            "The product label is the law; licensed applicators only where the law says so. No treatment of drinking water or fish ponds unless the label allows it.",
        );
    }
    if let Some(trouble) = view.session.trouble_at(Place::Record) {
        notice::trouble(ui, trouble);
    }
    if memory.tried && !memory.faults.is_empty() {
        notice::warn(ui, "Not kept yet: mend what is marked above.");
    }
    if let Some(progress) = view.progress(JobKind::Record)
        && waiting::waiting(ui, &progress)
    {
        actions.push(Action::Cancel(JobKind::Record));
    }
    let mut keep = entered.then_some(writing.next.is_some());
    ui.add_space(theme::NEAR);
    ui.horizontal_wrapped(|ui| {
        if let Some(next) = writing.next {
            let on = notice::main_button(ui, "Keep, then the next door").on_hover_text(format!("On to {} (Enter)", view.name_of(next)));
            keep = if on.clicked() { Some(true) } else { keep };
            keep = if ui.button("Keep").on_hover_text("Keep it and lay the form away").clicked() { Some(false) } else { keep };
        } else if notice::main_button(ui, "Keep").on_hover_text("Enter; one change, taken back with one undo").clicked() {
            keep = Some(false);
        }
        if ui.button("Leave it").on_hover_text("Esc; what is typed waits here until another visit is kept").clicked() {
            actions.push(Action::Record(RecordAction::Leave));
        }
    });
    if let Some(go_on) = keep.filter(|_| !view.jobs.at_work(JobKind::Record)) {
        memory.tried = true;
        if memory.faults.is_empty() {
            actions.push(Action::Record(RecordAction::Keep(Box::new(memory.entry.clone()), go_on)));
        }
    }
    let log = if writing.correcting.is_some() {
        "What was there before stays to be read in the intake log."
    } else {
        "It is told in the intake log."
    };
    notice::quiet(ui, format!("{log} A sheet that comes in later does not write over it."));
}
