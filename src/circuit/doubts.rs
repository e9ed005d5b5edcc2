//! What is allowed in a wiring file and yet seldom meant: worth a second look, and no error.

use super::check::{Edge, ground_net, reach, reaches_tip, settings, wired, wires};
use super::{Harness, Part, PartKind, TerminalId};

/// One thing that is seldom meant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Doubt {
    /// A surface that should be at ground is not joined to the sleeve.
    #[error("{surface}: no wire joins it to the sleeve of the plug, so it hums")]
    NotGrounded {
        /// What the surface is called.
        surface: String,
    },
    /// A pot whose lugs are all at ground.
    #[error("{pot}: all its wires lead to ground, so it does nothing")]
    OnGround {
        /// What the pot is called.
        pot: String,
    },
    /// A switch position in which no pickup is heard.
    #[error("{switch}: in its position \"{position}\" no pickup reaches the tip of the plug")]
    Silent {
        /// What the switch is called.
        switch: String,
        /// The position.
        position: String,
    },
    /// A switch that joins the same things in every position.
    #[error("{switch}: it joins the same parts in every position, so it changes nothing")]
    Idle {
        /// What the switch is called.
        switch: String,
    },
}

/// Returns what is seldom meant in a wiring, in the order of its parts.
pub fn doubts(harness: &Harness) -> Vec<Doubt> {
    let ground = ground_net(harness);
    harness.parts.iter().flat_map(|part| of_part(harness, part, &ground)).collect()
}

fn of_part(harness: &Harness, part: &Part, ground: &[bool]) -> Vec<Doubt> {
    let mut all = Vec::new();
    if surfaces(harness, part).any(|id| wired(harness, id) && !ground[id.0]) {
        all.push(Doubt::NotGrounded { surface: part.title.clone() });
    }
    if matches!(part.kind, PartKind::Pot { .. }) && on_ground(harness, part) {
        all.push(Doubt::OnGround { pot: part.title.clone() });
    }
    if matches!(part.kind, PartKind::Switch { .. }) {
        all.extend(of_switch(harness, part));
    }
    all
}

fn surfaces<'h>(harness: &'h Harness, part: &'h Part) -> impl Iterator<Item = TerminalId> + 'h {
    let alone = part.kind == PartKind::Surface;
    part.terminals.iter().copied().filter(move |id| alone && harness[*id].grounded_surface)
}

/// Returns whether every wired lug of a pot is at ground, for signals at least: by wires or through a capacitor.
fn on_ground(harness: &Harness, pot: &Part) -> bool {
    let capacitors = harness.parts.iter().filter(|part| matches!(part.kind, PartKind::Capacitor { .. }));
    let coupled = capacitors.map(|part| (part.terminals[0], part.terminals[1]));
    let edges: Vec<Edge> = wires(harness).into_iter().chain(coupled).collect();
    let Some(sleeve) = harness.terminal("plug.sleeve") else { return false };
    let ground = reach(harness, &[sleeve], &edges, &[]);
    let mut lugs = pot.terminals.iter().take(3).filter(|id| wired(harness, **id));
    lugs.all(|id| ground[id.0])
}

fn of_switch(harness: &Harness, switch: &Part) -> Vec<Doubt> {
    let PartKind::Switch { positions } = &switch.kind else { return Vec::new() };
    let joined: Vec<Vec<usize>> = positions.iter().map(|p| nets(harness, switch, &p.closes)).collect();
    if joined.windows(2).all(|two| two[0] == two[1]) {
        return vec![Doubt::Idle { switch: switch.title.clone() }];
    }
    // A switch with two positions may be there to silence the instrument.
    let selects = positions.len() > 2;
    let silent = positions.iter().filter(|position| selects && !heard(harness, switch, &position.closes));
    let doubt = |name: &String| Doubt::Silent { switch: switch.title.clone(), position: name.clone() };
    silent.map(|position| doubt(&position.name)).collect()
}

/// Returns for every terminal but the switch's own the first terminal that it is joined to.
fn nets(harness: &Harness, switch: &Part, closes: &[Edge]) -> Vec<usize> {
    let edges: Vec<Edge> = wires(harness).into_iter().chain(closes.iter().copied()).collect();
    let own = |id: usize| switch.terminals.contains(&TerminalId(id));
    let outside: Vec<usize> = (0..harness.terminals.len()).filter(|id| !own(*id)).collect();
    let first = |id: &usize| {
        let reached = reach(harness, &[TerminalId(*id)], &edges, &[]);
        outside.iter().copied().find(|other| reached[*other]).unwrap_or(*id)
    };
    outside.iter().map(first).collect()
}

/// Returns whether any pickup has a way to the tip with this switch in a position, in some position of the others.
fn heard(harness: &Harness, switch: &Part, closes: &[Edge]) -> bool {
    let others = settings(harness, |part| part.name != switch.name);
    let at: Vec<Vec<Edge>> = others.iter().map(|other| [closes, &other[..]].concat()).collect();
    let mut sources =
        harness.parts.iter().filter(|p| matches!(p.kind, PartKind::Coil { .. } | PartKind::Piezo { .. }));
    sources.any(|part| at.iter().any(|at| reaches_tip(harness, part, part.terminals[0], at)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::source::Source;
    use rstest::rstest;

    fn text() -> &'static str {
        let named = |(name, _): &&(&str, &str)| *name == "two-single-coils.ron";
        built_in().iter().find(named).map_or("", |(_, text)| text)
    }

    fn of(from: &str, to: &str) -> Vec<Doubt> {
        let changed = text().replacen(from, to, 1);
        assert_ne!(changed, text(), "{from}");
        doubts(&load(&Source::new("changed.ron", changed)).unwrap())
    }

    #[test]
    fn the_wirings_of_the_program_leave_no_doubt() {
        for (name, text) in built_in() {
            assert_eq!(doubts(&load(&Source::new(*name, *text)).unwrap()), [], "{name}");
        }
    }

    // Common practice, no source: each of these makes the instrument dead or noisy somewhere.
    #[rstest]
    #[case("feed: \"volume.in\"", "feed: \"volume.case\"", "does nothing")]
    #[case("Strings(ground: \"volume.case\"", "Strings(ground: \"volume.out\"", "hums")]
    fn a_slip_in_a_file_is_doubted(#[case] from: &str, #[case] to: &str, #[case] says: &str) {
        let found = of(from, to);
        assert!(found.iter().any(|doubt| doubt.to_string().contains(says)), "{found:?}");
    }
}
