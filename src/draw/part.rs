//! How each part looks from behind, and where its terminals lie.

use super::bodies::{battery, plug, surface, two_legs};
use super::frame::{Area, Facing, GRID, round_up};
use super::shape::text_width;
use super::{Anchor, Ink, Point, Shape, Stroke};
use crate::circuit::{Harness, Part, PartKind, PotRole, TerminalId};

/// Letters of a part's own name.
pub(super) const TITLE: f32 = 19.0;
/// Letters of a lug's name.
pub(super) const SMALL: f32 = 16.0;
/// Distance between two lines of a name.
pub(super) const LINE: f32 = 21.0;
/// How far a lug stands out of its strip.
const LUG: f32 = 20.0;

/// A terminal of a part: where it lies and which way a wire leaves it.
#[derive(Clone, Debug)]
pub(super) struct Lug {
    pub(super) terminal: TerminalId,
    pub(super) at: Point,
    pub(super) out: Point,
}

/// One part, drawn around the origin.
#[derive(Clone, Debug)]
pub(super) struct Sketch {
    /// Its terminals.
    pub(super) lugs: Vec<Lug>,
    /// What wires should not run across.
    pub(super) body: Area,
    /// Its name where that stands beside it; wires should not run across that either.
    pub(super) caption: Option<Area>,
    /// Everything, lugs and names included.
    pub(super) area: Area,
    /// What lies under the wires.
    pub(super) under: Vec<Shape>,
    /// What lies over the wires.
    pub(super) over: Vec<Shape>,
}

/// The shape of the part behind its strip of lugs.
enum Core {
    Round { radius: f32, hole: f32 },
    Block { along: f32, out: f32 },
}

impl Core {
    fn reach(&self) -> Point {
        match self {
            Self::Round { radius, .. } => (*radius, *radius),
            Self::Block { along, out } => (*along, *out),
        }
    }
}

/// Returns a block at least so long and deep, and wide enough for its name.
fn block_for(face: Facing, title: &str, along: f32, out: f32) -> Core {
    let word = title.split_whitespace().map(|w| text_width(w, TITLE)).fold(0.0, f32::max);
    let need = round_up(word / 2.0 + 8.0, GRID);
    if face.upright() {
        Core::Block { along: along.max(need), out }
    } else {
        Core::Block { along, out: out.max(need) }
    }
}

pub(super) type Named = Vec<(TerminalId, String)>;

/// Draws one part around the origin.
pub(super) fn sketch(harness: &Harness, part: &Part) -> Sketch {
    let face = facing(harness, part);
    let (lugs, extra) = named(harness, part);
    let core = match &part.kind {
        PartKind::Pot { .. } => Core::Round { radius: 70.0, hole: 0.0 },
        PartKind::Jack => Core::Round { radius: 50.0, hole: 38.0 },
        PartKind::Coil { .. } => block_for(face, &part.title, 100.0, 30.0),
        _ => block_for(face, &part.title, 60.0, 40.0),
    };
    match &part.kind {
        PartKind::Capacitor { .. } | PartKind::Resistor { .. } | PartKind::Piezo { .. } => {
            two_legs(face, part, lugs)
        }
        PartKind::Battery { .. } => battery(face, &part.title, lugs),
        PartKind::Plug => plug(face, &part.title, lugs),
        PartKind::Surface => surface(face, &part.title, lugs),
        _ => row(face, &core, &part.title, lugs, extra),
    }
}

/// Returns which way a part faces; a plug always points at its jack.
fn facing(harness: &Harness, part: &Part) -> Facing {
    let jack = harness.parts.iter().find(|p| p.kind == PartKind::Jack);
    match jack.filter(|_| part.kind == PartKind::Plug) {
        Some(jack) => Facing::towards((jack.at.0 - part.at.0, jack.at.1 - part.at.1)),
        None => Facing::turned(part.turn),
    }
}

/// Splits a part's terminals into the row of lugs and those elsewhere on its body, with their names.
fn named(harness: &Harness, part: &Part) -> (Named, Named) {
    let name = |id: &TerminalId| {
        let (lug, title) = harness.terminals.get(id.0).map_or(("", ""), |t| (&t.lug, &t.title));
        (*id, numbered(&part.kind, lug, lug_name(&part.kind, lug, title)))
    };
    let mut all: Named = part.terminals.iter().map(name).collect();
    if matches!(part.kind, PartKind::Pot { .. }) {
        // From behind with the lugs down, lug 3 is on the left.
        all.get_mut(..3).map(<[_]>::reverse);
    }
    all.into_iter().partition(|(_, lug)| lug != "case" && lug != "frame")
}

/// Puts the number of a pot's lug before its name: steps and faults name lugs by their numbers.
fn numbered(kind: &PartKind, lug: &str, name: String) -> String {
    match lug.strip_prefix("lug").filter(|_| matches!(kind, PartKind::Pot { .. }) && lug != name) {
        Some(number) => format!("{number} {name}"),
        None => name,
    }
}

/// Returns the short name of a lug: its function as its title begins with, or else by the kind of part.
fn lug_name(kind: &PartKind, lug: &str, title: &str) -> String {
    let function = title.split(" lug").next().filter(|_| matches!(kind, PartKind::Pot { .. }));
    if let Some(function) = function.filter(|f| lug != "case" && (1..=9).contains(&f.chars().count())) {
        return function.to_owned();
    }
    let word = match (kind, lug) {
        (PartKind::Pot { role: PotRole::Volume, .. }, "lug1") => "ground",
        (PartKind::Pot { role: PotRole::Volume, .. }, "lug2") => "output",
        (PartKind::Pot { role: PotRole::Volume, .. }, "lug3") => "input",
        (PartKind::Pot { .. }, "lug1") => "zero end",
        (PartKind::Pot { .. }, "lug2") => "wiper",
        (PartKind::Pot { .. }, "lug3") => "full end",
        (_, other) => other,
    };
    word.to_owned()
}

/// A part with its lugs in a row, or in two rows when they are many.
fn row(face: Facing, core: &Core, title: &str, lugs: Named, extra: Named) -> Sketch {
    let count = if lugs.len() > 6 { lugs.len().div_ceil(2) } else { lugs.len() };
    let strip = Strip::for_names(face, &lugs, count);
    let (along, out) = core.reach();
    let half = along.max(strip.half);
    let mut sketch = core_sketch(face, core, half, title, !extra.is_empty());
    let both = lugs.len() > count;
    for (index, (terminal, name)) in lugs.into_iter().enumerate() {
        let side = if index < count { 1.0 } else { -1.0 };
        strip.lug(&mut sketch, face, (index % count, side * out), terminal, &name);
    }
    add_strip(&mut sketch, face, &strip, out, both);
    for (index, (terminal, _)) in extra.into_iter().enumerate() {
        let step = index as f32 * 2.0 * GRID;
        let spot = if both { (half, step) } else { (step, -out) };
        body_spot(&mut sketch, face, spot, terminal);
    }
    sketch
}

/// The strip that carries a row of lugs with their names.
struct Strip {
    pitch: f32,
    thick: f32,
    half: f32,
    count: usize,
}

impl Strip {
    fn for_names(face: Facing, lugs: &Named, count: usize) -> Self {
        let name =
            |name: &str| text_width(name.trim_start_matches(|c: char| c.is_ascii_digit() || c == ' '), SMALL);
        let widest = lugs.iter().map(|(_, lug)| name(lug)).fold(0.0, f32::max);
        let step = if count.is_multiple_of(2) { 2.0 * GRID } else { GRID };
        let (across, deep) = if face.upright() { (widest + 14.0, 26.0) } else { (30.0, widest + 10.0) };
        let pitch = round_up(across, step);
        Self { pitch, thick: round_up(deep, GRID), half: pitch * count as f32 / 2.0, count }
    }

    /// Adds one lug with its name; `slot` is its index and the signed edge of the core.
    fn lug(&self, sketch: &mut Sketch, face: Facing, slot: (usize, f32), terminal: TerminalId, name: &str) {
        let (index, edge) = slot;
        let side = edge.signum();
        let along = (index as f32 - (self.count as f32 - 1.0) / 2.0) * self.pitch;
        let root = edge + side * self.thick;
        let tip = face.at(along, root + side * LUG);
        sketch.lugs.push(Lug { terminal, at: tip, out: face.at(0.0, side) });
        let stem = Shape::Line { from: face.at(along, root), to: tip, stroke: Stroke::solid(Ink::Lug, 9.0) };
        sketch.under.push(stem);
        sketch.over.push(dot(tip, 6.0));
        sketch.over.push(text(face.at(along, edge + side * self.thick / 2.0), name, SMALL, false));
        sketch.area = sketch.area.union(Area::around(tip, 14.0, 14.0));
    }
}

fn add_strip(sketch: &mut Sketch, face: Facing, strip: &Strip, out: f32, both: bool) {
    let sides: &[f32] = if both { &[1.0, -1.0] } else { &[1.0] };
    for side in sides {
        let area = face.area((-strip.half, side * out), (strip.half, side * (out + strip.thick)));
        sketch.under.push(block(area, 3.0, Ink::StripFill, Some(Stroke::solid(Ink::Part, 1.2))));
        sketch.body = sketch.body.union(area);
        sketch.area = sketch.area.union(area);
    }
}

fn core_sketch(face: Facing, core: &Core, half: f32, title: &str, pushed: bool) -> Sketch {
    let outline = Some(Stroke::solid(Ink::Part, 2.0));
    let (area, under, width) = match core {
        Core::Round { radius, hole } => {
            let area = Area::around((0.0, 0.0), radius * 2.0, radius * 2.0);
            let mut shapes = vec![circle((0.0, 0.0), *radius, Ink::PartFill, outline)];
            if *hole > 0.0 {
                shapes.push(circle((0.0, 0.0), *hole, Ink::Paper, outline));
            }
            (area, shapes, radius * 1.7)
        }
        Core::Block { out, .. } => {
            let area = face.area((-half, -out), (half, *out));
            (area, vec![block(area, 8.0, Ink::PartFill, outline)], area.size().0 - 10.0)
        }
    };
    let shift = if pushed { face.at(0.0, 6.0) } else { (0.0, 0.0) };
    let over = paragraph(shift, title, width);
    Sketch { lugs: Vec::new(), body: area, caption: None, area, under, over }
}

/// A spot on the body itself, such as a pot's case: wires may leave it any way.
pub(super) fn body_spot(sketch: &mut Sketch, face: Facing, spot: Point, terminal: TerminalId) {
    let at = face.at(spot.0, spot.1);
    sketch.lugs.push(Lug { terminal, at, out: (0.0, 0.0) });
    sketch.over.push(dot(at, 8.0));
    sketch.area = sketch.area.union(Area::around(at, 18.0, 18.0));
}

/// Adds lines of text below a part, on a plate of paper.
pub(super) fn caption(sketch: &mut Sketch, top: Point, lines: &[String]) {
    let wide = lines.iter().map(|l| text_width(l, TITLE)).fold(0.0, f32::max);
    let high = lines.len() as f32 * LINE;
    let area = Area::around((top.0, top.1 + high / 2.0), wide + 6.0, high);
    sketch.under.push(block(area, 3.0, Ink::Paper, None));
    sketch.over.extend(centred(area.centre(), lines));
    sketch.caption = Some(area);
    sketch.area = sketch.area.union(area);
}

fn paragraph(at: Point, words: &str, width: f32) -> Vec<Shape> {
    centred(at, &wrap(words, width))
}

pub(super) fn centred(at: Point, lines: &[String]) -> Vec<Shape> {
    let top = at.1 - (lines.len() as f32 - 1.0) * LINE / 2.0;
    let line = |(i, l): (usize, &String)| text((at.0, top + i as f32 * LINE), l, TITLE, true);
    lines.iter().enumerate().map(line).collect()
}

/// Breaks words into lines no wider than `width`; a longer word gets a line of its own.
pub(super) fn wrap(words: &str, width: f32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if text_width(line, TITLE) + text_width(word, TITLE) + 8.0 <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

pub(super) fn text(at: Point, words: &str, size: f32, bold: bool) -> Shape {
    Shape::Text { at, text: words.to_owned(), size, anchor: Anchor::Middle, ink: Ink::Label, bold }
}

pub(super) fn dot(at: Point, radius: f32) -> Shape {
    circle(at, radius, Ink::Lug, Some(Stroke::solid(Ink::Part, 1.2)))
}

pub(super) fn circle(at: Point, radius: f32, fill: Ink, stroke: Option<Stroke>) -> Shape {
    Shape::Circle { at, radius, stroke, fill: Some(fill) }
}

pub(super) fn block(area: Area, corner: f32, fill: Ink, stroke: Option<Stroke>) -> Shape {
    Shape::Rect { min: area.min, size: area.size(), corner, stroke, fill: Some(fill) }
}

impl Shape {
    pub(super) fn hollow(mut self) -> Self {
        if let Self::Rect { fill, .. } | Self::Circle { fill, .. } = &mut self {
            *fill = None;
        }
        self
    }
}
