//! From a written step that listens to its checked meaning: what the circuit can foretell of what is heard.

use super::load::Names;
use super::probe::places;
use super::raw::{RawAsk, RawCheck, RawHeard};
use super::tree::{ask_path, outcome_path};
use super::{Outcome, Probe, When};
use crate::readings::{Check, Mode};
use crate::source::Located;

/// Returns the checked meaning of a step that listens: yes first, no second.
pub(super) fn heard(names: &Names<'_>, step: usize, raw: &RawAsk) -> Result<Probe, Located> {
    let RawAsk::Hear { check, set, about, yes, no } = raw else {
        return Err(names.positions.error(&ask_path(step), "something to be heard was expected", None));
    };
    let mode = Mode::Observe(checked(*check));
    let outcome = |(at, (when, raw)): (usize, (When, &RawHeard))| -> Result<Outcome, Located> {
        let then = names.then(&raw.then, &outcome_path(step, mode, at).then("then"))?;
        Ok(Outcome { when, written: when.written(mode), means: raw.means.clone(), then })
    };
    let outcomes = [(When::Yes, yes), (When::No, no)].into_iter().enumerate().map(outcome);
    Ok(Probe {
        mode,
        red: String::new(),
        black: String::new(),
        flex: None,
        about: about.clone(),
        outcomes: outcomes.collect::<Result<_, _>>()?,
        set: places(names, set, &ask_path(step).then("set"))?,
    })
}

const fn checked(raw: RawCheck) -> Check {
    match raw {
        RawCheck::Sound => Check::Sound,
        RawCheck::Tap => Check::Tap,
        RawCheck::Weak => Check::Weak,
        RawCheck::Dark => Check::Dark,
        RawCheck::Bright => Check::Bright,
        RawCheck::Thin => Check::Thin,
        RawCheck::Closes => Check::Closes,
        RawCheck::ToneActs => Check::ToneActs,
        RawCheck::Crackles => Check::Crackles,
        RawCheck::Hums => Check::Hums,
        RawCheck::StringsCalm => Check::StringsCalm,
        RawCheck::PlugCalms => Check::PlugCalms,
    }
}
