//! One intake at work: file after file into the survey.

use super::choice;
use super::dates::{Days, days_of};
use super::ground::{self, Extent, Ground, Needed};
use super::join::{Finder, folded_addresses};
use super::parcels::NewPremises;
use super::points::Points;
use super::premises::{Merged, merge};
use super::remembered::FilesSeen;
use super::report::{Account, Report};
use super::settle::{DecidedIds, Decisions, key_in_table, key_of_refused};
use super::signals::{SignalFile, require_columns};
use super::visits::VisitFile;
use super::whereabouts::{Known, named};
use super::{ColumnMap, DateOrder, Incoming, IntakeError, Match, Role};
use super::{blocks, derive, signals, streets, temperatures, visit_merge};
use crate::files::Table;
use crate::job::Watch;
use crate::place::{Crs, Frame};
use crate::survey::{Blocks, PremiseId, RefusedRow, Strings, Survey, Visit, Visits, settings};
use rayon::prelude::*;
use std::collections::HashSet;
use std::sync::Arc;

/// The survey as it grows, and the report about it.
pub(super) struct Work<'a> {
    survey: Option<Survey>,
    report: Report,
    columns: &'a ColumnMap,
    asked: Option<&'a Crs>,
    /// Whether only one file of the call has shapes.
    alone: bool,
    /// Where the files of the call and the survey lie, each with the name of its file.
    known: Vec<(String, Known)>,
    /// The name of every premise's block, once premises or blocks have come in.
    block_names: Option<Strings>,
    /// Rows refused by an earlier intake that came in now: file, table, key.
    no_longer_refused: HashSet<(String, String, String)>,
    /// The round of the file's rows that name none, while some of its visits wait.
    default_round: Option<String>,
    /// The box round nearly all shapes of the file for each role.
    extents: Vec<(Role, Option<Extent>)>,
    /// The order that its dates are in.
    date_order: Option<DateOrder>,
    /// Whether premises, blocks or streets came in.
    ground_changes: bool,
    watch: &'a dyn Watch,
}

impl<'a> Work<'a> {
    pub(super) fn new(
        current: Option<&Survey>,
        incoming: &[Incoming],
        columns: &'a ColumnMap,
        asked: Option<&'a Crs>,
        watch: &'a dyn Watch,
    ) -> Self {
        let alone = incoming.iter().filter(|f| f.table.has_shapes()).count() <= 1;
        let extents: Vec<Option<Extent>> = incoming.par_iter().map(|f| ground::main_extent(&f.table.shapes)).collect();
        let of_file = |(f, extent): (&Incoming, &Option<Extent>)| {
            Some((f.file.clone(), Known::of_numbers(f.table.crs.clone()?, (*extent)?, named(f.role, &f.file))?))
        };
        let of_survey = current.and_then(Known::of_survey).map(|known| (String::new(), known));
        Self {
            survey: current.cloned(),
            report: Report::default(),
            columns,
            asked,
            alone,
            known: incoming.iter().zip(&extents).filter_map(of_file).chain(of_survey).collect(),
            extents: incoming.iter().zip(extents).map(|(f, extent)| (f.role, extent)).collect(),
            block_names: None,
            no_longer_refused: HashSet::new(),
            default_round: None,
            date_order: None,
            ground_changes: false,
            watch,
        }
    }

    /// Brings one file in.
    pub(super) fn bring(&mut self, file: Incoming) -> Result<(), IntakeError> {
        self.watch.step("matching columns", 0, 0)?;
        let Incoming { role, file, mut table } = file;
        // Files are told by their whole name, with the ending.
        table.name.clone_from(&file);
        if self.block_names.is_some() && !matches!(role, Role::Parcels | Role::Blocks) {
            self.assign_blocks();
        }
        let map = self.map_for(&file, role, &table);
        let mut matched = Match::within(&table, role, &map, self.survey.as_ref())?;
        matched.tell_remembered(role, self.columns);
        if matches!(role, Role::Parcels | Role::Blocks | Role::Streets) {
            self.forget_derived_blocks();
        }
        let mut account = Account::new(&file, &table, role, matched.uses());
        match role {
            Role::Parcels => self.parcels(&mut table, &matched, &mut account)?,
            Role::Blocks => self.blocks(&mut table, &matched, &mut account)?,
            Role::Streets => self.streets(&mut table, &matched, &mut account)?,
            Role::Visits => self.visits(&mut table, &matched, &map, &mut account)?,
            Role::Signals => self.signals(&mut table, &matched, &map, &mut account)?,
            Role::Temperatures => self.temperatures(&table, &matched, &map, &mut account)?,
        }
        account.close();
        self.note_what_came_in(&table, &account);
        self.remember(&table, (role, &map, &matched), !account.refused.is_empty());
        self.report.take(account);
        Ok(())
    }

    /// The map given, over the one that was given for an earlier file with the same columns.
    fn map_for(&self, file: &str, role: Role, table: &Table) -> ColumnMap {
        let earlier = self.survey.as_ref().and_then(|s| FilesSeen::of(s).map_for(file, role, &table.columns));
        earlier.unwrap_or_default().under(self.columns)
    }

    fn remember(&mut self, table: &Table, (role, map, matched): (Role, &ColumnMap, &Match), refused: bool) {
        let (round, order) = (self.default_round.take(), self.date_order.take());
        let settles = refused && matches!(role, Role::Visits | Role::Signals);
        if let Some(survey) = self.survey.as_mut().filter(|_| round.is_some() || settles || !map.says_nothing_about(role)) {
            FilesSeen::remember(survey, &table.name, (role, map, &matched.as_map(role)), &table.columns, (round, order));
        }
    }

    /// Notes rows that were refused earlier and came in now.
    fn note_what_came_in(&mut self, table: &Table, account: &Account) {
        let Some(survey) = &self.survey else { return };
        let own = |r: &&RefusedRow| *r.file == *account.report.file && *r.table == *account.report.table;
        let earlier: HashSet<String> = survey.refused.iter().filter(own).map(key_of_refused).collect();
        if earlier.is_empty() {
            return;
        }
        let refused: HashSet<u64> = account.refused.iter().map(|r| r.row).collect();
        for row in (0..table.rows).filter(|row| !refused.contains(&(*row as u64 + 1))) {
            let key = key_in_table(table, row);
            if earlier.contains(&key) {
                self.no_longer_refused.insert((account.report.file.clone(), account.report.table.to_owned(), key));
            }
        }
    }

    /// The survey and the report.
    pub(super) fn finish(mut self) -> Result<(Survey, Report), IntakeError> {
        self.watch.step("giving premises their blocks", 0, 0)?;
        self.assign_blocks();
        self.derive_blocks()?;
        // Whoever stops now still finds the survey as it was.
        self.watch.step("closing the books", 0, 0)?;
        let mut survey = self.survey.ok_or(IntakeError::NoParcels)?;
        // A row that is refused again, or came in now, is no longer what it was.
        let fresh = &self.report.refused_list;
        let told_anew: HashSet<_> = fresh.iter().map(|r| (r.file.to_string(), r.table.to_string(), key_of_refused(r))).collect();
        let stays = |r: &&RefusedRow| {
            let key = (r.file.to_string(), r.table.to_string(), key_of_refused(r));
            !told_anew.contains(&key) && !self.no_longer_refused.contains(&key)
        };
        if !fresh.is_empty() || !self.no_longer_refused.is_empty() {
            survey.refused = Arc::new(survey.refused.iter().filter(stays).chain(fresh).cloned().collect());
        }
        let log = survey.intake_log.iter().cloned().chain(self.report.log_entries()).collect();
        survey.intake_log = Arc::new(log);
        Ok((survey, self.report))
    }

    fn survey(&mut self) -> Result<&mut Survey, IntakeError> {
        self.survey.as_mut().ok_or(IntakeError::NoParcels)
    }

    /// The box round nearly all shapes of the file for a role; none where it has no shapes.
    fn extent(&self, role: Role) -> Option<Extent> {
        self.extents.iter().find(|(r, _)| *r == role).and_then(|(_, extent)| *extent)
    }

    /// The system of a file's numbers, once it is not absurd; none for a file without shapes.
    fn crs(&self, role: Role, table: &Table, account: &mut Account) -> Result<Option<Crs>, IntakeError> {
        if !table.has_shapes() {
            return Ok(None);
        }
        let others: Vec<Known> = self.known.iter().filter(|(file, _)| *file != table.name).map(|k| k.1.clone()).collect();
        let chosen = choice::choose(table, self.asked, self.alone, &others, account)?;
        choice::check_place(&table.name, self.extent(role), &chosen, (&others, account))?;
        Ok(Some(chosen.crs))
    }

    /// The shapes of a file in the survey's frame.
    fn ground(&mut self, role: Role, table: &mut Table, account: &mut Account) -> Result<Ground, IntakeError> {
        let needed = match role {
            Role::Parcels | Role::Blocks => Needed::Outline,
            Role::Streets => Needed::Line,
            Role::Visits | Role::Signals | Role::Temperatures => Needed::Place,
        };
        let crs = self.crs(role, table, account)?;
        self.ground_in(crs.as_ref(), table, needed)
    }

    /// The same, where the system is known.
    fn ground_in(&mut self, crs: Option<&Crs>, table: &mut Table, needed: Needed) -> Result<Ground, IntakeError> {
        let Some(crs) = crs else { return Ok(Ground::nothing(table.rows)) };
        let frame = self.survey()?.frame;
        Ground::lay(table, crs, &frame, needed, self.watch)
    }

    fn parcels(&mut self, table: &mut Table, matched: &Match, account: &mut Account) -> Result<(), IntakeError> {
        if self.survey.is_none() && table.shapes.extent().is_none() {
            return Err(no_district(table, "no row has an outline"));
        }
        let crs = self.crs(Role::Parcels, table, account)?;
        if let (None, Some(crs)) = (&self.survey, &crs) {
            self.survey = Some(Survey::empty(new_frame(table, self.extent(Role::Parcels), crs)?));
        }
        self.watch.step("looking where they lie", 0, 0)?;
        let ground = self.ground_in(crs.as_ref(), table, Needed::Outline)?;
        self.watch.step("sorting premises", 0, 0)?;
        let survey = self.survey.as_mut().ok_or(IntakeError::NoParcels)?;
        if let Some(definition) = crs.as_ref().and_then(Crs::definition) {
            Arc::make_mut(&mut survey.settings).insert(settings::COUNTY_CRS.into(), definition.into());
        }
        let mut new = NewPremises::from_rows(table, matched, ground, survey.premises.len() + 1, account, self.watch)?;
        self.watch.step("counting premises", 0, 0)?;
        new.count(table.rows, &mut self.report, account);
        new.unite(&DecidedIds::of(survey), account);
        let there = (&survey.premises, &survey.visits, &survey.blocks);
        let Merged { premises, block_name, moved, vintage } = merge(there, &new, account, self.watch)?;
        self.report.vintage = vintage;
        survey.visits = moved_visits(&survey.visits, premises.len(), &moved);
        survey.premises = premises;
        self.block_names = Some(block_name);
        Ok(())
    }

    fn blocks(&mut self, table: &mut Table, matched: &Match, account: &mut Account) -> Result<(), IntakeError> {
        let ground = self.ground(Role::Blocks, table, account)?;
        ground.tell(account);
        let survey = self.survey.as_mut().ok_or(IntakeError::NoParcels)?;
        if self.block_names.is_none() {
            let name = |b: &Option<crate::survey::BlockId>| b.map_or("", |b| survey.blocks.block_id.get(b.row()));
            self.block_names = Some(survey.premises.block.iter().map(name).collect());
        }
        survey.blocks = blocks::bring(&survey.blocks, table, matched, &ground, account);
        self.report.blocks = table.rows - account.refused.len();
        Ok(())
    }

    /// Gives every premise its block, once premises and blocks are all there.
    fn assign_blocks(&mut self) {
        if let (Some(names), Some(survey)) = (self.block_names.take(), self.survey.as_mut()) {
            let (blocks, of_premise) = blocks::assign(&survey.blocks, &names, &survey.premises.outline);
            survey.blocks = blocks;
            survey.premises.block = Arc::new(of_premise);
        }
    }

    /// Blocks that were made from the premises go when the ground changes: they are made anew, or files give them now.
    fn forget_derived_blocks(&mut self) {
        self.ground_changes = true;
        if let Some(survey) = self.survey.as_mut().filter(|s| s.settings.contains_key(settings::DERIVED_BLOCKS)) {
            Arc::make_mut(&mut survey.settings).remove(settings::DERIVED_BLOCKS);
            survey.blocks = Blocks::default();
            survey.premises.block = Arc::new(vec![None; survey.premises.len()]);
        }
    }

    /// Makes blocks from the premises when neither a column nor a file gives any.
    fn derive_blocks(&mut self) -> Result<(), IntakeError> {
        let Some(survey) = self.survey.as_mut().filter(|s| self.ground_changes && s.blocks.is_empty()) else { return Ok(()) };
        let Some(derived) = derive::blocks(&survey.premises.outline, &survey.streets, self.watch)? else { return Ok(()) };
        self.report.derived_blocks = derived.blocks.len();
        survey.blocks = derived.blocks;
        survey.premises.block = Arc::new(derived.of_premise);
        Arc::make_mut(&mut survey.settings).insert(settings::DERIVED_BLOCKS.into(), derived.how.into());
        self.report.find(&[Role::Parcels, Role::Streets], derived.words);
        Ok(())
    }

    fn streets(&mut self, table: &mut Table, matched: &Match, account: &mut Account) -> Result<(), IntakeError> {
        let ground = self.ground(Role::Streets, table, account)?;
        ground.tell(account);
        let survey = self.survey()?;
        survey.streets = streets::bring(&survey.streets, table, matched, &ground, account)?;
        self.report.streets = table.rows - account.refused.len();
        Ok(())
    }

    fn visits(&mut self, table: &mut Table, matched: &Match, map: &ColumnMap, account: &mut Account) -> Result<(), IntakeError> {
        let ground = self.ground(Role::Visits, table, account)?;
        let watch = self.watch;
        let survey = self.survey.as_mut().ok_or(IntakeError::NoParcels)?;
        let frame = survey.frame;
        let points = Points::new(table, matched, &ground, &frame);
        watch.step("reading visits", 0, table.rows as u64)?;
        let file = VisitFile::read(table, matched, &points, map, account)?;
        watch.step("joining visits", 0, 0)?;
        let premises = survey.premises.clone();
        let folded = folded_addresses(&premises);
        let streets = survey.streets.clone();
        let finder = Finder::new(&premises, &folded).along(&streets);
        let joined = file.join((&finder, &premises, &Decisions::of(survey)), |_| true, (account, watch))?;
        watch.step("adding visits", 0, 0)?;
        let joined = visit_merge::without_taken_away(survey, &file, joined, account);
        joined.count(&mut self.report);
        if let Days::In(order) = file.columns.days() {
            self.date_order = *order;
        }
        let round = visit_merge::default_round(&joined);
        self.default_round = round.clone().filter(|_| !joined.unjoined.is_empty());
        file.tell(&joined, account);
        visit_merge::add(survey, &file, joined, round, &mut self.report, account);
        Ok(())
    }

    fn signals(&mut self, table: &mut Table, matched: &Match, map: &ColumnMap, account: &mut Account) -> Result<(), IntakeError> {
        let ground = self.ground(Role::Signals, table, account)?;
        let survey = self.survey.as_mut().ok_or(IntakeError::NoParcels)?;
        require_columns(table, matched)?;
        let days = days_of(table, Role::Signals, matched, map.date_order(Role::Signals), account)?;
        if let Days::In(order) = &days {
            self.date_order = *order;
        }
        self.watch.step("placing signals", 0, table.rows as u64)?;
        let points = Points::new(table, matched, &ground, &survey.frame);
        let folded = folded_addresses(&survey.premises);
        let finder = Finder::new(&survey.premises, &folded).along(&survey.streets);
        let (premises, decisions) = (&survey.premises, Decisions::of(survey));
        let file =
            SignalFile { table, matched, points: &points, finder: &finder, premises, days, words: map.words(), decisions: &decisions };
        let (all, kept) = signals::bring(&survey.signals, &file, account);
        survey.signals = Arc::new(all);
        self.report.signals = kept;
        Ok(())
    }

    fn temperatures(&mut self, table: &Table, matched: &Match, map: &ColumnMap, account: &mut Account) -> Result<(), IntakeError> {
        self.watch.step("reading temperatures", 0, table.rows as u64)?;
        let survey = self.survey()?;
        let said = map.date_order(Role::Temperatures);
        let before = (&**survey.temperatures, survey.frame.centre().lat);
        let (all, kept) = temperatures::bring(before, table, matched, said, account)?;
        survey.temperatures = Arc::new(all);
        self.report.temperatures = kept;
        Ok(())
    }
}

/// The frame of a new survey round its parcels.
fn new_frame(table: &Table, extent: Option<Extent>, crs: &Crs) -> Result<Frame, IntakeError> {
    let outside = || no_district(table, "its coordinates lie outside what its coordinate system covers");
    ground::frame_over(&table.name, extent, crs)?.ok_or_else(outside)
}

/// Parcels that no survey can begin with.
fn no_district(table: &Table, reason: &str) -> IntakeError {
    IntakeError::NothingUsable { file: table.name.clone(), role: Role::Parcels, rows: table.rows, reason: reason.to_owned() }
}

/// Visits of premises that have got new numbers.
pub(super) fn moved_visits(old: &Visits, premises: usize, moved: &[u32]) -> Visits {
    let carried = |v: &Visit| (Visit { premise: PremiseId(moved[v.premise.row()]), ..v.clone() }, old.finds_of(v).to_vec());
    Visits::from_rows(premises, old.rows().iter().map(carried).collect())
}
