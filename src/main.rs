//! The command: hands the arguments to the library and sets the exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(jumpseat::cli::run(std::env::args_os()))
}
