//! What the district knows about kinds of container: a table to read and to change.

use crate::action::Action;
use crate::ui::list::List;
use crate::ui::{notice, theme};
use crate::view::View;
use egui::{Label, RichText, TextEdit, Ui, WidgetInfo, vec2};
use yardring_core::survey::{ContainerKnowledge, KnownContainer, Remedy, Who};

/// The table as it was read last, and the row that is being changed.
#[derive(Clone, Debug, Default)]
pub(super) struct Editing {
    /// Of which revision of the survey, and the table.
    read: Option<(u64, ContainerKnowledge)>,
    /// The kind chosen in the chart, when it was looked up last.
    followed: Option<String>,
    /// The row being changed, by its place in the table.
    row: Option<(usize, KnownContainer)>,
    /// Its other names as they are being typed.
    names: String,
    /// The chosen row has to be brought into view.
    reveal: bool,
    /// What could not be kept, in words.
    trouble: Option<String>,
}

impl Editing {
    /// Takes a row to change it, as it stands in the table.
    fn choose(&mut self, known: &ContainerKnowledge, at: Option<usize>) {
        self.row = at.and_then(|i| Some((i, known.kinds().get(i)?.clone())));
        self.names = self.row.as_ref().map_or_else(String::new, |(_, k)| k.also_called.join(", "));
        self.trouble = None;
    }
}

/// Height of the table at most.
const HEIGHT: f32 = 200.0;

/// Draws the table and the row chosen in it; `kind` is the one chosen in the chart, by its name in visits.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, kind: Option<&str>, editing: &mut Editing, actions: &mut Vec<Action>) {
    let Some(open) = view.open() else { return };
    if editing.read.as_ref().is_none_or(|r| r.0 != open.revision) {
        let known = ContainerKnowledge::of(&open.survey);
        *editing = Editing { read: Some((open.revision, known)), ..Editing::default() };
    }
    let Some((_, known)) = editing.read.clone() else { return };
    ui.add_space(theme::NEAR);
    ui.label(RichText::new("What to do with each kind").font(theme::semibold(theme::BODY)));
    if kind.map(str::to_owned) != editing.followed {
        editing.followed = kind.map(str::to_owned);
        let at = kind.and_then(|k| known.what_to_do(k)).and_then(|k| known.kinds().iter().position(|o| o == k));
        editing.choose(&known, at);
        editing.reveal = true;
    }
    if let Some(kind) = kind.filter(|k| known.what_to_do(k).is_none()) {
        unknown(ui, kind, &known, actions);
    }
    list(ui, &known, editing);
    form(ui, &known, editing, actions);
    if known != ContainerKnowledge::usual() && ui.button("Back to the usual table").clicked() {
        actions.push(Action::Know(Box::new(ContainerKnowledge::usual())));
    }
    notice::quiet(ui, "Common practice, no source; local codes and the product label come first. It decides which finds stay open.");
}

/// A kind of the visits of which the table says nothing.
fn unknown(ui: &mut Ui, kind: &str, known: &ContainerKnowledge, actions: &mut Vec<Action>) {
    ui.label(format!("The table says nothing about {kind}."));
    if ui.button(format!("Add {kind}")).clicked() {
        let new = KnownContainer {
            kind: kind.into(),
            also_called: Vec::new(),
            can_be_tipped: true,
            holds_upside_down: false,
            to_do: vec![Remedy::Tip],
            who: Who::Householder,
            words: format!("Tip out the {kind} every week.").into(),
            kind_in_spanish: "".into(),
            words_in_spanish: "".into(),
            source: "this district".into(),
        };
        let kinds = known.kinds().iter().cloned().chain([new]).collect();
        // The name is new, so that nothing claims it twice.
        actions.extend(ContainerKnowledge::from_kinds(kinds).ok().map(|k| Action::Know(Box::new(k))));
    }
}

fn list(ui: &mut Ui, known: &ContainerKnowledge, editing: &mut Editing) {
    let list = List {
        name: "known kinds",
        rows: known.kinds().len(),
        row_height: theme::ROW,
        height: HEIGHT,
        chosen: editing.row.as_ref().map(|r| r.0),
        glowing: None,
        reveal: std::mem::take(&mut editing.reveal),
        firm: false,
    };
    let events = list.show(ui, |ui, i| {
        let Some(k) = known.kinds().get(i) else { return String::new() };
        let tones = theme::tones(ui);
        let to_do = k.to_do_words();
        ui.allocate_ui(vec2(124.0, theme::ROW), |ui| {
            ui.set_width(124.0);
            ui.add(Label::new(RichText::new(&*k.kind).color(tones.ink)).truncate());
        });
        ui.add(Label::new(RichText::new(&to_do).size(theme::SMALL).color(tones.quiet)).truncate());
        format!("{}: {to_do}", k.kind)
    });
    if let Some(i) = events.chosen {
        editing.choose(known, Some(i));
    }
}

/// The chosen row, to be changed.
fn form(ui: &mut Ui, known: &ContainerKnowledge, editing: &mut Editing, actions: &mut Vec<Action>) {
    let Some((at, k)) = editing.row.as_mut() else { return };
    ui.label(RichText::new(&*k.kind).font(theme::semibold(theme::BODY)));
    other_names(ui, &mut editing.names, k);
    ui.checkbox(&mut k.can_be_tipped, "One person can tip it");
    ui.checkbox(&mut k.holds_upside_down, "Holds water upside down too");
    ui.label("What to do, the best first");
    remedies(ui, k);
    ui.label("Who must act");
    if let Some(who) = notice::choices(ui, k.who, &[Who::Householder, Who::Crew, Who::Applicator, Who::PublicWorks].map(|w| (w, w.word())))
    {
        k.who = who;
    }
    text(ui, "What to say to the householder", &mut k.words);
    text(ui, "Its name in Spanish", &mut k.kind_in_spanish);
    text(ui, "What to say in Spanish; general words where this is empty", &mut k.words_in_spanish);
    text(ui, "Where this is known from", &mut k.source);
    let changed = known.kinds().get(*at) != Some(&*k);
    let (mut keep, mut put_back) = (false, false);
    ui.horizontal(|ui| {
        keep = ui.add_enabled(changed, egui::Button::new("Keep the change")).on_disabled_hover_text("Nothing is changed yet").clicked();
        put_back = ui.add_enabled(changed, egui::Button::new("Put it back")).on_disabled_hover_text("Nothing is changed yet").clicked();
    });
    if put_back {
        let at = *at;
        editing.choose(known, Some(at));
    } else if keep {
        let (at, mut kinds) = (*at, known.kinds().to_vec());
        if let (Some(place), Some((_, k))) = (kinds.get_mut(at), &editing.row) {
            place.clone_from(k);
        }
        match ContainerKnowledge::from_kinds(kinds) {
            Ok(table) => actions.push(Action::Know(Box::new(table))),
            Err(e) => editing.trouble = Some(e.to_string()),
        }
    }
    if let Some(trouble) = &editing.trouble {
        notice::quiet(ui, trouble);
    }
}

/// What else visits call it, with commas between the names.
fn other_names(ui: &mut Ui, typed: &mut String, k: &mut KnownContainer) {
    let label = "Also called in visits, with commas between the names";
    ui.label(label);
    let edit = ui.add(TextEdit::singleline(typed).desired_width(f32::INFINITY));
    edit.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, label));
    if edit.changed() {
        k.also_called = typed.split(',').map(str::trim).filter(|name| !name.is_empty()).map(Box::from).collect();
    }
}

/// Each thing to do as a choice; those taken stand in the order they were taken.
fn remedies(ui: &mut Ui, k: &mut KnownContainer) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = theme::NEAR;
        for &remedy in Remedy::ALL {
            let place = k.to_do.iter().position(|r| *r == remedy);
            let word = place.map_or_else(|| remedy.word().to_owned(), |p| format!("{} {}", p + 1, remedy.word()));
            if notice::choice(ui, place.is_some(), &word).clicked() {
                match place {
                    Some(p) => _ = k.to_do.remove(p),
                    None => k.to_do.push(remedy),
                }
            }
        }
    });
}

fn text(ui: &mut Ui, label: &str, value: &mut Box<str>) {
    ui.label(label);
    let mut typed = value.to_string();
    let edit = ui.add(TextEdit::multiline(&mut typed).desired_rows(1).desired_width(f32::INFINITY));
    edit.widget_info(|| WidgetInfo::labeled(egui::Role::TextInput, true, label));
    if edit.changed() {
        *value = typed.into();
    }
}
