//! The window: what it holds, in which order it works, and where its parts lie.

use crate::action::{Action, MapAction};
use crate::command::Command;
use crate::desk::Worksheets;
use crate::jobs::Jobs;
use crate::lifeline::Lifeline;
use crate::perform::{self, Tools};
use crate::session::{Answer, Session, UnsavedAction};
use crate::settings::Settings;
use crate::shell::chart::Chart;
use crate::shell::find::FindMemory;
use crate::shell::{card, closing, legend, map_bar, time_strip, top_bar, welcome};
use crate::ui::theme;
use crate::view::View;
use egui::{CentralPanel, Context, Frame, Margin, Panel, ScrollArea, Ui};
use std::path::PathBuf;

/// The window's state.
#[derive(Debug)]
pub struct App {
    session: Session,
    jobs: Jobs<Answer>,
    settings: Settings,
    worksheets: Worksheets,
    find: FindMemory,
    chart: Chart,
    pending: Vec<Action>,
    lifeline: Lifeline,
}

impl App {
    /// A window with a survey to open, or none. Settings are kept in `settings_file`; without one nothing is remembered.
    pub fn new(creation: &eframe::CreationContext<'_>, survey: Option<PathBuf>, settings_file: Option<PathBuf>) -> Self {
        theme::install(&creation.egui_ctx);
        let settings = Settings::read(settings_file);
        let mut session = Session::default();
        session.frame.dark = settings.dark;
        session.frame.text = settings.text;
        // Larger and smaller text are commands here, remembered from day to day.
        creation.egui_ctx.options_mut(|o| o.zoom_with_keyboard = false);
        let ground = settings.ground.clone().map(|it| Action::Map(MapAction::LayGround(it)));
        Self {
            session,
            jobs: Jobs::new(creation.egui_ctx.clone()),
            settings,
            worksheets: Worksheets::default(),
            find: FindMemory::default(),
            chart: Chart::new(creation),
            pending: std::iter::once(survey.map_or(Action::Unsaved(UnsavedAction::LookForNew), Action::Open)).chain(ground).collect(),
            lifeline: Lifeline::default(),
        }
    }

    /// The same window with a lifeline for whoever opened it, and with something to say over the map, if anything.
    #[must_use]
    pub fn on(mut self, lifeline: Lifeline, words: Option<String>) -> Self {
        lifeline.drawn_by(self.chart.card.as_ref());
        self.lifeline = lifeline;
        words.into_iter().for_each(|words| self.chart.bar.tell(words));
        self
    }

    /// What the window knows.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// Asks for something to be done, as a panel would.
    pub fn push(&mut self, action: Action) {
        self.pending.push(action);
    }

    /// Carries out what was asked and waits until no job is at work, for tests and pictures.
    pub fn settle(&mut self) {
        self.work();
        while let Some((kind, answer)) = self.jobs.wait() {
            self.pending.push(answer.map_or(Action::Broke(kind), |a| Action::Answered(Box::new(a))));
            self.work();
        }
    }

    fn view(&self) -> View<'_> {
        View { session: &self.session, jobs: &self.jobs }
    }

    /// Performs what is pending and starts what has to be worked out.
    fn work(&mut self) {
        let actions = std::mem::take(&mut self.pending);
        let before = self.settings.clone();
        let mut tools = Tools { jobs: &mut self.jobs, brush: self.chart.brush.as_ref(), settings: &mut self.settings };
        perform::all(&mut self.session, &mut tools, actions);
        if self.settings != before {
            self.settings.write();
        }
    }

    fn listen(&mut self, ctx: &Context) {
        for (kind, answer) in self.jobs.collect() {
            self.pending.push(answer.map_or(Action::Broke(kind), |a| Action::Answered(Box::new(a))));
        }
        if self.chart.card.as_ref().is_some_and(crate::map::Card::is_lost) && !self.session.frame.card_lost {
            self.pending.push(Action::CardLost);
        }
        let pressed = Command::pressed(ctx, &self.view());
        self.pending.extend(pressed);
        let dropped: Vec<PathBuf> = ctx.input(|i| i.raw.dropped_files.iter().map(|f| f.path().to_path_buf()).collect());
        self.pending.extend((!dropped.is_empty()).then_some(Action::Dropped(dropped)));
        if ctx.input(|i| i.viewport().close_requested()) && !self.session.frame.may_close {
            ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
            self.pending.push(Action::Close);
        }
    }

    fn panels(&mut self, ui: &mut Ui) -> Vec<Action> {
        let mut actions = Vec::new();
        let view = View { session: &self.session, jobs: &self.jobs };
        let tones = theme::tones(ui);
        self.find.county = self.chart.grid().filter(|_| view.open().is_some());
        let bar = Frame::new().fill(tones.sheet).inner_margin(Margin::symmetric(12, 8));
        Panel::top("top bar").frame(bar).show(ui, |ui| {
            top_bar::show(ui, &view, &self.settings.recent, &mut self.find, &mut actions);
        });
        let small = ui.available_height() < 480.0;
        if view.open().is_some() && !self.session.frame.time_folded && !small {
            let strip = Frame::new().fill(tones.sheet).inner_margin(Margin::symmetric(0, 2));
            Panel::bottom("time strip").frame(strip).exact_size(theme::TIME_STRIP).show(ui, |ui| {
                time_strip::show(ui, &view, &mut actions);
            });
        }
        if !self.session.frame.worksheet_folded {
            let sheet = Frame::new().fill(tones.sheet).inner_margin(Margin { left: 16, right: 8, top: 16, bottom: 4 });
            let width = theme::WORKSHEET.min(ui.available_width() * 0.55);
            let worksheets = &mut self.worksheets;
            Panel::right("worksheet").frame(sheet).exact_size(width).resizable(false).show(ui, |ui| {
                ScrollArea::vertical().id_salt(("worksheet", view.session.desk)).auto_shrink(false).show(ui, |ui| {
                    ui.set_width(ui.available_width() - 8.0);
                    worksheets.show(ui, &view, &mut actions);
                    crate::ui::focus::follow(ui);
                });
            });
        }
        let paper = Frame::new().fill(tones.paper);
        CentralPanel::default().frame(paper).show(ui, |ui| {
            let map = ui.max_rect();
            if view.open().is_none() {
                welcome::show(ui, &view, &self.settings.recent, &mut actions);
                return;
            }
            self.chart.show(ui, &view, &mut actions);
            let taken = legend::show(ui, map, &view, &self.chart.besides);
            self.chart.memory.set_aside(taken, view.jobs.none());
            map_bar::show(ui, map, &view, &mut self.chart.bar, &mut actions);
            card::show(ui, map, &view, &mut actions);
        });
        closing::show(ui, &view, &mut actions);
        actions
    }
}

/// Drops repeated hovering, so that a pointer at rest asks for nothing; lets go of what the pointer has left.
fn settle_hover(session: &Session, actions: &mut Vec<Action>) {
    let hovered = actions.iter().rev().find_map(|a| if let Action::Hover(p) = a { *p } else { None });
    actions.retain(|a| !matches!(a, Action::Hover(_)));
    if hovered != session.hovered {
        actions.push(Action::Hover(hovered));
    }
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        self.listen(ctx);
        let theme = if self.session.frame.dark { egui::Theme::Dark } else { egui::Theme::Light };
        ctx.set_theme(theme);
        ctx.set_zoom_factor(self.session.frame.text.factor());
        self.work();
        self.lifeline.hold(self.session.open.as_ref());
        if self.session.frame.card_lost {
            self.lifeline.cut();
        }
        if self.session.frame.may_close {
            ctx.send_viewport_cmd(egui::ViewportCommand::Close);
        }
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        // Anything drawn now would be asked of a card that does not answer, and end the program.
        if self.session.frame.card_lost {
            return;
        }
        let mut actions = self.panels(ui);
        settle_hover(&self.session, &mut actions);
        if !actions.is_empty() {
            ui.ctx().request_repaint();
        }
        self.pending.extend(actions);
    }
}
