//! A file of lines that flight rarely crosses, for the reach.

use super::ground::{Ground, Needed};
use super::report::Account;
use super::{IntakeError, Role, choice};
use crate::files;
use crate::job::Watch;
use crate::place::{Crs, Local};
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
        let ground = Ground::lay(&mut table, &crs, &survey.frame, Needed::Line, watch)?;
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
        let told = read_barriers(&survey, &write("c.geojson", point), None, &Unwatched).unwrap_err();
        assert!(told.to_string().contains("no line") && told.hint().contains("lines"), "{told}");
    }
}
