//! What was said about files that were brought in, for the next file with the same columns.

use super::{ColumnMap, DateOrder, Role};
use crate::survey::{Survey, settings};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// One file that was brought in.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
struct FileSeen {
    table: String,
    columns: Vec<String>,
    /// The column map that somebody gave, as TOML.
    map: String,
    /// Every column that was used, as the TOML of a column map.
    #[serde(default)]
    used: String,
    /// The name of the round of rows that name none.
    round: Option<String>,
    /// The order that its dates were read in.
    order: Option<String>,
}

/// The files that a survey remembers, by name.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub(super) struct FilesSeen(BTreeMap<String, FileSeen>);

impl FilesSeen {
    /// The files that a survey remembers; none when another program has spoiled that.
    pub(super) fn of(survey: &Survey) -> Self {
        survey.settings.get(settings::FILES_SEEN).and_then(|text| serde_json::from_str(text).ok()).unwrap_or_default()
    }

    /// Remembers a file in a survey.
    pub(super) fn remember(
        survey: &mut Survey,
        file: &str,
        (role, map, used): (Role, &ColumnMap, &ColumnMap),
        columns: &[String],
        (round, order): (Option<String>, Option<DateOrder>),
    ) {
        let mut all = Self::of(survey);
        let seen = FileSeen {
            table: role.name().to_owned(),
            columns: columns.to_vec(),
            map: map.only(role).to_toml(),
            used: used.to_toml(),
            round,
            order: order.map(|o| o.to_string()),
        };
        all.0.insert(file.to_owned(), seen);
        if let Ok(text) = serde_json::to_string(&all) {
            Arc::make_mut(&mut survey.settings).insert(settings::FILES_SEEN.into(), text.into());
        }
    }

    /// The map that was given for a file with the same columns: the one with the same name, or else the last by name.
    pub(super) fn map_for(&self, file: &str, role: Role, columns: &[String]) -> Option<ColumnMap> {
        let fits = |seen: &&FileSeen| seen.table == role.name() && seen.columns == columns && !seen.map.is_empty();
        let seen = self.0.get(file).filter(fits).or_else(|| self.0.values().rev().find(fits))?;
        ColumnMap::from_toml(&seen.map).ok()
    }

    /// The map that reads the waiting rows of a file as the file was read.
    pub(super) fn map_as_read(&self, file: &str, role: Role, columns: &[String]) -> ColumnMap {
        let used = self.0.get(file).filter(|seen| seen.table == role.name() && seen.columns == columns).map(|seen| &*seen.used);
        let used = used.and_then(|text| ColumnMap::from_toml(text).ok()).unwrap_or_default();
        used.under(&self.map_for(file, role, columns).unwrap_or_default())
    }

    /// The order that a file's dates were read in.
    pub(super) fn order_of(&self, file: &str) -> Option<DateOrder> {
        self.0.get(file)?.order.as_ref()?.parse().ok()
    }

    /// The round of a file's rows that name none.
    pub(super) fn round_of(&self, file: &str) -> Option<String> {
        self.0.get(file)?.round.clone()
    }
}
