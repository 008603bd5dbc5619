//! The find box: an address, a parcel, an action.

use super::errands::{Errand, fit};
use crate::action::Action;
use crate::command::Command;
use crate::map::{CountyGrid, degrees};
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Area, Color32, Frame, Id, Key, Margin, Order, Rect, Response, RichText, Sense, Stroke, TextEdit, Ui, WidgetInfo};
use std::sync::Arc;
use yardring_core::place::{Local, LonLat};
use yardring_core::survey::PremiseId;

/// What the find box remembers: the words typed and the line reached with the arrow keys.
#[derive(Clone, Debug, Default)]
pub struct FindMemory {
    text: String,
    at: usize,
    seen_focus: bool,
    was_finding: bool,
    /// The county's coordinate system, where the survey names one.
    pub county: Option<Arc<CountyGrid>>,
}

/// One line of the finder's list.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Line {
    Yard(PremiseId),
    Place(Local),
    Do(Command),
    Go(Errand),
}

/// Most actions offered beside the yards.
const MOST_ACTIONS: usize = 7;

/// Draws the box, and its list while somebody writes in it.
pub fn show(ui: &mut Ui, view: &View<'_>, memory: &mut FindMemory, actions: &mut Vec<Action>) {
    let width = (ui.available_width() - theme::APART).clamp(120.0, 336.0);
    let keys = ui.input_mut(|i| if memory.seen_focus { Keys::taken(i) } else { Keys::default() });
    let hint = "Find an address, a parcel, a place, an action";
    // Escape and a click elsewhere close the list: what was typed is done with.
    if std::mem::replace(&mut memory.was_finding, view.session.frame.finding) && !view.session.frame.finding {
        memory.text.clear();
    }
    let edit = TextEdit::singleline(&mut memory.text).hint_text(hint).desired_width(width).margin(Margin::symmetric(8, 6));
    let response = ui.add(edit);
    response.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, "Find"));
    if view.session.frame.focus_find {
        response.request_focus();
    }
    memory.seen_focus = response.has_focus();
    if response.changed() {
        memory.at = 0;
        actions.push(Action::Find(memory.text.clone()));
    }
    let open = memory.seen_focus || view.session.frame.finding;
    if !open || (memory.text.is_empty() && !view.session.frame.finding) {
        return;
    }
    let lines = lines(view, memory);
    memory.at = keys.moved(memory.at, lines.len());
    let chosen = keys.enter.then(|| lines.get(memory.at).copied()).flatten();
    let (clicked, over_list) = list(ui, view, memory, &lines, &response);
    if response.clicked_elsewhere() && !over_list {
        actions.push(Action::Find(String::new()));
    }
    if let Some(line) = chosen.or(clicked) {
        take(line, view, memory, actions);
        response.surrender_focus();
    }
}

/// Keys that the finder takes for itself while it has the keyboard.
#[derive(Clone, Copy, Debug, Default)]
struct Keys {
    down: bool,
    up: bool,
    enter: bool,
}

impl Keys {
    fn taken(i: &mut egui::InputState) -> Self {
        let mut key = |k| i.consume_key(egui::Modifiers::NONE, k);
        Self { down: key(Key::ArrowDown), up: key(Key::ArrowUp), enter: key(Key::Enter) }
    }

    fn moved(self, at: usize, lines: usize) -> usize {
        let last = lines.saturating_sub(1);
        let next = if self.down { at + 1 } else { at };
        (if self.up { next.saturating_sub(1) } else { next }).min(last)
    }
}

fn lines(view: &View<'_>, memory: &FindMemory) -> Vec<Line> {
    let text = memory.text.as_str();
    let wanted = text.trim().to_lowercase();
    let found = view.session.found.iter().filter(|(words, _)| *words == wanted);
    let yards = found.flat_map(|(_, yards)| yards.iter().map(|p| Line::Yard(*p)));
    let named = place(view, text).or_else(|| county_place(view, memory.county.as_deref()?, text));
    named.map(Line::Place).into_iter().chain(yards).chain(doings(view, &wanted)).collect()
}

/// Commands and errands that make sense now and that the words fit, the best fit first.
fn doings(view: &View<'_>, wanted: &str) -> Vec<Line> {
    let commands = Command::ALL.into_iter().filter(|c| c.action(view).is_some() && *c != Command::Find);
    let commands = commands.filter_map(|c| Some((fit(wanted, c.label(), &format!("{} {}", c.tooltip(), c.also()))?, Line::Do(c))));
    let errands = Errand::all().filter(|e| e.actions(view).is_some());
    let errands = errands.filter_map(|e| Some((fit(wanted, e.label().0, e.words())?, Line::Go(e))));
    let mut all: Vec<(u8, Line)> = if wanted.is_empty() { commands.collect() } else { errands.chain(commands).collect() };
    all.sort_by_key(|l| l.0);
    all.into_iter().take(MOST_ACTIONS).map(|l| l.1).collect()
}

/// The place that two numbers name, in degrees. Some people write longitude first, some latitude: of the two places the one
/// nearer to the district is meant.
fn place(view: &View<'_>, text: &str) -> Option<Local> {
    let (frame, extent) = (view.survey()?.frame, view.session.drawn()?.extent);
    let read = places_meant(text);
    let places = read.into_iter().map(|p| frame.local_from_lon_lat(p)).filter(|p| p.x.is_finite() && p.y.is_finite());
    places.min_by(|p, q| extent.centre().distance(*p).total_cmp(&extent.centre().distance(*q)))
}

/// The place that two of the county's own numbers name, in either order where no letters tell which is which.
fn county_place(view: &View<'_>, county: &CountyGrid, text: &str) -> Option<Local> {
    let middle = view.session.drawn()?.extent.centre();
    let places = county_numbers(text).into_iter().filter_map(|pair| county.find(pair, middle));
    places.min_by(|p, q| middle.distance(*p).total_cmp(&middle.distance(*q)))
}

/// Two of a county's numbers, east first: as the map writes them, `764,259 E 2,960,111 N ft`, or without letters in either order.
fn county_numbers(text: &str) -> Vec<(f64, f64)> {
    let mut numbers: Vec<(f64, Option<char>)> = Vec::new();
    for word in text.split([' ', ';']).map(|w| w.trim_end_matches(',')).filter(|w| !w.is_empty()) {
        let letter = word.chars().last().map(|c| c.to_ascii_uppercase()).filter(|c| ['E', 'N'].contains(c));
        let digits = if letter.is_some() { &word[..word.len() - 1] } else { word };
        match (digits.replace(',', "").replace('−', "-").parse::<f64>(), numbers.last_mut()) {
            (Ok(number), _) => numbers.push((number, letter)),
            (Err(_), Some(last)) if digits.is_empty() && last.1.is_none() => last.1 = letter,
            (Err(_), Some(_)) if ["ft", "m"].contains(&word.to_ascii_lowercase().as_str()) => {}
            _ => return Vec::new(),
        }
    }
    match numbers[..] {
        [(a, None), (b, None)] => vec![(a, b), (b, a)],
        [(a, Some('E')), (b, Some('N'))] | [(b, Some('N')), (a, Some('E'))] => vec![(a, b)],
        _ => Vec::new(),
    }
}

/// The places that two numbers may mean: as the map writes them, `42.36521° N 71.10512° W`, or without letters in either order.
fn places_meant(text: &str) -> Vec<LonLat> {
    let spaced: String = text.chars().map(|c| if [',', ';', '°'].contains(&c) { ' ' } else { c }).collect();
    let mut numbers: Vec<(f64, Option<char>)> = Vec::new();
    for word in spaced.split_whitespace() {
        let letter = word.chars().last().map(|c| c.to_ascii_uppercase()).filter(|c| "NSEW".contains(*c));
        let digits = if letter.is_some() { &word[..word.len() - 1] } else { word };
        match (digits.parse::<f64>(), letter, numbers.last_mut()) {
            (Ok(number), ..) => numbers.push((number, letter)),
            (Err(_), Some(_), Some(last)) if digits.is_empty() && last.1.is_none() => last.1 = letter,
            _ => return Vec::new(),
        }
    }
    let [(a, of_a), (b, of_b)] = numbers[..] else { return Vec::new() };
    let signed = |v: f64, letter| if letter == Some('S') || letter == Some('W') { -v } else { v };
    let (a, b) = (signed(a, of_a), signed(b, of_b));
    let north = |letter| letter == Some('N') || letter == Some('S');
    let pairs = match (of_a, of_b) {
        (None, None) => vec![(b, a), (a, b)],
        _ if north(of_a) && !north(of_b) && of_b.is_some() => vec![(b, a)],
        _ if north(of_b) && !north(of_a) && of_a.is_some() => vec![(a, b)],
        _ => Vec::new(),
    };
    pairs.into_iter().filter_map(|(lon, lat)| LonLat::new(lon, lat)).collect()
}

fn list(ui: &Ui, view: &View<'_>, memory: &mut FindMemory, lines: &[Line], under: &Response) -> (Option<Line>, bool) {
    let tones = theme::tones(ui);
    let mut clicked = None;
    let frame = Frame::new().fill(tones.sheet).stroke(Stroke::new(1.0, tones.edge)).corner_radius(theme::CORNER);
    let area =
        Area::new(Id::unique("find list")).order(Order::Foreground).fixed_pos(under.rect.left_bottom() + egui::vec2(0.0, theme::NEAR));
    let drawn = area.show(ui.ctx(), |ui| {
        frame.inner_margin(Margin::same(theme::NEAR as i8)).show(ui, |ui| {
            ui.set_width((under.rect.width() - 2.0 * theme::NEAR - 2.0).max(280.0));
            ui.spacing_mut().item_spacing.y = 0.0;
            if lines.is_empty() {
                notice::quiet(ui, "No address, parcel, place or action is called so. Try fewer letters.");
            }
            for (i, line) in lines.iter().enumerate() {
                let response = one(ui, view, *line, i == memory.at);
                if response.hovered() && ui.input(|i| i.pointer.delta() != egui::Vec2::ZERO) {
                    memory.at = i;
                }
                if response.clicked() {
                    clicked = Some(*line);
                }
            }
        });
    });
    (clicked, drawn.response.contains_pointer())
}

fn one(ui: &mut Ui, view: &View<'_>, line: Line, at: bool) -> Response {
    let tones = theme::tones(ui);
    let (rect, response) = ui.allocate_exact_size(egui::vec2(ui.available_width(), theme::ROW + 4.0), Sense::click());
    ui.painter().rect_filled(rect, theme::CORNER, if at { tones.accent_wash } else { Color32::TRANSPARENT });
    let (name, note) = match line {
        Line::Yard(p) => {
            let id = view.survey().map_or("", |s| s.premises.parcel_id.get(p.row()));
            (view.name_of(p).to_owned(), format!("parcel {id}"))
        }
        Line::Place(place) => {
            let there = view.survey().map_or_else(String::new, |s| degrees(s.frame.lon_lat_from_local(place)));
            ("Go to this place".to_owned(), there)
        }
        Line::Do(command) => (command.label().to_owned(), command.keys(ui.ctx())),
        Line::Go(errand) => {
            let (name, where_) = errand.label();
            (name.to_owned(), where_)
        }
    };
    response.widget_info(|| WidgetInfo::selected(egui::Role::ListItem, true, at, &name));
    let inside: Rect = rect.shrink2(egui::vec2(theme::APART, 0.0));
    let mut child = ui.new_child(egui::UiBuilder::new().max_rect(inside).layout(egui::Layout::left_to_right(egui::Align::Center)));
    child.style_mut().interaction.selectable_labels = false;
    child.label(RichText::new(name).color(tones.ink));
    child.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| notice::quiet(ui, note));
    response
}

fn take(line: Line, view: &View<'_>, memory: &mut FindMemory, actions: &mut Vec<Action>) {
    memory.text.clear();
    memory.at = 0;
    actions.push(Action::Find(String::new()));
    match line {
        Line::Yard(premise) => actions.push(Action::ShowPremise(premise)),
        Line::Place(place) => actions.push(Action::ShowPlace(place)),
        Line::Do(command) => actions.extend(command.action(view)),
        Line::Go(errand) => actions.extend(errand.actions(view).unwrap_or_default()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_of_the_county_s_numbers_are_read_as_the_map_writes_them() {
        let there = (1_225_578.0, 10_671_288.0);
        for text in ["1,225,578 E 10,671,288 N ft", "1225578 E, 10671288 N", "10671288N 1225578e", "1,225,578 E; 10,671,288 N m"] {
            assert_eq!(county_numbers(text), [there], "{text}");
        }
        assert_eq!(county_numbers("1225578 10671288"), [there, (there.1, there.0)]);
        for text in ["12 Kettle Lane", "1225578", "1 E 2 E", "1 2 3", ""] {
            assert_eq!(county_numbers(text), [], "{text}");
        }
    }

    #[test]
    fn two_numbers_are_a_place_as_the_map_writes_it_or_in_either_order() {
        let there = LonLat { lon: -71.11, lat: 42.37 };
        for text in ["42.37° N 71.11° W", "42.37N, 71.11W", "71.11 w 42.37 n", "42.37 N; -71.11 E"] {
            assert_eq!(places_meant(text), [there], "{text}");
        }
        assert_eq!(places_meant("42.37, -71.11"), [there, LonLat { lon: 42.37, lat: -71.11 }]);
        assert_eq!(places_meant("42.37 -171.11"), [LonLat { lon: -171.11, lat: 42.37 }]);
        for text in ["12 Kettle Lane", "42.37", "42.37 N 71.11 N", "1 2 3", "95 N 10 E", "N 42", ""] {
            assert_eq!(places_meant(text), [], "{text}");
        }
    }
}
