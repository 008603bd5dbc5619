//! What a yard is called on a map from near by: its house number, or else its parcel id.

use crate::place::{BoxIndex, Shapes};
use crate::survey::Strings;

/// The number that a yard's address begins with, or else its parcel id; `None` where it has neither.
pub fn short_name<'a>(addresses: &'a Strings, ids: &'a Strings, i: usize) -> Option<&'a str> {
    let number = if i < addresses.len() { house_number(addresses.get(i)) } else { None };
    let id = || if i < ids.len() { Some(ids.get(i)).filter(|id| !id.is_empty()) } else { None };
    number.or_else(id)
}

/// What is written in a yard. Premises that share one outline are written once, with how many they are: "501 (3)"; of the others, and
/// where there is no name, nothing is written.
pub fn written(addresses: &Strings, ids: &Strings, outlines: &Shapes, index: &BoxIndex, i: usize) -> Option<String> {
    let here = outlines.bounds().get(i).filter(|b| !b.is_empty())?;
    let (mut first, mut sharing) = (i, 0);
    index.each_touching(here, |j| {
        if outlines.bounds().get(j) == Some(here) {
            sharing += 1;
            first = first.min(j);
        }
    });
    let name = short_name(addresses, ids, i).filter(|_| first == i)?;
    Some(if sharing > 1 { format!("{name} ({sharing})") } else { name.to_owned() })
}

/// What an address begins with, where that is a house number: "12", "12B", "12-14".
fn house_number(address: &str) -> Option<&str> {
    let first = address.split_whitespace().next()?.trim_end_matches(',');
    first.starts_with(|c: char| c.is_ascii_digit()).then_some(first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Local;

    #[test]
    fn the_house_number_is_what_an_address_begins_with() {
        assert_eq!(house_number("12 Kettle Lane"), Some("12"));
        assert_eq!(house_number(" 12B, Kettle Lane"), Some("12B"));
        assert_eq!(house_number("12-14 Kettle Lane"), Some("12-14"));
        assert_eq!(house_number("Kettle Lane"), None);
        assert_eq!(house_number(""), None);
    }

    #[test]
    fn without_a_number_the_parcel_id_is_written() {
        let column = |texts: [&str; 3]| -> Strings { texts.into_iter().collect() };
        let (addresses, ids) = (column(["7 Mill Row", "Mill Row", ""]), column(["Q-1", "Q-2", ""]));
        assert_eq!([0, 1, 2, 3].map(|i| short_name(&addresses, &ids, i)), [Some("7"), Some("Q-2"), None, None]);
    }

    /// Three homes on one outline, one beside them, and one that only touches.
    #[test]
    fn premises_on_one_outline_are_written_once_with_how_many_they_are() {
        let mut outlines = Shapes::default();
        for x in [0.0, 0.0, 30.0, 0.0, 20.0] {
            outlines.push_ring(&[(x, 0.0), (x + 20.0, 0.0), (x + 20.0, 40.0), (x, 40.0)].map(|(x, y)| Local { x, y }));
            outlines.end_part();
            outlines.end_shape();
        }
        let index = BoxIndex::new(outlines.bounds());
        let addresses: Strings =
            ["501 Anvil Street", "501 Anvil Street", "9 Anvil Street", "501 Anvil Street", "7 Anvil Street"].into_iter().collect();
        let ids: Strings = ["a", "b", "c", "d", "e"].into_iter().collect();
        let found: Vec<Option<String>> = (0..5).map(|i| written(&addresses, &ids, &outlines, &index, i)).collect();
        let some = |text: &str| Some(text.to_owned());
        assert_eq!(found, [some("501 (3)"), None, some("9"), None, some("7")]);
    }
}
