//! How long a stage of long work will still take.

use std::time::Duration;

/// Before this share is done, in so little time, nobody can tell.
const LEAST_SHARE: f64 = 0.03;
const LEAST_TIME: Duration = Duration::from_millis(1500);

/// The time left of a stage, as long for each share as so far; `None` while that cannot be told.
pub fn remaining(share: f64, since: Duration) -> Option<Duration> {
    let tells = (LEAST_SHARE..=1.0).contains(&share) && since >= LEAST_TIME;
    tells.then(|| since.mul_f64((1.0 - share) / share))
}

/// The time left in words, roughly: `about 8 s left`, `about 2 min left`.
pub fn in_words(left: Duration) -> String {
    let seconds = left.as_secs_f64();
    match seconds {
        s if s < 10.0 => format!("about {:.0} s left", s.ceil().max(1.0)),
        s if s < 90.0 => format!("about {:.0} s left", (s / 5.0).ceil() * 5.0),
        s => format!("about {:.0} min left", (s / 60.0).ceil()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_takes_as_long_as_what_is_done() {
        let second = Duration::from_secs;
        assert_eq!(remaining(0.25, second(4)), Some(second(12)));
        assert_eq!(remaining(1.0, second(4)), Some(second(0)));
        assert_eq!((remaining(0.25, second(1)), remaining(0.01, second(9))), (None, None));
        assert_eq!(
            [in_words(second(0)), in_words(second(61)), in_words(second(200))],
            ["about 1 s left", "about 65 s left", "about 4 min left"]
        );
    }
}
