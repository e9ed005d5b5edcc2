//! Authored trees: the four that come with the program, and a folder of wrong ones with their messages.

use std::path::Path;

use lugwise::circuit::{
    CoilSpread, Control, ControlKind, Harness, Part, PartId, PartKind, Place, PlaceId, Position, PotRole,
    Taper, Terminal, TerminalId,
};
use lugwise::readings::{Check, Level, Measurement, Meter, Mode, Said, Setting, Shown, Stand};
use lugwise::source::Source;
use lugwise::trees::{Ask, Expected, Fitted, Outcome, Tree, Walk, built_in, load};
use lugwise::units::{Farads, Henries, Ohms, Seconds};
use lugwise::workbench::Engine;
use proptest::prelude::*;
use rstest::rstest;

/// Only what a tree asks about: parts, terminals and controls; no wires.
struct Bench {
    harness: Harness,
}

impl Bench {
    fn new(name: &str) -> Self {
        let outside = Place {
            name: "outside".to_owned(),
            how: "at the plug".to_owned(),
            open: Seconds::new(0.0),
            outside: true,
        };
        let harness = Harness {
            name: name.to_owned(),
            code: String::new(),
            title: String::new(),
            about: String::new(),
            places: vec![outside],
            parts: vec![],
            terminals: vec![],
            links: vec![],
            controls: vec![],
            near: vec![],
            joint: Ohms::new(0.02),
        };
        let mut bench = Self { harness };
        bench.part("plug", PartKind::Plug, &["tip", "sleeve"]);
        bench.part("jack", PartKind::Jack, &["tip", "sleeve"]);
        bench.part("strings", PartKind::Surface, &["surface"]);
        bench
    }

    fn part(&mut self, name: &str, kind: PartKind, lugs: &[&str]) -> PartId {
        let id = PartId(self.harness.parts.len());
        let terminal = |lug: &&str| Terminal {
            name: format!("{name}.{lug}"),
            part: id,
            lug: (*lug).to_owned(),
            title: format!("{lug} of {name}"),
            place: PlaceId(0),
            grounded_surface: false,
            probe: *lug != "inside",
        };
        let first = self.harness.terminals.len();
        self.harness.terminals.extend(lugs.iter().map(terminal));
        let terminals = (first..first + lugs.len()).map(TerminalId).collect();
        let (name, title) = (name.to_owned(), name.to_owned());
        let at = (0.0, 0.0);
        let part = Part { name, title, kind, place: PlaceId(0), terminals, at, turn: 0.0, pickup: None };
        self.harness.parts.push(part);
        id
    }

    fn coil(&mut self, name: &str) {
        let kind = PartKind::Coil {
            ohms: Ohms::new(6200.0),
            henries: Henries::new(2.5),
            farads: Farads::new(110e-12),
            spread: CoilSpread { ohms: 0.1, henries: 0.1, farads: 0.25 },
        };
        self.part(name, kind, &["hot", "cold", "inside"]);
    }

    fn pot(&mut self, control: &str, part: &str, role: PotRole) {
        let taper = Taper { half: 0.15, spread: 0.3 };
        let kind = PartKind::Pot { ohms: Ohms::new(250e3), tolerance: 0.2, taper, role };
        let part = self.part(part, kind, &["lug1", "lug2", "lug3"]);
        self.harness.controls.push(Control {
            name: control.to_owned(),
            part,
            ganged: Vec::new(),
            kind: ControlKind::Knob,
        });
    }

    fn switch(&mut self, control: &str, positions: &[&str]) {
        let names: Vec<String> = positions.iter().map(|name| (*name).to_owned()).collect();
        let positions = names.iter().map(|name| Position { name: name.clone(), closes: vec![] }).collect();
        let part = self.part(control, PartKind::Switch { positions }, &["t1", "t2", "com"]);
        let kind = ControlKind::Selector(names);
        self.harness.controls.push(Control { name: control.to_owned(), part, ganged: Vec::new(), kind });
    }
}

fn one_pickup() -> Harness {
    let mut bench = Bench::new("one-pickup");
    bench.coil("pickup");
    bench.pot("volume", "volume-pot", PotRole::Volume);
    bench.pot("tone", "tone-pot", PotRole::Tone);
    bench.harness
}

fn two_humbuckers() -> Harness {
    let mut bench = Bench::new("two-humbuckers");
    for name in ["neck", "bridge"] {
        bench.coil(&format!("{name}-pickup"));
        bench.pot(&format!("{name} volume"), &format!("{name}-volume"), PotRole::Volume);
        bench.pot(&format!("{name} tone"), &format!("{name}-tone"), PotRole::Tone);
    }
    bench.switch("selector", &["neck", "both", "bridge"]);
    bench.harness
}

fn at(measurement: &Measurement, control: &str) -> Option<Stand> {
    measurement.setting.0.get(control).cloned()
}

/// Bands around a value, as wide as a pot of 20 % and a coil of 10 % make them.
fn band(ohms: f64) -> Option<(f64, f64, f64)> {
    Some((ohms * 0.89, ohms, ohms * 1.11))
}

/// Jack readings of layout A1a in the trade knowledge base: 6.050 k at full, 32.011 k at half, 0 at zero.
fn one_pickup_reads(measurement: &Measurement) -> Expected {
    let ends = [measurement.red.as_str(), measurement.black.as_str()];
    let healthy = match at(measurement, "volume") {
        _ if !ends.contains(&"plug.tip") => Some((0.0, 0.2, 1.0)),
        Some(Stand::Knob(0)) => Some((0.0, 0.0, 3.0)),
        Some(Stand::Knob(5)) => Some((15e3, 32_011.0, 60e3)),
        _ => band(6050.0),
    };
    Expected { healthy, volume_alone: Some(250e3) }
}

/// Jack readings of layout A2a in the trade knowledge base: neck 7.486 k, both 3.883 k, bridge 8.068 k.
fn two_humbuckers_read(measurement: &Measurement) -> Expected {
    let ends = [measurement.red.as_str(), measurement.black.as_str()];
    let position = at(measurement, "selector").map(|stand| stand.to_string());
    let full = match position.as_deref() {
        Some("neck") => 7486.0,
        Some("bridge") => 8068.0,
        _ => 3883.0,
    };
    let healthy = match at(measurement, "neck volume") {
        _ if !ends.contains(&"plug.tip") => Some((0.0, 0.2, 1.0)),
        Some(Stand::Knob(5)) => Some((30e3, 63e3, 125e3)),
        _ => band(full),
    };
    Expected { healthy, volume_alone: Some(500e3) }
}

fn fitted(tree: &str, humbuckers: bool) -> Fitted {
    let (name, text) = built_in().iter().find(|(name, _)| *name == tree).expect("a tree of this name");
    let tree = load(&Source::new(format!("trees/{name}"), *text)).unwrap_or_else(|error| panic!("{error}"));
    let fitted = if humbuckers {
        tree.fit(&two_humbuckers(), &two_humbuckers_read)
    } else {
        tree.fit(&one_pickup(), &one_pickup_reads)
    };
    fitted.unwrap_or_else(|errors| panic!("{}", errors[0]))
}

fn steady(ohms: f64) -> Shown {
    Shown::Steady(Level::Ohms { value: Ohms::new(ohms), resolution: Ohms::new(ohms / 1000.0) })
}

fn range(low: f64, high: f64) -> Shown {
    let level = |ohms: f64| match ohms.is_finite() {
        true => Level::Ohms { value: Ohms::new(ohms), resolution: Ohms::new(ohms / 1000.0) },
        false => Level::OverRange,
    };
    Shown::Range { low: level(low), high: level(high) }
}

#[rstest]
fn every_tree_fits_both_guitars_and_is_short(
    #[values("silent.ron", "intermittent.ron", "muffled.ron", "hum.ron")] tree: &str,
    #[values(false, true)] humbuckers: bool,
) {
    let fitted = fitted(tree, humbuckers);
    assert!(fitted.tree().steps.len() <= 8);
    assert!(matches!(fitted.start(), Walk::Step(_)));
}

/// The plug, the strings and the controls are outside; nothing else is touched.
#[rstest]
fn every_measurement_stays_outside(
    #[values("silent.ron", "intermittent.ron", "muffled.ron", "hum.ron")] tree: &str,
) {
    for step in &fitted(tree, true).tree().steps {
        if let Ask::Measure(probe) = &step.ask
            && probe.heard().is_none()
        {
            for end in [&probe.red, &probe.black] {
                let outside = ["plug.tip", "plug.ring", "plug.sleeve", "strings.surface"];
                assert!(outside.contains(&end.as_str()), "{end}");
            }
            assert!(step.caution.is_some(), "{}", step.name);
        }
    }
}

/// What the trade says a reading means: common practice, and the single-fault tables of layouts A1a and A2a.
#[rstest]
#[case(false, "all up", steady(250e3), "the pickup's side is open")]
#[case(true, "all up", steady(500e3), "the pickup's side is open")]
#[case(true, "last position", steady(500e3), "the pickup in the last position is open")]
#[case(false, "half way", steady(0.3), "between the volume pot and the plug")]
#[case(false, "half way", steady(31_875.0), "the pickup's side of the volume pot")]
#[case(false, "sleeve to strings", steady(0.4), "the hot way is open")]
#[case(false, "sleeve to strings", Shown::Steady(Level::OverRange), "the ground lead is off at the jack")]
#[case(false, "rock the plug", range(6050.0, f64::INFINITY), "at the jack")]
#[case(false, "rock the plug", range(6050.0, 6400.0), "at the jack")]
fn the_silent_tree_suspects(
    #[case] humbuckers: bool,
    #[case] step: &str,
    #[case] shown: Shown,
    #[case] words: &str,
) {
    let walk = fitted("silent.ron", humbuckers).after_reading(step, &shown);
    assert!(matches!(&walk, Walk::Ended { hint } if hint.contains(words)), "{walk:?}");
}

#[rstest]
#[case(false, "all up", steady(6050.0), "rock the plug")]
#[case(true, "all up", steady(7490.0), "last position")]
#[case(false, "all up", steady(0.2), "half way")]
#[case(false, "all up", Shown::Steady(Level::OverRange), "sleeve to strings")]
fn the_silent_tree_goes_on(
    #[case] humbuckers: bool,
    #[case] step: &str,
    #[case] shown: Shown,
    #[case] next: &str,
) {
    let walk = fitted("silent.ron", humbuckers).after_reading(step, &shown);
    assert_eq!(walk, Walk::Step(next.to_owned()));
}

#[test]
fn a_reading_no_outcome_expects_leaves_the_tree() {
    let walk = fitted("silent.ron", false).after_reading("all up", &steady(20e3));
    let why = "a value between the plain cases: a poor joint or a part that has changed".to_owned();
    assert_eq!(walk, Walk::Left { why });
}

#[test]
fn a_steady_flexed_reading_is_not_unstable() {
    let tree = fitted("silent.ron", false);
    let walk = tree.after_reading("rock the plug", &range(6040.0, 6060.0));
    assert!(matches!(walk, Walk::Left { why } if why.contains("the jack holds")));
}

#[test]
fn answers_lead_on_and_a_step_that_cannot_be_done_is_passed() {
    let tree = fitted("intermittent.ron", false);
    assert_eq!(tree.start(), Walk::Step("another cable".to_owned()));
    assert!(
        matches!(tree.after_answer("another cable", 0), Walk::Ended { hint } if hint.starts_with("not the instrument"))
    );
    assert_eq!(tree.after_answer("another cable", 1), Walk::Step("rock the plug".to_owned()));
    assert!(matches!(tree.after_answer("another cable", 9), Walk::Left { .. }));
    assert_eq!(tree.after_cannot("another cable"), Walk::Step("rock the plug".to_owned()));
    assert!(matches!(tree.after_cannot("rock the volume"), Walk::Left { .. }));
}

#[test]
fn a_guitar_without_a_switch_passes_over_the_switch() {
    let without = fitted("intermittent.ron", false);
    assert_eq!(without.after_cannot("rock the plug"), Walk::Step("rock the volume".to_owned()));
    assert!(without.step("rock the switch").is_none());
    let with = fitted("intermittent.ron", true);
    assert_eq!(with.after_cannot("rock the plug"), Walk::Step("rock the switch".to_owned()));
    assert_eq!(with.measurement("rock the switch").unwrap().flex.as_deref(), Some("selector"));
}

#[test]
fn settings_are_told_by_role() {
    let measurement = fitted("muffled.ron", true).measurement("tone down").unwrap();
    let stands: Vec<String> =
        measurement.setting.0.iter().map(|(name, stand)| format!("{name} {stand}")).collect();
    assert_eq!(
        stands,
        ["bridge tone 0", "bridge volume 10", "neck tone 0", "neck volume 10", "selector neck"]
    );
    let last = fitted("silent.ron", true).measurement("last position").unwrap();
    assert_eq!(at(&last, "selector"), Some(Stand::At("bridge".to_owned())));
}

/// Returns every reading step of a fitted tree.
fn reading_steps(fitted: &Fitted) -> Vec<String> {
    let names = fitted.tree().steps.iter().map(|step| step.name.clone());
    let reads = |name: &String| {
        fitted.measurement(name).is_some_and(|measurement| !matches!(measurement.mode, Mode::Observe(_)))
    };
    names.filter(reads).collect()
}

/// Every tree can be worked through on every wiring that comes with the program and that it is for.
#[test]
fn every_tree_fits_every_wiring() {
    let trees: Vec<Tree> = built_in()
        .iter()
        .map(|(name, text)| load(&Source::new(format!("trees/{name}"), *text)).unwrap())
        .collect();
    let mut started = 0;
    for (name, text) in lugwise::circuit::built_in() {
        let engine = Engine::new(&Source::new(*name, *text), Meter::ordinary(), &trees)
            .unwrap_or_else(|error| panic!("{name}: {error:?}"));
        for tree in &engine.trees {
            assert!(matches!(tree.start(), Walk::Step(_)), "{name}: {} has no step", tree.tree().name);
            started += 1;
        }
    }
    assert!(started > 60, "{started}");
}

/// A kill switch or the plug selects nothing: a tree that puts the switches last leaves both alone.
#[rstest]
#[case("two-humbuckers.ron", "selector", "bridge")]
#[case("shorting-kill-switch.ron", "kill switch", "released")]
#[case("breaking-kill-switch.ron", "kill switch", "released")]
#[case("active-volume-after-preamp.ron", "plug", "two-contact")]
fn only_what_selects_is_among_the_switches(#[case] file: &str, #[case] control: &str, #[case] stand: &str) {
    let text = include_str!("../bad_trees/overlap_with_healthy.ron")
        .replace("\"knobs\": 10", "\"switches\": \"last\"");
    let tree = load(&Source::new("last.ron", text.as_str())).unwrap();
    let (name, wiring) = lugwise::circuit::built_in().iter().find(|(name, _)| *name == file).unwrap();
    let harness = lugwise::circuit::load(&Source::new(*name, *wiring)).unwrap();
    let far = |_: &Measurement| Expected { healthy: band(25e3), volume_alone: None };
    let measurement = tree.fit(&harness, &far).unwrap().measurement("all up").unwrap();
    assert_eq!(at(&measurement, control), Some(Stand::At(stand.to_owned())));
}

proptest! {
    /// A tree with one word, bracket or number spoilt is loaded or refused at a place in its text; nothing else.
    #[test]
    fn a_spoilt_tree_is_loaded_or_refused_in_its_text(
        at in 0.0..1.0_f64,
        length in 0_usize..12,
        put in "[a-zA-Z0-9(){}:,\"\\[\\] ]{0,4}",
    ) {
        let (name, text) = built_in()[(at * 4096.0) as usize % built_in().len()];
        let letters: Vec<char> = text.chars().collect();
        let start = (letters.len() as f64 * at) as usize;
        let rest = letters.iter().skip(start + length);
        let spoilt: String = letters[..start].iter().copied().chain(put.chars()).chain(rest.copied()).collect();
        if let Err(error) = load(&Source::new(name, spoilt.as_str())) {
            prop_assert!(error.line >= 1 && error.line <= spoilt.split('\n').count(), "{error}");
            prop_assert!(!error.message.is_empty());
        }
    }

    /// The law behind the checks for gaps and overlaps: a fitted tree knows an outcome for every reading.
    #[test]
    fn every_reading_has_an_outcome(exponent in -2.0..8.0_f64, spread in 0.0..0.5_f64, humbuckers: bool) {
        let ohms = 10.0_f64.powf(exponent);
        let shown = [
            steady(0.0),
            steady(ohms),
            Shown::Steady(Level::OverRange),
            range(ohms, ohms * (1.0 + spread)),
            range(ohms, f64::INFINITY),
        ];
        let harness = if humbuckers { two_humbuckers() } else { one_pickup() };
        let trees = built_in().iter().map(|(name, text)| (name, load(&Source::new(*name, *text)).unwrap()));
        for (name, _) in trees.filter(|(_, tree)| tree.applies(&harness)) {
            let fitted = fitted(name, humbuckers);
            for step in reading_steps(&fitted) {
                for shown in &shown {
                    prop_assert!(fitted.outcome(&step, shown).is_some(), "{name}, {step}: {shown:?}");
                }
            }
        }
    }
}

fn complaint(path: &Path) -> String {
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    let source = Source::new(name, std::fs::read_to_string(path).expect("a readable tree"));
    let fit = |tree: Tree| tree.fit(&one_pickup(), &one_pickup_reads).err().unwrap_or_default();
    let errors = load(&source).map_or_else(|error| vec![error], fit);
    errors.iter().map(|error| format!("{error}\n")).collect()
}

#[rstest]
fn every_bad_tree_is_refused_with_its_message(#[files("tests/bad_trees/*.ron")] path: std::path::PathBuf) {
    let expected = std::fs::read_to_string(path.with_extension("txt")).expect("the message beside the tree");
    assert_eq!(complaint(&path), expected);
}

/// A tree of one step that listens, and two ends that name its answers.
fn listening(check: &str, about: &str) -> Tree {
    let way =
        |word: &str| format!("{word}: (means: \"{word}\", then: Suspect(say: \"{word}\", at: [\"volume\"]))");
    let hear = format!(
        "Hear(check: {check}, set: {{\"switches\": \"last\"}}, {about} {}, {})",
        way("yes"),
        way("no")
    );
    let text = format!(
        "(format: 1, name: \"ear\", title: \"Ear\", complaint: VolumeOpen, start: \"ear\", steps: [(name: \"ear\", \
         say: \"Listen.\", why: \"To know.\", ask: {hear}, cannot: NotTheInstrument)])"
    );
    load(&Source::new("ear.ron", text)).unwrap_or_else(|error| panic!("{error}"))
}

#[rstest]
#[case("Closes", "about: \"volume\",", Check::Closes, Some("neck volume"))]
#[case("Closes", "about: \"bridge volume\",", Check::Closes, Some("bridge volume"))]
#[case("ToneActs", "about: \"tone\",", Check::ToneActs, Some("neck tone"))]
#[case("Crackles", "about: \"selector\",", Check::Crackles, Some("selector"))]
#[case("Tap", "about: \"bridge-pickup\",", Check::Tap, Some("bridge-pickup"))]
#[case("Sound", "", Check::Sound, None)]
fn a_step_that_listens_is_an_observation(
    #[case] word: &str,
    #[case] named: &str,
    #[case] check: Check,
    #[case] about: Option<&str>,
) {
    let harness = two_humbuckers();
    let fitted = listening(word, named).fit(&harness, &two_humbuckers_read).unwrap();
    let setting = Setting::reference(&harness).with("selector", Stand::At("bridge".to_owned()));
    let expected = Measurement {
        mode: Mode::Observe(check),
        about: about.map(str::to_owned),
        ..Measurement::ohms("", "", setting)
    };
    assert_eq!(fitted.measurement("ear"), Some(expected));
}

#[test]
fn what_is_heard_leads_on_and_what_cannot_be_told_is_passed() {
    let fitted = listening("Sound", "").fit(&one_pickup(), &one_pickup_reads).unwrap();
    let ended = |hint: &str| Walk::Ended { hint: hint.to_owned() };
    let after = |said: Said| fitted.after_reading("ear", &Shown::Said(said));
    assert_eq!((after(Said::Yes), after(Said::No)), (ended("yes"), ended("no")));
    assert_eq!(after(Said::CannotTell), fitted.after_cannot("ear"));
    assert!(
        matches!(after(Said::CannotTell), Walk::Ended { hint } if hint.starts_with("not the instrument"))
    );
    let ways = [Said::Yes, Said::No, Said::CannotTell].map(|said| fitted.taken_by(0, &Shown::Said(said)));
    assert_eq!(ways, [Some(0), Some(1), Some(2)]);
}

#[test]
fn a_step_that_listens_to_a_control_the_guitar_lacks_is_passed_over() {
    let fitted = listening("Crackles", "about: \"selector\",").fit(&one_pickup(), &one_pickup_reads).unwrap();
    assert_eq!(fitted.measurement("ear"), None);
    assert!(matches!(fitted.start(), Walk::Ended { .. }));
}

/// A small tree with steps one after another.
fn chain(steps: usize) -> String {
    let step = |at: usize| {
        let then = if at + 1 < steps { format!("Step(\"{}\")", at + 1) } else { "Advisor".to_owned() };
        let answer = format!("(answer: \"yes\", means: \"go on\", then: {then})");
        format!("(name: \"{at}\", say: \"look\", why: \"because\", ask: Look([{answer}])),\n")
    };
    let steps: String = (0..steps).map(step).collect();
    format!("(format: 1, name: \"long\", title: \"long\", complaint: Hum, start: \"0\", steps: [{steps}])")
}

/// The steps are counted before anything else is done with them.
#[test]
fn a_tree_of_too_many_steps_is_refused_where_they_begin() {
    let error = load(&Source::new("long.ron", chain(20_001))).unwrap_err();
    assert_eq!(error.message, "the tree has 20001 steps; it may have 20000");
    assert!(error.line == 1 && error.column > 70, "{error}");
    assert!(load(&Source::new("ask.ron", chain(2).replace("look", &"ask ".repeat(30_000)))).is_ok());
}

#[test]
fn a_reading_near_zero_is_said_in_words() {
    let (_, text) = built_in()[0];
    let tree = load(&Source::new("silent.ron", text)).unwrap();
    let Some(Ask::Measure(probe)) = tree.step("all up").map(|step| &step.ask) else { panic!("no reading") };
    let said: Vec<String> = probe.outcomes.iter().map(Outcome::says).collect();
    assert!(said.contains(&"Near zero".to_owned()), "{said:?}");
}

#[test]
fn a_long_tree_needs_no_deep_stack() {
    let tree = load(&Source::new("long.ron", chain(10_000))).unwrap();
    assert_eq!(tree.steps.len(), 10_000);
}
