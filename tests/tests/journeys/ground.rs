//! Pictures under the survey: chosen, drawn where they belong, named at the foot, gone again.

use crate::office::{ask, quillmere, rests, settle, window};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use std::path::{Path, PathBuf};
use yardring::action::{Action, MapAction};
use yardring::app::App;
use yardring::map::Camera;
use yardring_core::place::{Local, WebTile};

const SIZE: [f32; 2] = [1280.0, 800.0];

fn says(window: &Harness<'static, App>, words: &str) -> bool {
    window.query_all_by_label_contains(words).next().is_some()
}

/// A tile of one colour in its west half and another in its east half.
fn tile(west: [u8; 3], east: [u8; 3]) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(256, 256, |x, _| image::Rgb(if x < 128 { west } else { east }));
    let mut out = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut out, image::ImageFormat::Png).unwrap();
    out.into_inner()
}

const WEST: [u8; 3] = [210, 60, 60];
const EAST: [u8; 3] = [60, 60, 210];

/// Map tiles over the middle of the district at one zoom, all alike.
fn tiles_over_quillmere(path: &Path, zoom: u8) -> WebTile {
    let file = rusqlite::Connection::open(path).unwrap();
    file.execute_batch(
        "CREATE TABLE metadata (name TEXT, value TEXT);
         CREATE TABLE tiles (zoom_level INTEGER, tile_column INTEGER, tile_row INTEGER, tile_data BLOB);
         INSERT INTO metadata VALUES ('name', 'Quillmere from above'), ('format', 'png'), ('attribution', '<a href=\"x\">Quillmere County</a> &copy; 2025');",
    )
    .unwrap();
    let middle = WebTile::at(quillmere().1.frame.centre(), zoom).unwrap();
    for column in middle.column - 4..=middle.column + 4 {
        for row in middle.row - 4..=middle.row + 4 {
            let from_south = WebTile::across(zoom) - 1 - row;
            let bytes = tile(WEST, EAST);
            file.execute("INSERT INTO tiles VALUES (?1, ?2, ?3, ?4)", (zoom, column, from_south, bytes)).unwrap();
        }
    }
    middle
}

/// Where the map of a window draws a place, in pixels.
fn on_screen(window: &Harness<'static, App>, place: Local) -> (u32, u32) {
    let rect = window.get_by_label("Map").rect();
    let look = window.state().session().trail.now().unwrap();
    let camera = Camera { rect, centre: look.centre, points_per_metre: yardring::map::points_per_metre(look.zoom) };
    let at = camera.on_screen(place);
    (at.x.round() as u32, at.y.round() as u32)
}

#[test]
fn tiles_lie_where_they_belong_and_their_maker_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("above.mbtiles");
    let tile = tiles_over_quillmere(&path, 16);
    let mut window = window(SIZE, Some(quillmere().0));
    ask(&mut window, Action::Map(MapAction::LayGround(path)));
    // A place outside all yards, blocks and streets, so that nothing lies over the tiles there.
    let frame = quillmere().1.frame;
    ask(&mut window, Action::ShowPlace(Local { x: 700.0, y: 700.0 }));
    settle(&mut window);
    let picture = window.render().unwrap();
    let mut seen = 0;
    for (column, row) in (0..5).flat_map(|c| (0..5).map(move |r| (tile.column - 2 + c, tile.row - 2 + r))) {
        let there = WebTile { zoom: 16, column, row };
        for (share, wanted) in [(0.25, WEST), (0.75, EAST)] {
            let (x, y) = on_screen(&window, frame.local_from_lon_lat(there.place(share, 0.5)));
            let map = window.get_by_label("Map").rect().shrink(8.0);
            if map.contains(egui::pos2(x as f32, y as f32)) {
                let pixel = picture.get_pixel(x, y).0;
                let like = pixel[..3].iter().zip(wanted).all(|(a, b)| a.abs_diff(b) < 12);
                seen += u32::from(like);
            }
        }
    }
    assert!(seen >= 3, "{seen} places show the tile that belongs there");
    assert!(window.try_run().unwrap() <= 2 && rests(&window), "a window over pictures of the ground asks for frames while nobody moves it");
    let ground = window.state().session().ground.clone().unwrap();
    assert_eq!(ground.source.attribution(), "Ground: Quillmere County © 2025");
    ask(&mut window, Action::Map(MapAction::NoGround));
    assert!(window.state().session().ground.is_none());
    assert_ne!(window.render().unwrap(), picture);
}

fn real(name: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data/basemap").join(name);
    if path.exists() {
        return Some(path);
    }
    println!("passed over: {name} is not beside the checkout");
    None
}

#[test]
fn files_that_cannot_be_drawn_are_told_over_the_map() {
    for (name, words) in
        [("invalid_v4.pmtiles", "only version 3 is read"), ("protomaps_firenze.pmtiles", "vector tiles, which are not drawn")]
    {
        let Some(path) = real(name) else { return };
        let mut window = window(SIZE, Some(quillmere().0));
        ask(&mut window, Action::Map(MapAction::LayGround(path)));
        assert!(says(&window, words), "{name}");
        assert!(window.state().session().ground.is_none());
        window.get_by_label("Understood").click();
        settle(&mut window);
        assert!(!says(&window, words));
    }
}

#[test]
fn a_real_file_elsewhere_on_the_earth_leaves_the_map_as_it_is() {
    let Some(path) = real("usgs-mt-whitney-8-15-webp-512.pmtiles") else { return };
    let mut window = window(SIZE, Some(quillmere().0));
    ask(&mut window, Action::Map(MapAction::LayGround(path)));
    assert!(window.state().session().ground.as_ref().unwrap().in_view().is_empty());
}

/// A server on this machine that answers every request for a tile in the same way, and says what was asked.
fn server(answer: Vec<u8>) -> (String, std::sync::mpsc::Receiver<String>) {
    use std::io::{Read as _, Write as _};
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("http://{}/{{z}}/{{x}}/{{y}}.png", listener.local_addr().unwrap());
    let (tell, told) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        for stream in listener.incoming() {
            let Ok(mut stream) = stream else { return };
            let mut asked = [0; 2048];
            let n = stream.read(&mut asked).unwrap_or(0);
            let _ = tell.send(String::from_utf8_lossy(&asked[..n]).into_owned());
            let _ = stream.write_all(&answer);
        }
    });
    (address, told)
}

fn answer(status: &str, body: &[u8]) -> Vec<u8> {
    let head = format!("HTTP/1.1 {status}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n", body.len());
    [head.as_bytes(), body].concat()
}

#[test]
fn tiles_of_a_server_come_once_somebody_agreed_and_politely() {
    let (address, asked) = server(answer("200 OK", &tile(WEST, EAST)));
    let mut window = window(SIZE, Some(quillmere().0));
    assert!(asked.try_recv().is_err(), "nothing is asked unasked");
    ask(&mut window, Action::Map(MapAction::LayOnline(address, "The makers of these tiles".to_owned())));
    for _ in 0..20 {
        settle(&mut window);
    }
    let ground = window.state().session().ground.clone().unwrap();
    assert!(!ground.in_view().is_empty() && ground.missing().is_empty());
    assert_eq!(ground.source.attribution(), "Ground: The makers of these tiles");
    let requests: Vec<String> = asked.try_iter().collect();
    assert_eq!(requests.len(), ground.tiles.len(), "each tile is asked for once");
    assert!(requests.iter().all(|r| r.to_lowercase().contains("user-agent: yardring/")), "{}", requests[0]);
}

#[test]
fn a_server_that_fails_is_switched_off_at_once_and_named() {
    let (address, _asked) = server(answer("503 Service Unavailable", b""));
    let mut window = window(SIZE, Some(quillmere().0));
    ask(&mut window, Action::Map(MapAction::LayOnline(address, String::new())));
    assert!(window.state().session().ground.is_none());
    assert!(says(&window, "The ground is switched off: 127.0.0.1") && says(&window, "status 503"));
    // No server there at all.
    let closed = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    ask(&mut window, Action::Map(MapAction::LayOnline(format!("http://{closed}/{{z}}/{{x}}/{{y}}.png"), String::new())));
    assert!(window.state().session().ground.is_none() && says(&window, "cannot be reached"));
    ask(&mut window, Action::Map(MapAction::LayOnline("nonsense".to_owned(), String::new())));
    assert!(says(&window, "begins with https://"));
}
