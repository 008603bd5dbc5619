//! `yardring reach SURVEY`: the ground inside flight range of the sources.

use super::covered::{covered_in_words, put_covered};
use super::reach_wanted::ReachWanted;
use super::sheet::{Head, aligned};
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::json;
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::job::Cancelled;
use yardring_core::reach::{DOORS_A_DAY, Ground, ONLY_CONVENTIONS, Radius, coverage, ground_rows, radii};
use yardring_core::store::Parts;
use yardring_core::survey::Survey;

/// The ground inside flight range of the sources, dissolved into one outline, its area, and how much of it was seen.
#[derive(Debug, Args)]
pub struct Reach {
    #[command(flatten)]
    reach: ReachWanted,
    /// List the radii that programmes use, each with its source, or those of the survey's own list; measure nothing.
    #[arg(long)]
    radii: bool,
    /// Doors that one person sees in a day.
    #[arg(long, default_value_t = DOORS_A_DAY, value_name = "N")]
    doors: f64,
    /// Write the ground to this file; its ending picks the format: .gpkg, .geojson, .shp, .kml, .gpx or .fgb.
    #[arg(long, conflicts_with = "radii")]
    out: Option<PathBuf>,
}

impl Reach {
    /// Draws the reach and answers, or lists radii.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        if self.radii {
            list(&self.reach.open_unvisited(Parts::FOR_COUNTING, output)?.opened.survey, output);
            return Ok(Done::Clean);
        }
        let asked = self.reach.open(Parts::FOR_REACH, output)?;
        let opened = &asked.opened;
        let stopped = |stopped: Cancelled| Failure::new(stopped.to_string(), "");
        let (found, covered) = rayon::join(
            || asked.ground(output),
            || coverage(&opened.survey, &opened.standings, &asked.sources, &asked.wanted, None, output),
        );
        let (found, covered) = (found.map_err(stopped)?, covered.map_err(stopped)?);
        let doors = self.doors.max(1.0);
        let mut words = asked.heading() + &summary(&found) + &covered_in_words(&covered, doors);
        if let Some(path) = &self.out {
            write_features(&ground_rows(&opened.survey, &found, asked.sources.len(), &asked.wanted), path, output)?;
            let masked = if asked.masked { ", drawn round the masked places" } else { "" };
            words.push_str(&format!("Written to {}{masked}\n", path.display()));
        }
        let mut machine = json!({ "area_m2": found.area.0, "parts": found.parts });
        put_covered(&mut machine, &covered, doors);
        output.answer(&words, || asked.machine(machine));
        Ok(if asked.cautions().is_empty() { Done::Clean } else { Done::Warned })
    }
}

/// Tells the radii to choose from.
fn list(survey: &Survey, output: &Output) {
    let all = radii(survey);
    let heads = [Head::Left("Radius"), Head::Right("Metres"), Head::Right("Yards"), Head::Left("Who uses it")];
    let row = |r: &Radius| vec![r.said.clone(), format!("{:.1}", r.radius.0), format!("{:.1}", r.radius.yards()), r.source.to_owned()];
    let words = aligned(&heads, &all.iter().map(row).collect::<Vec<_>>()) + ONLY_CONVENTIONS + "\n";
    let one = |r: &Radius| json!({ "radius_m": r.radius.0, "said": r.said, "source": r.source });
    output.clear_progress();
    output.answer(&words, || json!({ "radii": all.iter().map(one).collect::<Vec<_>>(), "note": ONLY_CONVENTIONS }));
}

fn summary(found: &Ground) -> String {
    match found.parts {
        0 => String::new(),
        1 => format!("The reach covers {} in one piece.\n", found.area),
        n => format!("The reach covers {} in {n} pieces.\n", found.area),
    }
}
