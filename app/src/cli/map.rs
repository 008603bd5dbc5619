//! `yardring map SURVEY`: one map, painted off screen.

use super::opened::Opened;
use super::reach_wanted::ReachWanted;
use super::{Done, Failure, Output};
use clap::Args;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::Arc;
use yardring_core::brief::breaks::{Breaks, Classing};
use yardring_core::brief::classes::ColourBy;
use yardring_core::brief::{Format, Ground, MapRequest, Painted, paint_map};
use yardring_core::files::{TileFile, write_bytes};
use yardring_core::survey::RoundId;

/// One map of the district with its legend, painted off screen.
#[derive(Debug, Args)]
pub struct Map {
    #[command(flatten)]
    reach: ReachWanted,
    /// What the map is coloured by: house-index, containers, coverage, gaps, foreseen, hot-spots, clusters or change.
    #[arg(long)]
    colour_by: ColourBy,
    /// With --colour-by change: the earlier round, by its name; otherwise the one before.
    #[arg(long, value_name = "ROUND")]
    since: Option<String>,
    /// How values become classes: programme (limits that a programme reads the measure by), equal (classes of equal width) or
    /// quantile (classes that hold about as many).
    #[arg(long, default_value = "programme")]
    breaks: Breaks,
    /// Into how many classes: 3, 4 or 5.
    #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u8).range(3..=5))]
    classes: u8,
    /// Blocks of which a smaller share was inspected are hatched, in per cent.
    #[arg(long, default_value_t = 25, value_parser = clap::value_parser!(u8).range(0..=100))]
    hatch_under: u8,
    /// Width and height in pixels, as 1600x1200.
    #[arg(long, default_value = "1600x1200")]
    size: Size,
    /// The district's name for the heading; otherwise the name of the survey's file.
    #[arg(long)]
    title: Option<String>,
    /// Pictures of the ground to lie underneath: a .pmtiles or .mbtiles file. Whoever made them is named on the map.
    #[arg(long, value_name = "FILE")]
    ground: Option<PathBuf>,
    /// Write the map to this file; its ending picks the format: .png, .svg or .pdf.
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
        let format = format_of(&self.out)?;
        let ground = self.ground.as_deref().map(TileFile::open).transpose()?.map(|file| Ground { file: Arc::new(file) });
        let asked = self.reach.open_unvisited(output)?;
        let request = MapRequest {
            district: self.title.clone().unwrap_or_else(|| self.reach.survey_name()),
            round: asked.opened.round,
            since: self.since(&asked.opened)?,
            colour_by: self.colour_by,
            classing: Classing { breaks: self.breaks, classes: self.classes.into(), enough: f64::from(self.hatch_under) / 100.0 },
            size: (self.size.0, self.size.1),
            format,
            reach: asked.wanted,
            unmasked: asked.unmasked,
            ground,
        };
        let painted = paint_map(&asked.opened.survey, &request, output)?;
        write_bytes(&painted.bytes, &self.out).map_err(|error| {
            Failure::new(format!("{} cannot be written: {error}", self.out.display()), "Choose a folder that you may write to")
        })?;
        let round = asked.opened.round_name().ok();
        output.answer(&words(&painted, &self.out), || machine(&painted, &request, round));
        Ok(if painted.refusal.is_some() { Done::Warned } else { Done::Clean })
    }
}

impl Map {
    /// The earlier round that was asked for by name.
    fn since(&self, opened: &Opened) -> Result<Option<RoundId>, Failure> {
        let Some(name) = self.since.as_deref() else { return Ok(None) };
        if self.colour_by != ColourBy::Change {
            return Err(Failure::new("--since belongs to a map of change", "Leave it out, or ask for --colour-by change"));
        }
        let since = opened.named(name)?;
        if Some(since) == opened.round {
            return Err(Failure::new(format!("--since names '{name}', the round of the map itself"), "Name an earlier round"));
        }
        Ok(Some(since))
    }
}

fn format_of(path: &Path) -> Result<Format, Failure> {
    let hint = "Give a name that ends in .png, .svg or .pdf";
    Format::of(path).ok_or_else(|| Failure::new(format!("A map cannot be written to {}", path.display()), hint))
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
    match painted.refusal {
        Some(refusal) => out.push_str(&format!("No chances are shown: {refusal}.\n")),
        None if !painted.classes.breaks_from.is_empty() => out.push_str(&format!("{}\n", painted.classes.breaks_from)),
        None => {}
    }
    out + &format!("Written to {}\n", path.display())
}

fn machine(painted: &Painted, request: &MapRequest, round: Option<&str>) -> Value {
    let legend = painted.classes.legend();
    let legend: Vec<Value> = legend.iter().map(|l| json!({ "label": l.label, "count": l.count })).collect();
    json!({
        "colour_by": request.colour_by.word(),
        "round": round,
        "counts": painted.classes.unit,
        "width": request.size.0,
        "height": request.size.1,
        "counted": painted.classes.counted(),
        "legend": legend,
        "gaps": painted.gaps,
        "ground": request.ground.as_ref().map(|g| g.file.credit()),
        "breaks": request.classing.breaks.word(),
        "breaks_from": painted.classes.breaks_from,
        "refused": painted.refusal.map(|r| r.to_string()),
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
        assert!(matches!(format_of(Path::new("a/MAP.PNG")), Ok(Format::Png)));
        for bad in ["map.jpg", "map.ps", "map"] {
            let told = format_of(Path::new(bad)).unwrap_err().to_string();
            assert!(told.contains(bad) && told.contains(".png, .svg or .pdf"), "{told}");
        }
    }
}
