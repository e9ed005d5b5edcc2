//! Everything that can be done to a job is undone and redone from the window, whatever it was.

use std::path::Path;

use egui::{Key, Modifiers, Theme, Vec2};
use egui_kittest::Harness;
use lugwise::archive::JobFile;
use lugwise::job::{Consent, Estimate, Outcome, PriceLine, ReadingId};
use lugwise::readings::Access;
use lugwise::session::OwnFolder;
use lugwise::ui::{Action, App, DeskBench};
use lugwise::units::Money;
use lugwise::workbench::{Ask, Command, Stage, View};
use serde_json::Value;

use crate::Window;
use crate::fake::Answers;
use crate::own::settle;

const TREE: &str = include_str!("small_tree.ron");

/// How many kinds of commands are done, undone and redone.
const KINDS: usize = 21;

/// Every kind of command with its number; a new one does not compile until it is listed here, and fails until it is
/// done below.
fn number(command: &Command) -> usize {
    match command {
        Command::Record { .. } => 0,
        Command::Know { .. } => 1,
        Command::Answer { .. } => 2,
        Command::Correct { .. } => 3,
        Command::Withdraw { .. } => 4,
        Command::Skip { .. } => 5,
        Command::Choose { .. } => 6,
        Command::TakeAgain { .. } => 7,
        Command::UseTree { .. } => 8,
        Command::SetAccess(_) => 9,
        Command::SeeCaution { .. } => 10,
        Command::Conclude { .. } => 11,
        Command::Repair { .. } => 12,
        Command::Prove { .. } => 13,
        Command::SearchOn { .. } => 14,
        Command::Close(_) => 15,
        Command::Estimate(_) => 16,
        Command::Authorise { .. } => 17,
        Command::Bill { .. } => 18,
        Command::AddPhoto { .. } => 19,
        Command::LinkWarranty { .. } => 20,
        Command::Undo | Command::Redo => KINDS,
    }
}

struct Walk {
    window: Window,
    home: tempfile::TempDir,
    done: [bool; KINDS],
}

impl Walk {
    fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        let own = OwnFolder::at(home.path().join("wirings"));
        let bench = DeskBench::with_own(home.path().join("jobs"), own).unwrap();
        let mut window = Harness::builder()
            .with_size(Vec2::new(1280.0, 800.0))
            .with_theme(Theme::Light)
            .build_eframe(move |cc| App::new(cc, Box::new(bench), Box::new(Answers)));
        window.state_mut().ask(Action::Demonstrate);
        settle(&mut window);
        Self { window, home, done: [false; KINDS] }
    }

    fn view(&self) -> &View {
        self.window.state().bench().view().unwrap()
    }

    /// What is shown, but for whether something can be undone or redone.
    fn shown(&self) -> Value {
        let mut shown = serde_json::to_value(self.view()).unwrap();
        let fields = shown.as_object_mut().unwrap();
        assert!(fields.remove("can_undo").is_some() && fields.remove("can_redo").is_some());
        shown
    }

    fn events(&self) -> usize {
        let path: &Path = &self.home.path().join("jobs/demonstration.job.ron");
        JobFile::open(path).unwrap().1.len()
    }

    fn press(&mut self, key: Key, times: usize) {
        for _ in 0..times {
            self.window.key_press_modifiers(Modifiers::COMMAND, key);
            settle(&mut self.window);
        }
    }

    /// Does something from the window, takes it back, and brings it back, all its events.
    #[track_caller]
    fn doing(&mut self, command: Command) {
        let (before, had) = (self.shown(), self.events());
        let kind = number(&command);
        let what = format!("{command:?}");
        self.window.state_mut().ask(Action::Do(command));
        settle(&mut self.window);
        let events = self.events() - had;
        assert!(events > 0, "{what} was refused: {:?}", self.window.state().desk().problem);
        let after = self.shown();
        self.press(Key::Z, events);
        assert_eq!(self.shown(), before, "{what} taken back");
        self.press(Key::Y, events);
        assert_eq!(self.shown(), after, "{what} brought back");
        self.done[kind] = true;
    }

    /// Does the same, and takes it back for good.
    #[track_caller]
    fn trying(&mut self, command: Command) {
        let had = self.events();
        self.doing(command);
        let kept = (self.events() - had) / 3;
        self.press(Key::Z, kept);
    }

    fn cautions(&mut self) {
        while let Some(caution) = self.view().cautions.first().cloned() {
            self.doing(Command::SeeCaution { key: caution.key });
        }
    }

    fn record(&mut self, text: &str) {
        self.cautions();
        self.doing(Command::Record { text: text.to_owned(), measurement: None });
    }
}

/// What an invented shop says, agrees and writes beside the search.
fn paper(walk: &mut Walk) {
    let money = Money::hundredths;
    let currency = "EUR".to_owned();
    let what = "resolder the jack".to_owned();
    let lines = vec![PriceLine { what, minutes: 20, labour: money(2000), parts: Money::default() }];
    walk.trying(Command::Estimate(Estimate {
        lines: lines.clone(),
        ceiling: money(4000),
        per_hour: money(6000),
        currency: currency.clone(),
        said: "half an hour of work".to_owned(),
    }));
    let by = "the owner".to_owned();
    let how = Consent::Telephone;
    walk.trying(Command::Authorise { by, how, ceiling: money(4000), currency: currency.clone() });
    walk.trying(Command::Bill { lines, currency });
    walk.trying(Command::AddPhoto {
        file: "jack.png".to_owned(),
        checksum: "00".repeat(32),
        size: 1,
        caption: "the jack as it came".to_owned(),
        print: false,
    });
    walk.trying(Command::LinkWarranty {
        job: "earlier.job.ron".to_owned(),
        opened: "2026-01-05T09:00:00Z".to_owned(),
        why: "the same joint".to_owned(),
    });
}

#[test]
fn every_kind_of_command_is_undone_and_redone() {
    let mut walk = Walk::new();
    walk.cautions();
    let part = "neck-pickup".to_owned();
    walk.trying(Command::Know { part, text: "7.6k".to_owned(), celsius: 20.0 });
    walk.trying(Command::SetAccess(Access::MayUnsolder));
    paper(&mut walk);
    walk.trying(Command::UseTree { text: TREE.to_owned() });
    assert!(matches!(walk.view().step.as_ref().unwrap().ask, Ask::Question { .. }));
    walk.doing(Command::Answer { answer: 1 });
    walk.cautions();
    walk.trying(Command::Skip { reason: "no time".to_owned() });
    walk.trying(Command::Choose { alternative: 0 });
    walk.record("7.5k..ol");
    let id = ReadingId(1);
    walk.trying(Command::Correct { id, text: "7.4k..ol".to_owned() });
    walk.trying(Command::Withdraw { id, reason: "the probe slipped".to_owned() });
    walk.trying(Command::TakeAgain { id });
    let faults = walk.view().suspects[0].faults.clone();
    walk.doing(Command::Conclude { faults });
    walk.cautions();
    walk.doing(Command::Repair { what: "resoldered".to_owned(), minutes: 12.0 });
    walk.cautions();
    let text = match walk.view().proof[0].measurement.flex {
        Some(_) => "7.5k..ol",
        None => "ol",
    };
    walk.doing(Command::Prove { index: None, text: text.to_owned() });
    walk.trying(Command::SearchOn { remains: "still cuts out".to_owned(), symptoms: Vec::new() });
    walk.doing(Command::Close(Outcome::Unproven { reason: "no time".to_owned() }));
    assert_eq!(walk.view().stage, Stage::Closed);
    assert_eq!(walk.done, [true; KINDS], "each kind was done, by its number");
}
