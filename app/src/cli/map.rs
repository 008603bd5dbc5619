//! `yardring map SURVEY`: one map, painted off screen.

use super::reach_wanted::ReachWanted;
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::str::FromStr;
use yardring_core::brief::classes::ColourBy;
use yardring_core::brief::{MapRequest, Painted, paint_map};
use yardring_core::survey::RoundId;

/// One map of the district with its legend, painted off screen.
#[derive(Debug, Args)]
pub struct Map {
    #[command(flatten)]
    reach: ReachWanted,
    /// What the map is coloured by: house-index, containers, coverage, gaps or foreseen.
    #[arg(long)]
    colour_by: ColourBy,
    /// Width and height in pixels, as 1600x1200.
    #[arg(long, default_value = "1600x1200")]
    size: Size,
    /// The district's name for the heading; otherwise the name of the survey's file.
    #[arg(long)]
    title: Option<String>,
    /// Shows cases where they are. Keep such a map inside the office.
    #[arg(long)]
    unmasked: bool,
    /// Write the map to this file, which must end in .png.
    #[arg(long)]
    out: PathBuf,
}

/// Width and height of a picture in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Size(u32, u32);

impl FromStr for Size {
    type Err = NotASize;

    fn from_str(text: &str) -> Result<Self, NotASize> {
        let wrong = || NotASize { given: text.to_owned() };
        let (width, height) = text.trim().split_once(['x', 'X', '×']).ok_or_else(wrong)?;
        let side = |s: &str| s.trim().parse::<u32>().map_err(|_| wrong());
        Ok(Self(side(width)?, side(height)?))
    }
}

/// A text that is not a size.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{given}' is not a size: write width and height in pixels, as 1600x1200")]
struct NotASize {
    given: String,
}

impl Map {
    /// Paints the map and writes it.
    ///
    /// # Errors
    /// [`Failure`] when the file's ending is not known, the survey cannot be read, or the map cannot be painted or written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        check_ending(&self.out)?;
        let asked = self.reach.open(output)?;
        asked.opened.round_name()?;
        let request = MapRequest {
            district: self.title.clone().unwrap_or_else(|| self.reach.survey_name()),
            round: asked.opened.round.unwrap_or(RoundId(0)),
            colour_by: self.colour_by,
            size: (self.size.0, self.size.1),
            reach: asked.wanted,
            unmasked: self.unmasked,
        };
        let painted = paint_map(&asked.opened.survey, &request, output)?;
        std::fs::write(&self.out, &painted.png).map_err(|error| {
            Failure::new(format!("{} cannot be written: {error}", self.out.display()), "Choose a folder that you may write to")
        })?;
        let round = asked.opened.round_name()?;
        output.answer(&words(&painted, &self.out), || machine(&painted, &request, round));
        Ok(Done::Clean)
    }
}

fn check_ending(path: &Path) -> Result<(), Failure> {
    let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    if ending == "png" {
        return Ok(());
    }
    Err(Failure::new(format!("A map cannot be written to {}", path.display()), "Only .png can be written; give a name that ends in .png"))
}

fn words(painted: &Painted, path: &Path) -> String {
    let counted = painted.classes.counted();
    let mut out = format!("{}, counted in {counted}\n", painted.classes.colour_by.heading());
    for line in painted.classes.legend() {
        out.push_str(&format!("{:>7} {}\n", line.count, line.label));
    }
    if let Some(gaps) = painted.gaps {
        out.push_str(&format!("{gaps} {} inside the reach not inspected\n", if gaps == 1 { "yard" } else { "yards" }));
    }
    out + &format!("Written to {}\n", path.display())
}

fn machine(painted: &Painted, request: &MapRequest, round: &str) -> Value {
    let legend = painted.classes.legend();
    let legend: Vec<Value> = legend.iter().map(|l| json!({ "label": l.label, "count": l.count })).collect();
    json!({
        "colour_by": request.colour_by.word(),
        "round": round,
        "width": request.size.0,
        "height": request.size.1,
        "counted": painted.classes.counted(),
        "legend": legend,
        "gaps": painted.gaps,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_and_others_are_told() {
        assert_eq!(" 1600x1200".parse(), Ok(Size(1600, 1200)));
        for bad in ["1600", "x", "-1x3", "1600x12.5", "axb"] {
            let told = bad.parse::<Size>().unwrap_err().to_string();
            assert!(told.contains("as 1600x1200"), "{told}");
        }
    }

    #[test]
    fn other_endings_are_told_what_is_possible() {
        assert!(check_ending(Path::new("a/MAP.PNG")).is_ok());
        for bad in ["map.svg", "map.pdf", "map"] {
            let told = check_ending(Path::new(bad)).unwrap_err().to_string();
            assert!(told.contains(bad) && told.contains(".png"), "{told}");
        }
    }
}
