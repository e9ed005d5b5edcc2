//! The part values of a simulated instrument.

use lugwise::circuit::PartKind;
use lugwise::prediction::{Model, Quantity};
use lugwise::solver::Values;
use rand::RngExt;
use rand::rngs::StdRng;
use rand_distr::{Distribution, Normal};

/// Part values within their tolerances: pots and resistors rectangular, coils normal, end stops up to 15 Ω.
pub fn drawn(model: &Model, rng: &mut StdRng) -> Values {
    let mut values = model.values.clone();
    for param in &model.params.list {
        let part = param.part.0;
        match (param.quantity, &model.harness.parts[part].kind) {
            (Quantity::TrackOhms, PartKind::Pot { tolerance, .. }) => {
                values.ohms[part] *= 1.0 + tolerance * rng.random_range(-1.0..1.0);
            }
            (Quantity::EndStop, _) => values.end_stop[part] = rng.random_range(0.0..15.0),
            (Quantity::Taper, _) => {
                values.taper_shift[part] = Normal::new(0.0, param.sd).unwrap().sample(rng);
            }
            _ => values.ohms[part] *= Normal::new(0.0, param.sd).unwrap().sample(rng).exp(),
        }
    }
    values
}
