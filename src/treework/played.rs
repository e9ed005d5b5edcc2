//! What a tree took in jobs that were played, and what that says of it.

use super::checked::{in_order, slow};
use super::{Checked, Flaw};
use crate::trees::Tree;

/// What the same simulated instruments took on one wiring with a tree, and with the advisor alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Played {
    /// The name of the wiring.
    pub wiring: String,
    /// How many jobs were played.
    pub jobs: usize,
    /// In how many the fault was found with the tree.
    pub found: usize,
    /// In how many it was found by the advisor alone.
    pub found_alone: usize,
    /// The hands-on minutes on average with the tree, and with the advisor after it.
    pub minutes: f64,
    /// The hands-on minutes on average with the advisor alone.
    pub advisor_minutes: f64,
}

impl Played {
    /// Returns how many times the advisor's minutes the tree took; `None` where the advisor took no time.
    pub fn ratio(&self) -> Option<f64> {
        (self.advisor_minutes > 0.0).then(|| self.minutes / self.advisor_minutes)
    }
}

impl Checked {
    /// Takes in jobs that were played with the tree: whether it is slow is judged by them and no longer by estimates.
    #[must_use]
    pub fn with_played(mut self, tree: &Tree, played: Vec<Played>) -> Self {
        if !played.is_empty() {
            let minutes = played.iter().map(|one| (one.wiring.as_str(), one.minutes, one.advisor_minutes));
            let finding = slow(tree, &minutes.collect::<Vec<_>>());
            self.findings.retain(|finding| finding.flaw != Flaw::Slow);
            self.findings.extend(finding);
            in_order(&mut self.findings);
        }
        self.played = played;
        self
    }
}
