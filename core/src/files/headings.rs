//! Which line of a typed sheet names its columns: people put a title above it.

/// Lines looked at for the one that names the columns.
pub(super) const LOOKED_AT: usize = 10;
/// Most cells with something in them that a line of a title has.
const IN_A_TITLE: usize = 2;
/// Fewest columns of a sheet whose title is passed over; with fewer, a title and a heading cannot be told apart.
const COLUMNS: usize = 4;

/// The number of the line that names the columns, of the first lines of a sheet: the first with something in it, unless that one looks
/// like a title and a line of names stands below it.
pub(super) fn heading<T: AsRef<str>>(lines: &[Vec<T>]) -> usize {
    let filled = |line: &[T]| line.iter().filter(|c| !c.as_ref().trim().is_empty()).count();
    let first = lines.iter().position(|l| filled(l) > 0).unwrap_or(0);
    let below_title = lines.iter().take(LOOKED_AT).position(|l| filled(l) > IN_A_TITLE);
    match below_title {
        Some(at) if at > first && filled(&lines[at]) >= COLUMNS && names(&lines[at]) => at,
        _ => first,
    }
}

/// Whether the cells of a line can be names of columns: words, and none of them twice.
fn names<T: AsRef<str>>(line: &[T]) -> bool {
    let mut words: Vec<&str> = line.iter().map(|c| c.as_ref().trim()).filter(|c| !c.is_empty()).collect();
    let all = words.len();
    words.sort_unstable();
    words.dedup();
    words.len() == all && words.iter().all(|w| w.starts_with(|c: char| c.is_alphabetic() || c == '_'))
}

/// What is said of lines that stand above the names of the columns; nothing where there are none.
pub(super) fn note<T: AsRef<str>>(above: &[Vec<T>]) -> Option<String> {
    let words = |line: &Vec<T>| line.iter().map(|c| c.as_ref().trim().to_owned()).filter(|c| !c.is_empty()).collect::<Vec<_>>().join(" ");
    let said: Vec<String> = above.iter().map(words).filter(|w| !w.is_empty()).collect();
    let lines = if said.len() == 1 {
        "1 line above the names of the columns was".to_owned()
    } else {
        format!("{} lines above the names of the columns were", said.len())
    };
    (!said.is_empty()).then(|| format!("{lines} passed over: '{}'", said.join("', '")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> usize {
        heading(&text.lines().map(|l| l.split(',').collect()).collect::<Vec<_>>())
    }

    #[test]
    fn titles_are_passed_over_and_nothing_else() {
        assert_eq!(of("date,parcel_id,outcome,crew\n2025-07-01,1,inspected,A"), 0);
        assert_eq!(of("Sheets of the week,,,\n\nfrom,crew A,,\ndate,parcel_id,outcome,crew\n2025-07-01,1,inspected,A"), 3);
        assert_eq!(of(",,,\ndate,parcel_id\n2025-07-01,1"), 1, "an empty line names nothing");
        assert_eq!(of("id,name\n1,Elm,St,12,North\n2,Oak,Rd,7,South"), 0, "a long row is no heading: it begins with a number");
        assert_eq!(of("id,name\nElm,St,North,St"), 0, "nor is one that says a thing twice");
        assert_eq!(of("title\nid,name,street"), 0, "three columns are too few to tell");
        assert_eq!(of(""), 0);
    }

    #[test]
    fn what_was_passed_over_is_told() {
        let above = vec![vec!["Sheets of the week", ""], vec!["", ""], vec!["typed by", "crew A"]];
        let told = note(&above).unwrap();
        assert_eq!(told, "2 lines above the names of the columns were passed over: 'Sheets of the week', 'typed by crew A'");
        assert_eq!((note(&above[..1]).unwrap().split(" was ").count(), note(&above[1..2])), (2, None));
    }
}
