//! What each fault would make each measurement read, with its spread, and what it does to the sound.

mod audible;
mod candidates;
mod circuits;
mod complaints;
mod drain;
mod flexing;
mod modes;
mod model;
mod more;
mod observations;
mod params;
mod peaks;
mod response;
mod row;
mod special;
mod states;
mod supply;
mod together;

pub use audible::Audible;
pub use candidates::{Candidate, Candidates, Question};
pub use complaints::complaint_by_questions;
pub use flexing::shows;
pub use model::{Bench, Cell, Model, SizeCurve};
pub use observations::Ear;
pub use params::{Param, Params, Quantity};
pub use response::{BODY, Curve, Difference, Load, Point, Response, SILENCE, Sounding, TREBLE, grid};
pub use row::Row;
pub use states::{Behaviour, Hypotheses, Hypothesis, State};
pub use together::together;
