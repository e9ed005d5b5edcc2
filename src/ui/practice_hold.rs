//! How the meter and the instrument are held at the practice bench.

use crate::circuit::Harness;
use crate::readings::{Measurement, Meter, Mode, RangeChoice, Setting};

/// Which of the two probes is put on by the next touch.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NextProbe {
    /// The red one.
    #[default]
    Red,
    /// The black one.
    Black,
}

/// How the meter and the instrument are set before the probes are put on.
#[derive(Clone, Debug)]
pub struct Hold {
    /// The terminal under the red probe; empty when it lies on the bench.
    pub red: String,
    /// The terminal under the black probe.
    pub black: String,
    /// Where the dial stands.
    pub mode: Mode,
    /// The range that the dial is turned to, on a meter with a range dial.
    pub range: Option<usize>,
    /// What is moved meanwhile.
    pub flex: Option<String>,
    /// The conductor of which one end is lifted.
    pub lifted: Option<String>,
    /// Where the controls stand.
    pub setting: Setting,
    /// Which probe the next touch puts on.
    pub next: NextProbe,
    /// The part to be looked at.
    pub part: String,
    /// The question to be asked.
    pub question: usize,
}

impl Hold {
    pub(super) fn new(harness: &Harness, meter: &Meter) -> Self {
        Self {
            red: String::new(),
            black: String::new(),
            mode: Mode::Resistance,
            range: first_range(meter),
            flex: None,
            lifted: None,
            setting: Setting::reference(harness),
            next: NextProbe::Red,
            part: harness.parts.first().map(|part| part.name.clone()).unwrap_or_default(),
            question: 0,
        }
    }

    /// Puts the next probe on a terminal; the other one is next. A red probe that moves off a pair takes the black one off.
    pub(super) fn touch(&mut self, terminal: String) {
        if self.next == NextProbe::Red && self.complete() {
            self.black.clear();
        }
        match self.next {
            NextProbe::Red => (self.red, self.next) = (terminal, NextProbe::Black),
            NextProbe::Black => (self.black, self.next) = (terminal, NextProbe::Red),
        }
    }

    /// Returns whether both probes are on.
    pub fn complete(&self) -> bool {
        !self.red.is_empty() && !self.black.is_empty()
    }

    pub(super) fn measurement(&self) -> Measurement {
        let (flex, lifted) = (self.flex.clone(), self.lifted.clone());
        let plain = Measurement::ohms(&self.red, &self.black, self.setting.clone());
        Measurement { mode: self.mode, flex, lifted, ..plain }
    }
}

/// Returns the range that a dial stands at when the meter is taken up: the middle one. `None` when it finds its range.
fn first_range(meter: &Meter) -> Option<usize> {
    (meter.choice == RangeChoice::Dial).then_some(meter.ranges.len() / 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_red_probe_that_leaves_a_pair_begins_another_pair() {
        let (name, text) = crate::circuit::built_in()[0];
        let harness = crate::circuit::load(&crate::source::Source::new(name, text)).unwrap();
        let mut hold = Hold::new(&harness, Meter::ordinary());
        hold.touch("a".to_owned());
        hold.touch("b".to_owned());
        assert!(hold.complete());
        hold.touch("c".to_owned());
        assert_eq!((hold.red.as_str(), hold.black.as_str()), ("c", ""));
        hold.next = NextProbe::Black;
        hold.touch("d".to_owned());
        hold.next = NextProbe::Black;
        hold.touch("e".to_owned());
        assert_eq!((hold.red.as_str(), hold.black.as_str()), ("c", "e"), "one probe is moved alone");
    }
}
