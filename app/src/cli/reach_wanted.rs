//! What `reach` and `gaps` are asked alike: from which sources, how far, measured how, in which round.

use super::opened::{Opened, survey_name};
use super::{Failure, Output};
use crate::masking;
use clap::Args;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use yardring_core::intake::read_barriers;
use yardring_core::job::Cancelled;
use yardring_core::place::Crs;
use yardring_core::reach::{Ground, Kept, Mask, MeasureFrom, SourceKind, Sources, Wanted, ground, masked_ground, sources};
use yardring_core::store::Parts;
use yardring_core::survey::Survey;
use yardring_core::units::Metres;

/// The part of a request that says what reach is meant.
#[derive(Debug, Args)]
pub struct ReachWanted {
    /// The survey.
    survey: PathBuf,
    /// What the reach is drawn round: positives, pupae, cases, traps or complaints.
    #[arg(long, default_value = "positives")]
    from: SourceKind,
    /// How far mosquitoes are taken to fly, with its unit: 150m, 150yd or 0.5mi.
    #[arg(long, default_value = "150m")]
    radius: Metres,
    /// Measure from the outline of the source, or from one point in it.
    #[arg(long, default_value = "outline")]
    measure_from: MeasureFrom,
    /// Lines that flight rarely crosses, such as rivers or wide roads: the reach goes round their ends. Otherwise those that the
    /// survey keeps; none for no barriers.
    #[arg(long, value_name = "FILE")]
    barriers: Option<PathBuf>,
    /// The coordinate system of barriers that name none, as EPSG:2248.
    #[arg(long, value_parser = Crs::from_code)]
    crs: Option<Crs>,
    /// Traps count as sources when they caught more than this a night.
    #[arg(long, default_value_t = 0.0, value_name = "N")]
    trap_count: f64,
    /// The round, by its name; otherwise the latest.
    #[arg(long)]
    round: Option<String>,
    /// Show cases where they are, which is health information: keep what comes out inside the office.
    #[arg(long)]
    unmasked: bool,
}

/// A survey opened, and the sources found in it.
#[derive(Debug)]
pub struct Asked {
    /// The survey and the round.
    pub opened: Opened,
    /// The reach that is wanted.
    pub wanted: Wanted,
    /// The sources.
    pub sources: Sources,
    /// Whether cases are drawn where the mask moves them.
    pub masked: bool,
    /// Whether true places of cases were asked for.
    pub unmasked: bool,
}

impl ReachWanted {
    /// The name of the survey's file, without folders and ending.
    pub fn survey_name(&self) -> String {
        survey_name(&self.survey)
    }

    /// The survey's file.
    pub fn survey_path(&self) -> &Path {
        &self.survey
    }

    /// The coordinate system of lines that name none.
    pub fn crs(&self) -> Option<&Crs> {
        self.crs.as_ref()
    }

    /// Opens the survey, as much of it as the answer needs, and finds the sources.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no round with that name, or has no visits to find positives in.
    pub fn open(&self, what: Parts, output: &Output) -> Result<Asked, Failure> {
        let asked = self.open_unvisited(what, output)?;
        if matches!(self.from, SourceKind::Positives | SourceKind::Pupae) {
            asked.opened.round_name()?;
        }
        Ok(asked)
    }

    /// The same for an answer that there is before the first visit too.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, or has no round with that name.
    pub fn open_unvisited(&self, what: Parts, output: &Output) -> Result<Asked, Failure> {
        let mut opened = Opened::new(&self.survey, self.round.as_deref(), what, output)?;
        self.put_barriers(&mut opened.survey, output)?;
        let wanted = Wanted { from: self.from, radius: self.radius, measure_from: self.measure_from, trap_over: self.trap_count };
        let sources = sources(&opened.survey, &opened.standings, &wanted);
        let masks = self.from == SourceKind::Cases && !self.unmasked;
        if masks {
            masking::keep(&mut opened.survey, &self.survey)?;
        }
        Ok(Asked { opened, wanted, sources, masked: masks, unmasked: self.unmasked })
    }

    /// Puts the barriers asked for in the place of those that the survey keeps; its file stays as it is.
    fn put_barriers(&self, survey: &mut Survey, output: &Output) -> Result<(), Failure> {
        let Some(path) = &self.barriers else { return Ok(()) };
        let kept = if path.as_os_str() == "none" { Kept::default() } else { read_barriers(survey, path, self.crs.as_ref(), output)? };
        kept.put(survey);
        Ok(())
    }
}

impl Asked {
    /// The ground: round the masked places where cases are the sources, with the numbers of the true ground.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub fn ground(&self, output: &Output) -> Result<Ground, Cancelled> {
        let (survey, radius) = (&self.opened.survey, self.wanted.radius);
        if self.masked { masked_ground(survey, &self.sources, radius, output) } else { ground(survey, &self.sources, radius, output) }
    }

    /// The sources and the radius in one line, and what to be careful about.
    pub fn heading(&self) -> String {
        let radius = self.wanted.radius;
        let named = match self.wanted.from {
            SourceKind::Positives => ("positive yard", "positive yards"),
            SourceKind::Pupae => ("yard with pupae", "yards with pupae"),
            SourceKind::Cases => ("case", "cases"),
            SourceKind::Traps => ("trap that caught enough", "traps that caught enough"),
            SourceKind::Complaints => ("complaint", "complaints"),
        };
        let count = match self.sources.len() {
            1 => format!("1 {}", named.0),
            n => format!("{n} {}", named.1),
        };
        let round = self.opened.round_name().map(|name| format!("{name}: ")).unwrap_or_default();
        let mut out = format!("{round}{count}, {:.0} m ({:.0} yd) round each\n", radius.0, radius.yards());
        if let Some(kept) = Kept::of(&self.opened.survey) {
            out.push_str(&format!("Round the barriers of {}, {:.1} km\n", kept.file, kept.barriers().length() / 1000.0));
        }
        for caution in self.cautions() {
            out.push_str(&format!("{caution}\n"));
        }
        out
    }

    /// What somebody should know before using the answer, as sentences.
    pub fn cautions(&self) -> Vec<String> {
        let mut out = Vec::new();
        if self.sources.is_empty() {
            out.push(self.nothing_found().to_owned());
        }
        match self.sources.without_outline() {
            0 => {}
            1 => out.push("1 positive premise has no outline and is left out.".to_owned()),
            n => out.push(format!("{n} positive premises have no outline and are left out.")),
        }
        if self.wanted.from == SourceKind::Cases && !self.sources.is_empty() {
            out.push(match self.masked {
                false => "Drawn round the true places of cases, which are health information: keep it in the office.".to_owned(),
                true => format!(
                    "Where a case is, is health information: each is drawn {:.0} to {:.0} m off, always the same way; --unmasked shows its place.",
                    Mask::INNER.0,
                    Mask::OUTER.0
                ),
            });
        }
        out
    }

    /// Why there is no source, and what to do where something can be done.
    fn nothing_found(&self) -> &'static str {
        match self.wanted.from {
            SourceKind::Positives => "No larvae or pupae were recorded in the round, so there is no reach.",
            SourceKind::Pupae => "No pupae were recorded in the round, so there is no reach; --from positives takes larvae too.",
            SourceKind::Cases => "The survey has no cases; bring them in: yardring intake SURVEY.gpkg --signals FILE",
            SourceKind::Traps => "The survey has no trap with a catch; bring them in: yardring intake SURVEY.gpkg --signals FILE",
            SourceKind::Complaints => "The survey has no complaints; bring them in: yardring intake SURVEY.gpkg --signals FILE",
        }
    }

    /// What machine text says of the sources and the radius, with room for the answer.
    pub fn machine(&self, mut answer: Value) -> Value {
        answer["sources"] = json!(self.sources.len());
        answer["masked"] = json!(self.masked);
        answer["radius_m"] = json!(self.wanted.radius.0);
        answer["from"] = json!(self.wanted.from.word());
        answer["measured_from"] = json!(self.wanted.measure_from.word());
        answer["trap_over"] = json!(self.wanted.trap_over);
        let kept = Kept::of(&self.opened.survey);
        answer["barriers"] = kept.map_or(Value::Null, |k| json!({ "file": k.file, "length_m": k.barriers().length() }));
        answer["round"] = json!(self.opened.round_name().ok());
        answer["cautions"] = json!(self.cautions());
        answer
    }
}
