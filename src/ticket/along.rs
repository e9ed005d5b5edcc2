//! Where the faults of a named group can be, when all of them are on one conductor.

use std::collections::BTreeSet;

use crate::circuit::{Fixing, Harness, LinkId, TerminalId};

/// How the ids of faults of a joint end.
const JOINTS: [&str; 3] = [" open", " intermittent", " high resistance"];
/// The same of a conductor between its ends.
const INSIDE: [&str; 2] = [" broken", " intermittent"];

/// Says where along a conductor the faults of a group can be; `None` when they are not all on one, or at one place alone.
pub(super) fn along(harness: &Harness, ids: &[String]) -> Option<&'static str> {
    let spots: Vec<Spot> = ids.iter().map(|id| spot(harness, id)).collect::<Option<_>>()?;
    let link = spots.first()?.link;
    if spots.iter().any(|spot| spot.link != link) {
        return None;
    }
    let ends: BTreeSet<TerminalId> = spots.iter().filter_map(|spot| spot.end).collect();
    match (ends.len(), spots.iter().any(|spot| spot.end.is_none())) {
        (2, true) => Some("at one of its two ends or inside it"),
        (2, false) => Some("at one of its two ends"),
        (1, true) => Some("at one of its ends or inside it"),
        _ => None,
    }
}

/// A place on a conductor: one of its ends, or between them.
struct Spot {
    link: usize,
    end: Option<TerminalId>,
}

fn spot(harness: &Harness, id: &str) -> Option<Spot> {
    (0..harness.links.len()).find_map(|link| on_link(harness, link, id))
}

fn on_link(harness: &Harness, link: usize, id: &str) -> Option<Spot> {
    let known = &harness.links[link];
    let solid = [&known.from, &known.to].into_iter().filter(|end| end.fixing != Fixing::Own);
    for end in solid {
        let rest = id.strip_prefix(&harness.joint_name(LinkId(link), end));
        if rest.is_some_and(|rest| JOINTS.contains(&rest)) {
            return Some(Spot { link, end: Some(end.terminal) });
        }
    }
    let (name, what) = id.split_once('/')?;
    let inside = name == known.name && !what.contains('/') && INSIDE.iter().any(|mode| what.ends_with(mode));
    inside.then_some(Spot { link, end: None })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit;
    use crate::source::Source;

    #[test]
    fn a_group_is_told_along_the_one_conductor_that_it_is_on() {
        let (name, text) = circuit::built_in()[0];
        let harness = circuit::load(&Source::new(name, text)).unwrap();
        let solid = |link: &usize| {
            let known = &harness.links[*link];
            known.from.fixing != Fixing::Own && known.to.fixing != Fixing::Own
        };
        let wires: Vec<usize> = (0..harness.links.len()).filter(solid).collect();
        let end = |link: usize, far: bool| {
            let known = &harness.links[link];
            let end = if far { &known.to } else { &known.from };
            format!("{} intermittent", harness.joint_name(LinkId(link), end))
        };
        let inside = |link: usize| format!("{}/wire broken", harness.links[link].name);
        let (one, other) = (wires[0], wires[1]);
        let told = |ids: &[String]| along(&harness, ids);
        assert_eq!(told(&[end(one, false), end(one, true)]), Some("at one of its two ends"));
        let all = [end(one, true), inside(one), end(one, false)];
        assert_eq!(told(&all), Some("at one of its two ends or inside it"));
        assert_eq!(told(&[end(one, true), inside(one)]), Some("at one of its ends or inside it"));
        assert_eq!(told(&[end(one, true)]), None);
        assert_eq!(told(&[end(one, true), inside(other)]), None);
        assert_eq!(told(&[end(one, true), "battery/flat".to_owned()]), None);
        assert_eq!(told(&[]), None);
    }
}
