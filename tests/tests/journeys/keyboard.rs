//! The morning with the keyboard alone, and the slider with the pointer.

use crate::office::{quillmere, settle, window};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, Pos2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use yardring::app::App;
use yardring::session::Desk;
use yardring_core::job::Unwatched;
use yardring_core::reach::{self, SourceKind, Wanted};
use yardring_core::survey::standings;

const SIZE: [f32; 2] = [1280.0, 800.0];

fn gaps_of_core(wanted: &Wanted) -> Vec<reach::Gap> {
    let survey = quillmere().1;
    let standings = standings(survey, survey.round(None).unwrap());
    let sources = reach::sources(survey, &standings, wanted);
    reach::gaps(survey, &standings, &sources, wanted, &Unwatched).unwrap()
}

fn press(window: &mut Harness<'static, App>, key: Key) {
    window.key_press(key);
    settle(window);
}

/// The words of what has the keyboard.
fn focused(window: &Harness<'static, App>) -> String {
    let node = window.query_all_by(|n| n.is_focused()).next();
    node.and_then(|n| n.accesskit_node().label()).unwrap_or_default()
}

/// Presses Tab until something that begins with these words has the keyboard.
fn tab_to(window: &mut Harness<'static, App>, words: &str) {
    let mut seen = Vec::new();
    for _ in 0..60 {
        press(window, Key::Tab);
        let now = focused(window);
        if now.starts_with(words) {
            return;
        }
        seen.push(now);
    }
    panic!("Tab never comes to {words}: {seen:?}");
}

#[test]
fn a_morning_at_the_plan_desk_needs_no_pointer() {
    let mut window = window(SIZE, Some(quillmere().0));
    tab_to(&mut window, "1 Sources");
    press(&mut window, Key::Enter);
    tab_to(&mut window, "yards with pupae");
    press(&mut window, Key::Enter);
    let pupae = Wanted { from: SourceKind::Pupae, ..Wanted::default() };
    assert_eq!(window.state().session().plan, pupae);
    tab_to(&mut window, "2 Reach");
    press(&mut window, Key::Enter);
    tab_to(&mut window, "200 m");
    press(&mut window, Key::Enter);
    let wanted = Wanted { radius: yardring_core::units::Metres(200.0), ..pupae };
    let gaps = gaps_of_core(&wanted);
    assert_eq!(window.state().session().reach.latest().unwrap().gaps[..], gaps[..]);
    tab_to(&mut window, "3 Gaps");
    press(&mut window, Key::Enter);
    let first = quillmere().1.premises.address.get(gaps[0].premise.row());
    tab_to(&mut window, &format!("1 {first}"));
    press(&mut window, Key::ArrowDown);
    press(&mut window, Key::ArrowDown);
    assert_eq!(window.state().session().chosen, Some(gaps[1].premise));
    press(&mut window, Key::ArrowUp);
    assert_eq!(window.state().session().chosen, Some(gaps[0].premise));
    press(&mut window, Key::Escape);
    assert_eq!(window.state().session().chosen, None);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Num3);
    settle(&mut window);
    assert_eq!(window.state().session().desk, Desk::Brief);
    tab_to(&mut window, "2 Blocks");
    press(&mut window, Key::Enter);
    tab_to(&mut window, "Block ");
}

#[test]
fn the_finder_finds_the_work_by_a_planners_words_and_escape_empties_it() {
    let mut window = window(SIZE, Some(quillmere().0));
    let type_in = |window: &mut Harness<'static, App>, words: &str| {
        window.key_press_modifiers(Modifiers::COMMAND, Key::K);
        settle(window);
        window.event(Event::Text(words.to_owned()));
        settle(window);
    };
    type_in(&mut window, "team");
    press(&mut window, Key::Enter);
    assert!(window.query_by_label_contains("Where do they meet?").is_some(), "the step of the crews is open");
    type_in(&mut window, "plan the walks");
    press(&mut window, Key::Enter);
    assert!(window.query_by_label_contains("Say in step 6 where the crews meet").is_some(), "what is missing first is said");
    type_in(&mut window, "coverage");
    press(&mut window, Key::Enter);
    let session = window.state().session();
    assert_eq!((session.desk, session.colour), (Desk::Brief, yardring::session::ColourBy::Coverage));
    type_in(&mut window, "overdue");
    let written = |window: &Harness<'static, App>| window.get_by_role_and_label(Role::TextInput, "Find").accesskit_node().value();
    assert_eq!(written(&window).as_deref(), Some("overdue"));
    press(&mut window, Key::Escape);
    assert!(written(&window).is_none_or(|words| words.is_empty()));
    assert!(window.query_by_label_contains("Call-backs").is_none() && !window.state().session().frame.finding);
}

#[test]
fn enter_opens_a_step_and_closes_it_again() {
    let mut window = window(SIZE, Some(quillmere().0));
    tab_to(&mut window, "2 Reach");
    press(&mut window, Key::Enter);
    assert!(window.query_by_role(Role::Slider).is_some());
    press(&mut window, Key::Enter);
    assert!(window.query_by_role(Role::Slider).is_none());
}

fn pointer(window: &mut Harness<'static, App>, pos: Pos2, pressed: Option<bool>) {
    window.event(Event::PointerMoved(pos));
    if let Some(pressed) = pressed {
        window.event(Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers: Modifiers::NONE });
    }
    window.step();
}

#[test]
fn dragging_the_slider_gives_the_gaps_of_core() {
    let mut window = window(SIZE, Some(quillmere().0));
    tab_to(&mut window, "2 Reach");
    press(&mut window, Key::Enter);
    let track = window.get_by_role(Role::Slider).rect();
    let at = |share: f32| Pos2::new(track.left() + track.width() * share, track.center().y);
    pointer(&mut window, at(0.5), Some(true));
    let mut seen = Vec::new();
    for share in [0.45, 0.4, 0.35, 0.3] {
        pointer(&mut window, at(share), None);
        // The step's numbers follow while the button is still down.
        settle(&mut window);
        let session = window.state().session();
        let gaps = gaps_of_core(&session.plan);
        assert_eq!(session.reach.latest().unwrap().gaps[..], gaps[..], "{:?}", session.plan.radius);
        seen.push((session.plan.radius.0, gaps.len()));
    }
    pointer(&mut window, at(0.3), Some(false));
    settle(&mut window);
    assert!(seen.windows(2).all(|w| w[0].0 > w[1].0 && w[0].1 > w[1].1), "every step gives another radius and fewer gaps: {seen:?}");
    let told = format!("{} yards inside the reach", yardring::ui::words::number(seen[3].1 as u64));
    assert!(window.query_all_by_label_contains(&told).next().is_some(), "{told}");
}
