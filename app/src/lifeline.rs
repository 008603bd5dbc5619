//! What outlives a window whose graphics card stopped: the survey that was open, so that nothing is lost and another window,
//! drawn by the processor, can go on with it.

use crate::map::Card;
use crate::session::Open;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use yardring_core::job::Unwatched;
use yardring_core::store;
use yardring_core::survey::Survey;

/// Held by the window and by whoever opened it. Cheap to clone; all clones are one.
#[derive(Clone, Debug, Default)]
pub struct Lifeline(Arc<Mutex<Held>>);

#[derive(Debug, Default)]
struct Held {
    card: Option<Card>,
    stopped: bool,
    open: Option<Kept>,
}

#[derive(Clone, Debug)]
struct Kept {
    survey: Arc<Survey>,
    path: Option<PathBuf>,
    unsaved: bool,
}

/// How the next window goes on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GoOn {
    /// The survey to open again, or none.
    pub survey: Option<PathBuf>,
    /// What happened, for people.
    pub words: String,
}

impl Lifeline {
    fn held(&self) -> MutexGuard<'_, Held> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Notes what draws the window.
    pub fn drawn_by(&self, card: Option<&Card>) {
        self.held().card = card.cloned();
    }

    /// Notes the survey that is open now.
    pub fn hold(&self, open: Option<&Open>) {
        let kept = |o: &Open| Kept { survey: Arc::clone(&o.survey), path: o.path.clone(), unsaved: o.unsaved() };
        let mut held = self.held();
        let same = |k: &Kept, o: &Open| Arc::ptr_eq(&k.survey, &o.survey) && k.path == o.path && k.unsaved == o.unsaved();
        if !held.open.as_ref().zip(open).is_some_and(|(k, o)| same(k, o)) {
            held.open = open.map(kept);
        }
    }

    /// Says that nothing can be drawn any more.
    pub fn cut(&self) {
        self.held().stopped = true;
    }

    /// Whether the window closed, or broke off, because the card stopped.
    pub fn is_cut(&self) -> bool {
        let held = self.held();
        held.stopped || held.card.as_ref().is_some_and(Card::is_lost)
    }

    /// How to go on once the window is gone; `None` where the card did not stop. What was not saved is written beside the
    /// survey's file, or among the system's passing files where it had none; that may take long.
    pub fn go_on(&self) -> Option<GoOn> {
        if !self.is_cut() {
            return None;
        }
        let kept = std::mem::take(&mut *self.held()).open;
        let slower = "The graphics card stopped. The processor draws the window now, which is slower";
        let Some(kept) = kept else { return Some(GoOn { survey: None, words: format!("{slower}.") }) };
        if !kept.unsaved {
            return Some(GoOn { survey: kept.path, words: format!("{slower}; everything was saved.") });
        }
        let path = beside(kept.path.as_deref());
        Some(match store::save(&kept.survey, &path, &Unwatched) {
            Ok(()) => {
                GoOn { words: format!("{slower}. What was not saved is in {}, which is open now.", path.display()), survey: Some(path) }
            }
            Err(error) => GoOn { survey: kept.path, words: format!("{slower}. What was not saved is lost: {error}") },
        })
    }
}

/// A name that no file has yet, beside a survey's file.
fn beside(file: Option<&Path>) -> PathBuf {
    let file = file.map_or_else(|| std::env::temp_dir().join("survey.gpkg"), Path::to_owned);
    let stem = file.file_stem().map_or_else(|| "survey".into(), |s| s.to_string_lossy().into_owned());
    let names = std::iter::once(format!("{stem} rescued.gpkg")).chain((2..).map(|k| format!("{stem} rescued {k}.gpkg")));
    names.map(|name| file.with_file_name(name)).find(|path| !path.exists()).unwrap_or(file)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_a_loss_there_is_nothing_to_go_on_with() {
        assert_eq!(Lifeline::default().go_on(), None);
        let cut = Lifeline::default();
        cut.cut();
        let go_on = cut.go_on().unwrap();
        assert!(go_on.survey.is_none() && go_on.words.contains("slower"));
    }

    #[test]
    fn an_earlier_rescue_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        assert_eq!(beside(Some(&at("July.gpkg"))), at("July rescued.gpkg"));
        std::fs::write(at("July rescued.gpkg"), "").unwrap();
        assert_eq!(beside(Some(&at("July.gpkg"))), at("July rescued 2.gpkg"));
    }
}
