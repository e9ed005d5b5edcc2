//! The invented demonstration job, worked in the real window by its accessibility labels and the keyboard.
//!
//! With `LUGWISE_SCREENSHOTS=1` the pictures in `screenshots/` are written anew from these windows: the large ones for
//! the README, and in `screenshots/small` those of half size that every later window is compared with. There each screen
//! is drawn in both themes at 1280 x 800, and in the light one at 1024 x 700, the smallest window, and at 1920 x 1080,
//! which is how 3840 x 2160 is laid out at 200 %.
//!
//! A pixel is the same when it differs by 0.6 at most, which is the threshold that `egui_kittest` keeps its own pictures
//! with: drivers smooth edges and letters differently. One pixel in 2500 may differ more, as much as two or three
//! letters have. Nothing in a picture depends on the machine or the day:
//! jobs and dates are those of the demonstration, and lines that name a folder of the test are covered.

#![cfg(feature = "gui")]

#[path = "screens/all.rs"]
mod screens;

use std::path::{Path, PathBuf};

use egui::{Key, Modifiers, Rect, Theme, Vec2, pos2};
use egui_kittest::kittest::{NodeT, Queryable};
use egui_kittest::{Harness, SnapshotOptions};
use lugwise::archive::JobFile;
use lugwise::job::{Event, Job, Record, parse};
use lugwise::session::OwnFolder;
use lugwise::ui::{App, DeskBench, Dialogs};
use lugwise::workbench::{Stage, View};

const DEMONSTRATION: &str = include_str!("../assets/demo/school-loan-guitar.job.ron");

type Window = Harness<'static, App>;

/// Dialogs that answer with a path of the test's own.
struct Chosen(PathBuf);

impl Dialogs for Chosen {
    fn save_ticket(&mut self, _suggested: &str) -> Option<PathBuf> {
        Some(self.0.join("ticket.html"))
    }
    fn open_job(&mut self) -> Option<PathBuf> {
        Some(self.0.join("demonstration.job.ron"))
    }
    fn save_job(&mut self, suggested: &Path) -> Option<PathBuf> {
        Some(suggested.to_owned())
    }
}

fn window(folder: &Path, theme: Theme) -> Window {
    let bench = DeskBench::new(folder.to_owned()).unwrap();
    let dialogs = Chosen(folder.to_owned());
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .with_theme(theme)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(dialogs)));
    window.run();
    window
}

/// A window of this size that is drawn with half as many pixels each way, without anything of the person's own.
fn small(folder: &Path, size: [f32; 2], theme: Theme) -> Window {
    let bench = DeskBench::with_own(folder.to_owned(), OwnFolder::at("nowhere/at/all")).unwrap();
    drawn_small(bench, folder, size, theme)
}

fn drawn_small(bench: DeskBench, folder: &Path, size: [f32; 2], theme: Theme) -> Window {
    let dialogs = Chosen(folder.to_owned());
    let mut window = Harness::builder()
        .with_size(Vec2::from(size))
        .with_pixels_per_point(0.5)
        .with_theme(theme)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(dialogs)));
    settle(&mut window);
    window
}

/// Lets the window go on until it is still; what arrives from another thread may stir it again.
fn settle(window: &mut Window) {
    let until = std::time::Instant::now() + std::time::Duration::from_secs(300);
    while window.run_ok().is_none() {
        assert!(std::time::Instant::now() < until, "the window is never still");
    }
}

fn demonstration(folder: &Path, theme: Theme) -> Window {
    demonstrating(window(folder, theme))
}

fn demonstrating(mut window: Window) -> Window {
    window.get_by_label("Try the demonstration job").click();
    window.run();
    window
}

fn view(window: &Window) -> &View {
    window.state().bench().view().unwrap()
}

fn press(window: &mut Window, key: Key) {
    window.key_press(key);
    window.run();
}

fn type_and_enter(window: &mut Window, text: &str) {
    window.event(egui::Event::Text(text.to_owned()));
    window.run();
    press(window, Key::Enter);
}

fn shows(window: &Window, text: &str) -> bool {
    window.query_all_by_label_contains(text).next().is_some()
}

fn records() -> Vec<Record> {
    parse(DEMONSTRATION).unwrap().records
}

/// Does in the window what an event of the demonstration tells; cautions come with the steps.
fn play(window: &mut Window, event: &Event) {
    match event {
        Event::Started { .. } | Event::Opened { .. } | Event::CautionSeen { .. } => {}
        Event::Answered { answer, .. } => {
            assert!(shows(window, answer), "{answer} is not offered");
            press(window, Key::Num2);
        }
        Event::Read { reading, .. } | Event::Proved { reading, .. } => type_and_enter(window, &reading.typed),
        Event::Concluded { .. } => {
            press(window, Key::F7);
            press(window, Key::Num1);
        }
        Event::Repaired { what, minutes } => {
            window.event(egui::Event::Text(what.clone()));
            window.run();
            press(window, Key::Tab);
            type_and_enter(window, &minutes.to_string());
        }
        Event::Closed { .. } => press(window, Key::Enter),
        other => panic!("the demonstration holds an event that this test does not know: {other:?}"),
    }
}

/// Acknowledges what is due, with the key that the caution has.
fn acknowledge(window: &mut Window) {
    for _ in 0..4 {
        if window.query_by_label("I have read this").is_some() {
            press(window, Key::Enter);
        }
    }
}

fn play_until(window: &mut Window, stop: &dyn Fn(&Event) -> bool) {
    for record in records() {
        acknowledge(window);
        if stop(&record.event) {
            return;
        }
        play(window, &record.event);
    }
}

#[test]
fn the_whole_demonstration_job_with_the_keyboard() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = demonstration(folder.path(), Theme::Light);
    play_until(&mut window, &|event| matches!(event, Event::Closed { .. }));
    assert_eq!(view(&window).stage, Stage::Proving);
    press(&mut window, Key::Enter);
    assert_eq!(view(&window).stage, Stage::Closed);
    window.key_press_modifiers(Modifiers::COMMAND, Key::E);
    window.run();
    let ticket = std::fs::read_to_string(folder.path().join("ticket.html")).unwrap();
    let sentence = &view(&window).concluded.as_ref().unwrap().sentence;
    assert!(ticket.contains(sentence.as_str()), "{sentence}");

    let (_, on_disk, cut) = JobFile::open(&folder.path().join("demonstration.job.ron")).unwrap();
    assert_eq!(cut, None);
    let (then, now) = (Job::replay(records()).unwrap(), Job::replay(on_disk).unwrap());
    let typed = |job: &Job| job.readings().iter().map(|t| t.reading.clone()).collect::<Vec<_>>();
    assert_eq!(typed(&now), typed(&then));
    assert_eq!(now.concluded().unwrap().faults, then.concluded().unwrap().faults);
    assert_eq!(now.proofs().len(), then.proofs().len());
    assert_eq!(now.closed().unwrap().outcome, then.closed().unwrap().outcome);
}

#[test]
fn a_wrong_entry_stays_with_its_question_and_nothing_is_recorded() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = demonstration(folder.path(), Theme::Light);
    play_until(&mut window, &|event| matches!(event, Event::Read { .. }));
    type_and_enter(&mut window, "7.5");
    assert_eq!(window.get_by_label("What the meter shows").value().as_deref(), Some("7.5"));
    assert!(shows(&window, "7.5 kΩ"), "the question says what it may be");
    assert!(view(&window).readings.is_empty());
    type_and_enter(&mut window, "k..ol");
    assert_eq!(view(&window).readings.len(), 1);
    assert_eq!(view(&window).readings[0].typed, "7.5k..ol");
}

#[test]
fn a_reading_is_corrected_withdrawn_and_brought_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = demonstration(folder.path(), Theme::Light);
    play_until(&mut window, &|event| matches!(event, Event::Opened { .. }));
    let leading = |window: &Window| view(window).suspects[0].faults.clone();
    let before = leading(&window);
    assert!(shows(&window, " Suspect, "), "the picture marks the suspects");
    window.get_by_label("Correct reading 2").click_accesskit();
    window.run();
    type_and_enter(&mut window, "0.3r");
    let corrected = leading(&window);
    assert_ne!(corrected, before, "the sleeve's side leads no more");
    window.get_by_label("Withdraw reading 2").click_accesskit();
    window.run();
    type_and_enter(&mut window, "probe slipped");
    assert!(view(&window).readings[1].withdrawn);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert!(!view(&window).readings[1].withdrawn);
    assert_eq!(leading(&window), corrected);
}

#[test]
fn a_step_that_cannot_be_done_makes_room_for_another() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = demonstration(folder.path(), Theme::Light);
    play_until(&mut window, &|event| matches!(event, Event::Read { .. }));
    let before = view(&window).step.as_ref().unwrap().ask.clone();
    press(&mut window, Key::F5);
    type_and_enter(&mut window, "the meter keeps no lowest value");
    let after = view(&window).step.as_ref().unwrap().ask.clone();
    assert_ne!(before, after);
}

#[test]
fn a_job_without_its_proof_is_closed_as_unproven_only() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = demonstration(folder.path(), Theme::Light);
    play_until(&mut window, &|event| matches!(event, Event::Proved { .. }));
    assert!(!shows(&window, " Suspect, "), "nothing is suspect once it is repaired");
    assert!(window.get_by_label("Close as cured").accesskit_node().is_disabled());
    press(&mut window, Key::F9);
    type_and_enter(&mut window, "the customer could not wait");
    assert_eq!(view(&window).stage, Stage::Closed);
    assert!(view(&window).closed.as_ref().unwrap().contains("the customer could not wait"));
}

fn writing() -> bool {
    std::env::var("LUGWISE_SCREENSHOTS").is_ok_and(|value| value == "1")
}

/// What lines begin with that name a folder, which is another one in each run.
const FOLDERS: [&str; 3] = ["Your own are text files in ", "They are text files in ", "This changes "];

/// Covers the lines that name a folder in the frame that was drawn last, over the whole width.
fn cover_folders(window: &mut Window) {
    let lines = FOLDERS.iter().flat_map(|words| window.query_all_by_label_contains(words));
    let across = |line: Rect| Rect::from_min_max(pos2(0.0, line.min.y), pos2(4000.0, line.max.y));
    let covers: Vec<Rect> = lines.map(|line| across(line.rect())).collect();
    covers.into_iter().for_each(|cover| window.mask(cover));
}

/// Compares a window with the picture that is kept of it, as the head of this file says.
fn compared(window: &mut Window, name: &str) {
    window.event(egui::Event::PointerGone);
    settle(window);
    cover_folders(window);
    let image = window.render().unwrap_or_else(|why| panic!("{name} cannot be drawn: {why}"));
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("screenshots/small");
    if writing() {
        std::fs::create_dir_all(&folder).unwrap();
        return image.save(folder.join(format!("{name}.png"))).unwrap();
    }
    let most = image.pixels().len() / 2500;
    let options = SnapshotOptions::new().threshold(0.6).max_failed_pixels(most).output_path(folder);
    egui_kittest::try_image_snapshot_options(&image, name, &options).unwrap_or_else(|why| {
        panic!(
            "{name} looks otherwise than its picture: {why}\nif it is meant to, write the pictures anew: \
             LUGWISE_SCREENSHOTS=1 cargo test --test demo_window"
        )
    });
}

fn picture(window: &mut Window, name: &str) {
    // The pointer rests where it clicked last; a picture is of the window alone.
    window.event(egui::Event::PointerGone);
    window.run();
    let image = window.render().unwrap_or_else(|why| {
        panic!(
            "{name} cannot be drawn: {why}\nthese tests draw with OpenGL: install the driver packages \
             that README.md names"
        )
    });
    let first = *image.get_pixel(0, 0);
    let drawn = image.pixels().filter(|pixel| **pixel != first).count();
    assert!(drawn > 20_000, "{name} is almost blank: {drawn} pixels");
    if writing() {
        image.save(Path::new(env!("CARGO_MANIFEST_DIR")).join("screenshots").join(name)).unwrap();
    }
}

#[test]
fn the_screens_are_drawn() {
    let folder = tempfile::tempdir().unwrap();
    for (theme, tone) in [(Theme::Light, "light"), (Theme::Dark, "dark")] {
        let mut start = window(Path::new("Lugwise"), theme);
        picture(&mut start, &format!("start-{tone}.png"));
        let mut job = demonstration(folder.path(), theme);
        job.get_by_label("Put the notice away").click();
        job.run();
        play_until(&mut job, &|event| matches!(event, Event::Opened { .. }));
        picture(&mut job, &format!("job-{tone}.png"));
        let mut proof = demonstration(folder.path(), theme);
        play_until(&mut proof, &|event| matches!(event, Event::Closed { .. }));
        picture(&mut proof, &format!("proof-{tone}.png"));
    }
}

#[test]
fn every_screen_looks_as_its_picture() {
    let folder = tempfile::tempdir().unwrap();
    for (theme, tone) in [(Theme::Light, "light"), (Theme::Dark, "dark")] {
        for size in [[1024.0, 700.0], [1280.0, 800.0], [1920.0, 1080.0]] {
            let name = |screen: &str| format!("{screen}-{tone}-{}", size[0]);
            compared(&mut small(Path::new("Lugwise"), size, theme), &name("start"));
            let mut job = demonstrating(small(folder.path(), size, theme));
            job.get_by_label("Put the notice away").click_accesskit();
            job.run();
            play_until(&mut job, &|event| matches!(event, Event::Opened { .. }));
            compared(&mut job, &name("job"));
            let mut proof = demonstrating(small(folder.path(), size, theme));
            play_until(&mut proof, &|event| matches!(event, Event::Closed { .. }));
            compared(&mut proof, &name("proof"));
        }
    }
}
