//! Probabilities over hypotheses of any kind, as logarithms, with their history.

/// The probability of every hypothesis after some evidence.
#[derive(Clone, Debug)]
pub struct Posterior {
    log_weights: Vec<f64>,
    history: Vec<Vec<f64>>,
}

impl Posterior {
    /// Returns the probabilities before any evidence; the priors need not add up to one.
    pub fn new(priors: impl IntoIterator<Item = f64>) -> Self {
        let mut posterior =
            Self { log_weights: priors.into_iter().map(f64::ln).collect(), history: Vec::new() };
        posterior.normalise();
        posterior.history.push(posterior.log_weights.clone());
        posterior
    }

    /// Takes in one piece of evidence, one likelihood for each hypothesis, and returns the natural logarithm of
    /// the probability that it had beforehand.
    pub fn update(&mut self, likelihoods: &[f64]) -> f64 {
        self.log_weights.iter_mut().zip(likelihoods).for_each(|(weight, l)| *weight += l.ln());
        let evidence = self.normalise();
        self.history.push(self.log_weights.clone());
        evidence
    }

    /// Returns the probability of each hypothesis.
    pub fn weights(&self) -> Vec<f64> {
        self.log_weights.iter().map(|w| w.exp()).collect()
    }

    /// Returns the probability of each hypothesis after so many pieces of evidence; 0 is the prior.
    pub fn weights_after(&self, evidence: usize) -> Vec<f64> {
        self.history[evidence.min(self.history.len() - 1)].iter().map(|w| w.exp()).collect()
    }

    /// Returns the logarithm of how likely a piece of evidence was under each hypothesis, but for what is the same for all.
    pub fn log_likelihoods(&self, evidence: usize) -> Vec<f64> {
        let before = &self.history[evidence.min(self.history.len() - 1)];
        let after = &self.history[(evidence + 1).min(self.history.len() - 1)];
        after.iter().zip(before).map(|(after, before)| after - before).collect()
    }

    /// Returns the natural logarithm of how much likelier everything else is without one piece of evidence e, beside how
    /// probable e was when it came: ln Σ P(h) · P(e) / P(e | h), P(h) being what is believed now.
    ///
    /// With P(e) as it came, P(e | all else) = P(e) / Σ P(h) · P(e) / P(e | h): the harmonic mean of the likelihoods over
    /// what is believed, the conditional predictive ordinate of Geisser and Eddy 1979 (from memory).
    pub fn without(&self, evidence: usize) -> f64 {
        let less = self.log_weights.iter().zip(self.log_likelihoods(evidence)).map(|(w, l)| w - l);
        log_sum(&less.filter(|log| log.is_finite()).collect::<Vec<_>>())
    }

    /// Returns how many pieces of evidence there were.
    pub fn evidence(&self) -> usize {
        self.history.len() - 1
    }

    /// Returns the entropy in bits.
    pub fn entropy(&self) -> f64 {
        self.weights().into_iter().filter(|&w| w > 0.0).map(|w| -w * w.log2()).sum()
    }

    fn normalise(&mut self) -> f64 {
        let total = log_sum(&self.log_weights);
        if total.is_finite() {
            self.log_weights.iter_mut().for_each(|w| *w -= total);
        }
        total
    }
}

/// Returns the logarithm of the sum of what has these logarithms.
fn log_sum(logs: &[f64]) -> f64 {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most + logs.iter().map(|log| (log - most).exp()).sum::<f64>().ln()
}
