//! What follows from what was seen: how larvae grow, when they fly, and which visits are due.

mod callbacks;
mod development;
mod emergence;

pub use callbacks::{CallBack, DAYS_BETWEEN, Reason, callback_rows, callbacks};
pub use development::{Briere, DegreeDays, SharpeDeMichele, degree_days_of};
pub use emergence::{
    ALBOPICTUS_LARVA, ALBOPICTUS_LARVA_FEMALE, ALBOPICTUS_PUPA, ALBOPICTUS_PUPA_FEMALE, FirstAdult, Species, WITHOUT_TEMPERATURES, Weather,
    first_adult, first_adult_by_days,
};
