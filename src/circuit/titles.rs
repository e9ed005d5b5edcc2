//! What a person calls a terminal: its function first, its number second.

use super::file::KindEntry;
use super::{Harness, Part, PartKind, PotRole, TerminalId, check};

/// Returns the title of a terminal before its wires are known.
pub(super) fn of(kind: &KindEntry, part: &str, lug: &str) -> String {
    let function = match (kind, lug) {
        (KindEntry::Surface, _) => return part.to_owned(),
        (KindEntry::Coil { .. } | KindEntry::Piezo { .. }, "hot") => "hot end",
        (KindEntry::Coil { .. } | KindEntry::Piezo { .. }, _) => "ground end",
        (KindEntry::Battery { .. }, lug) => return format!("{lug} stud of the {part}"),
        (KindEntry::Preamp { .. }, lug) => return format!("{lug} pad of the {part}"),
        (KindEntry::Pot { .. }, "lug1") => "zero-end lug (lug 1)",
        (KindEntry::Pot { .. }, "lug2") => "wiper lug (lug 2)",
        (KindEntry::Pot { .. }, "lug3") => "full-end lug (lug 3)",
        (KindEntry::Capacitor { .. } | KindEntry::Resistor { .. }, leg) => {
            return format!("leg {leg} of the {part}");
        }
        (_, "case") => "case",
        (_, "frame") => "frame",
        (_, lug) => return format!("{lug} lug of the {part}"),
    };
    format!("{function} of the {part}")
}

/// Renames the lugs of each volume pot by what they do: input, output, ground.
pub(super) fn name_volume_lugs(harness: &mut Harness) {
    let ground = check::ground_net(harness);
    let hot = hot_net(harness, &ground);
    for part in harness.parts.clone() {
        let (PartKind::Pot { role: PotRole::Volume, .. }, [one, two, three, _]) =
            (&part.kind, &part.terminals[..])
        else {
            continue;
        };
        if ground[one.0] {
            rename(harness, *one, "ground lug (lug 1)", &part.title);
        }
        if hot[three.0] {
            rename(harness, *two, "output lug (lug 2)", &part.title);
            rename(harness, *three, "input lug (lug 3)", &part.title);
        } else if hot[two.0] {
            rename(harness, *two, "input lug (lug 2)", &part.title);
            rename(harness, *three, "output lug (lug 3)", &part.title);
        }
    }
}

fn rename(harness: &mut Harness, id: TerminalId, function: &str, part: &str) {
    harness.terminals[id.0].title = format!("{function} of the {part}");
}

/// Returns, for each terminal, whether wires, switches, blend pots and preamps alone lead to it from the hot end of a
/// source.
fn hot_net(harness: &Harness, ground: &[bool]) -> Vec<bool> {
    let starts: Vec<TerminalId> = harness.parts.iter().filter_map(hot_end).collect();
    let through = harness.parts.iter().flat_map(through).collect();
    let edges = [check::wires(harness), check::amplified(harness), through].concat();
    check::reach(harness, &starts, &edges, ground)
}

fn hot_end(part: &Part) -> Option<TerminalId> {
    let source = matches!(part.kind, PartKind::Coil { .. } | PartKind::Piezo { .. });
    part.terminals.first().copied().filter(|_| source)
}

/// Returns the ways through a switch or a blend pot.
fn through(part: &Part) -> Vec<check::Edge> {
    let lug = |index: usize| part.terminals[index];
    match &part.kind {
        PartKind::Switch { positions } => positions.iter().flat_map(|p| p.closes.clone()).collect(),
        PartKind::Pot { role: PotRole::Blend, .. } => vec![(lug(0), lug(1)), (lug(1), lug(2))],
        _ => Vec::new(),
    }
}
