//! Why the crews are there, and the weather that larvae grow in.

use super::earth::Earth;
use super::plan::Spot;
use super::random::Chance;

/// Signals on the drawing board: day of July 2025, place, kind, value, species.
const SIGNALS: [(u32, Spot, &str, &str, &str); 12] = [
    (3, [312.0, 252.0], "case", "", ""),
    (8, [296.0, 197.0], "trap", "21", "Aedes albopictus"),
    (8, [1343.0, 316.0], "trap", "34", "Aedes aegypti"),
    (8, [797.0, 745.0], "trap", "17", "Aedes albopictus"),
    (15, [1180.0, 640.0], "trap", "2", "Aedes albopictus"),
    (15, [902.0, 446.0], "trap", "12.5", "Aedes albopictus"),
    (15, [420.0, -40.0], "trap", "0", "Aedes albopictus"),
    (2, [335.0, 300.0], "complaint", "", ""),
    (9, [1398.0, 262.0], "complaint", "", ""),
    (14, [870.0, 805.0], "complaint", "", ""),
    (16, [610.0, 110.0], "complaint", "", ""),
    (22, [1264.0, 690.0], "complaint", "", ""),
];

/// The signals table.
pub fn signals(earth: &Earth) -> String {
    let mut out = "signal_id,date,lon,lat,kind,value,species\n".to_owned();
    for (i, (day, place, kind, value, species)) in SIGNALS.iter().enumerate() {
        let [lon, lat] = earth.degrees(*place);
        out += &format!("S{:02},2025-07-{day:02},{lon},{lat},{kind},{value},{species}\n", i + 1);
    }
    out
}

/// Lowest and highest temperature of each day from June to August 2025: a humid subtropical summer, invented.
pub fn temperatures(chance: &mut Chance) -> String {
    let mut out = "date,min_c,max_c\n".to_owned();
    let mut spell = 0.0;
    let mut n = 0.0;
    for (month, days) in [(6, 30), (7, 31), (8, 31)] {
        for day in 1..=days {
            spell = 0.7 * spell + chance.between(-1.1, 1.1);
            let season = 1.6 * (std::f64::consts::PI * n / 91.0).sin();
            let low = 23.2 + season + spell;
            let high = low + chance.between(6.4, 9.4);
            out += &format!("2025-{month:02}-{day:02},{low:.1},{high:.1}\n");
            n += 1.0;
        }
    }
    out
}
