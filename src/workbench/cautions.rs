//! What to read before a step, and when to stop and hand over.

use super::{CautionView, Stage};
use crate::readings::{Access, Mode};
use crate::trees;

/// Returns the caution with this key.
pub(super) fn caution(key: &str) -> Option<CautionView> {
    trees::caution_text(key).map(|text| CautionView { key: key.to_owned(), text: text.to_owned() })
}

/// What the cautions of a moment depend on.
pub(super) struct Moment<'a> {
    pub stage: Stage,
    pub complaint: &'a str,
    pub access: Access,
    pub measuring: bool,
    pub opening: bool,
    /// How the next reading is taken, on a wiring with a battery.
    pub powering: Option<Mode>,
    pub of_step: Option<&'a str>,
    pub seen: Vec<&'a str>,
}

/// Returns the cautions that are due and not yet acknowledged.
pub(super) fn due(moment: &Moment<'_>) -> Vec<CautionView> {
    let finding = moment.stage == Stage::Finding;
    let mut keys: Vec<&str> = Vec::new();
    let mut add = |due: bool, key: &'static str| {
        if due {
            keys.push(key);
        }
    };
    add(mentions_shock(moment.complaint) && moment.stage != Stage::Closed, "shock");
    add(finding && moment.access == Access::Telephone, "telephone");
    add(finding && moment.measuring, "unplug");
    add(moment.powering.is_some_and(|mode| !mode.powered()), "battery-out");
    add(matches!(moment.powering, Some(Mode::Volts | Mode::Current)), "battery-in");
    add(finding && moment.opening, "opening");
    add(moment.stage == Stage::Repairing, "soldering");
    add(moment.stage == Stage::Proving, "proof");
    if let Some(key) = moment.of_step.filter(|_| finding)
        && !keys.contains(&key)
    {
        keys.push(key);
    }
    keys.into_iter().filter(|key| !moment.seen.contains(key)).filter_map(caution).collect()
}

/// Returns whether a complaint speaks of a shock: that outranks every other symptom.
fn mentions_shock(complaint: &str) -> bool {
    const WORDS: [&str; 6] = ["shock", "tingle", "tingling", "zap", "spark", "electrocut"];
    let complaint = complaint.to_lowercase();
    WORDS.iter().any(|word| complaint.contains(word))
}

#[cfg(test)]
mod tests {
    use super::caution;
    use crate::trees;

    #[test]
    fn there_is_a_text_for_every_caution_and_for_no_other_key() {
        assert!(trees::CAUTIONS.iter().all(|key| caution(key).is_some_and(|found| found.key == *key)));
        assert!(caution("unplugged").is_none());
    }
}
