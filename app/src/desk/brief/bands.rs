//! The bands that the district reads its indices by: limits to read and to change.

use crate::action::Action;
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{DragValue, RichText, TextEdit, Ui, WidgetInfo};
use yardring_core::measure::{CONVENTION, Programmes};
use yardring_core::store::Edit;

/// The bands as they were read last, and as they are being changed.
#[derive(Clone, Debug, Default)]
pub(super) struct Editing {
    open: bool,
    /// Of which revision of the survey; what stands there, and what shall.
    read: Option<(u64, Programmes, Programmes)>,
}

/// Draws a link, and behind it the words and limits of every scheme.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, editing: &mut Editing, actions: &mut Vec<Action>) {
    let Some(open) = view.open() else { return };
    let word = if editing.open { "Leave the programmes' bands" } else { "Change the programmes' bands" };
    if ui.link(word).clicked() {
        editing.open ^= true;
    }
    if !editing.open {
        return;
    }
    if editing.read.as_ref().is_none_or(|r| r.0 != open.revision) {
        let now = Programmes::of(&open.survey);
        editing.read = Some((open.revision, now.clone(), now));
    }
    let Some((_, now, wanted)) = &mut editing.read else { return };
    for scheme in 0..wanted.schemes().len() {
        limits(ui, wanted, scheme);
    }
    let changed = now != wanted;
    ui.horizontal(|ui| {
        let named = wanted.all_named();
        let why = if named { "Nothing is changed yet" } else { "A band has no word" };
        let button = |ui: &mut Ui, word, on| ui.add_enabled(on, egui::Button::new(word)).on_disabled_hover_text(why);
        if button(ui, "Keep the bands", changed && named).clicked() {
            actions.push(Action::Rule(Box::new(Edit::bands(wanted))));
        }
        if button(ui, "Put them back", changed).clicked() {
            wanted.clone_from(now);
        }
    });
    if *now != Programmes::usual() && ui.button("Back to the usual bands").clicked() {
        actions.push(Action::Rule(Box::new(Edit::bands(&Programmes::usual()))));
    }
    notice::quiet(ui, format!("{CONVENTION} Maps of the house index take the first scheme that reads it. Other schemes: yardring bands."));
}

/// Width of the field for a band's word.
const WORD: f32 = 96.0;

/// One scheme: its words, and from where each of them holds.
fn limits(ui: &mut Ui, wanted: &mut Programmes, at: usize) {
    let scheme = wanted.schemes()[at].clone();
    ui.label(RichText::new(scheme.title()).font(theme::semibold(theme::SMALL)));
    ui.horizontal_wrapped(|ui| {
        for (band, (from, word)) in scheme.bands.iter().enumerate() {
            let mut typed = word.to_string();
            let edit = ui.add(TextEdit::singleline(&mut typed).desired_width(WORD));
            edit.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, format!("{}: word of band {}", scheme.title(), band + 1)));
            if edit.changed() {
                *wanted = wanted.with_word(at, band, &typed);
            }
            if band == 0 {
                continue;
            }
            let mut value = *from;
            ui.label("from");
            let drawn = notice::fill_in(ui, DragValue::new(&mut value).range(0.0..=1000.0).speed(0.1).max_decimals(2));
            drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, format!("{}: {word} from", scheme.title())));
            if value != *from {
                *wanted = wanted.with_limit(at, band, value);
            }
        }
    });
}
