//! A bench without an engine: canned views of an invented job that follow the commands, so that the window
//! can be driven by itself.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use lugwise::draw::{Anchor, Hit, Ink, Picture, Shape, Stroke};
use lugwise::job::{Band, Outcome, ReadingId, Speaker, Standing};
use lugwise::readings::{Access, Level, Measurement, Mode, Setting, Shown, Stand, Symptom};
use lugwise::ui::{Bench, Dialogs, MeterChoice, StartForm, WiringChoice};
use lugwise::units::Ohms;
use lugwise::workbench::{
    Ask, CautionView, Command, ControlView, PredictionView, ProofView, ReadingView, Stage, StepView,
    SuspectView, VerdictView, View,
};

/// What the fake was asked to do, seen from outside while the window owns the fake.
#[derive(Clone, Default)]
pub struct Log(Rc<RefCell<Vec<String>>>);

impl Log {
    /// Returns the lines so far.
    pub fn lines(&self) -> Vec<String> {
        self.0.borrow().clone()
    }

    fn add(&self, line: String) {
        self.0.borrow_mut().push(line);
    }
}

/// The bench without an engine.
pub struct Fake {
    wirings: Vec<WiringChoice>,
    meters: Vec<MeterChoice>,
    view: Option<View>,
    undone: Vec<View>,
    done: Vec<View>,
    revision: u64,
    log: Log,
}

impl Fake {
    /// Makes a bench with no open job.
    pub fn empty(log: &Log) -> Self {
        Self {
            wirings: vec![wiring("one-pickup", "A1a"), wiring("two-humbuckers", "A2a")],
            meters: meters(),
            view: None,
            undone: Vec::new(),
            done: Vec::new(),
            revision: 0,
            log: log.clone(),
        }
    }

    /// Makes a bench with this job open.
    pub fn with(view: View, log: &Log) -> Self {
        Self {
            view: Some(view),
            ..Self::empty(log)
        }
    }

    fn carry_out(&mut self, command: Command) -> Result<String, String> {
        let Some(view) = &mut self.view else {
            return Err("no job is open".to_owned());
        };
        match command {
            Command::Record { text, .. } if text == "7.6" => {
                return Err("7.6 what? Type 7.6k for kilohms or 7.6 ohm for ohms.".to_owned());
            }
            Command::Record { text, .. } => {
                view.readings
                    .push(taken(view.readings.len(), &text, Speaker::Tree))
            }
            Command::SeeCaution { key } => view.cautions.retain(|caution| caution.key != key),
            Command::Conclude { faults } => {
                view.stage = Stage::Repairing;
                view.concluded = Some(Standing {
                    probability: 0.83,
                    sentence: JOINT.to_owned(),
                    faults,
                });
            }
            Command::Repair { what, .. } => {
                view.stage = Stage::Proving;
                view.repaired = Some(what);
            }
            Command::Prove { index, text } => {
                let next = view.proof.iter().position(|proof| proof.passed.is_none());
                let proof = index
                    .or(next)
                    .and_then(|i| view.proof.get_mut(i))
                    .ok_or("nothing to prove")?;
                proof.passed = Some(text != "OL");
                proof.found = text;
            }
            Command::Close(outcome) => {
                view.stage = Stage::Closed;
                view.closed = Some(match outcome {
                    Outcome::Cured => "Cured and proven".to_owned(),
                    Outcome::Unproven { reason } => format!("Closed unproven: {reason}"),
                });
            }
            Command::Withdraw { id, .. } => {
                view.readings
                    .iter_mut()
                    .filter(|r| r.id == id)
                    .for_each(|r| r.withdrawn = true);
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
            Command::Answer { .. } => view.step = Some(step()),
            Command::Undo | Command::Redo => {}
        }
        Ok("recorded".to_owned())
    }
}

impl Bench for Fake {
    fn wirings(&self) -> &[WiringChoice] {
        &self.wirings
    }

    fn meters(&self) -> &[MeterChoice] {
        &self.meters
    }

    fn symptoms_in(&self, complaint: &str) -> Vec<Symptom> {
        if complaint.contains("hum") {
            vec![Symptom::Hum]
        } else {
            Vec::new()
        }
    }

    fn file_for(&self, instrument: &str) -> PathBuf {
        PathBuf::from("Documents/Lugwise").join(format!("2026-03-02 {instrument}.job"))
    }

    fn start(&mut self, form: StartForm) -> Result<(), String> {
        if form.instrument == "unwritable" {
            return Err("cannot make the job file: the folder is read-only".to_owned());
        }
        self.log.add(format!("start {} {}", form.wiring, form.instrument));
        self.view = Some(finding());
        self.revision += 1;
        Ok(())
    }

    fn open(&mut self, path: &Path) -> Result<Vec<String>, String> {
        self.log.add(format!("open {}", path.display()));
        self.view = Some(finding());
        self.revision += 1;
        Ok(vec![
            "The last line of the file was cut off; everything before it is here.".to_owned(),
        ])
    }

    fn demonstrate(&mut self) -> Result<Vec<String>, String> {
        self.open(Path::new("demonstration"))
    }

    fn leave(&mut self) {
        self.view = None;
        self.revision += 1;
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
            Command::Undo => self
                .undone
                .extend(std::mem::replace(&mut self.view, self.done.pop())),
            Command::Redo => self
                .done
                .extend(std::mem::replace(&mut self.view, self.undone.pop())),
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

    fn picture(&self, probes: Option<&Measurement>, suspects: &[SuspectView]) -> Option<Picture> {
        Some(sketch(probes, suspects.len()))
    }

    fn ticket(&self, path: &Path) -> Result<(), String> {
        self.log.add(format!("ticket {}", path.display()));
        Ok(())
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
    all.map(|(name, title)| MeterChoice {
        name: name.to_owned(),
        title: title.to_owned(),
    })
    .to_vec()
}

fn wiring(name: &str, code: &str) -> WiringChoice {
    WiringChoice {
        name: name.to_owned(),
        code: code.to_owned(),
        title: format!("Invented wiring {name}"),
        about: "Volume and tone for each pickup, a three-way toggle in a shielded cavity, braided leads"
            .to_owned(),
        picture: Some(sketch(None, 0)),
    }
}

const JOINT: &str = "The ground wire's joint at the jack's sleeve lug makes poor contact";

fn band(low: f64, high: f64) -> Band {
    let ohms = |value: f64| Some(Ohms::new(value));
    Band {
        ohms: ohms((low * high).sqrt()),
        low: ohms(low),
        high: ohms(high),
    }
}

const NO_PATH: Band = Band {
    ohms: None,
    low: None,
    high: None,
};

fn measurement(flex: Option<&str>) -> Measurement {
    let setting = Setting::default()
        .with("neck volume", Stand::Knob(10))
        .with("selector", Stand::At("neck".to_owned()));
    Measurement {
        mode: Mode::Resistance,
        red: "plug.tip".to_owned(),
        black: "plug.sleeve".to_owned(),
        setting,
        flex: flex.map(str::to_owned),
    }
}

fn controls() -> Vec<ControlView> {
    let all = [
        ("selector", "neck", true),
        ("neck volume", "10", false),
        ("neck tone", "10", false),
        ("bridge volume", "10", false),
        ("bridge tone", "10", false),
    ];
    all.map(|(name, stand, moved)| ControlView {
        name: name.to_owned(),
        stand: stand.to_owned(),
        moved,
    })
    .to_vec()
}

/// Returns a reading step of the tree.
pub fn step() -> StepView {
    let prediction = |sentence: &str, probability: f64, band: Band, text: &str| PredictionView {
        sentence: sentence.to_owned(),
        probability,
        band,
        text: text.to_owned(),
    };
    StepView {
        ask: Ask::Measure(measurement(Some("plug"))),
        speaker: Speaker::Tree,
        tree: Some("hum".to_owned()),
        headline: "Read the ohms between the plug's tip and its sleeve while the plug is rocked".to_owned(),
        dial: "ohms, 20 k range or automatic".to_owned(),
        red: "the plug's tip".to_owned(),
        black: "the plug's sleeve".to_owned(),
        controls: controls(),
        place: "outside, at the free plug of the cable".to_owned(),
        open_first: Vec::new(),
        flex: "rock the plug gently in the jack, up and down and sideways".to_owned(),
        why: "A reading that jumps while the plug moves points at the jack and its wires. Nothing needs to be opened for it.".to_owned(),
        healthy: "7.49 kΩ (6.9 kΩ to 8.1 kΩ), steady".to_owned(),
        healthy_band: Some(band(6900.0, 8100.0)),
        predictions: vec![
            prediction(JOINT, 0.46, band(7000.0, 40_000.0), "7.5 kΩ, jumping up to 40 kΩ"),
            prediction("The jack's sleeve spring is bent away from the plug", 0.21, NO_PATH, "over range"),
            prediction("The hot wire's joint at the jack's tip lug is broken", 0.12, NO_PATH, "over range"),
            prediction("Nothing is wrong in the instrument", 0.08, band(6900.0, 8100.0), "7.49 kΩ, steady"),
        ],
        bits: 1.8,
        seconds: 25.0,
    }
}

fn alternative(headline: &str, place: &str, seconds: f64) -> StepView {
    StepView {
        headline: headline.to_owned(),
        place: place.to_owned(),
        speaker: Speaker::Advisor,
        tree: None,
        flex: String::new(),
        ask: Ask::Measure(measurement(None)),
        seconds,
        ..step()
    }
}

/// Returns a step that is a question.
pub fn question() -> StepView {
    let answers = [
        "It hums all the time",
        "It hums only while the lead is touched",
        "It does not hum now",
    ];
    StepView {
        ask: Ask::Question {
            answers: answers.map(str::to_owned).to_vec(),
        },
        headline: "Touch the strings: does the hum change?".to_owned(),
        dial: String::new(),
        red: String::new(),
        black: String::new(),
        flex: String::new(),
        controls: Vec::new(),
        healthy: String::new(),
        healthy_band: None,
        predictions: Vec::new(),
        place: "outside".to_owned(),
        ..step()
    }
}

fn suspect(sentence: &str, fault: &str, probability: f64, members: &[&str]) -> SuspectView {
    SuspectView {
        probability,
        faults: members
            .iter()
            .enumerate()
            .map(|(i, _)| format!("{fault}{i}"))
            .collect(),
        sentence: sentence.to_owned(),
        members: members.iter().map(|&m| m.to_owned()).collect(),
        repair: "Clean the lug, add flux, resolder the joint and tug the wire".to_owned(),
        minutes: 12.0,
        terminals: Vec::new(),
        links: Vec::new(),
        moved_by: vec![(None, 1.4), (Some(ReadingId(1)), 2.1), (Some(ReadingId(2)), -0.4)],
    }
}

fn taken(index: usize, text: &str, asked_by: Speaker) -> ReadingView {
    let ohms = |value: f64| Level::Ohms {
        value: Ohms::new(value),
        resolution: Ohms::new(10.0),
    };
    ReadingView {
        id: ReadingId(u32::try_from(index).unwrap() + 1),
        measurement: measurement(None),
        sentence: "plug tip – plug sleeve, selector neck, all knobs at 10".to_owned(),
        typed: text.to_owned(),
        shown: Shown::Steady(ohms(7490.0)),
        found: text.to_owned(),
        healthy: "7.49 kΩ (6.9 kΩ to 8.1 kΩ)".to_owned(),
        fits_healthy: text.starts_with('7'),
        asked_by,
        withdrawn: false,
        surprising: false,
    }
}

fn proof(sentence: &str, flex: Option<&str>, bridge: bool) -> ProofView {
    let mut measurement = measurement(flex);
    if bridge {
        measurement.setting = measurement
            .setting
            .with("selector", Stand::At("bridge".to_owned()));
    }
    ProofView {
        measurement,
        sentence: sentence.to_owned(),
        healthy: "7.49 kΩ (6.9 kΩ to 8.1 kΩ)".to_owned(),
        band: band(6900.0, 8100.0),
        found: String::new(),
        passed: None,
    }
}

/// Returns a job in which readings are being taken.
pub fn finding() -> View {
    let mut withdrawn = taken(2, "0.4M", Speaker::Technician);
    withdrawn.withdrawn = true;
    View {
        stage: Stage::Finding,
        instrument: "school loan guitar no. 4".to_owned(),
        wiring: "two-humbuckers".to_owned(),
        wiring_title: "Two humbuckers, two volumes, two tones, three-way toggle".to_owned(),
        complaint: "it fell on its plug, now it is quiet and hums when the lead is nudged".to_owned(),
        symptoms: vec![Symptom::Hum, Symptom::Weak, Symptom::Intermittent],
        access: Access::MayOpen,
        step: Some(step()),
        alternatives: vec![
            alternative(
                "Read the ohms between the bridge and the plug's sleeve",
                "outside",
                20.0,
            ),
            alternative(
                "Read the ohms between the jack's tip lug and the plug's tip",
                "at the jack plate",
                140.0,
            ),
            alternative(
                "Read the ohms between the neck volume's wiper and its case",
                "control cavity",
                210.0,
            ),
        ],
        suspects: vec![
            suspect(
                JOINT,
                "jack.sleeve/joint",
                0.46,
                &[
                    "the ground wire's joint at the sleeve lug",
                    "the ground wire itself, near the lug",
                ],
            ),
            suspect(
                "The jack's sleeve spring is bent away from the plug",
                "jack.sleeve/contact",
                0.21,
                &["the sleeve spring"],
            ),
            suspect(
                "The hot wire's joint at the jack's tip lug is broken",
                "jack.tip/joint",
                0.12,
                &["the tip lug's joint"],
            ),
            suspect(
                "Nothing is wrong in the instrument",
                "none",
                0.08,
                &["cable or amplifier"],
            ),
            suspect(
                "The string ground wire is loose at the tailpiece",
                "string/joint",
                0.004,
                &["the string wire"],
            ),
        ],
        others: 0.126,
        readings: vec![
            taken(0, "7.51k", Speaker::Tree),
            taken(1, "38k", Speaker::Advisor),
            withdrawn,
        ],
        cautions: Vec::new(),
        verdict: None,
        concluded: None,
        repaired: None,
        proof: vec![
            proof(
                "plug tip – plug sleeve, selector neck, all knobs at 10",
                None,
                false,
            ),
            proof(
                "plug tip – plug sleeve, selector bridge, all knobs at 10",
                None,
                true,
            ),
            proof(
                "plug tip – plug sleeve, selector neck, all knobs at 10, plug rocked",
                Some("plug"),
                false,
            ),
        ],
        closed: None,
        notices: Vec::new(),
        minutes: 3.4,
        can_undo: false,
        can_redo: false,
    }
}

/// Returns a job whose next step stands behind two cautions.
pub fn cautious() -> View {
    let caution = |key: &str, text: &str| CautionView {
        key: key.to_owned(),
        text: text.to_owned(),
    };
    let cautions = vec![
        caution(
            "unplugged",
            "Pull the lead out of the amplifier first. An ohmmeter on a live amplifier reads nonsense, and a mains-powered amplifier can carry a fatal voltage when it is faulty.",
        ),
        caution(
            "fingers",
            "Keep your fingers off the probe tips: your body is a path too.",
        ),
    ];
    View {
        cautions,
        ..finding()
    }
}

/// Returns a job whose fault is clear.
pub fn decided() -> View {
    let verdict = VerdictView {
        faults: vec!["jack.sleeve/joint0".to_owned()],
        sentence: JOINT.to_owned(),
        probability: 0.83,
        repair: "Resolder the ground wire at the sleeve lug; if it still jumps, bend the sleeve spring in"
            .to_owned(),
        minutes: 12.0,
        inspect: "Tug the ground wire at the sleeve lug: a loose joint moves".to_owned(),
        sure: true,
    };
    View {
        verdict: Some(verdict),
        step: None,
        alternatives: Vec::new(),
        ..finding()
    }
}

fn sketch(probes: Option<&Measurement>, suspects: usize) -> Picture {
    let solid = |ink, width| Some(Stroke::solid(ink, width));
    let mut shapes = vec![Shape::Line {
        from: (60.0, 60.0),
        to: (340.0, 220.0),
        stroke: Stroke::solid(Ink::HotWire, 3.0),
    }];
    for (x, y, name) in [
        (60.0, 60.0, "neck pickup"),
        (200.0, 140.0, "neck volume pot"),
        (340.0, 220.0, "jack"),
    ] {
        shapes.push(Shape::Circle {
            at: (x, y),
            radius: 34.0,
            stroke: solid(Ink::Part, 2.0),
            fill: Some(Ink::PartFill),
        });
        let (at, size) = ((x, y + 48.0), 14.0);
        shapes.push(Shape::Text {
            at,
            text: name.to_owned(),
            size,
            anchor: Anchor::Middle,
            ink: Ink::Label,
            bold: false,
        });
    }
    if probes.is_some() {
        shapes.push(Shape::Circle {
            at: (340.0, 220.0),
            radius: 9.0,
            stroke: None,
            fill: Some(Ink::RedProbe),
        });
    }
    for index in 0..suspects {
        let radius = 40.0 + 6.0 * index as f32;
        shapes.push(Shape::Circle {
            at: (340.0, 220.0),
            radius,
            stroke: solid(Ink::Suspect, 2.0),
            fill: None,
        });
    }
    let hit = Hit {
        at: (340.0, 220.0),
        radius: 34.0,
        terminal: None,
        link: None,
        label: "output jack".to_owned(),
    };
    Picture {
        title: "invented wiring".to_owned(),
        about: String::new(),
        size: (420.0, 300.0),
        shapes,
        hits: vec![hit],
    }
}
