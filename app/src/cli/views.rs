//! `yardring views SURVEY`: the views of the map that the office keeps.

use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;
use yardring_core::store::{self, Parts};
use yardring_core::survey::SavedView;

/// The views of the map that were saved under a name, with their middle and their zoom.
#[derive(Debug, Args)]
pub struct Views {
    /// The survey.
    survey: PathBuf,
}

impl Views {
    /// Lists the views.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let views = store::load(&self.survey, Parts::EVERYTHING, output)?.views();
        output.answer(&words(&views), || machine(&views));
        Ok(Done::Clean)
    }
}

fn words(views: &[SavedView]) -> String {
    if views.is_empty() {
        return "No views are saved. In the window: Views, ground, measure · Save view\n".to_owned();
    }
    let line = |v: &SavedView| format!("{}: {}, zoom {:.1}\n", v.name, crate::map::degrees(v.place), v.zoom);
    views.iter().map(line).collect()
}

fn machine(views: &[SavedView]) -> Value {
    let one = |v: &SavedView| json!({ "name": v.name, "lon": v.place.lon, "lat": v.place.lat, "zoom": v.zoom });
    json!({ "views": views.iter().map(one).collect::<Vec<_>>() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use yardring_core::place::LonLat;

    #[test]
    fn views_are_told_in_words_and_in_machine_text() {
        let mill = SavedView { name: "Mill quarter".into(), place: LonLat { lon: -90.07, lat: 29.96 }, zoom: 15.5 };
        assert_eq!(words(std::slice::from_ref(&mill)), "Mill quarter: 29.96000° N 90.07000° W, zoom 15.5\n");
        assert_eq!(machine(&[mill])["views"][0]["zoom"], 15.5);
        assert!(words(&[]).contains("Save view"));
    }
}
