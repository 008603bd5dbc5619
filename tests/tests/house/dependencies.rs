//! What core may depend on.

use crate::source::root;
use std::process::Command;

/// Names in core's whole tree of normal dependencies.
fn core_tree() -> Vec<String> {
    let out = Command::new(env!("CARGO"))
        .args(["tree", "-p", "yardring-core", "-e", "normal", "--prefix", "none", "--offline", "--locked"])
        .current_dir(root())
        .output()
        .expect("cargo runs");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let text = String::from_utf8(out.stdout).expect("names");
    text.lines().filter_map(|l| l.split_whitespace().next()).map(str::to_owned).collect()
}

#[test]
fn core_has_no_window_and_no_argument_parser() {
    let tree = core_tree();
    assert!(tree.iter().any(|n| n == "geo"), "the tree was read: {tree:?}");
    for name in ["egui", "eframe", "wgpu", "winit", "walkers", "rfd", "clap", "tokio", "reqwest"] {
        assert!(!tree.iter().any(|n| n == name), "core must not depend on {name}");
    }
}
