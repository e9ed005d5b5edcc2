//! The same measurement as a SPICE deck, so that anyone can check it with a circuit simulator.

use std::fmt::Write;

use super::components;
use super::values::{Positions, Values, rebuilt, stamps};
use crate::circuit::{Change, Harness, Network, NodeId};

/// What a deck is made for.
#[derive(Clone, Copy, Debug)]
pub struct Deck<'a> {
    /// The wiring.
    pub harness: &'a Harness,
    /// Its network; already exchanged where the change is an exchange.
    pub network: &'a Network,
    /// What the parts are worth.
    pub values: &'a Values,
    /// Where the controls stand.
    pub at: &'a Positions,
    /// What is different from healthy.
    pub change: &'a Change,
}

/// Returns a SPICE deck that sends one ampere into the red node and out of the black one, so that the
/// voltage between them is the resistance in ohms; `None` when there is no path.
///
/// Elements that are not connected with the probes are left out: a simulator cannot solve what floats.
pub fn netlist(deck: Deck<'_>, red: NodeId, black: NodeId, title: &str) -> Option<String> {
    let all = rebuilt(
        stamps::<f64>(deck.harness, deck.network, deck.values, deck.at, 0.0),
        deck.network,
        deck.change,
        0.0,
    );
    let ends: Vec<(usize, usize)> = all.branches.iter().map(|b| (b.a, b.b)).collect();
    let component = components(deck.network.nodes, &ends);
    if component[red.0] != component[black.0] {
        return None;
    }
    let node = |n: usize| {
        if n == black.0 { "0".to_owned() } else { format!("n{n}") }
    };
    let mut text = format!("* {title}\n");
    for (index, branch) in all.branches.iter().enumerate() {
        if component[branch.a] == component[red.0] {
            let line = if branch.z == 0.0 {
                format!("V{index} {} {} 0", node(branch.a), node(branch.b))
            } else {
                format!("R{index} {} {} {:e}", node(branch.a), node(branch.b), branch.z)
            };
            let _ = writeln!(text, "{line}");
        }
    }
    let _ = writeln!(text, "I1 0 {} 1\n.op\n.print op v({})\n.end", node(red.0), node(red.0));
    Some(text)
}
