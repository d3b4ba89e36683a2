//! The program: reads its arguments, has the library do the work, prints the result.

use std::process::ExitCode;

mod cli;
#[cfg(feature = "desk")]
mod desk;

fn main() -> ExitCode {
    cli::main()
}
