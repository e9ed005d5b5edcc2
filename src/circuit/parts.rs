//! Parts of a wiring file: their values, terminals and controls.

use super::file::{KindEntry, PartEntry, PositionEntry};
use super::mistake::{Findings, Mistake};
use super::{
    Control, ControlKind, Harness, Part, PartId, PartKind, PlaceId, Position, Taper, Terminal, TerminalId,
};
use super::{coil, titles, values};
use crate::source::Path;
use crate::units::{self, Farads, Ohms};

/// The part that stands for the cable's plug in every wiring.
pub(super) const PLUG: &str = "plug";

/// How far to the right of its jack the plug stands in the picture.
const PLUG_GAP: f32 = 100.0;

/// The tolerance of a capacitor that does not say its own: film ones are sold as ±5 % and ±10 % (common practice).
const FILM: f64 = 0.1;
/// The tolerance of a piezo element: 16 nF to 22 nF were measured on one size, 7 nF to 10 nF on another.
const PIEZO: f64 = 0.2;

/// Adds one part with its terminals and its control to the harness.
pub(super) fn add_part(
    harness: &mut Harness,
    entry: &PartEntry,
    place: PlaceId,
    at: &Path,
    findings: &mut Findings,
) {
    let id = PartId(harness.parts.len());
    let first = harness.terminals.len();
    let lugs = lugs(&entry.kind);
    for lug in &lugs {
        harness.terminals.push(terminal(entry, id, lug, place));
    }
    check_probes(entry, &lugs, at, findings);
    if entry.pickup.is_some() && !matches!(entry.kind, KindEntry::Coil { .. }) {
        findings.add(&at.then("pickup"), &Mistake::NotACoil { part: entry.name.clone() });
    }
    let kind = kind(&entry.kind, first, &at.then("kind"), findings);
    harness.parts.push(Part {
        name: entry.name.clone(),
        title: entry.title.clone(),
        kind,
        place,
        terminals: (first..harness.terminals.len()).map(TerminalId).collect(),
        at: entry.at,
        turn: entry.turn,
        pickup: entry.pickup.clone(),
    });
    if let Some(control) = control(&entry.kind, id) {
        add_control(harness, control);
    }
}

fn terminal(entry: &PartEntry, part: PartId, lug: &str, place: PlaceId) -> Terminal {
    Terminal {
        name: format!("{}.{lug}", entry.name),
        part,
        lug: lug.to_owned(),
        title: titles::of(&entry.kind, &entry.title, lug),
        place,
        grounded_surface: is_surface(&entry.kind, lug) && !entry.floating,
        probe: !entry.no_probe.iter().any(|name| name == lug),
    }
}

fn is_surface(kind: &KindEntry, lug: &str) -> bool {
    let metal = matches!(kind, KindEntry::Pot { .. }) && lug == "case";
    metal
        || (matches!(kind, KindEntry::Switch { .. }) && lug == "frame")
        || matches!(kind, KindEntry::Surface)
}

fn lugs(kind: &KindEntry) -> Vec<String> {
    let fixed: &[&str] = match kind {
        KindEntry::Coil { .. } => &["hot", "cold"],
        KindEntry::Pot { .. } => &["lug1", "lug2", "lug3", "case"],
        KindEntry::Capacitor { .. } | KindEntry::Resistor { .. } => &["a", "b"],
        KindEntry::Switch { terminals, frame, .. } => {
            let frame = frame.then(|| "frame".to_owned());
            return terminals.iter().cloned().chain(frame).collect();
        }
        KindEntry::Jack { contacts: 3 } => &["tip", "sleeve", "ring"],
        KindEntry::Jack { .. } => &["tip", "sleeve"],
        KindEntry::Battery { .. } => &["plus", "minus"],
        KindEntry::Piezo { .. } => &["hot", "cold"],
        KindEntry::Preamp { .. } => &["input", "output", "plus", "minus"],
        KindEntry::Surface => &["surface"],
    };
    fixed.iter().map(|lug| (*lug).to_owned()).collect()
}

fn check_probes(entry: &PartEntry, lugs: &[String], at: &Path, findings: &mut Findings) {
    for (index, lug) in entry.no_probe.iter().enumerate() {
        if !lugs.contains(lug) {
            let mistake =
                Mistake::UnknownLug { part: entry.name.clone(), lug: lug.clone(), known: lugs.to_vec() };
            findings.add(&at.then("no_probe").then(index), &mistake);
        }
    }
}

/// Reads the values of a part; a value that cannot be read is noted and replaced, so that reading goes on.
fn kind(entry: &KindEntry, first: usize, at: &Path, findings: &mut Findings) -> PartKind {
    let mut values = Values { at, findings };
    match entry {
        KindEntry::Coil { .. } => coil::read(entry, at, values.findings),
        KindEntry::Pot { track, tolerance, role, .. } => {
            let (ohms, taper) = values.track(track);
            let tolerance = values.read("tolerance", tolerance, values::share);
            PartKind::Pot { ohms, tolerance, taper, role: values::role(*role) }
        }
        KindEntry::Capacitor { farads, tolerance } => {
            let (farads, tolerance) = values.farads(farads, tolerance.as_deref(), FILM);
            PartKind::Capacitor { farads, tolerance }
        }
        KindEntry::Resistor { ohms, tolerance } => PartKind::Resistor {
            ohms: values.read("ohms", ohms, values::resistor),
            tolerance: values.read("tolerance", tolerance, values::share),
        },
        KindEntry::Switch { terminals, positions, .. } => {
            PartKind::Switch { positions: switch_positions(terminals, positions, first, at, findings) }
        }
        KindEntry::Jack { contacts } => {
            if !(2..=3).contains(contacts) {
                findings.add(&at.then("contacts"), &Mistake::Contacts { found: *contacts });
            }
            PartKind::Jack
        }
        KindEntry::Battery { volts, ohms } => PartKind::Battery {
            volts: values.read("volts", volts, values::battery_volts),
            ohms: values.read("ohms", ohms, values::battery_ohms),
        },
        KindEntry::Piezo { farads, tolerance } => {
            let (farads, tolerance) = values.farads(farads, tolerance.as_deref(), PIEZO);
            PartKind::Piezo { farads, tolerance }
        }
        KindEntry::Preamp { input, supply, gain } => PartKind::Preamp {
            input: values.read("input", input, values::resistor),
            supply: values.read("supply", supply, values::resistor),
            gain: values.number("gain", *gain, values::gain),
        },
        KindEntry::Surface => PartKind::Surface,
    }
}

struct Values<'a> {
    at: &'a Path,
    findings: &'a mut Findings,
}

impl Values<'_> {
    fn track(&mut self, text: &str) -> (Ohms, Taper) {
        values::track(text).unwrap_or_else(|mistake| {
            self.findings.add(&self.at.then("track"), &mistake);
            (Ohms::default(), values::NO_TAPER)
        })
    }

    /// Reads a capacitance and its tolerance: as written, else the letter of its code, else `usual`.
    fn farads(&mut self, farads: &str, tolerance: Option<&str>, usual: f64) -> (Farads, f64) {
        let marked = units::marked_tolerance(farads).unwrap_or(usual);
        let tolerance = tolerance.map_or(marked, |text| self.read("tolerance", text, values::share));
        (self.read("farads", farads, values::capacitor), tolerance)
    }

    fn number(&mut self, field: &str, value: f64, check: impl Fn(f64) -> Result<f64, Mistake>) -> f64 {
        check(value).unwrap_or_else(|mistake| {
            self.findings.add(&self.at.then(field), &mistake);
            value
        })
    }

    fn read<T: Default>(&mut self, field: &str, text: &str, parse: impl Fn(&str) -> Result<T, Mistake>) -> T {
        parse(text).unwrap_or_else(|mistake| {
            self.findings.add(&self.at.then(field), &mistake);
            T::default()
        })
    }
}

fn switch_positions(
    lugs: &[String],
    entries: &[PositionEntry],
    first: usize,
    at: &Path,
    findings: &mut Findings,
) -> Vec<Position> {
    let mut positions = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let at = at.then("positions").then(index).then("joins");
        let ends =
            |number: usize, pair: &(String, String)| joined(lugs, pair, &entry.name, first, &at.then(number));
        let mut closes = Vec::new();
        for (number, pair) in entry.joins.iter().enumerate() {
            match ends(number, pair) {
                Ok(found) => closes.push(found),
                Err((path, mistake)) => findings.add(&path, &mistake),
            }
        }
        positions.push(Position { name: entry.name.clone(), closes });
    }
    positions
}

type Misplaced = (Path, Mistake);

fn joined(
    lugs: &[String],
    (a, b): &(String, String),
    position: &str,
    first: usize,
    at: &Path,
) -> Result<(TerminalId, TerminalId), Misplaced> {
    let find = |lug: &String, side: usize| {
        let unknown = || Mistake::Unknown { what: "terminal", name: lug.clone(), known: lugs.to_vec() };
        let found = lugs.iter().position(|name| name == lug);
        found.map(|index| TerminalId(first + index)).ok_or_else(|| (at.then(side), unknown()))
    };
    let (from, to) = (find(a, 0)?, find(b, 1)?);
    if from == to {
        let mistake = Mistake::JoinsItself { position: position.to_owned(), terminal: a.clone() };
        return Err((at.then(1), mistake));
    }
    Ok((from, to))
}

fn control(kind: &KindEntry, part: PartId) -> Option<Control> {
    let (name, kind) = match kind {
        KindEntry::Pot { control, .. } => (control, ControlKind::Knob),
        KindEntry::Switch { control, positions, .. } => {
            let names = positions.iter().map(|position| position.name.clone()).collect();
            (control, ControlKind::Selector(names))
        }
        _ => return None,
    };
    Some(Control { name: name.clone(), part, ganged: Vec::new(), kind })
}

/// Adds a control, or one more gang to the control of that name.
fn add_control(harness: &mut Harness, control: Control) {
    match harness.controls.iter_mut().find(|known| known.name == control.name) {
        Some(known) => known.ganged.push(control.part),
        None => harness.controls.push(control),
    }
}

/// Adds the plug that the jack's contacts rest on.
pub(super) fn add_plug(harness: &mut Harness) {
    let jack = harness.parts.iter().find(|part| part.kind == PartKind::Jack).cloned();
    let Some(jack) = jack else { return };
    let part = PartId(harness.parts.len());
    let first = harness.terminals.len();
    let lugs: Vec<String> = jack.terminals.iter().map(|id| harness[*id].lug.clone()).collect();
    for lug in lugs {
        harness.terminals.push(Terminal {
            name: format!("{PLUG}.{lug}"),
            part,
            title: format!("{lug} of the plug"),
            lug,
            place: PlaceId(0),
            grounded_surface: false,
            probe: true,
        });
    }
    if jack.terminals.len() == 3 {
        let names = vec!["two-contact".to_owned(), "three-contact".to_owned()];
        let kind = ControlKind::Selector(names);
        harness.controls.push(Control { name: PLUG.to_owned(), part, ganged: Vec::new(), kind });
    }
    harness.parts.push(Part {
        name: PLUG.to_owned(),
        title: "plug of the cable".to_owned(),
        kind: PartKind::Plug,
        place: PlaceId(0),
        terminals: (first..harness.terminals.len()).map(TerminalId).collect(),
        at: (jack.at.0 + PLUG_GAP, jack.at.1),
        turn: jack.turn,
        pickup: None,
    });
}
