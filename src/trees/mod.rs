//! Authored trees: schema, loading, checking against a harness, walking. They know nothing of belief.

mod built_in;
mod caution;
mod check;
mod edit;
mod error;
mod fit;
mod graph;
mod hear;
mod load;
mod make;
mod meant;
pub(crate) mod name;
mod probe;
mod raw;
mod reach;
mod suspicion;
mod tree;
mod walk;
mod ways;
mod write;

pub use built_in::built_in;
pub use caution::{CAUTIONS, caution_text};
pub use edit::{Way, with_step_after};
pub use error::{TreeError, Wrong};
pub use fit::{Expected, Fitted};
pub use load::{examine, load, load_kept};
pub use make::Title;
pub use suspicion::ROLES;
pub use tree::{Answer, Ask, Feature, Group, How, Outcome, Probe, Sense, Step, Suspicion, Then, Tree, When};
pub use walk::Walk;
pub use ways::Landing;
pub use write::{written, written_step};
