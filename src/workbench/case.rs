//! One suspect looked at closely: how it sounds, and which reading would speak against it most.

use super::engine::{Engine, EngineError};
use super::suspects::{self, Ranked};
use super::{AgainstView, CaseView, Stage, ToneView, Workbench, WorkbenchError, stage, tone, words};
use crate::advisor::{self, Proposal};
use crate::belief::{Belief, Expectation};
use crate::prediction::{Behaviour, Cell, Row};
use crate::readings::{Level, Measurement, Mode, Said, Shown};

/// So many of the proposals that tell most are looked at.
const LOOKED_AT: usize = 40;
/// So many of them, which tell the suspect from the most of the others, are weighed.
const WEIGHED: usize = 5;
/// So many readings are weighed for each, those of the likeliest others.
const READINGS: usize = 3;
/// So many others are asked what they would read.
const RIVALS: usize = 8;
/// Two readings that are nearer than this share of them are the same here.
const SAME: f64 = 0.15;
/// A measurement that drops a suspect by this share of the best is as good, if it is quicker.
const AS_GOOD: f64 = 0.95;

impl Workbench {
    /// Returns a suspect group looked at closely, by the id of its first fault; `None` when there is none.
    ///
    /// # Errors
    ///
    /// Returns [`WorkbenchError`] when a reading cannot be predicted.
    pub fn case(&self, fault: &str) -> Result<Option<CaseView>, WorkbenchError> {
        let (engine, situation) = (self.engine(), &self.situation);
        let all = suspects::ranked(engine, situation);
        let Some(suspect) = named(engine, &all, fault) else { return Ok(None) };
        let finding = stage(&self.job) == Stage::Finding;
        let against = if finding { against(engine, situation, &all, suspect)? } else { None };
        let of_first = |(fault, _): &(crate::faults::FaultId, f64)| tone::of_fault(engine, situation, *fault);
        let heard = suspect.faults.first().map(of_first).transpose()?.flatten();
        let tone = heard.map(|tone| ToneView { suspect: suspects::sentence(engine, suspect), tone });
        Ok(Some(CaseView { fault: fault.to_owned(), against, tone }))
    }
}

/// Returns the group whose first fault has this id, or else the likeliest that holds it.
fn named<'a>(engine: &Engine, all: &'a [Ranked], id: &str) -> Option<&'a Ranked> {
    let at = |ranked: &Ranked| ranked.faults.iter().position(|(f, _)| engine.model.catalogue[*f].id == id);
    all.iter().find(|ranked| at(ranked) == Some(0)).or_else(|| all.iter().find(|r| at(r).is_some()))
}

/// Returns the open measurement that is expected to drop a suspect most if something else is wrong.
fn against(
    engine: &Engine,
    situation: &super::Situation,
    all: &[Ranked],
    suspect: &Ranked,
) -> Result<Option<AgainstView>, EngineError> {
    let court = Court::new(engine, &situation.belief, all, suspect);
    if engine.model.hypotheses.list[court.hypothesis].behaviour == Behaviour::Anything {
        return Ok(None);
    }
    let mut best: Option<(Trial, &Proposal)> = None;
    for (proposal, foretold) in court.worth_weighing(&situation.proposals)? {
        let Some(trial) = court.trial(&proposal.measurement, &foretold) else { continue };
        let better = best.as_ref().is_none_or(|(known, held)| {
            let quicker = proposal.seconds < held.seconds;
            trial.gain * AS_GOOD > known.gain || (quicker && trial.gain > AS_GOOD * known.gain)
        });
        if better {
            best = Some((trial, proposal));
        }
    }
    Ok(best.map(|(trial, proposal)| court.told(trial, proposal)))
}

/// What every state makes the meter read, or how likely every hypothesis makes the answer yes.
enum Foretold {
    Meter(Row),
    Ear(Vec<f64>),
}

/// What one measurement says of a suspect if something else is wrong.
struct Trial {
    /// By how much the suspect is expected to drop, in probability.
    gain: f64,
    worst: Verdict,
    expects: Shown,
}

/// One reading that others would give, and what it does to the suspect.
struct Verdict {
    shown: Shown,
    /// The probability of those that would read so.
    chance: f64,
    /// The likeliest of them, as its place among the rivals.
    rival: usize,
    after: f64,
}

/// Another group, and its likeliest hypothesis.
struct Rival {
    hypothesis: usize,
    probability: f64,
    sentence: String,
}

/// A suspect, those beside it, and what is believed of all.
struct Court<'a> {
    engine: &'a Engine,
    belief: &'a Belief,
    decision: usize,
    hypothesis: usize,
    probability: f64,
    rivals: Vec<Rival>,
}

impl<'a> Court<'a> {
    fn new(engine: &'a Engine, belief: &'a Belief, all: &[Ranked], suspect: &Ranked) -> Self {
        let weights = belief.weights();
        let heaviest = |ranked: &Ranked| {
            let members = engine.groups.decisions[ranked.decision].iter().copied();
            members.max_by(|&a, &b| weights[a].total_cmp(&weights[b]).then(b.cmp(&a))).unwrap_or(0)
        };
        let foretells =
            |rival: &Rival| engine.model.hypotheses.list[rival.hypothesis].behaviour != Behaviour::Anything;
        let rival = |ranked: &Ranked| Rival {
            hypothesis: heaviest(ranked),
            probability: ranked.probability,
            sentence: suspects::sentence(engine, ranked),
        };
        let others = all.iter().filter(|ranked| ranked.decision != suspect.decision).map(rival);
        Self {
            engine,
            belief,
            decision: suspect.decision,
            hypothesis: heaviest(suspect),
            probability: suspect.probability,
            rivals: others.filter(foretells).take(RIVALS).collect(),
        }
    }

    /// Returns the proposals that tell the suspect from the most of the others, those that tell it from more first.
    fn worth_weighing<'p>(
        &self,
        proposals: &'p [Proposal],
    ) -> Result<Vec<(&'p Proposal, Foretold)>, EngineError> {
        let mut most: Vec<&Proposal> = proposals.iter().collect();
        most.sort_by(|a, b| b.bits.total_cmp(&a.bits));
        let mut scored = Vec::new();
        for proposal in most.into_iter().take(LOOKED_AT) {
            let foretold = self.foretold(&proposal.measurement)?;
            let score = self.told_apart(&proposal.measurement, &foretold);
            scored.push((score, proposal, foretold));
        }
        scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.seconds.total_cmp(&b.1.seconds)));
        scored.retain(|(score, ..)| *score > 0.0);
        Ok(scored.into_iter().take(WEIGHED).map(|(_, proposal, foretold)| (proposal, foretold)).collect())
    }

    fn foretold(&self, asked: &Measurement) -> Result<Foretold, EngineError> {
        match asked.mode {
            Mode::Observe(check) => self.engine.chances(check, asked).map(Foretold::Ear),
            _ => self.engine.row(asked).map(Foretold::Meter),
        }
    }

    /// Returns the probability of all others that would read something else than the suspect.
    fn told_apart(&self, asked: &Measurement, foretold: &Foretold) -> f64 {
        let own = self.would_show(asked, foretold, self.hypothesis);
        let other = |rival: &&Rival| !alike(&own, &self.would_show(asked, foretold, rival.hypothesis));
        self.rivals.iter().filter(other).map(|rival| rival.probability).sum()
    }

    /// Returns what a measurement would show under a hypothesis; what comes and goes shows itself only while something is
    /// moved.
    fn would_show(&self, asked: &Measurement, foretold: &Foretold, hypothesis: usize) -> Shown {
        let row = match foretold {
            Foretold::Ear(chances) if chances[hypothesis] >= 0.5 => return Shown::Said(Said::Yes),
            Foretold::Ear(_) => return Shown::Said(Said::No),
            Foretold::Meter(row) => row,
        };
        let held = &self.engine.model.hypotheses.list[hypothesis];
        let (steady, flexed) = (held.behaviour == Behaviour::Steady, asked.flex.is_some());
        let state = if steady || flexed { held.state } else { 0 };
        let level = |state: usize| self.level(&row[state], hypothesis);
        match asked.mode {
            Mode::Continuity => Shown::Beep(self.expected(&row[state], hypothesis).beeps() >= 0.5),
            _ if flexed && !steady => span(level(0), level(state)),
            _ if flexed => span(level(state), level(state)),
            _ => Shown::Steady(level(state)),
        }
    }

    fn expected(&self, cell: &Cell, hypothesis: usize) -> Expectation {
        Expectation::new(cell, self.belief.estimate(hypothesis), self.engine.meter)
    }

    /// Returns the middle of what a cell predicts, as three digits on the display.
    fn level(&self, cell: &Cell, hypothesis: usize) -> Level {
        let middle = self.expected(cell, hypothesis).middle.map(|middle| cell.dial.unscaled(middle));
        let shown = middle.filter(|value| *value < self.engine.meter.most(cell.dial));
        shown.map_or(Level::OverRange, |value| {
            let digit = 10f64.powi(value.abs().max(1e-12).log10().floor() as i32 - 2);
            Level::of(cell.dial, (value / digit).round() * digit, digit)
        })
    }

    /// Returns what a measurement says of the suspect; `None` when no other would speak against it.
    fn trial(&self, asked: &Measurement, foretold: &Foretold) -> Option<Trial> {
        let expects = self.would_show(asked, foretold, self.hypothesis);
        let verdicts = self.verdicts(asked, foretold);
        let drop = |verdict: &Verdict| verdict.chance * (self.probability - verdict.after).max(0.0);
        let gain: f64 = verdicts.iter().map(drop).sum();
        let worst = verdicts.into_iter().max_by(|a, b| drop(a).total_cmp(&drop(b)))?;
        (worst.after < self.probability).then_some(Trial { gain, worst, expects })
    }

    /// Returns what the likeliest others would read, but for what the suspect would read as well.
    fn verdicts(&self, asked: &Measurement, foretold: &Foretold) -> Vec<Verdict> {
        let own = self.would_show(asked, foretold, self.hypothesis);
        let mut all: Vec<Verdict> = Vec::new();
        for (place, rival) in self.rivals.iter().enumerate() {
            let shown = self.would_show(asked, foretold, rival.hypothesis);
            match all.iter_mut().find(|known| alike(&known.shown, &shown)) {
                _ if alike(&own, &shown) => {}
                Some(known) => known.chance += rival.probability,
                None => all.push(Verdict { shown, chance: rival.probability, rival: place, after: 0.0 }),
            }
        }
        all.sort_by(|a, b| b.chance.total_cmp(&a.chance));
        all.truncate(READINGS);
        all.iter_mut().for_each(|verdict| verdict.after = self.after(asked, foretold, verdict.shown));
        all
    }

    /// Returns the probability of the suspect once something was read.
    fn after(&self, asked: &Measurement, foretold: &Foretold, shown: Shown) -> f64 {
        let mut belief = self.belief.clone();
        match (foretold, shown) {
            (Foretold::Ear(chances), Shown::Said(said)) => belief.observe(chances, said),
            (Foretold::Ear(_), _) => {}
            (Foretold::Meter(row), shown) => {
                let (model, meter) = (&self.engine.model, self.engine.meter);
                belief.read(model, meter, asked.flex.as_deref(), &[(shown, row.clone())]);
            }
        }
        let weights = belief.weights();
        self.engine.groups.decisions[self.decision].iter().map(|&h| weights[h]).sum()
    }

    fn told(&self, trial: Trial, proposal: &Proposal) -> AgainstView {
        let harness = self.engine.harness();
        let places: Vec<_> = advisor::places(harness, &proposal.measurement).into_iter().collect();
        AgainstView {
            headline: words::headline(harness, &proposal.measurement),
            place: words::places(harness, &places),
            setting: proposal.measurement.setting.sentence(harness),
            seconds: proposal.seconds,
            shown: trial.worst.shown,
            text: words::shown(&trial.worst.shown),
            expects: words::shown(&trial.expects),
            rival: self.rivals[trial.worst.rival].sentence.clone(),
            before: self.probability,
            after: trial.worst.after,
            measurement: proposal.measurement.clone(),
        }
    }
}

/// Returns two levels as a span from the lower to the higher.
fn span(one: Level, other: Level) -> Shown {
    let value = |level: &Level| level.number().map_or(f64::INFINITY, |(value, _)| value);
    let (low, high) = if value(&one) <= value(&other) { (one, other) } else { (other, one) };
    Shown::Range { low, high }
}

/// Returns whether two readings are about the same.
fn alike(one: &Shown, other: &Shown) -> bool {
    match (one, other) {
        (Shown::Steady(one), Shown::Steady(other)) => near(one, other),
        (Shown::Range { low, high }, Shown::Range { low: other, high: top }) => {
            near(low, other) && near(high, top)
        }
        _ => one == other,
    }
}

fn near(one: &Level, other: &Level) -> bool {
    match (one.number(), other.number()) {
        (Some((a, _)), Some((b, _))) => (a - b).abs() <= SAME * a.abs().max(b.abs()),
        (one, other) => one.is_none() && other.is_none(),
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::circuit::built_in;
    use crate::job::Intake;
    use crate::readings::{Access, Symptom};
    use crate::workbench::Command;

    const NOW: &str = "2026-03-02T09:00:00Z";

    fn silent() -> Workbench {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
        let intake = Intake {
            wiring: name.trim_end_matches(".ron").to_owned(),
            wiring_text: (*text).to_owned(),
            priors_text: None,
            trees_text: Vec::new(),
            instrument: "an invented one".to_owned(),
            customer: String::new(),
            complaint: String::new(),
            symptoms: vec![Symptom::Silent],
            last_done: String::new(),
            access: Access::MayUnsolder,
            meter: "handheld".to_owned(),
            technician: String::new(),
        };
        let engine = Workbench::engine_for(&intake, &[]).unwrap();
        let first = Workbench::first_record(&engine, intake, NOW).unwrap();
        Workbench::resume(Arc::clone(&engine), vec![first]).unwrap()
    }

    fn typed(shown: &Shown) -> String {
        let one = |level: &Level| {
            let (per_unit, unit) = match level {
                Level::Farads { .. } => (1e9, "nF"),
                Level::Volts { .. } => (1.0, "V"),
                Level::Amps { .. } => (1e6, "uA"),
                Level::Ohms { .. } | Level::OverRange => (1.0, "ohm"),
            };
            level.number().map_or("OL".to_owned(), |(value, _)| format!("{:.4} {unit}", per_unit * value))
        };
        match shown {
            Shown::Steady(level) => one(level),
            Shown::Range { low, high } => format!("{} - {}", one(low), one(high)),
            other => words::shown(other),
        }
    }

    fn ohms(shown: &Shown) -> Option<f64> {
        match shown {
            Shown::Steady(level) => level.number().map(|(value, _)| value),
            _ => None,
        }
    }

    // By hand, from the wiring: with the coil of 6.2 kilohms open the volume pot's track of 250 kilohms is left at the
    // plug; whole they are 6.2 · 250 / 256.2 = 6.05 kilohms. A slip is then all that explains it with the coil open; a coil that
    // comes and goes is mended by the same work, reads the same as a whole one, and stays.
    #[test]
    fn a_whole_coil_at_the_plug_speaks_against_an_open_one() {
        let bench = silent();
        let all = suspects::ranked(bench.engine(), bench.situation());
        let suspect = named(bench.engine(), &all, "pickup/coil open").unwrap();
        let court = Court::new(bench.engine(), &bench.situation().belief, &all, suspect);
        let asked = Measurement::at_the_plug(bench.engine().harness());
        let foretold = court.foretold(&asked).unwrap();
        let own = ohms(&court.would_show(&asked, &foretold, court.hypothesis)).unwrap();
        assert!((own / 250e3 - 1.0).abs() < 0.02, "an open coil reads {own}");
        let verdicts = court.verdicts(&asked, &foretold);
        let whole = verdicts.iter().find(|v| ohms(&v.shown).is_some_and(|o| (o / 6050.0 - 1.0).abs() < 0.02));
        let after = whole.expect("something that leaves the coil whole is suspected as well").after;
        assert!(after < court.probability / 2.0, "{after} after {}", court.probability);
    }

    #[test]
    fn what_would_prove_it_wrong_does_when_it_is_read() {
        let mut bench = silent();
        let case = bench.case("pickup/coil open").unwrap().unwrap();
        let against = case.against.expect("much is open after a complaint");
        assert!(against.after < 0.5 * against.before, "{against:?}");
        let text = typed(&against.shown);
        let command = Command::Record { text, measurement: Some(against.measurement) };
        let records = bench.decide(&command, NOW).unwrap();
        bench.absorb(records).unwrap();
        let all = suspects::ranked(bench.engine(), bench.situation());
        let suspect = named(bench.engine(), &all, "pickup/coil open").unwrap();
        assert!(suspect.probability < 0.5 * against.before, "{}", suspect.probability);
    }

    #[test]
    fn the_suspect_sounds_beside_a_healthy_instrument() {
        let case = silent().case("pickup/coil open").unwrap().unwrap();
        assert!(case.tone.is_some_and(|heard| heard.tone.level < -10.0));
    }

    #[test]
    fn what_is_no_fault_is_no_case() {
        assert!(silent().case("a fault of nothing").unwrap().is_none());
    }
}
