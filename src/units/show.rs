//! Prints values as a technician says them.

use super::{Amps, Celsius, Farads, Henries, Metres, Ohms, Seconds, Volts};

/// Steps of a thousand: the power of ten and the letter.
type Steps = &'static [(i32, &'static str)];

const OHM_STEPS: Steps = &[(0, ""), (3, "k"), (6, "M"), (9, "G")];
const FARAD_STEPS: Steps = &[(-12, "p"), (-9, "n"), (-6, "µ"), (-3, "m"), (0, "")];
const METRE_STEPS: Steps = &[(-6, "µ"), (-3, "m"), (0, "")];
const HENRY_STEPS: Steps = &[(-6, "µ"), (-3, "m"), (0, "")];
const VOLT_STEPS: Steps = &[(-3, "m"), (0, "")];
const AMP_STEPS: Steps = &[(-6, "µ"), (-3, "m"), (0, "")];

/// Returns a resistance with three figures, such as `6.05 kΩ`; below one ohm with one or two decimals, such as `0.2 Ω`.
pub fn show_ohms(ohms: Ohms) -> String {
    let value = ohms.get();
    if value.is_finite() && value.abs() < 1.0 {
        return format!("{} Ω", small(value));
    }
    show_three(value, OHM_STEPS, "Ω")
}

/// Returns a resistance down to the worth of its last figure: 7600 to 10 ohms is `7.60 kΩ`.
pub fn show_ohms_to(ohms: Ohms, resolution: Ohms) -> String {
    let last = exponent_of(resolution.get());
    if !ohms.get().is_finite() || resolution.get() <= 0.0 {
        return show_ohms(ohms);
    }
    let rounded = exponent_of(ohms.get()).max(last);
    let (power, letter) = step_for(rounded, last, OHM_STEPS);
    let scaled = ohms.get() / ten_to(power);
    format!("{scaled:.*} {letter}Ω", decimals(power - last))
}

/// Returns a capacitance with up to three figures, such as `22 nF`.
pub fn show_farads(farads: Farads) -> String {
    trim(&show_three(farads.get(), FARAD_STEPS, "F"))
}

/// Returns an inductance with up to three figures, such as `4.4 H`.
pub fn show_henries(henries: Henries) -> String {
    trim(&show_three(henries.get(), HENRY_STEPS, "H"))
}

/// Returns a voltage with three figures, such as `9.00 V`.
pub fn show_volts(volts: Volts) -> String {
    show_three(volts.get(), VOLT_STEPS, "V")
}

/// Returns a current with three figures, such as `500 µA`.
pub fn show_amps(amps: Amps) -> String {
    show_three(amps.get(), AMP_STEPS, "A")
}

/// Returns a span of time in seconds below two minutes and in minutes from there on: `20 s`, `4 min`.
pub fn show_seconds(seconds: Seconds) -> String {
    let value = seconds.get();
    let minutes = value / 60.0;
    if value < 10.0 {
        trim(&format!("{value:.1} s"))
    } else if minutes < 2.0 {
        format!("{value:.0} s")
    } else if minutes < 10.0 {
        trim(&format!("{minutes:.1} min"))
    } else {
        format!("{minutes:.0} min")
    }
}

/// Returns a share in per cent, such as `20 %`; it says `under 0.1 %` and `over 99.9 %` rather than round to nothing or all.
pub fn show_percent(share: f64) -> String {
    let percent = share * 100.0;
    if share > 0.0 && percent < 0.1 {
        "under 0.1 %".to_owned()
    } else if share < 1.0 && percent > 99.9 {
        "over 99.9 %".to_owned()
    } else if (9.95..99.0).contains(&percent) {
        format!("{percent:.0} %")
    } else {
        trim(&format!("{percent:.1} %"))
    }
}

/// Returns a temperature to a tenth of a degree, such as `20 °C` or `-3.9 °C`.
pub fn show_celsius(celsius: Celsius) -> String {
    let tenths = (celsius.get() * 10.0).round() / 10.0;
    // Adding nought turns a minus nought into nought.
    trim(&format!("{:.1} °C", tenths + 0.0))
}

/// Returns a length with three figures, such as `1130 m` or `63.3 µm`.
pub fn show_metres(metres: Metres) -> String {
    show_three(metres.get(), METRE_STEPS, "m")
}

/// Rounds half away from zero as the digits are written: 0.015 is `0.02`, although no binary number is 0.015.
fn small(value: f64) -> String {
    let hundredths = ((value * 1e6).round() / 1e4).round();
    let text = format!("{:.2}", hundredths / 100.0);
    match text.strip_suffix('0') {
        _ if text == "-0.00" => "0.0".to_owned(),
        Some(short) if short.contains("0.") => short.to_owned(),
        _ => text,
    }
}

fn show_three(value: f64, steps: Steps, unit: &str) -> String {
    if !value.is_finite() {
        return format!("{}∞ {unit}", if value < 0.0 { "-" } else { "" });
    }
    let rounded = three_figures(value);
    let exponent = exponent_of(rounded);
    let (power, letter) = step_for(exponent, i32::MIN, steps);
    let scaled = rounded / ten_to(power);
    format!("{scaled:.*} {letter}{unit}", decimals(power - exponent + 2))
}

fn three_figures(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

/// Returns the power of ten of the first figure; 0 for zero.
fn exponent_of(value: f64) -> i32 {
    let text = format!("{value:e}");
    text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

/// Returns the largest step not above `exponent`, but none finer than the last figure can use.
fn step_for(exponent: i32, last: i32, steps: Steps) -> (i32, &'static str) {
    let fits = |&&(power, _): &&(i32, &str)| power <= exponent;
    let coarse = |&&(power, _): &&(i32, &str)| power >= last;
    let by_value = steps.iter().rfind(fits);
    by_value.filter(coarse).or_else(|| steps.iter().find(coarse)).or(steps.last()).copied().unwrap_or((0, ""))
}

fn ten_to(power: i32) -> f64 {
    format!("1e{power}").parse().unwrap_or(1.0)
}

fn decimals(wanted: i32) -> usize {
    usize::try_from(wanted.clamp(0, 12)).unwrap_or(0)
}

/// Takes trailing noughts off the decimals of the number before the space.
fn trim(text: &str) -> String {
    match text.split_once(' ') {
        Some((number, unit)) if number.contains('.') => {
            format!("{} {unit}", number.trim_end_matches('0').trim_end_matches('.'))
        }
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{parse_farads, parse_henries, parse_ohms, parse_seconds, parse_share};
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    #[case(6050.0, "6.05 kΩ")]
    #[case(0.2, "0.2 Ω")]
    #[case(0.25, "0.25 Ω")]
    #[case(0.05, "0.05 Ω")]
    #[case(0.015, "0.02 Ω")]
    #[case(0.145, "0.15 Ω")]
    #[case(-0.015, "-0.02 Ω")]
    #[case(0.0149, "0.01 Ω")]
    #[case(0.0, "0.0 Ω")]
    #[case(-0.001, "0.0 Ω")]
    #[case(0.999, "1.00 Ω")]
    #[case(3.4, "3.40 Ω")]
    #[case(1e6, "1.00 MΩ")]
    #[case(999.6, "1.00 kΩ")]
    #[case(249_600.0, "250 kΩ")]
    #[case(2e12, "2000 GΩ")]
    #[case(f64::INFINITY, "∞ Ω")]
    #[case(-250.0, "-250 Ω")]
    fn shows_ohms(#[case] ohms: f64, #[case] text: &str) {
        assert_eq!(show_ohms(Ohms::new(ohms)), text);
    }

    #[rstest]
    #[case("7.60k", "7.60 kΩ")]
    #[case("7k6", "7.6 kΩ")]
    #[case("7600", "7.600 kΩ")]
    #[case("0.5k", "0.5 kΩ")]
    #[case("0.0076M", "7.6 kΩ")]
    #[case("0.2R", "0.2 Ω")]
    #[case("0.015r", "0.015 Ω")]
    #[case("12 ohm", "12 Ω")]
    #[case("1.234M", "1.234 MΩ")]
    #[case("0", "0 Ω")]
    fn shows_as_many_figures_as_were_written(#[case] written: &str, #[case] text: &str) {
        let written = parse_ohms(written).unwrap();
        assert_eq!(show_ohms_to(written.value, written.resolution), text);
    }

    #[rstest]
    #[case(22e-9, "22 nF")]
    #[case(680e-12, "680 pF")]
    #[case(4.7e-9, "4.7 nF")]
    #[case(1e-6, "1 µF")]
    #[case(999.7e-9, "1 µF")]
    fn shows_farads(#[case] farads: f64, #[case] text: &str) {
        assert_eq!(show_farads(Farads::new(farads)), text);
    }

    #[rstest]
    #[case(4.4, "4.4 H")]
    #[case(0.9, "900 mH")]
    fn shows_henries(#[case] henries: f64, #[case] text: &str) {
        assert_eq!(show_henries(Henries::new(henries)), text);
    }

    #[rstest]
    #[case(20.0, "20 s")]
    #[case(0.5, "0.5 s")]
    #[case(90.0, "90 s")]
    #[case(240.0, "4 min")]
    #[case(150.0, "2.5 min")]
    #[case(5400.0, "90 min")]
    fn shows_seconds(#[case] seconds: f64, #[case] text: &str) {
        assert_eq!(show_seconds(Seconds::new(seconds)), text);
    }

    #[rstest]
    #[case(0.2, "20 %")]
    #[case(0.015, "1.5 %")]
    #[case(0.997, "99.7 %")]
    #[case(0.999_7, "over 99.9 %")]
    #[case(0.000_2, "under 0.1 %")]
    #[case(0.0, "0 %")]
    #[case(1.0, "100 %")]
    fn shows_percent(#[case] share: f64, #[case] text: &str) {
        assert_eq!(show_percent(share), text);
    }

    #[rstest]
    #[case(20.0, "20 °C")]
    #[case(-3.888_9, "-3.9 °C")]
    #[case(-0.04, "0 °C")]
    fn shows_celsius(#[case] celsius: f64, #[case] text: &str) {
        assert_eq!(show_celsius(Celsius::new(celsius)), text);
    }

    #[rstest]
    #[case(1133.0, "1130 m")]
    #[case(985.4, "985 m")]
    #[case(63.34e-6, "63.3 µm")]
    #[case(0.000_127, "127 µm")]
    fn shows_metres(#[case] metres: f64, #[case] text: &str) {
        assert_eq!(show_metres(Metres::new(metres)), text);
    }

    fn agrees(found: f64, resolution: f64, value: f64) -> bool {
        (found - value).abs() <= resolution * 0.5 + value.abs() * 1e-12
    }

    // A regressions file would land outside the folders this project has.
    fn no_files() -> ProptestConfig {
        ProptestConfig { failure_persistence: None, ..ProptestConfig::default() }
    }

    proptest! {
        #![proptest_config(no_files())]

        #[test]
        fn what_is_shown_in_ohms_reads_back(exponent in -3.0..11.9_f64) {
            let ohms = Ohms::new(10_f64.powf(exponent));
            let back = parse_ohms(&show_ohms(ohms)).unwrap();
            prop_assert!(agrees(back.value.get(), back.resolution.get(), ohms.get()), "{} as {back:?}", ohms.get());
        }

        #[test]
        fn what_was_written_in_ohms_reads_back_the_same(figures in 0_u32..99_999, last in -2..7_i32) {
            let written = parse_ohms(&format!("{figures}e{last}")).unwrap();
            let back = parse_ohms(&show_ohms_to(written.value, written.resolution)).unwrap();
            prop_assert!((back.value.get() - written.value.get()).abs() <= written.value.get() * 1e-12);
            prop_assert!((back.resolution.get() / written.resolution.get() - 1.0).abs() < 1e-9 || last > 6);
        }

        #[test]
        fn what_is_shown_in_farads_reads_back(exponent in -12.0..-0.1_f64) {
            let farads = Farads::new(10_f64.powf(exponent));
            let back = parse_farads(&show_farads(farads)).unwrap();
            prop_assert!(agrees(back.value.get(), back.resolution.get(), farads.get()), "{} as {back:?}", farads.get());
        }

        #[test]
        fn what_is_shown_in_henries_reads_back(exponent in -6.0..2.99_f64) {
            let henries = Henries::new(10_f64.powf(exponent));
            let back = parse_henries(&show_henries(henries)).unwrap();
            prop_assert!(agrees(back.value.get(), back.resolution.get(), henries.get()), "{} as {back:?}", henries.get());
        }

        #[test]
        fn what_is_shown_in_seconds_reads_back(seconds in 0.0..80_000.0_f64) {
            let back = parse_seconds(&show_seconds(Seconds::new(seconds))).unwrap();
            prop_assert!(agrees(back.value.get(), back.resolution.get(), seconds), "{seconds} as {back:?}");
        }

        #[test]
        fn what_is_shown_in_percent_reads_back(share in 0.001..0.999_f64) {
            let back = parse_share(&show_percent(share)).unwrap();
            prop_assert!((back - share).abs() <= 0.005 + 1e-12, "{share} as {back}");
        }
    }
}
