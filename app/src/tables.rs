//! Tables that the window and the command line hand out alike.

use crate::ui::words::sentence;
use std::collections::BTreeMap;
use yardring_core::brief::ChartWords;
use yardring_core::brief::words::{NOT_SEEN, beside_words, grouped, less_words};
use yardring_core::files::{Column, Features};
use yardring_core::measure::{
    Access, Among, AreaChange, AreaRound, BAND_COLUMNS, Clustering, Compared, Counts, Crowd, DensityOf, FALSE_SHARE, Heat, Interval,
    Intervals, KindCounts, KindShare, LARGEST_CIRCLE, MOST_RESHUFFLES, Neighbours, Programmes, RESHUFFLES, Reduction, RoundChange, Spot,
    access, access_columns, by_block, density_figure, group_columns, kind_columns, spots,
};
use yardring_core::survey::{BlockId, CONTAINER_COLUMNS, ContainerKnowledge, KindId, RefusedRow, RoundId, Standing, Survey};

pub use yardring_core::measure::{KEY_SHARE, SEED};

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

/// How far crews got in every block of a round, in the order of [`blocks`].
pub fn blocks_access(survey: &Survey, round: Option<RoundId>, standings: &[Standing]) -> Vec<Access> {
    let none = survey.blocks.len();
    let block = |i: usize| Some(survey.premises.block[i].map_or(none, BlockId::row));
    let all = round.map_or_else(|| vec![Access::default(); none + 1], |r| access(survey, r, standings, none + 1, block));
    by_block(survey, standings).iter().map(|(block, _)| all[block.map_or(none, BlockId::row)]).collect()
}

/// Measures of groups with their intervals as rows to hand out; `column` names what is grouped by, `access` says how far crews
/// got in each; bands are those of the survey's district.
pub fn indices(survey: &Survey, column: &'static str, groups: &[Group], access: &[Access]) -> Features {
    let counts: Vec<Counts> = groups.iter().map(|g| g.1).collect();
    let sure: Vec<Intervals> = groups.iter().map(|g| g.2).collect();
    let spots: Vec<Spot> = groups.iter().map(|g| g.3).collect();
    let mut columns = group_columns(column, groups.iter().map(|g| &g.0).collect(), &counts, &sure, &spots);
    columns.extend(access_columns(&counts, &sure, access, &Programmes::of(survey)));
    Features::new("indices", "Indices with their intervals", columns)
}

/// Measures of a group that stand behind the three indices, each with its word: what the window and the command line list.
pub fn further(c: &Counts, sure: &Intervals, a: &Access, programmes: &Programmes) -> Vec<(String, String)> {
    let percent = |v: Option<f64>| v.map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.0} %"));
    let bounds = match c.house_index_bounds() {
        Some(i) if c.inspected > 0 => format!("{:.0}–{:.0} %", i.low, i.high),
        _ => NOT_SEEN.to_owned(),
    };
    let density = |of, index: Option<f64>| index.map_or_else(|| "–".to_owned(), |v| density_figure(of, v).to_string());
    let figures = [
        density(DensityOf::House, c.house_index()),
        density(DensityOf::Container, c.container_index()),
        density(DensityOf::Breteau, c.breteau_index()),
    ];
    let mut rows = vec![
        ("Larva-free yards", percent(c.larva_free_rate())),
        ("House index if none, or all, of the unseen are positive", bounds),
        ("Pupae per hectare of inspected yards", a.pupae_per_hectare().map_or_else(|| NOT_SEEN.to_owned(), |v| format!("{v:.1}"))),
        ("WHO density figure by house, container, Breteau index", figures.join(", ")),
    ];
    if let Some(i) = sure.breteau_redrawn {
        rows.push(("Breteau index, 95 % by drawing yards again", format!("{:.0}–{:.0}", i.low, i.high)));
    }
    let mut rows: Vec<(String, String)> = rows.into_iter().map(|(word, value)| (word.to_owned(), value)).collect();
    rows.extend(programmes.schemes().iter().map(|s| (s.title(), s.said(c).unwrap_or_else(|| NOT_SEEN.to_owned()))));
    let access = [
        ("Inspected or seen in part, of all yards", percent(c.coverage_with_parts(a.part).map(|v| 100.0 * v))),
        ("Got in, of yards tried", percent(a.access_rate())),
        ("Stayed closed", percent(a.closed_rate())),
        ("Refused", percent(a.refusal_rate())),
        ("Closed at first, inspected later", percent(a.won_rate())),
        ("Positive containers dealt with", percent(a.dealt_with_rate())),
    ];
    rows.extend(access.map(|(word, value)| (word.to_owned(), value)));
    rows
}

/// The bands that a district reads its indices by as rows to hand out.
pub fn bands(programmes: &Programmes) -> Features {
    let cells = programmes.cells();
    let columns = BAND_COLUMNS.into_iter().enumerate().map(|(i, name)| Column::text(name, cells.iter().map(|c| &c[i])));
    Features::new("bands", "Bands that programmes read indices by", columns.collect())
}

/// What every kind of container gives as rows to hand out, in the order of the kinds (alphabetical).
pub fn kinds(survey: &Survey, mut found: Vec<(KindId, KindCounts, KindShare)>) -> Features {
    found.sort_by_key(|k| k.0);
    let (counts, shares): (Vec<KindCounts>, Vec<KindShare>) = found.iter().map(|k| (k.1, k.2)).unzip();
    let columns = kind_columns(found.iter().map(|k| survey.kind_name(k.0)).collect(), &counts, &shares);
    Features::new("kinds", "Kinds of container found", columns)
}

/// What is known about kinds of container as rows to hand out.
pub fn containers(known: &ContainerKnowledge) -> Features {
    let cells: Vec<_> = known.kinds().iter().map(|k| k.cells()).collect();
    let columns = CONTAINER_COLUMNS.into_iter().enumerate().map(|(i, name)| Column::text(name, cells.iter().map(|c| &c[i])));
    Features::new("containers", "What is known about kinds of container", columns.collect())
}

/// How a change between rounds was found, in words for people.
pub const CHANGE_METHOD: &str = "Same yards: Newcombe's interval for paired shares, p by McNemar's exact test. Change: per cent less or more, the intervals with \
                                 each premise as one cluster over both rounds. Without a control area rain and season are in the number too; beside a \
                                 control area it is Mulla's formula. Yards that opened are not those that stayed shut.\n";

/// What is compared, in words.
pub fn compared_words(of: Compared) -> &'static str {
    match of {
        Compared::House => "house index",
        Compared::Breteau => "Breteau index",
        Compared::Pupae => "pupae per inspected yard",
    }
}

/// What is said round the chart of a change.
pub fn change_chart(found: &RoundChange, district: String) -> ChartWords {
    let beside = found.control.is_some();
    let reduction = |r: &Reduction| {
        let words = if beside { beside_words(found, r) } else { less_words(r.alone, r.alone_interval) };
        format!("{}: {words}.", sentence(compared_words(r.of)))
    };
    let mut sentences: Vec<String> = found.reductions.iter().map(reduction).collect();
    if beside {
        sentences.push("All three beside the control area.".to_owned());
    }
    let p = &found.worked.paired;
    if p.premises() > 0 {
        sentences.push(format!(
            "Of the same {} yards inspected both times {} became negative and {} became positive.",
            grouped(p.premises()),
            grouped(p.became_negative),
            grouped(p.became_positive)
        ));
    }
    ChartWords { district, sentences, method: CHANGE_METHOD.trim_end().to_owned() }
}

/// A change between rounds as rows to hand out: each area and measure, then the worked area beside the control.
pub fn change(found: &RoundChange) -> Features {
    let lines = change_lines(found);
    let number = |name, of: fn(&ChangeLine) -> Option<f64>| Column::number(name, 6, lines.iter().map(of));
    let columns = vec![
        Column::text("area", lines.iter().map(|l| l.area)),
        Column::text("measure", lines.iter().map(|l| l.of.word())),
        Column::whole("inspected_before", lines.iter().map(|l| l.ends.map(|e| e.0.counts.inspected as i64))),
        Column::whole("inspected_after", lines.iter().map(|l| l.ends.map(|e| e.1.counts.inspected as i64))),
        number("before", |l| l.ends.and_then(|e| l.of.value(&e.0.counts))),
        number("before_low", |l| l.ends.and_then(|e| l.of.interval(&e.0.sure)).map(|i| i.low)),
        number("before_high", |l| l.ends.and_then(|e| l.of.interval(&e.0.sure)).map(|i| i.high)),
        number("after", |l| l.ends.and_then(|e| l.of.value(&e.1.counts))),
        number("after_low", |l| l.ends.and_then(|e| l.of.interval(&e.1.sure)).map(|i| i.low)),
        number("after_high", |l| l.ends.and_then(|e| l.of.interval(&e.1.sure)).map(|i| i.high)),
        number("reduction", |l| l.less.0),
        number("reduction_low", |l| l.less.1.map(|i| i.low)),
        number("reduction_high", |l| l.less.1.map(|i| i.high)),
    ];
    Features::new("change", "What changed from one round to another", columns)
}

/// One row of a change: the area, the measure, both rounds, and how much less in per cent.
struct ChangeLine {
    area: &'static str,
    of: Compared,
    ends: Option<(AreaRound, AreaRound)>,
    less: (Option<f64>, Option<Interval>),
}

fn change_lines(found: &RoundChange) -> Vec<ChangeLine> {
    let ends = |a: &AreaChange| Some((a.before, a.after));
    let mut lines: Vec<ChangeLine> = found
        .reductions
        .iter()
        .map(|r| ChangeLine { area: "worked", of: r.of, ends: ends(&found.worked), less: (r.alone, r.alone_interval) })
        .collect();
    if let Some(control) = &found.control {
        lines.extend(Compared::ALL.map(|of| ChangeLine { area: "control", of, ends: ends(control), less: (None, None) }));
        let beside = |r: &Reduction| (r.beside_control, r.beside_control_interval);
        lines.extend(found.reductions.iter().map(|r| ChangeLine { area: "beside control", of: r.of, ends: None, less: beside(r) }));
    }
    lines
}

/// Clusters of blocks as rows to hand out; `groups` are those that were looked at.
pub fn clusters(survey: &Survey, groups: &[(Option<BlockId>, Counts)], found: &Clustering) -> Features {
    let counts = || groups.iter().map(|g| &g.1);
    let number = |name, values: Vec<Option<f64>>| Column::number(name, 6, values);
    let spots = |of: fn(&Spot) -> Option<f64>| found.spots.iter().map(of).collect::<Vec<_>>();
    let like = |of: fn(&yardring_core::measure::Likeness) -> f64| found.likeness.iter().map(|l| l.as_ref().map(of)).collect::<Vec<_>>();
    let columns = vec![
        Column::text("block_id", groups.iter().map(|g| g.0.map_or("", |b| survey.blocks.block_id.get(b.row())))),
        Column::whole("premises", counts().map(|c| Some(c.premises as i64))),
        Column::whole("inspected", counts().map(|c| Some(c.inspected as i64))),
        Column::whole("positive_premises", counts().map(|c| Some(c.positive_premises as i64))),
        number("house_index", counts().map(Counts::house_index).collect()),
        number("smoothed_house_index", spots(|s| s.smoothed)),
        number("gi_star", spots(|s| s.score.map(|g| g.z))),
        number("gi_p", spots(|s| s.score.map(|g| g.p))),
        Column::text("hot_or_cold", found.spots.iter().map(|s| s.heat.map_or("", Heat::word))),
        number("local_moran", like(|l| l.i)),
        number("local_moran_p", like(|l| l.p)),
        Column::text("among_neighbours", found.likeness.iter().map(|l| l.map_or("", |l| l.among.word()))),
    ];
    Features::new("clusters", "Blocks beside their neighbours", columns)
}

/// What the blocks as a whole say, in a sentence.
pub fn clustering_words(found: &Clustering) -> String {
    let hot = |heat| found.spots.iter().filter(|s| s.heat == Some(heat)).count();
    let unlike = found.likeness.iter().flatten().filter(|l| matches!(l.among, Among::HighLow | Among::LowHigh)).count();
    let (Some(moran), Some(p)) = (found.moran, found.moran_p) else {
        return format!("{} blocks with an inspected yard: too few, or too much alike, to tell of clusters.", found.blocks);
    };
    let whole = match (p < 0.05, moran.i > moran.expected) {
        (true, true) => "like blocks lie together",
        (true, false) => "unlike blocks lie side by side",
        (false, _) => "no more order than chance gives",
    };
    format!(
        "{} blocks: {whole} (Moran's I {:.2}, p {p:.3}). {} hot, {} cold, {unlike} unlike their neighbours.",
        found.blocks,
        moran.i,
        hot(Heat::Hot),
        hot(Heat::Cold)
    )
}

/// Where positive yards crowd most, in a sentence.
pub fn crowd_words(survey: &Survey, found: Option<&Crowd>) -> String {
    let Some(c) = found else { return "No circle has more positive yards than the rest.".to_owned() };
    let p = &survey.premises;
    let name = match p.address.get(c.centre.row()) {
        "" => format!("parcel {}", p.parcel_id.get(c.centre.row())),
        address => address.to_owned(),
    };
    let share = |x: u64, n: u64| if n == 0 { 0.0 } else { 100.0 * x as f64 / n as f64 };
    format!(
        "Positive yards crowd most within {:.0} m of {name}: {} of {} inspected ({:.0} %), elsewhere {:.0} %; p {:.3}.",
        c.circle.radius,
        c.circle.positive,
        c.circle.seen,
        share(c.circle.positive, c.circle.seen),
        share(c.positive_of - c.circle.positive, c.of - c.circle.seen),
        c.circle.p
    )
}

/// How clusters were found, in words for people.
pub fn clusters_method(neighbours: Neighbours) -> String {
    format!(
        "Neighbours: {}. Hot or cold: house index of a block and its neighbours against all (Gi*). Among its \
         neighbours: local Moran's I of rates standardised for few doors, {RESHUFFLES} reshuffles, up to {MOST_RESHUFFLES} where few are as \
         extreme. Of blocks named, at most {:.0} % by chance. \
         Crowd: the circle up to {LARGEST_CIRCLE:.0} m that is least likely by chance, {RESHUFFLES} reshuffles. Clusters move: a round old is too old.\n",
        neighbours.words(),
        100.0 * FALSE_SHARE
    )
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
