//! The last few answers to questions that take long.

use std::collections::VecDeque;

/// How many answers are kept: the files of an office are mostly in one system.
const KEPT: usize = 8;

/// The latest answers with their questions, newest first; older ones make room.
#[derive(Debug)]
pub(super) struct Lately<Q, A>(VecDeque<(Q, A)>);

impl<Q: PartialEq, A: Clone> Lately<Q, A> {
    pub(super) const fn new() -> Self {
        Self(VecDeque::new())
    }

    /// The answer to a question, where it is kept.
    pub(super) fn get(&self, question: &Q) -> Option<A> {
        self.0.iter().find(|kept| kept.0 == *question).map(|kept| kept.1.clone())
    }

    /// Keeps an answer.
    pub(super) fn keep(&mut self, question: Q, answer: A) {
        self.0.truncate(KEPT - 1);
        self.0.push_front((question, answer));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_answers_are_kept_and_older_ones_make_room() {
        let mut lately = Lately::new();
        (0..=KEPT).for_each(|i| lately.keep(i, i * i));
        assert_eq!((lately.get(&0), lately.get(&1), lately.get(&KEPT)), (None, Some(1), Some(KEPT * KEPT)));
    }
}
