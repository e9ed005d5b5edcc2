//! How far apart the resonant peaks of guitars lie that are wired alike: the henries and farads of their parts differ.

use super::response::{Curve, Sounding};
use crate::circuit::{Change, PartKind};
use crate::solver::SolverError;
use crate::units::uncertainty;

/// By how much one uncertain value of a part may be off: of its logarithm, one standard deviation.
#[derive(Clone, Copy)]
struct Off {
    part: usize,
    henries: f64,
    farads: f64,
}

impl Sounding<'_> {
    /// Returns one standard deviation of the logarithm of the frequency of the healthy peak; `None` where no peak
    /// stands out.
    ///
    /// Each value counts with half of what the peak moves from its lower to its upper standard deviation (JCGM 100,
    /// 5.1.3, note 2).
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn peak_spread(&self) -> Result<Option<f64>, SolverError> {
        let mut variance = 0.0;
        for off in self.uncertain() {
            let (low, high) = (self.peak_with(off, -1.0)?, self.peak_with(off, 1.0)?);
            let (Some(low), Some(high)) = (low, high) else { return Ok(None) };
            variance += (0.5 * (high / low).ln()).powi(2);
        }
        Ok(Some(variance.sqrt()))
    }

    fn uncertain(&self) -> Vec<Off> {
        let parts = self.model.harness.parts.iter().enumerate();
        parts.flat_map(|(part, of)| uncertain(part, &of.kind)).collect()
    }

    /// Returns the frequency of the healthy peak in hertz with a value off by so many standard deviations.
    fn peak_with(&self, off: Off, deviations: f64) -> Result<Option<f64>, SolverError> {
        let mut other = self.clone();
        other.values.henries[off.part] *= (deviations * off.henries).exp();
        other.values.farads[off.part] *= (deviations * off.farads).exp();
        let curves = other.curves(&[&Change::Nothing])?;
        let peak = curves.first().map(Curve::resonance).transpose()?.flatten();
        Ok(peak.map(|peak| peak.hertz.get()))
    }
}

fn uncertain(part: usize, kind: &PartKind) -> Vec<Off> {
    match kind {
        PartKind::Coil { spread, .. } => {
            vec![
                Off { part, henries: spread.henries, farads: 0.0 },
                Off { part, henries: 0.0, farads: spread.farads },
            ]
        }
        PartKind::Capacitor { tolerance, .. } | PartKind::Piezo { tolerance, .. } => {
            vec![Off { part, henries: 0.0, farads: uncertainty::even(*tolerance) }]
        }
        _ => Vec::new(),
    }
}
