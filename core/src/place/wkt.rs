//! Reading just enough of a well-known text to know whether PROJ will understand it, and what it says of its unit.

/// What kind of system a well-known text describes.
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

impl Root {
    /// The kind that a keyword names.
    ///
    /// # Source
    /// OGC 01-009 (well-known text 1) and OGC 18-010r7 (well-known text 2), the keywords of coordinate reference systems.
    fn of(keyword: &str) -> Option<Self> {
        Some(match keyword {
            "PROJCS" | "PROJCRS" | "PROJECTEDCRS" => Self::Projected,
            "GEOGCS" | "GEOGCRS" | "GEOGRAPHICCRS" | "GEODCRS" | "GEODETICCRS" => Self::Geographic,
            "COMPD_CS" | "COMPOUNDCRS" | "BOUNDCRS" => Self::Compound,
            "LOCAL_CS" | "ENGCRS" | "ENGINEERINGCRS" => Self::Local,
            "GEOCCS" | "VERT_CS" | "VERTCS" | "VERTCRS" | "VERTICALCRS" => Self::NotFlat,
            _ => return None,
        })
    }
}

/// One `KEYWORD[...]` of the text.
#[derive(Debug)]
struct Node {
    keyword: String,
    parent: Option<usize>,
    /// What stands between the commas, inner brackets left out.
    values: Vec<String>,
}

impl Node {
    fn is(&self, keywords: &[&str]) -> bool {
        keywords.contains(&self.keyword.as_str())
    }

    fn number(&self, at: usize) -> Option<f64> {
        self.values.get(at)?.trim().parse().ok()
    }
}

/// A well-known text taken apart.
#[derive(Debug)]
pub(super) struct Wkt {
    nodes: Vec<Node>,
    root: Root,
}

impl Wkt {
    /// The text taken apart; `None` when it describes no coordinate system or a bracket or quotation mark is left open.
    pub(super) fn read(text: &str) -> Option<Self> {
        let nodes = nodes(text.trim_start_matches('\u{feff}').trim())?;
        let root = Root::of(&nodes.first()?.keyword)?;
        Some(Self { nodes, root })
    }

    /// What kind of system it is.
    pub(super) fn root(&self) -> Root {
        self.root
    }

    /// The system's name, with underscores read as spaces; empty when it has none.
    pub(super) fn name(&self) -> String {
        self.nodes[0].values.first().map_or("", |n| n.trim().trim_matches('"')).replace('_', " ")
    }

    /// The number in the EPSG register that the text gives its system, where it gives one.
    pub(super) fn register_number(&self) -> Option<u32> {
        let of_system = |n: &&Node| n.parent == Some(0) && n.is(&["AUTHORITY", "ID"]);
        let given = self.nodes.iter().find(of_system)?;
        let plain = |at: usize| given.values.get(at).map(|v| v.trim().trim_matches('"'));
        plain(0).filter(|register| register.eq_ignore_ascii_case("EPSG"))?;
        plain(1)?.parse().ok()
    }

    /// Whether everything is there that PROJ needs: a datum on an ellipsoid of some size, for projected systems a projection,
    /// numbers where there must be numbers.
    pub(super) fn is_complete(&self) -> bool {
        let ellipsoid = |n: &Node| n.number(1).is_some_and(|a| a > 0.0) && n.number(2).is_some_and(|f| f == 0.0 || f > 1.0);
        let sound = |n: &Node| match n.keyword.as_str() {
            "SPHEROID" | "ELLIPSOID" => ellipsoid(n),
            "PARAMETER" | "PRIMEM" => n.number(1).is_some_and(f64::is_finite),
            "UNIT" | "LENGTHUNIT" | "ANGLEUNIT" | "SCALEUNIT" => n.number(1).is_some_and(|f| f > 0.0 && f.is_finite()),
            _ => true,
        };
        let has = |keywords: &[&str]| self.nodes.iter().any(|n| n.is(keywords));
        let on_earth = has(&["DATUM", "GEODETICDATUM", "TRF", "ENSEMBLE"]) && has(&["SPHEROID", "ELLIPSOID"]);
        let base = &["GEOGCS", "BASEGEOGCRS", "BASEGEODCRS", "BASEGEODETICCRS", "BASEGEOGRAPHICCRS"];
        let projected = !has(&["PROJCS", "PROJCRS", "PROJECTEDCRS"]) || has(base) && has(&["PROJECTION", "CONVERSION"]);
        on_earth && projected && self.nodes.iter().all(sound)
    }

    /// Whether the coordinates are angles.
    pub(super) fn is_geographic(&self) -> bool {
        Root::of(&self.nodes[self.flat()].keyword) == Some(Root::Geographic)
    }

    /// Name and factor of the unit of the coordinates: metres for a projected system, radians for a geographic one.
    /// `None` when the text names none.
    pub(super) fn unit(&self) -> Option<(String, f64)> {
        let system = self.flat();
        let is_unit = |n: &&Node| n.is(&["UNIT", "LENGTHUNIT", "ANGLEUNIT"]);
        let direct = self.nodes.iter().filter(is_unit).find(|n| n.parent == Some(system));
        let of_axis = |n: &&Node| n.parent.is_some_and(|p| self.nodes[p].keyword == "AXIS" && self.nodes[p].parent == Some(system));
        let unit = direct.or_else(|| self.nodes.iter().filter(is_unit).find(of_axis))?;
        Some((unit.values.first()?.trim().trim_matches('"').to_owned(), unit.number(1)?))
    }

    /// The node of the flat system: the first projected one, or else the first geographic one.
    fn flat(&self) -> usize {
        let first = |kind: Root| self.nodes.iter().position(|n| Root::of(&n.keyword) == Some(kind));
        first(Root::Projected).or_else(|| first(Root::Geographic)).unwrap_or(0)
    }
}

/// All nodes of a text, outer ones first.
fn nodes(text: &str) -> Option<Vec<Node>> {
    let mut nodes: Vec<Node> = Vec::new();
    let (mut open, mut word, mut quoted): (Option<usize>, String, bool) = (None, String::new(), false);
    for c in text.chars() {
        if !nodes.is_empty() && open.is_none() {
            return None;
        }
        match c {
            '"' => {
                quoted = !quoted;
                word.push(c);
            }
            '[' | '(' if !quoted => {
                nodes.push(Node { keyword: std::mem::take(&mut word).trim().to_ascii_uppercase(), parent: open, values: Vec::new() });
                open = Some(nodes.len() - 1);
            }
            ',' | ']' | ')' if !quoted => {
                let node = &mut nodes[open?];
                let value = std::mem::take(&mut word);
                if !value.trim().is_empty() {
                    node.values.push(value);
                }
                if c != ',' {
                    open = node.parent;
                }
            }
            _ => word.push(c),
        }
    }
    (open.is_none() && !quoted && !nodes.is_empty()).then_some(nodes)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FEET: &str = r#"PROJCS["Any_Feet",GEOGCS["G",DATUM["D",SPHEROID["S",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic"],UNIT["Foot_US",0.3048006096012192]]"#;

    #[test]
    fn tells_whole_texts_from_broken_ones() {
        assert_eq!(Wkt::read(FEET).unwrap().root(), Root::Projected);
        assert_eq!(Wkt::read(r#"LOCAL_CS["site plan",UNIT["metre",1]]"#).unwrap().root(), Root::Local);
        for cut in 0..FEET.len() {
            assert!(Wkt::read(&FEET[..cut]).is_none(), "{cut}");
        }
        for broken in ["garbage", "]", r#"PROJCS["a"]]"#, r#"PROJCS["a"],"#, r#"FOO["a"]"#, "[[[[", "undefined", ",,"] {
            assert!(Wkt::read(broken).is_none(), "{broken}");
        }
    }

    #[test]
    fn tells_what_is_missing_before_proj_does() {
        assert!(Wkt::read(FEET).unwrap().is_complete());
        for (what, instead) in [
            ("6378137.0", "-1"),
            ("6378137.0,298.257222101", "0,0"),
            (",298.257222101", ""),
            ("0.3048006096012192", "0"),
            ("0.3048006096012192", "feet"),
            (r#"PROJECTION["Lambert_Conformal_Conic"],"#, ""),
            ("DATUM", "DATE"),
            ("GEOGCS", "GEOG"),
        ] {
            assert!(!Wkt::read(&FEET.replace(what, instead)).unwrap().is_complete(), "{what} -> {instead}");
        }
    }

    #[test]
    fn finds_the_unit_of_the_coordinates_and_not_of_the_angles() {
        let feet = Wkt::read(FEET).unwrap();
        assert_eq!(feet.unit(), Some(("Foot_US".into(), 0.304_800_609_601_219_2)));
        assert_eq!(feet.name(), "Any Feet");
        let two = r#"PROJCRS["x",BASEGEOGCRS["y",ANGLEUNIT["degree",0.0174532925199433]],CS[Cartesian,2],AXIS["easting (X)",east,ORDER[1],LENGTHUNIT["foot",0.3048]],AXIS["northing (Y)",north,ORDER[2],LENGTHUNIT["foot",0.3048]]]"#;
        assert_eq!(Wkt::read(two).unwrap().unit(), Some(("foot".into(), 0.3048)));
        let with_heights = format!(r#"COMPD_CS["both",{FEET},VERT_CS["h",UNIT["metre",1]]]"#);
        assert_eq!(Wkt::read(&with_heights).unwrap().unit().unwrap().0, "Foot_US");
        assert!(!Wkt::read(&with_heights).unwrap().is_geographic());
    }
}
