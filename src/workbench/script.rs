//! A step as a script that is read out to a customer on the telephone.

use super::{BatteryView, ControlView, words};
use crate::advisor;
use crate::circuit::{Harness, PartKind};
use crate::readings::{Access, Measurement, Mode};

/// What a script is made of beside the measurement.
pub(super) struct Told<'a> {
    /// The meter's range, such as `20 k range or automatic`.
    pub range: &'a str,
    /// Where the controls are to stand.
    pub controls: &'a [ControlView],
    /// Where the battery is to be.
    pub battery: Option<BatteryView>,
    /// A tree's own words for the probes.
    pub own: Option<&'a str>,
}

/// Returns a measurement as sentences that a customer can follow; none where it cannot be done from outside.
pub(super) fn script(harness: &Harness, measurement: &Measurement, told: &Told<'_>) -> Vec<String> {
    if !advisor::allowed(harness, measurement, Access::Telephone) {
        return Vec::new();
    }
    let own = told.own.map(sentence);
    let cable = cable(measurement.mode).filter(|_| own.as_ref().is_none_or(|own| !own.contains("amplifier")));
    let mut lines: Vec<String> = cable.map(str::to_owned).into_iter().collect();
    lines.extend(told.battery.map(|battery| format!("{}.", battery.says())));
    lines.extend(told.controls.iter().map(stand));
    if let Mode::Observe(check) = measurement.mode {
        let about = measurement.about.as_deref().unwrap_or_default();
        lines.push(own.unwrap_or_else(|| words::question(harness, check, about)));
        return lines;
    }
    lines.push(dial(measurement.mode, told.range));
    let moved = moved(harness, measurement).filter(|_| own.is_none());
    lines.push(own.unwrap_or_else(|| probes(harness, measurement)));
    lines.push("Keep your fingers off the metal of the probes.".to_owned());
    lines.extend(moved);
    lines.push(answer(measurement).to_owned());
    lines
}

/// Returns where the cable goes.
const fn cable(mode: Mode) -> Option<&'static str> {
    Some(match mode {
        Mode::Observe(_) => "Plug the guitar into the amplifier, turned down low.",
        _ => {
            "Pull the cable out of the amplifier, or whatever it goes into, and leave its other end in the guitar."
        }
    })
}

/// Returns where a control is to stand, as a person turns it who has no diagram.
fn stand(control: &ControlView) -> String {
    let ControlView { name, stand, moved } = control;
    let how = match stand.as_str() {
        "10" => "all the way up, to 10",
        "0" => "all the way down, to 0",
        "5" => "to the middle, to 5",
        _ => "",
    };
    match (how, moved) {
        ("", _) if name == "plug" => format!("Use a {stand} plug."),
        ("", true) => format!("Put the {name} at {stand}."),
        ("", false) => format!("Leave the {name} at {stand}."),
        (how, true) => format!("Turn the {name} {how}."),
        (how, false) => format!("Leave the {name} {how}."),
    }
}

fn dial(mode: Mode, range: &str) -> String {
    let to = match mode {
        Mode::Continuity => "the beeper: its sign looks like waves of sound".to_owned(),
        Mode::Capacitance => "capacitance: its sign is two short lines side by side, or an F".to_owned(),
        Mode::Volts => "volts of a battery: a V with a straight and a dotted line".to_owned(),
        Mode::Current => "milliamperes of a battery: mA with a straight and a dotted line".to_owned(),
        _ => format!("ohms: its sign is Ω, like a horseshoe. Of several ranges take this: {range}"),
    };
    format!("Turn the dial of the meter to {to}.")
}

/// Returns the words for the probes, and for what is moved meanwhile, that a customer is told; `None` where something is
/// heard and where it cannot be done from outside.
pub fn outside_in_words(harness: &Harness, measurement: &Measurement) -> Option<String> {
    let heard = matches!(measurement.mode, Mode::Observe(_));
    if heard || !advisor::allowed(harness, measurement, Access::Telephone) {
        return None;
    }
    let parts = [Some(probes(harness, measurement)), moved(harness, measurement)];
    Some(parts.into_iter().flatten().collect::<Vec<_>>().join(" "))
}

fn probes(harness: &Harness, measurement: &Measurement) -> String {
    let [red, black] = [&measurement.red, &measurement.black].map(|name| outside(harness, name));
    format!("Hold the red probe on {red}, and the black one on {black}.")
}

/// Returns where a probe goes, as it looks from outside.
fn outside(harness: &Harness, name: &str) -> String {
    let Some(id) = harness.terminal(name) else { return format!("the {name}") };
    let terminal = &harness[id];
    let part = &harness[terminal.part];
    match (&part.kind, terminal.lug.as_str()) {
        (PartKind::Plug, "tip") => "the very end of the free plug".to_owned(),
        (PartKind::Plug, "ring") => "the narrow ring of the free plug, just behind its end".to_owned(),
        (PartKind::Plug, _) => "the long shaft of the free plug".to_owned(),
        (PartKind::Surface, _) => format!("bare metal of the {}", part.title),
        _ => format!("the {}", terminal.title),
    }
}

/// Returns what is moved meanwhile, and what is watched.
fn moved(harness: &Harness, measurement: &Measurement) -> Option<String> {
    match (measurement.flex.as_deref(), measurement.about.as_deref()) {
        (Some("plug"), _) => Some(
            "Now wiggle the plug in the guitar, bend the cable beside it, and watch the number.".to_owned(),
        ),
        (Some(flex), _) => {
            Some(format!("Now watch the number, and {}.", lower(&words::flexing(harness, flex))))
        }
        (None, Some(knob)) if measurement.mode == Mode::Sweep => Some(format!(
            "Now turn the {knob} slowly from all the way down to all the way up, and watch the number."
        )),
        _ => None,
    }
}

const fn answer(measurement: &Measurement) -> &'static str {
    match (measurement.mode, measurement.flex.is_some()) {
        (Mode::Continuity, _) => "Does it beep? Yes or no?",
        (_, true) => {
            "Does the number stay, or does it change? Tell me the lowest and the highest, each with its letter."
        }
        (Mode::Sweep, _) => "Tell me the highest number, and the letter beside it.",
        (Mode::Volts | Mode::Current, _) => {
            "Tell me the number, with its minus if there is one, and the letters beside it."
        }
        _ => "Tell me the number, and the letter beside it: k, M or none. Or does it show OL, or a 1 alone?",
    }
}

fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// Returns a text with a mark at its end.
pub(super) fn sentence(text: &str) -> String {
    let text = text.trim();
    if text.is_empty() || text.ends_with(['.', '!', '?']) { text.to_owned() } else { format!("{text}.") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::readings::Check;
    use crate::source::Source;
    use rstest::rstest;

    fn harness() -> Harness {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "two-humbuckers.ron").unwrap();
        load(&Source::new(*name, *text)).unwrap()
    }

    fn controls() -> Vec<ControlView> {
        let all = [("neck volume", "10", false), ("neck tone", "0", true), ("selector", "neck", true)];
        all.map(|(name, stand, moved)| ControlView { name: name.to_owned(), stand: stand.to_owned(), moved })
            .to_vec()
    }

    fn read_out(change: impl Fn(&mut Measurement), own: Option<&str>) -> Vec<String> {
        let harness = harness();
        let mut measurement = Measurement::at_the_plug(&harness);
        change(&mut measurement);
        let controls = controls();
        let told = Told { range: "20 k range", controls: &controls, battery: None, own };
        script(&harness, &measurement, &told)
    }

    // What a customer sees of a plug and of a knob: common practice, no source.
    #[test]
    fn probes_and_knobs_are_told_as_they_look() {
        let lines = read_out(|_| {}, None);
        assert!(lines[0].starts_with("Pull the cable out of the amplifier"), "{lines:?}");
        for line in [
            "Leave the neck volume all the way up, to 10.",
            "Turn the neck tone all the way down, to 0.",
            "Put the selector at neck.",
            "Hold the red probe on the very end of the free plug, and the black one on the long shaft of the free plug.",
        ] {
            assert!(lines.iter().any(|told| told == line), "{line} is not in {lines:?}");
        }
        assert!(lines.iter().any(|line| line.contains("20 k range")), "{lines:?}");
        assert!(lines.last().unwrap().starts_with("Tell me the number"), "{lines:?}");
    }

    #[test]
    fn a_tree_has_its_own_words_for_the_probes() {
        let own = "Pull the cable out of the amplifier. Touch the end with red";
        let lines = read_out(|_| {}, Some(own));
        assert_eq!(lines.iter().filter(|line| line.contains("amplifier")).count(), 1, "{lines:?}");
        assert!(lines.contains(&format!("{own}.")), "{lines:?}");
        assert!(!lines.iter().any(|line| line.contains("Hold the red probe")), "{lines:?}");
    }

    #[rstest]
    #[case(Mode::Resistance, Some("plug"), "wiggle the plug")]
    #[case(Mode::Resistance, Some("neck-tone"), "move the neck tone pot from outside")]
    #[case(Mode::Continuity, None, "Does it beep?")]
    #[case(Mode::Observe(Check::Sound), None, "is there a sound?")]
    fn what_is_moved_and_asked_is_told(#[case] mode: Mode, #[case] flex: Option<&str>, #[case] says: &str) {
        let lines = read_out(
            |measurement| {
                measurement.mode = mode;
                measurement.flex = flex.map(str::to_owned);
            },
            None,
        );
        assert!(lines.iter().any(|line| line.contains(says)), "{says} is not in {lines:?}");
    }

    #[rstest]
    #[case(|m: &mut Measurement| m.red = "neck-volume.lug3".to_owned())]
    #[case(|m: &mut Measurement| m.flex = Some("neck-lead".to_owned()))]
    #[case(|m: &mut Measurement| m.lifted = Some("neck-lead".to_owned()))]
    fn nothing_inside_is_asked_of_a_customer(#[case] inside: fn(&mut Measurement)) {
        assert_eq!(read_out(inside, None), Vec::<String>::new());
    }
}
