//! Gaps: yards inside the reach that nobody has inspected, ranked.

use super::Memory;
use crate::action::Action;
use crate::desk::{chances, papers, steady_height};
use crate::jobs::Paper;
use crate::session::{GapOrder, ReachAnswer};
use crate::ui::list::List;
use crate::ui::method::how;
use crate::ui::words::{self, count, day, number};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Align, ComboBox, Layout, RichText, Ui, WidgetInfo};
use yardring_core::reach::{Gap, SourceKind};

/// Height of one gap's two lines.
const ROW: f32 = 44.0;
/// Height of the worksheet that the list leaves to what stands round it.
const BESIDES: f32 = 400.0;

/// The closed line.
pub(super) fn answer(view: &View<'_>) -> String {
    let Some(reach) = view.reach() else { return "working them out".to_owned() };
    if reach.sources.is_empty() {
        return "no reach yet".to_owned();
    }
    let n = reach.gaps.len() as u64;
    if n == 0 {
        return "Every yard inside the reach has been seen".to_owned();
    }
    let stale = if view.reach_is_fresh() { "" } else { " · working" };
    let fence = view.session.gaps.sharing_fence;
    let source = if view.session.plan.from == SourceKind::Positives { "a positive yard" } else { "a source" };
    let sharing = match fence {
        0 => String::new(),
        1 => format!("; 1 shares a fence with {source}"),
        n => format!("; {} share a fence with {source}", number(n)),
    };
    let have = if n == 1 { "has" } else { "have" };
    format!("{} inside the reach {have} not been seen{sharing}{stale}", count(n, "yard"))
}

/// The filter, the order and the list.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, memory: &mut Memory, actions: &mut Vec<Action>) {
    let Some(reach) = view.reach() else { return };
    if reach.gaps.is_empty() {
        let text = match reach.sources.is_empty() {
            true => "There is nothing to measure from. Choose other sources in step 1, or another round.",
            false => "Nothing is left to see here. Widen the reach, or take the next round.",
        };
        ui.label(text);
        return;
    }
    ui.horizontal_wrapped(|ui| {
        reasons(ui, view, reach.gaps.len(), actions);
        orders(ui, view, actions);
    });
    outlook(ui, view, actions);
    list(ui, view, reach, memory, actions);
    papers::show(ui, view, &[(Paper::Gaps, view.reach_is_fresh())], actions);
    let inside = count(reach.covered.inside, "yard");
    how(
        ui,
        "gaps",
        format!("{} of {inside} inside, all counted; their order is a rule of the trade", number(reach.gaps.len() as u64)),
        METHOD,
    );
}

/// How gaps are found and ordered, in whole.
const METHOD: &str = "A gap is a yard inside the reach that nobody inspected in this round: a look over the fence is no inspection. All are \
                      counted, none is estimated, so that the number has no interval. The order: pupae, then larvae seen there from \
                      outside; sharing a fence line with a source with pupae, then with any source; looked at over the fence; pupae in \
                      reach; more sources in reach; the nearer source. That is the trade's habit of working outwards from the worst \
                      yard, no source. 'Highest chance' orders them by the chances of step 4, whose intervals stand beside them. The \
                      positives that may be expected are the sum of those chances. The command line: yardring gaps.";

fn reasons(ui: &mut Ui, view: &View<'_>, all: usize, actions: &mut Vec<Action>) {
    let gaps = &view.session.gaps;
    let every = format!("every reason ({})", number(all as u64));
    let named = gaps.reason.clone().unwrap_or_else(|| every.clone());
    let drawn = ComboBox::from_id_salt("reason").selected_text(named.as_str()).width(150.0).show_ui(ui, |ui| {
        if ui.selectable_label(gaps.reason.is_none(), every).clicked() {
            actions.push(Action::Reason(None));
        }
        for (reason, n) in &gaps.reasons {
            let taken = gaps.reason.as_ref() == Some(reason);
            if ui.selectable_label(taken, format!("{reason} ({})", number(*n))).clicked() {
                actions.push(Action::Reason(Some(reason.clone())));
            }
        }
    });
    drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, format!("Reason: {named}")));
}

fn orders(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    let all = [
        (GapOrder::Rank, "most needed first"),
        (GapOrder::Attempts, "most attempts"),
        (GapOrder::Address, "by address"),
        (GapOrder::Chance, "highest chance"),
        (GapOrder::Distance, "nearest to a source"),
    ];
    // The mask of cases hides what is near.
    let all = if view.masked() { &all[..4] } else { &all[..] };
    let now = view.session.gaps.order;
    let named = all.iter().find(|(o, _)| *o == now).map_or("most needed first", |(_, word)| word);
    let drawn = ComboBox::from_id_salt("order").selected_text(named).width(130.0).show_ui(ui, |ui| {
        for &(order, word) in all {
            if ui.selectable_label(order == now, word).clicked() {
                actions.push(Action::Order(order));
            }
        }
    });
    drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, format!("Order: {named}")));
}

/// What the chances add up to, or why there are none.
fn outlook(ui: &mut Ui, view: &View<'_>, actions: &mut Vec<Action>) {
    match (view.outlook(), view.session.gaps.expected) {
        (Some(Ok(_)), Some(expected)) => notice::quiet(ui, expectation(expected, view.session.gaps.seen)),
        (Some(_), _) => notice::quiet(ui, chances::missing(view).unwrap_or_default()),
        (None, _) => chances::ask(ui, view, actions),
    }
}

/// How many of the gaps may be expected to be positive, beside those where larvae or pupae were seen from outside.
fn expectation(expected: f64, seen: u64) -> String {
    let seen = match seen {
        0 => String::new(),
        n => format!("In {} larvae or pupae were seen from outside. ", count(n, "yard")),
    };
    let more = if seen.is_empty() { "" } else { " more" };
    format!("{seen}About {expected:.0}{more} of them may be expected to be positive. A chance orders doors and is no finding.")
}

fn list(ui: &mut Ui, view: &View<'_>, reach: &ReachAnswer, memory: &mut Memory, actions: &mut Vec<Action>) {
    let session = view.session;
    let rows = &session.gaps.rows;
    let row_of = |p| session.gaps.row(p);
    let reveal = memory.revealed != session.chosen;
    memory.revealed = session.chosen;
    let list = List {
        name: "gaps",
        rows: rows.len(),
        row_height: ROW,
        height: steady_height(ui, BESIDES),
        chosen: session.chosen.and_then(row_of),
        glowing: session.hovered.and_then(row_of),
        reveal,
        firm: true,
    };
    let gap_at = |i: usize| rows.get(i).and_then(|&g| Some((g, reach.gaps.get(g as usize)?)));
    let events = list.show(ui, |ui, i| gap_at(i).map_or_else(String::new, |(rank, gap)| row(ui, view, rank, gap)));
    if let Some((_, gap)) = events.hovered.and_then(gap_at) {
        actions.push(Action::Hover(Some(gap.premise)));
    }
    if let Some((_, gap)) = events.chosen.and_then(gap_at) {
        // The row is in view already; only the map has to go there.
        memory.revealed = if events.hovered == events.chosen { Some(gap.premise) } else { memory.revealed };
        actions.push(Action::ShowPremise(gap.premise));
    }
}

/// Two lines for one gap: rank and address, then why and what is near.
fn row(ui: &mut Ui, view: &View<'_>, rank: u32, gap: &Gap) -> String {
    let tones = theme::tones(ui);
    ui.spacing_mut().item_spacing = egui::vec2(theme::APART, 0.0);
    ui.allocate_ui_with_layout(egui::vec2(28.0, ROW), Layout::right_to_left(Align::Center), |ui| {
        ui.label(RichText::new(number(u64::from(rank) + 1)).color(tones.quiet));
    });
    let name = view.name_of(gap.premise);
    let (urgent, why) = (urgent(gap), why(gap));
    let chance = seen_or_chance(view, gap);
    ui.vertical(|ui| {
        ui.spacing_mut().interact_size.y = 16.0;
        ui.add_space(4.0);
        ui.horizontal(|ui| {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                if let Some(chance) = &chance {
                    ui.label(RichText::new(chance).size(theme::SMALL).color(tones.ink));
                }
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    ui.add(egui::Label::new(RichText::new(name).color(tones.ink)).truncate());
                });
            });
        });
        ui.horizontal(|ui| {
            if let Some(urgent) = urgent {
                ui.label(RichText::new(urgent).size(theme::SMALL).color(tones.warning));
            }
            ui.add(egui::Label::new(RichText::new(&why).size(theme::SMALL).color(tones.quiet)).truncate());
        });
    });
    let chance = match chance {
        Some(seen) if gap.seen_positive => format!(", {seen}"),
        Some(chance) => format!(", chance {chance}"),
        None => String::new(),
    };
    format!("{} {name}: {} {why}{chance}", rank + 1, urgent.unwrap_or_default())
}

/// What was seen from outside, or else the chance, where there is one.
fn seen_or_chance(view: &View<'_>, gap: &Gap) -> Option<String> {
    match (gap.seen_pupae, gap.seen_positive) {
        (true, _) => Some("pupae seen".to_owned()),
        (_, true) => Some("larvae seen".to_owned()),
        _ => view.chance(gap.premise).map(words::chance),
    }
}

/// What may not wait: pupae here or behind the fence.
fn urgent(gap: &Gap) -> Option<&'static str> {
    match (gap.seen_pupae, gap.pupae_over_fence) {
        (true, _) => Some("may not wait"),
        (_, true) => Some("pupae next door"),
        _ => None,
    }
}

/// Why nobody was inside, and what is near, as short as it can be said.
fn why(gap: &Gap) -> String {
    let on = gap.last_attempt.map_or_else(String::new, |d| format!(", {}", day(d)));
    let mut parts = Vec::new();
    // What ranks the yard comes first: the end may be cut.
    if !gap.masked() {
        parts.push(count(gap.sources_in_reach.into(), "source"));
    }
    if gap.shares_fence && !gap.seen_positive && !gap.pupae_over_fence {
        parts.push("positive next door".to_owned());
    } else if !gap.seen_positive && !gap.shares_fence && !gap.masked() {
        parts.push(format!("{:.0} m off", gap.nearest_source.0));
    }
    parts.push(format!("{}{on}", gap.reason));
    parts.join(" · ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_seen_stands_beside_what_is_expected() {
        assert!(expectation(51.4, 0).starts_with("About 51 of them"));
        assert!(expectation(51.4, 1).starts_with("In 1 yard larvae or pupae were seen from outside. About 51 more of them"));
    }
}
