//! argv in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(markloft::cli::run(std::env::args_os()))
}
