//! Names and titles of symptoms, access and modes.

use super::{Access, Mode, Symptom};

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
    pub const ALL: [Self; 14] = [
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
        Self::BuzzOnTouch,
        Self::BatteryDrains,
        Self::Pops,
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
            Self::BuzzOnTouch => "buzz-on-touch",
            Self::BatteryDrains => "battery-drains",
            Self::Pops => "pops",
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
            Self::BuzzOnTouch => "the buzz changes on touch",
            Self::BatteryDrains => "the battery drains",
            Self::Pops => "pops and thumps",
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
    use super::super::symptoms_in;
    use super::*;

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
