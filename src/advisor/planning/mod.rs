//! Which order of tests reaches a decision soonest: pure computation on a table, which knows no wiring.
//!
//! A [`Table`] holds states with the decisions they lead to, tests with the outcomes that each state gives them, and
//! what tests cost. A [`Stage`] is where a plan has come to. A policy picks the next test at a stage; what it costs on
//! average is worked out exactly, by following every outcome.

mod bounds;
mod costs;
mod effort;
mod exact;
mod foresight;
mod policy;
mod table;
mod testability;

pub use bounds::{cheapest, huffman, least, least_seconds};
pub use costs::{Costs, Spot};
pub use effort::{Effort, effort, whole_effort};
pub use exact::{Exact, Plan, exact};
pub use foresight::{Choice, Limits, seconds_with_each};
pub use policy::{
    Policy, edge_cutting, expected_seconds, greedy, half_split, look_ahead, recommended, rollout,
};
pub use table::{Deal, Stage, Table};
pub use testability::Testability;
