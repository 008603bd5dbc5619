//! Texts and places inside XML.

use super::{Column, Features};
use crate::place::{Frame, Local};
use std::borrow::Cow;

/// A text as XML can hold it: five letters by their names, and letters that XML forbids left out.
///
/// # Source
/// Extensible Markup Language 1.0 (fifth edition), 2.2 (characters) and 2.4 (character data and markup).
pub(crate) fn escaped(text: &str) -> Cow<'_, str> {
    let plain = |c: char| !matches!(c, '&' | '<' | '>' | '"' | '\'' | '\u{0}'..='\u{8}' | '\u{b}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}');
    if text.chars().all(plain) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            '\'' => out += "&apos;",
            c if plain(c) => out.push(c),
            _ => {}
        }
    }
    Cow::Owned(out)
}

/// What to call a row where only one line has room: its address, or else its first text; its number when it has neither.
pub(super) fn label(features: &Features, row: usize) -> Cow<'_, str> {
    let texts = || features.columns.iter().filter(|c| matches!(c.values, super::Values::Text(_)));
    let address = texts().find(|c| c.name == "address").into_iter();
    let found = address.chain(texts()).map(|c| c.cell(row)).find(|cell| !cell.trim().is_empty());
    found.unwrap_or_else(|| Cow::Owned((row + 1).to_string()))
}

/// The columns of a row that have an answer, with their cells.
pub(super) fn answered(features: &Features, row: usize) -> impl Iterator<Item = (&Column, Cow<'_, str>)> {
    features.columns.iter().map(move |c| (c, c.cell(row))).filter(|(_, cell)| !cell.is_empty())
}

/// A place in degrees on WGS 84; eight decimals are about a millimetre. Longitudes run from −180 to below 180.
pub(crate) fn degrees(frame: &Frame, p: Local) -> (String, String) {
    let p = frame.lon_lat_from_local(p);
    let lon = format!("{:.8}", p.lon);
    (if lon == "180.00000000" { "-180.00000000".to_owned() } else { lon }, format!("{:.8}", p.lat))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_that_xml_forbids_are_left_out_and_the_others_come_back() {
        let text = "a & <b> \"c\" 'd'\u{0}\u{1f}\t\n é 漢 \u{ffff}";
        let xml = format!("<t a=\"{0}\">{0}</t>", escaped(text));
        let read = roxmltree::Document::parse(&xml).unwrap();
        assert_eq!(read.root_element().text(), Some("a & <b> \"c\" 'd'\t\n é 漢 "));
    }
}
