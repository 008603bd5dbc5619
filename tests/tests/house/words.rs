//! What no file of the project may hold.

use crate::source::root;
use std::process::Command;

/// Every text file that git tracks, with its text; the lock file and pictures left out.
fn tracked() -> Vec<(String, String)> {
    let out = Command::new("git").args(["ls-files"]).current_dir(root()).output().expect("git runs");
    let names = String::from_utf8(out.stdout).expect("names");
    let texts: Vec<_> = names
        .lines()
        .filter(|n| !n.ends_with("Cargo.lock"))
        .filter_map(|n| std::fs::read_to_string(root().join(n)).ok().map(|t| (n.to_owned(), t)))
        .collect();
    assert!(texts.len() > 20, "git lists the project's files");
    texts
}

fn holders(pattern: &str) -> Vec<String> {
    tracked().into_iter().filter(|(_, text)| text.contains(pattern)).map(|(name, _)| name).collect()
}

#[test]
fn no_path_of_a_machine_and_no_registry() {
    for parts in
        [["/ho", "me/"], ["/ro", "ot/"], ["/wo", "rk/"], ["crates", ".io"], ["pypi", ".org"], ["npmjs", ".org"], ["deb.deb", "ian.org"]]
    {
        let found = holders(&parts.concat());
        assert!(found.is_empty(), "{} in {found:?}", parts.concat());
    }
}

#[test]
fn nothing_is_put_off() {
    for parts in [["TO", "DO"], ["FIX", "ME"], ["#[ign", "ore"], ["todo", "!("], ["unimplem", "ented!("]] {
        let found = holders(&parts.concat());
        assert!(found.is_empty(), "{} in {found:?}", parts.concat());
    }
}
