//! Which guitars a tree is for.

use super::{Feature, Tree};
use crate::circuit::Harness;
use crate::source::Path;

impl Tree {
    /// Returns whether the tree is meant for a guitar at all.
    pub fn applies(&self, harness: &Harness) -> bool {
        self.is_for_wiring(&harness.name) && self.lacking(harness).is_none()
    }

    /// Returns whether the tree is for a wiring by its name, whatever it needs: it names this one, or none.
    pub fn is_for_wiring(&self, name: &str) -> bool {
        self.wirings.is_empty() || self.wirings.iter().any(|wiring| wiring == name)
    }

    /// Returns what the tree needs and a guitar lacks, the first of it; `None` when it has all.
    pub fn lacking(&self, harness: &Harness) -> Option<Feature> {
        self.only.iter().copied().find(|feature| !feature.of(harness))
    }

    /// Returns for which guitars the tree is: `for the wiring one-pickup, for guitars with a volume knob`; `None` when it is
    /// for all.
    pub fn meant_for(&self) -> Option<String> {
        let wirings =
            (!self.wirings.is_empty()).then(|| format!("for the wiring {}", self.wirings.join(" or ")));
        let features: Vec<&str> = self.only.iter().map(|feature| feature.words()).collect();
        let features = (!features.is_empty()).then(|| format!("for guitars with {}", features.join(", ")));
        let all: Vec<String> = wirings.into_iter().chain(features).collect();
        (!all.is_empty()).then(|| all.join(", "))
    }

    /// Returns line and column of a wiring that the tree names, by its index.
    pub fn position_of_wiring(&self, index: usize) -> (usize, usize) {
        self.positions.at(&Path::root().then("wirings").then(index))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit;
    use crate::source::Source;
    use crate::trees::load;

    fn tree(meant: &str) -> Tree {
        let step = "(name: \"a\", say: \"s\", why: \"w\", ask: Look([(answer: \"a\", means: \"m\", then: Advisor)]))";
        let head = "format: 1, name: \"t\", title: \"t\", complaint: Hum,";
        let text = format!("({head}\n    {meant} start: \"a\", steps: [{step}])");
        load(&Source::new("t.ron", text)).unwrap_or_else(|error| panic!("{error}"))
    }

    fn harness(file: &str) -> Harness {
        let (name, text) = circuit::built_in().iter().find(|(name, _)| *name == file).unwrap();
        circuit::load(&Source::new(*name, *text)).unwrap()
    }

    #[test]
    fn a_tree_that_names_wirings_is_for_these_alone() {
        let (one, two) = (harness("one-pickup.ron"), harness("two-humbuckers.ron"));
        let named = tree("wirings: [\"one-pickup\", \"my own\"], only: [Volume],");
        assert!(named.applies(&one) && !named.applies(&two));
        assert_eq!(
            named.meant_for().as_deref(),
            Some("for the wiring one-pickup or my own, for guitars with a volume knob")
        );
        assert_eq!(named.position_of_wiring(1), (2, 29));
        let all = tree("");
        assert!(all.applies(&one) && all.applies(&two) && all.meant_for().is_none());
        assert!(
            !tree("wirings: [\"one-pickup\"], only: [Battery],").applies(&one),
            "it needs a battery as well"
        );
    }
}
