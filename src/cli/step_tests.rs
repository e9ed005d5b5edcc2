//! A job in each of its stages, told as text and as JSON.

use super::*;
use crate::job::{Band, Speaker};
use crate::readings::{Access, Measurement, Setting, Stand, Symptom};
use crate::workbench::{CautionView, ControlView, OutlookView, PaperView, PredictionView, Stop, VerdictView};

fn measurement() -> Measurement {
    let setting =
        Setting::default().with("volume", Stand::Knob(10)).with("selector", Stand::At("neck".into()));
    Measurement::ohms("plug.tip", "plug.sleeve", setting)
}

fn step(ask: Ask) -> StepView {
    StepView {
        ask,
        speaker: Speaker::Tree,
        tree: Some("silent".into()),
        headline: "Read the ohms at the plug".into(),
        dial: "ohms, 20 k range".into(),
        red: "tip of the plug".into(),
        black: "sleeve of the plug".into(),
        controls: vec![ControlView { name: "volume".into(), stand: "10".into(), moved: true }],
        battery: None,
        place: "outside, at the plug".into(),
        open_first: vec![],
        flex: String::new(),
        why: "It tells an open from a short.".into(),
        healthy: "7.4 kΩ".into(),
        healthy_band: None,
        predictions: vec![PredictionView {
            sentence: "the coil is open".into(),
            probability: 0.25,
            band: Band { ohms: None, low: None, high: None, ..Band::default() },
            text: "over range".into(),
        }],
        outcomes: vec![("Over range".into(), "The way is open.".into())],
        caution: String::new(),
        bits: 1.5,
        seconds: 20.0,
        script: vec!["Hold the red probe on the very end of the free plug.".into()],
    }
}

fn finding(ask: Ask) -> View {
    View {
        stage: Stage::Finding,
        instrument: "loan guitar".into(),
        wiring: "one-pickup".into(),
        wiring_title: "One pickup".into(),
        complaint: "no sound".into(),
        symptoms: vec![Symptom::Silent],
        understood: "no sound; just rewired, or a part changed".into(),
        access: Access::Outside,
        step: Some(step(ask)),
        alternatives: vec![],
        suspects: vec![SuspectView {
            probability: 0.25,
            faults: vec!["pickup/coil open".into()],
            sentence: "the coil is open".into(),
            members: vec![],
            repair: "have the coil rewound".into(),
            minutes: 90.0,
            terminals: vec![],
            links: vec![],
            moved_by: vec![(None, 0.5)],
        }],
        others: 0.75,
        outlook: Some(outlook()),
        found: Vec::new(),
        tone: None,
        readings: vec![],
        answers: vec![],
        cautions: vec![CautionView { key: "unplug".into(), text: "Unplug it first.".into() }],
        verdict: None,
        masked: vec![],
        rounds: vec![],
        concluded: None,
        repaired: None,
        proof: vec![],
        closed: None,
        doubt: None,
        paper: PaperView::default(),
        notices: vec!["the tree was left".into()],
        minutes: 0.5,
        can_undo: true,
        can_redo: false,
    }
}

fn outlook() -> OutlookView {
    OutlookView {
        readings: 3.5,
        minutes: 5.25,
        least_readings: 2.0,
        least_minutes: 1.5,
        exact: false,
        covered: 0.99,
        saved: 12.0,
        sentence: "about 4 readings and 5 minutes".into(),
    }
}

fn verdict() -> VerdictView {
    VerdictView {
        faults: vec!["pickup/coil open".into()],
        sentence: "the coil is open".into(),
        probability: 0.97,
        repair: "have the coil rewound".into(),
        minutes: 90.0,
        inspect: "look at the coil's ends".into(),
        sure: true,
        stop: Stop::SameRepair,
    }
}

#[test]
fn the_promised_keys_are_there_while_finding() {
    let json = to_json(&finding(Ask::Measure(measurement())));
    assert_eq!(json["done"], false);
    assert_eq!(json["speaker"], "tree");
    assert_eq!(json["suspects"][0]["probability"], 0.25);
    assert_eq!(json["suspects"][0]["faults"][0], "pickup/coil open");
    assert_eq!(json["suspects"][0]["sentence"], "the coil is open");
    assert_eq!(json["verdict"], Value::Null);
    assert_eq!(json["alternatives"], json!([]));
    let reading = &json["reading"];
    assert_eq!((&reading["red"], &reading["black"]), (&json!("plug.tip"), &json!("plug.sleeve")));
    assert_eq!(reading["settings"], json!({"selector": "neck", "volume": 10}));
    assert_eq!(reading["mode"], "resistance");
    assert_eq!((&reading["seconds"], &reading["bits"]), (&json!(20.0), &json!(1.5)));
    assert_eq!(reading["place"], "outside, at the plug");
    for key in ["flex", "about", "lifted"] {
        assert_eq!(reading.get(key), Some(&Value::Null), "{key}");
    }
}

#[test]
fn a_step_says_what_it_is_about_and_what_is_lifted() {
    let (about, lifted) = (Some("volume".to_owned()), Some("lead".to_owned()));
    let json = to_json(&finding(Ask::Measure(Measurement { about, lifted, ..measurement() })));
    assert_eq!(json["reading"]["about"], "volume");
    assert_eq!(json["reading"]["lifted"], "lead");
}

#[test]
fn a_question_is_not_a_reading() {
    let answers = vec!["yes".to_owned(), "no".to_owned()];
    let view = finding(Ask::Question { answers });
    let json = to_json(&view);
    assert_eq!(json["reading"], Value::Null);
    assert_eq!(json["question"]["answers"], json!(["yes", "no"]));
    assert!(text(&view).contains("  1. yes\n  2. no\n"), "{}", text(&view));
}

#[test]
fn a_script_is_read_out_after_the_cautions() {
    let view = finding(Ask::Measure(measurement()));
    let Reply { text, json, .. } = script(&view);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(
        lines[..2],
        ["caution [unplug]: Unplug it first.", "Say: Hold the red probe on the very end of the free plug.",]
    );
    assert_eq!(json["script"], json!(["Hold the red probe on the very end of the free plug."]));
    assert_eq!(json["answers"], Value::Null);
    let answers = vec!["yes".to_owned(), "no".to_owned()];
    let asked = script(&finding(Ask::Question { answers }));
    assert_eq!(asked.json["answers"], json!(["yes", "no"]));
    assert!(asked.text.ends_with("answers:\n  1. yes\n  2. no"), "{}", asked.text);
}

#[test]
fn what_needs_the_instrument_is_not_read_out() {
    let mut view = finding(Ask::Measure(measurement()));
    view.step.as_mut().unwrap().script.clear();
    assert!(script(&view).text.contains("cannot be done on the telephone"));
    view.step = None;
    assert!(script(&view).text.contains("nothing to read out"));
}

#[test]
fn a_verdict_means_done() {
    let mut view = finding(Ask::Measure(measurement()));
    (view.step, view.verdict) = (None, Some(verdict()));
    let json = to_json(&view);
    assert_eq!(json["done"], true);
    assert_eq!(json["reading"], Value::Null);
    assert_eq!(json["verdict"]["faults"], json!(["pickup/coil open"]));
    assert_eq!(json["verdict"]["repair"], "have the coil rewound");
    assert_eq!(json["verdict"]["minutes"], 90.0);
    assert_eq!(json["verdict"]["stop"], "same_repair");
    assert!(text(&view).contains("  why now: Several places are left"), "{}", text(&view));
}

#[test]
fn what_is_left_is_told_with_its_bound() {
    let view = finding(Ask::Measure(measurement()));
    let left = &to_json(&view)["outlook"];
    assert_eq!((&left["readings"], &left["least_readings"]), (&json!(3.5), &json!(2.0)));
    assert_eq!((&left["minutes"], &left["least_minutes"]), (&json!(5.25), &json!(1.5)));
    assert!(text(&view).contains("  left: about 4 readings and 5 minutes\n"), "{}", text(&view));
    let json = to_json(&View { outlook: None, ..view });
    assert_eq!(json["outlook"], Value::Null);
}

#[test]
fn a_concluded_job_keeps_its_verdict() {
    let mut view = finding(Ask::Measure(measurement()));
    (view.step, view.stage) = (None, Stage::Repairing);
    view.concluded = Some(Standing {
        probability: 0.97,
        sentence: "the coil is open".into(),
        faults: vec!["pickup/coil open".into()],
    });
    let json = to_json(&view);
    assert_eq!(json["done"], true);
    assert_eq!(json["verdict"]["minutes"], 90.0);
    let told = text(&view);
    assert!(told.contains("\nconcluded: the coil is open\n"), "{told}");
    assert!(told.ends_with("  then: lugwise repair JOB WHAT --minutes MINUTES"), "{told}");
}

#[test]
fn text_puts_cautions_before_the_step() {
    let text = text(&finding(Ask::Measure(measurement())));
    let caution = text.find("caution [unplug]: Unplug it first.");
    let next = text.find("next (tree \"silent\"): Read the ohms at the plug");
    assert!(caution.is_some() && next.is_some() && caution < next, "{text}");
    for line in
        [" 25.0 %  the coil is open", " 75.0 %  all others together", "controls: volume to 10", "over range"]
    {
        assert!(text.contains(line), "{line} is missing in\n{text}");
    }
}
