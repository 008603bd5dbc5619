//! The views of the map that somebody came through, to go back and forward among them.

use crate::map::Look;

/// Most views that are remembered.
const MOST: usize = 60;

/// Views in the order they were seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trail {
    looks: Vec<Look>,
    at: usize,
}

impl Trail {
    /// Notes where the map came to rest. A view much like the present one takes its place; after any other, the way forward is
    /// a new one.
    pub fn note(&mut self, look: Look) {
        match self.looks.get_mut(self.at) {
            Some(now) if now.is_near(&look) => *now = look,
            _ => {
                self.looks.truncate(self.at + 1);
                self.looks.push(look);
                if self.looks.len() > MOST {
                    self.looks.remove(0);
                }
                self.at = self.looks.len() - 1;
            }
        }
    }

    /// The present view; `None` before the map was seen.
    pub fn now(&self) -> Option<Look> {
        self.looks.get(self.at).copied()
    }

    /// The view before, without going there.
    pub fn before(&self) -> Option<Look> {
        self.looks.get(self.at.checked_sub(1)?).copied()
    }

    /// The view after, without going there.
    pub fn after(&self) -> Option<Look> {
        self.looks.get(self.at + 1).copied()
    }

    /// Goes to the view before.
    pub fn back(&mut self) -> Option<Look> {
        let look = self.before()?;
        self.at -= 1;
        Some(look)
    }

    /// Goes to the view after.
    pub fn forward(&mut self) -> Option<Look> {
        let look = self.after()?;
        self.at += 1;
        Some(look)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use yardring_core::place::Local;

    fn look(x: f64) -> Look {
        Look { centre: Local { x, y: 0.0 }, zoom: 16.0 }
    }

    #[test]
    fn back_and_forward_walk_the_trail_and_a_new_view_ends_the_way_forward() {
        let mut trail = Trail::default();
        assert_eq!((trail.back(), trail.forward(), trail.now()), (None, None, None));
        for x in [0.0, 5_000.0, 10_000.0] {
            trail.note(look(x));
        }
        assert_eq!((trail.back(), trail.now()), (Some(look(5_000.0)), Some(look(5_000.0))));
        trail.note(look(5_000.0));
        assert_eq!(trail.after(), Some(look(10_000.0)), "coming to rest where one went back to is nothing new");
        trail.note(look(-7_000.0));
        assert_eq!((trail.after(), trail.before()), (None, Some(look(5_000.0))));
        assert_eq!((trail.back(), trail.back(), trail.back()), (Some(look(5_000.0)), Some(look(0.0)), None));
    }

    #[test]
    fn small_moves_do_not_fill_the_trail_and_it_stays_short() {
        let mut trail = Trail::default();
        for k in 0..5 {
            trail.note(look(f64::from(k) * 20.0));
        }
        assert_eq!((trail.now(), trail.before()), (Some(look(80.0)), None));
        for k in 0..200 {
            trail.note(look(f64::from(k) * 9_000.0));
        }
        assert_eq!(std::iter::from_fn(|| trail.back()).count(), MOST - 1);
    }
}
