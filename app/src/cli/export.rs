//! `yardring export SURVEY --layer NAME --out FILE`: one layer in a file for other programs.

use super::reach_wanted::{Asked, ReachWanted};
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::json;
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::reach::Kept;
use yardring_core::store::{self, Export, Layer, Parts};
use yardring_core::survey::SignalKind;

/// Writes one layer of a survey to a file for other programs: the ending .gpkg, .geojson, .csv, .shp, .kml, .gpx or .fgb picks the format.
#[derive(Debug, Args)]
pub struct ExportTo {
    /// The survey, and the reach and the round that states, gaps and reach are those of.
    #[command(flatten)]
    reach: ReachWanted,
    /// The layer: premises, blocks, visits, finds, reach, gaps, signals, streets or walks.
    #[arg(long)]
    layer: Layer,
    /// The file to write.
    #[arg(long)]
    out: PathBuf,
}

impl ExportTo {
    /// Whether the layer lies round cases that nobody asked to see.
    fn masks(&self, asked: &Asked) -> bool {
        matches!(self.layer, Layer::Reach | Layer::Gaps) && asked.masked
    }

    /// Writes the file and says what is in it.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, the round is not in it, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let asked = self.reach.open_unvisited(Parts::EVERYTHING, output)?;
        let (survey, round) = (&asked.opened.survey, asked.opened.round);
        if self.layer == Layer::Walks && store::planned_day(survey).is_none() {
            let hint = "Plan one first: yardring walks SURVEY.gpkg --on DATE --crews 2 --shift 6h --start LON,LAT";
            return Err(Failure::new("No planned day is kept in the survey", hint));
        }
        let what = Export { layer: self.layer, round, wanted: asked.wanted, unmasked: asked.unmasked };
        let features = store::export(survey, &what, output).map_err(store::StoreError::from)?;
        write_features(&features, &self.out, output)?;
        let cases = survey.signals.iter().filter(|s| s.kind == SignalKind::Case).count();
        let masked = if self.layer == Layer::Signals && !asked.unmasked { cases } else { 0 };
        let mut words = format!(
            "{} written: {} of {}",
            self.out.display(),
            if features.rows() == 1 { "1 row".to_owned() } else { format!("{} rows", features.rows()) },
            self.layer.word()
        );
        if masked > 0 {
            words += &format!("\n{masked} cases are left out: where they are is health information; --unmasked hands them out");
        }
        if self.masks(&asked) {
            words += "\nWhere a case is, is health information: the reach is drawn round masked places, and gaps do not tell which is near; --unmasked shows them";
        }
        if let Some(kept) = Kept::of(survey).filter(|_| matches!(self.layer, Layer::Reach | Layer::Gaps)) {
            words += &format!("\nRound the barriers of {}, {:.1} km", kept.file, kept.barriers().length() / 1000.0);
        }
        output.clear_progress();
        output.answer(&words, || json!({"layer": self.layer.word(), "rows": features.rows(), "masked": masked, "round": round.map(|r| &*survey.rounds[r.row()].name)}));
        Ok(Done::Clean)
    }
}
