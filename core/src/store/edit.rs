//! Changes of a survey as values: applying one gives the one that takes it back.

use crate::error::Hint;
use crate::measure::{Neighbours, Programmes};
use crate::survey::{ContainerKnowledge, HandChange, HandError, SavedView, Streets, Survey, settings};

/// One change of a survey.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// Everything becomes what it is in another survey, as after bringing in files. Columns that are the same in both are
    /// shared, so that this costs little.
    Columns {
        /// What was done, for the person who may want it undone: "Bring in visits.csv".
        what: Box<str>,
        /// The survey as it is to be.
        becomes: Box<Survey>,
    },
    /// Something that the office has settled gets a new value, or none.
    Setting {
        /// Its name, as in [`settings`].
        name: Box<str>,
        /// The new value; `None` takes the setting away.
        value: Option<Box<str>>,
    },
    /// One visit comes, becomes another, or goes.
    Visit {
        /// What was done: "Enter a visit".
        what: Box<str>,
        /// How it is done.
        change: Box<HandChange>,
    },
}

impl Edit {
    /// The change that gives the survey a name.
    pub fn rename(name: &str) -> Self {
        Self::Setting { name: settings::NAME.into(), value: Some(name.into()) }
    }

    /// The change that enters a visit, corrects or takes one away, as `intake::record` makes it.
    pub fn visit(change: HandChange) -> Self {
        let what = match (&change.was, &change.becomes) {
            (None, _) => "Enter a visit",
            (Some(_), Some(_)) => "Correct a visit",
            (Some(_), None) => "Take a visit away",
        };
        Self::Visit { what: what.into(), change: Box::new(change) }
    }

    /// Whether it changes a setting with this name, and nothing else.
    pub fn sets(&self, setting: &str) -> bool {
        matches!(self, Self::Setting { name, .. } if &**name == setting)
    }

    /// The change that keeps a view of the map under its name, in place of one that had the name before.
    pub fn save_view(view: &SavedView) -> Self {
        Self::Setting { name: view.setting().into(), value: Some(view.to_string().into()) }
    }

    /// The change that forgets the view of a name.
    pub fn forget_view(name: &str) -> Self {
        Self::Setting { name: format!("{}{name}", settings::VIEW).into(), value: None }
    }

    /// The change that gives the survey another table of container kinds.
    pub fn containers(known: &ContainerKnowledge) -> Self {
        Self::Setting { name: settings::CONTAINERS.into(), value: known.setting() }
    }

    /// The change that gives the survey other bands to read its indices by.
    pub fn bands(programmes: &Programmes) -> Self {
        Self::Setting { name: settings::BANDS.into(), value: programmes.setting() }
    }

    /// The change that says whom householders call; nobody where the text is empty.
    pub fn office(text: &str) -> Self {
        let text = text.trim();
        Self::Setting { name: settings::OFFICE.into(), value: (!text.is_empty()).then(|| text.into()) }
    }

    /// The change that settles which blocks count as neighbours.
    pub fn neighbours(neighbours: Neighbours) -> Self {
        Self::Setting { name: settings::NEIGHBOURS.into(), value: neighbours.setting() }
    }

    /// What the change does, in a few words.
    pub fn words(&self) -> String {
        match self {
            Self::Setting { name, .. } if name.starts_with(settings::VIEW) => {
                format!("Change the view \u{201c}{}\u{201d}", &name[settings::VIEW.len()..])
            }
            Self::Columns { what, .. } | Self::Visit { what, .. } => what.to_string(),
            Self::Setting { name, .. } if &**name == settings::NAME => "Rename the survey".to_owned(),
            Self::Setting { name, .. } if &**name == settings::WALKS => "Change the walks of the day".to_owned(),
            Self::Setting { name, .. } if &**name == settings::OFFICE => "Change whom householders call".to_owned(),
            Self::Setting { name, .. } if &**name == settings::CONTAINERS => "Change what is known about containers".to_owned(),
            Self::Setting { name, .. } if &**name == settings::BANDS => "Change the bands of programmes".to_owned(),
            Self::Setting { name, .. } if &**name == settings::NEIGHBOURS => "Change which blocks are neighbours".to_owned(),
            Self::Setting { name, .. } => format!("Change {}", name.replace('_', " ")),
        }
    }
}

/// Why a change was not made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// Columns of one table have different lengths, or a row names a row that is not there.
    #[error("the change does not fit together: {what}")]
    Uneven {
        /// Which columns, and how they differ.
        what: &'static str,
    },
    /// The visit, or what it needs, is not there.
    #[error("the visit was not changed: {0}")]
    Visit(#[from] HandError),
}

impl Hint for EditError {
    fn hint(&self) -> String {
        match self {
            Self::Uneven { .. } => "The survey is as it was before; bring the files in again",
            Self::Visit(_) => "The survey is as it was before; look at the yard again",
        }
        .to_owned()
    }
}

/// Makes a change and gives back the one that undoes it. A change that fails leaves the survey as it was.
///
/// # Errors
/// [`EditError`] when the change does not fit together.
///
/// ```
/// use yardring_core::place::{Frame, LonLat};
/// use yardring_core::store::{Edit, apply};
/// use yardring_core::survey::Survey;
/// let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 }));
/// let before = survey.clone();
/// let back = apply(&mut survey, Edit::rename("Quillmere"))?;
/// apply(&mut survey, back)?;
/// assert_eq!(survey, before);
/// # Ok::<(), yardring_core::store::EditError>(())
/// ```
pub fn apply(survey: &mut Survey, edit: Edit) -> Result<Edit, EditError> {
    match edit {
        Edit::Columns { what, becomes } => {
            fits(&becomes)?;
            let before = std::mem::replace(survey, *becomes);
            Ok(Edit::Columns { what, becomes: Box::new(before) })
        }
        Edit::Setting { name, value } => {
            let all = std::sync::Arc::make_mut(&mut survey.settings);
            let before = match value {
                Some(value) => all.insert(name.clone(), value),
                None => all.remove(&name),
            };
            Ok(Edit::Setting { name, value: before })
        }
        Edit::Visit { what, change } => Ok(Edit::Visit { what, change: Box::new(change.apply(survey)?) }),
    }
}

/// Whether the columns of the streets fit together.
fn streets_even(s: &Streets) -> bool {
    let or_none = |n: usize| n == 0 || n == s.len();
    s.line.len() == s.len() && or_none(s.class.len()) && or_none(s.level.len()) && or_none(s.ranges.len())
}

/// Makes sure that every row of a survey has all its cells and names only rows that are there.
fn fits(s: &Survey) -> Result<(), EditError> {
    let p = &s.premises;
    let or_none = |n: usize| n == 0 || n == p.len();
    let even = [p.address.len(), p.block.len(), p.outline.len()].iter().all(|&n| n == p.len());
    let visits = s.visits.rows();
    let rules = [
        (even && or_none(p.land_use.len()) && or_none(p.year_built.len()), "the columns of the premises have different lengths"),
        (s.blocks.outline.len() == s.blocks.len(), "the columns of the blocks have different lengths"),
        (streets_even(&s.streets), "the columns of the streets have different lengths"),
        (p.block.iter().flatten().all(|b| b.row() < s.blocks.len()), "a premise names a block that is not there"),
        (visits.iter().all(|v| v.premise.row() < p.len()), "a visit names a premise that is not there"),
        (visits.iter().all(|v| v.round.row() < s.rounds.len()), "a visit names a round that is not there"),
        (s.visits.finds().iter().all(|f| f.kind.row() < s.kinds.len()), "a find names a kind that is not there"),
    ];
    match rules.iter().find(|(holds, _)| !holds) {
        Some((_, what)) => Err(EditError::Uneven { what }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::made_up;
    use crate::survey::BlockId;
    use proptest::prelude::*;
    use std::sync::Arc;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]
        #[test]
        fn undoing_a_change_restores_the_survey(mut survey in made_up::survey(), other in made_up::survey(), name in "[a-z]{0,3}", value in proptest::option::of("[ -~]{0,5}")) {
            let before = survey.clone();
            let becomes = Box::new(other.clone());
            let back = apply(&mut survey, Edit::Columns { what: "Bring in a file".into(), becomes }).unwrap();
            prop_assert_eq!(&survey, &other);
            let again = apply(&mut survey, Edit::Setting { name: name.into(), value: value.map(Into::into) }).unwrap();
            apply(&mut survey, again).unwrap();
            prop_assert_eq!(&survey, &other);
            apply(&mut survey, back).unwrap();
            prop_assert_eq!(survey, before);
        }

        #[test]
        fn a_change_that_does_not_fit_changes_nothing(mut survey in made_up::survey(), mut other in made_up::survey()) {
            let before = survey.clone();
            Arc::make_mut(&mut other.premises.block).push(Some(BlockId(0)));
            let edit = Edit::Columns { what: "Bring in a file".into(), becomes: Box::new(other) };
            prop_assert!(apply(&mut survey, edit).is_err());
            prop_assert_eq!(survey, before);
        }
    }
}
