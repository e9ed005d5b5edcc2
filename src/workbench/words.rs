//! Sentences made from measurements, bands and suspects.

use crate::circuit::{Fixing, Harness, Lifted, PlaceId};
use crate::job::Band;
use crate::readings::{Check, Ends, Level, Measurement, Meter, Mode, Said, Shown};
use crate::units::Ohms;

/// Returns a band in words: `6.05 kΩ (5.60 kΩ to 6.50 kΩ)`.
pub fn band(band: &Band) -> String {
    if let Some(said) = band.said {
        return answer(said).to_owned();
    }
    let end = |value: Option<Ohms>| match value {
        Some(value) => Level::of(band.dial, value.get(), 0.0).words(),
        None => "over range".to_owned(),
    };
    match (band.ohms, band.low, band.high) {
        (None, None, None) => "over range".to_owned(),
        (value, low, high) => format!("{} ({} to {})", end(value), end(low), end(high)),
    }
}

/// Returns what a measurement reads, in words: of a beeper whether it sounds, of anything else its band.
pub(super) fn reads(meter: &Meter, mode: Mode, reads: &Band) -> String {
    match mode {
        Mode::Continuity => reads.beep_in_words(meter).to_owned(),
        _ => band(reads),
    }
}

/// Returns an answer in words.
pub fn answer(said: Said) -> &'static str {
    match said {
        Said::Yes => "yes",
        Said::No => "no",
        Said::CannotTell => "cannot be told",
    }
}

/// Returns a level in words.
pub fn level(level: &Level) -> String {
    level.words()
}

/// Returns what the meter showed, in words.
pub fn shown(shown: &Shown) -> String {
    match shown {
        Shown::Steady(steady) => level(steady),
        Shown::Range { low, high } if low == high => format!("{}, steady", level(low)),
        Shown::Range { low, high } => format!("{} to {}", level(low), level(high)),
        Shown::Swept { highest, ends: Ends::Lowest(low) } => format!("{} to {}", level(low), level(highest)),
        Shown::Swept { highest, ends: Ends::Both { from, to } } => {
            format!("{} at 0, at most {}, {} at 10", level(from), level(highest), level(to))
        }
        Shown::Beep(true) => "beep".to_owned(),
        Shown::Beep(false) => "no beep".to_owned(),
        Shown::Said(said) => answer(*said).to_owned(),
    }
}

/// Returns what a person calls a terminal.
fn terminal(harness: &Harness, name: &str) -> String {
    harness.terminal(name).map_or_else(|| name.to_owned(), |id| harness[id].title.clone())
}

/// Returns one instruction in plain words.
pub fn headline(harness: &Harness, measurement: &Measurement) -> String {
    let [red, black] = [&measurement.red, &measurement.black].map(|name| measurement.touched(harness, name));
    let between = format!("between the {red} and the {black}");
    let about = measurement.about.as_deref().unwrap_or_default();
    let lifted = measurement.lifted.as_deref().and_then(|name| harness.lifted(name));
    let lift = lifted.map(|lifted| lifting(harness, lifted)).unwrap_or_default();
    let words = match (measurement.mode, &measurement.flex) {
        (Mode::Continuity, _) => format!("Does it beep {between}?"),
        (Mode::Resistance, None) => format!("Read the ohms {between}"),
        (Mode::Resistance, Some(flex)) => {
            format!("{}; read the lowest and the highest ohms {between}", flexing(harness, flex))
        }
        (Mode::Capacitance, _) => format!("Read the capacitance {between}"),
        (Mode::Volts, _) => format!("Read the DC volts {between}, the battery in its clip"),
        (Mode::Current, _) => format!("Read the current {between}, the battery in its clip"),
        (Mode::Sweep, _) => {
            format!(
                "Turn the {about} slowly from 0 to 10; read the highest ohms {between}, and those at 0 and at 10"
            )
        }
        (Mode::Observe(check), _) => question(harness, check, about),
    };
    format!("{lift}{words}")
}

fn lifting(harness: &Harness, lifted: Lifted) -> String {
    let (link, off) = (&harness[lifted.link], &harness[lifted.off].title);
    let fixing = if lifted.second { link.to.fixing } else { link.from.fixing };
    let how = if fixing == Fixing::Solder { "Unsolder" } else { "Take" };
    format!("{how} the {} from the {off} and keep its free end clear of everything. ", link.title)
}

/// Returns an observation as a question.
pub fn question(harness: &Harness, check: Check, about: &str) -> String {
    let part = harness.part(about).map_or(about, |part| harness[part].title.as_str());
    match check {
        Check::OtherCable => {
            "Try another cable and another amplifier that surely work: is it cured?".to_owned()
        }
        Check::Sound => "Play in this position: is there a sound?".to_owned(),
        Check::Tap => format!(
            "Tap the poles of the {part} lightly with a small screwdriver, the amplifier low: is the tap heard?"
        ),
        Check::Weak => "Play in this position: does it sound weak?".to_owned(),
        Check::Dark => "Play in this position: does it sound dark, as under a blanket?".to_owned(),
        Check::Bright => "Play in this position: does it sound brighter than it should?".to_owned(),
        Check::Thin => "Play in this position: does it sound thin and hollow, the bass gone?".to_owned(),
        Check::Closes => format!("Turn the {about} to 0: is it silent?"),
        Check::ToneActs => format!("Turn the {about} from 10 to 0: does the treble go?"),
        Check::Crackles => format!("Move the {about} back and forth: does it crackle or cut out?"),
        Check::Hums => "Take the hands off: does it hum?".to_owned(),
        Check::StringsCalm => "Touch the strings: does the buzz get less, or is there none?".to_owned(),
        Check::PlugCalms => "Touch the metal of the plug: does the buzz get less?".to_owned(),
    }
}

/// Returns what is flexed, as an instruction.
pub fn flexing(harness: &Harness, flex: &str) -> String {
    if flex == "plug" {
        return "Rock the plug in the jack and bend the cable at the plug".to_owned();
    }
    if let Some(part) = harness.part(flex) {
        return format!("Move the {} from outside, sideways and through its range", harness[part].title);
    }
    if let Some(link) = harness.links.iter().find(|link| link.name == flex) {
        return format!("Bend the {} gently along its length with an insulated stick", link.title);
    }
    format!("Prod the {} with an insulated stick", terminal(harness, flex))
}

/// Returns what the dial is to be set to.
pub fn dial(measurement: &Measurement, range: &str) -> String {
    match (measurement.mode, &measurement.flex) {
        (Mode::Continuity, _) => "continuity (the beeper)".to_owned(),
        (Mode::Resistance, None) => format!("ohms, {range}"),
        (Mode::Resistance, Some(_)) => format!("ohms, {range}, with min/max recording if the meter has it"),
        (Mode::Observe(_), _) => "no meter: listen or look".to_owned(),
        (mode, _) => mode.title().to_owned(),
    }
}

/// Returns where a measurement is done.
pub fn places(harness: &Harness, places: &[PlaceId]) -> String {
    if places.is_empty() {
        return "outside, at the plug; nothing is opened".to_owned();
    }
    places.iter().map(|&place| harness[place].name.clone()).collect::<Vec<_>>().join(" and ")
}

/// Returns a share as whole percent, such as `61 %`.
pub fn percent(share: f64) -> String {
    crate::units::show_percent(share)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::readings::Setting;
    use crate::source::Source;

    fn told(red: &str, black: &str, lifted: &str) -> [String; 2] {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "two-humbuckers.ron").unwrap();
        let harness = load(&Source::new(*name, *text)).unwrap();
        let plain = Measurement::ohms(red, black, Setting::default());
        let asked = Measurement { lifted: Some(lifted.to_owned()), ..plain };
        [headline(&harness, &asked), asked.sentence(&harness)]
    }

    // A beeper sounds below 35 to 100 ohms (common practice, no source): ohms between leave it open.
    #[test]
    fn a_beeper_reads_beep_or_no_beep() {
        let told = |mode, low: f64, high: f64| {
            let [low, high] = [low, high].map(|ohms| Some(Ohms::new(ohms)));
            reads(Meter::ordinary(), mode, &Band { ohms: low, low, high, ..Band::default() })
        };
        assert_eq!(told(Mode::Continuity, 0.1, 1.0), "beep");
        assert_eq!(told(Mode::Continuity, 6e3, 8e3), "no beep");
        assert_eq!(told(Mode::Continuity, 50.0, 70.0), "beep or no beep, it depends on the meter");
        assert!(told(Mode::Resistance, 0.1, 1.0).contains('Ω'));
        assert_eq!(reads(Meter::ordinary(), Mode::Continuity, &Band::default()), "no beep");
    }

    // No probe reaches the end of a coil inside its pickup: what is touched is the lead that was unsoldered.
    #[test]
    fn the_probe_goes_on_the_free_end_of_a_lifted_lead() {
        let [headline, sentence] = told("neck-pickup.hot", "neck-pickup.cold", "neck-lead");
        let free = "free end of the core of the neck pickup's lead";
        assert!(
            headline.starts_with("Unsolder the core of the neck pickup's lead from the input lug"),
            "{headline}"
        );
        assert!(headline.contains(&format!("between the {free} and the ")), "{headline}");
        assert!(sentence.starts_with(&format!("{free} to ")), "{sentence}");
    }

    #[test]
    fn the_probe_stays_on_a_lug_that_it_reaches() {
        for text in told("neck-volume.lug1", "neck-volume.lug3", "neck-lead") {
            assert!(!text.contains("between the free end") && !text.starts_with("free end"), "{text}");
            assert!(text.contains("core of the neck pickup's lead"), "{text}");
        }
    }
}
