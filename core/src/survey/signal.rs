//! Signals: why we are there. And the weather that the larvae grow in.

use super::outcome::written_words;
use crate::place::Local;
use jiff::civil::Date;

/// What kind of signal it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SignalKind {
    /// A person who fell ill. Where it is, is health information.
    Case,
    /// Adults caught in a trap.
    Trap,
    /// A householder's complaint.
    Complaint,
}

written_words!(SignalKind, "a kind of signal", Case => "case", Trap => "trap", Complaint => "complaint");

/// One signal.
#[derive(Clone, Debug, PartialEq)]
pub struct Signal {
    /// Its id in the file.
    pub id: Box<str>,
    /// The day.
    pub day: Date,
    /// Where, in the district frame.
    pub place: Local,
    /// What kind it is.
    pub kind: SignalKind,
    /// Adults caught per trap and night.
    pub value: Option<f64>,
    /// The species; empty where it was not written down.
    pub species: Box<str>,
}

/// The air temperature of one day, in degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayTemperature {
    /// The day.
    pub day: Date,
    /// The day's mean.
    pub mean: f64,
    /// The lowest and the highest, where the file gives them.
    pub range: Option<(f64, f64)>,
}
