//! Where the map looks, what lies under it, and what is measured on it.

use super::Tools;
use super::choosing::go;
use super::filing::change;
use crate::action::MapAction;
use crate::jobs::JobKind;
use crate::map::{GroundTile, Look};
use crate::online::Online;
use crate::session::{Answer, Place, Session, Source, Target, UnderSurvey};
use crate::settings::TextSize;
use crate::ui::notice::Trouble;
use rayon::prelude::*;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::files::{TileFile, TilePixels};
use yardring_core::place::{Frame, Local, WebTile};
use yardring_core::store::Edit;
use yardring_core::survey::SavedView;

/// Carries out one thing to do with the map.
pub(super) fn one(session: &mut Session, tools: &mut Tools<'_>, action: MapAction) {
    match action {
        MapAction::LookedAt(look) => session.trail.note(look),
        MapAction::Shown(ground) => session.shown = Some(ground),
        MapAction::ViewBack => back(session),
        MapAction::ViewForward => forward(session),
        MapAction::SaveView(name) => save_view(session, &name),
        MapAction::ShowView(name) => show_view(session, &name),
        MapAction::ForgetView(name) => forget_view(session, &name),
        MapAction::Measure => measure(session),
        MapAction::MeasureTo(place) => measure_to(session, place),
        MapAction::MeasureLess => measure_less(session),
        MapAction::LayGround(path) => lay_ground(session, tools, path),
        MapAction::LayOnline(address, named) => lay_online(session, tools, &address, &named),
        MapAction::NoGround => no_ground(session, tools),
        MapAction::TilesInView(tiles) => tiles_in_view(session, tiles),
        MapAction::TextSize(size) => text_size(session, tools, size),
    }
}

/// Goes to the view before.
fn back(session: &mut Session) {
    if let Some(look) = session.trail.back() {
        go(session, Target::Look(look));
    }
}

/// Goes to the view after.
fn forward(session: &mut Session) {
    if let Some(look) = session.trail.forward() {
        go(session, Target::Look(look));
    }
}

/// Keeps the present view in the survey under a name.
fn save_view(session: &mut Session, name: &str) {
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    let (Some(open), Some(look)) = (&session.open, session.trail.now()) else { return };
    if !name.is_empty() {
        let view = SavedView { name: name.into(), place: open.survey.frame.lon_lat_from_local(look.centre), zoom: look.zoom };
        edit(session, Edit::save_view(&view));
    }
}

/// Forgets a view that was kept.
fn forget_view(session: &mut Session, name: &str) {
    edit(session, Edit::forget_view(name));
}

fn edit(session: &mut Session, edit: Edit) {
    change(session, |open, survey| open.history.perform(survey, edit).map(|()| true).map_err(Trouble::from));
}

/// Goes to a view that was kept.
fn show_view(session: &mut Session, name: &str) {
    let Some(survey) = session.open.as_ref().map(|o| &o.survey) else { return };
    if let Some(view) = survey.views().into_iter().find(|v| &*v.name == name) {
        let look = Look { centre: survey.frame.local_from_lon_lat(view.place), zoom: view.zoom };
        go(session, Target::Look(look));
    }
}

/// Begins to measure a distance, or ends it.
fn measure(session: &mut Session) {
    session.stretch = if session.stretch.is_some() { None } else { Some(Arc::default()) };
}

/// Goes on measuring to a place.
fn measure_to(session: &mut Session, place: Local) {
    if let Some(way) = &mut session.stretch {
        Arc::make_mut(way).push(place);
    }
}

/// Takes back the last place that was measured to.
fn measure_less(session: &mut Session) {
    if let Some(way) = &mut session.stretch {
        Arc::make_mut(way).pop();
    }
}

/// Draws everything larger or smaller, and remembers it.
fn text_size(session: &mut Session, tools: &mut Tools<'_>, size: TextSize) {
    session.frame.text = size;
    tools.settings.text = size;
}

/// Opens a file of map tiles beside the window.
pub(super) fn lay_ground(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf) {
    session.trouble = None;
    tools.jobs.start(JobKind::OpenGround, "opening the map tiles", move |_| {
        let file = TileFile::open(&path).map(Arc::new).map_err(Trouble::from);
        Answer::GroundOpened(path, file)
    });
}

/// Takes the file that was opened.
pub(super) fn ground_opened(session: &mut Session, tools: &mut Tools<'_>, path: PathBuf, file: Result<Arc<TileFile>, Trouble>) {
    match file {
        Ok(file) => {
            tools.jobs.cancel(JobKind::Ground);
            let whole = std::path::absolute(&path).unwrap_or_else(|_| path.clone());
            tools.settings.ground = Some(whole);
            session.ground = Some(UnderSurvey::new(Source::File(path, file)));
        }
        Err(trouble) => {
            // a file that is gone or broken must not be asked for again on every start
            tools.settings.ground = None;
            session.trouble = Some((Place::Ground, trouble));
        }
    }
}

/// Lays the tiles of a server under the survey: somebody agreed to it. It is not remembered, so that nothing is asked of the
/// network unless somebody wants it that day.
fn lay_online(session: &mut Session, tools: &mut Tools<'_>, address: &str, attribution: &str) {
    match Online::new(address, attribution) {
        Ok(online) => {
            no_ground(session, tools);
            session.trouble = None;
            session.ground = Some(UnderSurvey::new(Source::Server(Arc::new(online))));
        }
        Err(trouble) => session.trouble = Some((Place::Ground, trouble)),
    }
}

/// Takes the ground away.
fn no_ground(session: &mut Session, tools: &mut Tools<'_>) {
    tools.jobs.cancel(JobKind::Ground);
    tools.jobs.cancel(JobKind::OpenGround);
    tools.settings.ground = None;
    session.ground = None;
}

/// Notes which tiles the map shows.
fn tiles_in_view(session: &mut Session, tiles: Vec<WebTile>) {
    if let Some(ground) = &mut session.ground {
        ground.look(tiles);
    }
}

/// Takes tiles that came, unless the ground or the survey has changed meanwhile.
pub(super) fn tiles_came(session: &mut Session, source: &Source, frame: Frame, came: Result<Vec<(WebTile, Option<GroundTile>)>, Trouble>) {
    let fits = session.open.as_ref().is_some_and(|o| o.survey.frame == frame);
    let Some(ground) = session.ground.as_mut().filter(|g| fits && g.source.is(source)) else { return };
    match came {
        Ok(came) => ground.take(came),
        Err(trouble) => {
            session.ground = None;
            session.trouble = Some((Place::Ground, trouble));
        }
    }
}

/// Brings the next tiles that are in view and not here, a few at a time and one load after another.
pub(super) fn bring_tiles(session: &mut Session, tools: &mut Tools<'_>) {
    let Some(frame) = session.open.as_ref().map(|o| o.survey.frame) else { return };
    let Some(ground) = session.ground.as_ref().filter(|_| !tools.jobs.at_work(JobKind::Ground)) else { return };
    let missing = ground.missing();
    if missing.is_empty() {
        return;
    }
    let (source, window) = (ground.source.clone(), tools.jobs.window());
    tools.jobs.start(JobKind::Ground, "drawing the ground", move |_| {
        let made = missing.into_par_iter().map(|tile| Ok((tile, picture(&source, &frame, tile, &window)?)));
        let came = made.collect::<Result<Vec<_>, Trouble>>();
        Answer::TilesCame(source, frame, came)
    });
}

/// One tile unpacked and handed to the window; `None` where there is none, or where its picture is broken.
fn picture(source: &Source, frame: &Frame, tile: WebTile, window: &egui::Context) -> Result<Option<GroundTile>, Trouble> {
    let Some(bytes) = source.tile(tile)? else { return Ok(None) };
    let Some(pixels) = TilePixels::unpack(&bytes) else { return Ok(None) };
    let size = [pixels.width as usize, pixels.height as usize];
    let image = egui::ColorImage::from_rgba_unmultiplied(size, &pixels.rgba);
    let name = format!("ground {}/{}/{}", tile.zoom, tile.column, tile.row);
    Ok(Some(GroundTile::new(frame, tile, window.load_texture(name, image, egui::TextureOptions::LINEAR))))
}
