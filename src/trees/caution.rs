//! The cautions that a step can ask for.

/// The keys of the cautions that a step can ask for; the workbench has a text for each.
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
