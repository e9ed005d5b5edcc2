//! What is wired to what: parts, terminals, joints, wires, shields, controls and places.

mod harness;

pub use harness::*;
