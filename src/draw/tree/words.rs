//! What a step, an outcome and an end are called where a tree is shown.

use crate::readings::{Check, Mode};
use crate::trees::{Ask, Outcome, Probe, Sense, Step, Suspicion, Then, When, caution_text};
use crate::units::{Amps, Ohms, Volts, show_amps, show_ohms, show_volts};

/// Returns what the meter does or how the answer is found: `ohms, plug.tip to plug.sleeve, knobs at 10`.
pub(super) fn asked(ask: &Ask) -> String {
    match ask {
        Ask::Measure(probe) => measured(probe),
        Ask::Question { sense: Sense::Look, .. } => "by looking".to_owned(),
        Ask::Question { sense: Sense::Listen, .. } => "by listening".to_owned(),
        Ask::Question { sense: Sense::Ask, .. } => "ask the customer".to_owned(),
    }
}

fn measured(probe: &Probe) -> String {
    let mut words = match probe.heard() {
        Some(check) => heard(check, probe.about.as_deref()),
        None => format!("{}, {}", mode(&probe.mode), between(&probe.red, &probe.black)),
    };
    for (control, stand) in probe.stands() {
        words += &format!(", {control} at {stand}");
    }
    if let Some(flexed) = &probe.flex {
        words += &format!(", flex the {flexed}");
    }
    words
}

/// Returns what is listened for: `by listening: silent at 0 of the volume`.
fn heard(check: Check, about: Option<&str>) -> String {
    format!("by listening: {} {}", check.title(), about.unwrap_or_default()).trim_end().to_owned()
}

fn mode(mode: &Mode) -> &'static str {
    match mode {
        Mode::Resistance => "ohms",
        Mode::Continuity => "beeper",
        Mode::Capacitance => "farads",
        Mode::Volts => "volts",
        Mode::Current => "amperes",
        Mode::Sweep => "ohms while turned",
        Mode::Observe(_) => "no meter",
    }
}

fn between(red: &str, black: &str) -> String {
    match (red.strip_prefix("plug."), black.strip_prefix("plug.")) {
        (Some(red), Some(black)) => format!("{red} to {black} of the plug"),
        _ => format!("red on {}, black on {}", spoken(red), spoken(black)),
    }
}

/// Returns a terminal as a person says it who has no wiring before them: `lug 3 of the neck volume`, `the strings`.
fn spoken(terminal: &str) -> String {
    match terminal.split_once('.') {
        Some((part, "surface")) => format!("the {}", part.replace('-', " ")),
        Some((part, lug)) => format!("{} of the {}", numbered(lug), part.replace('-', " ")),
        None => terminal.replace('-', " "),
    }
}

/// Puts a blank before the number of a lug.
fn numbered(lug: &str) -> String {
    match lug.strip_prefix("lug") {
        Some(number) if number.starts_with(|c: char| c.is_ascii_digit()) => format!("lug {number}"),
        _ => lug.replace('-', " "),
    }
}

/// Returns what leads each way out of a step, in the order of [`Step::ways`].
pub(super) fn ways(step: &Step) -> Vec<String> {
    let mut words: Vec<String> = match &step.ask {
        Ask::Measure(probe) => probe.outcomes.iter().map(|o| outcome(o, &probe.mode)).collect(),
        Ask::Question { answers, .. } => answers.iter().map(|answer| answer.answer.clone()).collect(),
    };
    words.push("cannot be done".to_owned());
    words
}

/// Returns what each way out of a step means, in the order of [`Step::ways`]; `None` for the last of them.
pub(super) fn meanings(step: &Step) -> Vec<Option<&str>> {
    let mut words: Vec<Option<&str>> = match &step.ask {
        Ask::Measure(probe) => probe.outcomes.iter().map(|outcome| Some(outcome.means.as_str())).collect(),
        Ask::Question { answers, .. } => answers.iter().map(|answer| Some(answer.means.as_str())).collect(),
    };
    words.push(None);
    words
}

fn outcome(outcome: &Outcome, mode: &Mode) -> String {
    let value = |value: f64| match mode {
        Mode::Volts => show_volts(Volts::new(value)),
        Mode::Current => show_amps(Amps::new(value)),
        _ => show_ohms(Ohms::new(value)),
    };
    match outcome.when {
        When::NearHealthy => "near healthy".to_owned(),
        When::Half => "half of healthy".to_owned(),
        When::VolumePotAlone => "the volume pot alone".to_owned(),
        When::Number { low, high: Some(high) } if low <= 0.0 => format!("under {}", value(high)),
        When::Number { low, high: Some(high) } => format!("{} to {}", value(low), value(high)),
        When::Number { low, high: None } => format!("{} and more", value(low)),
        When::OverRange => "over range".to_owned(),
        When::Unstable => "unstable".to_owned(),
        When::Beeps => "beeps".to_owned(),
        When::NoBeep => "no beep".to_owned(),
        When::Yes => "yes".to_owned(),
        When::No => "no".to_owned(),
        When::AnythingElse => "anything else".to_owned(),
    }
}

/// Returns the caution to read before a step, in full; the key where there is no text.
pub(super) fn caution(step: &Step) -> Option<String> {
    let key = step.caution.as_deref()?;
    Some(format!("Caution: {}", caution_text(key).unwrap_or(key)))
}

/// What an end is: the word that heads it, and what else is to be said.
pub(super) struct EndWords {
    pub(super) head: &'static str,
    pub(super) says: String,
    pub(super) at: String,
}

/// Returns where a suspicion is, and how it fails where it says so: `jack, volume; how: open or dead`.
pub(super) fn at(suspicion: &Suspicion) -> String {
    let how: Vec<&str> = suspicion.how.iter().map(|how| how.words()).collect();
    let how = if how.is_empty() { String::new() } else { format!("; how: {}", how.join(" or ")) };
    format!("{}{how}", suspicion.at.join(", "))
}

/// Returns the words of an end; `None` when the way leads to a step.
pub(super) fn end(then: &Then) -> Option<EndWords> {
    let (head, says, at) = match then {
        Then::Step(_) => return None,
        Then::Advisor => ("advisor goes on", String::new(), String::new()),
        Then::Suspect(suspicion) => ("suspect", suspicion.say.clone(), at(suspicion)),
        Then::Tree(name) => ("other tree", name.clone(), String::new()),
        Then::NotTheInstrument => ("not the instrument", String::new(), String::new()),
    };
    Some(EndWords { head, says, at })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trees::How;
    use rstest::rstest;

    #[test]
    fn a_suspicion_says_how_it_fails_where_the_tree_does() {
        let of = |how: Vec<How>| Suspicion { say: "it".to_owned(), at: vec!["jack".to_owned()], how };
        assert_eq!(at(&of(vec![How::Open, How::Dead])), "jack; how: open or dead");
        assert_eq!(at(&of(Vec::new())), "jack");
    }

    #[rstest]
    #[case("plug.tip", "plug.sleeve", "tip to sleeve of the plug")]
    #[case("strings.surface", "plug.sleeve", "red on the strings, black on sleeve of the plug")]
    #[case(
        "neck-volume.lug3",
        "shell.pot-case",
        "red on lug 3 of the neck volume, black on pot case of the shell"
    )]
    fn probes_stand_on_things_with_plain_names(#[case] red: &str, #[case] black: &str, #[case] told: &str) {
        assert_eq!(between(red, black), told);
    }
}
