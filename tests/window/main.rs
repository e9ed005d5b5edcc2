//! Drives the window by its accessibility labels, over a bench without an engine.

#![cfg(feature = "gui")]

mod access;
mod audit;
mod beside;
mod fake;
mod gallery;
mod hands_free;
mod own;
mod paper;
mod past;
mod past_files;
mod picture;
mod step;
mod telephone;
mod practice;
mod trees;
mod undo;
mod views;

use egui::{Key, Modifiers, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use fake::{Answers, Fake, Log};
use lugwise::ui::App;
use lugwise::workbench::{MaskedView, View};
use rstest::rstest;

type Window = Harness<'static, App>;

fn sized(bench: Fake, size: [f32; 2], theme: Theme) -> Window {
    let mut window = Harness::builder()
        .with_size(Vec2::from(size))
        .with_theme(theme)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(Answers)));
    window.run();
    window
}

fn window(view: View) -> (Window, Log) {
    let log = Log::default();
    (sized(Fake::with(view, &log), [1280.0, 800.0], Theme::Light), log)
}

fn first_screen() -> (Window, Log) {
    let log = Log::default();
    (sized(Fake::empty(&log), [1280.0, 800.0], Theme::Light), log)
}

fn type_and_enter(window: &mut Window, text: &str) {
    window.event(egui::Event::Text(text.to_owned()));
    window.run();
    window.key_press(Key::Enter);
    window.run();
}

fn press(window: &mut Window, key: Key) {
    window.key_press(key);
    window.run();
}

fn control(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    window.run();
}

fn shows(window: &Window, text: &str) -> bool {
    window.query_all_by_label_contains(text).next().is_some()
}

#[test]
fn an_empty_form_is_refused_beside_each_field() {
    let (mut window, log) = first_screen();
    window.get_by_label("Start the job").click();
    window.run();
    for text in
        ["Choose the wiring", "Give the instrument a name", "What does the customer say", "Tick at least one"]
    {
        assert!(shows(&window, text), "{text} is not shown");
    }
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn a_filled_form_starts_a_job() {
    let (mut window, log) = first_screen();
    window.get_by_label("Two humbuckers, two volumes, two tones, three-way toggle").click();
    window.run();
    window.get_by_label("Instrument").focus();
    window.get_by_label("Instrument").type_text("loan guitar");
    window.run();
    window.get_by_label("Complaint, in the customer's words").focus();
    window.get_by_label("Complaint, in the customer's words").type_text("it hums");
    window.run();
    assert!(shows(&window, "2026-03-02 loan guitar.job"), "the place of the job file is not shown");
    control(&mut window, Key::Enter);
    assert_eq!(log.lines(), ["start two-humbuckers loan guitar"]);
    assert!(window.get_by_label("What the meter shows").is_focused());
}

#[test]
fn what_the_form_cannot_do_is_said_beside_it() {
    let (mut window, _) = first_screen();
    window.get_by_label("One pickup, volume and tone").click();
    window.get_by_label("Hum or buzz").click();
    window.run();
    for (field, text) in [("Instrument", "unwritable"), ("Complaint, in the customer's words", "odd")] {
        window.get_by_label(field).focus();
        window.get_by_label(field).type_text(text);
        window.run();
    }
    window.get_by_label("Start the job").click();
    window.run();
    assert!(shows(&window, "the folder is read-only"));
    assert_eq!(window.get_by_label("Instrument").value().as_deref(), Some("unwritable"));
}

#[test]
fn an_opened_file_says_what_is_the_matter_with_it() {
    let (mut window, log) = first_screen();
    control(&mut window, Key::O);
    assert_eq!(log.lines(), ["open old.job"]);
    assert!(shows(&window, "cut off"));
    window.get_by_label("Put the notice away").click();
    window.run();
    assert!(!shows(&window, "cut off"));
}

#[test]
fn the_leading_suspect_is_heard_beside_a_healthy_instrument() {
    let (window, _) = window(views::finding());
    assert!(shows(&window, "would sound: treble 24 dB down, level 12 dB down"));
    assert!(shows(&window, "How it would sound"));
    assert!(shows(
        &window,
        "Sound of the suspect: treble 24 dB down, level 12 dB down. healthy: highest 4.1 dB at 2.5 kHz"
    ));
    let mut silent = views::finding();
    silent.tone = None;
    let (window, _) = self::window(silent);
    assert!(!shows(&window, "How it would sound"));
}

#[test]
fn a_caution_hides_the_step_until_it_is_acknowledged() {
    let (mut window, log) = window(views::cautious());
    assert!(shows(&window, "Pull the lead out"));
    assert!(!shows(&window, "Read the ohms"));
    assert!(window.query_by_label("What the meter shows").is_none());
    press(&mut window, Key::F2);
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Keep your fingers off"));
    assert!(!shows(&window, "Read the ohms"));
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Read the ohms"));
    assert_eq!(log.lines(), [r#"SeeCaution { key: "unplugged" }"#, r#"SeeCaution { key: "fingers" }"#]);
}

#[test]
fn a_refused_entry_stays_with_its_question() {
    let (mut window, _) = window(views::finding());
    type_and_enter(&mut window, "7.6");
    assert!(shows(&window, "Type 7.6k for kilohms or 7.6 ohm for ohms"));
    assert_eq!(window.get_by_label("What the meter shows").value().as_deref(), Some("7.6"));
    type_and_enter(&mut window, "k");
    assert!(shows(&window, "4. plug tip – plug sleeve"), "the reading is not in the list");
    assert_eq!(window.get_by_label("What the meter shows").value().unwrap_or_default(), "");
}

#[test]
fn what_is_typed_is_shown_as_it_would_be_understood() {
    let (mut window, log) = window(views::finding());
    window.event(egui::Event::Text("OL".to_owned()));
    window.run();
    assert!(shows(&window, "Means over range: no path"));
    assert_eq!(log.lines(), Vec::<String>::new());
    press(&mut window, Key::Enter);
    assert_eq!(log.lines(), [r#"Record { text: "OL", measurement: None }"#]);
}

#[test]
fn over_range_throughout_is_one_key_while_something_is_moved() {
    let (mut window, log) = window(views::finding());
    assert!(shows(&window, "Type two values") && shows(&window, "OL throughout"));
    press(&mut window, Key::F2);
    press(&mut window, Key::Enter);
    assert_eq!(log.lines(), [r#"Record { text: "OL-OL", measurement: None }"#]);
    window.event(egui::Event::Text("7.4k to".to_owned()));
    window.run();
    press(&mut window, Key::F2);
    assert_eq!(window.get_by_label("What the meter shows").value().as_deref(), Some("7.4k to OL"));
}

#[test]
fn how_two_values_are_typed_stays_beside_a_refusal() {
    let (mut window, _) = window(views::finding());
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Nothing is typed yet") && shows(&window, "Type two values"));
}

#[test]
fn the_next_step_opens_at_its_top() {
    for access in [lugwise::readings::Access::MayOpen, lugwise::readings::Access::Telephone] {
        let log = Log::default();
        let view = View { access, ..views::finding() };
        let mut window = sized(Fake::with(view, &log), [1024.0, 700.0], Theme::Light);
        let top = |window: &Window| window.get_by_label("The tree “hum” asks").rect().min.y;
        let before = top(&window);
        press(&mut window, Key::PageDown);
        assert!(top(&window) < before - 20.0, "{} after {before}", top(&window));
        type_and_enter(&mut window, "7.4k-38k");
        assert!((top(&window) - before).abs() < 1.0, "{} after {before}", top(&window));
    }
}

#[test]
fn a_question_is_answered_with_a_digit() {
    let (mut window, log) = window(View { step: Some(views::question()), ..views::finding() });
    assert!(window.get_by_label("Touch the strings: does the hum change?").is_focused());
    press(&mut window, Key::Enter);
    assert_eq!(log.lines(), Vec::<String>::new(), "Enter answers nothing by itself");
    press(&mut window, Key::Num2);
    assert_eq!(log.lines(), ["Answer { answer: 1 }"]);
}

#[test]
fn a_step_that_cannot_be_done_needs_a_reason() {
    let (mut window, log) = window(views::finding());
    press(&mut window, Key::F5);
    assert!(window.get_by_label("Why not").is_focused());
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Write the reason"));
    type_and_enter(&mut window, "no screwdriver");
    assert_eq!(log.lines(), [r#"Skip { reason: "no screwdriver" }"#]);
    assert!(window.query_by_label("Why not").is_none());
}

#[test]
fn escape_closes_without_doing_anything() {
    let (mut window, log) = window(views::finding());
    press(&mut window, Key::F8);
    assert!(shows(&window, "Correct reading 2"));
    press(&mut window, Key::Escape);
    assert!(window.query_by_label("Replace the reading").is_none());
    assert!(window.get_by_label("What the meter shows").is_focused());
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn readings_are_corrected_and_withdrawn() {
    let (mut window, log) = window(views::finding());
    window.get_by_label("Correct reading 1").click_accesskit();
    window.run();
    type_and_enter(&mut window, "7.49k");
    window.get_by_label("Withdraw reading 2").click_accesskit();
    window.run();
    type_and_enter(&mut window, "wrong lug");
    let expected = [
        r#"Correct { id: ReadingId(1), text: "7.49k" }"#,
        r#"Withdraw { id: ReadingId(2), reason: "wrong lug" }"#,
    ];
    assert_eq!(log.lines(), expected);
}

#[test]
fn a_value_that_is_known_is_taken_in() {
    let (mut window, log) = window(views::finding());
    window.get_by_label("Known value…").click_accesskit();
    window.run();
    type_and_enter(&mut window, "neck pickup 8.1k");
    assert_eq!(log.lines(), [r#"Know { part: "neck-pickup", text: "8.1k", celsius: 20.0 }"#]);
}

#[test]
fn a_known_value_without_its_part_is_refused() {
    let (mut window, log) = window(views::finding());
    window.get_by_label("Known value…").click_accesskit();
    window.run();
    type_and_enter(&mut window, "8.1k");
    assert!(shows(&window, "Type the part and its value"));
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn undo_redo_and_other_steps_have_keys() {
    let (mut window, log) = window(views::finding());
    control(&mut window, Key::Num2);
    assert!(shows(&window, "Read the ohms between the jack's tip lug"));
    control(&mut window, Key::Z);
    control(&mut window, Key::Y);
    assert_eq!(log.lines(), ["Choose { alternative: 1 }", "Undo", "Redo"]);
}

#[test]
fn a_doubted_reading_is_taken_again_at_the_press_of_a_button() {
    let (mut window, log) = window(views::doubted());
    assert!(shows(&window, "Reading 2 (38k) fits no suspect"));
    window.get_by_label("Take it again").click_accesskit();
    window.run();
    assert_eq!(log.lines(), ["TakeAgain { id: ReadingId(2) }"]);
}

#[test]
fn a_whole_job_is_done_with_the_keyboard() {
    let (mut window, log) = window(views::cautious());
    press(&mut window, Key::Enter);
    press(&mut window, Key::Enter);
    type_and_enter(&mut window, "7.4k to 38k");
    press(&mut window, Key::F7);
    press(&mut window, Key::Num1);
    assert!(window.get_by_label("Repair, as it is to stand on the ticket").is_focused());
    window.event(egui::Event::Text("resoldered".to_owned()));
    window.run();
    press(&mut window, Key::Tab);
    type_and_enter(&mut window, "12");
    for _ in 0..3 {
        assert!(window.get_by_label("Close as cured").accesskit_node().is_disabled());
        type_and_enter(&mut window, "7.5k");
    }
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Cured and proven"));
    control(&mut window, Key::E);
    let lines = log.lines();
    let tail: Vec<_> = lines.iter().skip(lines.len() - 2).map(String::as_str).collect();
    assert_eq!(tail, ["Close(Cured)", "ticket school-loan-guitar-no-4-ticket.html"]);
}

#[test]
fn a_failed_proof_keeps_the_job_from_being_closed_as_cured() {
    let (mut window, log) = window(View { stage: lugwise::workbench::Stage::Proving, ..views::finding() });
    for text in ["7.5k", "OL"] {
        type_and_enter(&mut window, text);
    }
    assert!(shows(&window, "Rock the plug in the jack. Type the lowest and the highest"));
    type_and_enter(&mut window, "7.5k");
    assert!(window.get_by_label("Close as cured").accesskit_node().is_disabled());
    assert!(shows(&window, "1 proof reading is outside the healthy band"));
    window.get_by_label("Take proof reading 2 again").click();
    window.run();
    type_and_enter(&mut window, "7.5k");
    assert!(!window.get_by_label("Close as cured").accesskit_node().is_disabled());
    press(&mut window, Key::F9);
    type_and_enter(&mut window, "no time");
    assert_eq!(log.lines().last().map(String::as_str), Some(r#"Close(Unproven { reason: "no time" })"#));
}

#[test]
fn what_was_answered_is_listed_with_the_readings() {
    let (question, answer) = ("Does it hum?".to_owned(), "It stays dark".to_owned());
    let answers = vec![lugwise::workbench::AnswerView { question, answer }];
    let (window, _) = window(View { readings: Vec::new(), answers, ..views::finding() });
    assert!(shows(&window, "Does it hum?") && shows(&window, "Answer: It stays dark"));
    assert!(!shows(&window, "None yet."));
}

#[test]
fn a_failed_proof_is_said_at_once_and_stands_on_top() {
    let (mut window, log) = window(View { stage: lugwise::workbench::Stage::Proving, ..views::finding() });
    for text in ["7.5k", "7.5k", "OL"] {
        type_and_enter(&mut window, text);
    }
    assert!(shows(&window, "The proof failed at number 3: OL, healthy 7.49 kΩ (6.9 kΩ to 8.1 kΩ)"));
    let again = window.get_by_label("Take proof reading 3 again");
    assert!(again.is_focused() && !window.get_by_label("Close unproven…").is_focused());
    assert!(again.rect().max.y < window.get_by_label("Take proof reading 1 again").rect().min.y);
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(1280.0, 800.0));
    assert!(screen.contains_rect(again.rect()));
    press(&mut window, Key::Enter);
    type_and_enter(&mut window, "7.5k");
    assert_eq!(log.lines().last().map(String::as_str), Some(r#"Prove { index: Some(2), text: "7.5k" }"#));
    assert!(window.get_by_label("Close as cured").is_focused());
}

#[test]
fn the_repair_and_the_money_are_offered() {
    let mut view = View { stage: lugwise::workbench::Stage::Repairing, ..views::finding() };
    let faults = view.suspects[0].faults.clone();
    let sentence = views::JOINT.to_owned();
    view.concluded = Some(lugwise::job::Standing { probability: 0.83, sentence, faults });
    let (mut window, log) = window(view);
    window.get_by_label("Use this").click();
    window.run();
    let what = window.get_by_label("Repair, as it is to stand on the ticket").value().unwrap_or_default();
    assert!(what.starts_with("Clean the lug, add flux"), "{what}");
    assert_eq!(window.get_by_label("Minutes it took").value().as_deref(), Some("12"));
    window.get_by_label("Record the repair").click();
    window.run();
    assert!(log.lines()[0].starts_with("Repair { what: \"Clean the lug"), "{:?}", log.lines());
    for (view, button) in [
        (views::decided(), "Estimate and consent…"),
        (View { stage: lugwise::workbench::Stage::Repairing, ..views::finding() }, "Estimate and consent…"),
        (views::closed(), "No bill yet: Bill…"),
    ] {
        let (mut window, _) = self::window(view);
        window.get_by_label(button).click();
        window.run();
        assert!(window.query_by_label(button).is_none(), "{button} leads nowhere");
    }
}

#[test]
fn a_failed_proof_leads_on_with_the_search() {
    let (mut window, log) = window(View { stage: lugwise::workbench::Stage::Proving, ..views::finding() });
    type_and_enter(&mut window, "OL");
    assert!(shows(&window, "It is not cured: search on"));
    press(&mut window, Key::F11);
    assert!(shows(&window, "The repair did not cure it"));
    type_and_enter(&mut window, "still silent");
    let last = r#"SearchOn { remains: "still silent", symptoms: [] }"#;
    assert_eq!(log.lines().last().map(String::as_str), Some(last));
    assert!(shows(&window, "What the meter shows"), "finding goes on");
}

#[test]
fn what_the_fault_hides_stands_in_the_verdict() {
    let hidden = "The tip spring is bent";
    let faults = vec!["jack.tip/contact".to_owned()];
    let masked = vec![MaskedView { sentence: hidden.to_owned(), faults }];
    let (window, _) = window(View { masked, ..views::decided() });
    assert!(shows(&window, MaskedView::WARNING) && shows(&window, hidden));
}

#[test]
fn details_tell_what_moved_a_suspect() {
    let (mut window, log) = window(views::finding());
    window.get_by_label_contains("Show details of: The ground wire's joint").click();
    window.run();
    for text in ["+2.1 bits", "reading 1", "the complaint", "−0.4 bits"] {
        assert!(shows(&window, text), "{text} is not shown");
    }
    window.get_by_label_contains("Name as the fault: The ground wire's joint").click_accesskit();
    window.run();
    assert!(log.lines()[0].starts_with("Conclude"), "{:?}", log.lines());
}

#[test]
fn one_key_goes_round_the_parts_of_the_screen() {
    let (mut window, _) = window(views::finding());
    press(&mut window, Key::F6);
    assert!(window.get_by_label_contains("Show details of: The ground wire's joint").is_focused());
    press(&mut window, Key::F6);
    assert!(window.get_by_label_contains("Look back at 3.").is_focused());
    press(&mut window, Key::F6);
    assert!(window.get_by_label_contains("wiring of Two humbuckers").is_focused());
    press(&mut window, Key::F6);
    assert!(window.get_by_label("What the meter shows").is_focused());
}

#[test]
fn the_page_keys_scroll_the_step() {
    let log = Log::default();
    let mut window = sized(Fake::with(views::finding(), &log), [1024.0, 700.0], Theme::Light);
    let top = |window: &Window| window.get_by_label_contains("worth 1.8 bits").rect().min.y;
    let before = top(&window);
    press(&mut window, Key::PageDown);
    assert!(top(&window) < before - 100.0, "{} after {before}", top(&window));
    press(&mut window, Key::PageUp);
    assert!((top(&window) - before).abs() < 1.0);
}

#[test]
fn everything_can_be_twice_as_large() {
    let (mut window, _) = window(views::finding());
    for _ in 0..10 {
        window.key_press_modifiers(Modifiers::COMMAND, Key::Plus);
        window.run();
    }
    assert!((window.ctx.zoom_factor() - 2.0).abs() < 1e-6, "{}", window.ctx.zoom_factor());
    assert!(window.get_by_label("Suspect list").rect().width() > 0.0);
    press(&mut window, Key::F6);
    assert!(shows(&window, "Show details of"));
    assert!(window.query_by_label("What the meter shows").is_none());
}

#[test]
fn help_lists_every_key() {
    let (mut window, _) = window(views::finding());
    press(&mut window, Key::F1);
    for shortcut in lugwise::ui::SHORTCUTS {
        assert!(shows(&window, shortcut.meaning), "{} is not listed", shortcut.key);
    }
    press(&mut window, Key::F1);
    assert!(!shows(&window, "Close the list of keys"));
}

/// What must be within the window, whole, in each state, at the usual and at the smallest size.
#[rstest]
fn nothing_that_is_needed_is_cut_off(
    #[values([1280.0, 800.0], [1024.0, 700.0], [900.0, 600.0], [640.0, 400.0], [450.0, 300.0])] size: [f32;
        2],
    #[values(0, 1, 2, 3, 4, 5)] state: usize,
) {
    let proving = View { stage: lugwise::workbench::Stage::Proving, ..views::finding() };
    let question = View { step: Some(views::question()), ..views::finding() };
    let undo = if size[0] < 760.0 { "Menu" } else { "Undo" };
    let (view, needed) = match state {
        0 => (Some(views::finding()), vec!["What the meter shows", "Record", undo]),
        1 => (Some(views::cautious()), vec!["Read this first (1 of 2)", undo]),
        2 => (Some(views::decided()), vec!["Sure enough to repair", undo]),
        3 => (Some(proving), vec!["What the meter shows", "Record", undo]),
        4 => (Some(question), vec!["The tree “hum” asks", undo]),
        _ => (None, vec!["Start the job", "Open a job file…", "Try the demonstration job"]),
    };
    let log = Log::default();
    let bench = view.map_or_else(|| Fake::empty(&log), |view| Fake::with(view, &log));
    let window = sized(bench, size, Theme::Light);
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, Vec2::from(size));
    for label in needed {
        let rect = window.get_by_label(label).rect();
        assert!(screen.expand(0.5).contains_rect(rect), "{label} at {rect:?} is not within {size:?}");
    }
}

/// Draws each state in both themes; with `LUGWISE_SHOTS` set to a folder the pictures are kept there.
#[rstest]
fn every_state_can_be_drawn(
    #[values(Theme::Light, Theme::Dark)] theme: Theme,
    #[values([1280.0, 800.0], [1024.0, 700.0], [640.0, 400.0])] size: [f32; 2],
) {
    let proving = View { stage: lugwise::workbench::Stage::Proving, ..views::finding() };
    let repairing = View { stage: lugwise::workbench::Stage::Repairing, ..views::finding() };
    let telephone = View { access: lugwise::readings::Access::Telephone, ..views::finding() };
    let question = View { step: Some(views::question()), ..views::finding() };
    let states = [
        ("start", None, None),
        ("finding", Some(views::finding()), None),
        ("caution", Some(views::cautious()), None),
        ("question", Some(question), None),
        ("telephone", Some(telephone), None),
        ("decided", Some(views::decided()), None),
        ("repairing", Some(repairing), None),
        ("proving", Some(proving), None),
        ("closed", Some(views::closed()), None),
        ("help", Some(views::finding()), Some(Key::F1)),
        ("name", Some(views::finding()), Some(Key::F7)),
        ("correct", Some(views::finding()), Some(Key::F8)),
    ];
    for (name, view, key) in states {
        let log = Log::default();
        let bench = view.map_or_else(|| Fake::empty(&log), |view| Fake::with(view, &log));
        let mut window = sized(bench, size, theme);
        if let Some(key) = key {
            press(&mut window, key);
        }
        let image = window.render().unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(f64::from(image.width()), f64::from(size[0]), "{name}");
        if let Some(folder) = std::env::var_os("LUGWISE_SHOTS") {
            let file = format!("{name}-{theme:?}-{}.png", size[0]);
            image.save(std::path::Path::new(&folder).join(file)).expect("the folder can be written");
        }
    }
}
