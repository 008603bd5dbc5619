//! Made-up surveys for the tests of this room.

use crate::place::{Bounds, Frame, Local, LonLat, Shapes, hilbert};
use crate::survey::{
    Action, BlockId, Blocks, DayTemperature, Find, IntakeEntry, KindId, Numbers, Outcome, PremiseId, Premises, Ranges, RefusedRow, Round,
    RoundId, Said, Signal, SignalKind, Stage, StreetClass, Streets, Strings, Survey, Visit, Visits, When,
};
use jiff::civil::{Date, Time};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;
use std::sync::Arc;

fn words() -> impl Strategy<Value = String> {
    prop_oneof![Just(String::new()), "[ -~]{0,12}", "\\PC{0,6}", Just("O'Brien; \"7\"\u{0}\n,ß漢".to_owned())]
}

fn day() -> impl Strategy<Value = Date> {
    (2020i16..2030, 1i8..=12, 1i8..=28).prop_map(|(y, m, d)| Date::new(y, m, d).unwrap())
}

fn place() -> impl Strategy<Value = Local> {
    (-1e5..1e5f64, -1e5..1e5f64).prop_map(|(x, y)| Local { x, y })
}

/// Shapes of up to three parts of up to three rings.
fn shapes(count: usize, rings: usize) -> impl Strategy<Value = Shapes> {
    vec(vec(vec(vec(place(), 1..6), 1..=rings), 0..3), count).prop_map(|all| {
        let mut out = Shapes::default();
        for shape in all {
            for part in shape {
                part.iter().for_each(|ring| out.push_ring(ring));
                out.end_part();
            }
            out.end_shape();
        }
        out
    })
}

fn find(kinds: u32) -> impl Strategy<Value = Find> {
    let counts = (0..kinds, 0..9u32, 0..9u32, 0..9u32, 0..9u32, any::<u32>());
    let rest = (option::of(select(Stage::ALL)), option::of(-1e3f32..1e3), option::of(select(Action::ALL)), any::<bool>());
    (counts, rest).prop_map(|((kind, count, wet, with_larvae, with_pupae, pupae), (stage, litres, action, remains))| Find {
        kind: KindId(kind),
        count,
        wet,
        with_larvae,
        with_pupae,
        pupae,
        stage,
        litres,
        action,
        remains,
    })
}

fn visit(premises: u32, rounds: u32, kinds: u32) -> impl Strategy<Value = (Visit, Vec<Find>)> {
    let time = option::of((0i8..24, 0i8..60, 0i8..60).prop_map(|(h, m, s)| Time::new(h, m, s, 0).unwrap()));
    let said = option::of((words(), words(), option::of(0u16..600), any::<bool>()));
    (words(), 0..premises, day(), time, select(Outcome::ALL), 0..rounds, words(), said, vec(find(kinds), 0..3)).prop_map(
        |(id, premise, day, time, outcome, round, crew, said, finds)| {
            let (id, crew, when) = (id.into(), crew.into(), When { day, time });
            let said = said
                .and_then(|(promise, cautions, minutes, by_hand)| Said::marked(Said::with_minutes(&promise, &cautions, minutes), by_hand));
            let visit = Visit { id, premise: PremiseId(premise), when, outcome, round: RoundId(round), crew, said, finds: 0..0 };
            (visit, finds)
        },
    )
}

fn premises(count: usize, blocks: u32) -> impl Strategy<Value = Premises> {
    let columns = (vec(words(), count), vec(words(), count), vec(option::of(0..blocks.max(1)), count), shapes(count, 3));
    let extras = (option::of(vec(words(), count)), option::of(vec(prop_oneof![Just(0u16), 1700..2030u16], count)));
    (columns, extras).prop_map(move |((ids, addresses, block, outline), (land_use, year_built))| Premises {
        parcel_id: Arc::new(ids.into_iter().collect()),
        address: Arc::new(addresses.into_iter().collect()),
        block: Arc::new(block.into_iter().map(|b| b.filter(|_| blocks > 0).map(BlockId)).collect()),
        outline: Arc::new(outline),
        land_use: Arc::new(land_use.unwrap_or_default().into_iter().collect()),
        year_built: Arc::new(year_built.unwrap_or_default()),
    })
}

fn signal() -> impl Strategy<Value = Signal> {
    (words(), day(), place(), select(SignalKind::ALL), option::of(0.0..1e6f64), words())
        .prop_map(|(id, day, place, kind, value, species)| Signal { id: id.into(), day, place, kind, value, species: species.into() })
}

type Lists = (Vec<Signal>, Vec<DayTemperature>, Vec<RefusedRow>, Vec<IntakeEntry>, Vec<(String, String)>);

fn ranges() -> impl Strategy<Value = Ranges> {
    let side = || option::of((any::<u32>(), 0..2000u32).prop_map(|(from, to)| Numbers { from, to }));
    (side(), side()).prop_map(|(left, right)| Ranges { left, right })
}

fn lists() -> impl Strategy<Value = Lists> {
    let temperature = (day(), -40.0..50.0f64, option::of((-40.0..50.0f64, -40.0..50.0f64)));
    let refused = (words(), words(), any::<u32>(), words(), vec((words(), words()), 0..4)).prop_map(|(file, table, row, reason, cells)| {
        let cells = cells.into_iter().map(|(a, b)| (a.into(), b.into())).collect();
        RefusedRow { file: file.into(), table: table.into(), row: row.into(), reason: reason.into(), cells }
    });
    let entry = (words(), words(), any::<u32>(), any::<u32>(), vec(words(), 0..3)).prop_map(|(file, table, rows, kept, findings)| {
        let findings = findings.into_iter().map(Into::into).collect();
        IntakeEntry { file: file.into(), table: table.into(), rows: rows.into(), kept: kept.into(), findings }
    });
    let temperatures = vec(temperature.prop_map(|(day, mean, range)| DayTemperature { day, mean, range }), 0..4);
    (vec(signal(), 0..4), temperatures, vec(refused, 0..4), vec(entry, 0..3), vec((words(), words()), 0..3))
}

/// Any survey of up to sixty premises: odd texts, holes, several parts, no outlines, no rounds.
pub(super) fn survey() -> impl Strategy<Value = Survey> {
    (0usize..60, 0usize..5, 0usize..5, 0u32..3, 0u32..4)
        .prop_flat_map(|(premise_count, block_count, street_count, round_count, kind_count)| {
            let visits = if premise_count == 0 || round_count == 0 || kind_count == 0 { 0..1 } else { 0..40 };
            (
                (-179.0..179.0f64, -80.0..80.0f64),
                premises(premise_count, block_count as u32),
                (vec(words(), block_count), shapes(block_count, 3)),
                (vec(words(), street_count), shapes(street_count, 1), vec(ranges(), street_count)),
                vec(visit((premise_count as u32).max(1), round_count.max(1), kind_count.max(1)), visits),
                vec((words(), day(), day()), round_count as usize),
                vec(words(), kind_count as usize),
                lists(),
            )
        })
        .prop_map(|((lon, lat), premises, blocks, streets, visits, rounds, kinds, lists)| {
            let mut s = Survey::empty(Frame::centred_on(LonLat { lon, lat }));
            let premises_odd = premises.len() % 2 == 1;
            s.visits = Visits::from_rows(premises.len(), visits);
            s.premises = premises;
            s.blocks = Blocks { block_id: Arc::new(strings(blocks.0)), outline: Arc::new(blocks.1) };
            let on_foot = premises_odd.then(|| (0..streets.0.len()).map(|i| (StreetClass::ALL[i % 4], i as i8 - 2)).unzip());
            let (class, level): (Vec<_>, Vec<_>) = on_foot.unwrap_or_default();
            let numbered = streets.2.iter().any(|r| *r != Ranges::default());
            let ranges = Arc::new(if numbered { streets.2 } else { Vec::new() });
            s.streets = Streets {
                name: Arc::new(strings(streets.0)),
                line: Arc::new(streets.1),
                class: Arc::new(class),
                level: Arc::new(level),
                ranges,
            };
            s.rounds = Arc::new(rounds.into_iter().map(|(name, first, last)| Round { name: name.into(), first, last }).collect());
            s.kinds = Arc::new(kinds.into_iter().map(Into::into).collect());
            s.signals = Arc::new(lists.0);
            s.temperatures = Arc::new(lists.1);
            s.refused = Arc::new(lists.2);
            s.intake_log = Arc::new(lists.3);
            s.settings = Arc::new(lists.4.into_iter().map(|(k, v)| (k.into(), v.into())).collect());
            s
        })
}

fn strings(texts: Vec<String>) -> Strings {
    texts.into_iter().collect()
}

/// A survey of many square premises along the curve, every hundredth without an outline, with blocks and streets that lie in
/// no order on the ground.
pub(super) fn squares(count: u32) -> Survey {
    let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }));
    let side = f64::from(count).sqrt().ceil();
    let extent = Bounds::of(&[Local { x: 0.0, y: 0.0 }, Local { x: side * 20.0, y: side * 20.0 }]);
    let corner = |i: u32| Local { x: f64::from(i) % side * 20.0 - 0.3, y: (f64::from(i) / side).floor() * 20.0 + 0.1 };
    let mut order: Vec<u32> = (0..count).collect();
    order.sort_by_key(|&i| (hilbert(corner(i), &extent), i));
    let square = |out: &mut Shapes, p: Local| {
        out.push_ring(&[(0.0, 0.0), (19.0, 0.0), (19.0, 19.0), (0.0, 19.0)].map(|(x, y)| Local { x: p.x + x, y: p.y + y }));
        out.end_part();
    };
    let (mut outlines, mut blocks, mut lines) = (Shapes::default(), Shapes::default(), Shapes::default());
    for &i in &order {
        if i % 100 != 7 {
            square(&mut outlines, corner(i));
        }
        outlines.end_shape();
    }
    for k in 0..count / 10 {
        square(&mut blocks, corner(k * 7919 % count));
        blocks.end_shape();
        let from = corner(k * 104_729 % count);
        lines.push_ring(&[from, Local { x: from.x + 55.0, y: from.y - 3.0 }]);
        lines.end_part();
        lines.end_shape();
    }
    s.premises = Premises {
        parcel_id: Arc::new(order.iter().map(|i| format!("{i:07}")).collect()),
        address: Arc::new(order.iter().map(|i| format!("{i} Kettle Lane")).collect()),
        block: Arc::new(order.iter().map(|i| (i / 10 < count / 10).then_some(BlockId(i / 10))).collect()),
        outline: Arc::new(outlines),
        ..Premises::default()
    };
    s.blocks = Blocks { block_id: Arc::new((0..count / 10).map(|k| format!("B{k:06}")).collect()), outline: Arc::new(blocks) };
    s.streets =
        Streets { name: Arc::new((0..count / 10).map(|k| format!("Street {k}")).collect()), line: Arc::new(lines), ..Streets::default() };
    s
}
