//! Puts parts, wires and marks together.

use super::frame::Area;
use super::layout::Plan;
use super::marks::{Room, free_end, halo, probe, share};
use super::shape::text_width;
use super::wire::{Route, drawing_order, inks, wire};
use super::{Anchor, Hit, Ink, Marks, Picture, Point, Shape, Spot, Stroke};
use crate::circuit::{Harness, Lifted, LinkId, Part, PartId, PartKind, PlaceId, TerminalId};
use crate::units::show_percent;

/// Height of the line below the picture that explains its signs.
const LEGEND: f32 = 44.0;
/// Letters of that line.
const SMALL: f32 = 16.0;

/// Draws the wiring of a harness as the technician sees it from behind, with the marks of the moment.
pub fn picture(harness: &Harness, marks: &Marks) -> Picture {
    Plan::new(harness).picture(harness, marks)
}

/// Draws the wiring as [`picture`] does, with nothing marked and without the lines that explain the signs: for a size at
/// which nobody could read them.
pub fn small_picture(harness: &Harness) -> Picture {
    Plan::new(harness).unexplained(harness, &Marks::default())
}

impl Plan {
    /// Draws the wiring with the marks of the moment; `harness` is the one the plan was made for.
    pub fn picture(&self, harness: &Harness, marks: &Marks) -> Picture {
        let mut picture = self.unexplained(harness, marks);
        let (legend, (wide, height)) = legend(harness, marks, self);
        picture.shapes.extend(legend);
        picture.size = (self.size.0.max(wide), self.size.1 + height);
        picture
    }

    /// Draws the wiring with the marks of the moment, without the lines that explain the signs.
    fn unexplained(&self, harness: &Harness, marks: &Marks) -> Picture {
        let mut shapes = self.wiring(harness, marks);
        shapes.extend(marks.lifted.map(|lifted| free_end(self, lifted)));
        let mut room = Room::among(&shapes, self.size);
        let spots = marks.spots();
        shapes.extend(spots.iter().flat_map(|(spot, _)| halo(self, *spot)));
        for (terminal, red) in [(marks.black, false), (marks.red, true)] {
            let tip = terminal.map(|id| self.touched(id, marks.lifted));
            shapes.extend(tip.into_iter().flat_map(|tip| probe(&mut room, tip, red)));
        }
        let told = spots.iter().rev().filter(|(spot, _)| !marks.probed(*spot));
        shapes.extend(told.flat_map(|(spot, p)| share(self, &mut room, *spot, *p)));
        Picture {
            title: format!("wiring of {}, {}", harness.title, self.sight.says()),
            about: about(harness, marks),
            size: self.size,
            shapes,
            hits: self.hits(harness),
        }
    }

    pub(super) fn wiring(&self, harness: &Harness, marks: &Marks) -> Vec<Shape> {
        let closed = |place: PlaceId| marks.closed_places.contains(&place);
        let faint = |shapes: Vec<Shape>, place| -> Vec<Shape> {
            if closed(place) { shapes.into_iter().map(Shape::dimmed).collect() } else { shapes }
        };
        let parts = || self.parts.iter().zip(&harness.parts);
        let mut shapes: Vec<Shape> =
            parts().flat_map(|(s, part)| faint(s.under.clone(), part.place)).collect();
        let inks = inks(harness);
        for id in drawing_order(harness) {
            shapes.extend(faint(wire(&self.route(id, marks.lifted), inks[id.0]), harness[id].place));
        }
        shapes.extend(parts().flat_map(|(s, part)| faint(s.over.clone(), part.place)));
        shapes
    }

    fn hits(&self, harness: &Harness) -> Vec<Hit> {
        let lugs = self.parts.iter().flat_map(|part| &part.lugs);
        let pots = self.pot_help(harness).unwrap_or_default();
        let terminals = lugs.map(|lug| terminal_hit(harness, lug.terminal, lug.at, pots));
        let links = self.routes.iter().enumerate().flat_map(|(id, route)| {
            let hit = move |at| link_hit(harness, LinkId(id), at);
            route.spots().into_iter().map(hit)
        });
        let parts = self.parts.iter().enumerate().take(harness.parts.len());
        let bodies = parts.map(|(id, sketch)| part_hit(harness, PartId(id), sketch.body, pots));
        terminals.chain(links).chain(bodies).collect()
    }
}

/// Returns the spot of a terminal; `pots` helps to find one of a pot.
fn terminal_hit(harness: &Harness, terminal: TerminalId, at: Point, pots: &'static str) -> Hit {
    let found = &harness[terminal];
    Hit {
        at,
        radius: 16.0,
        half: None,
        terminal: Some(terminal),
        link: None,
        part: None,
        name: found.name.clone(),
        label: found.title.clone(),
        place: String::new(),
        help: help(&harness[found.part], pots),
        probe: found.probe,
    }
}

/// Returns what helps to find something of a part; nothing unless it is a pot.
fn help(part: &Part, pots: &'static str) -> &'static str {
    if matches!(part.kind, PartKind::Pot { .. }) { pots } else { "" }
}

fn link_hit(harness: &Harness, id: LinkId, at: Point) -> Hit {
    let link = &harness[id];
    let [from, to] = [link.from, link.to].map(|end| harness[end.terminal].title.as_str());
    Hit {
        at,
        radius: 25.0,
        half: None,
        terminal: None,
        link: Some(id),
        part: None,
        name: link.name.clone(),
        label: format!("{}: from {from} to {to}", link.title),
        place: String::new(),
        help: "",
        probe: false,
    }
}

fn part_hit(harness: &Harness, id: PartId, body: Area, pots: &'static str) -> Hit {
    let part = &harness[id];
    let (wide, high) = body.size();
    Hit {
        at: body.centre(),
        radius: wide.max(high) / 2.0,
        half: Some((wide / 2.0, high / 2.0)),
        terminal: None,
        link: None,
        part: Some(id),
        name: part.name.clone(),
        label: part.title.clone(),
        place: harness[part.place].name.clone(),
        help: help(part, pots),
        probe: false,
    }
}

/// Says in words what the marks show.
fn about(harness: &Harness, marks: &Marks) -> String {
    let title = |id: TerminalId| harness.terminals.get(id.0).map_or("", |t| t.title.as_str());
    let mut parts = vec![harness.about.clone()];
    let touched = |id: TerminalId| harness.touched(id, marks.lifted);
    let lifted = |l: Lifted| format!("Lifted off the {}: {}.", title(l.off), harness[l.link].title);
    parts.extend(marks.lifted.map(lifted));
    parts.extend(marks.red.map(|id| format!("Red probe: {}.", touched(id))));
    parts.extend(marks.black.map(|id| format!("Black probe: {}.", touched(id))));
    for (spot, probability) in marks.spots().into_iter().rev() {
        let name = match spot {
            Spot::Terminal(id) => title(id),
            Spot::Link(id) => harness.links.get(id.0).map_or("", |l| l.title.as_str()),
            Spot::Part(id) => harness.parts.get(id.0).map_or("", |p| p.title.as_str()),
        };
        parts.push(format!("Suspect, {}: {name}.", show_percent(probability)));
    }
    parts.retain(|part| !part.is_empty());
    parts.join(" ")
}

/// One entry of the legend: its sample drawn around the origin, and its words.
type Entry = (Vec<Shape>, &'static str);

/// Draws the lines that explain the signs in use; returns them with the width that the longest needs, and their height.
fn legend(harness: &Harness, marks: &Marks, plan: &Plan) -> (Vec<Shape>, Point) {
    let size = plan.size;
    let (mut x, mut y) = (30.0, size.1);
    let mut widest: f32 = 0.0;
    let mut shapes = Vec::new();
    for (sample, words) in entries(harness, marks, plan) {
        let indent = if sample.is_empty() { 0.0 } else { 44.0 };
        let wide = indent + text_width(words, SMALL) + 26.0;
        if x + wide > size.0 && x > 30.0 {
            (x, y) = (30.0, y + 24.0);
        }
        shapes.extend(sample.into_iter().map(|s| s.moved((x + 18.0, y))));
        let (text, at) = (words.to_owned(), (x + indent, y));
        shapes.push(Shape::Text {
            at,
            text,
            size: SMALL,
            anchor: Anchor::Start,
            ink: Ink::Label,
            bold: false,
        });
        widest = widest.max(30.0 + wide);
        x += wide;
    }
    (shapes, (widest, y - size.1 + LEGEND / 2.0))
}

fn entries(harness: &Harness, marks: &Marks, plan: &Plan) -> Vec<Entry> {
    let inks = inks(harness);
    let line = |ink| wire(&straight(false), ink);
    let ring = Stroke::dashed(Ink::Suspect, 5.0, 8.0, 5.0);
    let all: [(bool, Entry); 7] = [
        (inks.contains(&Ink::HotWire), (line(Ink::HotWire), "signal wire")),
        (inks.contains(&Ink::GroundWire), (line(Ink::GroundWire), "ground wire")),
        (inks.contains(&Ink::Wire), (line(Ink::Wire), "battery wire")),
        (inks.contains(&Ink::Lug), (line(Ink::Lug), "leg of a part")),
        (inks.contains(&Ink::Braid), (wire(&straight(true), Ink::Braid), "braid around its core")),
        (
            !marks.suspects.is_empty(),
            (
                vec![Shape::Circle { at: (0.0, 0.0), radius: 9.0, stroke: Some(ring), fill: None }],
                "suspect, with its chance",
            ),
        ),
        (
            !marks.closed_places.is_empty(),
            (line(Ink::HotWire).into_iter().map(Shape::dimmed).collect(), "faint: behind a closed cover"),
        ),
    ];
    let mut entries: Vec<Entry> = all.into_iter().filter(|(used, _)| *used).map(|(_, entry)| entry).collect();
    let mut whole = vec![(Vec::new(), plan.sight.drawn())];
    whole.extend(plan.pot_help(harness).map(|words| (Vec::new(), words)));
    whole.append(&mut entries);
    whole
}

/// How a pot is to be held so that its lugs lie as they are told.
const RIGHT: &str = "pots, lugs down: 1 right, 2 (wiper) middle, 3 left";
const LEFT: &str = "pots, lugs down: 1 left, 2 (wiper) middle, 3 right";

impl Plan {
    /// Returns where the numbered lugs of a pot lie when it is held with the lugs down, as this plan draws them; `None`
    /// in a wiring without pots.
    fn pot_help(&self, harness: &Harness) -> Option<&'static str> {
        let numbered = |part: &&Part| matches!(part.kind, PartKind::Pot { .. }) && part.terminals.len() >= 3;
        let pot = harness.parts.iter().find(numbered)?;
        self.lug_help(pot.terminals[0], pot.terminals[2])
    }

    /// Returns where lugs 1 and 3 of a pot lie when it is held with the lugs down, as this plan draws them.
    fn lug_help(&self, first: TerminalId, third: TerminalId) -> Option<&'static str> {
        let lug = |id: TerminalId| {
            self.parts.iter().flat_map(|part| &part.lugs).find(move |lug| lug.terminal == id)
        };
        let (first, third) = (lug(first)?, lug(third)?);
        // With the way out turned down, (0, 1), its right is (1, 0).
        let right = (first.out.1, -first.out.0);
        let (dx, dy) = (first.at.0 - third.at.0, first.at.1 - third.at.1);
        Some(if dx * right.0 + dy * right.1 > 0.0 { RIGHT } else { LEFT })
    }
}

fn straight(braided: bool) -> Route {
    let line = vec![(-18.0, 0.0), (18.0, 0.0)];
    Route { sleeve: braided.then(|| (line.clone(), line.clone())), line }
}
