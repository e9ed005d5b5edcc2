//! The window's own sentences, where they depend on something.

use crate::job::Speaker;
use crate::readings::{Access, Symptom};
use crate::workbench::{OutlookView, Stage, StepView};

/// Returns who is speaking, in words.
pub fn speaker(step: &StepView) -> String {
    match (step.speaker, &step.tree) {
        (Speaker::Tree, Some(name)) => format!("The tree “{name}” asks"),
        (Speaker::Tree, None) => "The tree asks".to_owned(),
        (Speaker::Advisor, _) => "The advisor asks".to_owned(),
        (Speaker::Technician, _) => "Your own choice".to_owned(),
    }
}

/// Returns who asked for a reading, in one word or two.
pub fn asked_by(speaker: Speaker) -> &'static str {
    match speaker {
        Speaker::Tree => "tree",
        Speaker::Advisor => "advisor",
        Speaker::Technician => "own choice",
    }
}

/// Returns how far the technician may go, in words.
pub fn access(access: Access) -> &'static str {
    match access {
        Access::Telephone => "Customer on the telephone",
        Access::Outside => "Here, nothing opened",
        Access::MayOpen => "May open covers",
        Access::MayUnsolder => "May lift joints too",
    }
}

/// Every access, from the least to the most.
pub const ACCESSES: [Access; 4] = [Access::Telephone, Access::Outside, Access::MayOpen, Access::MayUnsolder];

/// Returns what a complaint means, in words.
pub fn symptom(symptom: Symptom) -> &'static str {
    match symptom {
        Symptom::Silent => "No sound",
        Symptom::Intermittent => "Cuts out or crackles when moved",
        Symptom::Muffled => "Dark, treble missing",
        Symptom::Hum => "Hum or buzz",
        Symptom::Weak => "Sounds, but quietly",
        Symptom::Bright => "Too bright",
        Symptom::Thin => "Thin and hollow",
        Symptom::OnePosition => "One switch position silent",
        Symptom::VolumeOpen => "Volume does not close",
        Symptom::ToneIdle => "Tone does nothing",
        Symptom::Crackle => "Crackles when turned",
        Symptom::BuzzOnTouch => "Buzz changes on touch",
        Symptom::BatteryDrains => "Battery drains",
        Symptom::Pops => "Pops and thumps",
    }
}

/// Every symptom, in the order of the form.
pub const SYMPTOMS: [Symptom; 14] = Symptom::ALL;

/// The stages of a job in order, with what each is called.
pub const STAGES: [(Stage, &str); 4] = [
    (Stage::Finding, "Find"),
    (Stage::Repairing, "Repair"),
    (Stage::Proving, "Prove"),
    (Stage::Closed, "Closed"),
];

/// Returns a probability as whole percents, never 0 or 100 unless it is.
pub fn percent(probability: f64) -> String {
    let whole = (probability * 100.0).round();
    if probability > 0.0 && whole < 1.0 {
        "under 1 %".to_owned()
    } else if probability < 1.0 && whole > 99.0 {
        "over 99 %".to_owned()
    } else {
        format!("{whole:.0} %")
    }
}

/// Returns minutes in words.
pub fn minutes(minutes: f64) -> String {
    if minutes < 1.0 { "under a minute".to_owned() } else { format!("{minutes:.0} min") }
}

/// Returns how much is left, in a few words.
pub fn left(outlook: &OutlookView) -> String {
    let readings = outlook.readings.round().max(1.0);
    let plural = if readings < 1.5 { "" } else { "s" };
    format!("Left: about {readings:.0} reading{plural}, {}", minutes(outlook.minutes))
}

/// Returns a share of time in seconds or minutes.
pub fn seconds(seconds: f64) -> String {
    if seconds < 90.0 { format!("{seconds:.0} s") } else { format!("{:.0} min", seconds / 60.0) }
}

/// Returns bits with their sign.
pub fn signed_bits(bits: f64) -> String {
    if bits.abs() < 0.05 {
        "no change".to_owned()
    } else if bits > 0.0 {
        format!("+{bits:.1} bits")
    } else {
        format!("−{:.1} bits", -bits)
    }
}

/// Returns a text with a full stop, unless it ends with a mark of its own.
pub fn sentence(text: &str) -> String {
    match text.trim_end().chars().last() {
        None => String::new(),
        Some('.' | '!' | '?' | '…') => text.trim_end().to_owned(),
        Some(_) => format!("{}.", text.trim_end()),
    }
}

/// Returns the first sentence of a text.
pub fn first_sentence(text: &str) -> &str {
    text.split_once(". ").map_or(text, |(first, _)| first)
}

/// Returns a text of so many characters at most, with a mark where something was left out.
pub fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// Returns a name without the characters that a file name cannot hold.
pub fn plain_name(name: &str) -> String {
    let keep = |c: char| if c.is_alphanumeric() || c == '-' { c } else { ' ' };
    let kept: String = name.chars().map(keep).collect();
    let words: Vec<_> = kept.split_whitespace().collect();
    if words.is_empty() { "job".to_owned() } else { words.join("-") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case(0.0, "0 %")]
    #[case(0.004, "under 1 %")]
    #[case(0.456, "46 %")]
    #[case(0.996, "over 99 %")]
    #[case(1.0, "100 %")]
    fn a_percentage_never_claims_certainty(#[case] probability: f64, #[case] text: &str) {
        assert_eq!(percent(probability), text);
    }

    #[rstest]
    #[case(3.13, "+3.1 bits")]
    #[case(-0.52, "−0.5 bits")]
    #[case(0.01, "no change")]
    fn bits_carry_their_sign(#[case] bits: f64, #[case] text: &str) {
        assert_eq!(signed_bits(bits), text);
    }

    #[rstest]
    #[case("school loan guitar no. 4", "school-loan-guitar-no-4")]
    #[case("a/b\\c:d", "a-b-c-d")]
    #[case("  ", "job")]
    fn file_names_hold_no_separators(#[case] name: &str, #[case] plain: &str) {
        assert_eq!(plain_name(name), plain);
    }
}
