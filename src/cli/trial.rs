//! `trial`: the bench is played for simulated instruments, and counted how well the program finds their faults.

use std::io::{self, IsTerminal, Write};
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::Instant;

use serde_json::{Value, json};

use super::engine;
use super::failure::Failure;
use super::reply::{Answer, Reply, put, refuse_taken};
use super::trial_args::Rehearsal;
use super::wirings::{self, Wiring};
use super::{jobs, priors, tree, trial_jobs, trial_text};
use crate::draw::{Palette, Quality, quality, svg};
use crate::readings::Symptom;
use crate::trees::{self, Tree};
use crate::trial::{Bound, Outcome, Report, Setup, WiringReport};

/// Plays the bench for every wiring named and tells what became of it; `quiet` leaves the progress away.
pub(super) fn trial(asked: &Rehearsal, quiet: bool) -> Answer {
    if let (Some(count), Some(file)) = (asked.jobs, &asked.archive) {
        return trial_jobs::make(asked, count, file, quiet);
    }
    let wirings = asked.wirings.iter().map(|name| wirings::find(name)).collect::<Result<Vec<_>, _>>()?;
    let read = |name: &str| -> Result<Tree, Failure> { Ok(trees::load(&tree::find(name)?)?) };
    let tree = asked.policy.tree.as_deref().map(read).transpose()?;
    if let Some(plot) = asked.plot.as_deref() {
        ends_in_svg(plot)?;
        refuse_taken(plot, "<svg ")?;
    }
    let setup = setup(asked)?;
    let in_use = priors::in_use(asked.priors.as_deref())?;
    let meter = jobs::meter_class(asked.meter.as_deref())?;
    let mut trials: Vec<(String, Bound, Vec<Outcome>)> = Vec::new();
    for wiring in &wirings {
        let progress = Progress::new(&wiring.harness.name, quiet);
        let prepared = engine::prepared(&wiring.source, meter, tree.as_slice(), &in_use.priors)?;
        let engine = Arc::new(prepared);
        let outcomes = engine::trial(&engine, &setup, &|done, all| progress.tell(done, all))?;
        progress.end(outcomes.len());
        trials.push((wiring.harness.name.clone(), engine::trial_bound(&engine), outcomes));
    }
    let report = Report::new(&trials);
    if let Some(plot) = asked.plot.as_deref() {
        put(plot, drawn(&wirings, &report).as_bytes())?;
    }
    let mut text = trial_text::text(&report, &setup);
    text.extend(asked.plot.iter().map(|file| format!("{} written", file.display())));
    Ok(Reply::new(text.join("\n"), as_json(asked, &setup, (meter.name, in_use.file.as_deref()), &report)))
}

fn setup(asked: &Rehearsal) -> Result<Setup, Failure> {
    let setup = Setup {
        policy: asked.policy.policy,
        seed: asked.seed,
        access: asked.access,
        singles: asked.singles,
        pairs: asked.pairs,
        healthy: asked.healthy,
        drawn: asked.drawn,
        complaint: asked.complaint,
        outside: asked.outside,
        slips: asked.slips / 100.0,
        priors_off: asked.priors_off,
        threads: asked.threads.unwrap_or_else(cores),
    };
    if setup.singles == Some(0) && setup.pairs + setup.healthy + setup.drawn + setup.outside == 0 {
        return Err(Failure::new("cannot hold a trial without an instrument")
            .with_hint("leave `--singles 0` away, or add --drawn, --pairs, --healthy or --outside"));
    }
    Ok(setup)
}

/// Returns how many threads can work at once.
pub(super) fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

fn ends_in_svg(file: &Path) -> Result<(), Failure> {
    if file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("svg")) {
        return Ok(());
    }
    let name = file.display();
    Err(Failure::new(format!("cannot tell what to draw from the name \"{name}\""))
        .with_hint("end it in .svg"))
}

fn drawn(wirings: &[Wiring], report: &Report) -> String {
    let names: Vec<&str> = wirings.iter().map(|wiring| wiring.harness.name.as_str()).collect();
    let points = |all: &WiringReport| {
        let told = all.suspects.iter().filter_map(|decile| Some((decile.announced?, decile.held?)));
        told.collect()
    };
    let shown = Quality { points: points(&report.all), readings: report.all.histogram() };
    svg(&quality(&format!("trial of {}", names.join(", ")), &shown), &Palette::Light)
}

fn as_json(
    asked: &Rehearsal,
    setup: &Setup,
    (meter, priors): (&str, Option<&str>),
    report: &Report,
) -> Value {
    let mut json = json!(report);
    json["setup"] = json!({
        "policy": asked.policy.written,
        "seed": setup.seed,
        "access": setup.access.name(),
        "meter": meter,
        "singles": setup.singles,
        "pairs": setup.pairs,
        "healthy": setup.healthy,
        "drawn": setup.drawn,
        "complaint": setup.complaint.map(Symptom::name),
        "outside": setup.outside,
        "slips": asked.slips,
        "priors_off": setup.priors_off,
        "priors": priors,
    });
    json["plot"] = json!(asked.plot.as_ref().map(|file| file.display().to_string()));
    json
}

/// Says on the standard error stream how far a trial has come: a line that changes on a terminal, else every tenth.
pub(super) struct Progress {
    wiring: String,
    quiet: bool,
    terminal: bool,
    begun: Instant,
    tenth: Mutex<usize>,
}

impl Progress {
    /// Begins to tell; `quiet` tells nothing.
    pub(super) fn new(wiring: &str, quiet: bool) -> Self {
        let terminal = io::stderr().is_terminal();
        Self { wiring: wiring.to_owned(), quiet, terminal, begun: Instant::now(), tenth: Mutex::new(0) }
    }

    /// Tells that so many of all are done.
    pub(super) fn tell(&self, done: usize, all: usize) {
        let Ok(mut told) = self.tenth.lock() else { return };
        let tenth = done * 10 / all.max(1);
        if self.quiet || !self.terminal && tenth <= *told {
            return;
        }
        *told = tenth.max(*told);
        let (start, end) = if self.terminal { ("\r", "") } else { ("", "\n") };
        // A reader that went away is no error of ours.
        let _ = write!(io::stderr(), "{start}{}: {done} of {all}{end}", self.wiring);
    }

    /// Ends the line that changes on a terminal.
    pub(super) fn close(&self) {
        if self.terminal && !self.quiet {
            // A reader that went away is no error of ours.
            let _ = writeln!(io::stderr());
        }
    }

    fn end(&self, cases: usize) {
        if self.quiet {
            return;
        }
        let seconds = self.begun.elapsed().as_secs_f64();
        let each = 1e3 * seconds / cases.max(1) as f64;
        let start = if self.terminal { "\r" } else { "" };
        let _ = writeln!(
            io::stderr(),
            "{start}{}: {cases} cases in {seconds:.1} s, {each:.0} ms each",
            self.wiring
        );
    }
}
