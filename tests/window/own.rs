//! Counting what can be seen, and the screen of one's own wirings, over the real bench and a folder of the test's own.

use std::path::Path;
use std::time::Duration;

use egui::{Key, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::session::OwnFolder;
use lugwise::ui::{App, DeskBench};
use rstest::rstest;

use crate::fake::Answers;
use crate::{Window, press, shows};

fn window(home: &Path, size: [f32; 2], theme: Theme) -> Window {
    let bench = DeskBench::with_own(home.join("jobs"), OwnFolder::at(home.join("wirings"))).unwrap();
    let mut window = Harness::builder()
        .with_size(Vec2::from(size))
        .with_theme(theme)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(Answers)));
    window.run();
    window
}

/// Presses what has this label, as soon as it is there: what is read from the disk comes when it comes.
#[track_caller]
pub fn click(window: &mut Window, label: &str) {
    wait(window, label, |window| window.query_by_label(label).is_some());
    window.get_by_label(label).click_accesskit();
    settle(window);
}

/// Lets the window go on until it is still; what arrives from the thread that watches the folder may stir it again.
pub fn settle(window: &mut Window) {
    while window.run_ok().is_none() {}
}

/// Lets the window go on until it shows what is awaited; its clock is not the wall's, the disk's is.
#[track_caller]
pub fn wait(window: &mut Window, what: &str, until: impl Fn(&Window) -> bool) {
    for _ in 0..500 {
        settle(window);
        if until(window) {
            return;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("waited in vain: {what}");
}

#[test]
fn counting_leads_to_a_wiring_by_the_keyboard_alone() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path(), [1280.0, 800.0], Theme::Light);
    assert!(shows(&window, "One pickup straight to the jack"));
    window.get_by_label("Not sure which? Count what you see").focus();
    window.run();
    press(&mut window, Key::Enter);
    let answers = ["4 knobs", "2 pickups", "3 positions", "no battery", "1 switch"];
    for _ in 0..4 {
        let Some(answer) = answers.iter().find(|label| window.query_by_label(label).is_some()) else { break };
        assert!(shows(&window, "of at most 4"));
        window.get_by_label(answer).focus();
        window.run();
        press(&mut window, Key::Enter);
    }
    assert!(shows(&window, "look alike from outside"));
    assert!(!shows(&window, "One pickup straight to the jack"));
    click(&mut window, "Say how to tell them apart");
    wait(&mut window, "a reading", |window| {
        shows(window, "read the ohms from tip of the plug to sleeve of the plug")
    });
    click(&mut window, "Two humbuckers, two volumes, two tones, three-way toggle");
    assert_eq!(window.state().desk().start.wiring, "two-humbuckers");
    click(&mut window, "Show every wiring");
    assert!(shows(&window, "One pickup straight to the jack"));
}

#[test]
fn what_cannot_be_said_is_passed_over() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Not sure which? Count what you see");
    for asked in 1..=4 {
        assert!(shows(&window, &format!("Question {asked} of at most 4")));
        click(&mut window, "Cannot say");
    }
    assert!(!shows(&window, "Question"));
    assert!(shows(&window, "One pickup straight to the jack"), "every wiring is still there");
    click(&mut window, "Say how to tell them apart");
    wait(&mut window, "what tells them all apart", |window| shows(window, "To tell them apart,"));
}

#[test]
fn a_wrong_line_says_so_beside_it_until_the_file_is_mended() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Your wirings…");
    assert!(shows(&window, "There is none yet"));
    click(&mut window, "Copy A3: Two single coils, one volume, one tone, three-way blade");
    wait(&mut window, "the copy", |window| shows(window, "The file is right."));
    let file = home.path().join("wirings/my-two-single-coils.ron");
    let text = std::fs::read_to_string(&file).unwrap();
    let wrong = text.replacen("\"selector.b3\"", "\"selectr.b3\"", 1);
    let line = wrong.lines().position(|line| line.contains("selectr.b3")).unwrap() + 1;
    std::fs::write(&file, &wrong).unwrap();
    let message = "no part is called \"selectr\"";
    wait(&mut window, "the mistake", |window| shows(window, message));
    assert!(shows(&window, &format!("1 mistake, in line {line}")));
    assert!(shows(&window, "did you mean \"selector\"?"));
    assert!(!shows(&window, "The file is right."));
    click(&mut window, &format!("Go to line {line}"));
    let row = window.query_all_by_label_contains("selectr.b3").next().unwrap().rect();
    let said = window.query_all_by_label_contains(message).next().unwrap().rect();
    assert!((0.0..12.0).contains(&(said.min.y - row.max.y)), "{row:?} {said:?}: not just below the line");
    assert!(row.min.y > 0.0 && row.max.y < 800.0, "{row:?} is not in view");
    std::fs::write(&file, &text).unwrap();
    wait(&mut window, "the mended file", |window| !shows(window, message));
    click(&mut window, "Use this wiring");
    assert_eq!(window.state().desk().start.wiring, "my-two-single-coils");
    assert!(shows(&window, "one of your own"));
}

#[test]
fn files_that_come_and_go_are_seen_and_escape_leaves() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Your wirings…");
    std::fs::create_dir_all(home.path().join("wirings")).unwrap();
    let file = home.path().join("wirings/new.ron");
    std::fs::write(&file, "(format: 1,").unwrap();
    wait(&mut window, "the file", |window| window.query_all_by_label("new.ron").next().is_some());
    press(&mut window, Key::Escape);
    assert!(shows(&window, "new.ron: 1 mistake, in line 1. See your wirings."));
    click(&mut window, "Your wirings…");
    std::fs::remove_file(&file).unwrap();
    wait(&mut window, "the file's end", |window| window.query_all_by_label("new.ron").next().is_none());
}

#[test]
fn the_first_screen_says_whether_own_priors_are_in_use() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("wirings/priors.ron");
    std::fs::create_dir_all(home.path().join("wirings")).unwrap();
    assert!(!shows(&window(home.path(), [1280.0, 800.0], Theme::Light), "priors"));
    let text = |rate: &str| {
        format!("(format: 1, rates: [(family: CoilOpen, per_thousand: {rate}, source: \"a test\")])")
    };
    std::fs::write(&file, text("30")).unwrap();
    let right = window(home.path(), [1280.0, 800.0], Theme::Light);
    assert!(shows(&right, "Your own priors are in use, from "));
    std::fs::write(&file, text("0")).unwrap();
    let wrong = window(home.path(), [1280.0, 800.0], Theme::Light);
    assert!(shows(&wrong, "priors.ron:1:54: a rate of 0 per thousand is not allowed"));
    assert!(shows(&wrong, "the priors that come with the program are in use"));
    assert!(!shows(&wrong, "Your own priors are in use"));
}

/// Draws both at several sizes; with `LUGWISE_SHOTS` set to a folder the pictures are kept there.
#[rstest]
fn both_can_be_drawn(
    #[values(Theme::Light, Theme::Dark)] theme: Theme,
    #[values([1280.0, 800.0], [640.0, 400.0])] size: [f32; 2],
) {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("wirings");
    std::fs::create_dir_all(&folder).unwrap();
    let text = include_str!("../../assets/wirings/two-single-coils.ron")
        .replacen("two-single-coils", "loan-guitar", 1)
        .replacen("\"A3\"", "\"L4\"", 1);
    std::fs::write(folder.join("loan-guitar.ron"), &text).unwrap();
    std::fs::write(folder.join("a-wrong-one.ron"), text.replace("volume.in", "volme.in")).unwrap();
    let mut window = window(home.path(), size, theme);
    let shoot = |window: &mut Window, name: &str| {
        let image = window.render().unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(f64::from(image.width()), f64::from(size[0]), "{name}");
        if let Some(folder) = std::env::var_os("LUGWISE_SHOTS") {
            let file = format!("{name}-{theme:?}-{}.png", size[0]);
            image.save(Path::new(&folder).join(file)).expect("the folder can be written");
        }
    };
    click(&mut window, "Not sure which? Count what you see");
    shoot(&mut window, "count");
    click(&mut window, "2 knobs");
    shoot(&mut window, "count-second");
    click(&mut window, "no switch");
    click(&mut window, "Say how to tell them apart");
    wait(&mut window, "what tells them apart", |window| shows(window, "To tell them apart,"));
    shoot(&mut window, "count-end");
    click(&mut window, "Your wirings…");
    shoot(&mut window, "own-wrong");
    click(&mut window, "loan-guitar.ron");
    shoot(&mut window, "own-right");
}
