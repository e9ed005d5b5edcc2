//! The screen of the trees and a change of a tree, over the real bench and folders of the test's own.

use std::path::{Path, PathBuf};
use std::time::Duration;

use egui::{Key, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use lugwise::readings::{Access, Mode, Symptom};
use lugwise::session::{OwnFolder, PastJobs};
use lugwise::source::Source;
use lugwise::trees::{Then, Tree, load};
use lugwise::ui::{App, Bench, DeskBench, Dialogs, StartForm, TreePane};
use lugwise::workbench::{Ask, StepView, View};
use rstest::rstest;

use crate::own::{click, settle, wait};
use crate::{Window, press, shows};

const SMALL: &str = include_str!("small_tree.ron");

/// Dialogs that answer with a path in a folder.
struct Saved(PathBuf);

impl Dialogs for Saved {
    fn save_ticket(&mut self, suggested: &str) -> Option<PathBuf> {
        Some(self.0.join(suggested))
    }

    fn open_job(&mut self) -> Option<PathBuf> {
        None
    }

    fn save_job(&mut self, suggested: &Path) -> Option<PathBuf> {
        Some(suggested.to_owned())
    }
}

fn bench(home: &Path) -> DeskBench {
    DeskBench::with_own(home.join("jobs"), OwnFolder::at(home.join("wirings"))).unwrap()
}

fn window(bench: DeskBench, home: &Path, size: [f32; 2], theme: Theme) -> Window {
    let dialogs = Saved(home.to_owned());
    let mut window = Harness::builder()
        .with_size(Vec2::from(size))
        .with_theme(theme)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(dialogs)));
    settle(&mut window);
    window
}

/// Opens the screen with one's own small tree in the folder, and shows that tree.
fn opened(home: &Path) -> Window {
    put(home, SMALL);
    let mut window = window(bench(home), home, [1280.0, 800.0], Theme::Light);
    click(&mut window, "Trees…");
    click(&mut window, "Our own way (your own)");
    window
}

fn file(home: &Path) -> PathBuf {
    home.join("trees/silent.ron")
}

fn put(home: &Path, text: &str) {
    std::fs::create_dir_all(home.join("trees")).unwrap();
    std::fs::write(file(home), text).unwrap();
}

fn read(home: &Path) -> Tree {
    load(&Source::new("silent.ron", std::fs::read_to_string(file(home)).unwrap())).unwrap()
}

fn chosen_step(window: &Window) -> Option<&str> {
    window.state().desk().trees.as_ref()?.step.as_deref()
}

#[test]
fn every_tree_is_listed_with_its_complaint_and_whose_it_is() {
    let home = tempfile::tempdir().unwrap();
    let window = opened(home.path());
    let own = window.state().bench().trees().all().iter().filter(|choice| choice.is_own()).count();
    assert_eq!(own, 1);
    assert!(shows(&window, "your own; no sound"));
    assert!(window.query_by_label("No sound (of the program)").is_none(), "one's own takes its place");
    for choice in window.state().bench().trees().all().iter().filter(|choice| !choice.is_own()) {
        assert!(shows(&window, &format!("{} (of the program)", choice.title())), "{}", choice.key);
    }
}

#[test]
fn a_step_is_read_whole_and_its_ways_are_followed() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    click(&mut window, "Step swap: Try another cable.");
    for text in ["A cable fails more often", "Please try another cable.", "Ask the customer."] {
        assert!(shows(&window, text), "{text} is not shown");
    }
    assert!(shows(&window, "1. It sounds now: the cable was broken. It is not the instrument."));
    click(&mut window, "Way 2. Still silent: it is the guitar. Go to “plug”.");
    assert_eq!(chosen_step(&window), Some("plug"));
    assert!(shows(&window, "plug.tip") && shows(&window, "Suspect: the jack."));
    click(&mut window, "Go back to the step before");
    assert_eq!(chosen_step(&window), Some("swap"));
}

#[test]
fn the_ways_are_followed_with_the_keyboard_alone() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    window.get_by_label("Step swap: Try another cable.").focus();
    settle(&mut window);
    press(&mut window, Key::Enter);
    assert!(window.get_by_label_contains("Way 1. It sounds now").is_focused());
    press(&mut window, Key::Tab);
    assert!(window.get_by_label_contains("Way 2. Still silent").is_focused());
    press(&mut window, Key::Enter);
    assert_eq!(chosen_step(&window), Some("plug"));
    assert!(window.get_by_label_contains("Way 1. As a healthy guitar reads").is_focused());
    press(&mut window, Key::Escape);
    assert!(window.state().desk().trees.is_none());
}

#[test]
fn keys_and_buttons_enlarge_and_fit() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    let scale = |window: &Window| window.state().desk().trees.as_ref().unwrap().look.scale;
    assert_eq!(scale(&window), None);
    press(&mut window, Key::Plus);
    let larger = scale(&window).unwrap();
    press(&mut window, Key::Minus);
    assert!(scale(&window).unwrap() < larger);
    press(&mut window, Key::Num0);
    assert_eq!(scale(&window), None);
    click(&mut window, "Enlarge the tree");
    assert!(scale(&window).is_some());
    click(&mut window, "Show the whole tree");
    assert_eq!(scale(&window), None);
}

#[test]
fn the_arrow_keys_move_the_diagram_that_has_the_keyboard() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    let diagram = |window: &Window| window.get_by_label_contains("Diagram of “Our own way”, 2 steps").rect();
    assert!(diagram(&window).width() > 300.0);
    window.get_by_label_contains("Diagram of “Our own way”").focus();
    settle(&mut window);
    let left = |window: &Window| window.get_by_label("Step swap: Try another cable.").rect().min.x;
    press(&mut window, Key::Num0);
    let before = left(&window);
    press(&mut window, Key::ArrowLeft);
    assert!(left(&window) > before + 30.0, "{} after {before}", left(&window));
}

#[test]
fn a_wrong_file_says_its_line_and_the_last_good_one_stays() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    let wrong = SMALL.replace("Step(\"plug\")", "Step(\"plog\")");
    let line = wrong.lines().position(|line| line.contains("plog")).unwrap() + 1;
    std::fs::write(file(home.path()), &wrong).unwrap();
    wait(&mut window, "the mistake", |window| shows(window, "the tree has no step \"plog\""));
    assert!(shows(&window, &format!("1 mistake, in line {line}")));
    assert!(shows(&window, "The last text that was right stays in use."));
    assert!(window.query_by_label("Step swap: Try another cable.").is_some(), "the diagram stays");
    click(&mut window, &format!("Go to line {line}"));
    assert_eq!(window.state().desk().trees.as_ref().unwrap().pane, TreePane::Text);
    assert!(shows(&window, "plog"));
    std::fs::write(file(home.path()), SMALL.replace("Try another cable.", "Swap the cable.")).unwrap();
    wait(&mut window, "the mended file", |window| !shows(window, "mistake"));
    click(&mut window, "Diagram");
    assert!(window.query_by_label("Step swap: Swap the cable.").is_some());
}

#[test]
fn a_tree_of_the_program_is_copied_whole() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(bench(home.path()), home.path(), [1280.0, 800.0], Theme::Light);
    press(&mut window, Key::F12);
    assert!(shows(&window, "None is your own yet"));
    click(&mut window, "Hums or buzzes (of the program)");
    click(&mut window, "Copy to my trees");
    let copy = std::fs::read_to_string(home.path().join("trees/hum.ron")).unwrap();
    assert_eq!(copy, include_str!("../../trees/hum.ron"));
    assert!(shows(&window, "Copied to ") && shows(&window, "Hums or buzzes (your own)"));
    assert!(window.get_by_label("Copy to my trees").accesskit_node().is_disabled());
}

#[test]
fn a_tree_is_written_as_a_picture_and_as_pages() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    click(&mut window, "Save as SVG…");
    assert!(shows(&window, "Written to "));
    click(&mut window, "Print page (PDF)…");
    let svg = std::fs::read_to_string(home.path().join("silent.svg")).unwrap();
    assert!(svg.contains("<svg") && svg.contains("swap"), "{svg}");
    let pdf = std::fs::read(home.path().join("silent.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-"));
}

/// Lets a check come to its end; the engines of the wirings are worked out first.
fn wait_for_check(window: &mut Window) {
    for _ in 0..6000 {
        settle(window);
        if window.query_by_label("Check it again").is_some() {
            return;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("the check does not end");
}

/// For few wirings, so that the check does not take long; a step that asks for a battery is right on those.
#[test]
fn what_a_check_found_leads_to_its_step() {
    let home = tempfile::tempdir().unwrap();
    let few = SMALL.replace("start: \"swap\"", "only: [Preamp, Piezo],\n    start: \"swap\"");
    put(home.path(), &few.replace("(when: AnythingElse", "(when: Over(\"1M\")"));
    let mut window = window(bench(home.path()), home.path(), [1280.0, 800.0], Theme::Light);
    press(&mut window, Key::F12);
    click(&mut window, "Our own way (your own)");
    click(&mut window, "Check it");
    wait_for_check(&mut window);
    let checked = window.state().bench().trees().checked("silent").cloned().unwrap();
    let finding = checked.findings.iter().find(|finding| !finding.step.is_empty()).unwrap();
    assert!(!checked.passes(), "the readings between have no outcome");
    let label = format!("line {}, {}", finding.line, finding.flaw.name());
    window.query_all_by_label_contains(&label).next().unwrap().click_accesskit();
    settle(&mut window);
    assert_eq!(chosen_step(&window), Some(finding.step.as_str()));
}

#[test]
fn a_check_is_given_up() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    click(&mut window, "Check it");
    click(&mut window, "Stop the check");
    assert!(window.query_by_label("Check it").is_some());
    assert!(window.state().bench().trees().checked("silent").is_none());
}

fn view(window: &Window) -> &View {
    window.state().bench().view().unwrap()
}

/// Presses what says that a caution was read, as often as there is one.
fn acknowledge(window: &mut Window) {
    while window.query_by_label("I have read this").is_some() {
        press(window, Key::Enter);
    }
}

fn form(home: &Path) -> StartForm {
    StartForm {
        wiring: "one-pickup".to_owned(),
        instrument: "an invented guitar".to_owned(),
        customer: String::new(),
        complaint: "no sound".to_owned(),
        symptoms: vec![Symptom::Silent],
        last_done: String::new(),
        access: Access::MayOpen,
        meter: "handheld".to_owned(),
        technician: String::new(),
        file: home.join("jobs/a.job.ron"),
    }
}

/// Returns a job that was led by the small tree to its second step.
fn job_at_the_plug(home: &Path) -> Window {
    put(home, SMALL);
    let mut bench = bench(home);
    let mut form = form(home);
    form.meter.clone_from(&bench.meters()[0].name);
    bench.start(form).unwrap();
    let mut window = window(bench, home, [1280.0, 800.0], Theme::Light);
    acknowledge(&mut window);
    assert_eq!(view(&window).step.as_ref().unwrap().headline, "Try another cable.");
    press(&mut window, Key::Num2);
    acknowledge(&mut window);
    assert_eq!(view(&window).step.as_ref().unwrap().headline, "Read the ohms at the free plug.");
    window
}

#[test]
fn a_job_opens_its_tree_with_the_way_it_went() {
    let home = tempfile::tempdir().unwrap();
    let mut window = job_at_the_plug(home.path());
    assert!(!shows(&window, "Always ask this next here"), "the tree itself asks");
    press(&mut window, Key::F12);
    assert_eq!(chosen_step(&window), Some("plug"));
    assert!(shows(&window, "Step plug: Read the ohms at the free plug. (this job is here)"));
    assert!(shows(&window, "Step swap: Try another cable. (this job went here)"));
    assert!(shows(&window, "The job is at this step."));
    press(&mut window, Key::F12);
    assert!(window.get_by_label("What the meter shows").is_focused());
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
fn what_was_asked_instead_is_always_asked_from_now_on() {
    let home = tempfile::tempdir().unwrap();
    let mut window = job_at_the_plug(home.path());
    let instead = other(view(&window));
    click(&mut window, &instead.headline);
    acknowledge(&mut window);
    click(&mut window, "Always ask this next here…");
    assert!(shows(&window, "This changes ") && shows(&window, "+"));
    assert_eq!(std::fs::read_to_string(file(home.path())).unwrap(), SMALL, "nothing is written yet");
    click(&mut window, "Save to my trees");
    let tree = read(home.path());
    let text = std::fs::read_to_string(file(home.path())).unwrap();
    assert!(text.contains("// the usual answer"), "comments stay");
    let new = tree.steps.iter().find(|step| step.say == instead.headline).expect("the new step");
    let to = |then: &Then| match then {
        Then::Step(index) => tree.steps[*index].name.clone(),
        other => format!("{other:?}"),
    };
    let from_swap: Vec<String> = tree.step("swap").unwrap().ways().map(to).collect();
    assert_eq!(from_swap[1], new.name);
    assert_eq!(new.ways().map(to).collect::<Vec<_>>(), ["plug", "Advisor", "plug"]);
    click(&mut window, "Use the changed tree in this job");
    let trail = window.state().bench().trail().unwrap();
    assert_eq!(trail.at.as_deref(), Some(new.name.as_str()));
    assert!(!shows(&window, "Always ask this next here"), "the tree itself asks it now");
}

#[test]
fn a_change_is_looked_at_and_left() {
    let home = tempfile::tempdir().unwrap();
    let mut window = job_at_the_plug(home.path());
    let instead = other(view(&window));
    click(&mut window, &instead.headline);
    acknowledge(&mut window);
    click(&mut window, "Always ask this next here…");
    click(&mut window, "Cancel");
    assert_eq!(std::fs::read_to_string(file(home.path())).unwrap(), SMALL);
    assert!(window.query_by_label("Save to my trees").is_none());
}

#[test]
fn a_file_that_was_changed_meanwhile_is_not_written_over() {
    let home = tempfile::tempdir().unwrap();
    let mut window = job_at_the_plug(home.path());
    let instead = other(view(&window));
    click(&mut window, &instead.headline);
    acknowledge(&mut window);
    click(&mut window, "Always ask this next here…");
    let changed = SMALL.replace("Our own way", "Another way");
    std::fs::write(file(home.path()), &changed).unwrap();
    click(&mut window, "Save to my trees");
    assert!(shows(&window, "was changed meanwhile"));
    assert_eq!(std::fs::read_to_string(file(home.path())).unwrap(), changed);
}

#[test]
fn a_tree_that_was_changed_elsewhere_reaches_the_job_and_waits_to_be_used() {
    let home = tempfile::tempdir().unwrap();
    let mut window = job_at_the_plug(home.path());
    put(home.path(), &SMALL.replace("Read the ohms at the free plug.", "Read the plug, please."));
    wait(&mut window, "the news", |window| shows(window, "The file of the tree “Our own way” has changed."));
    assert_eq!(view(&window).step.as_ref().unwrap().headline, "Read the ohms at the free plug.");
    assert!(window.get_by_label("What the meter shows").is_focused(), "the work is not interrupted");
    click(&mut window, "Use it as it is now");
    assert_eq!(view(&window).step.as_ref().unwrap().headline, "Read the plug, please.");
    assert!(!shows(&window, "has changed. This job goes by"));
}

#[test]
fn a_tree_that_is_wrong_now_is_told_with_its_line_and_the_job_goes_on() {
    let home = tempfile::tempdir().unwrap();
    let mut window = job_at_the_plug(home.path());
    let wrong = SMALL.replace("start: \"swap\"", "start: \"swop\"");
    put(home.path(), &wrong);
    let line = 1 + wrong.lines().position(|line| line.contains("swop")).unwrap();
    wait(&mut window, "the mistake", |window| shows(window, &format!("silent.ron:{line}:")));
    assert!(window.get_by_label("What the meter shows").is_focused(), "the work is not interrupted");
    click(&mut window, "Not in this job");
    assert!(!shows(&window, &format!("silent.ron:{line}:")));
    put(home.path(), SMALL);
    wait(&mut window, "the mended file", |window| {
        let tree = window.state().bench().trees().find("silent");
        tree.is_some_and(|tree| tree.problems.is_empty())
    });
    assert!(!shows(&window, "has changed. This job goes by"), "the job has this text");
}

/// Draws the screen at several sizes; with `LUGWISE_SHOTS` set to a folder the pictures are kept there.
#[rstest]
fn the_screen_can_be_drawn(
    #[values(Theme::Light, Theme::Dark)] theme: Theme,
    #[values([1280.0, 800.0], [1024.0, 700.0], [640.0, 400.0])] size: [f32; 2],
) {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(bench(home.path()), home.path(), size, theme);
    press(&mut window, Key::F12);
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, Vec2::from(size));
    for label in ["Back", "Show the whole tree", "Diagram"] {
        let rect = window.get_by_label(label).rect();
        assert!(screen.expand(0.5).contains_rect(rect), "{label} at {rect:?} is not within {size:?}");
    }
    let image = window.render().unwrap();
    if let Some(folder) = std::env::var_os("LUGWISE_SHOTS") {
        let file = format!("trees-{theme:?}-{}.png", size[0]);
        image.save(Path::new(&folder).join(file)).unwrap();
    }
}

#[test]
fn what_past_jobs_did_stands_beside_each_way() {
    let home = tempfile::tempdir().unwrap();
    let place = PastJobs::at(home.path().join("jobs.archive"));
    let demo = include_str!("../../assets/demo/school-loan-guitar.job.ron");
    place.open().unwrap().import_file(demo).unwrap();
    let bench = bench(home.path()).keeping(place);
    let mut window = window(bench, home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Trees…");
    wait(&mut window, "a tree without jobs", |window| shows(window, "No past job went by this tree yet."));
    click(&mut window, "Cuts out when moved (of the program)");
    wait(&mut window, "the count", |window| {
        shows(window, "1 past job went by this tree, 1 closed proven. So few say little.")
    });
    window.get_by_label_contains("Step rock the plug: ").click_accesskit();
    wait(&mut window, "the step", |window| shows(window, "past: 1 of 1 job, 1 proven (few)"));
    click(&mut window, "No sound (of the program)");
    wait(&mut window, "another tree", |window| shows(window, "No past job went by this tree yet."));
}

#[test]
fn without_an_archive_the_trees_say_so() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(bench(home.path()), home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Trees…");
    wait(&mut window, "the reason", |window| shows(window, "the archive is switched off"));
}

#[test]
fn a_large_tree_offers_few_steps_at_once_and_tab_still_goes_from_each_to_the_next() {
    const STEPS: usize = 400;
    let step = |at: usize| {
        let next = if at + 1 < STEPS { format!("Step(\"{}\")", at + 1) } else { "Advisor".to_owned() };
        let answer = |word: &str, then: &str| format!("(answer: \"{word}\", means: \"so\", then: {then})");
        let (yes, no) = (answer("yes", &next), answer("no", "Advisor"));
        format!("(name: \"{at}\", say: \"Look at it.\", why: \"To know.\", ask: Look([{yes}, {no}])),\n")
    };
    let steps: String = (0..STEPS).map(step).collect();
    let head = "format: 1, name: \"chain\", title: \"An invented chain\", complaint: Silent, start: \"0\"";
    let home = tempfile::tempdir().unwrap();
    put(home.path(), &format!("({head}, steps: [\n{steps}])\n"));
    let mut window = window(bench(home.path()), home.path(), [1280.0, 800.0], Theme::Light);
    click(&mut window, "Trees…");
    click(&mut window, "An invented chain (your own)");
    let label = |at: usize| format!("Step {at}: Look at it.");
    assert!(shows(&window, &label(0)) && shows(&window, &label(STEPS - 1)));
    assert!(window.query_by_label(&label(STEPS / 2)).is_none(), "it is too small to be pressed");
    window.get_by_label(&label(0)).focus();
    settle(&mut window);
    for next in 1..4 {
        press(&mut window, Key::Tab);
        settle(&mut window);
        assert!(window.get_by_label(&label(next)).is_focused(), "Tab does not go to step {next}");
    }
}
