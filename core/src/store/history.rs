//! What was changed since the survey was opened, for undo and redo.

use super::edit::{Edit, EditError, apply};
use crate::survey::Survey;

/// The changes made to a survey, and those taken back.
///
/// ```
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::store::{Edit, History};
/// use yardring_core::survey::Survey;
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }));
/// let mut history = History::default();
/// history.perform(&mut survey, Edit::rename("Quillmere"))?;
/// assert_eq!((history.undo_words().as_deref(), history.unsaved()), (Some("Rename the survey"), true));
/// assert_eq!(history.unsaved_words(), [("Rename the survey".to_owned(), 1)]);
/// history.undo(&mut survey)?;
/// assert!(survey.settings.is_empty() && !history.unsaved());
/// # Ok::<(), yardring_core::store::EditError>(())
/// ```
#[derive(Debug, Default)]
pub struct History {
    /// What undoes each change, the latest last.
    done: Vec<Edit>,
    /// What does again each change that was undone, the latest undone last.
    undone: Vec<Edit>,
    /// Which of the states that undo and redo lead through the survey's file holds.
    saved: Saved,
    /// What was done to the survey, taking back and doing again too, since somebody asked for it last.
    steps: Vec<Step>,
}

/// One thing done to a survey, for whoever keeps what is not saved.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// A small change: itself.
    Small(Edit),
    /// A change of everything: only the survey as it is afterwards tells it.
    Whole,
}

impl Step {
    fn of(edit: &Edit) -> Self {
        match edit {
            Edit::Columns { .. } => Self::Whole,
            small => Self::Small(small.clone()),
        }
    }
}

/// Which way through the changes leads a change that was worked out beside the window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// A new change.
    On,
    /// The latest change is taken back.
    Back,
    /// The latest that was taken back is made again.
    Again,
}

/// A change made on a copy of the survey.
#[derive(Debug)]
pub struct Made {
    /// The survey afterwards.
    pub survey: Survey,
    did: Edit,
    back: Edit,
}

impl Made {
    /// Makes a change on a copy; large surveys are then changed beside the window.
    ///
    /// # Errors
    /// [`EditError`] as [`apply`] gives it.
    pub fn on(survey: &Survey, edit: Edit) -> Result<Self, EditError> {
        let (mut survey, did) = (survey.clone(), edit.clone());
        let back = apply(&mut survey, edit)?;
        Ok(Self { survey, did, back })
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Saved {
    /// The one after so many changes.
    After(usize),
    /// None of them any more.
    OutOfReach,
}

impl Default for Saved {
    fn default() -> Self {
        Self::After(0)
    }
}

impl History {
    /// Makes a change. What was undone before can then no longer be done again.
    ///
    /// # Errors
    /// [`EditError`] when the change does not fit; survey and history are as before.
    pub fn perform(&mut self, survey: &mut Survey, edit: Edit) -> Result<(), EditError> {
        let step = Step::of(&edit);
        let back = apply(survey, edit)?;
        self.steps.push(step);
        self.note_new(back);
        Ok(())
    }

    /// Takes over a change that was made on a copy: of the survey as it was until now, or of the change that [`History::next`] named.
    pub fn take(&mut self, survey: &mut Survey, made: Made, way: Way) {
        *survey = made.survey;
        self.steps.push(Step::of(&made.did));
        match way {
            Way::On => self.note_new(made.back),
            Way::Back => {
                self.done.pop();
                self.undone.push(made.back);
            }
            Way::Again => {
                self.undone.pop();
                self.done.push(made.back);
            }
        }
    }

    /// The change that would lead this way; none for a new one.
    pub fn next(&self, way: Way) -> Option<&Edit> {
        match way {
            Way::On => None,
            Way::Back => self.done.last(),
            Way::Again => self.undone.last(),
        }
    }

    /// All that was done since this was asked last, the first thing first.
    pub fn take_steps(&mut self) -> Vec<Step> {
        std::mem::take(&mut self.steps)
    }

    fn note_new(&mut self, back: Edit) {
        if matches!(self.saved, Saved::After(n) if n > self.done.len()) {
            self.saved = Saved::OutOfReach;
        }
        self.undone.clear();
        self.done.push(back);
    }

    /// Takes the latest change back; `false` when there is none.
    ///
    /// # Errors
    /// [`EditError`] as [`apply`] gives it; survey and history are as before.
    pub fn undo(&mut self, survey: &mut Survey) -> Result<bool, EditError> {
        step(survey, &mut self.done, &mut self.undone, &mut self.steps)
    }

    /// Makes the change again that was undone last; `false` when there is none.
    ///
    /// # Errors
    /// [`EditError`] as [`apply`] gives it; survey and history are as before.
    pub fn redo(&mut self, survey: &mut Survey) -> Result<bool, EditError> {
        step(survey, &mut self.undone, &mut self.done, &mut self.steps)
    }

    /// What [`History::undo`] would take back, in a few words; `None` when there is nothing.
    pub fn undo_words(&self) -> Option<String> {
        self.done.last().map(Edit::words)
    }

    /// What [`History::redo`] would do again, in a few words; `None` when there is nothing.
    pub fn redo_words(&self) -> Option<String> {
        self.undone.last().map(Edit::words)
    }

    /// Whether undo would change a setting with this name, and nothing else.
    pub fn undoes_setting(&self, name: &str) -> bool {
        self.done.last().is_some_and(|e| e.sets(name))
    }

    /// Whether redo would change a setting with this name, and nothing else.
    pub fn redoes_setting(&self, name: &str) -> bool {
        self.undone.last().is_some_and(|e| e.sets(name))
    }

    /// Whether the survey differs from its file.
    pub fn unsaved(&self) -> bool {
        self.saved != Saved::After(self.done.len())
    }

    /// What has changed since the survey was saved, each change in a few words and how often it was made, the first one first. Where changes
    /// that the file holds were taken back, it says so.
    pub fn unsaved_words(&self) -> Vec<(String, usize)> {
        let from = match self.saved {
            Saved::After(n) if n > self.done.len() => {
                return vec![("take back changes that the file holds".to_owned(), n - self.done.len())];
            }
            Saved::After(n) => n,
            Saved::OutOfReach => 0,
        };
        let mut out: Vec<(String, usize)> = Vec::new();
        for words in self.done[from..].iter().map(Edit::words) {
            match out.iter_mut().find(|(known, _)| *known == words) {
                Some((_, times)) => *times += 1,
                None => out.push((words, 1)),
            }
        }
        out
    }

    /// Notes that the survey has just been saved.
    pub fn mark_saved(&mut self) {
        self.saved = Saved::After(self.done.len());
    }
}

/// Applies the last edit of one list and puts its inverse on the other.
fn step(survey: &mut Survey, from: &mut Vec<Edit>, to: &mut Vec<Edit>, steps: &mut Vec<Step>) -> Result<bool, EditError> {
    let Some(edit) = from.last() else { return Ok(false) };
    let inverse = apply(survey, edit.clone())?;
    steps.push(Step::of(edit));
    from.pop();
    to.push(inverse);
    Ok(true)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Frame, LonLat};
    use proptest::prelude::*;

    /// What a person may do to a survey.
    #[derive(Clone, Debug)]
    enum Deed {
        Rename(u8),
        Undo,
        Redo,
        Save,
    }

    fn deed() -> impl Strategy<Value = Deed> {
        prop_oneof![(0u8..3).prop_map(Deed::Rename), Just(Deed::Undo), Just(Deed::Redo), Just(Deed::Save)]
    }

    proptest! {
        /// Against a slow twin that keeps every state whole.
        #[test]
        fn undo_redo_and_unsaved_agree_with_a_list_of_whole_surveys(deeds in proptest::collection::vec(deed(), 0..40)) {
            let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
            let mut history = History::default();
            let (mut states, mut now, mut saved) = (vec![survey.clone()], 0, Some(0));
            for deed in deeds {
                match deed {
                    Deed::Rename(n) => {
                        history.perform(&mut survey, Edit::rename(&n.to_string())).unwrap();
                        states.truncate(now + 1);
                        saved = saved.filter(|&s| s <= now);
                        states.push(survey.clone());
                        now += 1;
                    }
                    Deed::Undo => {
                        prop_assert_eq!(history.undo(&mut survey).unwrap(), now > 0);
                        now = now.saturating_sub(1);
                    }
                    Deed::Redo => {
                        prop_assert_eq!(history.redo(&mut survey).unwrap(), now + 1 < states.len());
                        now = (now + 1).min(states.len() - 1);
                    }
                    Deed::Save => {
                        history.mark_saved();
                        saved = Some(now);
                    }
                }
                prop_assert_eq!(&survey, &states[now]);
                prop_assert_eq!(history.unsaved(), saved != Some(now));
                prop_assert_eq!(history.unsaved_words().is_empty(), saved == Some(now) || (saved.is_none() && now == 0));
                prop_assert_eq!((history.undo_words().is_some(), history.redo_words().is_some()), (now > 0, now + 1 < states.len()));
            }
        }
    }
}
