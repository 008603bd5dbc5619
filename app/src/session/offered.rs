//! Files on their way in.

use crate::ui::notice::Trouble;
use std::path::PathBuf;
use std::sync::Arc;
use yardring_core::files::Look;
use yardring_core::intake::{Report, Role};

/// A file somebody wants to bring in.
#[derive(Clone, Debug)]
pub struct Offered {
    /// Where it is.
    pub path: PathBuf,
    /// What its rows are to become; `None` until somebody or its columns say so.
    pub kind: Option<Role>,
    /// What it holds; `None` until it was looked at.
    pub look: Option<Arc<Result<Look, Trouble>>>,
}

impl Offered {
    /// A file that nobody has looked at yet.
    pub fn new(path: PathBuf) -> Self {
        Self { path, kind: None, look: None }
    }

    /// Its name without its folders.
    pub fn name(&self) -> String {
        self.path.file_name().map_or_else(|| self.path.display().to_string(), |n| n.to_string_lossy().into_owned())
    }
}

/// The intake desk's state.
#[derive(Clone, Debug, Default)]
pub struct Intake {
    /// Files waiting to be brought in.
    pub offered: Vec<Offered>,
    /// The coordinate system for files that name none, as typed.
    pub crs: String,
    /// What came in last.
    pub report: Option<Report>,
}

impl Intake {
    /// Why the files cannot be brought in yet, in words; `None` when they can.
    pub fn waits_for(&self) -> Option<String> {
        if self.offered.is_empty() {
            return Some("Choose files, or drop them on the window".to_owned());
        }
        if let Some(o) = self.offered.iter().find(|o| o.kind.is_none()) {
            return Some(format!("Say what {} is", o.name()));
        }
        Role::ALL.iter().find_map(|kind| {
            let same = self.offered.iter().filter(|o| o.kind == Some(*kind)).count();
            (same > 1).then(|| format!("Two files are called {}: bring them in one after the other", kind.name()))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_wait_until_each_is_named_and_named_once() {
        let mut intake = Intake::default();
        assert!(intake.waits_for().unwrap().starts_with("Choose files"));
        intake.offered.push(Offered::new("a.shp".into()));
        assert_eq!(intake.waits_for().unwrap(), "Say what a.shp is");
        intake.offered[0].kind = Some(Role::Parcels);
        assert_eq!(intake.waits_for(), None);
        intake.offered.push(Offered { kind: Some(Role::Parcels), ..Offered::new("b.shp".into()) });
        assert!(intake.waits_for().unwrap().contains("parcels"));
    }
}
