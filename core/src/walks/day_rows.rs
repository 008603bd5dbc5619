//! A planned day as rows for files.

use super::{CrewWalk, Day, Door, clock, door_supplies, own_worth, supply_words};
use crate::files::{Column, Drawn, Features};
use crate::place::{Local, Shapes};
use crate::survey::calendar::clock_words;
use crate::survey::{ContainerKnowledge, Survey};
use jiff::civil::Time;
use std::sync::Arc;

/// The doors of all walks in their order, with the columns of the contract; a door is drawn where the crew stands on the street.
/// Without a day there are columns and no row.
pub fn walk_rows(survey: &Survey, day: Option<&Day>) -> Features {
    let walks = day.map_or(&[][..], |d| &d.walks);
    let rows: Vec<(&CrewWalk, usize, &Door)> =
        walks.iter().flat_map(|w| w.doors.iter().zip(1..).map(move |(door, order)| (w, order, door))).collect();
    let p = &survey.premises;
    let known = ContainerKnowledge::of(survey);
    let begins = day.map_or(Time::MIN, |d| d.begins);
    let time = |minutes: f64| clock_words(clock(begins, minutes));
    let columns = vec![
        Column::text("crew", rows.iter().map(|r| &r.0.crew)),
        Column::whole("order", rows.iter().map(|r| Some(r.1 as i64))),
        Column::text("parcel_id", rows.iter().map(|r| p.parcel_id.get(r.2.premise.row()))),
        Column::text("address", rows.iter().map(|r| p.address.get(r.2.premise.row()))),
        Column::text("arrive", rows.iter().map(|r| time(r.2.arrive))),
        Column::text("leave", rows.iter().map(|r| time(r.2.leave()))),
        Column::number("minutes", 1, rows.iter().map(|r| Some(r.2.minutes))),
        Column::number("walk_m", 0, rows.iter().map(|r| Some(r.2.walk_m))),
        Column::text("reason", rows.iter().map(|r| &r.2.why.words)),
        Column::number("probability", 4, rows.iter().map(|r| r.2.probability)),
        Column::text("supplies", rows.iter().map(|r| supply_words(&door_supplies(survey, &known, r.2.premise)))),
        Column::text("promised", rows.iter().map(|r| r.2.promised.map_or_else(String::new, |(a, b)| format!("{}-{}", time(a), time(b))))),
    ];
    let places: Vec<Local> = rows.iter().map(|r| r.2.at).collect();
    Features::new("walks", "The doors of a day's walks, crew by crew", columns).drawn(
        survey.frame,
        Drawn::Points,
        Arc::new(points(&places)),
    )
}

fn points(places: &[Local]) -> Shapes {
    let mut shapes = Shapes::default();
    for place in places {
        shapes.push_ring(&[*place]);
        shapes.end_part();
        shapes.end_shape();
    }
    shapes
}

/// The doors that are left out, those of a ring that comes first and those worth most before others, with the reason why somebody should go
/// and why nobody does today; each with what it is worth by itself.
pub fn left_out_rows(survey: &Survey, day: &Day) -> Features {
    let p = &survey.premises;
    let columns = vec![
        Column::text("parcel_id", day.left_out.iter().map(|l| p.parcel_id.get(l.premise.row()))),
        Column::text("address", day.left_out.iter().map(|l| p.address.get(l.premise.row()))),
        Column::text("reason", day.left_out.iter().map(|l| &l.why.words)),
        Column::text("left_out_because", day.left_out.iter().map(|l| l.because.word())),
        Column::number("worth", 4, day.left_out.iter().map(|l| Some(own_worth(l.worth)))),
    ];
    Features::new("left_out", "Doors that are not walked to on the day", columns)
}
