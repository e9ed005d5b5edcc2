//! What is wrong with a tree file, and of what kind it is.

use thiserror::Error;

use crate::source::Located;

/// Of what kind a mistake in a tree file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wrong {
    /// The text is no tree.
    Unreadable,
    /// It names what a guitar lacks.
    Misfit,
    /// No outcome takes a reading.
    Gap,
    /// Two outcomes take the same reading.
    Overlap,
    /// No way leads there.
    Unreachable,
    /// A step leads back to itself.
    Endless,
}

/// One mistake in a tree file.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("{at}")]
pub struct TreeError {
    /// Of what kind it is.
    pub wrong: Wrong,
    /// The name of the step that it is in; empty when it is in none.
    pub step: String,
    /// Where it is, what was found and how to mend it.
    pub at: Located,
}

impl From<Located> for TreeError {
    fn from(at: Located) -> Self {
        Self { wrong: Wrong::Unreadable, step: String::new(), at }
    }
}

impl TreeError {
    /// Returns a mistake of a kind whose step is still to be named.
    pub(super) fn new(wrong: Wrong, at: Located) -> Self {
        Self { wrong, ..Self::from(at) }
    }

    /// Returns this with the step that it is in.
    pub(super) fn in_step(self, step: &str) -> Self {
        Self { step: step.to_owned(), ..self }
    }

    /// Returns this as what a guitar lacks, unless it is of a plainer kind.
    pub(super) fn on_a_guitar(self) -> Self {
        match self.wrong {
            Wrong::Unreadable => Self { wrong: Wrong::Misfit, ..self },
            _ => self,
        }
    }
}
