//! `yardring map SURVEY`: one map, painted off screen.

use super::opened::Opened;
use super::reach_wanted::ReachWanted;
use super::{Done, Failure, Output};
use crate::map::points_per_metre;
use clap::Args;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::Arc;
use yardring_core::brief::breaks::{Breaks, Classing};
use yardring_core::brief::classes::ColourBy;
use yardring_core::brief::{Format, Ground, MapRequest, MapSize, Painted, paint_map};
use yardring_core::files::{TileFile, write_bytes};
use yardring_core::place::{Bounds, Local, LonLat};
use yardring_core::store::{Parts, planned_day};
use yardring_core::survey::{RoundId, Survey};
use yardring_core::units::Metres;
use yardring_core::walks::Day;

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
    /// Width and height in pixels, as 1600x1200; or a sheet of paper, lying: a4 or a3, with 300 dots an inch where the file is a picture.
    #[arg(long, default_value = "1600x1200")]
    size: Size,
    /// Show what a view that was saved in the window shows, by its name, instead of the whole district.
    #[arg(long, value_name = "NAME", conflicts_with = "around")]
    view: Option<String>,
    /// Show the ground round a place instead of the whole district: longitude and latitude in degrees, as -90.07,29.96.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true)]
    around: Option<Around>,
    /// With --around: how far the ground reaches from side to side, with its unit: 800m or 0.5mi.
    #[arg(long, default_value = "800m", requires = "around")]
    across: Metres,
    /// The district's name for the heading; otherwise the name of the survey's file.
    #[arg(long)]
    title: Option<String>,
    /// Draw the walks of the day that was planned last and is kept in the survey, all crews.
    #[arg(long)]
    walks: bool,
    /// Pictures of the ground to lie underneath: a .pmtiles or .mbtiles file. Whoever made them is named on the map.
    #[arg(long, value_name = "FILE")]
    ground: Option<PathBuf>,
    /// Write the map to this file; its ending picks the format: .png, .svg or .pdf.
    #[arg(long)]
    out: PathBuf,
}

/// Width and height of a picture in pixels, or a sheet of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Size(MapSize);

impl FromStr for Size {
    type Err = NotASize;

    fn from_str(text: &str) -> Result<Self, NotASize> {
        let wrong = || NotASize { given: text.to_owned() };
        let sheet = |s: &MapSize| s.word().is_some_and(|word| word.eq_ignore_ascii_case(text.trim()));
        if let Some(sheet) = [MapSize::A4, MapSize::A3].into_iter().find(sheet) {
            return Ok(Self(sheet));
        }
        let (width, height) = text.trim().split_once(['x', 'X', '×']).ok_or_else(wrong)?;
        let side = |s: &str| s.trim().parse::<u32>().map_err(|_| wrong());
        Ok(Self(MapSize::Pixels(side(width)?, side(height)?)))
    }
}

/// A text that is not a size.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{given}' is not a size: write width and height in pixels, as 1600x1200, or a4 or a3")]
struct NotASize {
    given: String,
}

/// A place to show the ground round.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Around(LonLat);

impl FromStr for Around {
    type Err = NotAPlace;

    fn from_str(text: &str) -> Result<Self, NotAPlace> {
        let numbers: Result<Vec<f64>, _> = text.split([',', ' ']).filter(|s| !s.is_empty()).map(str::parse).collect();
        let place = numbers.ok().and_then(|n| if let [lon, lat] = n[..] { LonLat::new(lon, lat) } else { None });
        place.map(Self).ok_or_else(|| NotAPlace { given: text.to_owned() })
    }
}

/// A text that is not a place.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{given}' is not a place: write longitude and latitude in degrees, as -90.07,29.96")]
struct NotAPlace {
    given: String,
}

/// A saved view is shown as a map in the window of so many points wide and high shows it.
const WINDOW: (f64, f64) = (1000.0, 750.0);

impl Map {
    /// Paints the map and writes it.
    ///
    /// # Errors
    /// [`Failure`] when the file's ending is not known, the survey cannot be read, or the map cannot be painted or written.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let format = format_of(&self.out)?;
        let ground = self.ground.as_deref().map(TileFile::open).transpose()?.map(|file| Ground { file: Arc::new(file) });
        let asked = self.reach.open_unvisited(Parts::EVERYTHING, output)?;
        let request = MapRequest {
            district: self.title.clone().unwrap_or_else(|| self.reach.survey_name()),
            round: asked.opened.round,
            since: self.since(&asked.opened)?,
            colour_by: self.colour_by,
            classing: Classing { breaks: self.breaks, classes: self.classes.into(), enough: f64::from(self.hatch_under) / 100.0 },
            size: self.size.0,
            part: self.part(&asked.opened.survey)?,
            walks: self.day(&asked.opened.survey)?,
            format,
            reach: asked.wanted,
            unmasked: asked.unmasked,
            ground,
        };
        let painted = paint_map(&asked.opened.survey, &request, output)?;
        write_bytes(&painted.bytes, &self.out).map_err(|error| Failure::unwritten(&self.out, &error))?;
        let round = asked.opened.round_name().ok();
        output.answer(&words(&painted, &self.out), || machine(&painted, &request, round));
        Ok(if painted.refusal.is_some() { Done::Warned } else { Done::Clean })
    }
}

impl Map {
    /// The part of the ground that was asked for; `None` for the whole district.
    fn part(&self, survey: &Survey) -> Result<Option<Bounds>, Failure> {
        let round = |place: LonLat, (width, height): (f64, f64)| {
            let middle = survey.frame.local_from_lon_lat(place);
            let (x, y) = (width / 2.0, height / 2.0);
            Bounds::of(&[Local { x: middle.x - x, y: middle.y - y }, Local { x: middle.x + x, y: middle.y + y }])
        };
        if let Some(Around(place)) = self.around {
            let across = self.across.0;
            if across <= 0.0 || across.is_nan() {
                return Err(Failure::new("--across is no length", "Give how far the ground reaches from side to side, as 800m"));
            }
            return Ok(Some(round(place, (across, across))));
        }
        let Some(name) = self.view.as_deref() else { return Ok(None) };
        let kept = survey.views().into_iter().find(|v| &*v.name == name).ok_or_else(|| {
            Failure::new(format!("The survey keeps no view called '{name}'"), "yardring views SURVEY lists those it keeps")
        })?;
        let metres = 1.0 / points_per_metre(kept.zoom);
        Ok(Some(round(kept.place, (WINDOW.0 * metres, WINDOW.1 * metres))))
    }

    /// The day whose walks are drawn.
    fn day(&self, survey: &Survey) -> Result<Option<Arc<Day>>, Failure> {
        if !self.walks {
            return Ok(None);
        }
        let day = planned_day(survey).filter(|d| d.walks.iter().any(|w| !w.doors.is_empty()));
        let none = || Failure::new("The survey keeps no walks", "Plan a day first: yardring walks SURVEY --on DAY --start LON,LAT");
        day.map(|d| Some(Arc::new(d))).ok_or_else(none)
    }

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
    let nothing = if painted.classes.colour_by == ColourBy::Change { "No change is shown" } else { "No chances are shown" };
    match &painted.refusal {
        Some(refusal) => out.push_str(&format!("{nothing}: {refusal}.\n")),
        None if !painted.classes.breaks_from.is_empty() => out.push_str(&format!("{}\n", painted.classes.breaks_from)),
        None => {}
    }
    out + &format!("Written to {}\n", path.display())
}

fn machine(painted: &Painted, request: &MapRequest, round: Option<&str>) -> Value {
    let size = request.size.pixels(request.format);
    let corners = request.part.map(|p| [p.min.x, p.min.y, p.max.x, p.max.y]);
    let legend = painted.classes.legend();
    let legend: Vec<Value> = legend.iter().map(|l| json!({ "label": l.label, "count": l.count })).collect();
    json!({
        "colour_by": request.colour_by.word(),
        "round": round,
        "counts": painted.classes.unit,
        "width": size.0,
        "height": size.1,
        "part_m": corners,
        "walks": request.walks.as_ref().map(|d| d.on.to_string()),
        "counted": painted.classes.counted(),
        "legend": legend,
        "gaps": painted.gaps,
        "ground": request.ground.as_ref().map(|g| g.file.credit()),
        "breaks": request.classing.breaks.word(),
        "breaks_from": painted.classes.breaks_from,
        "refused": painted.refusal,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_and_others_are_told() {
        assert_eq!(" 1600x1200".parse(), Ok(Size(MapSize::Pixels(1600, 1200))));
        assert_eq!(("A4".parse(), "a3".parse()), (Ok(Size(MapSize::A4)), Ok(Size(MapSize::A3))));
        for bad in ["1600", "x", "-1x3", "1600x12.5", "axb"] {
            let told = bad.parse::<Size>().unwrap_err().to_string();
            assert!(told.contains("as 1600x1200"), "{told}");
        }
    }

    #[test]
    fn places_are_read_east_first_and_others_are_told() {
        let there = Ok(Around(LonLat { lon: -90.07, lat: 29.96 }));
        assert_eq!(["-90.07,29.96", "-90.07, 29.96", "-90.07 29.96"].map(str::parse), [there.clone(), there.clone(), there]);
        for bad in ["", "12", "a,b", "12,99", "1,2,3"] {
            assert!(bad.parse::<Around>().unwrap_err().to_string().contains("as -90.07,29.96"), "{bad}");
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
