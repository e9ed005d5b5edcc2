//! The part values of a simulated instrument, and chance.

use rand::RngExt;
use rand::rngs::StdRng;
use rand_distr::StandardNormal;

use crate::circuit::PartKind;
use crate::prediction::{Model, Param, Quantity};
use crate::solver::Values;

/// The worst end stop of a pot in ohms (data sheets give 2 to 20).
const END_STOP: f64 = 15.0;

/// Draws part values within their tolerances: pots and resistors rectangular, coils normal, end stops up to 15 Ω.
pub fn drawn(model: &Model, rng: &mut StdRng) -> Values {
    let mut values = model.values.clone();
    for param in &model.params.list {
        draw(model, param, &mut values, rng);
    }
    values
}

fn draw(model: &Model, param: &Param, values: &mut Values, rng: &mut StdRng) {
    let part = param.part.0;
    match (param.quantity, &model.harness.parts[part].kind) {
        (Quantity::TrackOhms, PartKind::Pot { tolerance, .. }) => {
            values.ohms[part] *= 1.0 + tolerance * rng.random_range(-1.0..1.0);
        }
        (Quantity::EndStop, _) => values.end_stop[part] = rng.random_range(0.0..END_STOP),
        (Quantity::Taper, _) => values.taper_shift[part] = normal(rng, param.sd),
        _ => values.ohms[part] *= normal(rng, param.sd).exp(),
    }
}

/// Draws from a normal distribution around zero.
pub(super) fn normal(rng: &mut StdRng, sd: f64) -> f64 {
    sd * rng.sample::<f64, _>(StandardNormal)
}

/// Draws an index by weights; the last one when they are all zero, nothing when there are none.
pub(super) fn by_weight(rng: &mut StdRng, weights: &[f64]) -> Option<usize> {
    let total: f64 = weights.iter().sum();
    let mut left = total * rng.random_range(0.0..1.0);
    let reached = |weight: &f64| {
        left -= weight;
        left < 0.0
    };
    weights.iter().position(reached).or(weights.len().checked_sub(1))
}

/// Draws one of some things; nothing when there are none.
pub(super) fn one_of<'a, T>(rng: &mut StdRng, all: &'a [T]) -> Option<&'a T> {
    if all.is_empty() { None } else { all.get(rng.random_range(0..all.len())) }
}
