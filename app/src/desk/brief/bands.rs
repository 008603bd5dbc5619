//! The bands that the district reads its indices by: limits to read and to change.

use crate::action::Action;
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{DragValue, RichText, Ui, WidgetInfo};
use yardring_core::measure::{CONVENTION, Programmes};
use yardring_core::store::Edit;

/// The bands as they were read last, and as they are being changed.
#[derive(Clone, Debug, Default)]
pub(super) struct Editing {
    open: bool,
    /// Of which revision of the survey; what stands there, and what shall.
    read: Option<(u64, Programmes, Programmes)>,
}

/// Draws a link, and behind it the limits of every scheme.
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
        let button = |ui: &mut Ui, word| ui.add_enabled(changed, egui::Button::new(word)).on_disabled_hover_text("Nothing is changed yet");
        if button(ui, "Keep the bands").clicked() {
            actions.push(Action::Rule(Box::new(Edit::bands(wanted))));
        }
        if button(ui, "Put them back").clicked() {
            wanted.clone_from(now);
        }
    });
    if *now != Programmes::usual() && ui.button("Back to the usual bands").clicked() {
        actions.push(Action::Rule(Box::new(Edit::bands(&Programmes::usual()))));
    }
    notice::quiet(ui, format!("{CONVENTION} Maps of the house index take the first scheme that reads it. Other schemes: yardring bands."));
}

/// One scheme: from where each of its words holds.
fn limits(ui: &mut Ui, wanted: &mut Programmes, at: usize) {
    let scheme = wanted.schemes()[at].clone();
    ui.label(RichText::new(scheme.title()).font(theme::semibold(theme::SMALL)));
    ui.horizontal_wrapped(|ui| {
        for (band, (from, word)) in scheme.bands.iter().enumerate() {
            if band == 0 {
                ui.label(format!("{word},"));
                continue;
            }
            let mut value = *from;
            ui.label(format!("{word} from"));
            let drawn = notice::fill_in(ui, DragValue::new(&mut value).range(0.0..=1000.0).speed(0.1).max_decimals(2));
            drawn.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, format!("{}: {word} from", scheme.title())));
            if value != *from {
                *wanted = wanted.with_limit(at, band, value);
            }
        }
    });
}
