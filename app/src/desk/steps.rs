//! The steps of the worksheets in the order of the work: worksheets draw them by these names and numbers, the finder offers them.

use crate::session::Desk;

/// One step of a worksheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Named {
    /// On which worksheet.
    pub desk: Desk,
    /// Its number there, from 1.
    pub number: u8,
    /// Its name.
    pub title: &'static str,
    /// Words that people look for it by.
    pub words: &'static str,
}

const fn named(desk: Desk, number: u8, title: &'static str, words: &'static str) -> Named {
    Named { desk, number, title, words }
}

/// Numbers of the plan worksheet's steps. What a walk is made of stands before it: the gaps, their chances, the visits that are due.
pub mod plan {
    /// What the reach is drawn round.
    pub const SOURCES: u8 = 1;
    /// How far it goes.
    pub const REACH: u8 = 2;
    /// Yards in it that nobody has seen.
    pub const GAPS: u8 = 3;
    /// How likely each is to be positive.
    pub const CHANCES: u8 = 4;
    /// Visits that are due.
    pub const CALL_BACKS: u8 = 5;
    /// Who walks, and when.
    pub const CREWS: u8 = 6;
    /// Who goes where.
    pub const WALKS: u8 = 7;
    /// What crews take along.
    pub const SHEETS: u8 = 8;
    /// How much water, and the arithmetic of a label.
    pub const WATER: u8 = 9;
}

/// All steps, in the order in which the finder offers them.
pub const ALL: [Named; 18] = [
    named(Desk::Intake, 1, "Files", "bring in import open county parcels visits streets shapefile csv excel"),
    named(Desk::Intake, 2, "Columns", "match meaning headings fields map"),
    named(Desk::Intake, 3, "What came in", "report counts imported rows findings"),
    named(Desk::Intake, 4, "Settle", "refused unplaced place rows not joined accept set aside"),
    named(Desk::Intake, 5, "Blocks", "blocks made from parcels derived premises in none"),
    named(Desk::Plan, plan::SOURCES, "Sources", "positive yards pupae traps cases complaints larvae"),
    named(Desk::Plan, plan::REACH, "Reach", "radius flight range distance buffer barriers yards metres"),
    named(Desk::Plan, plan::GAPS, "Gaps", "not seen unseen missing uninspected list ranked"),
    named(Desk::Plan, plan::CHANCES, "Chances", "probability foresee forecast risk likely model calibration"),
    named(Desk::Plan, plan::CALL_BACKS, "Call-backs", "callbacks due overdue again follow up return last safe day"),
    named(Desk::Plan, plan::CREWS, "Crews", "team people shift begin start meeting point break pause heat minutes car lines crossed"),
    named(Desk::Plan, plan::WALKS, "Walks", "route routes tour day plan doors order move lock promise hour assign"),
    named(Desk::Plan, plan::SHEETS, "Sheets", "print paper pdf gpx kml export hand out crew list"),
    named(Desk::Plan, plan::WATER, "Water", "litres gallons volume dose rate label larvicide treatment"),
    named(Desk::Brief, 1, "Measure", "index indices house container breteau numbers district briefing meeting"),
    named(Desk::Brief, 2, "Blocks", "table worst ranking clusters doors enough sample"),
    named(Desk::Brief, 3, "Containers", "kinds tires buckets drums productive pupae key"),
    named(Desk::Brief, 4, "Change", "compare rounds before after control did it work"),
];

/// A step by its worksheet and its number.
pub fn of(desk: Desk, number: u8) -> Option<&'static Named> {
    ALL.iter().find(|step| (step.desk, step.number) == (desk, number))
}

/// A step's name; empty where there is no such step.
pub fn title(desk: Desk, number: u8) -> &'static str {
    of(desk, number).map_or("", |step| step.title)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_counted_from_one_on_every_worksheet() {
        for desk in [Desk::Intake, Desk::Plan, Desk::Brief] {
            let numbers: Vec<u8> = ALL.iter().filter(|s| s.desk == desk).map(|s| s.number).collect();
            assert_eq!(numbers, (1..=numbers.len() as u8).collect::<Vec<_>>(), "{desk:?}");
        }
        assert_eq!((title(Desk::Plan, plan::WALKS), title(Desk::Plan, 10)), ("Walks", ""));
    }
}
