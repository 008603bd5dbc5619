//! GeoJSON: feature collections, single features and bare geometries.
//!
//! # Source
//! RFC 7946; the `crs` member of the 2008 description, which it replaced, is obeyed where a file has one.

use super::columns::{Columns, ROOM};
use super::json::{Json, Wrong};
use super::sketch::{Batch, Pen, Unusable, rows_in_words};
use super::{FileError, ShapeKind, Table, text};
use crate::job::{Cancelled, Watch};
use crate::place::Crs;
use rayon::prelude::*;
use std::borrow::Cow;

/// Features that one worker reads at a time.
const CHUNK: usize = 1024;
/// Collections within collections that are followed.
const DEEPEST: u8 = 16;
const GEOMETRIES: [&str; 7] = ["Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection"];

/// Whether some bytes begin as JSON does.
pub(super) fn sniff(start: &[u8]) -> bool {
    let (start, _) = text::whole(start.to_vec());
    start.trim_start().starts_with(['{', '['])
}

/// Reads all features.
///
/// # Errors
/// [`FileError`] when it is no JSON, no GeoJSON, or when somebody stopped it.
pub(super) fn read(file: &str, name: String, bytes: Vec<u8>, watch: &dyn Watch) -> Result<Table, FileError> {
    let (text, note) = text::whole(bytes);
    watch.step("reading features", 0, 0)?;
    let top = Top::of(&text).map_err(|w| broken(file, &text, w))?;
    let mut notes: Vec<String> = note.into_iter().collect();
    let features = top.features(file, &text, &mut notes)?;
    let crs = top.crs.map_or(Some(Crs::Wgs84), |c| named_crs(c, &mut notes));
    let Part { batch, columns, odd_properties, left_out } = Part::of_all(&features, watch)?;
    notes.extend(batch.remarks.notes());
    if odd_properties > 0 {
        notes.push(format!("{} with properties that are no object: left empty", rows_in_words(odd_properties)));
    }
    if left_out > 0 {
        notes.push(format!("{left_out} of the list's {} items are no features: left out", features.len()));
    }
    let rows = features.len() - left_out;
    let (columns, cells) = columns.into_cells(&mut notes);
    let Batch { shapes, kinds, unusable, .. } = batch;
    Ok(Table { name, crs, columns, rows, cells: Box::new(cells), kinds, shapes, unusable, notes })
}

fn broken(file: &str, text: &str, wrong: Wrong) -> FileError {
    let line = text.as_bytes()[..wrong.at.min(text.len())].iter().filter(|&&b| b == b'\n').count() + 1;
    let found = text.get(wrong.at..).and_then(|rest| rest.chars().next());
    let found = found.map_or("the end of the file".to_owned(), |c| format!("'{}'", c.escape_default()));
    FileError::broken(file, format!("line {line}, byte {}", wrong.at), wrong.expected, found)
}

/// The members of the outermost object.
#[derive(Default)]
struct Top<'a> {
    kind: Cow<'a, str>,
    crs: Option<&'a str>,
    features: Option<Vec<&'a str>>,
}

impl<'a> Top<'a> {
    fn of(text: &'a str) -> Result<Self, Wrong> {
        let mut json = Json::new(text);
        let mut top = Self::default();
        if json.peek() != Some(b'{') {
            // Is it JSON at all? If so, it is the wrong JSON.
            json.skip()?;
            json.end()?;
            return Ok(top);
        }
        json.members(|name, json| match (name, json.peek()) {
            ("type", Some(b'"')) => json.string().map(|t| top.kind = t),
            ("crs", _) => json.skip().map(|c| top.crs = Some(c)),
            ("features", Some(b'[')) => {
                let mut features = Vec::new();
                json.items(|json| json.skip().map(|f| features.push(f)))?;
                top.features = Some(features);
                Ok(())
            }
            _ => json.skip().map(|_| ()),
        })?;
        json.end()?;
        Ok(top)
    }

    fn features(&self, file: &str, text: &'a str, notes: &mut Vec<String>) -> Result<Vec<&'a str>, FileError> {
        let expected = "a FeatureCollection, a Feature or a geometry";
        match (self.kind.as_ref(), &self.features) {
            ("FeatureCollection", Some(features)) => Ok(features.clone()),
            ("FeatureCollection", None) => Err(FileError::broken(file, "byte 0", "a list of features", "a collection without one")),
            ("Feature", _) => Ok(vec![text]),
            (kind, _) if GEOMETRIES.contains(&kind) => Ok(vec![text]),
            ("Topology", _) => Err(FileError::NotRead {
                file: file.to_owned(),
                what: "this is TopoJSON, which is not read".to_owned(),
                instead: "Save it as GeoJSON",
            }),
            ("", Some(features)) => {
                notes.push("it does not say that it is a FeatureCollection: read as one".to_owned());
                Ok(features.clone())
            }
            ("", None) => Err(FileError::broken(file, "byte 0", expected, "JSON without such a type")),
            (kind, _) => {
                Err(FileError::broken(file, "byte 0", expected, format!("the type '{}'", kind.chars().take(40).collect::<String>())))
            }
        }
    }
}

/// What the old `crs` member names; a note says that it was obeyed, or that it could not be.
fn named_crs(member: &str, notes: &mut Vec<String>) -> Option<Crs> {
    let value: serde_json::Value = serde_json::from_str(member).unwrap_or_default();
    let properties = &value["properties"];
    let name = properties["name"].as_str().map(str::to_owned).or_else(|| properties["code"].as_u64().map(|n| format!("EPSG:{n}")));
    if value.is_null() || name.as_deref().is_some_and(|n| n.to_ascii_uppercase().ends_with("CRS84")) {
        return Some(Crs::Wgs84);
    }
    let number = name.as_deref().filter(|n| n.to_ascii_uppercase().contains("EPSG")).and_then(|n| n.rsplit([':', '/', '#']).next());
    let crs = number.and_then(|n| Crs::from_code(n).ok());
    match &crs {
        Some(Crs::Wgs84) => {}
        Some(crs) => notes.push(format!("its old crs member names {crs}: obeyed, though GeoJSON should be in degrees on WGS 84")),
        None => notes.push(format!("its crs member names no known coordinate system: {}", name.as_deref().unwrap_or("no name"))),
    }
    crs
}

/// Some features in a row.
struct Part {
    batch: Batch,
    columns: Columns,
    odd_properties: usize,
    left_out: usize,
}

/// What one feature holds.
#[derive(Default)]
struct Feature<'a> {
    kind: Cow<'a, str>,
    id: Option<&'a str>,
    geometry: Option<&'a str>,
    properties: Option<&'a str>,
}

impl Part {
    fn with_room(room: usize) -> Self {
        Self { batch: Batch::default(), columns: Columns::with_room(room), odd_properties: 0, left_out: 0 }
    }

    /// Reads all features, several workers at a time, and puts them together in their order.
    fn of_all(features: &[&str], watch: &dyn Watch) -> Result<Self, Cancelled> {
        let read = |(i, chunk): (usize, &[&str])| {
            watch.step("reading features", (i * CHUNK) as u64, features.len() as u64)?;
            let bytes: usize = chunk.iter().map(|f| f.len()).sum();
            let mut part = Self::with_room(ROOM * chunk.len() / features.len() + bytes / 4);
            chunk.iter().for_each(|f| part.take(f));
            Ok(part)
        };
        let parts: Result<Vec<Self>, Cancelled> = features.par_chunks(CHUNK).enumerate().map(read).collect();
        let (mut batches, mut all) = (Vec::new(), Self::with_room(ROOM));
        for part in parts? {
            batches.push(part.batch);
            all.columns.append(part.columns);
            all.odd_properties += part.odd_properties;
            all.left_out += part.left_out;
        }
        all.batch = Batch::join(batches, watch)?;
        Ok(all)
    }

    fn take(&mut self, text: &str) {
        let bare = |f: &Feature<'_>| GEOMETRIES.contains(&f.kind.as_ref());
        let Some(feature) = Feature::of(text).ok().filter(|f| f.kind == "Feature" || f.kind.is_empty() || bare(f)) else {
            self.left_out += 1;
            return;
        };
        self.batch.row(|pen| match feature.geometry {
            _ if bare(&feature) => geometry(text, pen, 0),
            None | Some("null") => Ok(()),
            Some(drawn) => geometry(drawn, pen, 0),
        });
        self.columns.next_row();
        if let Some(id) = feature.id {
            self.columns.set("id", &cell(id));
        }
        match feature.properties {
            Some(p) if p.starts_with('{') => {
                let read = Json::new(p).members(|name, json| json.skip().map(|value| self.columns.set(name, &cell(value))));
                self.odd_properties += usize::from(read.is_err());
            }
            None | Some("null") => {}
            Some(_) => self.odd_properties += 1,
        }
    }
}

impl<'a> Feature<'a> {
    fn of(text: &'a str) -> Result<Self, Wrong> {
        let mut out = Self::default();
        Json::new(text).members(|name, json| match (name, json.peek()) {
            ("type", Some(b'"')) => json.string().map(|t| out.kind = t),
            ("id", _) => json.skip().map(|v| out.id = Some(v)),
            ("geometry", _) => json.skip().map(|v| out.geometry = Some(v)),
            ("properties", _) => json.skip().map(|v| out.properties = Some(v)),
            _ => json.skip().map(|_| ()),
        })?;
        Ok(out)
    }
}

/// A value as a cell: strings without their marks, numbers as written but whole ones without `.0`, null as nothing,
/// anything else as JSON.
fn cell(value: &str) -> Cow<'_, str> {
    match value.as_bytes().first() {
        Some(b'"') => Json::new(value).string().unwrap_or_default(),
        Some(b'n') => Cow::Borrowed(""),
        Some(b'-' | b'0'..=b'9') => Cow::Borrowed(value.strip_suffix(".0").unwrap_or(value)),
        _ => Cow::Borrowed(value),
    }
}

impl From<Wrong> for Unusable {
    fn from(wrong: Wrong) -> Self {
        format!("is not nested as its type needs: expected {}", wrong.expected).into()
    }
}

fn geometry(text: &str, pen: &mut Pen<'_>, depth: u8) -> Result<(), Unusable> {
    let (mut kind, mut coordinates, mut geometries) = (Cow::Borrowed(""), None, None);
    Json::new(text).members(|name, json| match (name, json.peek()) {
        ("type", Some(b'"')) => json.string().map(|t| kind = t),
        ("coordinates", _) => json.skip().map(|c| coordinates = Some(c)),
        ("geometries", _) => json.skip().map(|g| geometries = Some(g)),
        _ => json.skip().map(|_| ()),
    })?;
    if kind == "GeometryCollection" {
        let members = geometries.ok_or("is a collection without geometries")?;
        if depth == DEEPEST {
            return Err("has collections nested too deep".into());
        }
        return Json::new(members).items(|json| geometry(json.skip()?, pen, depth + 1));
    }
    if !GEOMETRIES.contains(&kind.as_ref()) {
        return Err(if kind.is_empty() { "has no type".into() } else { format!("is of the unknown type '{kind}'").into() });
    }
    let mut json = Json::new(coordinates.ok_or("has no coordinates")?);
    match kind.as_ref() {
        "Point" if json.skip()?.trim_matches(['[', ']', ' ', '\n', '\r', '\t']).is_empty() => Ok(()),
        "Point" => pen.member(ShapeKind::Point, |pen| point(&mut Json::new(coordinates.unwrap_or_default()), pen)),
        "MultiPoint" => pen.member(ShapeKind::Point, |pen| json.items(|json| point(json, pen))),
        "LineString" => pen.member(ShapeKind::Line, |pen| line(&mut json, pen)),
        "MultiLineString" => pen.member(ShapeKind::Line, |pen| json.items(|json| line(json, pen))),
        "Polygon" => pen.member(ShapeKind::Polygon, |pen| polygon(&mut json, pen)),
        _ => pen.member(ShapeKind::Polygon, |pen| json.items(|json| polygon(json, pen))),
    }
}

/// One place: the first two numbers of an array of numbers.
fn place(json: &mut Json<'_>, pen: &mut Pen<'_>) -> Result<(), Unusable> {
    let (mut xy, mut count) = ([f64::NAN; 2], 0);
    json.items(|json| {
        if !matches!(json.peek(), Some(b'-' | b'0'..=b'9')) {
            return Err(Unusable::from("has a coordinate that is not a number"));
        }
        let number = json.number_text()?;
        if let Some(slot) = xy.get_mut(count) {
            *slot = number.parse().unwrap_or(f64::NAN);
        }
        count += 1;
        Ok(())
    })?;
    match count {
        0 | 1 => return Err("has a place with fewer than two numbers".into()),
        2 => {}
        _ => pen.without_heights(),
    }
    pen.place(xy[0], xy[1])
}

fn point(json: &mut Json<'_>, pen: &mut Pen<'_>) -> Result<(), Unusable> {
    place(json, pen)?;
    pen.end_run();
    Ok(())
}

fn line(json: &mut Json<'_>, pen: &mut Pen<'_>) -> Result<(), Unusable> {
    json.items(|json| place(json, pen))?;
    pen.end_run();
    Ok(())
}

fn polygon(json: &mut Json<'_>, pen: &mut Pen<'_>) -> Result<(), Unusable> {
    json.items(|json| {
        json.items(|json| place(json, pen))?;
        pen.end_ring();
        Ok::<(), Unusable>(())
    })?;
    pen.end_part();
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Unwatched;

    fn table(text: &str) -> Table {
        read("a.geojson", "a".to_owned(), text.as_bytes().to_vec(), &Unwatched).unwrap()
    }

    const SMALL: &str = r#"{"type": "FeatureCollection", "features": [
        {"type": "Feature", "id": 7, "properties": {"a": "x", "n": 3.0, "deep": {"k": [1]}},
         "geometry": {"type": "Polygon", "coordinates": [[[0,0],[9,0],[9,9],[0,0]], [[5,1],[6,1],[6,2],[5,1]]]}},
        {"type": "Feature", "properties": null, "geometry": null},
        {"type": "Feature", "properties": {"n": null, "late": true}, "geometry": {"type": "Polygon", "coordinates": [[["0", 1]]]}},
        {"type": "Feature", "properties": {"n": 4}, "geometry": {"type": "GeometryCollection", "geometries": [
            {"type": "Point", "coordinates": [1, 2, 3]}, {"type": "LineString", "coordinates": [[1, 2], [3, 4]]}]}}
    ]}"#;

    #[test]
    fn one_bad_feature_is_one_unusable_row() {
        let t = table(SMALL);
        assert_eq!(t.kinds, [ShapeKind::Polygon, ShapeKind::Nothing, ShapeKind::Unusable, ShapeKind::Line]);
        assert_eq!(t.unusable[&2], "has a coordinate that is not a number");
        assert_eq!((t.shapes.ring_ends.as_slice(), t.crs.clone()), (&[3, 6, 8][..], Some(Crs::Wgs84)));
        assert_eq!(t.columns, ["id", "a", "n", "deep", "late"]);
        let row = |r| (0..5).map(|c| t.cell(r, c).into_owned()).collect::<Vec<_>>();
        assert_eq!(row(0), ["7", "x", "3", "{\"k\": [1]}", ""]);
        assert_eq!(row(2), ["", "", "", "", "true"]);
        assert_eq!(row(3), ["", "", "4", "", ""]);
    }

    #[test]
    fn single_features_and_bare_geometries_are_one_row() {
        assert_eq!(table(r#"{"type":"Point","coordinates":[1,2]}"#).kinds, [ShapeKind::Point]);
        assert_eq!(table(r#"{"type":"Feature","geometry":{"type":"Point","coordinates":[]}}"#).kinds, [ShapeKind::Nothing]);
        assert_eq!(table(r#"{"type":"FeatureCollection","features":[]}"#).rows, 0);
    }

    #[test]
    fn items_that_are_no_features_are_left_out_and_told() {
        let t = table(
            r#"{"type":"FeatureCollection","features":[7,{"type":"Featre"},{"type":"Feature","properties":{"a":1},"geometry":null}]}"#,
        );
        assert_eq!((t.rows, t.cell(0, 0).as_ref(), t.kinds.len()), (1, "1", 1));
        assert_eq!(t.notes, ["2 of the list's 3 items are no features: left out"]);
    }

    #[test]
    fn the_old_crs_member_is_obeyed_and_told() {
        let with = |crs: &str| table(&format!(r#"{{"crs":{crs},"type":"FeatureCollection","features":[]}}"#));
        let feet = with(r#"{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::2249"}}"#);
        assert_eq!((feet.crs, feet.notes.len()), (Some(Crs::Epsg(2249)), 1));
        assert_eq!(with(r#"{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}}"#).crs, Some(Crs::Wgs84));
        assert_eq!(with(r#"{"type":"EPSG","properties":{"code":4326}}"#).crs, Some(Crs::Wgs84));
        assert_eq!(with(r#"{"type":"link","properties":{"href":"x"}}"#).crs, None);
        assert_eq!(with("null").crs, Some(Crs::Wgs84));
    }

    #[test]
    fn broken_text_is_refused_with_line_and_byte() {
        let cut = read("a.json", String::new(), b"{\"type\":\n \"FeatureCollection\", \"features\": [".to_vec(), &Unwatched);
        assert_eq!(cut.unwrap_err().to_string(), "a.json: line 2, byte 44: expected a JSON value, found the end of the file");
    }

    #[test]
    fn every_cut_and_every_flipped_bit_gives_an_answer() {
        for n in 0..SMALL.len() * 8 {
            let mut bytes = SMALL.as_bytes().to_vec();
            bytes[n / 8] ^= 1 << (n % 8);
            for bytes in [bytes, SMALL.as_bytes()[..n / 8].to_vec()] {
                let Ok(t) = read("a.json", String::new(), bytes, &Unwatched) else { continue };
                assert!(t.rows <= 4 && t.kinds.len() == t.rows && t.shapes.len() == t.rows);
                assert!(t.shapes.xy.iter().flatten().all(|v| v.is_finite()));
            }
        }
    }
}
