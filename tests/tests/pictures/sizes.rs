//! Every step of every desk with the smallest and the largest text: nothing sticks out sideways, nothing lies on anything else.

use super::{office, picture};
use egui::Rect;
use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use yardring::action::Action;
use yardring::app::App;
use yardring::session::Desk;

/// Screens in pixels and the size of text in per cent.
const SCREENS: [([f32; 2], f32); 3] = [([1280.0, 800.0], 200.0), ([1024.0, 700.0], 100.0), ([1280.0, 800.0], 80.0)];

/// What can be touched.
const CONTROLS: [Role; 9] = [
    Role::Button,
    Role::CheckBox,
    Role::RadioButton,
    Role::ComboBox,
    Role::TextInput,
    Role::MultilineTextInput,
    Role::Slider,
    Role::SpinButton,
    Role::Link,
];

/// Controls of the window, by their words and where they lie, in points.
fn controls(window: &Harness<'static, App>) -> Vec<(String, Rect)> {
    let said = |n: &egui_kittest::Node<'_>| n.accesskit_node().label().or_else(|| n.accesskit_node().value()).unwrap_or_default();
    let all = window.query_all_by(|n| CONTROLS.contains(&n.role()));
    all.map(|n| (said(&n), n.rect())).filter(|(_, r)| r.is_positive()).collect()
}

/// Controls that stick out of the screen sideways, and pairs that lie on one another.
fn faults(window: &Harness<'static, App>) -> Vec<String> {
    let screen = window.ctx.content_rect();
    let all = controls(window);
    let mut out: Vec<String> = Vec::new();
    for (words, rect) in &all {
        if rect.right() > screen.right() + 0.5 || rect.left() < screen.left() - 0.5 {
            out.push(format!("\u{201c}{words}\u{201d} sticks out: {rect:?}"));
        }
    }
    // What lies under the map's cards is not seen; the worksheet's column has controls of its own only and ends where the map ends.
    let map = window.query_by_label("Map").map(|n| n.rect());
    let sheet = map.map_or(screen, |m| Rect::from_x_y_ranges(m.right()..=screen.right(), m.y_range()));
    let seen = |(words, r): (String, Rect)| Some((words, r.intersect(sheet))).filter(|(_, r)| r.is_positive());
    let column: Vec<(String, Rect)> = all.into_iter().filter_map(seen).collect();
    for (i, (a, first)) in column.iter().enumerate() {
        for (b, second) in &column[..i] {
            let both = first.intersect(*second);
            if both.is_positive() && both.area() > 0.2 * first.area().min(second.area()) {
                out.push(format!("\u{201c}{a}\u{201d} {first:?} lies on \u{201c}{b}\u{201d} {second:?}"));
            }
        }
    }
    out
}

/// The steps of a desk by their words.
fn steps(window: &Harness<'static, App>) -> Vec<String> {
    let label = |n: &egui_kittest::Node<'_>| n.accesskit_node().label().unwrap_or_default();
    let is_step = |l: &str| l.chars().next().is_some_and(|c| c.is_ascii_digit()) && l.contains(": ");
    window.query_all_by(|n| n.role() == Role::Button).map(|n| label(&n)).filter(|l| is_step(l)).collect()
}

#[test]
fn every_step_fits_with_the_smallest_and_the_largest_text() {
    let mut faults_found = Vec::new();
    for (pixels, percent) in SCREENS {
        let scale = percent / 100.0;
        let points = [pixels[0] / scale, pixels[1] / scale];
        let mut window = office::window_at(points, scale, Some(office::quillmere().0));
        for desk in Desk::ALL {
            office::ask(&mut window, Action::GoTo(desk));
            let count = steps(&window).len();
            assert!(count >= 3, "{desk:?}: {count} steps");
            for k in 0..count {
                let words = steps(&window)[k].clone();
                let open = window.get_by(|n| n.role() == Role::Button && n.label().as_deref() == Some(words.as_str()));
                if open.accesskit_node().is_selected() != Some(true) {
                    open.click_accesskit();
                }
                office::settle(&mut window);
                let name = format!("size-{}x{}-{percent}-{desk:?}-{}", pixels[0], pixels[1], k + 1);
                faults_found.extend(faults(&window).into_iter().map(|f| format!("{name}: {f}")));
                if std::env::var_os("EXTRA_PICTURES").is_some() {
                    picture(&mut window, &name);
                }
            }
        }
    }
    assert!(faults_found.is_empty(), "{faults_found:#?}");
}
