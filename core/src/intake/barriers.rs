//! A file of lines that flight rarely crosses, for the reach.

use super::ground::{Ground, Needed};
use super::report::Account;
use super::{IntakeError, Role, choice};
use crate::files;
use crate::job::Watch;
use crate::place::{Crs, CrsFacts, Local, RawShapes};
use crate::reach::Kept;
use crate::survey::Survey;
use std::path::Path;

/// Reads barriers from a file of lines, into the survey's frame. Rows without a usable line are left out; `crs` is for a file
/// that names no coordinate system.
///
/// # Errors
/// [`IntakeError`] when the file cannot be read, names no coordinate system, or holds no line.
pub fn read_barriers(survey: &Survey, path: &Path, crs: Option<&Crs>, watch: &dyn Watch) -> Result<Kept, IntakeError> {
    let mut table = files::read(path, None, watch)?;
    let file = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
    table.name.clone_from(&file);
    let mut lines: Vec<Vec<Local>> = Vec::new();
    if table.has_shapes() {
        let mut account = Account::new(&file, &table, Role::Streets, &[]);
        let crs = choice::choose(&table, crs, true, &[], &mut account)?;
        let facts = CrsFacts::of(&crs.crs).map_err(|error| IntakeError::Crs { file: file.clone(), error })?;
        if facts.unit_metres.is_none() {
            table.shapes = with_places_between(&table.shapes);
        }
        let ground = Ground::lay(&mut table, &crs.crs, &survey.frame, Needed::Line, watch)?;
        let shapes = (0..table.rows).filter_map(|row| ground.shape(row));
        lines.extend(shapes.flat_map(|s| s.rings().map(<[Local]>::to_vec).collect::<Vec<_>>()).filter(|l| l.len() > 1));
    }
    if lines.is_empty() {
        return Err(IntakeError::NoLine { file });
    }
    // Sorted, so that the order of the file means nothing.
    lines.sort_by(|a, b| {
        let flat = |l: &[Local]| l.iter().flat_map(|p| [p.x, p.y]).collect::<Vec<f64>>();
        flat(a).iter().zip(&flat(b)).map(|(u, v)| u.total_cmp(v)).find(|o| o.is_ne()).unwrap_or_else(|| a.len().cmp(&b.len()))
    });
    Ok(Kept::new(&file, &lines))
}

/// Degrees between two places of a line, about half a kilometre: between such the line is straight to the width of a finger.
const STEP: f64 = 0.005;
/// Places put between two at most; what reaches farther lies in no district.
const MOST: f64 = 4000.0;

/// The same lines with places between those far apart. A line along a circle of latitude is straight in degrees and bent on the ground:
/// 20 km of it run 4 m beside the straight line between its ends, and a street that ends there would be cut on the wrong side of a door.
fn with_places_between(raw: &RawShapes) -> RawShapes {
    let mut out = RawShapes::default();
    for shape in 0..raw.len() {
        for part in raw.parts(shape) {
            for ring in part {
                out.xy.extend(ring.first());
                ring.windows(2).for_each(|w| lay_between(w[0], w[1], &mut out.xy));
                out.end_ring();
            }
            out.end_part();
        }
        out.end_shape();
    }
    out
}

fn lay_between(a: [f64; 2], b: [f64; 2], out: &mut Vec<[f64; 2]>) {
    let steps = ((b[0] - a[0]).hypot(b[1] - a[1]) / STEP).ceil();
    if steps <= MOST {
        let at = |k: f64| [a[0] + (b[0] - a[0]) * k / steps, a[1] + (b[1] - a[1]) * k / steps];
        out.extend((1..steps as u32).map(|k| at(f64::from(k))));
    }
    out.push(b);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Hint as _;
    use crate::job::Unwatched;
    use crate::place::{Frame, LonLat};

    /// A line from north to south through the middle of the district is 0 m east of it; a file without a line is told.
    #[test]
    fn lines_come_into_the_frame_and_their_order_means_nothing() {
        let survey = Survey::empty(Frame::centred_on(LonLat { lon: -90.0, lat: 30.0 }));
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, features: &str| {
            let path = folder.path().join(name);
            std::fs::write(&path, format!(r#"{{"type":"FeatureCollection","features":[{features}]}}"#)).unwrap();
            path
        };
        let line = |x: &str| {
            format!(
                r#"{{"type":"Feature","properties":{{}},"geometry":{{"type":"LineString","coordinates":[[{x},29.999],[{x},30.001]]}}}}"#
            )
        };
        let point = r#"{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[-90,30]}}"#;
        let one =
            read_barriers(&survey, &write("a.geojson", &format!("{},{},{point}", line("-90"), line("-90.001"))), None, &Unwatched).unwrap();
        let other = read_barriers(&survey, &write("b.geojson", &format!("{},{}", line("-90.001"), line("-90"))), None, &Unwatched).unwrap();
        assert_eq!((one.lines.len(), &one.lines, &*one.file), (2, &other.lines, "a.geojson"));
        assert!(one.lines.iter().any(|l| l[0][0].abs() < 1e-6 && (l[1][1] - l[0][1] - 221.7).abs() < 0.1));
        assert!((one.barriers().length() - 443.4).abs() < 0.2);
        // 20 km along a circle of latitude: every place of it is that far north, as RFC 7946, 3.1.1, wants of a line between two positions.
        let far = r#"{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[-90.1,30.01],[-89.9,30.01]]}}"#;
        let bent = read_barriers(&survey, &write("d.geojson", far), None, &Unwatched).unwrap();
        let middles = bent.lines[0].windows(2).map(|w| Local { x: (w[0][0] + w[1][0]) / 2.0, y: (w[0][1] + w[1][1]) / 2.0 });
        assert!(middles.map(|m| survey.frame.lon_lat_from_local(m).lat).all(|lat| (lat - 30.01).abs() < 1e-7));
        let told = read_barriers(&survey, &write("c.geojson", point), None, &Unwatched).unwrap_err();
        assert!(told.to_string().contains("no line") && told.hint().contains("lines"), "{told}");
    }
}
