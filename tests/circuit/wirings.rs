//! The wirings that come with the program load; a folder of bad ones is refused, each with its own words.

use lugwise::circuit::{ControlKind, Harness, LinkId, LinkKind, PartKind, TerminalId, built_in, load};
use lugwise::prediction::Model;
use lugwise::source::{Located, Source};
use proptest::prelude::*;
use rstest::rstest;
use std::collections::BTreeSet;
use std::path::Path;

fn read(name: &str, text: &str) -> Result<Harness, String> {
    let lines = |errors: Vec<Located>| errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
    load(&Source::new(name, text)).map_err(lines)
}

fn wiring(name: &str) -> Harness {
    let (file, text) = built_in().iter().find(|(file, _)| *file == name).expect("a built-in wiring");
    read(file, text).unwrap_or_else(|errors| panic!("{errors}"))
}

const FOUR_KNOBS: &[&str] = &["neck volume", "bridge volume", "neck tone", "bridge tone", "selector"];

fn all() -> impl Iterator<Item = Harness> {
    built_in().iter().map(|(file, _)| wiring(file))
}

#[test]
fn every_wiring_has_its_own_name_code_and_file_in_the_order_of_the_codes() {
    let number = |code: &str| -> (u32, String) {
        let digits: String = code.chars().filter(char::is_ascii_digit).collect();
        (digits.parse().unwrap(), code.trim_start_matches(|c: char| !c.is_ascii_lowercase()).to_owned())
    };
    let codes: Vec<(u32, String)> = all().map(|harness| number(&harness.code)).collect();
    assert!(codes.windows(2).all(|pair| pair[0] < pair[1]), "{codes:?}");
    for (harness, (file, _)) in all().zip(built_in()) {
        assert_eq!(*file, format!("{}.ron", harness.name));
        assert!(!harness.title.is_empty() && harness.about.ends_with('.'), "{}", harness.name);
    }
    let titles: BTreeSet<String> = all().map(|harness| harness.title).collect();
    assert_eq!(titles.len(), built_in().len());
}

#[test]
fn every_fault_of_a_wiring_has_its_own_id_and_sentence() {
    for harness in all() {
        let model = Model::new(harness);
        let faults = &model.catalogue.faults;
        let mut told = BTreeSet::new();
        for fault in faults {
            let name = &model.harness.name;
            assert!(told.insert(&fault.id), "{name}: {} twice", fault.id);
            assert!(told.insert(&fault.sentence), "{name}: {} twice", fault.sentence);
        }
        let total: f64 = faults.iter().map(|fault| fault.prior).sum();
        assert!((total - 1.0).abs() < 1e-9, "{}: {total}", model.harness.name);
    }
}

/// A short that joins nothing to nothing is no fault, so it is no near pair either.
#[test]
fn near_pairs_lie_on_wired_parts_and_are_named_once() {
    for harness in all() {
        let wired = |id: TerminalId| {
            harness.links.iter().any(|link| link.from.terminal == id || link.to.terminal == id)
        };
        let mut pairs = BTreeSet::new();
        for near in &harness.near {
            let (a, b) = (&harness[near.a].name, &harness[near.b].name);
            assert!(wired(near.a) || wired(near.b), "{}: {a} and {b}", harness.name);
            assert!(pairs.insert((a.min(b).clone(), a.max(b).clone())), "{}: {a} and {b}", harness.name);
        }
    }
}

/// Every hot lug of a pot in use can touch its own case.
#[test]
fn every_pot_can_touch_its_own_case() {
    for harness in all() {
        for part in harness.parts.iter().filter(|part| matches!(part.kind, PartKind::Pot { .. })) {
            let case = harness.terminal(&format!("{}.case", part.name)).unwrap();
            let near = harness.near.iter().filter(|near| near.a == case || near.b == case);
            assert!(near.count() >= 2, "{}: {}", harness.name, part.name);
        }
    }
}

#[rstest]
#[case("one-pickup", "A1a", &["volume", "tone"])]
#[case("two-humbuckers", "A2a", FOUR_KNOBS)]
#[case("one-pickup-output-tone", "A1b", &["volume", "tone"])]
#[case("two-humbuckers-output-tone", "A2b", FOUR_KNOBS)]
#[case("two-humbuckers-independent", "A2c", FOUR_KNOBS)]
#[case("two-humbuckers-independent-output-tone", "A2d", FOUR_KNOBS)]
#[case("three-single-coils", "A4", &["middle tone", "selector", "volume", "neck tone"])]
#[case("humbucker-and-two-single-coils", "A5", &["selector", "coil split", "volume", "tone"])]
#[case("bass-two-volumes", "A6a", &["neck volume", "bridge volume", "tone"])]
#[case("bass-two-independent-volumes", "A6b", &["tone", "neck volume", "bridge volume"])]
#[case("bass-split-coil", "A7", &["volume", "tone"])]
#[case("series-split-parallel", "A9a", &["coil mode", "phase", "selector", "volume", "tone"])]
#[case("two-pickups-in-series", "A9b", &["selector", "volume", "tone"])]
#[case("one-humbucker-volume", "A14a", &["volume"])]
#[case("one-pickup-direct", "A14b", &[])]
fn built_in_wirings_load(#[case] name: &str, #[case] code: &str, #[case] controls: &[&str]) {
    let harness = wiring(&format!("{name}.ron"));
    assert_eq!((harness.name.as_str(), harness.code.as_str()), (name, code));
    let names: Vec<&str> = harness.controls.iter().map(|control| control.name.as_str()).collect();
    assert_eq!(names, controls);
}

#[test]
fn names_are_unique_and_ids_agree() {
    for harness in all() {
        let names: BTreeSet<&str> = harness.terminals.iter().map(|terminal| terminal.name.as_str()).collect();
        assert_eq!(names.len(), harness.terminals.len());
        let titles: BTreeSet<&str> =
            harness.terminals.iter().map(|terminal| terminal.title.as_str()).collect();
        assert_eq!(titles.len(), harness.terminals.len());
        for (index, part) in harness.parts.iter().enumerate() {
            for id in &part.terminals {
                assert_eq!(harness[*id].part.0, index);
                assert_eq!(harness[*id].name, format!("{}.{}", part.name, harness[*id].lug));
            }
        }
    }
}

#[test]
fn every_control_moves_a_part() {
    for harness in all() {
        for control in &harness.controls {
            match (&control.kind, &harness[control.part].kind) {
                (ControlKind::Knob, PartKind::Pot { .. }) => {}
                (ControlKind::Selector(names), PartKind::Switch { positions }) => {
                    assert!(names.iter().eq(positions.iter().map(|position| &position.name)));
                }
                // The contacts of the plug, where the jack has a ring.
                (ControlKind::Selector(names), PartKind::Plug) => assert_eq!(names.len(), 2),
                (kind, part) => panic!("{kind:?} moves {part:?}"),
            }
        }
    }
}

#[test]
fn every_braid_surrounds_a_core() {
    for harness in all() {
        for link in harness.links.iter().filter(|link| link.kind == LinkKind::Braid) {
            let core = &harness[link.around.expect("a core")];
            assert_eq!(core.kind, LinkKind::Wire);
        }
    }
}

#[rstest]
#[case("one-pickup.ron", "volume.lug3", "input lug (lug 3) of the volume pot")]
#[case("one-pickup.ron", "volume.lug1", "ground lug (lug 1) of the volume pot")]
#[case("one-pickup.ron", "tone.lug2", "wiper lug (lug 2) of the tone pot")]
#[case("one-pickup.ron", "plug.tip", "tip of the plug")]
#[case("two-humbuckers.ron", "neck-volume.lug2", "output lug (lug 2) of the neck volume pot")]
#[case("two-humbuckers-independent.ron", "neck-volume.lug2", "input lug (lug 2) of the neck volume pot")]
#[case("two-humbuckers-independent.ron", "neck-volume.lug3", "output lug (lug 3) of the neck volume pot")]
#[case("two-single-coils.ron", "volume.lug3", "input lug (lug 3) of the volume pot")]
#[case("series-split-parallel.ron", "volume.lug2", "output lug (lug 2) of the volume pot")]
#[case("active-volume-after-preamp.ron", "volume.lug3", "input lug (lug 3) of the volume pot")]
#[case("active-volume-before-preamp.ron", "volume.lug2", "output lug (lug 2) of the volume pot")]
#[case("active-volume-before-preamp.ron", "preamp.minus", "minus pad of the preamp")]
#[case("blend-grounded-lugs.ron", "volume.lug3", "input lug (lug 3) of the volume pot")]
#[case("blend-grounded-lugs.ron", "blend-neck.lug2", "wiper lug (lug 2) of the neck gang of the blend pot")]
#[case("piezo-with-preamp.ron", "battery.plus", "plus stud of the battery")]
#[case("two-humbuckers.ron", "selector.common", "common lug of the pickup toggle")]
#[case("two-humbuckers.ron", "strings.surface", "strings, bridge and tailpiece")]
fn terminals_are_called_by_what_they_do(#[case] file: &str, #[case] name: &str, #[case] title: &str) {
    let harness = wiring(file);
    let id = harness.terminal(name).expect("the terminal");
    assert_eq!(harness[id].title, title);
}

/// The nets of domain tables A1a and A2a, computed from the wires alone: common practice, no source.
#[rstest]
#[case("one-pickup.ron", "plug.tip", &["jack.tip", "plug.tip", "volume.lug2"])]
#[case("one-pickup.ron", "pickup.hot", &["pickup.hot", "tone.lug2", "volume.lug3"])]
#[case("one-pickup.ron", "tone.lug1", &["tone-cap.a", "tone.lug1"])]
#[case("one-pickup.ron", "plug.sleeve", &[
    "jack.sleeve", "pickup.cold", "plug.sleeve", "shield.surface", "strings.surface", "tone-cap.b", "tone.case",
    "volume.case", "volume.lug1",
])]
#[case("two-humbuckers.ron", "plug.tip", &["jack.tip", "plug.tip", "selector.common"])]
#[case("two-humbuckers.ron", "neck-pickup.hot", &["neck-pickup.hot", "neck-tone.lug2", "neck-volume.lug3"])]
#[case("two-humbuckers.ron", "bridge-pickup.hot", &["bridge-pickup.hot", "bridge-tone.lug2", "bridge-volume.lug3"])]
#[case("two-humbuckers.ron", "selector.neck", &["neck-volume.lug2", "selector.neck"])]
#[case("two-humbuckers.ron", "selector.bridge", &["bridge-volume.lug2", "selector.bridge"])]
#[case("two-humbuckers.ron", "bridge-tone.lug1", &["bridge-tone-cap.a", "bridge-tone.lug1"])]
#[case("two-humbuckers.ron", "plug.sleeve", &[
    "bridge-cover.surface", "bridge-pickup.cold", "bridge-screen.surface", "bridge-tone-cap.b", "bridge-tone.case",
    "bridge-volume.case", "bridge-volume.lug1", "control-cavity.surface", "jack.sleeve", "neck-cover.surface",
    "neck-pickup.cold", "neck-screen.surface", "neck-tone-cap.b", "neck-tone.case", "neck-volume.case",
    "neck-volume.lug1", "plug.sleeve", "selector.frame", "strings.surface", "switch-cavity.surface",
])]
fn nets_are_those_of_the_layout(#[case] file: &str, #[case] start: &str, #[case] net: &[&str]) {
    let harness = wiring(file);
    let ends = |link: &lugwise::circuit::Link| {
        [link.from.terminal, link.to.terminal].map(|id| harness[id].name.clone())
    };
    let mut edges: Vec<[String; 2]> = harness.links.iter().map(ends).collect();
    edges.extend(["tip", "sleeve"].map(|contact| [format!("jack.{contact}"), format!("plug.{contact}")]));
    let mut found = BTreeSet::from([start.to_owned()]);
    while let Some(edge) = edges.iter().find(|[a, b]| found.contains(a) != found.contains(b)) {
        found.extend(edge.clone());
    }
    assert!(found.iter().eq(net), "{found:?}");
}

/// Every ground has one way only, so that each of its faults shows on the meter.
#[test]
fn the_wires_form_no_loop() {
    for harness in all() {
        let mut net: Vec<usize> = (0..harness.terminals.len()).collect();
        for link in &harness.links {
            let (a, b) = (net[link.from.terminal.0], net[link.to.terminal.0]);
            assert_ne!(a, b, "{} closes a loop", link.name);
            net.iter_mut().filter(|id| **id == a).for_each(|id| *id = b);
        }
    }
}

#[test]
fn the_small_wiring_that_the_bad_files_are_made_from_is_good() {
    let harness = read("small_wiring.ron", include_str!("../small_wiring.ron")).unwrap();
    assert_eq!(harness.parts.len(), 6);
    let braid = harness.links.iter().find(|link| link.kind == LinkKind::Braid).unwrap();
    assert_eq!(braid.around, Some(LinkId(0)));
    let hot = harness.terminal("pickup.hot").unwrap();
    assert!(!harness[hot].probe);
}

/// Each `NAME.ron` of the folder is refused with exactly the words of `NAME.txt`, which were written by hand.
#[test]
fn bad_files_are_refused_with_their_own_words() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_wirings");
    let mut files: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.retain(|file| file.extension().is_some_and(|end| end == "ron"));
    assert!(files.len() >= 20, "only {} bad files", files.len());
    let mut wrong = Vec::new();
    for file in files {
        let name = file.file_name().unwrap().to_str().unwrap();
        let expected = std::fs::read_to_string(file.with_extension("txt")).unwrap();
        let found = match read(name, &std::fs::read_to_string(&file).unwrap()) {
            Ok(_) => "accepted".to_owned(),
            Err(errors) => errors,
        };
        if found != expected.trim_end() {
            wrong.push(format!("{name} expected:\n{expected}found:\n{found}\n"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What is wrong in a block is said once, where it is written.
#[rstest]
#[case("hot: \"selector.b3\"", "hot: \"selectr.b3\"", "selectr.b3")]
#[case(
    "lead: Pair, hot: \"selector.a1\", ground: \"volume.case\"",
    "lead: Pair, hot: \"selector.a1\", ground: \"volume.lid\"",
    "volume.lid"
)]
#[case("feed: \"volume.in\"", "feed: \"volume.inn\"", "volume.inn")]
#[case("touches: [\"selector.a0\"", "touches: [\"selector.a9\"", "selector.a9")]
#[case("lead_place: \"under the guard\"", "lead_place: \"under the bed\"", "under the bed")]
#[case("ohms: \"6.6k\"", "ohms: \"6.6\"", "6.6\"")]
#[case("capacitor: \"47n\"", "capacitor: \"47\"", "47\"")]
fn mistakes_in_blocks_are_said_where_they_are_written(
    #[case] right: &str,
    #[case] wrong: &str,
    #[case] written: &str,
) {
    let text = include_str!("../../assets/wirings/two-single-coils.ron");
    assert!(text.contains(right));
    let text = text.replacen(right, wrong, 1);
    let line = text.lines().position(|line| line.contains(wrong)).unwrap();
    let column = text.lines().nth(line).unwrap().find(&format!("\"{written}")).unwrap();
    let found = load(&Source::new("a.ron", text.as_str())).unwrap_err();
    let places: Vec<_> = found.iter().map(|located| (located.line, located.column)).collect();
    assert_eq!(places, [(line + 1, column + 1)], "{found:#?}");
}

proptest! {
    /// A damaged file is refused or read; it never stops the program.
    #[test]
    fn damaged_files_do_no_harm(from in 0_usize..2600, length in 0_usize..40, patch in "[(){}\\[\\]:,\"a-z0-9. ]{0,6}") {
        let text = include_str!("../small_wiring.ron");
        let start = from.min(text.len());
        let end = (start + length).min(text.len());
        let damaged = format!("{}{patch}{}", &text[..start], &text[end..]);
        if let Err(errors) = load(&Source::new("damaged.ron", damaged.as_str())) {
            prop_assert!(!errors.is_empty());
            prop_assert!(errors.iter().all(|error| error.line <= damaged.lines().count() + 1));
        }
    }
}
