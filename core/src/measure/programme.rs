//! Bands that programmes read indices by. They are conventions, not biology: every one carries the name of its scheme.

use super::Counts;
use crate::error::Hint;
use crate::survey::{Survey, settings};
use std::borrow::Cow;

/// What must stand beside every band.
pub const CONVENTION: &str = "A programme's convention, not biology: transmission has been seen below every such limit.";

/// The index that a scheme reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BandOf {
    /// The house index.
    House,
    /// The container index.
    Container,
    /// The Breteau index.
    Breteau,
}

impl BandOf {
    const ALL: [Self; 3] = [Self::House, Self::Container, Self::Breteau];

    /// The index as tables and screens write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::House => "house index",
            Self::Container => "container index",
            Self::Breteau => "Breteau index",
        }
    }

    fn value(self, counts: &Counts) -> Option<f64> {
        match self {
            Self::House => counts.house_index(),
            Self::Container => counts.container_index(),
            Self::Breteau => counts.breteau_index(),
        }
    }
}

/// A scheme of bands for one index.
#[derive(Clone, Debug, PartialEq)]
pub struct Scheme {
    /// Its name, to be printed beside every colour and word.
    pub name: Cow<'static, str>,
    /// The index it reads: per 100.
    pub index: BandOf,
    /// Words of the bands from below, and the value from which each holds; the first from 0.
    pub bands: Vec<(f64, Cow<'static, str>)>,
}

impl Scheme {
    fn usual(name: &'static str, index: BandOf, bands: &[(f64, &'static str)]) -> Self {
        Self { name: name.into(), index, bands: bands.iter().map(|(from, word)| (*from, (*word).into())).collect() }
    }

    /// The word for a group by the index that the scheme reads; `None` when nobody was inspected.
    pub fn of(&self, counts: &Counts) -> Option<&str> {
        self.index.value(counts).and_then(|v| self.word(v))
    }

    /// The word for an index, compared as it is, not rounded; `None` below 0.
    ///
    /// ```
    /// use yardring_core::measure::Programmes;
    /// assert_eq!(Programmes::usual().schemes()[0].word(3.99), Some("alert"));
    /// ```
    pub fn word(&self, index: f64) -> Option<&str> {
        self.band(index).map(|i| &*self.bands[i].1)
    }

    fn band(&self, index: f64) -> Option<usize> {
        self.bands.iter().rposition(|b| index >= b.0)
    }

    /// The word for a group with the limits of its band beside it: "alert (1 to under 4)"; `None` when nobody was inspected.
    pub fn said(&self, counts: &Counts) -> Option<String> {
        let at = self.index.value(counts).and_then(|v| self.band(v))?;
        Some(format!("{} ({})", self.bands[at].1, self.limits(at)))
    }

    /// The limits of a band, by its place: "under 1", "1 to under 4", "4 or more".
    pub fn limits(&self, band: usize) -> String {
        match (band, self.bands.get(band + 1)) {
            (0, Some(next)) => format!("under {}", next.0),
            (_, Some(next)) => format!("{} to under {}", self.bands[band].0, next.0),
            (_, None) => format!("{} or more", self.bands[band].0),
        }
    }

    /// Its name with the index it reads, which is not said twice.
    pub fn title(&self) -> String {
        if self.name.contains(self.index.word()) { self.name.to_string() } else { format!("{}, {}", self.name, self.index.word()) }
    }
}

/// The columns of a table of schemes, one row a band.
pub const BAND_COLUMNS: [&str; 4] = ["scheme", "index", "from", "word"];

/// What is wrong with a table of schemes.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BandsError {
    /// A column is missing.
    #[error("the table has no column '{name}'")]
    NoColumn {
        /// Its name.
        name: &'static str,
    },
    /// A row says something that cannot be.
    #[error("row {row}: {what}")]
    Row {
        /// The row, the first below the header being 1.
        row: usize,
        /// What is wrong with it.
        what: String,
    },
    /// There is no row.
    #[error("the table has no rows")]
    Empty,
    /// The text cannot be read as comma-separated rows.
    #[error("{what}")]
    Unreadable {
        /// What the reader said.
        what: String,
    },
}

impl Hint for BandsError {
    fn hint(&self) -> String {
        match self {
            Self::NoColumn { .. } | Self::Empty | Self::Unreadable { .. } => {
                "Write the table out with: yardring bands SURVEY.gpkg --out bands.csv, and edit that file"
            }
            Self::Row { .. } => "Mend the row and set the table again; nothing was changed",
        }
        .to_owned()
    }
}

/// The schemes that a district reads its indices by.
#[derive(Clone, Debug, PartialEq)]
pub struct Programmes(Vec<Scheme>);

impl Programmes {
    /// Schemes in use elsewhere, with which every survey begins. None is law in the United States.
    ///
    /// # Source
    /// Brazil: rapid survey bulletins (printed with gaps, here compared unrounded); WHO: dengue and yellow fever, Breteau 5 in
    /// use, 50 from memory; PAHO: Sci. Publ. 548 (1994), from memory; India: a garrison's report that quotes national advice; Havana: blocks
    /// of some fifty houses in 2001.
    pub fn usual() -> Self {
        Self(vec![
            Scheme::usual("Brazilian rapid survey", BandOf::House, &[(0.0, "satisfactory"), (1.0, "alert"), (4.0, "risk")]),
            Scheme::usual("WHO, Breteau index", BandOf::Breteau, &[(0.0, "low"), (5.0, "between"), (50.0, "high")]),
            Scheme::usual("PAHO 1994, house index", BandOf::House, &[(0.0, "low"), (0.1, "medium"), (5.0, "high")]),
            Scheme::usual("India, Breteau index", BandOf::Breteau, &[(0.0, "low"), (5.0, "between"), (20.0, "risk")]),
            Scheme::usual("Havana 2001, Breteau index of a block", BandOf::Breteau, &[(0.0, "below"), (4.0, "cases likelier")]),
        ])
    }

    /// The schemes of a survey: those its office has settled, or the usual ones.
    pub fn of(survey: &Survey) -> Self {
        let settled = survey.settings.get(settings::BANDS).and_then(|text| Self::from_csv(text).ok());
        settled.unwrap_or_else(Self::usual)
    }

    /// The schemes, in their order.
    pub fn schemes(&self) -> &[Scheme] {
        &self.0
    }

    /// The first scheme that reads the house index: what maps of it are coloured by.
    pub fn of_house_index(&self) -> Option<&Scheme> {
        self.0.iter().find(|s| s.index == BandOf::House && s.bands.len() > 1)
    }

    /// The same with another limit: from where a band of a scheme holds, both by their place; the limits stay in order. The first band
    /// begins at 0 and keeps doing so.
    #[must_use]
    pub fn with_limit(&self, scheme: usize, band: usize, from: f64) -> Self {
        let mut out = self.clone();
        if let Some(bands) = out.0.get_mut(scheme).map(|s| &mut s.bands).filter(|b| band > 0 && band < b.len()) {
            let most = bands.get(band + 1).map_or(f64::MAX, |b| b.0);
            bands[band].0 = from.clamp(bands[band - 1].0, most);
        }
        out
    }

    /// The same with another word for a band of a scheme, both by their place.
    #[must_use]
    pub fn with_word(&self, scheme: usize, band: usize, word: &str) -> Self {
        let mut out = self.clone();
        if let Some(place) = out.0.get_mut(scheme).and_then(|s| s.bands.get_mut(band)) {
            place.1 = word.to_owned().into();
        }
        out
    }

    /// Whether every band has a word: others cannot be kept.
    pub fn all_named(&self) -> bool {
        self.0.iter().flat_map(|s| &s.bands).all(|b| !b.1.trim().is_empty())
    }

    /// The schemes from rows of text under the columns of [`BAND_COLUMNS`]; rows of one scheme stand together. `cell` gives the text of a row
    /// (from 0) in a column.
    ///
    /// # Errors
    /// [`BandsError`] with the first row that cannot be.
    pub fn from_rows<'a>(header: &[String], rows: usize, cell: impl Fn(usize, usize) -> Cow<'a, str>) -> Result<Self, BandsError> {
        let place =
            |name: &'static str| header.iter().position(|h| h.trim().eq_ignore_ascii_case(name)).ok_or(BandsError::NoColumn { name });
        let places = BAND_COLUMNS.into_iter().map(place).collect::<Result<Vec<_>, _>>()?;
        let mut out: Vec<Scheme> = Vec::new();
        for row in 0..rows {
            let text = |column: usize| cell(row, places[column]).trim().to_owned();
            take(&mut out, [text(0), text(1), text(2), text(3)]).map_err(|what| BandsError::Row { row: row + 1, what })?;
        }
        if out.is_empty() { Err(BandsError::Empty) } else { Ok(Self(out)) }
    }

    /// The schemes from comma-separated text with a header.
    ///
    /// # Errors
    /// [`BandsError`] when the text is no table of schemes.
    pub fn from_csv(text: &str) -> Result<Self, BandsError> {
        let broken = |e: csv::Error| BandsError::Unreadable { what: e.to_string() };
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header: Vec<String> = reader.headers().map_err(broken)?.iter().map(str::to_owned).collect();
        let rows = reader.records().collect::<Result<Vec<_>, _>>().map_err(broken)?;
        Self::from_rows(&header, rows.len(), |row, column| Cow::Borrowed(rows[row].get(column).unwrap_or_default()))
    }

    /// The cells of every band as text, in the order of [`BAND_COLUMNS`].
    pub fn cells(&self) -> Vec<[String; 4]> {
        let of = |s: &Scheme| {
            let (name, index) = (s.name.to_string(), s.index.word().to_owned());
            s.bands.iter().map(|(from, word)| [name.clone(), index.clone(), from.to_string(), word.to_string()]).collect::<Vec<_>>()
        };
        self.0.iter().flat_map(of).collect()
    }

    /// The table as comma-separated text with a header.
    pub fn to_csv(&self) -> String {
        let mut out = BAND_COLUMNS.join(",") + "\n";
        for cells in self.cells() {
            let quoted = cells.map(|c| if c.contains([',', '"', '\n', '\r']) { format!("\"{}\"", c.replace('"', "\"\"")) } else { c });
            out += &(quoted.join(",") + "\n");
        }
        out
    }

    /// The value of the setting [`settings::BANDS`] that keeps these schemes in a survey; `None` for the usual ones, which need not be kept.
    pub fn setting(&self) -> Option<Box<str>> {
        (*self != Self::usual()).then(|| self.to_csv().into())
    }
}

/// Adds a row of the table to the schemes so far; what is wrong with it otherwise.
fn take(out: &mut Vec<Scheme>, [name, index, from, word]: [String; 4]) -> Result<(), String> {
    if name.is_empty() || word.is_empty() {
        return Err("the name of the scheme or the word is empty".to_owned());
    }
    let known = || format!("'{index}' is no index; known are house index, container index, Breteau index");
    let index = BandOf::ALL.into_iter().find(|i| i.word().eq_ignore_ascii_case(&index)).ok_or_else(known)?;
    let from: f64 = from.parse().ok().filter(|v: &f64| v.is_finite() && *v >= 0.0).ok_or(format!("'{from}' is no number from 0 up"))?;
    match out.last_mut().filter(|s| s.name == name) {
        Some(s) if s.index != index => Err(format!("'{name}' reads two indices; give each its own name")),
        Some(s) if s.bands.last().is_some_and(|b| b.0 >= from) => Err(format!("{from} does not lie above the band before it")),
        Some(s) => {
            s.bands.push((from, word.into()));
            Ok(())
        }
        None if from != 0.0 => Err(format!("the first band of '{name}' must hold from 0")),
        None => {
            out.push(Scheme { name: name.into(), index, bands: vec![(from, word.into())] });
            Ok(())
        }
    }
}

/// An index of which the World Health Organization's density figure is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DensityOf {
    /// House index.
    House,
    /// Container index.
    Container,
    /// Breteau index.
    Breteau,
}

/// The density figure 1 to 9 of one index per 100; 0 for nothing found. Above 0 but below the table counts as 1. Values are
/// rounded to the nearest whole number first, halves up, since the table has whole numbers only.
///
/// # Source
/// WHO (1972) table, read in two copies of it; the rounding is this program's convention.
///
/// ```
/// use yardring_core::measure::{DensityOf, density_figure};
/// assert_eq!(density_figure(DensityOf::Breteau, 85.0), 7);
/// ```
pub fn density_figure(of: DensityOf, index: f64) -> u8 {
    let from: [f64; 9] = match of {
        DensityOf::House => [1.0, 4.0, 8.0, 18.0, 29.0, 38.0, 50.0, 60.0, 77.0],
        DensityOf::Container => [1.0, 3.0, 6.0, 10.0, 15.0, 21.0, 28.0, 32.0, 41.0],
        DensityOf::Breteau => [1.0, 5.0, 10.0, 20.0, 35.0, 50.0, 75.0, 100.0, 200.0],
    };
    if index <= 0.0 {
        return 0;
    }
    let rounded = (index + 0.5).floor();
    from.iter().filter(|f| rounded >= **f).count().max(1) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published surveys read by the table: Tanjungpinang 2020 (6, 4, 7 and 6, 4, 6).
    #[test]
    fn agrees_with_published_readings() {
        let three =
            |h, c, b| [(DensityOf::House, h), (DensityOf::Container, c), (DensityOf::Breteau, b)].map(|(of, v)| density_figure(of, v));
        assert_eq!([three(45.0, 12.6, 76.0), three(38.8, 12.6, 68.0)], [[6, 4, 7], [6, 4, 6]]);
        assert_eq!([density_figure(DensityOf::House, 0.0), density_figure(DensityOf::House, 0.2)], [0, 1]);
        assert!(Programmes::usual().schemes().iter().all(|s| s.word(-1.0).is_none() && s.word(1e9).is_some()));
    }

    #[test]
    fn the_limits_stand_beside_the_word() {
        let counts = |positive_premises| Counts { premises: 400, inspected: 400, positive_premises, ..Counts::default() };
        let usual = Programmes::usual();
        let said = |positive| usual.schemes()[0].said(&counts(positive)).unwrap();
        assert_eq!([said(3), said(4), said(16)], ["satisfactory (under 1)", "alert (1 to under 4)", "risk (4 or more)"]);
        assert_eq!(usual.schemes()[0].said(&Counts::default()), None);
        assert_eq!(usual.schemes()[0].title(), "Brazilian rapid survey, house index");
        let ours = usual.with_limit(0, 2, 3.0).with_limit(0, 0, 2.0);
        assert_eq!((ours.schemes()[0].word(3.2), ours.schemes()[0].word(0.5)), (Some("risk"), Some("satisfactory")));
        assert_eq!(ours.with_limit(0, 1, 9.0).schemes()[0].bands[1].0, 3.0, "limits stay in order");
        let worded = ours.with_word(0, 2, "act now").with_word(9, 0, "nowhere");
        assert_eq!((worded.schemes()[0].word(3.2), worded.all_named()), (Some("act now"), true));
        assert_eq!(Programmes::from_csv(&worded.to_csv()), Ok(worded.clone()));
        assert!(!worded.with_word(1, 0, " ").all_named());
    }

    #[test]
    fn a_table_is_read_back_and_a_wrong_row_is_told_with_its_place() {
        let ours = Programmes::usual().with_limit(2, 2, 4.5);
        assert_eq!((Programmes::from_csv(&ours.to_csv()), Programmes::usual().setting()), (Ok(ours), None));
        let told = |text: &str| Programmes::from_csv(text).unwrap_err().to_string();
        let head = "scheme,index,from,word\n";
        assert_eq!(told("scheme,from,word\nA,0,low\n"), "the table has no column 'index'");
        assert_eq!(told(head), "the table has no rows");
        assert_eq!(told(&format!("{head}A,house index,0,low\nA,house index,0,high\n")), "row 2: 0 does not lie above the band before it");
        assert_eq!(told(&format!("{head}A,house index,2,low\n")), "row 1: the first band of 'A' must hold from 0");
        assert!(told(&format!("{head}A,pupae,0,low\n")).contains("'pupae' is no index"));
    }
}
