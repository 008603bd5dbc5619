//! Files into a survey: columns matched, outlines mended, visits joined, every row accounted for.
//!
//! [`bring_in`] takes paths and gives a new survey and a [`Report`]; the survey that it was given stays as it was. Of every file
//! each row is either brought in or refused whole with its reason.

mod blocks;
mod cells;
mod choice;
mod columns;
mod error;
mod ground;
mod join;
mod meaning;
mod on_surface;
mod parcels;
mod points;
mod premises;
mod report;
#[cfg(test)]
mod samples;
mod signals;
mod streets;
mod temperatures;
mod text_index;
mod visit_merge;
mod visit_rows;
mod visits;
mod work;

pub use columns::{ColumnMap, ColumnUse, Match, Sureness, guess_columns};
pub use error::IntakeError;
pub use meaning::{Meaning, Role};
pub use report::{FileReport, Finding, Report};

use crate::files::{self, Table};
use crate::job::Watch;
use crate::place::Crs;
use crate::survey::Survey;
use rayon::prelude::*;
use std::path::PathBuf;
use work::Work;

/// The files to bring in, and what is known about them.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The county's parcels.
    pub parcels: Option<PathBuf>,
    /// Street centrelines.
    pub streets: Option<PathBuf>,
    /// Block outlines.
    pub blocks: Option<PathBuf>,
    /// Visits and finds.
    pub visits: Option<PathBuf>,
    /// Cases, trap counts, complaints.
    pub signals: Option<PathBuf>,
    /// Daily temperatures.
    pub temperatures: Option<PathBuf>,
    /// Which column means what, where the names do not say it.
    pub columns: ColumnMap,
    /// The coordinate system of files that name none; of the only file with shapes even where it names another.
    pub crs: Option<Crs>,
}

impl Request {
    /// The path of the file for a role.
    pub fn path(&self, role: Role) -> Option<&PathBuf> {
        match role {
            Role::Parcels => self.parcels.as_ref(),
            Role::Streets => self.streets.as_ref(),
            Role::Blocks => self.blocks.as_ref(),
            Role::Visits => self.visits.as_ref(),
            Role::Signals => self.signals.as_ref(),
            Role::Temperatures => self.temperatures.as_ref(),
        }
    }

    /// Whether there is anything to bring in.
    pub fn is_empty(&self) -> bool {
        Role::ALL.iter().all(|r| self.path(*r).is_none())
    }
}

/// One file that was read, on its way into the survey.
pub(crate) struct Incoming {
    /// What its rows become.
    pub role: Role,
    /// The file's name without its folders.
    pub file: String,
    /// What was read.
    pub table: Table,
}

/// Brings files into a survey, or makes one of them. Gives the survey as it is afterwards and what there is to say about it.
///
/// The same files give the same survey, whatever the order of their rows.
///
/// # Errors
/// [`IntakeError`] when a file cannot be read at all, names no coordinate system, lacks a column that cannot be missing, or has
/// no usable row; when there is no survey and no parcels; when somebody stopped it.
pub fn bring_in(current: Option<&Survey>, request: &Request, watch: &dyn Watch) -> Result<(Survey, Report), IntakeError> {
    if current.is_none() && request.parcels.is_none() {
        return Err(IntakeError::NoParcels);
    }
    let wanted: Vec<(Role, &PathBuf)> = Role::ALL.into_iter().filter_map(|role| Some((role, request.path(role)?))).collect();
    watch.step("reading files", 0, wanted.len() as u64)?;
    let read = |(role, path): (Role, &PathBuf)| -> Result<Incoming, IntakeError> {
        let table = files::read(path, None, watch)?;
        let file = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
        Ok(Incoming { role, file, table })
    };
    let incoming: Vec<Incoming> = wanted.into_par_iter().map(read).collect::<Result<_, _>>()?;
    bring_in_tables(current, incoming, &request.columns, request.crs.as_ref(), watch)
}

/// [`bring_in`], for tables that have been read already; in the order of [`Role::ALL`].
pub(crate) fn bring_in_tables(
    current: Option<&Survey>,
    incoming: Vec<Incoming>,
    columns: &ColumnMap,
    crs: Option<&Crs>,
    watch: &dyn Watch,
) -> Result<(Survey, Report), IntakeError> {
    let mut work = Work::new(current, &incoming, columns, crs, watch);
    for file in incoming {
        work.bring(file)?;
    }
    work.finish()
}
