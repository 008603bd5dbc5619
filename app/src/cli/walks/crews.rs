//! Who is out and when: names and hours of the crews, as they are asked for or as the kept plan has them.

use super::super::Failure;
use super::wanted::CrewHours;
use super::{Walks, crew_named};
use yardring_core::walks::{Day, Shift};

/// Crews of a day for which nobody said how many.
const USUAL: u16 = 2;

impl Walks {
    /// The plan of the day that is planned again round what stays of it, or gone on from.
    fn planned_again<'a>(&self, before: Option<&'a Day>) -> Option<&'a Day> {
        before.filter(|day| (self.rest || self.go_on) && day.on == self.on)
    }

    /// What the crews are called: by their names, or by number; a plan that goes on has the crews that it had.
    pub(super) fn crew_names(&self, before: Option<&Day>) -> Result<Vec<String>, Failure> {
        if let Some(crews) = self.crews {
            return Ok((1..=crews).map(|n| format!("Crew {n}")).collect());
        }
        if self.names.is_empty() {
            let kept = self.planned_again(before).map(|day| day.walks.iter().map(|w| w.crew.clone()).collect());
            return Ok(kept.unwrap_or_else(|| (1..=USUAL).map(|n| format!("Crew {n}")).collect()));
        }
        let names: Vec<String> = self.names.iter().map(|name| name.trim().to_owned()).collect();
        let again = |(i, name): &(usize, &String)| names[..*i].iter().any(|earlier| earlier.eq_ignore_ascii_case(name));
        match names.iter().enumerate().find(|pair| pair.1.is_empty() || again(pair)) {
            Some((_, name)) => Err(Failure::new(
                format!("--names has the crew '{name}' without a name of its own"),
                "Give every crew its name: --names North,South",
            )),
            None => Ok(names),
        }
    }

    /// The hours of the crews that have their own, in the crews' order.
    pub(super) fn own_shifts(&self, crews: &[String], before: Option<&Day>) -> Result<Vec<Option<Shift>>, Failure> {
        let kept = self.planned_again(before).filter(|_| self.hours.is_empty());
        let of_kept = |crew: &String| {
            let day = kept?;
            let own = day.walks.iter().find(|w| w.crew.eq_ignore_ascii_case(crew))?.own_shift?;
            Some(Shift::of_day(self.begins, day.clock(own.from), own.minutes()))
        };
        let mut out: Vec<Option<Shift>> = crews.iter().map(of_kept).collect();
        for CrewHours { crew, hours } in &self.hours {
            let Some((leaves, minutes)) = hours else { continue };
            out[crew_named(crews, crew)?] = Some(Shift::of_day(self.begins, *leaves, *minutes));
        }
        Ok(out)
    }
}
