//! An invented wiring for the tests of this room: two pickups, four knobs, a toggle, braided leads.

use crate::circuit::{
    CoilSpread, End, Fixing, Harness, Link, LinkId, LinkKind, Part, PartId, PartKind, Place, PlaceId,
    PotRole, Taper, Terminal, TerminalId,
};
use crate::units::{Farads, Henries, Ohms, Seconds};

pub(super) fn pot(role: PotRole) -> PartKind {
    PartKind::Pot { ohms: Ohms::new(5e5), tolerance: 0.2, taper: Taper { half: 0.15, spread: 0.3 }, role }
}

pub(super) fn coil() -> PartKind {
    let (henries, farads) = (Henries::new(4.2), Farads::new(120e-12));
    let spread = CoilSpread { ohms: 0.1, henries: 0.1, farads: 0.25 };
    PartKind::Coil { ohms: Ohms::new(7.6e3), henries, farads, spread }
}

pub(super) fn capacitor() -> PartKind {
    PartKind::Capacitor { farads: Farads::new(22e-9), tolerance: 0.1 }
}

pub(super) fn resistor() -> PartKind {
    PartKind::Resistor { ohms: Ohms::new(1.5e5), tolerance: 0.05 }
}

pub(super) fn switch() -> PartKind {
    PartKind::Switch { positions: Vec::new() }
}

pub(super) fn empty() -> Harness {
    let place = |name: &str, outside| Place {
        name: name.to_owned(),
        how: String::new(),
        open: Seconds::new(60.0),
        outside,
    };
    Harness {
        name: "sample".to_owned(),
        code: "X1".to_owned(),
        title: "a sample <wiring>".to_owned(),
        about: "Invented for tests.".to_owned(),
        places: vec![place("outside", true), place("control cavity", false), place("switch cavity", false)],
        parts: Vec::new(),
        terminals: Vec::new(),
        links: Vec::new(),
        controls: Vec::new(),
        near: Vec::new(),
        joint: Ohms::new(0.02),
    }
}

pub(super) fn add(
    harness: &mut Harness,
    name: &str,
    kind: PartKind,
    lugs: &str,
    at: (f32, f32, f32),
    place: usize,
) {
    let id = PartId(harness.parts.len());
    let first = harness.terminals.len();
    let title = name.replace('-', " ");
    for lug in lugs.split(' ') {
        harness.terminals.push(Terminal {
            name: format!("{name}.{lug}"),
            part: id,
            lug: lug.to_owned(),
            title: format!("{lug} of the {title}"),
            place: PlaceId(place),
            grounded_surface: matches!(lug, "case" | "frame" | "surface"),
            probe: true,
        });
    }
    let terminals = (first..harness.terminals.len()).map(TerminalId).collect();
    let (at, turn) = ((at.0, at.1), at.2);
    harness.parts.push(Part {
        name: name.to_owned(),
        title,
        kind,
        place: PlaceId(place),
        terminals,
        at,
        turn,
        pickup: None,
    });
}

pub(super) fn join(
    harness: &mut Harness,
    name: &str,
    kind: LinkKind,
    from: &str,
    to: &str,
    around: Option<&str>,
) {
    let end = |name: &str| End { terminal: harness.terminal(name).unwrap(), fixing: Fixing::Solder };
    let (from, to) = (end(from), end(to));
    let around = around.map(|core| LinkId(harness.links.iter().position(|l| l.name == core).unwrap()));
    let place = harness[from.terminal].place;
    let (name, title) = (name.to_owned(), name.replace('-', " "));
    harness.links.push(Link { name, title, kind, from, to, place, around });
}

/// Two pickups, two volumes, two tones, a three-way toggle and a jack.
pub(super) fn two_pickups() -> Harness {
    let mut h = empty();
    add(&mut h, "plug", PartKind::Plug, "tip sleeve", (720.0, 420.0, 90.0), 0);
    add(&mut h, "jack", PartKind::Jack, "tip sleeve", (620.0, 420.0, 90.0), 1);
    for (row, side) in [(0.0, "neck"), (1.0, "bridge")] {
        let y = 120.0 + row * 170.0;
        add(&mut h, &format!("{side}-pickup"), coil(), "hot cold", (80.0, y, 270.0), 0);
        add(
            &mut h,
            &format!("{side}-volume"),
            pot(PotRole::Volume),
            "lug1 lug2 lug3 case",
            (300.0, y, 0.0),
            1,
        );
        add(&mut h, &format!("{side}-tone"), pot(PotRole::Tone), "lug1 lug2 lug3 case", (480.0, y, 0.0), 1);
        add(&mut h, &format!("{side}-capacitor"), capacitor(), "a b", (390.0, y + 60.0, 0.0), 1);
    }
    add(&mut h, "selector", switch(), "neck common bridge frame", (300.0, 10.0, 0.0), 2);
    add(&mut h, "bridge-and-strings", PartKind::Surface, "surface", (80.0, 440.0, 270.0), 0);
    add(&mut h, "switch-cavity-shield", PartKind::Surface, "surface", (420.0, 10.0, 0.0), 2);
    wires(&mut h);
    h
}

fn wires(h: &mut Harness) {
    use LinkKind::{Braid, Leg, Lug, Mount, Wire};
    for side in ["neck", "bridge"] {
        let n = |rest: &str| format!("{side}-{rest}");
        join(h, &n("lead"), Wire, &n("pickup.hot"), &n("volume.lug3"), None);
        join(h, &n("lead-braid"), Braid, &n("pickup.cold"), &n("volume.case"), Some(&n("lead")));
        join(h, &n("tone-wire"), Wire, &n("volume.lug3"), &n("tone.lug2"), None);
        join(h, &n("volume-ground"), Lug, &n("volume.lug1"), &n("volume.case"), None);
        join(h, &n("capacitor-leg"), Leg, &n("tone.lug1"), &n("capacitor.a"), None);
        join(h, &n("capacitor-ground"), Leg, &n("capacitor.b"), &n("volume.case"), None);
        join(h, &n("case-wire"), Wire, &n("volume.case"), &n("tone.case"), None);
        join(h, &n("switch-lead"), Wire, &n("volume.lug2"), &format!("selector.{side}"), None);
        join(h, &n("switch-braid"), Braid, &n("volume.case"), "selector.frame", Some(&n("switch-lead")));
    }
    join(h, "case-link", Wire, "neck-volume.case", "bridge-volume.case", None);
    join(h, "jack-hot", Wire, "selector.common", "jack.tip", None);
    join(h, "jack-ground", Wire, "bridge-tone.case", "jack.sleeve", None);
    join(h, "string-ground", Wire, "bridge-and-strings.surface", "bridge-volume.case", None);
    join(h, "shield-ground", Mount, "switch-cavity-shield.surface", "selector.frame", None);
    join(h, "plug-tip", Mount, "plug.tip", "jack.tip", None);
    join(h, "plug-sleeve", Mount, "plug.sleeve", "jack.sleeve", None);
}
