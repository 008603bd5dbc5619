//! The layout of the survey file: its tables, in words for people who open it elsewhere.

/// The number of this layout. It rises when a program that knows only the old one could no longer read the file rightly.
pub(super) const LAYOUT: i64 = 1;

/// The tables of a survey. A column that ends in `_fid` holds the key of a row of another table and is what counts; the
/// words beside it are there for people.
pub(super) const TABLES: &str = "
CREATE TABLE streets (fid INTEGER PRIMARY KEY NOT NULL, geom MULTILINESTRING, name TEXT, class TEXT, level INTEGER,
  left_from INTEGER, left_to INTEGER, right_from INTEGER, right_to INTEGER);
CREATE TABLE signals (
  fid INTEGER PRIMARY KEY NOT NULL, geom POINT, signal_id TEXT NOT NULL, date DATE NOT NULL, kind TEXT NOT NULL,
  value DOUBLE, species TEXT);
CREATE TABLE rounds (fid INTEGER PRIMARY KEY NOT NULL, name TEXT NOT NULL, first_day DATE NOT NULL, last_day DATE NOT NULL);
CREATE TABLE container_kinds (fid INTEGER PRIMARY KEY NOT NULL, name TEXT NOT NULL);
CREATE TABLE temperatures (
  fid INTEGER PRIMARY KEY NOT NULL, date DATE NOT NULL, mean_c DOUBLE NOT NULL, min_c DOUBLE, max_c DOUBLE);
CREATE TABLE refused_rows (
  fid INTEGER PRIMARY KEY NOT NULL, file TEXT NOT NULL, source TEXT NOT NULL, row INTEGER NOT NULL, reason TEXT NOT NULL,
  cells TEXT NOT NULL);
CREATE TABLE intake_log (
  fid INTEGER PRIMARY KEY NOT NULL, file TEXT NOT NULL, source TEXT NOT NULL, rows INTEGER NOT NULL, kept INTEGER NOT NULL,
  findings TEXT NOT NULL);
CREATE TABLE settings (fid INTEGER PRIMARY KEY NOT NULL, part TEXT NOT NULL, name TEXT NOT NULL, value TEXT NOT NULL);";

/// The table of premises, as it stands in the file. The geometry comes last, so that whoever does not want it can stop reading
/// before it.
pub(super) const PREMISES: &str = "CREATE TABLE premises (fid INTEGER PRIMARY KEY NOT NULL, parcel_id TEXT NOT NULL, address TEXT, \
    block_id TEXT, block_fid INTEGER, land_use TEXT, year_built INTEGER, geom MULTIPOLYGON)";

/// The table of blocks, as it stands in the file.
pub(super) const BLOCKS: &str = "CREATE TABLE blocks (fid INTEGER PRIMARY KEY NOT NULL, geom MULTIPOLYGON, block_id TEXT NOT NULL)";

/// The table of visits, as it stands in the file.
pub(super) const VISITS: &str = "CREATE TABLE visits (
  fid INTEGER PRIMARY KEY NOT NULL, visit_id TEXT NOT NULL, premise_fid INTEGER NOT NULL, parcel_id TEXT NOT NULL,
  date DATE NOT NULL, time TEXT, outcome TEXT NOT NULL, round TEXT NOT NULL, round_fid INTEGER NOT NULL, crew TEXT,
  promise TEXT, cautions TEXT, minutes INTEGER, by_hand BOOLEAN)";

/// The table of finds, as it stands in the file.
pub(super) const FINDS: &str = "CREATE TABLE finds (
  fid INTEGER PRIMARY KEY NOT NULL, visit_fid INTEGER NOT NULL, container_type TEXT NOT NULL, kind_fid INTEGER NOT NULL,
  count INTEGER NOT NULL, holds_water INTEGER NOT NULL, larvae INTEGER NOT NULL, pupae INTEGER NOT NULL,
  pupae_count INTEGER NOT NULL, stage TEXT, litres FLOAT, action TEXT, remains BOOLEAN NOT NULL)";

/// Tables without geometry, each with what it holds in words.
pub(super) const PLAIN_TABLES: [(&str, &str); 8] = [
    ("rounds", "Passes over the area, with their first and last day"),
    ("container_kinds", "Kinds of container that were found"),
    ("visits", "Attempts at premises, with their outcome"),
    ("finds", "Containers found on visits"),
    ("temperatures", "Daily air temperatures in degrees Celsius"),
    ("refused_rows", "Rows of files that could not be brought in, with the reason and all their cells as JSON"),
    ("intake_log", "What was brought in from which file; findings as JSON"),
    ("settings", "What the file and the office say about the survey"),
];

/// Part of the settings table that belongs to the file itself.
pub(super) const FILE_PART: &str = "file";
/// Part of the settings table that belongs to the office.
pub(super) const OFFICE_PART: &str = "office";
