//! The harness as a network of two-ended elements between nodes: what the equations are written for.

use super::{End, Fixing, Harness, LinkId, LinkKind, PartId, PartKind, Taper, TerminalId};

/// Identifies a node of the network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub usize);

/// Identifies an element by its index in [`Network::elements`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ElementId(pub usize);

/// Which piece of a pot's track.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Track {
    /// From lug 1 to the wiper.
    Lower,
    /// From the wiper to lug 3.
    Upper,
}

/// What an element stands for.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// The solder blob that holds several conductors on one lug.
    Blob(TerminalId),
    /// A conductor together with its two ends, in series.
    Link(LinkId),
    /// The winding of a coil.
    Coil(PartId),
    /// A piece of a pot's track.
    Track(PartId, Track),
    /// The wiper's contact with the track.
    Wiper(PartId),
    /// A capacitor.
    Capacitor(PartId),
    /// A fixed resistor.
    Resistor(PartId),
    /// A switch contact, with the indices of the positions in which it is closed.
    Contact(PartId, Vec<usize>),
    /// A jack spring pressing on the plug.
    Spring(PartId),
    /// A battery.
    Battery(PartId),
    /// A piezo element.
    Piezo(PartId),
    /// The resistance at a preamp's input.
    Input(PartId),
    /// What a preamp draws from its supply.
    Supply(PartId),
    /// A preamp's driven output.
    Output(PartId),
}

/// One two-ended element.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// What it stands for.
    pub what: What,
    /// The node at its first end.
    pub a: NodeId,
    /// The node at its second end.
    pub b: NodeId,
}

impl Element {
    fn fix(&mut self, second: bool, node: NodeId) {
        *if second { &mut self.b } else { &mut self.a } = node;
    }
}

/// All elements of a harness and the nodes its terminals sit on.
#[derive(Clone, Debug)]
pub struct Network {
    /// Number of nodes.
    pub nodes: usize,
    /// The elements.
    pub elements: Vec<Element>,
    lugs: Vec<NodeId>,
    blobs: Vec<Option<NodeId>>,
}

/// One thing that is different from the healthy network.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Nothing.
    Nothing,
    /// The element conducts no more.
    Open(ElementId),
    /// The element has so many ohms more.
    Series(ElementId, f64),
    /// The elements' impedances are multiplied.
    Scale(Vec<ElementId>, f64),
    /// The track, its piece below the wiper and its piece above, has another law.
    Retaper {
        /// The piece from lug 1 to the wiper.
        lower: ElementId,
        /// The piece from the wiper to lug 3.
        upper: ElementId,
        /// The law it should have.
        right: Taper,
        /// The law it has.
        wrong: Taper,
    },
    /// Two nodes are joined by so many ohms.
    Bridge(NodeId, NodeId, f64),
    /// Everything fixed to the first terminal is on the second, and the other way round.
    Exchange(TerminalId, TerminalId),
    /// The first or second (`true`) end of a conductor sits on this terminal instead.
    Move(ElementId, bool, TerminalId),
    /// Conductors have their ends on these nodes instead: what an exchange or a move comes to.
    Rewire(Vec<(ElementId, NodeId, NodeId)>),
    /// The source drives its voltage multiplied by this.
    Drive(ElementId, f64),
    /// All of these at once: the last is told from the solution of the others, which is made from scratch.
    Several(Vec<Self>),
}

impl Network {
    /// Builds the network of a harness.
    pub fn new(harness: &Harness) -> Self {
        let mut network = Self {
            nodes: harness.terminals.len(),
            elements: Vec::new(),
            lugs: (0..harness.terminals.len()).map(NodeId).collect(),
            blobs: vec![None; harness.terminals.len()],
        };
        network.add_blobs(harness);
        for index in 0..harness.links.len() {
            network.add_link(harness, LinkId(index));
        }
        for index in 0..harness.parts.len() {
            network.add_part(harness, PartId(index));
        }
        network
    }

    /// Returns the node a probe on this terminal touches: the lug itself, not the solder on it.
    pub fn lug(&self, terminal: TerminalId) -> NodeId {
        self.lugs[terminal.0]
    }

    /// Returns the element that stands for `what`.
    pub fn find(&self, what: &What) -> Option<ElementId> {
        self.elements.iter().position(|e| &e.what == what).map(ElementId)
    }

    /// Returns the other network that a change makes of this one; `None` when it only changes what is there.
    pub fn rewired(&self, change: &Change) -> Option<Self> {
        match change {
            Change::Exchange(one, other) => Some(self.exchanged(*one, *other)),
            Change::Move(element, second, to) => Some(self.moved(*element, *second, *to)),
            Change::Several(all) => all.iter().fold(None, |network: Option<Self>, change| {
                network.as_ref().unwrap_or(self).rewired(change).or(network)
            }),
            _ => None,
        }
    }

    /// Returns this network with the first or second (`true`) end of a conductor lifted off its terminal.
    pub fn lifted(&self, element: ElementId, second: bool) -> Self {
        let mut network = self.clone();
        let node = network.node();
        network.elements[element.0].fix(second, node);
        network
    }

    /// Returns what makes the other network of this one.
    pub fn difference(&self, other: &Self) -> Change {
        let pairs = self.elements.iter().zip(&other.elements).enumerate();
        let differ = pairs.filter(|(_, (one, other))| (one.a, one.b) != (other.a, other.b));
        Change::Rewire(differ.map(|(index, (_, other))| (ElementId(index), other.a, other.b)).collect())
    }

    fn moved(&self, element: ElementId, second: bool, to: TerminalId) -> Self {
        let mut network = self.clone();
        let node = self.fixing_node(to);
        network.elements[element.0].fix(second, node);
        network
    }

    /// Returns this network with everything fixed to two terminals exchanged.
    pub fn exchanged(&self, one: TerminalId, other: TerminalId) -> Self {
        let mut network = self.clone();
        let (p, q) = (self.fixing_node(one), self.fixing_node(other));
        for element in &mut network.elements {
            if matches!(element.what, What::Link(_)) {
                element.a = swap(element.a, p, q);
                element.b = swap(element.b, p, q);
            }
        }
        network
    }

    fn fixing_node(&self, terminal: TerminalId) -> NodeId {
        self.blobs[terminal.0].unwrap_or(self.lugs[terminal.0])
    }

    fn node(&mut self) -> NodeId {
        self.nodes += 1;
        NodeId(self.nodes - 1)
    }

    fn add(&mut self, what: What, a: NodeId, b: NodeId) {
        self.elements.push(Element { what, a, b });
    }

    fn add_blobs(&mut self, harness: &Harness) {
        for index in 0..harness.terminals.len() {
            let terminal = TerminalId(index);
            if harness.has_blob(terminal) {
                let blob = self.node();
                self.blobs[index] = Some(blob);
                self.add(What::Blob(terminal), self.lugs[index], blob);
            }
        }
    }

    fn add_link(&mut self, harness: &Harness, id: LinkId) {
        let link = &harness[id];
        let (a, b) = (self.end_node(&link.from), self.end_node(&link.to));
        self.add(What::Link(id), a, b);
    }

    fn end_node(&self, end: &End) -> NodeId {
        match end.fixing {
            Fixing::Solder => self.fixing_node(end.terminal),
            Fixing::Pressure | Fixing::Own => self.lugs[end.terminal.0],
        }
    }

    fn add_part(&mut self, harness: &Harness, id: PartId) {
        let part = &harness[id];
        let lug = |index: usize| self.lugs[part.terminals[index].0];
        match &part.kind {
            PartKind::Coil { .. } => self.add(What::Coil(id), lug(0), lug(1)),
            PartKind::Capacitor { .. } => self.add(What::Capacitor(id), lug(0), lug(1)),
            PartKind::Resistor { .. } => self.add(What::Resistor(id), lug(0), lug(1)),
            PartKind::Pot { .. } => self.add_pot(id, lug(0), lug(1), lug(2)),
            PartKind::Switch { .. } => self.add_contacts(harness, id),
            PartKind::Jack => self.add_springs(harness, id),
            PartKind::Battery { .. } => self.add(What::Battery(id), lug(0), lug(1)),
            PartKind::Piezo { .. } => self.add(What::Piezo(id), lug(0), lug(1)),
            PartKind::Preamp { .. } => {
                let [input, output, plus, minus] = [lug(0), lug(1), lug(2), lug(3)];
                self.add(What::Input(id), input, minus);
                self.add(What::Output(id), output, minus);
                self.add(What::Supply(id), plus, minus);
            }
            PartKind::Plug => self.add_barrel(harness, id),
            PartKind::Surface => {}
        }
    }

    fn add_pot(&mut self, id: PartId, zero_end: NodeId, wiper: NodeId, full_end: NodeId) {
        let track = self.node();
        self.add(What::Track(id, Track::Lower), zero_end, track);
        self.add(What::Track(id, Track::Upper), track, full_end);
        self.add(What::Wiper(id), track, wiper);
    }

    fn add_contacts(&mut self, harness: &Harness, id: PartId) {
        let PartKind::Switch { positions } = &harness[id].kind else {
            return;
        };
        let mut contacts: Vec<((TerminalId, TerminalId), Vec<usize>)> = Vec::new();
        for (index, position) in positions.iter().enumerate() {
            for pair in &position.closes {
                match contacts.iter_mut().find(|(known, _)| known == pair) {
                    Some((_, closed)) => closed.push(index),
                    None => contacts.push((*pair, vec![index])),
                }
            }
        }
        for ((a, b), closed) in contacts {
            self.add(What::Contact(id, closed), self.lugs[a.0], self.lugs[b.0]);
        }
    }

    fn add_springs(&mut self, harness: &Harness, id: PartId) {
        for &terminal in &harness[id].terminals {
            let plug = format!("plug.{}", harness[terminal].lug);
            if let Some(plug) = harness.terminal(&plug) {
                self.add(What::Spring(id), self.lugs[terminal.0], self.lugs[plug.0]);
            }
        }
    }
}

impl Network {
    /// The barrel of a plug with two contacts lies on the ring spring too: its first position.
    fn add_barrel(&mut self, harness: &Harness, id: PartId) {
        let lug = |name: &str| harness.terminal(&format!("plug.{name}")).map(|t| self.lugs[t.0]);
        if let (Some(ring), Some(sleeve)) = (lug("ring"), lug("sleeve")) {
            self.add(What::Contact(id, vec![0]), ring, sleeve);
        }
    }
}

fn swap(node: NodeId, p: NodeId, q: NodeId) -> NodeId {
    if node == p {
        q
    } else if node == q {
        p
    } else {
        node
    }
}

impl Harness {
    /// Returns whether several conductors share one solder blob on this terminal.
    ///
    /// Joints on a pot case or a shield lie apart from each other; those on a lug run together.
    pub fn has_blob(&self, terminal: TerminalId) -> bool {
        !self[terminal].grounded_surface && self.soldered_ends(terminal) > 1
    }

    /// Returns the place-like name of one end's joint, such as `neck-volume.lug3/joint`, with the
    /// conductor's name behind it where several joints sit on the terminal.
    pub fn joint_name(&self, link: LinkId, end: &End) -> String {
        let (terminal, conductor) = (&self[end.terminal].name, &self[link].name);
        let alone = self.fixed_ends(end.terminal) <= 1;
        if alone { format!("{terminal}/joint") } else { format!("{terminal}/joint {conductor}") }
    }

    /// Returns whether a link is a wire, a braid or a leg that can break in its middle.
    pub fn can_break(&self, link: LinkId) -> bool {
        self[link].kind != LinkKind::Mount
    }
}
