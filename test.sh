#!/bin/sh
# Installs what the tests need, runs them all, and ends with "N passed, N failed".
set -eu
cd "$(dirname "$0")"
. scripts/needs.sh
need_tools $BUILD_PACKAGES $WINDOW_PACKAGES

# Window tests draw with software Vulkan and need no display.
runtime=$(mktemp -d)
log=$(mktemp)
trap 'rm -rf "$runtime" "$log"' EXIT
export XDG_RUNTIME_DIR="${XDG_RUNTIME_DIR:-$runtime}"

# The same random cases each time, so that a red run can be repeated.
export PROPTEST_RNG_SEED="${PROPTEST_RNG_SEED:-20251125}"

cargo test --workspace --locked --no-run
set +e
cargo test --workspace --locked --no-fail-fast 2>&1 | tee "$log"
set -e
awk '/^test result:/ { passed += $4; failed += $6 }
     /^error: could not compile/ { failed += 1 }
     END { printf "%d passed, %d failed\n", passed, failed; exit (failed > 0 || passed == 0) }' "$log"
