//! What the window remembers from day to day: nothing about any survey but its file's name.

use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// What is remembered.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// A dark window.
    pub dark: bool,
    /// How large text and everything else is drawn.
    pub text: TextSize,
    /// The file of map tiles that lies under every survey, if any.
    pub ground: Option<PathBuf>,
    /// Surveys opened lately, the latest first.
    pub recent: Vec<PathBuf>,
    /// The file that remembers all this; without one nothing is remembered.
    #[serde(skip)]
    file: Option<PathBuf>,
}

/// How large text and everything else is drawn, in percent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "u16", into = "u16")]
pub struct TextSize(u16);

impl TextSize {
    /// The sizes there are.
    const STEPS: [u16; 8] = [80, 90, 100, 110, 125, 150, 175, 200];

    /// The next larger size; the same where there is none.
    #[must_use]
    pub fn larger(self) -> Self {
        Self::STEPS.into_iter().find(|s| *s > self.0).map_or(self, Self)
    }

    /// The next smaller size; the same where there is none.
    #[must_use]
    pub fn smaller(self) -> Self {
        Self::STEPS.into_iter().rev().find(|s| *s < self.0).map_or(self, Self)
    }

    /// The factor that the window is drawn larger by.
    pub fn factor(self) -> f32 {
        f32::from(self.0) / 100.0
    }

    /// The size in percent.
    pub fn percent(self) -> u16 {
        self.0
    }
}

impl Default for TextSize {
    fn default() -> Self {
        Self(100)
    }
}

/// Any number, as somebody may have typed it into the file: brought within the sizes there are.
impl From<u16> for TextSize {
    fn from(percent: u16) -> Self {
        Self(percent.clamp(80, 200))
    }
}

impl From<TextSize> for u16 {
    fn from(size: TextSize) -> Self {
        size.0
    }
}

impl Settings {
    /// The settings of a file; the usual ones where there is no such file or it cannot be read.
    pub fn read(file: Option<PathBuf>) -> Self {
        let text = file.as_deref().and_then(|f| std::fs::read_to_string(f).ok());
        let read: Self = text.and_then(|text| toml::from_str(&text).ok()).unwrap_or_default();
        Self { file, ..read }
    }

    /// Writes the settings into the file that they came from; a folder that cannot be written to is no reason to disturb anybody.
    pub fn write(&self) {
        let Some(file) = &self.file else { return };
        let Ok(text) = toml::to_string(self) else { return };
        if let Some(folder) = file.parent() {
            let _ = std::fs::create_dir_all(folder);
        }
        let _ = std::fs::write(file, text);
    }

    /// Where unsaved changes are kept that cannot lie beside their survey; none where nothing is remembered.
    pub fn unsaved_folder(&self) -> Option<PathBuf> {
        self.file.as_deref().and_then(unsaved_beside)
    }

    /// Puts a survey at the head of those opened lately.
    pub fn opened(&mut self, path: &Path) {
        self.recent.retain(|p| p != path);
        self.recent.insert(0, path.to_owned());
        self.recent.truncate(6);
    }
}

/// The folder for unsaved changes beside a file of settings.
pub fn unsaved_beside(settings: &Path) -> Option<PathBuf> {
    Some(settings.parent()?.join("unsaved"))
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
        let ground = Some(PathBuf::from("county.mbtiles"));
        let mut settings = Settings { dark: true, text: TextSize(150), ground, ..Settings::default() };
        settings.opened(Path::new("a.gpkg"));
        settings.opened(Path::new("b.gpkg"));
        settings.opened(Path::new("a.gpkg"));
        assert_eq!(settings.recent, [PathBuf::from("a.gpkg"), PathBuf::from("b.gpkg")]);
        let text = toml::to_string(&settings).unwrap();
        assert_eq!(toml::from_str::<Settings>(&text).unwrap(), settings);
    }

    #[test]
    fn text_grows_and_shrinks_within_its_sizes() {
        let usual: Settings = toml::from_str("dark = true").unwrap();
        assert_eq!(usual.text.percent(), 100);
        let all = std::iter::successors(Some(TextSize(80)), |t| Some(t.larger()).filter(|l| l != t));
        assert_eq!(all.map(TextSize::percent).collect::<Vec<_>>(), TextSize::STEPS);
        assert_eq!(TextSize::from(100).smaller().larger(), TextSize::default());
        assert_eq!((TextSize::from(7).percent(), TextSize::from(999).percent()), (80, 200));
    }
}
