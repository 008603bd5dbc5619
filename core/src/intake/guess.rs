//! What columns mean, guessed from their names and from what stands in them.

use super::address::Address;
use super::columns::{ColumnUse, Sureness};
use super::words::WordList;
use super::{Role, cells, dates};
use crate::files::{ColumnLook, LayerLook};
use crate::survey::Survey;
use std::collections::HashSet;

/// Spellings that may mean many things: by themselves they are a guess.
const WEAK: [&str; 14] = ["id", "name", "x", "y", "n", "st", "num", "number", "type", "kind", "status", "label", "left", "done"];
/// A parcel id as short as this may be any number.
const SHORTEST_ID: usize = 4;

/// What columns mean, by their names and by what stands in them; with a survey also by the parcel ids that it has.
///
/// ```
/// use yardring_core::files::ColumnLook;
/// use yardring_core::intake::{Role, Sureness, guess_columns};
/// let column = |name: &str, sample: &str| ColumnLook { name: name.into(), samples: vec![sample.into()] };
/// let lots = [column("OBJECTID", "1"), column("Map_Lot", "12-7"), column("SITUS", "3 Elm St")];
/// let guessed = guess_columns(Role::Parcels, &lots, None);
/// assert_eq!((guessed[0].meaning, guessed[0].number, guessed[0].sure), ("parcel_id", 1, Sureness::Likely));
/// assert_eq!((guessed[1].meaning, guessed[1].number), ("address", 2));
/// ```
pub fn guess_columns(role: Role, columns: &[ColumnLook], survey: Option<&Survey>) -> Vec<ColumnUse> {
    let mut uses = Vec::new();
    guess_missing(role, columns, &[], survey, &mut uses);
    uses
}

/// What a layer's rows probably are, from what shapes it has and what its columns are called and hold.
pub fn guess_role(layer: &LayerLook) -> Option<Role> {
    let has = |role: Role, meaning: &str| guess_columns(role, &layer.columns, None).iter().any(|u| u.meaning == meaning);
    let outlines = layer.geometry.contains("outlines");
    match () {
        () if outlines && !has(Role::Parcels, "parcel_id") && has(Role::Blocks, "block_id") => Some(Role::Blocks),
        () if outlines => Some(Role::Parcels),
        () if layer.geometry.contains("lines") => Some(Role::Streets),
        () if ["mean_c", "max_c", "mean_f", "max_f"].into_iter().any(|m| has(Role::Temperatures, m)) => Some(Role::Temperatures),
        () if ["outcome", "larvae", "pupae", "holds_water"].into_iter().any(|m| has(Role::Visits, m)) => Some(Role::Visits),
        () if has(Role::Signals, "kind") => Some(Role::Signals),
        () => None,
    }
}

/// Adds a column for every meaning that has none and is not ruled out.
pub(super) fn guess_missing(role: Role, columns: &[ColumnLook], ruled_out: &[&str], survey: Option<&Survey>, uses: &mut Vec<ColumnUse>) {
    let open = |uses: &[ColumnUse], meaning: &str| !ruled_out.contains(&meaning) && !uses.iter().any(|u| u.meaning == meaning);
    let plain: Vec<String> = columns.iter().map(|c| plain(&c.name)).collect();
    for exact in [true, false] {
        for meaning in role.meanings().iter().filter(|m| open(uses, m.name)).collect::<Vec<_>>() {
            let own = self::plain(meaning.name);
            let own = [own.as_str()];
            let spellings = if exact { &own[..] } else { meaning.spellings };
            let free = |i: &usize| !uses.iter().any(|u| u.number == *i);
            let named = spellings.iter().filter_map(|s| Some((plain.iter().position(|p| p == s).filter(free)?, *s)));
            let judged: Vec<_> = named.map(|(i, s)| (i, by_name(role, meaning.name, &columns[i], (exact, s)))).collect();
            // The most telling spelling whose column does not contradict it.
            let best = judged.iter().find(|j| j.1 > Sureness::Doubtful).or_else(|| judged.first()).copied();
            uses.extend(best.map(|(number, sure)| used(meaning.name, columns, number, sure)));
        }
    }
    let found = by_values(role, columns, survey, |meaning| open(uses, meaning), |i| !uses.iter().any(|u| u.number == i));
    for (meaning, number) in found {
        if !uses.iter().any(|u| u.number == number) {
            uses.push(used(meaning, columns, number, Sureness::Values));
        }
    }
    uses.sort_by_key(|u| role.meanings().iter().position(|m| m.name == u.meaning));
}

fn used(meaning: &'static str, columns: &[ColumnLook], number: usize, sure: Sureness) -> ColumnUse {
    let ColumnLook { name, samples } = &columns[number];
    ColumnUse { meaning, column: name.clone(), sure, samples: samples.clone(), number }
}

/// How sure a column with a usual name is.
fn by_name(role: Role, meaning: &str, column: &ColumnLook, (own, spelling): (bool, &str)) -> Sureness {
    match fit(role, meaning, &column.samples) {
        Fit::Against => Sureness::Doubtful,
        _ if own => Sureness::Sure,
        _ if WEAK.contains(&spelling) => Sureness::Guess,
        _ => Sureness::Likely,
    }
}

/// What the values say to a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fit {
    For,
    Open,
    Against,
}

/// Whether some values can be what a meaning wants: against it when none can.
fn fit(role: Role, meaning: &str, samples: &[String]) -> Fit {
    let judged = |can: &dyn Fn(&str) -> bool| match samples.iter().filter(|s| can(s)).count() {
        _ if samples.is_empty() => Fit::Open,
        0 => Fit::Against,
        n if n == samples.len() => Fit::For,
        _ => Fit::Open,
    };
    let number = cells::parsed;
    match meaning {
        "lon" => judged(&|s| cells::degrees(s).is_some_and(|v| v.abs() <= 180.0)),
        "lat" => judged(&|s| cells::degrees(s).is_some_and(|v| v.abs() <= 90.0)),
        "mean_c" | "min_c" | "max_c" | "mean_f" | "min_f" | "max_f" | "litres" | "pupae_count" | "count" | "value" | "left_from"
        | "left_to" | "right_from" | "right_to" => judged(&|s| number(s).is_some()),
        "year_built" => judged(&|s| number(s.get(..4).unwrap_or(s)).is_some()),
        "date" => judged(&dates::looks_like_a_day),
        "address" => judged(&|s| number(s).is_none()),
        "parcel_id" | "block_id" | "visit_id" if samples.is_empty() => Fit::Against,
        _ => match WordList::of(role, meaning) {
            Some(WordList::ContainerType) | None => Fit::Open,
            Some(list) => judged(&|s| list.reads(s, None)),
        },
    }
}

/// Columns that only what stands in them gives away: the one column whose values are all days, or all on a closed list, or all
/// parcel ids of the survey, or all addresses where nothing else says where a row belongs.
fn by_values(
    role: Role,
    columns: &[ColumnLook],
    survey: Option<&Survey>,
    open: impl Fn(&str) -> bool,
    free: impl Fn(usize) -> bool,
) -> Vec<(&'static str, usize)> {
    let only = |can: &dyn Fn(&[String]) -> bool| {
        let mut fitting = (0..columns.len()).filter(|&i| free(i) && !columns[i].samples.is_empty() && can(&columns[i].samples));
        fitting.next().filter(|_| fitting.next().is_none())
    };
    let mut out = Vec::new();
    for meaning in role.meanings().iter().map(|m| m.name).filter(|m| open(m)) {
        let least = if matches!(meaning, "date" | "outcome" | "kind") { 1 } else { 2 };
        let found = match (meaning, WordList::of(role, meaning)) {
            ("date", _) => only(&|samples| samples.iter().all(|s| dates::looks_like_a_day(s))),
            (_, Some(list @ (WordList::Outcome | WordList::Kind | WordList::Stages | WordList::Action))) => {
                only(&|samples| samples.len() >= least && samples.iter().all(|s| list.reads(s, None)))
            }
            _ => None,
        };
        out.extend(found.map(|number| (meaning, number)));
    }
    if matches!(role, Role::Visits | Role::Signals)
        && ["parcel_id", "lon", "address"].into_iter().all(|m| role.meaning(m).is_none() || open(m))
    {
        out.extend(where_by_values(role, columns, survey, &only));
    }
    out
}

type Only<'a> = dyn Fn(&dyn Fn(&[String]) -> bool) -> Option<usize> + 'a;

/// The column that says where a row belongs: parcel ids of the survey, or else addresses.
fn where_by_values(role: Role, columns: &[ColumnLook], survey: Option<&Survey>, only: &Only<'_>) -> Option<(&'static str, usize)> {
    let ids = survey.filter(|_| role == Role::Visits).map_or_else(HashSet::new, |s| ids_among(s, columns));
    let by_id = only(&|samples| samples.iter().all(|s| ids.contains(s.as_str())));
    let is_address = |s: &String| {
        let address = Address::parse(s);
        !address.number.is_empty() && !address.name.is_empty()
    };
    by_id.map(|i| ("parcel_id", i)).or_else(|| Some(("address", only(&|samples| samples.iter().all(is_address))?)))
}

/// The samples that are parcel ids of the survey.
fn ids_among<'a>(survey: &Survey, columns: &'a [ColumnLook]) -> HashSet<&'a str> {
    let asked: HashSet<&str> = columns.iter().flat_map(|c| &c.samples).map(String::as_str).filter(|s| s.len() >= SHORTEST_ID).collect();
    survey.premises.parcel_id.iter().filter_map(|id| asked.get(id).copied()).collect()
}

/// A name without case, blanks and marks.
fn plain(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(name: &str, samples: &[&str]) -> ColumnLook {
        ColumnLook { name: name.to_owned(), samples: samples.iter().map(|s| (*s).to_owned()).collect() }
    }

    fn guessed(role: Role, columns: &[ColumnLook]) -> Vec<(&'static str, usize, Sureness)> {
        guess_columns(role, columns, None).iter().map(|u| (u.meaning, u.number, u.sure)).collect()
    }

    #[test]
    fn values_speak_for_a_name_against_it_and_by_themselves() {
        let sheet = [
            column("X", &["2330100.5"]),
            column("gps_lon", &["-71.1"]),
            column("gps_lat", &["42.4"]),
            column("Visited on", &["7/14/2025", "7/15/2025"]),
            column("How it went", &["inspected", "No answer"]),
            column("Container", &["tire", "bucket"]),
            column("notes", &["dog"]),
        ];
        assert_eq!(
            guessed(Role::Visits, &sheet),
            [
                ("date", 3, Sureness::Values),
                ("lon", 1, Sureness::Likely),
                ("lat", 2, Sureness::Likely),
                ("outcome", 4, Sureness::Values),
                ("container_type", 5, Sureness::Likely)
            ]
        );
    }

    #[test]
    fn two_columns_that_could_be_meant_are_left_to_people() {
        let sheet = [column("entered", &["2025-07-01"]), column("seen", &["2025-07-02"]), column("what happened", &["refused"])];
        assert_eq!(guessed(Role::Visits, &sheet), [("outcome", 2, Sureness::Values)]);
    }

    #[test]
    fn an_address_stands_in_for_a_missing_place_but_never_for_a_parcels_own() {
        let sheet = [column("where", &["12 Elm St", "3 Oak Ave"]), column("kind", &["trap"]), column("date", &["2025-07-01"])];
        assert_eq!(guessed(Role::Signals, &sheet)[1], ("address", 0, Sureness::Values));
        assert_eq!(guessed(Role::Parcels, &[column("owner", &["12 Elm St"])]), []);
        assert_eq!(guessed(Role::Parcels, &[column("ID", &["7"])]), [("parcel_id", 0, Sureness::Guess)]);
    }

    #[test]
    fn a_blank_meaning_in_the_map_rules_the_guess_out() {
        let mut uses = Vec::new();
        guess_missing(Role::Parcels, &[column("PIN", &["7-1"])], &["parcel_id"], None, &mut uses);
        assert!(uses.is_empty());
    }
}
