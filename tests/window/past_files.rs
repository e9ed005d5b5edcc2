//! The archive of past jobs taken care of in the window: files in and out, copies, a customer taken out, learning.

use std::path::{Path, PathBuf};

use egui::{Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::session::{OwnFolder, PastJobs};
use lugwise::ui::{Action, App, DeskBench, Dialogs, PastAction, PastPage};

use crate::own::{click, settle, wait};
use crate::{Window, shows};

const DEMO: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

/// Dialogs that write into a folder of the test's own, and open what is named there.
struct Files {
    home: PathBuf,
    open: PathBuf,
}

impl Dialogs for Files {
    fn save_ticket(&mut self, suggested: &str) -> Option<PathBuf> {
        Some(self.home.join(suggested))
    }

    fn open_job(&mut self) -> Option<PathBuf> {
        Some(self.open.clone())
    }

    fn save_job(&mut self, _suggested: &Path) -> Option<PathBuf> {
        None
    }
}

fn place(home: &Path) -> PastJobs {
    PastJobs::at(home.join("jobs.archive"))
}

/// The page of the archive; what is to be opened is the file of this name.
fn page(home: &Path, open: &str) -> Window {
    let own = OwnFolder::at(home.join("wirings"));
    let bench = DeskBench::with_own(home.join("jobs"), own).unwrap().keeping(place(home));
    let dialogs = Files { home: home.to_owned(), open: home.join(open) };
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .with_theme(Theme::Light)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(dialogs)));
    window.state_mut().ask(Action::Past(PastAction::Page(PastPage::Files)));
    settle(&mut window);
    window
}

fn kept(home: &Path) -> String {
    place(home).open().unwrap().import_file(DEMO).unwrap().uid
}

#[test]
fn job_files_come_in_and_all_jobs_go_out() {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("a.job.ron"), DEMO).unwrap();
    let mut window = page(home.path(), "a.job.ron");
    click(&mut window, "Take in job files…");
    wait(&mut window, "the job", |window| shows(window, "1 taken in, 0 were here already"));
    click(&mut window, "Take in job files…");
    wait(&mut window, "the same job", |window| shows(window, "0 taken in, 1 were here already"));
    click(&mut window, "Write all jobs as NDJSON…");
    wait(&mut window, "the file", |window| shows(window, "jobs.ndjson: 1 job"));
    click(&mut window, "Write all jobs as NDJSON…");
    wait(&mut window, "the refusal", |window| shows(window, "nothing is ever written over"));
    click(&mut window, "Write all jobs as Parquet tables…");
    wait(&mut window, "both tables", |window| shows(window, "jobs-events.parquet: 1 job"));
}

#[test]
fn a_wrong_job_file_is_told_with_its_name() {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("wrong.job"), "no job").unwrap();
    let mut window = page(home.path(), "wrong.job");
    click(&mut window, "Take in job files…");
    wait(&mut window, "why", |window| shows(window, "wrong.job: "));
    assert!(shows(&window, "0 taken in"));
}

#[test]
fn a_damaged_job_that_is_left_out_is_told_with_its_name() {
    let home = tempfile::tempdir().unwrap();
    let uid = kept(home.path());
    let database = rusqlite::Connection::open(home.path().join("jobs.archive")).unwrap();
    database.execute("UPDATE event SET line = line || ' ' WHERE seq = 2", []).unwrap();
    drop(database);
    let mut window = page(home.path(), "nothing");
    click(&mut window, "Write all jobs as NDJSON…");
    let told = format!("left out: {uid}: its event 2");
    wait(&mut window, "what is left out", |window| shows(window, &told));
    assert!(shows(&window, "jobs.ndjson: 0 jobs") && shows(&window, "mended by its job file"));
}

#[test]
fn a_backup_is_put_back_when_it_was_asked_for_twice() {
    let home = tempfile::tempdir().unwrap();
    kept(home.path());
    let mut window = page(home.path(), "jobs-backup.archive");
    click(&mut window, "Back up the archive…");
    wait(&mut window, "the copy", |window| shows(window, "looked through: 1 job with"));
    click(&mut window, "Put a backup back…");
    assert!(shows(&window, "set aside under another name; nothing is deleted"));
    click(&mut window, "No, leave it");
    assert!(window.query_by_label("Put it back").is_none());
    click(&mut window, "Put a backup back…");
    click(&mut window, "Put it back");
    wait(&mut window, "what it holds", |window| shows(window, "The archive holds 1 job with"));
    assert!(shows(&window, "What was there is in"));
}

#[test]
fn a_customer_is_taken_out_after_it_was_said_what_stays() {
    let home = tempfile::tempdir().unwrap();
    let uid = kept(home.path());
    let mut window = page(home.path(), "nothing");
    click(&mut window, "Jobs");
    wait(&mut window, "the list", |window| shows(window, "two-humbuckers: cured"));
    window.get_all_by_label_contains("two-humbuckers: cured").next().unwrap().click_accesskit();
    wait(&mut window, "the first step", |window| shows(window, "Step 1 of"));
    click(&mut window, "Write this job to a file…");
    wait(&mut window, "the file", |_| home.path().join(PastJobs::file_name(&uid)).exists());
    click(&mut window, "Take the customer out…");
    assert!(shows(&window, "Readings, fault, repair, times and prices stay"));
    click(&mut window, "No, leave it");
    assert!(place(home.path()).open().unwrap().summary(&uid).unwrap().removed_at.is_none());
    click(&mut window, "Take the customer out…");
    click(&mut window, "Take the customer out");
    wait(&mut window, "what was done", |window| shows(window, "were changed"));
    assert!(shows(&window, "The customer was taken out of the job of 2 March 2026"));
    wait(&mut window, "the list", |window| shows(window, "(customer taken out)"));
    let job = place(home.path()).open().unwrap().summary(&uid).unwrap();
    assert!(job.removed_at.is_some() && job.customer.is_empty());
}

#[test]
fn learning_is_off_until_it_is_asked_for() {
    let home = tempfile::tempdir().unwrap();
    kept(home.path());
    let mut window = page(home.path(), "nothing");
    let switch = "New jobs start with what past jobs teach";
    wait(&mut window, "what was counted", |window| shows(window, "1 cured job with a named fault"));
    assert!(!place(home.path()).learns().unwrap());
    let shown = |window: &Window| window.state().desk().past.as_ref().unwrap().learnt.as_ref().unwrap().on;
    click(&mut window, switch);
    wait(&mut window, "that it is on", shown);
    assert!(place(home.path()).learns().unwrap());
    click(&mut window, switch);
    wait(&mut window, "that it is off", |window| !shown(window));
    assert!(!place(home.path()).learns().unwrap());
}
