//! The screen of past jobs, over the real bench and a small archive of the test's own.

use std::path::{Path, PathBuf};

use egui::{Key, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::session::{OwnFolder, PastJobs};
use lugwise::ui::{App, Bench, DeskBench, Dialogs, Question, Reply};
use lugwise::workbench::Command;

use crate::own::{click, settle, wait};
use crate::{Window, control, press, shows};

const DEMO: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

/// Dialogs that answer with a file in a folder of the test's own.
struct Folder(PathBuf);

impl Dialogs for Folder {
    fn save_ticket(&mut self, suggested: &str) -> Option<PathBuf> {
        Some(self.0.join(suggested))
    }

    fn open_job(&mut self) -> Option<PathBuf> {
        None
    }

    fn save_job(&mut self, _suggested: &Path) -> Option<PathBuf> {
        None
    }
}

fn place(home: &Path) -> PastJobs {
    PastJobs::at(home.join("jobs.archive"))
}

fn bench(home: &Path) -> DeskBench {
    let own = OwnFolder::at(home.join("wirings"));
    DeskBench::with_own(home.join("jobs"), own).unwrap().keeping(place(home))
}

fn window(home: &Path, size: [f32; 2]) -> Window {
    let (bench, dialogs) = (bench(home), Folder(home.to_owned()));
    let mut window = Harness::builder()
        .with_size(Vec2::from(size))
        .with_theme(Theme::Light)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(dialogs)));
    settle(&mut window);
    window
}

/// The window on the screen of past jobs, with the demonstration job in the archive.
fn with_one(home: &Path) -> Window {
    place(home).open().unwrap().import_file(DEMO).unwrap();
    let mut window = window(home, [1280.0, 800.0]);
    click(&mut window, "Past jobs");
    wait(&mut window, "the list", |window| shows(window, "1 job"));
    window
}

fn opened(home: &Path) -> Window {
    let mut window = with_one(home);
    let row = "two-humbuckers: cured";
    window.get_all_by_label_contains(row).next().unwrap().click_accesskit();
    wait(&mut window, "the first step", |window| shows(window, "Step 1 of 28"));
    window
}

fn type_into(window: &mut Window, field: &str, text: &str) {
    window.get_by_label(field).focus();
    settle(window);
    window.get_by_label(field).type_text(text);
    settle(window);
}

#[test]
fn without_past_jobs_it_says_so_and_makes_no_archive() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path(), [1280.0, 800.0]);
    click(&mut window, "Past jobs");
    wait(&mut window, "the empty list", |window| shows(window, "There are no past jobs yet"));
    click(&mut window, "Figures");
    wait(&mut window, "no figures", |window| shows(window, "no past jobs yet to be counted"));
    assert!(!home.path().join("jobs.archive").exists());
    control(&mut window, Key::N);
    assert!(window.query_by_label("Start the job").is_some());
}

#[test]
fn an_archive_that_is_switched_off_is_told() {
    let home = tempfile::tempdir().unwrap();
    let own = OwnFolder::at(home.path().join("wirings"));
    let bench = DeskBench::with_own(home.path().join("jobs"), own).unwrap();
    let dialogs = Folder(home.path().to_owned());
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(dialogs)));
    click(&mut window, "Past jobs");
    wait(&mut window, "that it is off", |window| shows(window, "LUGWISE_ARCHIVE is off"));
}

#[test]
fn words_and_limits_are_looked_for_as_they_are_typed() {
    let home = tempfile::tempdir().unwrap();
    let mut window = with_one(home.path());
    assert!(window.get_by_label("Search for words").is_focused());
    type_into(&mut window, "Search for words", "zzz");
    wait(&mut window, "nothing found", |window| shows(window, "No job is like that"));
    for _ in 0..3 {
        window.key_press(Key::Backspace);
        settle(&mut window);
    }
    wait(&mut window, "the job again", |window| shows(window, "two-humbuckers: cured"));
    type_into(&mut window, "To", "2026-02");
    wait(&mut window, "nothing that early", |window| shows(window, "No job is like that"));
}

#[test]
fn a_job_is_gone_through_with_the_arrow_keys() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    press(&mut window, Key::ArrowRight);
    assert!(shows(&window, "Step 2 of 28"));
    press(&mut window, Key::ArrowRight);
    press(&mut window, Key::ArrowLeft);
    assert!(shows(&window, "Step 2 of 28"));
    let steps = &window.state().desk().past.as_ref().unwrap().rerun.as_ref().unwrap().replay.steps;
    let read = steps.iter().find(|step| step.reading.is_some()).unwrap().clone();
    let step = format!("Go to step {}: {}, {}", read.number, read.said, read.asked);
    window.get_all_by_label_contains(&step).next().unwrap().click_accesskit();
    settle(&mut window);
    for told in [&read.asked, &read.typed, &read.healthy] {
        assert!(!told.is_empty() && shows(&window, told), "{told}");
    }
    assert!(shows(&window, "How the suspects stood"));
    press(&mut window, Key::Escape);
    assert!(window.query_by_label("Search for words").is_some());
}

#[test]
fn figures_are_drawn_told_and_written() {
    let home = tempfile::tempdir().unwrap();
    let mut window = with_one(home.path());
    click(&mut window, "Figures");
    wait(&mut window, "the first chart", |window| shows(window, "2026-03-02: 1, 1 closed"));
    assert!(shows(&window, "fewer than ten jobs"), "one job is few");
    click(&mut window, "Save as CSV…");
    let csv = home.path().join("past-jobs-weeks.csv");
    wait(&mut window, "the file", |window| shows(window, "Written to"));
    assert!(std::fs::read_to_string(csv).unwrap().contains("\"2026-03-02\",1,1"));
    click(&mut window, "Save as CSV…");
    wait(&mut window, "the refusal", |window| shows(window, "nothing is ever written over"));
    click(&mut window, "Save the report…");
    let page = home.path().join("past-jobs.html");
    wait(&mut window, "the page", |_| page.exists());
}

#[test]
fn a_wrong_date_is_refused_at_its_field() {
    let home = tempfile::tempdir().unwrap();
    let mut window = with_one(home.path());
    type_into(&mut window, "From", "12/2025");
    assert!(shows(&window, "\"12/2025\" is no date; write 2026, 2026-03 or 2026-03-02"));
    assert!(!shows(&window, "two-humbuckers: cured"), "nothing is listed by a limit that means nothing");
    click(&mut window, "Figures");
    assert!(!shows(&window, "Save the report…"));
    click(&mut window, "All");
    wait(&mut window, "the chart", |window| shows(window, "2026-03-02: 1, 1 closed"));
}

#[test]
fn a_job_says_by_whom_and_which_reading_found_its_fault() {
    let home = tempfile::tempdir().unwrap();
    let mut window = opened(home.path());
    let rerun = window.state().desk().past.as_ref().unwrap().rerun.clone().unwrap();
    assert!(!rerun.job.technician.is_empty() && shows(&window, &rerun.job.technician));
    assert!(shows(&window, &format!("{:.0} of search", rerun.job.search_minutes)));
    let (step, bits) = rerun.found.unwrap();
    assert!(bits > 0.0 && rerun.replay.steps[step].reading.is_some());
    assert!(shows(&window, "(found it: +"));
    click(&mut window, "Go to the reading that found it");
    assert!(shows(&window, &format!("Step {} of 28", step + 1)));
    click(&mut window, "Take the customer out…");
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "This cannot be undone") && shows(&window, "of 28"), "only the question is left");
}

#[test]
fn a_bar_lists_the_jobs_that_it_stands_for() {
    let home = tempfile::tempdir().unwrap();
    let mut window = with_one(home.path());
    click(&mut window, "Figures");
    wait(&mut window, "the first chart", |window| shows(window, "2026-03-02: 1, 1 closed"));
    click(&mut window, "List the jobs of 2026-03-02");
    wait(&mut window, "the list", |window| shows(window, "two-humbuckers: cured"));
    let form = &window.state().desk().past.as_ref().unwrap().form;
    assert_eq!((form.from.as_str(), form.to.as_str()), ("2026-03-02", "2026-03-08"));
}

/// Dialogs of a system that has none.
struct Nothing;

impl Dialogs for Nothing {
    fn ask(&mut self, _question: &Question) -> Reply {
        Reply::Later(Box::pin(std::future::ready(Vec::new())))
    }
}

#[test]
fn without_a_file_dialog_a_path_can_be_typed() {
    let home = tempfile::tempdir().unwrap();
    place(home.path()).open().unwrap().import_file(DEMO).unwrap();
    let bench = bench(home.path());
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(Nothing)));
    click(&mut window, "Past jobs");
    wait(&mut window, "the list", |window| shows(window, "1 job"));
    click(&mut window, "Figures");
    wait(&mut window, "the first chart", |window| shows(window, "2026-03-02: 1, 1 closed"));
    click(&mut window, "Save as CSV…");
    wait(&mut window, "why", |window| shows(window, "No file dialog could be opened"));
    click(&mut window, "Go on with this path");
    let csv = home.path().join("past-jobs-weeks.csv");
    wait(&mut window, "the file", |_| csv.exists());
}

#[test]
fn values_of_the_same_instrument_are_taken_over() {
    let home = tempfile::tempdir().unwrap();
    let form = |bench: &DeskBench| {
        let mut form = lugwise::ui::Desk::default().start;
        form.wiring = "two-humbuckers".to_owned();
        form.instrument = "Loan guitar 4".to_owned();
        form.complaint = "no sound".to_owned();
        form.symptoms = bench.symptoms_in("no sound");
        form.meter.clone_from(&bench.meters()[0].name);
        form.file = bench.file_for("before");
        form
    };
    let mut before = bench(home.path());
    before.start(form(&before)).unwrap();
    let (part, text) = ("neck-pickup".to_owned(), "7.62k".to_owned());
    before.apply(Command::Know { part, text, celsius: 20.0 }).unwrap();
    drop(before);
    let mut window = window(home.path(), [1280.0, 1600.0]);
    click(&mut window, "Two humbuckers, two volumes, two tones, three-way toggle");
    type_into(&mut window, "Instrument", "loan guitar 4");
    type_into(&mut window, "Complaint, in the customer's words", "no sound");
    wait(&mut window, "the offer", |window| shows(window, "7.62 kΩ: take over"));
    window.get_all_by_label_contains("7.62 kΩ: take over").next().unwrap().click_accesskit();
    settle(&mut window);
    click(&mut window, "Start the job");
    let file = window.state().bench().job_file().unwrap().to_owned();
    let written = std::fs::read_to_string(file).unwrap();
    assert!(written.contains("known(") && written.contains("neck-pickup"), "{written:.200}");
}
