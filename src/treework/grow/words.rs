//! A grown step in words: its name, what to do, why, and what each outcome speaks for.

use super::cut::Shows;
use super::{Node, Plant, Split};
use crate::advisor;
use crate::belief::Belief;
use crate::circuit::Harness;
use crate::readings::{Check, Dial, Level, Measurement, Mode, Said, Setting, Stand};
use crate::trees::{Answer, Ask, Outcome, Probe, Sense, Step, Then, When};
use crate::workbench::{Engine, headline_in_words, suspect_in_words, suspects_by};

/// So many outcomes are named as a reason.
const REASONS: usize = 3;

/// Returns the step of a node.
pub(super) fn step(plant: &Plant<'_>, node: &Node, split: &Split, ways: &[Then]) -> Step {
    let (engine, measurement) = (plant.engine, &split.measurement);
    let leaders: Vec<String> =
        split.ways.iter().map(|(_, next)| leader(engine, &plant.nodes[*next].belief)).collect();
    Step {
        name: name(engine.harness(), measurement),
        say: say(engine.harness(), node, measurement),
        why: why(split, &leaders),
        telephone: None,
        caution: Some(caution(measurement.mode).to_owned()),
        needs: None,
        ask: ask(split, ways, &leaders),
        cannot: Then::Advisor,
    }
}

/// Returns the likeliest suspect as part of a sentence.
fn leader(engine: &Engine, belief: &Belief) -> String {
    suspects_by(engine, belief)
        .first()
        .map(|first| small(&suspect_in_words(engine, first)))
        .unwrap_or_default()
}

fn ask(split: &Split, ways: &[Then], leaders: &[String]) -> Ask {
    let m = &split.measurement;
    let means = |leader: &String| format!("it speaks most for this: {leader}");
    let each = || split.ways.iter().map(|(shows, _)| shows).zip(ways).zip(leaders);
    if let Mode::Observe(check) = m.mode {
        let way = |wanted: Said| {
            let found = each().find(|((shows, _), _)| **shows == Shows::Says(wanted));
            let nothing = ("nothing that is suspected".to_owned(), Then::Advisor);
            found.map_or(nothing, |((_, then), leader)| (means(leader), then.clone()))
        };
        return listened(check, m, [way(Said::Yes), way(Said::No)]);
    }
    let mut probe = Probe::new(m.mode, &m.red, &m.black, &m.setting, m.flex.as_deref());
    for ((shows, then), leader) in each() {
        if let Shows::Reads(when) = *shows {
            probe.outcomes.push(Outcome::new(when, m.mode, &means(leader), then.clone()));
        }
    }
    let other = "none of what is suspected reads so";
    probe.outcomes.push(Outcome::new(When::AnythingElse, m.mode, other, Then::Advisor));
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
        .map(|&place| format!("Open the {}: {}.", harness[place].name, harness[place].how))
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

/// Returns what the outcomes speak for, each suspect once.
fn why(split: &Split, leaders: &[String]) -> String {
    let dial = split.measurement.mode.dial();
    let mut named: Vec<&str> = Vec::new();
    let mut reasons = Vec::new();
    for ((shows, _), leader) in split.ways.iter().zip(leaders) {
        if !named.contains(&leader.as_str()) && reasons.len() < REASONS {
            named.push(leader);
            reasons.push(format!("if {leader}, {}", shown(dial, *shows)));
        }
    }
    format!("{}.", capital(&reasons.join("; ")))
}

fn shown(dial: Dial, shows: Shows) -> String {
    let value = |value: f64| Level::of(dial, value, 0.0).words();
    match shows {
        Shows::Says(Said::Yes) => "the answer is yes".to_owned(),
        Shows::Says(_) => "the answer is no".to_owned(),
        Shows::Reads(When::Number { low, high: Some(high) }) if low <= 0.0 => {
            format!("it reads under {}", value(high))
        }
        Shows::Reads(When::Number { low, high: Some(high) }) => {
            format!("it reads {} to {}", value(low), value(high))
        }
        Shows::Reads(When::Number { low, high: None }) => format!("it reads over {}", value(low)),
        Shows::Reads(When::NearHealthy) => "it reads as it should".to_owned(),
        Shows::Reads(When::Unstable) => "the reading moves".to_owned(),
        Shows::Reads(_) => "it reads over range".to_owned(),
    }
}

/// Returns a short name: `tip to sleeve, all up`, `volume lug 3 to case, bridge`.
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
    let switches = setting.0.values().filter_map(|stand| match stand {
        Stand::At(position) => Some(position.clone()),
        Stand::Knob(_) => None,
    });
    let moved = setting.0.iter().filter_map(|(name, stand)| match stand {
        Stand::Knob(dial) if *stand != UP => Some(format!("{name} at {dial}")),
        _ => None,
    });
    let mut words: Vec<String> = switches.chain(moved).collect();
    let down = setting.0.values().any(|stand| matches!(stand, Stand::Knob(_)) && *stand != UP);
    if !down && setting.0.values().any(|stand| *stand == UP) {
        words.push("all up".to_owned());
    }
    words
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
    #[case("plug.tip", "plug.sleeve", None, 10, "tip to sleeve, neck, all up")]
    #[case("neck-volume.lug3", "neck-volume.case", None, 10, "neck volume lug 3 to case, neck, all up")]
    #[case(
        "strings.surface",
        "plug.sleeve",
        Some("plug"),
        5,
        "strings to sleeve, moving the plug, neck, neck volume at 5"
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
