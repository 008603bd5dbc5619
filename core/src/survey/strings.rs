//! Many short texts in one piece of memory.

use rayon::prelude::*;

/// How many texts one thread makes at a time.
const STRIDE: usize = 16_384;

/// A column of texts: all bytes in one piece, and where each text ends.
///
/// ```
/// use yardring_core::survey::Strings;
/// let column: Strings = ["12 Kettle Lane", "", "14 Kettle Lane"].into_iter().collect();
/// assert_eq!((column.len(), column.get(2)), (3, "14 Kettle Lane"));
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Strings {
    bytes: String,
    ends: Vec<u32>,
}

impl Strings {
    /// An empty column with room for some texts and bytes.
    pub fn with_capacity(texts: usize, bytes: usize) -> Self {
        Self { bytes: String::with_capacity(bytes), ends: Vec::with_capacity(texts) }
    }

    /// A column of so many empty texts.
    pub(crate) fn empty(count: usize) -> Self {
        Self { bytes: String::new(), ends: vec![0; count] }
    }

    /// A column of so many texts, each added by its number. Stretches of the column are made side by side, each with a buffer of
    /// its own.
    ///
    /// ```
    /// use yardring_core::survey::Strings;
    /// let squares = Strings::side_by_side(4, |i, _, column| column.push(&(i * i).to_string()));
    /// assert_eq!(squares.iter().collect::<Vec<_>>(), ["0", "1", "4", "9"]);
    /// ```
    pub fn side_by_side(count: usize, add: impl Fn(usize, &mut String, &mut Self) + Sync) -> Self {
        let stretch = |first: usize| {
            let numbers = first..(first + STRIDE).min(count);
            let (mut own, mut buffer) = (Self::with_capacity(numbers.len(), numbers.len() * 16), String::new());
            numbers.for_each(|i| add(i, &mut buffer, &mut own));
            own
        };
        let parts: Vec<Self> = (0..count).into_par_iter().step_by(STRIDE).map(stretch).collect();
        Self::joined(parts.iter())
    }

    /// A column of so many texts from all over other columns. Where they stand is asked for before any is copied: memory then answers many
    /// questions at once.
    ///
    /// ```
    /// use yardring_core::survey::Strings;
    /// let turned = Strings::gathered(3, |i| ["a", "b", "c"][2 - i]);
    /// assert_eq!(turned.iter().collect::<Vec<_>>(), ["c", "b", "a"]);
    /// ```
    pub fn gathered<'t>(count: usize, text: impl Fn(usize) -> &'t str + Sync) -> Self {
        let texts: Vec<&str> = (0..count).into_par_iter().map(&text).collect();
        let mut out = Self::with_capacity(count, texts.iter().map(|t| t.len()).sum());
        texts.iter().for_each(|t| out.push(t));
        out
    }

    /// One column of several, one after the other.
    pub fn joined<'p>(parts: impl Iterator<Item = &'p Self> + Clone) -> Self {
        let mut out = Self::with_capacity(parts.clone().map(Self::len).sum(), parts.clone().map(|p| p.bytes.len()).sum());
        parts.for_each(|part| out.append(part));
        out
    }

    /// Adds a text at the end.
    pub fn push(&mut self, text: &str) {
        self.bytes.push_str(text);
        self.ends.push(self.bytes.len() as u32);
    }

    /// Forgets all texts and keeps their memory.
    pub fn clear(&mut self) {
        self.bytes.clear();
        self.ends.clear();
    }

    /// Makes room for so many times the texts of another column.
    pub(crate) fn reserve_times(&mut self, times: f64, like: &Self) {
        self.bytes.reserve((like.bytes.len() as f64 * times) as usize);
        self.ends.reserve((like.ends.len() as f64 * times) as usize);
    }

    /// Adds all texts of another column at the end.
    pub fn append(&mut self, other: &Self) {
        let before = self.bytes.len() as u32;
        self.bytes.push_str(&other.bytes);
        self.ends.extend(other.ends.iter().map(|end| before + end));
    }

    /// One text.
    ///
    /// # Panics
    /// When there is no text with that number.
    pub fn get(&self, i: usize) -> &str {
        let from = if i == 0 { 0 } else { self.ends[i - 1] as usize };
        &self.bytes[from..self.ends[i] as usize]
    }

    /// How many texts there are.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// All texts in order.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = &str> {
        (0..self.len()).map(|i| self.get(i))
    }

    /// The texts in another order; `order` names each text to take, by its present number.
    #[must_use]
    pub fn reordered(&self, order: &[u32]) -> Self {
        Self::gathered(order.len(), |i| self.get(order[i] as usize))
    }
}

impl<S: AsRef<str>> FromIterator<S> for Strings {
    fn from_iter<I: IntoIterator<Item = S>>(texts: I) -> Self {
        let mut out = Self::default();
        for t in texts {
            out.push(t.as_ref());
        }
        out
    }
}
