//! How long functions and files may be.

use crate::source::{Source, below};
use syn::spanned::Spanned as _;
use syn::visit::Visit;

/// Lines of every function of a file's code, tests left out.
struct Lengths(Vec<(String, usize)>);

impl<'a> Visit<'a> for Lengths {
    fn visit_item_fn(&mut self, f: &'a syn::ItemFn) {
        self.0.push((f.sig.ident.to_string(), lines_of(&f.block)));
        syn::visit::visit_item_fn(self, f);
    }

    fn visit_impl_item_fn(&mut self, f: &'a syn::ImplItemFn) {
        self.0.push((f.sig.ident.to_string(), lines_of(&f.block)));
        syn::visit::visit_impl_item_fn(self, f);
    }

    fn visit_item_mod(&mut self, m: &'a syn::ItemMod) {
        let test = m.attrs.iter().any(|a| a.path().is_ident("cfg"));
        if !test {
            syn::visit::visit_item_mod(self, m);
        }
    }
}

fn lines_of(block: &syn::Block) -> usize {
    let span = block.span();
    span.end().line - span.start().line + 1
}

fn functions(files: &[Source]) -> Vec<(String, usize)> {
    let mut out = Vec::new();
    for file in files {
        let parsed = syn::parse_file(&file.text).unwrap_or_else(|e| panic!("{}: {e}", file.path));
        let mut lengths = Lengths(Vec::new());
        lengths.visit_file(&parsed);
        out.extend(lengths.0.into_iter().map(|(name, lines)| (format!("{} {name}", file.path), lines)));
    }
    out
}

/// At most a tenth of the functions may reach `usual` lines, none may pass 60.
fn within(folder: &str, usual: usize) {
    let all = functions(&below(folder));
    let over: Vec<_> = all.iter().filter(|f| f.1 > 60).collect();
    assert!(over.is_empty(), "longer than 60 lines: {over:#?}");
    let long: Vec<_> = all.iter().filter(|f| f.1 >= usual).collect();
    assert!(long.len() * 10 <= all.len(), "{} of {} functions reach {usual} lines: {long:#?}", long.len(), all.len());
}

#[test]
fn functions_of_core_are_short() {
    within("core/src", 28);
}

#[test]
fn functions_of_the_app_are_short() {
    within("app/src", 45);
}

#[test]
fn files_are_one_topic_long() {
    let mut long = Vec::new();
    for file in below("core/src").into_iter().chain(below("app/src")) {
        let lines = file.code().lines().filter(|l| !l.trim().is_empty()).count();
        if lines >= 500 {
            long.push(format!("{}: {lines}", file.path));
        }
    }
    assert!(long.is_empty(), "{long:#?}");
}

#[test]
fn no_file_hides_behind_an_empty_name() {
    for file in below("core/src").into_iter().chain(below("app/src")).chain(below("tests")) {
        let stem = file.path.rsplit('/').next().expect("a name").trim_end_matches(".rs").to_owned();
        for word in ["util", "helper", "common", "misc"] {
            assert!(!stem.contains(word), "{}: say what it holds", file.path);
        }
    }
}

#[test]
fn the_app_struct_stays_small() {
    let app = below("app/src").into_iter().find(|f| f.path == "app/src/app.rs").expect("app.rs");
    let parsed = syn::parse_file(&app.text).expect("Rust");
    let fields = parsed.items.iter().find_map(|i| match i {
        syn::Item::Struct(s) if s.ident == "App" => Some(s.fields.len()),
        _ => None,
    });
    assert!(fields.expect("a struct App") <= 8);
}
