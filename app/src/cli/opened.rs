//! A survey opened for one answer, and the round that the answer is about.

use super::Failure;
use std::mem::ManuallyDrop;
use std::path::Path;
use yardring_core::job::Watch;
use yardring_core::store::{self, Parts};
use yardring_core::survey::{RoundId, Standing, Survey, standings};

/// The name of a survey's file, without folders and ending.
pub fn survey_name(path: &Path) -> String {
    path.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

/// A survey, a round of it, and where every premise stands in that round.
#[derive(Debug)]
pub struct Opened {
    /// The survey. Never given back piece by piece: the program ends after its answer, and the system takes all at once.
    pub survey: ManuallyDrop<Survey>,
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
        Self::of(store::load(path, what, watch)?, name)
    }

    /// The same for a survey that is already read.
    fn of(survey: Survey, name: Option<&str>) -> Result<Self, Failure> {
        let round = survey.round(name);
        if let (Some(name), None) = (name, round) {
            return Err(no_such_round(&survey, name));
        }
        let standings = match round {
            Some(round) => standings(&survey, round),
            None => vec![Standing::default(); survey.premises.len()],
        };
        Ok(Self { survey: ManuallyDrop::new(survey), round, standings })
    }

    /// Another round, by its name.
    ///
    /// # Errors
    /// [`Failure`] when the survey has no such round.
    pub fn named(&self, name: &str) -> Result<RoundId, Failure> {
        self.survey.round(Some(name)).ok_or_else(|| no_such_round(&self.survey, name))
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

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use std::sync::Arc;
    use yardring_core::place::{Frame, LonLat};
    use yardring_core::survey::Round;

    fn survey(rounds: &[(&str, i8)]) -> Survey {
        let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
        let round = |(name, day): &(&str, i8)| Round { name: (*name).into(), first: date(2025, 7, 1), last: date(2025, 7, *day) };
        survey.rounds = Arc::new(rounds.iter().map(round).collect());
        survey
    }

    #[test]
    fn the_latest_round_unless_another_is_named() {
        let rounds = [("First pass", 9), ("Third", 20), ("Second", 14)];
        assert_eq!(Opened::of(survey(&rounds), None).unwrap().round_name().unwrap(), "Third");
        assert_eq!(Opened::of(survey(&rounds), Some("Second")).unwrap().round_name().unwrap(), "Second");
    }

    #[test]
    fn a_round_that_is_not_there_is_told_with_those_that_are() {
        let told = Opened::of(survey(&[("First", 9), ("Second", 14)]), Some("Thrid")).unwrap_err().to_string();
        assert_eq!(told, "The survey has no round named 'Thrid'. The rounds are 'First', 'Second'");
    }

    #[test]
    fn without_visits_it_says_how_to_bring_them_in() {
        let told = Opened::of(survey(&[]), None).unwrap().round_name().unwrap_err().to_string();
        assert!(told.starts_with("The survey has no visits yet. Bring") && told.contains("--visits"), "{told}");
    }
}
