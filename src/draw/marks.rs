//! What is marked in a picture at a moment: probes, suspects, closed covers.

use super::frame::Area;
use super::layout::Plan;
use super::shape::text_width;
use super::wire::poly;
use super::{Anchor, Ink, Point, Shape, Stroke};
use crate::circuit::{Harness, Lifted, LinkId, PartId, PlaceId, TerminalId};
use crate::units::show_percent;

/// Letters of a suspect's share.
const SHARE: f32 = 19.0;
/// Radius of a probe's sign.
const SIGN: f32 = 17.0;

/// A thing that can be marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Spot {
    /// A terminal with its joints.
    Terminal(TerminalId),
    /// A wire or braid.
    Link(LinkId),
    /// A whole part.
    Part(PartId),
}

impl Spot {
    /// Returns the terminal, link or part with this name.
    pub fn named(harness: &Harness, name: &str) -> Option<Self> {
        let link = || harness.links.iter().position(|l| l.name == name).map(|i| Self::Link(LinkId(i)));
        let terminal = harness.terminal(name).map(Self::Terminal);
        terminal.or_else(link).or_else(|| harness.part(name).map(Self::Part))
    }

    /// Returns the spots that a fault's id names: the lug of `neck-volume.lug3/joint open`, both ends of
    /// `jack.tip/short to jack.sleeve`.
    pub fn of_fault(harness: &Harness, id: &str) -> Vec<Self> {
        let (place, what) = id.split_once('/').unwrap_or((id, ""));
        let other = what.rsplit_once(" to ").map(|(_, other)| other);
        let names = std::iter::once(place).chain(other);
        names.filter_map(|name| Self::named(harness, name)).collect()
    }
}

/// What is marked in a picture at a moment.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marks {
    /// The terminal under the red probe.
    pub red: Option<TerminalId>,
    /// The terminal under the black probe.
    pub black: Option<TerminalId>,
    /// The suspects with their probabilities, 0 to 1; a spot of several shows the share of the leading one.
    pub suspects: Vec<(Spot, f64)>,
    /// The places that are still closed; what lies in them is drawn faintly.
    pub closed_places: Vec<PlaceId>,
    /// The conductor of which one end is off; a probe that it stands for is on that end.
    pub lifted: Option<Lifted>,
}

impl Marks {
    /// Returns whether a probe is on this spot: its sign stands there, and no share.
    pub(super) fn probed(&self, spot: Spot) -> bool {
        [self.red, self.black].into_iter().flatten().any(|id| spot == Spot::Terminal(id))
    }

    /// Returns the suspects with each spot once, the most probable last so that it is drawn on top.
    pub(super) fn spots(&self) -> Vec<(Spot, f64)> {
        let mut leading: std::collections::BTreeMap<Spot, f64> = std::collections::BTreeMap::new();
        for (spot, share) in &self.suspects {
            let known = leading.entry(*spot).or_insert(0.0);
            *known = known.max(*share);
        }
        let mut spots: Vec<(Spot, f64)> = leading.into_iter().collect();
        spots.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        spots
    }
}

/// Finds room for labels beside what they name.
#[derive(Debug)]
pub(super) struct Room {
    taken: Vec<Area>,
    bounds: Area,
}

impl Room {
    /// Takes note of every text and lug that is already drawn.
    pub(super) fn among(shapes: &[Shape], size: (f32, f32)) -> Self {
        let taken = shapes.iter().filter_map(occupied).collect();
        Self { taken, bounds: Area::spanned((2.0, 2.0), (size.0 - 2.0, size.1 - 2.0)) }
    }

    /// Returns the centre for a label of this size near `at`, and takes the room there.
    pub(super) fn place(&mut self, at: Point, size: (f32, f32), away: f32) -> Point {
        let mut best = (f32::MAX, at);
        for step in 0..64_u8 {
            let ring = f32::from(step / 8);
            let angle = f32::from(step % 8) * std::f32::consts::FRAC_PI_4 - 0.8;
            let (dx, dy) = (away + ring * 8.0 + size.0 / 2.0, away + ring * 8.0 + size.1 / 2.0);
            let centre = (at.0 + libm::cosf(angle) * dx, at.1 + libm::sinf(angle) * dy);
            let needle = Area::around(middle(at, centre), 10.0, 10.0);
            let cost = self.cost(Area::around(centre, size.0, size.1)) + self.cost(needle) + ring * 30.0;
            if cost < best.0 {
                best = (cost, centre);
            }
        }
        self.taken.push(Area::around(best.1, size.0, size.1));
        best.1
    }

    fn cost(&self, area: Area) -> f32 {
        let outside = area.size().0 * area.size().1 - area.shared(self.bounds);
        let covered: f32 = self.taken.iter().map(|t| t.shared(area)).sum();
        covered + outside * 10.0
    }
}

fn middle(a: Point, b: Point) -> Point {
    (f32::midpoint(a.0, b.0), f32::midpoint(a.1, b.1))
}

/// Returns the area that a label must not cover.
fn occupied(shape: &Shape) -> Option<Area> {
    match shape {
        Shape::Text { at, text, size, anchor, .. } => {
            let wide = text_width(text, *size);
            let shift = match anchor {
                Anchor::Start => wide / 2.0,
                Anchor::Middle => 0.0,
                Anchor::End => -wide / 2.0,
            };
            Some(Area::around((at.0 + shift, at.1), wide, *size))
        }
        Shape::Circle { at, radius, .. } if *radius < 10.0 => {
            Some(Area::around(*at, radius * 2.0, radius * 2.0))
        }
        _ => None,
    }
}

/// Draws the halo of a suspect; its label comes later, see [`share`].
pub(super) fn halo(plan: &Plan, spot: Spot) -> Vec<Shape> {
    let ring = Stroke::dashed(Ink::Suspect, 5.0, 8.0, 5.0);
    match spot {
        Spot::Terminal(id) => {
            vec![Shape::Circle { at: plan.terminal_point(id), radius: 19.0, stroke: Some(ring), fill: None }]
        }
        Spot::Link(id) => {
            let lines = plan.routes.get(id.0).into_iter().flat_map(super::wire::Route::lines);
            let reach = if plan.routes.get(id.0).is_some_and(|r| r.sleeve.is_some()) { 14.0 } else { 9.0 };
            lines.flat_map(|line| sides(line, reach)).collect()
        }
        Spot::Part(id) => {
            let area = plan.parts.get(id.0).map(|part| part.body.grown(7.0));
            let rect = |a: Area| Shape::Rect {
                min: a.min,
                size: a.size(),
                corner: 10.0,
                stroke: Some(ring),
                fill: None,
            };
            area.map(rect).into_iter().collect()
        }
    }
}

/// A dashed line on each side of a suspect wire.
fn sides(line: &[Point], reach: f32) -> Vec<Shape> {
    [-reach, reach].map(|by| poly(&beside(line, by), Stroke::dashed(Ink::Suspect, 3.5, 8.0, 5.0))).to_vec()
}

/// Returns a line shifted sideways.
fn beside(line: &[Point], by: f32) -> Vec<Point> {
    let normal = |i: usize| {
        let (a, b) = (line[i.saturating_sub(1)], line[(i + 1).min(line.len() - 1)]);
        let long = super::shape::distance(a, b).max(0.01);
        ((a.1 - b.1) / long * by, (b.0 - a.0) / long * by)
    };
    (0..line.len()).map(|i| (line[i].0 + normal(i).0, line[i].1 + normal(i).1)).collect()
}

/// Draws the share of a suspect as a label beside it.
pub(super) fn share(plan: &Plan, room: &mut Room, spot: Spot, share: f64) -> Vec<Shape> {
    let at = match spot {
        Spot::Terminal(id) => plan.terminal_point(id),
        Spot::Link(id) => plan.routes.get(id.0).and_then(|r| r.spots().first().copied()).unwrap_or_default(),
        Spot::Part(id) => plan.parts.get(id.0).map_or((0.0, 0.0), |part| {
            let area = part.body.grown(7.0);
            (area.max.0, area.min.1)
        }),
    };
    let words = show_percent(share);
    let size = (text_width(&words, SHARE) + 12.0, SHARE + 8.0);
    let away = if matches!(spot, Spot::Terminal(_)) { 20.0 } else { 12.0 };
    let centre = room.place(at, size, away);
    let plate = Area::around(centre, size.0, size.1);
    vec![
        Shape::Rect {
            min: plate.min,
            size,
            corner: 4.0,
            stroke: Some(Stroke::solid(Ink::Suspect, 2.0)),
            fill: Some(Ink::Paper),
        },
        Shape::Text {
            at: centre,
            text: words,
            size: SHARE,
            anchor: Anchor::Middle,
            ink: Ink::Suspect,
            bold: true,
        },
    ]
}

/// Draws the free end of what is lifted.
pub(super) fn free_end(plan: &Plan, lifted: Lifted) -> Shape {
    let (at, stroke) = (plan.free_end(lifted), Some(Stroke::solid(Ink::Label, 3.0)));
    Shape::Circle { at, radius: 6.0, stroke, fill: Some(Ink::Paper) }
}

/// Draws a probe: its needle to what it touches and its sign beside it, a disc with R or a square with B.
pub(super) fn probe(room: &mut Room, tip: Point, red: bool) -> Vec<Shape> {
    let (ink, letter) = if red { (Ink::RedProbe, "R") } else { (Ink::BlackProbe, "B") };
    let centre = room.place(tip, (SIGN * 2.0 + 4.0, SIGN * 2.0 + 4.0), 14.0);
    let rim = Some(Stroke::solid(Ink::ProbeLabel, 2.0));
    let sign = if red {
        Shape::Circle { at: centre, radius: SIGN, stroke: rim, fill: Some(ink) }
    } else {
        let area = Area::around(centre, SIGN * 2.0, SIGN * 2.0);
        Shape::Rect { min: area.min, size: area.size(), corner: 2.0, stroke: rim, fill: Some(ink) }
    };
    vec![
        Shape::Line { from: centre, to: tip, stroke: Stroke::solid(Ink::ProbeLabel, 7.0) },
        Shape::Line { from: centre, to: tip, stroke: Stroke::solid(ink, 4.0) },
        Shape::Circle { at: tip, radius: 9.0, stroke: Some(Stroke::solid(ink, 4.0)), fill: None },
        sign,
        Shape::Text {
            at: centre,
            text: letter.to_owned(),
            size: 22.0,
            anchor: Anchor::Middle,
            ink: Ink::ProbeLabel,
            bold: true,
        },
    ]
}
