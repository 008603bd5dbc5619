//! The network against SciPy, and what must hold on any streets.

use super::cuts::between;
use super::{FoundBy, Spot, StreetNetwork, Walking};
use crate::job::Unwatched;
use crate::place::{Frame, Local, LonLat, Shapes};
use crate::survey::{Numbers, PremiseId, Premises, Ranges, StreetClass, Streets, Survey};
use proptest::prelude::*;
use std::sync::Arc;

fn at(x: f64, y: f64) -> Local {
    Local { x, y }
}

fn streets(rows: &[(StreetClass, i8, Vec<Local>)]) -> Streets {
    let mut line = Shapes::default();
    for (_, _, run) in rows {
        line.push_ring(run);
        line.end_part();
        line.end_shape();
    }
    Streets {
        name: Arc::new((0..rows.len()).map(|i| format!("Street {i}")).collect()),
        line: Arc::new(line),
        class: Arc::new(rows.iter().map(|r| r.0).collect()),
        level: Arc::new(rows.iter().map(|r| r.1).collect()),
        ..Streets::default()
    }
}

fn minor(runs: &[&[(f64, f64)]]) -> Streets {
    streets(&runs.iter().map(|r| (StreetClass::Minor, 0, r.iter().map(|&(x, y)| at(x, y)).collect())).collect::<Vec<_>>())
}

fn spots(network: &StreetNetwork, places: &[Local]) -> Vec<Spot> {
    places.iter().map(|&p| Spot { off: 0.0, ..network.spot_of_place(p).expect("a street is near") }).collect()
}

fn seconds(network: &StreetNetwork, places: &[Local]) -> Vec<Vec<f64>> {
    network.travel(&spots(network, places), &Unwatched).expect("nobody stops it")
}

/// Reference: SciPy's Dijkstra on the same model built in another way; the versions stand in the table's first line, the program
/// beside it (`make_streets.py`).
#[test]
fn times_are_those_of_scipy() {
    let (mut rows, mut doors, mut expected) = (Vec::new(), Vec::new(), Vec::new());
    for line in include_str!("../../../tests-data/streets.tsv").lines().filter(|l| !l.starts_with('#')).skip(1) {
        let cells: Vec<&str> = line.split('\t').collect();
        let numbers: Vec<f64> = cells[3].split(' ').map(|n| n.parse().expect("a number")).collect();
        let places = || numbers.chunks(2).map(|p| at(p[0], p[1])).collect::<Vec<_>>();
        match cells[0] {
            "street" => rows.push((StreetClass::of(cells[1]), 0, places())),
            "door" => doors.extend(places()),
            _ => expected.push((cells[1].parse::<usize>().expect("a door"), cells[2].parse::<usize>().expect("a door"), numbers[0])),
        }
    }
    let network = StreetNetwork::new(&streets(&rows), &Walking::default());
    let found = seconds(&network, &doors);
    assert_eq!((doors.len(), expected.len()), (26, 325));
    for (a, b, s) in expected {
        assert!((found[a][b] - s).abs() < 1e-6, "doors {a} and {b}: {} is not {s}", found[a][b]);
        assert!((found[b][a] - s).abs() < 1e-6);
    }
}

#[test]
fn ends_short_of_a_street_and_crossings_are_joined() {
    let s =
        minor(&[&[(0.0, 0.0), (100.0, 0.0)], &[(50.0, 0.8), (50.0, 80.0)], &[(20.0, -30.0), (20.0, 30.0)], &[(80.0, -20.0), (80.0, -1.5)]]);
    let r = StreetNetwork::new(&s, &Walking::default()).report();
    // The last street ends 1.5 m short of the first: an island.
    assert_eq!((r.ends_joined, r.crossings_joined, r.islands, r.island_m), (1, 1, 1, 18.5));
    assert_eq!(StreetNetwork::new(&s, &Walking::default()).torn().islands, [(at(80.0, -1.5), 18.5)]);
    // 3 stretches of the first street, 1 + 2 + 1 of the others.
    assert_eq!((r.stretches, r.junctions), (7, 9));
    let wide = Walking { join: 2.0, ..Walking::default() };
    assert_eq!(StreetNetwork::new(&s, &wide).report().islands, 0);
}

#[test]
fn a_bridge_is_not_a_crossing_but_its_end_is_a_junction() {
    let bridge = |level: i8| {
        let runs = [
            (0, vec![at(-50.0, 0.0), at(50.0, 0.0)]),
            (level, vec![at(0.0, -40.0), at(0.0, 40.0)]),
            (0, vec![at(0.0, 40.0), at(50.0, 0.0)]),
        ];
        let s = streets(&runs.map(|(level, run)| (StreetClass::Minor, level, run)));
        let network = StreetNetwork::new(&s, &Walking::default());
        (seconds(&network, &[at(-20.0, 1.0), at(1.0, -20.0)])[0][1], network.report().crossings_joined)
    };
    let (below, joined) = bridge(0);
    // From the north side of the one street to the east side of the other: across both at their corner.
    assert!((below - (40.0 / 1.2 + 20.0)).abs() < 1e-9, "{below}");
    assert_eq!(joined, 1);
    let (over, joined) = bridge(1);
    assert!(over > 170.0 / 1.2 && joined == 0, "{over}: along to the far end, back up the slope and over the bridge");
}

#[test]
fn a_short_dead_end_is_a_stub() {
    let s = minor(&[&[(0.0, 0.0), (100.0, 0.0)], &[(50.0, -4.0), (50.0, 60.0)]]);
    let network = StreetNetwork::new(&s, &Walking::default());
    assert_eq!((network.report().stubs, network.torn().stubs.len()), (1, 1));
    assert!(network.torn().stubs[0].distance(at(50.0, -2.0)) <= 2.0 && network.torn().islands.is_empty());
}

/// Two doors face each other in the middle of a street of 600 m that two others cross 100 m to either side of them.
#[test]
fn a_major_street_is_crossed_at_its_corners_and_a_barrier_nowhere() {
    let runs = [&[(0.0, -50.0), (0.0, 50.0)][..], &[(200.0, -50.0), (200.0, 50.0)], &[(-200.0, 0.0), (400.0, 0.0)]];
    let mut rows: Vec<_> = runs.iter().map(|r| (StreetClass::Minor, 0i8, r.iter().map(|&(x, y)| at(x, y)).collect::<Vec<_>>())).collect();
    let face = [at(100.0, 5.0), at(100.0, -5.0)];
    let time = |rows: &[_], walking: &Walking| seconds(&StreetNetwork::new(&streets(rows), walking), &face)[0][1];
    let usual = Walking::default();
    assert_eq!(time(&rows, &usual), 10.0);
    rows[2].0 = StreetClass::Major;
    assert!((time(&rows, &usual) - (200.0 / 1.2 + 45.0)).abs() < 1e-9);
    let barred = Walking { barriers: vec![vec![at(-195.0, 0.0), at(395.0, 0.0)]], ..usual };
    // Round the dead end of the street, 300 m on, and across one of the others on each side.
    assert!((time(&rows, &barred) - (600.0 / 1.2 + 20.0)).abs() < 1e-9, "{}", time(&rows, &barred));
}

#[test]
fn a_barrier_across_a_street_is_not_walked_through() {
    let s = minor(&[&[(0.0, 0.0), (200.0, 0.0)], &[(0.0, 0.0), (0.0, 90.0), (200.0, 90.0), (200.0, 0.0)]]);
    let walking = Walking { barriers: vec![vec![at(100.0, -40.0), at(100.0, 40.0)]], ..Walking::default() };
    let found = seconds(&StreetNetwork::new(&s, &walking), &[at(90.0, 1.0), at(110.0, 1.0)])[0][1];
    // 90 m back, round by the other street 90 + 200 + 90 m, and 90 m on the other side.
    assert!((found - 560.0 / 1.2).abs() < 1e-9, "{found}");
}

/// A railway at a slant over a grid, 3 m beside a junction of it: the street there goes the railway's way for a while, and is not it.
#[test]
fn a_barrier_beside_a_junction_cuts_all_streets_there() {
    let rows: Vec<Vec<(f64, f64)>> = (0..5).map(|k| vec![(0.0, f64::from(k) * 100.0), (400.0, f64::from(k) * 100.0)]).collect();
    let columns = (0..5).map(|k| vec![(f64::from(k) * 100.0, 0.0), (f64::from(k) * 100.0, 400.0)]);
    let all: Vec<Vec<(f64, f64)>> = rows.into_iter().chain(columns).collect();
    let s = minor(&all.iter().map(Vec::as_slice).collect::<Vec<_>>());
    // With a bend beside that junction, and without.
    for railway in [vec![at(-90.0, 161.0), at(210.0, 198.0), at(490.0, 232.0)], vec![at(-90.0, 161.0), at(490.0, 232.0)]] {
        let beyond = |p: &Local| {
            let w = railway.windows(2).find(|w| p.x <= w[1].x).expect("the railway runs past the grid");
            p.y - (w[0].y + (w[1].y - w[0].y) * (p.x - w[0].x) / (w[1].x - w[0].x))
        };
        let network = StreetNetwork::new(&s, &Walking { barriers: vec![railway.clone()], ..Walking::default() });
        assert_eq!(network.report().islands, 0, "a barrier makes no island of the streets");
        let doors: Vec<Local> = (0..16).map(|k| at(f64::from(k % 4) * 100.0 + 50.0, f64::from(k / 4) * 100.0 + 1.0)).collect();
        let found = seconds(&network, &doors);
        for (a, from) in doors.iter().enumerate() {
            for (b, to) in doors.iter().enumerate() {
                let same_side = (beyond(from) > 0.0) == (beyond(to) > 0.0);
                assert_eq!(found[a][b].is_finite(), same_side, "{from:?} {to:?} {railway:?}");
            }
        }
    }
}

fn survey(address: &str, corner: Local) -> Survey {
    let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
    let mut outline = Shapes::default();
    outline.push_ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(x, y)| at(corner.x + x, corner.y + y)));
    outline.end_part();
    outline.end_shape();
    s.premises = Premises {
        parcel_id: Arc::new(["1"].into_iter().collect()),
        address: Arc::new([address].into_iter().collect()),
        block: Arc::new(vec![None]),
        outline: Arc::new(outline),
        ..Premises::default()
    };
    s
}

#[test]
fn a_door_is_on_the_street_of_its_address_or_else_on_the_nearest() {
    let s = Streets {
        name: Arc::new(["Sedge Rd", "Anvil Street"].into_iter().collect()),
        ..minor(&[&[(0.0, 0.0), (100.0, 0.0)], &[(0.0, 0.0), (0.0, 100.0)]])
    };
    let network = StreetNetwork::new(&s, &Walking::default());
    let stands = |address: &str| network.spot_of_premise(&survey(address, at(5.0, 9.0)), PremiseId(0)).expect("a street is near");
    assert_eq!(stands("12 Anvil St").line, at(0.0, 24.0));
    assert_eq!(stands("3 sedge road").line, at(15.0, 0.0));
    // The lot is 5 m from the one and 9 m from the other.
    assert_eq!(stands("").line, at(0.0, 24.0));
    assert_eq!(stands("12 Anvil St").place, at(4.0, 24.0));
    assert_eq!(network.spot_of_premise(&survey("", at(900.0, 900.0)), PremiseId(0)), None);
}

/// Two stretches of a street that runs east, 100 m each, even numbers on its north side and odd ones on its south side; every number has
/// a fifth of its side: 2 4 6 8 10, then 12 to 20; 1 to 9, then 11 to 19.
#[test]
fn a_house_number_tells_stretch_and_side() {
    let side = |from, to| Some(Numbers { from, to });
    let ranges = vec![Ranges { left: side(2, 10), right: side(1, 9) }, Ranges { left: side(12, 20), right: side(11, 19) }];
    let s = Streets {
        name: Arc::new(["Kettle Ln", "Kettle Lane"].into_iter().collect()),
        ranges: Arc::new(ranges),
        ..minor(&[&[(0.0, 0.0), (100.0, 0.0)], &[(100.0, 0.0), (200.0, 0.0)]])
    };
    let network = StreetNetwork::new(&s, &Walking::default());
    let stands = |address: &str, corner: Local| {
        let spot = network.spot_of_premise(&survey(address, corner), PremiseId(0)).expect("a street is near");
        (spot.place, spot.by)
    };
    let (number, name, nearest) = (FoundBy::HouseNumber, FoundBy::StreetName, FoundBy::NearestStreet);
    // Lots of 20 by 30 m: at their frontage, whatever share of the side the number has.
    assert_eq!(stands("16 Kettle Lane", at(160.0, 9.0)), (at(170.0, 4.0), number));
    assert_eq!(stands("15 kettle ln", at(130.0, -39.0)), (at(140.0, -4.0), number));
    // Beyond the end of the street: where the number says, in the middle of the third fifth, on its side.
    assert_eq!(stands("16 Kettle Lane", at(215.0, -10.0)), (at(150.0, 4.0), number));
    assert_eq!(stands("15 Kettle Lane", at(215.0, -10.0)), (at(150.0, -4.0), number));
    // An even number right across the street, one that no side has, one of a stretch that the lot is not at: the ground tells.
    assert_eq!(stands("16 Kettle Lane", at(160.0, -39.0)), (at(170.0, -4.0), name));
    assert_eq!(stands("22 Kettle Lane", at(160.0, 9.0)), (at(170.0, 4.0), name));
    assert_eq!(stands("4 Kettle Lane", at(140.0, 9.0)), (at(150.0, 4.0), name));
    assert_eq!(stands("Kettle Lane", at(160.0, 9.0)), (at(170.0, 4.0), name));
    assert_eq!(stands("16 Anvil St", at(160.0, 9.0)), (at(170.0, 4.0), nearest));
}

/// A street from west to east with one across it to the north and south; a barrier beside the first.
fn crossroads(barrier: Vec<Local>) -> StreetNetwork {
    let s = Streets {
        name: Arc::new(["Sedge Rd", "Anvil Street"].into_iter().collect()),
        ..minor(&[&[(-200.0, 0.0), (200.0, 0.0)], &[(0.0, -100.0), (0.0, 100.0)]])
    };
    StreetNetwork::new(&s, &Walking { barriers: vec![barrier], ..Walking::default() })
}

#[test]
fn a_barrier_in_the_street_parts_its_sides_and_hides_no_door() {
    let doors = [at(70.0, 25.0), at(-15.0, 60.0), at(70.0, -25.0), at(-90.0, -30.0)];
    // Past both ends of the street, on the line and a few metres beside it, and a little askew.
    for (west, east) in [(0.0, 0.0), (3.0, 3.0), (-5.0, -5.0), (-4.0, 4.0)] {
        let network = crossroads(vec![at(-400.0, west), at(400.0, east)]);
        let found = seconds(&network, &doors);
        assert!(found[0][1].is_finite() && found[2][3].is_finite(), "{west} {east}: {found:?}");
        assert!(found[0][2].is_infinite() && found[1][3].is_infinite(), "{west} {east}: {found:?}");
        // Premises are reached by their address, each from its own side.
        for (address, corner, side) in [("3 Sedge Rd", at(60.0, 9.0), 1.0), ("4 Sedge Rd", at(60.0, -39.0), -1.0)] {
            let spot = network.spot_of_premise(&survey(address, corner), PremiseId(0)).expect("no barrier between");
            assert!(spot.by == FoundBy::StreetName && spot.place.y * side > 0.0, "{spot:?}");
        }
    }
    // Where it ends, 80 m on, people cross within 15 m.
    let round = seconds(&crossroads(vec![at(-400.0, 3.0), at(150.0, 3.0)]), &doors);
    let past = |metres: f64| 2.0 * (80.0 + metres) / 1.2 + 10.0;
    assert!((past(0.0)..=past(15.0)).contains(&round[0][2]), "{}", round[0][2]);
}

#[test]
fn a_barrier_between_a_door_and_its_street_hides_it() {
    let network = crossroads(vec![at(30.0, 10.0), at(120.0, 10.0)]);
    let spot = |address: &str, corner: Local| network.spot_of_premise(&survey(address, corner), PremiseId(0));
    assert_eq!(spot("3 Sedge Rd", at(60.0, 12.0)), None);
    assert_eq!(spot("", at(60.0, 12.0)), None);
    assert!(spot("4 Sedge Rd", at(60.0, -42.0)).is_some() && spot("5 Sedge Rd", at(130.0, 12.0)).is_some());
    // One that begins before the line has its front in reach, wherever in it the line was drawn.
    for drawn in [9.0, 10.0, 12.0, 30.0] {
        let network = crossroads(vec![at(30.0, drawn), at(120.0, drawn)]);
        let spot = network.spot_of_premise(&survey("3 Sedge Rd", at(60.0, 8.0)), PremiseId(0));
        assert_eq!(spot.map(|s| (s.place.y > 0.0, s.by)), Some((true, FoundBy::StreetName)), "{drawn} m");
    }
    // A lot at the corner has a front on the other street too; one of that street never minds.
    let corner = crossroads(vec![at(8.0, 10.0), at(120.0, 10.0)]);
    let spot = |address: &str| corner.spot_of_premise(&survey(address, at(10.0, 12.0)), PremiseId(0)).map(|s| (s.line, s.by));
    assert_eq!(spot("1 Sedge Rd").map(|s| s.1), Some(FoundBy::NearestStreet));
    assert_eq!(spot("2 Anvil St").map(|s| s.1), Some(FoundBy::StreetName));
    assert!(spot("1 Sedge Rd").is_some_and(|s| s.0.x.abs() < 7.0 && s.0.y > 20.0));
}

#[test]
fn without_streets_walks_are_straight_and_longer() {
    let network = StreetNetwork::new(&Streets::default(), &Walking::default());
    let found = seconds(&network, &[at(0.0, 0.0), at(30.0, 40.0)]);
    assert!((found[0][1] - 50.0 * 1.3 / 1.2).abs() < 1e-9 && found[0][0] == 0.0);
    let spots = spots(&network, &[at(0.0, 0.0), at(30.0, 40.0)]);
    assert!((network.route(&spots[0], &spots[1]).metres - 65.0).abs() < 1e-9);
}

fn any_place() -> impl Strategy<Value = Local> {
    (0.0..200.0, 0.0..200.0).prop_map(|(x, y)| at(x, y))
}

fn any_streets() -> impl Strategy<Value = Vec<(StreetClass, i8, Vec<Local>)>> {
    let class = prop::sample::select(&[StreetClass::Path, StreetClass::Minor, StreetClass::Minor, StreetClass::Major]);
    prop::collection::vec((class, 0i8..2, prop::collection::vec(any_place(), 2..4)), 4..14)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn times_are_the_same_both_ways_and_no_way_round_is_shorter(
        rows in any_streets(),
        doors in prop::collection::vec(any_place(), 3..9),
        barrier in prop::option::of(prop::collection::vec(any_place(), 2..3)),
    ) {
        let walking = Walking { barriers: barrier.into_iter().collect(), ..Walking::default() };
        let network = StreetNetwork::new(&streets(&rows), &walking);
        // A door that a barrier parts from every street near it has no way at all.
        let doors: Vec<Local> = doors.into_iter().filter(|&p| network.spot_of_place(p).is_some()).collect();
        let found = seconds(&network, &doors);
        let n = doors.len();
        for a in 0..n {
            prop_assert_eq!(found[a][a], 0.0);
            for b in 0..n {
                prop_assert!(found[a][b] == found[b][a] || (found[a][b] - found[b][a]).abs() < 1e-6);
                for by in 0..n {
                    prop_assert!(found[a][b] <= found[a][by] + found[by][b] + 1e-6, "{a} {b} by {by}: {found:?}");
                }
            }
        }
    }

    #[test]
    fn a_route_is_as_long_as_its_time_says(rows in any_streets(), doors in prop::collection::vec(any_place(), 2..5)) {
        let network = StreetNetwork::new(&streets(&rows), &Walking { crossing: [0.0; 3], ..Walking::default() });
        let spots = spots(&network, &doors);
        for a in &spots {
            for b in &spots {
                let route = network.route(a, b);
                prop_assert!((route.metres - route.seconds * 1.2).abs() < 1e-6, "{route:?}");
                // Ends within a metre of each other are one junction, and the step between them counts nothing.
                prop_assert!(route.metres + route.line.len() as f64 >= a.line.distance(b.line));
                prop_assert_eq!((route.line.first(), route.line.last()), (Some(&a.place), Some(&b.place)));
            }
        }
    }

    /// A line right across the ground parts it in two: whoever is reached from a place is on its side of the line, whatever the streets
    /// look like, and every line that is walked stays there.
    #[test]
    fn no_walk_crosses_a_line_from_end_to_end(
        rows in any_streets(),
        doors in prop::collection::vec(any_place(), 2..10),
        (through, turn) in (any_place(), 0.0..std::f64::consts::PI),
    ) {
        let far = |metres: f64| at(through.x + metres * turn.cos(), through.y + metres * turn.sin());
        let walking = Walking { barriers: vec![vec![far(-2000.0), far(2000.0)]], ..Walking::default() };
        let network = StreetNetwork::new(&streets(&rows), &walking);
        let doors: Vec<Local> = doors.into_iter().filter(|&p| network.spot_of_place(p).is_some()).collect();
        let beyond = |p: &Local| (p.y - through.y) * turn.cos() - (p.x - through.x) * turn.sin();
        let found = seconds(&network, &doors);
        for (a, from) in doors.iter().enumerate() {
            for (b, to) in doors.iter().enumerate().filter(|(b, _)| *b != a && found[a][*b].is_finite()) {
                prop_assert!(beyond(from) * beyond(to) > 0.0, "{from:?} {to:?} in {} s", found[a][b]);
                let spots = spots(&network, &[*from, *to]);
                let line = network.route(&spots[0], &spots[1]).line;
                prop_assert!(line.iter().all(|p| beyond(p) * beyond(from) > -1e-6), "{line:?}");
            }
        }
    }

    #[test]
    fn the_order_of_the_streets_means_nothing(rows in any_streets()) {
        let doors: Vec<Local> = rows.iter().take(6).map(|r| between(r.2[0], r.2[1], 0.37)).collect();
        let mut turned = rows.clone();
        turned.reverse();
        let (one, other) = (StreetNetwork::new(&streets(&rows), &Walking::default()), StreetNetwork::new(&streets(&turned), &Walking::default()));
        let (a, b) = (seconds(&one, &doors), seconds(&other, &doors));
        prop_assert_eq!(one.report().stretches, other.report().stretches);
        let close = a.iter().flatten().zip(b.iter().flatten()).all(|(x, y)| x == y || (x - y).abs() < 1e-6);
        prop_assert!(close || one.report().islands > 0, "{a:?} {b:?}");
    }
}
