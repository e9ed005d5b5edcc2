//! The laws of the diagram.

use super::super::frame::Area;
use super::super::letters::Letters;
use super::super::{Anchor, Ink, Shape};
use super::diagram::laid_out;
use super::graph::{Graph, What};
use super::marks::Marked;
use super::*;
use crate::source::Source;
use crate::trees::{Then, built_in, load};
use rstest::rstest;

/// Lays a tree out as the window shows it.
fn laid(tree: &Tree, shown: &TreeMarks) -> (Graph, (f32, f32)) {
    laid_out(tree, &Marked::new(tree, shown))
}

/// Returns every tree that comes with the program, and some made ones.
fn trees() -> Vec<Tree> {
    let built_in = built_in().iter().map(|(name, text)| load(&Source::new(*name, *text)).unwrap());
    built_in.chain([made(1, 1), made(40, 3), made(300, 7)]).collect()
}

/// Returns an invented tree: each step leads to the next, to one further on, and to every kind of end.
fn made(steps: usize, jump: usize) -> Tree {
    let step = |at: usize| {
        let to = |next: usize| {
            if next < steps { format!("Step(\"{next}\")") } else { "Advisor".to_owned() }
        };
        let end = match at % 3 {
            0 => "NotTheInstrument",
            1 => "Tree(\"hum\")",
            _ => "Suspect(say: \"the wire from here to there\", at: [\"jack\", \"switch\"])",
        };
        let answer = |word: &str, then: &str| format!("(answer: \"{word}\", means: \"so\", then: {then})");
        let (next, far) = (to(at + 1), to(at + 1 + at % jump));
        let answers = [answer("yes", &next), answer("a little, but not much", &far), answer("no", end)];
        let say = "look at it closely ".repeat(1 + at % 20);
        format!(
            "(name: \"{at}\", say: \"{say}\", why: \"because\", caution: \"unplug\", ask: Look([{}]), cannot: {next}),\n",
            answers.join(", ")
        )
    };
    let steps: String = (0..steps).map(step).collect();
    let text = format!(
        "(format: 1, name: \"made\", title: \"made\", complaint: Hum, start: \"0\", steps: [{steps}])"
    );
    load(&Source::new("made.ron", text)).unwrap()
}

fn marks(tree: &Tree) -> TreeMarks {
    let name = |index: usize| tree.steps.get(index).map(|step| step.name.clone());
    TreeMarks {
        path: name(tree.start).map(|name| (name, Some(0))).into_iter().collect(),
        shares: tree.steps.iter().map(|step| (step.name.clone(), vec![0.6, 0.3, 0.1])).collect(),
        here: name(1),
        passed_over: name(2).into_iter().collect(),
        notes: tree
            .steps
            .iter()
            .map(|step| (step.name.clone(), vec!["past: 7 of 12 jobs".to_owned()]))
            .collect(),
        told: "12 past jobs.".to_owned(),
    }
}

fn area(graph: &Graph, node: usize) -> Area {
    let node = &graph.nodes[node];
    Area { min: node.at, max: (node.at.0 + node.wide, node.at.1 + node.high) }
}

/// Returns how many pairs of boxes and of lines that pass them overlap, found column by column.
fn overlaps(graph: &Graph) -> usize {
    let mut all: Vec<Area> = (0..graph.nodes.len()).map(|node| area(graph, node)).collect();
    all.sort_by(|a, b| a.min.0.total_cmp(&b.min.0).then(a.min.1.total_cmp(&b.min.1)));
    let lies_on = |pair: &&[Area]| {
        let (x, y) = pair[0].overlap(pair[1]);
        pair[0].min.0 == pair[1].min.0 && x > 0.0 && y > 0.0
    };
    let beside = all.windows(2).filter(|pair| pair[1].min.0 > pair[0].min.0 && pair[0].max.0 > pair[1].min.0);
    all.windows(2).filter(lies_on).count() + beside.count()
}

#[test]
fn no_two_boxes_overlap_and_all_lie_inside() {
    for tree in trees() {
        let shown = marks(&tree);
        let printed = laid_out(&tree, &Marked::new(&tree, &shown).with_reasons());
        for (graph, size) in [laid(&tree, &shown), printed] {
            assert_eq!(overlaps(&graph), 0, "{}", tree.name);
            for node in 0..graph.nodes.len() {
                let (min, max) = (area(&graph, node).min, area(&graph, node).max);
                assert!(min.0 > 0.0 && min.1 > 0.0 && max.0 < size.0 && max.1 < size.1, "{}", tree.name);
            }
        }
    }
}

/// Follows a line through the columns it passes to the box where it ends.
fn followed(graph: &Graph, mut link: usize) -> usize {
    let leaving = graph.leaving();
    while graph.nodes[graph.links[link].to].what == What::Bend {
        let on = &leaving[graph.links[link].to];
        assert_eq!(on.len(), 1, "a line parts");
        link = on[0];
    }
    graph.links[link].to
}

#[test]
fn every_way_that_is_shown_leads_to_its_box() {
    for tree in trees().into_iter().filter(|tree| tree.steps.len() < 100) {
        let (graph, _) = laid(&tree, &TreeMarks::default());
        for (index, links) in graph.leaving().into_iter().take(tree.steps.len()).enumerate() {
            let ways: Vec<&Then> = tree.steps[index].ways().collect();
            let last = ways.len() - 1;
            let hidden = usize::from(*ways[last] == Then::Advisor);
            assert_eq!(links.len(), ways.len() - hidden, "{}: {}", tree.name, tree.steps[index].name);
            for (link, way) in links.into_iter().zip(ways) {
                let port = graph.links[link].port;
                assert!(port > 0.0 && port < graph.nodes[index].high, "a way leaves beside its box");
                let what = graph.nodes[followed(&graph, link)].what;
                match way {
                    Then::Step(to) => assert_eq!(what, What::Step(*to)),
                    _ => assert!(matches!(what, What::End(_))),
                }
            }
        }
    }
}

#[test]
fn lines_begin_and_end_on_the_outlines() {
    for tree in trees() {
        let (graph, _) = laid(&tree, &marks(&tree));
        for link in &graph.links {
            let (from, to) = (&graph.nodes[link.from], &graph.nodes[link.to]);
            let piece = way::way(link, from, to);
            let Some(Shape::Polyline { points, .. }) = piece.shapes(Detail::Boxes).first() else {
                panic!("a line is missing");
            };
            let (first, last) = (points[0], points[points.len() - 1]);
            let begins = if from.what == What::Bend { from.at.0 } else { from.at.0 + from.wide };
            assert_eq!(first, (begins, from.at.1 + link.port));
            assert_eq!(last, (to.at.0, to.at.1 + to.entry()));
        }
    }
}

#[rstest]
#[case::in_the_window(Diagram::of)]
#[case::on_paper(Diagram::printed)]
fn words_stay_inside_their_boxes(#[case] laid: fn(&Tree, &TreeMarks) -> Diagram) {
    for tree in trees() {
        let diagram = laid(&tree, &marks(&tree));
        for step in &tree.steps {
            let whole = diagram.box_of(&step.name).unwrap();
            let inside = diagram.within(whole).filter(|piece| piece.area() == whole.grown(14.0));
            let shapes = inside.flat_map(|piece| piece.shapes(Detail::Everything));
            let mut seen = 0;
            for shape in shapes {
                let Shape::Text { at, text, size, anchor, bold, .. } = shape else {
                    continue;
                };
                let wide = Letters { size: *size, bold: *bold }.width(text);
                let left = match anchor {
                    Anchor::Start => at.0,
                    Anchor::End => at.0 - wide,
                    Anchor::Middle => continue,
                };
                assert!(left >= whole.min.0 && left + wide <= whole.max.0, "{text}");
                assert!(at.1 - size / 2.0 >= whole.min.1 && at.1 + size / 2.0 <= whole.max.1, "{text}");
                seen += 1;
            }
            assert!(seen > 2, "the box of {} is empty", step.name);
        }
    }
}

/// Returns the lines of text of a picture one after the other, as one.
fn read(picture: &Picture) -> String {
    let text = |shape: &Shape| match shape {
        Shape::Text { text, .. } => Some(text.clone()),
        _ => None,
    };
    picture.shapes.iter().filter_map(text).collect::<Vec<_>>().join(" ")
}

/// Returns the texts of an SVG document one after the other, as one.
fn drawn_words(drawn: &str) -> String {
    let texts = drawn.split("<text").skip(1);
    let text = texts.filter_map(|rest| rest.split_once('>')?.1.split_once('<').map(|(text, _)| text));
    let joined = text.collect::<Vec<_>>().join(" ");
    [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&apos;", "'"), ("&#39;", "'"), ("&amp;", "&")]
        .iter()
        .fold(joined, |text, (written, meant)| text.replace(written, meant))
}

#[test]
fn on_paper_every_step_has_its_reason_and_every_way_what_it_means() {
    for tree in trees() {
        let shown = TreeMarks::default();
        let window = read(&Diagram::of(&tree, &shown).picture());
        let papers = [drawn_words(&tree_svg(&tree, &shown)), read(&chart(&tree, &shown))];
        for step in &tree.steps {
            let why = format!("Why: {}", step.why);
            assert!(!window.contains(&why), "{}: the window has its own place for it", tree.name);
            assert!(papers.iter().all(|paper| paper.contains(&why)), "{}: {why}", tree.name);
            for (way, means) in words::ways(step).iter().zip(words::meanings(step)) {
                let row = means.map_or_else(|| way.clone(), |means| format!("{way}: {means}"));
                assert!(papers.iter().all(|paper| paper.contains(&row)), "{}: {row}", tree.name);
            }
        }
        assert!(papers.iter().all(|paper| !paper.contains('…')), "{}: words are cut", tree.name);
    }
}

#[test]
fn the_same_tree_gives_the_same_bytes() {
    for tree in trees() {
        assert_eq!(tree_svg(&tree, &marks(&tree)), tree_svg(&tree, &marks(&tree)));
        assert_eq!(as_text(&tree), as_text(&tree));
        let text = tree_svg(&tree, &marks(&tree));
        if let Ok(folder) = std::env::var("LOOK") {
            std::fs::write(format!("{folder}/tree-{}-{}.svg", tree.name, tree.steps.len()), text).unwrap();
        }
    }
}

#[rstest]
#[case::chain(made(10_000, 1))]
#[case::jumps(made(10_000, 50))]
fn ten_thousand_steps_are_laid(#[case] tree: Tree) {
    let diagram = Diagram::of(&tree, &TreeMarks::default());
    assert_eq!(overlaps(&laid(&tree, &TreeMarks::default()).0), 0);
    let seen = diagram.box_of("5000").unwrap();
    let window =
        Area { min: (seen.min.0 - 500.0, seen.min.1 - 400.0), max: (seen.max.0 + 500.0, seen.max.1 + 400.0) };
    let count = diagram.within(window).count();
    assert!((1..2000).contains(&count), "{count} pieces lie in a small window");
}

#[test]
fn a_window_shows_all_that_lies_in_it() {
    let tree = made(300, 7);
    let diagram = Diagram::of(&tree, &marks(&tree));
    let (wide, high) = diagram.size();
    let whole = Area { min: (0.0, 0.0), max: (wide, high) };
    let all: Vec<&Piece> = diagram.within(whole).collect();
    for part in 0_u8..10 {
        let x = wide * f32::from(part) / 10.0;
        let window = Area { min: (x, high / 4.0), max: (x + 700.0, high / 2.0) };
        let touches = |piece: &&&Piece| {
            let (x, y) = piece.area().overlap(window);
            x >= 0.0 && y >= 0.0
        };
        let expected: Vec<&Piece> = all.iter().filter(touches).copied().collect();
        assert_eq!(diagram.within(window).collect::<Vec<_>>(), expected);
    }
}

#[test]
fn the_step_under_a_point_is_found() {
    let tree = made(40, 3);
    let diagram = Diagram::of(&tree, &TreeMarks::default());
    for step in &tree.steps {
        let middle = diagram.box_of(&step.name).unwrap().centre();
        assert_eq!(diagram.step_at(middle), Some(step.name.as_str()));
    }
    assert_eq!(diagram.step_at((1.0, 1.0)), None);
    assert_eq!(diagram.box_of("no such step"), None);
}

/// Returns the widths of the lines that leave the first step, from top to bottom, and whether they are the job's own.
fn lines(tree: &Tree, shown: &TreeMarks) -> Vec<(f32, bool)> {
    let (graph, _) = laid(tree, shown);
    let line = |link: &usize| {
        let link = &graph.links[*link];
        let piece = way::way(link, &graph.nodes[link.from], &graph.nodes[link.to]);
        match piece.shapes(Detail::Boxes) {
            [Shape::Polyline { stroke, .. }] => (stroke.width, stroke.ink == Ink::Needle),
            _ => (0.0, false),
        }
    };
    graph.leaving()[tree.start].iter().map(line).collect()
}

#[test]
fn lines_are_as_thick_as_their_share_and_the_own_way_is_heavier() {
    let tree = made(40, 3);
    let shares = TreeMarks { path: Vec::new(), ..marks(&tree) };
    let plain = lines(&tree, &shares);
    assert!(plain[0].0 > plain[1].0 && plain[1].0 > plain[2].0, "{plain:?}");
    let own = lines(&tree, &marks(&tree));
    assert!(own[0].1 && own[0].0 > plain[0].0 && !own[1].1, "{own:?}");
}

#[test]
fn what_is_marked_is_said_in_words() {
    let tree = made(40, 3);
    let picture = Diagram::of(&tree, &marks(&tree)).picture();
    let texts: Vec<&str> = picture
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Text { text, .. } => Some(text.as_str()),
            _ => None,
        })
        .collect();
    for words in [
        "60 %",
        "you are here",
        "passed over",
        "start",
        "suspect",
        "not the instrument",
        "other tree",
        "past: 7 of 12 jobs",
        "cannot be done: the advisor goes on",
    ] {
        assert!(texts.contains(&words), "{words} is missing");
    }
    assert!(picture.about.contains("Check 1: 0: yes, which leads to 1."), "{}", picture.about);
}

#[test]
fn the_text_names_every_step_and_fits_the_page() {
    for tree in trees() {
        let text = as_text(&tree);
        for (index, step) in tree.steps.iter().enumerate() {
            assert!(text.contains(&format!("\n{}. {}\n", index + 1, step.name)), "{text}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
        let leads = tree.steps.iter().map(|step| step.ways().count()).sum::<usize>();
        assert_eq!(text.lines().filter(|line| line.trim_start().starts_with("-> ")).count(), leads);
    }
}

#[test]
fn the_text_says_below_each_way_what_is_known_of_it() {
    let tree = made(3, 1);
    let text = marked_text(&tree, &marks(&tree));
    assert!(text.contains("    - yes: so\n      (past: 7 of 12 jobs)\n      -> step 2 (1)\n"), "{text}");
    assert_eq!(text.matches("(past: ").count(), 3, "one way of each step has a note: {text}");
    assert!(text.contains("\n12 past jobs.\nBegin with step 1 (0).\n"), "{text}");
    assert!(!as_text(&tree).contains("past"));
}

fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn cautions_are_told_in_full_and_other_guitars_are_told_of() {
    for tree in trees() {
        let text = in_one_line(&as_text(&tree));
        for key in tree.steps.iter().filter_map(|step| step.caution.as_deref()) {
            let says = in_one_line(crate::trees::caution_text(key).unwrap_or_default());
            assert!(!says.is_empty() && text.contains(&format!("Caution: {says}")), "{key} in {}", tree.name);
        }
        let picture = Diagram::of(&tree, &TreeMarks::default()).picture();
        let told =
            |shape: &Shape| matches!(shape, Shape::Text { text, .. } if text.starts_with("Other guitars: "));
        assert_eq!(picture.shapes.iter().any(told), tree.elsewhere.is_some(), "{}", tree.name);
    }
}
