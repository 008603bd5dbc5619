//! Surveys of one premise, of none, and of premises a continent apart, and a window that cannot be drawn any more.

use crate::office::{ask, quillmere, sample_data, settle, window};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use std::path::Path;
use std::sync::Arc;
use yardring::action::Action;
use yardring::app::App;
use yardring::lifeline::Lifeline;
use yardring::session::Desk;
use yardring_core::job::Unwatched;
use yardring_core::place::{Frame, Local, LonLat, Shapes};
use yardring_core::store;
use yardring_core::survey::Survey;

const SIZE: [f32; 2] = [1280.0, 800.0];

/// A survey of square premises of 20 m at some distances east of its middle.
fn survey(places: &[f64]) -> Survey {
    let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }));
    let mut outlines = Shapes::default();
    for &x in places {
        let p = |x, y| Local { x, y };
        outlines.push_ring(&[p(x, 0.0), p(x + 20.0, 0.0), p(x + 20.0, 20.0), p(x, 20.0)]);
        outlines.end_part();
        outlines.end_shape();
    }
    survey.premises.parcel_id = Arc::new((0..places.len()).map(|i| format!("Q{i}")).collect());
    survey.premises.address = Arc::new((0..places.len()).map(|i| format!("{i} Kettle Lane")).collect());
    survey.premises.block = Arc::new(vec![None; places.len()]);
    survey.premises.outline = Arc::new(outlines);
    survey
}

#[test]
fn one_premise_none_and_premises_a_continent_apart_open_at_every_desk() {
    for places in [&[0.0][..], &[], &[-1.5e6, 1.5e6]] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("odd.gpkg");
        store::save(&survey(places), &path, &Unwatched).unwrap();
        let mut window = window(SIZE, Some(&path));
        for desk in Desk::ALL {
            ask(&mut window, Action::GoTo(desk));
            assert!(window.state().session().trouble.is_none(), "{places:?} at the {desk:?} desk");
            window.render().unwrap();
        }
        let look = window.state().session().trail.now().unwrap();
        assert!(look.centre.x.is_finite() && look.zoom.is_finite());
        let map = window.get_by_label("Map").rect();
        let points = yardring::map::points_per_metre(look.zoom);
        for x in places {
            let at = (x + 10.0 - look.centre.x) * points;
            assert!(at.abs() < f64::from(map.width()) / 2.0, "the premise at {x} m is off the map");
        }
    }
}

/// A window on a lifeline.
fn held(survey: &Path) -> (Harness<'static, App>, Lifeline) {
    let (lifeline, path) = (Lifeline::default(), survey.to_owned());
    let held = lifeline.clone();
    let builder = Harness::builder().with_size(egui::Vec2::from(SIZE)).with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu();
    let mut window = builder.build_eframe(|creation| App::new(creation, Some(path), None).on(held, None));
    settle(&mut window);
    (window, lifeline)
}

#[test]
fn when_nothing_can_be_drawn_any_more_what_is_not_saved_goes_to_a_file_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("work.gpkg");
    std::fs::copy(quillmere().0, &path).unwrap();
    let before = std::fs::read(&path).unwrap();
    let (mut window, lifeline) = held(&path);
    ask(&mut window, Action::Offer(vec![sample_data().join("visits.csv")]));
    ask(&mut window, Action::BringIn);
    let now = Arc::clone(&window.state().session().open.as_ref().unwrap().survey);
    assert_eq!(lifeline.go_on(), None, "the card is well");
    ask(&mut window, Action::CardLost);
    let session = window.state().session();
    assert!(session.frame.may_close && session.leaving.is_none(), "nobody can answer a question");
    let rescued = folder.path().join("work rescued.gpkg");
    let go_on = lifeline.go_on().unwrap();
    assert_eq!(go_on.survey.as_ref(), Some(&rescued));
    assert!(go_on.words.contains("work rescued.gpkg"), "{}", go_on.words);
    let back = store::load(&rescued, store::Parts::EVERYTHING, &Unwatched).unwrap();
    assert_eq!(back.intake_log.len(), now.intake_log.len());
    assert_eq!(std::fs::read(&path).unwrap(), before, "the survey's own file stays as it was");
    // The next window says what happened until somebody has read it.
    let mut next = window_that_says(&rescued, go_on.words.clone());
    assert!(next.query_by_label(&go_on.words).is_some());
    next.get_by_label("Understood").click();
    settle(&mut next);
    assert!(next.query_by_label(&go_on.words).is_none());
}

fn window_that_says(survey: &Path, words: String) -> Harness<'static, App> {
    let path = survey.to_owned();
    let builder = Harness::builder().with_size(egui::Vec2::from(SIZE)).with_step_dt(1.0 / 60.0).with_max_steps(60).wgpu();
    let mut window = builder.build_eframe(|creation| App::new(creation, Some(path), None).on(Lifeline::default(), Some(words)));
    settle(&mut window);
    window
}

#[test]
fn when_everything_is_saved_the_next_window_opens_the_same_file() {
    let (mut window, lifeline) = held(quillmere().0);
    ask(&mut window, Action::CardLost);
    assert!(window.state().session().frame.may_close);
    let go_on = lifeline.go_on().unwrap();
    assert_eq!(go_on.survey.as_deref(), Some(quillmere().0));
    assert!(go_on.words.contains("everything was saved"), "{}", go_on.words);
}
