//! Steps as they are shown: what to do, how, why, and what each suspect would read.

use super::engine::{Engine, EngineError};
use super::situation::{Situation, TreeState};
use super::suspects::ranked_by;
use super::{Ask, ControlView, PredictionView, StepView, battery, cautions, script, words};
use crate::advisor::{self, Proposal};
use crate::belief::Belief;
use crate::circuit::{ControlKind, Harness, PartKind};
use crate::faults::NOTHING_WRONG;
use crate::job::{Band, Job, Speaker};
use crate::prediction::Hypothesis;
use crate::readings::{Access, Check, Measurement, Mode, Said, swapped_in};
use crate::trees::{self, Step, Then};
use crate::units::Ohms;

/// How many groups are shown with what they would read.
const PREDICTED: usize = 4;
/// How many other steps are offered.
const ALTERNATIVES: usize = 5;

/// Returns the step to show and the alternatives to it.
pub(super) fn steps(
    engine: &Engine,
    job: &Job,
    situation: &Situation,
    chosen: Option<&Measurement>,
) -> Result<(Option<StepView>, Vec<StepView>), EngineError> {
    let proposed: Result<Vec<StepView>, EngineError> =
        varied(situation).into_iter().map(|p| proposal(engine, job, situation, p)).collect();
    let mut proposed = proposed?;
    let first = match (&situation.tree, chosen) {
        (_, Some(measurement)) => Some(own(engine, situation, measurement)?),
        (TreeState::At(tree, step), None) => {
            Some(tree_step(engine, job, situation, *tree, step, &mut proposed)?)
        }
        _ if proposed.is_empty() => None,
        _ => Some(proposed.remove(0)),
    };
    if let Some(first) = &first {
        proposed.retain(|other| other.ask != first.ask);
    }
    proposed.truncate(ALTERNATIVES);
    Ok((first, proposed))
}

/// Returns the best proposals, the first few of them with different probes: a choice among equals is none.
fn varied(situation: &Situation) -> Vec<&Proposal> {
    let mut picked: Vec<&Proposal> = Vec::new();
    let mut rest: Vec<&Proposal> = Vec::new();
    for proposal in &situation.proposals {
        let m = &proposal.measurement;
        let same = |other: &&Proposal| {
            let other = &other.measurement;
            (&other.red, &other.black, &other.flex, other.mode) == (&m.red, &m.black, &m.flex, m.mode)
        };
        if picked.iter().any(same) { rest.push(proposal) } else { picked.push(proposal) }
    }
    picked.into_iter().chain(rest).take(ALTERNATIVES + 1).collect()
}

fn proposal(
    engine: &Engine,
    job: &Job,
    situation: &Situation,
    proposal: &Proposal,
) -> Result<StepView, EngineError> {
    let mut view = measured(engine, situation, &proposal.measurement)?;
    view.bits = proposal.bits;
    view.why = why(&view);
    if job.live_readings().any(|taken| taken.reading.measurement == proposal.measurement) {
        view.why = format!("Once more: what comes and goes need not show the first time. {}", view.why);
    }
    Ok(view)
}

/// Returns a measurement that a person chose as a step.
pub(super) fn own(
    engine: &Engine,
    situation: &Situation,
    measurement: &Measurement,
) -> Result<StepView, EngineError> {
    let mut view = measured(engine, situation, measurement)?;
    view.why = why(&view);
    Ok(view)
}

/// Returns a measurement as a step, with everything but its reason.
fn measured(
    engine: &Engine,
    situation: &Situation,
    measurement: &Measurement,
) -> Result<StepView, EngineError> {
    let harness = engine.harness();
    let healthy = engine.healthy(measurement)?;
    let open_first = advisor::to_open(harness, measurement, &situation.stand);
    let places: Vec<_> = advisor::places(harness, measurement).into_iter().collect();
    let same = |p: &&Proposal| p.measurement.reads_the_same(measurement);
    let known = situation.proposals.iter().find(same);
    let range = engine.meter.range_for(healthy.ohms.unwrap_or(engine.meter.ceiling()));
    let mut view = StepView {
        ask: Ask::Measure(measurement.clone()),
        speaker: Speaker::Advisor,
        tree: None,
        headline: words::headline(harness, measurement),
        dial: words::dial(measurement, &range),
        red: measurement.touched(harness, &measurement.red),
        black: measurement.touched(harness, &measurement.black),
        controls: controls(engine.harness(), situation, measurement),
        battery: battery::stand(harness, measurement.mode, situation.before),
        place: words::places(harness, &places),
        open_first: open_first.iter().map(|&p| format!("{}: {}", harness[p].name, harness[p].how)).collect(),
        flex: measurement.flex.as_deref().map(|flex| words::flexing(harness, flex)).unwrap_or_default(),
        why: String::new(),
        healthy: healthy_words(engine, situation, measurement, &healthy)?,
        healthy_band: Some(healthy),
        predictions: predictions(engine, &situation.belief, measurement)?,
        outcomes: Vec::new(),
        caution: String::new(),
        bits: known.map_or(0.0, |p| p.bits),
        seconds: advisor::seconds(harness, measurement, &situation.stand),
        script: Vec::new(),
    };
    view.script = read_out(engine, &view, measurement, None);
    Ok(view)
}

/// Returns what a healthy instrument reads, in words: any guitar like this and, once readings have told its part values,
/// this one.
fn healthy_words(
    engine: &Engine,
    situation: &Situation,
    measurement: &Measurement,
    healthy: &Band,
) -> Result<String, EngineError> {
    let any = words::reads(engine.meter, measurement.mode, healthy);
    let sound = engine.model.catalogue.find(NOTHING_WRONG).and_then(|nothing| {
        let holds = |h: &Hypothesis| h.faults.iter().any(|(fault, _)| *fault == nothing);
        engine.model.hypotheses.list.iter().position(holds)
    });
    let Some(sound) = sound.filter(|_| !matches!(measurement.mode, Mode::Observe(_))) else { return Ok(any) };
    let row = engine.row(measurement)?;
    let Some(cell) = row.first() else { return Ok(any) };
    let band = engine.band(cell, situation.belief.estimate(sound));
    let this = words::reads(engine.meter, measurement.mode, &band);
    if this == any {
        return Ok(any);
    }
    Ok(format!("{any} on any guitar like this; {this} on this one, by what was read"))
}

/// Returns a measurement as it is read out to a customer, a tree's own words for the probes in it if there are some.
fn read_out(engine: &Engine, view: &StepView, measurement: &Measurement, own: Option<&str>) -> Vec<String> {
    let healthy = view.healthy_band.and_then(|band| band.ohms).unwrap_or(engine.meter.ceiling());
    let range = engine.meter.range_for(healthy);
    let told = script::Told { range: &range, controls: &view.controls, battery: view.battery, own };
    script::script(engine.harness(), measurement, &told)
}

fn controls(harness: &Harness, situation: &Situation, measurement: &Measurement) -> Vec<ControlView> {
    let moved = measurement.setting.moved(&situation.stand.setting);
    let view = |(name, stand): (&String, &crate::readings::Stand)| ControlView {
        name: harness.control_title(name).to_owned(),
        stand: stand.to_string(),
        moved: moved.contains(&name.as_str()),
    };
    measurement.setting.0.iter().map(view).collect()
}

/// Returns what the leading groups would make a person answer.
fn answers(
    engine: &Engine,
    belief: &Belief,
    check: Check,
    measurement: &Measurement,
) -> Result<Vec<PredictionView>, EngineError> {
    let chances = engine.chances(check, measurement)?;
    let weights = belief.weights();
    let view = |ranked: &super::suspects::Ranked| {
        let members = &engine.groups.decisions[ranked.decision];
        let total: f64 = members.iter().map(|&h| weights[h]).sum();
        let yes: f64 = members.iter().map(|&h| weights[h] * chances[h]).sum::<f64>() / total.max(1e-300);
        let said = if yes >= 0.5 { Said::Yes } else { Said::No };
        PredictionView {
            sentence: super::suspects::sentence(engine, ranked),
            probability: ranked.probability,
            text: format!("{} ({})", words::answer(said), words::percent(yes.max(1.0 - yes))),
            band: Band { said: Some(said), ..Band::default() },
        }
    };
    Ok(ranked_by(engine, belief).iter().take(PREDICTED).map(view).collect())
}

/// Returns what each leading group would make a measurement read under what is believed.
pub(super) fn predictions(
    engine: &Engine,
    belief: &Belief,
    measurement: &Measurement,
) -> Result<Vec<PredictionView>, EngineError> {
    if let Mode::Observe(check) = measurement.mode {
        return answers(engine, belief, check, measurement);
    }
    let row = engine.row(measurement)?;
    let weights = belief.weights();
    let view = |ranked: &super::suspects::Ranked| {
        let members = &engine.groups.decisions[ranked.decision];
        let heaviest =
            members.iter().copied().max_by(|&a, &b| weights[a].total_cmp(&weights[b])).unwrap_or(0);
        let hypothesis = &engine.model.hypotheses.list[heaviest];
        let band = match hypothesis.behaviour {
            crate::prediction::Behaviour::Anything => {
                Band { ohms: None, low: Some(Ohms::new(0.0)), high: None, ..Band::default() }
            }
            _ => engine.band(&row[hypothesis.state], belief.estimate(heaviest)),
        };
        let comes_and_goes =
            matches!(hypothesis.behaviour, crate::prediction::Behaviour::ComesAndGoes { .. });
        let reads = words::reads(engine.meter, measurement.mode, &band);
        let text = match hypothesis.behaviour {
            crate::prediction::Behaviour::Anything => "anything".to_owned(),
            _ if comes_and_goes => format!("{reads} when it shows"),
            _ => reads,
        };
        let sentence = super::suspects::sentence(engine, ranked);
        PredictionView { sentence, probability: ranked.probability, band, text }
    };
    Ok(ranked_by(engine, belief).iter().take(PREDICTED).map(view).collect())
}

fn why(view: &StepView) -> String {
    let opening = if view.open_first.is_empty() { "" } else { ", opening included" };
    let told = match view.predictions.iter().map(|p| &p.text).collect::<std::collections::BTreeSet<_>>().len()
    {
        0 | 1 => "It separates the leading suspects from the rest",
        _ => "The leading suspects would read differently here",
    };
    format!(
        "{told}. Expect {:.2} bits in about {}{opening}.",
        view.bits,
        crate::units::show_seconds(crate::units::Seconds::new(view.seconds.round()))
    )
}

fn tree_step(
    engine: &Engine,
    job: &Job,
    situation: &Situation,
    tree: usize,
    step: &str,
    proposed: &mut Vec<StepView>,
) -> Result<StepView, EngineError> {
    let fitted = &engine.trees[tree];
    let mut view = match fitted.measurement(step) {
        Some(measurement) => measured(engine, situation, &measurement)?,
        None => question(fitted.answers(step).iter().map(|a| a.answer.clone()).collect()),
    };
    if matches!(view.ask, Ask::Question { .. })
        && let trees::Walk::Step(next) = fitted.after_cannot(step)
        && let Some(measurement) = fitted.measurement(&next)
    {
        let mut passed = measured(engine, situation, &measurement)?;
        spoken(engine, &mut passed, fitted.tree().title.as_str(), fitted.step(&next), job.access());
        proposed.insert(0, passed);
    }
    spoken(engine, &mut view, fitted.tree().title.as_str(), fitted.step(step), job.access());
    let swapped = swapped_in(&job.intake().complaint);
    let counted = swapped.any() && !job.intake().symptoms.is_empty();
    if counted && fitted.answers(step).iter().any(|answer| answer.then == Then::NotTheInstrument) {
        let tried = swapped.words();
        view.why = format!(
            "The complaint says that {tried} cured nothing, which counts already: do what else is asked here. {}",
            view.why
        );
    }
    Ok(view)
}

/// Puts the tree's own words into a step.
fn spoken(engine: &Engine, view: &mut StepView, tree: &str, step: Option<&Step>, access: Access) {
    view.speaker = Speaker::Tree;
    view.tree = Some(tree.to_owned());
    if let Some(step) = step {
        let on_telephone = step.telephone.as_ref().filter(|_| access == Access::Telephone);
        let placed = |told: &String| in_first_position(engine.harness(), told);
        view.headline = placed(on_telephone.unwrap_or(&step.say));
        let telephone = step.telephone.as_ref().map(placed);
        view.why.clone_from(&step.why);
        view.outcomes = outcomes(step);
        let caution = step.caution.as_deref().and_then(cautions::caution);
        view.caution = caution.map(|caution| caution.text).unwrap_or_default();
        view.script = match &view.ask {
            Ask::Measure(measurement) => read_out(engine, view, measurement, telephone.as_deref()),
            Ask::Question { .. } => {
                vec![script::sentence(&telephone.unwrap_or_else(|| placed(&step.say)))]
            }
        };
    }
}

/// How a tree, which knows no guitar, speaks of the switches; the longer before those that are part of them.
const FIRST_POSITIONS: [&str; 6] = [
    "Every switch in its first position",
    "every switch in its first position",
    "The switch in its first position",
    "the switch in its first position",
    "Switch in its first position",
    "switch in its first position",
];

/// Returns a tree's words with the switches of this guitar and their positions; nothing of them where there is none.
fn in_first_position(harness: &Harness, told: &str) -> String {
    let switches = harness.controls.iter().filter(|control| harness[control.part].kind != PartKind::Plug);
    let stands = switches.filter_map(|control| match &control.kind {
        ControlKind::Selector(positions) => {
            Some(format!("{} at {}", harness.control_title(&control.name), positions.first()?))
        }
        ControlKind::Knob => None,
    });
    let stands = stands.collect::<Vec<_>>().join(" and ");
    FIRST_POSITIONS.iter().fold(told.to_owned(), |told, phrase| put_for(phrase, &stands, &told))
}

/// Puts words in the place of a phrase, or takes it out with its comma where there are none.
fn put_for(phrase: &str, words: &str, told: &str) -> String {
    if words.is_empty() {
        let lone = [
            format!(" and put {phrase}"),
            format!(", with {phrase}"),
            format!(", {phrase}"),
            format!(" and {phrase}"),
            format!("{phrase}, "),
            format!("{phrase}. "),
        ];
        return lone.iter().fold(told.to_owned(), |told, lone| told.replace(lone, ""));
    }
    let begins = phrase.starts_with(char::is_uppercase);
    let first = words.chars().next().filter(|_| begins).map(|first| first.to_uppercase().to_string());
    let words = first.map_or_else(|| words.to_owned(), |first| first + words.get(1..).unwrap_or_default());
    told.replace(phrase, &words)
}

/// Returns what each outcome or answer of a tree's step would mean, in the tree's own words.
fn outcomes(step: &Step) -> Vec<(String, String)> {
    match &step.ask {
        trees::Ask::Measure(probe) => {
            probe.outcomes.iter().map(|outcome| (outcome.says(), outcome.means.clone())).collect()
        }
        trees::Ask::Question { answers, .. } => {
            answers.iter().map(|answer| (answer.answer.clone(), answer.means.clone())).collect()
        }
    }
}

fn question(answers: Vec<String>) -> StepView {
    StepView {
        ask: Ask::Question { answers },
        speaker: Speaker::Tree,
        tree: None,
        headline: String::new(),
        dial: String::new(),
        red: String::new(),
        black: String::new(),
        controls: Vec::new(),
        battery: None,
        place: "outside; nothing is opened".to_owned(),
        open_first: Vec::new(),
        flex: String::new(),
        why: String::new(),
        healthy: String::new(),
        healthy_band: None,
        predictions: Vec::new(),
        outcomes: Vec::new(),
        caution: String::new(),
        bits: 0.0,
        seconds: 60.0,
        script: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::source::Source;

    fn placed(wiring: &str, told: &str) -> String {
        let (name, text) = built_in().iter().find(|(name, _)| *name == wiring).unwrap();
        in_first_position(&load(&Source::new(*name, *text)).unwrap(), told)
    }

    // The titles are those of the wiring files.
    #[test]
    fn a_tree_speaks_of_the_switch_that_there_is() {
        let toggle = "two-humbuckers-independent.ron";
        let told = placed(toggle, "All knobs at 10, every switch in its first position. Read.");
        assert_eq!(told, "All knobs at 10, pickup toggle at neck. Read.");
        let told = placed(toggle, "Switch in its first position, knobs at 10.");
        assert_eq!(told, "Pickup toggle at neck, knobs at 10.");
        let told = placed("one-pickup.ron", "All knobs up, the switch in its first position. Read.");
        assert_eq!(told, "All knobs up. Read.");
        assert_eq!(placed("one-pickup.ron", "Same clips, switch in its first position."), "Same clips.");
        let told = placed("one-pickup.ron", "Turn up and put the switch in its first position. Now turn.");
        assert_eq!(told, "Turn up. Now turn.");
    }

    #[test]
    fn no_tree_speaks_in_half_sentences_where_there_is_no_switch() {
        for (name, text) in trees::built_in() {
            let tree = trees::load(&Source::new(*name, *text)).unwrap();
            let said = tree.steps.iter().flat_map(|step| std::iter::once(&step.say).chain(&step.telephone));
            for told in said.map(|told| placed("one-pickup.ron", told)) {
                let words: Vec<&str> = told.split_whitespace().collect();
                for pair in words.windows(2) {
                    let torn =
                        matches!(pair[0], "put" | "with" | "and") && pair[1].starts_with(char::is_uppercase);
                    assert!(!torn, "{name}: {told}");
                }
                let begins = |c: char| !c.is_lowercase();
                assert!(told.starts_with(begins) && !told.contains(". knobs"), "{name}: {told}");
            }
        }
    }
}
