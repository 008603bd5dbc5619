//! The keyboard's place kept in sight.

use egui::{Id, Ui};

/// Scrolls to what has the keyboard's focus when the focus has moved to something in this scrolled area that is out of sight.
pub fn follow(ui: &Ui) {
    let focused = ui.memory(|memory| memory.focused());
    let followed = ui.scope_id().with("focus followed");
    if focused == ui.data(|data| data.get_temp::<Option<Id>>(followed)).flatten() {
        return;
    }
    ui.data_mut(|data| data.insert_temp(followed, focused));
    let Some(response) = focused.and_then(|id| ui.ctx().read_response(id)) else { return };
    let here = response.layer_id == ui.layer_id() && ui.min_rect().contains_rect(response.rect);
    if here && !ui.clip_rect().contains_rect(response.rect) {
        ui.scroll_to_rect(response.rect, None);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui_kittest::Harness;

    #[test]
    fn tab_brings_what_it_reaches_into_sight() {
        let mut window = Harness::new_ui(|ui| {
            egui::ScrollArea::vertical().max_height(120.0).show(ui, |ui| {
                for i in 0..30 {
                    let _ = ui.button(format!("Button {i}"));
                }
                follow(ui);
            });
        });
        for _ in 0..20 {
            window.key_press(egui::Key::Tab);
            window.run();
        }
        let button = window.ctx.memory(|m| m.focused()).and_then(|id| window.ctx.read_response(id)).unwrap();
        assert!(button.rect.bottom() <= 140.0 && button.rect.top() >= 0.0, "{:?}", button.rect);
    }
}
