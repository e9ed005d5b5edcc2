//! Everything that can be wrong in a wiring file, as facts, with the words for each.

use crate::source::{Located, Path, Positions, advice, nearest};
use crate::units::UnitError;

/// One thing that is wrong in a wiring file.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(super) enum Mistake {
    #[error("{what} format {found} is not known")]
    Format { what: &'static str, found: u32, known: u32 },
    #[error("part name \"{name}\" is taken: every wiring has the plug of its cable")]
    Plug { name: String },
    #[error("{what} name \"{name}\" cannot be used")]
    BadName { what: &'static str, name: String },
    #[error("two {what}s are called \"{name}\"")]
    Twice { what: &'static str, name: String },
    #[error("no {what} is called \"{name}\"")]
    Unknown { what: &'static str, name: String, known: Vec<String> },
    #[error("part \"{part}\" has no terminal \"{lug}\"")]
    UnknownLug { part: String, lug: String, known: Vec<String> },
    #[error("\"{written}\" is not a terminal")]
    NotATerminal { written: String, example: String },
    #[error(transparent)]
    Value(#[from] UnitError),
    #[error("{what} cannot be \"{written}\"")]
    Range { what: &'static str, written: String, allowed: &'static str, guess: Option<String> },
    #[error("track \"{written}\" does not say its taper")]
    NoTaper { written: String },
    #[error("taper \"{word}\" is not known")]
    Taper { word: String },
    #[error("no type of pickup is called \"{name}\"")]
    PickupType { name: String, known: Vec<String> },
    #[error("a coil without a type does not say its {field}")]
    NoCoilValue { field: &'static str },
    #[error("the lowest, the middle and the highest value are not in this order")]
    Order,
    #[error("the first place is not the outside")]
    OutsideFirst,
    #[error("place \"{name}\" is a second outside")]
    OutsideTwice { name: String },
    #[error("the outside cannot take time to open")]
    OutsideCost,
    #[error("a wiring has one jack, this one has {count}")]
    Jacks { count: usize },
    #[error("a jack cannot have {found} contacts")]
    Contacts { found: u32 },
    #[error("wire \"{wire}\" goes from \"{terminal}\" to itself")]
    Loop { wire: String, terminal: String },
    #[error("braid \"{wire}\" does not say which wire it surrounds")]
    NoCore { wire: String },
    #[error("wire \"{wire}\" surrounds another but is not a braid")]
    NotABraid { wire: String },
    #[error("part \"{part}\" is said to be in a pickup but is no coil")]
    NotACoil { part: String },
    #[error("\"{terminal}\" cannot be near itself")]
    NearItself { terminal: String },
    #[error("\"{a}\" and \"{b}\" are named as near twice")]
    NearTwice { a: String, b: String },
    #[error("part \"{part}\" cannot be drawn at ({x}, {y})")]
    FarAway { part: String, x: f32, y: f32, most: f32 },
    #[error("weight {weight} is not above 0")]
    Weight { weight: f64 },
    #[error("switch \"{part}\" has {count} position{}", if *count == 1 { "" } else { "s" })]
    Positions { part: String, count: usize },
    #[error("position \"{position}\" joins \"{terminal}\" to itself")]
    JoinsItself { position: String, terminal: String },
    #[error("the switches have more than {limit} settings together")]
    Settings { limit: usize },
    #[error("no wire goes to part \"{part}\"")]
    NeverWired { part: String },
    #[error("control \"{control}\" changes nothing: {why}")]
    Idle { control: String, why: String, hint: String },
    #[error("\"{hot}\" has no way to the tip of the plug in any switch setting")]
    NoWayHot { hot: String, reaches: Vec<String>, grounded: bool },
    #[error("\"{cold}\" has no way to the sleeve of the plug in any switch setting")]
    NoWayCold { cold: String, reaches: Vec<String> },
}

impl Mistake {
    /// Returns how to mend it.
    pub(super) fn hint(&self) -> String {
        match self {
            Self::Unknown { what, name, known } => advice_for(name, known, &format!("the {what}s are")),
            Self::UnknownLug { lug, known, .. } => advice_for(lug, known, "its terminals are"),
            Self::PickupType { name, known } => type_advice(name, known),
            Self::NoCoilValue { field } => {
                format!("add `{field}: \"...\"`, or `type: \"...\"` for what is usual")
            }
            Self::Value(error) => error.hint(),
            Self::Range { guess: Some(guess), .. } => format!("did you mean \"{guess}\"?"),
            Self::NoWayHot { grounded: true, .. } => EXCHANGED.to_owned(),
            Self::NoWayHot { hot: end, reaches, .. } | Self::NoWayCold { cold: end, reaches } => {
                dead_end(end, reaches)
            }
            other => other.plain_hint(),
        }
    }

    fn plain_hint(&self) -> String {
        match self {
            Self::Format { known, .. } => format!("this program reads `format: {known}`"),
            Self::BadName { what, .. } => name_rule(what).to_owned(),
            Self::Twice { .. } => "give one of the two another name".to_owned(),
            Self::NotATerminal { example, .. } => {
                format!("write the part and its terminal with a dot between, like \"{example}\"")
            }
            Self::Range { allowed, .. } => format!("it lies between {allowed}"),
            Self::NoTaper { written } => format!("add linear, audio or reverse, like \"{written} audio\""),
            Self::Taper { word } => advice(word, &TAPERS, "the tapers are", '"'),
            Self::Idle { hint, .. } => hint.clone(),
            Self::FarAway { most, .. } => format!("each of the two numbers lies between 0 and {most}"),
            other => other.fixed_hint().to_owned(),
        }
    }

    fn fixed_hint(&self) -> &'static str {
        match self {
            Self::Plug { .. } => "give the part another name",
            Self::Order => "write the lowest first and the highest last",
            Self::OutsideFirst => "put the place where nothing is opened first and add `outside: true` to it",
            Self::OutsideTwice { .. } => "keep `outside: true` on the first place only",
            Self::OutsideCost => "write `open: \"0 s\"`",
            Self::Jacks { count: 0 } => "add a part with `kind: Jack(contacts: 2)`",
            Self::Jacks { .. } => "keep the jack that the readings are taken at",
            Self::Contacts { .. } => "write 2 for tip and sleeve, 3 for tip, ring and sleeve",
            Self::Loop { .. } => "give the terminal that the other end is fixed to",
            Self::NoCore { .. } => "add `around: \"...\"` with the name of the core",
            Self::NotABraid { .. } => "write `kind: Braid`, or leave `around` out",
            Self::NotACoil { .. } => "leave `pickup` out; it joins coils that are seen as one pickup",
            Self::NearItself { .. } => "give the terminal that it could touch",
            Self::NearTwice { .. } => "keep one of the two",
            Self::Weight { .. } => "1 is an ordinary pair, 2 is twice as likely to touch",
            Self::Positions { .. } => "a switch has at least 2 positions",
            Self::JoinsItself { .. } => "give the other terminal that is joined in this position",
            Self::Settings { .. } => "leave out switches that do not matter for the readings",
            Self::NeverWired { .. } => "add its wires, or leave the part out",
            _ => "look at the format in DEVELOPERS.md",
        }
    }
}

const TAPERS: [&str; 5] = ["linear", "audio", "reverse", "first-half", "second-half"];

/// Returns the rule that names of this kind follow.
fn name_rule(what: &str) -> &'static str {
    match what {
        "place" | "control" | "position" => "use letters, digits, blanks and -",
        _ => "use small letters, digits and -, starting with a letter",
    }
}

fn advice_for(name: &str, known: &[String], what: &str) -> String {
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    advice(name, &known, what, '"')
}

/// Returns every type of pickup, the one that was probably meant before them.
fn type_advice(name: &str, known: &[String]) -> String {
    let all = |what: &str| advice_for("", known, what);
    match nearest(name, known.iter().map(String::as_str)) {
        Some(near) => format!("did you mean \"{near}\"? {}", all("The types are")),
        None => all("the types are"),
    }
}

const EXCHANGED: &str = "its wire leads to ground: look whether hot and ground are exchanged";

fn dead_end(end: &str, reaches: &[String]) -> String {
    if reaches.is_empty() {
        return format!("no wire goes to \"{end}\"");
    }
    let quoted: Vec<String> = reaches.iter().map(|name| format!("\"{name}\"")).collect();
    format!("its wires lead to {} and no further", quoted.join(", "))
}

/// The mistakes found so far, each with its place in the file.
pub(super) struct Findings {
    positions: Positions,
    list: Vec<Located>,
}

impl Findings {
    pub fn new(positions: Positions) -> Self {
        Self { positions, list: Vec::new() }
    }

    /// Notes a mistake, once: a block may meet the same wrong name in several of its wires.
    pub fn add(&mut self, path: &Path, mistake: &Mistake) {
        let found = self.positions.error(path, mistake.to_string(), Some(mistake.hint()));
        if !self.list.contains(&found) {
            self.list.push(found);
        }
    }

    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Returns the mistakes in the order of the file.
    pub fn into_list(mut self) -> Vec<Located> {
        self.list.sort_by_key(|found| (found.line, found.column));
        self.list
    }
}
