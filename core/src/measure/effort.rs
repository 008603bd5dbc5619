//! What was done for it: access, inspections and crew days.

use super::Counts;
use super::Interval;

/// A count for each of something; `None` when there is none of it. Inspections a parcel, doors an inspector's day.
pub fn for_each_of(count: f64, of: f64) -> Option<f64> {
    (of > 0.0).then(|| count / of)
}

/// Premises in a ring of some radius, metres, at a density a hectare.
///
/// # Source
/// π r² times density.
pub fn premises_in_ring(radius: f64, per_hectare: f64) -> f64 {
    ring_hectares(radius) * per_hectare
}

/// The area of a ring of some radius, metres, in hectares.
pub fn ring_hectares(radius: f64) -> f64 {
    std::f64::consts::PI * radius * radius / 10_000.0
}

impl Counts {
    /// The house index that there would be if none, or all, of the premises not inspected were positive, per 100; `None`
    /// without premises. Not an interval: what cannot be excluded.
    ///
    /// # Source
    /// Worst-case bounds, common practice.
    ///
    /// ```
    /// use yardring_core::measure::Counts;
    /// let c = Counts { premises: 40, inspected: 20, positive_premises: 7, ..Counts::default() };
    /// let all = c.house_index_bounds().unwrap();
    /// assert_eq!((all.low, all.high), (17.5, 67.5));
    /// ```
    pub fn house_index_bounds(&self) -> Option<Interval> {
        let unseen = self.premises.saturating_sub(self.inspected);
        let share = |positive: u64| 100.0 * positive as f64 / self.premises as f64;
        (self.premises > 0).then(|| Interval { low: share(self.positive_premises), high: share(self.positive_premises + unseen) })
    }

    /// Share of the premises that were inspected or seen in part, 0 to 1; `None` when there are no premises.
    ///
    /// ```
    /// use yardring_core::measure::Counts;
    /// let c = Counts { premises: 40, inspected: 20, ..Counts::default() };
    /// assert_eq!(c.coverage_with_parts(6), Some(0.65));
    /// ```
    pub fn coverage_with_parts(&self, seen_in_part: u64) -> Option<f64> {
        for_each_of((self.inspected + seen_in_part) as f64, self.premises as f64)
    }

    /// Larva-free rate: inspected premises without larvae or pupae, per 100 inspected; `None` when none was inspected.
    pub fn larva_free_rate(&self) -> Option<f64> {
        self.house_index().map(|index| 100.0 - index)
    }

    /// Inspected premises per 100 at which somebody tried; `None` when nobody tried anywhere.
    pub fn access_rate(&self) -> Option<f64> {
        for_each_of(100.0 * self.inspected as f64, self.attempted as f64)
    }
}
