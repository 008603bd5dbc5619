//! A visit that found no premise is settled at the intake desk, taken back, saved, and stays settled.

use crate::office::{ask, quillmere, settle, window};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use yardring::action::Action;
use yardring::app::App;
use yardring::session::{Desk, SettleLine};
use yardring_core::intake::Role;
use yardring_core::intake::settle::{Choice, Verdict, repeats, waiting};
use yardring_core::job::Unwatched;
use yardring_core::store::{self, Parts};
use yardring_core::survey::Survey;

/// A visit taken on the street, in no outline: the place and the yards it may belong to are shown together.
#[test]
fn where_an_unplaced_visit_was_taken_is_shown_with_its_candidates() {
    let (_, survey) = quillmere();
    let taken = (0..survey.streets.len()).map(|i| survey.streets.line.get(i).rings().next().unwrap()[0]).find(|p| {
        let near = |i: usize| survey.premises.outline.get(i).bounds().grown(40.0).touches(&yardring_core::place::Bounds::of(&[*p]));
        (0..survey.premises.len()).any(|i| !survey.premises.outline.get(i).is_empty() && near(i))
            && !(0..survey.premises.len()).any(|i| survey.premises.outline.get(i).holds(*p))
    });
    let taken = taken.unwrap();
    let place = survey.frame.lon_lat_from_local(taken);
    let folder = tempfile::tempdir().unwrap();
    let sheet = folder.path().join("late.csv");
    let row = format!("LATE1,2025-07-09,{:.7},{:.7},no answer,Late", place.lon, place.lat);
    std::fs::write(&sheet, format!("visit_id,date,lon,lat,outcome,round\n{row}\n")).unwrap();
    let mut window = window([1280.0, 800.0], Some(quillmere().0));
    ask(&mut window, Action::GoTo(Desk::Intake));
    ask(&mut window, Action::Offer(vec![sheet]));
    ask(&mut window, Action::BringIn);
    let session = window.state().session();
    let now = &session.open.as_ref().unwrap().survey;
    let lines = &session.waiting.latest().unwrap().lines;
    let late = |line: &SettleLine| matches!(line, SettleLine::Visit(w) if &*w.first(now).file == "late.csv");
    let at = lines.iter().position(late).unwrap();
    window.get_by(|n| n.label().is_some_and(|l| l.starts_with("4 Settle"))).click_accesskit();
    settle(&mut window);
    assert!(window.query_by_label("taken here, not placed yet").is_none());
    ask(&mut window, Action::LookAt(at));
    let session = window.state().session();
    let visit = session.unplaced().unwrap().clone();
    assert!(visit.place.unwrap().distance(taken) < 0.1 && !visit.candidates.is_empty());
    assert!(window.query_by_label("taken here, not placed yet").is_some(), "the legend tells what the cross is");
    let look = session.trail.now().unwrap();
    assert!(look.centre.distance(taken) < 100.0 && look.zoom > 16.0, "{look:?}");
    for candidate in &visit.candidates {
        let (name, id) = (survey.premises.address.get(candidate.premise.row()), survey.premises.parcel_id.get(candidate.premise.row()));
        assert!(window.query_by_label(&format!("Accept {name}, parcel {id}")).is_some(), "{name}");
    }
    ask(&mut window, Action::GoTo(Desk::Plan));
    assert!(window.state().session().unplaced().is_none(), "elsewhere it is not drawn");
}

#[test]
fn a_visit_with_a_slip_in_its_address_is_accepted_undone_saved_and_remembered() {
    let (_, survey) = quillmere();
    let row = (0..survey.premises.len()).find(|&i| survey.premises.address.get(i).split(' ').count() > 2).unwrap();
    let address = survey.premises.address.get(row);
    let letter = address.find(' ').unwrap() + 3;
    let slip = format!("{}{} Unit 77", &address[..letter], &address[letter + 1..]);
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own.gpkg");
    store::save(survey, &own, &Unwatched).unwrap();
    let sheet = folder.path().join("late.csv");
    std::fs::write(&sheet, format!("visit_id,date,address,outcome,round\nLATE1,2025-07-09,{slip},no answer,Late\n")).unwrap();
    let mut window = window([1280.0, 800.0], Some(&own));
    let visits = |w: &Harness<'static, App>| w.state().session().open.as_ref().unwrap().survey.visits.len();
    let before = visits(&window);
    ask(&mut window, Action::GoTo(Desk::Intake));
    ask(&mut window, Action::Offer(vec![sheet.clone()]));
    ask(&mut window, Action::BringIn);
    let session = window.state().session();
    let revision = session.open.as_ref().unwrap().revision;
    let list = session.waiting.exactly(Some(&revision)).unwrap();
    let now = &session.open.as_ref().unwrap().survey;
    let late = |line: &SettleLine| match line {
        SettleLine::Visit(w) if &*w.first(now).file == "late.csv" => Some(w.clone()),
        _ => None,
    };
    let visit = list.lines.iter().find_map(late).unwrap();
    assert_eq!(now.premises.address.get(visit.candidates[0].premise.row()), address);
    assert_eq!(waiting(now, &Unwatched).unwrap().iter().filter(|w| !w.set_aside).count(), list.open, "the window lists what core lists");
    window.get_by(|n| n.label().is_some_and(|l| l.starts_with("4 Settle"))).click_accesskit();
    settle(&mut window);
    let candidate = visit.candidates[0].premise;
    let rows = window.get_all_by(|n| n.role() == egui::accesskit::Role::ListItem && n.label().is_some_and(|l| l.contains(", row ")));
    rows.into_iter().next().unwrap().click();
    settle(&mut window);
    assert!(window.query_by_label("Set aside").is_some(), "the visit looked at has its ways out");
    ask(&mut window, Action::Settle(Choice { table: Role::Visits, file: "late.csv".into(), row: 1, verdict: Verdict::Premise(candidate) }));
    assert_eq!(visits(&window), before + 1);
    ask(&mut window, Action::Undo);
    assert_eq!(visits(&window), before);
    ask(&mut window, Action::Redo);
    ask(&mut window, Action::Save);
    let saved = store::load(&own, Parts::EVERYTHING, &Unwatched).unwrap();
    assert_eq!(saved.visits.len(), before + 1);
    assert!(!saved.refused.iter().any(|r| &*r.file == "late.csv"));
    ask(&mut window, Action::Open(own));
    ask(&mut window, Action::Offer(vec![sheet]));
    ask(&mut window, Action::BringIn);
    let report = window.state().session().intake.report.as_ref().unwrap();
    assert_eq!((report.visits, report.settled, visits(&window)), (1, 1, before + 1));
}

#[test]
fn one_visit_is_accepted_and_another_set_aside_by_clicks() {
    let (_, survey) = quillmere();
    let address = |i: usize| survey.premises.address.get(i);
    let row = (0..survey.premises.len()).find(|&i| address(i).split(' ').count() > 2).unwrap();
    let short = address(row).rsplit_once(' ').unwrap().0;
    let folder = tempfile::tempdir().unwrap();
    let sheet = folder.path().join("late.csv");
    let rows = format!("LATE1,2025-07-09,{short},no answer,Late\nLATE2,2025-07-09,1 Nowhere Known,no answer,Late\n");
    std::fs::write(&sheet, format!("visit_id,date,address,outcome,round\n{rows}")).unwrap();
    let mut window = window([1280.0, 2400.0], Some(quillmere().0));
    let press = |w: &mut Harness<'static, App>, fits: &dyn Fn(&str) -> bool| {
        w.get_all_by(|n| n.label().is_some_and(|l| fits(&l))).next().unwrap().click_accesskit();
        settle(w);
    };
    let now = |w: &Harness<'static, App>| Survey::clone(&w.state().session().open.as_ref().unwrap().survey);
    ask(&mut window, Action::GoTo(Desk::Intake));
    ask(&mut window, Action::Offer(vec![sheet]));
    ask(&mut window, Action::BringIn);
    let before = now(&window);
    press(&mut window, &|l| l.starts_with("4 Settle"));
    press(&mut window, &|l| l.starts_with("late.csv, row 1:"));
    press(&mut window, &|l| l.starts_with(&format!("Accept {}", address(row))));
    let settled = now(&window);
    assert_eq!(settled.visits.len(), before.visits.len() + 1);
    let new = settled.visits.rows().iter().find(|v| &*v.id == "LATE1").unwrap();
    assert!(settled.premises.address.get(new.premise.row()).starts_with(short));
    press(&mut window, &|l| l.starts_with("late.csv, row 2:"));
    press(&mut window, &|l| l == "Set aside");
    let open = |s: &Survey| waiting(s, &Unwatched).unwrap().iter().filter(|w| !w.set_aside).count();
    assert_eq!((now(&window).visits.len(), open(&now(&window))), (before.visits.len() + 1, open(&before) - 2));
    press(&mut window, &|l| l.starts_with("late.csv, row 2, set aside:"));
    press(&mut window, &|l| l == "Ask about it again");
    assert_eq!(open(&now(&window)), open(&before) - 1);
    ask(&mut window, Action::Undo);
    ask(&mut window, Action::Undo);
    ask(&mut window, Action::Undo);
    assert_eq!((now(&window).visits.len(), open(&now(&window))), (before.visits.len(), open(&before)));
}

#[test]
fn clear_offers_are_accepted_with_one_click_and_taken_back_with_one_undo() {
    let (_, survey) = quillmere();
    let address = |i: usize| survey.premises.address.get(i);
    let once = |i: usize| survey.premises.address.iter().filter(|a| a.starts_with(address(i).rsplit_once(' ').unwrap().0)).count() == 1;
    let doors: Vec<usize> =
        (0..survey.premises.len()).filter(|&i| address(i).split(' ').count() > 2 && once(i)).step_by(120).take(4).collect();
    let short = |i: &usize| address(*i).rsplit_once(' ').unwrap().0;
    let rows: String = doors.iter().map(|i| format!("LATE{i},2025-07-09,{},no answer,Late\n", short(i))).collect();
    let folder = tempfile::tempdir().unwrap();
    let (own, sheet) = (folder.path().join("own.gpkg"), folder.path().join("late.csv"));
    store::save(survey, &own, &Unwatched).unwrap();
    std::fs::write(&sheet, format!("visit_id,date,address,outcome,round\n{rows}")).unwrap();
    let mut window = window([1280.0, 1400.0], Some(&own));
    ask(&mut window, Action::GoTo(Desk::Intake));
    ask(&mut window, Action::Offer(vec![sheet]));
    ask(&mut window, Action::BringIn);
    let visits = |w: &Harness<'static, App>| w.state().session().open.as_ref().unwrap().survey.visits.len();
    let before = visits(&window);
    window.get_by(|n| n.label().is_some_and(|l| l.starts_with("4 Settle"))).click_accesskit();
    settle(&mut window);
    window.get_by(|n| n.label().is_some_and(|l| l.starts_with("Accept the ") && l.ends_with(" clear offers"))).click_accesskit();
    settle(&mut window);
    assert!(visits(&window) >= before + doors.len(), "{} and {}", before, visits(&window));
    ask(&mut window, Action::Undo);
    assert_eq!(visits(&window), before);
}

#[test]
fn parcels_that_repeat_an_id_are_settled_by_clicks_and_taken_back() {
    let (_, survey) = quillmere();
    let repeated = repeats(survey).into_iter().find(|r| !r.separate).unwrap();
    let (id, extra) = (repeated.parcel_id.to_string(), repeated.premises.len() - 1);
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own.gpkg");
    store::save(survey, &own, &Unwatched).unwrap();
    let mut window = window([1280.0, 1700.0], Some(&own));
    ask(&mut window, Action::GoTo(Desk::Intake));
    let press = |w: &mut Harness<'static, App>, says: &str| {
        w.get_all_by(|n| n.label().is_some_and(|l| l.contains(says))).next().unwrap().click_accesskit();
        settle(w);
    };
    let now = |w: &Harness<'static, App>| Survey::clone(&w.state().session().open.as_ref().unwrap().survey);
    let of_id = |s: &Survey| s.premises.parcel_id.iter().filter(|i| **i == *id).count();
    let line = format!("{} parcels have the id {id}", extra + 1);
    press(&mut window, "4 Settle");
    press(&mut window, &line);
    press(&mut window, "One premise in parts");
    let united = now(&window);
    assert_eq!((united.premises.len(), of_id(&united)), (survey.premises.len() - extra, 1));
    assert_eq!(united.visits.len(), survey.visits.len(), "no visit is lost");
    assert!(!repeats(&united).iter().any(|r| *r.parcel_id == *id));
    ask(&mut window, Action::Undo);
    assert_eq!(of_id(&now(&window)), extra + 1);
    press(&mut window, &line);
    press(&mut window, "Separate premises");
    let apart = now(&window);
    assert_eq!(of_id(&apart), extra + 1);
    assert!(repeats(&apart).iter().any(|r| *r.parcel_id == *id && r.separate), "nobody asks again");
    ask(&mut window, Action::Save);
    let saved = store::load(&own, Parts::EVERYTHING, &Unwatched).unwrap();
    assert!(repeats(&saved).iter().any(|r| *r.parcel_id == *id && r.separate));
}
