//! `audit`: the smallest list of checks that proves a fresh wiring whole.

use std::path::Path;

use serde_json::{Value, json};

use super::engine;
use super::failure::Failure;
use super::reply::{Answer, Reply};
use super::wirings;
use crate::readings::Access;
use crate::session::{before, covers, write_checklist};
use crate::workbench::{AuditCheck, AuditRun, AuditView};

/// Works out the list for a wiring, and writes it to a file if one is named.
pub(super) fn audit(wiring: &str, access: Access, output: Option<&Path>) -> Answer {
    let view = engine::audit(&wirings::find(wiring)?.source, access)?;
    if view.checks.is_empty() {
        return Err(Failure::new(format!(
            "cannot audit {}: no reading is possible with this access",
            view.wiring
        ))
        .with_hint("allow more with --access may-open"));
    }
    let (mut text, mut json) = (text(&view), as_json(&view));
    if let Some(path) = output {
        let bytes = write_checklist(&AuditRun::new(view), path)?;
        text = format!("wrote {}, {bytes} bytes", path.display());
        json["file"] = json!(path.display().to_string());
        json["bytes"] = json!(bytes);
    }
    Ok(Reply::new(text, json))
}

fn text(view: &AuditView) -> String {
    let mut lines = vec![format!("wiring audit: {} ({})", view.title, view.code)];
    lines.extend(view.cautions.iter().map(|caution| format!("caution [{}]: {}", caution.key, caution.text)));
    lines.push("start with every knob at 10 and every switch in its first position".to_owned());
    lines.push(String::new());
    lines.extend(view.checks.iter().enumerate().map(|(index, check)| check_text(index + 1, check)));
    lines.push(String::new());
    lines.push(format!("{} checks, about {:.0} min. {}.", view.checks.len(), view.minutes, view.shortness()));
    lines.extend(view.coverage().map(|line| format!("{line}.")));
    lines.push("\ncovered by kind of fault:".to_owned());
    lines.extend(
        view.kinds.iter().map(|kind| format!("{:>5} of {:<4} {}", kind.covered, kind.total, kind.kind)),
    );
    lines.push(
        "\nfor faults that come and go, repeat a check and watch whether the reading moves:".to_owned(),
    );
    lines.extend(view.flexed.iter().map(|flex| format!("{:>5}: {}", flex.check + 1, flex.say)));
    if !view.missed.is_empty() {
        lines.push("\nnot shown by any check:".to_owned());
        lines.extend(view.missed.iter().map(|m| format!("  {} ({}): {}", m.sentence, m.fault, m.why)));
    }
    lines.join("\n")
}

fn check_text(number: usize, check: &AuditCheck) -> String {
    let first = before(check);
    let first = if first.is_empty() { String::new() } else { format!("\n        first: {first}") };
    format!(
        "[ ] {number:>2}. red: {}; black: {}{first}\n        {}; healthy: {}   reading: ____________\n        shows {}",
        check.red,
        check.black,
        check.dial,
        check.healthy,
        covers(check)
    )
}

fn as_json(view: &AuditView) -> Value {
    let mut json = json!(view);
    json["proven"] = json!(view.proven());
    json["checks"] = view.checks.iter().enumerate().map(|(i, check)| check_json(i + 1, check)).collect();
    for (flex, told) in view.flexed.iter().zip(json["flexed"].as_array_mut().into_iter().flatten()) {
        told["check"] = json!(flex.check + 1);
    }
    json
}

fn check_json(number: usize, check: &AuditCheck) -> Value {
    let m = &check.measurement;
    let mut json = json!(check);
    if let Some(object) = json.as_object_mut() {
        object.remove("measurement");
        object.remove("controls");
        object.remove("band");
    }
    let moved: Vec<&String> = check.controls.iter().filter(|c| c.moved).map(|c| &c.name).collect();
    for (key, value) in [
        ("number", json!(number)),
        ("red", json!(m.red)),
        ("black", json!(m.black)),
        ("mode", json!(m.mode.name())),
        ("settings", json!(m.setting)),
        ("moved", json!(moved)),
        ("low", json!(check.band.low)),
        ("high", json!(check.band.high)),
        ("over_range", json!(check.band.high.is_none())),
    ] {
        json[key] = value;
    }
    json
}
