//! The telephone view: a script to read out, and large buttons for what the customer says.

use egui::{Key, Theme};
use egui_kittest::kittest::Queryable;
use lugwise::readings::Access;
use lugwise::ui::TARGET;
use lugwise::workbench::View;
use rstest::rstest;

use crate::fake::{Fake, Log};
use crate::{Window, control, press, shows, sized, views, window};

fn calling() -> View {
    View { access: Access::Telephone, ..views::finding() }
}

fn still() -> View {
    let view = calling();
    View { step: view.alternatives.first().cloned(), ..view }
}

fn push(window: &mut Window, label: &str) {
    window.get_by_label(label).click_accesskit();
    window.run();
}

#[test]
fn the_step_is_a_script_to_read_out() {
    let (window, _) = window(calling());
    for text in
        ["Read this out to the customer", "Say:", "Put the selector at neck.", "very end of the free plug"]
    {
        assert!(shows(&window, text), "{text} is not shown");
    }
    assert!(!shows(&window, "ohms, 20 k range or automatic"), "the bench's own words are not read out");
}

#[test]
fn the_whole_script_is_seen_at_once() {
    let (window, _) = window(calling());
    let entry = window.get_by_label("What the meter shows").rect();
    for line in views::step().script {
        let seen = window.get_by_label(&line).rect();
        assert!(seen.max.y <= entry.min.y, "{line} at {seen:?} is below {entry:?}");
    }
    assert!(!shows(&window, "what each suspect would read"), "the ruler takes the room of the script");
}

#[test]
fn a_caution_comes_before_the_script() {
    let (mut window, _) = window(View { access: Access::Telephone, ..views::cautious() });
    assert!(!shows(&window, "Read this out") && shows(&window, "Read this first (1 of 2)"));
    press(&mut window, Key::Enter);
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Read this out to the customer"));
}

#[test]
fn one_key_goes_to_the_telephone_and_back_to_where_one_was() {
    let (mut window, log) = window(views::finding());
    control(&mut window, Key::T);
    assert!(shows(&window, "Read this out to the customer"));
    control(&mut window, Key::T);
    assert!(!shows(&window, "Read this out to the customer"));
    push(&mut window, "Telephone");
    push(&mut window, "Off the telephone");
    let there_and_back = ["SetAccess(Telephone)", "SetAccess(MayOpen)"];
    assert_eq!(log.lines(), there_and_back.repeat(2));
}

#[test]
fn a_span_is_put_together_with_the_buttons() {
    let (mut window, log) = window(calling());
    for label in ["Type 7", "Type .", "Type 5", "Type 4", "Wipe the last letter", "Type k"] {
        push(&mut window, label);
    }
    push(&mut window, "It changes when moved");
    push(&mut window, "Over range");
    assert_eq!(window.get_by_label("What the meter shows").value().as_deref(), Some("7.5k to OL"));
    assert_eq!(log.lines(), Vec::<String>::new());
    push(&mut window, "Record what is typed");
    assert_eq!(log.lines(), [r#"Record { text: "7.5k to OL", measurement: None }"#]);
}

#[test]
fn the_number_keys_are_folded_away_where_the_script_needs_the_room() {
    let log = Log::default();
    let mut window = sized(Fake::with(calling(), &log), [1024.0, 700.0], Theme::Light);
    let room = |window: &Window| window.get_by_label("What the meter shows").rect().min.y;
    let (folded, gone) = (room(&window), |window: &Window| window.query_by_label("Type 5").is_none());
    assert!(gone(&window), "the number keys take the room of the script");
    window.event(egui::Event::Text("7".to_owned()));
    window.run();
    push(&mut window, "Number keys");
    assert!(room(&window) + 2.0 * TARGET < folded, "{} unfolded, {folded} folded", room(&window));
    push(&mut window, "Type 5");
    assert_eq!(window.get_by_label("What the meter shows").value().as_deref(), Some("75"));
    push(&mut window, "Number keys");
    assert!(gone(&window) && (room(&window) - folded).abs() < 1.0);
}

#[test]
fn the_number_keys_are_always_there_where_there_is_room() {
    let (window, _) = window(calling());
    assert!(window.query_by_label("Number keys").is_none() && window.query_by_label("Type 5").is_some());
}

#[test]
fn an_answer_without_a_number_is_recorded_at_once() {
    let (mut window, log) = window(still());
    assert!(window.query_by_label("It changes when moved").is_none(), "nothing is moved here");
    push(&mut window, "Over range");
    assert_eq!(log.lines(), [r#"Record { text: "OL", measurement: None }"#]);
}

#[rstest]
#[case("Don't know", "the customer does not know")]
#[case("Can't", "the customer cannot do it")]
fn a_step_is_left_out_without_typing(#[case] button: &str, #[case] reason: &str) {
    for step in [views::step(), views::question()] {
        let (mut window, log) = window(View { step: Some(step), ..calling() });
        push(&mut window, button);
        assert_eq!(log.lines(), [format!("Skip {{ reason: \"{reason}\" }}")]);
    }
}

#[test]
fn a_question_is_answered_by_its_number_or_its_button() {
    for by_key in [true, false] {
        let (mut window, log) = window(View { step: Some(views::question()), ..calling() });
        assert!(shows(&window, "Please touch the strings."));
        if by_key {
            press(&mut window, Key::Num2);
        } else {
            push(&mut window, "It hums only while the lead is touched");
        }
        assert_eq!(log.lines(), ["Answer { answer: 1 }"]);
    }
}

#[test]
fn what_cannot_be_done_from_outside_is_not_read_out() {
    let mut step = views::step();
    step.script.clear();
    let (window, _) = window(View { step: Some(step), ..calling() });
    assert!(shows(&window, "This cannot be done on the telephone"));
    assert!(!shows(&window, "Read this out to the customer"));
}

#[rstest]
fn the_answers_are_large_and_within_the_window(
    #[values([1280.0, 800.0], [1024.0, 700.0], [640.0, 400.0])] size: [f32; 2],
) {
    let log = Log::default();
    let window = sized(Fake::with(calling(), &log), size, Theme::Light);
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::Vec2::from(size));
    for label in ["Over range", "It changes when moved", "Type k", "Don't know", "Can't"] {
        let rect = window.get_by_label(label).rect();
        assert!(rect.height() >= TARGET - 0.5, "{label} is {} high", rect.height());
        assert!(screen.expand(0.5).contains_rect(rect), "{label} at {rect:?} is not within {size:?}");
    }
}
