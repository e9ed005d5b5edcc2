//! One value typed for a reading at which something is moved: whether it says that nothing changed.

use crate::job::{Band, Job};
use crate::readings::{EntryError, Level, Measurement, Reading, Shown, parse_entry};

/// A value that differs from the still one by no more than this share, or by no more than these ohms, is that value once
/// more (common practice, no source).
const SAME_SHARE: f64 = 0.1;
const SAME_OHMS: f64 = 5.0;

/// Returns what to ask when one value was typed and does not say what happened while something was moved: over range
/// where a healthy instrument reads a number, or a number that the same reading did not show when still.
pub(super) fn one_end(reading: &Reading, healthy: &Band, still: Option<&Shown>) -> Option<EntryError> {
    let Shown::Range { low, high } = &reading.shown else { return None };
    let Reading { measurement, typed, .. } = reading;
    if low != high || parse_entry(typed, measurement.mode, false).is_err() {
        return None;
    }
    let text = typed.trim().to_owned();
    match (low.number(), still) {
        (None, _) => healthy.ohms.is_some().then_some(EntryError::OverRangeOnce { text }),
        (Some((value, _)), Some(Shown::Steady(still))) if !same(value, still) => {
            Some(EntryError::NumberOnce { text, still: still.words() })
        }
        _ => None,
    }
}

fn same(value: f64, still: &Level) -> bool {
    still
        .number()
        .is_some_and(|(known, _)| (value - known).abs() <= (SAME_SHARE * known.abs()).max(SAME_OHMS))
}

/// Returns what the same measurement showed last with nothing moved, since the last repair.
pub(super) fn still_reading<'j>(job: &'j Job, measurement: &Measurement) -> Option<&'j Shown> {
    let before = job.rounds().last().map_or(0, |round| round.readings);
    let counting = job.readings().iter().skip(before).filter(|taken| taken.withdrawn.is_none());
    last(counting.map(|taken| &taken.reading), measurement)
}

/// Returns what the same measurement showed last with nothing moved, as a proof.
pub(super) fn still_proof<'j>(job: &'j Job, measurement: &Measurement) -> Option<&'j Shown> {
    last(job.proofs().iter().map(|proof| &proof.reading), measurement)
}

fn last<'j>(readings: impl Iterator<Item = &'j Reading>, measurement: &Measurement) -> Option<&'j Shown> {
    let still = Measurement { flex: None, ..measurement.clone() };
    readings.filter(|reading| reading.measurement == still).last().map(|reading| &reading.shown)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::{Mode, Setting};
    use crate::units::Ohms;
    use rstest::rstest;

    fn asked(typed: &str, healthy: Option<f64>, still: Option<&str>) -> Option<EntryError> {
        let plain = Measurement::ohms("plug.tip", "plug.sleeve", Setting::default());
        let measurement = Measurement { flex: Some("plug".to_owned()), ..plain };
        let shown = parse_entry(typed, Mode::Resistance, true).unwrap();
        let still = still.map(|text| parse_entry(text, Mode::Resistance, false).unwrap());
        let ohms = healthy.map(Ohms::new);
        let healthy = Band { ohms, low: ohms, high: ohms, ..Band::default() };
        one_end(&Reading { measurement, typed: typed.to_owned(), shown }, &healthy, still.as_ref())
    }

    // A flexed reading is its lowest and its highest value: one over range tells one of them.
    #[rstest]
    #[case("OL", Some(7600.0), None, true)]
    #[case(" 0L ", Some(7600.0), Some("7.6k"), true)]
    #[case("OL-OL", Some(7600.0), Some("7.6k"), false)]
    #[case("7.6k-OL", Some(7600.0), Some("7.6k"), false)]
    #[case("OL", None, None, false)]
    #[case("7.6k", Some(7600.0), None, false)]
    #[case("7.62k", Some(7600.0), Some("7.6k"), false)]
    #[case("0.9r", Some(0.3), Some("0.3r"), false)]
    #[case("9k", Some(7600.0), Some("7.6k"), true)]
    #[case("7.6k", Some(7600.0), Some("OL"), true)]
    #[case("7.6k-9k", Some(7600.0), Some("7.6k"), false)]
    fn one_value_is_taken_where_it_says_that_nothing_moved(
        #[case] typed: &str,
        #[case] healthy: Option<f64>,
        #[case] still: Option<&str>,
        #[case] refused: bool,
    ) {
        let question = asked(typed, healthy, still).map(|error| error.question());
        assert_eq!(question.is_some(), refused, "{question:?}");
        assert!(question.is_none_or(|question| question.contains("type both ends")));
    }
}
