//! The wiring picture: everything in it by name, the probes that a person puts into it, and how it is looked at.

use egui::{Key, Modifiers, Theme};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use lugwise::circuit::{built_in, load};
use lugwise::draw::Sight;
use lugwise::readings::Mode;
use lugwise::session::OwnFolder;
use lugwise::source::Source;
use lugwise::ui::{App, Bench, DeskBench};
use lugwise::workbench::{Ask, View};
use rstest::rstest;

use crate::fake::{Answers, Fake, Log};
use crate::{Window, press, shows, sized, views, window};

const TIP: &str = "Terminal: tip of the plug";
const SLEEVE: &str = "Terminal: sleeve of the plug";
const FIELD: &str = "I measured this";

fn wiring() -> lugwise::circuit::Harness {
    let (name, text) = built_in().iter().find(|(name, _)| *name == "two-humbuckers.ron").unwrap();
    load(&Source::new(*name, *text)).unwrap()
}

fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click_accesskit();
    window.run();
}

fn type_text(window: &mut Window, text: &str) {
    window.event(egui::Event::Text(text.to_owned()));
    window.run();
}

/// Puts the red probe on the plug's tip and the black one on its sleeve.
fn probed(view: View) -> (Window, Log) {
    let (mut window, log) = window(view);
    click(&mut window, TIP);
    click(&mut window, SLEEVE);
    (window, log)
}

fn probes(window: &Window) -> Option<(String, String)> {
    let own = window.state().desk().own_probes.as_ref()?;
    Some((own.measurement.red.clone(), own.measurement.black.clone()))
}

fn pair(red: &str, black: &str) -> Option<(String, String)> {
    Some((red.to_owned(), black.to_owned()))
}

#[test]
fn every_terminal_wire_and_part_has_its_name() {
    let (window, _) = window(views::finding());
    let harness = wiring();
    for terminal in &harness.terminals {
        assert!(shows(&window, &format!("Terminal: {}", terminal.title)), "{}", terminal.name);
    }
    for link in &harness.links {
        let [from, to] = [link.from, link.to].map(|end| harness[end.terminal].title.clone());
        let name = format!("Wire: {}: from {from} to {to}", link.title);
        assert!(shows(&window, &name), "{name}");
    }
    for part in &harness.parts {
        assert!(shows(&window, &format!("Part: {}", part.title)), "{}", part.name);
    }
}

#[test]
fn two_terminals_take_the_red_and_the_black_probe() {
    let (mut window, log) = window(views::finding());
    click(&mut window, TIP);
    assert_eq!(probes(&window), pair("plug.tip", ""));
    assert!(shows(&window, "tip of the plug; your red probe is here"));
    assert!(shows(&window, "press a terminal in the picture"));
    click(&mut window, SLEEVE);
    assert_eq!(probes(&window), pair("plug.tip", "plug.sleeve"));
    assert!(window.get_by_label(FIELD).is_focused(), "what the meter showed can be typed at once");
    click(&mut window, "Swap red and black");
    assert_eq!(probes(&window), pair("plug.sleeve", "plug.tip"));
    press(&mut window, Key::Escape);
    assert_eq!(probes(&window), None);
    assert!(window.get_by_label("What the meter shows").is_focused());
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn what_it_would_read_is_asked_for_the_setting_in_the_panel() {
    let (mut window, log) = probed(views::finding());
    click(&mut window, "Own reading: neck volume at 5");
    click(&mut window, "Own reading: selector at bridge");
    assert!(!shows(&window, "520 kΩ"));
    click(&mut window, "What would this read?");
    assert!(shows(&window, "520 kΩ (410 kΩ to 630 kΩ)"), "the healthy band is not shown");
    let asked = "foretell tip of the plug to sleeve of the plug, pickup toggle at bridge, neck volume at 5, other knobs at 10";
    assert_eq!(log.lines(), [asked]);
    click(&mut window, "Own reading: neck volume at 10");
    assert!(!shows(&window, "520 kΩ"), "what is shown was foretold of another setting");
}

#[test]
fn what_cannot_be_foretold_says_why() {
    let (mut window, _) = probed(views::finding());
    click(&mut window, "Dial at capacitance");
    click(&mut window, "What would this read?");
    assert!(shows(&window, "nothing can be foretold of this"));
}

#[test]
fn a_reading_of_ones_own_is_recorded_with_its_setting() {
    let (mut window, log) = probed(views::finding());
    click(&mut window, "Own reading: neck volume at 0");
    window.get_by_label(FIELD).focus();
    window.run();
    type_text(&mut window, "OL");
    assert!(shows(&window, "Means over range: no path"));
    press(&mut window, Key::Enter);
    let lines = log.lines();
    assert_eq!(lines.len(), 1, "{lines:?}");
    for part in
        ["Record { text: \"OL\"", "red: \"plug.tip\"", "black: \"plug.sleeve\"", "\"neck volume\": Knob(0)"]
    {
        assert!(lines[0].contains(part), "{part} is not in {}", lines[0]);
    }
    assert_eq!(probes(&window), None);
    assert!(window.get_by_label("What the meter shows").is_focused());
}

#[test]
fn a_refused_value_stays_with_its_question() {
    let (mut window, _) = probed(views::finding());
    type_text(&mut window, "7.6");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Type 7.6k for kilohms or 7.6 ohm for ohms"));
    assert_eq!(window.get_by_label(FIELD).value().as_deref(), Some("7.6"));
    assert_eq!(probes(&window), pair("plug.tip", "plug.sleeve"));
}

/// Opens the demonstration job in the real bench and puts the probes on the plug, the dial at this.
fn metered(home: &std::path::Path, dial: &str) -> Window {
    let bench = demonstration(home);
    let mut window = Harness::builder()
        .with_size([1280.0, 800.0])
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(Answers)));
    window.run();
    while window.query_by_label("I have read this").is_some() {
        press(&mut window, Key::Enter);
    }
    for terminal in [TIP, SLEEVE] {
        window.get_all_by_label_contains(terminal).next().unwrap().click_accesskit();
        window.run();
    }
    click(&mut window, dial);
    window.get_by_label(FIELD).focus();
    window.run();
    window
}

/// A number without a unit is asked about, and one in the unit of another dial is refused.
#[rstest]
#[case(
    "Dial at DC volts",
    "9.1",
    "write 9.1 V or 9.1 mV",
    "3mA",
    "\"mA\" is no unit of a voltage",
    "0.2mV",
    Mode::Volts
)]
#[case(
    "Dial at DC milliamperes",
    "3",
    "write 3 mA or 3 uA",
    "3V",
    "\"V\" is no unit of a current",
    "0 mA",
    Mode::Current
)]
#[case(
    "Dial at capacitance",
    "22",
    "write 22p, 22n or 22u",
    "9V",
    "\"V\" is no unit of a capacitance",
    "1.1n",
    Mode::Capacitance
)]
fn every_dial_has_its_own_units(
    #[case] dial: &str,
    #[case] bare: &str,
    #[case] asks: &str,
    #[case] wrong: &str,
    #[case] refuses: &str,
    #[case] right: &str,
    #[case] mode: Mode,
) {
    let home = tempfile::tempdir().unwrap();
    let mut window = metered(home.path(), dial);
    for (text, says) in [(bare, asks), (wrong, refuses)] {
        type_text(&mut window, text);
        press(&mut window, Key::Enter);
        assert!(shows(&window, says), "{text}: {says} is not shown");
        assert!(window.state().bench().view().unwrap().readings.is_empty(), "{text} was recorded");
        window.get_by_label(FIELD).focus();
        window.run();
        text.chars().for_each(|_| press(&mut window, Key::Backspace));
    }
    type_text(&mut window, right);
    press(&mut window, Key::Enter);
    let readings = &window.state().bench().view().unwrap().readings;
    assert_eq!(readings.len(), 1, "{right} was not recorded");
    assert_eq!((readings[0].typed.as_str(), readings[0].measurement.mode), (right, mode));
}

#[test]
fn a_part_that_is_clicked_says_where_it_is_and_what_its_terminals_are() {
    let (mut window, log) = window(views::finding());
    click(&mut window, "Show the whole picture");
    let harness = wiring();
    let part = &harness[harness.part("jack").unwrap()];
    let asked = format!("{}; Where: {}; Terminals: ", part.title, harness[part.place].name);
    assert!(!shows(&window, &asked), "nothing is asked of it yet");
    window.get_by_label(&format!("Part: {}", part.title)).click();
    window.run();
    let told = window.get_by_label_contains(&asked).accesskit_node().value().unwrap();
    for terminal in &part.terminals {
        assert!(told.contains(&harness[*terminal].title), "{told}");
    }
    assert_eq!(probes(&window), None, "no probe is put on a part's body");
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn digits_of_a_value_answer_no_question() {
    let (mut window, log) = probed(View { step: Some(views::question()), ..views::finding() });
    press(&mut window, Key::Num2);
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn nothing_is_read_before_a_caution_is_acknowledged() {
    let (window, _) = probed(views::cautious());
    assert!(shows(&window, "Acknowledge the caution first"));
    assert!(window.get_by_label("What would this read?").accesskit_node().is_disabled());
}

#[test]
fn probes_are_put_with_the_keyboard_alone() {
    let (mut window, _) = window(views::finding());
    for _ in 0..3 {
        press(&mut window, Key::F6);
    }
    press(&mut window, Key::Tab);
    let focused = |window: &Window| {
        let all = window.query_all_by_label_contains("Terminal: ");
        all.filter(egui_kittest::Node::is_focused).find_map(|node| node.accesskit_node().label())
    };
    let anything = window.root().children_recursive().find(|node| node.accesskit_node().is_focused());
    let named = anything.and_then(|node| node.accesskit_node().label());
    let first = focused(&window).unwrap_or_else(|| panic!("Tab goes to {named:?}"));
    press(&mut window, Key::Tab);
    assert!(focused(&window).is_some_and(|next| next != first), "Tab goes to the next terminal");
    window.get_by_label(TIP).focus();
    window.run();
    press(&mut window, Key::Enter);
    assert_eq!(probes(&window), pair("plug.tip", ""));
    let tip = focused(&window).expect("the keyboard stays in the picture");
    let moved = [Key::ArrowLeft, Key::ArrowRight, Key::ArrowUp, Key::ArrowDown].into_iter().any(|key| {
        press(&mut window, key);
        focused(&window).is_some_and(|now| now != tip)
    });
    assert!(moved, "the arrow keys go to another terminal");
}

#[test]
fn the_arrow_keys_go_the_way_they_point() {
    let (mut window, _) = window(views::finding());
    click(&mut window, "Show the whole picture");
    window.get_by_label_contains("wiring of Two humbuckers").focus();
    window.run();
    window.get_by_label(TIP).focus();
    window.run();
    let focused = |window: &Window| {
        let all = window.query_all_by_label_contains("Terminal: ");
        all.filter(egui_kittest::Node::is_focused).map(|node| node.rect().center()).next().unwrap()
    };
    let mut at = focused(&window);
    for _ in 0..6 {
        press(&mut window, Key::ArrowLeft);
        let next = focused(&window);
        assert!(next.x <= at.x + 0.5, "{next:?} is not left of {at:?}");
        at = next;
    }
}

#[test]
fn it_is_seen_from_the_front_and_left_handed_and_that_is_remembered() {
    let (mut window, _) = window(views::finding());
    let place = |window: &Window| window.get_by_label(TIP).rect().center().x;
    click(&mut window, "Show the whole picture");
    let behind = place(&window);
    click(&mut window, "See it from the front");
    assert!(shows(&window, "Wiring, seen from the front"));
    let front = place(&window);
    assert!((front - behind).abs() > 20.0, "{front} and {behind}");
    click(&mut window, "Draw it left-handed");
    assert!(shows(&window, "Wiring, left-handed, seen from the front"));
    assert!((place(&window) - behind).abs() < 1.0, "a left-handed one from the front lies as before");
    window.key_press_modifiers(Modifiers::COMMAND, Key::N);
    window.run();
    window.key_press_modifiers(Modifiers::COMMAND, Key::O);
    window.run();
    assert!(shows(&window, "Wiring, left-handed, seen from the front"), "another job forgets it");
}

#[test]
fn the_keys_of_the_picture_turn_it_over() {
    let (mut window, _) = window(views::finding());
    window.get_by_label_contains("wiring of Two humbuckers").focus();
    window.run();
    press(&mut window, Key::V);
    assert!(shows(&window, "Wiring, seen from the front"));
    press(&mut window, Key::L);
    press(&mut window, Key::V);
    assert!(shows(&window, "Wiring, left-handed, seen from behind"));
}

#[test]
fn it_can_be_done_in_a_small_window() {
    let log = Log::default();
    let mut window = sized(Fake::with(views::finding(), &log), [640.0, 400.0], Theme::Light);
    click(&mut window, "Picture");
    click(&mut window, TIP);
    click(&mut window, SLEEVE);
    click(&mut window, "What would this read?");
    assert!(shows(&window, "520 kΩ"));
}

fn demonstration(home: &std::path::Path) -> DeskBench {
    let mut bench = DeskBench::with_own(home.join("jobs"), OwnFolder::at(home.join("wirings"))).unwrap();
    bench.demonstrate().unwrap();
    bench
}

// Asked by a person or proposed by the program: of one measurement the same is foretold.
#[test]
fn the_program_foretells_of_its_own_step_what_the_step_says() {
    let home = tempfile::tempdir().unwrap();
    let bench = demonstration(home.path());
    let step = bench.view().unwrap().reading_asked().unwrap();
    let Ask::Measure(measurement) = &step.ask else { panic!("a reading is asked for") };
    let told = bench.foretold(measurement).unwrap();
    let words = |step: &lugwise::workbench::StepView| {
        let all = step.predictions.iter().map(|p| (p.sentence.clone(), p.text.clone()));
        (step.healthy.clone(), all.collect::<Vec<_>>())
    };
    assert_eq!(words(&told), words(step));
    assert!(!told.predictions.is_empty());
    let mut senseless = measurement.clone();
    senseless.black.clone_from(&senseless.red);
    assert!(bench.foretold(&senseless).unwrap_err().contains("two terminals"));
}

#[test]
fn the_ticket_is_drawn_as_the_picture_was_looked_at() {
    let home = tempfile::tempdir().unwrap();
    let mut bench = demonstration(home.path());
    let file = home.path().join("ticket.html");
    bench.look_from(Sight { from_front: true, left_handed: true });
    bench.ticket(&file).unwrap();
    let page = std::fs::read_to_string(&file).unwrap();
    assert!(page.contains("left-handed, seen from the front"), "the ticket is seen from elsewhere");
}
