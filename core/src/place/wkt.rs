//! Reading just enough of a well-known text to know whether PROJ will understand it, and what it says of its unit.

/// What kind of system a well-known text begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Root {
    /// East and north on a projection.
    Projected,
    /// Degrees, or another angle.
    Geographic,
    /// A flat system with another one beside it, or one bound to a datum shift.
    Compound,
    /// A drawing's own system.
    Local,
    /// Heights, or places in space.
    NotFlat,
}

/// The kind of system that a text describes; `None` when the text is no whole well-known text.
///
/// # Source
/// OGC 01-009 (well-known text 1) and OGC 18-010r7 (well-known text 2), the keywords of coordinate reference systems.
pub(super) fn root(text: &str) -> Option<Root> {
    let trimmed = text.trim();
    let keyword = &trimmed[..trimmed.find(['[', '('])?];
    let kind = match keyword.trim().to_ascii_uppercase().as_str() {
        "PROJCS" | "PROJCRS" | "PROJECTEDCRS" => Root::Projected,
        "GEOGCS" | "GEOGCRS" | "GEOGRAPHICCRS" | "GEODCRS" | "GEODETICCRS" => Root::Geographic,
        "COMPD_CS" | "COMPOUNDCRS" | "BOUNDCRS" => Root::Compound,
        "LOCAL_CS" | "ENGCRS" | "ENGINEERINGCRS" => Root::Local,
        "GEOCCS" | "VERT_CS" | "VERTCS" | "VERTCRS" | "VERTICALCRS" => Root::NotFlat,
        _ => return None,
    };
    is_whole(trimmed).then_some(kind)
}

/// Whether every bracket and quotation mark is closed, the first bracket by the text's last character.
fn is_whole(text: &str) -> bool {
    let (mut depth, mut quoted, mut closed) = (0i32, false, false);
    for c in text.chars() {
        match c {
            '"' => quoted = !quoted,
            '[' | '(' if !quoted => depth += 1,
            ']' | ')' if !quoted => depth -= 1,
            _ => {}
        }
        if depth < 0 || (closed && !c.is_whitespace()) {
            return false;
        }
        closed = closed || (depth == 0 && !quoted && (c == ']' || c == ')'));
    }
    depth == 0 && !quoted && closed
}

/// The name in the first quotation marks, with underscores read as spaces; empty when there is none.
pub(super) fn name(text: &str) -> String {
    text.split('"').nth(1).unwrap_or("").replace('_', " ")
}

/// Name and factor of the unit of the coordinates: metres for a projected system, radians for a geographic one.
/// `None` when the text names none.
pub(super) fn unit(text: &str) -> Option<(String, f64)> {
    let kind = root(text)?;
    let upper = text.to_ascii_uppercase();
    let body = match (kind, upper.find("PROJCS").or_else(|| upper.find("PROJCRS"))) {
        (Root::Compound, Some(start)) => bracketed(&text[start..]),
        _ => text,
    };
    let mut found = units_at_level_one(body);
    if found.is_empty() {
        found = last_unit(body).into_iter().collect();
    }
    found.pop()
}

/// The text up to the bracket that closes its first one.
fn bracketed(text: &str) -> &str {
    let (mut depth, mut quoted) = (0, false);
    for (i, c) in text.char_indices() {
        match c {
            '"' => quoted = !quoted,
            '[' | '(' if !quoted => depth += 1,
            ']' | ')' if !quoted => {
                depth -= 1;
                if depth == 0 {
                    return &text[..=i];
                }
            }
            _ => {}
        }
    }
    text
}

/// Every `UNIT`, `LENGTHUNIT` or `ANGLEUNIT` directly inside the outermost brackets.
fn units_at_level_one(text: &str) -> Vec<(String, f64)> {
    let (mut depth, mut quoted, mut word) = (0, false, 0);
    let mut found = Vec::new();
    for (i, c) in text.char_indices() {
        match c {
            '"' => quoted = !quoted,
            _ if quoted => {}
            '[' | '(' => {
                if depth == 1 && is_unit(&text[word..i]) {
                    found.extend(unit_in(&text[i + 1..]));
                }
                depth += 1;
                word = i + 1;
            }
            ']' | ')' => {
                depth -= 1;
                word = i + 1;
            }
            ',' => word = i + 1,
            _ => {}
        }
    }
    found
}

fn is_unit(word: &str) -> bool {
    matches!(word.trim().to_ascii_uppercase().as_str(), "UNIT" | "LENGTHUNIT" | "ANGLEUNIT")
}

/// The last unit at any depth, as well-known text 2 hangs units on the axes.
fn last_unit(text: &str) -> Option<(String, f64)> {
    let upper = text.to_ascii_uppercase();
    let at = ["LENGTHUNIT[", "ANGLEUNIT[", "UNIT["].iter().filter_map(|w| upper.rfind(w).map(|i| i + w.len())).max()?;
    unit_in(&text[at..])
}

/// Reads `"name",factor` at the beginning of a text.
fn unit_in(text: &str) -> Option<(String, f64)> {
    let mut quoted = text.trim_start().strip_prefix('"')?.splitn(2, '"');
    let name = quoted.next()?.to_owned();
    let rest = quoted.next()?.trim_start().strip_prefix(',')?;
    let end = rest.find([',', ']', ')']).unwrap_or(rest.len());
    let factor = rest[..end].trim().parse().ok()?;
    Some((name, factor))
}

#[cfg(test)]
mod tests {
    use super::*;

    const FEET: &str = r#"PROJCS["Any_Feet",GEOGCS["G",DATUM["D",SPHEROID["S",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic"],UNIT["Foot_US",0.3048006096012192]]"#;

    #[test]
    fn tells_whole_texts_from_broken_ones() {
        assert_eq!(root(FEET), Some(Root::Projected));
        assert_eq!(root(r#"LOCAL_CS["site plan",UNIT["metre",1]]"#), Some(Root::Local));
        for broken in ["", "garbage", "PROJCS", &FEET[..FEET.len() - 1], r#"PROJCS["a"#, r#"PROJCS["a"]]"#, r#"FOO["a"]"#] {
            assert_eq!(root(broken), None, "{broken}");
        }
    }

    #[test]
    fn finds_the_unit_of_the_coordinates_and_not_of_the_angles() {
        assert_eq!(unit(FEET), Some(("Foot_US".into(), 0.304_800_609_601_219_2)));
        assert_eq!(name(FEET), "Any Feet");
        let two = r#"PROJCRS["x",BASEGEOGCRS["y",ANGLEUNIT["degree",0.0174532925199433]],CS[Cartesian,2],AXIS["easting (X)",east,ORDER[1],LENGTHUNIT["foot",0.3048]],AXIS["northing (Y)",north,ORDER[2],LENGTHUNIT["foot",0.3048]]]"#;
        assert_eq!(unit(two), Some(("foot".into(), 0.3048)));
    }
}
