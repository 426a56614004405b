//! The command `cutspan`.

use std::process::ExitCode;

fn main() -> ExitCode {
    cutspan::cli::main()
}
