//! What is tried, and how.

use crate::readings::{Access, Symptom};

/// How the next measurement is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Policy {
    /// The program's own first proposal.
    Advisor,
    /// The engine's first tree while it fits and its complaint is the customer's, then the advisor.
    Tree,
    /// The reading in ohms whose outcome splits what is left most evenly, whatever it costs.
    HalfSplit,
    /// Most bits per second, and nothing else.
    Greedy,
    /// Any measurement that is allowed and was not taken.
    Random,
}

impl Policy {
    /// Every policy that needs no file, the program's own first.
    pub const PLAIN: [Self; 4] = [Self::Advisor, Self::HalfSplit, Self::Greedy, Self::Random];

    /// Returns the name used on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Advisor => "advisor",
            Self::Tree => "tree",
            Self::HalfSplit => "half-split",
            Self::Greedy => "greedy",
            Self::Random => "random",
        }
    }
}

/// What is tried, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// How the next measurement is chosen.
    pub policy: Policy,
    /// Where all chance comes from.
    pub seed: u64,
    /// How far the technician may go.
    pub access: Access,
    /// How many of the faults, taken evenly from the catalogue; every one when `None`.
    pub singles: Option<usize>,
    /// How many instruments with two faults at once.
    pub pairs: usize,
    /// How many instruments that nothing is wrong with.
    pub healthy: usize,
    /// How many instruments as they come in, each fault as often as its prior says.
    pub drawn: usize,
    /// What the customer complains of in all instruments as they come in: each fault as often as it is behind that; what
    /// is most likely said of each instrument when `None`.
    pub complaint: Option<Symptom>,
    /// How many instruments with something that the catalogue does not hold.
    pub outside: usize,
    /// The share of readings that are taken or typed wrongly, 0 to 1.
    pub slips: f64,
    /// Each fault's prior is this many times too large or too small in the program's belief; at least 1.
    pub priors_off: f64,
    /// How many threads work; the outcome does not depend on it.
    pub threads: usize,
}

/// Every fault once, with the program's own policy and nothing gone wrong.
impl Default for Setup {
    fn default() -> Self {
        Self {
            policy: Policy::Advisor,
            seed: 1000,
            access: Access::MayUnsolder,
            singles: None,
            pairs: 0,
            healthy: 0,
            drawn: 0,
            complaint: None,
            outside: 0,
            slips: 0.0,
            priors_off: 1.0,
            threads: 1,
        }
    }
}
