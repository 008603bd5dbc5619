//! The program: a window, or one answer on the command line.

use std::process::ExitCode;

/// Hands out memory on large pages, as `.cargo/config.toml` sets it up.
#[cfg(target_os = "linux")]
#[global_allocator]
static MEMORY: tikv_jemallocator::Jemalloc = tikv_jemallocator::Jemalloc;

fn main() -> ExitCode {
    yardring::cli::main()
}
