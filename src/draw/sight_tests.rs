//! The laws of a picture that is turned over.

use super::sample::two_pickups;
use super::shape::distance;
use super::tests::harnesses;
use super::*;
use crate::circuit::{Harness, PartKind, TerminalId};
use rstest::rstest;

/// What rounding may move a point by, in picture units.
const ROUNDING: f32 = 0.01;
/// Twice the area, in square units, below which three points count as lying on one line.
const TOUCH: f32 = 0.7;

const BEHIND: Sight = Sight { from_front: false, left_handed: false };
const FRONT: Sight = Sight { from_front: true, left_handed: false };
const LEFT: Sight = Sight { from_front: false, left_handed: true };
const LEFT_FRONT: Sight = Sight { from_front: true, left_handed: true };

fn close(a: Point, b: Point) -> bool {
    distance(a, b) < ROUNDING
}

fn same(a: &Shape, b: &Shape) -> bool {
    match (a, b) {
        (Shape::Line { from, to, stroke }, Shape::Line { from: f, to: t, stroke: s }) => {
            close(*from, *f) && close(*to, *t) && stroke == s
        }
        (Shape::Polyline { points, stroke }, Shape::Polyline { points: others, stroke: s }) => {
            let all = points.iter().zip(others).all(|(a, b)| close(*a, *b));
            points.len() == others.len() && all && stroke == s
        }
        (Shape::Circle { at, radius, .. }, Shape::Circle { at: b, radius: r, .. }) => {
            close(*at, *b) && radius == r
        }
        (Shape::Rect { min, size, .. }, Shape::Rect { min: b, size: s, .. }) => {
            close(*min, *b) && close(*size, *s)
        }
        (Shape::Text { at, text, anchor, .. }, Shape::Text { at: b, text: t, anchor: a, .. }) => {
            close(*at, *b) && text == t && anchor == a
        }
        _ => false,
    }
}

fn assert_same(a: &[Shape], b: &[Shape], what: &str) {
    assert_eq!(a.len(), b.len(), "{what}");
    for (a, b) in a.iter().zip(b) {
        assert!(same(a, b), "{what}: {a:?} is not {b:?}");
    }
}

fn texts(shapes: &[Shape]) -> Vec<&str> {
    let mut words = Vec::new();
    for shape in shapes {
        if let Shape::Text { text, .. } = shape {
            words.push(text.as_str());
        }
    }
    words
}

#[test]
fn turned_over_twice_it_is_the_same_picture() {
    for (name, h) in harnesses() {
        let plan = Plan::new(&h);
        let there = plan.seen(FRONT);
        let back = there.seen(BEHIND);
        let marks = Marks::default();
        assert_same(&plan.wiring(&h, &marks), &back.wiring(&h, &marks), &name);
        assert_same(&plan.wiring(&h, &marks), &there.seen(LEFT_FRONT).wiring(&h, &marks), &name);
        let moved = (0..h.terminals.len()).map(TerminalId);
        let moved = moved.filter(|id| !close(plan.terminal_point(*id), there.terminal_point(*id))).count();
        assert!(moved > h.terminals.len() / 2, "{name} is not turned over");
    }
}

#[test]
fn a_left_handed_instrument_from_behind_lies_as_a_right_handed_one_from_the_front() {
    for (name, h) in harnesses() {
        let plan = Plan::new(&h);
        let marks = Marks::default();
        assert_same(&plan.seen(LEFT).wiring(&h, &marks), &plan.seen(FRONT).wiring(&h, &marks), &name);
    }
}

#[rstest]
fn letters_are_those_of_the_picture_from_behind_and_none_leaves_the_paper(
    #[values(FRONT, LEFT, LEFT_FRONT)] sight: Sight,
) {
    for (name, h) in harnesses() {
        let plan = Plan::new(&h);
        let (plain, seen) =
            (plan.picture(&h, &Marks::default()), plan.seen(sight).picture(&h, &Marks::default()));
        let said = |picture: &Picture| {
            let all = texts(&picture.shapes)
                .into_iter()
                .filter(|words| !words.contains("seen from") && !words.starts_with("pots, lugs down"));
            all.map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(said(&plain), said(&seen), "{name}");
        assert!(
            texts(&seen.shapes).iter().any(|words| words.ends_with(sight.says())),
            "{name} does not say how it is seen"
        );
        assert!(seen.title.ends_with(sight.says()), "{}", seen.title);
        for shape in &seen.shapes {
            let Shape::Text { at, text, .. } = shape else { continue };
            assert!(at.0 >= 0.0 && at.0 <= seen.size.0, "{text:?} of {name} at {at:?}");
        }
    }
}

/// A pot's lugs seen from the front stand in the other order than from behind.
#[test]
fn lugs_stand_the_other_way_round() {
    let order = |plan: &Plan, h: &Harness, pot: usize| -> Vec<TerminalId> {
        let mut lugs = h.parts[pot].terminals[..3].to_vec();
        let at = |id: &TerminalId| plan.terminal_point(*id);
        lugs.sort_by(|a, b| at(a).0.total_cmp(&at(b).0));
        lugs
    };
    let mut turned = 0;
    for (name, h) in harnesses() {
        let (behind, front) = (Plan::new(&h), Plan::new(&h).seen(FRONT));
        for pot in (0..h.parts.len()).filter(|id| matches!(h.parts[*id].kind, PartKind::Pot { .. })) {
            let level = |id: &TerminalId| behind.terminal_point(*id).1;
            let lugs = &h.parts[pot].terminals[..3];
            if lugs.iter().any(|id| (level(id) - level(&lugs[0])).abs() > ROUNDING) {
                continue;
            }
            let mut seen = order(&front, &h, pot);
            seen.reverse();
            assert_eq!(seen, order(&behind, &h, pot), "{} of {name}", h.parts[pot].name);
            turned += 1;
        }
    }
    assert!(turned > 0, "no pot has its lugs side by side");
}

/// Returns how often wires cross wires: pairs of stretches of different links that meet within both.
fn crossings(plan: &Plan, h: &Harness) -> usize {
    let wires: Vec<usize> = (0..h.links.len()).filter(|id| h.links[*id].around.is_none()).collect();
    let mut found = 0;
    for (index, a) in wires.iter().enumerate() {
        for b in &wires[index + 1..] {
            for stretch in plan.routes[*a].line.windows(2) {
                found += plan.routes[*b].line.windows(2).filter(|other| cross(stretch, other)).count();
            }
        }
    }
    found
}

/// Whether two stretches cross; where one only touches the other, they do not.
fn cross(a: &[Point], b: &[Point]) -> bool {
    let side = |p: Point, q: Point, r: Point| (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0);
    let apart = |one: f32, other: f32| one.min(other) < -TOUCH && one.max(other) > TOUCH;
    apart(side(a[0], a[1], b[0]), side(a[0], a[1], b[1]))
        && apart(side(b[0], b[1], a[0]), side(b[0], b[1], a[1]))
}

#[test]
fn turning_over_makes_no_wire_cross_another() {
    let mut all = 0;
    for (name, h) in harnesses() {
        let plan = Plan::new(&h);
        let laid = crossings(&plan, &h);
        assert_eq!(laid, crossings(&plan.seen(FRONT), &h), "{name}");
        all += laid;
    }
    assert!(all > 0, "no wire of any wiring crosses another: the count finds none");
}

#[test]
fn a_spot_of_two_suspects_shows_the_leading_share_and_none_under_a_probe() {
    let h = two_pickups();
    let spot = Spot::named(&h, "neck-volume.lug3").unwrap();
    let marks = Marks { suspects: vec![(spot, 0.63), (spot, 0.37)], ..Marks::default() };
    let plain = picture(&h, &marks);
    let (leading, sum) = (crate::units::show_percent(0.63), crate::units::show_percent(1.0));
    assert!(
        texts(&plain.shapes).contains(&leading.as_str()) && !texts(&plain.shapes).contains(&sum.as_str())
    );
    let probed = picture(&h, &Marks { red: h.terminal("neck-volume.lug3"), ..marks });
    assert!(!texts(&probed.shapes).contains(&leading.as_str()), "{:?}", texts(&probed.shapes));
}

/// The numbers stand beside the functions, and the help tells on which side lug 1 is, as it is drawn.
#[test]
fn lugs_of_a_pot_have_their_numbers_and_help_to_find_them() {
    let h = two_pickups();
    for (sight, side) in [(false, "1 right"), (true, "1 left")] {
        let sight = Sight { from_front: sight, ..Sight::default() };
        let picture = Plan::new(&h).seen(sight).picture(&h, &Marks::default());
        assert!(texts(&picture.shapes).contains(&"3 input") && texts(&picture.shapes).contains(&"1 ground"));
        let lug = picture.named().find(|hit| hit.name == "neck-volume.lug1").unwrap();
        assert!(lug.help.contains(side), "{} for {sight:?}", lug.help);
        assert!(texts(&picture.shapes).contains(&lug.help));
    }
}
