//! The same measurement as a SPICE deck, so that anyone can check it with a circuit simulator.

use std::f64::consts::TAU;
use std::fmt::Write;

use nalgebra::Complex;

use super::values::{Positions, Values, rebuilt, stamps};
use super::{Hanging, components};
use crate::circuit::{Change, ElementId, Harness, Network, NodeId};
use crate::units::Hertz;

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

/// What is to be heard of a deck.
#[derive(Clone, Copy, Debug)]
pub struct Heard<'a> {
    /// What hangs on the cable's end; its second node becomes the deck's ground.
    pub hanging: Hanging,
    /// The elements that drive one volt each.
    pub sources: &'a [ElementId],
    /// The frequency that the parts' values are written for.
    pub hertz: Hertz,
}

/// A way to ground for what only capacitors hold, so that a simulator finds a resting point: at rest it conducts, and
/// 1 TH lets nothing pass that is heard. A large resistance would be lost beside the conductance of a contact.
const RESTING: &str = "1e12";

/// Returns the part lines of a SPICE deck for alternating current, with a unit source in every coil that sounds, and
/// the name of the node at the cable's hot end.
///
/// Every name ends in `tag`, so that the lines of many decks can stand in one. Elements that are not connected with
/// the cable's end are left out.
pub fn sounding_lines(deck: Deck<'_>, heard: Heard<'_>, tag: &str) -> (String, String) {
    let omega = TAU * heard.hertz.get();
    let plain = stamps::<Complex<f64>>(deck.harness, deck.network, deck.values, deck.at, omega);
    let mut all = rebuilt(plain, deck.network, deck.change, omega);
    let driving: Vec<usize> = heard.sources.iter().filter_map(|source| all.branch_of[source.0]).collect();
    all.shunts.push(heard.hanging.at(omega));
    // A branch that is a capacitance alone is no way for direct current.
    let blocks = |z: Complex<f64>| z.re == 0.0 && z.im < 0.0;
    let all_ways = all.branches.iter().map(|b| (b.a, b.b));
    let resting_branches = all.branches.iter().filter(|b| !blocks(b.z));
    let ways: Vec<(usize, usize)> = resting_branches.map(|b| (b.a, b.b)).collect();
    let ends: Vec<(usize, usize)> = all_ways.chain(all.shunts.iter().map(|s| (s.a, s.b))).collect();
    let (whole, resting) = (components(deck.network.nodes, &ends), components(deck.network.nodes, &ways));
    let ground = heard.hanging.b.0;
    let node = |n: usize| if n == ground { "0".to_owned() } else { format!("n{n}{tag}") };
    let mut text = String::new();
    for (k, branch) in all.branches.iter().enumerate().filter(|(_, b)| whole[b.a] == whole[ground]) {
        let volts = u8::from(driving.contains(&k));
        let (a, b) = (node(branch.a), node(branch.b));
        let source = match branch.drive {
            Some((c, d, gain)) => format!("E{k}{tag} {a} m{k}{tag} {} {} {gain:e}", node(c), node(d)),
            None => format!("V{k}{tag} {a} m{k}{tag} dc 0 ac {volts}"),
        };
        let _ = writeln!(text, "{source}");
        text += &series(&format!("{k}{tag}"), (&format!("m{k}{tag}"), &b), branch.z, omega);
    }
    for (k, shunt) in all.shunts.iter().enumerate().filter(|(_, s)| whole[s.a] == whole[ground]) {
        text += &parallel(&format!("s{k}{tag}"), (&node(shunt.a), &node(shunt.b)), shunt.y, omega);
    }
    let held = |n: &usize| whole[*n] == whole[ground] && resting[*n] == *n && resting[*n] != resting[ground];
    for n in (0..deck.network.nodes).filter(held) {
        let _ = writeln!(text, "Lrest{n}{tag} {} 0 {RESTING}", node(n));
    }
    (text, node(heard.hanging.a.0))
}

/// Returns the lines of a resistance in series with a reactance.
fn series(name: &str, (a, b): (&str, &str), z: Complex<f64>, omega: f64) -> String {
    let middle = if z.im == 0.0 { b.to_owned() } else { format!("x{name}") };
    let real = if z.re == 0.0 {
        format!("Vz{name} {a} {middle} 0\n")
    } else {
        format!("R{name} {a} {middle} {:e}\n", z.re)
    };
    let reactance = match z.im {
        0.0 => String::new(),
        x if x > 0.0 => format!("L{name} {middle} {b} {:e}\n", x / omega),
        x => format!("C{name} {middle} {b} {:e}\n", -1.0 / (omega * x)),
    };
    real + &reactance
}

/// Returns the lines of a conductance beside a capacitance.
fn parallel(name: &str, (a, b): (&str, &str), y: Complex<f64>, omega: f64) -> String {
    let real = if y.re == 0.0 { String::new() } else { format!("R{name} {a} {b} {:e}\n", 1.0 / y.re) };
    let reactance = if y.im == 0.0 { String::new() } else { format!("C{name} {a} {b} {:e}\n", y.im / omega) };
    real + &reactance
}
