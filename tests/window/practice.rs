//! The practice bench, over the real bench and a folder of the test's own.

use std::path::Path;

use egui::{Key, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::practice::Difficulty;
use lugwise::session::{OwnFolder, PracticeFile};
use lugwise::ui::{App, Bout, DeskBench, PracticeDesk};
use rstest::rstest;

use crate::fake::Answers;
use crate::own::{click, settle, wait};
use crate::{Window, control, shows};

fn window(home: &Path, size: [f32; 2], theme: Theme) -> Window {
    let bench = DeskBench::with_own(home.join("jobs"), OwnFolder::at(home.join("wirings"))).unwrap();
    let mut window = Harness::builder()
        .with_size(Vec2::from(size))
        .with_theme(theme)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(Answers)));
    settle(&mut window);
    window
}

fn desk(window: &Window) -> &PracticeDesk {
    window.state().desk().practice.as_ref().unwrap()
}

fn bout(window: &Window) -> &Bout {
    desk(window).bout.as_ref().unwrap()
}

/// Hides a fault in the one-pickup wiring, always the same one.
fn begun(home: &Path) -> Window {
    let mut window = window(home, [1280.0, 800.0], Theme::Light);
    click(&mut window, "Practise");
    window.get_by_label("Number of the instrument").focus();
    window.get_by_label("Number of the instrument").type_text("7");
    settle(&mut window);
    click(&mut window, "Hide a fault");
    wait(&mut window, "an instrument", |window| window.query_by_label("Put the probes on").is_some());
    window
}

fn choose(window: &mut Window, list: &str, entry: &str) {
    click(window, list);
    click(window, entry);
}

/// Puts the probes on the free plug.
fn at_the_plug(window: &mut Window) {
    let titles: Vec<String> = {
        let game = bout(window).game.borrow();
        let title = |name| game.harness()[game.harness().terminal(name).unwrap()].title.clone();
        ["plug.tip", "plug.sleeve"].map(title).to_vec()
    };
    choose(window, "Red probe", &titles[0]);
    choose(window, "Black probe", &titles[1]);
    control(window, Key::Enter);
    settle(window);
}

#[test]
fn nothing_played_is_said_and_levels_are_explained() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Practise");
    assert!(shows(&window, "Nothing has been played yet"));
    for level in Difficulty::ALL {
        assert!(shows(&window, level.about()), "{}", level.title());
    }
    control(&mut window, Key::N);
    assert!(window.query_by_label("Start the job").is_some());
}

#[test]
fn a_number_that_is_none_is_refused() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Practise");
    window.get_by_label("Number of the instrument").focus();
    window.get_by_label("Number of the instrument").type_text("seven");
    settle(&mut window);
    click(&mut window, "Hide a fault");
    assert!(shows(&window, "\"seven\" is no whole number"));
}

#[test]
fn both_probes_are_needed_and_what_is_read_is_noted() {
    let home = tempfile::tempdir().unwrap();
    let mut window = begun(home.path());
    click(&mut window, "Put the probes on");
    assert!(shows(&window, "Put both probes on first"));
    at_the_plug(&mut window);
    assert!(shows(&window, "tip of the plug to sleeve of the plug"));
    window.get_by_label("I note").focus();
    settle(&mut window);
    window.get_by_label("I note").type_text("7.6");
    settle(&mut window);
    click(&mut window, "Note it");
    assert_eq!(bout(&window).game.borrow().steps().len(), 0, "7.6 can mean two things");
    window.get_by_label("I note").type_text("k");
    settle(&mut window);
    click(&mut window, "Note it");
    assert!(shows(&window, "Noted: 7.60 kΩ") || shows(&window, "Noted: 7.6 kΩ"));
    assert_eq!(bout(&window).game.borrow().steps().len(), 1);
}

#[test]
fn the_bench_is_gone_back_to_as_it_was_left() {
    let home = tempfile::tempdir().unwrap();
    let mut window = begun(home.path());
    click(&mut window, "Hint");
    control(&mut window, Key::N);
    assert!(window.state().desk().practice.is_none());
    click(&mut window, "Practise");
    assert_eq!(bout(&window).game.borrow().hints(), 1);
    assert!(shows(&window, "Hint 1"));
}

#[test]
fn what_is_named_is_judged_reviewed_and_counted_on_disk() {
    let home = tempfile::tempdir().unwrap();
    let mut window = begun(home.path());
    at_the_plug(&mut window);
    let named = bout(&window).game.borrow().choices()[0].clone();
    click(&mut window, "Name the fault…");
    click(&mut window, &format!("{} ({})", named.sentence, named.kind));
    click(&mut window, "Name it");
    assert!(shows(&window, "Sure?") && bout(&window).game.borrow().verdict().is_none());
    click(&mut window, "Yes, name it");
    assert!(shows(&window, "It was") && shows(&window, &named.sentence));
    wait(&mut window, "both ways", |window| shows(window, "What the program did"));
    assert!(shows(&window, "Bits unknown over hands-on minutes"));
    let review = bout(&window).review.clone().unwrap().unwrap();
    assert!(!review.advisor.is_empty());
    let (progress, said) = PracticeFile::beside(&OwnFolder::at(home.path().join("wirings"))).read();
    let tally = progress.of(Difficulty::First).expect("one was played");
    assert_eq!((tally.played, said), (1, None));
    click(&mut window, "Next instrument");
    assert!(shows(&window, "Found of the last"));
}

#[test]
fn two_touches_are_read_at_once_and_a_body_offers_its_lugs() {
    let home = tempfile::tempdir().unwrap();
    let mut window = begun(home.path());
    click(&mut window, "Draw it left-handed");
    click(&mut window, "See it from the front");
    assert!(bout(&window).sight.from_front && bout(&window).sight.left_handed);
    let titles: Vec<String> = {
        let game = bout(&window).game.borrow();
        ["plug.tip", "plug.sleeve"]
            .map(|name| game.harness()[game.harness().terminal(name).unwrap()].title.clone())
            .to_vec()
    };
    choose(&mut window, "Red probe", &titles[0]);
    assert!(shows(&window, "the black probe lies on the bench"));
    choose(&mut window, "Black probe", &titles[1]);
    assert!(shows(&window, "tip of the plug to sleeve of the plug"), "read without another press");
    click(&mut window, "Hint");
    assert!(shows(&window, "a healthy one reads") && bout(&window).hints.len() == 2);
}

#[test]
fn what_was_searched_for_stays_while_one_goes_on_measuring() {
    let home = tempfile::tempdir().unwrap();
    let mut window = begun(home.path());
    click(&mut window, "Name the fault…");
    window.get_by_label("Search").focus();
    settle(&mut window);
    window.get_by_label("Search").type_text("open");
    settle(&mut window);
    click(&mut window, "Go on measuring");
    click(&mut window, "Name the fault…");
    assert_eq!(bout(&window).naming.as_ref().map(|naming| naming.search.as_str()), Some("open"));
}

#[test]
fn giving_up_tells_what_it_was() {
    let home = tempfile::tempdir().unwrap();
    let mut window = begun(home.path());
    click(&mut window, "Give up");
    assert!(shows(&window, "Given up"));
    let game = bout(&window).game.borrow();
    let hidden = &game.verdict().unwrap().hidden[0];
    assert!(shows(&window, &hidden.sentence));
}

#[test]
fn a_broken_file_is_told_and_kept() {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("practice.ron"), "(format: 1, levels: [], stars: 5)").unwrap();
    let mut window = window(home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Practise");
    assert!(shows(&window, "practice.ron:1:") && shows(&window, "was moved to"));
    let kept = std::fs::read_to_string(home.path().join("practice.broken-1.ron")).unwrap();
    assert!(kept.contains("stars: 5"));
}

#[rstest]
fn it_works_in_both_themes_and_in_small_windows(
    #[values(Theme::Light, Theme::Dark)] theme: Theme,
    #[values([1024.0, 700.0], [640.0, 480.0])] size: [f32; 2],
) {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path(), size, theme);
    click(&mut window, "Practise");
    click(&mut window, "Hide a fault");
    wait(&mut window, "an instrument", |window| window.query_by_label("I note").is_some());
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, Vec2::from(size));
    let note = window.get_by_label("I note").rect();
    assert!(screen.expand(0.5).contains_rect(note), "the note line at {note:?} is not within {size:?}");
}
