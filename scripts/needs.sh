# Sourced by run.sh and test.sh: sees that what the build needs is on the machine.

say() { printf '%s\n' "$*" >&2; }

# Installs the named packages that are missing, on Debian or Ubuntu; elsewhere says what to install and stops.
need_packages() {
    missing=""
    for package in "$@"; do
        dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    if ! command -v apt-get >/dev/null; then
        say "Yardring needs these packages (named as Debian names them):$missing"
        say "Install what your system calls them, then start this again."
        exit 1
    fi
    as_root=""
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo >/dev/null || { say "Run as root: apt-get install$missing"; exit 1; }
        as_root="sudo"
    fi
    say "Installing:$missing"
    $as_root apt-get update -qq
    DEBIAN_FRONTEND=noninteractive $as_root apt-get install -y -qq --no-install-recommends $missing >/dev/null
}

# On a system without dpkg the packages cannot be looked up; then the tools themselves are asked for.
need_tools() {
    if command -v dpkg-query >/dev/null; then
        need_packages "$@"
    else
        for tool in cc c++ cmake sqlite3 pkg-config; do
            command -v "$tool" >/dev/null && continue
            say "Yardring needs $tool to build (also: $*, as Debian names them). Install it, then start this again."
            exit 1
        done
    fi
    command -v cargo >/dev/null && return 0
    say "Yardring needs Rust 1.95 or newer (cargo and rustc). Install it, then start this again."
    exit 1
}

BUILD_PACKAGES="build-essential cmake sqlite3 pkg-config"
WINDOW_PACKAGES="libxkbcommon0 libxkbcommon-x11-0 libx11-6 libx11-xcb1 libxcursor1 libxi6 libxrandr2 libwayland-client0 libvulkan1 mesa-vulkan-drivers libegl1 libgl1-mesa-dri"
