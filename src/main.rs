//! The program: a command line, and a window when no command is given.

use std::path::Path;
use std::process::ExitCode;

use lugwise::cli::{self, Wish};

fn main() -> ExitCode {
    match cli::run(std::env::args_os()) {
        Wish::Exit(code) => code.into(),
        Wish::Window(job) => open_window(job.as_deref()).into(),
    }
}

/// Opens the window and returns the exit code once it is closed.
#[cfg(feature = "gui")]
fn open_window(job: Option<&Path>) -> u8 {
    match lugwise::ui::open(job) {
        Ok(()) => 0,
        Err(why) => cli::no_window(job, &why),
    }
}

/// Says that this build has no window.
#[cfg(not(feature = "gui"))]
fn open_window(job: Option<&Path>) -> u8 {
    cli::no_window(
        job,
        "this build has none\n  hint: build it with the feature `gui`, or use `lugwise --help`",
    )
}
