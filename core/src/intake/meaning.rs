//! What a file's rows become, and what its columns can mean.

use std::fmt;

/// What the rows of a file become.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Premises: parcels with their outlines.
    Parcels,
    /// Street centrelines.
    Streets,
    /// Block outlines.
    Blocks,
    /// Visits and what was found on them.
    Visits,
    /// Cases, trap counts and complaints.
    Signals,
    /// Daily air temperatures.
    Temperatures,
}

/// One thing that a column can hold.
#[derive(Debug)]
pub struct Meaning {
    /// Its name, as column maps and reports write it.
    pub name: &'static str,
    /// Other spellings that offices use for it, in small letters and digits only, the most telling first.
    pub spellings: &'static [&'static str],
}

const fn meaning(name: &'static str, spellings: &'static [&'static str]) -> Meaning {
    Meaning { name, spellings }
}

static PARCELS: [Meaning; 5] = [
    meaning(
        "parcel_id",
        &[
            "parcelid",
            "parcelno",
            "parcelnum",
            "parcelnumber",
            "parcelnb",
            "parcelkey",
            "parcel",
            "pin",
            "pinnum",
            "gpin",
            "apn",
            "ain",
            "pid",
            "parid",
            "taxparcel",
            "taxparcelid",
            "taxid",
            "taxpin",
            "taxmaplot",
            "maplot",
            "maplotid",
            "mapblklot",
            "mapblocklot",
            "blklot",
            "blocklot",
            "ml",
            "bbl",
            "folio",
            "folioid",
            "strap",
            "accountno",
            "accountid",
            "acctid",
            "propid",
            "propertyid",
            "locid",
            "lotid",
            "id",
        ],
    ),
    meaning(
        "address",
        &[
            "situs",
            "situsaddress",
            "situsaddr",
            "situsfull",
            "siteaddr",
            "siteaddress",
            "siteadd",
            "propaddr",
            "propertyaddress",
            "propaddress",
            "physaddr",
            "physicaladdress",
            "locaddr",
            "locationaddress",
            "streetaddress",
            "fulladdress",
            "fulladdr",
            "addr",
            "address1",
        ],
    ),
    meaning("block_id", &["blockid", "block", "blockno", "blocknum", "blocknumber", "blkid", "blk", "cityblock", "censusblock"]),
    meaning("land_use", &["landuse", "lu", "luc", "lucode", "landusecode", "landusecd", "usecode", "usecd", "propclass", "propertyclass"]),
    meaning("year_built", &["yearbuilt", "yrbuilt", "yrblt", "yearblt", "builtyear", "actyrblt", "effyrblt", "yrbltact"]),
];

static STREETS: [Meaning; 7] = [
    meaning(
        "name",
        &["label", "fullname", "streetname", "stname", "stnam", "street", "roadname", "rdname", "streetnam", "fullst", "road", "st"],
    ),
    meaning("class", &["highway", "roadclass", "streetclass", "funcclass", "functionalclass", "fclass", "mtfcc", "majorroad"]),
    meaning("level", &["layer", "zlevel", "zlev"]),
    meaning(
        "left_from",
        &[
            "lfrom",
            "leftfrom",
            "lfromadd",
            "lfromaddr",
            "lfadd",
            "lfaddr",
            "laddfrom",
            "fromaddrl",
            "fromaddl",
            "fromleft",
            "fraddl",
            "lfromhn",
        ],
    ),
    meaning("left_to", &["lto", "leftto", "ltoadd", "ltoaddr", "ltadd", "ltaddr", "laddto", "toaddrl", "toaddl", "toleft", "ltohn"]),
    meaning(
        "right_from",
        &["rfrom", "rightfrom", "rfromadd", "rfromaddr", "rfadd", "rfaddr", "raddfrom", "fromaddrr", "fromright", "rfromhn"],
    ),
    meaning("right_to", &["rto", "rightto", "rtoadd", "rtoaddr", "rtadd", "rtaddr", "raddto", "toaddrr", "toright", "rtohn"]),
];

static BLOCKS: [Meaning; 1] = [meaning(
    "block_id",
    &[
        "blockid",
        "block",
        "blockno",
        "blocknum",
        "blocknumber",
        "blkid",
        "blk",
        "cityblock",
        "geoid",
        "geoid20",
        "geoid10",
        "blockce20",
        "blockce10",
        "blockce",
        "uniqueid",
        "unqid",
        "name",
        "id",
    ],
)];

static VISITS: [Meaning; 24] = [
    meaning("visit_id", &["visitid", "visit", "visitno", "inspectionid", "inspection", "sheetno", "sheetid"]),
    meaning("date", &["visitdate", "inspectiondate", "day", "datetime", "inspdate", "when"]),
    meaning(
        "parcel_id",
        &[
            "parcelid",
            "parcelno",
            "parcelnum",
            "parcelnumber",
            "parcel",
            "pin",
            "gpin",
            "apn",
            "ml",
            "maplot",
            "folio",
            "premise",
            "premiseid",
        ],
    ),
    meaning("lon", &["longitude", "long", "lng", "x", "xlon", "gpslon", "londd"]),
    meaning("lat", &["latitude", "y", "ylat", "gpslat", "latdd"]),
    meaning("address", &["situs", "siteaddr", "siteaddress", "streetaddress", "fulladdress", "addr", "address1"]),
    meaning("outcome", &["result", "visitresult", "status", "access"]),
    meaning("round", &["roundname", "roundno", "cycle", "pass"]),
    meaning("crew", &["team", "inspector", "crewname", "crewid"]),
    meaning("time_in", &["timein", "intime", "arrived", "arrival", "starttime", "time", "visittime"]),
    meaning("time_out", &["timeout", "outtime", "departed", "departure", "endtime"]),
    meaning("minutes", &["mins", "durationmin", "durationminutes", "minutesthere", "minutesondoor"]),
    meaning("container_type", &["containertype", "container", "containerkind", "kind", "type", "habitat"]),
    meaning("holds_water", &["holdswater", "water", "wet", "haswater", "withwater"]),
    meaning("larvae", &["larva", "withlarvae", "haslarvae", "larvaepresent"]),
    meaning("pupae", &["pupa", "withpupae", "haspupae", "pupaepresent"]),
    meaning("count", &["containers", "containercount", "number", "num", "quantity", "qty", "n"]),
    meaning("pupae_count", &["pupaecount", "numpupae", "pupaenumber", "pupaecounted", "npupae"]),
    meaning("stages", &["stage", "oldeststage", "instar"]),
    meaning("litres", &["liters", "litre", "liter", "volume", "volumel", "waterlitres", "waterliters"]),
    meaning("action", &["actiontaken", "treatment", "done"]),
    meaning("remains", &["left", "followup", "remaining", "todo"]),
    meaning("promise", &["promised", "appointment", "appt", "comeback", "callagain"]),
    meaning("cautions", &["caution", "hazards", "hazard", "warnings", "warning", "beware"]),
];

static SIGNALS: [Meaning; 8] = [
    meaning("signal_id", &["signalid", "signal", "caseid", "trapid", "complaintid", "requestid", "id"]),
    meaning("date", &["signaldate", "day", "datetime", "onset", "onsetdate", "collected", "received"]),
    meaning("lon", &["longitude", "long", "lng", "x", "xlon", "gpslon"]),
    meaning("lat", &["latitude", "y", "ylat", "gpslat"]),
    meaning("address", &["situs", "siteaddr", "siteaddress", "streetaddress", "fulladdress", "addr"]),
    meaning("kind", &["signalkind", "type", "signaltype"]),
    meaning("value", &["count", "trapcount", "pernight", "females", "adults"]),
    meaning("species", &["speciesname", "taxon"]),
];

static TEMPERATURES: [Meaning; 7] = [
    meaning("date", &["day", "datetime"]),
    meaning("mean_c", &["meanc", "mean", "avg", "average", "tavg", "tempavg", "tempmean", "meantemp", "tmean", "temperature"]),
    meaning("min_c", &["minc", "min", "tmin", "tempmin", "mintemp", "minimum"]),
    meaning("max_c", &["maxc", "max", "tmax", "tempmax", "maxtemp", "maximum"]),
    meaning("mean_f", &["meanf", "avgf", "averagef", "tavgf", "tempavgf", "tmeanf", "temperaturef", "tempf"]),
    meaning("min_f", &["minf", "tminf", "tempminf", "mintempf", "minimumf", "lowf"]),
    meaning("max_f", &["maxf", "tmaxf", "tempmaxf", "maxtempf", "maximumf", "highf"]),
];

impl Role {
    /// Every role, in the order in which files are brought in.
    pub const ALL: [Self; 6] = [Self::Parcels, Self::Blocks, Self::Streets, Self::Visits, Self::Signals, Self::Temperatures];

    /// The name of the role in column maps, reports and refused rows.
    pub fn name(self) -> &'static str {
        match self {
            Self::Parcels => "parcels",
            Self::Streets => "streets",
            Self::Blocks => "blocks",
            Self::Visits => "visits",
            Self::Signals => "signals",
            Self::Temperatures => "temperatures",
        }
    }

    /// What the columns of such a file can mean.
    ///
    /// ```
    /// use yardring_core::intake::Role;
    /// assert_eq!(Role::Blocks.meanings()[0].name, "block_id");
    /// ```
    pub fn meanings(self) -> &'static [Meaning] {
        match self {
            Self::Parcels => &PARCELS,
            Self::Streets => &STREETS,
            Self::Blocks => &BLOCKS,
            Self::Visits => &VISITS,
            Self::Signals => &SIGNALS,
            Self::Temperatures => &TEMPERATURES,
        }
    }

    /// What a file of such rows cannot do without: of each group one meaning. Shapes stand in for the group with `lon`.
    pub fn needs(self) -> &'static [&'static [&'static str]] {
        match self {
            Self::Parcels | Self::Streets | Self::Blocks => &[],
            Self::Visits => &[&["date"], &["outcome"], &["parcel_id", "lon", "address"]],
            Self::Signals => &[&["date"], &["kind"], &["lon", "address"]],
            Self::Temperatures => &[&["date"], &["mean_c", "max_c", "mean_f", "max_f"]],
        }
    }

    /// The meaning with a name.
    pub fn meaning(self, name: &str) -> Option<&'static Meaning> {
        self.meanings().iter().find(|m| m.name == name)
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
