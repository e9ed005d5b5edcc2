//! Every screen beside the first one, the job and the proof, drawn small and compared with its picture.

use std::path::Path;
use std::time::Duration;

use egui::{Key, Modifiers, Theme, Vec2};
use egui_kittest::kittest::Queryable;
use lugwise::job::Event;
use lugwise::readings::{Access, Mode, Symptom};
use lugwise::session::{OwnFolder, PastJobs};
use lugwise::ui::{Bench, DeskBench, StartForm};
use lugwise::workbench::{Ask, Stage, StepView, View};

use crate::{
    DEMONSTRATION, Window, acknowledge, compared, demonstrating, drawn_small, play, press, records, settle,
    shows, small, type_and_enter, view,
};

const WIDE: [f32; 2] = [1280.0, 800.0];
const SMALL_TREE: &str = include_str!("../window/small_tree.ron");

/// The sizes and themes that each screen is drawn in, the one it is driven in last.
const LOOKS: [([f32; 2], Theme, &str); 4] = [
    ([1024.0, 700.0], Theme::Light, "light"),
    ([1920.0, 1080.0], Theme::Light, "light"),
    (WIDE, Theme::Dark, "dark"),
    (WIDE, Theme::Light, "light"),
];

/// Compares a screen in every size and theme with its pictures.
fn looks_as_before(window: &mut Window, screen: &str) {
    for (size, theme, tone) in LOOKS {
        window.set_size(Vec2::from(size));
        window.ctx.set_theme(theme);
        compared(window, &format!("{screen}-{tone}-{}", size[0]));
    }
}

/// Lets the window go on until it shows what is awaited; its clock is not the wall's, threads and the disk have that.
#[track_caller]
fn wait(window: &mut Window, what: &str, until: impl Fn(&Window) -> bool) {
    for _ in 0..12_000 {
        settle(window);
        if until(window) {
            return;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("waited in vain: {what}");
}

/// Presses what has this label, as soon as it is there.
#[track_caller]
fn click(window: &mut Window, label: &str) {
    wait(window, label, |window| window.query_by_label(label).is_some());
    window.get_by_label(label).click_accesskit();
    settle(window);
}

/// Presses the first thing whose label holds these words.
#[track_caller]
fn click_first(window: &mut Window, words: &str) {
    wait(window, words, |window| shows(window, words));
    window.get_all_by_label_contains(words).next().unwrap().click_accesskit();
    settle(window);
}

fn control(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    settle(window);
}

fn type_into(window: &mut Window, field: &str, text: &str) {
    window.get_by_label(field).focus();
    settle(window);
    window.get_by_label(field).type_text(text);
    settle(window);
}

/// Goes on with the demonstration from the event that is due until one that is not to be done.
fn play_on(window: &mut Window, due: &mut usize, stop: &dyn Fn(&Event) -> bool) {
    for record in &records()[*due..] {
        acknowledge(window);
        if stop(&record.event) {
            return;
        }
        play(window, &record.event);
        *due += 1;
    }
}

fn demonstration(home: &Path) -> Window {
    demonstrating(small(home, WIDE, Theme::Light))
}

/// The bench with folders of the test's own.
fn bench(home: &Path) -> DeskBench {
    DeskBench::with_own(home.join("jobs"), OwnFolder::at(home.join("wirings"))).unwrap()
}

fn window_on(home: &Path, bench: DeskBench) -> Window {
    drawn_small(bench, home, WIDE, Theme::Light)
}

fn put(file: &Path, text: &str) {
    std::fs::create_dir_all(file.parent().unwrap()).unwrap();
    std::fs::write(file, text).unwrap();
}

#[test]
fn from_the_first_question_to_the_closed_job() {
    let home = tempfile::tempdir().unwrap();
    let mut window = demonstration(home.path());
    looks_as_before(&mut window, "caution");
    click(&mut window, "Put the notice away");
    let mut due = 0;
    play_on(&mut window, &mut due, &|event| matches!(event, Event::Answered { .. }));
    looks_as_before(&mut window, "question");
    play_on(&mut window, &mut due, &|event| matches!(event, Event::Opened { .. }));
    control(&mut window, Key::F);
    looks_as_before(&mut window, "far");
    control(&mut window, Key::F);
    play_on(&mut window, &mut due, &|event| matches!(event, Event::Repaired { .. }));
    assert_eq!(view(&window).stage, Stage::Repairing);
    looks_as_before(&mut window, "repair");
    play_on(&mut window, &mut due, &|event| matches!(event, Event::Closed { .. }));
    press(&mut window, Key::Enter);
    assert_eq!(view(&window).stage, Stage::Closed);
    looks_as_before(&mut window, "closed");
}

#[test]
fn the_other_ways_to_take_a_reading() {
    let home = tempfile::tempdir().unwrap();
    let mut window = demonstration(home.path());
    click(&mut window, "Put the notice away");
    play_on(&mut window, &mut 0, &|event| matches!(event, Event::Read { .. }));
    for terminal in ["Terminal: tip of the plug", "Terminal: sleeve of the plug"] {
        click_first(&mut window, terminal);
    }
    click(&mut window, "What would this read?");
    looks_as_before(&mut window, "own-probes");
    press(&mut window, Key::Escape);
    control(&mut window, Key::H);
    looks_as_before(&mut window, "hands-free");
    control(&mut window, Key::H);
    window.get_by_label("What the meter shows").focus();
    settle(&mut window);
    type_and_enter(&mut window, "7.5");
    assert!(shows(&window, "7.5 kΩ"), "the question says what it may be");
    looks_as_before(&mut window, "refused");
    control(&mut window, Key::T);
    acknowledge(&mut window);
    wait(&mut window, "the script", |window| shows(window, "Read this out to the customer"));
    looks_as_before(&mut window, "telephone");
}

#[test]
fn the_practice_bench() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window_on(home.path(), bench(home.path()));
    click(&mut window, "Practise");
    assert!(shows(&window, "Nothing has been played yet"));
    looks_as_before(&mut window, "practice-start");
    type_into(&mut window, "Number of the instrument", "7");
    click(&mut window, "Hide a fault");
    wait(&mut window, "an instrument", |window| window.query_by_label("Put the probes on").is_some());
    for (probe, terminal) in [("Red probe", "plug.tip"), ("Black probe", "plug.sleeve")] {
        let title = {
            let desk = window.state().desk().practice.as_ref().unwrap();
            let game = desk.bout.as_ref().unwrap().game.borrow();
            let id = game.harness().terminal(terminal).unwrap();
            game.harness()[id].title.clone()
        };
        click(&mut window, probe);
        click(&mut window, &title);
    }
    control(&mut window, Key::Enter);
    looks_as_before(&mut window, "practice");
    click(&mut window, "Give up");
    wait(&mut window, "both ways", |window| shows(window, "What the program did"));
    looks_as_before(&mut window, "practice-result");
}

fn past_jobs(home: &Path) -> Window {
    let place = PastJobs::at(home.join("jobs.archive"));
    let mut window = window_on(home, bench(home).keeping(place));
    click(&mut window, "Past jobs");
    window
}

#[test]
fn past_jobs_none_and_one() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window_on(home.path(), bench(home.path()));
    click(&mut window, "Past jobs");
    wait(&mut window, "that it is off", |window| shows(window, "LUGWISE_ARCHIVE is off"));
    looks_as_before(&mut window, "past-off");
    let mut window = past_jobs(home.path());
    wait(&mut window, "the empty list", |window| shows(window, "There are no past jobs yet"));
    looks_as_before(&mut window, "past-empty");
    PastJobs::at(home.path().join("jobs.archive")).open().unwrap().import_file(DEMONSTRATION).unwrap();
    let mut window = past_jobs(home.path());
    wait(&mut window, "the list", |window| shows(window, "1 job"));
    looks_as_before(&mut window, "past");
    click(&mut window, "Figures");
    wait(&mut window, "the first chart", |window| shows(window, "2026-03-02: 1, 1 closed"));
    looks_as_before(&mut window, "past-figures");
    click(&mut window, "Jobs");
    click_first(&mut window, "two-humbuckers: cured");
    wait(&mut window, "the first step", |window| shows(window, "Step 1 of 28"));
    for _ in 1..8 {
        press(&mut window, Key::ArrowRight);
    }
    looks_as_before(&mut window, "past-replay");
}

#[test]
fn trees_of_the_program_and_ones_own() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window_on(home.path(), bench(home.path()));
    press(&mut window, Key::F12);
    click(&mut window, "No sound (of the program)");
    assert!(shows(&window, "None is your own yet"));
    looks_as_before(&mut window, "trees");
    let few = SMALL_TREE.replace("start: \"swap\"", "only: [Preamp, Piezo],\n    start: \"swap\"");
    let few = few.replace("(when: AnythingElse", "(when: Over(\"1M\")");
    let file = home.path().join("trees/silent.ron");
    put(&file, &few);
    let mut window = window_on(home.path(), bench(home.path()));
    press(&mut window, Key::F12);
    click(&mut window, "Our own way (your own)");
    click(&mut window, "Check it");
    wait(&mut window, "the end of the check", |window| window.query_by_label("Check it again").is_some());
    click(&mut window, "Step swap: Try another cable.");
    looks_as_before(&mut window, "trees-checked");
    let wrong = few.replace("Step(\"plug\")", "Step(\"plog\")");
    let line = wrong.lines().position(|line| line.contains("plog")).unwrap() + 1;
    put(&file, &wrong);
    wait(&mut window, "the mistake", |window| shows(window, "the tree has no step \"plog\""));
    click(&mut window, &format!("Go to line {line}"));
    looks_as_before(&mut window, "trees-wrong");
}

fn form(home: &Path, bench: &DeskBench) -> StartForm {
    StartForm {
        wiring: "one-pickup".to_owned(),
        instrument: "an invented guitar".to_owned(),
        customer: String::new(),
        complaint: "no sound".to_owned(),
        symptoms: vec![Symptom::Silent],
        last_done: String::new(),
        access: Access::MayOpen,
        meter: bench.meters()[0].name.clone(),
        technician: String::new(),
        file: home.join("jobs/a.job.ron"),
    }
}

/// Returns another step that a tree could ask for.
fn other(view: &View) -> StepView {
    let plain = |step: &&StepView| match &step.ask {
        Ask::Measure(m) => m.mode == Mode::Resistance && m.lifted.is_none() && m.flex.is_none(),
        Ask::Question { .. } => false,
    };
    view.alternatives.iter().find(plain).expect("a still reading in ohms is offered").clone()
}

#[test]
fn a_change_of_a_tree() {
    let home = tempfile::tempdir().unwrap();
    put(&home.path().join("trees/silent.ron"), SMALL_TREE);
    let mut bench = bench(home.path());
    let form = form(home.path(), &bench);
    bench.start(form).unwrap();
    let mut window = window_on(home.path(), bench);
    acknowledge(&mut window);
    press(&mut window, Key::Num2);
    acknowledge(&mut window);
    let instead = other(view(&window));
    click(&mut window, &instead.headline);
    acknowledge(&mut window);
    click(&mut window, "Always ask this next here…");
    assert!(shows(&window, "This changes "));
    looks_as_before(&mut window, "tree-change");
}

#[test]
fn before_a_job_is_started() {
    let home = tempfile::tempdir().unwrap();
    let wrong =
        include_str!("../small_wiring.ron").replacen("format: 1,", "format: 1,\n    colour: \"red\",", 1);
    put(&home.path().join("wirings/small.ron"), &wrong);
    let own = OwnFolder::at(home.path().join("wirings"));
    let bench = DeskBench::with_own("Lugwise".into(), own).unwrap();
    let mut window = window_on(home.path(), bench);
    click(&mut window, "Start the job");
    assert!(shows(&window, "Choose the wiring"));
    looks_as_before(&mut window, "start-refused");
    click(&mut window, "Your wirings…");
    wait(&mut window, "the mistake", |window| shows(window, "unknown field `colour`"));
    looks_as_before(&mut window, "own-wrong");
    press(&mut window, Key::Escape);
    click(&mut window, "Not sure which? Count what you see");
    looks_as_before(&mut window, "count");
    let mut window = small(Path::new("Lugwise"), WIDE, Theme::Light);
    click(&mut window, "One pickup, volume and tone");
    click(&mut window, "Check a fresh wiring");
    acknowledge(&mut window);
    wait(&mut window, "the first check", |window| shows(window, "Check 1 of "));
    looks_as_before(&mut window, "audit");
}
