//! Where else a control could have stood, or a probe touched, without anybody noticing.

use super::{Measurement, Stand};
use crate::circuit::{Control, ControlKind, Harness, TerminalId};

impl Measurement {
    /// Returns where else each control could have stood: a knob at the ends or in the middle, a switch in its other
    /// positions.
    pub fn elsewhere(&self, harness: &Harness) -> Vec<(String, Stand)> {
        let of = |control: &Control| {
            let now = self.setting.0.get(&control.name);
            let others = stands(&control.kind).into_iter().filter(move |stand| Some(stand) != now);
            others.map(|stand| (control.name.clone(), stand)).collect::<Vec<_>>()
        };
        harness.controls.iter().flat_map(of).collect()
    }

    /// Returns the measurements with one probe on a lug beside, each with that lug's name.
    pub fn beside(&self, harness: &Harness) -> Vec<(String, Self)> {
        let red = beside(harness, &self.red, &self.black).into_iter();
        let black = beside(harness, &self.black, &self.red).into_iter();
        let red = red.map(|lug| (lug.clone(), Self { red: lug, ..self.clone() }));
        red.chain(black.map(|lug| (lug.clone(), Self { black: lug, ..self.clone() }))).collect()
    }
}

fn stands(kind: &ControlKind) -> Vec<Stand> {
    match kind {
        ControlKind::Knob => [0, 5, 10].map(Stand::Knob).to_vec(),
        ControlKind::Selector(names) => names.iter().cloned().map(Stand::At).collect(),
    }
}

/// Returns the lugs of the same part, and those that lie near, but for the one under the other probe.
fn beside(harness: &Harness, name: &str, other: &str) -> Vec<String> {
    let Some(here) = harness.terminal(name) else { return Vec::new() };
    let near = |a, b| harness.near.iter().any(|n| (n.a, n.b) == (a, b) || (n.b, n.a) == (a, b));
    let lies_beside = |t: &TerminalId| harness[*t].part == harness[here].part || near(*t, here);
    let all = (0..harness.terminals.len()).map(TerminalId);
    let lugs = all.filter(|t| *t != here && harness[*t].probe && harness[*t].name != other);
    lugs.filter(lies_beside).map(|t| harness[t].name.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::source::Source;

    fn at_the_plug() -> (Harness, Measurement) {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
        let harness = load(&Source::new(*name, *text)).unwrap();
        let measurement = Measurement::at_the_plug(&harness);
        (harness, measurement)
    }

    // Common practice, no source: the lugs of one pot lie side by side.
    #[test]
    fn a_lug_beside_is_on_the_same_part_or_near() {
        let (harness, _) = at_the_plug();
        let lugs = beside(&harness, "volume.lug2", "volume.lug1");
        assert!(lugs.contains(&"volume.lug3".to_owned()), "{lugs:?}");
        assert!(!lugs.contains(&"volume.lug1".to_owned()) && !lugs.contains(&"volume.lug2".to_owned()));
    }

    #[test]
    fn a_control_is_somewhere_else() {
        let (harness, measurement) = at_the_plug();
        let all = measurement.elsewhere(&harness);
        assert!(harness.controls.iter().all(|control| all.iter().any(|(name, _)| *name == control.name)));
        assert!(all.iter().all(|(name, stand)| measurement.setting.0.get(name) != Some(stand)), "{all:?}");
    }
}
