//! Notices for householders: in which language, for which doors, and whom householders call.

use crate::action::Action;
use crate::session::NoticesWish;
use crate::ui::notice;
use crate::view::View;
use egui::{TextEdit, Ui, WidgetInfo};
use yardring_core::store::Edit;
use yardring_core::survey::Language;

/// What is said about notices before they are saved.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let wish = &view.session.notices;
    ui.label("Write notices in");
    let languages = [(Language::English, "English"), (Language::Spanish, "Spanish")];
    if let Some(language) = notice::choices(ui, wish.language, &languages) {
        actions.push(Action::Notices(NoticesWish { language, ..wish.clone() }));
    }
    if view.session.walking.day.as_ref().is_some_and(|day| day.doors() > 0) {
        let doors = [(false, "all doors of the round"), (true, "doors of the walks, in their order")];
        if let Some(of_walks) = notice::choices(ui, wish.of_walks, &doors) {
            actions.push(Action::Notices(NoticesWish { of_walks, ..wish.clone() }));
        }
    }
    office(ui, view, wish, actions);
}

/// Whom householders call: kept in the survey once it was typed.
fn office(ui: &mut Ui, view: &View<'_>, wish: &NoticesWish, actions: &mut Vec<Action>) {
    const LABEL: &str = "Whom householders call";
    let Some(open) = view.open() else { return };
    ui.label(LABEL);
    let mut typed = wish.office.clone().unwrap_or_else(|| open.office().to_owned());
    let drawn = ui.add(TextEdit::singleline(&mut typed).hint_text("lines for a pen").desired_width(f32::INFINITY));
    drawn.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, LABEL));
    if drawn.changed() {
        actions.push(Action::Notices(NoticesWish { office: Some(typed.clone()), ..wish.clone() }));
    }
    if drawn.lost_focus() && typed.trim() != open.office() {
        actions.push(Action::Rule(Box::new(Edit::office(&typed))));
        actions.push(Action::Notices(NoticesWish { office: None, ..wish.clone() }));
    }
    notice::quiet(
        ui,
        "What is left to do in each yard and by when, and a note for doors that stayed shut; two to a page, to be cut. No case is in them, and no crew's name.",
    );
}
