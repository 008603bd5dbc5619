//! `yardring export SURVEY --layer NAME --out FILE`: one layer in a file for other programs.

use super::{Done, Failure, Output};
use clap::Args;
use serde_json::json;
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::reach::{MeasureFrom, SourceKind, Wanted};
use yardring_core::store::{self, Export, Layer, Parts};
use yardring_core::survey::SignalKind;
use yardring_core::units::Metres;

/// Writes one layer of a survey to a file for other programs: the ending .gpkg, .geojson, .csv, .shp, .kml, .gpx or .fgb picks the format.
#[derive(Debug, Args)]
pub struct ExportTo {
    /// The survey.
    survey: PathBuf,
    /// The layer: premises, blocks, visits, finds, reach, gaps, signals, streets or walks.
    #[arg(long)]
    layer: Layer,
    /// The file to write.
    #[arg(long)]
    out: PathBuf,
    /// The round that states and gaps are those of; the latest when none is named.
    #[arg(long)]
    round: Option<String>,
    /// What the reach is drawn round: positives, pupae, cases, traps or complaints.
    #[arg(long, default_value = "positives")]
    from: SourceKind,
    /// How far the reach goes, as 150m, 150yd or 0.5mi.
    #[arg(long, default_value = "150m")]
    radius: Metres,
    /// From where distances are measured: outline or point.
    #[arg(long, default_value = "outline")]
    measure_from: MeasureFrom,
    /// Hand out cases with their place, which is health information.
    #[arg(long)]
    unmasked: bool,
}

impl ExportTo {
    /// Writes the file and says what is in it.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, the round is not in it, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let survey = store::load(&self.survey, Parts::EVERYTHING, output)?;
        let round = survey.round(self.round.as_deref());
        if let (Some(name), None) = (&self.round, round) {
            let known = survey.rounds.iter().map(|r| &*r.name).collect::<Vec<_>>().join(", ");
            return Err(Failure::new(format!("the survey has no round '{name}'"), format!("Its rounds are: {known}")));
        }
        if self.layer == Layer::Walks && store::planned_day(&survey).is_none() {
            let hint = "Plan one first: yardring walks SURVEY.gpkg --on DATE --crews 2 --shift 6h --start LON,LAT";
            return Err(Failure::new("No planned day is kept in the survey", hint));
        }
        let wanted = Wanted { from: self.from, radius: self.radius, measure_from: self.measure_from, ..Wanted::default() };
        let what = Export { layer: self.layer, round, wanted, unmasked: self.unmasked };
        let features = store::export(&survey, &what, output).map_err(store::StoreError::from)?;
        write_features(&features, &self.out, output)?;
        let cases = survey.signals.iter().filter(|s| s.kind == SignalKind::Case).count();
        let masked = if self.layer == Layer::Signals && !self.unmasked { cases } else { 0 };
        let mut words = format!(
            "{} written: {} of {}",
            self.out.display(),
            if features.rows() == 1 { "1 row".to_owned() } else { format!("{} rows", features.rows()) },
            self.layer.word()
        );
        if masked > 0 {
            words += &format!("\n{masked} cases are left out: where they are is health information; --unmasked hands them out");
        }
        output.clear_progress();
        output.answer(&words, || json!({"layer": self.layer.word(), "rows": features.rows(), "masked": masked, "round": round.map(|r| &*survey.rounds[r.row()].name)}));
        Ok(Done::Clean)
    }
}
