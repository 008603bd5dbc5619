//! The sample survey: an invented district, made from the files that travel inside the program.

use crate::ui::notice::Trouble;
use std::path::{Path, PathBuf};
use yardring_core::intake::{self, Request};
use yardring_core::job::Watch;
use yardring_core::store::{self, Parts};

/// The district's files.
const FILES: [(&str, &[u8]); 10] = [
    ("parcels.shp", include_bytes!("../../sample_data/parcels.shp")),
    ("parcels.shx", include_bytes!("../../sample_data/parcels.shx")),
    ("parcels.dbf", include_bytes!("../../sample_data/parcels.dbf")),
    ("parcels.prj", include_bytes!("../../sample_data/parcels.prj")),
    ("parcels.cpg", include_bytes!("../../sample_data/parcels.cpg")),
    ("streets.geojson", include_bytes!("../../sample_data/streets.geojson")),
    ("blocks.geojson", include_bytes!("../../sample_data/blocks.geojson")),
    ("visits.csv", include_bytes!("../../sample_data/visits.csv")),
    ("signals.csv", include_bytes!("../../sample_data/signals.csv")),
    ("temperatures.csv", include_bytes!("../../sample_data/temperatures.csv")),
];

/// The file of the sample survey in the user's folder for data, made when it is not there or cannot be opened.
///
/// # Errors
/// [`Trouble`] when it could not be made, in words.
pub fn survey(watch: &dyn Watch) -> Result<PathBuf, Trouble> {
    let folder = folder();
    let survey = folder.join("Quillmere.gpkg");
    if !opens(&survey) {
        make(&folder, &survey, watch)?;
    }
    Ok(survey)
}

fn opens(path: &Path) -> bool {
    path.exists() && store::load(path, Parts::FOR_COUNTING, &yardring_core::job::Unwatched).is_ok()
}

/// The user's folder for data, or a temporary one where there is none.
fn folder() -> PathBuf {
    let named = std::env::var_os("XDG_DATA_HOME").or_else(|| std::env::var_os("LOCALAPPDATA")).filter(|v| !v.is_empty()).map(PathBuf::from);
    let own = || std::env::var_os("HOME").map(|home| PathBuf::from(home).join(".local").join("share"));
    let folder = named.or_else(own).map(|f| f.join("yardring")).filter(|f| std::fs::create_dir_all(f).is_ok());
    folder.unwrap_or_else(std::env::temp_dir).join("sample")
}

/// Writes the district's files into a folder and makes the survey of them.
fn make(folder: &Path, survey: &Path, watch: &dyn Watch) -> Result<(), Trouble> {
    let refused = |e: std::io::Error| Trouble {
        what: format!("the sample district could not be written to {}: {e}", folder.display()),
        hint: "make room there, or start with files of your own".to_owned(),
    };
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
    let (made, _) = intake::bring_in(None, &request, watch)?;
    store::save(&made, survey, watch)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use yardring_core::job::Unwatched;

    #[test]
    fn the_sample_survey_is_made_and_opens() {
        let folder = std::env::temp_dir().join(format!("yardring-sample-{}", std::process::id()));
        let survey = folder.join("Quillmere.gpkg");
        make(&folder, &survey, &Unwatched).unwrap();
        assert!(opens(&survey));
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
