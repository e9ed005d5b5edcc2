//! One instrument on the bench of these checks: a built-in wiring with contacts as good as ideal.

#![allow(dead_code, reason = "each check uses a part of it")]

use std::sync::Arc;

use lugwise::circuit::{self, Change, NodeId, PartId, PartKind};
use lugwise::prediction::Model;
use lugwise::readings::{Setting, Stand};
use lugwise::solver::{Positions, Solved, Values};
use lugwise::source::Source;

/// A contact as good as ideal: the published tables have no contact resistance at all.
pub const IDEAL: f64 = 1e-6;

/// A model with the values of its parts.
pub struct Instrument {
    pub model: Model,
    pub values: Values,
}

impl Instrument {
    /// A built-in wiring with ideal contacts and end stops.
    pub fn ideal(name: &str) -> Self {
        let (_, text) =
            circuit::built_in().iter().find(|(known, _)| known.trim_end_matches(".ron") == name).unwrap();
        let mut instrument = Self::written(&Source::new(name, *text));
        instrument.values.joint = IDEAL;
        instrument
    }

    /// A wiring from its text, with the values the text gives.
    pub fn written(source: &Source) -> Self {
        let model = Model::new(circuit::load(source).unwrap_or_else(|e| panic!("{e:#?}")));
        let values = model.values.clone();
        Self { model, values }
    }

    pub fn node(&self, terminal: &str) -> NodeId {
        self.model
            .network
            .lug(self.model.harness.terminal(terminal).unwrap_or_else(|| panic!("no {terminal}")))
    }

    pub fn part(&self, name: &str) -> PartId {
        self.model.harness.part(name).unwrap_or_else(|| panic!("no {name}"))
    }

    /// Every pot fully up, every switch in its first position, except for the shares of track and the positions given.
    pub fn at(&self, shares: &[(&str, f64)], positions: &[(&str, &str)]) -> Positions {
        let mut setting = Setting::default();
        for (control, position) in positions {
            setting = setting.with(control, Stand::At((*position).to_owned()));
        }
        let mut at = self.model.positions(&setting);
        for (name, share) in shares {
            at.rotation[self.part(name).0] = self.rotation(name, *share);
        }
        at
    }

    /// The rotation at which a pot's wiper has this share of the track below it: the taper's two straight
    /// lines turned round.
    pub fn rotation(&self, pot: &str, share: f64) -> f64 {
        let PartKind::Pot { taper, .. } = &self.model.harness[self.part(pot)].kind else {
            panic!("{pot} is no pot");
        };
        let half = taper.half;
        let rotation =
            if share <= half { share / (2.0 * half) } else { 0.5 + (share - half) / (2.0 * (1.0 - half)) };
        assert!((taper.share(rotation, 0.0) - share).abs() < 1e-12, "the taper does not turn round");
        rotation
    }

    /// The change that a fault of the catalogue makes, with another size if one is given.
    pub fn change(&self, fault: &str, size: Option<f64>) -> Change {
        let id = self.model.catalogue.find(fault).unwrap_or_else(|| panic!("no fault {fault}"));
        let change = self.model.catalogue[id].variants[0].change.clone();
        match (change, size) {
            (Change::Series(element, _), Some(ohms)) => Change::Series(element, ohms),
            (Change::Bridge(a, b, _), Some(ohms)) => Change::Bridge(a, b, ohms),
            (Change::Scale(elements, _), Some(factor)) => Change::Scale(elements, factor),
            (change, None) => change,
            (change, Some(size)) => panic!("{fault}: {change:?} has no size to make {size}"),
        }
    }

    /// What is between two terminals under a change, by the fast update of the healthy solution.
    pub fn ohms(&self, at: &Positions, red: &str, black: &str, change: &Change) -> Option<f64> {
        let network = match change {
            Change::Exchange(..) | Change::Move(..) => Arc::new(self.model.network.rewired(change).unwrap()),
            _ => Arc::clone(&self.model.network),
        };
        let solved = Solved::<f64>::new(&self.model.harness, &network, &self.values, at, 0.0, &[]).unwrap();
        solved.response(self.node(red), self.node(black), change, &[]).map(|response| response.ohms)
    }
}
