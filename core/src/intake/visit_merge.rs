//! New visits into the survey: rounds, kinds of container, visits that are there already.

use super::cells::{Reason, folded};
use super::report::{Account, Report};
use super::text_index::TextIndex;
use super::visit_rows::FoundRow;
use super::visits::{Draft, Joined, VisitFile};
use super::words::WordList;
use crate::survey::{Find, KindId, PremiseId, Round, RoundId, Said, Strings, Survey, TakenAway, Visit, Visits};
use jiff::civil::Date;
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// The name of a container that a row counts without naming it.
pub(super) const NOT_NAMED: &str = "not named";

type VisitWithFinds = (Visit, Vec<Find>);

/// Adds the joined visits of a file to a survey.
///
/// A visit with the id of one that is there replaces it when anything about it has changed, and is dropped when nothing has.
///
/// Rows that name no round belong to `default_round`.
pub(super) fn add(
    survey: &mut Survey,
    file: &VisitFile<'_>,
    joined: Joined,
    default_round: Option<String>,
    report: &mut Report,
    account: &mut Account,
) {
    let round_name = |draft: &Draft| match draft.round_row {
        Some(row) => file.columns.text(row as usize, file.columns.round).into_owned(),
        None => default_round.clone().unwrap_or_default(),
    };
    let rounds = Rounds::with_file(survey, &joined, &round_name);
    let kinds = Kinds::with_file(survey, file, &joined);
    kinds.tell_new(survey, account);
    let mut all = kinds.old_visits(survey, &rounds);
    let fresh: Vec<VisitWithFinds> = joined
        .visits
        .par_iter()
        .map(|(draft, premise, _)| {
            let id = visit_id(file, draft, *premise, survey);
            let crew = draft.crew_row.map_or_else(Default::default, |row| file.columns.text(row as usize, file.columns.crew));
            let visit = Visit {
                id,
                premise: *premise,
                when: draft.when,
                outcome: draft.outcome,
                round: rounds.number(&round_name(draft)),
                crew: crew.as_ref().into(),
                said: Said::with_minutes(
                    &file.columns.texts(&draft.rows, file.columns.promise),
                    &file.columns.texts(&draft.rows, file.columns.cautions),
                    draft.minutes,
                ),
                finds: 0..0,
            };
            (visit, kinds.finds(file, draft))
        })
        .collect();
    report.finds = fresh.iter().map(|v| v.1.len()).sum();
    replace_or_add(&mut all, fresh, &joined, account);
    survey.visits = Visits::from_rows(survey.premises.len(), all);
    survey.kinds = Arc::new(kinds.names);
    survey.rounds = Arc::new(rounds.rounds);
    drop_empty_rounds(survey);
}

/// The visits of a file but for those that somebody took away by hand: the rows of these are refused. One that somebody entered anew since
/// counts like any other.
pub(super) fn without_taken_away(survey: &Survey, file: &VisitFile<'_>, mut joined: Joined, account: &mut Account) -> Joined {
    let gone = TakenAway::of(survey);
    if gone.is_empty() {
        return joined;
    }
    let reason = Reason::new("the visit was taken away by hand; enter it by hand if it belongs here after all");
    joined.visits.retain(|(draft, premise, _)| {
        let id = visit_id(file, draft, *premise, survey);
        let there = survey.visits.at(*premise).iter().any(|v| v.id == id);
        let stays = there || !gone.has(&id, survey.premises.parcel_id.get(premise.row()));
        if !stays {
            draft.rows.iter().for_each(|&row| account.refuse(file.table, row as usize, &reason));
        }
        stays
    });
    joined
}

/// The name of the round of rows that name none: the first and the last day of all of them.
pub(super) fn default_round(joined: &Joined) -> Option<String> {
    joined.days(|d| d.round_row.is_none()).map(|(first, last)| format!("{first} to {last}"))
}

/// The file's id, or one made of the day and the premise.
fn visit_id(file: &VisitFile<'_>, draft: &Draft, premise: PremiseId, survey: &Survey) -> Box<str> {
    if draft.has_id {
        return file.columns.text(draft.rows[0] as usize, file.columns.visit_id).as_ref().into();
    }
    made_id(survey, premise, draft.when.day)
}

/// The id of a visit that has none: its day and its premise.
pub(super) fn made_id(survey: &Survey, premise: PremiseId, day: Date) -> Box<str> {
    match survey.premises.parcel_id.get(premise.row()) {
        "" => {
            let p = survey.premises.outline.get(premise.row()).bounds().centre();
            format!("{day} at {:.0}, {:.0}", p.x, p.y).into()
        }
        parcel => format!("{day} {parcel}").into(),
    }
}

fn replace_or_add(all: &mut Vec<VisitWithFinds>, fresh: Vec<VisitWithFinds>, joined: &Joined, account: &mut Account) {
    let ids: Strings = all.iter().map(|(v, _)| &*v.id).collect();
    let index = TextIndex::new(&ids);
    let mut added = Vec::with_capacity(fresh.len());
    for ((visit, finds), (draft, ..)) in fresh.into_iter().zip(&joined.visits) {
        let there = index.rows(&visit.id).find(|&i| draft.has_id || all[i].0.premise == visit.premise);
        match there {
            None => added.push((visit, finds)),
            Some(i) => {
                let by_hand = all[i].0.by_hand();
                let same = all[i].0
                    == Visit { finds: all[i].0.finds.clone(), said: Said::marked(visit.said.clone(), by_hand), ..visit.clone() }
                    && all[i].1 == finds;
                let sentence = match (same, by_hand) {
                    (true, _) => "The visit was there already and is not doubled",
                    (false, false) => "The visit was there with other content and was replaced",
                    (false, true) => "The visit was entered or corrected by hand and stays so; the file says otherwise",
                };
                account.notice_row(sentence, draft.rows[0] as usize);
                if !by_hand {
                    all[i] = (visit, finds);
                }
            }
        }
    }
    all.append(&mut added);
}

/// Rounds with the days of more visits, each with the name of its round; oldest first.
pub(super) fn rounds_with(known: &[Round], more: impl Iterator<Item = (Box<str>, Date)>) -> Vec<Round> {
    let mut days: BTreeMap<Box<str>, (Date, Date)> = known.iter().map(|r| (r.name.clone(), (r.first, r.last))).collect();
    for (name, day) in more {
        let entry = days.entry(name).or_insert((day, day));
        *entry = (entry.0.min(day), entry.1.max(day));
    }
    let mut rounds: Vec<Round> = days.into_iter().map(|(name, (first, last))| Round { name, first, last }).collect();
    rounds.sort_by(|a, b| (a.first, a.last, &a.name).cmp(&(b.first, b.last, &b.name)));
    rounds
}

/// Rounds by name, oldest first.
struct Rounds {
    rounds: Vec<Round>,
    by_name: HashMap<Box<str>, RoundId>,
}

impl Rounds {
    fn with_file(survey: &Survey, joined: &Joined, name: &impl Fn(&Draft) -> String) -> Self {
        let drafts = joined.visits.iter().map(|v| &v.0).chain(&joined.unjoined);
        let rounds = rounds_with(&survey.rounds, drafts.map(|draft| (name(draft).into(), draft.when.day)));
        let by_name = rounds.iter().zip(0..).map(|(r, i)| (r.name.clone(), RoundId(i))).collect();
        Self { rounds, by_name }
    }

    fn number(&self, name: &str) -> RoundId {
        self.by_name.get(name).copied().unwrap_or(RoundId(0))
    }
}

/// Kinds of container by folded name.
struct Kinds {
    names: Vec<Box<str>>,
    by_folded: HashMap<String, KindId>,
}

impl Kinds {
    /// The kinds of the survey and of a file. Spellings that differ in case and blanks only are one kind, written as the survey
    /// writes it, or else as most rows do.
    fn with_file(survey: &Survey, file: &VisitFile<'_>, joined: &Joined) -> Self {
        let mut spellings: HashMap<String, BTreeMap<String, u32>> = HashMap::new();
        let mut seen: HashMap<String, u32> = HashMap::new();
        for row in joined.visits.iter().flat_map(|v| &v.0.rows).map(|&r| r as usize).filter(|&r| found(file, r).is_some()) {
            let text = kind_text(file, row);
            match seen.get_mut(&*text) {
                Some(times) => *times += 1,
                None => {
                    seen.insert(text.into_owned(), 1);
                }
            }
        }
        for (text, times) in seen {
            spellings.entry(folded(&text)).or_default().insert(text, times);
        }
        let mut best: BTreeMap<String, Box<str>> = survey.kinds.iter().map(|k| (folded(k), k.clone())).collect();
        for (fold, texts) in spellings {
            let commonest = texts.into_iter().min_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
            best.entry(fold).or_insert_with(|| commonest.map_or_else(Box::default, |c| c.0.into()));
        }
        let mut names: Vec<Box<str>> = best.values().cloned().collect();
        names.sort_unstable();
        let by_folded = names.iter().zip(0..).map(|(name, i)| (folded(name), KindId(i))).collect();
        Self { names, by_folded }
    }

    /// Tells which kinds the survey did not know; on the first visits all are new and none is told.
    fn tell_new(&self, survey: &Survey, account: &mut Account) {
        let new = self.names.iter().filter(|name| !survey.kinds.is_empty() && !survey.kinds.contains(name));
        new.take(20).for_each(|name| account.notice(format!("'{name}' is a kind of container that the survey did not know")));
    }

    fn number(&self, text: &str) -> KindId {
        let known = self.by_folded.get(text).or_else(|| self.by_folded.get(&folded(text)));
        known.copied().unwrap_or(KindId(0))
    }

    /// What was found on a visit, in an order that does not depend on the order of its rows.
    fn finds(&self, file: &VisitFile<'_>, draft: &Draft) -> Vec<Find> {
        let find = |&row: &u32| {
            let found = found(file, row as usize)?;
            Some(found.of_kind(self.number(&kind_text(file, row as usize))))
        };
        let mut out: Vec<Find> = draft.rows.iter().filter_map(find).collect();
        sort(&mut out);
        out
    }

    /// The survey's visits with the new numbers of rounds and kinds.
    fn old_visits(&self, survey: &Survey, rounds: &Rounds) -> Vec<VisitWithFinds> {
        let kinds: Vec<KindId> = survey.kinds.iter().map(|k| self.number(k)).collect();
        let round: Vec<RoundId> = survey.rounds.iter().map(|r| rounds.number(&r.name)).collect();
        let renumbered = |visit: &Visit| {
            let finds = survey.visits.finds_of(visit).iter().map(|f| Find { kind: kinds[f.kind.0 as usize], ..f.clone() }).collect();
            (Visit { round: round[visit.round.0 as usize], ..visit.clone() }, finds)
        };
        survey.visits.rows().iter().map(renumbered).collect()
    }
}

/// Finds of one visit in an order that does not depend on how they were written down.
pub(super) fn sort(finds: &mut [Find]) {
    finds.sort_by_key(|f| {
        let counts = (f.count, f.wet, f.with_larvae, f.with_pupae, f.pupae);
        (f.kind, counts, f.stage, f.litres.map(f32::to_bits), f.action, f.remains)
    });
}

impl FoundRow {
    /// The find that a row tells of, once its kind has a number.
    pub(super) fn of_kind(self, kind: KindId) -> Find {
        let Self { count, wet, with_larvae, with_pupae, pupae, stage, litres, action, remains } = self;
        Find { kind, count, wet, with_larvae, with_pupae, pupae, stage, litres, action, remains }
    }
}

fn found(file: &VisitFile<'_>, row: usize) -> Option<FoundRow> {
    file.rows[row].as_ref().ok()?.find
}

fn kind_text<'a>(file: &VisitFile<'a>, row: usize) -> std::borrow::Cow<'a, str> {
    match file.columns.word(row, file.columns.container_type, WordList::ContainerType) {
        text if text.is_empty() => NOT_NAMED.into(),
        text => text,
    }
}

/// Rounds that lost their last visit to a replacement go.
fn drop_empty_rounds(survey: &mut Survey) {
    let mut used = vec![false; survey.rounds.len()];
    survey.visits.rows().iter().for_each(|v| used[v.round.0 as usize] = true);
    if used.iter().all(|u| *u) {
        return;
    }
    let mut next = 0;
    let number: Vec<u32> = used
        .iter()
        .map(|u| {
            next += u32::from(*u);
            next.saturating_sub(1)
        })
        .collect();
    let renumbered = |v: &Visit| {
        let visit = Visit { round: RoundId(number[v.round.0 as usize]), ..v.clone() };
        (visit, survey.visits.finds_of(v).to_vec())
    };
    let rows = survey.visits.rows().iter().map(renumbered).collect();
    survey.rounds = Arc::new(survey.rounds.iter().zip(&used).filter(|(_, u)| **u).map(|(r, _)| r.clone()).collect());
    survey.visits = Visits::from_rows(survey.premises.len(), rows);
}
