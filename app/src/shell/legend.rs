//! The legend: what the map's classes mean and how many are in each, lower right over the map.

use crate::desk::chances;
use crate::map::SpotKind;
use crate::session::{ColourBy, Desk, Painted};
use crate::ui::words::{self, count, number};
use crate::ui::{notice, swatch, theme};
use crate::view::View;
use egui::{Align, Align2, Area, Frame, Layout, Margin, Order, Rect, RichText, ScrollArea, Stroke, Ui, Vec2, vec2};
use yardring_core::brief::classes::Class;
use yardring_core::survey::Marking;

/// A map smaller than this has its legend folded at first.
const ROOM: Vec2 = vec2(560.0, 420.0);
/// Width of the legend inside its frame.
const WIDTH: f32 = 264.0;
/// Width of a column of counts beside another, with room for a swatch; and of a column that stands alone.
const COUNTS: f32 = 52.0;
const ONE_COUNT: f32 = 34.0;
/// Up to so many crews have a line of the legend each.
const A_LINE_EACH: usize = 6;
/// Where each yard stands, what breeds first.
const STATES: [Marking; 8] = [
    Marking::Pupae,
    Marking::Larvae,
    Marking::Wet,
    Marking::NoWater,
    Marking::SeenOverFence,
    Marking::Refused,
    Marking::Tried,
    Marking::NotVisited,
];

/// What is drawn over the classes and has to be explained too.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Besides {
    /// Dots of sources are drawn.
    pub dots: bool,
    /// How many traps are drawn.
    pub traps: u64,
    /// How many complaints are drawn.
    pub complaints: u64,
    /// The flag where crews meet is drawn.
    pub flag: bool,
    /// The place of something that has no premise yet is drawn.
    pub unplaced: bool,
}

/// Draws the legend in the lower right corner of the map; gives how much of that corner it takes.
pub fn show(ui: &Ui, map: Rect, view: &View<'_>, besides: &Besides) -> Vec2 {
    let Some(painted) = view.session.classes.latest().filter(|_| view.open().is_some()) else { return Vec2::ZERO };
    let tones = theme::tones(ui);
    let corner = map.right_bottom() + vec2(-theme::INSIDE, -theme::INSIDE);
    let frame = Frame::new().fill(tones.sheet).stroke(Stroke::new(1.0, tones.line)).corner_radius(theme::CORNER);
    let id = egui::Id::unique("legend");
    let roomy = map.width() >= ROOM.x && map.height() >= ROOM.y;
    let folded = ui.data(|d| d.get_temp::<bool>(id)).unwrap_or(!roomy);
    let area = Area::new(id).order(Order::Middle).pivot(Align2::RIGHT_BOTTOM).fixed_pos(corner);
    let drawn = area.constrain_to(map).show(ui.ctx(), |ui| {
        frame.inner_margin(Margin::symmetric(10, 8)).show(ui, |ui| {
            ui.set_max_width(if folded { 80.0 } else { WIDTH });
            ui.spacing_mut().item_spacing.y = 2.0;
            ui.spacing_mut().interact_size.y = 18.0;
            let word = if folded { "Legend" } else { "Fold" };
            if !folded {
                let room = (map.height() - 4.0 * theme::ROW).max(80.0);
                ScrollArea::vertical().max_height(room).show(ui, |ui| lines(ui, view, painted, besides));
            }
            let link = ui.link(RichText::new(word).size(theme::SMALL)).on_hover_text("Fold the legend away or out");
            if link.clicked() {
                ui.data_mut(|d| d.insert_temp(id, !folded));
            }
        });
    });
    if folded { Vec2::ZERO } else { map.right_bottom() - drawn.response.rect.min }
}

fn lines(ui: &mut Ui, view: &View<'_>, painted: &Painted, besides: &Besides) {
    let colour = painted.classes.colour_by;
    if colour == ColourBy::Gaps {
        states(ui, view, &painted.classes.classes);
    } else {
        ui.label(RichText::new(colour.heading()).font(theme::semibold(theme::SMALL)));
        notice::quiet(ui, &painted.classes.unit);
        // Without chances there is no ramp; the reason stands in its place.
        if let Some(why) = chances::missing(view).filter(|_| colour == ColourBy::Foreseen) {
            ui.label(RichText::new(why).size(theme::SMALL));
        }
        for line in &painted.legend {
            row(ui, &line.label, |ui| swatch::show(ui, &line.ink), &[(None, line.count)]);
        }
        notice::quiet(ui, format!("Counts are {}.", painted.classes.counted()));
    }
    signs(ui, view, besides);
}

/// Where yards stand: how many are gaps, how many are not. States that no yard is in are left out.
fn states(ui: &mut Ui, view: &View<'_>, classes: &[Class]) {
    // While another desk's map is still drawn, its gaps are told with it.
    let drawn = classes.iter().skip(Marking::ALL.len()).any(|c| c.count > 0);
    let gaps = drawn || (view.session.shows_reach() && !view.masked());
    let title = if view.session.desk == Desk::Brief { ColourBy::Gaps.heading() } else { "Where yards stand" };
    if gaps {
        counts_line(ui, title, theme::semibold(theme::SMALL), &["gaps", "others"]);
    } else {
        counts_line(ui, title, theme::semibold(theme::SMALL), &["yards"]);
    }
    for state in STATES {
        let place = Marking::ALL.iter().position(|m| *m == state).unwrap_or(0);
        let (Some(other), Some(gap)) = (classes.get(place), classes.get(place + Marking::ALL.len())) else { continue };
        if other.count + gap.count == 0 {
            continue;
        }
        let both = [(Some(gap), gap.count), (None, other.count)];
        // An inspected yard can be no gap: its line leaves that column to the words.
        let never = matches!(state, Marking::Wet | Marking::NoWater);
        let shown = if gaps && !never { &both[..] } else { &both[1..] };
        row(ui, &other.label, |ui| swatch::show(ui, &other.ink), shown);
    }
    if gaps {
        notice::quiet(ui, "Gaps: inside the reach, not inspected.");
    } else if view.session.shows_reach() {
        notice::quiet(ui, "The reach is drawn off the true places of cases, so gaps are not marked.");
    }
}

fn counts_line(ui: &mut Ui, title: &str, font: egui::FontId, heads: &[&str]) {
    ui.horizontal(|ui| {
        ui.label(RichText::new(title).font(font));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            for head in heads.iter().rev() {
                cell(ui, COUNTS, |ui| notice::quiet(ui, *head));
            }
        });
    });
}

/// One line: a swatch, what it means, and its counts; the count of gaps has the swatch of gaps beside it.
fn row(ui: &mut Ui, label: &str, draw: impl FnOnce(&mut Ui), counts: &[(Option<&Class>, u64)]) {
    let quiet = theme::tones(ui).quiet;
    ui.horizontal(|ui| {
        draw(ui);
        // Longer words go on in a second line.
        let column = if counts.len() > 1 { COUNTS } else { ONE_COUNT };
        let columns = counts.len() as f32;
        ui.scope(|ui| {
            ui.set_max_width(ui.available_width() - columns * (column + theme::NEAR));
            ui.add(egui::Label::new(RichText::new(label).size(theme::SMALL)).wrap());
        });
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.spacing_mut().item_spacing.x = theme::NEAR;
            for (class, n) in counts.iter().rev() {
                cell(ui, column, |ui| {
                    let text = RichText::new(number(*n)).size(theme::SMALL).color(quiet);
                    ui.allocate_ui_with_layout(vec2(26.0, 16.0), Layout::right_to_left(Align::Center), |ui| {
                        ui.set_min_width(26.0);
                        ui.label(text);
                    });
                    if let Some(class) = class.filter(|_| *n > 0) {
                        swatch::show(ui, &class.ink);
                    }
                });
            }
        });
    });
}

fn cell(ui: &mut Ui, width: f32, draw: impl FnOnce(&mut Ui)) {
    ui.allocate_ui_with_layout(vec2(width, 16.0), Layout::right_to_left(Align::Center), |ui| {
        ui.set_min_width(width);
        draw(ui);
    });
}

/// Signs over the yards: the reach, sources, traps, complaints.
fn signs(ui: &mut Ui, view: &View<'_>, besides: &Besides) {
    let inks = theme::map_inks(ui.visuals().dark_mode);
    let reach = view.reach().filter(|r| view.session.shows_reach() && !r.sources.is_empty());
    if let Some(reach) = reach {
        let label = format!("the reach, {}", words::both_units(view.session.plan.radius));
        row(ui, &label, swatch::reach, &[]);
        if besides.dots {
            for (n, word, pupae) in [(reach.plain_dots(), "source", false), (reach.with_pupae, "source with pupae", true)] {
                let words = if n == 1 || !pupae { count(n, word) } else { format!("{} sources with pupae", number(n)) };
                if n > 0 {
                    row(ui, &words, |ui| swatch::dot(ui, &inks, pupae), &[]);
                }
            }
        }
    }
    if besides.unplaced {
        row(ui, "taken here, not placed yet", |ui| swatch::unplaced(ui, &inks), &[]);
    }
    walks(ui, view, besides);
    if besides.traps + besides.complaints == 0 {
        return;
    }
    ui.horizontal(|ui| {
        for (n, word, kind) in [(besides.traps, "trap", SpotKind::Trap), (besides.complaints, "complaint", SpotKind::Complaint)] {
            if n > 0 {
                swatch::sign(ui, kind, &inks);
                ui.label(RichText::new(count(n, word)).size(theme::SMALL));
            }
        }
    });
}

/// The walks that are drawn, a line for each crew: the line and the mark of its stops, and how many there are. With many crews several
/// share a line of the legend.
fn walks(ui: &mut Ui, view: &View<'_>, besides: &Besides) {
    let walking = &view.session.walking;
    if let Some(day) = walking.day.as_ref().filter(|_| view.session.desk == Desk::Plan) {
        let drawn: Vec<_> = day.walks.iter().enumerate().zip(&walking.lines).filter(|(_, line)| line.0.len() > 1).map(|(w, _)| w).collect();
        if !drawn.is_empty() {
            counts_line(ui, &format!("Walks of {}", words::day(day.on)), theme::semibold(theme::SMALL), &["doors"]);
        }
        if drawn.len() <= A_LINE_EACH {
            for (i, walk) in drawn {
                row(ui, &walk.crew, |ui| swatch::walk(ui, i), &[(None, walk.doors.len() as u64)]);
            }
        } else {
            ui.horizontal_wrapped(|ui| {
                for (i, walk) in drawn {
                    swatch::walk(ui, i);
                    ui.label(RichText::new(format!("{} ({})", walk.crew, walk.doors.len())).size(theme::SMALL));
                }
            });
        }
    }
    if besides.flag {
        let inks = theme::map_inks(ui.visuals().dark_mode);
        row(ui, "where they meet", |ui| swatch::flag(ui, &inks), &[]);
    }
}
