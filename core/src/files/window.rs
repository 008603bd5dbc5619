//! A file read a stretch at a time: what is asked for lies in one piece, and the same memory serves every stretch.

use std::io::{self, Read};

/// Bytes taken from the source at a time.
const AT_ONCE: usize = 1 << 18;

/// Bytes of a source, one piece after the other. It holds no more of them than its longest piece and one stretch have.
#[derive(Debug)]
pub(super) struct Window<R> {
    source: R,
    held: Vec<u8>,
    /// How many of the bytes held were given out.
    given: usize,
}

impl<R: Read> Window<R> {
    pub fn new(source: R) -> Self {
        Self { source, held: Vec::new(), given: 0 }
    }

    /// The next so many bytes, or fewer where the source ends.
    ///
    /// # Errors
    /// When the source cannot be read on.
    pub fn next(&mut self, count: usize) -> io::Result<&[u8]> {
        let held = self.hold(count)?;
        Ok(self.give(held))
    }

    /// Gets the next so many bytes ready; answers how many of them there are.
    ///
    /// # Errors
    /// When the source cannot be read on.
    pub fn hold(&mut self, count: usize) -> io::Result<usize> {
        let left = self.held.len() - self.given;
        if left < count {
            self.held.drain(..self.given);
            self.given = 0;
            // Grows with what comes, never with what was asked for.
            self.source.by_ref().take(AT_ONCE.max(count - left) as u64).read_to_end(&mut self.held)?;
        }
        Ok(count.min(self.held.len() - self.given))
    }

    /// So many of the bytes that are held.
    pub fn give(&mut self, count: usize) -> &[u8] {
        let from = self.given;
        self.given += count;
        &self.held[from..self.given]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Gives a few bytes at a time, as a pipe does.
    struct Drops<'a>(&'a [u8], usize);

    impl Read for Drops<'_> {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            let few = self.1.min(into.len());
            self.0.read(&mut into[..few])
        }
    }

    proptest! {
        #[test]
        fn pieces_are_those_of_the_whole(lengths in prop::collection::vec(prop_oneof![0..40_usize, 0..400_000_usize], 0..12), drop in 1..70_000_usize) {
            let whole: Vec<u8> = (0..700_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
            let mut window = Window::new(Drops(&whole, drop));
            let mut from = 0;
            for length in lengths {
                let to = whole.len().min(from + length);
                prop_assert!(window.next(length).unwrap() == &whole[from..to]);
                from = to;
            }
            prop_assert!(window.next(usize::MAX).unwrap() == &whole[from..]);
            prop_assert!(window.next(1).unwrap().is_empty());
        }
    }
}
