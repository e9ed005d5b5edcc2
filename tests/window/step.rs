//! The step in large letters, the ruler with its needle, readings looked at later, suspects looked at closely.

use egui::{Key, Rect, Theme, Vec2};
use egui_kittest::kittest::Queryable;
use lugwise::workbench::{Stage, View};
use rstest::rstest;

use crate::fake::{Fake, Log};
use crate::{Window, control, press, shows, sized, type_and_enter, views, window};

const QUESTION: &str = "Touch the strings: does the hum change?";
const RULER: &str = "what each suspect would read";

fn rect(window: &Window, label: &str) -> Rect {
    window.get_by_label_contains(label).rect()
}

fn typed(window: &mut Window, text: &str) {
    window.event(egui::Event::Text(text.to_owned()));
    window.run();
}

// Three lines of it are as high as three lines of 34 points, which is what two metres need (common practice, no source).
#[test]
fn the_far_view_fills_the_left_half_and_nothing_has_to_be_scrolled() {
    let (mut window, _) = window(views::finding());
    let headline = views::step().headline;
    let near = rect(&window, &headline);
    control(&mut window, Key::F);
    let far = rect(&window, &headline);
    assert!(far.height() >= 3.0 * 34.0 && far.height() > near.height(), "{far:?}, near {near:?}");
    let entry = window.get_by_label("What the meter shows").rect();
    let left = Rect::from_min_max(egui::Pos2::ZERO, egui::pos2(641.0, entry.min.y));
    for label in [
        headline.as_str(),
        "Red: the plug's tip",
        "Black: the plug's sleeve",
        "Dial: ohms, 20 k range",
        "Move selector to neck",
        "Meanwhile: rock the plug",
        "Healthy: 7.49",
    ] {
        let found = rect(&window, label);
        assert!(left.contains_rect(found), "{label} at {found:?} is not within {left:?}");
    }
    assert!(!shows(&window, "Leave at"), "what stays is not in the far view");
    assert!(window.get_by_label("What the meter shows").is_focused());
}

#[test]
fn the_far_view_shows_a_proof_reading_too() {
    let (mut window, log) = window(View { stage: Stage::Proving, ..views::finding() });
    let sentence = "plug tip – plug sleeve, selector neck, all knobs at 10";
    let tallest = |window: &Window| {
        let all = window.query_all_by_label(sentence).map(|node| node.rect().height());
        all.fold(0.0, f32::max)
    };
    let near = tallest(&window);
    control(&mut window, Key::F);
    assert!(tallest(&window) > near && shows(&window, "Healthy: 7.49"));
    assert!(window.get_by_label("What the meter shows").is_focused());
    type_and_enter(&mut window, "7.5k");
    assert_eq!(log.lines(), [r#"Prove { index: None, text: "7.5k" }"#]);
}

#[test]
fn healthy_stands_above_the_caution_that_was_read() {
    let (window, _) = window(views::finding());
    assert!(rect(&window, "(6.9 kΩ to 8.1 kΩ), steady").max.y < rect(&window, "Caution: Do not force").min.y);
}

#[test]
fn the_far_view_is_reached_and_left_with_its_button() {
    let (mut window, _) = window(views::finding());
    window.get_by_label("Far view").click();
    window.run();
    assert!(shows(&window, "Red: the plug's tip"));
    window.get_by_label("Near view").click();
    window.run();
    assert!(!shows(&window, "Red: the plug's tip") && shows(&window, "Red probe"));
}

#[test]
fn a_reading_is_typed_in_the_far_view_too() {
    let (mut window, log) = window(views::finding());
    control(&mut window, Key::F);
    type_and_enter(&mut window, "7.4k to 38k");
    assert_eq!(log.lines(), [r#"Record { text: "7.4k to 38k", measurement: None }"#]);
}

#[test]
fn a_question_can_be_answered_in_the_far_view() {
    let (mut window, log) = window(View { step: Some(views::question()), ..views::finding() });
    control(&mut window, Key::F);
    assert!(shows(&window, "Touch the strings") && window.get_by_label(QUESTION).is_focused());
    press(&mut window, Key::Num2);
    assert_eq!(log.lines(), ["Answer { answer: 1 }"]);
}

#[test]
fn a_caution_is_read_before_the_far_view() {
    let (mut window, _) = window(views::cautious());
    control(&mut window, Key::F);
    assert!(shows(&window, "Pull the lead out") && !shows(&window, "Red: the plug's tip"));
}

#[rstest]
fn the_far_view_can_be_drawn(
    #[values(Theme::Light, Theme::Dark)] theme: Theme,
    #[values([1280.0, 800.0], [1024.0, 700.0], [640.0, 400.0], [450.0, 300.0])] size: [f32; 2],
) {
    let mut window = sized(Fake::with(views::finding(), &Log::default()), size, theme);
    control(&mut window, Key::F);
    let screen = Rect::from_min_size(egui::Pos2::ZERO, Vec2::from(size));
    assert!(screen.intersects(rect(&window, &views::step().headline)));
    let image = window.render().unwrap();
    assert_eq!(f64::from(image.width()), f64::from(size[0]));
}

#[test]
fn what_each_outcome_would_mean_stands_below_the_step() {
    let (window, _) = window(views::finding());
    assert!(shows(&window, "What each outcome would mean"));
    assert!(shows(&window, "It moves: The jack or a wire at it comes and goes."));
    assert!(shows(&window, "Caution: Do not force the plug."));
    assert!(shows(&window, "Move selector to neck") && shows(&window, "neck volume 10"));
}

#[test]
fn what_is_typed_lands_on_the_ruler() {
    let (mut window, _) = window(views::finding());
    assert!(shows(&window, "healthy. 1: 46 %") && !shows(&window, "Reading: "));
    typed(&mut window, "7.4k to 38k");
    assert!(shows(&window, "Reading: 7.40 k"), "the needle is not on the ruler");
    let ruler = window.get_by_label_contains(RULER).rect();
    let entry = window.get_by_label("What the meter shows").rect();
    assert!(ruler.max.y <= entry.min.y, "the ruler at {ruler:?} is not above the line at {entry:?}");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Put away 4."), "the reading recorded is looked at");
}

#[test]
fn a_reading_that_makes_no_sense_is_no_needle() {
    let (mut window, _) = window(views::finding());
    typed(&mut window, "7.6");
    assert!(!shows(&window, "Reading: "));
}

#[test]
fn a_past_reading_is_looked_at_as_it_was_taken() {
    let (mut window, log) = window(views::finding());
    window.get_by_label_contains("Look back at 1.").click_accesskit();
    window.run();
    for text in ["What was to be expected then", "1.2 bits", "46 %, before it 21 %", "12 %, before it less"] {
        assert!(shows(&window, text), "{text} is not shown");
    }
    assert!(shows(&window, "Reading: 7.49 k"));
    window.get_by_label_contains("Put away 1.").click_accesskit();
    window.run();
    assert!(!shows(&window, "What was to be expected then"));
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn the_arrow_keys_go_from_reading_to_reading() {
    let (mut window, _) = window(views::finding());
    press(&mut window, Key::F6);
    press(&mut window, Key::F6);
    window.run();
    press(&mut window, Key::ArrowDown);
    window.run();
    assert!(window.get_by_label_contains("Put away 2.").is_focused());
    press(&mut window, Key::ArrowDown);
    window.run();
    assert!(window.get_by_label_contains("Put away 1.").is_focused());
    press(&mut window, Key::ArrowUp);
    window.run();
    assert!(window.get_by_label_contains("Put away 2.").is_focused());
    press(&mut window, Key::Enter);
    assert!(window.get_by_label_contains("Look back at 2.").is_focused());
}

#[test]
fn a_suspect_is_opened_with_enter_and_says_what_would_prove_it_wrong() {
    let (mut window, _) = window(views::finding());
    press(&mut window, Key::F6);
    press(&mut window, Key::Enter);
    for text in [
        "What would prove it wrong",
        "Read the ohms between the jack's sleeve lug and the plug's sleeve",
        "0.2 Ω, and not 40 Ω",
        "3 % instead of 46 %",
        "The sleeve spring is bent",
        "selector neck, all knobs at 10 · at the jack plate",
        "reading 1: 7.51k",
        "about 12 min",
        "No reading tells these apart",
    ] {
        assert!(shows(&window, text), "{text} is not shown");
    }
    let plots = window.query_all_by_label_contains("Sound of the suspect").count();
    assert_eq!(plots, 1, "the sound is shown once");
}
