//! `yardring sample`: how many doors are enough, and how sure we are after those we saw.

use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::fmt::Write as _;
use yardring_core::measure::{
    DoorsError, Stopping, Verdict, among, clopper_pearson, doors_to_estimate, doors_to_find, doors_to_tell_apart, doors_to_try, most_left,
    positives_at, positives_in_block_by, proper_share, share_of_block_at,
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
    #[arg(long, default_value_t = 1.0)]
    sight: f64,
    /// The share of doors tried that open, as 0.74: says how many must be tried.
    #[arg(long)]
    access: Option<f64>,
    /// How many times more doors clustered yards ask for, for --within: the design effect, 1 or more.
    #[arg(long, requires = "within", default_value_t = 1.0)]
    design_effect: f64,
    /// Stop early: the positive share that counts as low. Doors must come in random order.
    #[arg(long, requires = "high", conflicts_with_all = ["within", "at_least", "sight"])]
    low: Option<f64>,
    /// Stop early: the positive share that counts as high.
    #[arg(long, requires = "low")]
    high: Option<f64>,
    /// Stop early: how often either answer may be wrong.
    #[arg(long, requires = "low", default_value_t = 0.1)]
    wrong: f64,
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
        let plan = match (self.within, self.low.zip(self.high)) {
            (Some(within), _) => self.estimate(within)?,
            (None, Some((low, high))) => self.stop_early(low, high)?,
            (None, None) => self.find(self.at_least.unwrap_or(0.02))?,
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
            if let Some(doors) = plan.doors.filter(|_| self.low.is_none()) {
                let more = doors.saturating_sub(inspected);
                machine["doors_more"] = json!(more);
                let _ = writeln!(
                    words,
                    "{}",
                    if more == 0 { "No more are needed for that.".to_owned() } else { format!("{more} more for that.") }
                );
            }
        }
        if let (Some(doors), Some(access)) = (plan.doors, self.access) {
            words.push_str(&self.tries(doors, access, &mut machine));
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
        if let Some(access) = self.access.filter(|a| *a != 1.0) {
            proper_share("the access rate", access)?;
        }
        if !(1.0..=1000.0).contains(&self.design_effect) {
            return Err(DoorsError::NoDesignEffect { found: self.design_effect });
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
        // What is noticed is the positive share times the sight, and so is its margin.
        let without_end = self.design_effect * doors_to_estimate(expected * self.sight, within * self.sight, self.confidence);
        let doors = (among(without_end, self.premises).ceil() as u64).clamp(1, self.premises);
        let words = format!(
            "Inspect {doors} of {} to know the positive share within {} to either side, {} of the time (expected share {}).\n",
            self.premises,
            percent(within),
            percent(self.confidence),
            percent(expected)
        );
        let machine = json!({
            "aim": "estimate", "within": within, "expected": expected, "sight": self.sight, "design_effect": self.design_effect,
            "doors_without_end_of_premises": without_end.ceil(),
        });
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

    /// When to stop early, and whether to stop now.
    fn stop_early(&self, low: f64, high: f64) -> Result<Plan, DoorsError> {
        let (low, high) = (proper_share("--low", low)?, proper_share("--high", high)?);
        let wrong = proper_share("twice --wrong", 2.0 * self.wrong)? / 2.0;
        if low >= high {
            return Err(DoorsError::LowNotBelowHigh { low, high });
        }
        let plan = Stopping::between(low, high, wrong, wrong);
        let most = (3.0 * doors_to_tell_apart(low, high, wrong, wrong)).ceil() as u64;
        let first = plan.low_from(0);
        let mut words = format!(
            "Go on until one of these holds, each wrong at most {} of the time: the positive share is {} or less, or {} or more.\n",
            percent(wrong),
            percent(low),
            percent(high)
        );
        let _ = writeln!(
            words,
            "Low: {}.",
            (0..4).map(|x| format!("{x} positive at door {} or later", plan.low_from(x))).collect::<Vec<_>>().join("; ")
        );
        let at = |doors: u64| format!("{} positive by door {doors}", plan.high_from(doors));
        let _ = writeln!(words, "High: {}.", [10, 25, 50, 100].map(at).join("; "));
        let _ = writeln!(words, "Not told by door {most}: stop, the share lies between.");
        let mut machine = json!({
            "aim": "stop early", "low": low, "high": high, "wrong": wrong, "slope": plan.slope, "upper": plan.upper, "lower": plan.lower,
            "give_up_at": most,
        });
        if let (Some(doors), Some(positive)) = (self.inspected, self.positive) {
            let (word, say) = match plan.verdict(doors, positive) {
                Verdict::Low => ("low", "stop: the share is low"),
                Verdict::High => ("high", "stop: the share is high"),
                Verdict::GoOn if doors >= most => ("between", "stop: it lies between"),
                Verdict::GoOn => ("go on", "go on"),
            };
            machine["verdict"] = json!(word);
            let _ = writeln!(words, "{positive} of {doors}: {say}.");
        }
        Ok(Plan { doors: Some(first), machine, words })
    }

    /// How many doors must be tried so that enough open.
    fn tries(&self, doors: u64, access: f64, machine: &mut Value) -> String {
        let more = doors.saturating_sub(self.inspected.unwrap_or(0));
        let tries = doors_to_try(more, access);
        (machine["access"], machine["doors_to_try"]) = (json!(access), json!(tries));
        let again = if tries > self.premises { "; that is more than there are: go back to those that stay shut" } else { "" };
        format!("Where {} of the doors open, {tries} must be tried for these {more}{again}.\n", percent(access))
    }

    /// How sure we are after the doors so far.
    fn so_far(&self, inspected: u64, positive: u64) -> (String, Value) {
        let Some((low, high)) = positives_in_block_by(positive, inspected, self.premises, self.sight, self.confidence) else {
            return ("Nothing has been inspected yet.\n".to_owned(), json!({ "inspected": 0 }));
        };
        let mut machine =
            json!({ "inspected": inspected, "positive": positive, "positive_premises_low": low, "positive_premises_high": high });
        let seen_through = |found: u64| found as f64 / self.premises as f64;
        let share = share_of_block_at(positive, inspected, self.premises, self.confidence).filter(|_| self.sight >= 1.0);
        let share = share.map_or((seen_through(low), seen_through(high)), |i| (i.low, i.high));
        (machine["house_index_low"], machine["house_index_high"]) = (json!(100.0 * share.0), json!(100.0 * share.1));
        if let Some(i) = clopper_pearson(positive, inspected, self.confidence) {
            let there = |noticed: f64| 100.0 * (noticed / self.sight).min(1.0);
            machine["without_end_of_premises"] = json!({ "low": there(i.low), "high": there(i.high) });
        }
        let sight = if self.sight < 1.0 { format!(", {} of what is there being seen", percent(self.sight)) } else { String::new() };
        let sure = format!("{} sure{sight}", percent(self.confidence));
        if positive > 0 {
            let text =
                format!("{positive} of {inspected} inspected were positive: {low} to {high} of all {} are, {sure}.\n", self.premises);
            return (text, machine);
        }
        let left = most_left(self.premises, inspected, self.sight, self.confidence);
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
