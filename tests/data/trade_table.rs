//! The table of the trade's faults, as it is written in `tests/reference/trade-faults.ron`.

use lugwise::readings::{Check, Mode, Setting};
use serde::Deserialize;

/// One fault of the list.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    pub id: String,
    pub what: String,
    #[serde(default)]
    pub source: Option<String>,
    pub verdict: Verdict,
}

/// Where it is: in the wiring or elsewhere. There is no third.
#[derive(Debug, Deserialize)]
pub enum Verdict {
    Wiring(Vec<Case>),
    Elsewhere {
        check: Option<Check>,
        finds: String,
        /// A wiring's fault that it ends in when it is left alone.
        #[serde(default)]
        leads_to: Option<(String, String)>,
    },
}

/// One fault of one built-in wiring that is meant.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    pub wiring: String,
    pub fault: String,
    pub reads: Vec<Reading>,
}

/// A measurement with what the list says of it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    #[serde(default = "resistance")]
    pub mode: Mode,
    #[serde(default)]
    pub red: String,
    #[serde(default)]
    pub black: String,
    #[serde(default)]
    pub set: Setting,
    #[serde(default)]
    pub about: Option<String>,
    #[serde(default)]
    pub lifted: Option<String>,
    #[serde(default)]
    pub flex: Option<String>,
    #[serde(default)]
    pub size: Option<f64>,
    pub healthy: Expect,
    pub faulty: Expect,
    /// Whether a healthy instrument may read the same, so that this reading alone does not tell.
    #[serde(default)]
    pub alike: bool,
}

impl Reading {
    pub fn observation(check: Check) -> Self {
        Self {
            mode: Mode::Observe(check),
            red: String::new(),
            black: String::new(),
            set: Setting::default(),
            about: None,
            lifted: None,
            flex: None,
            size: None,
            healthy: Expect::No,
            faulty: Expect::Yes,
            alike: false,
        }
    }
}

/// What is read, in the words of the list.
#[derive(Debug, Deserialize)]
pub enum Expect {
    /// A value, right to half a unit of its last digit.
    Reads(String),
    Under(String),
    Over(String),
    Between(String, String),
    OverRange,
    Yes,
    No,
}

fn resistance() -> Mode {
    Mode::Resistance
}

pub fn table() -> Vec<Entry> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/trade-faults.ron");
    ron::from_str(&std::fs::read_to_string(path).unwrap()).unwrap_or_else(|e| panic!("{e}"))
}

/// Returns a value in its base unit, and half a unit of its last digit.
pub fn written(text: &str) -> (f64, f64) {
    let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let unit = match &text[digits.len()..] {
        "" => 1.0,
        "M" => 1e6,
        "k" => 1e3,
        "m" => 1e-3,
        "u" => 1e-6,
        "n" => 1e-9,
        "p" => 1e-12,
        other => panic!("{other}"),
    };
    let decimals = digits.split_once('.').map_or(0, |(_, after)| after.len());
    let half = 0.5 * 10f64.powi(-i32::try_from(decimals).unwrap());
    (digits.parse::<f64>().unwrap_or_else(|e| panic!("{text}: {e}")) * unit, half * unit)
}
