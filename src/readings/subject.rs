//! Whether a measurement makes sense on a wiring: what it is about, where its probes are, what it lifts.

use super::{Check, Measurement, Mode};
use crate::circuit::{Control, ControlKind, Harness, PartKind, PotRole};
use crate::source::advice;

/// Why a measurement cannot be taken on a wiring.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MeasurementError {
    /// It does not say what it is about.
    #[error("cannot take \"{mode}\" without what it is about: it needs {wanted}\n  hint: {hint}")]
    Missing {
        /// The mode's name.
        mode: &'static str,
        /// What it can be about.
        wanted: &'static str,
        /// What is allowed.
        hint: String,
    },
    /// It is about something of another kind, or about nothing that this wiring has.
    #[error("cannot take \"{mode}\" about \"{about}\": it needs {wanted}\n  hint: {hint}")]
    Senseless {
        /// The mode's name.
        mode: &'static str,
        /// The name that was given.
        about: String,
        /// What it can be about.
        wanted: &'static str,
        /// What is allowed.
        hint: String,
    },
    /// It is about something, and its mode is about the whole instrument.
    #[error(
        "cannot take \"{mode}\" about \"{about}\": it is about nothing by itself\n  hint: leave the name out"
    )]
    Needless {
        /// The mode's name.
        mode: &'static str,
        /// The name that was given.
        about: String,
    },
    /// Both probes are on one terminal.
    #[error("cannot read between \"{terminal}\" and itself\n  hint: put the two probes on two terminals")]
    OneTerminal {
        /// The terminal.
        terminal: String,
    },
    /// There is no such conductor to lift.
    #[error("cannot lift \"{name}\": {wiring} has no such wire\n  hint: {hint}")]
    NoConductor {
        /// The name that was given.
        name: String,
        /// The wiring.
        wiring: String,
        /// What is allowed.
        hint: String,
    },
}

/// What kind of thing a mode is about.
#[derive(Clone, Copy)]
enum Subject {
    Pickup,
    Volume,
    Tone,
    Knob,
    Control,
}

impl Subject {
    fn of(mode: Mode) -> Option<Self> {
        match mode {
            Mode::Sweep => Some(Self::Knob),
            Mode::Observe(Check::Tap) => Some(Self::Pickup),
            Mode::Observe(Check::Closes) => Some(Self::Volume),
            Mode::Observe(Check::ToneActs) => Some(Self::Tone),
            Mode::Observe(Check::Crackles) => Some(Self::Control),
            _ => None,
        }
    }

    const fn wanted(self) -> &'static str {
        match self {
            Self::Pickup => "a pickup",
            Self::Volume => "a volume knob",
            Self::Tone => "a tone knob",
            Self::Knob => "a knob",
            Self::Control => "a knob or a switch",
        }
    }

    fn allowed(self, harness: &Harness) -> Vec<&str> {
        if matches!(self, Self::Pickup) {
            return pickups(harness);
        }
        let fits = |control: &&Control| self.fits(harness, control);
        harness.controls.iter().filter(fits).map(|control| control.name.as_str()).collect()
    }

    fn fits(self, harness: &Harness, control: &Control) -> bool {
        let plays = |wanted: PotRole| {
            let kind = &harness[control.part].kind;
            matches!(kind, PartKind::Pot { role, .. } if *role == wanted)
        };
        match self {
            Self::Volume => plays(PotRole::Volume),
            Self::Tone => plays(PotRole::Tone),
            Self::Knob => control.kind == ControlKind::Knob,
            Self::Control => true,
            Self::Pickup => false,
        }
    }
}

fn pickups(harness: &Harness) -> Vec<&str> {
    let sounds = |kind: &PartKind| matches!(kind, PartKind::Coil { .. } | PartKind::Piezo { .. });
    harness.parts.iter().filter(|part| sounds(&part.kind)).map(|part| part.name.as_str()).collect()
}

impl Measurement {
    /// Checks that this makes sense on a wiring: that it is about what its mode needs and about nothing else, that
    /// its probes are apart, and that what it lifts is there.
    ///
    /// # Errors
    ///
    /// Returns [`MeasurementError`] with what is allowed.
    pub fn check(&self, harness: &Harness) -> Result<(), MeasurementError> {
        self.check_subject(harness)?;
        self.check_probes()?;
        self.check_lifted(harness)
    }

    fn check_subject(&self, harness: &Harness) -> Result<(), MeasurementError> {
        let mode = self.mode.name();
        let (wanted, about) = match (Subject::of(self.mode), self.about.as_deref()) {
            (None, None) => return Ok(()),
            (None, Some(about)) => return Err(MeasurementError::Needless { mode, about: about.to_owned() }),
            (Some(wanted), about) => (wanted, about.unwrap_or_default()),
        };
        let allowed = wanted.allowed(harness);
        if allowed.contains(&about) {
            return Ok(());
        }
        let hint = advice(about, &allowed, "there are", '"');
        let wanted = wanted.wanted();
        Err(match about {
            "" => MeasurementError::Missing { mode, wanted, hint },
            about => MeasurementError::Senseless { mode, about: about.to_owned(), wanted, hint },
        })
    }

    fn check_probes(&self) -> Result<(), MeasurementError> {
        if self.red == self.black && !matches!(self.mode, Mode::Observe(_)) {
            return Err(MeasurementError::OneTerminal { terminal: self.red.clone() });
        }
        Ok(())
    }

    fn check_lifted(&self, harness: &Harness) -> Result<(), MeasurementError> {
        let Some(name) = self.lifted.as_deref().filter(|name| harness.lifted(name).is_none()) else {
            return Ok(());
        };
        let known: Vec<&str> = harness.links.iter().map(|link| link.name.as_str()).collect();
        Err(MeasurementError::NoConductor {
            name: name.to_owned(),
            wiring: harness.name.clone(),
            hint: advice(name, &known, "its wires are", '"'),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::source::Source;
    use rstest::rstest;

    fn two_humbuckers() -> Harness {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "two-humbuckers.ron").unwrap();
        load(&Source::new(*name, *text)).unwrap()
    }

    fn asked(mode: &str, about: Option<&str>) -> Result<(), String> {
        let harness = two_humbuckers();
        let plain = Measurement::at_the_plug(&harness);
        let measurement =
            Measurement { mode: mode.parse().unwrap(), about: about.map(str::to_owned), ..plain };
        measurement.check(&harness).map_err(|error| error.to_string())
    }

    // What each of them is asked about: common practice, no source.
    #[rstest]
    #[case("tap", Some("neck-pickup"))]
    #[case("closes", Some("neck volume"))]
    #[case("tone-acts", Some("neck tone"))]
    #[case("crackles", Some("selector"))]
    #[case("crackles", Some("neck tone"))]
    #[case("sweep", Some("neck tone"))]
    #[case("hums", None)]
    #[case("resistance", None)]
    fn what_makes_sense_is_taken(#[case] mode: &str, #[case] about: Option<&str>) {
        assert_eq!(asked(mode, about), Ok(()));
    }

    #[rstest]
    #[case("tap", None, "it needs a pickup\n  hint: there are \"neck-pickup\", ")]
    #[case("tap", Some("neck volume"), "about \"neck volume\": it needs a pickup\n")]
    #[case("closes", Some("neck tone"), "it needs a volume knob\n")]
    #[case("tone-acts", Some("neck volume"), "it needs a tone knob\n")]
    #[case("crackles", Some("neck-pickup"), "it needs a knob or a switch\n")]
    #[case("crackles", None, "without what it is about")]
    #[case("sweep", Some("selector"), "it needs a knob\n")]
    #[case("sweep", None, "it needs a knob\n")]
    #[case("dark", Some("jack"), "about \"jack\": it is about nothing by itself")]
    #[case("resistance", Some("neck volume"), "it is about nothing by itself")]
    fn what_makes_no_sense_is_refused(#[case] mode: &str, #[case] about: Option<&str>, #[case] says: &str) {
        let refused = asked(mode, about).unwrap_err();
        assert!(refused.starts_with(&format!("cannot take \"{mode}\" ")), "{refused}");
        assert!(refused.contains(says), "{refused}");
    }

    #[test]
    fn a_slip_of_the_keys_is_told() {
        let refused = asked("tap", Some("neck-pickp")).unwrap_err();
        assert!(refused.ends_with("hint: did you mean \"neck-pickup\"?"), "{refused}");
    }

    #[test]
    fn the_probes_are_apart_and_the_conductor_is_there() {
        let harness = two_humbuckers();
        let plain = Measurement::at_the_plug(&harness);
        let together = Measurement { black: plain.red.clone(), ..plain.clone() };
        assert_eq!(
            together.check(&harness),
            Err(MeasurementError::OneTerminal { terminal: "plug.tip".to_owned() })
        );
        let lifted = |name: &str| Measurement { lifted: Some(name.to_owned()), ..plain.clone() };
        assert_eq!(lifted("neck-lead").check(&harness), Ok(()));
        let refused = lifted("neck-led").check(&harness).unwrap_err().to_string();
        assert!(refused.ends_with("hint: did you mean \"neck-lead\"?"), "{refused}");
    }
}
