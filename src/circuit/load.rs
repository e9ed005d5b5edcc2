//! From a wiring file to a checked harness, or to the list of everything that is wrong with it.

use super::file::{
    FORMAT, FixingEntry, Head, KindEntry, NearEntry, PartEntry, RoleEntry, WireEntry, WireKindEntry,
    WiringFile,
};
use super::mistake::{Findings, Mistake};
use super::parts::{self, PLUG};
use super::{End, Fixing, Harness, Link, LinkId, LinkKind, Near, Place, PlaceId, TerminalId};
use super::{PartId, PartKind, PotRole, blocks, check, titles, values};
use crate::source::{self, Located, Path, Positions, Source};
use crate::units::{Ohms, Seconds};
use std::collections::{BTreeMap, BTreeSet};

/// Reads and checks a wiring file.
///
/// # Errors
///
/// Returns every mistake that was found, in the order of the file, each with file, line, column and a hint. What only
/// shows in the whole wiring, such as a coil without a way to the jack, is looked for once everything else is right.
pub fn load(source: &Source) -> Result<Harness, Vec<Located>> {
    let mut findings = Findings::new(Positions::of(source));
    if let Ok(Head { format }) = source::load::<Head>(source)
        && format != FORMAT
    {
        findings.add(
            &Path::root().then("format"),
            &Mistake::Format { what: "wiring", found: format, known: FORMAT },
        );
        return Err(findings.into_list());
    }
    let file: WiringFile = source::load(source).map_err(|error| vec![error])?;
    let harness = read(&file, &mut findings);
    if findings.is_empty() { Ok(harness) } else { Err(findings.into_list()) }
}

fn read(file: &WiringFile, findings: &mut Findings) -> Harness {
    let written = blocks::write_out(file);
    let mut reader =
        Reader { harness: empty(file), findings, known_as: &written.known_as, names: &written.names };
    reader.header(file);
    reader.places(file);
    reader.parts(&written.parts);
    reader.wires(&written.wires);
    reader.near(&written.near);
    let Reader { mut harness, findings, .. } = reader;
    if findings.is_empty() {
        let parts: Vec<Path> = written.parts.into_iter().map(|(at, _)| at).collect();
        check::whole(&harness, &parts, findings);
    }
    titles::name_volume_lugs(&mut harness);
    harness
}

fn empty(file: &WiringFile) -> Harness {
    Harness {
        name: file.name.clone(),
        code: file.code.clone(),
        title: file.title.clone(),
        about: file.about.clone(),
        places: Vec::new(),
        parts: Vec::new(),
        terminals: Vec::new(),
        links: Vec::new(),
        controls: Vec::new(),
        near: Vec::new(),
        joint: Ohms::default(),
    }
}

struct Reader<'a> {
    harness: Harness,
    findings: &'a mut Findings,
    known_as: &'a BTreeMap<String, String>,
    names: &'a [blocks::Named],
}

impl Reader<'_> {
    fn header(&mut self, file: &WiringFile) {
        let root = Path::root();
        self.check_name("wiring", &file.name, &root.then("name"));
        self.harness.joint = values::joint(&file.joint).unwrap_or_else(|mistake| {
            self.findings.add(&root.then("joint"), &mistake);
            Ohms::default()
        });
    }

    fn places(&mut self, file: &WiringFile) {
        let list = Path::root().then("places");
        let mut names = BTreeSet::new();
        for (index, entry) in file.places.iter().enumerate() {
            let at = list.then(index);
            self.check_new("place", &entry.name, &mut names, &at.then("name"));
            let open = values::opening(&entry.open).unwrap_or_else(|mistake| {
                self.findings.add(&at.then("open"), &mistake);
                Seconds::default()
            });
            if entry.outside && open.get() > 0.0 {
                self.findings.add(&at.then("open"), &Mistake::OutsideCost);
            }
            if entry.outside && index > 0 {
                let mistake = Mistake::OutsideTwice { name: entry.name.clone() };
                self.findings.add(&at.then("outside"), &mistake);
            }
            let (name, how) = (entry.name.clone(), entry.how.clone());
            self.harness.places.push(Place { name, how, open, outside: entry.outside });
        }
        if !file.places.first().is_some_and(|first| first.outside) {
            self.findings.add(&list.then(0), &Mistake::OutsideFirst);
        }
    }

    fn parts(&mut self, entries: &[(Path, PartEntry)]) {
        let mut names = BTreeSet::new();
        let mut controls = BTreeSet::new();
        for (at, entry) in entries {
            self.check_new("part", &entry.name, &mut names, &at.then("name"));
            if entry.name == PLUG {
                self.findings.add(&at.then("name"), &Mistake::Plug { name: entry.name.clone() });
            }
            self.check_kind(entry, &mut controls, &at.then("kind"));
            let place = self.place(&entry.place, &at.then("place")).unwrap_or(PlaceId(0));
            parts::add_part(&mut self.harness, entry, place, at, self.findings);
        }
        let jacks = entries.iter().filter(|(_, part)| matches!(part.kind, KindEntry::Jack { .. })).count();
        if jacks != 1 {
            self.findings.add(&Path::root().then("parts"), &Mistake::Jacks { count: jacks });
        }
        parts::add_plug(&mut self.harness);
    }

    /// Checks the names that a part brings with it.
    fn check_kind(&mut self, part: &PartEntry, controls: &mut BTreeSet<String>, at: &Path) {
        if let KindEntry::Pot { control, .. } | KindEntry::Switch { control, .. } = &part.kind {
            let gang = matches!(part.kind, KindEntry::Pot { role: RoleEntry::Blend, .. })
                && self.blends(control) == 1;
            if gang {
                return;
            }
            self.check_new("control", control, controls, &at.then("control"));
        }
        let KindEntry::Switch { terminals, frame, positions, .. } = &part.kind else {
            return;
        };
        let mut names: BTreeSet<String> = frame.then(|| "frame".to_owned()).into_iter().collect();
        for (index, name) in terminals.iter().enumerate() {
            self.check_new("terminal", name, &mut names, &at.then("terminals").then(index));
        }
        let mut names = BTreeSet::new();
        for (index, position) in positions.iter().enumerate() {
            let at = at.then("positions").then(index).then("name");
            self.check_new("position", &position.name, &mut names, &at);
        }
        if positions.len() < 2 {
            let mistake = Mistake::Positions { part: part.name.clone(), count: positions.len() };
            self.findings.add(&at.then("positions"), &mistake);
        }
    }

    /// Returns how many blend pots a control turns so far: both gangs of a blend are on one shaft.
    fn blends(&self, control: &str) -> usize {
        let known = self.harness.control(control);
        let blend =
            |part: PartId| matches!(self.harness[part].kind, PartKind::Pot { role: PotRole::Blend, .. });
        known.map_or(0, |known| known.ganged.len() + usize::from(blend(known.part)))
    }

    fn wires(&mut self, entries: &[(Path, WireEntry)]) {
        let mut names = BTreeSet::new();
        for (at, entry) in entries {
            self.check_new("wire", &entry.name, &mut names, &at.then("name"));
            let from = self.terminal(&entry.from, &at.then("from"));
            let to = self.terminal(&entry.to, &at.then("to"));
            let around = self.around(entry, entries, at);
            let place = entry.place.as_ref().and_then(|name| self.place(name, &at.then("place")));
            if let (Some(from), Some(to)) = (from, to) {
                let place = place.unwrap_or(self.harness[from].place);
                self.harness.links.push(link(entry, from, to, place, around));
            }
            if from.is_some() && from == to {
                let mistake = Mistake::Loop { wire: entry.name.clone(), terminal: entry.to.clone() };
                self.findings.add(&at.then("to"), &mistake);
            }
        }
    }

    /// Finds the core that a braid surrounds.
    fn around(&mut self, entry: &WireEntry, all: &[(Path, WireEntry)], at: &Path) -> Option<LinkId> {
        let wire = || entry.name.clone();
        let Some(name) = &entry.around else {
            if entry.kind == WireKindEntry::Braid {
                self.findings.add(&at.then("kind"), &Mistake::NoCore { wire: wire() });
            }
            return None;
        };
        if entry.kind != WireKindEntry::Braid {
            self.findings.add(&at.then("around"), &Mistake::NotABraid { wire: wire() });
        }
        let is_core = |core: &WireEntry| core.kind == WireKindEntry::Wire;
        let found = all.iter().position(|(_, core)| core.name == *name && is_core(core));
        if found.is_none() {
            let cores = all.iter().filter(|(_, core)| is_core(core));
            let known = cores.map(|(_, core)| core.name.clone()).collect();
            let mistake = Mistake::Unknown { what: "wire", name: name.clone(), known };
            self.findings.add(&at.then("around"), &mistake);
        }
        found.map(LinkId)
    }

    fn near(&mut self, entries: &[(Path, NearEntry)]) {
        let mut pairs = BTreeSet::new();
        for (at, entry) in entries {
            let Some(pair) = self.near_pair(entry, at) else {
                continue;
            };
            if !pairs.insert((pair.a.min(pair.b), pair.a.max(pair.b))) {
                let (a, b) = (entry.a.clone(), entry.b.clone());
                self.findings.add(at, &Mistake::NearTwice { a, b });
            }
            self.harness.near.push(pair);
        }
    }

    fn near_pair(&mut self, entry: &NearEntry, at: &Path) -> Option<Near> {
        let a = self.terminal(&entry.a, &at.then("a"));
        let b = self.terminal(&entry.b, &at.then("b"));
        let weight = entry.weight.unwrap_or(1.0);
        if !(weight > 0.0 && weight.is_finite()) {
            self.findings.add(&at.then("weight"), &Mistake::Weight { weight });
        }
        if a.is_some() && a == b {
            let terminal = entry.a.clone();
            self.findings.add(&at.then("b"), &Mistake::NearItself { terminal });
        }
        let how = entry.how.clone();
        Some(Near { a: a?, b: b?, how, weight })
    }

    /// Notes a name that is taken already or that cannot be typed on a command line.
    fn check_new(&mut self, what: &'static str, name: &str, taken: &mut BTreeSet<String>, at: &Path) {
        self.check_name(what, name, at);
        if !taken.insert(name.to_owned()) {
            self.findings.add(at, &Mistake::Twice { what, name: name.to_owned() });
        }
    }

    fn check_name(&mut self, what: &'static str, name: &str, at: &Path) {
        let good = match what {
            "place" | "control" | "position" => is_spoken(name),
            _ => is_short(name),
        };
        if !good {
            self.findings.add(at, &Mistake::BadName { what, name: name.to_owned() });
        }
    }

    fn place(&mut self, name: &str, at: &Path) -> Option<PlaceId> {
        let found = self.harness.place(name);
        if found.is_none() {
            let known = self.harness.places.iter().map(|place| place.name.clone()).collect();
            let at = self.written(name, at);
            self.findings.add(&at, &Mistake::Unknown { what: "place", name: name.to_owned(), known });
        }
        found
    }

    fn terminal(&mut self, written: &str, at: &Path) -> Option<TerminalId> {
        let name = self.known_as.get(written).map_or(written, String::as_str);
        let found = self.harness.terminal(name);
        if found.is_none() {
            let mistake = self.unknown_terminal(written);
            self.findings.add(&self.written(written, at), &mistake);
        }
        found
    }

    /// Returns where a name is written: in a block that stands for the entry at a path, or there itself.
    fn written(&self, name: &str, at: &Path) -> Path {
        let here = |named: &&blocks::Named| named.name == name && at.is_within(&named.block);
        self.names.iter().find(here).map_or_else(|| at.clone(), |named| named.at.clone())
    }

    fn unknown_terminal(&self, written: &str) -> Mistake {
        let (part, lug) = written.split_once('.').unwrap_or((written, ""));
        let Some(id) = self.harness.part(part) else {
            let known = self.harness.parts.iter().map(|part| part.name.clone()).collect();
            return Mistake::Unknown { what: "part", name: part.to_owned(), known };
        };
        let terminals = self.harness[id].terminals.iter().map(|id| &self.harness[*id]);
        if lug.is_empty() {
            let example = terminals.map(|terminal| terminal.name.clone()).next().unwrap_or_default();
            return Mistake::NotATerminal { written: written.to_owned(), example };
        }
        let known = terminals.map(|terminal| terminal.lug.clone()).collect();
        Mistake::UnknownLug { part: part.to_owned(), lug: lug.to_owned(), known }
    }
}

fn link(entry: &WireEntry, from: TerminalId, to: TerminalId, place: PlaceId, around: Option<LinkId>) -> Link {
    let (kind, first, second) = match entry.kind {
        WireKindEntry::Wire => (LinkKind::Wire, Fixing::Solder, Fixing::Solder),
        WireKindEntry::Braid => (LinkKind::Braid, Fixing::Solder, Fixing::Solder),
        WireKindEntry::Leg => (LinkKind::Leg, Fixing::Own, Fixing::Solder),
        WireKindEntry::Lug => (LinkKind::Lug, Fixing::Own, Fixing::Solder),
        WireKindEntry::Mount => (LinkKind::Mount, Fixing::Pressure, Fixing::Pressure),
    };
    Link {
        name: entry.name.clone(),
        title: entry.title.clone(),
        kind,
        from: End { terminal: from, fixing: entry.from_fixing.map_or(first, fixing) },
        to: End { terminal: to, fixing: entry.to_fixing.map_or(second, fixing) },
        place,
        around,
    }
}

fn fixing(entry: FixingEntry) -> Fixing {
    match entry {
        FixingEntry::Solder => Fixing::Solder,
        FixingEntry::Pressure => Fixing::Pressure,
        FixingEntry::Own => Fixing::Own,
    }
}

/// Whether a name can stand in a terminal or fault name: small letters, digits and `-`, a letter first.
fn is_short(name: &str) -> bool {
    let letters = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    name.starts_with(|c: char| c.is_ascii_lowercase()) && name.chars().all(letters)
}

/// Whether a name can be said and typed after `--set`: letters, digits, single blanks and `-`.
fn is_spoken(name: &str) -> bool {
    let allowed = |c: char| c.is_alphanumeric() || c == ' ' || c == '-';
    !name.is_empty() && name.trim() == name && name.chars().all(allowed)
}
