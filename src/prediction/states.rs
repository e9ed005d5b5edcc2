//! The distinct circuits that the faults make, and the hypotheses that belief is held over.

use crate::circuit::{Change, LinkId, TerminalId};
use crate::faults::{Catalogue, FaultId, Kind};

/// One distinct circuit: what is different from healthy, and how unsure its size is.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// What is different.
    pub change: Change,
    /// One standard deviation of the logarithm of the change's size.
    pub spread: f64,
}

/// How a hypothesis behaves over time.
#[derive(Clone, Debug, PartialEq)]
pub enum Behaviour {
    /// Always in its state.
    Steady,
    /// Healthy, but in its state now and then; flexing one of these shows it.
    ComesAndGoes {
        /// Terminals whose flexing shows it.
        terminals: Vec<TerminalId>,
        /// Links whose flexing shows it.
        links: Vec<LinkId>,
    },
    /// Anything at all: the hypothesis that the catalogue does not hold the truth.
    Anything,
}

/// One hypothesis: faults that no reading can tell apart because they make the very same circuit.
#[derive(Clone, Debug)]
pub struct Hypothesis {
    /// The faults with their shares of the hypothesis; the shares add up to one.
    pub faults: Vec<(FaultId, f64)>,
    /// Index of its state.
    pub state: usize,
    /// How it behaves over time.
    pub behaviour: Behaviour,
    /// Prior probability.
    pub prior: f64,
}

/// All states and hypotheses of a catalogue. State 0 is the healthy one.
#[derive(Clone, Debug)]
pub struct Hypotheses {
    /// The distinct circuits.
    pub states: Vec<State>,
    /// The hypotheses.
    pub list: Vec<Hypothesis>,
}

impl Hypotheses {
    /// Returns the hypotheses of a catalogue.
    pub fn new(catalogue: &Catalogue) -> Self {
        let healthy = State { change: Change::Nothing, spread: 0.0 };
        let mut all = Self { states: vec![healthy], list: Vec::new() };
        for index in 0..catalogue.faults.len() {
            all.add(catalogue, FaultId(index));
        }
        for hypothesis in &mut all.list {
            let total: f64 = hypothesis.faults.iter().map(|(_, share)| share).sum();
            hypothesis.prior = total;
            hypothesis.faults.iter_mut().for_each(|(_, share)| *share /= total);
        }
        all
    }

    fn add(&mut self, catalogue: &Catalogue, id: FaultId) {
        let fault = &catalogue[id];
        let behaviour = match fault.kind {
            Kind::NotInCatalogue => Behaviour::Anything,
            _ if fault.intermittent() => {
                Behaviour::ComesAndGoes { terminals: fault.terminals.clone(), links: fault.links.clone() }
            }
            _ => Behaviour::Steady,
        };
        for variant in &fault.variants {
            let state = self.state(State { change: variant.change.clone(), spread: variant.spread });
            let member = (id, fault.prior * variant.share);
            let same = |h: &&mut Hypothesis| h.state == state && h.behaviour == behaviour;
            match self.list.iter_mut().find(same) {
                Some(hypothesis) => hypothesis.faults.push(member),
                None => {
                    let behaviour = behaviour.clone();
                    self.list.push(Hypothesis { faults: vec![member], state, behaviour, prior: 0.0 });
                }
            }
        }
    }

    fn state(&mut self, state: State) -> usize {
        match self.states.iter().position(|known| *known == state) {
            Some(index) => index,
            None => {
                self.states.push(state);
                self.states.len() - 1
            }
        }
    }
}
