//! One street address taken apart and written in the postal standard's way.

mod words;

/// A street address in its parts, each in the standard's capitals and short forms; empty where it is not said.
///
/// ```
/// use yardring_core::survey::Address;
/// let a = Address::parse("104 1/2 north Fenbury Street, Apt. 3, Quillmere");
/// assert_eq!((&*a.number, &*a.before, &*a.name, &*a.suffix, &*a.unit), ("104 1/2", "N", "FENBURY", "ST", "# 3"));
/// assert_eq!(a, Address::parse("104 1/2 N. FENBURY ST #3"));
/// ```
///
/// # Source
/// USPS Publication 28, sections 232 to 234: the parts of a delivery address line; read from its right end. That an
/// apartment, a unit and a bare "#" with one number are the same door is common practice, no source.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Address {
    /// The house number, as "104", "104A" or "104 1/2".
    pub number: String,
    /// The direction before the name, as "N".
    pub before: String,
    /// The name of the street.
    pub name: String,
    /// The suffix, as "ST".
    pub suffix: String,
    /// The direction after the suffix.
    pub after: String,
    /// The unit within the house, as "# 3", "STE 5", "REAR".
    pub unit: String,
}

impl Address {
    /// All writings of its suffix that the standard lists: "STREET", "STRT" and more for "ST".
    ///
    /// ```
    /// use yardring_core::survey::Address;
    /// assert!(Address::parse("104 Fenbury St").suffix_writings().any(|w| w == "STREET"));
    /// ```
    pub fn suffix_writings(&self) -> impl Iterator<Item = &'static str> {
        words::writings_of(&self.suffix)
    }

    /// Takes an address apart. Every text gives something; what follows the delivery line (city, state, postal code) behind a
    /// comma is left off.
    pub fn parse(text: &str) -> Self {
        let words = delivery_line(text);
        let mut rest: &[String] = &words;
        let mut out = Self { number: house_number(&mut rest), ..Self::default() };
        if rest.first().is_some_and(|w| words::begins_highway(w)) && rest.len() > 1 {
            out.unit = named_unit(&mut rest);
            out.name = rest.iter().map(|w| words::suffix(w).unwrap_or(w)).collect::<Vec<_>>().join(" ");
            return out;
        }
        out.unit = named_unit(&mut rest);
        if out.unit.is_empty() {
            out.unit = bare_unit(&mut rest);
        }
        out.after = direction_after(&mut rest);
        if let [_, .., last] = rest
            && let Some(short) = words::suffix(last)
        {
            short.clone_into(&mut out.suffix);
            rest = &rest[..rest.len() - 1];
        }
        out.before = direction_before(&mut rest);
        out.name = street_name(rest);
        out
    }

    /// Takes a street's name apart: as the address of some house there, without its number.
    ///
    /// ```
    /// use yardring_core::survey::Address;
    /// assert_eq!(Address::of_street("100 Oaks Drive").street(), Address::parse("7 100 Oaks Dr").street());
    /// ```
    pub fn of_street(name: &str) -> Self {
        Self { number: String::new(), unit: String::new(), ..Self::parse(&format!("1 {name}")) }
    }

    /// The parts that name the street, without number and unit, each ended by a bar.
    pub fn street(&self) -> String {
        format!("{}|{}|{}|{}", self.before, self.name, self.suffix, self.after)
    }
}

/// The words of the line that says where mail goes: capitals without marks and accents.
fn delivery_line(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for (i, part) in text.split([',', ';', '\n']).enumerate() {
        let own: Vec<String> = part.split_whitespace().flat_map(plain_words).collect();
        let begins_unit = own.first().is_some_and(|w| w == "#" || words::unit(w).is_some());
        if i == 0 || words.len() < 2 || begins_unit {
            words.extend(own);
        }
    }
    words
}

/// One word in capitals; "#3" falls into "#" and "3".
fn plain_words(word: &str) -> Vec<String> {
    let plain: String = word.chars().flat_map(char::to_uppercase).map(without_accent).filter(|c| !matches!(c, '.' | '\'' | '"')).collect();
    let plain = plain.trim_matches(['-', '/', '(', ')', ':']);
    match plain.strip_prefix('#') {
        Some(after) => ["#", after].into_iter().filter(|w| !w.is_empty()).map(str::to_owned).collect(),
        None if plain.is_empty() => Vec::new(),
        None => vec![plain.to_owned()],
    }
}

/// Letters of western Europe without their accent: the standard asks for plain capitals.
fn without_accent(c: char) -> char {
    match c {
        'À'..='Å' => 'A',
        'Ç' => 'C',
        'È'..='Ë' => 'E',
        'Ì'..='Ï' => 'I',
        'Ñ' => 'N',
        'Ò'..='Ö' | 'Ø' => 'O',
        'Ù'..='Ü' => 'U',
        'Ý' => 'Y',
        other => other,
    }
}

fn house_number(rest: &mut &[String]) -> String {
    let Some((first, after)) = rest.split_first() else { return String::new() };
    let numbered_street = ["ST", "ND", "RD", "TH"].iter().any(|e| first.ends_with(e));
    if after.is_empty() || !first.starts_with(|c: char| c.is_ascii_digit()) || numbered_street {
        return String::new();
    }
    *rest = after;
    if let [fraction, after @ ..] = after
        && fraction.contains('/')
        && fraction.bytes().all(|b| b == b'/' || b.is_ascii_digit())
    {
        *rest = after;
        return format!("{first} {fraction}");
    }
    first.trim_start_matches('0').to_owned()
}

/// A unit that says what it is: "APT 3", "# 3", "REAR". At least one word of the street stands before it.
fn named_unit(rest: &mut &[String]) -> String {
    for at in (1..rest.len()).rev() {
        let after = &rest[at + 1..];
        let number = || after.join(" ");
        let like_number = !after.is_empty() && after.iter().all(|w| w.len() == 1 || w.contains(|c: char| c.is_ascii_digit()));
        let unit = match (rest[at].as_str(), words::unit(&rest[at])) {
            ("#" | "NO", _) | (_, Some(("APT" | "UNIT", _))) if like_number => format!("# {}", number()),
            (_, Some((short, _))) if like_number => format!("{short} {}", number()),
            (_, Some((short, false))) if after.is_empty() && at > 1 => short.to_owned(),
            _ => continue,
        };
        *rest = &rest[..at];
        return unit;
    }
    String::new()
}

/// A number or letter alone behind the suffix: "104 ELM ST 3".
fn bare_unit(rest: &mut &[String]) -> String {
    if let [_, .., before, last] = *rest
        && words::suffix(before).is_some()
        && words::direction(last).is_none()
        && (last.len() == 1 || last.starts_with(|c: char| c.is_ascii_digit()))
    {
        *rest = &rest[..rest.len() - 1];
        return format!("# {last}");
    }
    String::new()
}

fn direction_after(rest: &mut &[String]) -> String {
    if let [first, .., one, two] = *rest
        && let Some(both) = words::two_directions(one, two)
        && words::direction(first).is_none()
    {
        *rest = &rest[..rest.len() - 2];
        return both.to_owned();
    }
    // "AVENUE N" is the name of a street, "ELM AVENUE N" has a direction.
    if let [before @ .., last] = *rest
        && let Some(short) = words::direction(last)
        && before.iter().any(|w| words::suffix(w).is_none() && words::direction(w).is_none())
    {
        *rest = before;
        return short.to_owned();
    }
    String::new()
}

fn direction_before(rest: &mut &[String]) -> String {
    if let [one, two, _, ..] = *rest
        && let Some(both) = words::two_directions(one, two)
    {
        *rest = &rest[2..];
        return both.to_owned();
    }
    if let [first, _, ..] = *rest
        && let Some(short) = words::direction(first)
    {
        *rest = &rest[1..];
        return short.to_owned();
    }
    String::new()
}

/// The name with numbers in figures and a leading ST, MT or FT in full.
fn street_name(rest: &[String]) -> String {
    let whole = |(i, word): (usize, &String)| match word.as_str() {
        "ST" if i == 0 && rest.len() > 1 => "SAINT".to_owned(),
        "MT" if i == 0 && rest.len() > 1 => "MOUNT".to_owned(),
        "FT" if i == 0 && rest.len() > 1 => "FORT".to_owned(),
        word => words::ordinal(word).unwrap_or(word).to_owned(),
    };
    rest.iter().enumerate().map(whole).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(text: &str) -> [String; 6] {
        let a = Address::parse(text);
        [a.number, a.before, a.name, a.suffix, a.after, a.unit]
    }

    /// Cases that the standard speaks of in sections 233 and 234: directions, two suffix words, a direction that is the name,
    /// lettered avenues, units. The addresses are invented.
    #[test]
    fn parts_are_those_of_the_standard() {
        let cases = [
            ("102 Main Street", ["102", "", "MAIN", "ST", "", ""]),
            ("102 north main street sw", ["102", "N", "MAIN", "ST", "SW", ""]),
            ("102 N. E. Main St.", ["102", "NE", "MAIN", "ST", "", ""]),
            ("12 North Ave", ["12", "", "NORTH", "AVE", "", ""]),
            ("12 E North Ave", ["12", "E", "NORTH", "AVE", "", ""]),
            ("12 Avenue N", ["12", "", "AVENUE N", "", "", ""]),
            ("789 Bay Drive Lane", ["789", "", "BAY DRIVE", "LN", "", ""]),
            ("7 Fifth Ave Suite 20", ["7", "", "5TH", "AVE", "", "STE 20"]),
            ("7 Oak Blvd # 4-B", ["7", "", "OAK", "BLVD", "", "# 4-B"]),
            ("7 Oak Blvd 4", ["7", "", "OAK", "BLVD", "", "# 4"]),
            ("7 Oak Blvd rear", ["7", "", "OAK", "BLVD", "", "REAR"]),
            ("7 St Anne Ct", ["7", "", "SAINT ANNE", "CT", "", ""]),
            ("7 State Road 12", ["7", "", "STATE RD 12", "", "", ""]),
            ("7 Front St", ["7", "", "FRONT", "ST", "", ""]),
            ("5th Ave", ["", "", "5TH", "AVE", "", ""]),
            ("0012 Jorñon Terrace, Quillmere, LA 70001", ["12", "", "JORNON", "TER", "", ""]),
            ("", ["", "", "", "", "", ""]),
        ];
        for (text, expected) in cases {
            assert_eq!(parts(text), expected.map(str::to_owned), "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_taken_apart_and_case_and_blanks_mean_nothing(text in "[ -~]{0,40}") {
            let a = Address::parse(&text);
            proptest::prop_assert_eq!(&a, &Address::parse(&text.to_uppercase()));
            proptest::prop_assert_eq!(a, Address::parse(&text.replace(' ', "  ")));
        }
    }
}
