//! What each fault would make each measurement read, with its spread, and what it does to the sound.

mod audible;
mod candidates;
mod model;
mod params;
mod response;
mod states;

pub use audible::Audible;
pub use candidates::{Candidate, Candidates, SCALE_END, scale, scale_per_ohm, unscaled};
pub use model::{Bench, Cell, Model, Row, SizeCurve};
pub use params::{Param, Params, Quantity};
pub use response::{BODY, Curve, Difference, Load, Point, Response, SILENCE, Sounding, TREBLE, grid};
pub use states::{Behaviour, Hypotheses, Hypothesis, State};
