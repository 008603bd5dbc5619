//! Whether an answer would be written over what it is made from.

use super::Failure;
use clap::ArgMatches;
use std::path::{Path, PathBuf};
use yardring_core::store;

/// Options that name a file to be written.
const WRITTEN: [&str; 4] = ["out", "report", "refused", "columns_out"];

/// Makes sure that no file to be written is one that the call reads, or a survey.
///
/// # Errors
/// [`Failure`] naming the file.
pub fn check(matches: &ArgMatches) -> Result<(), Failure> {
    let Some((verb, given)) = matches.subcommand() else { return Ok(()) };
    let named = |id: &str| given.get_raw(id).into_iter().flatten().map(PathBuf::from).collect::<Vec<_>>();
    let written = |id: &str| WRITTEN.contains(&id) && !(verb == "walks" && id == "refused");
    let ids: Vec<&str> = given.ids().map(clap::Id::as_str).collect();
    // The survey of an intake is written too, and a report would follow it.
    let read: Vec<PathBuf> = ids.iter().filter(|id| !written(id)).flat_map(|id| named(id)).collect();
    let mut taken: Vec<PathBuf> = Vec::new();
    for path in ids.iter().filter(|id| written(id)).flat_map(|id| named(id)) {
        if read.iter().chain(&taken).any(|other| same_file(other, &path)) {
            let what = format!("{} would be written over itself: this call names it twice", path.display());
            return Err(Failure::new(what, "Give the answer a file of its own"));
        }
        if path.is_file() && store::is_survey(&path) {
            return Err(Failure::new(format!("{} is a survey, which would be lost", path.display()), "Give the answer a file of its own"));
        }
        taken.push(path);
    }
    Ok(())
}

/// Whether two names mean one file, there or still to be made. A layer or sheet may be named behind the file: "parcels.zip#lots".
fn same_file(a: &Path, b: &Path) -> bool {
    let whole = |path: &Path| {
        let text = path.to_string_lossy();
        let file = if path.exists() { path.to_owned() } else { PathBuf::from(text.split('#').next().unwrap_or_default()) };
        let folder = file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        file.canonicalize().ok().or_else(|| Some(folder.canonicalize().ok()?.join(file.file_name()?)))
    };
    whole(a).is_some_and(|a| whole(b).is_some_and(|b| a == b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_file_has_many_names() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        std::fs::write(at("a.csv"), "").unwrap();
        assert!(same_file(&at("a.csv"), &folder.path().join("./a.csv")) && same_file(&at("a.csv#sheet"), &at("a.csv")));
        assert!(same_file(&at("new.json"), &folder.path().join(".").join("new.json")));
        assert!(!same_file(&at("a.csv"), &at("b.csv")) && !same_file(Path::new("150m"), &at("a.csv")));
    }
}
