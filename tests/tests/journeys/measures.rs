//! The manager's measures and the planner's call-backs in the window, with the numbers of core.

use crate::office::{ask, quillmere, settle, window};
use egui::{Key, accesskit::Role};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use yardring::action::{Action, Slow};
use yardring::app::App;
use yardring::session::{ColourBy, Compare, Desk, Trace};
use yardring::tables::{KEY_SHARE, SEED};
use yardring_core::foresee::{self, NoChances, Species, callbacks};
use yardring_core::job::Unwatched;
use yardring_core::measure::{self, Beside};
use yardring_core::survey::{BlockId, ContainerKnowledge, PremiseId, standings};

const SIZE: [f32; 2] = [1280.0, 1000.0];

fn says(window: &Harness<'static, App>, words: &str) -> bool {
    window.query_all_by_label_contains(words).next().is_some()
}

fn brief() -> Harness<'static, App> {
    let mut window = window(SIZE, Some(quillmere().0));
    ask(&mut window, Action::GoTo(Desk::Brief));
    // The first step closes, so that the others come into view.
    window.get_by_label_contains("1 Measure").click();
    settle(&mut window);
    window
}

#[test]
fn few_kinds_make_most_pupae_and_their_yards_are_listed() {
    let mut window = brief();
    let survey = quillmere().1;
    let standings = standings(survey, survey.round(None).unwrap());
    let found = measure::key_containers(survey, &standings, KEY_SHARE, SEED, &Unwatched).unwrap();
    let key: Vec<_> = found.kinds.iter().filter(|k| k.1.key).collect();
    let share: f64 = key.iter().filter_map(|k| k.1.contribution).sum();
    assert!(says(&window, &format!("{} of {} kinds make {:.0} % of all pupae", key.len(), found.kinds.len(), 100.0 * share)));
    let most = found.kinds.iter().max_by(|a, b| a.1.contribution.unwrap().total_cmp(&b.1.contribution.unwrap())).unwrap().0;
    ask(&mut window, Action::Trace(Some(Trace::Kind(most))));
    let traced = window.state().session().measured.traced.clone().unwrap();
    let counts = measure::by_kind(survey, &standings).into_iter().find(|k| k.0 == most).unwrap().1;
    assert_eq!((traced.yards.len() as u64, traced.speak as u64), (counts.premises, counts.positive_premises));
}

#[test]
fn a_block_shows_the_yards_that_made_its_index_and_how_many_doors_more() {
    let mut window = brief();
    let survey = quillmere().1;
    let standings = standings(survey, survey.round(None).unwrap());
    let counts = measure::by_block(survey, &standings).into_iter().find(|(b, c)| b.is_some() && c.inspected > 3 && c.positive_premises > 0);
    let (block, counts) = counts.map(|(b, c)| (b.unwrap(), c)).unwrap();
    ask(&mut window, Action::ShowBlock(block));
    let traced = window.state().session().measured.traced.clone().unwrap();
    assert_eq!(
        (traced.of, traced.yards.len() as u64, traced.speak as u64),
        (Trace::Block(block), counts.inspected, counts.positive_premises)
    );
    window.get_by_label_contains("2 Blocks").click();
    settle(&mut window);
    let row = format!("Block {},", survey.blocks.block_id.get(block.row()));
    let there = window.query_all_by(|n| n.role() == Role::ListItem && n.label().is_some_and(|l| l.starts_with(&row))).next().is_some();
    if there {
        window.get_by(|n| n.role() == Role::ListItem && n.label().is_some_and(|l| l.starts_with(&row))).click();
        settle(&mut window);
        assert!(
            says(&window, "is clear?") && says(&window, &format!("No: {} of {} inspected", counts.positive_premises, counts.inspected))
        );
    }
    ask(&mut window, Action::WorkOut(Slow::Clusters));
    let found = window.state().session().measured.clusters.latest().cloned().unwrap();
    assert!(says(&window, &yardring::tables::clustering_words(&found.found)));
}

#[test]
fn the_change_is_that_of_core_with_and_without_a_control() {
    let mut window = brief();
    let survey = quillmere().1;
    let rounds = (survey.round(Some("Round 2")).unwrap(), survey.round(Some("Round 3")).unwrap());
    let some = || vec![BlockId(3), BlockId(1)];
    for beside in [Beside::Treated(some()), Beside::Nothing, Beside::Control(some())] {
        ask(&mut window, Action::Compare(Compare { from: None, beside: beside.clone() }));
        let found = window.state().session().measured.change.latest().cloned().unwrap();
        let core = measure::change_between(survey, rounds, &beside, &Unwatched).unwrap();
        assert_eq!(*found, core);
    }
    window.get_by_label_contains("4 Change").click();
    settle(&mut window);
    let found = window.state().session().measured.change.latest().cloned().unwrap();
    let p = found.worked.paired;
    assert!(says(&window, &format!("{} became negative, {} became positive", p.became_negative, p.became_positive)));
    ask(&mut window, Action::Trace(Some(Trace::Changed)));
    let traced = window.state().session().measured.traced.clone().unwrap();
    assert!(traced.yards.len() as u64 >= p.became_negative + p.became_positive, "worked and control area together");
}

#[test]
fn call_backs_stand_on_their_days_and_the_arrows_walk_along_them() {
    let mut window = window(SIZE, Some(quillmere().0));
    let survey = quillmere().1;
    let round = survey.round(None).unwrap();
    let on = survey.rounds[round.row()].last.tomorrow().unwrap();
    let core = callbacks(survey, &standings(survey, round), on, Species::Albopictus);
    let overdue = core.iter().filter(|c| c.days_left < 0).count();
    assert!(says(&window, &format!("{} visits due, {overdue} overdue", yardring::ui::words::number(core.len() as u64))));
    window.get_by_label_contains("5 Call-backs").click_accesskit();
    settle(&mut window);
    window.get_by(|n| n.role() == Role::Button && n.label().is_some_and(|l| l.starts_with("Overdue:"))).click_accesskit();
    settle(&mut window);
    window.key_press(Key::ArrowRight);
    settle(&mut window);
    let focused = window.query_all_by(|n| n.is_focused()).next().and_then(|n| n.accesskit_node().label()).unwrap_or_default();
    let today = yardring::ui::words::day(on);
    assert!(focused.starts_with(&today), "{focused} for {today}");
}

#[test]
fn knowledge_is_changed_and_taken_back() {
    let mut window = brief();
    let mut kinds = ContainerKnowledge::usual().kinds().to_vec();
    kinds[0].words = "Fill it with sand.".into();
    let table = ContainerKnowledge::from_kinds(kinds).unwrap();
    ask(&mut window, Action::Know(Box::new(table.clone())));
    let now = |window: &Harness<'static, App>| ContainerKnowledge::of(&window.state().session().open.as_ref().unwrap().survey);
    assert_eq!(now(&window), table);
    ask(&mut window, Action::Undo);
    assert_eq!(now(&window), ContainerKnowledge::usual());
    window.get_by_label_contains("3 Containers").click();
    settle(&mut window);
    window.get_by(|n| n.role() == Role::ListItem && n.label().is_some_and(|l| l.starts_with("bamboo stump: "))).click();
    settle(&mut window);
    assert!(says(&window, "One person can tip it"));
    // Another name for it is typed and kept.
    write_in(&mut window, "Also called in visits, with commas between the names", ", cane stub");
    window.get_by_label("Keep the change").click_accesskit();
    settle(&mut window);
    assert_eq!(now(&window).what_to_do("cane stub").map(|k| &*k.kind), Some("bamboo stump"));
}

/// Writes more text behind what stands in a field.
fn write_in(window: &mut Harness<'static, App>, field: &str, text: &str) {
    window.get_by(|n| n.role() == Role::TextInput && n.label().as_deref() == Some(field)).focus();
    settle(window);
    window.key_press(Key::End);
    window.event(egui::Event::Text(text.to_owned()));
    settle(window);
}

/// Every number leads to its yards: those of the district, of the crowd, and those that a chance was told by.
#[test]
fn numbers_lead_to_the_yards_that_made_them() {
    let mut window = brief();
    let survey = quillmere().1;
    let standings = standings(survey, survey.round(None).unwrap());
    let traced = |window: &Harness<'static, App>| {
        let t = window.state().session().measured.traced.clone().expect("a list of yards");
        (t.yards.len() as u64, t.speak as u64)
    };
    window.get_by_label_contains("1 Measure").click();
    settle(&mut window);
    window.get_by_label("List the yards behind these numbers").click_accesskit();
    settle(&mut window);
    let district = measure::district(&standings);
    assert_eq!(traced(&window), (district.inspected, district.positive_premises));
    assert!(says(&window, &format!("{} inspected yards in the district", yardring::ui::words::number(district.inspected))));
    ask(&mut window, Action::WorkOut(Slow::Clusters));
    ask(&mut window, Action::Trace(Some(Trace::Crowd)));
    let crowd = measure::crowd(survey, &standings, SEED, &Unwatched).unwrap().unwrap();
    assert_eq!(traced(&window), (crowd.circle.seen, crowd.circle.positive));
    ask(&mut window, Action::GoTo(Desk::Plan));
    // The sources, and what was inspected round them.
    let sources = standings.iter().filter(|s| s.source).count() as u64;
    ask(&mut window, Action::Trace(Some(Trace::Sources)));
    assert_eq!(traced(&window), (sources, sources));
    let covered = window.state().session().reach.latest().unwrap().covered;
    window.get_by_label_contains("2 Reach").click_accesskit();
    settle(&mut window);
    window.get_by_label("List the inspected yards inside").click_accesskit();
    settle(&mut window);
    assert_eq!(traced(&window).0, covered.inspected);
    assert!(says(&window, "By the crews of step 6: a shift of 6 h"), "a day of the crews is reckoned from their step");
    window.get_by_label("How this is worked out: reach").click_accesskit();
    settle(&mut window);
    assert!(says(&window, "Barriers are not clipped"));
    ask(&mut window, Action::Radius(yardring_core::units::Metres(75.0)));
    assert!(window.state().session().measured.traced.is_none(), "another reach has other yards");
    let round = survey.round(None).unwrap();
    let chances = foresee::chances(survey, round, &Unwatched).unwrap();
    let chance = chances.foreseen().chances.iter().max_by(|a, b| a.probability.total_cmp(&b.probability)).unwrap();
    ask(&mut window, Action::ShowPremise(chance.premise));
    window.get_by_label(&format!("List {} inspected yards near by", chance.neighbours)).click_accesskit();
    settle(&mut window);
    assert_eq!(traced(&window).0, u64::from(chance.neighbours));
    let at = |p: PremiseId| survey.premises.outline.bounds()[p.row()].centre();
    let near = chances.foreseen().model.near().0;
    let seen = |i: &usize| standings[*i].inspected() && at(PremiseId(*i as u32)).distance(at(chance.premise)) <= near;
    assert_eq!((0..standings.len()).filter(seen).count() as u64, traced(&window).0, "a look at every yard");
}

/// Nothing came before the first round, so that no change is told that would run backwards in time.
#[test]
fn the_first_round_has_no_change() {
    let mut window = window(SIZE, Some(quillmere().0));
    ask(&mut window, Action::GoTo(Desk::Brief));
    assert!(window.state().session().rounds_compared().is_some());
    let first = measure::in_order(quillmere().1)[0];
    ask(&mut window, Action::Round(first));
    assert!(window.state().session().rounds_compared().is_none());
    assert!(window.query_all_by_label_contains("this is the first round").next().is_some());
    // Nor does a round that somebody chose before run against time.
    let order = measure::in_order(quillmere().1);
    let compare = Compare { from: order.last().copied(), ..Default::default() };
    ask(&mut window, Action::Compare(compare));
    ask(&mut window, Action::Round(order[1]));
    assert_eq!(window.state().session().rounds_compared(), Some((order[0], order[1])));
}

/// Round 1 is refused: the legend says why where a ramp would stand, and so does the choice of colours.
#[test]
fn where_chances_are_refused_the_legend_says_why() {
    let mut window = window(SIZE, Some(quillmere().0));
    let survey = quillmere().1;
    let round = survey.round(Some("Round 1")).unwrap();
    let Err(NoChances::Refused(refusal)) = foresee::chances(survey, round, &Unwatched) else { panic!("round 1 has no chances") };
    ask(&mut window, Action::Round(round));
    ask(&mut window, Action::GoTo(Desk::Brief));
    ask(&mut window, Action::Colour(ColourBy::Foreseen));
    let told = window.query_all_by_label(&format!("No chances are shown: {refusal}.")).count();
    assert!(told >= 2, "in the legend and beside the choice: {told}");
}

/// Of a block, a round and a land use the window shows what `indices --by block|round|land-use` writes.
#[test]
fn every_group_has_its_whole_set_of_measures() {
    let mut window = brief();
    let survey = quillmere().1;
    let kinds = window.state().session().measured.kinds.latest().cloned().unwrap();
    let sets = &kinds.sets;
    let round = survey.round(None).unwrap();
    let standings = standings(survey, round);
    let blocks = measure::by_block(survey, &standings);
    assert!(sets.blocks.iter().map(|(b, s)| (*b, *s.counts())).eq(blocks.iter().copied()));
    let rounds: Vec<_> = measure::by_round(survey).into_iter().map(|(r, c)| (survey.rounds[r.row()].name.to_string(), c)).collect();
    assert!(sets.rounds.iter().map(|s| (s.name().to_owned(), *s.counts())).eq(rounds));
    assert_eq!(sets.land_uses.len(), measure::by_land_use(survey, &standings).len());
    let (block, set) =
        sets.blocks.iter().find(|(b, s)| b.is_some() && s.counts().inspected > 9 && s.counts().positive_premises > 0).unwrap();
    ask(&mut window, Action::ShowBlock(block.unwrap()));
    window.get_by_label_contains("2 Blocks").click();
    settle(&mut window);
    let row = format!("Block {},", set.name());
    let there = window.query_all_by(|n| n.role() == Role::ListItem && n.label().is_some_and(|l| l.starts_with(&row))).next().is_some();
    if there {
        window.get_by(|n| n.role() == Role::ListItem && n.label().is_some_and(|l| l.starts_with(&row))).click();
        settle(&mut window);
        let breteau = yardring::ui::words::with_interval(set.counts().breteau_index(), set.sure().breteau, "");
        assert!(says(&window, &breteau) && says(&window, "Smoothed house index"), "{breteau}");
    }
}

/// Which blocks are neighbours is chosen in the window, said in words, and taken back.
#[test]
fn neighbours_are_chosen_in_the_window() {
    let mut window = brief();
    window.get_by_label_contains("2 Blocks").click();
    settle(&mut window);
    ask(&mut window, Action::WorkOut(Slow::Clusters));
    let alone = |window: &Harness<'static, App>| window.state().session().measured.clusters.latest().unwrap().found.alone;
    let near = alone(&window);
    window.get_by_label("blocks within 150 m").click_accesskit();
    settle(&mut window);
    let survey = |window: &Harness<'static, App>| window.state().session().open.as_ref().unwrap().survey.clone();
    assert_eq!(measure::Neighbours::of(&survey(&window)), measure::Neighbours::Apart(150.0));
    assert!(alone(&window) <= near);
    ask(&mut window, Action::Undo);
    assert_eq!((measure::Neighbours::of(&survey(&window)), alone(&window)), (measure::Neighbours::default(), near));
}

/// A limit is changed among the programmes' bands, kept, and stands beside the word.
#[test]
fn bands_are_changed_in_the_window() {
    let mut window = window(SIZE, Some(quillmere().0));
    ask(&mut window, Action::GoTo(Desk::Brief));
    window.get_by_label("Change the programmes' bands").click_accesskit();
    settle(&mut window);
    assert!(says(&window, "Brazilian rapid survey, house index: risk from"));
    write_in(&mut window, "Brazilian rapid survey, house index: word of band 3", " today");
    window.get_by_label("Keep the bands").click_accesskit();
    settle(&mut window);
    let kept = measure::Programmes::of(&window.state().session().open.as_ref().unwrap().survey);
    assert!(kept.schemes()[0].bands[2].1.contains("risk") && kept.schemes()[0].bands[2].1.contains("today"), "{kept:?}");
    let ours = measure::Programmes::usual().with_limit(0, 2, 2.5);
    ask(&mut window, Action::Rule(Box::new(yardring_core::store::Edit::bands(&ours))));
    window.get_by_label("More measures: access, density, programmes' bands").click_accesskit();
    settle(&mut window);
    assert!(says(&window, "risk (2.5 or more)"));
    window.get_by_label("Back to the usual bands").click_accesskit();
    settle(&mut window);
    assert!(says(&window, "risk (4 or more)"));
}

/// The volume is core's, in centimetres and in inches.
#[test]
fn water_is_reckoned_in_inches_too() {
    let mut window = window(SIZE, Some(quillmere().0));
    window.get_by_label_contains("9 Water").click_accesskit();
    settle(&mut window);
    let drum = measure::WaterShape::Round { diameter: 0.57, depth: 0.30 }.water().unwrap();
    let said = format!("({:.1} US gallons), surface {:.3} m²", drum.gallons(), drum.surface.0);
    assert!(says(&window, &said), "{said}");
    window.get_by_label("inches").click_accesskit();
    settle(&mut window);
    assert!(says(&window, &said), "the water stays what it is");
}
