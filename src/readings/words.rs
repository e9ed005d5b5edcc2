//! What a customer's words mean.

use std::ops::Range;

use super::Symptom;
use super::moving::moving_house;

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
            "when moved",
            "whenever moved",
            "if moved",
            "while moved",
            "when i move",
            "whenever i move",
            "if i move",
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

/// What is moved when an instrument cuts out.
const MOVABLE: &[&str] = &[
    "guitar",
    "instrument",
    "bass",
    "plug",
    "jack",
    "socket",
    "cable",
    "cord",
    "lead",
    "wire",
    "knob",
    "pot",
    "switch",
    "toggle",
    "selector",
    "lever",
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
    words_heard(words).into_iter().map(|(symptom, _)| symptom).collect()
}

/// Returns the symptoms that a customer's words name, each with the words that name it first, as they were written:
/// `cuts out`.
pub fn words_heard(text: &str) -> Vec<(Symptom, String)> {
    let placed = placed_words(text);
    let words: Vec<String> = placed.iter().map(|(word, _)| word.clone()).collect();
    let found = meant(&words);
    let first = |symptom: Symptom| {
        let of = found.iter().filter(|heard| heard.symptom == symptom);
        let at = of.map(|heard| &heard.at).min_by_key(|at| (at.start, at.end))?;
        let (start, end) = (placed.get(at.start)?.1.start, placed.get(at.end - 1)?.1.end);
        Some((symptom, text[start..end].to_owned()))
    };
    Symptom::ALL.into_iter().filter_map(first).collect()
}

/// Returns which words of a complaint named which symptom, in words: `"cuts out": cuts out or crackles when moved`.
pub fn why_heard(complaint: &str) -> String {
    let told = |(symptom, words): &(Symptom, String)| format!("\u{201c}{words}\u{201d}: {}", symptom.title());
    words_heard(complaint).iter().map(told).collect::<Vec<_>>().join("; ")
}

/// Returns what is heard in some words, but for what is denied and what is part of a longer phrase.
fn meant(words: &[String]) -> Vec<Heard> {
    let mut found = listed(words);
    found.extend(moved_things(words));
    found.extend(idle_knobs(words));
    found.extend(silent_places(words));
    let moving = moving_house(words);
    let of_house = |heard: &Heard| {
        heard.symptom == Symptom::Intermittent
            && moving.iter().any(|at| at.start < heard.at.end && heard.at.start < at.end)
    };
    found.retain(|heard| !denied(&words[..heard.at.start]) && !of_house(heard));
    let whole: Vec<bool> = found.iter().map(|heard| !found.iter().any(|other| other.covers(heard))).collect();
    found.into_iter().zip(whole).filter_map(|(heard, whole)| whole.then_some(heard)).collect()
}

fn heard(words: &[String], symptom: Symptom, phrase: &str) -> Vec<Heard> {
    spans(words, phrase).into_iter().map(|at| Heard { symptom, at }).collect()
}

fn listed(words: &[String]) -> Vec<Heard> {
    let each =
        WORDS.iter().flat_map(|(symptom, phrases)| phrases.iter().map(move |phrase| (*symptom, *phrase)));
    each.flat_map(|(symptom, phrase)| heard(words, symptom, phrase)).collect()
}

/// Returns where the instrument, or what belongs to it, is said to be moved.
fn moved_things(words: &[String]) -> Vec<Heard> {
    let of_thing = MOVABLE.iter().flat_map(|thing| {
        [
            format!("{thing} moved"),
            format!("{thing} ~ is moved"),
            format!("{thing} gets moved"),
            format!("{thing} was moved"),
            format!("{thing}s are moved"),
            format!("moved ~ {thing}*"),
            format!("move ~ {thing}*"),
            format!("moving ~ {thing}*"),
        ]
    });
    let of_it = [
        "when it is moved",
        "when its moved",
        "if it is moved",
        "if its moved",
        "when it moves",
        "when i moved it",
    ];
    let phrases = of_thing.chain(of_it.map(str::to_owned));
    phrases.flat_map(|phrase| heard(words, Symptom::Intermittent, &phrase)).collect()
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
    placed_words(text).into_iter().map(|(word, _)| word).collect()
}

/// Returns the plain words of a text, each with where it stands.
fn placed_words(text: &str) -> Vec<(String, Range<usize>)> {
    const ENDS: [char; 8] = ['.', ',', ';', ':', '!', '?', '(', ')'];
    let mut placed: Vec<(String, Range<usize>)> = Vec::new();
    let mut open = false;
    for (at, letter) in text.char_indices() {
        let end = at + letter.len_utf8();
        let apostrophe = matches!(letter, '\'' | '’');
        match placed.last_mut().filter(|_| open) {
            Some((word, place)) if letter.is_alphanumeric() => {
                word.extend(letter.to_lowercase());
                place.end = end;
            }
            Some(_) if apostrophe => {}
            _ if letter.is_alphanumeric() => {
                placed.push((letter.to_lowercase().collect(), at..end));
                open = true;
            }
            _ if ENDS.contains(&letter) => {
                placed.push((",".to_owned(), at..end));
                open = false;
            }
            _ => open = open && apostrophe,
        }
    }
    placed
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
    #[case("cuts out when the plug is moved in the jack", &[Symptom::Intermittent])]
    #[case("no sound if moved", &[Symptom::Silent, Symptom::Intermittent])]
    #[case("quiet when I move it", &[Symptom::Intermittent, Symptom::Weak])]
    #[case("dead when I moved the cable", &[Symptom::Silent, Symptom::Intermittent])]
    #[case("muffled since yesterday when I moved house", &[Symptom::Muffled])]
    #[case("quiet since I moved", &[Symptom::Weak])]
    #[case("hums since we moved in", &[Symptom::Hum])]
    #[case("hums since I moved to a new flat", &[Symptom::Hum])]
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

    #[test]
    fn the_words_that_named_a_symptom_are_told_as_they_were_written() {
        let heard = words_heard("It WON'T work; it’s Very quiet, and cuts  out");
        let told: Vec<(Symptom, &str)> =
            heard.iter().map(|(symptom, words)| (*symptom, words.as_str())).collect();
        let cuts = (Symptom::Intermittent, "cuts  out");
        assert_eq!(told, [(Symptom::Silent, "WON'T work"), cuts, (Symptom::Weak, "quiet")]);
        assert_eq!(why_heard("it hums"), "\u{201c}hums\u{201d}: hums or buzzes");
        assert_eq!(why_heard("since Friday"), "");
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
