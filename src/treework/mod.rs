//! Holds an authored tree against every fault of every wiring that it is for, and grows one from the circuit.
//!
//! Seeded instruments of everything that can be behind the tree's complaint go through its steps. What comes together at
//! an end is compared with what the tree says there, what a step tells with what it costs, and the whole with what the
//! advisor would do.

mod bits;
mod cells;
mod chance;
mod checked;
mod counsel;
mod figures;
mod flaw;
mod flaws_ends;
mod flaws_read;
mod flaws_steps;
mod flow;
mod grow;
mod known;
mod passed;
mod played;
mod sample;
mod turns;

pub use checked::{Checked, can_be_held, check};
pub use figures::Figures;
pub use flaw::{Finding, Flaw};
pub use grow::{GrowError, grow};
pub use played::{PLAYED, Played, play, settled};
