//! Why a written value was refused, and how to write it instead.

/// What a written value is meant to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Ohms.
    Resistance,
    /// Farads.
    Capacitance,
    /// Henries.
    Inductance,
    /// Volts.
    Voltage,
    /// Amperes.
    Current,
    /// Seconds.
    Time,
    /// A share of a whole, written in per cent.
    Share,
    /// Degrees.
    Temperature,
}

impl Kind {
    /// Returns the units that may follow the number.
    pub const fn units(self) -> &'static str {
        match self {
            Self::Resistance => "ohm, R, k, M, G, L",
            Self::Capacitance => "p, n, u, µ, m, F",
            Self::Inductance => "H, mH, uH",
            Self::Voltage => "V, mV",
            Self::Current => "A, mA, uA",
            Self::Time => "s, min, h",
            Self::Share => "%",
            Self::Temperature => "C, F",
        }
    }

    /// Returns two or three ways to write a value of this kind.
    pub const fn examples(self) -> &'static str {
        match self {
            Self::Resistance => "7.6k, 4k7 or 470 ohm",
            Self::Capacitance => "22n, 0.022u or 223",
            Self::Inductance => "4.4 H or 900 mH",
            Self::Voltage => "9.1 V or 350 mV",
            Self::Current => "0.5 mA or 500 uA",
            Self::Time => "45 s or 4 min",
            Self::Share => "20%",
            Self::Temperature => "20C or 68F",
        }
    }

    fn with_units(self, number: &str) -> String {
        match self {
            Self::Resistance => format!("write {number}k for kilohms or {number}R for ohms"),
            Self::Capacitance => format!("write {number}p, {number}n or {number}u"),
            Self::Inductance => format!("write {number}H or {number}mH"),
            Self::Voltage => format!("write {number} V or {number} mV"),
            Self::Current => format!("write {number} mA or {number} uA"),
            Self::Time => format!("write {number} s or {number} min"),
            Self::Share => format!("write {number}%"),
            Self::Temperature => format!("write {number}C or {number}F"),
        }
    }
}

impl std::fmt::Display for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Resistance => "a resistance",
            Self::Capacitance => "a capacitance",
            Self::Inductance => "an inductance",
            Self::Voltage => "a voltage",
            Self::Current => "a current",
            Self::Time => "a span of time",
            Self::Share => "a share",
            Self::Temperature => "a temperature",
        })
    }
}

/// Why a written value was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UnitError {
    /// Nothing was written.
    #[error("cannot read {kind}: nothing is written")]
    Empty {
        /// What it should have been.
        kind: Kind,
    },
    /// It does not have the form of a number with a unit.
    #[error("cannot read \"{text}\" as {kind}: it is not a number with a unit")]
    NotANumber {
        /// What it should have been.
        kind: Kind,
        /// What was written.
        text: String,
    },
    /// The number stands alone and could be of more than one size.
    #[error("cannot read \"{text}\" as {kind}: it has no unit")]
    NoUnit {
        /// What it should have been.
        kind: Kind,
        /// What was written.
        text: String,
    },
    /// A small `m` after a resistance.
    #[error("cannot read \"{text}\" as a resistance: a small m can be milliohms or megohms")]
    MilliOrMega {
        /// What was written.
        text: String,
        /// The number without its letters.
        number: String,
    },
    /// A comma before exactly three figures.
    #[error("cannot read \"{text}\" as {kind}: the comma can be a decimal comma or part off thousands")]
    CommaUnclear {
        /// What it should have been.
        kind: Kind,
        /// What was written.
        text: String,
    },
    /// The letters after the number belong to another quantity, or to none.
    #[error("cannot read \"{text}\" as {kind}: \"{unit}\" is not one of {}", kind.units())]
    WrongUnit {
        /// What it should have been.
        kind: Kind,
        /// What was written.
        text: String,
        /// The letters found.
        unit: String,
    },
    /// A capacitor's code that has two meanings.
    #[error("cannot read \"{text}\" as a capacitance: the three-figure code has two meanings")]
    MarkUnclear {
        /// What was written.
        text: String,
    },
    /// Less than zero.
    #[error("cannot read \"{text}\" as {kind}: it is below zero")]
    Negative {
        /// What it should have been.
        kind: Kind,
        /// What was written.
        text: String,
    },
    /// More than any real part.
    #[error("cannot read \"{text}\" as {kind}: it is more than {limit}")]
    TooLarge {
        /// What it should have been.
        kind: Kind,
        /// What was written.
        text: String,
        /// The largest value allowed.
        limit: &'static str,
    },
    /// Colder than any room that a coil is measured in.
    #[error("cannot read \"{text}\" as {kind}: it is less than {limit}")]
    TooSmall {
        /// What it should have been.
        kind: Kind,
        /// What was written.
        text: String,
        /// The smallest value allowed.
        limit: &'static str,
    },
}

impl UnitError {
    /// Returns how to write the value instead.
    pub fn hint(&self) -> String {
        match self {
            Self::NoUnit { kind, text } => kind.with_units(text),
            Self::MilliOrMega { number, .. } => {
                format!("write {number}M or {number}meg for megohms, {number} milliohm for milliohms")
            }
            Self::CommaUnclear { text, .. } => {
                format!("write {} or {}", text.replace(',', "."), text.replace(',', ""))
            }
            Self::MarkUnclear { text } => {
                format!("write the value with its unit, such as {text}p or {text}n")
            }
            Self::Empty { kind }
            | Self::NotANumber { kind, .. }
            | Self::WrongUnit { kind, .. }
            | Self::Negative { kind, .. }
            | Self::TooLarge { kind, .. }
            | Self::TooSmall { kind, .. } => format!("write it like {}", kind.examples()),
        }
    }
}
