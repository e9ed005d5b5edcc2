//! How likely a fault that comes and goes shows itself.

use super::states::Behaviour;
use crate::circuit::{Harness, LinkId, TerminalId};

/// Chance that it shows in a still reading, when something else is flexed, when another lug of its part is
/// prodded, when its part is moved, and when it is itself prodded. One flexed reading means about twenty movements (common practice, no source).
const STILL: f64 = 0.08;
const ELSEWHERE: f64 = 0.1;
const NEXT_TO_IT: f64 = 0.3;
const ITS_PART: f64 = 0.6;
const ITSELF: f64 = 0.95;

/// Returns the chance that a hypothesis shows itself while `flex` is flexed; `None` means a still reading.
pub fn shows(harness: &Harness, behaviour: &Behaviour, flex: Option<&str>) -> f64 {
    let Behaviour::ComesAndGoes { terminals, links } = behaviour else { return 0.0 };
    match flex {
        None => STILL,
        Some(flex) if names_it(harness, terminals, links, flex) => ITSELF,
        Some(flex) if names_its_part(harness, terminals, flex) => ITS_PART,
        Some(flex) if names_its_neighbour(harness, terminals, flex) => NEXT_TO_IT,
        Some(_) => ELSEWHERE,
    }
}

fn names_it(harness: &Harness, terminals: &[TerminalId], links: &[LinkId], flex: &str) -> bool {
    terminals
        .iter()
        .any(|&t| harness[t].name == flex || (flex == "plug" && harness[t].name.starts_with("plug.")))
        || links.iter().any(|&l| harness[l].name == flex)
}

fn names_its_part(harness: &Harness, terminals: &[TerminalId], flex: &str) -> bool {
    terminals.iter().any(|&t| {
        let part = &harness[harness[t].part].name;
        part == flex || (flex == "plug" && part == "jack")
    })
}

/// Returns whether another lug of the same part is prodded.
fn names_its_neighbour(harness: &Harness, terminals: &[TerminalId], flex: &str) -> bool {
    let part = flex.split('.').next();
    terminals.iter().any(|&t| Some(harness[harness[t].part].name.as_str()) == part)
}
