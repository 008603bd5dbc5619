//! Room for the columns of a long file, so that they are not moved as they grow.

/// Rows further on may be longer than the first ones, which have told how long rows are.
const AMPLE: f64 = 1.1;

/// Makes room in a column for all rows of a file, of which there are so many times as it holds now.
pub(super) fn make_room<T>(column: &mut Vec<T>, times: f64) {
    column.reserve((column.len() as f64 * (AMPLE * times - 1.0)) as usize);
}
