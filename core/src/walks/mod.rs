//! The day's walks: which doors, by which crew, in which order.
//!
//! [`plan_walks`] searches over a matrix of travel times. It has a plan at once and betters it until its
//! [`Effort`] is spent; the same task, seed and number of iterations give the same walks.

pub mod by_hand;
mod carry;
mod day;
mod effort;
mod error;
mod search;
mod task;

pub use carry::{carry, left_open};
pub use day::{Because, CrewWalk, Day, Door, LeftOut, OneMore, Supply, Why, WhyKind};
pub use effort::{Effort, Iterations, Standing};
pub use error::WalkError;
pub use search::plan_walks;
pub use task::{Aim, DayPlan, DayTask, Stop, Travel};
