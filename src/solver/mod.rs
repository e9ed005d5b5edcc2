//! The equations and their solution: one assembly path for direct current and for alternating current.
//!
//! Joints, wires, contacts, coils and pieces of track are rows of their own with a current; leaks and
//! capacitors are admittances. Whether there is a path is decided from the topology before the matrix is
//! asked, so "over range" is exact.

mod equations;
mod netlist;
mod solved;
mod tuned;
mod values;

use thiserror::Error;

pub use equations::{Branch, Equations, Shunt, components};
pub use netlist::{Deck, Heard, netlist, sounding_lines};
pub use solved::{Response, Solved};
pub use tuned::{Hanging, Tuned};
pub use values::{Positions, Scalar, Values, track_ohms, track_share};

/// What can go wrong while solving.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum SolverError {
    /// The equations have no single solution.
    #[error(
        "solving {nodes} nodes and {branches} branches: the equations have no single solution; \
         a loop of conductors without any resistance is not allowed"
    )]
    Singular {
        /// Number of nodes.
        nodes: usize,
        /// Number of branches.
        branches: usize,
    },
    /// An element names a node that does not exist.
    #[error("solving: an element names node {node}, but there are only {nodes}")]
    UnknownNode {
        /// The node named.
        node: usize,
        /// Number of nodes.
        nodes: usize,
    },
}
