//! Numbers out of bytes, none of which can be trusted to be there.

/// A reader over bytes that answers `None` where they end.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bytes<'a> {
    all: &'a [u8],
    at: usize,
}

impl<'a> Bytes<'a> {
    pub fn new(all: &'a [u8]) -> Self {
        Self { all, at: 0 }
    }

    /// How many bytes are left.
    pub fn left(&self) -> usize {
        self.all.len() - self.at
    }

    pub fn take(&mut self, n: usize) -> Option<&'a [u8]> {
        let end = self.at.checked_add(n)?;
        let taken = self.all.get(self.at..end)?;
        self.at = end;
        Some(taken)
    }

    fn array<const N: usize>(&mut self) -> Option<[u8; N]> {
        self.take(N)?.try_into().ok()
    }

    pub fn byte(&mut self) -> Option<u8> {
        self.array::<1>().map(|[b]| b)
    }

    pub fn u16(&mut self) -> Option<u16> {
        self.array().map(u16::from_le_bytes)
    }

    pub fn u32(&mut self) -> Option<u32> {
        self.array().map(u32::from_le_bytes)
    }

    pub fn u32_big_endian(&mut self) -> Option<u32> {
        self.array().map(u32::from_be_bytes)
    }

    pub fn f64(&mut self) -> Option<f64> {
        self.array().map(f64::from_le_bytes)
    }

    pub fn f64_big_endian(&mut self) -> Option<f64> {
        self.array().map(f64::from_be_bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_read_past_the_end() {
        let mut b = Bytes::new(&[1, 0, 0, 0, 7]);
        assert_eq!((b.u32(), b.left()), (Some(1), 1));
        assert_eq!((b.u16(), b.take(usize::MAX), b.byte(), b.byte()), (None, None, Some(7), None));
    }
}
