//! The part values that the readings have found, with their uncertainty.

use super::FoundView;
use super::engine::Engine;
use super::situation::Situation;
use crate::circuit::PartKind;
use crate::prediction::Quantity;
use crate::units::{Ohms, show_ohms, show_percent, uncertainty};

/// A value counts as found once its uncertainty is below this share of what it was before any reading.
const FOUND: f64 = 0.7;

/// Returns the values that are known better than before, in the order of the wiring file.
pub(super) fn found(engine: &Engine, situation: &Situation) -> Vec<FoundView> {
    let model = &engine.model;
    let weights = situation.belief.weights();
    let shifts: Vec<Vec<(f64, f64)>> =
        (0..weights.len()).map(|h| situation.belief.estimate(h).shifts()).collect();
    let mixed = |param: usize| {
        let of = || weights.iter().zip(&shifts).map(|(w, shifts)| (w, shifts[param]));
        let mean: f64 = of().map(|(w, (mean, _))| w * mean).sum();
        let variance: f64 = of().map(|(w, (m, sd))| w * (sd * sd + (m - mean) * (m - mean))).sum();
        (mean, variance.sqrt())
    };
    let params = model.params.list.iter().enumerate();
    params
        .filter(|(_, param)| param.quantity != Quantity::EndStop)
        .filter_map(|(index, param)| {
            let (mean, sd) = mixed(index);
            let part = &model.harness[param.part];
            let nominal = model.values.ohms[param.part.0];
            let (what, value): (&str, Box<dyn Fn(f64) -> String>) = match (param.quantity, &part.kind) {
                (Quantity::Taper, PartKind::Pot { taper, .. }) => {
                    let half = taper.half;
                    ("share at half turn", Box::new(move |shift| show_percent(share(half, shift))))
                }
                (Quantity::TrackOhms, _) => ("track", Box::new(move |s| ohms(nominal, s))),
                _ => ("resistance at 20 °C", Box::new(move |s| ohms(nominal, s))),
            };
            let half = uncertainty::expanded(sd);
            (sd < FOUND * param.sd).then(|| FoundView {
                part: part.name.clone(),
                title: part.title.clone(),
                what: what.to_owned(),
                value: value(mean),
                low: value(mean - half),
                high: value(mean + half),
            })
        })
        .collect()
}

fn ohms(nominal: f64, shift: f64) -> String {
    show_ohms(Ohms::new(nominal * shift.exp()))
}

fn share(half: f64, shift: f64) -> f64 {
    let odds = half / (1.0 - half) * shift.exp();
    odds / (1.0 + odds)
}
