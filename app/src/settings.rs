//! What the window remembers from day to day: nothing about any survey but its file's name.

use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// What is remembered.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// A dark window.
    pub dark: bool,
    /// Surveys opened lately, the latest first.
    pub recent: Vec<PathBuf>,
}

impl Settings {
    /// The settings of a file; the usual ones where there is no such file or it cannot be read.
    pub fn read(file: Option<&Path>) -> Self {
        file.and_then(|f| std::fs::read_to_string(f).ok()).and_then(|text| toml::from_str(&text).ok()).unwrap_or_default()
    }

    /// Writes the settings; a folder that cannot be written to is no reason to disturb anybody.
    pub fn write(&self, file: Option<&Path>) {
        let Some(file) = file else { return };
        let Ok(text) = toml::to_string(self) else { return };
        if let Some(folder) = file.parent() {
            let _ = std::fs::create_dir_all(folder);
        }
        let _ = std::fs::write(file, text);
    }

    /// Puts a survey at the head of those opened lately.
    pub fn opened(&mut self, path: &Path) {
        self.recent.retain(|p| p != path);
        self.recent.insert(0, path.to_owned());
        self.recent.truncate(6);
    }
}

/// The folder for settings: what the system names, or `.config` in the user's own folder.
pub fn file() -> Option<PathBuf> {
    let named = std::env::var_os("XDG_CONFIG_HOME").or_else(|| std::env::var_os("APPDATA")).map(PathBuf::from);
    let folder = named.or_else(|| std::env::var_os("HOME").map(|home| PathBuf::from(home).join(".config")))?;
    Some(folder.join("yardring").join("settings.toml"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_come_back_as_they_were_written() {
        let mut settings = Settings { dark: true, recent: vec![] };
        settings.opened(Path::new("a.gpkg"));
        settings.opened(Path::new("b.gpkg"));
        settings.opened(Path::new("a.gpkg"));
        assert_eq!(settings.recent, [PathBuf::from("a.gpkg"), PathBuf::from("b.gpkg")]);
        let text = toml::to_string(&settings).unwrap();
        assert_eq!(toml::from_str::<Settings>(&text).unwrap(), settings);
    }
}
