//! The whole set of measures of a group: the district, a block, a round, a land use.

use crate::sets::Set;
use crate::tables;
use crate::ui::notice;
use crate::ui::words::{NOT_SEEN, mean, number, per_hundred, share, with_interval};
use crate::view::View;
use egui::{Ui, WidgetInfo};
use yardring_core::measure::{Heat, Programmes};

/// Draws the measures of a group, those that stand behind the indices folded away until somebody wants them.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, name: &str, set: &Set) {
    ui.push_id(name, |ui| {
        first(ui, set);
        more(ui, view, set);
    });
}

fn first(ui: &mut Ui, set: &Set) {
    let (c, sure, spot) = (set.counts(), set.sure(), set.spot());
    let of = |n: u64, all: u64| format!("{} of {}", number(n), number(all));
    let pupae = if c.inspected == 0 { NOT_SEEN.to_owned() } else { number(c.pupae) };
    let mut rows = vec![
        ("Yards inspected", of(c.inspected, c.premises)),
        ("Coverage", share(c.coverage())),
        ("Positive yards", of(c.positive_premises, c.inspected)),
        ("House index", per_hundred(c.house_index(), sure.house)),
        ("Container index", per_hundred(c.container_index(), sure.container)),
        ("Breteau index, per 100 yards", with_interval(c.breteau_index(), sure.breteau, "")),
        ("Wet containers per inspected yard", mean(c.wet_per_inspected())),
        ("Pupae counted", pupae),
        ("Pupae per inspected yard", c.pupae_per_premise().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.2}"))),
    ];
    if let Some(smoothed) = spot.smoothed {
        rows.push(("Smoothed house index", per_hundred(Some(smoothed), None)));
    }
    if let Some(heat) = spot.heat {
        rows.push(("Beside the rest", heat_words(heat).to_owned()));
    }
    notice::numbers(ui, "measures", &rows);
}

fn heat_words(heat: Heat) -> &'static str {
    match heat {
        Heat::Hot => "hot, with its neighbours",
        Heat::Cold => "cold, with its neighbours",
        Heat::Neither => "no more than chance",
    }
}

/// Measures behind the three indices.
fn more(ui: &mut Ui, view: &View<'_>, set: &Set) {
    let id = ui.scope_id().with("further measures");
    let open = ui.data(|d| d.get_temp::<bool>(id)).unwrap_or(false);
    let word = if open { "Fewer measures" } else { "More measures: access, density, programmes' bands" };
    if ui.link(word).clicked() {
        ui.data_mut(|d| d.insert_temp(id, !open));
    }
    let Some(survey) = view.survey().filter(|_| open) else { return };
    let rows = tables::further(set.counts(), set.sure(), &set.access, &Programmes::of(survey));
    let rows: Vec<(&str, String)> = rows.iter().map(|(word, value)| (word.as_str(), value.clone())).collect();
    notice::numbers(ui, "further", &rows);
}

/// Rounds and land uses, one of which may be chosen to see its measures.
pub(super) fn others(ui: &mut Ui, view: &View<'_>, chosen: &mut Option<String>) {
    let Some(sets) = view.session.measured.kinds.latest().map(|k| &k.sets) else { return };
    let all = || sets.rounds.iter().map(|s| ("round", s)).chain(sets.land_uses.iter().map(|s| ("land use", s)));
    let title = |(kind, set): (&str, &Set)| format!("{kind} {}", set.name());
    if all().count() < 2 {
        return;
    }
    ui.horizontal(|ui| {
        ui.label("Measures of one");
        let now = chosen.as_deref().unwrap_or("round or land use");
        let combo = egui::ComboBox::from_id_salt("other sets").selected_text(now).width(180.0);
        let drawn = combo.show_ui(ui, |ui| {
            for of in all() {
                let name = title(of);
                let taken = chosen.as_deref() == Some(&*name);
                let index = per_hundred(of.1.counts().house_index(), of.1.sure().house);
                if ui.selectable_label(taken, &name).on_hover_text(format!("House index {index}")).clicked() {
                    *chosen = (!taken).then_some(name);
                }
            }
        });
        let label = format!("Measures of one: {}", chosen.as_deref().unwrap_or("none chosen"));
        drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, &label));
    });
    if let Some((_, set)) = all().find(|of| chosen.as_deref() == Some(&*title(*of))) {
        show(ui, view, "other set", set);
    }
}
