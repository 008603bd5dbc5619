//! Views of the map that the office keeps under a name.

use super::{Survey, settings};
use crate::place::LonLat;
use std::fmt;
use std::str::FromStr;

/// A view of the map: its name, the place in its middle, and the zoom. Kept as one of the survey's settings.
#[derive(Clone, Debug, PartialEq)]
pub struct SavedView {
    /// The name it was given.
    pub name: Box<str>,
    /// The place in its middle.
    pub place: LonLat,
    /// The zoom: 0 shows half the globe, each whole step doubles the scale.
    pub zoom: f64,
}

impl SavedView {
    /// The name of the setting that keeps it.
    pub fn setting(&self) -> String {
        format!("{}{}", settings::VIEW, self.name)
    }
}

/// The place and the zoom as the setting holds them: longitude, latitude, zoom.
impl fmt::Display for SavedView {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.7} {:.7} {:.3}", self.place.lon, self.place.lat, self.zoom)
    }
}

/// What a setting holds.
struct Kept(LonLat, f64);

impl FromStr for Kept {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        let numbers: Vec<f64> = text.split_whitespace().map(str::parse).collect::<Result<_, _>>().map_err(|_| ())?;
        let [lon, lat, zoom] = numbers[..] else { return Err(()) };
        let place = LonLat::new(lon, lat).ok_or(())?;
        if zoom.is_finite() { Ok(Self(place, zoom)) } else { Err(()) }
    }
}

impl Survey {
    /// The views that were saved, in the order of their names. One whose setting cannot be read is left out.
    ///
    /// ```
    /// use yardring_core::place::{Frame, LonLat};
    /// use yardring_core::store::{Edit, apply};
    /// use yardring_core::survey::{SavedView, Survey};
    /// let centre = LonLat { lon: -90.07, lat: 29.96 };
    /// let mut survey = Survey::empty(Frame::centred_on(centre));
    /// let mill = SavedView { name: "Mill quarter".into(), place: centre, zoom: 15.5 };
    /// apply(&mut survey, Edit::save_view(&mill))?;
    /// assert_eq!(survey.views(), [mill]);
    /// apply(&mut survey, Edit::forget_view("Mill quarter"))?;
    /// assert!(survey.views().is_empty());
    /// # Ok::<(), yardring_core::store::EditError>(())
    /// ```
    pub fn views(&self) -> Vec<SavedView> {
        let kept = self.settings.iter().filter_map(|(name, value)| Some((name.strip_prefix(settings::VIEW)?, value.parse().ok()?)));
        kept.map(|(name, Kept(place, zoom))| SavedView { name: name.into(), place, zoom }).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Frame;
    use std::sync::Arc;

    #[test]
    fn what_cannot_be_read_is_no_view() {
        let mut survey = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
        let all = Arc::make_mut(&mut survey.settings);
        for (name, value) in [("view: a", "1 2 3"), ("view: b", "1 2"), ("view: c", "200 2 3"), ("view: d", "x y z"), ("name", "1 2 3")] {
            all.insert(name.into(), value.into());
        }
        let names: Vec<_> = survey.views().into_iter().map(|v| v.name).collect();
        assert_eq!(names, ["a".into()]);
    }
}
