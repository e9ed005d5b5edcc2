//! What estimates and bills are made of: the price of work, and the lines that are proposed when none are given.

use thiserror::Error;

use super::Session;
use crate::job::{Estimate, Job, Paper, PriceLine};
use crate::ticket::Shop;
use crate::units::Money;
use crate::workbench::View;

/// Why lines could not be priced or proposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum PriceError {
    /// No price of an hour is known.
    #[error("cannot price the work: no price of an hour is known")]
    NoRate,
    /// There is no work to be estimated.
    #[error("cannot propose an estimate: no fault is named and there is no verdict yet")]
    NoWork,
    /// There is nothing that was done.
    #[error("cannot propose a bill: no repair is recorded")]
    NoRepair,
}

/// Work: what is done, and its whole minutes.
pub type Work = (String, u32);

/// The price of an hour of work, and what stands behind prices.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Rate {
    /// The price of an hour; `None` when none is known.
    pub per_hour: Option<Money>,
    /// The currency; may be empty.
    pub currency: String,
}

impl Rate {
    /// Returns what an estimate says, else what the shop says.
    pub fn of(shop: &Shop, known: Option<&Estimate>) -> Self {
        let told = known.map(|known| known.per_hour).filter(|price| *price > Money::default());
        let currency = known.map(|known| known.currency.clone()).filter(|currency| !currency.is_empty());
        Self {
            per_hour: told.or(shop.labour_per_hour),
            currency: currency.unwrap_or_else(|| shop.currency.clone()),
        }
    }

    /// Returns a line of work with its price.
    ///
    /// # Errors
    ///
    /// Returns [`PriceError::NoRate`] when no price of an hour is known.
    pub fn work(&self, what: &str, minutes: u32) -> Result<PriceLine, PriceError> {
        let labour = self.per_hour.ok_or(PriceError::NoRate)?.for_minutes(minutes);
        Ok(PriceLine { what: what.to_owned(), minutes, labour, parts: Money::default() })
    }
}

/// Returns a line for a part.
pub fn part_line(what: &str, price: Money) -> PriceLine {
    PriceLine { what: what.to_owned(), minutes: 0, labour: Money::default(), parts: price }
}

/// Reads whole minutes; `None` when the text is no whole number.
pub fn whole_minutes(text: &str) -> Option<u32> {
    text.trim().parse().ok()
}

/// Returns whole minutes; a begun one counts.
fn begun(minutes: f64) -> u32 {
    minutes.ceil().clamp(0.0, 1e6) as u32
}

/// Returns the work that the named fault asks for.
pub fn named_work(job: &Job) -> Option<Work> {
    job.concluded().map(|named| (named.repair.clone(), begun(named.minutes)))
}

/// Returns the work that the verdict asks for.
pub fn advised_work(view: &View) -> Option<Work> {
    view.verdict.as_ref().map(|verdict| (verdict.repair.clone(), begun(verdict.minutes)))
}

/// Returns the work that was done, as the repair tells it.
fn done_work(job: &Job) -> Option<Work> {
    job.repaired().map(|done| (done.what.clone(), begun(done.minutes)))
}

/// Returns the lines of an estimate that a bill takes over: all but the work that the repair as it was done stands for,
/// which is the line of the named repair, or else the first line of work. Of that line only a part stays.
pub fn agreed_beside(known: Option<&Estimate>, named: Option<&str>) -> Vec<PriceLine> {
    let lines = known.map_or(&[][..], |known| known.lines.as_slice());
    let works = |line: &PriceLine| line.minutes > 0 || line.labour > Money::default();
    let of_repair = lines.iter().position(|line| Some(line.what.as_str()) == named);
    let done = of_repair.or_else(|| lines.iter().position(works));
    let kept = |(at, line): (usize, &PriceLine)| match Some(at) == done {
        true if line.parts > Money::default() => Some(part_line(&line.what, line.parts)),
        true => None,
        false => Some(line.clone()),
    };
    lines.iter().enumerate().filter_map(kept).collect()
}

/// Returns the lines of a bill: the repair as it was done, and all else of the estimate as it was agreed.
///
/// # Errors
///
/// Returns [`PriceError`] when no repair is recorded, or no price of an hour is known.
pub fn done_lines(rate: &Rate, job: &Job) -> Result<Vec<PriceLine>, PriceError> {
    let (what, minutes) = done_work(job).ok_or(PriceError::NoRepair)?;
    let known = job.paper().estimate().map(|made| &made.estimate);
    let named = job.concluded().map(|named| named.repair.as_str());
    Ok(std::iter::once(rate.work(&what, minutes)?).chain(agreed_beside(known, named)).collect())
}

/// What is known of a job for its estimate, its bill, its photos and its earlier job.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PaperFacts {
    /// What has been settled on paper.
    pub paper: Paper,
    /// The work that an estimate is proposed from; `None` while none is known.
    pub advised: Option<Work>,
    /// The work that was done; `None` while no repair is recorded.
    pub done: Option<Work>,
    /// The repair of the named fault; `None` while none is named.
    pub named: Option<String>,
    /// The minutes of the work, as far as they are known.
    pub minutes: f64,
    /// The customer, as the intake names them; may be empty.
    pub customer: String,
}

impl PaperFacts {
    /// Returns what is known of an open job.
    pub fn of(session: &Session) -> Self {
        let job = session.bench().job();
        let repair = job.repaired().map(|done| done.minutes);
        Self {
            paper: job.paper().clone(),
            advised: named_work(job).or_else(|| advised_work(session.view())),
            done: done_work(job),
            named: job.concluded().map(|named| named.repair.clone()),
            minutes: repair.or_else(|| job.concluded().map(|named| named.minutes)).unwrap_or(0.0),
            customer: job.intake().customer.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn estimate(per_hour: i64, currency: &str) -> Estimate {
        let jack = part_line("jack", Money::hundredths(850));
        Estimate {
            lines: vec![PriceLine { minutes: 20, ..part_line("solder", Money::default()) }, jack],
            ceiling: Money::hundredths(4000),
            per_hour: Money::hundredths(per_hour),
            currency: currency.to_owned(),
            said: String::new(),
        }
    }

    #[test]
    fn what_the_estimate_says_goes_before_what_the_shop_says() {
        let hour = Some(Money::hundredths(6000));
        let shop = Shop { labour_per_hour: hour, currency: "EUR".to_owned(), ..Shop::default() };
        let rate = Rate::of(&shop, Some(&estimate(3000, "")));
        assert_eq!(rate, Rate { per_hour: Some(Money::hundredths(3000)), currency: "EUR".to_owned() });
        assert_eq!(Rate::of(&shop, Some(&estimate(0, "CHF"))).per_hour, hour);
        assert_eq!(rate.work("solder", 20).unwrap().labour, Money::hundredths(1000));
        assert_eq!(Rate::default().work("solder", 20), Err(PriceError::NoRate));
    }

    #[test]
    fn the_repair_stands_for_one_line_of_the_estimate_and_the_others_stay() {
        let jack = part_line("jack", Money::hundredths(850));
        let mut agreed = estimate(3000, "EUR");
        assert_eq!(agreed_beside(Some(&agreed), None), *std::slice::from_ref(&jack));
        assert!(agreed_beside(None, None).is_empty());
        let clean = PriceLine {
            minutes: 10,
            labour: Money::hundredths(500),
            ..part_line("clean the pots", Money::default())
        };
        agreed.lines.insert(0, clean.clone());
        assert_eq!(agreed_beside(Some(&agreed), Some("solder")), [clean, jack.clone()]);
        agreed.lines[1].parts = Money::hundredths(100);
        let solder = part_line("solder", Money::hundredths(100));
        assert_eq!(agreed_beside(Some(&agreed), Some("solder"))[1..], [solder, jack]);
    }

    #[test]
    fn minutes_are_whole() {
        assert_eq!((begun(12.2), begun(f64::NAN)), (13, 0));
        assert_eq!(whole_minutes(" 20 "), Some(20));
        for wrong in ["", "a while", "-3", "1.5"] {
            assert_eq!(whole_minutes(wrong), None, "{wrong}");
        }
    }
}
