//! Reading one row of a visits file.

use super::Match;
use super::cells::{self, Amount, Reason};
use super::dates::{self, Days};
use super::points::{Point, Points};
use super::words::{WordList, WordMap};
use crate::files::Table;
use crate::survey::{Action, Outcome, Stage, When};
use jiff::civil::{Date, Time};
use std::borrow::Cow;

/// What one row says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct VisitRow {
    pub when: Option<When>,
    /// Minutes from going in to coming out.
    pub minutes: Option<u16>,
    pub outcome: Option<Outcome>,
    pub point: Point,
    pub find: Option<FoundRow>,
    pub odd: Odd,
}

/// A find as its row tells it; its kind is the text of the row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FoundRow {
    pub count: u32,
    pub wet: u32,
    pub with_larvae: u32,
    pub with_pupae: u32,
    pub pupae: u32,
    pub stage: Option<Stage>,
    pub litres: Option<f32>,
    pub action: Option<Action>,
    pub remains: bool,
}

/// What is odd about a row and yet does not keep it out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Odd {
    pub stage: bool,
    pub action: bool,
    pub water_taken: bool,
    pub positive_taken: bool,
    pub count_raised: bool,
    pub clock: bool,
}

/// The columns of a visits file.
pub(super) struct VisitColumns<'a> {
    table: &'a Table,
    days: Days,
    /// What the file's words stand for.
    words: &'a WordMap,
    pub visit_id: Option<usize>,
    pub date: Option<usize>,
    pub parcel_id: Option<usize>,
    pub address: Option<usize>,
    pub outcome: Option<usize>,
    pub round: Option<usize>,
    pub crew: Option<usize>,
    pub time_in: Option<usize>,
    pub time_out: Option<usize>,
    pub minutes: Option<usize>,
    pub container_type: Option<usize>,
    pub holds_water: Option<usize>,
    pub larvae: Option<usize>,
    pub pupae: Option<usize>,
    pub count: Option<usize>,
    pub pupae_count: Option<usize>,
    pub stages: Option<usize>,
    pub litres: Option<usize>,
    pub action: Option<usize>,
    pub remains: Option<usize>,
    pub promise: Option<usize>,
    pub cautions: Option<usize>,
    /// The columns that whoever was there fills in, and those that mean nothing.
    by_hand: Vec<usize>,
}

/// What stands in a day's sheet before anybody goes out: see [`crate::brief`].
const FILLED_IN_BEFORE: [&str; 8] = ["visit_id", "date", "parcel_id", "lon", "lat", "address", "round", "crew"];

impl<'a> VisitColumns<'a> {
    pub(super) fn new(table: &'a Table, matched: &Match, days: Days, words: &'a WordMap) -> Self {
        let column = |meaning: &str| matched.column(meaning);
        Self {
            table,
            days,
            words,
            visit_id: column("visit_id"),
            date: column("date"),
            parcel_id: column("parcel_id"),
            address: column("address"),
            outcome: column("outcome"),
            round: column("round"),
            crew: column("crew"),
            time_in: column("time_in"),
            time_out: column("time_out"),
            minutes: column("minutes"),
            container_type: column("container_type"),
            holds_water: column("holds_water"),
            larvae: column("larvae"),
            pupae: column("pupae"),
            count: column("count"),
            pupae_count: column("pupae_count"),
            stages: column("stages"),
            litres: column("litres"),
            action: column("action"),
            remains: column("remains"),
            promise: column("promise"),
            cautions: column("cautions"),
            by_hand: {
                let before: Vec<usize> = FILLED_IN_BEFORE.into_iter().filter_map(column).collect();
                (0..table.columns.len()).filter(|c| !before.contains(c)).collect()
            },
        }
    }

    /// Whether a row stands as it stood in the sheet of a day's walks: nobody wrote anything into it. The visit's id tells such a
    /// sheet, it begins with the day.
    pub(super) fn untouched(&self, row: usize, day: Option<Date>) -> bool {
        let Some(day) = day else { return false };
        let of_sheet = self.text(row, self.visit_id).strip_prefix(&day.to_string()).is_some_and(|rest| rest.starts_with('-'));
        of_sheet && self.by_hand.iter().all(|&column| self.table.cell(row, column).is_empty())
    }

    /// The cell of a row in a column; empty where there is no such column.
    pub(super) fn text(&self, row: usize, column: Option<usize>) -> Cow<'a, str> {
        column.map_or(Cow::Borrowed(""), |c| self.table.cell(row, c))
    }

    /// The cell of a row in a column whose words belong to a list: what its word stands for.
    pub(super) fn word(&self, row: usize, column: Option<usize>, list: WordList) -> Cow<'a, str> {
        self.words.ours(list, self.text(row, column))
    }

    /// What the cells of some rows say in a column, each text once, with a semicolon between them. The order of the rows means nothing.
    pub(super) fn texts(&self, rows: &[u32], column: Option<usize>) -> String {
        let Some(column) = column else { return String::new() };
        let mut all: Vec<Cow<'_, str>> = rows.iter().map(|&row| self.text(row as usize, Some(column))).filter(|t| !t.is_empty()).collect();
        all.sort_unstable();
        all.dedup();
        all.join("; ")
    }

    /// The columns whose words belong to a closed list.
    pub(super) fn listed(&self) -> [(WordList, Option<usize>); 7] {
        [
            (WordList::Outcome, self.outcome),
            (WordList::Stages, self.stages),
            (WordList::Action, self.action),
            (WordList::YesNo, self.holds_water),
            (WordList::YesNo, self.larvae),
            (WordList::YesNo, self.pupae),
            (WordList::YesNo, self.remains),
        ]
    }

    /// How the file writes its days.
    pub(super) fn days(&self) -> &Days {
        &self.days
    }

    /// Reads a row.
    pub(super) fn read(&self, row: usize, points: &Points<'_>) -> Result<VisitRow, Reason> {
        let date = self.text(row, self.date);
        let when = if date.is_empty() { None } else { Some(self.days.moment(&date)?) };
        let outcome = cells::outcome(&self.word(row, self.outcome, WordList::Outcome))?;
        let mut odd = Odd::default();
        let (came, minutes) = self.times(row, when.and_then(|w| w.time), &mut odd.clock);
        let when = when.map(|w| When { time: came, ..w });
        let find = self.find(row, &mut odd)?;
        Ok(VisitRow { when, minutes, outcome, point: points.of(row), find, odd })
    }

    /// When somebody came, and for how many minutes. What cannot be read, or be so, is odd and left off.
    fn times(&self, row: usize, of_date: Option<Time>, odd: &mut bool) -> (Option<Time>, Option<u16>) {
        let text = |column| self.text(row, column);
        let times = Times::read([&text(self.time_in), &text(self.time_out), &text(self.minutes)], of_date);
        *odd = times.faults.iter().any(|f| *f);
        (times.came, times.minutes)
    }

    fn find(&self, row: usize, odd: &mut Odd) -> Result<Option<FoundRow>, Reason> {
        let text = |column| self.text(row, column);
        let word = |column, list| self.word(row, column, list);
        let yes_no = |column| self.word(row, column, WordList::YesNo);
        let cells = FindCells {
            kind: &text(self.container_type),
            count: &text(self.count),
            holds_water: &yes_no(self.holds_water),
            larvae: &yes_no(self.larvae),
            pupae: &yes_no(self.pupae),
            pupae_count: &text(self.pupae_count),
            stages: &word(self.stages, WordList::Stages),
            litres: &text(self.litres),
            action: &word(self.action, WordList::Action),
            remains: &yes_no(self.remains),
        };
        cells.read(odd).map_err(|misfit| misfit.reason)
    }
}

/// When somebody came and for how many minutes, as written in three cells: came, went, minutes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Times {
    pub came: Option<Time>,
    /// As written, or from going in to coming out.
    pub minutes: Option<u16>,
    /// Which of the three cells cannot be read, or be so.
    pub faults: [bool; 3],
}

impl Times {
    /// Reads the cells; `of_date` is a time that stands behind the day.
    pub(super) fn read([time_in, time_out, minutes]: [&str; 3], of_date: Option<Time>) -> Self {
        let clock = |text: &str| if text.is_empty() { Ok(None) } else { dates::clock(text).map(Some).ok_or(()) };
        let (read_in, read_out) = (clock(time_in), clock(time_out));
        let (came, went) = (read_in.ok().flatten().or(of_date), read_out.ok().flatten());
        let between = came.zip(went).map(|(came, went)| went.duration_since(came).as_secs_f64() / 60.0);
        let told = if minutes.is_empty() { between } else { Some(cells::parsed(minutes).unwrap_or(-1.0)) };
        let rounded = told.filter(|m| (0.0..=DAY).contains(m)).map(|m| m.round() as u16);
        let cannot_be = told.is_some() && rounded.is_none();
        let faults = [read_in.is_err(), read_out.is_err() || (minutes.is_empty() && cannot_be), !minutes.is_empty() && cannot_be];
        Self { came, minutes: rounded, faults }
    }
}

/// The cells of one find, as they are written.
#[derive(Clone, Copy, Debug)]
pub(super) struct FindCells<'a> {
    pub kind: &'a str,
    pub count: &'a str,
    pub holds_water: &'a str,
    pub larvae: &'a str,
    pub pupae: &'a str,
    pub pupae_count: &'a str,
    pub stages: &'a str,
    pub litres: &'a str,
    pub action: &'a str,
    pub remains: &'a str,
}

/// Why the cells of a find cannot be, and the meaning of the cell that is to blame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Misfit {
    pub meaning: &'static str,
    pub reason: Reason,
}

impl Misfit {
    fn at(meaning: &'static str) -> impl Fn(Reason) -> Self {
        move |reason| Self { meaning, reason }
    }
}

impl FindCells<'_> {
    /// Reads them; `None` where they tell of no container.
    pub(super) fn read(&self, odd: &mut Odd) -> Result<Option<FoundRow>, Misfit> {
        let whole = |text, meaning| cells::whole(text, meaning).map_err(Misfit::at(meaning));
        let amount = |text, meaning| cells::amount(text, meaning).map_err(Misfit::at(meaning));
        let given = whole(self.count, "count")?;
        let amounts = [amount(self.holds_water, "holds_water")?, amount(self.larvae, "larvae")?, amount(self.pupae, "pupae")?];
        let pupae = whole(self.pupae_count, "pupae_count")?.unwrap_or(0);
        let stage = known(self.stages, cells::stage, &mut odd.stage);
        let action = known(self.action, cells::action, &mut odd.action);
        let litres = cells::number(self.litres, "litres").map_err(Misfit::at("litres"))?;
        if litres.is_some_and(|l| l < 0.0) {
            return Err(Misfit::at("litres")(Reason::new(format!("litres is {}, less than 0", self.litres))));
        }
        let remains = cells::yes(self.remains, "remains").map_err(Misfit::at("remains"))?;
        let counts = Counts::of(given, amounts, pupae, stage, odd)?;
        if self.kind.is_empty() && given.unwrap_or(0) == 0 && counts.wet == 0 && counts.positive() == 0 && pupae == 0 {
            return Ok(None);
        }
        let Counts { count, wet, with_larvae, with_pupae } = counts;
        Ok(Some(FoundRow { count, wet, with_larvae, with_pupae, pupae, stage, litres: litres.map(|l| l as f32), action, remains }))
    }
}

/// Minutes of a day.
const DAY: f64 = 1440.0;

/// A word of a list; an unknown one is odd and left off.
fn known<T>(text: &str, read: impl Fn(&str) -> Option<T>, odd: &mut bool) -> Option<T> {
    if text.is_empty() {
        return None;
    }
    let word = read(text);
    *odd = word.is_none();
    word
}

/// How many containers there were, held water, held larvae, held pupae.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Counts {
    count: u32,
    wet: u32,
    with_larvae: u32,
    with_pupae: u32,
}

impl Counts {
    fn positive(self) -> u32 {
        self.with_larvae.max(self.with_pupae)
    }

    /// Counts from the cells; what contradicts itself is refused.
    ///
    /// A blank is filled from what stands beside it: larvae or pupae mean water, a stage or counted pupae mean larvae or pupae
    /// in at least one container.
    fn of(given: Option<u32>, amounts: [Amount; 3], pupae: u32, stage: Option<Stage>, odd: &mut Odd) -> Result<Self, Misfit> {
        let [wet, larvae, with_pupae] = amounts.map(|a| a.containers(given.unwrap_or(1)));
        if pupae > 0 && with_pupae == Some(0) {
            return Err(Misfit::at("pupae")(Reason::new(format!("{pupae} pupae were counted, but the pupae column says none"))));
        }
        let (implied_larvae, implied_pupae) = implied(larvae, with_pupae, pupae, stage);
        odd.positive_taken = implied_larvae + implied_pupae > 0;
        let (with_larvae, with_pupae) = (larvae.unwrap_or(implied_larvae), with_pupae.unwrap_or(implied_pupae));
        let positive = with_larvae.max(with_pupae);
        odd.water_taken = wet.is_none() && positive > 0;
        let wet = wet.unwrap_or(positive);
        if positive > wet {
            let told = format!("{positive} containers with larvae or pupae, but only {wet} that held water");
            return Err(Misfit::at("holds_water")(Reason::new(told)));
        }
        odd.count_raised = given.is_some_and(|count| wet > count);
        let count = given.unwrap_or(1).max(wet);
        Ok(Self { count, wet, with_larvae, with_pupae })
    }
}

/// Containers with larvae and with pupae that the other cells imply where both columns are blank.
fn implied(larvae: Option<u32>, with_pupae: Option<u32>, pupae: u32, stage: Option<Stage>) -> (u32, u32) {
    let pupal = pupae > 0 || stage == Some(Stage::Pupa);
    match (larvae, with_pupae) {
        (_, None) if pupal => (0, 1),
        (None, None) if stage.is_some() => (1, 0),
        _ => (0, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counts(given: Option<u32>, wet: Amount, larvae: Amount, pupae: Amount, counted: u32) -> Result<(u32, u32, u32, u32), Misfit> {
        Counts::of(given, [wet, larvae, pupae], counted, None, &mut Odd::default()).map(|c| (c.count, c.wet, c.with_larvae, c.with_pupae))
    }

    #[test]
    fn counts_follow_the_contract() {
        use Amount::{Blank, Count, No, Yes};
        assert_eq!(counts(Some(5), Yes, Yes, No, 0), Ok((5, 5, 5, 0)));
        assert_eq!(counts(Some(5), Count(3), Count(2), Count(1), 4), Ok((5, 3, 2, 1)));
        assert_eq!(counts(None, Yes, No, Blank, 0), Ok((1, 1, 0, 0)));
        assert_eq!(counts(None, Count(4), Count(1), Blank, 0), Ok((4, 4, 1, 0)));
        assert_eq!(counts(Some(2), Count(3), No, No, 0), Ok((3, 3, 0, 0)));
        assert_eq!(counts(None, Blank, Yes, Blank, 0), Ok((1, 1, 1, 0)));
        assert_eq!(counts(None, Yes, Blank, Blank, 7), Ok((1, 1, 0, 1)));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        use Amount::{Count, No, Yes};
        assert!(counts(Some(5), Count(1), Count(2), No, 0).unwrap_err().reason.0.contains("only 1 that held water"));
        assert!(counts(None, Yes, Yes, No, 3).is_err());
        assert!(counts(None, No, Yes, No, 0).is_err());
    }
}
