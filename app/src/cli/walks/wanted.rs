//! Values that `walks` takes on the command line.

use jiff::civil::{Date, Time};
use std::str::FromStr;
use yardring_core::place::LonLat;
use yardring_core::survey::Promised;
use yardring_core::walks::DoorMinutes;

/// A text that is not what it should be.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{given}' is not {what}")]
pub struct NotThat {
    given: String,
    what: &'static str,
}

fn not(given: &str, what: &'static str) -> NotThat {
    NotThat { given: given.to_owned(), what }
}

/// A length of time in minutes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span(pub f64);

impl FromStr for Span {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        let wrong = || not(text, "a length of time, as 6h, 5h30 or 330min");
        let text = text.trim();
        let number = |s: &str| s.trim().parse::<f64>().ok().filter(|n| n.is_finite() && *n >= 0.0);
        let minutes = match text.split_once('h') {
            Some((hours, "")) => number(hours).map(|h| h * 60.0),
            Some((hours, rest)) => {
                let rest = rest.trim_start_matches("ours").trim_end_matches("min").trim_end_matches('m');
                number(hours).zip(if rest.trim().is_empty() { Some(0.0) } else { number(rest) }).map(|(h, m)| h * 60.0 + m)
            }
            None => text.strip_suffix("min").or_else(|| text.strip_suffix('m')).and_then(number),
        };
        minutes.filter(|m| *m > 0.0 && *m <= 24.0 * 60.0).map(Self).ok_or_else(wrong)
    }
}

/// A place in degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place(pub LonLat);

impl FromStr for Place {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        let numbers = text.split_once(',').and_then(|(lon, lat)| Some((lon.trim().parse().ok()?, lat.trim().parse().ok()?)));
        let place = numbers.and_then(|(lon, lat)| LonLat::new(lon, lat));
        place.map(Self).ok_or_else(|| not(text, "a place: write degrees east and north, as -88.305,29.395"))
    }
}

/// From one time of the day to a later one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch(pub Time, pub Time);

impl FromStr for Stretch {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        let times = text.split_once(['-', '–']).and_then(|(from, until)| Some(Self(from.trim().parse().ok()?, until.trim().parse().ok()?)));
        times.filter(|t| t.0 < t.1).ok_or_else(|| not(text, "a stretch of the day: write two times, as 12:00-12:30"))
    }
}

/// A pause of the day, or word that there is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rest(pub Option<Stretch>);

impl FromStr for Rest {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        if text.trim() == "none" { Ok(Self(None)) } else { text.parse().map(|stretch| Self(Some(stretch))) }
    }
}

/// The hours of a crew that is not out as all are; or word that all crews are.
#[derive(Clone, Debug, PartialEq)]
pub struct CrewHours {
    /// The crew's name or number.
    pub crew: String,
    /// When it leaves, and for how many minutes it is out at most; none where no crew has hours of its own.
    pub hours: Option<(Time, f64)>,
}

impl FromStr for CrewHours {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        if text.trim() == "none" {
            return Ok(Self { crew: String::new(), hours: None });
        }
        let wrong = || not(text, "a crew and its hours: write them as North=07:00-11:00 or 2=07:00+4h");
        let (crew, hours) = text.rsplit_once('=').filter(|(crew, _)| !crew.trim().is_empty()).ok_or_else(wrong)?;
        let hours = match hours.split_once('+') {
            Some((leaves, long)) => {
                leaves.trim().parse().ok().zip(long.parse::<Span>().ok()).map(|(leaves, Span(minutes))| (leaves, minutes))
            }
            None => hours.parse::<Stretch>().ok().map(|Stretch(from, until)| (from, until.duration_since(from).as_secs_f64() / 60.0)),
        };
        Ok(Self { crew: crew.trim().to_owned(), hours: Some(hours.ok_or_else(wrong)?) })
    }
}

/// A street that a crew is kept off; without a crew, word that all are let in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptOff {
    /// The crew's name or number; empty where no crew is kept off anything.
    pub crew: String,
    /// The street's name.
    pub street: String,
}

impl FromStr for KeptOff {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        if text.trim() == "none" {
            return Ok(Self { crew: String::new(), street: String::new() });
        }
        let parts = text.split_once('=').map(|(crew, street)| (crew.trim(), street.trim()));
        let parts = parts.filter(|(crew, street)| !crew.is_empty() && !street.is_empty());
        let (crew, street) = parts.ok_or_else(|| not(text, "a crew and a street: write them as Crew 1=Kettle Lane"))?;
        Ok(Self { crew: crew.to_owned(), street: street.to_owned() })
    }
}

/// A door that was promised a day or an hour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Promise {
    /// The parcel id.
    pub parcel: String,
    /// What was promised, as it was typed; none takes a promise back.
    pub said: String,
}

impl FromStr for Promise {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        // On which day it is read decides which Saturday is meant, and not whether it can be read.
        let sound = |said: &str| said.trim() == "none" || Promised::read(said, Date::constant(2025, 1, 1)).is_some();
        let parts = text.rsplit_once('=').filter(|(parcel, said)| !parcel.trim().is_empty() && sound(said));
        let wrong = || not(text, "a promise: write parcel and hours or a day, as P-17=17:00-18:30 or P-17=Saturday after five");
        let (parcel, said) = parts.ok_or_else(wrong)?;
        Ok(Self { parcel: parcel.trim().to_owned(), said: said.trim().to_owned() })
    }
}

/// What a change by hand does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asking {
    /// A door to another crew or place.
    Move,
    /// A door more.
    Add,
    /// A door off the day.
    TakeOff,
    /// A door or a walk locked, or let go.
    Lock(bool),
}

/// A change by hand as it is typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HandChange {
    /// The whole text.
    pub text: String,
    /// What to do.
    pub asking: Asking,
    /// A parcel id, or to be locked a crew.
    pub what: String,
    /// The crew's name or number, where one is named.
    pub crew: Option<String>,
    /// The place in the crew's walk from 1, where one is named.
    pub place: Option<usize>,
}

impl FromStr for HandChange {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        let wrong =
            || not(text, "a change: write it as move P-17=Crew 2, move P-17=Crew 2:3, add P-17, take-off P-17, lock P-17 or unlock Crew 1");
        let (verb, rest) = text.trim().split_once(' ').ok_or_else(wrong)?;
        let asking = match verb {
            "move" => Asking::Move,
            "add" => Asking::Add,
            "take-off" => Asking::TakeOff,
            "lock" | "unlock" => Asking::Lock(verb == "lock"),
            _ => return Err(wrong()),
        };
        let (what, to) = rest.rsplit_once('=').map_or((rest, None), |(what, to)| (what, Some(to)));
        let placed = to.and_then(|to| to.rsplit_once(':')).and_then(|(crew, place)| Some((crew, place.trim().parse::<usize>().ok()?)));
        let (crew, place) = placed.map_or((to, None), |(crew, place)| (Some(crew), Some(place)));
        let sound = !what.trim().is_empty() && place != Some(0) && (asking != Asking::Move || to.is_some());
        let own = |part: &str| part.trim().to_owned();
        sound.then(|| Self { text: own(text), asking, what: own(what), crew: crew.map(own), place }).ok_or_else(wrong)
    }
}

/// Minutes at a door: inspected, closed, with many containers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Minutes(pub DoorMinutes);

impl FromStr for Minutes {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        let numbers: Option<Vec<f64>> = text.split(',').map(|n| n.trim().parse().ok().filter(|m| *m >= 0.0 && *m <= 600.0)).collect();
        match numbers.as_deref() {
            Some(&[complete, closed, many]) => Ok(Self(DoorMinutes { complete, closed, many })),
            _ => Err(not(text, "minutes at a door: write inspected, closed and many containers, as 15,3,37")),
        }
    }
}

/// How long to search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Effort {
    /// About so many seconds.
    Seconds(f64),
    /// So many tries.
    Tries(u64),
}

impl Effort {
    /// The tries to make: the same for the same request, so that the walks are the same again.
    pub fn tries(self, in_seconds: impl FnOnce(f64) -> u64) -> u64 {
        match self {
            Self::Seconds(seconds) => in_seconds(seconds),
            Self::Tries(tries) => tries,
        }
    }
}

impl FromStr for Effort {
    type Err = NotThat;

    fn from_str(text: &str) -> Result<Self, NotThat> {
        let seconds = text.trim().strip_suffix('s').and_then(|s| s.parse::<f64>().ok()).filter(|s| *s > 0.0 && *s <= 86_400.0);
        let found = seconds.map(Self::Seconds).or_else(|| text.trim().parse().ok().map(Self::Tries));
        found.ok_or_else(|| not(text, "an effort: write seconds, as 10s, or a number of tries"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_read_as_people_write_them() {
        for (text, minutes) in [("6h", 360.0), ("5h30", 330.0), ("5h 30min", 330.0), ("330min", 330.0), ("1.5h", 90.0)] {
            assert_eq!(text.parse(), Ok(Span(minutes)), "{text}");
        }
        assert_eq!("-88.3,29.4".parse(), Ok(Place(LonLat { lon: -88.3, lat: 29.4 })));
        assert_eq!("P=1=17:00-18:30".parse(), Ok(Promise { parcel: "P=1".into(), said: "17:00-18:30".into() }));
        assert_eq!("17-1=Saturday after five".parse(), Ok(Promise { parcel: "17-1".into(), said: "Saturday after five".into() }));
        assert_eq!("1 = Kettle Lane".parse(), Ok(KeptOff { crew: "1".into(), street: "Kettle Lane".into() }));
        assert_eq!("none".parse(), Ok(Rest(None)));
        let early = Ok(CrewHours { crew: "Early".into(), hours: Some((Time::constant(7, 0, 0, 0), 240.0)) });
        assert_eq!(("Early=07:00-11:00".parse(), "Early = 07:00+4h".parse()), (early.clone(), early));
        assert!("=07:00+4h".parse::<CrewHours>().is_err() && "2=11:00-07:00".parse::<CrewHours>().is_err());
        assert_eq!("2.5s".parse(), Ok(Effort::Seconds(2.5)));
        assert_eq!("3000".parse(), Ok(Effort::Tries(3000)));
        assert_eq!("15,3,37".parse(), Ok(Minutes(DoorMinutes { complete: 15.0, closed: 3.0, many: 37.0 })));
    }

    #[test]
    fn changes_by_hand_are_read_as_people_write_them() {
        let read = |text: &str| text.parse::<HandChange>().map(|c| (c.asking, c.what, c.crew, c.place));
        assert_eq!(read("move P=1=Crew 2:3"), Ok((Asking::Move, "P=1".into(), Some("Crew 2".into()), Some(3))));
        assert_eq!(read("add P-1"), Ok((Asking::Add, "P-1".into(), None, None)));
        assert_eq!(read("unlock Crew 1"), Ok((Asking::Lock(false), "Crew 1".into(), None, None)));
        for bad in ["move P-1", "move P-1=2:0", "give P-1=2", "add", "lock "] {
            assert!(read(bad).unwrap_err().to_string().contains("write it as"), "{bad}");
        }
    }

    #[test]
    fn other_texts_are_told_how_to_write() {
        for bad in ["", "6", "h", "0h", "25h", "-1h"] {
            assert!(bad.parse::<Span>().unwrap_err().to_string().contains("as 6h"), "{bad}");
        }
        assert!("88".parse::<Place>().unwrap_err().to_string().contains("degrees"));
        assert!("13:00-12:00".parse::<Stretch>().is_err() && "=12:00-13:00".parse::<Promise>().is_err());
        assert!("P-17=whenever".parse::<Promise>().unwrap_err().to_string().contains("Saturday after five"));
        assert!("Kettle Lane".parse::<KeptOff>().is_err() && "noon".parse::<Rest>().is_err());
        assert!("-3s".parse::<Effort>().is_err() && "15,3".parse::<Minutes>().is_err());
    }
}
