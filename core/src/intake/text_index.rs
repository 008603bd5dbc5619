//! Equal texts brought together without a map of owned strings.

use crate::survey::Strings;
use rayon::prelude::*;

/// The rows of a column sorted so that equal texts stand side by side.
#[derive(Debug)]
pub(super) struct TextIndex<'a> {
    texts: &'a Strings,
    sorted: Sorted,
}

/// The sorted rows alone, for those who keep the column themselves.
#[derive(Debug)]
pub(super) struct Sorted {
    rows: Vec<(u64, u32)>,
    /// Where the hashes that begin with each pattern of `64 - shift` bits begin, so that one look finds a handful of rows.
    begins: Vec<u32>,
    shift: u32,
}

/// A hash that is the same in every run and on every machine, eight bytes at a step. Texts are compared besides, so that a file made to
/// collide costs time and no more.
///
/// # Source
/// The last mixing is the finaliser of `SplitMix64`: Steele, Lea and Flood, Fast splittable pseudorandom number generators, OOPSLA 2014.
fn hash(text: &str) -> u64 {
    let (words, rest) = text.as_bytes().as_chunks::<8>();
    let mut last = [0; 8];
    last[..rest.len()].copy_from_slice(rest);
    let step = |h: u64, word: u64| (h.rotate_left(5) ^ word).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let whole = words.iter().fold(text.len() as u64, |h, word| step(h, u64::from_le_bytes(*word)));
    let mut h = step(whole, u64::from_le_bytes(last));
    h = (h ^ (h >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    h = (h ^ (h >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    h ^ (h >> 31)
}

impl Sorted {
    /// Sorts all rows whose text is not blank.
    pub(super) fn of(texts: &Strings) -> Self {
        let hashed: Vec<(u64, u32)> =
            (0..texts.len()).into_par_iter().filter(|&i| !texts.get(i).is_empty()).map(|i| (hash(texts.get(i)), i as u32)).collect();
        let bits = hashed.len().max(2).ilog2();
        let (shift, mut begins) = (64 - bits, vec![0; (1 << bits) + 1]);
        hashed.iter().for_each(|e| begins[(e.0 >> shift) as usize + 1] += 1);
        (1..begins.len()).for_each(|i| begins[i] += begins[i - 1]);
        let (mut rows, mut next) = (vec![(0, 0); hashed.len()], begins.clone());
        for row in hashed {
            let place = &mut next[(row.0 >> shift) as usize];
            rows[*place as usize] = row;
            *place += 1;
        }
        let text = |e: &(u64, u32)| texts.get(e.1 as usize);
        let order = |a: &(u64, u32), b: &(u64, u32)| a.0.cmp(&b.0).then_with(|| text(a).cmp(text(b))).then(a.1.cmp(&b.1));
        for near in begins.windows(2).filter(|near| near[1] - near[0] > 1) {
            rows[near[0] as usize..near[1] as usize].sort_unstable_by(order);
        }
        Self { rows, begins, shift }
    }

    /// The rows of the same column that hold a text, in rising order.
    pub(super) fn rows<'s>(&'s self, texts: &'s Strings, text: &'s str) -> impl Iterator<Item = usize> + 's {
        let wanted = hash(text);
        let first = (wanted >> self.shift) as usize;
        let near = &self.rows[self.begins[first] as usize..self.begins[first + 1] as usize];
        near.iter().filter(move |e| e.0 == wanted && texts.get(e.1 as usize) == text).map(|e| e.1 as usize)
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
        self.sorted.rows.chunk_by(|a, b| a.0 == b.0 && self.texts.get(a.1 as usize) == self.texts.get(b.1 as usize))
    }

    /// How many rows hold a text that an earlier row holds too.
    pub(super) fn repeats(&self) -> usize {
        self.sorted.rows.len() - self.groups().count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn finds_all_rows_of_a_text_and_counts_repeats() {
        let texts: Strings = ["b", "", "a", "b", "", "c", "b"].into_iter().collect();
        let index = TextIndex::new(&texts);
        assert_eq!(index.rows("b").collect::<Vec<_>>(), [0, 3, 6]);
        assert_eq!((index.rows("x").count(), index.rows("").count(), index.repeats()), (0, 0, 2));
    }

    proptest! {
        /// Against a look at every row, with texts that differ in one letter, in a null byte at the end, or in length alone.
        #[test]
        fn finds_what_a_look_at_every_row_finds(texts in prop::collection::vec("[ab]{0,3}(12345678){0,2}\\PC?\0?", 0..200)) {
            let column: Strings = texts.iter().collect();
            let index = TextIndex::new(&column);
            for text in &texts {
                let slow: Vec<usize> = (0..texts.len()).filter(|&i| !text.is_empty() && texts[i] == *text).collect();
                prop_assert_eq!(index.rows(text).collect::<Vec<_>>(), slow);
            }
        }
    }
}
