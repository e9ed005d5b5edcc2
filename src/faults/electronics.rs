//! Faults of resistors, batteries, preamps and piezo elements.

use super::catalogue::{Draft, decades, only};
use super::parts::{Maker, Saying, TOUCH_OHMS};
use super::{Family, Kind, Variant};
use crate::circuit::{Change, TerminalId, What};

const DAMP_OHMS: [f64; 3] = [1e4, 1e5, 1e6];
/// What is left of a flat battery's voltage, with its spread: enough for a distorted sound, or too little for any
/// (common practice, no source).
const FLAT: [(f64, f64); 2] = [(0.7, 0.1), (0.3, 0.4)];

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

    pub(super) fn resistor(&self) -> Vec<Draft> {
        let Some(element) = self.element(&What::Resistor(self.id)) else { return Vec::new() };
        let wrong = decades(&[0.1, 10.0], |factor| Change::Scale(vec![element], factor));
        let wrong = wrong.into_iter().map(|variant| Variant { spread: 0.0, ..variant }).collect();
        vec![
            self.draft(
                self.says("resistor open", Kind::ResistorOpen, "is open", only(Change::Open(element))),
                self.ends_of(2),
            ),
            self.draft(
                self.says("resistor wrong value", Kind::ResistorWrong, "has the wrong value", wrong),
                self.ends_of(2),
            ),
        ]
    }

    pub(super) fn battery(&self) -> Vec<Draft> {
        let Some(element) = self.element(&What::Battery(self.id)) else { return Vec::new() };
        let share = 1.0 / FLAT.len() as f64;
        let flat = FLAT
            .map(|(left, spread)| Variant { share, change: Change::Drive(element, left), spread })
            .to_vec();
        let ends = self.ends_of(2);
        let reversed = only(Change::Exchange(ends[0], ends[1]));
        vec![
            self.draft(self.says("battery flat", Kind::BatteryFlat, "is flat", flat), ends.clone()),
            self.draft(
                self.says("battery reversed", Kind::Exchanged, "is the wrong way round", reversed),
                ends,
            ),
        ]
    }

    pub(super) fn piezo(&self) -> Vec<Draft> {
        let Some(element) = self.element(&What::Piezo(self.id)) else { return Vec::new() };
        let ends = self.ends_of(2);
        let (hot, cold) = (self.network.lug(ends[0]), self.network.lug(ends[1]));
        let damp = decades(&DAMP_OHMS, |ohms| Change::Bridge(hot, cold, ohms));
        let shorted = only(Change::Bridge(hot, cold, TOUCH_OHMS));
        vec![
            self.draft(
                self.says("piezo open", Kind::PiezoOpen, "is open", only(Change::Open(element))),
                ends.clone(),
            ),
            self.draft(self.says("piezo shorted", Kind::PiezoShorted, "is shorted", shorted), ends.clone()),
            self.draft(self.says("piezo damp", Kind::PiezoDamp, "is damp and leaks", damp), ends),
        ]
    }

    pub(super) fn preamp(&self) -> Vec<Draft> {
        let find = |what: What| self.element(&what);
        let (Some(output), Some(supply)) = (find(What::Output(self.id)), find(What::Supply(self.id))) else {
            return Vec::new();
        };
        let greedy = vec![Variant { share: 1.0, change: Change::Scale(vec![supply], 0.05), spread: 0.5 }];
        let input = self.ends_of(1);
        vec![
            self.draft(
                self.says("preamp dead", Kind::PreampDead, "passes no signal", only(Change::Open(output))),
                self.ends_of(2),
            ),
            self.draft(
                self.says("supply open", Kind::PreampDead, "takes no current", only(Change::Open(supply))),
                input.clone(),
            ),
            self.draft(
                self.says("supply overloaded", Kind::PreampDead, "draws far too much current", greedy),
                input,
            ),
        ]
    }
}
