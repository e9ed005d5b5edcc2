//! Common blocks of a wiring file, written out as the parts, wires and near pairs they stand for.

use std::collections::BTreeMap;

use super::block_forms::{Form, form};
use super::file::{
    BlockEntry, FixingEntry, KindEntry, LeadEntry, NearEntry, PartEntry, RoleEntry, StyleEntry, WireEntry,
    WireKindEntry, WiringFile,
};
use crate::source::Path;

const POT_TOLERANCE: &str = "20%";

/// Everything of a wiring file, blocks written out, each entry with its place in the file.
pub(super) struct Written {
    pub parts: Vec<(Path, PartEntry)>,
    pub wires: Vec<(Path, WireEntry)>,
    pub near: Vec<(Path, NearEntry)>,
    /// Names that a block gives to terminals by what they do, such as `volume.in`.
    pub known_as: BTreeMap<String, String>,
    /// Where each block names a terminal or a place that it does not bring with it.
    pub names: Vec<Named>,
}

/// A name in a block.
pub(super) struct Named {
    /// The block.
    pub block: Path,
    /// The name as written.
    pub name: String,
    /// Where it is written.
    pub at: Path,
}

/// Writes out the blocks of a file.
pub(super) fn write_out(file: &WiringFile) -> Written {
    let mut written = Written {
        parts: placed("parts", &file.parts),
        wires: placed("wires", &file.wires),
        near: placed("near", &file.near),
        known_as: file.blocks.iter().flat_map(known_as).collect(),
        names: file.blocks.iter().enumerate().flat_map(|(index, block)| names(index, block)).collect(),
    };
    let at = |index| Path::root().then("blocks").then(index);
    for (index, block) in file.blocks.iter().enumerate() {
        Writer { at: at(index), written: &mut written, place: String::new() }.block(block);
    }
    // Which lugs of a selector are in use shows only now.
    for (index, block) in file.blocks.iter().enumerate() {
        Writer { at: at(index), written: &mut written, place: String::new() }.side_by_side(block);
    }
    written
}

/// Returns the names that a block gives to terminals by what they do.
fn known_as(block: &BlockEntry) -> Vec<(String, String)> {
    let BlockEntry::Volume { name, style, .. } = block else {
        return Vec::new();
    };
    let (input, output) = if *style == StyleEntry::Standard { ("lug3", "lug2") } else { ("lug2", "lug3") };
    vec![(lug(name, "in"), lug(name, input)), (lug(name, "out"), lug(name, output))]
}

fn names(index: usize, block: &BlockEntry) -> Vec<Named> {
    let at = Path::root().then("blocks").then(index);
    let named = |(field, name): (&str, Option<&String>)| {
        Some(Named { block: at.clone(), name: name?.clone(), at: at.then(field) })
    };
    let mut all: Vec<Named> = fields(block).into_iter().filter_map(named).collect();
    if let BlockEntry::Shield { touches, .. } = block {
        let list = at.then("touches");
        let touched = |(index, name): (usize, &String)| Named {
            block: at.clone(),
            name: name.clone(),
            at: list.then(index),
        };
        all.extend(touches.iter().enumerate().map(touched));
    }
    all
}

fn fields(block: &BlockEntry) -> Vec<(&'static str, Option<&String>)> {
    match block {
        BlockEntry::Pickup { hot, ground, screen, lead_place, .. } => vec![
            ("hot", Some(hot)),
            ("ground", Some(ground)),
            ("screen", screen.as_ref()),
            ("lead_place", lead_place.as_ref()),
        ],
        BlockEntry::Tone { feed, ground, .. } => vec![("feed", Some(feed)), ("ground", Some(ground))],
        BlockEntry::Output { hot, ground, lead_place, .. } => {
            vec![("hot", Some(hot)), ("ground", Some(ground)), ("lead_place", lead_place.as_ref())]
        }
        BlockEntry::Volume { ground, .. } | BlockEntry::Selector { ground, .. } => {
            vec![("ground", ground.as_ref())]
        }
        BlockEntry::Strings { ground, .. } | BlockEntry::Shield { ground, .. } => {
            vec![("ground", Some(ground))]
        }
    }
}

fn placed<T: Clone>(list: &'static str, entries: &[T]) -> Vec<(Path, T)> {
    let path = |index| Path::root().then(list).then(index);
    entries.iter().cloned().enumerate().map(|(index, entry)| (path(index), entry)).collect()
}

struct Writer<'a> {
    at: Path,
    written: &'a mut Written,
    place: String,
}

fn lug(name: &str, lug: &str) -> String {
    format!("{name}.{lug}")
}

fn spoken(name: &str) -> String {
    name.replace('-', " ")
}

impl Writer<'_> {
    fn block(&mut self, block: &BlockEntry) {
        let (BlockEntry::Pickup { place, .. }
        | BlockEntry::Volume { place, .. }
        | BlockEntry::Tone { place, .. }
        | BlockEntry::Selector { place, .. }
        | BlockEntry::Output { place, .. }
        | BlockEntry::Shield { place, .. }) = block
        else {
            return self.strings(block);
        };
        self.place.clone_from(place);
        match block {
            BlockEntry::Pickup { .. } => self.pickup(block),
            BlockEntry::Volume { .. } => self.volume(block),
            BlockEntry::Tone { .. } => self.tone(block),
            BlockEntry::Selector { .. } => self.selector(block),
            BlockEntry::Output { .. } => self.output(block),
            _ => self.shield(block),
        }
    }

    fn part(&mut self, name: &str, title: String, kind: KindEntry, at: (f32, f32)) -> &mut PartEntry {
        let entry = PartEntry {
            name: name.to_owned(),
            title,
            kind,
            place: self.place.clone(),
            at,
            turn: 0.0,
            no_probe: Vec::new(),
            floating: false,
            pickup: None,
        };
        self.written.parts.push((self.at.clone(), entry));
        let last = self.written.parts.len() - 1;
        &mut self.written.parts[last].1
    }

    fn wire(
        &mut self,
        name: String,
        title: String,
        kind: WireKindEntry,
        from: &str,
        to: &str,
    ) -> &mut WireEntry {
        let entry = WireEntry {
            name,
            title,
            kind,
            from: from.to_owned(),
            to: to.to_owned(),
            from_fixing: None,
            to_fixing: None,
            place: None,
            around: None,
        };
        self.written.wires.push((self.at.clone(), entry));
        let last = self.written.wires.len() - 1;
        &mut self.written.wires[last].1
    }

    /// Adds a near pair, unless the file or another block has it.
    fn near(&mut self, a: &str, b: &str, how: &str, weight: f64) {
        let (a, b) = (self.resolved(a), self.resolved(b));
        let pair = |entry: &NearEntry| [self.resolved(&entry.a), self.resolved(&entry.b)];
        let same = |entry: &NearEntry| {
            pair(entry) == [a.clone(), b.clone()] || pair(entry) == [b.clone(), a.clone()]
        };
        if a != b && !self.written.near.iter().any(|(_, entry)| same(entry)) {
            let entry = NearEntry { a, b, how: how.to_owned(), weight: Some(weight) };
            self.written.near.push((self.at.clone(), entry));
        }
    }

    fn resolved(&self, written: &str) -> String {
        self.written.known_as.get(written).cloned().unwrap_or_else(|| written.to_owned())
    }

    fn pickup(&mut self, block: &BlockEntry) {
        let BlockEntry::Pickup { name, title, r#type, ohms, spread, henries, farads, at, cover, .. } = block
        else {
            return;
        };
        let title = title.clone().unwrap_or_else(|| spoken(name));
        let kind = KindEntry::Coil {
            r#type: r#type.clone(),
            ohms: ohms.clone(),
            spread: spread.clone(),
            henries: henries.clone(),
            farads: farads.clone(),
        };
        self.part(name, title.clone(), kind, *at).no_probe = vec!["hot".to_owned()];
        let (hot, cold) = (lug(name, "hot"), lug(name, "cold"));
        self.near(&hot, &cold, "a strand touches across the ends of the coil", 0.7);
        self.lead(block, &title);
        if *cover {
            self.cover(name, &title, *at);
        }
    }

    fn cover(&mut self, name: &str, title: &str, at: (f32, f32)) {
        let cover = format!("{name}-cover");
        let part =
            self.part(&cover, format!("cover of the {title}"), KindEntry::Surface, (at.0, at.1 - 110.0));
        let under = std::mem::replace(&mut part.place, "outside".to_owned());
        let surface = lug(&cover, "surface");
        let tack = format!("solder tack of the cover of the {title}");
        self.wire(format!("{cover}-tack"), tack, WireKindEntry::Leg, &surface, &lug(name, "cold")).place =
            Some(under);
        self.near(&lug(name, "hot"), &surface, "the cover presses on the hot end of the coil", 0.3);
    }

    fn lead(&mut self, block: &BlockEntry, title: &str) {
        let BlockEntry::Pickup { name, lead, hot, ground, screen, lead_place, at, .. } = block else {
            return;
        };
        let core = format!("{name}-lead");
        let screened = *lead == LeadEntry::Screened;
        let (first, second) = if screened { ("core", "braid") } else { ("hot wire", "ground wire") };
        let from = (lug(name, "hot"), lug(name, "cold"));
        self.wire(core.clone(), format!("{first} of the {title}'s lead"), WireKindEntry::Wire, &from.0, hot)
            .place
            .clone_from(lead_place);
        let (kind, end) = if screened {
            (WireKindEntry::Braid, format!("{name}-braid"))
        } else {
            (WireKindEntry::Wire, format!("{name}-ground"))
        };
        let wire = self.wire(end, format!("{second} of the {title}'s lead"), kind, &from.1, ground);
        wire.place.clone_from(lead_place);
        wire.around = screened.then_some(core);
        let stray = if screened { "a stray strand of the braid touches the hot end" } else { STRAY };
        self.near(hot, ground, stray, 2.0);
        if let Some(screen) = screen {
            self.screen(name, title, screen, *at);
            if screen != ground {
                let surface = lug(&format!("{name}-screen"), "surface");
                self.near(&lug(name, "cold"), &surface, "the other end of the coil touches the screen", 0.3);
            }
        }
    }

    /// Adds a base plate or screen that has a ground wire of its own.
    fn screen(&mut self, name: &str, title: &str, to: &str, at: (f32, f32)) {
        let screen = format!("{name}-screen");
        self.part(&screen, format!("screen of the {title}"), KindEntry::Surface, (at.0, at.1 + 110.0));
        let surface = lug(&screen, "surface");
        let wire = format!("ground wire of the screen of the {title}");
        self.wire(format!("{screen}-ground"), wire, WireKindEntry::Wire, &surface, to);
        self.near(&lug(name, "hot"), &surface, "the hot end of the coil touches the screen", 0.5);
    }

    fn volume(&mut self, block: &BlockEntry) {
        let BlockEntry::Volume { name, title, track, ground, at, .. } = block else {
            return;
        };
        let title = title.clone().unwrap_or_else(|| format!("{} pot", spoken(name)));
        self.pot(name, &title, track, RoleEntry::Volume, *at);
        let case = lug(name, "case");
        let [one, two, three] = ["lug1", "lug2", "lug3"].map(|end| lug(name, end));
        self.wire(
            format!("{name}-ground-lug"),
            format!("bent ground lug of the {title}"),
            WireKindEntry::Lug,
            &one,
            &case,
        );
        self.case_link(name, &title, ground.as_deref());
        self.near(&lug(name, "in"), &case, "a stray strand touches the input lug", 2.0);
        self.near(&lug(name, "out"), &case, "a stray strand touches the output lug", 1.0);
        self.near(&two, &three, "solder has run between the wiper lug and the full-end lug", 0.5);
        self.near(&one, &two, "solder has run between the ground lug and the wiper lug", 0.5);
    }

    fn pot(&mut self, name: &str, title: &str, track: &str, role: RoleEntry, at: (f32, f32)) {
        let kind = KindEntry::Pot {
            track: track.to_owned(),
            tolerance: POT_TOLERANCE.to_owned(),
            role,
            control: spoken(name),
        };
        self.part(name, title.to_owned(), kind, at);
    }

    fn case_link(&mut self, name: &str, title: &str, ground: Option<&str>) {
        if let Some(ground) = ground {
            let wire = format!("ground wire of the case of the {title}");
            self.wire(format!("{name}-case-link"), wire, WireKindEntry::Wire, ground, &lug(name, "case"));
        }
    }

    fn tone(&mut self, block: &BlockEntry) {
        let BlockEntry::Tone { name, title, track, capacitor, feed, ground, at, .. } = block else {
            return;
        };
        let title = title.clone().unwrap_or_else(|| format!("{} pot", spoken(name)));
        self.pot(name, &title, track, RoleEntry::Tone, *at);
        let cap = format!("{name}-cap");
        let cap_title = format!("{} capacitor", title.trim_end_matches(" pot"));
        let (farads, tolerance) = (capacitor.clone(), None);
        let beside = (at.0 + 130.0, at.1 + 40.0);
        self.part(&cap, cap_title.clone(), KindEntry::Capacitor { farads, tolerance }, beside);
        if let Some((written, _)) = self.written.parts.last_mut() {
            *written = self.at.then("capacitor");
        }
        let [one, two, case] = ["lug1", "lug2", "case"].map(|end| lug(name, end));
        let feed_title = format!("feed wire of the {title}");
        self.wire(format!("{name}-feed"), feed_title, WireKindEntry::Wire, feed, &two);
        for (leg, end, to) in [("a", "hot", &one), ("b", "ground", &case)] {
            let leg_title = format!("{end} leg of the {cap_title}");
            self.wire(format!("{cap}-{end}-leg"), leg_title, WireKindEntry::Leg, &lug(&cap, leg), to);
        }
        self.case_link(name, &title, Some(ground));
        self.near(&two, &case, "the wiper lug is bent down on to its own case", 0.7);
        self.near(&one, &case, "the capacitor's lug is bent down on to the case", 0.7);
        self.near(&one, &two, "solder has run between the two lugs in use", 0.5);
        self.near(&lug(&cap, "a"), &lug(&cap, "b"), "the bare legs of the capacitor are bent together", 0.7);
    }

    fn selector(&mut self, block: &BlockEntry) {
        let BlockEntry::Selector { name, title, form: kind, positions, ground, at, .. } = block else {
            return;
        };
        let title = title.clone().unwrap_or_else(|| spoken(name));
        let Form { terminals, positions, .. } = form(*kind, positions.as_deref());
        let kind = KindEntry::Switch { control: spoken(name), terminals, frame: ground.is_some(), positions };
        self.part(name, title.clone(), kind, *at);
        if let Some(ground) = ground {
            let wire = format!("ground wire of the frame of the {title}");
            let frame = lug(name, "frame");
            self.wire(format!("{name}-frame-ground"), wire, WireKindEntry::Wire, ground, &frame);
        }
    }

    /// Adds the near pairs of a selector's lugs, but those that no touching can matter to.
    fn side_by_side(&mut self, block: &BlockEntry) {
        let BlockEntry::Selector { name, form: kind, .. } = block else {
            return;
        };
        let Form { positions, near, .. } = form(*kind, None);
        let joins: Vec<(String, String)> =
            positions.into_iter().flat_map(|position| position.joins).collect();
        let mut pairs = near;
        pairs.retain(|(a, b)| {
            !self.joined(&lug(name, a), &lug(name, b))
                && !self.idle(name, a, b, &joins)
                && !self.idle(name, b, a, &joins)
        });
        for (a, b) in pairs {
            self.near(&lug(name, a), &lug(name, b), "solder or a strand joins the two lugs", 0.5);
        }
    }

    fn joined(&self, a: &str, b: &str) -> bool {
        let ends = |wire: &WireEntry| (wire.from == a && wire.to == b) || (wire.from == b && wire.to == a);
        self.written.wires.iter().any(|(_, wire)| ends(wire))
    }

    /// Returns whether a selector's lug leads nowhere, even by its contacts, but to the other one.
    fn idle(&self, name: &str, end: &str, other: &str, joins: &[(String, String)]) -> bool {
        let wired = |end: &str| {
            let terminal = lug(name, end);
            self.written.wires.iter().any(|(_, wire)| wire.from == terminal || wire.to == terminal)
        };
        let elsewhere = |(a, b): &(String, String)| (a == end && b != other) || (b == end && a != other);
        !wired(end) && (!wired(other) || !joins.iter().any(elsewhere))
    }

    fn output(&mut self, block: &BlockEntry) {
        let BlockEntry::Output { ring, hot, ground, lead, lead_place, at, .. } = block else {
            return;
        };
        let contacts = if *ring { 3 } else { 2 };
        self.part("jack", "jack".to_owned(), KindEntry::Jack { contacts }, *at);
        let screened = *lead == LeadEntry::Screened;
        let (first, second) = if screened { ("core", "screen") } else { ("hot wire", "ground wire") };
        let core = "output-lead".to_owned();
        self.wire(core.clone(), format!("{first} of the output lead"), WireKindEntry::Wire, hot, "jack.tip")
            .place
            .clone_from(lead_place);
        let kind = if screened { WireKindEntry::Braid } else { WireKindEntry::Wire };
        let title = format!("{second} of the output lead");
        let wire = self.wire("output-ground".to_owned(), title, kind, ground, "jack.sleeve");
        wire.place.clone_from(lead_place);
        wire.around = screened.then_some(core);
        self.near("jack.tip", "jack.sleeve", "a stray strand joins tip and sleeve", 2.0);
        if *ring {
            self.near("jack.tip", "jack.ring", "a stray strand joins tip and ring", 1.0);
            self.near("jack.ring", "jack.sleeve", ALWAYS_ON, 1.0);
        }
    }

    fn strings(&mut self, block: &BlockEntry) {
        let BlockEntry::Strings { ground, place, at } = block else { return };
        self.place = "outside".to_owned();
        self.part("strings", "strings and bridge".to_owned(), KindEntry::Surface, *at);
        let surface = "strings.surface";
        let wire = self.wire(
            "string-ground".to_owned(),
            "string ground wire".to_owned(),
            WireKindEntry::Wire,
            ground,
            surface,
        );
        wire.to_fixing = Some(FixingEntry::Pressure);
        wire.place.clone_from(place);
    }

    fn shield(&mut self, block: &BlockEntry) {
        let BlockEntry::Shield { name, title, ground, touches, at, .. } = block else { return };
        self.part(name, title.clone(), KindEntry::Surface, *at);
        let surface = lug(name, "surface");
        let wire = format!("ground wire of the {title}");
        self.wire(format!("{name}-ground"), wire, WireKindEntry::Wire, ground, &surface);
        for terminal in touches {
            self.near(terminal, &surface, "the lug presses on the shield", 0.7);
        }
    }
}

const STRAY: &str = "a stray strand of the hot wire touches the ground";
const ALWAYS_ON: &str = "a stray strand joins ring and sleeve, so the preamp never switches off";
