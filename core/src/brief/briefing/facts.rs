//! What a briefing says, before it is laid out: figures, sentences, tables.

use super::BriefingRequest;
use crate::brief::words::{beside_words, days, grouped, many, short, with_interval};
use crate::foresee::{Species, callbacks};
use crate::job::{Cancelled, Watch};
use crate::measure::{
    Access, Beside, Counts, FALSE_SHARE, Heat, Intervals, KEY_SHARE, KeyContainers, MadeOf, Neighbours, Programmes, SEED, access, by_block,
    change_between, district, in_order, key_containers, round_before, spots,
};
use crate::reach::{self, Covered, DOORS_A_DAY};
use crate::survey::calendar::day_words;
use crate::survey::{Action, BlockId, RoundId, Standing, Survey, standings};
use jiff::ToSpan as _;
use jiff::civil::Date;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Days from today that are looked ahead: the next 48 hours.
const AHEAD: i64 = 2;
/// Blocks that are named in a sentence, and blocks and kinds that have a row.
const NAMED: usize = 6;
const BLOCKS: usize = 16;
const KINDS: usize = 8;

/// A measure, its value with its interval, and what it was counted in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Figure {
    /// What was measured.
    pub what: &'static str,
    /// The value in words: "12 % (10–14)".
    pub value: String,
    /// Of how many.
    pub of: String,
}

/// A few sentences under a heading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Point {
    /// What they are about.
    pub heading: &'static str,
    /// The sentences.
    pub says: String,
}

/// A block's row, the worst first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BlockRow {
    /// Its id.
    pub name: String,
    /// Yards, yards inspected, house index, Breteau index, and whether it stands out.
    pub cells: [String; 5],
}

/// A value with its ends, to be drawn: per cent.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bar {
    /// What it is of.
    pub name: String,
    /// The value.
    pub value: f64,
    /// Its 95 % interval.
    pub ends: Option<(f64, f64)>,
    /// The value in words.
    pub words: String,
}

/// The water of containers that were treated.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct TreatedWater {
    /// Litres, where somebody wrote them down.
    pub litres: f64,
    /// In how many containers.
    pub containers: u64,
    /// Containers more of which nobody did.
    pub not_measured: u64,
}

/// Everything that a briefing says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Facts {
    /// The district's name.
    pub district: String,
    /// The round's name.
    pub round: String,
    /// Its days, and the day that the briefing is of.
    pub under: String,
    /// The day that it is of.
    #[serde(serialize_with = "as_iso")]
    pub on: Date,
    /// The measures.
    pub figures: Vec<Figure>,
    /// What was done, each with how many containers.
    pub done: Vec<(&'static str, u64)>,
    /// The water that was treated; `None` where none was.
    pub treated_water: Option<TreatedWater>,
    /// What follows from it.
    pub points: Vec<Point>,
    /// The blocks with the highest house index.
    pub blocks: Vec<BlockRow>,
    /// How many blocks were inspected in all.
    pub blocks_seen: usize,
    /// The house index in every round, oldest first.
    pub course: Vec<Bar>,
    /// The kinds that make most, and what they make.
    pub kinds: Vec<Bar>,
    /// What the kinds make: "pupae".
    pub made_of: &'static str,
    /// Whether anything was treated or stocked with fish.
    pub treated: bool,
}

fn as_iso<S: serde::Serializer>(day: &Date, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_str(&day.to_string())
}

/// The round as the sentences need it.
struct Told<'a> {
    survey: &'a Survey,
    standings: &'a [Standing],
    round: RoundId,
    on: Date,
    counts: Counts,
    access: Access,
}

impl Facts {
    /// Works out what a briefing of a round says.
    ///
    /// # Errors
    /// [`Cancelled`] when somebody asked to stop.
    pub fn of(survey: &Survey, round: RoundId, request: &BriefingRequest, watch: &dyn Watch) -> Result<Self, Cancelled> {
        watch.step("measuring", 0, 0)?;
        let standings = standings(survey, round);
        let shown = &survey.rounds[round.row()];
        let on = request.on.or_else(|| shown.last.tomorrow().ok()).unwrap_or(shown.last);
        let access = access(survey, round, &standings, 1, |_| Some(0))[0];
        let told = Told { survey, standings: &standings, round, on, counts: district(&standings), access };
        let key = key_containers(survey, &standings, KEY_SHARE, SEED, watch)?;
        let (blocks, blocks_seen, hot) = told.blocks();
        let done = told.done();
        let treated = told.actions().any(|a| matches!(a, Action::Treated | Action::Fish));
        let points = [
            told.changed(&request.beside, watch)?,
            Some(hot),
            told.made_by(&key),
            Some(told.not_seen(request, watch)?),
            told.shut(),
            Some(told.due(request.species)),
            told.effort(),
        ];
        Ok(Self {
            district: request.district.clone(),
            round: shown.name.to_string(),
            under: format!("{}, as of {}", days(shown.first, shown.last), day_words(on)),
            on,
            figures: told.figures(),
            done,
            treated_water: told.treated_water(),
            points: points.into_iter().flatten().collect(),
            blocks,
            blocks_seen,
            course: told.course(),
            kinds: told.kinds(&key),
            made_of: made_of(key.made_of),
            treated,
        })
    }
}

impl Facts {
    /// What was done in a few sentences: containers by what became of them, and how much water was treated.
    pub fn done_words(&self) -> String {
        if self.done.is_empty() {
            return "Nothing is written down.".to_owned();
        }
        let all: Vec<String> = self.done.iter().map(|(what, n)| format!("{what} {}", grouped(*n))).collect();
        let mut out = format!("Containers: {}.", all.join(", "));
        if let Some(water) = self.treated_water.filter(|w| w.containers > 0) {
            let litres = if water.litres < 9.95 { short(water.litres) } else { grouped(water.litres.round() as u64) };
            out.push_str(&format!(" Water treated: {litres} litres in {}.", many(water.containers, "container")));
        }
        match self.treated_water.map_or(0, |w| w.not_measured) {
            0 => {}
            n => out.push_str(&format!(" The water of {} that were treated is not written down.", many(n, "container"))),
        }
        out
    }
}

impl Told<'_> {
    fn figures(&self) -> Vec<Figure> {
        let (c, a, sure) = (&self.counts, &self.access, Intervals::of_district(self.standings));
        let inspected = many(c.inspected, "inspected yard");
        let band = Programmes::of(self.survey).of_house_index().and_then(|s| Some(format!("{}: {}", s.name, s.said(c)?)));
        let share = |v: Option<f64>| v.map_or_else(|| "none".to_owned(), |v| format!("{:.0} %", 100.0 * v));
        let mut out = vec![
            Figure {
                what: "Yards inspected",
                value: grouped(c.inspected),
                of: format!("{} of {}", share(c.coverage()), many(c.premises, "yard")),
            },
            Figure {
                what: "House index",
                value: with_interval(c.house_index(), sure.house, " %"),
                of: format!("{} of {inspected}", grouped(c.positive_premises)),
            },
        ];
        out.extend(band.map(|of| Figure { what: "", value: String::new(), of }));
        out.push(Figure {
            what: "Container index",
            value: c.container_index().map_or_else(|| "no water seen".to_owned(), |v| with_interval(Some(v), sure.container, " %")),
            of: format!("{} of {} with water", grouped(c.positive_containers), many(c.wet_containers, "container")),
        });
        out.push(Figure {
            what: "Breteau index",
            value: with_interval(c.breteau_index(), sure.breteau, ""),
            of: "positive containers to 100 inspected yards".to_owned(),
        });
        let pupae = c.pupae_per_premise().map_or_else(|| "not seen".to_owned(), |v| format!("{v:.2}"));
        out.push(Figure {
            what: "Pupae a yard",
            value: pupae,
            of: format!("{} {} in {inspected}", grouped(c.pupae), if c.pupae == 1 { "pupa" } else { "pupae" }),
        });
        out.push(Figure {
            what: "Dealt with",
            value: a.dealt_with_rate().map_or_else(|| "none".to_owned(), |v| format!("{v:.0} %")),
            of: format!("{} of {} with larvae or pupae", grouped(a.dealt_with), many(a.positive_containers, "container")),
        });
        out
    }

    /// What was done with the round's finds.
    fn actions(&self) -> impl Iterator<Item = Action> + '_ {
        self.finds().filter_map(|f| f.action)
    }

    fn finds(&self) -> impl Iterator<Item = &crate::survey::Find> {
        let visits = &self.survey.visits;
        visits.rows().iter().filter(|v| v.round == self.round).flat_map(|v| visits.finds_of(v))
    }

    fn done(&self) -> Vec<(&'static str, u64)> {
        let mut times: BTreeMap<Action, u64> = BTreeMap::new();
        for find in self.finds() {
            if let Some(action) = find.action {
                *times.entry(action).or_default() += u64::from(find.count);
            }
        }
        times.into_iter().map(|(action, n)| (action.word(), n)).collect()
    }

    /// How much water was treated in the containers of the round.
    fn treated_water(&self) -> Option<TreatedWater> {
        let treated = self.finds().filter(|f| f.action == Some(Action::Treated));
        treated.fold(None, |sum: Option<TreatedWater>, f| {
            let (sum, n) = (sum.unwrap_or_default(), u64::from(f.count));
            Some(match f.litres {
                Some(litres) => TreatedWater { litres: sum.litres + f64::from(litres), containers: sum.containers + n, ..sum },
                None => TreatedWater { not_measured: sum.not_measured + n, ..sum },
            })
        })
    }

    /// The house index beside that of the round before, and beside a control area where there is one.
    fn changed(&self, beside: &Beside, watch: &dyn Watch) -> Result<Option<Point>, Cancelled> {
        let Some(before) = round_before(self.survey, self.round) else { return Ok(None) };
        let change = change_between(self.survey, (before, self.round), beside, watch)?;
        let found = &change.worked;
        let than_control = match &change.control {
            Some(_) => format!("Beside the control area: {}.", beside_words(&change, &change.reductions[0])),
            None => "Rain and season work too: only a control area tells what the crews did.".to_owned(),
        };
        let name = &self.survey.rounds[before.row()].name;
        let both = found.paired.premises();
        let says = match found.same_yards.or(found.all_yards) {
            Some(change) => {
                let way = if change.difference < 0.0 { "fell" } else { "rose" };
                let (low, high) = (change.interval.low, change.interval.high);
                let sure = if low <= 0.0 && high >= 0.0 { "; no change at all would look like this too" } else { "" };
                let among = if found.same_yards.is_some() {
                    format!("{} seen both times", many(both, "yard"))
                } else {
                    "all yards seen".to_owned()
                };
                format!(
                    "Since {name} the house index {way} by {:.1} points ({low:+.1} to {high:+.1}) among {among}{sure}. {than_control}",
                    change.difference.abs()
                )
            }
            None => format!("Too few yards were seen in {name} and now to tell a change."),
        };
        Ok(Some(Point { heading: "Change", says }))
    }

    /// The worst blocks, how many were inspected, and which stand out.
    fn blocks(&self) -> (Vec<BlockRow>, usize, Point) {
        let groups = by_block(self.survey, self.standings);
        let (spots, sure) = (spots(self.survey, &groups), Intervals::by_block(self.survey, self.standings, &groups));
        let name = |b: BlockId| self.survey.blocks.block_id.get(b.row()).to_owned();
        let mut seen: Vec<usize> = (0..groups.len()).filter(|&i| groups[i].0.is_some() && groups[i].1.inspected > 0).collect();
        let worst = |i: &usize| groups[*i].1.house_index().unwrap_or_default();
        seen.sort_by(|a, b| worst(b).total_cmp(&worst(a)).then(groups[*b].1.inspected.cmp(&groups[*a].1.inspected)).then(a.cmp(b)));
        let row = |&i: &usize| {
            let (block, c) = &groups[i];
            let heat = spots[i].heat.filter(|h| *h != Heat::Neither).map_or("", Heat::word);
            let cells = [
                grouped(c.premises),
                grouped(c.inspected),
                with_interval(c.house_index(), sure[i].house, " %"),
                with_interval(c.breteau_index(), sure[i].breteau, ""),
                heat.to_owned(),
            ];
            BlockRow { name: block.map(name).unwrap_or_default(), cells }
        };
        let rows = seen.iter().take(BLOCKS).map(row).collect();
        let hot: Vec<String> = seen.iter().filter(|&&i| spots[i].heat == Some(Heat::Hot)).filter_map(|&i| groups[i].0.map(name)).collect();
        let more = hot.len().saturating_sub(NAMED);
        let some = hot.iter().take(NAMED).map(String::as_str).collect::<Vec<_>>().join(", ");
        let says = match (hot.len(), more) {
            (0, _) => "No block is worse than the rest beyond chance, its neighbours counted with it.".to_owned(),
            (1, _) => format!("Block {some} and its neighbours are worse than the rest beyond chance."),
            (_, 0) => format!("Blocks {some} and their neighbours are worse than the rest beyond chance."),
            _ => format!("Blocks {some} and {more} more, with their neighbours, are worse than the rest beyond chance."),
        };
        let near = Neighbours::of(self.survey).words();
        let says = format!("{says} Of blocks so named at most {:.0} % are by chance; neighbours: {near}.", 100.0 * FALSE_SHARE);
        (rows, seen.len(), Point { heading: "Where", says })
    }

    /// Which kinds of container make most.
    fn made_by(&self, key: &KeyContainers) -> Option<Point> {
        let mut keys: Vec<_> = key.kinds.iter().filter(|k| k.1.key).collect();
        keys.sort_by(|a, b| b.1.contribution.unwrap_or_default().total_cmp(&a.1.contribution.unwrap_or_default()).then(a.0.cmp(&b.0)));
        let names: Vec<&str> = keys.iter().map(|k| self.survey.kind_name(k.0)).collect();
        let all = key.kinds.len();
        let what = made_of(key.made_of);
        let says = format!(
            "{} of {all} kinds of container make {:.0} % of the {what}: {}.",
            names.len(),
            100.0 * KEY_SHARE,
            names.iter().take(KINDS).copied().collect::<Vec<_>>().join(", ")
        );
        (!names.is_empty()).then_some(Point { heading: "What makes them", says })
    }

    /// How much of the reach was seen, and what is left of it.
    fn not_seen(&self, request: &BriefingRequest, watch: &dyn Watch) -> Result<Point, Cancelled> {
        let wanted = &request.reach();
        let sources = reach::sources(self.survey, self.standings, wanted);
        let gaps = reach::gaps(self.survey, self.standings, &sources, wanted, watch)?;
        let covered: Covered = reach::coverage(self.survey, self.standings, &sources, wanted, Some(gaps.len()), watch)?;
        let share = covered.share().map_or_else(String::new, |s| format!(" ({:.0} % of the ground was seen)", 100.0 * s));
        let fences = gaps.iter().filter(|g| g.shares_fence).count() as u64;
        let says = format!(
            "{} within {} of {} not been seen{share}; {} a fence with one. At {} doors a day that is {} of one person, a programme's convention.",
            many(gaps.len() as u64, "yard"),
            wanted.radius,
            if gaps.len() == 1 { "what was found has" } else { "what was found have" },
            if fences == 1 { "1 shares".to_owned() } else { format!("{} share", grouped(fences)) },
            DOORS_A_DAY,
            many(covered.days_left(DOORS_A_DAY).ceil() as u64, "day"),
        );
        Ok(Point { heading: "Not seen yet", says })
    }

    /// Doors that did not open.
    fn shut(&self) -> Option<Point> {
        let a = &self.access;
        let says = format!(
            "Of {} tried {} stayed shut, {} refused, {} not safe; {} were won at a later visit.",
            many(a.tried, "yard"),
            grouped(a.closed),
            grouped(a.refused),
            if a.not_safe == 1 { "1 was".to_owned() } else { format!("{} were", grouped(a.not_safe)) },
            grouped(a.won_later)
        );
        (a.tried > 0).then_some(Point { heading: "No access", says })
    }

    /// Visits that are due now and soon.
    fn due(&self, species: Species) -> Point {
        let all = callbacks(self.survey, self.standings, self.on, species);
        let overdue = all.iter().filter(|c| c.days_left < 0).count() as u64;
        let soon = all.iter().filter(|c| (0..=AHEAD).contains(&c.days_left)).count() as u64;
        let until = self.on.checked_add(AHEAD.days()).map_or_else(|_| String::new(), day_words);
        let flies = all.iter().filter(|c| (0..=AHEAD).contains(&c.days_left) && c.last_safe_day.is_some()).count() as u64;
        let are = |n: u64, one: &str, more: &str| if n == 1 { format!("1 {one}") } else { format!("{} {more}", grouped(n)) };
        let flying = match flies {
            0 => "Nothing that was left standing is on its last safe day by then.".to_owned(),
            n => format!("{} of these must be made by then, before what was left can fly.", grouped(n)),
        };
        let says = format!(
            "On {} {} overdue, and {} by {until}. {flying}",
            day_words(self.on),
            are(overdue, "visit is", "visits are"),
            are(soon, "more falls due", "more fall due"),
        );
        Point { heading: "The next 48 hours", says }
    }

    /// Crew days that the round took.
    fn effort(&self) -> Option<Point> {
        let visits = self.survey.visits.rows().iter().filter(|v| v.round == self.round);
        let (days, doors): (BTreeSet<(Date, &str)>, u64) = visits.fold((BTreeSet::new(), 0), |(mut days, n), v| {
            days.insert((v.when.day, &*v.crew));
            (days, n + 1)
        });
        let named = days.iter().any(|d| !d.1.is_empty());
        let a_day = doors as f64 / days.len().max(1) as f64;
        let says = format!("The round took {}, {} visits each.", many(days.len() as u64, "crew day"), short(a_day));
        named.then_some(Point { heading: "Effort", says })
    }

    /// The house index of every round up to this one.
    fn course(&self) -> Vec<Bar> {
        let order = in_order(self.survey);
        let upto = order.iter().position(|r| *r == self.round).map_or(0, |p| p + 1);
        let one = |round: &RoundId| {
            let standings = if *round == self.round { self.standings.to_vec() } else { standings(self.survey, *round) };
            let (counts, sure) = (district(&standings), Intervals::of_district(&standings));
            let value = counts.house_index()?;
            let words = format!("{}, {}", with_interval(Some(value), sure.house, " %"), many(counts.inspected, "yard"));
            let name = self.survey.rounds[round.row()].name.to_string();
            Some(Bar { name, value, ends: sure.house.map(|i| (i.low, i.high)), words })
        };
        order[..upto].iter().rev().take(KINDS).rev().filter_map(one).collect()
    }

    /// The kinds that make most.
    fn kinds(&self, key: &KeyContainers) -> Vec<Bar> {
        let mut out: Vec<Bar> = key
            .kinds
            .iter()
            .filter_map(|(kind, share)| {
                let value = 100.0 * share.contribution.filter(|c| *c > 0.0)?;
                let ends = share.contribution_interval.map(crate::measure::Interval::per_hundred);
                let words = with_interval(Some(value), ends, " %");
                Some(Bar { name: self.survey.kind_name(*kind).to_owned(), value, ends: ends.map(|i| (i.low, i.high)), words })
            })
            .collect();
        out.sort_by(|a, b| b.value.total_cmp(&a.value).then_with(|| a.name.cmp(&b.name)));
        out.truncate(KINDS);
        out
    }
}

/// What the kinds make, in a word or two.
fn made_of(of: MadeOf) -> &'static str {
    match of {
        MadeOf::Pupae => "pupae",
        MadeOf::PositiveContainers => "positive containers",
    }
}
