//! A survey opened for one answer, and the round that the answer is about.

use super::Failure;
use std::path::Path;
use yardring_core::job::Watch;
use yardring_core::store::{self, Parts};
use yardring_core::survey::{RoundId, Standing, Survey, standings};

/// A survey, a round of it, and where every premise stands in that round.
#[derive(Debug)]
pub struct Opened {
    /// The survey.
    pub survey: Survey,
    /// The round; `None` when the survey has no visits yet.
    pub round: Option<RoundId>,
    /// Where every premise stands in the round; nobody went anywhere when there is none.
    pub standings: Vec<Standing>,
}

impl Opened {
    /// Opens a survey and finds the round with a name, or the latest.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read or has no round with that name.
    pub fn new(path: &Path, name: Option<&str>, what: Parts, watch: &dyn Watch) -> Result<Self, Failure> {
        let survey = store::load(path, what, watch)?;
        let round = survey.round(name);
        if let (Some(name), None) = (name, round) {
            return Err(no_such_round(&survey, name));
        }
        let standings = match round {
            Some(round) => standings(&survey, round),
            None => vec![Standing::default(); survey.premises.len()],
        };
        Ok(Self { survey, round, standings })
    }

    /// The name of the round.
    ///
    /// # Errors
    /// [`Failure`] when the survey has no visits, so that there is nothing to answer from.
    pub fn round_name(&self) -> Result<&str, Failure> {
        let round = self.round.ok_or_else(|| {
            let what = "The survey has no visits yet";
            Failure::new(what, "Bring the crews' sheets in: yardring intake SURVEY.gpkg --visits FILE")
        })?;
        Ok(&self.survey.rounds[round.row()].name)
    }
}

fn no_such_round(survey: &Survey, name: &str) -> Failure {
    let names: Vec<String> = survey.rounds.iter().map(|r| format!("'{}'", r.name)).collect();
    let hint = match names.as_slice() {
        [] => "The survey has no visits yet; bring them in with yardring intake SURVEY.gpkg --visits FILE".to_owned(),
        [only] => format!("The only round is {only}"),
        all => format!("The rounds are {}", all.join(", ")),
    };
    Failure::new(format!("The survey has no round named '{name}'"), hint)
}
