//! Wiring that is whole but wrong: what a fresh rewire gets mixed up.

use super::catalogue::{Draft, only};
use super::{Family, Kind, Repair};
use crate::circuit::{
    Change, Fixing, Harness, LinkId, LinkKind, Network, PartKind, PotRole, TerminalId, What,
};

pub(super) fn drafts(harness: &Harness, network: &Network) -> Vec<Draft> {
    let pairs = neighbours(harness);
    let exchanged = pairs.iter().filter(|pair| matters(harness, **pair)).map(|&pair| exchange(harness, pair));
    exchanged.chain(pairs.iter().flat_map(|&pair| moved(harness, network, pair))).collect()
}

/// Returns pairs of lugs of one pot or switch that lie side by side, at least one of them wired.
fn neighbours(harness: &Harness) -> Vec<(TerminalId, TerminalId)> {
    let mut pairs = Vec::new();
    for part in &harness.parts {
        match &part.kind {
            PartKind::Pot { .. } => {
                let lug = |index: usize| part.terminals[index];
                pairs.extend([(lug(0), lug(1)), (lug(1), lug(2)), (lug(0), lug(2))]);
            }
            PartKind::Switch { .. } => {
                let mine = |t: TerminalId| part.terminals.contains(&t) && harness[t].lug != "frame";
                let near = harness.near.iter().filter(|near| mine(near.a) && mine(near.b));
                pairs.extend(near.map(|near| (near.a, near.b)));
            }
            _ => {}
        }
    }
    pairs.retain(|(a, b)| wires_at(harness, *a) + wires_at(harness, *b) > 0);
    pairs
}

fn wires_at(harness: &Harness, terminal: TerminalId) -> usize {
    let ends = harness.links.iter().filter(|link| link.kind != LinkKind::Lug).flat_map(|l| [l.from, l.to]);
    ends.filter(|end| end.terminal == terminal && end.fixing == Fixing::Solder).count()
}

/// Returns whether exchanging two lugs changes the circuit: the two lugs in use of a tone pot do not mind, nor do
/// the two lugs of a switch that joins them or not.
fn matters(harness: &Harness, (a, b): (TerminalId, TerminalId)) -> bool {
    if let PartKind::Switch { positions } = &harness[harness[a].part].kind {
        return positions.iter().any(|position| !same_exchanged(&position.closes, (a, b)));
    }
    let rheostat = matches!(harness[harness[a].part].kind, PartKind::Pot { role: PotRole::Tone, .. });
    let wiper = harness[a].lug == "lug2" || harness[b].lug == "lug2";
    !(rheostat && wiper && wires_at(harness, a) > 0 && wires_at(harness, b) > 0)
}

/// Returns whether a position joins the same lugs when two of them are exchanged.
fn same_exchanged(closes: &[(TerminalId, TerminalId)], (a, b): (TerminalId, TerminalId)) -> bool {
    let other = |lug| match lug {
        lug if lug == a => b,
        lug if lug == b => a,
        lug => lug,
    };
    let joined = |p, q| closes.contains(&(p, q)) || closes.contains(&(q, p));
    closes.iter().all(|&(p, q)| joined(other(p), other(q)))
}

fn exchange(harness: &Harness, (a, b): (TerminalId, TerminalId)) -> Draft {
    let (one, other) = (&harness[a], &harness[b]);
    let part = &harness[one.part];
    let is_switch = matches!(part.kind, PartKind::Switch { .. });
    Draft {
        id: format!("{}/exchanged with {}", one.name, other.lug),
        kind: Kind::LugsExchanged,
        family: if is_switch { Family::SwitchOrder } else { Family::LugsExchanged },
        weight: 1.0,
        sentence: format!(
            "What belongs on the {} is on the {}, and the other way round",
            one.title, other.title
        ),
        repair: Repair {
            key: format!("{}/rewire", part.name),
            text: format!("Rewire the {} to its plan: exchange what is on the two lugs", part.title),
            minutes: if is_switch { 30 } else { 15 },
        },
        place: part.place,
        terminals: vec![a, b],
        links: Vec::new(),
        variants: only(Change::Exchange(a, b)),
    }
}

/// Returns the single wires that share a lug with others and can sit on its neighbour by mistake.
fn moved(harness: &Harness, network: &Network, (a, b): (TerminalId, TerminalId)) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for (from, to) in [(a, b), (b, a)] {
        if wires_at(harness, from) < 2 {
            continue;
        }
        for (index, link) in harness.links.iter().enumerate() {
            for (second, end) in [(false, &link.from), (true, &link.to)] {
                if end.terminal == from && end.fixing == Fixing::Solder && link.kind != LinkKind::Lug {
                    drafts.extend(misplaced(harness, network, LinkId(index), second, to));
                }
            }
        }
    }
    drafts
}

fn misplaced(
    harness: &Harness,
    network: &Network,
    id: LinkId,
    second: bool,
    to: TerminalId,
) -> Option<Draft> {
    let link = &harness[id];
    let element = network.find(&What::Link(id))?;
    let right = &harness[if second { link.to.terminal } else { link.from.terminal }];
    let wrong = &harness[to];
    Some(Draft {
        id: format!("{}/{} on the wrong lug", wrong.name, link.name),
        kind: Kind::WrongLug,
        family: Family::WrongLug,
        weight: 1.0,
        sentence: format!("The {} is on the {} and belongs on the {}", link.title, wrong.title, right.title),
        repair: Repair {
            key: format!("{}/move {}", right.name, link.name),
            text: format!("Move the {} to the {}", link.title, right.title),
            minutes: 15,
        },
        place: wrong.place,
        terminals: vec![to],
        links: vec![id],
        variants: only(Change::Move(element, second, to)),
    })
}
