//! Long work is done beside the window: it goes on, says what is being done, and what is typed is not lost.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use egui::{Key, Modifiers, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use lugwise::archive::JobFile;
use lugwise::job::{Event, Record};
use lugwise::readings::Access;
use lugwise::session::{DayLog, MemoryFile, OwnFolder};
use lugwise::ui::{App, Bench, DeskBench, Done, Task};
use lugwise::workbench::Command;

use crate::fake::Answers;
use crate::own::settle;
use crate::{Window, press, shows};

fn bench(home: &Path) -> DeskBench {
    let own = OwnFolder::at(home.join("wirings"));
    DeskBench::with_own(home.join("jobs"), own).unwrap().with_log(DayLog::at(home.join("log")))
}

/// The window as the program opens it: long work beside it, and a memory.
fn window(home: &Path) -> Window {
    let mut bench = bench(home);
    let file = MemoryFile::at(home.join("window.ron"));
    let read = file.read();
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .with_theme(Theme::Light)
        .build_eframe(move |cc| {
            let ctx = cc.egui_ctx.clone();
            bench.work_beside(Arc::new(move || ctx.request_repaint()));
            App::new(cc, Box::new(bench), Box::new(Answers)).remembering(&cc.egui_ctx, file, read)
        });
    settle(&mut window);
    window
}

fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click_accesskit();
    window.run_steps(2);
}

/// Lets the window go on until nothing is done beside it.
fn idle(window: &mut Window) {
    for _ in 0..6000 {
        settle(window);
        if window.state().bench().busy().is_none() {
            return;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("it does not end");
}

fn demonstration(home: &Path) -> Window {
    let mut window = window(home);
    click(&mut window, "Try the demonstration job");
    idle(&mut window);
    while window.query_by_label("I have read this").is_some() {
        press_and_wait(&mut window, Key::Enter);
    }
    window
}

fn press_and_wait(window: &mut Window, key: Key) {
    window.key_press(key);
    window.run_steps(2);
    idle(window);
}

fn job_file(home: &Path) -> PathBuf {
    home.join("jobs/demonstration.job.ron")
}

/// Acknowledges every caution that is due.
fn acknowledge(bench: &mut DeskBench) {
    while let Some(caution) = bench.view().and_then(|view| view.cautions.first().cloned()) {
        bench.apply(Command::SeeCaution { key: caution.key }).unwrap();
    }
}

fn records(path: &Path) -> Vec<Record> {
    JobFile::open(path).unwrap().1
}

#[test]
fn the_window_goes_on_while_a_job_is_opened() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    click(&mut window, "Try the demonstration job");
    let busy = window.state().bench().busy().expect("it is being opened");
    assert!(busy.can_be_given_up);
    assert!(window.state().bench().view().is_none());
    assert!(window.query_by_label("Start the job").is_some(), "the first screen stays meanwhile");
    idle(&mut window);
    assert!(window.state().bench().view().is_some());
}

#[test]
fn what_takes_long_is_said_and_given_up() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    click(&mut window, "Try the demonstration job");
    std::thread::sleep(Duration::from_millis(160));
    window.step();
    assert!(shows(&window, "Working: opening the demonstration job"));
    press(&mut window, Key::Escape);
    assert!(window.state().bench().busy().is_none());
    assert!(window.state().bench().view().is_none());
    assert!(shows(&window, "Given up: nothing was changed."));
    click(&mut window, "Try the demonstration job");
    idle(&mut window);
    assert!(window.state().bench().view().is_some(), "it can be opened after all");
}

#[test]
fn a_reading_is_on_disk_before_what_follows_is_worked_out() {
    let home = tempfile::tempdir().unwrap();
    let mut bench = bench(home.path());
    bench.demonstrate().unwrap();
    acknowledge(&mut bench);
    bench.work_beside(Arc::new(|| ()));
    let reads =
        |path: &Path| records(path).iter().filter(|r| matches!(r.event, Event::Answered { .. })).count();
    let path = bench.job_file().unwrap().to_owned();
    let seen = bench.revision();
    let mut done = bench.give(Task::Do { command: Command::Answer { answer: 1 }, seen });
    let mut kept_first = None;
    while bench.busy().is_some() || !done.is_empty() {
        for one in done.drain(..) {
            match one {
                Done::Kept => kept_first = Some(reads(&path)),
                Done::Shown(_) => assert_eq!(kept_first, Some(1), "it is on disk first"),
                other => panic!("{other:?}"),
            }
        }
        std::thread::sleep(Duration::from_millis(1));
        done = bench.take_in();
    }
    assert!(bench.revision() > seen);
}

#[test]
fn what_is_asked_for_meanwhile_is_done_in_its_order() {
    let home = tempfile::tempdir().unwrap();
    let mut bench = bench(home.path());
    bench.demonstrate().unwrap();
    bench.work_beside(Arc::new(|| ()));
    let path = bench.job_file().unwrap().to_owned();
    let all = [Access::Telephone, Access::MayUnsolder, Access::Outside];
    let mut given = 0;
    for access in all {
        let task = Task::Do { command: Command::SetAccess(access), seen: bench.revision() };
        given += bench.give(task).iter().filter(|done| matches!(done, Done::Shown(_))).count();
    }
    bench.finish();
    assert!(bench.busy().is_none() && given <= all.len());
    let changed: Vec<Access> = records(&path)
        .iter()
        .filter_map(|record| match record.event {
            Event::AccessChanged { access } => Some(access),
            _ => None,
        })
        .collect();
    assert_eq!(changed, all);
    assert_eq!(bench.view().unwrap().access, Access::Outside);
}

#[test]
fn what_is_typed_while_a_command_is_carried_out_stays() {
    let home = tempfile::tempdir().unwrap();
    let mut window = demonstration(home.path());
    press_and_wait(&mut window, Key::Num2);
    while window.query_by_label("I have read this").is_some() {
        press_and_wait(&mut window, Key::Enter);
    }
    window.event(egui::Event::Text("7.5k..ol".to_owned()));
    window.run_steps(2);
    window.key_press(Key::Enter);
    window.run_steps(2);
    window.event(egui::Event::Text("0.3".to_owned()));
    window.run_steps(1);
    idle(&mut window);
    let view = window.state().bench().view().unwrap();
    assert_eq!(view.readings.len(), 1);
    assert_eq!(view.readings[0].typed, "7.5k..ol");
    assert_eq!(window.state().desk().entry.trim(), "0.3");
    assert_eq!(window.state().desk().closer.reading, Some(view.readings[0].id), "it is looked at");
}

#[test]
fn the_next_start_goes_on_where_the_last_ended() {
    let home = tempfile::tempdir().unwrap();
    {
        let mut window = demonstration(home.path());
        window.key_press_modifiers(Modifiers::NONE, Key::Num2);
        window.run_steps(2);
        idle(&mut window);
        while window.query_by_label("I have read this").is_some() {
            press_and_wait(&mut window, Key::Enter);
        }
        window.event(egui::Event::Text("7.5".to_owned()));
        settle(&mut window);
        let mut app = window.into_state();
        eframe_exit(&mut app);
    }
    let events = records(&job_file(home.path())).len();
    let mut window = window(home.path());
    let label = "Go on with school loan guitar no. 4 (invented)";
    let first = window.query_all_by_role(egui::accesskit::Role::Button).next().unwrap();
    assert_eq!(first.accesskit_node().label().as_deref(), Some(label), "it is the first button");
    click(&mut window, label);
    idle(&mut window);
    assert_eq!(window.state().desk().entry, "7.5");
    assert!(window.state().bench().view().unwrap().step.is_some());
    assert_eq!(records(&job_file(home.path())).len(), events, "opening records nothing");
}

fn eframe_exit(app: &mut App) {
    use eframe::App as _;
    app.on_exit(None);
}

#[test]
fn a_memory_that_cannot_be_read_is_moved_aside() {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("window.ron"), "(format: 9").unwrap();
    let window = window(home.path());
    assert!(shows(&window, "cannot be read") && shows(&window, "window.broken-1.ron"));
    assert!(home.path().join("window.broken-1.ron").exists());
}
