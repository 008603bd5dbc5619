//! The place that a row names: by its lon and lat columns, or by its point.

use super::ground::{Fate, Ground};
use super::{Match, cells};
use crate::files::Table;
use crate::place::{Frame, Local, LonLat};

/// Where the rows of a table are.
pub(super) struct Points<'a> {
    table: &'a Table,
    columns: Option<(usize, usize)>,
    ground: &'a Ground,
    frame: &'a Frame,
}

/// The place of one row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Point {
    /// Nothing is said about it.
    Unsaid,
    /// It is here, in the district frame.
    At(Local),
    /// Something is said that is no place on the earth, or none near the district.
    Unusable,
}

impl<'a> Points<'a> {
    pub(super) fn new(table: &'a Table, matched: &Match, ground: &'a Ground, frame: &'a Frame) -> Self {
        Self { table, columns: matched.column("lon").zip(matched.column("lat")), ground, frame }
    }

    /// The place of a row: its columns count before its point.
    pub(super) fn of(&self, row: usize) -> Point {
        match self.by_columns(row) {
            Point::Unsaid => match (self.ground.fate(row), self.ground.shape(row)) {
                (_, Some(shape)) => Point::At(shape.places()[0]),
                (Fate::Unusable, None) => Point::Unusable,
                _ => Point::Unsaid,
            },
            said => said,
        }
    }

    fn by_columns(&self, row: usize) -> Point {
        let Some((lon, lat)) = self.columns else { return Point::Unsaid };
        let (lon, lat) = (self.table.cell(row, lon), self.table.cell(row, lat));
        if lon.is_empty() && lat.is_empty() {
            return Point::Unsaid;
        }
        match cells::degrees(&lon).zip(cells::degrees(&lat)).and_then(|(lon, lat)| LonLat::new(lon, lat)) {
            Some(there) => self.near(there),
            None => Point::Unusable,
        }
    }

    /// In the frame, unless it lies so far away that the frame has no meaning there.
    fn near(&self, there: LonLat) -> Point {
        let centre = self.frame.centre();
        let apart = (there.lon - centre.lon).abs();
        if (there.lat - centre.lat).abs() > 20.0 || apart.min(360.0 - apart) > 30.0 {
            return Point::Unusable;
        }
        Point::At(self.frame.local_from_lon_lat(there))
    }
}
