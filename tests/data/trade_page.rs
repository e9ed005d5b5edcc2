//! The table of the trade's faults as a page for readers.

use std::fmt::Write;

use lugwise::readings::{Check, Mode, Stand};

use crate::trade_table::{Case, Entry, Expect, Reading, Verdict};

const HEAD: &str = "# The faults of the trade

101 faults that come to a bench, and where Lugwise has them.
Most are in the wiring: the program derives them from the wiring file and foretells what they read.
The others are not in the wiring; the last column says what finds them.
There is no third kind.

All of it is common practice without a published source, unless a row says otherwise.
The ohms were computed from the example values of the wirings, with contacts as good as ideal.
This page is written from `tests/reference/trade-faults.ron`; `tests/outside/faults.rs` checks every reading in it and holds the page in step.

";

/// Returns the page.
pub fn page(entries: &[Entry]) -> String {
    let mut text = HEAD.to_owned();
    let made: Vec<_> = entries
        .iter()
        .filter_map(|e| match &e.verdict {
            Verdict::Wiring(cases) => Some((e, cases)),
            Verdict::Elsewhere { .. } => None,
        })
        .collect();
    let _ = writeln!(text, "## In the wiring: {}\n", made.len());
    text += "`alike` marks a reading that a healthy instrument may show too: it is foretold, and does not tell.\n\n";
    text += "| no. | what fails | wiring | fault | measured | healthy | with the fault |\n";
    text += "| --- | --- | --- | --- | --- | --- | --- |\n";
    for (entry, cases) in &made {
        for case in *cases {
            for reading in &case.reads {
                text += &row(entry, case, reading);
            }
        }
    }
    let _ = writeln!(text, "\n## Not in the wiring: {}\n", entries.len() - made.len());
    text += "| no. | what it is | asked as | what finds it |\n| --- | --- | --- | --- |\n";
    for entry in entries {
        if let Verdict::Elsewhere { check, finds, leads_to } = &entry.verdict {
            let asked = check.map_or("a look", Check::title);
            let ends = leads_to.as_ref().map(|(_, fault)| format!("; left alone it ends in `{fault}`"));
            let _ = writeln!(
                text,
                "| {} | {}{} | {asked} | {finds}{} |",
                entry.id,
                entry.what,
                source(entry),
                ends.unwrap_or_default()
            );
        }
    }
    text
}

fn source(entry: &Entry) -> String {
    entry.source.as_ref().map_or_else(String::new, |source| format!(" (source: {source})"))
}

fn row(entry: &Entry, case: &Case, reading: &Reading) -> String {
    let unit = match reading.mode {
        Mode::Observe(_) => "",
        mode => mode.dial().unit(),
    };
    let alike = if reading.alike { " (alike)" } else { "" };
    format!(
        "| {} | {}{} | {} | `{}` | {} | {} | {}{alike} |\n",
        entry.id,
        entry.what,
        source(entry),
        case.wiring,
        case.fault,
        measured(reading),
        expected(&reading.healthy, unit),
        expected(&reading.faulty, unit),
    )
}

fn measured(reading: &Reading) -> String {
    let mut words = match reading.mode {
        Mode::Observe(check) => format!("asked: {}", check.title()),
        mode => {
            let what = match mode {
                Mode::Sweep => "highest ohms of the sweep",
                Mode::Capacitance => "capacitance",
                Mode::Volts => "volts",
                Mode::Current => "current",
                _ => "ohms",
            };
            format!("{what}, {} to {}", reading.red, reading.black)
        }
    };
    if let Some(about) = &reading.about {
        let _ = write!(words, " {}{about}", if reading.mode == Mode::Sweep { "of the " } else { "" });
    }
    for (control, stand) in &reading.set.0 {
        let _ = match stand {
            Stand::Knob(dial) => write!(words, "; {control} at {dial}"),
            Stand::At(position) => write!(words, "; {control}: {position}"),
        };
    }
    if let Some(lead) = &reading.lifted {
        let _ = write!(words, "; {lead} lifted");
    }
    if let Some(flex) = &reading.flex {
        let _ = write!(words, "; while {flex} is moved");
    }
    if let Some(size) = reading.size {
        let _ = write!(words, "; size {size}");
    }
    words
}

fn expected(expect: &Expect, unit: &str) -> String {
    let value = |text: &str| {
        let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        format!("{digits} {}{unit}", text[digits.len()..].replace('u', "µ"))
    };
    match expect {
        Expect::Reads(text) => value(text),
        Expect::Under(text) => format!("under {}", value(text)),
        Expect::Over(text) => format!("over {}", value(text)),
        Expect::Between(low, high) => format!("{} to {}", value(low), value(high)),
        Expect::OverRange => "over range".to_owned(),
        Expect::Yes => "yes".to_owned(),
        Expect::No => "no".to_owned(),
    }
}
