//! Finds: one kind of container found on a visit.

use super::KindId;
use super::outcome::written_words;

/// The oldest stage seen in the water: the four larval instars, or pupae.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// First instar larva.
    L1,
    /// Second instar larva.
    L2,
    /// Third instar larva.
    L3,
    /// Fourth instar larva.
    L4,
    /// Pupa.
    Pupa,
}

written_words!(Stage, "a stage", L1 => "L1", L2 => "L2", L3 => "L3", L4 => "L4", Pupa => "P");

/// What was done with the containers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Action {
    /// The water was tipped out.
    Emptied,
    /// Turned upside down.
    TurnedOver,
    /// Drilled so that water runs out.
    Drilled,
    /// Covered with a screen.
    Screened,
    /// Put under a roof.
    StoredInside,
    /// Taken away.
    Removed,
    /// Stocked with fish.
    Fish,
    /// Treated according to the product's label.
    Treated,
    /// Water kept moving.
    Aerated,
    /// Left as it was.
    Left,
}

written_words!(Action, "an action",
    Emptied => "emptied", TurnedOver => "turned over", Drilled => "drilled", Screened => "screened",
    StoredInside => "stored inside", Removed => "removed", Fish => "fish", Treated => "treated", Aerated => "aerated",
    Left => "left");

/// One kind of container found on a visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Find {
    /// What it was.
    pub kind: KindId,
    /// How many.
    pub count: u32,
    /// How many held water.
    pub wet: u32,
    /// How many held larvae.
    pub with_larvae: u32,
    /// How many held pupae.
    pub with_pupae: u32,
    /// Pupae counted.
    pub pupae: u32,
    /// The oldest stage seen.
    pub stage: Option<Stage>,
    /// Water in all of them together, in litres.
    pub litres: Option<f32>,
    /// What was done.
    pub action: Option<Action>,
    /// Whether something is left for the householder.
    pub remains: bool,
}

impl Find {
    /// How many containers held larvae or pupae: the larger of the two counts, since one container may hold both.
    pub fn positive(&self) -> u32 {
        self.with_larvae.max(self.with_pupae)
    }

    /// Whether pupae were seen.
    pub fn has_pupae(&self) -> bool {
        self.with_pupae > 0 || self.pupae > 0
    }
}
