//! `yardring recover SURVEY`: unsaved changes that a window left behind when it broke off.

use super::{Done, Failure, Output};
use crate::settings;
use crate::ui::words;
use clap::Args;
use serde_json::json;
use std::path::PathBuf;
use std::time::{SystemTime, UNIX_EPOCH};
use yardring_core::store::{self, Found, Parts, Stamp, UnsavedPlace, look_for_unsaved};

/// Says which unsaved changes a window left behind, takes them into the survey, or drops them.
#[derive(Debug, Args)]
pub struct Recover {
    /// The survey.
    survey: PathBuf,
    /// Take them in and save the survey. Where several windows left some behind, a number says whose, the first being the latest.
    #[arg(long, value_name = "N", num_args = 0..=1, default_missing_value = "0", conflicts_with = "leave")]
    take: Option<usize>,
    /// Drop them: all, or those with this number.
    #[arg(long, value_name = "N", num_args = 0..=1, default_missing_value = "0")]
    leave: Option<usize>,
}

impl Recover {
    /// Says, takes or drops.
    ///
    /// # Errors
    /// [`Failure`] when the survey cannot be read, when there is nothing to take, when it was made on another state of the file or cannot be
    /// read, or the survey cannot be saved; then nothing is changed.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let stamp = Stamp::of(&self.survey);
        let survey = store::load(&self.survey, Parts::EVERYTHING, output)?;
        // Where the user has no folder of his own, changes lie beside the survey or nowhere.
        let own = settings::file().and_then(|file| settings::unsaved_beside(&file)).unwrap_or_else(|| PathBuf::from("unsaved"));
        let left = look_for_unsaved(&UnsavedPlace::of_file(&self.survey, &own));
        let found = &left.found;
        let done = match (self.take, self.leave) {
            (Some(which), _) => {
                let wanted = chosen(found, which)?;
                let after = wanted.taken_in(Some(&survey), stamp, output)?;
                store::save_over(&after, &self.survey, stamp, output)?;
                wanted.remove();
                format!("Taken in: {}. {} is saved", words::changes(wanted.words().unwrap_or_default()), self.survey.display())
            }
            (None, Some(0)) => {
                found.iter().for_each(Found::remove);
                format!("Dropped the unsaved changes of {}", words::count(found.len() as u64, "window"))
            }
            (None, Some(which)) => {
                chosen(found, which)?.remove();
                format!("Dropped those with number {which}")
            }
            (None, None) => told(found, stamp, left.elsewhere),
        };
        output.clear_progress();
        output.answer(&done, || {
            let one = |f: &Found| {
                let seconds = f.kept().map(|d| d.as_secs());
                let changes: Option<Vec<_>> =
                    f.words().map(|w| w.iter().map(|(what, times)| json!({"what": what, "times": times})).collect());
                json!({"changes": changes, "kept_unix": seconds, "fits": f.fits(stamp), "last_one_lost": f.is_cut()})
            };
            json!({"found": found.iter().map(one).collect::<Vec<_>>(), "open_elsewhere": left.elsewhere,
                "done": if self.take.is_some() { "taken" } else if self.leave.is_some() { "left" } else { "told" }})
        });
        let waits = self.take.is_none() && self.leave.is_none() && !found.is_empty();
        Ok(if waits { Done::Warned } else { Done::Clean })
    }
}

/// Those with a number, or the only ones.
fn chosen(found: &[Found], which: usize) -> Result<&Found, Failure> {
    match (which, found) {
        (_, []) => Err(Failure::new("no window left unsaved changes of this survey behind", "")),
        (0, [only]) => Ok(only),
        (0, several) => {
            let what = format!("{} windows left unsaved changes of this survey behind", several.len());
            Err(Failure::new(what, "Say whose with a number, the first being the latest: --take 1"))
        }
        (n, all) => all
            .get(n - 1)
            .ok_or_else(|| Failure::new(format!("there is no number {n} among them"), format!("They go from 1 to {}", all.len()))),
    }
}

fn told(found: &[Found], stamp: Stamp, elsewhere: usize) -> String {
    let mut out: Vec<String> = Vec::new();
    for (i, f) in found.iter().enumerate() {
        let ago = f.kept().map_or_else(String::new, |at| format!(", {}", words::ago(UNIX_EPOCH + at, SystemTime::now())));
        let what = f.words().map_or_else(|| "cannot be read; the survey itself is sound".to_owned(), words::changes);
        let other =
            if f.words().is_some() && !f.fits(stamp) { " (made on an older state of the file: they cannot be laid over it)" } else { "" };
        let cut = if f.is_cut() { " (the last of them was being written and is lost)" } else { "" };
        out.push(format!("{}{ago}: {what}{other}{cut}", i + 1));
    }
    match out.is_empty() {
        true => out.push("Nothing unsaved was left behind.".to_owned()),
        false => out.push("Take them in with --take, or drop them with --leave.".to_owned()),
    }
    out.extend((elsewhere > 0).then(|| format!("{} has unsaved changes of it now", words::count(elsewhere as u64, "open window"))));
    out.join("\n")
}
