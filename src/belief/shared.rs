//! What is known about the part values under many hypotheses, the same knowledge kept once.

use std::collections::BTreeMap;

use super::Estimate;

/// What makes a reading teach the same under two hypotheses: what it reads in their state, and how likely and how they
/// show.
pub(super) type Alike = (usize, Option<u64>, bool);

/// The knowledge under every hypothesis. Most hypotheses leave most readings as they are, and so have learnt the same.
#[derive(Clone, Debug)]
pub(super) struct Shared {
    distinct: Vec<Estimate>,
    of: Vec<usize>,
}

impl Shared {
    /// Returns the same knowledge under each of so many hypotheses.
    pub fn new(estimate: Estimate, hypotheses: usize) -> Self {
        Self { distinct: vec![estimate], of: vec![0; hypotheses] }
    }

    /// Returns what is known under a hypothesis.
    pub fn of(&self, hypothesis: usize) -> &Estimate {
        &self.distinct[self.of[hypothesis]]
    }

    /// Returns the number of what is known under a hypothesis.
    pub fn number(&self, hypothesis: usize) -> usize {
        self.of[hypothesis]
    }

    /// Returns each different knowledge, to be taught what is so under every hypothesis.
    pub fn each_mut(&mut self) -> impl Iterator<Item = &mut Estimate> {
        self.distinct.iter_mut()
    }

    /// Returns this with other knowledge under the hypotheses for which it is `meant`.
    pub fn with(&self, estimate: Estimate, meant: impl Fn(usize) -> bool) -> Self {
        let mut changed = self.clone();
        let place = placed(estimate, &mut changed.distinct);
        changed.of.iter_mut().enumerate().filter(|(h, _)| meant(*h)).for_each(|(_, of)| *of = place);
        changed
    }

    /// Teaches a value under every hypothesis, once for those that are `alike` and knew the same, and returns its
    /// likelihood under each.
    pub fn teach(
        &mut self,
        alike: impl Fn(usize) -> Alike,
        teach: impl Fn(usize, &mut Estimate) -> f64,
    ) -> Vec<f64> {
        let mut taught: BTreeMap<(usize, Alike), (usize, f64)> = BTreeMap::new();
        let mut distinct: Vec<Estimate> = Vec::new();
        let mut likelihoods = Vec::with_capacity(self.of.len());
        for (hypothesis, number) in self.of.iter_mut().enumerate() {
            let before = &self.distinct[*number];
            let (place, likelihood) = *taught.entry((*number, alike(hypothesis))).or_insert_with(|| {
                let mut estimate = before.clone();
                let likelihood = teach(hypothesis, &mut estimate);
                (placed(estimate, &mut distinct), likelihood)
            });
            *number = place;
            likelihoods.push(likelihood);
        }
        self.distinct = distinct;
        likelihoods
    }
}

/// Returns where an estimate is, and puts it there when it is new.
fn placed(estimate: Estimate, distinct: &mut Vec<Estimate>) -> usize {
    distinct.iter().position(|known| *known == estimate).unwrap_or_else(|| {
        distinct.push(estimate);
        distinct.len() - 1
    })
}
