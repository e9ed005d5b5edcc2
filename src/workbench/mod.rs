//! The one orchestrator, headless: commands in, events out, view data for window and command line alike.

mod command;
mod view;

pub use command::*;
pub use view::*;
