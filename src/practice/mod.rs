//! The practice bench: hides a fault in a wiring, shows what a meter would, and weighs how it was looked for.
//!
//! The instrument is the one that a trial plays with, the job is a real job in memory. What a person does is set against
//! what the program would have done with the same instrument.

mod advised;
mod display;
mod error;
mod game;
mod level;
mod look;
mod naming;
mod progress;
mod review;
#[cfg(test)]
mod tests;

pub use advised::Closing;
pub use display::{Display, UPDATE};
pub use error::PracticeError;
pub use game::Practice;
pub use level::{Difficulty, Size};
pub use naming::{Choice, Hidden, Verdict};
pub use progress::{Played, Progress, Tally};
pub use review::{Advice, Review, ReviewStep, Total, Totals};
