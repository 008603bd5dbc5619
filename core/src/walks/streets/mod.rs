//! Streets as people walk them: joined where they meet, with two sides, and what it costs to cross them.

mod attach;
mod corners;
mod cuts;
mod kerbs;
mod routes;
#[cfg(test)]
mod trials;

use crate::place::{Bounds, BoxIndex, Local};
use crate::reach::Kept;
use crate::survey::{Address, Houses, StreetClass, Streets, Survey, mark, settings};
use corners::Corners;
use std::collections::{BTreeMap, HashMap};
use std::ops::Range;

pub use attach::{FoundBy, Spot};
pub use routes::Route;

/// How people walk, and where they do not.
#[derive(Clone, Debug, PartialEq)]
pub struct Walking {
    /// Metres a second.
    pub speed: f64,
    /// Seconds that it takes to cross a street of each class: path, minor, major.
    pub crossing: [f64; 3],
    /// How much longer a walk is than the straight line where no street leads.
    pub detour: f64,
    /// Ends of streets that are this near to another street are joined to it, in metres.
    pub join: f64,
    /// Lines that nobody crosses. A street in which such a line lies is walked on both sides and not crossed, one that it cuts is not
    /// walked through, and no door is reached over it.
    pub barriers: Vec<Vec<Local>>,
    /// How a crew drives where it is too far to walk; `None` where it has no car.
    pub driving: Option<Driving>,
}

/// How a crew drives from one group of doors to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driving {
    /// Legs longer than this are driven, in metres.
    pub beyond: f64,
    /// Metres a second over the way that is walked, stops counted.
    pub speed: f64,
    /// Seconds to get in, and to park and get out.
    pub parking: f64,
}

impl Default for Driving {
    /// # Source
    /// Common practice, no source: ten minutes' walk, 25 km/h in a town, three minutes to get in and park.
    fn default() -> Self {
        Self { beyond: 800.0, speed: 7.0, parking: 180.0 }
    }
}

impl Default for Walking {
    /// # Source
    /// Speed 1.2 m/s: the walking speed that older signal timing manuals assume (4 ft/s; the US manual on uniform traffic
    /// control devices, 2009, section 4E.06, has 3.5 ft/s for slower people; from memory). Crossings: common practice, no source; 45 s
    /// is about half the cycle of a signal. Detour 1.3: common practice; measured road detours lie between 1.2 and 1.4
    /// (R. Ballou, H. Rahardja, N. Sakai, Selected country circuity factors for road travel distance estimation,
    /// Transportation Research A 36, 2002; from memory).
    fn default() -> Self {
        Self { speed: 1.2, crossing: [0.0, 10.0, 45.0], detour: 1.3, join: 1.0, barriers: Vec::new(), driving: Some(Driving::default()) }
    }
}

impl Walking {
    /// How crews walk in a survey: as people usually do, with a car or without, and never over the lines that the survey keeps for
    /// them.
    pub fn of(survey: &Survey, on_foot: bool) -> Self {
        let usual = Self::default();
        let barriers = Kept::under(survey, settings::NEVER_CROSSED).map(|kept| kept.places()).unwrap_or_default();
        Self { barriers, driving: usual.driving.filter(|_| !on_foot), ..usual }
    }

    /// Seconds to cross a street; `None` where nobody does.
    fn cross(&self, class: StreetClass) -> Option<f64> {
        let of = |k: usize| Some(self.crossing[k]);
        match class {
            StreetClass::Path => of(0),
            StreetClass::Minor => of(1),
            StreetClass::Major => of(2),
            StreetClass::NotOnFoot => None,
        }
    }
}

/// A stretch of a street between two junctions.
#[derive(Clone, Debug)]
struct Stretch {
    street: u32,
    class: StreetClass,
    /// The junctions at its first and last place.
    nodes: [u32; 2],
    places: Range<u32>,
    length: f64,
}

/// Where streets are torn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Torn {
    /// The middles of the dead ends shorter than 10 m.
    pub stubs: Vec<Local>,
    /// The groups of stretches that no street joins to the largest one, the longest first: a place on each, and its length in metres.
    pub islands: Vec<(Local, f64)>,
}

/// What was found while streets were joined.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct NetworkReport {
    /// Stretches between junctions.
    pub stretches: usize,
    /// Junctions and ends.
    pub junctions: usize,
    /// Places where streets cross without a common place in the file, and were joined.
    pub crossings_joined: usize,
    /// Ends that stop short of a street or run past its line, by less than the tolerance, and were joined.
    pub ends_joined: usize,
    /// Dead ends shorter than 10 m: often streets drawn past their junction.
    pub stubs: usize,
    /// Groups of stretches that no street joins to the largest group, barriers left aside.
    pub islands: usize,
    /// Length of the stretches on islands, in metres.
    pub island_m: f64,
}

impl NetworkReport {
    /// What a planner should know of streets that are torn, in a sentence with its full stop; empty where nothing is.
    pub fn words(&self) -> String {
        let many = |n: usize, what: &str| if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") };
        let mut told = Vec::new();
        if self.islands > 0 {
            let km = self.island_m / 1000.0;
            let groups = many(self.islands, "group");
            told.push(format!("{groups} ({km:.1} km) joined to no other, doors there are walked to from the nearest joined street"));
        }
        if self.stubs > 0 {
            told.push(format!("{} shorter than 10 m, often a street drawn past its junction", many(self.stubs, "dead end")));
        }
        let joined = self.ends_joined + self.crossings_joined;
        if joined > 0 {
            told.push(format!("{} mended by joining what nearly meets", many(joined, "gap")));
        }
        if told.is_empty() { String::new() } else { format!("Streets: {}.", told.join("; ")) }
    }
}

/// A mark of the lines that no crew crosses, by which a plan knows that they are others now; 0 where the survey keeps none.
pub fn lines_mark(survey: &Survey) -> u64 {
    let text = survey.settings.get(settings::NEVER_CROSSED);
    text.map_or(0, |text| mark::after(mark::FIRST, text.bytes()))
}

/// That walks are straight lines, and how much longer than these they are reckoned; nothing where the survey has streets.
pub fn without_streets(survey: &Survey) -> Option<String> {
    let detour = Walking::default().detour;
    let told = || format!("The survey has no streets: walks are straight lines, reckoned {detour} times as long.");
    survey.streets.is_empty().then(told)
}

/// The streets of a survey, ready to be walked.
///
/// Every stretch has two sides. People walk along a side, cross at junctions for a price, and cross minor streets anywhere
/// for the same price. Without any street, walks are straight lines made longer by [`Walking::detour`].
#[derive(Clone, Debug)]
pub struct StreetNetwork {
    walking: Walking,
    stretches: Vec<Stretch>,
    places: Vec<Local>,
    corners: Corners,
    /// Whether a stretch belongs to the largest joined group.
    mainland: Vec<bool>,
    index: BoxIndex,
    /// Stretches by the written form of their street's name.
    by_name: HashMap<String, Vec<u32>>,
    /// Streets by name and house number.
    houses: Houses,
    streets: Streets,
    report: NetworkReport,
    torn: Torn,
}

impl StreetNetwork {
    /// Joins the streets. The answer does not depend on the order of the streets, which is that of the ground.
    ///
    /// Ends within the tolerance of another street are joined to it, and so are crossings, unless the two streets are of
    /// different levels.
    pub fn new(streets: &Streets, walking: &Walking) -> Self {
        let drawn = cuts::drawn(streets, walking);
        let mut report = drawn.report;
        let corners = Corners::new(&drawn, walking);
        let (mainland, islands) = islands(&drawn);
        let torn = Torn { stubs: stubs(&drawn), islands };
        (report.stubs, report.islands) = (torn.stubs.len(), torn.islands.len());
        report.island_m = torn.islands.iter().map(|i| i.1).sum();
        let boxes: Vec<Bounds> = drawn.stretches.iter().map(|s| Bounds::of(of(&drawn.places, s))).collect();
        let mut by_name: HashMap<String, Vec<u32>> = HashMap::new();
        for (i, stretch) in drawn.stretches.iter().enumerate() {
            let name = streets.name.get(stretch.street as usize);
            if !name.is_empty() {
                by_name.entry(Address::of_street(name).street()).or_default().push(i as u32);
            }
        }
        Self {
            walking: walking.clone(),
            index: BoxIndex::new(&boxes),
            stretches: drawn.stretches,
            places: drawn.places,
            corners,
            mainland,
            by_name,
            houses: Houses::new(streets),
            streets: streets.clone(),
            report,
            torn,
        }
    }

    /// What was found while joining.
    pub fn report(&self) -> NetworkReport {
        self.report
    }

    /// Where the streets are torn.
    pub fn torn(&self) -> &Torn {
        &self.torn
    }

    /// The name of the street at which somebody stands; empty where it has none, `None` off all streets.
    pub fn street_name(&self, spot: &Spot) -> Option<&str> {
        let (stretch, ..) = spot.on?;
        Some(self.streets.name.get(self.stretches.get(stretch as usize)?.street as usize))
    }

    /// How people walk here.
    pub fn walking(&self) -> &Walking {
        &self.walking
    }

    fn places_of(&self, stretch: usize) -> &[Local] {
        of(&self.places, &self.stretches[stretch])
    }
}

fn of<'a>(places: &'a [Local], stretch: &Stretch) -> &'a [Local] {
    &places[stretch.places.start as usize..stretch.places.end as usize]
}

/// Dead ends shorter than this, in metres, are counted as stubs.
const STUB: f64 = 10.0;

fn stubs(drawn: &cuts::Drawn) -> Vec<Local> {
    let mut degree = vec![0u32; drawn.nodes.len()];
    drawn.stretches.iter().flat_map(|s| s.nodes).for_each(|n| degree[n as usize] += 1);
    let short = drawn.stretches.iter().filter(|s| s.length < STUB && s.nodes.iter().any(|&n| degree[n as usize] == 1));
    short.filter_map(|s| middle(of(&drawn.places, s))).collect()
}

/// The place of a line that stands in its middle.
fn middle(line: &[Local]) -> Option<Local> {
    line.get(line.len() / 2).copied()
}

/// Which stretches belong to the largest joined group by length, and the other groups, the longest first, with a place on the longest stretch
/// of each. Barriers part no groups: they are no fault of the streets, and crews may meet on either side.
fn islands(drawn: &cuts::Drawn) -> (Vec<bool>, Vec<(Local, f64)>) {
    let mut groups = cuts::Groups::new(drawn.nodes.len());
    for s in &drawn.stretches {
        groups.unite(s.nodes[0], s.nodes[1]);
    }
    let group: Vec<u32> = drawn.stretches.iter().map(|s| groups.of(s.nodes[0])).collect();
    let mut length: HashMap<u32, f64> = HashMap::new();
    drawn.stretches.iter().zip(&group).for_each(|(s, g)| *length.entry(*g).or_default() += s.length);
    let largest = length.iter().max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(a.0))).map(|(g, _)| *g);
    let mut longest: BTreeMap<u32, &Stretch> = BTreeMap::new();
    for (stretch, &g) in drawn.stretches.iter().zip(&group).filter(|(_, g)| Some(**g) != largest) {
        let held = longest.entry(g).or_insert(stretch);
        if stretch.length > held.length {
            *held = stretch;
        }
    }
    let placed = longest.iter().filter_map(|(g, s)| Some((middle(of(&drawn.places, s))?, *length.get(g)?)));
    let mut islands: Vec<(Local, f64)> = placed.collect();
    islands.sort_by(|a, b| b.1.total_cmp(&a.1));
    (group.iter().map(|g| Some(*g) == largest).collect(), islands)
}
