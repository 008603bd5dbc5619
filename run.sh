#!/bin/sh
# Builds Yardring and opens the demo survey. Without a display it writes the demo's gap list and map into out/ instead.
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
say "There is no display here, so the window cannot open. Writing the demo's gap list and map into out/ instead."
mkdir -p out
"$program" demo --survey out/quillmere.gpkg --no-window
"$program" gaps out/quillmere.gpkg --from positives --radius 150m --out out/gaps.csv
"$program" map out/quillmere.gpkg --colour-by gaps --size 1600x1200 --out out/gaps.png
say "Written: out/quillmere.gpkg, out/gaps.csv, out/gaps.png"
