//! The program: reads its arguments, hands over, and turns the outcome into an exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    coxswain::cli::main()
}
