//! `yardring indices SURVEY`: the measures of the trade, with their intervals.

use super::opened::Opened;
use super::sheet::{Head, SHOWN, aligned, left_out, objects};
use super::{Done, Failure, Output};
use crate::sets::{self, Set, parted};
use crate::tables::{self, Group, KEY_SHARE, SEED, indices};
use clap::{Args, ValueEnum};
use serde_json::json;
use std::path::PathBuf;
use yardring_core::brief::words::{NOT_SEEN, with_interval};
use yardring_core::files::{Features, write_features};
use yardring_core::measure::{
    CONVENTION, FALSE_SHARE, Heat, Interval, KindCounts, KindShare, Neighbours, Programmes, by_block, by_kind, key_containers,
    needs_premises,
};
use yardring_core::store::Parts;
use yardring_core::survey::{KindId, Survey};

/// House, container and Breteau index and pupae per premise, by block, container kind or round, with intervals.
#[derive(Debug, Args)]
pub struct Indices {
    /// The survey.
    survey: PathBuf,
    /// What to count together.
    #[arg(long, value_enum, default_value_t = By::District)]
    by: By,
    /// The round, by its name; otherwise the latest.
    #[arg(long)]
    round: Option<String>,
    /// Measure the inspected yards too, for pupae per hectare by block or round: reads every outline, which takes longer.
    #[arg(long)]
    areas: bool,
    /// Write the rows to this file as comma-separated text.
    #[arg(long)]
    out: Option<PathBuf>,
}

/// What premises or containers are counted together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum By {
    District,
    Block,
    Kind,
    Round,
    LandUse,
}

impl Indices {
    /// Counts and answers.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, has no visits or no round with that name, or the file cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let opened = self.open(output)?;
        let round = opened.round_name()?.to_owned();
        let (answer, table, method) = match self.by {
            By::District => whole_district(&round, &opened),
            By::Block => of_blocks(&opened),
            By::Round => of_rounds(&opened),
            By::LandUse => of_land_uses(&opened)?,
            By::Kind => of_kinds(&opened, output)?,
        };
        let rows = answer.rows();
        let mut words = format!("{round}\n");
        if let Some(path) = &self.out {
            write_features(&answer, path, output)?;
            words.push_str(&format!("{rows} {} written to {}\n", if rows == 1 { "row" } else { "rows" }, path.display()));
        } else {
            words.extend([table, left_out(rows), method.clone(), CAUTION.to_owned()]);
        }
        output
            .answer(&words, || json!({ "by": self.by.word(), "round": round, "method": method, "rows": objects(answer.columns(), rows) }));
        Ok(Done::Clean)
    }

    /// Opens the survey; by block or round with the outlines of premises only where they are asked for, or where a block cannot
    /// be placed without them.
    fn open(&self, output: &Output) -> Result<Opened, Failure> {
        let open = |parts| Opened::new(&self.survey, self.round.as_deref(), parts, output);
        if self.areas || matches!(self.by, By::District | By::LandUse) {
            return open(Parts::EVERYTHING);
        }
        let opened = open(Parts::FOR_COUNTING)?;
        let in_full = self.by == By::Block && needs_premises(&opened.survey, &by_block(&opened.survey, &opened.standings));
        if in_full { open(Parts::EVERYTHING) } else { Ok(opened) }
    }
}

impl By {
    fn word(self) -> &'static str {
        match self {
            Self::District => "district",
            Self::Block => "block",
            Self::Kind => "kind",
            Self::Round => "round",
            Self::LandUse => "land-use",
        }
    }
}

const CAUTION: &str = "Only inspected premises count. Few doors give wide intervals: read them before the index.\n";

/// Rows, the first of them in words, and how they were found.
type Answer = (Features, String, String);

fn whole_district(name: &str, opened: &Opened) -> Answer {
    let survey = &opened.survey;
    let set = sets::of_district(survey, name, opened.round, &opened.standings);
    let further = tables::further(set.counts(), set.sure(), &set.access, &Programmes::of(survey));
    let (rows, mut table, method) = of_groups(survey, ("round", "Round"), vec![set]);
    table.push('\n');
    for (word, value) in further {
        table.push_str(&format!("{word}: {value}\n"));
    }
    (rows, table, method + CONVENTION + "\n")
}

fn of_blocks(opened: &Opened) -> Answer {
    let sets = sets::of_blocks(&opened.survey, opened.round, &opened.standings);
    of_groups(&opened.survey, ("block_id", "Block"), sets)
}

fn of_rounds(opened: &Opened) -> Answer {
    of_groups(&opened.survey, ("round", "Round"), sets::of_rounds(&opened.survey))
}

fn of_land_uses(opened: &Opened) -> Result<Answer, Failure> {
    let found = opened.round.map(|round| sets::of_land_uses(&opened.survey, round, &opened.standings)).filter(|found| !found.is_empty());
    let found = found.ok_or_else(|| {
        Failure::new("The survey's parcels have no land use", "Bring in parcels with a land use column, named in a column map")
    })?;
    Ok(of_groups(&opened.survey, ("land_use", "Land use"), found))
}

/// A title over texts, then titles over numbers.
fn heads<'a>(first: &'a str, numbers: &[&'a str]) -> Vec<Head<'a>> {
    std::iter::once(Head::Left(first)).chain(numbers.iter().map(|n| Head::Right(n))).collect()
}

/// How the intervals of groups were found.
const HOW_SURE: &str = "Intervals hold the truth 95 times in 100, for the premises of the group: house index by Wilson's score, exact where none or \
                        all were positive; container index with yards as clusters; Breteau index by a negative binomial, and in the file also by \
                        drawing yards again (breteau_redrawn, from 10 yards).\n";

/// Groups as an answer, with how far crews got in each.
fn of_groups(survey: &Survey, (column, title): (&'static str, &str), sets: Vec<Set>) -> Answer {
    let (groups, access) = parted(sets);
    let mut numbers = vec!["Premises", "Inspected", "Coverage", "House index", "Container index", "Breteau index", "Pupae a premise"];
    let heat = groups.iter().any(|g| g.3.heat.is_some());
    let mut method = HOW_SURE.to_owned();
    if heat {
        numbers.push("Beside the rest");
        method.push_str(&format!(
            "Hot or cold: house index of a block and its neighbours ({}) against all (Gi*); of those named, at most {:.0} % by chance. Clusters \
             move: a round old is too old.\n",
            Neighbours::of(survey).words(),
            100.0 * FALSE_SHARE
        ));
    }
    let shown: Vec<Vec<String>> = groups.iter().take(SHOWN).map(|g| in_words(g, heat)).collect();
    (indices(survey, column, &groups, &access), aligned(&heads(title, &numbers), &shown), method)
}

fn in_words((name, c, sure, spot): &Group, heat: bool) -> Vec<String> {
    let mut words = vec![
        if name.is_empty() { "without a block".to_owned() } else { name.clone() },
        c.premises.to_string(),
        c.inspected.to_string(),
        c.coverage().map_or_else(|| "none".to_owned(), |share| format!("{:.0} %", share * 100.0)),
        percent(c.house_index(), sure.house),
        c.container_index().map_or_else(|| NO_WATER.to_owned(), |v| percent(Some(v), sure.container)),
        with_interval(c.breteau_index(), sure.breteau, ""),
        c.pupae_per_premise().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.2}")),
    ];
    words.extend(heat.then(|| spot.heat.map_or("", Heat::word).to_owned()));
    words
}

const NO_WATER: &str = "no water seen";

fn percent(index: Option<f64>, interval: Option<Interval>) -> String {
    with_interval(index, interval, " %")
}

fn of_kinds(opened: &Opened, output: &Output) -> Result<Answer, Failure> {
    let counted = by_kind(&opened.survey, &opened.standings);
    let key = key_containers(&opened.survey, &opened.standings, KEY_SHARE, SEED, output)
        .map_err(|stopped| Failure::new(stopped.to_string(), ""))?;
    let numbers = ["Premises", "With water", "With larvae or pupae", "Container index", "Pupae", "Makes", "For its number", "Key"];
    let kinds: Vec<(KindId, KindCounts, KindShare)> =
        counted.into_iter().zip(&key.kinds).map(|((k, c), (_, share))| (k, c, *share)).collect();
    let shown = kinds.iter().take(SHOWN).map(|(kind, c, share)| kind_in_words(opened.survey.kind_name(*kind), c, share));
    let shown: Vec<Vec<String>> = shown.collect();
    let method = format!(
        "Makes: {}, with 95 % intervals from drawing yards again; container index with yards as clusters. Key: the fewest kinds that make {:.0} %.\n",
        key.made_of.word(),
        100.0 * KEY_SHARE
    );
    Ok((tables::kinds(&opened.survey, kinds), aligned(&heads("Kind", &numbers), &shown), method))
}

fn kind_in_words(name: &str, c: &KindCounts, share: &KindShare) -> Vec<String> {
    let mut row = vec![name.to_owned()];
    row.extend([c.premises, c.wet_containers, c.positive_containers].map(|n| n.to_string()));
    row.push(if c.wet_containers == 0 { NO_WATER.to_owned() } else { percent(c.container_index(), c.container_interval) });
    row.push(c.pupae.to_string());
    row.push(match share.contribution {
        Some(v) => percent(Some(100.0 * v), share.contribution_interval.map(Interval::per_hundred)),
        None => "none found".to_owned(),
    });
    row.push(share.electivity.map_or_else(String::new, |e| format!("{e:.1} times")));
    row.push(if share.key { "key" } else { "" }.to_owned());
    row
}
