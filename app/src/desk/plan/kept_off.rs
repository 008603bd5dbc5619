//! Streets that a crew is kept off, before any plan and after it: any street, by its name.

use crate::action::Action;
use crate::session::walking::WalkAction;
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{ComboBox, TextEdit, Ui, WidgetInfo};

/// What is being typed.
#[derive(Clone, Debug, Default)]
pub(super) struct Typed {
    crew: usize,
    street: String,
}

/// Streets that are offered at most while a name is typed.
const OFFERED: usize = 6;

/// The streets that crews are kept off, and a box to find another one.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, typed: &mut Typed, actions: &mut Vec<Action>) {
    let walking = &view.session.walking;
    ui.add_space(theme::NEAR);
    ui.label("Kept off a street");
    for (i, (crew, street)) in walking.kept_off.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            notice::quiet(ui, format!("{}: {street}", name(view, *crew)));
            if ui.small_button("Let in again").on_hover_text("It counts from the next plan").clicked() {
                actions.push(Action::Walks(WalkAction::LetIn(i)));
            }
        });
    }
    let names = walking.streets.as_ref().map(|known| known.1.as_slice()).unwrap_or_default();
    if names.is_empty() {
        notice::quiet(ui, "Neither streets nor addresses name any street.");
        return;
    }
    typed.crew = typed.crew.min(walking.crews.names.len().saturating_sub(1));
    ui.horizontal(|ui| {
        let drawn = ComboBox::from_id_salt("kept off").selected_text(name(view, typed.crew)).width(84.0).show_ui(ui, |ui| {
            for i in 0..walking.crews.names.len() {
                ui.selectable_value(&mut typed.crew, i, name(view, i));
            }
        });
        drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, "Which crew is kept off"));
        let drawn = ui.add(TextEdit::singleline(&mut typed.street).hint_text("street").desired_width(150.0));
        drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, "The street that it is kept off"));
    });
    let found = matching(names, &typed.street);
    for street in &found {
        if ui.button(format!("Keep {} off {street}", name(view, typed.crew))).clicked() {
            actions.push(Action::Walks(WalkAction::KeepOff(typed.crew, (*street).clone())));
            typed.street.clear();
        }
    }
    if found.is_empty() && !typed.street.trim().is_empty() {
        notice::quiet(ui, "No street is called so.");
    }
}

fn name<'a>(view: &View<'a>, crew: usize) -> &'a str {
    view.session.walking.crews.names.get(crew).map_or("A crew", |name| name.as_str())
}

/// The streets whose names hold what is typed, those that begin with it first; none while nothing is.
fn matching<'a>(names: &'a [String], typed: &str) -> Vec<&'a String> {
    let typed = typed.trim().to_lowercase();
    if typed.is_empty() {
        return Vec::new();
    }
    let holds = |begins: bool| {
        let typed = &typed;
        names.iter().filter(move |name| {
            let name = name.to_lowercase();
            name.contains(typed) && name.starts_with(typed) == begins
        })
    };
    holds(true).chain(holds(false)).take(OFFERED).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streets_are_found_by_a_part_of_their_name() {
        let names = ["Anvil Street", "Kettle Lane", "Old Kettle Road"].map(str::to_owned);
        assert_eq!(matching(&names, " kettle"), [&names[1], &names[2]]);
        assert!(matching(&names, " ").is_empty() && matching(&names, "Bellows").is_empty());
    }
}
