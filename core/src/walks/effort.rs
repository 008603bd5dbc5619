//! How long to go on, and what was reached so far.

use super::Aim;

/// What a plan is worth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Standing {
    /// Stops that must be visited and are not.
    pub missing: usize,
    /// Prize of the stops visited.
    pub prize: f64,
    /// Travel over all walks, in seconds, without the time at the doors.
    pub travel: f64,
}

impl Standing {
    /// Whether this is better than another: fewer must stops missing, then what the aim asks for.
    /// Differences below a thousand-millionth are none.
    pub fn betters(&self, other: &Self, aim: Aim) -> bool {
        if self.missing != other.missing {
            return self.missing < other.missing;
        }
        let less_travel = self.travel < other.travel - 1e-9 * (1.0 + other.travel.abs());
        if aim == Aim::LeastTravel {
            return less_travel;
        }
        let slack = 1e-9 * (1.0 + other.prize.abs());
        self.prize > other.prize + slack || (self.prize >= other.prize - slack && less_travel)
    }
}

/// Tells the search how much of its time is gone, and hears of every better plan.
///
/// The search itself reads no clock: a caller who wants seconds brings a clock in here.
pub trait Effort {
    /// Share of the effort that is spent after so many iterations: 0 at the start, 1 or more to stop.
    fn share_spent(&mut self, iterations: u64) -> f64;

    /// Called with what the first plan and each better one after it is worth.
    fn better(&mut self, _standing: Standing, _iterations: u64) {}
}

/// An effort counted in iterations: the same count gives the same walks on every computer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Iterations(pub u64);

impl Effort for Iterations {
    fn share_spent(&mut self, iterations: u64) -> f64 {
        if self.0 == 0 { 1.0 } else { iterations as f64 / self.0 as f64 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_must_stop_outweighs_everything() {
        let all = Standing { missing: 0, prize: 1.0, travel: 900.0 };
        let short = Standing { missing: 1, prize: 50.0, travel: 10.0 };
        for aim in [Aim::MostPrize, Aim::LeastTravel] {
            assert!(all.betters(&short, aim) && !short.betters(&all, aim));
        }
    }

    #[test]
    fn travel_settles_equal_prizes() {
        let short = Standing { missing: 0, prize: 7.0, travel: 10.0 };
        let long = Standing { travel: 11.0, ..short };
        let rich = Standing { prize: 8.0, ..long };
        assert!(short.betters(&long, Aim::MostPrize) && rich.betters(&short, Aim::MostPrize));
        assert!(short.betters(&rich, Aim::LeastTravel) && !short.betters(&short, Aim::LeastTravel));
    }
}
