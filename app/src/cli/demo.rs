//! The sample survey: an invented district, made from the files that travel inside the program.

use super::{Done, Failure, Output, window};
use std::path::{Path, PathBuf};
use yardring_core::intake::{self, Request};
use yardring_core::store;

/// The district's files.
const FILES: [(&str, &[u8]); 10] = [
    ("parcels.shp", include_bytes!("../../../sample_data/parcels.shp")),
    ("parcels.shx", include_bytes!("../../../sample_data/parcels.shx")),
    ("parcels.dbf", include_bytes!("../../../sample_data/parcels.dbf")),
    ("parcels.prj", include_bytes!("../../../sample_data/parcels.prj")),
    ("parcels.cpg", include_bytes!("../../../sample_data/parcels.cpg")),
    ("streets.geojson", include_bytes!("../../../sample_data/streets.geojson")),
    ("blocks.geojson", include_bytes!("../../../sample_data/blocks.geojson")),
    ("visits.csv", include_bytes!("../../../sample_data/visits.csv")),
    ("signals.csv", include_bytes!("../../../sample_data/signals.csv")),
    ("temperatures.csv", include_bytes!("../../../sample_data/temperatures.csv")),
];

/// Opens the window on the sample survey, made on first use.
pub(super) fn run(output: &Output) -> Result<Done, Failure> {
    let folder = folder();
    let survey = folder.join("Quillmere.gpkg");
    if !window::opens(&survey) {
        make(&folder, &survey, output)?;
        output.clear_progress();
    }
    window::open(Some(survey))
}

/// The user's folder for data, or a temporary one where there is none.
fn folder() -> PathBuf {
    let named = std::env::var_os("XDG_DATA_HOME").or_else(|| std::env::var_os("LOCALAPPDATA")).filter(|v| !v.is_empty()).map(PathBuf::from);
    let own = || std::env::var_os("HOME").map(|home| PathBuf::from(home).join(".local").join("share"));
    let folder = named.or_else(own).map(|f| f.join("yardring")).filter(|f| std::fs::create_dir_all(f).is_ok());
    folder.unwrap_or_else(std::env::temp_dir).join("sample")
}

/// Writes the district's files into a folder and makes the survey of them.
fn make(folder: &Path, survey: &Path, output: &Output) -> Result<(), Failure> {
    let refused = |e: std::io::Error| Failure::new(format!("the sample district could not be written to {}: {e}", folder.display()), "");
    std::fs::create_dir_all(folder).map_err(refused)?;
    for (name, bytes) in FILES {
        std::fs::write(folder.join(name), bytes).map_err(refused)?;
    }
    let file = |name: &str| Some(folder.join(name));
    let request = Request {
        parcels: file("parcels.shp"),
        streets: file("streets.geojson"),
        blocks: file("blocks.geojson"),
        visits: file("visits.csv"),
        signals: file("signals.csv"),
        temperatures: file("temperatures.csv"),
        ..Request::default()
    };
    let (made, _) = intake::bring_in(None, &request, output)?;
    store::save(&made, survey, output)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sample_survey_is_made_and_opens() {
        let folder = std::env::temp_dir().join(format!("yardring-sample-{}", std::process::id()));
        let survey = folder.join("Quillmere.gpkg");
        make(&folder, &survey, &Output::new(false)).unwrap();
        assert!(window::opens(&survey));
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
