//! What a customer's words mean.

use std::ops::Range;

use super::Symptom;

/// Words that stand for a symptom. A star at the end takes any ending, `~` any number of [`LINKS`]; a phrase matches
/// whole words.
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
            "no volume",
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
            "crackl* ~ move*",
            "crackl* ~ nudg*",
            "crackl* ~ lead",
            "crackl* ~ cable",
            "crackl* ~ jack",
            "crackl* ~ plug",
            "lead ~ crackl*",
            "cable ~ crackl*",
            "jack ~ crackl*",
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
            "not enough treble",
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
            "not so loud",
            "loses volume",
            "losing volume",
            "volume drops",
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
            "no neck pickup",
            "no middle pickup",
            "no bridge pickup",
            "no neck position",
            "no middle position",
            "no bridge position",
        ],
    ),
    (
        Symptom::VolumeOpen,
        &[
            "volume open",
            "volume ~ not ~ close*",
            "volume ~ doesnt ~ close*",
            "volume ~ wont ~ close*",
            "volume stays open",
            "volume ~ not ~ silent",
            "0 ~ not ~ silent",
            "no volume control",
            "no volume knob",
            "not ~ turn down",
            "doesnt turn down",
            "wont turn down",
            "not ~ go all the way down",
            "doesnt go all the way down",
            "wont go all the way down",
            "never ~ silent",
            "never ~ closes",
        ],
    ),
    (Symptom::ToneIdle, &["tone idle"]),
    (Symptom::Crackle, &["scratchy", "scratches", "crackl*"]),
    (
        Symptom::BuzzOnTouch,
        &[
            "buzz on touch",
            "buzz* ~ touch*",
            "hum ~ touch*",
            "hums ~ touch*",
            "humming ~ touch*",
            "touch* ~ buzz*",
            "touch* ~ hum",
            "touch* ~ hums",
        ],
    ),
    (
        Symptom::BatteryDrains,
        &[
            "battery drain*",
            "drains ~ batter*",
            "draining ~ batter*",
            "eats batter*",
            "battery ~ empty",
            "battery ~ flat",
            "battery ~ dead",
            "battery ~ not ~ last*",
            "battery ~ doesnt last*",
            "new battery every",
        ],
    ),
    (Symptom::Pops, &["pop", "pops", "popping", "thump", "thumps", "thumping"]),
];

/// What is said of a knob that changes nothing.
const IDLE: &[&str] = &[
    "nothing",
    "no effect",
    "no difference",
    "not ~ work*",
    "doesnt work",
    "wont work",
    "stopped working",
    "not ~ do anything",
    "doesnt do anything",
    "knob ~ dead",
    "pot ~ dead",
    "control ~ dead",
];

/// Names of one pickup or position.
const PLACES: &[&str] = &[
    "neck",
    "middle",
    "bridge",
    "front pickup",
    "rear pickup",
    "one pickup",
    "one position",
    "one of the pickups",
    "one humbucker",
];

/// Words that may stand between a part and what is said of it.
#[rustfmt::skip]
const LINKS: &[&str] = &[
    "a", "any", "all", "at", "changes", "coil", "completely", "control", "do", "does", "fully", "from", "gets", "gives",
    "goes", "has", "have", "humbucker", "i", "in", "is", "it", "its", "just", "knob", "makes", "my", "now", "of", "on",
    "one", "only", "out", "pickup", "position", "pot", "quite", "really", "seems", "selected", "sounds", "stays", "suddenly",
    "switch", "switched", "the", "to", "totally", "was", "went", "when", "will", "with",
];

/// Words that deny what comes after them, with [`FILLERS`] between.
const DENIALS: &[&str] = &[
    "no", "not", "never", "without", "neither", "isnt", "doesnt", "dont", "didnt", "wasnt", "arent", "aint",
];

const FILLERS: &[&str] =
    &["a", "all", "any", "at", "longer", "more", "much", "quite", "really", "so", "the", "too", "very"];

/// A phrase that was heard: what it means and which words it takes.
struct Heard {
    symptom: Symptom,
    at: Range<usize>,
}

impl Heard {
    /// Returns whether this phrase has all the words of another, and more.
    fn covers(&self, other: &Self) -> bool {
        let within = self.at.start <= other.at.start && other.at.end <= self.at.end;
        within && self.at.len() > other.at.len()
    }
}

/// Returns the symptoms that a customer's words name, in the order of [`Symptom::ALL`].
///
/// What is denied does not count, nor what is part of a longer phrase: "the tone does nothing" is no "nothing".
pub fn symptoms_in(words: &str) -> Vec<Symptom> {
    let words = plain_words(words);
    let mut found = listed(&words);
    found.extend(idle_knobs(&words));
    found.extend(silent_places(&words));
    found.retain(|heard| !denied(&words[..heard.at.start]));
    let whole = |heard: &&Heard| !found.iter().any(|other| other.covers(heard));
    let named = |symptom: &Symptom| found.iter().filter(whole).any(|heard| heard.symptom == *symptom);
    Symptom::ALL.into_iter().filter(named).collect()
}

fn heard(words: &[String], symptom: Symptom, phrase: &str) -> Vec<Heard> {
    spans(words, phrase).into_iter().map(|at| Heard { symptom, at }).collect()
}

fn listed(words: &[String]) -> Vec<Heard> {
    let each =
        WORDS.iter().flat_map(|(symptom, phrases)| phrases.iter().map(move |phrase| (*symptom, *phrase)));
    each.flat_map(|(symptom, phrase)| heard(words, symptom, phrase)).collect()
}

/// Returns where a knob is said to change nothing.
fn idle_knobs(words: &[String]) -> Vec<Heard> {
    let of = |knob: &str, symptom| {
        IDLE.iter().flat_map(|idle| heard(words, symptom, &format!("{knob} ~ {idle}"))).collect::<Vec<_>>()
    };
    let mut found = of("volume", Symptom::VolumeOpen);
    found.extend(of("tone", Symptom::ToneIdle));
    found
}

/// Returns where a single pickup or position is said to be silent.
fn silent_places(words: &[String]) -> Vec<Heard> {
    let silent = WORDS.iter().filter(|(symptom, _)| *symptom == Symptom::Silent);
    let pairs =
        silent.flat_map(|(_, phrases)| *phrases).flat_map(|dead| PLACES.iter().map(move |p| (dead, p)));
    let phrases = pairs.flat_map(|(dead, place)| [format!("{place} ~ {dead}"), format!("{dead} ~ {place}")]);
    let found = phrases.flat_map(|phrase| heard(words, Symptom::OnePosition, &phrase));
    let several = several_places(words);
    let one = |heard: &Heard| !several.iter().any(|at| at.start < heard.at.end && heard.at.start < at.end);
    found.filter(one).collect()
}

/// Returns where two pickups are named in one breath.
fn several_places(words: &[String]) -> Vec<Range<usize>> {
    let pairs = PLACES.iter().flat_map(|one| PLACES.iter().map(move |other| (one, other)));
    pairs.flat_map(|(one, other)| spans(words, &format!("{one} ~ and ~ {other}"))).collect()
}

/// Returns whether the last words deny what comes after them: "no", "not a", "no hum or".
pub(super) fn denied(before: &[String]) -> bool {
    let Some((word, rest)) = before.split_last() else { return false };
    match (word.as_str(), rest) {
        ("or" | "nor", [rest @ .., _]) => denied(rest),
        (word, rest) if FILLERS.contains(&word) => denied(rest),
        (word, _) => DENIALS.contains(&word),
    }
}

/// Lower-case words, so that "Won't" is `wont`; what ends a clause is a word by itself, a comma.
pub(super) fn plain_words(text: &str) -> Vec<String> {
    let plain = text.to_lowercase().replace(['\'', '’'], "");
    let plain = plain.replace(['.', ',', ';', ':', '!', '?', '(', ')'], " , ");
    let words = plain.split(|c: char| !c.is_alphanumeric() && c != ',').filter(|word| !word.is_empty());
    words.map(str::to_owned).collect()
}

/// Returns every place where a phrase stands, the shortest from each start.
pub(super) fn spans(words: &[String], phrase: &str) -> Vec<Range<usize>> {
    let wanted: Vec<&str> = phrase.split(' ').collect();
    let from = |start: usize| length(&words[start..], &wanted).map(|length| start..start + length);
    (0..words.len()).filter_map(from).collect()
}

/// Returns how many words a phrase takes at the beginning of some.
fn length(words: &[String], wanted: &[&str]) -> Option<usize> {
    let Some((first, rest)) = wanted.split_first() else { return Some(0) };
    if *first == "~" {
        let linked = words.iter().take_while(|word| LINKS.contains(&word.as_str())).count();
        return (0..=linked).find_map(|skipped| Some(skipped + length(&words[skipped..], rest)?));
    }
    let (word, after) = words.split_first()?;
    if is_word(word, first) { Some(1 + length(after, rest)?) } else { None }
}

fn is_word(word: &str, wanted: &str) -> bool {
    match wanted.strip_suffix('*') {
        Some(stem) => word.starts_with(stem),
        None => word == wanted,
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
    #[case("crackles when the lead is moved", &[Symptom::Intermittent])]
    #[case("muddy", &[Symptom::Muffled])]
    #[case("woolly, like a blanket over it", &[Symptom::Muffled])]
    #[case("hums", &[Symptom::Hum])]
    #[case("it buzzes", &[Symptom::Hum])]
    #[case("quiet", &[Symptom::Weak])]
    #[case("thin and nasal", &[Symptom::Thin])]
    #[case("way too bright", &[Symptom::Bright])]
    #[case("quiet, and hums when the lead is nudged", &[Symptom::Intermittent, Symptom::Hum, Symptom::Weak])]
    #[case("I think something is wrong with the neck humbucker", &[])]
    #[case("deadline is friday", &[])]
    #[case("", &[])]
    fn finds_symptoms_in_a_customers_words(#[case] words: &str, #[case] symptoms: &[Symptom]) {
        assert_eq!(symptoms_in(words), symptoms);
    }

    // Common practice, no source: what is said of a knob is not said of the instrument.
    #[rstest]
    #[case("the tone knob does nothing", &[Symptom::ToneIdle])]
    #[case("tone does nothing", &[Symptom::ToneIdle])]
    #[case("tone pot has no effect", &[Symptom::ToneIdle])]
    #[case("no sound, and the tone is not working", &[Symptom::Silent, Symptom::ToneIdle])]
    #[case("volume does nothing", &[Symptom::VolumeOpen])]
    #[case("volume never goes silent", &[Symptom::VolumeOpen])]
    #[case("volume at 0 is not silent", &[Symptom::VolumeOpen])]
    #[case("there is no volume", &[Symptom::Silent])]
    #[case("volume doesn't close", &[Symptom::VolumeOpen])]
    #[case("the volume does not go all the way down", &[Symptom::VolumeOpen])]
    #[case("loses volume when the tone is at 0", &[Symptom::Weak])]
    #[case("crackles", &[Symptom::Crackle])]
    #[case("crackles when turned", &[Symptom::Crackle])]
    fn what_is_said_of_a_knob_is_told_from_the_instrument(#[case] words: &str, #[case] symptoms: &[Symptom]) {
        assert_eq!(symptoms_in(words), symptoms);
    }

    // Common practice, no source: one pickup named with a silence is that pickup's alone.
    #[rstest]
    #[case("bridge pickup dead", &[Symptom::OnePosition])]
    #[case("the neck pickup is completely silent", &[Symptom::OnePosition])]
    #[case("the middle one is dead", &[Symptom::OnePosition])]
    #[case("dead in the middle position", &[Symptom::OnePosition])]
    #[case("no sound from the bridge humbucker", &[Symptom::OnePosition])]
    #[case("neck pickup works but the bridge does not work", &[Symptom::OnePosition])]
    #[case("neck and bridge pickup dead", &[Symptom::Silent])]
    #[case("both pickups dead", &[Symptom::Silent])]
    #[case("no sound since the bridge pickup was changed", &[Symptom::Silent])]
    fn one_silent_pickup_is_told_from_a_silent_instrument(#[case] words: &str, #[case] symptoms: &[Symptom]) {
        assert_eq!(symptoms_in(words), symptoms);
    }

    // Common practice, no source: what is denied is not complained of.
    #[rstest]
    #[case("no hum, just quiet", &[Symptom::Weak])]
    #[case("not dull, silent", &[Symptom::Silent])]
    #[case("no crackle or hum, but dark", &[Symptom::Muffled])]
    #[case("it doesn't hum", &[])]
    #[case("not too bright", &[])]
    #[case("no. dead", &[Symptom::Silent])]
    #[case("no treble, hums", &[Symptom::Muffled, Symptom::Hum])]
    fn what_is_denied_does_not_count(#[case] words: &str, #[case] symptoms: &[Symptom]) {
        assert_eq!(symptoms_in(words), symptoms);
    }
}
