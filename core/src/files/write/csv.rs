//! Rows as comma-separated text: UTF-8, a header, a point in decimals, an empty cell where there is no answer.

use super::{Failure, Features};
use crate::job::Watch;
use crate::place::LonLat;
use csv::WriterBuilder;
use rayon::prelude::*;
use std::path::Path;

/// Rows whose places are worked out at a stretch.
const STRETCH: usize = 8_192;

/// # Source
/// RFC 4180, with the line ends of its section 2 taken as a bare line feed, which every reader of it accepts.
pub(super) fn write(features: &Features, path: &Path, watch: &dyn Watch) -> Result<(), Failure> {
    let mut out = WriterBuilder::new().from_path(path).map_err(io)?;
    let places = features.shapes.as_ref().map(|_| ["lon", "lat"]);
    out.write_record(features.columns.iter().map(|c| c.name).chain(places.into_iter().flatten())).map_err(io)?;
    for from in (0..features.rows()).step_by(STRETCH) {
        watch.step("Writing the rows", from as u64, features.rows() as u64)?;
        let rows = from..(from + STRETCH).min(features.rows());
        let places: Vec<Option<LonLat>> = rows.clone().into_par_iter().map(|row| features.place(row)).collect();
        for (row, place) in rows.zip(places) {
            for column in &features.columns {
                out.write_field(column.cell(row).as_ref()).map_err(io)?;
            }
            if features.shapes.is_some() {
                out.write_field(place.map(|p| format!("{:.8}", p.lon)).unwrap_or_default()).map_err(io)?;
                out.write_field(place.map(|p| format!("{:.8}", p.lat)).unwrap_or_default()).map_err(io)?;
            }
            out.write_record(None::<&[u8]>).map_err(io)?;
        }
    }
    Ok(out.flush()?)
}

fn io(error: csv::Error) -> std::io::Error {
    error.into()
}
