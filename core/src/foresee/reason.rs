//! Why a visit is due.

use crate::survey::Outcome;

/// While tipping out is the only measure, a yard is seen again after this many days at most. Common practice, no source.
pub const DAYS_BETWEEN: i64 = 7;

/// Why a visit is due, the most pressing first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// Larvae or pupae were left standing.
    LeftStanding,
    /// Left for the householder on an earlier visit too, and still not done.
    PromiseUnkept,
    /// Turned over, but of a kind that holds water upside down too.
    HoldsUpsideDown,
    /// Something is left for the householder.
    Promised,
    /// Treated, stocked with fish or aerated: see whether it worked.
    SeeWhetherItWorked,
    /// Larvae were seen from outside.
    SeenFromOutside,
    /// Larvae or pupae were left standing, and entry was refused since.
    RefusedSince,
    /// Nobody came to the door: another hour, another day of the week.
    NoAnswer,
    /// The gate was locked.
    LockedGate,
    /// Going in was unsafe.
    Unsafe,
    /// Only a part was seen.
    PartOnly,
    /// Over the fence from a positive yard, and nobody has asked there yet.
    NeighbourToBeAsked,
    /// Nothing but that a visit was promised.
    VisitPromised,
    /// Water without larvae was left standing.
    WaterLeft,
    /// Water was tipped out and nothing else was done: rain fills it again.
    LookAgain,
}

impl Reason {
    /// The reason as files and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::LeftStanding => "larvae or pupae left standing",
            Self::PromiseUnkept => "promise unkept",
            Self::HoldsUpsideDown => "turned over, still holds water",
            Self::Promised => "left for the householder",
            Self::SeeWhetherItWorked => "treated, see whether it worked",
            Self::SeenFromOutside => "larvae seen from outside",
            Self::RefusedSince => "larvae or pupae left standing, refused since",
            Self::WaterLeft => "water left standing",
            Self::NoAnswer => "no answer, another hour or weekday",
            Self::LockedGate => "locked gate, ask for access",
            Self::Unsafe => "unsafe, go in pairs",
            Self::PartOnly => "only a part was seen",
            Self::NeighbourToBeAsked => "neighbour to be asked",
            Self::VisitPromised => "visit promised",
            Self::LookAgain => "only emptied, look again",
        }
    }

    /// Whether nothing was found there that could fly before long: water without larvae, or none at all.
    pub(super) fn is_mild(self) -> bool {
        matches!(self, Self::WaterLeft | Self::LookAgain)
    }

    /// Days after which a visit for it is due, when nothing that can fly sets an earlier day. Common practice, no source.
    pub(super) fn wait(self) -> i64 {
        match self {
            Self::NoAnswer | Self::LockedGate | Self::Unsafe | Self::PartOnly | Self::NeighbourToBeAsked | Self::PromiseUnkept => 2,
            Self::LeftStanding
            | Self::HoldsUpsideDown
            | Self::Promised
            | Self::SeeWhetherItWorked
            | Self::SeenFromOutside
            | Self::RefusedSince
            | Self::WaterLeft
            | Self::LookAgain => DAYS_BETWEEN,
            Self::VisitPromised => 0,
        }
    }

    /// Why a door that did not open, or did not open far enough, is due again; `None` where no crew has to come back for it.
    pub(super) fn of_door(outcome: Outcome) -> Option<Self> {
        match outcome {
            Outcome::NoAnswer => Some(Self::NoAnswer),
            Outcome::LockedGate => Some(Self::LockedGate),
            Outcome::Unsafe => Some(Self::Unsafe),
            Outcome::FrontOnly | Outcome::SeenOverFence => Some(Self::PartOnly),
            Outcome::Inspected | Outcome::Refused | Outcome::Vacant => None,
        }
    }
}
