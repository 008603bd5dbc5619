//! Marks by which a survey knows again what it saw: one number for a text or for numbers, the same for the same on every computer.

/// The mark of nothing at all.
pub(crate) const FIRST: u64 = 0xcbf2_9ce4_8422_2325;

/// A mark after one byte more, or one whole number.
///
/// # Source
/// The hash FNV-1a of 64 bits, here over whole numbers too (G. Fowler, L. C. Noll, K.-P. Vo; RFC 9923, from memory).
pub(crate) fn step(mark: u64, number: u64) -> u64 {
    (mark ^ number).wrapping_mul(0x0100_0000_01b3)
}

/// A mark after the bytes of a text more.
pub(crate) fn after(mark: u64, bytes: impl IntoIterator<Item = u8>) -> u64 {
    bytes.into_iter().fold(mark, |mark, byte| step(mark, u64::from(byte)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test vectors of the authors' page, from memory: the empty text, "a" and "foobar".
    #[test]
    fn the_marks_are_those_of_the_authors() {
        let of = |text: &str| after(FIRST, text.bytes());
        assert_eq!((of(""), of("a"), of("foobar")), (0xcbf2_9ce4_8422_2325, 0xaf63_dc4c_8601_ec8c, 0x8594_4171_f739_67e8));
    }
}
