//! OpenStreetMap's XML.
//!
//! # Source
//! The OpenStreetMap wiki, "OSM XML": nodes with lon and lat, ways with nd and tag.

use super::Map;
use crate::files::FileError;
use crate::job::Watch;
use quick_xml::XmlVersion;
use quick_xml::events::{BytesStart, Event};
use std::io::BufRead;

/// Elements between two looks at the watch.
const LOOK: u64 = 65_536;
/// The most nodes of one way; OpenStreetMap itself allows 2,000.
const MOST_OF_A_WAY: usize = 100_000;

/// The way being read.
#[derive(Default)]
struct Open {
    id: i64,
    nodes: Vec<i64>,
    tags: Vec<(String, String)>,
}

/// Reads all elements.
pub(super) fn read(source: impl BufRead, map: &mut Map<'_>, watch: &dyn Watch) -> Result<(), FileError> {
    let mut reader = quick_xml::Reader::from_reader(source);
    let (mut buffer, mut open, mut seen) = (Vec::new(), None, 0u64);
    loop {
        buffer.clear();
        let at = reader.buffer_position();
        let event = reader.read_event_into(&mut buffer).map_err(|e| map.broken(format!("byte {at}"), "XML of OpenStreetMap", e))?;
        seen += 1;
        if seen % LOOK == 0 {
            watch.step("reading the map", seen, 0)?;
        }
        match event {
            Event::Start(e) if e.name().as_ref() == "way" => open = Some(Open { id: number(&e, "id").unwrap_or(0), ..Open::default() }),
            Event::Start(e) | Event::Empty(e) => element(&e, map, &mut open)?,
            Event::End(e) if e.name().as_ref() == "way" => close(open.take(), map),
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

fn element(e: &BytesStart<'_>, map: &mut Map<'_>, open: &mut Option<Open>) -> Result<(), FileError> {
    match (e.name().as_ref(), open) {
        ("node", _) => {
            if let (Some(id), Some(lon), Some(lat)) = (number(e, "id"), number(e, "lon"), number(e, "lat")) {
                map.node(id, lon, lat)?;
            }
        }
        ("nd", Some(way)) if way.nodes.len() < MOST_OF_A_WAY => way.nodes.extend(number::<i64>(e, "ref")),
        ("tag", Some(way)) if way.tags.len() < MOST_OF_A_WAY => way.tags.extend(text(e, "k").zip(text(e, "v"))),
        _ => {}
    }
    Ok(())
}

fn close(open: Option<Open>, map: &mut Map<'_>) {
    if let Some(way) = open {
        let tags: Vec<(&str, &str)> = way.tags.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
        map.way(way.id, way.nodes, &tags);
    }
}

fn text(e: &BytesStart<'_>, key: &str) -> Option<String> {
    let attribute = e.attributes().with_checks(false).flatten().find(|a| a.key.as_ref() == key)?;
    attribute.normalized_value(XmlVersion::Implicit1_0).ok().map(std::borrow::Cow::into_owned)
}

fn number<T: std::str::FromStr>(e: &BytesStart<'_>, key: &str) -> Option<T> {
    text(e, key)?.trim().parse().ok()
}
