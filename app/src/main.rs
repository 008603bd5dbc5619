//! The program: a window, or one answer on the command line.

use std::process::ExitCode;

fn main() -> ExitCode {
    yardring::cli::main()
}
