//! The checked meaning of a wiring file: what is wired to what, and where a probe can reach it.

use crate::units::{Farads, Henries, Ohms, Seconds, Volts};

/// Identifies a place by its index in [`Harness::places`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlaceId(pub usize);

/// Identifies a part by its index in [`Harness::parts`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId(pub usize);

/// Identifies a terminal by its index in [`Harness::terminals`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TerminalId(pub usize);

/// Identifies a link by its index in [`Harness::links`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LinkId(pub usize);

/// The whole wiring of one instrument: parts, wires, shields, controls and places.
#[derive(Clone, Debug)]
pub struct Harness {
    /// The name used on the command line and in job files, such as `two-humbuckers`.
    pub name: String,
    /// A short code that is quick to say on the telephone, such as `A2a`.
    pub code: String,
    /// One line that a person recognises the instrument by.
    pub title: String,
    /// A paragraph about the wiring: what is particular about it.
    pub about: String,
    /// Where terminals can be reached, the outside first.
    pub places: Vec<Place>,
    /// Everything that is not wire.
    pub parts: Vec<Part>,
    /// Every point a wire is fixed to or a probe can touch, including `plug.tip` and `plug.sleeve`.
    pub terminals: Vec<Terminal>,
    /// Every conductor between two terminals.
    pub links: Vec<Link>,
    /// Every knob and switch, in the order of the file.
    pub controls: Vec<Control>,
    /// Pairs of terminals that lie close enough to touch by accident.
    pub near: Vec<Near>,
    /// The resistance of one healthy joint or contact.
    pub joint: Ohms,
}

/// Where a terminal can be reached, with the time it takes to get there.
#[derive(Clone, Debug)]
pub struct Place {
    /// The name used in files and on screens, such as `control cavity`.
    pub name: String,
    /// What a person does to reach it, such as `take the four screws out of the rear cover`.
    pub how: String,
    /// Time to open it once; zero for the outside.
    pub open: Seconds,
    /// Whether it can be reached without opening anything.
    pub outside: bool,
}

/// One component, surface or connector.
#[derive(Clone, Debug)]
pub struct Part {
    /// The name used in terminal names, such as `neck-volume`.
    pub name: String,
    /// What a person calls it, such as `neck volume pot`.
    pub title: String,
    /// What it is.
    pub kind: PartKind,
    /// Where it can be reached.
    pub place: PlaceId,
    /// Its terminals, in the order of its kind.
    pub terminals: Vec<TerminalId>,
    /// Picture position of its centre, in picture units (x right, y down, seen from behind).
    pub at: (f32, f32),
    /// Clockwise turn of the part in the picture, in degrees.
    pub turn: f32,
    /// For a coil that shares one pickup with other coils: what that pickup is called.
    pub pickup: Option<String>,
}

/// What a part is, with its values.
#[derive(Clone, Debug, PartialEq)]
pub enum PartKind {
    /// A pickup coil or a set of coils in series that cannot be reached one by one. Terminals: `hot`, `cold`.
    Coil {
        /// Resistance of the winding at 20 °C.
        ohms: Ohms,
        /// Inductance.
        henries: Henries,
        /// Capacitance of the winding.
        farads: Farads,
        /// How unsure each of them is.
        spread: CoilSpread,
    },
    /// A potentiometer. Terminals: `lug1` (zero end), `lug2` (wiper), `lug3` (full end), `case`.
    Pot {
        /// Resistance of the whole track.
        ohms: Ohms,
        /// Half-width of the tolerance as a share of the value, such as 0.2.
        tolerance: f64,
        /// The law of the track.
        taper: Taper,
        /// What it does in the circuit.
        role: PotRole,
    },
    /// A capacitor. Terminals: `a`, `b`.
    Capacitor {
        /// Nominal value.
        farads: Farads,
        /// Half-width of the tolerance as a share of the value.
        tolerance: f64,
    },
    /// A fixed resistor. Terminals: `a`, `b`.
    Resistor {
        /// Nominal value.
        ohms: Ohms,
        /// Half-width of the tolerance as a share of the value.
        tolerance: f64,
    },
    /// A switch. Terminals: as named in the file, then `frame` where it has one.
    Switch {
        /// Its positions in order, each with the pairs of terminals it joins.
        positions: Vec<Position>,
    },
    /// An output jack. Terminals: `tip`, `sleeve` and, with three contacts, `ring`.
    Jack,
    /// The plug of the cable in the jack: where an outside reading is taken. Terminals: `tip`, `sleeve`, `ring`.
    Plug,
    /// A battery. Terminals: `plus`, `minus`. It is taken out for readings in ohms.
    Battery {
        /// Its voltage when new.
        volts: Volts,
        /// Its resistance inside.
        ohms: Ohms,
    },
    /// A piezo element: a source behind a capacitance. Terminals: `hot`, `cold`.
    Piezo {
        /// Nominal value.
        farads: Farads,
        /// Half-width of the tolerance as a share of the value.
        tolerance: f64,
    },
    /// A preamp, seen from outside. Terminals: `input`, `output`, `plus`, `minus`.
    Preamp {
        /// Resistance from its input to minus.
        input: Ohms,
        /// Its supply's stand-in: the resistance from plus to minus that draws the idle current.
        supply: Ohms,
        /// Voltage gain from input to output while it has its supply.
        gain: f64,
    },
    /// A metal surface: shield, cover, bridge, strings. One terminal: `surface`.
    Surface,
}

/// How unsure the values of a coil are: one standard deviation of the logarithm of each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoilSpread {
    /// Of its resistance.
    pub ohms: f64,
    /// Of its inductance.
    pub henries: f64,
    /// Of its capacitance.
    pub farads: f64,
}

/// One position of a switch.
#[derive(Clone, Debug, PartialEq)]
pub struct Position {
    /// The position's name, such as `neck`.
    pub name: String,
    /// The pairs of terminals that are joined in this position.
    pub closes: Vec<(TerminalId, TerminalId)>,
}

/// The law of a potentiometer's track: the share of the track below the wiper at half rotation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taper {
    /// Share of the track between lug 1 and the wiper at half rotation, such as 0.15 for an audio pot.
    pub half: f64,
    /// One standard deviation of the logit of that share: how unsure the law is.
    pub spread: f64,
}

/// What a potentiometer does in the circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PotRole {
    /// Sets the level.
    Volume,
    /// Sets the treble through a capacitor.
    Tone,
    /// Balances two sources.
    Blend,
}

/// A point where a wire is fixed and a probe can touch.
#[derive(Clone, Debug)]
pub struct Terminal {
    /// The full name, part and lug, such as `neck-volume.lug3`.
    pub name: String,
    /// The part it belongs to.
    pub part: PartId,
    /// The lug's own name, such as `lug3`.
    pub lug: String,
    /// What a person calls it, such as `input lug (lug 3) of the neck volume pot`.
    pub title: String,
    /// Where it can be reached.
    pub place: PlaceId,
    /// Whether it is metal that should be at ground: a pot case, a shield, a cover, the strings.
    pub grounded_surface: bool,
    /// Whether a probe can be put on it.
    pub probe: bool,
}

/// What a link is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinkKind {
    /// A wire or the core of a screened lead.
    Wire,
    /// The braid of a screened lead.
    Braid,
    /// The leg of a part, which goes straight to the other terminal.
    Leg,
    /// A lug bent over to its own case.
    Lug,
    /// Parts held against each other by a nut or a screw.
    Mount,
}

/// How one end of a link is fixed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fixing {
    /// A solder joint.
    Solder,
    /// Held by pressure: under a stud, a nut, a screw.
    Pressure,
    /// Grown on: the leg or lug belongs to the part, nothing can come loose here.
    Own,
}

/// One end of a link.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct End {
    /// The terminal it is fixed to.
    pub terminal: TerminalId,
    /// How it is fixed.
    pub fixing: Fixing,
}

/// A conductor between two terminals with its two ends.
#[derive(Clone, Debug)]
pub struct Link {
    /// The name used in fault names, such as `neck-lead`.
    pub name: String,
    /// What a person calls it, such as `core of the neck pickup's lead`.
    pub title: String,
    /// What it is made of.
    pub kind: LinkKind,
    /// The first end.
    pub from: End,
    /// The second end.
    pub to: End,
    /// The place its middle runs through, where flexing it is possible.
    pub place: PlaceId,
    /// For a braid: the link whose core it surrounds.
    pub around: Option<LinkId>,
}

/// A conductor with one end taken off its terminal for a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lifted {
    /// The conductor.
    pub link: LinkId,
    /// Whether it is the second end that is off.
    pub second: bool,
    /// The terminal that this end was on.
    pub off: TerminalId,
    /// The terminal that the other end stays on, when a probe asked for there goes on the free end: the conductor is
    /// that part's own leg, or no probe reaches the terminal.
    pub stands_for: Option<TerminalId>,
}

/// A knob or a switch that a person can set.
#[derive(Clone, Debug)]
pub struct Control {
    /// The name used on the command line, such as `neck volume`.
    pub name: String,
    /// The part it moves.
    pub part: PartId,
    /// Other parts on the same shaft.
    pub ganged: Vec<PartId>,
    /// What it sets.
    pub kind: ControlKind,
}

/// What a control sets.
#[derive(Clone, Debug, PartialEq)]
pub enum ControlKind {
    /// A knob, 0 to 10.
    Knob,
    /// A switch with its position names in order.
    Selector(Vec<String>),
}

/// Two terminals that lie close enough to touch.
#[derive(Clone, Debug, PartialEq)]
pub struct Near {
    /// The first terminal.
    pub a: TerminalId,
    /// The second terminal.
    pub b: TerminalId,
    /// How it would come about, such as `a stray strand of the braid`.
    pub how: String,
    /// How likely it is beside the other near pairs of this harness; 1 is ordinary.
    pub weight: f64,
}

impl Harness {
    /// Returns what a person calls a control: a switch by the title of its part, a knob by its own name.
    pub fn control_title<'a>(&'a self, name: &'a str) -> &'a str {
        let control = self.controls.iter().find(|control| control.name == name);
        let part = control.and_then(|control| self.parts.get(control.part.0));
        part.filter(|part| matches!(part.kind, PartKind::Switch { .. }))
            .map_or(name, |part| part.title.as_str())
    }

    /// Returns the terminal with this full name, such as `plug.tip`.
    pub fn terminal(&self, name: &str) -> Option<TerminalId> {
        self.terminals.iter().position(|t| t.name == name).map(TerminalId)
    }

    /// Returns the conductor of this name with an end lifted: that at the lug or case, where the first is the part's own.
    pub fn lifted(&self, name: &str) -> Option<Lifted> {
        let index = self.links.iter().position(|link| link.name == name)?;
        let link = &self.links[index];
        let second = link.to.fixing == Fixing::Solder;
        let (off, kept) = if second { (link.to, link.from) } else { (link.from, link.to) };
        let free = kept.fixing == Fixing::Own || !self[kept.terminal].probe;
        let stands_for = free.then_some(kept.terminal);
        Some(Lifted { link: LinkId(index), second, off: off.terminal, stands_for })
    }

    /// Returns what a probe touches that is asked for on a terminal, in words: the terminal, or the free end of what is
    /// lifted.
    pub fn touched(&self, terminal: TerminalId, lifted: Option<Lifted>) -> String {
        match lifted.filter(|lifted| lifted.stands_for == Some(terminal)) {
            Some(lifted) => format!("free end of the {}", self[lifted.link].title),
            None => self[terminal].title.clone(),
        }
    }

    /// Returns whether any part is a battery.
    pub fn has_battery(&self) -> bool {
        self.parts.iter().any(|part| matches!(part.kind, PartKind::Battery { .. }))
    }

    /// Returns the control with this name.
    pub fn control(&self, name: &str) -> Option<&Control> {
        self.controls.iter().find(|c| c.name == name)
    }

    /// Returns the part with this name.
    pub fn part(&self, name: &str) -> Option<PartId> {
        self.parts.iter().position(|p| p.name == name).map(PartId)
    }

    /// Returns the place with this name.
    pub fn place(&self, name: &str) -> Option<PlaceId> {
        self.places.iter().position(|p| p.name == name).map(PlaceId)
    }

    /// Returns how many link ends are soldered to this terminal.
    pub fn soldered_ends(&self, terminal: TerminalId) -> usize {
        self.ends(terminal).filter(|end| end.fixing == Fixing::Solder).count()
    }

    /// Returns how many conductor ends are soldered or pressed to a terminal.
    pub fn fixed_ends(&self, terminal: TerminalId) -> usize {
        self.ends(terminal).filter(|end| end.fixing != Fixing::Own).count()
    }

    fn ends(&self, terminal: TerminalId) -> impl Iterator<Item = &End> {
        let ends = self.links.iter().flat_map(|link| [&link.from, &link.to]);
        ends.filter(move |end| end.terminal == terminal)
    }
}

impl std::ops::Index<TerminalId> for Harness {
    type Output = Terminal;
    fn index(&self, id: TerminalId) -> &Terminal {
        &self.terminals[id.0]
    }
}

impl std::ops::Index<PartId> for Harness {
    type Output = Part;
    fn index(&self, id: PartId) -> &Part {
        &self.parts[id.0]
    }
}

impl std::ops::Index<PlaceId> for Harness {
    type Output = Place;
    fn index(&self, id: PlaceId) -> &Place {
        &self.places[id.0]
    }
}

impl std::ops::Index<LinkId> for Harness {
    type Output = Link;
    fn index(&self, id: LinkId) -> &Link {
        &self.links[id.0]
    }
}
