//! Words of street addresses and the short forms that the postal standard gives them.
//!
//! # Source
//! USPS Publication 28, Postal Addressing Standards: directionals (section 233), street suffixes with their commonly used
//! forms (appendix C1), secondary unit designators (appendix C2).

/// Street suffixes: the standard's short form, then other writings of it that the standard lists.
#[rustfmt::skip]
static SUFFIXES: &[(&str, &str)] = &[
    ("ALY", "ALLEE ALLEY ALLY"), ("ANX", "ANEX ANNEX ANNX"), ("ARC", "ARCADE"), ("AVE", "AV AVEN AVENU AVENUE AVN AVNUE"),
    ("BYU", "BAYOO BAYOU"), ("BCH", "BEACH"), ("BND", "BEND"), ("BLF", "BLUF BLUFF"), ("BLFS", "BLUFFS"), ("BTM", "BOT BOTTM BOTTOM"),
    ("BLVD", "BOUL BOULEVARD BOULV"), ("BR", "BRNCH BRANCH"), ("BRG", "BRDGE BRIDGE"), ("BRK", "BROOK"), ("BRKS", "BROOKS"),
    ("BG", "BURG"), ("BGS", "BURGS"), ("BYP", "BYPA BYPAS BYPASS BYPS"), ("CP", "CAMP CMP"), ("CYN", "CANYN CANYON CNYN"),
    ("CPE", "CAPE"), ("CSWY", "CAUSEWAY CAUSWA"), ("CTR", "CEN CENT CENTER CENTR CENTRE CNTER CNTR"), ("CTRS", "CENTERS"),
    ("CIR", "CIRC CIRCL CIRCLE CRCL CRCLE"), ("CIRS", "CIRCLES"), ("CLF", "CLIFF"), ("CLFS", "CLIFFS"), ("CLB", "CLUB"),
    ("CMN", "COMMON"), ("CMNS", "COMMONS"), ("COR", "CORNER"), ("CORS", "CORNERS"), ("CRSE", "COURSE"), ("CT", "COURT"),
    ("CTS", "COURTS"), ("CV", "COVE"), ("CVS", "COVES"), ("CRK", "CREEK"), ("CRES", "CRESCENT CRSENT CRSNT"), ("CRST", "CREST"),
    ("XING", "CROSSING CRSSNG"), ("XRD", "CROSSROAD"), ("XRDS", "CROSSROADS"), ("CURV", "CURVE"), ("DL", "DALE"), ("DM", "DAM"),
    ("DV", "DIV DIVIDE DVD"), ("DR", "DRIV DRIVE DRV"), ("DRS", "DRIVES"), ("EST", "ESTATE"), ("ESTS", "ESTATES"),
    ("EXPY", "EXP EXPR EXPRESS EXPRESSWAY EXPW"), ("EXT", "EXTENSION EXTN EXTNSN"), ("EXTS", "EXTENSIONS"), ("FALL", ""), ("FLS", "FALLS"),
    ("FRY", "FERRY FRRY"), ("FLD", "FIELD"), ("FLDS", "FIELDS"), ("FLT", "FLAT"), ("FLTS", "FLATS"), ("FRD", "FORD"), ("FRDS", "FORDS"),
    ("FRST", "FOREST FORESTS"), ("FRG", "FORG FORGE"), ("FRGS", "FORGES"), ("FRK", "FORK"), ("FRKS", "FORKS"), ("FT", "FORT FRT"),
    ("FWY", "FREEWAY FREEWY FRWAY FRWY"), ("GDN", "GARDEN GARDN GRDEN GRDN"), ("GDNS", "GARDENS GRDNS"),
    ("GTWY", "GATEWAY GATEWY GATWAY GTWAY"), ("GLN", "GLEN"), ("GLNS", "GLENS"), ("GRN", "GREEN"), ("GRNS", "GREENS"),
    ("GRV", "GROV GROVE"), ("GRVS", "GROVES"), ("HBR", "HARB HARBOR HARBR HRBOR"), ("HBRS", "HARBORS"), ("HVN", "HAVEN"),
    ("HTS", "HT HEIGHTS"), ("HWY", "HIGHWAY HIGHWY HIWAY HIWY HWAY"), ("HL", "HILL"), ("HLS", "HILLS"), ("HOLW", "HLLW HOLLOW HOLLOWS HOLWS"),
    ("INLT", "INLET"), ("IS", "ISLAND ISLND"), ("ISS", "ISLANDS ISLNDS"), ("ISLE", "ISLES"), ("JCT", "JCTION JCTN JUNCTION JUNCTN JUNCTON"),
    ("JCTS", "JCTNS JUNCTIONS"), ("KY", "KEY"), ("KYS", "KEYS"), ("KNL", "KNOL KNOLL"), ("KNLS", "KNOLLS"), ("LK", "LAKE"),
    ("LKS", "LAKES"), ("LAND", ""), ("LNDG", "LANDING LNDNG"), ("LN", "LANE"), ("LGT", "LIGHT"), ("LGTS", "LIGHTS"), ("LF", "LOAF"),
    ("LCK", "LOCK"), ("LCKS", "LOCKS"), ("LDG", "LDGE LODG LODGE"), ("LOOP", "LOOPS"), ("MALL", ""), ("MNR", "MANOR"), ("MNRS", "MANORS"),
    ("MDW", "MEADOW"), ("MDWS", "MEADOWS MEDOWS"), ("MEWS", ""), ("ML", "MILL"), ("MLS", "MILLS"), ("MSN", "MISSN MSSN MISSION"),
    ("MTWY", "MOTORWAY"), ("MT", "MNT MOUNT"), ("MTN", "MNTAIN MNTN MOUNTAIN MOUNTIN MTIN"), ("MTNS", "MNTNS MOUNTAINS"), ("NCK", "NECK"),
    ("ORCH", "ORCHARD ORCHRD"), ("OVAL", "OVL"), ("OPAS", "OVERPASS"), ("PARK", "PRK PARKS"), ("PKWY", "PARKWAY PARKWY PKWAY PKY PARKWAYS PKWYS"),
    ("PASS", ""), ("PSGE", "PASSAGE"), ("PATH", "PATHS"), ("PIKE", "PIKES"), ("PNE", "PINE"), ("PNES", "PINES"), ("PL", "PLACE"),
    ("PLN", "PLAIN"), ("PLNS", "PLAINS"), ("PLZ", "PLAZA PLZA"), ("PT", "POINT"), ("PTS", "POINTS"), ("PRT", "PORT"), ("PRTS", "PORTS"),
    ("PR", "PRAIRIE PRR"), ("RADL", "RAD RADIAL RADIEL"), ("RAMP", ""), ("RNCH", "RANCH RANCHES RNCHS"), ("RPD", "RAPID"), ("RPDS", "RAPIDS"),
    ("RST", "REST"), ("RDG", "RDGE RIDGE"), ("RDGS", "RIDGES"), ("RIV", "RIVER RVR RIVR"), ("RD", "ROAD"), ("RDS", "ROADS"),
    ("RTE", "ROUTE"), ("ROW", ""), ("RUE", ""), ("RUN", ""), ("SHL", "SHOAL"), ("SHLS", "SHOALS"), ("SHR", "SHOAR SHORE"),
    ("SHRS", "SHOARS SHORES"), ("SKWY", "SKYWAY"), ("SPG", "SPNG SPRING SPRNG"), ("SPGS", "SPNGS SPRINGS SPRNGS"), ("SPUR", "SPURS"),
    ("SQ", "SQR SQRE SQU SQUARE"), ("SQS", "SQRS SQUARES"), ("STA", "STATION STATN STN"), ("STRA", "STRAV STRAVEN STRAVENUE STRAVN STRVN STRVNUE"),
    ("STRM", "STREAM STREME"), ("ST", "STREET STRT STR"), ("STS", "STREETS"), ("SMT", "SUMIT SUMITT SUMMIT"), ("TER", "TERR TERRACE"),
    ("TRWY", "THROUGHWAY"), ("TRCE", "TRACE TRACES"), ("TRAK", "TRACK TRACKS TRK TRKS"), ("TRFY", "TRAFFICWAY"), ("TRL", "TRAIL TRAILS TRLS"),
    ("TRLR", "TRAILER TRLRS"), ("TUNL", "TUNEL TUNLS TUNNEL TUNNELS TUNNL"), ("TPKE", "TRNPK TURNPIKE TURNPK"), ("UPAS", "UNDERPASS"),
    ("UN", "UNION"), ("UNS", "UNIONS"), ("VLY", "VALLEY VALLY VLLY"), ("VLYS", "VALLEYS"), ("VIA", "VDCT VIADCT VIADUCT"), ("VW", "VIEW"),
    ("VWS", "VIEWS"), ("VLG", "VILL VILLAG VILLAGE VILLG VILLIAGE"), ("VLGS", "VILLAGES"), ("VL", "VILLE"), ("VIS", "VIST VISTA VST VSTA"),
    ("WALK", "WALKS"), ("WALL", ""), ("WAY", "WY"), ("WAYS", ""), ("WL", "WELL"), ("WLS", "WELLS"),
];

/// Secondary units: the standard's short form, the whole word, and whether a number or letter must follow.
#[rustfmt::skip]
static UNITS: &[(&str, &str, bool)] = &[
    ("APT", "APARTMENT", true), ("BSMT", "BASEMENT", false), ("BLDG", "BUILDING", true), ("DEPT", "DEPARTMENT", true), ("FL", "FLOOR", true),
    ("FRNT", "FRONT", false), ("HNGR", "HANGAR", true), ("KEY", "KEY", true), ("LBBY", "LOBBY", false), ("LOT", "LOT", true),
    ("LOWR", "LOWER", false), ("OFC", "OFFICE", false), ("PH", "PENTHOUSE", false), ("PIER", "PIER", true), ("REAR", "REAR", false),
    ("RM", "ROOM", true), ("SIDE", "SIDE", false), ("SLIP", "SLIP", true), ("SPC", "SPACE", true), ("STOP", "STOP", true),
    ("STE", "SUITE", true), ("TRLR", "TRAILER", true), ("UNIT", "UNIT", true), ("UPPR", "UPPER", false),
];

#[rustfmt::skip]
static DIRECTIONS: &[(&str, &str)] = &[
    ("N", "NORTH"), ("E", "EAST"), ("S", "SOUTH"), ("W", "WEST"),
    ("NE", "NORTHEAST"), ("NW", "NORTHWEST"), ("SE", "SOUTHEAST"), ("SW", "SOUTHWEST"),
];

/// Numbered streets in words, as the standard lets them be written either way.
#[rustfmt::skip]
static ORDINALS: &[(&str, &str)] = &[
    ("1ST", "FIRST"), ("2ND", "SECOND"), ("3RD", "THIRD"), ("4TH", "FOURTH"), ("5TH", "FIFTH"), ("6TH", "SIXTH"), ("7TH", "SEVENTH"),
    ("8TH", "EIGHTH"), ("9TH", "NINTH"), ("10TH", "TENTH"), ("11TH", "ELEVENTH"), ("12TH", "TWELFTH"),
];

/// Words that begin names of numbered highways (the standard's appendix F), where a number at the end is no unit.
static HIGHWAYS: &[&str] = &["COUNTY", "STATE", "US", "INTERSTATE", "CR", "SR", "FM"];

/// The short form of a street suffix.
pub(super) fn suffix(word: &str) -> Option<&'static str> {
    static BY_WORD: std::sync::OnceLock<std::collections::HashMap<&'static str, &'static str>> = std::sync::OnceLock::new();
    let by_word = BY_WORD.get_or_init(|| SUFFIXES.iter().flat_map(|s| writings(s).map(|w| (w, s.0))).collect());
    by_word.get(word).copied()
}

/// All writings of a street suffix, given as its short form.
pub(super) fn writings_of(short: &str) -> impl Iterator<Item = &'static str> {
    SUFFIXES.iter().find(|s| s.0 == short).into_iter().flat_map(writings)
}

fn writings(&(short, others): &(&'static str, &'static str)) -> impl Iterator<Item = &'static str> {
    others.split(' ').filter(|w| !w.is_empty()).chain([short])
}

/// The short form of a secondary unit, and whether something must follow it.
pub(super) fn unit(word: &str) -> Option<(&'static str, bool)> {
    UNITS.iter().find(|u| u.0 == word || u.1 == word).map(|u| (u.0, u.2))
}

/// The short form of a direction.
pub(super) fn direction(word: &str) -> Option<&'static str> {
    DIRECTIONS.iter().find(|d| d.0 == word || d.1 == word).map(|d| d.0)
}

/// Two directions in two words, "NORTH EAST", as one.
pub(super) fn two_directions(first: &str, second: &str) -> Option<&'static str> {
    let (first, second) = (direction(first)?, direction(second)?);
    DIRECTIONS.iter().map(|d| d.0).find(|d| d.len() == 2 && d.starts_with(first) && d.ends_with(second))
}

/// A numbered street's number in figures.
pub(super) fn ordinal(word: &str) -> Option<&'static str> {
    ORDINALS.iter().find(|o| o.1 == word).map(|o| o.0)
}

/// Whether a word begins the name of a numbered highway.
pub(super) fn begins_highway(word: &str) -> bool {
    HIGHWAYS.contains(&word)
}
