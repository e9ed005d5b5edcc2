//! How a job stands, as JSON.

use serde_json::{Value, json};

use super::reply::Reply;
use super::text::{script_text, text};
use crate::job::Standing;
use crate::workbench::{Ask, ProofView, ReadingView, Stage, StepView, SuspectView, ToneView, View};

/// Tells everything about a job that a person needs to go on.
pub(super) fn state(view: &View) -> Reply {
    Reply::new(text(view), to_json(view))
}

/// Tells only the cautions that are due and what is read out to a customer on the telephone.
pub(super) fn script(view: &View) -> Reply {
    let lines = view.step.as_ref().map(|step| step.script.as_slice()).unwrap_or_default();
    let json = json!({
        "cautions": view.cautions,
        "script": lines,
        "answers": view.step.as_ref().and_then(answers),
    });
    Reply::new(script_text(view), json)
}

fn answers(step: &StepView) -> Option<&[String]> {
    match &step.ask {
        Ask::Question { answers } => Some(answers),
        Ask::Measure(_) => None,
    }
}

fn to_json(view: &View) -> Value {
    json!({
        "stage": view.stage,
        "done": done(view),
        "instrument": view.instrument,
        "wiring": view.wiring,
        "complaint": view.complaint,
        "symptoms": view.symptoms,
        "understood": view.understood,
        "access": view.access,
        "suspects": view.suspects.iter().map(suspect_json).collect::<Vec<_>>(),
        "others": view.others,
        "outlook": view.outlook,
        "speaker": view.step.as_ref().map(|step| step.speaker),
        "reading": view.reading_asked().filter(|_| !done(view)).map_or(Value::Null, step_json),
        "question": view.step.as_ref().map_or(Value::Null, question_json),
        "alternatives": view.alternatives.iter().map(step_json).collect::<Vec<_>>(),
        "tone": view.tone.as_ref().map(tone_json),
        "verdict": verdict_json(view),
        "masked": view.masked,
        "rounds": view.rounds,
        "readings": view.readings.iter().map(taken_json).collect::<Vec<_>>(),
        "found": view.found,
        "cautions": view.cautions,
        "repaired": view.repaired,
        "proof": view.proof.iter().map(proof_json).collect::<Vec<_>>(),
        "closed": view.closed,
        "paper": view.paper,
        "doubt": view.doubt,
        "notices": view.notices,
        "minutes": view.minutes,
    })
}

/// Whether no further reading is worth its time.
fn done(view: &View) -> bool {
    view.stage != Stage::Finding || view.verdict.is_some()
}

fn suspect_json(suspect: &SuspectView) -> Value {
    let moved = |(id, bits): &(Option<crate::job::ReadingId>, f64)| json!({"reading": id, "bits": bits});
    json!({
        "probability": suspect.probability,
        "faults": suspect.faults,
        "sentence": suspect.sentence,
        "repair": suspect.repair,
        "minutes": suspect.minutes,
        "moved_by": suspect.moved_by.iter().map(moved).collect::<Vec<_>>(),
    })
}

fn tone_json(heard: &ToneView) -> Value {
    let tone = &heard.tone;
    json!({
        "suspect": heard.suspect,
        "setting": tone.setting,
        "level": tone.level,
        "treble": tone.treble,
        "sentence": tone.sentence,
    })
}

fn question_json(step: &StepView) -> Value {
    match &step.ask {
        Ask::Measure(_) => Value::Null,
        Ask::Question { answers } => json!({"text": step.headline, "answers": answers, "why": step.why}),
    }
}

fn step_json(step: &StepView) -> Value {
    let measurement = match &step.ask {
        Ask::Measure(measurement) => Some(measurement),
        Ask::Question { .. } => None,
    };
    let predictions = step.predictions.iter();
    let outcome = |(when, means): &(String, String)| json!({"when": when, "means": means});
    json!({
        "red": measurement.map(|m| &m.red),
        "black": measurement.map(|m| &m.black),
        "mode": measurement.map(|m| m.mode.name()),
        "settings": measurement.map(|m| &m.setting),
        "battery": step.battery,
        "flex": measurement.and_then(|m| m.flex.as_ref()),
        "about": measurement.and_then(|m| m.about.as_ref()),
        "lifted": measurement.and_then(|m| m.lifted.as_ref()),
        "place": step.place,
        "open_first": step.open_first,
        "seconds": step.seconds,
        "bits": step.bits,
        "speaker": step.speaker,
        "tree": step.tree,
        "headline": step.headline,
        "dial": step.dial,
        "script": step.script,
        "why": step.why,
        "healthy": step.healthy,
        "predictions": predictions
            .map(|p| json!({"sentence": p.sentence, "probability": p.probability, "text": p.text}))
            .collect::<Vec<_>>(),
        "outcomes": step.outcomes.iter().map(outcome).collect::<Vec<_>>(),
        "caution": step.caution,
    })
}

fn verdict_json(view: &View) -> Value {
    match (&view.verdict, &view.concluded) {
        (Some(verdict), _) => json!(verdict),
        (None, Some(concluded)) => concluded_json(view, concluded),
        (None, None) => Value::Null,
    }
}

/// The verdict once the technician has named the fault: the repair is that of the suspect with these faults.
fn concluded_json(view: &View, concluded: &Standing) -> Value {
    let suspect = view.suspects.iter().find(|s| s.faults.iter().any(|f| concluded.faults.contains(f)));
    json!({
        "faults": concluded.faults,
        "sentence": concluded.sentence,
        "probability": concluded.probability,
        "repair": suspect.map(|s| &s.repair),
        "minutes": suspect.map(|s| s.minutes),
    })
}

fn taken_json(reading: &ReadingView) -> Value {
    json!({
        "id": reading.id,
        "measurement": reading.measurement,
        "sentence": reading.sentence,
        "typed": reading.typed,
        "found": reading.found,
        "healthy": reading.healthy,
        "fits_healthy": reading.fits_healthy,
        "asked_by": reading.asked_by,
        "withdrawn": reading.withdrawn,
        "surprising": reading.surprising,
    })
}

fn proof_json(proof: &ProofView) -> Value {
    json!({
        "measurement": proof.measurement,
        "sentence": proof.sentence,
        "dial": proof.dial,
        "red": proof.red,
        "black": proof.black,
        "battery": proof.battery,
        "healthy": proof.healthy,
        "found": proof.found,
        "passed": proof.passed,
    })
}

#[cfg(test)]
#[path = "step_tests.rs"]
mod tests;
