//! Authored trees: schema, loading, checking against a harness, walking. They know nothing of belief.

mod built_in;
mod check;
mod fit;
mod graph;
mod load;
mod probe;
mod raw;
mod reach;
mod tree;
mod walk;

pub use built_in::built_in;
pub use fit::{Expected, Fitted};
pub use load::load;
pub use tree::{Answer, Ask, Feature, Group, How, Outcome, Probe, Sense, Step, Suspicion, Then, Tree, When};
pub use walk::Walk;
