//! Measures as columns to hand out, named as the command line's contract names them.

use super::{Access, Counts, DensityOf, Heat, Interval, Intervals, KindCounts, KindShare, Programmes, Spot, density_figure};
use crate::files::{Column, Values};
use crate::survey::Strings;

/// Decimals of rates in comma-separated text.
const DECIMALS: usize = 6;

/// The columns of groups of premises (blocks, rounds, the district): their names under `first`, then counts and rates with
/// their intervals, per 100 where they are indices, then where groups stand among the others (only blocks do).
pub fn group_columns(first: &'static str, names: Strings, counts: &[Counts], sure: &[Intervals], spots: &[Spot]) -> Vec<Column> {
    let mut columns = vec![Column { name: first, values: Values::Text(names) }];
    columns.extend(count_columns(counts));
    columns.push(rates("coverage", counts, Counts::coverage));
    columns.push(rates("house_index", counts, Counts::house_index));
    columns.extend(ends(["house_index_low", "house_index_high"], sure, |i| i.house));
    columns.push(rates("container_index", counts, Counts::container_index));
    columns.extend(ends(["container_index_low", "container_index_high"], sure, |i| i.container));
    columns.push(rates("breteau_index", counts, Counts::breteau_index));
    columns.extend(ends(["breteau_index_low", "breteau_index_high"], sure, |i| i.breteau));
    columns.push(rates("pupae_per_premise", counts, Counts::pupae_per_premise));
    columns.push(rates("smoothed_house_index", spots, |s| s.smoothed));
    columns.push(rates("gi_star", spots, |s| s.score.map(|g| g.z)));
    columns.push(rates("gi_p", spots, |s| s.score.map(|g| g.p)));
    columns.push(Column::text("hot_or_cold", spots.iter().map(|s| s.heat.map_or("", Heat::word))));
    columns
}

fn count_columns(counts: &[Counts]) -> [Column; 7] {
    [
        whole("premises", counts, |c| c.premises),
        whole("attempted", counts, |c| c.attempted),
        whole("inspected", counts, |c| c.inspected),
        whole("positive_premises", counts, |c| c.positive_premises),
        whole("wet_containers", counts, |c| c.wet_containers),
        whole("positive_containers", counts, |c| c.positive_containers),
        whole("pupae", counts, |c| c.pupae),
    ]
}

/// The columns of kinds of container, their names under `kind`; `shares` are those of [`super::key_containers`].
pub fn kind_columns(names: Strings, counts: &[KindCounts], shares: &[KindShare]) -> Vec<Column> {
    let mut columns = vec![
        Column { name: "kind", values: Values::Text(names) },
        whole("premises", counts, |c| c.premises),
        whole("positive_premises", counts, |c| c.positive_premises),
        whole("containers", counts, |c| c.containers),
        whole("wet_containers", counts, |c| c.wet_containers),
        whole("positive_containers", counts, |c| c.positive_containers),
        whole("pupae", counts, |c| c.pupae),
        rates("container_index", counts, KindCounts::container_index),
    ];
    columns.extend(ends(["container_index_low", "container_index_high"], counts, |c| c.container_interval));
    columns.push(rates("pupae_per_positive_container", counts, KindCounts::pupae_per_positive_container));
    columns.push(rates("share_of_wet", shares, |s| s.abundance));
    columns.push(rates("contribution", shares, |s| s.contribution));
    columns.extend(ends(["contribution_low", "contribution_high"], shares, |s| s.contribution_interval));
    columns.push(rates("electivity", shares, |s| s.electivity));
    columns.push(Column::text("key_container", shares.iter().map(|s| if s.key { "yes" } else { "no" })));
    columns
}

/// Further columns of groups of premises, to stand behind those of [`group_columns`]: what the house index leaves out, how
/// programmes would read it, and how far crews got. The bands that have a column of their own are those published; those of the district, as
/// edited, stand in one column with their limits. Last how sure the Breteau index is when yards are drawn again.
pub fn access_columns(counts: &[Counts], sure: &[Intervals], access: &[Access], programmes: &Programmes) -> Vec<Column> {
    let density = |of: DensityOf, index: fn(&Counts) -> Option<f64>| {
        counts.iter().map(move |c| index(c).map(|v| i64::from(density_figure(of, v)))).collect::<Vec<_>>()
    };
    let bounds = counts.iter().map(|c| c.house_index_bounds());
    let mut columns = vec![
        rates("larva_free_rate", counts, Counts::larva_free_rate),
        Column::number("house_index_if_unseen_clear", DECIMALS, bounds.clone().map(|b| b.map(|i| i.low))),
        Column::number("house_index_if_unseen_positive", DECIMALS, bounds.map(|b| b.map(|i| i.high))),
        rates("pupae_per_hectare", access, Access::pupae_per_hectare),
        Column::whole("who_density_house", density(DensityOf::House, Counts::house_index)),
        Column::whole("who_density_container", density(DensityOf::Container, Counts::container_index)),
        Column::whole("who_density_breteau", density(DensityOf::Breteau, Counts::breteau_index)),
    ];
    let published = Programmes::usual();
    for (name, scheme) in ["band_brazil", "band_who_breteau", "band_paho"].into_iter().zip(published.schemes()) {
        columns.push(Column::text(name, counts.iter().map(|c| scheme.of(c).unwrap_or_default())));
    }
    columns.extend([
        whole("seen_in_part", access, |a| a.part),
        whole("closed", access, |a| a.closed),
        whole("refused", access, |a| a.refused),
        whole("unsafe", access, |a| a.not_safe),
        whole("vacant", access, |a| a.vacant),
        rates("access_rate", access, Access::access_rate),
        rates("closed_rate", access, Access::closed_rate),
        rates("refusal_rate", access, Access::refusal_rate),
        rates("won_later_rate", access, Access::won_rate),
        rates("dealt_with_rate", access, Access::dealt_with_rate),
    ]);
    let parts = counts.iter().zip(access).map(|(c, a)| c.coverage_with_parts(a.part));
    columns.push(Column::number("coverage_with_parts", DECIMALS, parts));
    let bands = |c: &Counts| {
        let said = programmes.schemes().iter().filter_map(|s| Some(format!("{}: {}", s.title(), s.said(c)?)));
        said.collect::<Vec<_>>().join("; ")
    };
    columns.push(Column::text("bands", counts.iter().map(bands)));
    columns.extend(ends(["breteau_redrawn_low", "breteau_redrawn_high"], sure, |i| i.breteau_redrawn));
    columns
}

fn whole<C>(name: &'static str, counts: &[C], of: fn(&C) -> u64) -> Column {
    Column::whole(name, counts.iter().map(|c| i64::try_from(of(c)).ok()))
}

fn rates<C>(name: &'static str, counts: &[C], of: fn(&C) -> Option<f64>) -> Column {
    Column::number(name, DECIMALS, counts.iter().map(of))
}

fn ends<C>(names: [&'static str; 2], counts: &[C], of: fn(&C) -> Option<Interval>) -> [Column; 2] {
    [
        Column::number(names[0], DECIMALS, counts.iter().map(|c| of(c).map(|i| i.low))),
        Column::number(names[1], DECIMALS, counts.iter().map(|c| of(c).map(|i| i.high))),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The order of the contract's `indices --by block`.
    #[test]
    fn columns_come_in_the_order_of_the_contract() {
        let columns =
            group_columns("block_id", ["A"].into_iter().collect(), &[Counts::default()], &[Intervals::default()], &[Spot::default()]);
        let names: Vec<&str> = columns.iter().map(|c| c.name).collect();
        let contract = "block_id, premises, attempted, inspected, positive_premises, wet_containers, positive_containers, pupae, \
                        coverage, house_index, house_index_low, house_index_high, container_index, container_index_low, \
                        container_index_high, breteau_index, breteau_index_low, breteau_index_high, pupae_per_premise, \
                        smoothed_house_index, gi_star, gi_p, hot_or_cold";
        assert_eq!(names.join(", "), contract);
        let cells: Vec<_> = columns.iter().map(|c| c.cell(0).into_owned()).collect();
        assert_eq!(cells[1..9], ["0", "0", "0", "0", "0", "0", "0", ""]);
        assert!(cells[9..].iter().all(String::is_empty));
    }
}
