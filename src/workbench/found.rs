//! The part values that the readings have found, with their uncertainty.

use super::FoundView;
use super::engine::Engine;
use super::situation::Situation;
use crate::circuit::PartKind;
use crate::prediction::{Model, Param, Quantity};
use crate::readings::Dial;
use crate::units::{Farads, Ohms, show_farads, show_ohms, show_percent, uncertainty};

/// A value counts as found once its uncertainty is below this share of what it was before any reading.
const FOUND: f64 = 0.7;

/// Returns the values that are known better than before, in the order of the wiring file: those that are read in ohms
/// before those that are read in farads.
pub(super) fn found(engine: &Engine, situation: &Situation) -> Vec<FoundView> {
    let params = &engine.model.params;
    let mut all = behind(Dial::Ohms, &params.list, engine, situation);
    all.extend(behind(Dial::Farads, &params.farads, engine, situation));
    all
}

/// Returns the values that are known better than before, each in a sentence.
pub(super) fn sentences(engine: &Engine, situation: &Situation) -> Vec<String> {
    let told = |v: FoundView| format!("{}, {}: {} ({} to {})", v.title, v.what, v.value, v.low, v.high);
    found(engine, situation).into_iter().map(told).collect()
}

fn behind(dial: Dial, params: &[Param], engine: &Engine, situation: &Situation) -> Vec<FoundView> {
    let mixed = mixed(dial, situation);
    let known = params.iter().zip(mixed).filter(|(param, _)| param.quantity != Quantity::EndStop);
    let found = known.filter(|(param, (_, sd))| *sd < FOUND * param.sd);
    found.map(|(param, shift)| view(&engine.model, param, shift)).collect()
}

/// Returns the mean shift of each value behind a dial over all hypotheses, and its standard deviation.
fn mixed(dial: Dial, situation: &Situation) -> Vec<(f64, f64)> {
    let weights = situation.belief.weights();
    let known = |hypothesis: usize| situation.belief.estimate(hypothesis).behind(dial).each();
    let shifts: Vec<Vec<(f64, f64)>> = (0..weights.len()).map(known).collect();
    let mix = |param: usize| {
        let of = || weights.iter().zip(&shifts).map(|(w, shifts)| (w, shifts[param]));
        let mean: f64 = of().map(|(w, (mean, _))| w * mean).sum();
        let variance: f64 = of().map(|(w, (m, sd))| w * (sd * sd + (m - mean) * (m - mean))).sum();
        (mean, variance.sqrt())
    };
    (0..shifts.first().map_or(0, Vec::len)).map(mix).collect()
}

fn view(model: &Model, param: &Param, (mean, sd): (f64, f64)) -> FoundView {
    let part = &model.harness[param.part];
    let half = uncertainty::expanded(sd);
    let [low, value, high] = [mean - half, mean, mean + half].map(|shift| shown(model, param, shift));
    FoundView {
        part: part.name.clone(),
        title: part.title.clone(),
        what: what(param.quantity).to_owned(),
        value,
        low,
        high,
    }
}

fn what(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Taper => "share at half turn",
        Quantity::TrackOhms => "track",
        Quantity::Farads => "capacitance",
        Quantity::Ohms | Quantity::EndStop => "resistance at 20 °C",
    }
}

/// Returns a value that is shifted from nominal, as printed.
fn shown(model: &Model, param: &Param, shift: f64) -> String {
    let nominal = |values: &[f64]| values[param.part.0] * shift.exp();
    match (param.quantity, &model.harness[param.part].kind) {
        (Quantity::Taper, PartKind::Pot { taper, .. }) => show_percent(share(taper.half, shift)),
        (Quantity::Farads, _) => show_farads(Farads::new(nominal(&model.values.farads))),
        _ => show_ohms(Ohms::new(nominal(&model.values.ohms))),
    }
}

fn share(half: f64, shift: f64) -> f64 {
    let odds = half / (1.0 - half) * shift.exp();
    odds / (1.0 + odds)
}
