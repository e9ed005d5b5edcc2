//! Texts of the screen as they are said aloud, so that numbers and units are understood.

use crate::readings::Access;
use crate::workbench::{Ask, Stage, StepView, View};

/// Units with a letter for a power of ten, as they are said: one of them, and more.
const UNITS: [(&str, &str, &str); 16] = [
    ("kΩ", "kilo-ohm", "kilo-ohms"),
    ("MΩ", "mega-ohm", "mega-ohms"),
    ("GΩ", "giga-ohm", "giga-ohms"),
    ("Ω", "ohm", "ohms"),
    ("pF", "picofarad", "picofarads"),
    ("nF", "nanofarad", "nanofarads"),
    ("µF", "microfarad", "microfarads"),
    ("mV", "millivolt", "millivolts"),
    ("V", "volt", "volts"),
    ("µA", "microampere", "microamperes"),
    ("mA", "milliampere", "milliamperes"),
    ("A", "ampere", "amperes"),
    ("%", "per cent", "per cent"),
    ("min", "minute", "minutes"),
    ("s", "second", "seconds"),
    ("k", "kilo", "kilo"),
];

const ONES: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];

const TENS: [&str; 10] =
    ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// Returns a text of the screen as it is said: `7.6 kΩ` as `seven point six kilo-ohms`.
pub fn spoken(text: &str) -> String {
    let mut said = String::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let inside = said.ends_with(char::is_alphanumeric);
        match number(rest).filter(|_| !inside) {
            Some((words, after)) => {
                said.push_str(&words);
                rest = after;
            }
            None => {
                said.push_str(sign(first).unwrap_or(&rest[..first.len_utf8()]));
                rest = &rest[first.len_utf8()..];
            }
        }
    }
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns how a sign is said that stands by itself.
const fn sign(letter: char) -> Option<&'static str> {
    match letter {
        'Ω' => Some("ohms"),
        '–' | '…' => Some(", "),
        '·' => Some(". "),
        '“' | '”' | '"' => Some(" "),
        _ => None,
    }
}

/// Takes a number with its unit off the beginning of a text; returns it in words, and what comes after it.
fn number(text: &str) -> Option<(String, &str)> {
    let unsigned = text.strip_prefix(['-', '−']).unwrap_or(text);
    let minus = if unsigned.len() < text.len() { "minus " } else { "" };
    let (whole, after) = figures(unsigned);
    if whole.is_empty() {
        return None;
    }
    let (decimals, after) = match after.strip_prefix('.').map(figures) {
        Some((decimals, after)) if !decimals.is_empty() => (decimals, after),
        _ => ("", after),
    };
    let value = in_words(whole, decimals);
    let (unit, after) = unit(after, value == "one");
    Some((format!("{minus}{value}{unit}"), after))
}

fn figures(text: &str) -> (&str, &str) {
    text.split_at(text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len()))
}

/// Takes a unit off the beginning of a text; returns it in words with a blank before it.
fn unit(text: &str, one: bool) -> (String, &str) {
    let near = text.strip_prefix(' ').unwrap_or(text);
    let ends = |rest: &&str| !rest.starts_with(|c: char| c.is_alphanumeric());
    let found = UNITS.iter().find_map(|(letters, single, many)| {
        let rest = near.strip_prefix(letters).filter(ends)?;
        Some((if one { single } else { many }, rest))
    });
    found.map_or_else(|| (String::new(), text), |(words, rest)| (format!(" {words}"), rest))
}

fn in_words(whole: &str, decimals: &str) -> String {
    let before = match whole.parse::<u32>() {
        Ok(number) if number < 1_000_000 && (whole.len() == 1 || !whole.starts_with('0')) => counted(number),
        _ => one_by_one(whole),
    };
    if decimals.is_empty() { before } else { format!("{before} point {}", one_by_one(decimals)) }
}

fn one_by_one(figures: &str) -> String {
    let digits = figures.chars().filter_map(|c| c.to_digit(10));
    digits.map(|digit| ONES[digit as usize]).collect::<Vec<_>>().join(" ")
}

/// Returns a whole number below a million as it is counted.
fn counted(number: u32) -> String {
    match number {
        0..20 => ONES[number as usize].to_owned(),
        20..100 => more(TENS[number as usize / 10].to_owned(), number % 10),
        100..1000 => more(format!("{} hundred", ONES[number as usize / 100]), number % 100),
        _ => more(format!("{} thousand", counted(number / 1000)), number % 1000),
    }
}

fn more(said: String, rest: u32) -> String {
    if rest == 0 { said } else { format!("{said} {}", counted(rest)) }
}

/// Returns what is to be done now, as it is said aloud.
pub fn now(view: &View) -> String {
    let told = match (&view.cautions[..], view.stage) {
        ([first, ..], _) => format!("Read this first. {}", first.text),
        ([], Stage::Finding) => finding(view),
        ([], Stage::Repairing) => match &view.concluded {
            Some(fault) => format!("The fault was named: {}. Record the repair.", fault.sentence),
            None => "Record the repair.".to_owned(),
        },
        ([], Stage::Proving) => match view.proof.iter().find(|proof| proof.passed.is_none()) {
            Some(proof) => format!("To prove the repair, read {}. {}", proof.sentence, proof.flex),
            None => "All proof readings are taken.".to_owned(),
        },
        ([], Stage::Closed) => view.closed.clone().unwrap_or_else(|| "The job is closed.".to_owned()),
    };
    spoken(&told)
}

fn finding(view: &View) -> String {
    let verdict = view.verdict.as_ref().map(|verdict| {
        let sure = if verdict.sure { "Sure enough to repair" } else { "The best guess" };
        format!("{sure}: {}. {}.", verdict.sentence, super::words::percent(verdict.probability))
    });
    let step =
        view.step.as_ref().filter(|_| view.verdict.is_none()).map(|step| step_words(step, view.access));
    verdict.or(step).unwrap_or_else(|| "No reading is left that would help. Name the fault.".to_owned())
}

fn step_words(step: &StepView, access: Access) -> String {
    if access == Access::Telephone && !step.script.is_empty() {
        return step.script.join(" ");
    }
    let mut told: Vec<String> = step.open_first.iter().map(|place| format!("Open first: {place}")).collect();
    told.extend(step.battery.filter(|battery| battery.moved).map(|battery| battery.says().to_owned()));
    let moved = step.controls.iter().filter(|control| control.moved);
    told.extend(moved.map(|control| format!("Move {} to {}", control.name, control.stand)));
    told.push(step.headline.clone());
    if !step.red.is_empty() {
        told.push(format!("Dial: {}. Red on {}, black on {}", step.dial, step.red, step.black));
    }
    told.extend(Some(&step.flex).filter(|flex| !flex.is_empty()).map(|flex| format!("Meanwhile: {flex}")));
    if let Ask::Question { answers } = &step.ask {
        told.extend(answers.iter().enumerate().map(|(index, answer)| format!("{}: {answer}", index + 1)));
    }
    told.iter().map(|line| super::words::sentence(line)).collect::<Vec<_>>().join(" ")
}

/// Returns the last reading as it is read back; `None` without one.
pub fn read_back(view: &View) -> Option<String> {
    let last = view.readings.iter().rfind(|reading| !reading.withdrawn)?;
    let healthy = if last.fits_healthy { "healthy" } else { "not healthy" };
    Some(spoken(&format!("{}, {healthy}.", last.found)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    // How people say what a meter shows: common practice, no source.
    #[rstest]
    #[case("7.6 kΩ", "seven point six kilo-ohms")]
    #[case("1 kΩ", "one kilo-ohm")]
    #[case("6.05 kΩ", "six point zero five kilo-ohms")]
    #[case("470 Ω", "four hundred seventy ohms")]
    #[case("0.3 Ω", "zero point three ohms")]
    #[case("1.2 MΩ", "one point two mega-ohms")]
    #[case("22 nF", "twenty two nanofarads")]
    #[case("-8.98 V", "minus eight point nine eight volts")]
    #[case("7600 Ω", "seven thousand six hundred ohms")]
    #[case("83 %", "eighty three per cent")]
    #[case("12 min", "twelve minutes")]
    #[case("ohms, 20 k range or automatic", "ohms, twenty kilo range or automatic")]
    #[case(
        "7.49 kΩ (6.9 kΩ to 8.1 kΩ)",
        "seven point four nine kilo-ohms (six point nine kilo-ohms to eight point one kilo-ohms)"
    )]
    fn numbers_are_said_as_people_say_them(#[case] shown: &str, #[case] said: &str) {
        assert_eq!(spoken(shown), said);
    }

    #[rstest]
    #[case("lug3 of the pot", "lug3 of the pot")]
    #[case("over range", "over range")]
    #[case("Reading 2.", "Reading two.")]
    #[case("position 10, and wait", "position ten, and wait")]
    #[case("7 suspects", "seven suspects")]
    #[case("plug tip – plug sleeve", "plug tip , plug sleeve")]
    #[case("045", "zero four five")]
    #[case("", "")]
    fn what_is_no_value_stays_as_it_is(#[case] shown: &str, #[case] said: &str) {
        assert_eq!(spoken(shown), said);
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig {
            failure_persistence: None,
            ..Default::default()
        })]

        #[test]
        fn no_figure_is_left_where_a_number_stood(number in 0_u32..2_000_000, decimals in 0_u32..99) {
            let said = spoken(&format!("it shows {number}.{decimals} kΩ now"));
            assert!(!said.contains(|c: char| c.is_ascii_digit()), "{said}");
            assert!(said.ends_with("kilo-ohms now"), "{said}");
        }
    }
}
