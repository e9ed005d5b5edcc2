//! Faults of resistors, batteries, preamps and piezo elements.

use super::catalogue::{Draft, decades, only};
use super::parts::{Maker, Saying, TOUCH_OHMS, tenths};
use super::{Family, Kind, Variant};
use crate::circuit::{Change, ElementId, TerminalId, What};

const DAMP_OHMS: [f64; 3] = [1e4, 1e5, 1e6];
/// What is left of a flat battery's voltage, with its spread: enough for a distorted sound, or too little for any
/// (common practice, no source).
const FLAT: [(f64, f64); 2] = [(0.7, 0.1), (0.3, 0.4)];

/// A resistor of a tenth or ten times the value: a band misread.
fn greedy(supply: ElementId) -> Vec<Variant> {
    vec![Variant { share: 1.0, change: Change::Scale(vec![supply], 0.05), spread: 0.5 }]
}

fn flat(battery: ElementId) -> Vec<Variant> {
    let share = 1.0 / FLAT.len() as f64;
    FLAT.map(|(left, spread)| Variant { share, change: Change::Drive(battery, left), spread }).to_vec()
}

impl Maker<'_> {
    fn says(&self, suffix: &'static str, kind: Kind, says: &str, variants: Vec<Variant>) -> Saying<'static> {
        let (family, repair) = match kind {
            Kind::BatteryFlat => {
                (Family::BatteryFlat, ("battery", "Replace the {part}; check what drains it", 3))
            }
            Kind::Exchanged => {
                (Family::BatteryReversed, ("reversed", "Turn the {part} round and test what it feeds", 5))
            }
            Kind::PreampDead => (Family::PreampDead, ("replace", "Replace the {part}", 60)),
            Kind::PiezoOpen | Kind::PiezoShorted => {
                (Family::PiezoOpen, ("replace", "Replace the {part}", 60))
            }
            Kind::PiezoDamp => {
                (Family::PiezoDamp, ("dry", "Dry and clean the {part}; replace it if that fails", 40))
            }
            _ => (Family::ResistorOpen, ("replace", "Replace the {part}", 20)),
        };
        let sentence = format!("The {} {says}", self.part.title);
        Saying { suffix, kind, family, sentence, repair, variants }
    }

    fn ends_of(&self, count: usize) -> Vec<TerminalId> {
        self.part.terminals.iter().take(count).copied().collect()
    }

    fn fault(
        &self,
        suffix: &'static str,
        kind: Kind,
        says: &str,
        variants: Vec<Variant>,
        ends: usize,
    ) -> Draft {
        self.draft(self.says(suffix, kind, says, variants), self.ends_of(ends))
    }

    pub(super) fn resistor(&self) -> Vec<Draft> {
        let Some(element) = self.element(&What::Resistor(self.id)) else { return Vec::new() };
        let open = only(Change::Open(element));
        vec![
            self.fault("resistor open", Kind::ResistorOpen, "is open", open, 2),
            self.fault(
                "resistor wrong value",
                Kind::ResistorWrong,
                "has the wrong value",
                tenths(element),
                2,
            ),
        ]
    }

    pub(super) fn battery(&self) -> Vec<Draft> {
        let Some(element) = self.element(&What::Battery(self.id)) else { return Vec::new() };
        vec![
            self.fault("battery flat", Kind::BatteryFlat, "is flat", flat(element), 2),
            self.fault("battery reversed", Kind::Exchanged, "is the wrong way round", self.turned(), 2),
        ]
    }

    fn turned(&self) -> Vec<Variant> {
        only(Change::Exchange(self.part.terminals[0], self.part.terminals[1]))
    }

    pub(super) fn piezo(&self) -> Vec<Draft> {
        let Some(element) = self.element(&What::Piezo(self.id)) else { return Vec::new() };
        let (open, shorted) = (only(Change::Open(element)), only(self.across(TOUCH_OHMS)));
        let damp = decades(&DAMP_OHMS, |ohms| self.across(ohms));
        vec![
            self.fault("piezo open", Kind::PiezoOpen, "is open", open, 2),
            self.fault("piezo shorted", Kind::PiezoShorted, "is shorted", shorted, 2),
            self.fault("piezo damp", Kind::PiezoDamp, "is damp and leaks", damp, 2),
        ]
    }

    fn across(&self, ohms: f64) -> Change {
        let end = |index: usize| self.network.lug(self.part.terminals[index]);
        Change::Bridge(end(0), end(1), ohms)
    }

    pub(super) fn preamp(&self) -> Vec<Draft> {
        let find = |what: What| self.element(&what);
        let (Some(output), Some(supply)) = (find(What::Output(self.id)), find(What::Supply(self.id))) else {
            return Vec::new();
        };
        let (dead, idle) = (only(Change::Open(output)), only(Change::Open(supply)));
        let kind = Kind::PreampDead;
        vec![
            self.fault("preamp dead", kind, "passes no signal", dead, 2),
            self.fault("supply open", kind, "takes no current", idle, 1),
            self.fault("supply overloaded", kind, "draws far too much current", greedy(supply), 1),
        ]
    }
}
