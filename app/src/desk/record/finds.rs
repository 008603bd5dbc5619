//! What was found on the visit that is written down: a few lines for each kind of container.

use super::{Memory, field, told};
use crate::ui::{notice, theme};
use egui::{ComboBox, Frame, Margin, RichText, Stroke, Ui, WidgetInfo};
use yardring_core::intake::record::FindEntry;
use yardring_core::survey::{Action as Done, Outcome, Stage, Survey};

/// Kinds that are offered at once while one is typed.
const MOST_OFFERED: usize = 8;
/// Width of a field for a small number.
const NUMBER: f32 = 40.0;

/// Draws the finds; whether Enter was pressed in a field.
pub(super) fn show(ui: &mut Ui, survey: &Survey, memory: &mut Memory) -> bool {
    let sees_nothing = memory.entry.outcome.trim().parse::<Outcome>().is_ok_and(Outcome::sees_nothing);
    ui.add_space(theme::APART);
    ui.label(RichText::new("What was found").font(theme::semibold(theme::BODY)));
    if sees_nothing && memory.entry.finds.is_empty() {
        notice::quiet(ui, "Nothing can be found on such a visit.");
        return false;
    }
    let (mut entered, mut gone) = (false, None);
    for i in 0..memory.entry.finds.len() {
        let line = Stroke::new(1.0, theme::tones(ui).line);
        Frame::new().stroke(line).corner_radius(theme::CORNER).inner_margin(Margin::same(theme::APART as i8)).show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.push_id(("find", i), |ui| {
                let (enter, off) = one(ui, survey, memory, i);
                entered |= enter;
                gone = gone.or(off.then_some(i));
            });
        });
    }
    if let Some(i) = gone {
        memory.entry.finds.remove(i);
        memory.naming = None;
    }
    let word = if memory.entry.finds.is_empty() { "Add a kind of container" } else { "Add another kind" };
    let add = ui.button(word);
    if add.clicked() {
        memory.entry.finds.push(FindEntry::default());
        memory.newest = Some(memory.entry.finds.len() - 1);
    }
    entered
}

/// One kind of container: whether Enter was pressed in a field, and whether it is to go.
fn one(ui: &mut Ui, survey: &Survey, memory: &mut Memory, i: usize) -> (bool, bool) {
    let wrong = |memory: &Memory, cell: &str| memory.fault(Some(i), cell).is_some();
    let (mut entered, mut off) = (false, false);
    let name = |word: &str| format!("{word}, find {}", i + 1);
    ui.horizontal(|ui| {
        let bad = wrong(memory, "container_type");
        let width = (ui.available_width() - 76.0).max(100.0);
        let (drawn, enter) = field(ui, &name("Kind of container"), &mut memory.entry.finds[i].container_type, width, bad);
        entered |= enter;
        if memory.newest.take_if(|newest| *newest == i).is_some() {
            drawn.request_focus();
        }
        if drawn.gained_focus() {
            memory.naming = Some(i);
        }
        let tip = format!("Take {} off again", word_for(&memory.entry.finds[i]));
        let button = ui.button("Take off").on_hover_text(&tip);
        button.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, name("Take off")));
        off = button.clicked();
    });
    told(ui, memory, Some(i), &["container_type"]);
    if memory.naming == Some(i) {
        offer(ui, survey, memory, i);
    }
    entered |= counts(ui, memory, i, &name);
    told(ui, memory, Some(i), &["count", "holds_water", "larvae", "pupae"]);
    rest(ui, &mut memory.entry.finds[i], &name);
    told(ui, memory, Some(i), &["pupae_count", "stages", "litres", "action", "remains"]);
    (entered, off)
}

fn word_for(find: &FindEntry) -> &str {
    if find.container_type.is_empty() { "this kind" } else { &find.container_type }
}

/// The district's kinds that fit what is typed; a click, or Enter, takes one.
fn offer(ui: &mut Ui, survey: &Survey, memory: &mut Memory, i: usize) {
    let typed = memory.entry.finds[i].container_type.trim().to_lowercase();
    let fits = |kind: &&str| kind.to_lowercase().contains(&typed) && kind.to_lowercase() != typed;
    let known = survey.kinds.iter().any(|k| k.to_lowercase() == typed);
    if known {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = egui::vec2(theme::NEAR, theme::NEAR);
        for kind in survey.kinds.iter().map(|k| &**k).filter(fits).take(MOST_OFFERED) {
            if ui.small_button(kind).clicked() {
                memory.entry.finds[i].container_type = kind.to_owned();
                memory.naming = None;
            }
        }
    });
    if !typed.is_empty() && !survey.kinds.is_empty() {
        notice::quiet(ui, format!("{} is a new kind.", memory.entry.finds[i].container_type.trim()));
    }
}

/// How many, how many wet, with larvae, with pupae.
fn counts(ui: &mut Ui, memory: &mut Memory, i: usize, name: &impl Fn(&str) -> String) -> bool {
    let bad = ["count", "holds_water", "larvae", "pupae"].map(|cell| memory.fault(Some(i), cell).is_some());
    let find = &mut memory.entry.finds[i];
    let mut entered = false;
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 6.0;
        ui.label("Number");
        entered |= field(ui, &name("How many"), &mut find.count, NUMBER, bad[0]).1;
        ui.label("wet");
        entered |= field(ui, &name("How many held water"), &mut find.holds_water, NUMBER, bad[1]).1;
        ui.label("larvae in");
        entered |= field(ui, &name("How many held larvae"), &mut find.larvae, NUMBER, bad[2]).1;
    });
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 6.0;
        ui.label("Pupae in");
        entered |= field(ui, &name("How many held pupae"), &mut find.pupae, NUMBER, bad[3]).1;
        ui.label("counted");
        entered |= field(ui, &name("Pupae counted"), &mut find.pupae_count, NUMBER, false).1;
        ui.label("litres");
        entered |= field(ui, &name("Litres of water"), &mut find.litres, NUMBER, false).1;
    });
    entered
}

/// The oldest stage, what was done, what remains.
fn rest(ui: &mut Ui, find: &mut FindEntry, name: &impl Fn(&str) -> String) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 6.0;
        let stages: Vec<&str> = Stage::ALL.iter().map(|s| s.word()).collect();
        one_of(ui, "Stage", &name("Oldest stage seen"), &mut find.stages, &stages, 44.0);
        let done: Vec<&str> = Done::ALL.iter().map(|a| a.word()).collect();
        one_of(ui, "Done", &name("What was done"), &mut find.action, &done, 108.0);
    });
    let mut remains = find.remains.trim().eq_ignore_ascii_case("yes");
    let box_ = ui.checkbox(&mut remains, "something is left for the householder");
    box_.widget_info(|| WidgetInfo::selected(egui::Role::CheckBox, true, remains, name("Something remains")));
    if box_.changed() {
        find.remains = if remains { "yes" } else { "" }.to_owned();
    }
}

/// One word of a list, or none.
fn one_of(ui: &mut Ui, label: &str, name: &str, text: &mut String, words: &[&str], width: f32) {
    ui.label(label);
    let shown = if text.is_empty() { "–" } else { text.as_str() }.to_owned();
    let drawn = ComboBox::from_id_salt(label).selected_text(shown).width(width).show_ui(ui, |ui| {
        for word in std::iter::once("").chain(words.iter().copied()) {
            if ui.selectable_label(text.as_str() == word, if word.is_empty() { "not said" } else { word }).clicked() {
                *text = word.to_owned();
            }
        }
    });
    drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, name));
}
