//! Whether two words differ by one slip of the hand.

/// How two words differ, when it is by no more than one slip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::intake) enum Slip {
    /// Not at all.
    None,
    /// Two letters side by side changed places.
    Swapped,
    /// One letter is another, is missing, or is too many.
    Letter,
}

/// How two texts differ; `None` when it takes more than one slip.
///
/// # Source
/// The four slips of F. J. Damerau, A technique for computer detection and correction of spelling errors, Communications of the
/// ACM 7(3), 1964.
pub(in crate::intake) fn slip(a: &str, b: &str) -> Option<Slip> {
    if a == b {
        return Some(Slip::None);
    }
    let (a, b) = (a.as_bytes(), b.as_bytes());
    if a.len().abs_diff(b.len()) > 1 {
        return None;
    }
    let same = a.iter().zip(b).take_while(|(x, y)| x == y).count();
    let (a, b) = (&a[same..], &b[same..]);
    match a.len().cmp(&b.len()) {
        std::cmp::Ordering::Less => (*a == b[1..]).then_some(Slip::Letter),
        std::cmp::Ordering::Greater => (a[1..] == *b).then_some(Slip::Letter),
        std::cmp::Ordering::Equal if a[1..] == b[1..] => Some(Slip::Letter),
        std::cmp::Ordering::Equal => (a.len() > 1 && a[0] == b[1] && a[1] == b[0] && a[2..] == b[2..]).then_some(Slip::Swapped),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Slow twin: optimal string alignment by the whole table.
    fn distance(a: &[u8], b: &[u8]) -> usize {
        let mut d = vec![vec![0; b.len() + 1]; a.len() + 1];
        (0..=a.len()).for_each(|i| d[i][0] = i);
        (0..=b.len()).for_each(|j| d[0][j] = j);
        for i in 1..=a.len() {
            for j in 1..=b.len() {
                let change = usize::from(a[i - 1] != b[j - 1]);
                d[i][j] = (d[i - 1][j] + 1).min(d[i][j - 1] + 1).min(d[i - 1][j - 1] + change);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    d[i][j] = d[i][j].min(d[i - 2][j - 2] + 1);
                }
            }
        }
        d[a.len()][b.len()]
    }

    proptest::proptest! {
        #[test]
        fn agrees_with_the_whole_table(a in "[ABC]{0,6}", b in "[ABC]{0,6}") {
            let found = slip(&a, &b).map(|s| usize::from(s != Slip::None));
            let slow = Some(distance(a.as_bytes(), b.as_bytes())).filter(|d| *d < 2);
            proptest::prop_assert_eq!(found, slow);
        }
    }

    #[test]
    fn swapped_letters_are_told_apart() {
        assert_eq!((slip("FENBURY", "FNEBURY"), slip("FENBURY", "FENBURRY")), (Some(Slip::Swapped), Some(Slip::Letter)));
    }
}
