//! Columns: which column means what, in which order dates are written, what words stand for.

use crate::action::{Action, MatchAction};
use crate::desk::papers;
use crate::jobs::{JobKind, Paper, Wanted};
use crate::session::{Offered, Place};
use crate::ui::words::{count, meaning, sentence};
use crate::ui::{notice, theme, waiting};
use crate::view::View;
use egui::{Align, ComboBox, Frame, Label, Layout, Margin, RichText, Role, Stroke, Ui, WidgetInfo};
use yardring_core::files::ColumnLook;
use yardring_core::intake::{ColumnUse, DateOrder, Sureness, UnknownWord, WordList};

/// Height of a meaning's line.
const LINE: f32 = 30.0;
/// Letters of one sample that are shown.
const SAMPLE: usize = 22;
/// Columns that mean nothing, of one file, that are shown with their samples.
const MOST_UNUSED: usize = 12;
/// Room for the meaning's name, and for how sure it is.
const NAME: f32 = 104.0;
const SURE: f32 = 70.0;
/// Words that are on no list, of one file, that are shown.
const MOST_WORDS: usize = 30;

/// Meanings that are shown even where no column has them: a sheet that lacks them is hardly ever meant to.
const WANTED: [&str; 3] = ["larvae", "pupae", "container_type"];

/// What the step remembers.
#[derive(Clone, Debug, Default)]
pub(super) struct Memory {
    /// Meanings that no column has are shown too.
    all: bool,
}

/// The closed line, and whether somebody is needed.
pub(super) fn answer(view: &View<'_>) -> (String, bool) {
    let intake = &view.session.intake;
    if intake.offered.is_empty() {
        return ("no file waits".to_owned(), false);
    }
    let questions = intake.questions().len() as u64;
    if questions > 0 {
        return (format!("{} to answer", count(questions, "question")), true);
    }
    let uses = || intake.offered.iter().flat_map(Offered::uses);
    let guessed = uses().filter(|u| u.sure < Sureness::Likely).count() as u64;
    let unknown = intake.offered.iter().map(|o| open_words(o).count()).sum::<usize>() as u64;
    let mut out = format!("{} matched", count(uses().count() as u64, "column"));
    if guessed > 0 {
        out += &format!(", {guessed} of them guessed");
    }
    if unknown > 0 {
        out += &format!("; {} on no list", count(unknown, "word"));
    }
    (out, guessed + unknown > 0)
}

/// Words of a file that nobody has put on a list.
fn open_words(offered: &Offered) -> impl Iterator<Item = &UnknownWord> {
    offered.fitted.unknown.iter().filter(|w| offered.stands_for(w).is_none())
}

/// The columns of every offered file, and what has to be asked about them.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let intake = &view.session.intake;
    if intake.offered.is_empty() {
        ui.label("Choose files first: here you then see which of their columns means what.");
        return;
    }
    for place in [Place::Columns, Place::Intake] {
        if let Some(trouble) = view.session.trouble_at(place) {
            notice::trouble(ui, trouble);
        }
    }
    for (i, offered) in intake.offered.iter().enumerate() {
        file(ui, view, (i, offered), memory, actions);
    }
    papers::show(ui, view, &[(Paper::Match, true)], actions);
    if ui.button("Read a match…").on_hover_text("Take the columns from a match that was saved").clicked() {
        actions.push(Action::Ask(Wanted::Match));
    }
    if let Some(progress) = view.progress(JobKind::BringIn)
        && waiting::waiting(ui, &progress)
    {
        actions.push(Action::Cancel(JobKind::BringIn));
    }
    for offered in &intake.offered {
        doubts(ui, offered);
    }
    let waits = intake.waits_for();
    ui.add_enabled_ui(waits.is_none() && !view.jobs.at_work(JobKind::BringIn), |ui| {
        if notice::main_button(ui, "Bring in").clicked() {
            actions.push(Action::BringIn);
        }
    });
    if let Some(waits) = waits {
        notice::quiet(ui, format!("{waits}."));
    }
}

fn file(ui: &mut Ui, view: &View<'_>, (i, offered): (usize, &Offered), memory: &mut Memory, actions: &mut Vec<Action>) {
    let (Some(role), Some((layer, _))) = (offered.kind, offered.layer_looked_at()) else { return };
    let tones = theme::tones(ui);
    let frame = Frame::new().fill(tones.field).stroke(Stroke::new(1.0, tones.line)).corner_radius(theme::CORNER);
    frame.inner_margin(Margin::same(theme::APART as i8)).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 1.0;
        let title = format!("{} · {role}", offered.name());
        ui.add(Label::new(RichText::new(title).font(theme::semibold(theme::BODY))).truncate());
        let names: Vec<&str> = layer.columns.iter().map(|c| c.name.as_str()).collect();
        let needed = |name: &str| offered.fitted.lacks.iter().any(|one_of| one_of.contains(&name));
        let mut unseen = 0;
        for name in role.meanings().iter().map(|m| m.name) {
            let used = offered.uses().iter().find(|u| u.meaning == name);
            if used.is_none() && !needed(name) && !WANTED.contains(&name) && !memory.all {
                unseen += 1;
                continue;
            }
            one(ui, (i, offered), name, used, &names, actions);
        }
        if unseen > 0 && ui.link(format!("Show {}", count(unseen, "more meaning"))).clicked() {
            memory.all = true;
        }
        unused(ui, offered, &layer.columns);
        dates(ui, i, offered, actions);
        words(ui, view, (i, offered), actions);
    });
}

/// The columns that mean nothing, each with what stands in it: a meaning that is missing may be one of them.
fn unused(ui: &mut Ui, offered: &Offered, columns: &[ColumnLook]) {
    let unused = offered.fitted.matched.unused(columns.iter().map(|c| c.name.as_str()));
    if unused.is_empty() {
        return;
    }
    ui.add_space(theme::NEAR);
    notice::quiet(ui, "Not used");
    for column in columns.iter().filter(|c| unused.contains(&c.name.as_str())).take(MOST_UNUSED) {
        let whole = format!("{}: {}", column.name, samples(&column.samples, usize::MAX));
        let shown = RichText::new(format!("{}: {}", column.name, samples(&column.samples, SAMPLE))).size(theme::SMALL);
        ui.add(Label::new(shown.color(theme::tones(ui).quiet)).truncate()).on_hover_text(whole);
    }
    let more = unused.len().saturating_sub(MOST_UNUSED);
    if more > 0 {
        notice::quiet(ui, format!("and {}", count(more as u64, "more column")));
    }
}

/// Samples side by side, each cut after so many letters.
fn samples(samples: &[String], letters: usize) -> String {
    let cut = |text: &String| match text.char_indices().nth(letters) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.clone(),
    };
    if samples.is_empty() { "empty".to_owned() } else { samples.iter().map(cut).collect::<Vec<_>>().join(" · ") }
}

/// What would be lost or misread if a file came in as it is matched now.
fn doubts(ui: &mut Ui, offered: &Offered) {
    let ink = theme::tones(ui).accent;
    let mut say = |text: String| ui.label(RichText::new(text).color(ink));
    if let Some(told) = offered.kind.and_then(|role| offered.fitted.matched.untold(role)) {
        say(format!("{}: {told}.", offered.name()));
    }
    let lost = offered.rows_lost() as u64;
    if lost > 0 {
        say(format!("{}: {} would be refused, for how the visit went is a word on no list.", offered.name(), count(lost, "row")));
    }
}

/// One meaning: its name, its column, how sure that is, and what stands in the column.
fn one(
    ui: &mut Ui,
    (i, offered): (usize, &Offered),
    name: &'static str,
    used: Option<&ColumnUse>,
    names: &[&str],
    actions: &mut Vec<Action>,
) {
    let tones = theme::tones(ui);
    let words = meaning(name);
    let taken = used.map_or("no column", |u| u.column.as_str());
    ui.allocate_ui_with_layout(egui::vec2(ui.available_width(), LINE), Layout::left_to_right(Align::Center), |ui| {
        ui.allocate_ui_with_layout(egui::vec2(NAME, LINE), Layout::left_to_right(Align::Center), |ui| {
            ui.set_min_width(NAME);
            ui.add(Label::new(&words).truncate());
        });
        let room = (ui.available_width() - SURE - 2.0 * theme::APART).max(80.0);
        let ink = if used.is_some() { tones.ink } else { tones.quiet };
        let drawn = ComboBox::from_id_salt(("column", i, name)).selected_text(RichText::new(taken).color(ink)).width(room).truncate();
        let drawn = drawn.show_ui(ui, |ui| {
            if ui.selectable_label(used.is_none(), "no column").clicked() {
                actions.push(Action::Match(MatchAction::Column(i, name, None)));
            }
            for column in names {
                if ui.selectable_label(taken == *column && used.is_some(), *column).clicked() {
                    actions.push(Action::Match(MatchAction::Column(i, name, Some((*column).to_owned()))));
                }
            }
        });
        let label = format!("{words} of {} is {taken}", offered.name());
        drawn.response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, &label));
        if let Some(used) = used {
            let doubted = used.sure < Sureness::Likely;
            let ink = if doubted { tones.accent } else { tones.quiet };
            ui.label(RichText::new(used.sure.word()).size(theme::SMALL).color(ink)).on_hover_text(sentence(used.sure.words()));
        }
    });
    if let Some(used) = used {
        ui.horizontal_top(|ui| {
            ui.add_space(NAME + theme::APART);
            let shown = RichText::new(samples(&used.samples, SAMPLE)).size(theme::SMALL).color(tones.quiet);
            ui.add(Label::new(shown).wrap()).on_hover_text(samples(&used.samples, usize::MAX));
        });
    }
}

/// The question in which order dates are written, where two orders are possible.
fn dates(ui: &mut Ui, i: usize, offered: &Offered, actions: &mut Vec<Action>) {
    let Some(role) = offered.kind else { return };
    let said = offered.said.date_order(role).or_else(|| offered.fitted.remembered.date_order(role));
    let example = offered.fitted.unclear_date.as_deref();
    if example.is_none() && said.is_none() {
        return;
    }
    ui.add_space(theme::NEAR);
    match example {
        Some(date) => ui.label(format!("Dates such as {date} begin with")),
        None => ui.label("Dates begin with"),
    };
    let orders = [(Some(DateOrder::DayFirst), "the day"), (Some(DateOrder::MonthFirst), "the month")];
    if let Some(Some(order)) = notice::choices(ui, said, &orders) {
        actions.push(Action::Match(MatchAction::DateOrder(i, order)));
    }
}

/// Words that are on no list, each with the words that it may stand for.
fn words(ui: &mut Ui, view: &View<'_>, (i, offered): (usize, &Offered), actions: &mut Vec<Action>) {
    let unknown = &offered.fitted.unknown;
    if unknown.is_empty() {
        return;
    }
    ui.add_space(theme::NEAR);
    ui.label(RichText::new("Words on no list stand for").font(theme::semibold(theme::BODY)));
    let mut list = None;
    for word in unknown.iter().take(MOST_WORDS) {
        if list != Some(word.list) {
            list = Some(word.list);
            let words = if word.list == WordList::YesNo { "yes or no".to_owned() } else { meaning(word.list.name()) };
            notice::quiet(ui, sentence(&words));
        }
        let said = offered.stands_for(word).map(str::to_owned);
        let known = word.list.known(view.survey());
        ui.allocate_ui_with_layout(egui::vec2(ui.available_width(), LINE), Layout::left_to_right(Align::Center), |ui| {
            let room = (ui.available_width() * 0.55).max(120.0);
            ui.allocate_ui_with_layout(egui::vec2(room, LINE), Layout::left_to_right(Align::Center), |ui| {
                ui.set_min_width(room);
                let told = format!("{}, {}", word.word, count(word.rows as u64, "row"));
                ui.add(Label::new(&told).truncate()).on_hover_text(&told);
            });
            chosen(ui, i, word, said.as_deref(), &known, actions);
        });
    }
    let more = unknown.len().saturating_sub(MOST_WORDS);
    if more > 0 {
        notice::quiet(ui, format!("and {more} more, to be put on a list in a column map."));
    }
    if unknown.iter().any(|w| w.list == WordList::ContainerType) {
        notice::quiet(ui, "A kind of container on no list comes in as a new kind.");
    }
}

fn chosen(ui: &mut Ui, i: usize, word: &UnknownWord, said: Option<&str>, known: &[String], actions: &mut Vec<Action>) {
    let taken = said.unwrap_or("not said");
    let say = |ours: &str| Action::Match(MatchAction::Word(i, word.list, word.word.clone(), ours.to_owned()));
    let room = (ui.available_width() - theme::NEAR).max(80.0);
    let drawn = ComboBox::from_id_salt(("word", i, word.list, &word.word)).selected_text(taken).width(room).truncate().show_ui(ui, |ui| {
        if ui.selectable_label(said.is_none(), "not said").clicked() {
            actions.push(say(""));
        }
        for ours in known {
            if ui.selectable_label(said == Some(ours), ours).clicked() {
                actions.push(say(ours));
            }
        }
    });
    let label = format!("{} stands for {taken}", word.word);
    drawn.response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, &label));
}
