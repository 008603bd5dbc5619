//! Every row of the project's check values (`tests-data/values.tsv`, with source and mark) against the program.
//!
//! One test for each topic; a last one makes sure that every row belongs to a topic. Marks: "verified" was read in the source,
//! "memory" is from memory, "computed" was worked out with a general library named in the row.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first thing that is not as it should be")]

use serde_json::{Value, json};
use std::sync::Mutex;

mod clusters;
mod dispersal;
mod doors;
mod growth;
mod indices;
mod intervals;
mod water;

const TABLE: &str = include_str!("../../tests-data/values.tsv");

/// One row of the table.
pub(crate) struct Row {
    /// Its id in the table.
    pub id: &'static str,
    inputs: Value,
    expected: Value,
    tolerance: f64,
}

impl Row {
    fn of(line: &'static str) -> Self {
        let cells: Vec<&str> = line.split('\t').collect();
        assert_eq!(cells.len(), 7, "{line}");
        assert!(!cells[5].is_empty() && !cells[6].is_empty(), "{}: a source and a mark", cells[0]);
        let parse = |text: &str| serde_json::from_str(text).unwrap();
        Self { id: cells[0], inputs: parse(cells[2]), expected: parse(cells[3]), tolerance: cells[4].parse().unwrap() }
    }

    /// A number that goes in.
    pub(crate) fn number(&self, name: &str) -> f64 {
        self.inputs[name].as_f64().unwrap_or_else(|| panic!("{}: no number {name}", self.id))
    }

    /// A whole number that goes in.
    pub(crate) fn whole(&self, name: &str) -> u64 {
        self.inputs[name].as_u64().unwrap_or_else(|| panic!("{}: no whole number {name}", self.id))
    }

    /// A whole number that goes in; 0 where the row has none of that name.
    pub(crate) fn whole_or_none(&self, name: &str) -> u64 {
        self.inputs[name].as_u64().unwrap_or(0)
    }

    /// Numbers that go in; one alone is a list of one.
    pub(crate) fn numbers(&self, name: &str) -> Vec<f64> {
        flat(&self.inputs[name])
    }

    /// Whole numbers that go in.
    pub(crate) fn wholes(&self, name: &str) -> Vec<u64> {
        self.numbers(name).into_iter().map(|n| n as u64).collect()
    }

    /// A text that goes in.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.inputs[name].as_str().unwrap()
    }

    /// Holds what came out against what is expected, within the row's tolerance; texts and "no answer" exactly.
    pub(crate) fn holds(&self, found: Value) {
        let wanted = self.expected.as_object().unwrap();
        assert_eq!(found.as_object().unwrap().len(), wanted.len(), "{}: {found}", self.id);
        for (name, wanted) in wanted {
            self.alike(&found[name], wanted, name);
        }
    }

    fn alike(&self, found: &Value, wanted: &Value, name: &str) {
        match (found, wanted) {
            (Value::Number(f), Value::Number(w)) => {
                let (f, w) = (f.as_f64().unwrap(), w.as_f64().unwrap());
                assert!((f - w).abs() <= self.tolerance, "{} {name}: {f} for {w} within {}", self.id, self.tolerance);
            }
            (Value::Array(f), Value::Array(w)) if f.len() == w.len() => f.iter().zip(w).for_each(|(f, w)| self.alike(f, w, name)),
            _ => assert_eq!(found, wanted, "{} {name}", self.id),
        }
    }
}

fn flat(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(all) => all.iter().flat_map(flat).collect(),
        one => vec![one.as_f64().unwrap()],
    }
}

static MET: Mutex<Vec<&str>> = Mutex::new(Vec::new());

/// Goes through the rows of a topic.
pub(crate) fn each(ids: &[&str], check: impl Fn(&Row)) {
    let rows: Vec<Row> = TABLE.lines().skip(1).filter(|l| ids.contains(&l.split('\t').next().unwrap())).map(Row::of).collect();
    assert_eq!(rows.len(), ids.len(), "every id of the topic is in the table");
    rows.iter().for_each(check);
    MET.lock().unwrap().extend(rows.iter().map(|r| r.id));
}

#[test]
fn every_row_belongs_to_a_topic() {
    let topics: [fn(); 7] = [clusters::rows, dispersal::rows, doors::rows, growth::rows, indices::rows, intervals::rows, water::rows];
    topics.iter().for_each(|topic| topic());
    let met = MET.lock().unwrap();
    let missing: Vec<&str> = TABLE.lines().skip(1).map(|l| l.split('\t').next().unwrap()).filter(|id| !met.contains(id)).collect();
    assert_eq!(json!(missing), json!(["CV112", "CV113"]), "the two are held by the tests of the room foresee");
    assert_eq!(TABLE.lines().count(), 91);
}
