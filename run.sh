#!/bin/sh
# Builds Yardring and opens the demo survey. Without a display it writes the demo's gap list, map, planned day and briefing into out/ instead.
set -eu
cd "$(dirname "$0")"
. scripts/needs.sh
need_tools $BUILD_PACKAGES $WINDOW_PACKAGES

say "Building Yardring. The first time takes several minutes, and the part about coordinate systems (proj-sys) looks stuck for some of them."
cargo build --release --locked
program=target/release/yardring

if [ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ]; then
    exec "$program" demo
fi
say "There is no display here, so the window cannot open. Writing the demo's gap list, map, planned day and briefing into out/ instead."
mkdir -p out
"$program" intake out/quillmere.gpkg --parcels sample_data/parcels.shp --streets sample_data/streets.geojson \
    --blocks sample_data/blocks.geojson --visits sample_data/visits.csv --signals sample_data/signals.csv \
    --temperatures sample_data/temperatures.csv --report out/intake.json --refused out/refused.csv
"$program" gaps out/quillmere.gpkg --from positives --radius 150m --out out/gaps.csv
"$program" map out/quillmere.gpkg --colour-by gaps --size 1600x1200 --out out/gaps.pdf
"$program" walks out/quillmere.gpkg --on 2025-07-24 --crews 4 --shift 6h --start -88.3020,29.3985 --out out/walks
"$program" brief out/quillmere.gpkg --title Quillmere --on 2025-07-24 --out out/briefing.pdf
say "Written into out/: quillmere.gpkg (the survey), gaps.csv, gaps.pdf, walks/ (a sheet for each crew), briefing.pdf, intake.json, refused.csv"
