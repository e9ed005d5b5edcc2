//! Work with one key, large targets and a voice.

use std::cell::RefCell;
use std::rc::Rc;

use egui::{Key, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::ui::{App, TARGET, Voice};
use lugwise::workbench::{Stage, View};
use rstest::rstest;

use crate::fake::{Answers, Fake, Log};
use crate::{Window, control, press, shows, sized, type_and_enter, views};

/// A voice that keeps what it was to say.
#[derive(Clone, Default)]
struct Recorded(Rc<RefCell<Vec<String>>>);

impl Voice for Recorded {
    fn say(&mut self, text: &str) {
        self.0.borrow_mut().push(text.to_owned());
    }

    fn hush(&mut self) {
        self.0.borrow_mut().push("(silence)".to_owned());
    }
}

fn speaking(view: View, voice: Option<Recorded>) -> (Window, Log) {
    let log = Log::default();
    let bench = Fake::with(view, &log);
    let voice = voice.map(|voice| Box::new(voice) as Box<dyn Voice>);
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .with_theme(Theme::Light)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(Answers)).with_voice(voice));
    window.run();
    (window, log)
}

fn hands_free(view: View) -> (Window, Log) {
    let (mut window, log) = speaking(view, None);
    control(&mut window, Key::H);
    (window, log)
}

/// Lets more time pass than a second press could take.
fn wait(window: &mut Window) {
    window.run_steps(4);
    window.run();
}

fn tap(window: &mut Window, key: Key) {
    window.key_press(key);
    window.step();
    wait(window);
}

fn hold(window: &mut Window, key: Key) {
    window.key_down(key);
    window.step();
    window.run_steps(5);
    window.key_up(key);
    wait(window);
}

#[rstest]
#[case(Key::PageDown)]
#[case(Key::F13)]
#[case(Key::Space)]
fn one_key_goes_through_the_work(#[case] key: Key) {
    let (mut window, log) = hands_free(views::cautious());
    tap(&mut window, key);
    tap(&mut window, key);
    assert!(shows(&window, "Read the ohms"), "both cautions are confirmed");
    tap(&mut window, key);
    assert_eq!(log.lines().len(), 2, "nothing is recorded while nothing is typed: {:?}", log.lines());
    window.event(egui::Event::Text("7.4k-ol".to_owned()));
    window.run();
    tap(&mut window, if key == Key::Space { Key::PageDown } else { key });
    assert_eq!(
        log.lines().last().map(String::as_str),
        Some(r#"Record { text: "7.4k-ol", measurement: None }"#)
    );
}

#[test]
fn a_blank_is_typed_once_something_is() {
    let (mut window, _) = hands_free(views::finding());
    window.event(egui::Event::Text("7.4k".to_owned()));
    window.event(egui::Event::Text(" ".to_owned()));
    window.event(egui::Event::Text("ol".to_owned()));
    window.run();
    assert_eq!(window.get_by_label("What the meter shows").value().as_deref(), Some("7.4k ol"));
}

#[test]
fn the_pedal_takes_the_verdict_and_closes_what_is_proved() {
    let (mut window, log) = hands_free(views::decided());
    tap(&mut window, Key::PageDown);
    assert!(log.lines()[0].starts_with("Conclude"), "{:?}", log.lines());
    let mut proved = View { stage: Stage::Proving, ..views::finding() };
    proved.proof.iter_mut().for_each(|proof| proof.passed = Some(true));
    let (mut window, log) = hands_free(proved);
    tap(&mut window, Key::PageDown);
    assert_eq!(log.lines(), ["Close(Cured)"]);
}

#[test]
fn two_quick_presses_say_that_it_cannot_be_done() {
    let (mut window, log) = hands_free(views::finding());
    window.key_press(Key::PageDown);
    window.key_press(Key::PageDown);
    window.step();
    wait(&mut window);
    assert_eq!(log.lines(), [r#"Skip { reason: "said to be impossible with the foot switch" }"#]);
}

#[test]
fn a_long_press_shows_the_step_large() {
    let (mut window, log) = hands_free(views::finding());
    hold(&mut window, Key::PageDown);
    assert!(window.query_by_label("Close the large step").is_some());
    assert!(shows(&window, "Red: the plug's tip") && shows(&window, "Move selector to neck"));
    tap(&mut window, Key::PageDown);
    assert!(window.query_by_label("Close the large step").is_none());
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn without_the_switch_the_keys_are_what_they_always_were() {
    let (mut window, log) = speaking(views::cautious(), None);
    tap(&mut window, Key::PageDown);
    assert_eq!(log.lines(), Vec::<String>::new());
    control(&mut window, Key::H);
    control(&mut window, Key::H);
    tap(&mut window, Key::PageDown);
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn what_is_pressed_is_large() {
    let (window, _) = hands_free(views::finding());
    for label in ["Leave hands-free", "Repeat the step", "Undo", "Record", "OL throughout", "Cannot do that…"]
    {
        let height = window.get_by_label(label).rect().height();
        assert!(height >= TARGET - 0.5, "{label} is {height} high");
    }
    let (window, _) = hands_free(views::cautious());
    assert!(window.get_by_label("I have read this").rect().height() >= TARGET - 0.5);
}

#[rstest]
#[case([1280.0, 800.0])]
#[case([1024.0, 700.0])]
#[case([640.0, 400.0])]
fn nothing_is_cut_off(#[case] size: [f32; 2]) {
    let log = Log::default();
    let mut window = sized(Fake::with(views::finding(), &log), size, Theme::Light);
    control(&mut window, Key::H);
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, Vec2::from(size));
    for label in ["What the meter shows", "Record", "Leave hands-free"] {
        let rect = window.get_by_label(label).rect();
        assert!(screen.expand(0.5).contains_rect(rect), "{label} at {rect:?} is not within {size:?}");
    }
}

#[test]
fn steps_and_readings_are_said_aloud() {
    let voice = Recorded::default();
    let (mut window, _) = speaking(views::finding(), Some(voice.clone()));
    assert!(voice.0.borrow().is_empty(), "it is silent until it is asked");
    control(&mut window, Key::R);
    let said = voice.0.borrow().last().cloned().unwrap_or_default();
    assert!(said.contains("Read the ohms between") && said.contains("Move selector to neck"), "{said}");
    type_and_enter(&mut window, "7.6k");
    let said = voice.0.borrow().last().cloned().unwrap_or_default();
    assert!(said.starts_with("seven point six kilo, healthy. "), "{said}");
    let before = voice.0.borrow().len();
    window.run_steps(3);
    assert_eq!(voice.0.borrow().len(), before, "nothing is said twice");
    control(&mut window, Key::R);
    type_and_enter(&mut window, "7.7k");
    assert_eq!(voice.0.borrow().last().map(String::as_str), Some("(silence)"));
}

#[test]
fn the_verdict_is_said_aloud() {
    let voice = Recorded::default();
    let (mut window, _) = speaking(views::decided(), Some(voice.clone()));
    control(&mut window, Key::R);
    let said = voice.0.borrow().last().cloned().unwrap_or_default();
    assert!(said.contains(views::JOINT) && said.contains("eighty three per cent"), "{said}");
}

#[test]
fn without_a_speech_program_it_is_said_on_the_screen() {
    let (mut window, _) = speaking(views::finding(), None);
    control(&mut window, Key::R);
    assert!(shows(&window, "No speech program was found on this computer"));
}

#[rstest]
#[case(Key::F2, "7.6r")]
#[case(Key::F3, "7.6k")]
#[case(Key::Enter, "7.6r")]
fn a_unit_that_cannot_be_meant_is_asked_about_first(#[case] key: Key, #[case] recorded: &str) {
    let (mut window, log) = speaking(views::finding(), None);
    type_and_enter(&mut window, "7.6r");
    assert!(shows(&window, "7.6 Ω, or 7.6 kΩ?") && shows(&window, "It is 7.6 kΩ"));
    assert_eq!(log.lines(), Vec::<String>::new());
    press(&mut window, key);
    assert_eq!(log.lines(), [format!("Record {{ text: \"{recorded}\", measurement: None }}")]);
}

#[test]
fn typing_on_takes_the_question_back() {
    let (mut window, log) = speaking(views::finding(), None);
    type_and_enter(&mut window, "7.6r");
    window.event(egui::Event::Text("x".to_owned()));
    window.run();
    assert!(!shows(&window, "It is 7.6 kΩ"));
    assert_eq!(log.lines(), Vec::<String>::new());
}
