//! Moves a control by its name, and says a measurement in one line.

use super::{Check, Measurement, Mode, Setting, Stand};
use crate::circuit::{Control, ControlKind, Harness};

/// Why a control cannot be set.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SettingError {
    /// This wiring has no control of that name.
    #[error("cannot set \"{control}\": this wiring has {}", listed(allowed, "no controls"))]
    UnknownControl {
        /// The name that was given.
        control: String,
        /// The names there are.
        allowed: Vec<String>,
    },
    /// A knob stands from 0 to 10, in whole numbers.
    #[error("cannot set \"{control}\" to \"{value}\": a knob takes whole numbers from 0 to 10")]
    NotOnTheDial {
        /// The knob.
        control: String,
        /// The value that was given.
        value: String,
    },
    /// The switch has no position of that name.
    #[error("cannot set \"{control}\" to \"{value}\": its positions are {}", listed(allowed, "none"))]
    UnknownPosition {
        /// The switch.
        control: String,
        /// The value that was given.
        value: String,
        /// The positions there are.
        allowed: Vec<String>,
    },
}

fn listed(names: &[String], none: &str) -> String {
    if names.is_empty() { none.to_owned() } else { names.join(", ") }
}

/// Names match whatever their case and with `-` or `_` for a blank.
fn same_name(a: &str, b: &str) -> bool {
    let plain = |name: &str| name.trim().to_lowercase().replace(['-', '_'], " ");
    plain(a) == plain(b)
}

impl Setting {
    /// Moves one control of `harness`: a knob to a number from 0 to 10, a switch to one of its positions.
    ///
    /// # Errors
    ///
    /// Refuses an unknown control, a number off the dial and an unknown position, and lists what is allowed.
    pub fn set(&mut self, harness: &Harness, control: &str, value: &str) -> Result<(), SettingError> {
        let unknown = || SettingError::UnknownControl {
            control: control.to_owned(),
            allowed: harness.controls.iter().map(|c| c.name.clone()).collect(),
        };
        let found = harness.controls.iter().find(|c| same_name(&c.name, control)).ok_or_else(unknown)?;
        self.0.insert(found.name.clone(), stand(found, value)?);
        Ok(())
    }
}

fn stand(control: &Control, value: &str) -> Result<Stand, SettingError> {
    match &control.kind {
        ControlKind::Knob => dial(value).map(Stand::Knob).ok_or_else(|| SettingError::NotOnTheDial {
            control: control.name.clone(),
            value: value.to_owned(),
        }),
        ControlKind::Selector(positions) => position(control, positions, value),
    }
}

fn dial(value: &str) -> Option<u8> {
    value.trim().parse().ok().filter(|number| *number <= 10)
}

fn position(control: &Control, positions: &[String], value: &str) -> Result<Stand, SettingError> {
    let unknown = || SettingError::UnknownPosition {
        control: control.name.clone(),
        value: value.to_owned(),
        allowed: positions.to_vec(),
    };
    let found = positions.iter().find(|name| same_name(name, value)).ok_or_else(unknown)?;
    Ok(Stand::At(found.clone()))
}

impl Measurement {
    /// Returns the measurement in one line: `tip of the plug to sleeve of the plug, selector at neck, all knobs at 10`.
    ///
    /// Switches are named with their position; of the knobs only those that are not at 10.
    pub fn sentence(&self, harness: &Harness) -> String {
        let touched = |name: &str| self.touched(harness, name);
        let mut parts: Vec<String> = match self.mode {
            Mode::Observe(check) => vec![self.observed(harness, check)],
            _ => vec![format!("{} to {}", touched(&self.red), touched(&self.black))],
        };
        parts.extend(self.in_mode());
        parts.extend(self.lifted(harness));
        parts.extend(self.flexed(harness));
        let setting = self.setting.sentence(harness);
        parts.extend(Some(setting).filter(|words| !words.is_empty()));
        parts.join(", ")
    }

    /// Returns what is observed, as the head of its line.
    fn observed(&self, harness: &Harness, check: Check) -> String {
        let about = self.about.as_deref().unwrap_or_default();
        let about = harness.part(about).map_or(about, |part| harness[part].title.as_str());
        format!("{} {about}", check.title()).trim_end().to_owned()
    }

    fn in_mode(&self) -> Option<String> {
        match self.mode {
            Mode::Resistance | Mode::Observe(_) => None,
            Mode::Continuity => Some("beeper on".to_owned()),
            Mode::Sweep => {
                Some(format!("highest while the {} is turned", self.about.as_deref().unwrap_or("knob")))
            }
            other => Some(other.title().to_owned()),
        }
    }

    fn lifted(&self, harness: &Harness) -> Option<String> {
        let name = self.lifted.as_deref()?;
        let off = harness.lifted(name).map(|lifted| {
            format!("{} lifted off the {}", harness[lifted.link].title, harness[lifted.off].title)
        });
        Some(off.unwrap_or_else(|| format!("{name} lifted")))
    }

    fn flexed(&self, harness: &Harness) -> Option<String> {
        let name = self.flex.as_deref()?;
        let part = harness.part(name).map(|id| harness[id].title.as_str());
        let terminal = || harness.terminal(name).map(|id| harness[id].title.as_str());
        let link = || harness.links.iter().find(|link| link.name == name).map(|link| link.title.as_str());
        let title = part.or_else(terminal).or_else(link).unwrap_or(name);
        Some(format!("while flexing the {}", title.trim_start_matches("the ")))
    }
}

impl Setting {
    /// Returns where the controls stand in one line: `selector at neck, all knobs at 10`; empty when it names none.
    ///
    /// Switches are named with their position; of the knobs only those that are not at 10.
    pub fn sentence(&self, harness: &Harness) -> String {
        let words: Vec<String> = self.switches(harness).into_iter().chain(self.knobs(harness)).collect();
        words.join(", ")
    }

    fn switches(&self, harness: &Harness) -> Vec<String> {
        let words = |control: &Control| match self.0.get(&control.name) {
            Some(Stand::At(position)) => {
                Some(format!("{} at {position}", harness.control_title(&control.name)))
            }
            _ => None,
        };
        harness.controls.iter().filter_map(words).collect()
    }

    fn knobs(&self, harness: &Harness) -> Vec<String> {
        let stand = |control: &Control| match self.0.get(&control.name) {
            Some(Stand::Knob(dial)) => Some((control.name.clone(), *dial)),
            _ => None,
        };
        let knobs: Vec<_> = harness.controls.iter().filter_map(stand).collect();
        let moved = knobs.iter().filter(|(_, dial)| *dial != 10);
        let mut words: Vec<String> = moved.map(|(name, dial)| format!("{name} at {dial}")).collect();
        match knobs.len() - words.len() {
            0 => {}
            _ if !words.is_empty() => words.push("other knobs at 10".to_owned()),
            1 => words.extend(knobs.iter().map(|(name, _)| format!("{name} at 10"))),
            _ => words.push("all knobs at 10".to_owned()),
        }
        words
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Part, PartId, PartKind, PlaceId, Terminal};
    use crate::units::Ohms;
    use rstest::rstest;

    fn terminal(lug: &str) -> Terminal {
        Terminal {
            name: format!("plug.{lug}"),
            part: PartId(0),
            lug: lug.to_owned(),
            title: format!("{lug} of the plug"),
            place: PlaceId(0),
            grounded_surface: false,
            probe: true,
        }
    }

    fn control(name: &str, kind: ControlKind) -> Control {
        Control { name: name.to_owned(), part: PartId(0), ganged: Vec::new(), kind }
    }

    fn harness() -> Harness {
        let positions = ["neck", "both", "bridge"].map(str::to_owned).to_vec();
        Harness {
            name: "test".to_owned(),
            code: "T".to_owned(),
            title: "a plug and three controls".to_owned(),
            about: String::new(),
            places: Vec::new(),
            parts: vec![Part {
                name: "plug".to_owned(),
                title: "the plug in the jack".to_owned(),
                kind: PartKind::Plug,
                place: PlaceId(0),
                terminals: Vec::new(),
                at: (0.0, 0.0),
                turn: 0.0,
                pickup: None,
            }],
            terminals: vec![terminal("tip"), terminal("sleeve")],
            links: Vec::new(),
            controls: vec![
                control("neck volume", ControlKind::Knob),
                control("neck tone", ControlKind::Knob),
                control("selector", ControlKind::Selector(positions)),
            ],
            near: Vec::new(),
            joint: Ohms::new(0.05),
        }
    }

    fn measurement(moves: &[(&str, &str)]) -> Measurement {
        let harness = harness();
        let mut setting = Setting::reference(&harness);
        for (control, value) in moves {
            setting.set(&harness, control, value).unwrap();
        }
        Measurement::ohms("plug.tip", "plug.sleeve", setting)
    }

    #[rstest]
    #[case("neck volume", "0", "neck volume", "0")]
    #[case("Neck-Volume", "10", "neck volume", "10")]
    #[case("selector", "Bridge", "selector", "bridge")]
    fn moves_a_control(#[case] control: &str, #[case] value: &str, #[case] key: &str, #[case] stands: &str) {
        let setting = measurement(&[(control, value)]).setting;
        assert_eq!(setting.0[key].to_string(), stands);
        assert_eq!(setting.0.len(), 3, "a control was added");
    }

    #[rstest]
    #[case("tone", "5", "cannot set \"tone\": this wiring has neck volume, neck tone, selector")]
    #[case(
        "neck volume",
        "11",
        "cannot set \"neck volume\" to \"11\": a knob takes whole numbers from 0 to 10"
    )]
    #[case(
        "neck volume",
        "7.5",
        "cannot set \"neck volume\" to \"7.5\": a knob takes whole numbers from 0 to 10"
    )]
    #[case(
        "selector",
        "middle",
        "cannot set \"selector\" to \"middle\": its positions are neck, both, bridge"
    )]
    fn refuses_what_is_not_there(#[case] control: &str, #[case] value: &str, #[case] message: &str) {
        let harness = harness();
        let mut setting = Setting::reference(&harness);
        let before = setting.clone();
        let error = setting.set(&harness, control, value).unwrap_err();
        assert_eq!(error.to_string(), message);
        assert_eq!(setting, before, "a refused move changed the setting");
    }

    #[rstest]
    #[case(&[], "tip of the plug to sleeve of the plug, selector at neck, all knobs at 10")]
    #[case(
        &[("neck volume", "0"), ("selector", "both")],
        "tip of the plug to sleeve of the plug, selector at both, neck volume at 0, other knobs at 10"
    )]
    #[case(
        &[("neck volume", "0"), ("neck tone", "5")],
        "tip of the plug to sleeve of the plug, selector at neck, neck volume at 0, neck tone at 5"
    )]
    fn says_a_measurement_in_one_line(#[case] moves: &[(&str, &str)], #[case] words: &str) {
        assert_eq!(measurement(moves).sentence(&harness()), words);
    }

    #[test]
    fn says_the_beeper_and_what_is_flexed() {
        let mut asked = measurement(&[]);
        asked.mode = Mode::Continuity;
        asked.flex = Some("plug".to_owned());
        assert_eq!(
            asked.sentence(&harness()),
            "tip of the plug to sleeve of the plug, beeper on, while flexing the plug in the jack, selector at neck, \
             all knobs at 10"
        );
    }

    #[test]
    fn a_flexed_lug_is_called_by_its_title() {
        let mut asked = measurement(&[]);
        asked.flex = Some("plug.tip".to_owned());
        let told = asked.sentence(&harness());
        assert!(told.contains("while flexing the tip of the plug,"), "{told}");
    }
}
