//! The program: reads its arguments, has the library do the work, prints the result.

use std::process::ExitCode;

mod cli;

fn main() -> ExitCode {
    cli::main()
}
