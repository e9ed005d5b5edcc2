//! What is wired to what: parts, terminals, joints, wires, shields, controls and places.
//!
//! A wiring file is read by [`load()`]; what comes out is a [`Harness`] whose every name has been found and whose every
//! coil has a way to the plug. The format is described in DEVELOPERS.md.

mod harness;
mod network;
mod file;
mod block_forms;
mod blocks;
mod mistake;
mod values;
mod titles;
mod parts;
mod check;
mod doubts;
mod choose;
mod coil;
mod load;
mod built_in;
mod pickups;
mod stock;

pub use built_in::built_in;
pub use choose::{Answer, Fact, Looks, MOST_QUESTIONS, Question, Seen, next_question};
pub use doubts::{Doubt, doubts};
pub use file::FORMAT;
pub use harness::*;
pub use load::load;
pub use network::*;
pub use pickups::{PickupType, Usual, load_pickup_types, pickup_types};
pub use stock::{OddValue, odd_values};
pub use values::{OwnValue, OwnValueError, own_value};
