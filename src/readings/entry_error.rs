//! Why typed text was not taken as a reading, and what to ask the person.

use crate::units::UnitError;

/// Why typed text was not taken as a reading.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// Nothing, dashes, or the code a bench meter sends for no value.
    #[error("cannot take \"{text}\" as a reading: the meter shows no value")]
    NoReading {
        /// What was typed.
        text: String,
    },
    /// A number that can be ohms or kilohms.
    #[error("cannot take \"{text}\" as a reading: it has no unit")]
    OhmOrKilohm {
        /// What was typed.
        text: String,
    },
    /// A 1 alone, which some meters show for over range.
    #[error("cannot take \"{text}\" as a reading: a 1 alone can be one ohm or over range")]
    OneAlone {
        /// What was typed.
        text: String,
    },
    /// A small `m`.
    #[error("cannot take \"{text}\" as a reading: a small m can be milliohms or megohms")]
    MilliOrMega {
        /// What was typed.
        text: String,
        /// The number without its letters.
        number: String,
    },
    /// A comma before exactly three figures.
    #[error("cannot take \"{text}\" as a reading: the comma can be a decimal comma or part off thousands")]
    CommaUnclear {
        /// What was typed.
        text: String,
    },
    /// Too far below zero to be a zeroing error.
    #[error("cannot take \"{text}\" as a reading: a resistance cannot be below zero")]
    BelowZero {
        /// What was typed.
        text: String,
    },
    /// Letters that are no unit of resistance.
    #[error("cannot take \"{text}\" as a reading: \"{unit}\" is not a unit of resistance")]
    NotOhms {
        /// What was typed.
        text: String,
        /// The letters found.
        unit: String,
    },
    /// More than any meter shows.
    #[error("cannot take \"{text}\" as a reading: no meter shows that much")]
    TooLarge {
        /// What was typed.
        text: String,
    },
    /// A beep where the dial stands at ohms.
    #[error("cannot take \"{text}\" as a reading: this step needs the number in ohms")]
    BeepInOhms {
        /// What was typed.
        text: String,
    },
    /// A beep that comes and goes.
    #[error("cannot take \"{text}\" as a reading: a beep that comes and goes needs the numbers behind it")]
    BeepComesAndGoes {
        /// What was typed.
        text: String,
    },
    /// A lowest and a highest value for a reading at which nothing was moved.
    #[error("cannot take \"{text}\" as a reading: it is a span, and nothing is moved at this reading")]
    SpanWhileStill {
        /// What was typed.
        text: String,
    },
    /// Over range alone while something was moved.
    #[error("cannot take \"{text}\" as a reading: something is moved at this reading, and it has two ends")]
    OverRangeOnce {
        /// What was typed.
        text: String,
    },
    /// A number alone while something was moved, and not the one that was read with nothing moved.
    #[error("cannot take \"{text}\" as a reading: with nothing moved it was {still}, so it has two ends")]
    NumberOnce {
        /// What was typed.
        text: String,
        /// What was read with nothing moved, in words.
        still: String,
    },
    /// Only one of the lowest and the highest value.
    #[error("cannot take \"{text}\" as a reading: only one of lowest and highest is there")]
    HalfInterval {
        /// What was typed.
        text: String,
    },
    /// The lowest value is above the highest.
    #[error("cannot take \"{text}\" as a reading: the lowest value is above the highest")]
    MinAboveMax {
        /// What was typed.
        text: String,
    },
    /// A number of values that a swept knob does not have.
    #[error("cannot take \"{text}\" as a reading: a swept knob has one, two or three values")]
    SweptValues {
        /// What was typed.
        text: String,
    },
    /// The value that should be the highest of a swept knob is not.
    #[error("cannot take \"{text}\" as a reading: the value in the middle is not the highest")]
    NotHighest {
        /// What was typed.
        text: String,
    },
    /// Something else than an answer to a question with yes or no.
    #[error("cannot take \"{text}\" as an answer: it is neither yes nor no")]
    YesOrNo {
        /// What was typed.
        text: String,
    },
    /// A capacitance, voltage or current that cannot be read.
    #[error("cannot take it as a reading: {0}")]
    OtherUnit(UnitError),
    /// No known form.
    #[error(
        "cannot take \"{text}\" as a reading: it is no value, no pair of values, no over range and no beep"
    )]
    NotUnderstood {
        /// What was typed.
        text: String,
    },
}

impl EntryError {
    /// Returns what to ask the person, and exactly what to type for each answer.
    pub fn question(&self) -> String {
        match self {
            Self::NoReading { .. } => {
                "what does the display show while the probes are held on? type the value, or ol if it shows over range"
                    .to_owned()
            }
            Self::OhmOrKilohm { text } => {
                format!("is it ohms or kilohms? type {text}r for ohms or {text}k for kilohms")
            }
            Self::OneAlone { .. } => {
                "is the 1 alone at the left edge with no other digits? type ol if it is, 1r for one ohm, 1k for one kilohm"
                    .to_owned()
            }
            Self::MilliOrMega { number, .. } => {
                format!("is it milliohms or megohms? type {number}meg for megohms or {number} milliohm for milliohms")
            }
            Self::CommaUnclear { text } => format!(
                "is the comma a decimal comma? type {} if it is, {} if it is not",
                with_unit(&text.replace(',', ".")),
                text.replace(',', "")
            ),
            Self::BelowZero { .. } => {
                "was the zero set with the probes apart, or is a battery or an amplifier still connected? \
                 disconnect, touch the probes together, set the zero, and measure again"
                    .to_owned()
            }
            Self::NotOhms { .. } => {
                "does the dial stand at ohms? set it to ohms and type the value with r, k or meg, such as 7.6k".to_owned()
            }
            Self::TooLarge { .. } => "does the display show over range? type ol if it does".to_owned(),
            Self::BeepInOhms { .. } => {
                "what number does the display show with the dial at ohms? type it with r, k or meg, such as 0.4r".to_owned()
            }
            Self::BeepComesAndGoes { .. } => {
                "what moves when it comes and goes? take the reading at which that is moved, with the dial at ohms, and type \
                 the lowest and the highest value like 0.4r-ol; here, type what the beeper does while the probes are still"
                    .to_owned()
            }
            Self::SpanWhileStill { .. } => {
                "was something moved meanwhile? then it is another reading: choose the step at which it is moved, or \
                 name it with --flex in the shell; if nothing was, hold the probes still and type the one value that stays"
                    .to_owned()
            }
            Self::SweptValues { .. } | Self::NotHighest { .. } => {
                "what is read with the knob at 0, at most, and at 10? type them in this order, such as 0.3r / 64k / 6.05k, \
                 or only the highest value"
                    .to_owned()
            }
            Self::YesOrNo { .. } => "is it so? type yes, no, or ? when it cannot be told".to_owned(),
            Self::OtherUnit(error @ UnitError::WrongUnit { kind, unit, .. }) => {
                format!("\"{unit}\" is no unit of {kind}: what does the dial stand at? {}", error.hint())
            }
            Self::OtherUnit(error) => error.hint(),
            Self::HalfInterval { .. } => {
                "what are the lowest and the highest value? type both, such as 6.05k-6.40k or min 6.05k max ol".to_owned()
            }
            Self::OverRangeOnce { .. } => {
                "what were the lowest and the highest value while it was moved? type both ends, such as 7.6k-OL, or OL-OL \
                 if it never read anything"
                    .to_owned()
            }
            Self::NumberOnce { text, still } => format!(
                "with nothing moved it was {still}: what were the lowest and the highest value while it was moved? type \
                 both ends, such as {text}-OL, or {text}-{text} if it stayed there all the time"
            ),
            Self::MinAboveMax { .. } => "which of the two is the lowest? type it first".to_owned(),
            Self::NotUnderstood { .. } => {
                "what does the display show? type it like 7.6k, 470r, ol, beep or no beep, and while something is moved 6.05k-6.40k".to_owned()
            }
        }
    }

    pub(super) fn from_unit(error: UnitError) -> Self {
        match error {
            UnitError::Empty { .. } => Self::NoReading { text: String::new() },
            UnitError::NoUnit { text, .. } => Self::OhmOrKilohm { text },
            UnitError::MilliOrMega { text, number } => Self::MilliOrMega { text, number },
            UnitError::CommaUnclear { text, .. } => Self::CommaUnclear { text },
            UnitError::WrongUnit { text, unit, .. } => Self::NotOhms { text, unit },
            UnitError::Negative { text, .. } => Self::BelowZero { text },
            UnitError::TooLarge { text, .. } => Self::TooLarge { text },
            UnitError::NotANumber { text, .. }
            | UnitError::MarkUnclear { text }
            | UnitError::TooSmall { text, .. } => Self::NotUnderstood { text },
        }
    }
}

/// Adds a `k` to a bare number, which would only lead to the next question.
fn with_unit(text: &str) -> String {
    let bare = text.ends_with(|c: char| c.is_ascii_digit());
    if bare { format!("{text}k or {text}r") } else { text.to_owned() }
}
