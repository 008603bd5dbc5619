//! Equal texts brought together without a map of owned strings.

use crate::survey::Strings;
use rayon::prelude::*;
use std::hash::{DefaultHasher, Hasher as _};

/// The rows of a column sorted so that equal texts stand side by side.
#[derive(Debug)]
pub(super) struct TextIndex<'a> {
    texts: &'a Strings,
    sorted: Sorted,
}

/// The sorted rows alone, for those who keep the column themselves.
#[derive(Debug)]
pub(super) struct Sorted(Vec<(u64, u32)>);

/// A hash that is the same in every run and on every machine.
fn hash(text: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    hasher.write(text.as_bytes());
    hasher.finish()
}

impl Sorted {
    /// Sorts all rows whose text is not blank.
    pub(super) fn of(texts: &Strings) -> Self {
        let mut sorted: Vec<(u64, u32)> =
            (0..texts.len()).into_par_iter().filter(|&i| !texts.get(i).is_empty()).map(|i| (hash(texts.get(i)), i as u32)).collect();
        let text = |e: &(u64, u32)| texts.get(e.1 as usize);
        sorted.par_sort_unstable_by(|a, b| a.0.cmp(&b.0).then_with(|| text(a).cmp(text(b))).then(a.1.cmp(&b.1)));
        Self(sorted)
    }

    /// The rows of the same column that hold a text, in rising order.
    pub(super) fn rows<'s>(&'s self, texts: &'s Strings, text: &'s str) -> impl Iterator<Item = usize> + 's {
        let wanted = hash(text);
        let from = self.0.partition_point(|e| e.0 < wanted);
        self.0[from..].iter().take_while(move |e| e.0 == wanted).filter(move |e| texts.get(e.1 as usize) == text).map(|e| e.1 as usize)
    }
}

impl<'a> TextIndex<'a> {
    /// Indexes all texts that are not blank.
    pub(super) fn new(texts: &'a Strings) -> Self {
        Self { texts, sorted: Sorted::of(texts) }
    }

    /// The rows that hold a text, in rising order.
    pub(super) fn rows<'s>(&'s self, text: &'s str) -> impl Iterator<Item = usize> + 's {
        self.sorted.rows(self.texts, text)
    }

    /// Runs of rows with the same text; the order of the runs means nothing, the rows of a run rise.
    pub(super) fn groups(&self) -> impl Iterator<Item = &[(u64, u32)]> {
        self.sorted.0.chunk_by(|a, b| a.0 == b.0 && self.texts.get(a.1 as usize) == self.texts.get(b.1 as usize))
    }

    /// How many rows hold a text that an earlier row holds too.
    pub(super) fn repeats(&self) -> usize {
        self.sorted.0.len() - self.groups().count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_all_rows_of_a_text_and_counts_repeats() {
        let texts: Strings = ["b", "", "a", "b", "", "c", "b"].into_iter().collect();
        let index = TextIndex::new(&texts);
        assert_eq!(index.rows("b").collect::<Vec<_>>(), [0, 3, 6]);
        assert_eq!((index.rows("x").count(), index.rows("").count(), index.repeats()), (0, 0, 2));
    }
}
