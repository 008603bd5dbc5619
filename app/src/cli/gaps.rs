//! `yardring gaps SURVEY`: the premises inside the reach that nobody has seen, most urgent first.

use super::covered::{covered_in_words, put_covered};
use super::reach_wanted::{Asked, ReachWanted};
use super::sheet::{Head, SHOWN, aligned, left_out, share_with_ends};
use super::{Done, Failure, Output};
use clap::{Args, ValueEnum};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::path::PathBuf;
use yardring_core::files::write_features;
use yardring_core::foresee::{Chances, foresee};
use yardring_core::reach::{Covered, DOORS_A_DAY, Gap, coverage, gap_rows, gaps, mask_gaps};
use yardring_core::store::Parts;

/// Premises inside the reach not inspected in the round, in the order in which a crew should see them.
#[derive(Debug, Args)]
pub struct Gaps {
    #[command(flatten)]
    reach: ReachWanted,
    /// Work out the chance of each as well, as the verb foresee does. Takes seconds in a large district.
    #[arg(long)]
    foresee: bool,
    /// What comes first.
    #[arg(long, value_enum, default_value_t = Rank::Urgency)]
    rank: Rank,
    /// Doors that one person sees in a day.
    #[arg(long, default_value_t = DOORS_A_DAY, value_name = "N")]
    doors: f64,
    /// Write the premises to this file; its ending picks the format: .csv, .gpkg, .geojson, .shp, .kml, .gpx or .fgb.
    #[arg(long)]
    out: Option<PathBuf>,
}

/// What comes first in the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Rank {
    /// Pupae, then larvae seen from outside, then shared fences, then more and nearer sources.
    Urgency,
    /// The highest chance first; works the chances out.
    Chance,
}

impl Gaps {
    /// Looks for gaps and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let what = if self.with_chances() { Parts::EVERYTHING } else { Parts::FOR_GAPS };
        let asked = self.reach.open(what, output)?;
        let opened = &asked.opened;
        let mut found = gaps(&opened.survey, &opened.standings, &asked.sources, &asked.wanted, output)
            .map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
        if asked.masked {
            found = mask_gaps(&opened.survey, &asked.wanted, found);
        }
        let chances = self.chances(&asked, output)?;
        if let Some(chances) = chances.as_ref().filter(|_| self.rank == Rank::Chance) {
            chances.rank(&mut found);
        }
        let chance = |premise| Some(chances.as_ref()?.at(premise)?.probability);
        if let Some(path) = &self.out {
            write_features(&gap_rows(&opened.survey, &found, chance), path, output)?;
        }
        let covered = coverage(&opened.survey, &opened.standings, &asked.sources, &asked.wanted, Some(found.len()), output)
            .map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
        let answer = Answer { asked: &asked, found: &found, chances: chances.as_ref(), covered, doors: self.doors.max(1.0) };
        let mut words = asked.heading() + &answer.summary();
        match &self.out {
            Some(path) => words.push_str(&format!("All written to {}\n", path.display())),
            None => words.push_str(&answer.table()),
        }
        output.answer(&words, || asked.machine(answer.machine()));
        Ok(if asked.cautions().is_empty() { Done::Clean } else { Done::Warned })
    }

    /// Whether chances are asked for.
    fn with_chances(&self) -> bool {
        self.foresee || self.rank == Rank::Chance
    }

    /// The chances, where they are asked for and may be shown; says why not.
    fn chances(&self, asked: &Asked, output: &Output) -> Result<Option<Chances>, Failure> {
        let opened = &asked.opened;
        if asked.sources.is_empty() || !self.with_chances() {
            return Ok(None);
        }
        let found = foresee(&opened.survey, &opened.standings, output).map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
        let shown = Chances::shown(found);
        if let Err((refusal, _)) = &shown {
            output.note(&format!("No chances are shown: {refusal}. The list is ranked by urgency."));
        }
        Ok(shown.ok())
    }
}

/// What was found, and for what.
struct Answer<'a> {
    asked: &'a Asked,
    found: &'a [Gap],
    chances: Option<&'a Chances>,
    covered: Covered,
    doors: f64,
}

fn by_reason(found: &[Gap]) -> BTreeMap<&'static str, usize> {
    let mut reasons = BTreeMap::new();
    for gap in found {
        *reasons.entry(gap.reason.word()).or_insert(0) += 1;
    }
    reasons
}

/// How near the nearest source is; larvae seen over the fence are told even where the mask hides the rest.
fn nearest(gap: &Gap) -> String {
    match gap.seen_positive {
        true if gap.masked() => "larvae seen here".to_owned(),
        true => "0 m, larvae seen here".to_owned(),
        false if gap.masked() => String::new(),
        false => format!("{:.0} m", gap.nearest_source.0),
    }
}

impl Answer<'_> {
    /// How many gaps share a fence with a source; `None` where the mask of cases hides it.
    fn sharing(&self) -> Option<usize> {
        (!self.asked.masked).then(|| self.found.iter().filter(|g| g.shares_fence).count())
    }

    /// In how many of the gaps larvae or pupae were seen from outside.
    fn seen(&self) -> usize {
        self.found.iter().filter(|g| g.seen_positive).count()
    }

    /// How many of the other gaps may be expected to be positive.
    fn expected(&self) -> Option<f64> {
        self.chances.map(|c| c.expected(self.found.iter().map(|g| g.premise)))
    }

    fn machine(&self) -> Value {
        let found = self.found;
        let reasons: Map<String, Value> = by_reason(found).into_iter().map(|(word, n)| (word.to_owned(), n.into())).collect();
        let mut out = json!({
            "gaps": found.len(),
            "share_a_fence": self.sharing(),
            "reasons": reasons,
            "expected_positive": self.expected(),
            "seen_positive": self.seen(),
        });
        put_covered(&mut out, &self.covered, self.doors);
        out
    }

    fn summary(&self) -> String {
        let found = self.found;
        if self.asked.sources.is_empty() {
            return String::new();
        }
        if found.is_empty() {
            return "No yard inside the reach is left to see.\n".to_owned();
        }
        let fences = match self.sharing() {
            Some(n) => format!("{n} share a fence with a source."),
            None => "in what order they lie round a case is not told.".to_owned(),
        };
        let (yards, have) = if found.len() == 1 { ("1 yard".to_owned(), "has") } else { (format!("{} yards", found.len()), "have") };
        let mut out = format!("{yards} inside the reach {have} not been seen; {fences}\n");
        let reasons: Vec<String> = by_reason(found).into_iter().map(|(word, n)| format!("{n} {word}")).collect();
        out.push_str(&format!("Why: {}\n", reasons.join(", ")));
        out.push_str(&covered_in_words(&self.covered, self.doors));
        if let Some(expected) = self.expected() {
            let seen = match self.seen() {
                0 => String::new(),
                n => format!("; in {n} larvae or pupae were seen from outside"),
            };
            out.push_str(&format!("Of these, about {expected:.0} may be expected to be positive{seen}.\n"));
        }
        out
    }

    fn table(&self) -> String {
        if self.found.is_empty() {
            return String::new();
        }
        let mut heads = vec![
            Head::Right("Rank"),
            Head::Left("Parcel"),
            Head::Left("Address"),
            Head::Left("Why"),
            Head::Right("Tried"),
            Head::Right("Sources in reach"),
            Head::Right("Nearest"),
            Head::Left("Fence"),
        ];
        if self.chances.is_some() {
            heads.push(Head::Right("Chance"));
        }
        let rows: Vec<_> = self.found.iter().take(SHOWN).enumerate().map(|(i, gap)| self.row(i + 1, gap)).collect();
        aligned(&heads, &rows) + &left_out(self.found.len())
    }

    fn row(&self, rank: usize, gap: &Gap) -> Vec<String> {
        let premises = &self.asked.opened.survey.premises;
        let mut cells = vec![
            rank.to_string(),
            premises.parcel_id.get(gap.premise.row()).to_owned(),
            premises.address.get(gap.premise.row()).to_owned(),
            gap.reason.word().to_owned(),
            gap.attempts.to_string(),
            if gap.masked() { String::new() } else { gap.sources_in_reach.to_string() },
            nearest(gap),
            if gap.shares_fence { "shared" } else { "" }.to_owned(),
        ];
        if let Some(chances) = self.chances {
            let said = chances.at(gap.premise).map(|c| share_with_ends(c.probability, (c.low, c.high)));
            let seen = if gap.seen_pupae { "pupae seen" } else { "larvae seen" };
            cells.push(if gap.seen_positive { seen.to_owned() } else { said.unwrap_or_default() });
        }
        cells
    }
}
