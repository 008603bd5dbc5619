//! `yardring sample`: how many doors are enough, and how sure we are after those we saw.

use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::fmt::Write as _;
use yardring_core::measure::{
    DoorsError, among, clopper_pearson, doors_to_estimate, doors_to_find, most_left, positives_at, positives_in_block, proper_share,
    share_of_block,
};

/// How many doors are enough, and how sure we are after those we saw. Doors must be chosen by chance, not by convenience.
#[derive(Debug, Args)]
pub struct Sample {
    /// Premises of the block or the area.
    #[arg(long)]
    premises: u64,
    /// Premises inspected so far.
    #[arg(long)]
    inspected: Option<u64>,
    /// Inspected premises with larvae or pupae.
    #[arg(long, requires = "inspected")]
    positive: Option<u64>,
    /// How sure the answer must be, 0 to 1.
    #[arg(long, default_value_t = 0.95)]
    confidence: f64,
    /// Find at least one positive if this share of the premises is positive (0.02 when nothing else is asked).
    #[arg(long, conflicts_with = "within")]
    at_least: Option<f64>,
    /// Estimate the positive share to within this much, to either side.
    #[arg(long)]
    within: Option<f64>,
    /// The positive share that is expected, for --within; a half asks for the most doors.
    #[arg(long, requires = "within")]
    expected: Option<f64>,
    /// The chance that an inspector sees larvae that are there.
    #[arg(long, default_value_t = 1.0, conflicts_with = "within")]
    sight: f64,
}

/// What was asked, checked.
struct Plan {
    doors: Option<u64>,
    machine: Value,
    words: String,
}

impl Sample {
    /// Works the doors out and answers.
    ///
    /// # Errors
    /// [`Failure`] when a number cannot be.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        self.check()?;
        let plan = match self.within {
            Some(within) => self.estimate(within)?,
            None => self.find(self.at_least.unwrap_or(0.02))?,
        };
        let mut words = plan.words;
        let mut machine = plan.machine;
        machine["premises"] = json!(self.premises);
        machine["confidence"] = json!(self.confidence);
        machine["doors"] = json!(plan.doors);
        if let Some(inspected) = self.inspected {
            if let Some(positive) = self.positive.or((inspected == 0).then_some(0)) {
                let (text, so_far) = self.so_far(inspected, positive);
                words.push_str(&text);
                machine["so_far"] = so_far;
            } else {
                words.push_str("With --positive N, how many of them were, this says how sure we are so far.\n");
            }
            if let Some(doors) = plan.doors {
                let more = doors.saturating_sub(inspected);
                machine["doors_more"] = json!(more);
                let _ = writeln!(
                    words,
                    "{}",
                    if more == 0 { "No more are needed for that.".to_owned() } else { format!("{more} more for that.") }
                );
            }
        }
        words.push_str("This holds for doors chosen by chance. Doors that opened are not those that stayed shut.\n");
        output.answer(&words, || machine);
        Ok(if plan.doors.is_none() { Done::Warned } else { Done::Clean })
    }

    fn check(&self) -> Result<(), DoorsError> {
        if self.premises == 0 {
            return Err(DoorsError::NoPremises);
        }
        proper_share("the confidence", self.confidence)?;
        if self.sight != 1.0 {
            proper_share("the chance to see larvae", self.sight)?;
        }
        let inspected = self.inspected.unwrap_or(0);
        if inspected > self.premises {
            return Err(DoorsError::TooMany {
                part: "the premises inspected",
                found: inspected,
                whole: "the premises",
                most: self.premises,
            });
        }
        match self.positive {
            Some(found) if found > inspected => {
                Err(DoorsError::TooMany { part: "the positive premises", found, whole: "the premises inspected", most: inspected })
            }
            _ => Ok(()),
        }
    }

    fn estimate(&self, within: f64) -> Result<Plan, DoorsError> {
        let within = proper_share("--within", within)?;
        let expected = proper_share("--expected", self.expected.unwrap_or(0.5))?;
        let without_end = doors_to_estimate(expected, within, self.confidence);
        let doors = (among(without_end, self.premises).ceil() as u64).clamp(1, self.premises);
        let words = format!(
            "Inspect {doors} of {} to know the positive share within {} to either side, {} of the time (expected share {}).\n",
            self.premises,
            percent(within),
            percent(self.confidence),
            percent(expected)
        );
        let machine =
            json!({ "aim": "estimate", "within": within, "expected": expected, "doors_without_end_of_premises": without_end.ceil() });
        Ok(Plan { doors: Some(doors), machine, words })
    }

    fn find(&self, share: f64) -> Result<Plan, DoorsError> {
        let share = proper_share("--at-least", share)?;
        let positives = positives_at(self.premises, share);
        let doors = doors_to_find(self.premises, positives, self.sight, self.confidence);
        let if_so = format!("at least one positive, should {positives} of {} ({}) be positive", self.premises, percent(share));
        let words = match doors {
            Some(doors) => format!("Inspect {doors} of {} to find {if_so}, {} of the time.\n", self.premises, percent(self.confidence)),
            None => format!("Even all {} do not find {if_so}, {} of the time.\n", self.premises, percent(self.confidence)),
        };
        let machine = json!({ "aim": "find", "at_least": share, "positives": positives, "sight": self.sight });
        Ok(Plan { doors, machine, words })
    }

    /// How sure we are after the doors so far.
    fn so_far(&self, inspected: u64, positive: u64) -> (String, Value) {
        let Some((low, high)) = positives_in_block(positive, inspected, self.premises, self.confidence) else {
            return ("Nothing has been inspected yet.\n".to_owned(), json!({ "inspected": 0 }));
        };
        let mut machine =
            json!({ "inspected": inspected, "positive": positive, "positive_premises_low": low, "positive_premises_high": high });
        if let Some(i) = share_of_block(positive, inspected, self.premises) {
            machine["house_index_low"] = json!(100.0 * i.low);
            machine["house_index_high"] = json!(100.0 * i.high);
        }
        if let Some(i) = clopper_pearson(positive, inspected, self.confidence) {
            machine["without_end_of_premises"] = json!({ "low": 100.0 * i.low, "high": 100.0 * i.high });
        }
        let sure = format!("{} sure", percent(self.confidence));
        if positive > 0 {
            let text =
                format!("{positive} of {inspected} inspected were positive: {low} to {high} of all {} are, {sure}.\n", self.premises);
            return (text, machine);
        }
        let left = most_left(self.premises, inspected, self.confidence);
        machine["most_left"] = json!(left);
        let text = match left {
            0 => format!("Nothing was found at {inspected}: no other is positive, {sure}.\n"),
            left => format!("Nothing was found at {inspected}: at most {left} of all {} are positive, {sure}.\n", self.premises),
        };
        (text, machine)
    }
}

fn percent(share: f64) -> String {
    let text = format!("{:.1}", 100.0 * share);
    format!("{} %", text.trim_end_matches(".0"))
}
