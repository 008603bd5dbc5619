//! Tables that the window and the command line hand out alike.

use std::collections::BTreeMap;
use yardring_core::files::Features;
use yardring_core::measure::{Counts, Intervals, Spot, by_block, group_columns, spots};
use yardring_core::survey::{BlockId, RefusedRow, Standing, Survey};

/// A group's name, its counts, how sure its indices are, and where it stands among the others.
pub type Group = (String, Counts, Intervals, Spot);

/// The measures of every block in a round by the block's id, which is empty for premises in no block.
pub fn blocks(survey: &Survey, standings: &[Standing]) -> Vec<Group> {
    let ids = &survey.blocks.block_id;
    let counted = by_block(survey, standings);
    let sure = Intervals::by_block(survey, standings, &counted);
    let name = |block: Option<BlockId>| block.map_or_else(String::new, |b| ids.get(b.row()).to_owned());
    let spots = spots(survey, &counted);
    counted.into_iter().zip(sure).zip(spots).map(|(((block, counts), sure), spot)| (name(block), counts, sure, spot)).collect()
}

/// Measures of groups with their intervals as rows to hand out; `column` names what is grouped by.
pub fn indices(column: &'static str, groups: &[Group]) -> Features {
    let counts: Vec<Counts> = groups.iter().map(|g| g.1).collect();
    let sure: Vec<Intervals> = groups.iter().map(|g| g.2).collect();
    let spots: Vec<Spot> = groups.iter().map(|g| g.3).collect();
    let columns = group_columns(column, groups.iter().map(|g| &g.0).collect(), &counts, &sure, &spots);
    Features::new("indices", "Indices with their intervals", columns)
}

/// The refused rows with their cells, one column for each name that a refused row has; a name that a row has twice gets two.
///
/// # Errors
/// What the writer says when a row cannot be written.
pub fn refused_csv(rows: &[RefusedRow]) -> Result<Vec<u8>, csv::Error> {
    let mut places: BTreeMap<(&str, usize), usize> = BTreeMap::new();
    let mut header = ["file", "table", "row", "reason"].map(str::to_owned).to_vec();
    for row in rows {
        for (name, times) in numbered(row) {
            places.entry((name, times)).or_insert_with(|| {
                header.push(name.to_owned());
                header.len() - 1
            });
        }
    }
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header)?;
    for row in rows {
        let mut record = vec![String::new(); header.len()];
        record[..4].clone_from_slice(&[row.file.to_string(), row.table.to_string(), row.row.to_string(), row.reason.to_string()]);
        for (key, (_, text)) in numbered(row).into_iter().zip(&row.cells) {
            record[places[&key]] = text.to_string();
        }
        writer.write_record(&record)?;
    }
    writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}

/// The names of a row's cells, each with how often it stood before in the same row.
fn numbered(row: &RefusedRow) -> Vec<(&str, usize)> {
    let names = || row.cells.iter().map(|(name, _)| &**name);
    names().enumerate().map(|(i, name)| (name, names().take(i).filter(|n| *n == name).count())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refused_rows_of_several_files_stand_in_one_table() {
        let row = |file: &str, cells: &[(&str, &str)]| RefusedRow {
            file: file.into(),
            table: "visits".into(),
            row: 7,
            reason: "why, not".into(),
            cells: cells.iter().map(|(n, t)| ((*n).into(), (*t).into())).collect(),
        };
        let csv = refused_csv(&[row("a.csv", &[("lon", "1"), ("NOTE", "x"), ("NOTE", "y")]), row("b.csv", &[("NOTE", "z"), ("day", "2")])]);
        let text = String::from_utf8(csv.unwrap()).unwrap();
        assert_eq!(
            text,
            "file,table,row,reason,lon,NOTE,NOTE,day\na.csv,visits,7,\"why, not\",1,x,y,\nb.csv,visits,7,\"why, not\",,z,,2\n"
        );
    }
}
