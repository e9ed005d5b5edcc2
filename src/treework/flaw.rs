//! What can be the matter with a tree, and what was found.

/// What can be the matter with a tree.
///
/// Irrelevant, redundant and premature checks are those of the course in logical troubleshooting IT0338 (US Army, 1996).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Flaw {
    /// The file is no tree.
    CannotBeRead,
    /// It names what a guitar that it is for does not have.
    DoesNotFit,
    /// No outcome takes a reading.
    Gap,
    /// Two outcomes take the same reading.
    Overlap,
    /// Nothing that can be the matter leads there.
    Unreachable,
    /// A step leads back to itself.
    Endless,
    /// A step lies outside the brackets: it tells nothing where it is, nor later on its path.
    Irrelevant,
    /// A step reads what was read already on every path that leads to it.
    Redundant,
    /// A step tells nothing where it is, and something after a reading that comes later on its path.
    Premature,
    /// What ends there is elsewhere than the tree says.
    Contradicted,
    /// Faults end where the tree names others.
    WrongEnd,
    /// A quick reading would tell more at an end.
    Splittable,
    /// Another reading would tell several times as much for its time.
    AgainstTheAdvisor,
    /// With the tree it takes much longer than with the advisor alone.
    Slow,
}

impl Flaw {
    /// Every flaw, in the order in which they are listed anywhere.
    pub const ALL: [Self; 14] = [
        Self::CannotBeRead,
        Self::DoesNotFit,
        Self::Gap,
        Self::Overlap,
        Self::Unreachable,
        Self::Endless,
        Self::Irrelevant,
        Self::Redundant,
        Self::Premature,
        Self::Contradicted,
        Self::WrongEnd,
        Self::Splittable,
        Self::AgainstTheAdvisor,
        Self::Slow,
    ];

    /// Returns the name used on the command line and in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::CannotBeRead => "cannot-be-read",
            Self::DoesNotFit => "does-not-fit",
            Self::Gap => "gap",
            Self::Overlap => "overlap",
            Self::Unreachable => "unreachable",
            Self::Endless => "endless",
            Self::Irrelevant => "irrelevant",
            Self::Redundant => "redundant",
            Self::Premature => "premature",
            Self::Contradicted => "contradicted",
            Self::WrongEnd => "wrong-end",
            Self::Splittable => "splittable",
            Self::AgainstTheAdvisor => "against-the-advisor",
            Self::Slow => "slow",
        }
    }

    /// Returns what it means, in one sentence.
    pub const fn term(self) -> &'static str {
        match self {
            Self::CannotBeRead => "The file is not a tree of the format that this program reads.",
            Self::DoesNotFit => "The tree names what a guitar that it is for does not have.",
            Self::Gap => "A reading is possible that no outcome of the step takes.",
            Self::Overlap => "Two outcomes of the step take the same reading.",
            Self::Unreachable => "Nothing that can be the matter leads there.",
            Self::Endless => "The step leads back to itself.",
            Self::Irrelevant => {
                "The check lies outside the brackets: it tells nothing here, nor later on its path."
            }
            Self::Redundant => "The check was made already on every path that leads to it.",
            Self::Premature => "The check tells something only once a later one is made.",
            Self::Contradicted => "The circuit says that what ends here is elsewhere than the tree says.",
            Self::WrongEnd => "Faults end here that the end does not name.",
            Self::Splittable => {
                "A quick reading without opening anything would still tell what ends here apart."
            }
            Self::AgainstTheAdvisor => "Another reading would tell several times as much for its time.",
            Self::Slow => "With the tree it takes much longer than with the advisor alone.",
        }
    }

    /// Returns whether a tree fails by it; the rest is advice. Of some flaws a small measure is advice too, see
    /// [`Finding::fails`].
    pub const fn fails(self) -> bool {
        !matches!(self, Self::Splittable | Self::AgainstTheAdvisor)
    }
}

/// One thing that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What is the matter.
    pub flaw: Flaw,
    /// Whether the tree fails by it; it is advice otherwise.
    pub fails: bool,
    /// The line, from 1.
    pub line: usize,
    /// The column, from 1.
    pub column: usize,
    /// The name of the step; empty when it is about the whole tree.
    pub step: String,
    /// The wirings on which it is so; none when it is so on every guitar.
    pub wirings: Vec<String>,
    /// What was found, in a plain sentence without a final stop.
    pub says: String,
    /// How to mend it; may be empty.
    pub hint: String,
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_flaw_has_a_name_of_its_own_and_a_sentence() {
        let names: BTreeSet<&str> = Flaw::ALL.iter().map(|flaw| flaw.name()).collect();
        assert_eq!(names.len(), Flaw::ALL.len());
        assert!(Flaw::ALL.iter().all(|flaw| flaw.term().ends_with('.')));
        assert!(Flaw::ALL.windows(2).all(|pair| pair[0] < pair[1]));
    }
}
