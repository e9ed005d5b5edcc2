//! Which faults a check shows: those whose readings cannot be mistaken for a healthy one.

use crate::belief::{Estimate, Expectation};
use crate::circuit::{NodeId, PartKind};
use crate::prediction::{Bench, Cell, Model, Param, Quantity};
use crate::readings::{Dial, Measurement, Meter};

use super::bits::Bits;

/// A sound instrument reads within so many standard deviations; with a few dozen checks hardly one fails then.
const SOUND: f64 = 3.6;
/// A faulty instrument is at least so many standard deviations beyond that.
const CLEAR: f64 = 2.5;
/// A change of unknown size is taken at both ends of so many standard deviations.
const SIZES: f64 = 2.0;
/// A part within its tolerance is never farther off than so many of its standard deviations: √3 for an even spread,
/// and a little more because 20 % less is farther off in ratio than 20 % more.
const ENDS: f64 = 2.0;
/// A difference on the scale that is no more than rounding.
pub const NOTHING: f64 = 1e-4;

/// What a healthy instrument reads in a check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sound {
    /// Over range.
    NoPath,
    /// Between two values.
    Between {
        /// The lower end in ohms.
        low: f64,
        /// The expected value in ohms.
        ohms: f64,
        /// The upper end in ohms.
        high: f64,
    },
}

/// What one measurement can show.
#[derive(Clone, Debug)]
pub struct Sight {
    /// The still reading in ohms.
    pub measurement: Measurement,
    /// What a healthy instrument reads.
    pub sound: Sound,
    /// The states that a reading in ohms shows.
    pub by_ohms: Bits,
    /// The states that the beeper shows; empty where a beeper may do either on a healthy instrument.
    pub by_beep: Bits,
}

/// The span that a reading surely lies in, in ohms; infinite over range.
#[derive(Clone, Copy, Debug)]
struct Span {
    low: f64,
    high: f64,
}

/// What is needed to tell what a check shows.
pub struct Eye<'m> {
    model: &'m Model,
    meter: &'m Meter,
    prior: Estimate,
}

impl<'m> Eye<'m> {
    /// Makes the eye for a model and a meter.
    pub fn new(model: &'m Model, meter: &'m Meter) -> Self {
        Self { model, meter, prior: Estimate::of_parts(&model.params) }
    }

    /// Returns which of the wanted states a measurement shows; `None` when it shows none, or when a sound instrument
    /// may read within the range of the meter or over it. `most` keeps how far each state moved any reading.
    pub fn sight(
        &self,
        bench: &Bench<'_>,
        measurement: Measurement,
        wanted: &Bits,
        most: &mut [f64],
    ) -> Option<Sight> {
        let (red, black) = self.model.probes(&measurement)?;
        let moved = self.moved(bench, (red, black), wanted, most);
        if moved.is_empty() {
            return None;
        }
        let sound = self.sound(&bench.cell(0, red, black))?;
        let (by_ohms, by_beep) = (Bits::new(most.len()), Bits::new(most.len()));
        let mut sight = Sight { measurement, sound, by_ohms, by_beep };
        for state in moved {
            self.judge(&mut sight, state, &bench.cell(state, red, black));
        }
        (!sight.by_ohms.is_empty()).then_some(sight)
    }

    /// Returns the wanted states that move the reading between two nodes at all.
    fn moved(
        &self,
        bench: &Bench<'_>,
        (red, black): (NodeId, NodeId),
        wanted: &Bits,
        most: &mut [f64],
    ) -> Vec<usize> {
        let healthy = self.seen(bench.ohms(0, red, black));
        let mut moves = |state: &usize| {
            let moved = (self.seen(bench.ohms(*state, red, black)) - healthy).abs();
            most[*state] = most[*state].max(moved);
            moved > NOTHING
        };
        wanted.iter().filter(|state| moves(state)).collect()
    }

    /// Returns a resistance on the scale as this meter shows it.
    fn seen(&self, ohms: Option<f64>) -> f64 {
        let shown = ohms.filter(|ohms| *ohms < self.meter.ceiling().get());
        shown.map_or(Dial::END, |ohms| Dial::Ohms.scale(ohms))
    }

    fn sound(&self, cell: &Cell) -> Option<Sound> {
        let span = self.span(cell, SOUND);
        match cell.reads {
            None => Some(Sound::NoPath),
            Some(_) if span.low >= self.meter.ceiling().get() => Some(Sound::NoPath),
            Some(ohms) if span.high < self.meter.ceiling().get() => {
                Some(Sound::Between { low: span.low, ohms, high: span.high })
            }
            Some(_) => None,
        }
    }

    fn span(&self, cell: &Cell, deviations: f64) -> Span {
        match Expectation::outlook(cell, &self.prior, self.meter) {
            None => Span { low: f64::INFINITY, high: f64::INFINITY },
            Some((middle, variance)) => {
                let per_ohm = cell.reads.map_or(0.0, |ohms| Dial::Ohms.per_unit(ohms));
                let (bounded, reach) = self.bounded(cell);
                let free = (variance - bounded * bounded * per_ohm * per_ohm).max(0.0);
                let half = deviations * free.sqrt() + (deviations * bounded).min(reach) * per_ohm;
                Span { low: Dial::Ohms.unscaled(middle - half), high: Dial::Ohms.unscaled(middle + half) }
            }
        }
    }

    /// Returns what the parts that are within a tolerance for certain contribute to a reading in ohms: one standard
    /// deviation, and the most they can shift it together.
    fn bounded(&self, cell: &Cell) -> (f64, f64) {
        let params = &self.model.params.list;
        let shift = |(param, slope): (&Param, &f64)| (slope * param.sd).abs();
        let shifts = params.iter().zip(&cell.gradient).filter(|(param, _)| self.within_tolerance(param));
        let (squares, sum) =
            shifts.map(shift).fold((0.0, 0.0), |(squares, sum), s| (squares + s * s, sum + s));
        (squares.sqrt(), ENDS * sum)
    }

    fn within_tolerance(&self, param: &Param) -> bool {
        let resistor = matches!(self.model.harness[param.part].kind, PartKind::Resistor { .. });
        param.quantity == Quantity::TrackOhms || resistor
    }

    /// Returns the span at each end of a state's sizes; one span when its size is known.
    fn faulty(&self, cell: &Cell) -> Vec<Span> {
        let at = |ohms: f64| Cell { reads: Some(ohms.max(0.0)), size: None, ..cell.clone() };
        match &cell.size {
            None => vec![self.span(cell, CLEAR)],
            Some(curve) => [-SIZES, SIZES].map(|size| self.span(&at(curve.at(size).0), CLEAR)).to_vec(),
        }
    }

    fn judge(&self, sight: &mut Sight, state: usize, cell: &Cell) {
        let spans = self.faulty(cell);
        let all = |test: &dyn Fn(&Span) -> bool| spans.iter().all(test);
        let ceiling = self.meter.ceiling().get();
        let by_ohms = match sight.sound {
            Sound::NoPath => all(&|span| span.high < ceiling),
            Sound::Between { low, high, .. } => all(&|span| span.low > high) || all(&|span| span.high < low),
        };
        let (sounds, silent) = (self.meter.beep.0.get(), self.meter.beep.1.get());
        let by_beep = match sight.sound {
            Sound::Between { high, .. } if high < sounds => all(&|span| span.low > silent),
            Sound::Between { low, .. } if low <= silent => false,
            _ => all(&|span| span.high < sounds),
        };
        if by_ohms {
            sight.by_ohms.insert(state);
        }
        if by_beep {
            sight.by_beep.insert(state);
        }
    }
}
