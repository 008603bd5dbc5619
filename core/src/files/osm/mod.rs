//! Files of OpenStreetMap as streets: its binary form (.osm.pbf) and its XML (.osm, also packed by gzip or bzip2).
//!
//! Rows are the ways that are roads or paths; everything else is counted and passed over.

mod pbf;
mod xml;

use super::columns::{Columns, ROOM};
use super::sketch::{Batch, Unusable};
use super::{FileError, ShapeKind, Table};
use crate::job::Watch;
use crate::place::Crs;
use std::io::{BufReader, Read as _};

/// The columns of the table; OpenStreetMap's own keys but for the id.
const COLUMNS: [&str; 7] = ["osm_id", "name", "highway", "layer", "bridge", "tunnel", "service"];
/// The most places that are kept: those of a large metropolitan area.
const MOST_NODES: usize = 16_000_000;
/// What a packed file may unpack to, in bytes.
const MOST_UNPACKED: u64 = 4 << 30;
/// Values of `highway` that are no way on the ground today.
const NOT_THERE: [&str; 9] =
    ["proposed", "construction", "abandoned", "razed", "platform", "bus_stop", "services", "rest_area", "elevator"];

/// How an OpenStreetMap file is packed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Packing {
    Binary,
    Plain,
    Gzip,
    Bzip2,
}

/// How a file is packed, by its first bytes and, for packed XML, its name; `None` when it is no such file.
pub(super) fn sniff(start: &[u8], path: &str) -> Option<Packing> {
    let lower = path.to_lowercase();
    let said = |ending: &str| lower.ends_with(ending);
    if start.get(4..).is_some_and(|rest| rest.starts_with(b"\x0a\x09OSMHeader")) {
        return Some(Packing::Binary);
    }
    if start.starts_with(b"\x1f\x8b") && said(".osm.gz") {
        return Some(Packing::Gzip);
    }
    if start.starts_with(b"BZh") && said(".osm.bz2") {
        return Some(Packing::Bzip2);
    }
    let text = String::from_utf8_lossy(start);
    (text.contains("<osm") || (text.trim_start_matches('\u{feff}').starts_with("<?xml") && said(".osm"))).then_some(Packing::Plain)
}

/// Reads the roads and paths.
///
/// # Errors
/// [`FileError`] when the file is broken where nothing behind can be read, holds no road, or when somebody stopped it.
pub(super) fn read(file: &str, name: String, bytes: &[u8], packing: Packing, watch: &dyn Watch) -> Result<Table, FileError> {
    let mut map = Map::new(file);
    match packing {
        Packing::Binary => pbf::read(bytes, &mut map, watch)?,
        Packing::Plain => xml::read(bytes, &mut map, watch)?,
        Packing::Gzip => xml::read(BufReader::new(flate2::bufread::MultiGzDecoder::new(bytes).take(MOST_UNPACKED)), &mut map, watch)?,
        Packing::Bzip2 => xml::read(BufReader::new(bzip2::bufread::MultiBzDecoder::new(bytes).take(MOST_UNPACKED)), &mut map, watch)?,
    }
    map.into_table(name.trim_end_matches(".osm").to_owned())
}

/// A road or path.
#[derive(Debug, Default)]
struct Way {
    id: i64,
    /// What stands in each of the columns but the first.
    tags: [Box<str>; 6],
    nodes: Vec<i64>,
}

/// What is kept of a file while it is read.
#[derive(Debug)]
struct Map<'a> {
    file: &'a str,
    /// Id, longitude and latitude in ten-millionths of a degree, which is what OpenStreetMap itself keeps.
    nodes: Vec<(i64, [i32; 2])>,
    ways: Vec<Way>,
    /// Ways that are no road or path.
    others: usize,
}

/// Units of a coordinate in a degree.
const UNITS: f64 = 1e7;

impl<'a> Map<'a> {
    fn new(file: &'a str) -> Self {
        Self { file, nodes: Vec::new(), ways: Vec::new(), others: 0 }
    }

    fn broken(&self, place: impl Into<String>, expected: &str, found: impl ToString) -> FileError {
        FileError::broken(self.file, place, expected, found.to_string())
    }

    /// Keeps the place of a node.
    fn node(&mut self, id: i64, lon: f64, lat: f64) -> Result<(), FileError> {
        if self.nodes.len() == MOST_NODES {
            let what = format!("holds more than {MOST_NODES} places, the most that are read");
            return Err(FileError::TooBig { file: self.file.to_owned(), what });
        }
        if lon.abs() <= 180.0 && lat.abs() <= 90.0 {
            self.nodes.push((id, [lon, lat].map(|degrees| (degrees * UNITS).round() as i32)));
        }
        Ok(())
    }

    /// Keeps a way when it is a road or path that is there.
    fn way(&mut self, id: i64, nodes: Vec<i64>, tags: &[(&str, &str)]) {
        let tag = |key: &str| tags.iter().find(|t| t.0 == key).map_or("", |t| t.1);
        let highway = tag("highway");
        if highway.is_empty() || NOT_THERE.contains(&highway) || tag("area") == "yes" {
            self.others += 1;
            return;
        }
        let of = |k: usize| tag(COLUMNS[k + 1]).into();
        self.ways.push(Way { id, nodes, tags: std::array::from_fn(of) });
    }

    fn into_table(mut self, name: String) -> Result<Table, FileError> {
        if self.ways.is_empty() {
            let what = format!("holds no road or path ({} other ways, {} places)", self.others, self.nodes.len());
            return Err(FileError::NotRead { file: self.file.to_owned(), what, instead: "Give an extract that has the key 'highway'" });
        }
        self.nodes.sort_by_key(|n| n.0);
        self.ways.sort_by_key(|w| w.id);
        let (mut batch, mut missing) = (Batch::default(), 0);
        let mut cells = Columns::named(COLUMNS.iter().map(|c| (*c).to_owned()).collect(), ROOM);
        for way in &self.ways {
            batch.row(|pen| {
                pen.member(ShapeKind::Line, |pen| {
                    for run in runs(&self.nodes, way, &mut missing) {
                        run.iter().try_for_each(|p| pen.place(p[0], p[1]))?;
                        pen.end_run();
                    }
                    Ok::<(), Unusable>(())
                })
            });
            cells.next_row();
            cells.put(0, &way.id.to_string());
            way.tags.iter().enumerate().for_each(|(k, tag)| cells.put(k + 1, tag));
        }
        let Batch { shapes, kinds, unusable, remarks } = batch;
        let mut notes = remarks.notes();
        notes.push(format!("map data of OpenStreetMap and its contributors; {} ways that are no road or path were passed over", self.others));
        if missing > 0 {
            notes.push(format!("{missing} places of roads lie outside the extract; the roads are cut there"));
        }
        let rows = self.ways.len();
        let (columns, cells) = cells.into_cells(&mut notes);
        Ok(Table { name, crs: Some(Crs::Wgs84), columns, rows, cells: Box::new(cells), kinds, shapes, unusable, notes })
    }
}

/// The places of a way, parted where the file does not hold one.
fn runs(nodes: &[(i64, [i32; 2])], way: &Way, missing: &mut usize) -> Vec<Vec<[f64; 2]>> {
    let mut runs: Vec<Vec<[f64; 2]>> = vec![Vec::new()];
    for id in &way.nodes {
        match nodes.binary_search_by_key(id, |n| n.0) {
            Ok(i) => {
                let place = nodes[i].1.map(|units| f64::from(units) / UNITS);
                runs.last_mut().into_iter().for_each(|run| run.push(place));
            }
            Err(_) => {
                *missing += 1;
                runs.push(Vec::new());
            }
        }
    }
    runs.retain(|run| run.len() > 1);
    runs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;
    use std::path::PathBuf;

    const SMALL: &str = r#"<?xml version="1.0"?><osm version="0.6">
        <node id="1" lon="-90.0" lat="30.0"/><node id="2" lon="-90.001" lat="30.0"><tag k="highway" v="crossing"/></node>
        <node id="3" lon="-90.002" lat="30.001"/>
        <way id="20"><nd ref="1"/><nd ref="2"/><nd ref="9"/><nd ref="3"/><nd ref="2"/><tag k="highway" v="residential"/><tag k="name" v="Sedge &amp; Rush Road"/></way>
        <way id="10"><nd ref="3"/><nd ref="1"/><tag k="highway" v="primary"/><tag k="layer" v="1"/></way>
        <way id="11"><nd ref="3"/><nd ref="1"/><tag k="building" v="yes"/></way>
        <way id="12"><nd ref="3"/><nd ref="1"/><tag k="highway" v="proposed"/></way></osm>"#;

    fn small() -> Table {
        read("a.osm", "a".to_owned(), SMALL.as_bytes(), Packing::Plain, &Unwatched).unwrap()
    }

    #[test]
    fn roads_are_rows_and_are_cut_where_the_extract_ends() {
        let t = small();
        assert_eq!((t.rows, t.kinds.clone(), t.crs.clone()), (2, vec![ShapeKind::Line; 2], Some(Crs::Wgs84)));
        let cell = |row, name| t.cell(row, t.column(name).unwrap()).into_owned();
        assert_eq!((cell(0, "osm_id"), cell(0, "layer"), cell(0, "highway")), ("10".to_owned(), "1".to_owned(), "primary".to_owned()));
        assert_eq!(cell(1, "name"), "Sedge & Rush Road");
        assert_eq!(t.shapes.xy[2..], [[-90.0, 30.0], [-90.001, 30.0], [-90.002, 30.001], [-90.001, 30.0]]);
        assert_eq!(t.shapes.ring_ends, [2, 4, 6]);
        assert!(t.notes.iter().any(|n| n.starts_with("1 places")) && t.notes.iter().any(|n| n.contains("2 ways")), "{:?}", t.notes);
    }

    /// The bytes of a field: its number, then a length and bytes.
    fn field(number: u8, bytes: &[u8]) -> Vec<u8> {
        [&[number << 3 | 2], varint(bytes.len()).as_slice(), bytes].concat()
    }

    fn varint(mut n: usize) -> Vec<u8> {
        let mut out = Vec::new();
        while n >= 128 {
            out.push(n as u8 | 128);
            n >>= 7;
        }
        out.push(n as u8);
        out
    }

    fn zigzag(n: i64) -> Vec<u8> {
        varint(((n << 1) ^ (n >> 63)) as usize)
    }

    fn blob(kind: &str, content: &[u8]) -> Vec<u8> {
        let body = field(1, content);
        let head = [field(1, kind.as_bytes()), vec![3 << 3], varint(body.len())].concat();
        [&(head.len() as u32).to_be_bytes()[..], &head, &body].concat()
    }

    /// Two places and a road between them, written by hand as the format asks.
    fn small_pbf() -> Vec<u8> {
        let texts = ["", "highway", "residential", "name", "Sedge Road"].map(|t| field(1, t.as_bytes())).concat();
        let list = |numbers: &[i64]| numbers.iter().flat_map(|n| zigzag(*n)).collect::<Vec<u8>>();
        let dense = [field(1, &list(&[1, 1])), field(8, &list(&[300_000_000, 10])), field(9, &list(&[-900_000_000, -20]))].concat();
        let way = [vec![1 << 3, 7], field(2, &[1, 3]), field(3, &[2, 4]), field(8, &list(&[1, 1]))].concat();
        let group = [field(2, &dense), field(3, &way)].concat();
        let block = [field(1, &texts), field(2, &group)].concat();
        [blob("OSMHeader", b""), blob("OSMData", &block)].concat()
    }

    #[test]
    fn the_binary_form_holds_the_same() {
        let bytes = small_pbf();
        assert_eq!(sniff(&bytes, "a.osm.pbf"), Some(Packing::Binary));
        let t = read("a.osm.pbf", "a.osm".to_owned(), &bytes, Packing::Binary, &Unwatched).unwrap();
        assert_eq!((t.name.as_str(), t.rows, t.cell(0, 0).into_owned(), t.cell(0, 1).into_owned()), ("a", 1, "7".into(), "Sedge Road".into()));
        assert_eq!(t.shapes.xy, [[-90.0, 30.0], [-90.000_002, 30.000_001]]);
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        for (whole, packing) in [(small_pbf(), Packing::Binary), (SMALL.as_bytes().to_vec(), Packing::Plain)] {
            for n in 0..whole.len() * 8 {
                let mut bytes = whole.clone();
                bytes[n / 8] ^= 1 << (n % 8);
                for bytes in [&bytes[..], &whole[..n / 8]] {
                    let Ok(t) = read("a", "a".to_owned(), bytes, packing, &Unwatched) else { continue };
                    assert!(t.kinds.len() == t.rows && t.shapes.xy.len() <= whole.len());
                }
            }
        }
    }

    #[test]
    fn a_map_without_roads_is_told() {
        let told = read("a.osm", "a".to_owned(), b"<osm></osm>", Packing::Plain, &Unwatched).unwrap_err().to_string();
        assert!(told.contains("no road or path"), "{told}");
    }

    /// Reference: the counts of ways with the key `highway` in the list that came with the files (OpenStreetMap data, ODbL), from
    /// which ways that are not there today are missing here.
    #[test]
    fn open_data_is_read_whole() {
        let data = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../shared/data/osm");
        if !data.is_dir() {
            println!("skipped: no shared data beside the workspace");
            return;
        }
        for (name, ways) in
            [("baltimore.osm.pbf", 3841), ("monaco.osm.gz", 860), ("West-Oakland.osm.bz2", 31), ("beatty_nv.osm", 170), ("abst_turn_restriction.osm", 16)]
        {
            let t = crate::files::read(&data.join(name), None, &Unwatched).unwrap();
            assert!(t.rows <= ways && t.rows * 20 >= ways * 19, "{name}: {} of {ways}", t.rows);
            assert!(t.unusable.is_empty() && t.shapes.xy.len() > 2 * t.rows);
        }
    }
}
