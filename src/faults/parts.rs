//! Faults of coils, pots, capacitors, switches and jacks.

use super::catalogue::{Draft, decades, only};
use super::{Family, Kind, Repair, Variant};
use crate::circuit::{
    Change, ElementId, Harness, Network, Part, PartId, PartKind, PotRole, Taper, TerminalId, Track, What,
};

use crate::units::{show_farads, show_ohms};

const DIRTY_OHMS: [f64; 4] = [30.0, 300.0, 3e3, 3e4];
const WORN_OHMS: [f64; 2] = [600.0, 6e3];
const LEAK_OHMS: [f64; 3] = [1e3, 1e4, 1e5];
/// Totals that are met in the trade (common practice, no source).
const POT_TOTALS: [f64; 5] = [25e3, 50e3, 100e3, 250e3, 1e6];
/// The share of the track at half rotation of the two usual laws (common practice, no source).
const EVEN: f64 = 0.5;
const AUDIO: f64 = 0.15;
pub(super) const TOUCH_OHMS: f64 = 0.1;

pub(super) fn drafts(harness: &Harness, network: &Network) -> Vec<Draft> {
    (0..harness.parts.len())
        .flat_map(|index| {
            let maker = Maker { harness, network, id: PartId(index), part: &harness.parts[index] };
            match &maker.part.kind {
                PartKind::Coil { .. } => maker.coil(),
                PartKind::Pot { ohms, .. } => maker.pot(ohms.get()),
                PartKind::Capacitor { .. } => maker.capacitor(),
                PartKind::Switch { .. } => maker.contacts(),
                PartKind::Jack => maker.jack(),
                PartKind::Resistor { .. } => maker.resistor(),
                PartKind::Battery { .. } => maker.battery(),
                PartKind::Piezo { .. } => maker.piezo(),
                PartKind::Preamp { .. } => maker.preamp(),
                PartKind::Plug | PartKind::Surface => Vec::new(),
            }
        })
        .collect()
}

/// Returns the variants of a part with a slipped decimal point.
pub(super) fn tenths(element: ElementId) -> Vec<Variant> {
    let slipped = |factor| Variant { share: 0.5, change: Change::Scale(vec![element], factor), spread: 0.0 };
    [0.1, 10.0].map(slipped).to_vec()
}

/// Makes the drafts of one part.
pub(super) struct Maker<'a> {
    pub harness: &'a Harness,
    pub network: &'a Network,
    pub id: PartId,
    pub part: &'a Part,
}

/// What one fault of a part says and does.
pub(super) struct Saying<'a> {
    pub suffix: &'a str,
    pub kind: Kind,
    pub family: Family,
    pub sentence: String,
    pub repair: (&'a str, &'a str, u32),
    pub variants: Vec<Variant>,
}

impl Maker<'_> {
    pub(super) fn draft(&self, saying: Saying<'_>, terminals: Vec<TerminalId>) -> Draft {
        let (key, text, minutes) = saying.repair;
        Draft {
            id: format!("{}/{}", self.part.name, saying.suffix),
            kind: saying.kind,
            family: saying.family,
            weight: 1.0,
            sentence: saying.sentence,
            repair: Repair {
                key: format!("{}/{key}", self.part.name),
                text: text.replace("{part}", &self.replaced(text)),
                minutes,
            },
            place: self.part.place,
            terminals,
            links: Vec::new(),
            variants: saying.variants,
        }
    }

    /// Returns what a person calls the part, and with what value, when it is to be replaced.
    fn replaced(&self, repair: &str) -> String {
        let value = match &self.part.kind {
            PartKind::Capacitor { farads, .. } => show_farads(*farads),
            PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => show_ohms(*ohms),
            _ => return self.part.title.clone(),
        };
        match repair.starts_with("Replace the {part}") {
            true => format!("{} ({value}; note what is printed on the old one)", self.part.title),
            false => self.part.title.clone(),
        }
    }

    pub(super) fn element(&self, what: &What) -> Option<ElementId> {
        self.network.find(what)
    }

    fn coil(&self) -> Vec<Draft> {
        let Some(element) = self.element(&What::Coil(self.id)) else {
            return Vec::new();
        };
        let title = &self.part.title;
        let mend = (
            "coil",
            "Lift the {part}'s lead, confirm the coil alone, then repair its lead end, rewind or replace it",
            60,
        );
        let say = |suffix, kind, family, saying: &str, variants| Saying {
            suffix,
            kind,
            family,
            sentence: format!("The coil of the {title} {saying}"),
            repair: mend,
            variants,
        };
        let half = vec![Variant { share: 1.0, change: Change::Scale(vec![element], 0.5), spread: 0.15 }];
        let ends = self.part.terminals.clone();
        vec![
            self.draft(
                say("coil open", Kind::CoilOpen, Family::CoilOpen, "is open", only(Change::Open(element))),
                ends.clone(),
            ),
            self.draft(
                say("coil half shorted", Kind::CoilHalf, Family::CoilHalf, "is half shorted", half),
                ends.clone(),
            ),
            self.draft(
                say(
                    "coil intermittent",
                    Kind::CoilIntermittent,
                    Family::CoilIntermittent,
                    "comes and goes",
                    only(Change::Open(element)),
                ),
                ends,
            ),
            self.exchanged(Family::PickupExchanged, 0, 1),
        ]
    }

    fn exchanged(&self, family: Family, hot: usize, ground: usize) -> Draft {
        let (hot, ground) = (self.part.terminals[hot], self.part.terminals[ground]);
        let saying = Saying {
            suffix: "hot and ground exchanged",
            kind: Kind::Exchanged,
            family,
            sentence: format!("Hot and ground are exchanged at the {}", self.part.title),
            repair: ("exchange", "Exchange the hot and the ground lead at the {part}", 15),
            variants: only(Change::Exchange(hot, ground)),
        };
        self.draft(saying, vec![hot, ground])
    }

    fn pot(&self, ohms: f64) -> Vec<Draft> {
        let find = |what: What| self.element(&what);
        let (Some(lower), Some(upper), Some(wiper)) = (
            find(What::Track(self.id, Track::Lower)),
            find(What::Track(self.id, Track::Upper)),
            find(What::Wiper(self.id)),
        ) else {
            return Vec::new();
        };
        let title = &self.part.title;
        let replace = ("replace", "Replace the {part}", 30);
        let lug = |index: usize| self.part.terminals[index];
        let say = |suffix, kind, family, sentence: String, repair, variants| Saying {
            suffix,
            kind,
            family,
            sentence,
            repair,
            variants,
        };
        let track = |suffix, end: &str, element| {
            let sentence = format!("The track of the {title} is open at its {end}");
            say(suffix, Kind::TrackOpen, Family::TrackOpen, sentence, replace, only(Change::Open(element)))
        };
        let wrong = self.wrong_values(ohms, &[lower, upper]);
        let mut drafts = vec![
            self.draft(track("track open at lug 1", "zero end (lug 1)", lower), vec![lug(0)]),
            self.draft(track("track open at lug 3", "full end (lug 3)", upper), vec![lug(2)]),
            self.draft(
                say(
                    "wrong value",
                    Kind::WrongPot,
                    Family::WrongPot,
                    format!("The {title} has the wrong value"),
                    ("value", "Replace the {part} by one of the right value", 30),
                    wrong,
                ),
                vec![lug(0), lug(2)],
            ),
        ];
        drafts.extend(self.wiper(wiper));
        drafts.extend(self.wrong_taper(lower, upper));
        drafts
    }

    fn wiper(&self, wiper: ElementId) -> [Draft; 3] {
        let title = &self.part.title;
        let clean = ("clean", "Clean the {part}; replace it if that does not last", 12);
        let replace = ("replace", "Replace the {part}", 30);
        let draft = |suffix, kind, family, says: &str, repair, variants| {
            let sentence = format!("The wiper of the {title} {says}");
            let saying = Saying { suffix, kind, family, sentence, repair, variants };
            self.draft(saying, vec![self.part.terminals[1]])
        };
        let open = || only(Change::Open(wiper));
        let worn = decades(&WORN_OHMS, |ohms| Change::Series(wiper, ohms));
        let untouching = "does not touch its track";
        let losing = "loses its track now and then: dirt or a worn spot";
        let (flickers, family) = (Kind::ContactIntermittent, Family::WiperIntermittent);
        [
            draft("wiper open", Kind::WiperOpen, Family::WiperOpen, untouching, replace, open()),
            draft("wiper worn", Kind::WiperWorn, Family::WiperWorn, "touches its track badly", clean, worn),
            draft("wiper intermittent", flickers, family, losing, clean, open()),
        ]
    }

    /// Returns the pot whose track has the other usual law: even instead of audio, and the other way round. A tone
    /// pot's law shows in no reading that is worth its time.
    fn wrong_taper(&self, lower: ElementId, upper: ElementId) -> Option<Draft> {
        let PartKind::Pot { taper, role, .. } = self.part.kind else { return None };
        let even = (taper.half - EVEN).abs() < 0.05;
        let wrong = Taper { half: if even { AUDIO } else { EVEN }, ..taper };
        let (is, should) = if even { ("an audio", "an even") } else { ("an even", "another") };
        let saying = Saying {
            suffix: "wrong taper",
            kind: Kind::WrongTaper,
            family: Family::WrongTaper,
            sentence: format!("The {} has {is} taper and should have {should} one", self.part.title),
            repair: ("taper", "Replace the {part} by one of the right taper", 30),
            variants: only(Change::Retaper { lower, upper, right: taper, wrong }),
        };
        let lugs = self.part.terminals[..3].to_vec();
        (role != PotRole::Tone).then(|| self.draft(saying, lugs))
    }

    fn wrong_values(&self, ohms: f64, track: &[ElementId]) -> Vec<Variant> {
        let others: Vec<f64> =
            POT_TOTALS.iter().copied().filter(|&total| (total / ohms).ln().abs() > 0.5).collect();
        let share = 1.0 / others.len().max(1) as f64;
        others
            .into_iter()
            .map(|total| Variant { share, change: Change::Scale(track.to_vec(), total / ohms), spread: 0.0 })
            .collect()
    }

    fn capacitor(&self) -> Vec<Draft> {
        let ends = self.part.terminals.clone();
        let (a, b) = (self.network.lug(ends[0]), self.network.lug(ends[1]));
        let Some(element) = self.element(&What::Capacitor(self.id)) else {
            return Vec::new();
        };
        let title = &self.part.title;
        let say = |suffix, kind, family, saying: &str, variants| Saying {
            suffix,
            kind,
            family,
            sentence: format!("The {title} {saying}"),
            repair: ("replace", "Replace the {part}", 20),
            variants,
        };
        let shorted = only(Change::Bridge(a, b, TOUCH_OHMS));
        let leaky = decades(&LEAK_OHMS, |r| Change::Bridge(a, b, r));
        vec![
            self.draft(
                say(
                    "capacitor shorted",
                    Kind::CapacitorShorted,
                    Family::CapacitorShorted,
                    "is shorted",
                    shorted,
                ),
                ends.clone(),
            ),
            self.draft(
                say(
                    "capacitor open",
                    Kind::CapacitorOpen,
                    Family::CapacitorOpen,
                    "is open",
                    only(Change::Open(element)),
                ),
                ends.clone(),
            ),
            self.draft(
                say("capacitor leaky", Kind::CapacitorLeaky, Family::CapacitorLeaky, "leaks", leaky),
                ends.clone(),
            ),
            self.draft(
                say(
                    "capacitor wrong value",
                    Kind::CapacitorWrong,
                    Family::CapacitorWrong,
                    "has the wrong value",
                    tenths(element),
                ),
                ends,
            ),
        ]
    }

    fn contacts(&self) -> Vec<Draft> {
        let mine = |what: &What| matches!(what, What::Contact(part, _) if *part == self.id);
        let contacts = self.network.elements.iter().enumerate().filter(|(_, e)| mine(&e.what));
        contacts.flat_map(|(index, element)| self.contact(ElementId(index), &element.what)).collect()
    }

    fn contact(&self, element: ElementId, what: &What) -> Vec<Draft> {
        let ends = self.ends(element);
        let names: Vec<&str> = ends.iter().map(|&t| self.harness[t].lug.as_str()).collect();
        let name = format!("contact {}", names.join("-"));
        let whole = self.contact_drafts(
            &name,
            element,
            &ends,
            [Family::ContactOpen, Family::ContactDirty, Family::ContactIntermittent],
        );
        let always = match (what, &self.part.kind) {
            (What::Contact(_, closed), PartKind::Switch { positions }) => closed.len() == positions.len(),
            _ => true,
        };
        whole.into_iter().chain((!always).then(|| self.stuck(&name, &ends))).collect()
    }

    fn stuck(&self, name: &str, ends: &[TerminalId]) -> Draft {
        let (a, b) = (self.network.lug(ends[0]), self.network.lug(ends[1]));
        let saying = Saying {
            suffix: &format!("{name} stuck closed"),
            kind: Kind::ContactStuck,
            family: Family::ContactStuck,
            sentence: format!("The {name} of the {} does not open", self.part.title),
            repair: (&format!("{name} replace"), "Re-tension the contact of the {part}, or replace it", 35),
            variants: only(Change::Bridge(a, b, TOUCH_OHMS)),
        };
        self.draft(saying, ends.to_vec())
    }

    fn contact_drafts(
        &self,
        name: &str,
        element: ElementId,
        ends: &[TerminalId],
        families: [Family; 3],
    ) -> Vec<Draft> {
        let title = &self.part.title;
        let (replace, clean) = (format!("{name} replace"), format!("{name} clean"));
        let mend = (replace.as_str(), "Re-tension the contact of the {part}, or replace it", 30);
        let wash = (
            clean.as_str(),
            "Clean and exercise the contact of the {part}; re-tension it if that is not enough",
            12,
        );
        let make = |suffix: &str, kind, family, saying: &str, repair, variants| {
            let suffix = format!("{name} {suffix}");
            let sentence = format!("The {name} of the {title} {saying}");
            self.draft(Saying { suffix: &suffix, kind, family, sentence, repair, variants }, ends.to_vec())
        };
        let dirty = decades(&DIRTY_OHMS, |r| Change::Series(element, r));
        let [open, soiled, flickering] = families;
        vec![
            make("open", Kind::ContactOpen, open, "does not close", mend, only(Change::Open(element))),
            make("dirty", Kind::ContactDirty, soiled, "is dirty", wash, dirty),
            make(
                "intermittent",
                Kind::ContactIntermittent,
                flickering,
                "comes and goes",
                wash,
                only(Change::Open(element)),
            ),
        ]
    }

    fn jack(&self) -> Vec<Draft> {
        let mine = |what: &What| matches!(what, What::Spring(part) if *part == self.id);
        let springs = self.network.elements.iter().enumerate().filter(|(_, e)| mine(&e.what));
        let families = [Family::SpringOpen, Family::SpringDirty, Family::SpringIntermittent];
        let mut drafts: Vec<Draft> = springs
            .flat_map(|(index, _)| {
                let ends = self.ends(ElementId(index));
                let name = format!("{} spring", self.harness[ends[0]].lug);
                self.contact_drafts(&name, ElementId(index), &ends, families)
            })
            .collect();
        drafts.push(self.exchanged(Family::JackExchanged, 0, 1));
        drafts
    }

    fn ends(&self, element: ElementId) -> Vec<TerminalId> {
        let element = &self.network.elements[element.0];
        let at =
            |node| (0..self.harness.terminals.len()).map(TerminalId).find(|&t| self.network.lug(t) == node);
        [element.a, element.b].into_iter().filter_map(at).collect()
    }
}
