//! The day's walks: which doors, by which crew, in which order.
//!
//! [`plan_walks`] searches over a matrix of travel times. It has a plan at once and betters it until its
//! [`Effort`] is spent; the same task, seed and number of iterations give the same walks.

mod after;
mod at_streets;
pub mod by_hand;
mod candidates;
mod changes;
mod day;
mod day_plan;
mod day_rows;
mod effort;
mod error;
mod heat;
mod kept_off;
mod left_over;
mod legs;
#[cfg(test)]
mod made_up;
mod marks;
mod minutes;
mod morning;
mod neatness;
mod promised;
mod rest;
mod ring;
mod saved;
mod search;
mod shifts;
mod street_ways;
mod streets;
mod supplies;
mod task;
mod tried;

pub use after::{Compared, Done, PlannedDoor, compare, planned_doors, read_planned};
pub use at_streets::AtStreets;
pub use candidates::{Candidate, Looking, candidates};
pub use changes::Change;
pub use day::{Because, CrewWalk, Day, Door, LeftOut, OneMore, Supply, Why, WhyKind, clock};
pub use day_plan::{DoorOnClock, Pause, Planned, Times, Wish, iterations_for, times};
pub use day_rows::{left_out_rows, walk_rows};
pub use effort::{Effort, Iterations, Standing};
pub use error::WalkError;
pub use heat::Heat;
pub use kept_off::{in_street, on_street, street_names, street_of};
pub use left_over::{LeftOver, left_over};
pub use legs::Car;
pub use marks::Marks;
pub use minutes::{DoorMinutes, Learnt, MANY, learn_minutes};
pub use morning::{Morning, Ready};
pub use neatness::{Neatness, neatness};
pub use rest::plan_rest;
pub use ring::own_worth;
pub use saved::{read_day, write_day};
pub use search::plan_walks;
pub use shifts::Shift;
pub use street_ways::StreetWays;
pub use streets::{Driving, FoundBy, NetworkReport, Route, Spot, StreetNetwork, Torn, Walking, lines_mark, without_streets};
pub use supplies::{carry, door_supplies, left_open, restock, supply_words};
pub use task::{Aim, DayPlan, DayTask, Stop, Travel};
