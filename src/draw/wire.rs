//! The wires of a harness: where they run and how they look.

use super::part::{Lug, Sketch};
use super::route::{Field, Stop};
use super::shape::distance;
use super::{Ink, Point, Shape, Stroke};
use crate::circuit::{End, Harness, Link, LinkId, LinkKind, PartKind, TerminalId};

/// How wide a bend is.
const BEND: f32 = 9.0;
/// How far a braid's sleeve ends before the ends of its core.
const BARE: f32 = 34.0;
/// How far a lifted end is drawn back from its terminal, and how far it is then bent aside.
const BACK: f32 = 40.0;
const ASIDE: f32 = 18.0;

/// Where a link runs.
#[derive(Clone, Debug, Default)]
pub(super) struct Route {
    /// Its own line, bends rounded; for a braid the pigtail at its first end.
    pub(super) line: Vec<Point>,
    /// For a braid: its sleeve and the pigtail at its second end.
    pub(super) sleeve: Option<(Vec<Point>, Vec<Point>)>,
}

impl Route {
    /// Returns points along the link, evenly spaced, for pointing at it; the middle comes first.
    pub(super) fn spots(&self) -> Vec<Point> {
        let line = self.sleeve.as_ref().map_or(&self.line, |(sleeve, _)| sleeve);
        let long = length(line);
        let count = ((long / 50.0) as usize).max(1);
        let shift = if self.sleeve.is_some() { 0.25 } else { 0.0 };
        let mut shares: Vec<f32> = (0..count).map(|i| (i as f32 + 0.5) / count as f32 + shift).collect();
        shares.retain(|share| *share < 1.0);
        shares.sort_by(|a, b| (a - 0.5 - shift).abs().total_cmp(&(b - 0.5 - shift).abs()));
        shares.into_iter().map(|share| along(line, share * long)).collect()
    }

    /// Returns where its first or second (`true`) end is.
    pub(super) fn end(&self, second: bool) -> Point {
        let tail = self.sleeve.as_ref().map_or(&self.line, |(_, tail)| tail);
        let end = if second { tail.last() } else { self.line.first() };
        end.copied().unwrap_or_default()
    }

    /// Returns this with its first or second (`true`) end drawn back from its terminal and bent aside.
    pub(super) fn drawn_back(mut self, second: bool) -> Self {
        let line = match &mut self.sleeve {
            Some((_, tail)) if second => tail,
            _ => &mut self.line,
        };
        if second {
            *line = shortened(line);
        } else {
            line.reverse();
            *line = shortened(line);
            line.reverse();
        }
        self
    }

    /// Returns every line that belongs to the link.
    pub(super) fn lines(&self) -> impl Iterator<Item = &Vec<Point>> {
        let more = self.sleeve.iter().flat_map(|(sleeve, tail)| [sleeve, tail]);
        std::iter::once(&self.line).chain(more)
    }
}

/// Routes every link of a harness, in the order of the file; braids follow their cores.
pub(super) fn routes(harness: &Harness, parts: &[Sketch], size: (f32, f32)) -> Vec<Route> {
    let lugs: Vec<&Lug> = parts.iter().flat_map(|part| &part.lugs).collect();
    let mut field = Field::new(size);
    let solid = |part: &Sketch| std::iter::once(part.body).chain(part.caption);
    parts.iter().flat_map(solid).for_each(|area| field.block(area));
    lugs.iter().for_each(|lug| field.guard(lug.at, lug.out));
    let mut routes = vec![Route::default(); harness.links.len()];
    for id in short_first(harness, &lugs) {
        let link = &harness.links[id];
        if let Some((from, to)) = ends(&lugs, link).filter(|_| link.around.is_none()) {
            routes[id].line = rounded(&lay(&mut field, harness, id, from, to));
        }
    }
    for id in 0..harness.links.len() {
        let link = &harness.links[id];
        let core = link.around.and_then(|core| routes.get(core.0)).map(|core| core.line.clone());
        if let Some((core, (from, to))) = core.zip(ends(&lugs, link)) {
            routes[id] = braid(&mut field, &core, from, to);
        }
    }
    routes
}

/// Returns the links in the order to lay them: braided leads first, then the shortest, which have the least room.
fn short_first(harness: &Harness, lugs: &[&Lug]) -> Vec<usize> {
    let span = |id: &usize| {
        let ends = ends(lugs, &harness.links[*id]);
        ends.map_or(0.0, |(a, b)| distance(a.at, b.at))
    };
    let mut order: Vec<usize> = (0..harness.links.len()).collect();
    let thin = |id: &usize| !braided_over(harness, *id);
    order.sort_by(|a, b| thin(a).cmp(&thin(b)).then(span(a).total_cmp(&span(b))).then(a.cmp(b)));
    order
}

fn ends<'a>(lugs: &[&'a Lug], link: &Link) -> Option<(&'a Lug, &'a Lug)> {
    let find = |id: TerminalId| lugs.iter().find(|lug| lug.terminal == id).copied();
    find(link.from.terminal).zip(find(link.to.terminal))
}

fn lay(field: &mut Field, harness: &Harness, id: usize, from: &Lug, to: &Lug) -> Vec<Point> {
    match harness.links[id].kind {
        LinkKind::Lug | LinkKind::Mount if distance(from.at, to.at) < 60.0 => vec![from.at, to.at],
        _ => field.lay(stop(from), stop(to), braided_over(harness, id)),
    }
}

/// Whether a braid lies around a link.
fn braided_over(harness: &Harness, id: usize) -> bool {
    harness.links.iter().any(|link| link.around == Some(LinkId(id)))
}

fn stop(lug: &Lug) -> Stop {
    Stop { at: lug.at, out: Some(lug.out) }
}

/// A braid: a sleeve over its core, and a pigtail from each end of the sleeve to its terminal.
fn braid(field: &mut Field, core: &[Point], from: &Lug, to: &Lug) -> Route {
    let long = length(core);
    let turned = core.first().is_some_and(|start| distance(*start, from.at) > distance(*start, to.at));
    let (near, far) = if turned { (to, from) } else { (from, to) };
    let head = closest(core, BARE.min(long * 0.3), long * 0.45, near.at);
    let tail = closest(core, long * 0.55, long - BARE.min(long * 0.3), far.at);
    let mut sleeve = stretch(core, head, tail);
    if turned {
        sleeve.reverse();
    }
    let end = |point: Option<&Point>, lug: &Lug| Stop { at: point.copied().unwrap_or(lug.at), out: None };
    let head = field.lay(stop(from), end(sleeve.first(), from), false);
    let tail = field.lay(end(sleeve.last(), to), stop(to), false);
    Route { line: rounded(&head), sleeve: Some((sleeve, rounded(&tail))) }
}

/// Returns a line with its last end drawn back and bent aside, to the side that is farther from where it ended.
fn shortened(line: &[Point]) -> Vec<Point> {
    let long = length(line);
    let mut short = stretch(line, 0.0, long - BACK.min(long / 2.0));
    if let ([.., a, b], Some(end)) = (&short[..], line.last()) {
        let by = ASIDE / distance(*a, *b).max(0.01);
        let aside = |by: f32| (b.0 - (b.1 - a.1) * by, b.1 + (b.0 - a.0) * by);
        let (left, right) = (aside(by), aside(-by));
        short.push(if distance(left, *end) < distance(right, *end) { right } else { left });
    }
    short
}

/// Returns the length of a line.
fn length(line: &[Point]) -> f32 {
    line.windows(2).map(|pair| distance(pair[0], pair[1])).sum()
}

/// Returns the point this far along a line.
fn along(line: &[Point], mut way: f32) -> Point {
    for pair in line.windows(2) {
        let step = distance(pair[0], pair[1]);
        if way <= step && step > 0.0 {
            return between(pair[0], pair[1], way / step);
        }
        way -= step;
    }
    line.last().copied().unwrap_or_default()
}

/// Returns how far along a line, between two bounds, it comes closest to a point.
fn closest(line: &[Point], from: f32, to: f32, point: Point) -> f32 {
    let way = |step: usize| from + (to - from) * step as f32 / 40.0;
    let gap = |step: &usize| distance(along(line, way(*step)), point);
    let best = (0..=40).min_by(|a, b| gap(a).total_cmp(&gap(b)));
    best.map_or(from, way)
}

fn stretch(line: &[Point], from: f32, to: f32) -> Vec<Point> {
    let mut points = vec![along(line, from)];
    let mut way = 0.0;
    for pair in line.windows(2) {
        way += distance(pair[0], pair[1]);
        if way > from && way < to {
            points.push(pair[1]);
        }
    }
    points.push(along(line, to));
    points
}

fn between(a: Point, b: Point, share: f32) -> Point {
    (a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share)
}

/// Rounds the bends of a line.
fn rounded(line: &[Point]) -> Vec<Point> {
    let mut points: Vec<Point> = line.first().copied().into_iter().collect();
    for trio in line.windows(3) {
        let (a, b, c) = (trio[0], trio[1], trio[2]);
        let reach = |other: Point| (BEND / distance(b, other).max(0.1)).min(0.5);
        let (start, end) = (between(b, a, reach(a)), between(b, c, reach(c)));
        for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
            points.push(between(between(start, b, share), between(b, end, share), share));
        }
    }
    points.extend(line.last().filter(|_| line.len() > 1));
    points
}

/// Whether a wire is known to carry the signal, to be at ground or to come from a battery.
pub(super) fn inks(harness: &Harness) -> Vec<Ink> {
    let mut ground: Vec<bool> =
        harness.terminals.iter().map(|t| t.grounded_surface || t.lug == "sleeve").collect();
    let links = |kind: fn(&Link) -> bool| harness.links.iter().filter(move |l| kind(l));
    for _ in 0..harness.links.len() {
        for link in links(|_| true) {
            let (a, b) = (link.from.terminal.0, link.to.terminal.0);
            let joined = ground[a] || ground[b];
            (ground[a], ground[b]) = (joined, joined);
        }
    }
    let ink = |link: &Link| match link.kind {
        LinkKind::Leg => Ink::Lug,
        LinkKind::Braid if link.around.is_some() => Ink::Braid,
        _ if ground[link.from.terminal.0] => Ink::GroundWire,
        _ if [link.from, link.to].iter().any(|end| feeds(harness, end)) => Ink::Wire,
        _ => Ink::HotWire,
    };
    harness.links.iter().map(ink).collect()
}

fn feeds(harness: &Harness, end: &End) -> bool {
    matches!(harness[harness[end.terminal].part].kind, PartKind::Battery { .. })
}

/// Draws one link.
pub(super) fn wire(route: &Route, ink: Ink) -> Vec<Shape> {
    if let Some((sleeve, tail)) = &route.sleeve {
        return braided(&route.line, sleeve, tail);
    }
    let line = |ink, width| poly(&route.line, Stroke::solid(ink, width));
    match ink {
        Ink::GroundWire => vec![line(Ink::Paper, 7.0), line(ink, 5.0), line(Ink::Paper, 1.6)],
        Ink::Lug => vec![line(ink, 3.0)],
        Ink::Wire => vec![line(Ink::Paper, 7.0), poly(&route.line, Stroke::dashed(ink, 3.6, 14.0, 5.0))],
        _ => vec![line(Ink::Paper, 7.0), line(ink, 3.6)],
    }
}

fn braided(head: &[Point], sleeve: &[Point], tail: &[Point]) -> Vec<Shape> {
    let mut shapes: Vec<Shape> = [head, tail]
        .iter()
        .flat_map(|line| {
            [
                poly(line, Stroke::solid(Ink::Weave, 5.0)),
                poly(line, Stroke::dashed(Ink::Braid, 3.0, 4.0, 3.0)),
            ]
        })
        .collect();
    shapes.push(poly(sleeve, Stroke::solid(Ink::Weave, 17.0)));
    shapes.push(poly(sleeve, Stroke::solid(Ink::Braid, 15.0)));
    shapes.push(poly(sleeve, Stroke::dashed(Ink::Weave, 15.0, 1.5, 4.0)));
    shapes
}

/// Makes a line through points.
pub(super) fn poly(points: &[Point], stroke: Stroke) -> Shape {
    Shape::Polyline { points: points.to_vec(), stroke }
}

/// Returns the drawing order of the links: braids first, so that cores lie on top of them.
pub(super) fn drawing_order(harness: &Harness) -> Vec<LinkId> {
    let mut order: Vec<LinkId> = (0..harness.links.len()).map(LinkId).collect();
    order.sort_by_key(|id| (harness[*id].around.is_none(), id.0));
    order
}
