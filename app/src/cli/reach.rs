//! `yardring reach SURVEY`: the ground inside flight range of the sources.

use super::reach_wanted::ReachWanted;
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::json;
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::reach::{Ground, ground, ground_rows};

/// The ground inside flight range of the sources, dissolved into one outline, and its area.
#[derive(Debug, Args)]
pub struct Reach {
    #[command(flatten)]
    reach: ReachWanted,
    /// Write the ground to this file; its ending picks the format: .gpkg, .geojson, .shp, .kml, .gpx or .fgb.
    #[arg(long)]
    out: Option<PathBuf>,
}

impl Reach {
    /// Draws the reach and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let asked = self.reach.open(output)?;
        let opened = &asked.opened;
        let found =
            ground(&opened.survey, &asked.sources, asked.wanted.radius, output).map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
        let mut words = asked.heading() + &summary(&found);
        if let Some(path) = &self.out {
            write_features(&ground_rows(&opened.survey, &found, asked.sources.len(), &asked.wanted), path, output)?;
            words.push_str(&format!("Written to {}\n", path.display()));
        }
        output.answer(&words, || asked.machine(json!({ "area_m2": found.area.0, "parts": found.parts })));
        Ok(if asked.cautions().is_empty() { Done::Clean } else { Done::Warned })
    }
}

fn summary(found: &Ground) -> String {
    match found.parts {
        0 => String::new(),
        1 => format!("The reach covers {:.1} ha in one piece.\n", found.area.hectares()),
        n => format!("The reach covers {:.1} ha in {n} pieces.\n", found.area.hectares()),
    }
}
