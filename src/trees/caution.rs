//! The cautions that a step can ask for.

/// The keys of the cautions that a step can ask for; [`caution_text`] has a text for each.
pub const CAUTIONS: [&str; 10] = [
    "shock",
    "unplug",
    "battery-out",
    "battery-in",
    "amplifier",
    "telephone",
    "opening",
    "soldering",
    "cleaner",
    "proof",
];

/// What each of them says, in our own words.
const TEXTS: [(&str, &str); 10] = [
    (
        "shock",
        "Somebody felt a tingle or a shock, or saw sparks. Stop. Do not play, plug in or measure. The strings \
         follow whatever the amplifier's chassis carries. Have the amplifier, its outlet and its leads tested \
         by a licensed electrician or technician first; local codes go before anything this program says.",
    ),
    (
        "unplug",
        "Unplug the instrument from everything that runs on mains power before any reading of ohms. Never \
         measure resistance while an amplifier, pedal or interface is connected. Use undamaged meter leads and \
         keep your fingers behind their guards.",
    ),
    // Power is never applied while resistance is measured: NEETS Module 3, p. 1-46.
    (
        "battery-out",
        "This instrument has a battery. Take it out of its clip, or unclip it, before any reading of ohms or \
         capacitance and before the beeper: power is never applied while resistance is measured. Keep its \
         poles apart from metal.",
    ),
    (
        "battery-in",
        "Volts and current are read with the battery in its clip, the right way round, and with a plug in the \
         jack where the plug switches the battery on. Nothing that runs on mains power may be connected. The \
         battery comes out again before the next reading of ohms.",
    ),
    (
        "amplifier",
        "Trying another amplifier is safe; opening one is not. Amplifiers hold dangerous voltage after they \
         are unplugged. If the amplifier is suspected, refer it to a licensed technician. Never lift, cut or \
         tape a protective earth pin.",
    ),
    (
        "telephone",
        "Ask the customer only for what can be done from outside, with everything unplugged. If a shock or a \
         tingle is mentioned, end with: unplug it and bring it in.",
    ),
    (
        "opening",
        "Photograph before you open. Slacken the strings before a guard or a pickup comes off: string ends \
         pierce eyes and fingers. Originality can be part of the value: keep every part, get consent.",
    ),
    (
        "soldering",
        "Soldering: ventilate or extract, keep your head out of the fume, wear eye protection, wash your \
         hands; old joints hold lead. The tip is near 350 °C. Anything that smells burnt, any mains part, \
         any liquid damage: hand over to a licensed technician.",
    ),
    ("cleaner", "Contact cleaner: no flame, ventilate, keep it off finish and pickups, let it dry."),
    (
        "proof",
        "The proof readings are taken with the instrument unplugged from everything that runs on mains power.",
    ),
];

/// Returns what the caution of a key says; `None` when there is no such caution.
pub fn caution_text(key: &str) -> Option<&'static str> {
    TEXTS.iter().find(|(known, _)| *known == key).map(|(_, text)| *text)
}
