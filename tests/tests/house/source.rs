//! The project's own source files, read once, with their test parts told apart.

use std::path::{Path, PathBuf};

/// The folder of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("tests lie in the workspace").to_owned()
}

/// One Rust file of the project.
pub struct Source {
    /// Its path below the workspace, with forward slashes.
    pub path: String,
    /// All its text.
    pub text: String,
}

impl Source {
    /// The text up to the file's test module, without comment lines.
    pub fn code(&self) -> String {
        let end = self.text.find("#[cfg(test)]\nmod ").unwrap_or(self.text.len());
        self.text[..end].lines().filter(|l| !l.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
    }
}

/// All Rust files below some folder of the workspace, in order of their paths.
pub fn below(folder: &str) -> Vec<Source> {
    let mut found = Vec::new();
    walk(&root().join(folder), &mut found);
    found.sort();
    assert!(!found.is_empty(), "no source below {folder}");
    let files: Vec<Source> = found.iter().map(|path| read(path)).collect();
    let for_tests: Vec<String> = files.iter().flat_map(for_tests_only).collect();
    files.into_iter().filter(|f| !for_tests.iter().any(|t| f.path.starts_with(t))).collect()
}

/// Where the modules lie that a file declares for tests alone: `folder/name.rs` and `folder/name/`.
fn for_tests_only(file: &Source) -> Vec<String> {
    let folder = file.path.trim_end_matches("mod.rs").trim_end_matches("lib.rs").trim_end_matches(".rs").trim_end_matches('/');
    let declared = file.text.split("#[cfg(test)]\nmod ").skip(1).filter_map(|rest| rest.split_once(';').map(|(name, _)| name));
    declared
        .filter(|name| name.chars().all(|c| c.is_ascii_lowercase() || c == '_'))
        .flat_map(|name| [format!("{folder}/{name}.rs"), format!("{folder}/{name}/")])
        .collect()
}

fn read(path: &Path) -> Source {
    let relative = path.strip_prefix(root()).expect("below the workspace");
    let relative = relative.to_string_lossy().replace('\\', "/");
    Source { path: relative, text: std::fs::read_to_string(path).expect("readable source") }
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            walk(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

/// Files and lines that hold a pattern, as `path: line`, in files that `allowed` does not except.
pub fn offenders(files: &[Source], pattern: &str, allowed: impl Fn(&str) -> bool) -> Vec<String> {
    let mut out = Vec::new();
    for file in files.iter().filter(|f| !allowed(&f.path)) {
        out.extend(file.code().lines().filter(|l| l.contains(pattern)).map(|l| format!("{}: {}", file.path, l.trim())));
    }
    out
}
