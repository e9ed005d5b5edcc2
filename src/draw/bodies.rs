//! Parts without a strip of lugs: two-legged ones, the plug, metal surfaces.

use super::frame::{Area, Facing, GRID, round_up};
use super::part::{
    LINE, Lug, Named, SMALL, Sketch, TITLE, block, body_spot, caption, centred, dot, text, wrap,
};
use super::shape::text_width;
use super::{Ink, Shape, Stroke};
use crate::circuit::{Part, PartKind, TerminalId};

/// A capacitor or a resistor: a small body with a leg on each side.
pub(super) fn two_legs(face: Facing, part: &Part, lugs: Named) -> Sketch {
    let reach = 40.0;
    let outline = Some(Stroke::solid(Ink::Part, 2.0));
    let body = face.area((-22.0, -14.0), (22.0, 14.0));
    let leg = Shape::Line {
        from: face.at(-reach, 0.0),
        to: face.at(reach, 0.0),
        stroke: Stroke::solid(Ink::Lug, 3.0),
    };
    let mut under = vec![leg];
    if matches!(part.kind, PartKind::Capacitor { .. } | PartKind::Piezo { .. }) {
        under.push(block(body, 14.0, Ink::PartFill, outline));
        under.extend([-5.0, 5.0].map(|a| plate_line(face, a)));
    } else {
        under.push(block(body, 2.0, Ink::PartFill, outline));
    }
    let mut sketch = Sketch { lugs: Vec::new(), body, caption: None, area: body, under, over: Vec::new() };
    let last = lugs.len().saturating_sub(1).max(1) as f32;
    for (index, (terminal, _)) in lugs.into_iter().enumerate() {
        let share = index as f32 / last * 2.0 - 1.0;
        let at = face.at(share * reach, 0.0);
        sketch.lugs.push(Lug { terminal, at, out: face.at(share.signum(), 0.0) });
        sketch.over.push(dot(at, 6.0));
        sketch.area = sketch.area.union(Area::around(at, 14.0, 14.0));
    }
    let lines = wrap(&part.title, 130.0);
    let below = (0.0, sketch.area.max.1 + 4.0);
    caption(&mut sketch, below, &lines);
    sketch
}

fn plate_line(face: Facing, along: f32) -> Shape {
    Shape::Line { from: face.at(along, -9.0), to: face.at(along, 9.0), stroke: Stroke::solid(Ink::Part, 2.5) }
}

/// A battery: a block whose end carries two studs, a narrow one marked + and a broad one marked −.
pub(super) fn battery(face: Facing, title: &str, lugs: Named) -> Sketch {
    let outline = Some(Stroke::solid(Ink::Part, 2.0));
    let half = round_up(text_width(title, TITLE) / 2.0 + 12.0, GRID).max(60.0);
    let cell = face.area((-half, -40.0), (half, 20.0));
    let end = face.area((-half, 20.0), (half, 50.0));
    let under = vec![block(cell, 6.0, Ink::PartFill, outline), block(end, 3.0, Ink::StripFill, outline)];
    let body = cell.union(end);
    let mut sketch = Sketch { lugs: Vec::new(), body, caption: None, area: body, under, over: Vec::new() };
    let last = lugs.len().saturating_sub(1).max(1) as f32;
    for (index, lug) in lugs.into_iter().enumerate() {
        stud(&mut sketch, face, (index as f32 / last - 0.5) * 60.0, lug);
    }
    sketch.over.extend(centred(cell.centre(), &wrap(title, cell.size().0 - 10.0)));
    sketch
}

fn stud(sketch: &mut Sketch, face: Facing, along: f32, (terminal, name): (TerminalId, String)) {
    let (sign, broad) = if name == "plus" { ("+", 8.0) } else { ("−", 14.0) };
    let at = face.at(along, 70.0);
    let stud = face.area((along - broad, 50.0), (along + broad, 60.0));
    sketch.under.push(block(stud, 2.0, Ink::PartFill, Some(Stroke::solid(Ink::Part, 2.0))));
    sketch.over.extend([dot(at, 6.0), text(face.at(along, 35.0), sign, TITLE, true)]);
    sketch.lugs.push(Lug { terminal, at, out: face.at(0.0, 1.0) });
    sketch.area = sketch.area.union(stud).union(Area::around(at, 14.0, 14.0));
}

/// The plug: a handle, then sleeve, ring where there is one, and tip along a shaft.
pub(super) fn plug(face: Facing, title: &str, lugs: Named) -> Sketch {
    let outline = Some(Stroke::solid(Ink::Part, 2.0));
    let width = if face.upright() { 100.0 } else { 110.0 };
    let lines = wrap(title, width - 10.0);
    let wide = lines.iter().map(|l| text_width(l, TITLE)).fold(40.0, f32::max) + 16.0;
    let high = lines.len() as f32 * LINE + 14.0;
    let (along, out) = if face.upright() { (wide / 2.0, high) } else { (high / 2.0, wide) };
    let handle = face.area((-along.max(20.0), -50.0 - out), (along.max(20.0), -50.0));
    let shaft = face.area((-11.0, -50.0), (11.0, 60.0));
    let under = vec![block(handle, 8.0, Ink::PartFill, outline), block(shaft, 8.0, Ink::StripFill, outline)];
    let body = handle.union(shaft);
    let mut sketch = Sketch { lugs: Vec::new(), body, caption: None, area: body, under, over: Vec::new() };
    for (index, (terminal, name)) in lugs.into_iter().enumerate() {
        let out = match name.as_str() {
            "tip" => 50.0,
            "ring" => 20.0,
            _ => -20.0 - index.saturating_sub(1) as f32 * GRID * f32::from(u8::from(name != "sleeve")),
        };
        plug_contact(&mut sketch, face, out, terminal, &name);
    }
    sketch.over.extend(centred(handle.centre(), &lines));
    sketch
}

fn plug_contact(sketch: &mut Sketch, face: Facing, out: f32, terminal: TerminalId, name: &str) {
    let at = face.at(0.0, out);
    let leaves = if name == "tip" { face.at(0.0, 1.0) } else { face.at(1.0, 0.0) };
    sketch.lugs.push(Lug { terminal, at, out: leaves });
    sketch.over.push(dot(at, 7.0));
    let wide = text_width(name, SMALL);
    // The ring lies close to tip and sleeve: its name stands on the other side.
    let side = if name == "ring" { -1.0 } else { 1.0 };
    let away = if face.upright() { (side * (-18.0 - wide / 2.0), 0.0) } else { (0.0, side * -24.0) };
    let centre = (at.0 + away.0, at.1 + away.1);
    sketch.over.push(text(centre, name, SMALL, false));
    sketch.area = sketch.area.union(Area::around(centre, wide, SMALL)).union(Area::around(at, 16.0, 16.0));
}

/// A shield, a cover, the bridge and strings: a hatched plate with its one terminal on the edge.
pub(super) fn surface(face: Facing, title: &str, lugs: Named) -> Sketch {
    let lines = wrap(title, 170.0);
    let wide = lines.iter().map(|l| text_width(l, TITLE)).fold(60.0, f32::max);
    let (w, h) = (round_up(wide + 30.0, 2.0 * GRID), round_up(lines.len() as f32 * LINE + 24.0, 2.0 * GRID));
    let area = Area::around((0.0, 0.0), w, h);
    let mut under = vec![block(area, 2.0, Ink::PartFill, None)];
    under.extend(hatching(area));
    under.push(block(area, 2.0, Ink::Paper, Some(Stroke::solid(Ink::Part, 2.0))).hollow());
    let mut sketch = Sketch { lugs: Vec::new(), body: area, caption: None, area, under, over: Vec::new() };
    let inner = Area::around((0.0, 0.0), wide + 10.0, lines.len() as f32 * LINE + 4.0);
    sketch.over.push(block(inner, 3.0, Ink::PartFill, None));
    sketch.over.extend(centred((0.0, 0.0), &lines));
    let edge = if face.upright() { h / 2.0 } else { w / 2.0 };
    for (index, (terminal, _)) in lugs.into_iter().enumerate() {
        body_spot(&mut sketch, face, (index as f32 * 2.0 * GRID, edge), terminal);
    }
    sketch
}

/// Returns slanted lines across an area.
fn hatching(area: Area) -> Vec<Shape> {
    let (w, h) = area.size();
    let line = |step: i32| {
        let start = step as f32 * 10.0;
        let (a, b) = ((start - h).max(0.0), start.min(w));
        let from = (area.min.0 + a, area.min.1 + (start - a));
        let to = (area.min.0 + b, area.min.1 + (start - b));
        Shape::Line { from, to, stroke: Stroke::solid(Ink::Hatch, 1.2) }
    };
    (1..((w + h) / 10.0) as i32).map(line).collect()
}
