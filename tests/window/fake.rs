//! A bench without an engine: canned views of an invented job that follow the commands, so that the window
//! can be driven by itself.

use std::cell::{Cell, RefCell};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use lugwise::circuit::{Harness, built_in, load};
use lugwise::draw::{Marks, Picture, Plan, Sight, Spot};
use lugwise::job::{Outcome, ReadingId, Speaker, Standing};
use lugwise::readings::{Measurement, Meter, Mode, Symptom};
use lugwise::session::{OwnFolder, OwnTrees, ShopPlace};
use lugwise::source::Source;
use lugwise::ui::{
    Bench, Detour, Dialogs, Done, MeterChoice, OwnFile, Proposal, StartForm, Task, TreeShelf, WiringChoice,
};
use lugwise::workbench::{
    AuditRun, AuditView, CaseView, Command, Engine, LookBack, RoundView, Stage, StepView, SuspectView,
    Telling, UnitDoubt, UnitMeaning, View,
};

use crate::views;

/// What the fake was asked to do, seen from outside while the window owns the fake.
#[derive(Clone, Default)]
pub struct Log(Rc<RefCell<Vec<String>>>, Rc<Cell<bool>>);

impl Log {
    /// Returns the lines so far.
    pub fn lines(&self) -> Vec<String> {
        self.0.borrow().clone()
    }

    /// Holds back what is given from now on, or lets it be done.
    pub fn hold(&self, held: bool) {
        self.1.set(held);
    }

    fn add(&self, line: String) {
        self.0.borrow_mut().push(line);
    }
}

/// The bench without an engine.
pub struct Fake {
    wirings: Vec<WiringChoice>,
    meters: Vec<MeterChoice>,
    trees: TreeShelf,
    view: Option<View>,
    undone: Vec<View>,
    done: Vec<View>,
    revision: u64,
    sight: Sight,
    harness: Harness,
    held: Vec<Task>,
    log: Log,
}

impl Fake {
    /// Makes a bench with no open job.
    pub fn empty(log: &Log) -> Self {
        Self {
            wirings: vec![wiring("one-pickup.ron"), wiring("two-humbuckers.ron")],
            meters: meters(),
            trees: TreeShelf::new(OwnTrees::at("nowhere/at/all"), vec![harness("one-pickup.ron")]),
            view: None,
            undone: Vec::new(),
            done: Vec::new(),
            revision: 0,
            sight: Sight::default(),
            harness: harness("two-humbuckers.ron"),
            held: Vec::new(),
            log: log.clone(),
        }
    }

    /// Makes a bench with this job open.
    pub fn with(view: View, log: &Log) -> Self {
        Self { view: Some(view), ..Self::empty(log) }
    }

    fn carry_out(&mut self, command: Command) -> Result<String, String> {
        let Some(view) = &mut self.view else {
            return Err("no job is open".to_owned());
        };
        match command {
            Command::Know { .. } => {}
            Command::Record { text, .. } if text == "7.6" => {
                return Err("7.6 what? Type 7.6k for kilohms or 7.6 ohm for ohms.".to_owned());
            }
            Command::Record { text, .. } => {
                view.readings.push(views::taken(view.readings.len(), &text, Speaker::Tree));
            }
            Command::SeeCaution { key } => view.cautions.retain(|caution| caution.key != key),
            Command::Conclude { faults } => {
                view.stage = Stage::Repairing;
                view.concluded =
                    Some(Standing { probability: 0.83, sentence: views::JOINT.to_owned(), faults });
            }
            Command::Repair { what, .. } => {
                view.stage = Stage::Proving;
                view.repaired = Some(what);
            }
            Command::Prove { index, text } => {
                let next = view.proof.iter().position(|proof| proof.passed.is_none());
                let proof = index.or(next).and_then(|i| view.proof.get_mut(i)).ok_or("nothing to prove")?;
                proof.passed = Some(text != "OL");
                proof.found = text;
            }
            Command::SearchOn { remains, .. } => {
                view.stage = Stage::Finding;
                view.concluded = None;
                let repaired = view.repaired.take().unwrap_or_default();
                let (after, failed) = (view.readings.len(), Vec::new());
                let sentence = views::JOINT.to_owned();
                view.rounds.push(RoundView { sentence, repaired, remains, after, failed });
            }
            Command::Close(outcome) => {
                view.stage = Stage::Closed;
                view.closed = Some(match outcome {
                    Outcome::Cured => "Cured and proven".to_owned(),
                    Outcome::Unproven { reason } => format!("Closed unproven: {reason}"),
                });
            }
            Command::Withdraw { id, .. } => {
                view.readings.iter_mut().filter(|r| r.id == id).for_each(|r| r.withdrawn = true);
            }
            Command::Correct { id, text } => {
                for reading in view.readings.iter_mut().filter(|r| r.id == id) {
                    reading.typed.clone_from(&text);
                    reading.found.clone_from(&text);
                }
            }
            Command::Choose { alternative } => {
                let chosen = view.alternatives.remove(alternative);
                view.alternatives.extend(view.step.replace(chosen));
            }
            Command::Skip { .. } => view.step = view.alternatives.pop(),
            Command::SetAccess(access) => view.access = access,
            Command::Answer { .. } => view.step = Some(views::step()),
            Command::TakeAgain { .. } | Command::UseTree { .. } | Command::Undo | Command::Redo => {}
            Command::Estimate(_) | Command::Authorise { .. } | Command::Bill { .. } => {}
            Command::AddPhoto { .. } | Command::LinkWarranty { .. } => {}
        }
        Ok("recorded".to_owned())
    }
}

impl Bench for Fake {
    fn wirings(&self) -> &[WiringChoice] {
        &self.wirings
    }

    fn tell_apart(&mut self, names: &[String]) -> Option<Result<Vec<Telling>, String>> {
        Some(Err(format!("nothing is known of {}", names.join(" and "))))
    }

    fn own_folder(&self) -> &Path {
        Path::new("Documents/Lugwise")
    }

    fn own_files(&self) -> &[OwnFile] {
        &[]
    }

    fn look_at_own(&mut self) -> bool {
        false
    }

    fn copy_wiring(&mut self, name: &str) -> Result<PathBuf, String> {
        Err(format!("the folder is read-only, {name} was not copied"))
    }

    fn meters(&self) -> &[MeterChoice] {
        &self.meters
    }

    fn symptoms_in(&self, complaint: &str) -> Vec<Symptom> {
        if complaint.contains("hum") { vec![Symptom::Hum] } else { Vec::new() }
    }

    fn file_for(&self, instrument: &str) -> PathBuf {
        PathBuf::from("Documents/Lugwise").join(format!("2026-03-02 {instrument}.job"))
    }

    fn start(&mut self, form: StartForm) -> Result<(), String> {
        if form.instrument == "unwritable" {
            return Err("cannot make the job file: the folder is read-only".to_owned());
        }
        self.log.add(format!("start {} {}", form.wiring, form.instrument));
        self.view = Some(views::finding());
        self.revision += 1;
        Ok(())
    }

    fn open(&mut self, path: &Path) -> Result<Vec<String>, String> {
        self.log.add(format!("open {}", path.display()));
        self.view = Some(views::finding());
        self.revision += 1;
        Ok(vec!["The last line of the file was cut off; everything before it is here.".to_owned()])
    }

    fn demonstrate(&mut self) -> Result<Vec<String>, String> {
        self.open(Path::new("demonstration"))
    }

    fn leave(&mut self) {
        self.view = None;
        self.revision += 1;
    }

    fn give(&mut self, task: Task) -> Vec<Done> {
        if self.log.1.get() {
            self.held.push(task);
            return Vec::new();
        }
        self.do_now(task)
    }

    fn take_in(&mut self) -> Vec<Done> {
        let held = if self.log.1.get() { Vec::new() } else { std::mem::take(&mut self.held) };
        held.into_iter().flat_map(|task| self.do_now(task)).collect()
    }

    fn view(&self) -> Option<&View> {
        self.view.as_ref()
    }

    fn revision(&self) -> u64 {
        self.revision
    }

    fn apply(&mut self, command: Command) -> Result<String, String> {
        self.log.add(format!("{command:?}"));
        let before = self.view.clone();
        match command {
            Command::Undo => self.undone.extend(std::mem::replace(&mut self.view, self.done.pop())),
            Command::Redo => self.done.extend(std::mem::replace(&mut self.view, self.undone.pop())),
            other => {
                let told = self.carry_out(other);
                if told.is_ok() {
                    self.done.extend(before);
                    self.revision += 1;
                }
                return self.marked(told);
            }
        }
        self.revision += 1;
        self.marked(Ok("taken back".to_owned()))
    }

    fn echo(&self, text: &str, _flexed: bool, _mode: Mode) -> Result<String, String> {
        match text {
            "7.6" => Err("7.6 what? A letter is missing.".to_owned()),
            "OL" => Ok("over range: no path".to_owned()),
            other => Ok(format!("“{other}”")),
        }
    }

    fn unit_doubt(&self, _measurement: &Measurement, text: &str) -> Option<UnitDoubt> {
        let meaning =
            |words: &str, text: &str| UnitMeaning { words: words.to_owned(), text: text.to_owned() };
        (text == "7.6r").then(|| UnitDoubt {
            question: "7.6 Ω, or 7.6 kΩ? Nothing that is likely now reads 7.6 Ω here".to_owned(),
            meanings: [meaning("7.6 Ω", "7.6r"), meaning("7.6 kΩ", "7.6k")],
        })
    }

    fn picture(&self, probes: Option<&Measurement>, suspects: &[SuspectView]) -> Option<Picture> {
        Some(drawn(&self.harness, probes, suspects, self.sight))
    }

    fn sight(&self) -> Sight {
        self.sight
    }

    fn look_from(&mut self, sight: Sight) {
        self.sight = sight;
    }

    fn harness(&self) -> Option<&Harness> {
        self.view.as_ref().map(|_| &self.harness)
    }

    fn foretold(&self, measurement: &Measurement) -> Result<StepView, String> {
        self.log.add(format!("foretell {}", measurement.sentence(&self.harness)));
        if measurement.mode == Mode::Capacitance {
            return Err("nothing can be foretold of this".to_owned());
        }
        Ok(StepView { healthy: "520 kΩ (410 kΩ to 630 kΩ)".to_owned(), ..views::step() })
    }

    fn audit(&mut self, form: &StartForm) -> Result<AuditView, String> {
        self.log.add(format!("audit {}", form.wiring));
        let file = format!("{}.ron", form.wiring);
        let (name, text) = built_in().iter().find(|(name, _)| *name == file).expect("a built-in wiring");
        let engine = Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]);
        engine.and_then(|engine| engine.audit(form.access)).map_err(|error| error.to_string())
    }

    fn audit_picture(&self, wiring: &str, probes: &Measurement) -> Option<Picture> {
        Some(drawn(&harness(&format!("{wiring}.ron")), Some(probes), &[], Sight::default()))
    }

    fn save_audit(&self, run: &AuditRun, path: &Path) -> Result<(), String> {
        self.log.add(format!("list of {} readings to {}", run.readings().count(), path.display()));
        Ok(())
    }

    fn ticket(&self, path: &Path) -> Result<(), String> {
        self.log.add(format!("ticket {}", path.display()));
        Ok(())
    }

    fn shop(&self) -> ShopPlace {
        ShopPlace::beside(&OwnFolder::at("nowhere/at/all"))
    }

    fn trees(&self) -> &TreeShelf {
        &self.trees
    }

    fn trees_mut(&mut self) -> &mut TreeShelf {
        &mut self.trees
    }

    fn look_back(&self, id: ReadingId) -> Result<Option<LookBack>, String> {
        let readings = self.view.as_ref().map_or(&[][..], |view| view.readings.as_slice());
        Ok(readings.iter().find(|reading| reading.id == id).map(views::look_back))
    }

    fn case(&self, fault: &str) -> Result<Option<CaseView>, String> {
        Ok(Some(views::case(fault)))
    }

    fn propose(&self, detour: &Detour) -> Result<Proposal, String> {
        Err(format!("the tree {} is not there", detour.tree))
    }
}

impl Fake {
    fn marked(&mut self, told: Result<String, String>) -> Result<String, String> {
        if let Some(view) = &mut self.view {
            view.can_undo = !self.done.is_empty();
            view.can_redo = !self.undone.is_empty();
        }
        told
    }
}

/// Dialogs that answer at once.
pub struct Answers;

impl Dialogs for Answers {
    fn save_ticket(&mut self, suggested: &str) -> Option<PathBuf> {
        Some(PathBuf::from(suggested))
    }

    fn open_job(&mut self) -> Option<PathBuf> {
        Some(PathBuf::from("old.job"))
    }

    fn save_job(&mut self, _suggested: &Path) -> Option<PathBuf> {
        Some(PathBuf::from("elsewhere.job"))
    }
}

fn meters() -> Vec<MeterChoice> {
    let all = [
        ("cheap", "Small manual-range meter"),
        ("handheld", "Handheld, auto-range"),
        ("bench", "Bench meter"),
    ];
    all.map(|(name, title)| MeterChoice { name: name.to_owned(), title: title.to_owned() }).to_vec()
}

fn wiring(file: &str) -> WiringChoice {
    let harness = harness(file);
    WiringChoice::new(&harness, false)
}

fn harness(file: &str) -> Harness {
    let (name, text) =
        built_in().iter().find(|(name, _)| *name == file).expect("a wiring that comes with the program");
    load(&Source::new(*name, *text)).expect("a sound wiring")
}

fn drawn(harness: &Harness, probes: Option<&Measurement>, suspects: &[SuspectView], sight: Sight) -> Picture {
    let terminal = |name: &str| harness.terminal(name);
    let spots = |suspect: &SuspectView| -> Vec<_> {
        let names = suspect.terminals.iter().chain(&suspect.links);
        names.filter_map(|name| Some((Spot::named(harness, name)?, suspect.probability))).collect()
    };
    let marks = Marks {
        red: probes.and_then(|measurement| terminal(&measurement.red)),
        black: probes.and_then(|measurement| terminal(&measurement.black)),
        suspects: suspects.iter().flat_map(spots).collect(),
        closed_places: Vec::new(),
        lifted: None,
    };
    Plan::new(harness).seen(sight).picture(harness, &marks)
}
