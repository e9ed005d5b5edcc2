//! The real program in a real window on a virtual screen: the demonstration job from the first screen to the ticket,
//! by the keyboard alone.

#![cfg(all(feature = "gui", target_os = "linux"))]

#[path = "data/screen.rs"]
mod screen;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use lugwise::archive::JobFile;
use lugwise::job::{Event, Job, Record, parse};
use lugwise::session::built_in_trees;
use lugwise::workbench::{Engine, Workbench};
use screen::{Running, Screen, missing, wait};

const DEMONSTRATION: &str = include_str!("../assets/demo/school-loan-guitar.job.ron");
/// How long the window may take for one thing.
const PATIENCE: Duration = Duration::from_secs(60);
/// How long the window gets to show what follows from what is on disk.
const SHOWN: Duration = Duration::from_millis(2500);

struct Live {
    screen: Screen,
    window: Running,
    engine: Arc<Engine>,
    job: PathBuf,
}

fn script() -> Vec<Record> {
    parse(DEMONSTRATION).unwrap().records
}

fn records(path: &Path) -> Vec<Record> {
    JobFile::open(path).map(|(_, records, _)| records).unwrap_or_default()
}

impl Live {
    /// Opens the window and the demonstration job in it: seven stops back from the first wiring.
    fn open(home: &Path) -> Self {
        let screen = Screen::new();
        let program = env!("CARGO_BIN_EXE_lugwise");
        let window = Running(screen.command(program, home).spawn().unwrap());
        wait(PATIENCE, || screen.is_lit()).expect("the window is drawn");
        let found = screen.keys(&["search", "--sync", "--onlyvisible", "--name", "^Lugwise$"]);
        let id = found.lines().next().unwrap().to_owned();
        screen.keys(&["windowfocus", "--sync", &id]);
        std::thread::sleep(SHOWN);
        for _ in 0..7 {
            screen.keys(&["key", "shift+Tab"]);
            std::thread::sleep(Duration::from_millis(300));
        }
        screen.keys(&["key", "Return"]);
        let Event::Started { intake, .. } = &script()[0].event else { panic!("no intake") };
        let engine = Workbench::engine_for(intake, &built_in_trees().unwrap()).unwrap();
        let job = home.join("Lugwise/demonstration.job.ron");
        let live = Self { screen, window, engine, job };
        assert!(wait(PATIENCE, || live.job.exists()).is_some(), "the demonstration job is made");
        std::thread::sleep(Duration::from_secs(5));
        live
    }

    /// Presses a key and waits until that is on disk.
    fn press(&self, key: &str) {
        let had = records(&self.job).len();
        self.screen.keys(&["key", key]);
        assert!(wait(PATIENCE, || records(&self.job).len() > had).is_some(), "{key} records nothing");
        std::thread::sleep(SHOWN);
    }

    fn text(&self, text: &str) {
        self.screen.keys(&["type", "--delay", "40", "--", text]);
    }

    /// Acknowledges every caution that is due, as the window shows it.
    fn acknowledge(&self) {
        loop {
            let bench = Workbench::resume(Arc::clone(&self.engine), records(&self.job)).unwrap();
            if bench.view().cautions.is_empty() {
                return;
            }
            self.press("Return");
        }
    }

    /// Does what an event of the demonstration tells.
    fn play(&self, event: &Event) {
        match event {
            Event::Answered { .. } => self.press("2"),
            Event::Read { reading, .. } | Event::Proved { reading, .. } => {
                self.text(&reading.typed);
                self.press("Return");
            }
            Event::Concluded { .. } => self.name(),
            Event::Repaired { what, minutes } => {
                self.text(what);
                self.screen.keys(&["key", "Tab"]);
                std::thread::sleep(SHOWN);
                self.text(&minutes.to_string());
                self.press("Return");
            }
            Event::Closed { .. } => self.press("Return"),
            Event::Started { .. } | Event::Opened { .. } | Event::CautionSeen { .. } => {}
            other => panic!("the demonstration holds an event that this test does not know: {other:?}"),
        }
    }

    /// Names the fault: at once when there is a verdict, else the first of the suspects.
    fn name(&self) {
        let bench = Workbench::resume(Arc::clone(&self.engine), records(&self.job)).unwrap();
        if bench.view().verdict.is_some() {
            self.press("F7");
        } else {
            self.screen.keys(&["key", "F7"]);
            std::thread::sleep(SHOWN);
            self.press("1");
        }
    }
}

#[test]
fn a_whole_job_in_the_real_window() {
    let missing = missing(&["Xvfb", "xdotool"]);
    if !missing.is_empty() {
        eprintln!("skipped: not installed: {}", missing.join(", "));
        return;
    }
    let home = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(home.path().join("tickets")).unwrap();
    let mut live = Live::open(home.path());
    for record in script() {
        live.acknowledge();
        live.play(&record.event);
    }
    live.screen.keys(&["key", "ctrl+e"]);
    let tickets = home.path().join("tickets");
    let written = || std::fs::read_dir(&tickets).unwrap().flatten().map(|entry| entry.path()).next();
    assert!(wait(PATIENCE, || written().is_some()).is_some(), "the ticket is written");
    std::thread::sleep(SHOWN);

    let (then, now) = (Job::replay(script()).unwrap(), Job::replay(records(&live.job)).unwrap());
    let typed = |job: &Job| job.readings().iter().map(|taken| taken.reading.clone()).collect::<Vec<_>>();
    assert_eq!(typed(&now), typed(&then));
    assert_eq!(now.concluded().unwrap().faults, then.concluded().unwrap().faults);
    assert_eq!(now.repaired().unwrap().what, then.repaired().unwrap().what);
    assert_eq!(now.proofs().len(), then.proofs().len());
    assert_eq!(now.closed().unwrap().outcome, then.closed().unwrap().outcome);
    let ticket = std::fs::read_to_string(written().unwrap()).unwrap();
    assert!(ticket.contains(&now.concluded().unwrap().sentence), "{ticket}");
    assert!(live.window.0.try_wait().unwrap().is_none(), "the window is still there");
}
