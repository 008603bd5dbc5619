//! Containers: few kinds make most pupae; and what the district knows about each kind.

use super::known::{self, Editing};
use super::traced;
use crate::action::Action;
use crate::desk::papers;
use crate::jobs::Paper;
use crate::session::{KindsAnswer, Trace};
use crate::tables::KEY_SHARE;
use crate::ui::list::List;
use crate::ui::method::how;
use crate::ui::theme;
use crate::ui::words::{count, number, per_hundred, sentence};
use crate::view::View;
use egui::{Align, Layout, Rect, RichText, Stroke, StrokeKind, Ui, pos2, vec2};
use yardring_core::measure::{Interval, KindCounts, KindShare, MadeOf};
use yardring_core::survey::KindId;

/// What the step remembers.
#[derive(Clone, Debug, Default)]
pub(super) struct Memory {
    /// The kind chosen in the chart.
    kind: Option<KindId>,
    /// The table of knowledge, as it is edited.
    editing: Editing,
}

/// Height of the list at most.
const HEIGHT: f32 = 280.0;
/// Width of a kind's name.
const NAME: f32 = 116.0;
/// Width of a kind's words.
const WORDS: f32 = 92.0;

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let Some(survey) = view.survey() else { return String::new() };
    let Some(found) = view.session.measured.kinds.latest() else { return "adding up kinds of container".to_owned() };
    let key: Vec<&(KindId, KindCounts, KindShare)> = found.kinds.iter().filter(|k| k.2.key).collect();
    if key.is_empty() {
        return "no larvae or pupae were found".to_owned();
    }
    let share: f64 = key.iter().filter_map(|k| k.2.contribution).sum();
    let names: Vec<&str> = key.iter().filter(|k| k.0.row() < survey.kinds.len()).map(|k| survey.kind_name(k.0)).collect();
    let (n, made) = (names.len() as u64, made(found));
    let make = if n == 1 { "makes" } else { "make" };
    let named = if names.len() > 4 { format!("{} and {} more", names[..3].join(", "), names.len() - 3) } else { names.join(", ") };
    format!("{} of {} {make} {:.0} % of {made}: {named}", number(n), count(found.kinds.len() as u64, "kind"), 100.0 * share)
}

fn made(found: &KindsAnswer) -> &'static str {
    match found.key.made_of {
        MadeOf::Pupae => "all pupae",
        MadeOf::PositiveContainers => "all positive containers",
    }
}

/// The chart, the yards behind a kind, and what is known about it.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    if let Some(found) = view.session.measured.kinds.latest().filter(|f| !f.kinds.is_empty()) {
        chart(ui, view, found, memory, actions);
        let inspected = view.round().map_or(0, |p| p.district.inspected);
        how(
            ui,
            "containers",
            format!("{} inspected, share of {}, 95 % intervals", count(inspected, "yard"), made(found)),
            &format!(
                "A kind's share is its pupae over all pupae counted on the visits that count (positive containers where no pupae were \
                 counted). The interval comes from drawing the inspected yards again 1,000 times. Filled bars are key: the fewest kinds that \
                 make {:.0} %, a convention of many-country studies. Of a chosen kind it is told how many times its share of wet containers it makes.",
                100.0 * KEY_SHARE
            ),
        );
        if let Some((_, counts, share)) = found.kinds.iter().find(|k| Some(k.0) == memory.kind) {
            ui.label(sentence(&in_full(counts, share)));
        }
        papers::show(ui, view, &[(Paper::Kinds, true)], actions);
        if let Some(kind) = memory.kind {
            traced::show(ui, view, Trace::Kind(kind), actions);
        }
    } else if view.session.measured.kinds.latest().is_some() {
        ui.label("No container was found on a visit that counts.");
    }
    let chosen = memory.kind.and_then(|k| view.survey().filter(|s| k.row() < s.kinds.len()).map(|s| s.kind_name(k)));
    known::show(ui, view, chosen, &mut memory.editing, actions);
}

fn chart(ui: &mut Ui, view: &View<'_>, found: &KindsAnswer, memory: &mut Memory, actions: &mut Vec<Action>) {
    let Some(survey) = view.survey() else { return };
    let most = found.kinds.iter().filter_map(|k| k.2.contribution_interval.map(|i| i.high)).fold(0.05, f64::max);
    let list = List {
        name: "kinds",
        rows: found.kinds.len(),
        row_height: theme::ROW,
        height: HEIGHT,
        chosen: memory.kind.and_then(|c| found.kinds.iter().position(|k| k.0 == c)),
        glowing: None,
        reveal: false,
        firm: true,
    };
    let events = list.show(ui, |ui, i| {
        let Some((kind, counts, share)) = found.kinds.get(i).filter(|k| k.0.row() < survey.kinds.len()) else { return String::new() };
        row(ui, survey.kind_name(*kind), counts, share, most)
    });
    if let Some((kind, ..)) = events.chosen.and_then(|i| found.kinds.get(i)) {
        memory.kind = Some(*kind);
        actions.push(Action::Trace(Some(Trace::Kind(*kind))));
    }
}

/// One kind: its name, its share as a bar with its interval, and both in words.
fn row(ui: &mut Ui, name: &str, counts: &KindCounts, share: &KindShare, most: f64) -> String {
    ui.spacing_mut().item_spacing.x = 0.0;
    let tones = theme::tones(ui);
    let interval = share.contribution_interval.map(Interval::per_hundred);
    let words = share.contribution.map_or_else(|| "none".to_owned(), |v| per_hundred(Some(100.0 * v), interval));
    let font = if share.key { theme::semibold(theme::BODY) } else { egui::FontId::proportional(theme::BODY) };
    ui.allocate_ui_with_layout(vec2(NAME, theme::ROW), Layout::left_to_right(Align::Center), |ui| {
        ui.set_width(NAME);
        ui.add(egui::Label::new(RichText::new(name).font(font)).truncate());
    });
    let width = (ui.available_width() - WORDS - theme::APART).max(40.0);
    let (rect, _) = ui.allocate_exact_size(vec2(width, theme::ROW), egui::Sense::hover());
    let x = |v: f64| rect.left() + rect.width() * (v / most).clamp(0.0, 1.0) as f32;
    let bar = Rect::from_x_y_ranges(rect.left()..=x(share.contribution.unwrap_or(0.0)), rect.center().y - 6.0..=rect.center().y + 6.0);
    let fill = if share.key { tones.accent } else { tones.field };
    ui.painter().rect(bar, 0, fill, Stroke::new(1.0, tones.edge), StrokeKind::Inside);
    if let Some(i) = share.contribution_interval {
        let (y, ink) = (rect.center().y, Stroke::new(1.5, tones.ink));
        ui.painter().line_segment([pos2(x(i.low), y), pos2(x(i.high), y)], ink);
        for end in [i.low, i.high] {
            ui.painter().line_segment([pos2(x(end), y - 3.0), pos2(x(end), y + 3.0)], ink);
        }
    }
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.label(RichText::new(&words).color(tones.ink));
    });
    format!("{name}: {words}, {}", in_full(counts, share))
}

/// "12 positive of 40 wet (30 %, 18–45), 3.5 times its share of wet containers".
fn in_full(counts: &KindCounts, share: &KindShare) -> String {
    let times = share.electivity.map_or_else(String::new, |e| format!(", {e:.1} times its share of wet containers"));
    let (positive, wet) = (number(counts.positive_containers), number(counts.wet_containers));
    let index = counts
        .container_index()
        .map_or_else(String::new, |v| format!(", container index {}", per_hundred(Some(v), counts.container_interval)));
    format!("{positive} positive of {wet} wet{index}{times}")
}
