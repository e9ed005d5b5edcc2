//! Money as whole hundredths of a currency, so that no cent is ever lost in a sum.

use serde::{Deserialize, Serialize};

/// The most that a price may be, in hundredths: a million.
const MOST: i64 = 100_000_000;

/// An amount of money in hundredths of a currency; the currency is said beside it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Money(i64);

/// Why a written amount of money was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MoneyError {
    /// It is no amount.
    #[error("cannot read \"{text}\" as money\nhint: write 45, 45.50 or 45,50, without the currency")]
    Junk {
        /// What was written.
        text: String,
    },
    /// It has parts of a hundredth.
    #[error(
        "cannot read \"{text}\" as money: it has more than two decimals\nhint: write 45.50 for 45 and a half"
    )]
    Decimals {
        /// What was written.
        text: String,
    },
    /// It is more than any repair costs.
    #[error(
        "cannot read \"{text}\" as money: it is more than a million\nhint: write 45.50 for 45 and a half"
    )]
    TooMuch {
        /// What was written.
        text: String,
    },
}

impl Money {
    /// Makes an amount from a number of hundredths.
    pub const fn hundredths(number: i64) -> Self {
        Self(number)
    }

    /// Returns the number of hundredths.
    pub const fn in_hundredths(self) -> i64 {
        self.0
    }

    /// Returns what so many minutes cost at this price of an hour, to the nearest hundredth.
    pub fn for_minutes(self, minutes: u32) -> Self {
        Self(self.0.saturating_mul(i64::from(minutes)).saturating_add(30).div_euclid(60))
    }
}

impl std::ops::Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl std::iter::Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::default(), std::ops::Add::add)
    }
}

/// Reads an amount of money: `45`, `45.50`, `45,5`.
///
/// # Errors
///
/// Refuses what is no amount, what is below nothing, what has more than two decimals, and more than a million.
pub fn parse_money(text: &str) -> Result<Money, MoneyError> {
    let owned = || text.trim().to_owned();
    let (whole, part) = text.trim().split_once(['.', ',']).unwrap_or((text.trim(), "0"));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(whole) || !digits(part) {
        return Err(MoneyError::Junk { text: owned() });
    }
    if part.len() > 2 {
        return Err(MoneyError::Decimals { text: owned() });
    }
    let hundredths = |whole: i64| Some(whole.checked_mul(100)? + format!("{part:0<2}").parse::<i64>().ok()?);
    let amount = whole.parse::<i64>().ok().and_then(hundredths).filter(|amount| *amount <= MOST);
    amount.map(Money).ok_or_else(|| MoneyError::TooMuch { text: owned() })
}

/// Returns an amount with two decimals: `45.50`.
pub fn show_money(money: Money) -> String {
    let sign = if money.0 < 0 { "−" } else { "" };
    let size = money.0.unsigned_abs();
    format!("{sign}{}.{:02}", size / 100, size % 100)
}

/// Returns an amount with its currency: `45.50 EUR`; without one when none is known.
pub fn show_price(money: Money, currency: &str) -> String {
    format!("{} {}", show_money(money), currency.trim()).trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    #[case("45", 4500)]
    #[case("45.50", 4550)]
    #[case("45,50", 4550)]
    #[case(" 45.5 ", 4550)]
    #[case("0", 0)]
    #[case("0.07", 7)]
    #[case("1000000", 100_000_000)]
    fn an_amount_is_read(#[case] text: &str, #[case] hundredths: i64) {
        assert_eq!(parse_money(text), Ok(Money(hundredths)));
    }

    #[rstest]
    #[case("")]
    #[case("-3")]
    #[case("EUR 3")]
    #[case("3.")]
    #[case(".5")]
    #[case("1.000,50")]
    #[case("1e3")]
    #[case("٤٥")]
    fn junk_is_refused_with_a_way_to_write_it(#[case] text: &str) {
        let error = parse_money(text).unwrap_err();
        assert!(matches!(error, MoneyError::Junk { .. }), "{error:?}");
        assert!(error.to_string().contains("hint: write 45"), "{error}");
    }

    #[test]
    fn parts_of_a_cent_and_fortunes_are_refused() {
        assert!(matches!(parse_money("1.234"), Err(MoneyError::Decimals { .. })));
        for text in ["1000000.01", "99999999999999999999", "9223372036854775807"] {
            assert!(matches!(parse_money(text), Err(MoneyError::TooMuch { .. })), "{text}");
        }
    }

    #[test]
    fn the_minutes_of_an_hour_cost_an_hour() {
        let hour = Money(6000);
        assert_eq!(hour.for_minutes(60), hour);
        assert_eq!(hour.for_minutes(20), Money(2000));
        assert_eq!(Money(100).for_minutes(1), Money(2), "1.67 hundredths");
        assert_eq!(hour.for_minutes(0), Money(0));
    }

    proptest! {
        #[test]
        fn what_is_shown_is_read_back(hundredths in 0..=MOST) {
            prop_assert_eq!(parse_money(&show_money(Money(hundredths))), Ok(Money(hundredths)));
        }

        #[test]
        fn a_sum_loses_nothing(amounts in prop::collection::vec(0..=MOST, 0..20)) {
            let sum: Money = amounts.iter().copied().map(Money).sum();
            prop_assert_eq!(sum.in_hundredths(), amounts.iter().sum::<i64>());
        }
    }

    #[test]
    fn a_price_names_its_currency() {
        assert_eq!(show_price(Money(4550), "EUR"), "45.50 EUR");
        assert_eq!(show_price(Money(5), " "), "0.05");
    }
}
