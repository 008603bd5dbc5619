//! Barriers that a survey keeps: lines from a file, with the file's name.

use super::Barriers;
use crate::place::Local;
use crate::survey::{Survey, settings};
use std::sync::Arc;

/// Lines of a file as the survey keeps them, in the district frame.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Kept {
    /// The file's name, without folders.
    pub file: String,
    /// The lines, metres east and north in the district frame.
    pub lines: Vec<Vec<[f64; 2]>>,
}

impl Kept {
    /// The barriers that a survey keeps; `None` when it keeps none.
    pub fn of(survey: &Survey) -> Option<Self> {
        Self::under(survey, settings::BARRIERS)
    }

    /// The lines that a survey keeps under a name; `None` when it keeps none.
    pub fn under(survey: &Survey, name: &str) -> Option<Self> {
        survey.settings.get(name).and_then(|text| serde_json::from_str(text).ok())
    }

    /// Lines under the name of their file.
    pub fn new(file: &str, lines: &[Vec<Local>]) -> Self {
        Self { file: file.to_owned(), lines: lines.iter().map(|l| l.iter().map(|p| [p.x, p.y]).collect()).collect() }
    }

    /// The text that the survey keeps under [`settings::BARRIERS`].
    pub fn text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }

    /// Puts them into a survey, in the place of those that it kept; without any line it then keeps none.
    pub fn put(&self, survey: &mut Survey) {
        let all = Arc::make_mut(&mut survey.settings);
        if self.lines.is_empty() {
            all.remove(settings::BARRIERS);
        } else {
            all.insert(settings::BARRIERS.into(), self.text().into());
        }
    }

    /// The lines as barriers.
    pub fn barriers(&self) -> Barriers {
        Barriers::new(&self.places())
    }

    /// The places of each line.
    pub fn places(&self) -> Vec<Vec<Local>> {
        self.lines.iter().map(|l| l.iter().map(|&[x, y]| Local { x, y }).collect()).collect()
    }
}
