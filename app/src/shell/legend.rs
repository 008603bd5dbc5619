//! The legend: what the map's classes mean and how many are in each, lower right over the map.

use crate::session::{ColourBy, Desk, Painted};
use crate::ui::words::number;
use crate::ui::{notice, swatch, theme};
use crate::view::View;
use egui::{Align2, Area, Frame, Margin, Order, Rect, RichText, Stroke, Ui};

/// A map smaller than this has its legend folded at first.
const ROOM: egui::Vec2 = egui::vec2(560.0, 420.0);

/// Draws the legend in the lower right corner of the map.
pub fn show(ui: &Ui, map: Rect, view: &View<'_>) {
    let Some(painted) = view.session.classes.latest().filter(|_| view.open().is_some()) else { return };
    let tones = theme::tones(ui);
    let corner = map.right_bottom() + egui::vec2(-theme::INSIDE, -theme::INSIDE);
    let frame = Frame::new().fill(tones.sheet).stroke(Stroke::new(1.0, tones.line)).corner_radius(theme::CORNER);
    let id = egui::Id::unique("legend");
    let roomy = map.width() >= ROOM.x && map.height() >= ROOM.y;
    let folded = ui.data(|d| d.get_temp::<bool>(id)).unwrap_or(!roomy);
    let area = Area::new(id).order(Order::Middle).pivot(Align2::RIGHT_BOTTOM).fixed_pos(corner);
    area.constrain_to(map).show(ui.ctx(), |ui| {
        frame.inner_margin(Margin::symmetric(10, 8)).show(ui, |ui| {
            ui.set_max_width(if folded { 80.0 } else { 240.0 });
            ui.spacing_mut().item_spacing.y = 2.0;
            ui.spacing_mut().interact_size.y = 18.0;
            let word = if folded { "Legend" } else { "Fold" };
            if !folded {
                lines(ui, view, painted);
            }
            let link = ui.link(RichText::new(word).size(theme::SMALL)).on_hover_text("Fold the legend away or out");
            if link.clicked() {
                ui.data_mut(|d| d.insert_temp(id, !folded));
            }
        });
    });
}

fn lines(ui: &mut Ui, view: &View<'_>, painted: &Painted) {
    let tones = theme::tones(ui);
    head(ui, view, painted.classes.colour_by);
    for line in &painted.legend {
        ui.horizontal(|ui| {
            swatch::show(ui, &line.ink);
            ui.label(RichText::new(&line.label).size(theme::SMALL));
            ui.add_space(theme::APART);
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                ui.label(RichText::new(number(line.count)).size(theme::SMALL).color(tones.quiet));
            });
        });
    }
    if painted.classes.colour_by != ColourBy::Gaps {
        notice::quiet(ui, format!("Counts are {}.", painted.classes.counted()));
    }
}

fn head(ui: &mut Ui, view: &View<'_>, colour: ColourBy) {
    let title = match (view.session.desk, colour) {
        (Desk::Intake, _) => "Yards",
        (Desk::Plan, _) => "Yards and gaps",
        (Desk::Brief, colour) => colour.heading(),
    };
    ui.label(RichText::new(title).font(theme::semibold(theme::SMALL)));
    if colour != ColourBy::Gaps {
        notice::quiet(ui, colour.unit());
    }
}
