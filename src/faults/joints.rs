//! Faults of joints, conductors and of things that touch.

use super::catalogue::{Draft, decades, only};
use super::{Family, Kind, Repair};
use crate::circuit::{
    Change, ElementId, End, Fixing, Harness, Link, LinkId, LinkKind, Near, Network, PartKind, TerminalId,
    What,
};

const HIGH_OHMS: [f64; 4] = [30.0, 300.0, 3e3, 3e4];
const LEAK_OHMS: [f64; 3] = [300.0, 3e3, 3e4];
const TOUCH_OHMS: f64 = 0.1;

pub(super) fn drafts(harness: &Harness, network: &Network) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for index in 0..harness.terminals.len() {
        drafts.extend(blob(harness, network, TerminalId(index)));
    }
    for index in 0..harness.links.len() {
        drafts.extend(link(harness, network, LinkId(index)));
    }
    for near in &harness.near {
        drafts.extend(touching(harness, network, near));
    }
    drafts
}

/// What a joint is called, where it sits and which element it is part of.
struct Joint {
    name: String,
    title: String,
    terminal: TerminalId,
    links: Vec<LinkId>,
    element: ElementId,
    pressed: bool,
}

fn blob(harness: &Harness, network: &Network, terminal: TerminalId) -> Vec<Draft> {
    let Some(element) = network.find(&What::Blob(terminal)) else {
        return Vec::new();
    };
    let joint = Joint {
        name: format!("{}/joint", harness[terminal].name),
        title: format!("solder that holds everything on the {}", harness[terminal].title),
        terminal,
        links: Vec::new(),
        element,
        pressed: false,
    };
    joint_drafts(harness, &joint)
}

fn link(harness: &Harness, network: &Network, id: LinkId) -> Vec<Draft> {
    let Some(element) = network.find(&What::Link(id)) else {
        return Vec::new();
    };
    let link = &harness[id];
    let mut drafts = Vec::new();
    for end in [&link.from, &link.to] {
        if end.fixing != Fixing::Own {
            drafts.extend(joint_drafts(harness, &end_joint(harness, id, end, element)));
        }
    }
    if harness.can_break(id) {
        drafts.extend(broken(harness, id, link, element));
    }
    drafts
}

fn end_joint(harness: &Harness, id: LinkId, end: &End, element: ElementId) -> Joint {
    let pressed = end.fixing == Fixing::Pressure;
    let what = if pressed { "pressure contact" } else { "joint" };
    Joint {
        name: harness.joint_name(id, end),
        title: format!("{what} of the {} at the {}", harness[id].title, harness[end.terminal].title),
        terminal: end.terminal,
        links: vec![id],
        element,
        pressed,
    }
}

/// The three families a joint belongs to: open, high resistance, coming and going.
fn joint_families(harness: &Harness, joint: &Joint) -> [Family; 3] {
    let at = |terminal: TerminalId| &harness[harness[terminal].part].kind;
    let outside = |terminal: TerminalId| harness[harness[terminal].place].outside;
    let ends = joint.links.iter().flat_map(|&id| [harness[id].from.terminal, harness[id].to.terminal]);
    let touches_strings =
        ends.clone().any(|terminal| matches!(at(terminal), PartKind::Surface) && outside(terminal));
    let shield = ends.clone().any(|terminal| matches!(at(terminal), PartKind::Surface));
    if matches!(at(joint.terminal), PartKind::Jack) {
        [Family::JackJointOpen, Family::JackJointHigh, Family::JackJointIntermittent]
    } else if touches_strings {
        [Family::StringGroundOpen, Family::StringGroundPoor, Family::StringGroundPoor]
    } else if shield {
        [Family::ShieldGround; 3]
    } else {
        [Family::JointOpen, Family::JointHigh, Family::JointIntermittent]
    }
}

fn joint_drafts(harness: &Harness, joint: &Joint) -> Vec<Draft> {
    let [open, high, intermittent] = joint_families(harness, joint);
    let work = if joint.pressed { "Clean and tighten" } else { "Re-solder" };
    let repair = Repair {
        key: joint.name.clone(),
        text: format!("{work} the {}", joint.title),
        minutes: if joint.pressed { 20 } else { 15 },
    };
    let draft = |suffix: &str, kind, family, saying: &str, variants| Draft {
        id: format!("{} {suffix}", joint.name),
        kind,
        family,
        weight: 1.0,
        sentence: format!("The {} {saying}", joint.title),
        repair: repair.clone(),
        place: harness[joint.terminal].place,
        terminals: vec![joint.terminal],
        links: joint.links.clone(),
        variants,
    };
    let element = joint.element;
    vec![
        draft("open", Kind::JointOpen, open, "is open", only(Change::Open(element))),
        draft(
            "high resistance",
            Kind::JointHigh,
            high,
            "has gained resistance",
            decades(&HIGH_OHMS, |r| Change::Series(element, r)),
        ),
        draft(
            "intermittent",
            Kind::JointIntermittent,
            intermittent,
            "comes and goes",
            only(Change::Open(element)),
        ),
    ]
}

fn broken(harness: &Harness, id: LinkId, link: &Link, element: ElementId) -> Vec<Draft> {
    let noun = match link.kind {
        LinkKind::Wire | LinkKind::Mount => "wire",
        LinkKind::Braid => "braid",
        LinkKind::Leg => "leg",
        LinkKind::Lug => "lug",
    };
    let repair = Repair {
        key: format!("{}/{noun}", link.name),
        text: format!("Replace the {}", link.title),
        minutes: 20,
    };
    let draft = |suffix: &str, kind, family, saying: &str| Draft {
        id: format!("{}/{noun} {suffix}", link.name),
        kind,
        family,
        weight: if matches!(link.kind, LinkKind::Leg | LinkKind::Lug) { 0.3 } else { 1.0 },
        sentence: format!("The {} {saying} between its ends", link.title),
        repair: repair.clone(),
        place: harness[id].place,
        terminals: vec![link.from.terminal, link.to.terminal],
        links: vec![id],
        variants: only(Change::Open(element)),
    };
    let mut drafts = vec![draft("broken", Kind::WireBroken, Family::WireBroken, "is broken")];
    if matches!(link.kind, LinkKind::Wire | LinkKind::Braid) {
        drafts.push(draft(
            "intermittent",
            Kind::WireIntermittent,
            Family::WireIntermittent,
            "comes and goes",
        ));
    }
    drafts
}

fn touching(harness: &Harness, network: &Network, near: &Near) -> Vec<Draft> {
    let (a, b) = (&harness[near.a], &harness[near.b]);
    let (p, q) = (network.lug(near.a), network.lug(near.b));
    let at_jack = [a, b].iter().any(|t| matches!(harness[t.part].kind, PartKind::Jack));
    let family = if at_jack { Family::JackShort } else { Family::Short };
    let repair = Repair {
        key: format!("{}/clear {}", a.name, b.name),
        text: format!("Clear what touches between the {} and the {}, and insulate it", a.title, b.title),
        minutes: 12,
    };
    let draft = |id: String, kind, family, saying: &str, variants| Draft {
        id,
        kind,
        family,
        weight: near.weight,
        sentence: format!("The {} {saying} the {}: {}", a.title, b.title, near.how),
        repair: repair.clone(),
        place: a.place.max(b.place),
        terminals: vec![near.a, near.b],
        links: Vec::new(),
        variants,
    };
    let bridge = |ohms: f64| Change::Bridge(p, q, ohms);
    let mut drafts = vec![
        draft(
            format!("{}/short to {}", a.name, b.name),
            Kind::Short,
            family,
            "touches",
            only(bridge(TOUCH_OHMS)),
        ),
        draft(
            format!("{}/intermittent short to {}", a.name, b.name),
            Kind::ShortIntermittent,
            Family::ShortIntermittent,
            "now and then touches",
            only(bridge(TOUCH_OHMS)),
        ),
    ];
    if [a, b].iter().any(|t| matches!(harness[t.part].kind, PartKind::Surface)) {
        drafts.push(draft(
            format!("{}/leak to {}", a.name, b.name),
            Kind::Leak,
            Family::Leak,
            "leaks to",
            decades(&LEAK_OHMS, bridge),
        ));
    }
    drafts
}
