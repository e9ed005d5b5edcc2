//! Canned views of an invented job.

use lugwise::job::{Band, ReadingId, Speaker, Standing, Tone, TonePoint};
use lugwise::readings::{Access, Level, Measurement, Setting, Shown, Stand, Symptom};
use lugwise::units::{Farads, Hertz, Ohms};
use lugwise::workbench::{
    Action, AgainstView, Ask, CaseView, CautionView, ControlView, DoubtView, LookBack, OutlookView,
    PaperView, PredictionView, ProofView, ReadingView, Stage, StepView, Stop, SuspectView, ToneView,
    VerdictView, View,
};

/// The fault that the canned job is about.
pub const JOINT: &str = "The ground wire's joint at the jack's sleeve lug makes poor contact";

fn band(low: f64, high: f64) -> Band {
    let ohms = |value: f64| Some(Ohms::new(value));
    Band { ohms: ohms((low * high).sqrt()), low: ohms(low), high: ohms(high), ..Band::default() }
}

const NO_PATH: Band =
    Band { ohms: None, low: None, high: None, dial: lugwise::readings::Dial::Ohms, said: None };

fn measurement(flex: Option<&str>) -> Measurement {
    let setting = Setting::default()
        .with("neck volume", Stand::Knob(10))
        .with("selector", Stand::At("neck".to_owned()));
    Measurement { flex: flex.map(str::to_owned), ..Measurement::ohms("plug.tip", "plug.sleeve", setting) }
}

fn controls() -> Vec<ControlView> {
    let all = [
        ("selector", "neck", true),
        ("neck volume", "10", false),
        ("neck tone", "10", false),
        ("bridge volume", "10", false),
        ("bridge tone", "10", false),
    ];
    all.map(|(name, stand, moved)| ControlView { name: name.to_owned(), stand: stand.to_owned(), moved })
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
        battery: None,
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
        outcomes: vec![
            ("It moves".to_owned(), "The jack or a wire at it comes and goes".to_owned()),
            ("As a healthy guitar reads".to_owned(), "The jack holds".to_owned()),
        ],
        caution: "Do not force the plug.".to_owned(),
        bits: 1.8,
        seconds: 25.0,
        script: vec![
            "Put the selector at neck.".to_owned(),
            "Hold the red probe on the very end of the free plug, and the black one on its long shaft.".to_owned(),
            "Now wiggle the plug in the guitar, and watch the number.".to_owned(),
        ],
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
    let answers = ["It hums all the time", "It hums only while the lead is touched", "It does not hum now"];
    StepView {
        ask: Ask::Question { answers: answers.map(str::to_owned).to_vec() },
        headline: "Touch the strings: does the hum change?".to_owned(),
        dial: String::new(),
        red: String::new(),
        black: String::new(),
        flex: String::new(),
        controls: Vec::new(),
        battery: None,
        healthy: String::new(),
        healthy_band: None,
        predictions: Vec::new(),
        outcomes: Vec::new(),
        caution: String::new(),
        place: "outside".to_owned(),
        script: vec!["Please touch the strings. Does the hum change?".to_owned()],
        ..step()
    }
}

fn suspect(sentence: &str, fault: &str, probability: f64, members: &[&str]) -> SuspectView {
    SuspectView {
        probability,
        faults: members.iter().enumerate().map(|(i, _)| format!("{fault}{i}")).collect(),
        sentence: sentence.to_owned(),
        members: members.iter().map(|&m| m.to_owned()).collect(),
        repair: "Clean the lug, add flux, resolder the joint and tug the wire".to_owned(),
        minutes: 12.0,
        terminals: fault.split('/').next().map(str::to_owned).into_iter().collect(),
        links: Vec::new(),
        moved_by: vec![(None, 1.4), (Some(ReadingId(1)), 2.1), (Some(ReadingId(2)), -0.4)],
    }
}

/// Returns a reading that was taken.
pub fn taken(index: usize, text: &str, asked_by: Speaker) -> ReadingView {
    let ohms = |value: f64| Level::Ohms { value: Ohms::new(value), resolution: Ohms::new(10.0) };
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
        measurement.setting = measurement.setting.with("selector", Stand::At("bridge".to_owned()));
    }
    ProofView {
        measurement,
        battery: None,
        flex: flex.map_or_else(String::new, |_| "Rock the plug in the jack".to_owned()),
        sentence: sentence.to_owned(),
        dial: "ohms, 20 k range".to_owned(),
        red: "tip of the plug".to_owned(),
        black: "sleeve of the plug".to_owned(),
        healthy: "7.49 kΩ (6.9 kΩ to 8.1 kΩ)".to_owned(),
        band: band(6900.0, 8100.0),
        found: String::new(),
        passed: None,
    }
}

/// Returns a reading as it was taken.
pub fn look_back(reading: &ReadingView) -> LookBack {
    let standing = |probability: f64, sentence: &str| Standing {
        probability,
        sentence: sentence.to_owned(),
        faults: vec![sentence.to_owned()],
    };
    LookBack {
        id: reading.id,
        ask: Ask::Measure(reading.measurement.clone()),
        sentence: reading.sentence.clone(),
        healthy: band(6900.0, 8100.0),
        healthy_text: reading.healthy.clone(),
        bands: step().predictions,
        shown: reading.shown,
        found: reading.found.clone(),
        bits: 1.2,
        before: vec![standing(0.21, JOINT)],
        after: vec![standing(0.46, JOINT), standing(0.12, "The hot wire is broken")],
    }
}

/// Returns a suspect looked at closely.
pub fn case(fault: &str) -> CaseView {
    let against = AgainstView {
        measurement: measurement(None),
        headline: "Read the ohms between the jack's sleeve lug and the plug's sleeve".to_owned(),
        setting: "selector neck, all knobs at 10".to_owned(),
        place: "at the jack plate".to_owned(),
        seconds: 140.0,
        shown: Shown::Steady(Level::Ohms { value: Ohms::new(0.2), resolution: Ohms::new(0.1) }),
        text: "0.2 Ω".to_owned(),
        expects: "40 Ω".to_owned(),
        rival: "The sleeve spring is bent".to_owned(),
        before: 0.46,
        after: 0.03,
    };
    CaseView { fault: fault.to_owned(), against: Some(against), tone: Some(tone()) }
}

/// Returns two invented curves.
fn tone() -> ToneView {
    let point =
        |(hertz, healthy, faulty): (f64, f64, f64)| TonePoint { hertz: Hertz::new(hertz), healthy, faulty };
    let points = [
        (40.0, -0.4, -12.1),
        (250.0, -0.3, -12.2),
        (1000.0, 0.6, -14.0),
        (2500.0, 4.1, -19.5),
        (5000.0, -4.2, -28.0),
        (15_000.0, -24.0, -47.0),
    ];
    let tone = Tone {
        setting: "selector neck, all knobs at 10".to_owned(),
        cable: Farads::new(500e-12),
        input: Ohms::new(1e6),
        points: points.map(point).to_vec(),
        level: -11.9,
        treble: -23.6,
        sentence: "treble 24 dB down, level 12 dB down".to_owned(),
    };
    ToneView { suspect: JOINT.to_owned(), tone }
}

fn suspected() -> Vec<SuspectView> {
    vec![
        suspect(
            JOINT,
            "jack.sleeve/joint",
            0.46,
            &["the ground wire's joint at the sleeve lug", "the ground wire itself, near the lug"],
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
        suspect("Nothing is wrong in the instrument", "none", 0.08, &["cable or amplifier"]),
        suspect(
            "The string ground wire is loose at the tailpiece",
            "string/joint",
            0.004,
            &["the string wire"],
        ),
    ]
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
        understood: "hums or buzzes; it fell or was knocked".to_owned(),
        access: Access::MayOpen,
        step: Some(step()),
        alternatives: vec![
            alternative("Read the ohms between the bridge and the plug's sleeve", "outside", 20.0),
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
        suspects: suspected(),
        others: 0.126,
        outlook: Some(OutlookView {
            readings: 3.7,
            minutes: 6.2,
            least_readings: 1.4,
            least_minutes: 0.8,
            exact: false,
            covered: 0.96,
            saved: 12.0,
            sentence: "about 4 readings and 6 minutes".to_owned(),
        }),
        answers: Vec::new(),
        found: Vec::new(),
        tone: Some(tone()),
        readings: vec![taken(0, "7.51k", Speaker::Tree), taken(1, "38k", Speaker::Advisor), withdrawn],
        cautions: Vec::new(),
        verdict: None,
        masked: Vec::new(),
        rounds: Vec::new(),
        concluded: None,
        repaired: None,
        proof: vec![
            proof("plug tip – plug sleeve, selector neck, all knobs at 10", None, false),
            proof("plug tip – plug sleeve, selector bridge, all knobs at 10", None, true),
            proof("plug tip – plug sleeve, selector neck, all knobs at 10, plug rocked", Some("plug"), false),
        ],
        closed: None,
        doubt: None,
        paper: PaperView::default(),
        notices: Vec::new(),
        minutes: 3.4,
        can_undo: false,
        can_redo: false,
    }
}

/// Returns a job whose next step stands behind two cautions.
pub fn cautious() -> View {
    let caution = |key: &str, text: &str| CautionView { key: key.to_owned(), text: text.to_owned() };
    let cautions = vec![
        caution(
            "unplugged",
            "Pull the lead out of the amplifier first. An ohmmeter on a live amplifier reads nonsense, and a mains-powered amplifier can carry a fatal voltage when it is faulty.",
        ),
        caution("fingers", "Keep your fingers off the probe tips: your body is a path too."),
    ];
    View { cautions, ..finding() }
}

/// Returns a job whose second reading is doubted.
pub fn doubted() -> View {
    let second = ReadingId(2);
    let doubt = DoubtView {
        unlisted: 0.1,
        conflict: 3.2,
        p_value: 0.0,
        action: Action::Retake(second),
        sentence: "Reading 2 (38k) fits no suspect: take it again".to_owned(),
        again: Some(second),
        withdraw: None,
    };
    View { doubt: Some(doubt), ..finding() }
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
        stop: Stop::Sure,
    };
    View { verdict: Some(verdict), outlook: None, step: None, alternatives: Vec::new(), ..finding() }
}

/// Returns a job that is closed as cured.
pub fn closed() -> View {
    let mut view = finding();
    view.stage = Stage::Closed;
    view.closed = Some("Closed as cured: 3 of 3 proof readings passed".to_owned());
    view.concluded = Some(Standing { probability: 0.83, sentence: JOINT.to_owned(), faults: Vec::new() });
    view.repaired = Some("resoldered the ground wire at the jack".to_owned());
    for proof in &mut view.proof {
        proof.passed = Some(true);
        proof.found = "7.5 kΩ".to_owned();
    }
    view
}
