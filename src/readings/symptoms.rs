//! A customer's words become symptoms; names and titles of symptoms, access and modes.

use super::{Access, Mode, Symptom};

/// Words that stand for a symptom. A star at the end takes any ending; a phrase matches whole words.
const WORDS: &[(Symptom, &[&str])] = &[
    (
        Symptom::Silent,
        &[
            "silen*",
            "dead",
            "died",
            "nothing",
            "no sound",
            "no output",
            "no signal",
            "mute",
            "not working",
            "doesnt work",
            "does not work",
            "wont work",
            "stopped working",
        ],
    ),
    (
        Symptom::Intermittent,
        &[
            "intermittent*",
            "cut out",
            "cuts out",
            "cutting out",
            "cuts in and out",
            "cutting in and out",
            "drops out",
            "dropping out",
            "dropout*",
            "comes and goes",
            "coming and going",
            "on and off",
            "in and out",
            "sometimes",
            "flicker*",
            "loose",
            "nudg*",
            "moved",
            "when i move",
            "wiggl*",
            "jiggl*",
            "rocked",
        ],
    ),
    (
        Symptom::Muffled,
        &[
            "muffl*",
            "mudd*",
            "woolly",
            "wooly",
            "dark*",
            "dull*",
            "blanket",
            "no treble",
            "no highs",
            "treble missing",
            "treble is missing",
            "treble gone",
            "treble is gone",
            "lost its treble",
            "lacks treble",
        ],
    ),
    (Symptom::Hum, &["hum", "hums", "hummed", "humming", "buzz*"]),
    (
        Symptom::Weak,
        &[
            "weak*",
            "quiet*",
            "faint*",
            "low output",
            "low volume",
            "not loud*",
            "half volume",
            "half the volume",
        ],
    ),
    (Symptom::Bright, &["bright*", "shrill", "harsh", "too much treble", "piercing"]),
    (Symptom::Thin, &["thin", "thinner", "hollow", "nasal", "like a telephone", "no bass", "out of phase"]),
    (
        Symptom::OnePosition,
        &[
            "one position",
            "only one pickup",
            "only in one",
            "middle position",
            "neck position",
            "bridge position",
            "one pickup",
        ],
    ),
    (
        Symptom::VolumeOpen,
        &[
            "volume open",
            "volume does not close",
            "does not turn down",
            "doesnt turn down",
            "wont turn down",
            "never silent",
            "volume does nothing",
        ],
    ),
    (
        Symptom::ToneIdle,
        &[
            "tone idle",
            "tone does nothing",
            "tone knob does nothing",
            "tone has no effect",
            "tone control does nothing",
        ],
    ),
    (
        Symptom::Crackle,
        &[
            "scratchy",
            "crackle",
            "crackles when turned",
            "crackles when i turn",
            "knob crackles",
            "scratches",
        ],
    ),
];

/// Returns the symptoms that a customer's words name, in the order of [`Symptom::ALL`].
pub fn symptoms_in(words: &str) -> Vec<Symptom> {
    let heard = plain_words(words);
    let named = |phrases: &[&str]| phrases.iter().any(|phrase| contains(&heard, phrase));
    WORDS.iter().filter(|(_, phrases)| named(phrases)).map(|(symptom, _)| *symptom).collect()
}

/// What was done to an instrument last, as far as it makes some faults likelier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum History {
    /// It was soldered at: rewired, a pickup or pot changed.
    Rewired,
    /// It fell or was knocked.
    Dropped,
    /// It is played on stage, plugged in and out every day.
    Played,
    /// It is old, or was put away for long.
    Old,
}

const HISTORIES: &[(History, &[&str])] = &[
    (
        History::Rewired,
        &[
            "rewir*",
            "wired",
            "solder*",
            "swap*",
            "chang* the pickup",
            "new pickup*",
            "new pot*",
            "new switch",
            "fitted",
            "changed",
            "replaced",
            "upgrade*",
        ],
    ),
    (History::Dropped, &["fell", "fallen", "dropp*", "knock*", "hit", "trod*", "stepped on"]),
    (History::Played, &["gig*", "stage", "tour*", "every day", "played a lot", "band"]),
    (History::Old, &["old", "years", "attic", "cellar", "damp", "stored", "vintage", "never cleaned"]),
];

/// Returns what the words about the last work on an instrument mean, each once.
pub fn histories_in(words: &str) -> Vec<History> {
    let heard = plain_words(words);
    let named = |phrases: &[&str]| phrases.iter().any(|phrase| contains(&heard, phrase));
    HISTORIES.iter().filter(|(_, phrases)| named(phrases)).map(|(history, _)| *history).collect()
}

/// Lower-case words without punctuation, so that "Won't" is `wont`.
fn plain_words(text: &str) -> Vec<String> {
    let plain = text.to_lowercase().replace(['\'', '’'], "");
    let words = plain.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_owned).collect()
}

fn contains(heard: &[String], phrase: &str) -> bool {
    let wanted: Vec<&str> = phrase.split(' ').collect();
    let same = |run: &[String]| run.iter().zip(&wanted).all(|(word, wanted)| is_word(word, wanted));
    heard.windows(wanted.len()).any(same)
}

fn is_word(word: &str, wanted: &str) -> bool {
    match wanted.strip_suffix('*') {
        Some(stem) => word.starts_with(stem),
        None => word == wanted,
    }
}

/// A word that is none of the names allowed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("cannot read \"{found}\" as {what}: allowed are {}", allowed.join(", "))]
pub struct UnknownName {
    /// What it should have been, such as `a symptom`.
    pub what: &'static str,
    /// What was written.
    pub found: String,
    /// The names allowed.
    pub allowed: Vec<&'static str>,
}

/// Finds the value whose name is `text`, whatever its case and with `_` or blanks for `-`.
fn find<T: Copy>(
    what: &'static str,
    text: &str,
    all: &[T],
    name: fn(T) -> &'static str,
) -> Result<T, UnknownName> {
    let wanted = text.trim().to_lowercase().replace(['_', ' '], "-");
    let unknown =
        || UnknownName { what, found: text.to_owned(), allowed: all.iter().map(|x| name(*x)).collect() };
    all.iter().copied().find(|x| name(*x) == wanted).ok_or_else(unknown)
}

impl Symptom {
    /// Every symptom, in the order in which they are listed anywhere.
    pub const ALL: [Self; 11] = [
        Self::Silent,
        Self::Intermittent,
        Self::Muffled,
        Self::Hum,
        Self::Weak,
        Self::Bright,
        Self::Thin,
        Self::OnePosition,
        Self::VolumeOpen,
        Self::ToneIdle,
        Self::Crackle,
    ];

    /// Returns the name used on the command line and in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Silent => "silent",
            Self::Intermittent => "intermittent",
            Self::Muffled => "muffled",
            Self::Hum => "hum",
            Self::Weak => "weak",
            Self::Bright => "bright",
            Self::Thin => "thin",
            Self::OnePosition => "one-position",
            Self::VolumeOpen => "volume-open",
            Self::ToneIdle => "tone-idle",
            Self::Crackle => "crackle",
        }
    }

    /// Returns what a person calls it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Silent => "no sound",
            Self::Intermittent => "cuts out or crackles when moved",
            Self::Muffled => "dark, treble missing",
            Self::Hum => "hums or buzzes",
            Self::Weak => "sounds, but quietly",
            Self::Bright => "too bright",
            Self::Thin => "thin and hollow",
            Self::OnePosition => "one position of the switch is silent, only one pickup sounds",
            Self::VolumeOpen => "the volume does not close",
            Self::ToneIdle => "the tone does nothing",
            Self::Crackle => "scratchy, crackles when turned",
        }
    }
}

impl std::str::FromStr for Symptom {
    type Err = UnknownName;
    fn from_str(text: &str) -> Result<Self, UnknownName> {
        find("a symptom", text, &Self::ALL, Self::name)
    }
}

impl Access {
    /// Every access, the narrowest first.
    pub const ALL: [Self; 4] = [Self::Telephone, Self::Outside, Self::MayOpen, Self::MayUnsolder];

    /// Returns the name used on the command line and in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Telephone => "telephone",
            Self::Outside => "outside",
            Self::MayOpen => "may-open",
            Self::MayUnsolder => "may-unsolder",
        }
    }

    /// Returns what a person calls it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Telephone => "the customer is on the telephone",
            Self::Outside => "it is here, but nothing may be opened",
            Self::MayOpen => "covers may come off",
            Self::MayUnsolder => "covers may come off and joints may be lifted",
        }
    }
}

impl std::str::FromStr for Access {
    type Err = UnknownName;
    fn from_str(text: &str) -> Result<Self, UnknownName> {
        find("an access", text, &Self::ALL, Self::name)
    }
}

impl std::str::FromStr for Mode {
    type Err = UnknownName;
    fn from_str(text: &str) -> Result<Self, UnknownName> {
        find("a mode", text, &Self::ALL, Self::name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    // Common practice, no source: what customers' words mean.
    #[rstest]
    #[case("it's dead", &[Symptom::Silent])]
    #[case("No sound at all!", &[Symptom::Silent])]
    #[case("doesn't work", &[Symptom::Silent])]
    #[case("cuts out", &[Symptom::Intermittent])]
    #[case("Comes and goes.", &[Symptom::Intermittent])]
    #[case("crackles when moved", &[Symptom::Intermittent])]
    #[case("muddy", &[Symptom::Muffled])]
    #[case("woolly, like a blanket over it", &[Symptom::Muffled])]
    #[case("hums", &[Symptom::Hum])]
    #[case("it buzzes", &[Symptom::Hum])]
    #[case("quiet", &[Symptom::Weak])]
    #[case("thin and nasal", &[Symptom::Thin])]
    #[case("way too bright", &[Symptom::Bright])]
    #[case("the tone knob does nothing", &[Symptom::Silent, Symptom::ToneIdle])]
    #[case("quiet, and hums when the lead is nudged", &[Symptom::Intermittent, Symptom::Hum, Symptom::Weak])]
    #[case("I think something is wrong with the neck humbucker", &[])]
    #[case("deadline is friday", &[])]
    #[case("", &[])]
    fn finds_symptoms_in_a_customers_words(#[case] words: &str, #[case] symptoms: &[Symptom]) {
        assert_eq!(symptoms_in(words), symptoms);
    }

    #[test]
    fn names_and_titles_lead_back() {
        for symptom in Symptom::ALL {
            assert_eq!(symptom.name().parse(), Ok(symptom));
            assert_eq!(symptoms_in(symptom.name()), [symptom]);
            assert!(symptoms_in(symptom.title()).contains(&symptom), "{}", symptom.title());
        }
        for access in Access::ALL {
            assert_eq!(access.name().parse(), Ok(access));
            assert_eq!(access.name().replace('-', "_").parse(), Ok(access));
        }
        for mode in Mode::ALL {
            assert_eq!(mode.name().parse(), Ok(mode));
        }
    }

    #[test]
    fn unknown_names_list_the_allowed_ones() {
        let error = "shed".parse::<Access>().unwrap_err();
        assert_eq!(
            error.to_string(),
            "cannot read \"shed\" as an access: allowed are telephone, outside, may-open, may-unsolder"
        );
    }
}
