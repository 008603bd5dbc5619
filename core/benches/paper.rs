//! How long a map of 1600 by 1200 takes as pixels, as lines and as a page, and how long notices take: `cargo bench -p yardring-core
//! --bench paper`. Lots of 20 by 30 m in blocks of 32, one yard of six inspected with a wet bucket left, one of 60 positive.

use divan::Bencher;
use jiff::civil::date;
use std::sync::Arc;
use yardring_core::brief::breaks::Classing;
use yardring_core::brief::classes::ColourBy;
use yardring_core::brief::{Format, MapRequest, MapSize, NoticesRequest, notices, paint_map};
use yardring_core::job::Unwatched;
use yardring_core::place::{Frame, Local, LonLat, Shapes};
use yardring_core::reach::Wanted;
use yardring_core::survey::{BlockId, Find, KindId, Language, Outcome, PremiseId, Round, RoundId, Survey, Visit, Visits, When};

fn main() {
    divan::main();
}

fn rectangle(shapes: &mut Shapes, x: f64, y: f64, w: f64, h: f64) {
    shapes.push_ring(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(u, v)| Local { x: x + u, y: y + v }));
    shapes.end_part();
    shapes.end_shape();
}

fn county(lots: usize) -> Survey {
    let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -76.6, lat: 39.2 }));
    let (mut outlines, mut blocks) = (Shapes::with_capacity(lots, 4 * lots), Shapes::default());
    let across = ((lots / 32) as f64).sqrt().ceil() as usize;
    let corner = |block: usize| ((block % across) as f64 * 335.0, (block / across) as f64 * 75.0);
    for i in 0..lots {
        let (x, y) = corner(i / 32);
        rectangle(&mut outlines, x + (i % 16) as f64 * 20.0, y + (i % 32 / 16) as f64 * 30.0, 20.0, 30.0);
    }
    for block in 0..lots.div_ceil(32) {
        let (x, y) = corner(block);
        rectangle(&mut blocks, x, y, 320.0, 60.0);
    }
    survey.premises.outline = Arc::new(outlines);
    survey.premises.parcel_id = Arc::new((0..lots).map(|i| format!("{i:08}")).collect());
    survey.premises.address = Arc::new((0..lots).map(|i| format!("{} Lane {}", i % 32 + 1, i / 32)).collect());
    survey.premises.block = Arc::new((0..lots as u32).map(|i| Some(BlockId(i / 32))).collect());
    survey.blocks.block_id = Arc::new((0..lots.div_ceil(32)).map(|i| format!("{i:06}")).collect());
    survey.blocks.outline = Arc::new(blocks);
    survey.kinds = Arc::new(vec!["bucket".into()]);
    survey.rounds = Arc::new(vec![Round { name: "first".into(), first: date(2025, 7, 1), last: date(2025, 7, 28) }]);
    survey.visits = Visits::from_rows(lots, (0..lots as u32).step_by(6).map(visited).collect());
    survey
}

fn visited(premise: u32) -> (Visit, Vec<Find>) {
    let when = When { day: date(2025, 7, 7), time: None };
    let (premise, outcome) = (PremiseId(premise), Outcome::Inspected);
    let visit = Visit { id: "v".into(), premise, when, outcome, round: RoundId(0), crew: "A".into(), said: None, finds: 0..0 };
    let find = Find {
        kind: KindId(0),
        count: 1,
        wet: 1,
        with_larvae: u32::from(premise.0 % 60 == 0),
        with_pupae: 0,
        pupae: 0,
        stage: None,
        litres: None,
        action: None,
        remains: false,
    };
    (visit, vec![find])
}

fn bench(bencher: Bencher<'_, '_>, colour_by: ColourBy, format: Format) {
    let survey = county(200_000);
    let request = MapRequest {
        district: "Quillmere".to_owned(),
        round: Some(RoundId(0)),
        since: None,
        colour_by,
        classing: Classing::default(),
        size: MapSize::Pixels(1600, 1200),
        part: None,
        format,
        reach: Wanted::default(),
        unmasked: false,
        ground: None,
        walks: None,
    };
    bencher.bench_local(|| paint_map(&survey, &request, &Unwatched));
}

#[divan::bench(args = Format::ALL, sample_count = 5)]
fn house_index_of_200_000(bencher: Bencher<'_, '_>, format: Format) {
    bench(bencher, ColourBy::HouseIndex, format);
}

#[divan::bench(args = Format::ALL, sample_count = 5)]
fn gaps_of_200_000(bencher: Bencher<'_, '_>, format: Format) {
    bench(bencher, ColourBy::Gaps, format);
}

/// One notice for every yard that was inspected: 33,334 of a county of 200,000.
#[divan::bench(args = [Language::English, Language::Spanish], sample_count = 3)]
fn notices_of_200_000(bencher: Bencher<'_, '_>, language: Language) {
    let survey = county(200_000);
    let request = NoticesRequest { language, ..NoticesRequest::default() };
    bencher.bench_local(|| notices(&survey, RoundId(0), &request, &Unwatched));
}
