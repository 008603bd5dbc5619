//! `yardring look FILE`: what a file, or each file of a folder, holds.

use super::{Done, Failure, Output, look_tiles};
use clap::Args;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use yardring_core::error::Hint as _;
use yardring_core::files::{self, ColumnLook, LayerLook, write_bytes};
use yardring_core::intake::{
    ColumnMap, ColumnUse, CrsSuggestion, Inspected, Known, LayerFacts, Match, Role, UnknownWord, inspect, unknown_words,
};

/// Says what a file holds: format, layers, coordinate system, columns and what is odd about it. Changes nothing.
#[derive(Debug, Args)]
pub struct LookAt {
    /// The file, or a folder of files; one layer of a file as FILE#LAYER.
    file: PathBuf,
    /// Where to write the columns that would be taken for what, as a column map for intake --columns.
    #[arg(long, value_name = "MAP.toml")]
    columns_out: Option<PathBuf>,
}

/// One file that was looked into; for a file of a folder its name.
struct Seen {
    file: Option<String>,
    inspected: Inspected,
}

/// One layer with all that is said about it.
struct Told<'a> {
    file: Option<&'a str>,
    layer: &'a LayerLook,
    facts: &'a LayerFacts,
    uses: Vec<ColumnUse>,
    unknown: Vec<UnknownWord>,
    suggestion: Option<CrsSuggestion>,
}

impl LookAt {
    /// Looks at the file and answers.
    ///
    /// # Errors
    /// [`Failure`] when the file cannot be read at all, or the column map cannot be written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        if look_tiles::is_named_so(&self.file) {
            return look_tiles::run(&self.file, output);
        }
        let (kind, seen, mut defects) = if self.file.is_dir() { self.folder(output)? } else { self.single(output)? };
        output.clear_progress();
        let told = told(&seen);
        for s in &seen {
            let before = s.file.as_ref().map_or_else(String::new, |f| format!("{f}: "));
            defects.extend(s.inspected.look.defects.iter().map(|d| format!("{before}{d}")));
        }
        if let Some(path) = &self.columns_out {
            write_map(path, &told)?;
        }
        output.answer(&words(&kind, &told, &defects), || machine(&kind, &told, &defects));
        Ok(if defects.is_empty() { Done::Clean } else { Done::Warned })
    }

    fn single(&self, output: &Output) -> Result<(String, Vec<Seen>, Vec<String>), Failure> {
        let inspected = inspect(&self.file, output)?;
        Ok((inspected.look.format.to_string(), vec![Seen { file: None, inspected }], Vec::new()))
    }

    /// Every file of a folder; one that cannot be read is a defect, unless none can.
    fn folder(&self, output: &Output) -> Result<(String, Vec<Seen>, Vec<String>), Failure> {
        let (mut seen, mut defects, mut first_error) = (Vec::new(), Vec::new(), None);
        defects.extend(
            files::folders_in(&self.file).into_iter().map(|inner| format!("the folder {inner} in it is left alone: look at it by itself")),
        );
        for path in files::readable_in(&self.file)? {
            let file = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
            match inspect(&path, output) {
                Ok(inspected) => seen.push(Seen { file: Some(file), inspected }),
                Err(error) => {
                    defects.push(format!("{file}: cannot be read: {error}. {}", error.hint()));
                    first_error = first_error.or(Some(error));
                }
            }
        }
        match first_error {
            Some(error) if seen.is_empty() => Err(error.into()),
            _ => Ok(("folder".to_owned(), seen, defects)),
        }
    }
}

fn told(seen: &[Seen]) -> Vec<Told<'_>> {
    let known: Vec<Known> = seen.iter().flat_map(|s| &s.inspected.layers).filter_map(|l| l.known.clone()).collect();
    let mut out = Vec::new();
    for s in seen {
        for (layer, facts) in s.inspected.look.layers.iter().zip(&s.inspected.layers) {
            let uses =
                facts.role.map_or_else(Vec::new, |role| Match::of_looks(&layer.columns, role, &ColumnMap::default(), None).uses().to_vec());
            let unknown = facts.role.map_or_else(Vec::new, |role| unknown_words(role, &uses, facts, None));
            out.push(Told { file: s.file.as_deref(), layer, facts, uses, unknown, suggestion: facts.crs_suggestion(&known) });
        }
    }
    out
}

impl Told<'_> {
    /// A date of the column taken for the date that means two days.
    fn unclear_date(&self) -> Option<&str> {
        let date = self.uses.iter().find(|u| u.meaning == "date")?;
        self.facts.unclear_dates.get(&date.number).map(String::as_str)
    }

    fn in_words(&self, out: &mut String) {
        let layer = self.layer;
        let rows = if layer.features == 1 { "1 row".to_owned() } else { format!("{} rows", layer.features) };
        let shapes = if layer.geometry == "none" { "no shapes" } else { layer.geometry.as_str() };
        let _ = match self.file {
            Some(file) => writeln!(out, "{file}, layer {}: {rows}, {shapes}", layer.name),
            None => writeln!(out, "Layer {}: {rows}, {shapes}", layer.name),
        };
        match (&layer.crs, &self.suggestion) {
            (Some(crs), _) => out.push_str(&format!("  Coordinate system {crs}\n")),
            (None, Some(CrsSuggestion { crs: Some(crs), why })) => {
                out.push_str(&format!("  Coordinate system not named. {why}: try --crs {crs}\n"));
            }
            (None, Some(CrsSuggestion { crs: None, why })) => out.push_str(&format!("  Coordinate system not named. {why}\n")),
            (None, None) => {}
        }
        if let Some(role) = self.facts.role {
            let _ = writeln!(out, "  Looks like {role}");
        }
        let width = layer.columns.iter().map(|c| c.name.chars().count()).max().unwrap_or(0).min(24);
        for (i, column) in layer.columns.iter().enumerate() {
            let used = self.uses.iter().find(|u| u.number == i);
            let meaning = used.map_or_else(String::new, |u| format!("  → {} ({})", u.meaning, u.sure.words()));
            let _ = writeln!(out, "  {:width$}  {}{meaning}", column.name, samples_in_words(column));
        }
        if let Some(date) = self.unclear_date() {
            let role = self.facts.role.map_or("visits", Role::name);
            let _ = writeln!(out, "  Dates such as {date} may be day first or month first: say date_order under [{role}] in a column map");
        }
        for word in &self.unknown {
            let list = word.list.name();
            let rows = if word.rows == 1 { "1 row".to_owned() } else { format!("{} rows", word.rows) };
            let _ =
                writeln!(out, "  '{}' ({rows}) is not on the list of {list}: put it there under [words.{list}] in a column map", word.word);
        }
    }

    fn for_machines(&self) -> Value {
        let used = |i: usize| self.uses.iter().find(|u| u.number == i);
        let column = |(i, c): (usize, &ColumnLook)| json!({"name": c.name, "samples": c.samples, "meaning": used(i).map(|u| u.meaning), "sure": used(i).map(|u| u.sure.word())});
        let suggested = self.suggestion.as_ref().and_then(|s| s.crs.as_ref()).map(ToString::to_string);
        let mut out = json!({
            "name": self.layer.name,
            "features": self.layer.features,
            "geometry": self.layer.geometry,
            "crs": self.layer.crs.as_ref().map(ToString::to_string),
            "crs_suggested": suggested,
            "columns": self.layer.columns.iter().enumerate().map(column).collect::<Vec<_>>(),
            "looks_like": self.facts.role.map(Role::name),
            "unclear_date": self.unclear_date(),
            "unknown_words": self.unknown,
        });
        if let (Some(file), Some(keys)) = (self.file, out.as_object_mut()) {
            keys.insert("file".to_owned(), json!(file));
        }
        out
    }
}

fn words(kind: &str, told: &[Told<'_>], defects: &[String]) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}", sentence_case(kind));
    told.iter().for_each(|t| t.in_words(&mut out));
    if !defects.is_empty() {
        out.push_str("To look at\n");
        for defect in defects {
            let _ = writeln!(out, "  {}", sentence_case(defect));
        }
    }
    out
}

fn samples_in_words(column: &ColumnLook) -> String {
    let shortened = |s: &String| if s.chars().count() > 30 { s.chars().take(29).chain(['…']).collect() } else { s.clone() };
    if column.samples.is_empty() { "empty".to_owned() } else { column.samples.iter().map(shortened).collect::<Vec<_>>().join(" · ") }
}

fn sentence_case(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn machine(kind: &str, told: &[Told<'_>], defects: &[String]) -> Value {
    json!({"kind": kind, "layers": told.iter().map(Told::for_machines).collect::<Vec<_>>(), "defects": defects})
}

/// Writes the map that the first layer of each role would be read with; words on no list stand in it with a blank to fill in.
fn write_map(path: &Path, told: &[Told<'_>]) -> Result<(), Failure> {
    let (mut map, mut hints) = (ColumnMap::default(), String::new());
    for role in Role::ALL {
        let Some(layer) = told.iter().find(|t| t.facts.role == Some(role)) else { continue };
        for used in &layer.uses {
            map.set(role, used.meaning, used.column.clone())?;
        }
        if let Some(date) = layer.unclear_date() {
            let _ = writeln!(hints, "# Dates such as {date}: under [{role}] write date_order = \"day first\" or \"month first\".");
        }
        for word in &layer.unknown {
            let known = word.list.known(None).join(", ");
            let known = if known.is_empty() { String::new() } else { format!(": {known}") };
            let _ = writeln!(hints, "# Under [words.{}] write {:?} = one of the list{known}.", word.list.name(), word.word);
        }
    }
    let text = format!("{hints}{}", map.to_toml());
    write_bytes(text.as_bytes(), path)
        .map_err(|e| Failure::new(format!("{} cannot be written: {e}", path.display()), "Choose another place for it"))
}
