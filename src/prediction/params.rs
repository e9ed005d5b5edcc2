//! The part values that are uncertain, and shared by every reading of one instrument.

use crate::circuit::{ElementId, Harness, Network, PartId, PartKind, Track, What};
use crate::solver::{Positions, Values, track_share};
use crate::units::uncertainty;

/// What one uncertain value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Logarithm of a coil's or resistor's resistance.
    Ohms,
    /// Logarithm of a pot's track.
    TrackOhms,
    /// Shift of the logit of a pot's track share at mid rotation.
    Taper,
    /// Ohms left between wiper and track end at an end stop.
    EndStop,
    /// Logarithm of a capacitor's or piezo element's capacitance.
    Farads,
}

/// One uncertain part value: a shift from nominal with a standard deviation.
#[derive(Clone, Debug, PartialEq)]
pub struct Param {
    /// Whose.
    pub part: PartId,
    /// What.
    pub quantity: Quantity,
    /// One standard deviation before any reading.
    pub sd: f64,
}

/// Every uncertain part value of a harness, and the elements that carry them.
///
/// What a reading in farads goes with, no reading in ohms does, and the other way round: two lists.
#[derive(Clone, Debug)]
pub struct Params {
    /// The values that readings in ohms go with.
    pub list: Vec<Param>,
    /// The values that readings in farads go with.
    pub farads: Vec<Param>,
    /// One standard deviation of the logarithm of the capacitance of a winding: the most unsure of all coils.
    pub winding: f64,
    /// The elements whose currents are needed for the sensitivities.
    pub through: Vec<ElementId>,
    elements: Vec<Vec<usize>>,
    wipers: Vec<usize>,
}

impl Params {
    /// Returns the uncertain values of a harness.
    ///
    /// A tolerance of ±a is taken as rectangular: its standard deviation is a/√3 (JCGM 100, 4.3.7).
    pub fn new(harness: &Harness, network: &Network) -> Self {
        let mut params = Self::none();
        for (index, part) in harness.parts.iter().enumerate() {
            let id = PartId(index);
            match &part.kind {
                PartKind::Coil { spread, .. } => {
                    params.add(network, id, Quantity::Ohms, spread.ohms, &[What::Coil(id)]);
                    params.winding = params.winding.max(spread.farads);
                }
                PartKind::Capacitor { tolerance, .. } | PartKind::Piezo { tolerance, .. } => {
                    let sd = uncertainty::even(*tolerance);
                    params.farads.push(Param { part: id, quantity: Quantity::Farads, sd });
                }
                PartKind::Resistor { tolerance, .. } => {
                    params.add(
                        network,
                        id,
                        Quantity::Ohms,
                        uncertainty::even(*tolerance),
                        &[What::Resistor(id)],
                    );
                }
                PartKind::Pot { tolerance, taper, .. } => {
                    params.add_pot(network, id, uncertainty::even(*tolerance), taper.spread);
                }
                _ => {}
            }
        }
        params
    }

    fn none() -> Self {
        Self {
            list: Vec::new(),
            farads: Vec::new(),
            winding: 0.0,
            through: Vec::new(),
            elements: Vec::new(),
            wipers: Vec::new(),
        }
    }

    /// Returns d(ohms)/d(value) for each uncertain value, and the standard deviation in ohms that wiper
    /// contacts add, from the currents through [`Params::through`] for a unit current at the probes.
    ///
    /// The sensitivity of a resistance between two nodes to one of its branches is the square of that
    /// branch's share of the current (Tellegen's theorem; checked against differences in the tests).
    pub fn sensitivities(
        &self,
        harness: &Harness,
        values: &Values,
        at: &Positions,
        currents: &[f64],
        worth: &dyn Fn(usize) -> f64,
    ) -> (Vec<f64>, f64) {
        let square = |slot: usize| currents[slot] * currents[slot];
        // An open branch has no end of ohms and no current.
        let power = |slot: usize| if currents[slot] == 0.0 { 0.0 } else { square(slot) * worth(slot) };
        let gradient = self.list.iter().zip(&self.elements).map(|(param, slots)| match param.quantity {
            Quantity::Ohms | Quantity::TrackOhms => slots.iter().map(|&s| power(s)).sum(),
            Quantity::Farads => 0.0,
            Quantity::EndStop => {
                let share = track_share(harness, values, at, param.part);
                f64::from(share == 0.0) * square(slots[0]) + f64::from(share == 1.0) * square(slots[1])
            }
            Quantity::Taper => {
                let share = track_share(harness, values, at, param.part);
                let between = f64::from(share > 0.0 && share < 1.0);
                let (lower, upper) = (worth(slots[0]), worth(slots[1]));
                between * (square(slots[0]) - square(slots[1])) / (1.0 / lower + 1.0 / upper)
            }
        });
        let wipers = self.wipers.iter().map(|&slot| WIPER_SD * square(slot));
        (gradient.collect(), wipers.map(|sd| sd * sd).sum::<f64>().sqrt())
    }

    fn add(&mut self, network: &Network, part: PartId, quantity: Quantity, sd: f64, carriers: &[What]) {
        let slots = carriers.iter().filter_map(|what| network.find(what)).map(|e| self.slot(e)).collect();
        self.list.push(Param { part, quantity, sd });
        self.elements.push(slots);
    }

    fn add_pot(&mut self, network: &Network, id: PartId, sd: f64, taper: f64) {
        let track = [What::Track(id, Track::Lower), What::Track(id, Track::Upper)];
        self.add(network, id, Quantity::TrackOhms, sd, &track);
        self.add(network, id, Quantity::Taper, taper, &track);
        self.add(network, id, Quantity::EndStop, END_STOP_SD, &track);
        if let Some(wiper) = network.find(&What::Wiper(id)) {
            let slot = self.slot(wiper);
            self.wipers.push(slot);
        }
    }

    fn slot(&mut self, element: ElementId) -> usize {
        match self.through.iter().position(|&known| known == element) {
            Some(slot) => slot,
            None => {
                self.through.push(element);
                self.through.len() - 1
            }
        }
    }
}

/// Residual resistance at an end stop: data sheets give 2 Ω to 20 Ω at most; about half of that span.
const END_STOP_SD: f64 = 8.0;
/// What a healthy wiper contact changes from one reading to the next, in ohms (common practice, no source).
const WIPER_SD: f64 = 0.5;
