//! What moves a chance up or down, and by how much.

/// What is known of a premise and weighed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// What was found near by and in that part of the district.
    Nearby,
    /// The year in which it was built.
    YearBuilt,
    /// How large the lot is.
    LotSize,
    /// What the land is used for.
    LandUse,
    /// What was found there in earlier rounds.
    EarlierRounds,
    /// What was found near by in earlier rounds.
    NearbyEarlier,
    /// Water that was seen there from outside.
    SeenFromOutside,
}

/// How many things are known.
const THINGS: usize = 7;

/// By how much each thing known moves the log odds of a premise off those of the usual inspected yard, up or down.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pulls([f32; THINGS]);

impl Pulls {
    /// By how much one thing known moves the log odds; 0 where it is not weighed.
    pub fn of(&self, known: Known) -> f64 {
        f64::from(self.0[known as usize])
    }

    /// What is found near by is all that is known.
    pub(super) fn nearby(by: f64) -> Self {
        let mut out = Self::default();
        out.add(Known::Nearby, by);
        out
    }

    pub(super) fn add(&mut self, known: Known, by: f64) {
        self.0[known as usize] += by as f32;
    }

    /// What is left when the usual is taken off.
    pub(super) fn off(mut self, usual: &Self) -> Self {
        self.0.iter_mut().zip(usual.0).for_each(|(p, u)| *p -= u);
        self
    }

    /// The mean; nothing moves where there are none.
    pub(super) fn mean(all: impl Iterator<Item = Self>) -> Self {
        let (mut sum, mut n) = ([0.0; THINGS], 0u32);
        for pulls in all {
            sum.iter_mut().zip(pulls.0).for_each(|(s, p)| *s += f64::from(p));
            n += 1;
        }
        Self(sum.map(|s| (s / f64::from(n.max(1))) as f32))
    }
}
