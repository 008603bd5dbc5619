//! Blocks beside which a change is told: those where nothing was done, or those where something was.

use super::Failure;
use clap::Args;
use std::collections::BTreeSet;
use std::path::Path;
use yardring_core::files;
use yardring_core::job::Watch;
use yardring_core::measure::Beside;
use yardring_core::survey::{BlockId, Survey};

/// Blocks that are named on the command line.
#[derive(Debug, Args)]
pub struct BesideBlocks {
    /// Blocks where nothing was done: ids with commas between them, or a file with a column block_id or one id a line.
    #[arg(long, value_name = "F|LIST")]
    control_blocks: Option<String>,
    /// Blocks that were treated, named in the same way: all other premises are then the control, those without a block too.
    #[arg(long, value_name = "F|LIST", conflicts_with = "control_blocks")]
    treated_blocks: Option<String>,
}

impl BesideBlocks {
    /// What a change is told beside.
    ///
    /// # Errors
    /// [`Failure`] when the survey has no such block, a list of them cannot be read, or no premise lies in the control area.
    pub fn of(&self, survey: &Survey, watch: &dyn Watch) -> Result<Beside, Failure> {
        let beside = match (&self.control_blocks, &self.treated_blocks) {
            (_, Some(text)) => Beside::Treated(blocks(survey, text, watch)?),
            (Some(text), None) => Beside::Control(blocks(survey, text, watch)?),
            (None, None) => return Ok(Beside::Nothing),
        };
        if beside.controls(&survey.premises.block, survey.blocks.len()).contains(&true) {
            return Ok(beside);
        }
        Err(Failure::new("No premise lies in the control area", "Leave some blocks untreated, or name control blocks that have premises"))
    }
}

/// The blocks of a list of ids, or of a file of them.
fn blocks(survey: &Survey, text: &str, watch: &dyn Watch) -> Result<Vec<BlockId>, Failure> {
    let path = Path::new(text);
    let ids: Vec<String> = if path.is_file() { ids_of(path, watch)? } else { text.split(',').map(|t| t.trim().to_owned()).collect() };
    let known = &survey.blocks.block_id;
    let mut out = BTreeSet::new();
    for id in ids.iter().filter(|i| !i.is_empty()) {
        let place = known.iter().position(|k| k == id);
        let place = place.ok_or_else(|| {
            let some = known.iter().take(8).collect::<Vec<_>>().join(", ");
            Failure::new(format!("The survey has no block '{id}'"), format!("Its blocks begin with {some}"))
        })?;
        out.insert(BlockId(place as u32));
    }
    if out.is_empty() {
        return Err(Failure::new(format!("'{text}' names no block"), "Give block ids with commas between them, or a file of them"));
    }
    Ok(out.into_iter().collect())
}

/// Block ids of a table: its column block_id, or else its only column, the header being an id too.
fn ids_of(path: &Path, watch: &dyn Watch) -> Result<Vec<String>, Failure> {
    let table = files::read(path, None, watch)?;
    let column = table.column("block_id");
    let first = column.is_none().then(|| table.columns.first().cloned()).flatten();
    let rows = (0..table.rows).map(|row| table.cell(row, column.unwrap_or(0)).into_owned());
    Ok(first.into_iter().chain(rows).collect())
}
