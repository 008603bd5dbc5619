//! Which column of an offered file means what: said, remembered, read from a file.

use super::Tools;
use crate::action::MatchAction;
use crate::jobs::JobKind;
use crate::session::{Answer, Fitted, Offered, Place, Session};
use crate::ui::notice::Trouble;
use std::path::PathBuf;
use yardring_core::intake::{ColumnMap, DateOrder, Match, Role, WordList, remembered_map, unknown_words};
use yardring_core::survey::Survey;

/// Carries out one thing that is said about columns.
pub(super) fn one(session: &mut Session, tools: &mut Tools<'_>, said: MatchAction) {
    match said {
        MatchAction::Layer(file, wanted) => layer(session, file, wanted),
        MatchAction::Column(file, meaning, named) => column(session, file, meaning, named),
        MatchAction::DateOrder(file, order) => date_order(session, file, order),
        MatchAction::Word(file, list, theirs, ours) => word(session, file, list, &theirs, &ours),
        MatchAction::ReadMatch(path) => read(session, tools, path),
    }
}

/// Works out how the columns of every offered file would be read.
pub(super) fn fit_all(session: &mut Session) {
    let survey = session.open.as_ref().map(|o| &*o.survey);
    for offered in &mut session.intake.offered {
        offered.fitted = fitted(offered, survey).unwrap_or_default();
    }
}

fn fitted(offered: &Offered, survey: Option<&Survey>) -> Option<Fitted> {
    let (role, (layer, facts)) = (offered.kind?, offered.layer_looked_at()?);
    let names: Vec<String> = layer.columns.iter().map(|c| c.name.clone()).collect();
    let remembered = survey.map_or_else(ColumnMap::default, |s| remembered_map(s, &offered.name(), role, &names));
    let map = remembered.clone().under(&offered.said);
    let mut matched = Match::of_looks(&layer.columns, role, &map, survey);
    matched.tell_remembered(role, &offered.said);
    let date = matched.column("date").filter(|_| map.date_order(role).is_none());
    Some(Fitted {
        lacks: matched.lacks(role, layer.geometry != "none"),
        unclear_date: date.and_then(|column| facts.unclear_dates.get(&column).cloned()),
        unknown: unknown_words(role, matched.uses(), facts, survey),
        matched,
        remembered,
    })
}

/// Changes what is said about an offered file.
fn say(session: &mut Session, file: usize, change: impl FnOnce(&mut ColumnMap, Role)) {
    session.trouble = None;
    if let Some(offered) = session.intake.offered.get_mut(file)
        && let Some(role) = offered.kind
    {
        change(&mut offered.said, role);
        fit_all(session);
    }
}

/// Says which layer is meant; what was said about another layer's columns goes.
fn layer(session: &mut Session, file: usize, layer: usize) {
    if let Some(offered) = session.intake.offered.get_mut(file) {
        let facts = offered.seen().and_then(|s| s.inspected.layers.get(layer));
        offered.kind = facts.and_then(|f| f.role).or(offered.kind);
        offered.layer = Some(layer);
        offered.said = ColumnMap::default();
        fit_all(session);
    }
}

/// Says which column has a meaning, or that none has. A column that had another meaning loses it.
fn column(session: &mut Session, file: usize, meaning: &'static str, column: Option<String>) {
    let other = session.intake.offered.get(file).and_then(|o| {
        let taken = o.uses().iter().find(|u| Some(&u.column) == column.as_ref() && u.meaning != meaning)?;
        Some(taken.meaning)
    });
    say(session, file, |said, role| {
        // Both meanings are the role's own.
        other.into_iter().for_each(|other| drop(said.set(role, other, String::new())));
        drop(said.set(role, meaning, column.unwrap_or_default()));
    });
}

/// Says in which order dates are written.
fn date_order(session: &mut Session, file: usize, order: DateOrder) {
    say(session, file, |said, role| said.set_date_order(role, order));
}

/// Says what a word stands for.
fn word(session: &mut Session, file: usize, list: WordList, theirs: &str, ours: &str) {
    let mut told = Ok(());
    say(session, file, |said, _| told = said.set_word(list, theirs, ours));
    if let Err(error) = told {
        session.trouble = Some((Place::Columns, error.into()));
    }
}

/// Reads a column map beside the window.
fn read(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf) {
    session.trouble = None;
    tools.jobs.start(JobKind::Dialog, "reading the column map", move |_| {
        let closed = |e: std::io::Error| Trouble {
            what: format!("{} cannot be read: {e}", path.display()),
            hint: "choose a column map, a .toml file".to_owned(),
        };
        let text = std::fs::read_to_string(&path).map_err(closed);
        Answer::MatchRead(text.and_then(|text| ColumnMap::from_toml(&text).map_err(Trouble::from)))
    });
}

/// The part of a map that an offered file can be read by, and the columns that it has not.
fn within(offered: &Offered, map: &ColumnMap) -> Option<(ColumnMap, Vec<String>)> {
    let (role, (layer, _)) = (offered.kind?, offered.layer_looked_at()?);
    let mut there = map.only(role);
    let has = |name: &str| name.is_empty() || layer.columns.iter().any(|c| c.name.eq_ignore_ascii_case(name));
    let gone: Vec<(String, String)> = map.table(role).filter(|(_, name)| !has(name)).map(|(m, c)| (m.to_owned(), c.to_owned())).collect();
    gone.iter().for_each(|(meaning, _)| there.forget(role, meaning));
    Some((there, gone.into_iter().map(|(_, column)| column).collect()))
}

/// Takes a column map for all offered files.
pub(super) fn take(session: &mut Session, read: Result<ColumnMap, Trouble>) {
    match read {
        Err(trouble) => session.trouble = Some((Place::Columns, trouble)),
        Ok(map) => {
            let mut missing = Vec::new();
            for offered in &mut session.intake.offered {
                let Some((map, gone)) = within(offered, &map) else { continue };
                offered.said = std::mem::take(&mut offered.said).under(&map);
                missing.extend(gone.into_iter().map(|column| format!("{} has no column '{column}'", offered.name())));
            }
            session.trouble = missing.first().map(|first| {
                let hint = "the other lines of the match were taken".to_owned();
                (Place::Columns, Trouble { what: first.clone(), hint })
            });
            fit_all(session);
        }
    }
}
