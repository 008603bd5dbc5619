//! How a number was worked out: one line that a manager can read, the whole method behind one click.

use super::{notice, theme};
use egui::{RichText, Role, Ui, WidgetInfo};

/// A line that says how many, how sure and by which method, and a link that opens the whole of it. `name` tells the links of one
/// window apart, also for those who hear the screen.
pub fn how(ui: &mut Ui, name: &str, line: impl Into<String>, method: &str) {
    notice::quiet(ui, line);
    let id = ui.scope_id().with(("method", name));
    let open = ui.data(|d| d.get_temp::<bool>(id)).unwrap_or(false);
    let word = if open { "Hide how this is worked out" } else { "How this is worked out" };
    let link = ui.link(RichText::new(word).size(theme::SMALL));
    link.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("{word}: {name}")));
    if link.clicked() {
        ui.data_mut(|d| d.insert_temp(id, !open));
    }
    if open {
        notice::quiet(ui, method);
    }
}
