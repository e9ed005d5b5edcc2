//! What is wired to what: parts, terminals, joints, wires, shields, controls and places.

mod harness;
mod network;

pub use harness::*;
pub use network::*;
