//! `yardring look FILE`: what a file holds.

use super::{Done, Failure, Output, look_tiles};
use clap::Args;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::path::PathBuf;
use yardring_core::files::{self, ColumnLook, LayerLook, Look};
use yardring_core::intake::{ColumnUse, Role, guess_columns, guess_role};

/// Says what a file holds: format, layers, coordinate system, columns and what is odd about it. Changes nothing.
#[derive(Debug, Args)]
pub struct LookAt {
    /// The file; one layer of it as FILE#LAYER.
    file: PathBuf,
}

impl LookAt {
    /// Looks at the file and answers.
    ///
    /// # Errors
    /// [`Failure`] when the file cannot be read at all.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        if look_tiles::is_named_so(&self.file) {
            return look_tiles::run(&self.file, output);
        }
        let look = files::look(&self.file, output)?;
        output.clear_progress();
        output.answer(&words(&look), || machine(&look));
        Ok(if look.defects.is_empty() { Done::Clean } else { Done::Warned })
    }
}

fn words(look: &Look) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}", sentence_case(&look.format.to_string()));
    look.layers.iter().for_each(|l| layer_in_words(l, &mut out));
    if !look.defects.is_empty() {
        out.push_str("To look at\n");
        for defect in &look.defects {
            let _ = writeln!(out, "  {}", sentence_case(defect));
        }
    }
    out
}

fn layer_in_words(layer: &LayerLook, out: &mut String) {
    let rows = if layer.features == 1 { "1 row".to_owned() } else { format!("{} rows", layer.features) };
    let shapes = if layer.geometry == "none" { "no shapes" } else { layer.geometry.as_str() };
    let _ = writeln!(out, "Layer {}: {rows}, {shapes}", layer.name);
    match &layer.crs {
        Some(crs) => {
            let _ = writeln!(out, "  Coordinate system {crs}");
        }
        None if layer.geometry == "none" => {}
        None => out.push_str("  Coordinate system not named\n"),
    }
    let width = layer.columns.iter().map(|c| c.name.chars().count()).max().unwrap_or(0).min(24);
    let (role, uses) = guessed(layer);
    if let Some(role) = role {
        let _ = writeln!(out, "  Looks like {role}");
    }
    for (i, column) in layer.columns.iter().enumerate() {
        let meaning = uses.iter().find(|u| u.number == i).map_or_else(String::new, |u| format!("  → {} ({})", u.meaning, u.sure.words()));
        let _ = writeln!(out, "  {:width$}  {}{meaning}", column.name, samples_in_words(column));
    }
}

/// What the rows probably are, and which columns would be taken for what.
fn guessed(layer: &LayerLook) -> (Option<Role>, Vec<ColumnUse>) {
    let names: Vec<String> = layer.columns.iter().map(|c| c.name.clone()).collect();
    let role = guess_role(layer);
    (role, role.map_or_else(Vec::new, |role| guess_columns(role, &names)))
}

fn samples_in_words(column: &ColumnLook) -> String {
    let shortened = |s: &String| if s.chars().count() > 30 { s.chars().take(29).chain(['…']).collect() } else { s.clone() };
    if column.samples.is_empty() { "empty".to_owned() } else { column.samples.iter().map(shortened).collect::<Vec<_>>().join(" · ") }
}

fn sentence_case(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn machine(look: &Look) -> Value {
    json!({
        "kind": look.format.to_string(),
        "layers": look.layers.iter().map(layer_for_machines).collect::<Vec<_>>(),
        "defects": look.defects,
    })
}

fn layer_for_machines(layer: &LayerLook) -> Value {
    let (role, uses) = guessed(layer);
    let meaning = |i: usize| uses.iter().find(|u| u.number == i).map(|u| u.meaning);
    json!({
        "name": layer.name,
        "features": layer.features,
        "geometry": layer.geometry,
        "crs": layer.crs.as_ref().map(ToString::to_string),
        "columns": layer
            .columns
            .iter()
            .enumerate()
            .map(|(i, c)| json!({"name": c.name, "samples": c.samples, "meaning": meaning(i)}))
            .collect::<Vec<_>>(),
        "looks_like": role.map(Role::name),
    })
}
