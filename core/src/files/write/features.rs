//! What every writer takes: named columns and one shape a row.

use crate::place::{Frame, Local, LonLat, Shapes, inside};
use crate::survey::Strings;
use jiff::civil::Date;
use std::borrow::Cow;
use std::sync::Arc;

/// How the shapes of rows are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    /// As ground bounded by rings.
    Outlines,
    /// As runs of places.
    Lines,
    /// As single places: a part with a ring of one place.
    Points,
}

/// The cells of one column. `None` and an empty text are "no answer" and become an empty cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Values {
    /// Texts.
    Text(Strings),
    /// Whole numbers.
    Whole(Vec<Option<i64>>),
    /// Numbers, and with how many decimals to write them as text.
    Number(Vec<Option<f64>>, usize),
    /// Days.
    Day(Vec<Option<Date>>),
}

/// A named column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// The name in the file: lower case letters, digits and underscores.
    pub name: &'static str,
    /// The cells, one for each row.
    pub values: Values,
}

impl Column {
    /// A column of texts.
    pub fn text<S: AsRef<str>>(name: &'static str, texts: impl IntoIterator<Item = S>) -> Self {
        Self { name, values: Values::Text(texts.into_iter().collect()) }
    }

    /// A column of whole numbers.
    pub fn whole(name: &'static str, numbers: impl IntoIterator<Item = Option<i64>>) -> Self {
        Self { name, values: Values::Whole(numbers.into_iter().collect()) }
    }

    /// A column of numbers, written with some decimals where they are written as text.
    pub fn number(name: &'static str, decimals: usize, numbers: impl IntoIterator<Item = Option<f64>>) -> Self {
        Self { name, values: Values::Number(numbers.into_iter().collect(), decimals) }
    }

    /// A column of days.
    pub fn day(name: &'static str, days: impl IntoIterator<Item = Option<Date>>) -> Self {
        Self { name, values: Values::Day(days.into_iter().collect()) }
    }

    /// One cell as text; empty where there is no answer.
    pub fn cell(&self, row: usize) -> Cow<'_, str> {
        match &self.values {
            Values::Text(texts) => Cow::Borrowed(texts.get(row)),
            Values::Whole(v) => v[row].map_or(Cow::Borrowed(""), |n| Cow::Owned(n.to_string())),
            Values::Number(v, decimals) => v[row].map_or(Cow::Borrowed(""), |n| Cow::Owned(format!("{n:.decimals$}"))),
            Values::Day(v) => v[row].map_or(Cow::Borrowed(""), |d| Cow::Owned(d.to_string())),
        }
    }
}

/// Rows to hand out: columns, and a shape for each row.
///
/// ```
/// use std::sync::Arc;
/// use yardring_core::files::{Column, Drawn, Features, write_features};
/// use yardring_core::job::Unwatched;
/// use yardring_core::place::{Frame, LonLat, Shapes};
/// # let folder = tempfile::tempdir()?;
/// # let path = folder.path().join("yards.csv");
/// let frame = Frame::centred_on(LonLat { lon: -90.07, lat: 29.96 });
/// let mut nowhere = Shapes::default();
/// nowhere.end_shape();
/// let columns = vec![Column::text("parcel_id", ["7-12"]), Column::whole("attempts", [Some(2)])];
/// let yards = Features::new("yards", "Yards to see", columns).drawn(frame, Drawn::Outlines, Arc::new(nowhere));
/// write_features(&yards, &path, &Unwatched)?;
/// assert_eq!(std::fs::read_to_string(&path)?, "parcel_id,attempts,lon,lat\n7-12,2,,\n");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Features {
    pub(super) name: &'static str,
    pub(super) about: &'static str,
    pub(super) columns: Vec<Column>,
    pub(super) shapes: Option<(Frame, Drawn, Arc<Shapes>)>,
}

impl Features {
    /// Rows without shapes. The name is the layer's: lower case letters, digits and underscores; `about` says in words what
    /// the rows are.
    pub fn new(name: &'static str, about: &'static str, columns: Vec<Column>) -> Self {
        Self { name, about, columns, shapes: None }
    }

    /// The same rows with a shape each, in the district frame.
    #[must_use]
    pub fn drawn(mut self, frame: Frame, drawn: Drawn, shapes: Arc<Shapes>) -> Self {
        self.shapes = Some((frame, drawn, shapes));
        self
    }

    /// The columns, in their order.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// How many rows there are.
    pub fn rows(&self) -> usize {
        let cells = self.columns.first().map(|c| match &c.values {
            Values::Text(v) => v.len(),
            Values::Whole(v) => v.len(),
            Values::Number(v, _) => v.len(),
            Values::Day(v) => v.len(),
        });
        cells.or(self.shapes.as_ref().map(|s| s.2.len())).unwrap_or(0)
    }

    /// A place to write down for a row: inside an outline, on a line, or the place itself; `None` for a row without a shape.
    pub(super) fn place(&self, row: usize) -> Option<LonLat> {
        let (frame, drawn, shapes) = self.shapes.as_ref()?;
        let shape = shapes.get(row);
        let place: Option<Local> = match drawn {
            Drawn::Outlines => inside(shape),
            Drawn::Lines | Drawn::Points => shape.rings().next().and_then(|run| run.get(run.len() / 2).copied()),
        };
        place.map(|p| frame.lon_lat_from_local(p))
    }
}
