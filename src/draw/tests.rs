//! The laws of the picture.

use super::frame::Area;
use super::sample::{add, capacitor, coil, empty, join, pot, resistor, switch, two_pickups};
use super::*;
use crate::circuit::{
    Harness, LinkId, LinkKind, PartId, PartKind, PlaceId, PotRole, TerminalId, built_in, load,
};
use crate::source::Source;
use crate::units::{Ohms, Volts};
use rstest::rstest;

fn marks(h: &Harness) -> Marks {
    let spot = |name: &str| Spot::named(h, name).unwrap();
    Marks {
        red: h.terminal("plug.tip"),
        black: h.terminal("plug.sleeve"),
        suspects: vec![
            (spot("neck-volume.lug3"), 0.62),
            (spot("neck-lead"), 0.21),
            (spot("neck-lead-braid"), 0.08),
            (spot("bridge-tone"), 0.004),
        ],
        closed_places: vec![PlaceId(2)],
        lifted: None,
    }
}

/// Returns the sample and every wiring that comes with the program.
pub(super) fn harnesses() -> Vec<(String, Harness)> {
    let load = |(name, text): &(&str, &str)| {
        let harness = load(&Source::new(*name, *text)).unwrap();
        (harness.name.clone(), harness)
    };
    let built_in = built_in().iter().map(load);
    std::iter::once(("sample".to_owned(), two_pickups())).chain(built_in).collect()
}

/// Writes pictures for a person to look at when the variable `LOOK` names a folder.
fn look(name: &str, picture: &Picture) {
    for palette in [Palette::Light, Palette::Dark] {
        let text = svg(picture, &palette);
        if let Ok(folder) = std::env::var("LOOK") {
            std::fs::write(format!("{folder}/{name}-{palette:?}.svg"), &text).unwrap();
        }
        assert_eq!(text, svg(picture, &palette), "the same picture gives the same bytes");
    }
}

#[test]
fn every_wiring_can_be_drawn() {
    for (name, h) in harnesses() {
        let plain = picture(&h, &Marks::default());
        assert_eq!(plain, picture(&h, &Marks::default()));
        look(&name, &plain);
        look(&format!("{name}-marked"), &picture(&h, &some_marks(&h)));
        assert!(plain.shapes.len() > h.terminals.len() + h.links.len(), "{name} is not all there");
    }
}

/// Marks things that every wiring has: the plug, the last wire, a lug, a closed place.
fn some_marks(h: &Harness) -> Marks {
    let pot = h.parts.iter().position(|p| matches!(p.kind, PartKind::Pot { .. })).unwrap_or(0);
    let lugs = &h.parts[pot].terminals;
    Marks {
        red: h.terminal("plug.tip"),
        black: h.terminal("plug.sleeve"),
        suspects: vec![
            (Spot::Terminal(lugs[2.min(lugs.len() - 1)]), 0.62),
            (Spot::Link(LinkId(0)), 0.21),
            (Spot::Part(PartId(pot)), 0.004),
        ],
        closed_places: vec![PlaceId(h.places.len() - 1)],
        lifted: None,
    }
}

#[test]
fn a_ruler_shows_its_bands_and_its_needle() {
    let needle = RulerNeedle { values: vec![Some(Ohms::new(7.42e3))], label: "7.42 kΩ".to_owned() };
    let band = |label: &str, low: f64, high: f64, weight: f64| RulerBand {
        label: label.to_owned(),
        low: (low < 1e8).then_some(Ohms::new(low)),
        high: (high < 1e8).then_some(Ohms::new(high)),
        weight: Some(weight),
    };
    let bands =
        [band("healthy", 7e3, 8e3, 0.2), band("open lead", 4e5, 6e5, 0.7), band("tip off", 1e9, 1e9, 0.1)];
    let ruler = ruler(&bands, Some(needle), 700.0, 150.0);
    look("ruler", &ruler);
    for words in ["7.42 kΩ", "healthy (20 %)", "open lead (70 %)", "tip off (10 %)", "OL", "1 kΩ"] {
        assert!(texts(&ruler).contains(&words), "{words} is missing");
    }
    assert_inside(&ruler);
}

/// What a healthy instrument reads is told from the suspects without colour: an outline without a share.
#[test]
fn a_ruler_tells_healthy_from_suspects_and_shows_both_ends_of_what_moved() {
    let ends = [7.4e3, 38e3].map(|ohms| Some(Ohms::new(ohms)));
    let band =
        |label: &str, weight| RulerBand { label: label.to_owned(), low: ends[0], high: ends[1], weight };
    let bands = [band("healthy", None), band("1", Some(0.6))];
    let needle = RulerNeedle { values: ends.to_vec(), label: "7.40 kΩ to 38.0 kΩ".to_owned() };
    let ruler = ruler(&bands, Some(needle), 480.0, 110.0);
    let fills = ruler.shapes.iter().filter_map(|shape| match shape {
        Shape::Rect { fill, .. } => Some(fill.is_some()),
        _ => None,
    });
    assert_eq!(fills.collect::<Vec<_>>(), [false, true]);
    assert!(texts(&ruler).contains(&"healthy") && texts(&ruler).contains(&"1 (60 %)"), "{:?}", texts(&ruler));
    assert_eq!(ruler.about, "healthy. 1: 60 %. Reading: 7.40 kΩ to 38.0 kΩ.");
    let down = |shape: &&Shape| {
        matches!(shape, Shape::Line { from, to, stroke }
        if stroke.ink == Ink::Needle && from.0 == to.0)
    };
    let x: Vec<f32> = ruler
        .shapes
        .iter()
        .filter(down)
        .map(|s| if let Shape::Line { from, .. } = s { from.0 } else { 0.0 })
        .collect();
    assert!(x.len() == 2 && x[0] < x[1], "{x:?}");
    assert_inside(&ruler);
}

#[test]
fn no_two_parts_lie_on_each_other() {
    for (name, h) in harnesses() {
        let plan = Plan::new(&h);
        for (i, a) in plan.parts.iter().enumerate() {
            for b in &plan.parts[i + 1..] {
                let (x, y) = a.area.overlap(b.area);
                assert!(x <= 0.0 || y <= 0.0, "two parts of {name} overlap by {x} and {y}");
            }
        }
    }
}

#[test]
fn every_terminal_has_its_own_point_and_a_spot_to_click() {
    for (_, h) in harnesses() {
        let picture = picture(&h, &Marks::default());
        let points: Vec<Point> = (0..h.terminals.len()).map(|i| terminal_point(&h, TerminalId(i))).collect();
        for (i, at) in points.iter().enumerate() {
            assert_eq!(
                picture.hit(*at).and_then(|hit| hit.terminal),
                Some(TerminalId(i)),
                "{}",
                h.terminals[i].name
            );
            let near = points[i + 1..].iter().filter(|other| shape::distance(*at, **other) < 18.0).count();
            assert_eq!(near, 0, "{} lies on another terminal", h.terminals[i].name);
        }
    }
}

#[test]
fn every_link_can_be_pointed_at() {
    let h = two_pickups();
    let hits = picture(&h, &Marks::default()).hits;
    for (id, link) in h.links.iter().enumerate() {
        let found = hits.iter().any(|hit| hit.link == Some(LinkId(id)) && hit.label.starts_with(&link.title));
        assert!(found, "{} has no spot", link.name);
    }
}

#[test]
fn wires_join_the_points_of_their_terminals() {
    let h = two_pickups();
    let plan = Plan::new(&h);
    for (link, route) in h.links.iter().zip(&plan.routes) {
        let ends = [link.from.terminal, link.to.terminal].map(|id| plan.terminal_point(id));
        let last = route.sleeve.as_ref().map_or(&route.line, |(_, tail)| tail).last();
        assert_eq!(route.line.first(), Some(&ends[0]), "start of {}", link.name);
        assert_eq!(last, Some(&ends[1]), "end of {}", link.name);
    }
}

#[test]
fn wires_keep_off_parts() {
    for (name, h) in harnesses() {
        let plan = Plan::new(&h);
        let bodies: Vec<Area> = plan.parts.iter().map(|p| p.body.grown(-6.0)).collect();
        let inside = |p: &Point| bodies.iter().any(|b| b.holds(*p));
        let across = |id: &usize| {
            let link = &h.links[*id];
            let ends = [link.from.terminal, link.to.terminal].map(|id| plan.terminal_point(id));
            let away = |p: &&Point| ends.iter().all(|end| shape::distance(*end, **p) > 20.0);
            plan.routes[*id].lines().flatten().filter(away).any(inside)
        };
        let found: Vec<&str> =
            (0..h.links.len()).filter(across).map(|id| h.links[id].name.as_str()).collect();
        assert!(found.is_empty(), "these wires of {name} run across parts: {found:?}");
    }
}

#[rstest]
#[case(1)]
#[case(2)]
#[case(6)]
#[case(7)]
#[case(24)]
fn a_switch_with_any_number_of_lugs_is_drawn(
    #[case] count: usize,
    #[values(0.0, 90.0, 180.0, 270.0)] turn: f32,
) {
    let mut h = empty();
    let lugs: Vec<String> = (1..=count).map(|i| format!("t{i}")).collect();
    add(&mut h, "selector", switch(), &lugs.join(" "), (0.0, 0.0, turn), 1);
    let picture = picture(&h, &Marks::default());
    for lug in &lugs {
        assert!(texts(&picture).contains(&lug.as_str()), "{lug} is not named");
    }
    assert_inside(&picture);
}

#[rstest]
fn every_kind_of_part_is_drawn_whichever_way_it_faces(#[values(0.0, 80.0, 180.0, -90.0, 725.0)] turn: f32) {
    let mut h = empty();
    let kinds = [
        (coil(), "hot cold"),
        (pot(PotRole::Blend), "lug1 lug2 lug3 case"),
        (capacitor(), "a b"),
        (resistor(), "a b"),
        (switch(), "one two frame"),
        (PartKind::Jack, "tip sleeve ring"),
        (PartKind::Plug, "tip sleeve ring"),
        (PartKind::Surface, "surface"),
    ];
    for (index, (kind, lugs)) in kinds.into_iter().enumerate() {
        // All at one spot: even then they are moved apart.
        add(&mut h, &format!("part-{index}"), kind, lugs, (0.0, 0.0, turn), 1);
    }
    let picture = picture(&h, &Marks::default());
    for index in 0..8 {
        assert!(texts(&picture).iter().any(|t| t.contains(&format!("{index}"))), "part {index} is not named");
    }
    assert_inside(&picture);
}

#[test]
fn battery_wires_are_told_apart_from_signal_and_ground_by_dashes() {
    let (_, h) = harnesses().into_iter().find(|(name, _)| name == "active-volume-after-preamp").unwrap();
    let drawn = picture(&h, &Marks::default());
    assert!(texts(&drawn).contains(&"battery wire"));
    let dashed = |s: &&Shape| matches!(s, Shape::Polyline { stroke, .. } if stroke.ink == Ink::Wire && stroke.dash.is_some());
    // Two wires and the sample of the legend.
    assert_eq!(drawn.shapes.iter().filter(dashed).count(), 3);
    // A small picture has the two wires and no legend.
    let small = small_picture(&h);
    assert_eq!(small.shapes.iter().filter(dashed).count(), 2);
    assert!(!texts(&small).contains(&"battery wire"));
    assert_eq!(small.shapes, drawn.shapes[..small.shapes.len()]);
    let (_, passive) = harnesses().into_iter().find(|(name, _)| name == "one-pickup").unwrap();
    assert!(!texts(&picture(&passive, &Marks::default())).contains(&"battery wire"));
}

#[rstest]
fn a_battery_shows_which_stud_is_plus(#[values(0.0, 90.0, 180.0, 270.0)] turn: f32) {
    let mut h = empty();
    let battery = PartKind::Battery { volts: Volts::new(9.0), ohms: Ohms::new(1.7) };
    add(&mut h, "battery", battery, "plus minus", (0.0, 0.0, turn), 1);
    let picture = picture(&h, &Marks::default());
    let near = |sign: &str, terminal: usize| {
        let at = terminal_point(&h, TerminalId(terminal));
        let found = |s: &Shape| matches!(s, Shape::Text { at: t, text, .. } if text == sign && shape::distance(*t, at) < 40.0);
        picture.shapes.iter().any(found)
    };
    assert!(near("+", 0) && near("−", 1), "each stud has its sign");
    assert!(!near("+", 1) && !near("−", 0), "and not the other one's");
    assert!(texts(&picture).contains(&"battery"));
    assert_inside(&picture);
}

#[test]
fn marks_differ_in_shape_and_words_not_in_colour_alone() {
    let h = two_pickups();
    let picture = picture(&h, &marks(&h));
    let words = texts(&picture);
    for word in ["R", "B", "62 %", "21 %", "8 %", "0.4 %"] {
        assert!(words.contains(&word), "{word} is missing");
    }
    let disc = |s: &Shape| matches!(s, Shape::Circle { fill: Some(Ink::RedProbe), .. });
    let square = |s: &Shape| matches!(s, Shape::Rect { fill: Some(Ink::BlackProbe), .. });
    assert!(picture.shapes.iter().any(disc) && picture.shapes.iter().any(square));
    assert!(picture.about.contains("Suspect, 62 %: lug3 of the neck volume."), "{}", picture.about);
}

#[test]
fn what_is_closed_is_faint_and_what_is_open_is_not() {
    let h = two_pickups();
    let faint = |marks: &Marks| {
        let dimmed = |s: &&Shape| matches!(s, Shape::Text { ink: Ink::DimmedLabel, .. });
        picture(&h, marks).shapes.iter().filter(dimmed).count()
    };
    assert_eq!(faint(&Marks::default()), 0);
    assert!(faint(&marks(&h)) >= 5);
}

#[test]
fn labels_do_not_lie_on_each_other() {
    let pairs = |h: Harness| [(h.clone(), Marks::default()), (h.clone(), some_marks(&h))];
    for (h, marks) in harnesses().into_iter().flat_map(|(_, h)| pairs(h)) {
        let picture = picture(&h, &marks);
        let areas: Vec<(Area, &str)> = picture.shapes.iter().filter_map(text_area).collect();
        for (i, (a, words)) in areas.iter().enumerate() {
            for (b, others) in &areas[i + 1..] {
                let (x, y) = a.overlap(*b);
                assert!(x <= 1.0 || y <= 1.0, "{words:?} lies on {others:?}");
            }
        }
    }
}

#[test]
fn svg_escapes_text_and_refers_to_nothing_outside() {
    let mut h = empty();
    add(&mut h, "a<script>\u{202e}&\"'\u{0}", PartKind::Surface, "surface", (0.0, 0.0, 0.0), 1);
    h.about = "]]><script>alert(1)</script>".to_owned();
    let text = svg(&picture(&h, &Marks::default()), &Palette::Light);
    assert!(!text.contains("<script") && !text.contains('\u{202e}') && !text.contains('\u{0}'), "{text}");
    assert!(text.contains("&lt;script&gt;") && text.contains("<title>") && text.contains("<desc>"));
    assert_eq!(text.matches("http").count(), 1, "only the name of the SVG language");
    assert!(!text.contains("href") && !text.contains("url("));
}

/// Distances on the ruler are distances of logarithms: every decade is equally wide.
#[test]
fn the_ruler_is_logarithmic_and_ends_in_over_range() {
    let at = |ohms: Option<f64>| {
        let needle = RulerNeedle { values: vec![ohms.map(Ohms::new)], label: "x".to_owned() };
        let drawn = ruler(&[], Some(needle), 800.0, 120.0);
        let place = |s: &Shape| match s {
            Shape::Line { from, stroke, .. } if stroke.ink == Ink::Needle => Some(from.0),
            _ => None,
        };
        drawn.shapes.iter().find_map(place).unwrap()
    };
    let decade = at(Some(10.0)) - at(Some(1.0));
    assert!((at(Some(1e6)) - at(Some(1e5)) - decade).abs() < 0.01);
    assert!((at(Some(1e4)) - at(Some(1.0)) - 4.0 * decade).abs() < 0.01);
    assert_eq!(at(Some(0.0)), at(Some(0.1)));
    assert!(at(None) > at(Some(20e6)));
    assert_eq!(at(None), at(Some(50e6)));
}

#[test]
fn a_harness_without_parts_or_with_a_loop_is_drawn() {
    assert!(picture(&empty(), &Marks::default()).size.0 > 0.0);
    let mut h = empty();
    add(&mut h, "selector", switch(), "one two", (0.0, 0.0, 0.0), 1);
    join(&mut h, "loop", LinkKind::Wire, "selector.one", "selector.one", None);
    assert_inside(&picture(&h, &Marks::default()));
}

fn texts(picture: &Picture) -> Vec<&str> {
    picture.shapes.iter().filter_map(text_area).map(|(_, words)| words).collect()
}

fn text_area(shape: &Shape) -> Option<(Area, &str)> {
    let Shape::Text { at, text, size, anchor, .. } = shape else {
        return None;
    };
    let wide = shape::text_width(text, *size);
    let left = match anchor {
        Anchor::Start => at.0,
        Anchor::Middle => at.0 - wide / 2.0,
        Anchor::End => at.0 - wide,
    };
    Some((Area::spanned((left, at.1 - size / 2.0), (left + wide, at.1 + size / 2.0)), text))
}

fn assert_inside(picture: &Picture) {
    let whole = Area::spanned((0.0, 0.0), picture.size);
    for (area, words) in picture.shapes.iter().filter_map(text_area) {
        let (w, h) = area.size();
        assert!((area.shared(whole) - w * h).abs() < 1.0, "{words:?} lies outside");
    }
}

/// Two lines of different nets may cross, but never run along the same track; one terminal's wires share its first steps.
#[test]
fn wires_of_different_nets_do_not_coincide() {
    for (name, h) in harnesses() {
        let plan = Plan::new(&h);
        let near = |p: Point| {
            let at = |id| plan.terminal_point(TerminalId(id));
            (0..h.terminals.len()).any(|id| shape::distance(at(id), p) < 45.0)
        };
        let middles = |line: &Vec<Point>| -> Vec<Point> {
            let long = line.windows(2).filter(|p| shape::distance(p[0], p[1]) > 60.0);
            long.map(|p| ((p[0].0 + p[1].0) / 2.0, (p[0].1 + p[1].1) / 2.0)).collect()
        };
        let wires: Vec<usize> = (0..h.links.len()).filter(|i| h.links[*i].around.is_none()).collect();
        for a in &wires {
            for b in wires.iter().filter(|b| *b != a) {
                let (line, other) = (&plan.routes[*a].line, &plan.routes[*b].line);
                let on = |p: &Point| other.windows(2).any(|s| runs_along(line, s, *p));
                let found = middles(line).into_iter().filter(|p| !near(*p)).filter(on).count();
                assert_eq!(found, 0, "in {name}, {} runs along {}", h.links[*a].name, h.links[*b].name);
            }
        }
    }
}

/// Whether a stretch runs through a point of a line in that line's own direction.
fn runs_along(line: &[Point], stretch: &[Point], p: Point) -> bool {
    let flat = |a: Point, b: Point| (a.1 - b.1).abs() < 0.1;
    let own = line.windows(2).find(|s| {
        let middle = ((s[0].0 + s[1].0) / 2.0, (s[0].1 + s[1].1) / 2.0);
        shape::distance(middle, p) < 0.1
    });
    let same_way = own.is_some_and(|s| flat(s[0], s[1]) == flat(stretch[0], stretch[1]));
    same_way && Area::spanned(stretch[0], stretch[1]).grown(2.0).holds(p)
}

/// What is lifted is off its terminal, and a probe that can only touch it there is on its free end.
#[test]
fn a_lifted_end_is_off_its_terminal_with_the_probe_on_it() {
    for (name, h) in harnesses() {
        let plan = Plan::new(&h);
        for lifted in h.links.iter().filter_map(|link| h.lifted(&link.name)) {
            let (off, free) = (plan.terminal_point(lifted.off), plan.free_end(lifted));
            let link = &h[lifted.link].name;
            assert_eq!(plan.route(lifted.link, None).end(lifted.second), off, "{link} of {name}");
            assert!(
                shape::distance(off, free) > 15.0,
                "{link} of {name} ends {free:?}, not clear of {off:?}"
            );
            let touched = |id| plan.touched(id, Some(lifted));
            assert!(lifted.stands_for.is_none_or(|id| touched(id) == free), "{link} of {name}");
            assert_eq!(touched(lifted.off), off, "the lug itself stays where it is");
        }
    }
    let (_, h) = harnesses().into_iter().find(|(name, _)| name == "two-humbuckers").unwrap();
    let lifted = h.lifted("neck-lead");
    let picture = picture(&h, &Marks { red: h.terminal("neck-pickup.hot"), lifted, ..Marks::default() });
    let tip = Plan::new(&h).free_end(lifted.unwrap());
    let ring = |s: &Shape| matches!(s, Shape::Circle { at, radius: 9.0, stroke: Some(s), .. } if *at == tip && s.ink == Ink::RedProbe);
    assert!(picture.shapes.iter().any(ring), "the red probe is not on the free end");
    assert!(
        picture.about.contains("Red probe: free end of the core of the neck pickup's lead."),
        "{}",
        picture.about
    );
}
