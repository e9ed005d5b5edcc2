//! Checks of the whole wiring: every coil has its two ways to the plug, every part is wired, every knob does something.

use super::mistake::{Findings, Mistake};
use super::{Harness, Part, PartKind, TerminalId};
use crate::source::Path;

/// The farthest place in a picture, in picture units: several times the widest picture that comes with the program.
const FARTHEST: f32 = 4000.0;
/// The most switch settings that are tried.
const MOST_SETTINGS: usize = 4096;

/// Two terminals that current can pass between.
pub(super) type Edge = (TerminalId, TerminalId);

/// Notes everything that only shows when all parts and wires are known.
///
/// `places` says where in the file each part was written.
pub(super) fn whole(harness: &Harness, places: &[Path], findings: &mut Findings) {
    for (part, at) in harness.parts.iter().zip(places) {
        if part.kind != PartKind::Plug && !part.terminals.iter().any(|id| wired(harness, *id)) {
            findings.add(&at.then("name"), &Mistake::NeverWired { part: part.name.clone() });
        }
    }
    far_away(harness, places, findings);
    idle_controls(harness, places, findings);
    if findings.is_empty() {
        ways(harness, places, findings);
    }
}

fn far_away(harness: &Harness, places: &[Path], findings: &mut Findings) {
    let within = |coordinate: f32| (0.0..=FARTHEST).contains(&coordinate);
    for (part, place) in harness.parts.iter().zip(places) {
        let (x, y) = part.at;
        if part.kind != PartKind::Plug && !(within(x) && within(y)) {
            findings
                .add(&place.then("at"), &Mistake::FarAway { part: part.name.clone(), x, y, most: FARTHEST });
        }
    }
}

pub(super) fn wired(harness: &Harness, id: TerminalId) -> bool {
    harness.links.iter().any(|link| link.from.terminal == id || link.to.terminal == id)
}

fn idle_controls(harness: &Harness, places: &[Path], findings: &mut Findings) {
    for control in &harness.controls {
        let part = &harness[control.part];
        if let (Some((why, hint)), Some(at)) = (idle(harness, part), places.get(control.part.0)) {
            let at = at.then("kind").then("control");
            findings.add(&at, &Mistake::Idle { control: control.name.clone(), why, hint });
        }
    }
}

/// Returns why moving this part would change nothing, with the way to mend it.
fn idle(harness: &Harness, part: &Part) -> Option<(String, String)> {
    match (&part.kind, &part.terminals[..]) {
        (PartKind::Pot { .. }, [one, wiper, three, _]) => {
            if !wired(harness, *wiper) {
                let name = &harness[*wiper].name;
                return Some((format!("no wire goes to \"{name}\""), "add the wire of the wiper".to_owned()));
            }
            let ends = wired(harness, *one) || wired(harness, *three);
            let why = || format!("no wire goes to lug1 or lug3 of \"{}\"", part.name);
            (!ends).then(|| (why(), "add the wire of one end of the track".to_owned()))
        }
        (PartKind::Switch { positions }, _) => {
            let alike = positions.iter().all(|position| position.closes == positions[0].closes);
            let why = "all positions join the same terminals".to_owned();
            alike.then(|| (why, "give each position the pairs that it joins".to_owned()))
        }
        _ => None,
    }
}

fn ways(harness: &Harness, places: &[Path], findings: &mut Findings) {
    let settings = settings(harness, |_| true);
    if settings.is_empty() {
        let at = Path::root().then("parts");
        findings.add(&at, &Mistake::Settings { limit: MOST_SETTINGS });
        return;
    }
    for (part, at) in harness.parts.iter().zip(places) {
        let at = at.then("name");
        for mistake in cut_off(harness, part, &settings) {
            findings.add(&at, &mistake);
        }
    }
}

/// Returns which ends of a coil have no way to the plug in any setting.
fn cut_off(harness: &Harness, part: &Part, settings: &[Vec<Edge>]) -> Vec<Mistake> {
    let (PartKind::Coil { .. } | PartKind::Piezo { .. }, &[hot, cold]) = (&part.kind, &part.terminals[..])
    else {
        return Vec::new();
    };
    let no_hot = || Mistake::NoWayHot {
        hot: harness[hot].name.clone(),
        reaches: ends(harness, hot),
        grounded: ground_net(harness)[hot.0],
    };
    let no_cold = || Mistake::NoWayCold { cold: harness[cold].name.clone(), reaches: ends(harness, cold) };
    let to_tip = settings.iter().any(|setting| reaches_tip(harness, part, hot, setting));
    let to_sleeve = settings.iter().any(|setting| reaches_sleeve(harness, part, cold, setting));
    let mistakes = [(!to_tip).then(no_hot), (!to_sleeve).then(no_cold)];
    mistakes.into_iter().flatten().collect()
}

/// Returns every combination of the positions of some switches, as the pairs each closes; none when there are too many.
pub(super) fn settings(harness: &Harness, which: impl Fn(&Part) -> bool) -> Vec<Vec<Edge>> {
    let mut settings = vec![Vec::new()];
    for part in harness.parts.iter().filter(|part| which(part)) {
        let PartKind::Switch { positions } = &part.kind else {
            continue;
        };
        if settings.len() * positions.len() > MOST_SETTINGS {
            return Vec::new();
        }
        settings = positions
            .iter()
            .flat_map(|position| settings.iter().map(|edges| [&edges[..], &position.closes[..]].concat()))
            .collect();
    }
    settings
}

pub(super) fn reaches_tip(harness: &Harness, coil: &Part, hot: TerminalId, setting: &[Edge]) -> bool {
    let conductors = [wires(harness), setting.to_vec()].concat();
    let (Some(tip), Some(sleeve)) = (harness.terminal("plug.tip"), harness.terminal("plug.sleeve")) else {
        return false;
    };
    let ground = reach(harness, &[sleeve], &conductors, &[]);
    let signal = [conductors, tracks(harness), coils_but(harness, coil), amplified(harness)].concat();
    !ground[hot.0] && reach(harness, &[hot], &signal, &ground)[tip.0]
}

fn reaches_sleeve(harness: &Harness, coil: &Part, cold: TerminalId, setting: &[Edge]) -> bool {
    let edges = [wires(harness), setting.to_vec(), resistors(harness), coils_but(harness, coil)].concat();
    let sleeve = harness.terminal("plug.sleeve");
    sleeve.is_some_and(|sleeve| reach(harness, &[cold], &edges, &[])[sleeve.0])
}

/// Returns where the wires from a terminal lead, other than to itself.
fn ends(harness: &Harness, from: TerminalId) -> Vec<String> {
    let reached = reach(harness, &[from], &wires(harness), &[]);
    let others =
        harness.terminals.iter().enumerate().filter(|(index, _)| reached[*index] && *index != from.0);
    others.map(|(_, terminal)| terminal.name.clone()).collect()
}

/// Returns, for each terminal, whether wire alone joins it to the sleeve of the plug.
pub(super) fn ground_net(harness: &Harness) -> Vec<bool> {
    let start: Vec<TerminalId> = harness.terminal("plug.sleeve").into_iter().collect();
    reach(harness, &start, &wires(harness), &[])
}

/// Returns every wire, and the contacts of the jack with the plug.
pub(super) fn wires(harness: &Harness) -> Vec<Edge> {
    let links = harness.links.iter().map(|link| (link.from.terminal, link.to.terminal));
    let jack = harness.parts.iter().find(|part| part.kind == PartKind::Jack);
    let plug = harness.parts.iter().find(|part| part.kind == PartKind::Plug);
    let contacts = jack.zip(plug).into_iter().flat_map(|(jack, plug)| {
        let pairs = jack.terminals.iter().zip(&plug.terminals);
        pairs.map(|(a, b)| (*a, *b))
    });
    links.chain(contacts).collect()
}

fn tracks(harness: &Harness) -> Vec<Edge> {
    let pots = harness.parts.iter().filter(|part| matches!(part.kind, PartKind::Pot { .. }));
    let tracks = pots
        .flat_map(|part| [(part.terminals[0], part.terminals[1]), (part.terminals[1], part.terminals[2])]);
    tracks.chain(resistors(harness)).collect()
}

fn resistors(harness: &Harness) -> Vec<Edge> {
    let parts = harness.parts.iter().filter(|part| matches!(part.kind, PartKind::Resistor { .. }));
    parts.map(|part| (part.terminals[0], part.terminals[1])).collect()
}

fn coils_but(harness: &Harness, one: &Part) -> Vec<Edge> {
    let coils = harness
        .parts
        .iter()
        .filter(|part| matches!(part.kind, PartKind::Coil { .. }) && part.name != one.name);
    coils.map(|part| (part.terminals[0], part.terminals[1])).collect()
}

/// Returns the ways through preamps, and through the capacitors that couple them.
pub(super) fn amplified(harness: &Harness) -> Vec<Edge> {
    let preamp = |part: &&Part| matches!(part.kind, PartKind::Preamp { .. });
    let couples = |part: &&Part| preamp(part) || matches!(part.kind, PartKind::Capacitor { .. });
    let ways = harness.parts.iter().filter(couples).map(|part| (part.terminals[0], part.terminals[1]));
    if harness.parts.iter().any(|part| preamp(&part)) { ways.collect() } else { Vec::new() }
}

/// Returns, for each terminal, whether the edges lead to it from a start without entering a blocked terminal.
pub(super) fn reach(harness: &Harness, starts: &[TerminalId], edges: &[Edge], blocked: &[bool]) -> Vec<bool> {
    let open = |id: TerminalId| !blocked.get(id.0).copied().unwrap_or(false);
    let mut reached = vec![false; harness.terminals.len()];
    let mut todo: Vec<TerminalId> = starts.to_vec();
    while let Some(at) = todo.pop() {
        if std::mem::replace(&mut reached[at.0], true) {
            continue;
        }
        for (a, b) in edges {
            let next = if *a == at { *b } else { *a };
            if (*a == at || *b == at) && open(next) && !reached[next.0] {
                todo.push(next);
            }
        }
    }
    reached
}
