//! A grown step in words: its name, what to do, why, and what each outcome speaks for.

use super::cut::{Shows, covers};
use super::ends::{can_be_named, nothing_wrong};
use super::{Node, Plant, Split};
use crate::advisor;
use crate::belief::Belief;
use crate::circuit::Harness;
use crate::readings::{Check, Dial, Level, Measurement, Mode, Said, Setting, Stand};
use crate::trees::{Answer, Ask, Outcome, Probe, Sense, Step, Then, When};
use crate::workbench::{Engine, Ranked, headline_in_words, outside_in_words, suspect_in_words, suspects_by};

/// So many outcomes are named as a reason.
const REASONS: usize = 3;
/// So many suspects are named with an outcome, of those that are so likely after it and rose by so much.
const NAMED: usize = 2;
const LIKELY: f64 = 0.03;
const ROSE: f64 = 1.5;
/// What is said where nothing is wrong in the instrument.
const OUTSIDE: &str = "it is the cable, the amplifier, a pedal or a setting";
/// What an outcome means that makes no suspect likelier.
const NONE_ROSE: &str = "no suspect is much likelier than before";
/// What an outcome means that no suspect is behind.
pub(super) const OTHER: &str = "none of what is suspected reads so";

/// A step that has grown, with what each of its outcomes speaks for.
#[derive(Clone)]
pub(super) struct Grown {
    pub step: Step,
    reasons: Vec<Reason>,
}

/// What an outcome speaks for.
#[derive(Clone)]
struct Reason {
    /// The outcome as it is written.
    written: String,
    /// The same as it begins a sentence.
    shown: String,
    suspect: String,
}

impl Grown {
    /// Returns the step in the words of what is left of it: its reason names only outcomes that it has, and what an
    /// outcome means goes by where it leads.
    pub fn worded(&self) -> Step {
        let mut step = self.step.clone();
        let left = |reason: &&Reason| match &self.step.ask {
            Ask::Measure(probe) => probe.outcomes.iter().any(|outcome| outcome.written == reason.written),
            Ask::Question { .. } => true,
        };
        step.why = why(self.reasons.iter().filter(left));
        match &mut step.ask {
            Ask::Measure(probe) => {
                probe.outcomes.iter_mut().for_each(|way| reword(&mut way.means, &way.then));
            }
            Ask::Question { answers, .. } => {
                answers.iter_mut().for_each(|way| reword(&mut way.means, &way.then));
            }
        }
        step
    }
}

/// Says of an outcome that makes no suspect likelier why it leads where it does.
fn reword(means: &mut String, then: &Then) {
    if means != NONE_ROSE {
        return;
    }
    let led = match then {
        Then::Suspect(_) => "it fits what was suspected already",
        Then::NotTheInstrument => "it fits a sound instrument",
        Then::Step(_) => "it does not tell yet which suspect it is",
        Then::Advisor | Then::Tree(_) => NONE_ROSE,
    };
    led.clone_into(means);
}

/// Returns the step of a node.
pub(super) fn step(plant: &Plant<'_>, node: &Node, split: &Split, ways: &[Then]) -> Grown {
    let (engine, measurement) = (plant.engine, &split.measurement);
    let risen = |next: usize| risen(engine, &node.belief, &plant.nodes[next].belief);
    let risen: Vec<Vec<Risen>> = split.ways.iter().map(|(_, next)| risen(*next)).collect();
    let step = Step {
        name: name(engine.harness(), measurement),
        say: say(engine.harness(), node, measurement),
        why: String::new(),
        telephone: outside_in_words(engine.harness(), measurement),
        caution: Some(caution(measurement.mode).to_owned()),
        needs: None,
        ask: ask(split, ways, &risen),
        cannot: Then::Advisor,
    };
    Grown { step, reasons: reasons(split, &risen) }
}

/// A suspect that an outcome makes likelier.
struct Risen {
    /// How many times as likely as before.
    times: f64,
    /// The suspect as part of a sentence.
    suspect: String,
}

/// Returns the suspects that an outcome makes likelier, the likeliest after it first; what is at no place is none.
fn risen(engine: &Engine, before: &Belief, after: &Belief) -> Vec<Risen> {
    let earlier = engine.groups.probabilities(&before.weights());
    let times = |one: &Ranked| one.probability / earlier[one.decision].max(f64::MIN_POSITIVE);
    let named = |one: &Ranked| nothing_wrong(engine, one) || can_be_named(engine, one);
    let ranked = suspects_by(engine, after);
    let rose = ranked.iter().filter(|one| one.probability >= LIKELY && named(one) && times(one) >= ROSE);
    rose.take(NAMED).map(|one| Risen { times: times(one), suspect: suspect(engine, one) }).collect()
}

fn suspect(engine: &Engine, ranked: &Ranked) -> String {
    match nothing_wrong(engine, ranked) {
        true => OUTSIDE.to_owned(),
        false => small(&suspect_in_words(engine, ranked)),
    }
}

/// Returns what an outcome means: that all is as it should be here, and what it makes likelier.
fn means(shows: Shows, risen: &[Risen]) -> String {
    let healthy = shows == Shows::Reads(When::NearHealthy);
    let healthy = healthy.then(|| "what is read here is as it should be".to_owned());
    let rose = risen.iter().map(|one| format!("{} as likely as before: {}", times(one.times), one.suspect));
    let all: Vec<String> = healthy.into_iter().chain(rose).collect();
    if all.is_empty() { NONE_ROSE.to_owned() } else { all.join("; ") }
}

fn times(times: f64) -> String {
    match times.round() {
        few if few <= 2.0 => "twice".to_owned(),
        many if many > 100.0 => "over 100 times".to_owned(),
        some => format!("{some:.0} times"),
    }
}

fn ask(split: &Split, ways: &[Then], risen: &[Vec<Risen>]) -> Ask {
    let m = &split.measurement;
    let each = || split.ways.iter().map(|(shows, _)| *shows).zip(ways).zip(risen);
    if let Mode::Observe(check) = m.mode {
        let way = |wanted: Said| {
            let found = each().find(|((shows, _), _)| *shows == Shows::Says(wanted));
            let nothing = ("nothing that is suspected".to_owned(), Then::Advisor);
            found.map_or(nothing, |((shows, then), risen)| (means(shows, risen), then.clone()))
        };
        return listened(check, m, [way(Said::Yes), way(Said::No)]);
    }
    let mut probe = Probe::new(m.mode, &m.red, &m.black, &m.setting, m.flex.as_deref());
    for ((shows, then), risen) in each() {
        if let Shows::Reads(when) = shows {
            probe.outcomes.push(Outcome::new(when, m.mode, &means(shows, risen), then.clone()));
        }
    }
    let whens: Vec<When> = probe.outcomes.iter().map(|outcome| outcome.when).collect();
    if !covers(m.mode, m.flex.is_some(), &whens) {
        probe.outcomes.push(Outcome::new(When::AnythingElse, m.mode, OTHER, Then::Advisor));
    }
    Ask::Measure(probe)
}

/// Returns something to be heard: as the circuit foretells it, or as a question where it cannot.
fn listened(check: Check, m: &Measurement, [yes, no]: [(String, Then); 2]) -> Ask {
    if check == Check::OtherCable {
        let answer = |answer: &str, (means, then)| Answer { answer: answer.to_owned(), means, then };
        let answers = vec![answer("Yes", yes), answer("No", no)];
        return Ask::Question { sense: Sense::Listen, answers };
    }
    let ways = [(yes.0.as_str(), yes.1.clone()), (no.0.as_str(), no.1.clone())];
    Ask::Measure(Probe::hearing(check, &m.setting, m.about.as_deref(), ways))
}

/// Returns the key of the caution that goes with a way of reading.
fn caution(mode: Mode) -> &'static str {
    match mode {
        Mode::Volts | Mode::Current => "battery-in",
        Mode::Observe(_) => "amplifier",
        _ => "unplug",
    }
}

/// Returns what to do: what to open, where the controls stand, what to read.
fn say(harness: &Harness, node: &Node, measurement: &Measurement) -> String {
    let open = advisor::to_open(harness, measurement, &node.stand);
    let mut parts: Vec<String> = open
        .iter()
        .map(|&place| format!("Open first, {}: {}.", harness[place].name, harness[place].how))
        .collect();
    let setting = measurement.setting.sentence(harness);
    if !setting.is_empty() {
        parts.push(format!("{}.", capital(&setting)));
    }
    let headline = headline_in_words(harness, measurement);
    let stop = if headline.ends_with(['.', '?']) { "" } else { "." };
    parts.push(format!("{headline}{stop}"));
    parts.join(" ")
}

/// Returns what each outcome makes likelier, the likeliest after it.
fn reasons(split: &Split, risen: &[Vec<Risen>]) -> Vec<Reason> {
    let mode = split.measurement.mode;
    let reason = |((shows, _), risen): (&(Shows, usize), &Vec<Risen>)| {
        let first = risen.first()?;
        let shown = shown(mode.dial(), *shows);
        Some(Reason { written: written(mode, *shows), shown, suspect: first.suspect.clone() })
    };
    split.ways.iter().zip(risen).filter_map(reason).collect()
}

/// Returns an outcome as it is written in the file.
fn written(mode: Mode, shows: Shows) -> String {
    match shows {
        Shows::Reads(when) => when.written(mode),
        Shows::Says(Said::Yes) => When::Yes.written(mode),
        Shows::Says(_) => When::No.written(mode),
    }
}

/// Returns what some outcomes make likelier, each suspect once.
fn why<'r>(reasons: impl Iterator<Item = &'r Reason>) -> String {
    let mut named: Vec<&Reason> = Vec::new();
    for reason in reasons {
        if named.iter().all(|known| known.suspect != reason.suspect) {
            named.push(reason);
        }
    }
    let told = named.iter().take(REASONS);
    let told: Vec<String> =
        told.map(|reason| format!("{} speaks for this: {}.", reason.shown, reason.suspect)).collect();
    if told.is_empty() { "It tells most for the time it takes.".to_owned() } else { told.join(" ") }
}

fn shown(dial: Dial, shows: Shows) -> String {
    let value = |value: f64| Level::of(dial, value, 0.0).words();
    match shows {
        Shows::Says(Said::Yes) => "Yes".to_owned(),
        Shows::Says(_) => "No".to_owned(),
        Shows::Reads(When::Number { low, high: Some(high) }) if low <= 0.0 => {
            format!("Less than {}", value(high))
        }
        Shows::Reads(When::Number { low, high: Some(high) }) => {
            format!("Between {} and {}", value(low), value(high))
        }
        Shows::Reads(When::Number { low, high: None }) => format!("More than {}", value(low)),
        Shows::Reads(When::NearHealthy) => "A reading as it should be".to_owned(),
        Shows::Reads(When::Unstable) => "A reading that moves".to_owned(),
        Shows::Reads(_) => "Over range".to_owned(),
    }
}

/// Returns a short name: `tip to sleeve, selector at bridge, all knobs up`.
fn name(harness: &Harness, measurement: &Measurement) -> String {
    let about = measurement.about.as_deref().unwrap_or_default();
    let what = match measurement.mode {
        Mode::Observe(check) => plain(&format!("{} {about}", check.name())).trim_end().to_owned(),
        _ => ends(harness, &measurement.red, &measurement.black),
    };
    let mut words = vec![what];
    match measurement.mode {
        Mode::Volts => words.push("volts".to_owned()),
        Mode::Current => words.push("current".to_owned()),
        _ => {}
    }
    words.extend(measurement.flex.as_deref().map(|flex| format!("moving the {}", plain(flex))));
    words.extend(stands(&measurement.setting));
    words.join(", ")
}

fn ends(harness: &Harness, red: &str, black: &str) -> String {
    let [(one, red), (other, black)] = [red, black].map(|name| {
        let terminal = harness.terminal(name).map(|id| &harness[id]);
        let (part, lug) = name.split_once('.').unwrap_or((name, ""));
        (plain(part), lug_in_words(terminal.map_or(lug, |terminal| terminal.lug.as_str())))
    });
    let short = |part: &str, lug: &str| match (part, lug) {
        ("plug", lug) => lug.to_owned(),
        (part, "surface") => part.to_owned(),
        (part, lug) => format!("{part} {lug}"),
    };
    if one == other {
        format!("{} to {black}", short(&one, &red))
    } else {
        format!("{} to {}", short(&one, &red), short(&other, &black))
    }
}

/// Returns `lug 3` for `lug3`.
fn lug_in_words(lug: &str) -> String {
    match lug.strip_prefix("lug") {
        Some(number) if !number.is_empty() => format!("lug {}", plain(number)),
        _ => plain(lug),
    }
}

/// Returns where the switches stand, and the knobs that are not fully up.
fn stands(setting: &Setting) -> Vec<String> {
    const UP: Stand = Stand::Knob(10);
    let switches = setting.0.iter().filter_map(|(name, stand)| match stand {
        Stand::At(position) if name == "plug" => Some(format!("{position} plug")),
        Stand::At(position) => Some(format!("{name} at {position}")),
        Stand::Knob(_) => None,
    });
    let moved = setting.0.iter().filter_map(|(name, stand)| match stand {
        Stand::Knob(dial) if *stand != UP => Some(format!("{name} at {dial}")),
        _ => None,
    });
    let knobs: Vec<(&String, &Stand)> =
        setting.0.iter().filter(|(_, stand)| matches!(stand, Stand::Knob(_))).collect();
    let up = match knobs.as_slice() {
        [] => None,
        [(name, stand)] => (**stand == UP).then(|| format!("{name} up")),
        all => all.iter().all(|(_, stand)| **stand == UP).then(|| "all knobs up".to_owned()),
    };
    switches.chain(moved).chain(up).collect()
}

fn plain(name: &str) -> String {
    name.replace(['-', '_'], " ")
}

/// Makes the first letter a capital.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Makes the first letter small, so that a sentence can be part of another.
pub(super) fn small(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::source::Source;
    use rstest::rstest;

    #[rstest]
    #[case("plug.tip", "plug.sleeve", None, 10, "tip to sleeve, selector at neck, all knobs up")]
    #[case(
        "neck-volume.lug3",
        "neck-volume.case",
        None,
        10,
        "neck volume lug 3 to case, selector at neck, all knobs up"
    )]
    #[case(
        "strings.surface",
        "plug.sleeve",
        Some("plug"),
        5,
        "strings to sleeve, moving the plug, selector at neck, neck volume at 5"
    )]
    fn names_are_short(
        #[case] red: &str,
        #[case] black: &str,
        #[case] flex: Option<&str>,
        #[case] dial: u8,
        #[case] expected: &str,
    ) {
        let (file, text) = built_in().iter().find(|(file, _)| *file == "two-humbuckers.ron").unwrap();
        let harness = load(&Source::new(*file, *text)).unwrap();
        let setting = Setting::reference(&harness).with("neck volume", Stand::Knob(dial));
        let asked = Measurement { flex: flex.map(str::to_owned), ..Measurement::ohms(red, black, setting) };
        assert_eq!(name(&harness, &asked), expected);
    }
}
