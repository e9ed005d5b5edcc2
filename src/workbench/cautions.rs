//! What to read before a step, and when to stop and hand over.

use super::{CautionView, Stage};
use crate::readings::{Access, Mode};

/// One caution: a key, a text of our own, and what it rests on.
struct Caution {
    key: &'static str,
    text: &'static str,
}

const CAUTIONS: [Caution; 10] = [
    Caution {
        key: "shock",
        text: "Somebody felt a tingle or a shock, or saw sparks. Stop. Do not play, plug in or measure. The strings \
               follow whatever the amplifier's chassis carries. Have the amplifier, its outlet and its leads tested \
               by a licensed electrician or technician first; local codes go before anything this program says.",
    },
    Caution {
        key: "unplug",
        text: "Unplug the instrument from everything that runs on mains power before any reading of ohms. Never \
               measure resistance while an amplifier, pedal or interface is connected. Use undamaged meter leads and \
               keep your fingers behind their guards.",
    },
    // Power is never applied while resistance is measured: NEETS Module 3, p. 1-46.
    Caution {
        key: "battery-out",
        text: "This instrument has a battery. Take it out of its clip, or unclip it, before any reading of ohms or \
               capacitance and before the beeper: power is never applied while resistance is measured. Keep its \
               poles apart from metal.",
    },
    Caution {
        key: "battery-in",
        text: "Volts and current are read with the battery in its clip, the right way round, and with a plug in the \
               jack where the plug switches the battery on. Nothing that runs on mains power may be connected. The \
               battery comes out again before the next reading of ohms.",
    },
    Caution {
        key: "amplifier",
        text: "Trying another amplifier is safe; opening one is not. Amplifiers hold dangerous voltage after they \
               are unplugged. If the amplifier is suspected, refer it to a licensed technician. Never lift, cut or \
               tape a protective earth pin.",
    },
    Caution {
        key: "telephone",
        text: "Ask the customer only for what can be done from outside, with everything unplugged. If a shock or a \
               tingle is mentioned, end with: unplug it and bring it in.",
    },
    Caution {
        key: "opening",
        text: "Photograph before you open. Slacken the strings before a guard or a pickup comes off: string ends \
               pierce eyes and fingers. Originality can be part of the value: keep every part, get consent.",
    },
    Caution {
        key: "soldering",
        text: "Soldering: ventilate or extract, keep your head out of the fume, wear eye protection, wash your \
               hands; old joints hold lead. The tip is near 350 °C. Anything that smells burnt, any mains part, \
               any liquid damage: hand over to a licensed technician.",
    },
    Caution {
        key: "cleaner",
        text: "Contact cleaner: no flame, ventilate, keep it off finish and pickups, let it dry.",
    },
    Caution {
        key: "proof",
        text: "The proof readings are taken with the instrument unplugged from everything that runs on mains power.",
    },
];

/// Returns the caution with this key.
pub(super) fn caution(key: &str) -> Option<CautionView> {
    CAUTIONS
        .iter()
        .find(|caution| caution.key == key)
        .map(|caution| CautionView { key: caution.key.to_owned(), text: caution.text.to_owned() })
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
    use super::CAUTIONS;
    use crate::trees;

    #[test]
    fn a_tree_can_name_every_caution_and_no_other() {
        assert_eq!(CAUTIONS.each_ref().map(|caution| caution.key), trees::CAUTIONS);
    }
}
