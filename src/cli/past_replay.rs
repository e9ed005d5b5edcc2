//! `past replay`: a job as it went, from its events alone.

use serde_json::json;

use super::failure::Failure;
use super::past::named;
use super::plain::{plain, short};
use super::reply::{Answer, Reply, columns};
use crate::job::{Replay, ReplayStep, Speaker, Standing, StepKind};
use crate::session::PastJobs;
use crate::units::show_percent;

/// How many suspects are told at each step.
const LEADERS: usize = 3;

/// Tells a job step by step: one line each, one step in full, or all in full.
pub(super) fn replay(place: &PastJobs, uid: &str, step: Option<usize>, in_full: bool) -> Answer {
    let archive = place.open()?;
    let uid = named(&archive, uid)?;
    let replay = Replay::of(&archive.job(&uid)?);
    let steps = match step {
        Some(number) => std::slice::from_ref(one(&replay, number)?),
        None => replay.steps.as_slice(),
    };
    let text = if in_full || step.is_some() {
        steps.iter().map(full).collect::<Vec<_>>().join("\n\n")
    } else {
        let head = format!("{}, {} steps; `--step N` tells one in full", plain(&uid), steps.len());
        format!("{head}\n{}", columns(&steps.iter().map(line).collect::<Vec<_>>()))
    };
    Ok(Reply::new(text, json!({"uid": uid, "steps": steps})))
}

fn one(replay: &Replay, number: usize) -> Result<&ReplayStep, Failure> {
    let found = number.checked_sub(1).and_then(|index| replay.steps.get(index));
    found.ok_or_else(|| {
        Failure::new(format!("there is no step {number}: the job has steps 1 to {}", replay.steps.len()))
    })
}

fn line(step: &ReplayStep) -> Vec<String> {
    let mark = if step.counts { "" } else { "taken back" };
    let leader = step.after.first().filter(|_| step.before != step.after);
    let leader = leader.map_or_else(String::new, |first| {
        format!("→ {} {}", show_percent(first.probability), short(&first.sentence, 60))
    });
    let who = step.asked_by.map_or("", speaker);
    vec![
        step.number.to_string(),
        moment(step),
        who.to_owned(),
        mark.to_owned(),
        short(&step.said, 70),
        leader,
    ]
}

fn moment(step: &ReplayStep) -> String {
    plain(&step.at).replace('T', " ").trim_end_matches('Z').to_owned()
}

fn speaker(speaker: Speaker) -> &'static str {
    match speaker {
        Speaker::Tree => "tree",
        Speaker::Advisor => "advisor",
        Speaker::Technician => "own choice",
    }
}

fn full(step: &ReplayStep) -> String {
    let mut lines = vec![format!("{}. {}  {}", step.number, moment(step), plain(&step.said))];
    let mut tell = |name: &str, words: &str| {
        if !words.trim().is_empty() {
            lines.push(format!("   {name}: {}", plain(words)));
        }
    };
    tell("asked by", step.asked_by.map_or("", speaker));
    if let Some(place) = &step.tree {
        tell("tree", &format!("{}, step {}", place.tree, place.step));
    }
    tell("asked", &step.asked);
    tell("typed", &step.typed);
    tell("found", if step.kind == StepKind::Read { &step.found } else { "" });
    tell("healthy reads", &step.healthy);
    step.later.iter().for_each(|words| tell("later", words));
    tell("taken back", if step.counts { "" } else { "it does not count at the end" });
    if step.before != step.after {
        tell("suspects before", &leaders(&step.before));
        tell("suspects after", &leaders(&step.after));
    }
    lines.join("\n")
}

fn leaders(all: &[Standing]) -> String {
    if all.is_empty() {
        return "none kept".to_owned();
    }
    let one = |standing: &Standing| format!("{} {}", show_percent(standing.probability), standing.sentence);
    all.iter().take(LEADERS).map(one).collect::<Vec<_>>().join("; ")
}
