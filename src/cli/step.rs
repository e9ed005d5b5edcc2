//! How a job stands, as text and as JSON.

use serde_json::{Value, json};

use super::reply::Reply;
use crate::job::Standing;
use crate::workbench::{Ask, ProofView, ReadingView, Stage, StepView, SuspectView, VerdictView, View};

/// Tells everything about a job that a person needs to go on.
pub(super) fn state(view: &View) -> Reply {
    Reply::new(text(view), to_json(view))
}

fn to_json(view: &View) -> Value {
    json!({
        "stage": view.stage,
        "done": done(view),
        "instrument": view.instrument,
        "wiring": view.wiring,
        "complaint": view.complaint,
        "symptoms": view.symptoms,
        "access": view.access,
        "suspects": view.suspects.iter().map(suspect_json).collect::<Vec<_>>(),
        "others": view.others,
        "speaker": view.step.as_ref().map(|step| step.speaker),
        "reading": view.reading_asked().filter(|_| !done(view)).map_or(Value::Null, step_json),
        "question": view.step.as_ref().map_or(Value::Null, question_json),
        "alternatives": view.alternatives.iter().map(step_json).collect::<Vec<_>>(),
        "verdict": verdict_json(view),
        "readings": view.readings.iter().map(taken_json).collect::<Vec<_>>(),
        "cautions": view.cautions,
        "repaired": view.repaired,
        "proof": view.proof.iter().map(proof_json).collect::<Vec<_>>(),
        "closed": view.closed,
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
    json!({
        "red": measurement.map(|m| &m.red),
        "black": measurement.map(|m| &m.black),
        "mode": measurement.map(|m| m.mode),
        "settings": measurement.map(|m| &m.setting),
        "flex": measurement.and_then(|m| m.flex.as_ref()),
        "place": step.place,
        "open_first": step.open_first,
        "seconds": step.seconds,
        "bits": step.bits,
        "speaker": step.speaker,
        "tree": step.tree,
        "headline": step.headline,
        "dial": step.dial,
        "why": step.why,
        "healthy": step.healthy,
        "predictions": predictions
            .map(|p| json!({"sentence": p.sentence, "probability": p.probability, "text": p.text}))
            .collect::<Vec<_>>(),
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
        "healthy": proof.healthy,
        "found": proof.found,
        "passed": proof.passed,
    })
}

fn text(view: &View) -> String {
    let paragraphs = [
        view.notices.iter().map(|notice| format!("note: {notice}")).collect(),
        view.cautions.iter().map(|c| format!("caution [{}]: {}", c.key, c.text)).collect(),
        readings_text(&view.readings),
        suspects_text(view),
        view.step.iter().flat_map(step_text).collect(),
        alternatives_text(&view.alternatives),
        view.verdict.iter().flat_map(verdict_text).collect(),
        end_text(view),
    ];
    let told = paragraphs.into_iter().filter(|lines: &Vec<String>| !lines.is_empty());
    told.map(|lines| lines.join("\n")).collect::<Vec<_>>().join("\n\n")
}

fn readings_text(readings: &[ReadingView]) -> Vec<String> {
    let mark = |reading: &ReadingView| match (reading.withdrawn, reading.surprising) {
        (true, _) => " (withdrawn)",
        (false, true) => " (fits no suspect well: take it again)",
        (false, false) => "",
    };
    let line = |r: &ReadingView| {
        format!("{:>3}. {}: {}, healthy {}{}", r.id.0, r.sentence, r.found, r.healthy, mark(r))
    };
    headed("readings", readings.iter().map(line).collect())
}

fn suspects_text(view: &View) -> Vec<String> {
    if view.stage != Stage::Finding {
        return Vec::new();
    }
    let line = |s: &SuspectView| {
        format!("{:>5.1} %  {}  [{}]", 100.0 * s.probability, s.sentence, s.faults.join(" "))
    };
    let mut lines: Vec<String> = view.suspects.iter().map(line).collect();
    if view.others > 0.0 {
        lines.push(format!("{:>5.1} %  all others together", 100.0 * view.others));
    }
    headed("suspects", lines)
}

fn step_text(step: &StepView) -> Vec<String> {
    let speaker = json!(step.speaker).as_str().unwrap_or_default().to_owned();
    let mut lines = vec![format!("next ({speaker}): {}", step.headline)];
    lines.extend(step.open_first.iter().map(|place| format!("  first: {place}")));
    match &step.ask {
        Ask::Question { answers } => lines.extend(numbered(answers)),
        Ask::Measure(_) => lines.extend(measure_text(step)),
    }
    lines.push(format!("  why: {}", step.why));
    lines
}

fn measure_text(step: &StepView) -> Vec<String> {
    let control = |c: &crate::workbench::ControlView| match c.moved {
        true => format!("{} to {}", c.name, c.stand),
        false => format!("{} at {}", c.name, c.stand),
    };
    let controls = step.controls.iter().map(control).collect::<Vec<_>>().join(", ");
    let facts = [
        ("dial", step.dial.as_str()),
        ("red", &step.red),
        ("black", &step.black),
        ("controls", &controls),
        ("where", &step.place),
        ("flex", &step.flex),
        ("healthy", &step.healthy),
    ];
    let said = facts.iter().filter(|(_, fact)| !fact.is_empty());
    let mut lines: Vec<String> = said.map(|(name, fact)| format!("  {name}: {fact}")).collect();
    let line = |p: &crate::workbench::PredictionView| {
        format!("    {:>5.1} %  {}: {}", 100.0 * p.probability, p.sentence, p.text)
    };
    lines.extend(step.predictions.iter().map(line));
    lines
}

fn alternatives_text(alternatives: &[StepView]) -> Vec<String> {
    headed("or instead", numbered(alternatives.iter().map(|step| &step.headline)))
}

fn verdict_text(verdict: &VerdictView) -> Vec<String> {
    let sure = if verdict.sure { "verdict" } else { "nothing better to measure; best guess" };
    let mut lines = vec![
        format!("{sure}: {} ({:.1} %)", verdict.sentence, 100.0 * verdict.probability),
        format!("  faults: {}", verdict.faults.join(" ")),
        format!("  repair: {}, about {:.0} minutes", verdict.repair, verdict.minutes),
    ];
    if !verdict.inspect.is_empty() {
        lines.push(format!("  look first: {}", verdict.inspect));
    }
    lines
}

fn end_text(view: &View) -> Vec<String> {
    let mut lines = Vec::new();
    lines.extend(view.concluded.iter().map(|c| format!("concluded: {}", c.sentence)));
    lines.extend(view.repaired.iter().map(|what| format!("repaired: {what}")));
    lines.extend(view.proof.iter().enumerate().map(|(i, proof)| proof_text(i, proof)));
    lines.extend(view.closed.iter().map(|how| format!("closed: {how}")));
    lines
}

fn proof_text(index: usize, proof: &ProofView) -> String {
    let found = match proof.passed {
        None => "to be taken".to_owned(),
        Some(true) => format!("{}, passed", proof.found),
        Some(false) => format!("{}, NOT healthy", proof.found),
    };
    format!("proof {}: {}, healthy {}: {found}", index + 1, proof.sentence, proof.healthy)
}

fn headed(head: &str, lines: Vec<String>) -> Vec<String> {
    let head = (!lines.is_empty()).then(|| format!("{head}:"));
    head.into_iter().chain(lines).collect()
}

fn numbered<'a>(lines: impl IntoIterator<Item = &'a String>) -> Vec<String> {
    lines.into_iter().enumerate().map(|(i, line)| format!("  {}. {line}", i + 1)).collect()
}

#[cfg(test)]
#[path = "step_tests.rs"]
mod tests;
