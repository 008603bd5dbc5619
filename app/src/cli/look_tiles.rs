//! `yardring look FILE` for a file of map tiles: what may lie under a survey.

use super::{Done, Failure, Output};
use serde_json::{Value, json};
use std::path::Path;
use yardring_core::files::{TileFacts, TileFile};

/// Whether a name ends as files of map tiles do.
pub(super) fn is_named_so(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("pmtiles") || e.eq_ignore_ascii_case("mbtiles"))
}

/// Looks at the file and answers.
///
/// # Errors
/// [`Failure`] when its tiles could not be drawn.
pub(super) fn run(path: &Path, output: &Output) -> Result<Done, Failure> {
    let file = TileFile::open(path)?;
    output.answer(&words(file.facts()), || machine(file.facts()));
    Ok(Done::Clean)
}

fn words(facts: &TileFacts) -> String {
    let mut out = format!("Map tiles, {} pictures, zoom {} to {}\n", facts.picture.name(), facts.least_zoom, facts.most_zoom);
    if let Some([low, high]) = facts.corners {
        out.push_str(&format!("  From {} to {}\n", crate::map::degrees(low), crate::map::degrees(high)));
    }
    for (what, text) in [("Name", &facts.name), ("To be named on the map", &facts.attribution)] {
        if !text.is_empty() {
            out.push_str(&format!("  {what}: {text}\n"));
        }
    }
    out + "  Lay them under a survey in the window: Views, ground, measure · Choose map tiles\n"
}

fn machine(facts: &TileFacts) -> Value {
    json!({
        "kind": "map tiles",
        "layers": [],
        "defects": [],
        "picture": facts.picture.name(),
        "zooms": [facts.least_zoom, facts.most_zoom],
        "corners": facts.corners.map(|c| c.map(|p| [p.lon, p.lat])),
        "name": facts.name,
        "attribution": facts.attribution,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use yardring_core::files::TilePicture;
    use yardring_core::place::LonLat;

    #[test]
    fn tiles_are_told_in_words_and_in_machine_text() {
        let corners = Some([LonLat { lon: -118.4, lat: 36.5 }, LonLat { lon: -118.2, lat: 36.6 }]);
        let facts = TileFacts {
            name: String::new(),
            attribution: "Quillmere County".to_owned(),
            picture: TilePicture::Webp,
            least_zoom: 8,
            most_zoom: 15,
            corners,
            side: None,
        };
        let told = words(&facts);
        assert!(told.starts_with("Map tiles, WebP pictures, zoom 8 to 15\n  From 36.50000° N 118.40000° W to"), "{told}");
        assert!(told.contains("To be named on the map: Quillmere County") && !told.contains("Name:"));
        assert_eq!(machine(&facts)["corners"][1][1], 36.6);
        assert!(is_named_so(Path::new("a/B.PMTiles")) && !is_named_so(Path::new("a.gpkg")));
    }
}
