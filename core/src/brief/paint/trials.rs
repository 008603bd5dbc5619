//! Whole maps painted of a small survey.

use super::*;
use crate::brief::ink::{BREEDING, Rgb};
use crate::files::TileFile;
use crate::job::Unwatched;
use crate::place::{Frame, Local, LonLat, WebTile};
use crate::survey::{BlockId, Find, KindId, Outcome, PremiseId, Round, Signal, SignalKind, Streets, Visit, Visits, When};
use crate::units::Metres;
use jiff::civil::date;
use std::sync::Arc;

/// Two blocks of six lots: nobody positive in the western one, everybody in the eastern one; a street, a trap and a case.
fn two_blocks(case_at: f64) -> Survey {
    let mut s = Survey::empty(Frame::centred_on(LonLat { lon: -88.3, lat: 29.4 }));
    let (mut lots, mut blocks, mut line) = (Shapes::default(), Shapes::default(), Shapes::default());
    let rectangle = |x: f64, w: f64| [(x, 0.0), (x + w, 0.0), (x + w, 40.0), (x, 40.0)].map(|(x, y)| Local { x, y });
    let finish = |shapes: &mut Shapes, ring: &[Local]| {
        shapes.push_ring(ring);
        shapes.end_part();
        shapes.end_shape();
    };
    for b in [0.0, 135.0] {
        (0..6).for_each(|i| finish(&mut lots, &rectangle(b + 20.0 * f64::from(i), 20.0)));
        finish(&mut blocks, &rectangle(b, 120.0));
    }
    finish(&mut line, &[Local { x: 0.0, y: -8.0 }, Local { x: 255.0, y: -8.0 }]);
    s.premises.parcel_id = Arc::new((0..12).map(|i| i.to_string()).collect());
    s.premises.address = Arc::new((0..12).map(|_| "").collect());
    s.premises.block = Arc::new((0..12).map(|i| Some(BlockId(i / 6))).collect());
    s.premises.outline = Arc::new(lots);
    s.blocks.block_id = Arc::new(["A", "B"].into_iter().collect());
    s.blocks.outline = Arc::new(blocks);
    s.streets = Streets { name: Arc::new(["Anvil Street"].into_iter().collect()), line: Arc::new(line), ..Streets::default() };
    s.kinds = Arc::new(vec!["bucket".into()]);
    s.rounds = Arc::new(vec![Round { name: "Round 1".into(), first: date(2025, 7, 7), last: date(2025, 7, 9) }]);
    s.visits = Visits::from_rows(12, (0..11).map(visited_at).collect());
    s.signals = Arc::new(vec![signal(SignalKind::Trap, 60.0), signal(SignalKind::Case, case_at)]);
    s
}

fn signal(kind: SignalKind, x: f64) -> Signal {
    Signal { id: "S".into(), day: date(2025, 7, 1), place: Local { x, y: 20.0 }, kind, value: None, species: "".into() }
}

fn visited_at(premise: u32) -> (Visit, Vec<Find>) {
    let when = When { day: date(2025, 7, 7), time: None };
    let (outcome, round) = (Outcome::Inspected, RoundId(0));
    let visit = Visit { id: "v".into(), premise: PremiseId(premise), when, outcome, round, crew: "A".into(), said: None, finds: 0..0 };
    let larvae = u32::from(premise >= 6);
    let nothing = Find {
        kind: KindId(0),
        count: 1,
        wet: 1,
        with_larvae: larvae,
        with_pupae: 0,
        pupae: 0,
        stage: None,
        litres: None,
        action: None,
        remains: false,
    };
    (visit, vec![nothing])
}

fn request(colour_by: ColourBy) -> MapRequest {
    let reach = Wanted { from: SourceKind::Positives, radius: Metres(30.0), ..Wanted::default() };
    MapRequest {
        district: "Quillmere".to_owned(),
        round: Some(RoundId(0)),
        since: None,
        colour_by,
        classing: Classing::default(),
        size: MapSize::Pixels(800, 600),
        part: None,
        format: Format::Png,
        reach,
        unmasked: false,
        ground: None,
        walks: None,
    }
}

fn pixels(png: &[u8]) -> tiny_skia::Pixmap {
    tiny_skia::Pixmap::decode_png(png).unwrap()
}

/// How many pixels of a picture have a colour exactly.
fn of_colour(png: &[u8], wanted: Rgb) -> usize {
    pixels(png).pixels().iter().filter(|p| Rgb(p.red(), p.green(), p.blue()) == wanted).count()
}

/// The head of the file is as the PNG specification (ISO/IEC 15948, section 11.2.2) has it: width, then height.
#[test]
fn the_picture_has_the_size_asked_for_and_the_same_bytes_twice() {
    let survey = two_blocks(100.0);
    let a = paint_map(&survey, &request(ColourBy::HouseIndex), &Unwatched).unwrap();
    let b = paint_map(&survey, &request(ColourBy::HouseIndex), &Unwatched).unwrap();
    assert!(a.bytes == b.bytes);
    assert_eq!(a.bytes[16..24], [0, 0, 3, 32, 0, 0, 2, 88]);
}

#[test]
fn blocks_are_filled_with_the_ink_of_their_class() {
    let painted = paint_map(&two_blocks(100.0), &request(ColourBy::HouseIndex), &Unwatched).unwrap();
    let found = BREEDING.map(|c| of_colour(&painted.bytes, c));
    // The swatches alone are about 250 pixels each; a block is many times that.
    assert!(found[0] > 4000 && found[4] > 4000, "{found:?}");
    assert!(found[1] < 600 && found[2] < 600 && found[3] < 600, "{found:?}");
    assert_eq!(painted.classes.blocks, [0, 4]);
}

/// The columns and rows between which a picture holds much of a colour: where a block lies, and no swatch.
fn box_of(picture: &tiny_skia::Pixmap, wanted: Rgb) -> (usize, usize, usize, usize) {
    let (wide, high) = (picture.width() as usize, picture.height() as usize);
    let is = |x: usize, y: usize| {
        let p = picture.pixels()[y * wide + x];
        Rgb(p.red(), p.green(), p.blue()) == wanted
    };
    let xs: Vec<usize> = (0..wide).filter(|&x| (0..high).filter(|&y| is(x, y)).count() > 40).collect();
    let ys: Vec<usize> = (0..high).filter(|&y| (0..wide).filter(|&x| is(x, y)).count() > 100).collect();
    (xs[0], *xs.last().unwrap(), ys[0], *ys.last().unwrap())
}

/// Printed in grey a block of an earlier round is a light ground with dots; a block of a class is one tone.
#[test]
fn a_block_of_an_earlier_round_is_dotted_on_grey_paper_in_every_kind_of_file() {
    let mut survey = two_blocks(100.0);
    // Nothing is written into the yards: letters are of two tones.
    survey.premises.parcel_id = Arc::new((0..12).map(|_| "").collect());
    let round = |name: &str, month| Round { name: name.into(), first: date(2025, month, 7), last: date(2025, month, 9) };
    survey.rounds = Arc::new(vec![round("Round 2", 7), round("Round 1", 6)]);
    let mut rows: Vec<(Visit, Vec<Find>)> = (0..12).map(visited_at).collect();
    for (visit, _) in &mut rows[..6] {
        (visit.round, visit.when.day) = (RoundId(1), date(2025, 6, 7));
    }
    survey.visits = Visits::from_rows(12, rows);
    let paint = |format| paint_map(&survey, &MapRequest { format, ..request(ColourBy::HouseIndex) }, &Unwatched).unwrap();
    let painted = paint(Format::Png);
    assert_eq!(painted.classes.blocks, [10, 4]);
    let picture = pixels(&painted.bytes);
    let (left, right, top, bottom) = box_of(&picture, BREEDING[4]);
    // The blocks are 120 m wide and lie 135 m apart.
    let aside = (right - left) * 135 / 120;
    let darker = |from: usize, ground: Rgb| {
        let inside = (from + 4..from + right - left - 4).flat_map(|x| (top + 4..bottom - 4).map(move |y| (x, y)));
        let tones = inside.map(|(x, y)| picture.pixels()[y * picture.width() as usize + x]);
        let all: Vec<bool> = tones.map(|p| Rgb(p.red(), p.green(), p.blue()).contrast(ground) > 3.0).collect();
        all.iter().filter(|d| **d).count() as f64 / all.len() as f64
    };
    let (dots, none) = (darker(left - aside, ink::EARLIER), darker(left, BREEDING[4]));
    assert!(dots > 0.015 && dots < 0.15 && none == 0.0, "{dots:.3} of the block is dots, {none:.3} of the other");
    let svg = String::from_utf8(paint(Format::Svg).bytes).unwrap();
    let fills = svg.split("<g id=\"fills\">\n").nth(1).unwrap().split("</g>").next().unwrap();
    assert_eq!((fills.matches("<path").count(), fills.contains("#5c5e60")), (3, true), "two blocks and the dots of one");
    assert!(
        paint(Format::Pdf).bytes.len()
            > paint_map(&two_blocks(100.0), &MapRequest { format: Format::Pdf, ..request(ColourBy::HouseIndex) }, &Unwatched)
                .unwrap()
                .bytes
                .len()
    );
}

#[test]
fn a_map_of_gaps_counts_the_yard_that_is_left() {
    let painted = paint_map(&two_blocks(100.0), &request(ColourBy::Gaps), &Unwatched).unwrap();
    assert_eq!(painted.gaps, Some(1));
    assert!(of_colour(&painted.bytes, ink::GAP) > 500 && of_colour(&painted.bytes, ink::REACH) > 500);
}

/// Nothing in the picture depends on where a case is, unless somebody asked for it.
#[test]
fn cases_leave_no_trace() {
    for by in ColourBy::ALL {
        let paint = |at: f64, unmasked: bool| {
            let request = MapRequest { unmasked, ..request(by) };
            paint_map(&two_blocks(at), &request, &Unwatched).unwrap().bytes
        };
        assert!(paint(100.0, false) == paint(31.0, false), "{by:?}");
        assert_eq!(paint(100.0, true) == paint(31.0, true), by != ColourBy::Gaps, "{by:?}");
    }
    let smallest = MapRequest { unmasked: true, size: MapSize::Pixels(480, 480), ..request(ColourBy::Gaps) };
    let shown = paint_map(&two_blocks(100.0), &smallest, &Unwatched).unwrap().bytes;
    let lower = pixels(&shown).pixels()[480 * 420..].iter().filter(|p| Rgb(p.red(), p.green(), p.blue()) == ink::WARNING).count();
    assert!(lower > 20, "the warning is left out: {lower}");
}

/// A ring round a case shows where the mask moves it, and nothing else of where it is.
#[test]
fn rings_round_cases_are_drawn_from_the_mask() {
    let mut round_cases = request(ColourBy::Gaps);
    round_cases.reach.from = SourceKind::Cases;
    round_cases.reach.radius = Metres(300.0);
    let moved_by = |x: f64| format!("{{\"seed\":1,\"inner_m\":100.0,\"outer_m\":400.0,\"cases\":{{\"S 2025-07-01\":[{x:.1},120.0]}}}}");
    let paint = |at: f64, by: f64, unmasked: bool| {
        let mut survey = two_blocks(at);
        Arc::make_mut(&mut survey.settings).insert(crate::survey::settings::CASE_MASK.into(), moved_by(by).into());
        paint_map(&survey, &MapRequest { unmasked, ..round_cases.clone() }, &Unwatched).unwrap()
    };
    let (here, there) = (paint(100.0, 60.0, false), paint(31.0, 129.0, false));
    assert!(here.bytes == there.bytes && here.gaps == Some(1));
    assert!(here.bytes != paint(100.0, 90.0, false).bytes && paint(100.0, 0.0, true).bytes != paint(31.0, 0.0, true).bytes);
    assert!(of_colour(&here.bytes, ink::REACH) > 500 && of_colour(&here.bytes, ink::GAP) == 0);
}

#[test]
fn what_cannot_be_painted_is_told() {
    let survey = two_blocks(100.0);
    let small = MapRequest { size: MapSize::Pixels(100, 600), ..request(ColourBy::Coverage) };
    assert_eq!(paint_map(&survey, &small, &Unwatched).unwrap_err(), MapError::Size { width: 100, height: 600 });
    let empty = Survey::empty(survey.frame);
    let error = paint_map(&empty, &request(ColourBy::Coverage), &Unwatched).unwrap_err();
    assert_eq!(error, MapError::NothingToDraw);
    assert!(!error.hint().is_empty());
}

struct Stopped;

impl Watch for Stopped {
    fn progress(&self, _stage: &str, _done: u64, _total: u64) {}

    fn cancelled(&self) -> bool {
        true
    }
}

#[test]
fn painting_can_be_stopped() {
    let error = paint_map(&two_blocks(1.0), &request(ColourBy::HouseIndex), &Stopped).unwrap_err();
    assert_eq!(error, MapError::Cancelled(Cancelled));
}

/// The texts that an SVG file shows, as its labels for people who cannot see it say them.
fn labels(svg: &str) -> Vec<String> {
    let label = |rest: &str| rest.split('"').next().unwrap().replace("&lt;", "<").replace("&amp;", "&");
    svg.split("aria-label=\"").skip(1).map(label).collect()
}

#[test]
fn the_svg_has_every_class_every_word_and_nothing_left_open() {
    for by in ColourBy::ALL {
        let request = MapRequest { format: Format::Svg, ..request(by) };
        let painted = paint_map(&two_blocks(100.0), &request, &Unwatched).unwrap();
        let svg = String::from_utf8(painted.bytes).unwrap();
        let texts = labels(&svg);
        for line in painted.classes.legend() {
            assert!(texts.contains(&line.label), "{by:?}: {} in {texts:?}", line.label);
        }
        assert!(texts.iter().any(|t| t == "N"), "{by:?}: the arrow to the north");
        assert!(texts.iter().any(|t| t.starts_with("Enter no yard without permission")));
        assert_eq!(svg.matches("<g").count(), svg.matches("</g>").count());
        let defined = |id: &str| svg.contains(&format!("id=\"{id}\""));
        for used in svg.split("href=\"#").skip(1) {
            let id: String = used.chars().take_while(char::is_ascii_alphanumeric).collect();
            assert!(defined(&id), "{id}");
        }
        for part in ["reach", "streets", "fills", "outlines", "signs", "street-names", "page"] {
            assert!(defined(part), "{part}");
        }
    }
}

/// Two blocks, their fills and their outlines: what a drawing program counts.
#[test]
fn blocks_are_shapes_of_their_own_ink() {
    let request = MapRequest { format: Format::Svg, ..request(ColourBy::HouseIndex) };
    let svg = String::from_utf8(paint_map(&two_blocks(100.0), &request, &Unwatched).unwrap().bytes).unwrap();
    let part = |name: &str| svg.split(&format!("<g id=\"{name}\">\n")).nth(1).unwrap().split("</g>").next().unwrap().to_owned();
    let hex = |c: Rgb| format!("#{:02x}{:02x}{:02x}", c.0, c.1, c.2);
    let fills = part("fills");
    assert_eq!(fills.matches("<path").count(), 2);
    assert!(fills.contains(&hex(BREEDING[0])) && fills.contains(&hex(BREEDING[4])) && !fills.contains(&hex(BREEDING[2])));
    // The twelve lots and two blocks, one subpath each.
    assert_eq!(part("outlines").matches('m').count(), 14);
}

/// ISO 32000-1, 7.5: a file begins with its version and ends with an end-of-file mark; 9.9: an embedded TrueType program is a FontFile2,
/// and a subset's name begins with six capitals and a plus.
#[test]
fn the_pdf_carries_the_type_it_uses_and_is_the_same_twice() {
    let request = MapRequest { format: Format::Pdf, ..request(ColourBy::Gaps) };
    let paint = || paint_map(&two_blocks(100.0), &request, &Unwatched).unwrap().bytes;
    let bytes = paint();
    assert!(bytes == paint());
    assert!(bytes.starts_with(b"%PDF-1.") && bytes.trim_ascii_end().ends_with(b"%%EOF"));
    let text = String::from_utf8_lossy(&bytes);
    assert!(text.contains("/FontFile2") && text.contains("+OpenSans"), "the type is embedded");
    assert!(text.contains("/MediaBox[0 0 600 450]"), "800 by 600 pixels are 600 by 450 points");
    assert!(bytes.len() < 150_000, "{}", bytes.len());
}

#[test]
fn small_pages_large_pages_one_premise_and_no_visit_are_drawn() {
    let lone = |visited: bool| {
        let mut s = two_blocks(1.0);
        let mut lot = Shapes::default();
        lot.push_view(s.premises.outline.get(3));
        (s.premises.outline, s.blocks.outline) = (Arc::new(lot), Arc::new(Shapes::default()));
        (s.premises.parcel_id, s.premises.address) = (Arc::new(["1"].into_iter().collect()), Arc::new([""].into_iter().collect()));
        (s.premises.block, s.blocks.block_id) = (Arc::new(vec![None]), Arc::default());
        s.visits = Visits::from_rows(1, if visited { vec![visited_at(0)] } else { Vec::new() });
        s
    };
    for format in Format::ALL {
        for (width, height) in [(400, 300), (400, 400), (400, 1200), (2000, 400), (6000, 4000)] {
            let request = MapRequest { format, size: MapSize::Pixels(width, height), ..request(ColourBy::Gaps) };
            assert!(!paint_map(&two_blocks(9.0), &request, &Unwatched).unwrap().bytes.is_empty(), "{format:?} {width} x {height}");
        }
        for by in ColourBy::ALL {
            for round in [Some(RoundId(0)), None] {
                let request = MapRequest { format, round, ..request(by) };
                assert!(!paint_map(&lone(round.is_some()), &request, &Unwatched).unwrap().bytes.is_empty(), "{format:?} {by:?}");
            }
        }
    }
}

/// With so few yards nothing is foreseen, and the map says why instead of showing chances.
#[test]
fn a_map_without_chances_says_why() {
    let request = MapRequest { format: Format::Svg, ..request(ColourBy::Foreseen) };
    let painted = paint_map(&two_blocks(100.0), &request, &Unwatched).unwrap();
    let refusal = painted.refusal.unwrap();
    let texts = labels(std::str::from_utf8(&painted.bytes).unwrap()).join(" ");
    assert!(texts.contains("No chances are shown") && texts.contains(&refusal), "{texts}");
    assert!(painted.classes.classes[..painted.classes.steps].iter().all(|c| c.count == 0));
}

const WEST: Rgb = Rgb(210, 60, 60);
const EAST: Rgb = Rgb(60, 60, 210);

/// Map tiles of two colours each round a place, named after whoever made them.
fn tiles_round(place: LonLat, path: &std::path::Path) -> Ground {
    let mut tile = tiny_skia::Pixmap::new(256, 256).unwrap();
    for (i, pixel) in tile.pixels_mut().iter_mut().enumerate() {
        let Rgb(r, g, b) = if i % 256 < 128 { WEST } else { EAST };
        *pixel = tiny_skia::PremultipliedColorU8::from_rgba(r, g, b, 255).unwrap();
    }
    let bytes = tile.encode_png().unwrap();
    let file = rusqlite::Connection::open(path).unwrap();
    file.execute_batch(
        "CREATE TABLE metadata (name TEXT, value TEXT);
         CREATE TABLE tiles (zoom_level INTEGER, tile_column INTEGER, tile_row INTEGER, tile_data BLOB);
         INSERT INTO metadata VALUES ('format', 'png'), ('attribution', 'Quillmere County &copy; 2025');",
    )
    .unwrap();
    let middle = WebTile::at(place, 18).unwrap();
    for (column, row) in (0..81).map(|k| (middle.column + k % 9 - 4, middle.row + k / 9 - 4)) {
        let from_south = WebTile::across(18) - 1 - row;
        file.execute("INSERT INTO tiles VALUES (18, ?1, ?2, ?3)", (column, from_south, &bytes)).unwrap();
    }
    Ground { file: Arc::new(TileFile::open(path).unwrap()) }
}

/// Below everything lies the ground, in every kind of file, and whoever made it is named; streets are left to its pictures.
#[test]
fn the_ground_lies_under_the_map_and_its_maker_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let survey = two_blocks(100.0);
    let ground = tiles_round(survey.frame.centre(), &folder.path().join("above.mbtiles"));
    let paint = |format, ground: Option<&Ground>| {
        let request = MapRequest { format, ground: ground.cloned(), ..request(ColourBy::Gaps) };
        paint_map(&survey, &request, &Unwatched).unwrap().bytes
    };
    let png = paint(Format::Png, Some(&ground));
    let found = [WEST, EAST].map(|c| of_colour(&png, c));
    assert!(found[0] > 20_000 && found[1] > 20_000, "{found:?} pixels of the tiles' two colours");
    assert!(png == paint(Format::Png, Some(&ground)), "the same twice");
    let svg = String::from_utf8(paint(Format::Svg, Some(&ground))).unwrap();
    assert!(labels(&svg).iter().any(|l| l == "Ground: Quillmere County © 2025"), "{:?}", labels(&svg));
    assert!(svg.contains("<image x=\"0\"") && svg.contains("data:image/") && svg.contains("<g id=\"streets\">\n</g>"));
    let (with, without) = (paint(Format::Pdf, Some(&ground)), paint(Format::Pdf, None));
    let holds = |pdf: &[u8]| String::from_utf8_lossy(pdf).contains("/Subtype/Image");
    assert!(holds(&with) && !holds(&without));
}

#[test]
fn tiles_of_another_place_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let elsewhere = tiles_round(LonLat { lon: 11.2, lat: 43.8 }, &folder.path().join("elsewhere.mbtiles"));
    let request = MapRequest { ground: Some(elsewhere), ..request(ColourBy::Gaps) };
    let error = paint_map(&two_blocks(100.0), &request, &Unwatched).unwrap_err();
    assert_eq!(error.to_string(), "elsewhere.mbtiles has no pictures of this district");
    assert!(error.hint().starts_with("Give a file of map tiles"));
}

/// Twelve yards: pupae in the third, larvae nowhere, its neighbours and all others not visited, so that they are gaps.
fn pupae_among_gaps() -> Survey {
    let mut s = two_blocks(100.0);
    let (visit, mut finds) = visited_at(2);
    finds[0] = Find { with_larvae: 1, with_pupae: 1, pupae: 7, ..finds[0].clone() };
    s.visits = Visits::from_rows(12, vec![(visit, finds)]);
    s.signals = Arc::default();
    s
}

/// The yard with pupae is 20 by 40 m, some 100 by 200 pixels, and shares both its long sides with gaps.
#[test]
fn the_edge_that_warns_is_not_hidden_by_its_neighbours() {
    let request = MapRequest { size: MapSize::Pixels(2400, 1800), ..request(ColourBy::Gaps) };
    let picture = pixels(&paint_map(&pupae_among_gaps(), &request, &Unwatched).unwrap().bytes);
    let (wide, high) = (picture.width() as usize, picture.height() as usize);
    let in_column = |x: usize, wanted: Rgb| {
        let is = |y: &usize| {
            let p = picture.pixels()[y * wide + x];
            Rgb(p.red(), p.green(), p.blue()) == wanted
        };
        (0..high).filter(is).count()
    };
    let dark = ink::of_marking(crate::survey::Marking::Pupae).fill.unwrap();
    // Its fill is the only high one of that colour: the swatch in the legend has some 36 pixels.
    let columns: Vec<usize> = (0..wide).filter(|&x| in_column(x, dark) > 60).collect();
    for side in [columns[0], *columns.last().unwrap()] {
        let most = |wanted: Rgb| (side - 6..side + 7).map(|x| in_column(x, wanted)).max().unwrap();
        assert!(most(ink::WARNING) > 100, "{} pixels warn at {side}", most(ink::WARNING));
        assert!(most(ink::GAP_EDGE) < 20, "{} pixels of a gap's edge lie over it at {side}", most(ink::GAP_EDGE));
    }
}

/// What is drawn over the yards is told: the reach, and from far out the dots of its sources, those with pupae in red.
#[test]
fn the_legend_tells_the_reach_and_its_dots() {
    let texts = |survey: &Survey, size| {
        let request = MapRequest { format: Format::Svg, size, ..request(ColourBy::Gaps) };
        labels(std::str::from_utf8(&paint_map(survey, &request, &Unwatched).unwrap().bytes).unwrap())
    };
    let has = |texts: &[String], wanted: &str| texts.iter().any(|t| t == wanted);
    let near = texts(&pupae_among_gaps(), MapSize::Pixels(800, 600));
    assert!(has(&near, "the reach, 30 m (33 yd)") && !has(&near, "source with pupae"), "{near:?}");
    let mut far = pupae_among_gaps();
    let lots = Arc::make_mut(&mut far.blocks.outline);
    lots.push_ring(&[(0.0, 9000.0), (20.0, 9000.0), (20.0, 9040.0), (0.0, 9040.0)].map(|(x, y)| Local { x, y }));
    lots.end_part();
    lots.end_shape();
    far.blocks.block_id = Arc::new(["A", "B", "C"].into_iter().collect());
    let far = texts(&far, MapSize::Pixels(800, 600));
    assert!(has(&far, "source with pupae") && !has(&far, "source"), "{far:?}");
    let mut none = pupae_among_gaps();
    none.visits = Visits::from_rows(12, Vec::new());
    let none = texts(&none, MapSize::Pixels(800, 600));
    assert!(!none.iter().any(|t| t.starts_with("the reach,")) && none.join(" ").contains("No positive yard is known"), "{none:?}");
}

/// The map of a part shows it larger, says so, and names the yards; a part without a yard is refused.
#[test]
fn a_part_of_the_district_is_shown_with_the_names_of_its_yards() {
    let survey = two_blocks(100.0);
    let paint = |part| paint_map(&survey, &MapRequest { format: Format::Svg, part, ..request(ColourBy::Coverage) }, &Unwatched);
    let svg = |part| String::from_utf8(paint(part).unwrap().bytes).unwrap();
    let here = |x: f64, y: f64, half: f64| Some(Bounds::of(&[Local { x: x - half, y: y - half }, Local { x: x + half, y: y + half }]));
    let (whole, part) = (svg(None), svg(here(40.0, 20.0, 40.0)));
    let told = "A part of the district is shown. All counts are of the whole district.";
    assert!(!labels(&whole).iter().any(|t| t == told) && labels(&part).iter().any(|t| t == told));
    let named = |svg: &str| labels(svg.split("<g id=\"house-numbers\">").nth(1).unwrap().split("<g id=").next().unwrap());
    // The fifth yard begins at the map's edge, which would cut its number.
    assert_eq!(named(&part), ["0", "1", "2", "3"], "four of the twelve yards lie in a part of 80 m");
    assert_eq!(paint(here(5000.0, 0.0, 40.0)).unwrap_err(), MapError::NothingThere);
}

/// A yard 967 km off is told and left out; the district is as large as without it.
#[test]
fn a_stray_yard_does_not_empty_the_map() {
    let (plain, mut survey) = (two_blocks(100.0), two_blocks(100.0));
    let mut outlines = (*survey.premises.outline).clone();
    outlines.push_ring(&[(0.0, 967_000.0), (20.0, 967_000.0), (20.0, 967_040.0), (0.0, 967_040.0)].map(|(x, y)| Local { x, y }));
    outlines.end_part();
    outlines.end_shape();
    survey.premises.outline = Arc::new(outlines);
    survey.premises.parcel_id = Arc::new((0..13).map(|i| i.to_string()).collect());
    survey.premises.address = Arc::new((0..13).map(|_| "").collect());
    survey.premises.block = Arc::new((0..12).map(|i| Some(BlockId(i / 6))).chain([None]).collect());
    survey.visits = Visits::from_rows(13, (0..11).map(visited_at).collect());
    let drawn = |survey: &Survey| of_colour(&paint_map(survey, &request(ColourBy::HouseIndex), &Unwatched).unwrap().bytes, BREEDING[4]);
    let (with, without) = (drawn(&survey), drawn(&plain));
    assert!(with * 10 > without * 8 && without > 4000, "{with} pixels of {without}");
    let svg = paint_map(&survey, &MapRequest { format: Format::Svg, ..request(ColourBy::Gaps) }, &Unwatched).unwrap().bytes;
    let texts = labels(std::str::from_utf8(&svg).unwrap());
    assert!(texts.iter().any(|t| t == "1 yard lies 967 km off: not on this map."), "{texts:?}");
}

/// Before the first visit nothing is counted, and what is not known is not called none.
#[test]
fn maps_without_visits_say_so() {
    let mut survey = two_blocks(100.0);
    survey.visits = Visits::from_rows(12, Vec::new());
    for by in ColourBy::ALL {
        let request = MapRequest { format: Format::Svg, ..request(by) };
        let painted = paint_map(&survey, &request, &Unwatched).unwrap();
        let texts = labels(std::str::from_utf8(&painted.bytes).unwrap()).join(" ");
        assert!(!texts.contains("not seen per") && !texts.contains("0 of 0") && !texts.contains("round 0"), "{by:?}: {texts}");
        assert_eq!(painted.refusal.is_some(), matches!(by, ColourBy::Foreseen | ColourBy::Change), "{by:?}");
        if by == ColourBy::Change {
            assert!(texts.contains("No change is shown A change needs two rounds.") && !texts.contains("rose by"), "{texts}");
        }
    }
}
