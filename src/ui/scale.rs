//! The ohm ruler as the window shows it: what healthy and each leading suspect read, and where a reading lands.

use egui::{Ui, vec2};

use super::picture;
use super::widgets::small;
use crate::draw::{RulerBand, RulerNeedle, ruler};
use crate::job::Band;
use crate::readings::{Dial, Level, Mode, Shown};
use crate::units::Ohms;
use crate::workbench::PredictionView;

/// Returns whether what is read in a mode lies on a scale of ohms.
pub fn fits(mode: Mode) -> bool {
    !matches!(mode, Mode::Observe(_)) && mode.dial() == Dial::Ohms
}

/// Shows the ruler, each band in a row of this height.
pub fn show(
    ui: &mut Ui,
    healthy: Option<&Band>,
    predictions: &[PredictionView],
    shown: Option<&Shown>,
    row: f32,
) {
    let bands = bands(healthy, predictions);
    let size = vec2(ui.available_width(), 54.0 + row * count(bands.len()));
    picture::fixed(ui, &ruler(&bands, shown.and_then(needle), size.x, size.y), size);
}

/// Shows in words what the numbers on the ruler stand for.
pub fn legend(ui: &mut Ui, predictions: &[PredictionView]) {
    for (index, prediction) in predictions.iter().enumerate() {
        small(ui, format!("{}. {}: {}", index + 1, prediction.text, prediction.sentence));
    }
}

fn count(rows: usize) -> f32 {
    u16::try_from(rows).map_or(0.0, f32::from)
}

/// Returns the bands: healthy first, then each suspect by its number.
fn bands(healthy: Option<&Band>, predictions: &[PredictionView]) -> Vec<RulerBand> {
    let band =
        |label: String, band: &Band, weight| RulerBand { label, low: band.low, high: band.high, weight };
    let healthy = healthy.map(|healthy| band("healthy".to_owned(), healthy, None));
    let suspects = predictions
        .iter()
        .enumerate()
        .map(|(index, p)| band(format!("{}", index + 1), &p.band, Some(p.probability)));
    healthy.into_iter().chain(suspects).collect()
}

/// Returns a reading as a needle; `None` when it is no number of ohms.
fn needle(shown: &Shown) -> Option<RulerNeedle> {
    let levels = match shown {
        Shown::Range { low, high } if low != high => vec![low, high],
        Shown::Steady(level) | Shown::Range { low: level, .. } | Shown::Swept { highest: level, .. } => {
            vec![level]
        }
        Shown::Beep(_) | Shown::Said(_) => return None,
    };
    let values = levels.iter().map(|level| ohms(level)).collect::<Option<Vec<_>>>()?;
    let label = levels.iter().map(|level| level.words()).collect::<Vec<_>>().join(" to ");
    Some(RulerNeedle { values, label })
}

/// Returns the ohms of a level with over range as none of them; `None` when it is a level of another dial.
fn ohms(level: &Level) -> Option<Option<Ohms>> {
    match level {
        Level::Ohms { value, .. } => Some(Some(*value)),
        Level::OverRange => Some(None),
        Level::Farads { .. } | Level::Volts { .. } | Level::Amps { .. } => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::parse_entry;

    fn read(text: &str, mode: Mode, flexed: bool) -> Option<(Vec<Option<f64>>, String)> {
        let needle = needle(&parse_entry(text, mode, flexed).unwrap())?;
        Some((needle.values.iter().map(|ohms| ohms.map(Ohms::get)).collect(), needle.label))
    }

    #[test]
    fn a_reading_is_a_needle_where_it_is_a_number_of_ohms() {
        assert_eq!(read("7.42k", Mode::Resistance, false).unwrap().0, [Some(7420.0)]);
        assert_eq!(read("OL", Mode::Resistance, false), Some((vec![None], "over range".to_owned())));
        let (ends, label) = read("7.4k to OL", Mode::Resistance, true).unwrap();
        assert_eq!(ends, [Some(7400.0), None]);
        assert!(label.ends_with("to over range"), "{label}");
        assert_eq!(read("7.4k", Mode::Resistance, true).unwrap().0, [Some(7400.0)]);
        assert_eq!(read("22n", Mode::Capacitance, false), None);
        assert_eq!(read("beep", Mode::Continuity, false), None);
    }

    #[test]
    fn only_ohms_lie_on_the_ruler() {
        assert!(fits(Mode::Resistance) && fits(Mode::Continuity) && fits(Mode::Sweep));
        assert!(!fits(Mode::Volts) && !fits(Mode::Capacitance) && !fits(Mode::Current));
    }
}
