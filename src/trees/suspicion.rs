//! Which faults a suspicion of a tree names.

use super::{How, Suspicion};
use crate::circuit::{Harness, LinkId, LinkKind, PartKind, PotRole, TerminalId};
use crate::faults::{Fault, Kind};

/// What stands in guitars, as a tree names it without knowing the guitar.
pub const ROLES: [&str; 12] = [
    "jack",
    "switch",
    "volume",
    "tone",
    "capacitor",
    "resistor",
    "pickup",
    "battery",
    "preamp",
    "piezo",
    "shield",
    "strings",
];

impl Suspicion {
    /// Returns whether it names a fault: one of its places, and how it fails there.
    pub fn names(&self, harness: &Harness, fault: &Fault) -> bool {
        self.at.iter().any(|place| self.names_at(place, harness, fault))
    }

    /// Returns whether it would name a fault if this were its only place.
    pub fn names_at(&self, place: &str, harness: &Harness, fault: &Fault) -> bool {
        let ways = How::of(fault.kind);
        let fails = self.how.is_empty() || self.how.iter().any(|how| ways.contains(how));
        fails && is_at(harness, place, fault)
    }
}

/// Returns whether a word names a place: what stands in guitars, or a part of this one.
pub(super) fn is_place(harness: &Harness, word: &str) -> bool {
    ROLES.contains(&word) || harness.part(word).is_some()
}

/// Returns every place that can be named on a guitar.
pub(super) fn places(harness: &Harness) -> Vec<&str> {
    let own = harness.parts.iter().map(|part| part.name.as_str());
    ROLES.into_iter().chain(own.filter(|name| !ROLES.contains(name))).collect()
}

/// Returns whether a fault is at a place: a terminal that marks it, or an end of a link that does, is there.
fn is_at(harness: &Harness, place: &str, fault: &Fault) -> bool {
    let braid = || fault.links.iter().any(|link| harness[*link].kind == LinkKind::Braid);
    let mut marks = marks(harness, fault);
    match place {
        "shield" => braid() || marks.any(|terminal| harness[terminal].grounded_surface),
        place => marks.any(|terminal| {
            let part = &harness[harness[terminal].part];
            part.name == place || role(&part.kind) == Some(place)
        }),
    }
}

fn marks<'a>(harness: &'a Harness, fault: &'a Fault) -> impl Iterator<Item = TerminalId> + 'a {
    let ends = move |link: &LinkId| {
        let link = &harness[*link];
        [link.from.terminal, link.to.terminal]
    };
    fault.terminals.iter().copied().chain(fault.links.iter().flat_map(ends))
}

fn role(kind: &PartKind) -> Option<&'static str> {
    Some(match kind {
        PartKind::Coil { .. } => "pickup",
        PartKind::Pot { role: PotRole::Tone, .. } => "tone",
        PartKind::Pot { role: PotRole::Volume | PotRole::Blend, .. } => "volume",
        PartKind::Capacitor { .. } => "capacitor",
        PartKind::Resistor { .. } => "resistor",
        PartKind::Switch { .. } => "switch",
        PartKind::Jack | PartKind::Plug => "jack",
        PartKind::Battery { .. } => "battery",
        PartKind::Piezo { .. } => "piezo",
        PartKind::Preamp { .. } => "preamp",
        PartKind::Surface => return None,
    })
}

impl How {
    /// Returns how a kind of fault fails, what tells it best first; none for what is at no place.
    pub fn of(kind: Kind) -> &'static [Self] {
        match kind {
            Kind::JointOpen
            | Kind::WireBroken
            | Kind::CoilOpen
            | Kind::TrackOpen
            | Kind::WiperOpen
            | Kind::CapacitorOpen
            | Kind::ContactOpen
            | Kind::ResistorOpen
            | Kind::PiezoOpen => &[Self::Open],
            Kind::Short
            | Kind::CoilHalf
            | Kind::CapacitorShorted
            | Kind::PiezoShorted
            | Kind::ContactStuck => &[Self::Short],
            Kind::JointHigh
            | Kind::WiperWorn
            | Kind::ContactDirty
            | Kind::CapacitorLeaky
            | Kind::Leak
            | Kind::PiezoDamp => &[Self::Poor],
            Kind::JointIntermittent
            | Kind::WireIntermittent
            | Kind::CoilIntermittent
            | Kind::ContactIntermittent => &[Self::Loose, Self::Open],
            Kind::ShortIntermittent => &[Self::Loose, Self::Short],
            Kind::WrongPot
            | Kind::WrongTaper
            | Kind::CapacitorWrong
            | Kind::ResistorWrong
            | Kind::Exchanged
            | Kind::LugsExchanged
            | Kind::WrongLug => &[Self::Wrong],
            Kind::BatteryFlat | Kind::PreampDead => &[Self::Dead],
            Kind::NothingWrong | Kind::NotInCatalogue | Kind::Two => &[],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Network, built_in, load};
    use crate::faults::{Catalogue, Priors};
    use crate::source::Source;

    fn suspicion(at: &[&str], how: &[How]) -> Suspicion {
        let at = at.iter().map(|place| (*place).to_owned()).collect();
        Suspicion { say: "it".to_owned(), at, how: how.to_vec() }
    }

    /// Returns the ids of the faults of the one-pickup guitar that a suspicion names.
    fn named(at: &[&str], how: &[How]) -> Vec<String> {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
        let harness = load(&Source::new(*name, *text)).unwrap();
        let catalogue = Catalogue::derive(&harness, &Network::new(&harness), Priors::built_in());
        let suspicion = suspicion(at, how);
        let named = catalogue.faults.iter().filter(|fault| suspicion.names(&harness, fault));
        named.map(|fault| fault.id.clone()).collect()
    }

    // The only coil of this guitar is its pickup.
    #[test]
    fn an_open_coil_is_at_the_pickup_and_nowhere_else() {
        let coil = "pickup/coil open".to_owned();
        assert!(named(&["pickup"], &[How::Open]).contains(&coil));
        assert!(!named(&["pickup"], &[How::Short, How::Poor, How::Wrong]).contains(&coil));
        let elsewhere = ["jack", "volume", "tone", "capacitor", "strings", "battery"];
        assert!(!named(&elsewhere, &[]).contains(&coil));
    }

    // The wire from the volume pot to the jack ends at both.
    #[test]
    fn a_broken_wire_is_at_both_of_its_ends() {
        let broken = |ids: Vec<String>| ids.iter().any(|id| id.starts_with("output-wire/"));
        assert!(broken(named(&["jack"], &[How::Open])) && broken(named(&["volume"], &[How::Open])));
        assert!(!broken(named(&["tone", "strings"], &[How::Open])));
    }

    #[test]
    fn a_guitar_without_a_battery_has_nothing_at_the_battery() {
        assert_eq!(named(&["battery", "preamp", "piezo"], &[]), Vec::<String>::new());
    }
}
