//! The paper side of a job: what a command about prices, consent, photos or an earlier job leads to.

use serde::Serialize;

use super::{Command, WorkbenchError};
use crate::job::{Consent, Estimate, Event, Job, Paper, PriceLine, total};
use crate::units::{Money, show_price};

type Decided = Result<Vec<Event>, WorkbenchError>;

/// The most lines of an estimate or a bill.
const LINES: usize = 100;
/// The most minutes of one line: a week of work.
const MINUTES: u32 = 2400;

/// What has been settled on paper, in words.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PaperView {
    /// What the work will cost: `28.50 EUR, at most 60.00 EUR`; `None` while nothing was said.
    pub estimate: Option<String>,
    /// Who agreed to what, and how.
    pub authorised: Option<String>,
    /// What is to be paid.
    pub bill: Option<String>,
    /// The photos, each with its caption.
    pub photos: Vec<String>,
    /// The earlier job, with why.
    pub warranty: Option<String>,
}

/// Returns whether a command may still come when the job is closed.
pub(super) fn after_closing(command: &Command) -> bool {
    matches!(command, Command::Bill { .. } | Command::AddPhoto { .. })
}

fn refused(doing: &'static str, because: String) -> WorkbenchError {
    WorkbenchError::Stage { doing, because }
}

/// Says what is wrong with one line of an estimate or a bill.
///
/// # Errors
///
/// When it has no words, or more minutes than a week of work.
pub fn check_price_line(doing: &'static str, line: &PriceLine) -> Result<(), WorkbenchError> {
    if line.what.trim().is_empty() {
        return Err(WorkbenchError::Empty { what: "what a line is for" });
    }
    if line.minutes > MINUTES {
        let because =
            format!("\"{}\" takes {} minutes; at most {MINUTES} are allowed", line.what, line.minutes);
        return Err(refused(doing, because));
    }
    Ok(())
}

fn check_lines(doing: &'static str, lines: &[PriceLine]) -> Result<(), WorkbenchError> {
    if lines.is_empty() {
        return Err(WorkbenchError::Empty { what: "the list of lines" });
    }
    if lines.len() > LINES {
        return Err(refused(doing, format!("it has {} lines; at most {LINES} are allowed", lines.len())));
    }
    lines.iter().try_for_each(|line| check_price_line(doing, line))
}

/// Says what is wrong with an estimate.
///
/// # Errors
///
/// When a line is wrong, when there are none or too many, or when they come to more than the ceiling.
pub fn check_estimate(estimate: &Estimate) -> Result<(), WorkbenchError> {
    let doing = "estimating";
    check_lines(doing, &estimate.lines)?;
    let (sum, currency) = (total(&estimate.lines), &estimate.currency);
    if estimate.ceiling < sum {
        let [sum, ceiling] = [sum, estimate.ceiling].map(|money| show_price(money, currency));
        let because = format!(
            "the lines come to {sum}, more than the ceiling of {ceiling}\n  hint: raise the ceiling or leave work out"
        );
        return Err(refused(doing, because));
    }
    Ok(())
}

/// Returns the event of an estimate whose ceiling holds its lines.
pub(super) fn estimated(estimate: &Estimate) -> Decided {
    check_estimate(estimate)?;
    Ok(vec![Event::Estimated { estimate: estimate.clone() }])
}

/// Says what is wrong with what may be spent at most.
///
/// # Errors
///
/// When it is nothing.
pub fn check_ceiling(ceiling: Money) -> Result<(), WorkbenchError> {
    if ceiling > Money::default() {
        return Ok(());
    }
    let because = "nothing may be spent then; the ceiling must be more than 0".to_owned();
    Err(refused("recording consent", because))
}

/// Returns the event of a customer's consent.
pub(super) fn authorised(paper: &Paper, by: &str, how: Consent, ceiling: Money, currency: &str) -> Decided {
    if by.trim().is_empty() {
        return Err(WorkbenchError::Empty { what: "who agreed" });
    }
    check_ceiling(ceiling)?;
    let currency = named(paper, currency);
    Ok(vec![Event::Authorised { by: by.trim().to_owned(), how, ceiling, currency }])
}

/// Returns a currency; the one that was named last when none is given.
fn named(paper: &Paper, currency: &str) -> String {
    let given = currency.trim();
    if given.is_empty() { paper.currency().to_owned() } else { given.to_owned() }
}

/// Returns the event of a bill, with the sum of its lines.
pub(super) fn billed(paper: &Paper, lines: &[PriceLine], currency: &str) -> Decided {
    check_lines("making the bill", lines)?;
    let currency = named(paper, currency);
    Ok(vec![Event::Billed { lines: lines.to_vec(), total: total(lines), currency }])
}

/// Returns the event that names the earlier job.
pub(super) fn linked(job: &str, opened: &str, why: &str) -> Decided {
    if why.trim().is_empty() {
        return Err(WorkbenchError::Empty { what: "why it belongs to the earlier job" });
    }
    let (job, opened, why) = (job.to_owned(), opened.to_owned(), why.trim().to_owned());
    Ok(vec![Event::WarrantyOf { job, opened, why }])
}

/// Returns what must be said of the money: work over the ceiling, and work that nobody has agreed to.
pub(super) fn notices(job: &Job) -> Vec<String> {
    let paper = job.paper();
    let repair = job.repaired().map(|done| done.minutes);
    let minutes = repair.or_else(|| job.concluded().map(|named| named.minutes)).unwrap_or(0.0);
    let over = paper.over(minutes).map(|said| format!("Money: {said}"));
    let named = job.concluded().is_some() && job.closed().is_none();
    let open = named && paper.estimate().is_some() && paper.authorised.is_empty();
    let unsaid = open.then(|| "Money: nobody has agreed to the estimate yet".to_owned());
    over.into_iter().chain(unsaid).collect()
}

/// Returns what has been settled on paper.
pub(super) fn view(job: &Job) -> PaperView {
    let paper = job.paper();
    PaperView {
        estimate: paper.estimate().map(|made| estimate_in_words(&made.estimate)),
        authorised: paper.authorised.last().map(|agreed| {
            let ceiling = show_price(agreed.ceiling, &agreed.currency);
            format!("{} agreed {} to at most {ceiling}", agreed.by, agreed.how.words())
        }),
        bill: paper.bill.as_ref().map(|bill| show_price(bill.total, &bill.currency)),
        photos: paper.photos.iter().map(|photo| format!("{}: {}", photo.file, photo.caption)).collect(),
        warranty: paper.warranty.as_ref().map(|earlier| format!("{}: {}", earlier.job, earlier.why)),
    }
}

fn estimate_in_words(estimate: &Estimate) -> String {
    let show = |money| show_price(money, &estimate.currency);
    format!("{}, at most {}", show(total(&estimate.lines)), show(estimate.ceiling))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(what: &str, minutes: u32, labour: i64) -> PriceLine {
        let labour = Money::hundredths(labour);
        PriceLine { what: what.to_owned(), minutes, labour, parts: Money::default() }
    }

    fn estimate(lines: Vec<PriceLine>, ceiling: i64) -> Estimate {
        let (per_hour, currency) = (Money::hundredths(6000), "EUR".to_owned());
        Estimate { lines, ceiling: Money::hundredths(ceiling), per_hour, currency, said: String::new() }
    }

    #[test]
    fn a_ceiling_below_the_lines_is_refused_with_both_sums() {
        let error = estimated(&estimate(vec![line("solder", 20, 2000)], 1999)).unwrap_err().to_string();
        assert!(error.contains("20.00 EUR") && error.contains("19.99 EUR"), "{error}");
        assert!(estimated(&estimate(vec![line("solder", 20, 2000)], 2000)).is_ok());
    }

    #[test]
    fn lines_without_words_or_without_end_are_refused() {
        assert!(estimated(&estimate(Vec::new(), 100)).is_err());
        assert!(estimated(&estimate(vec![line("  ", 1, 0)], 100)).is_err());
        assert!(estimated(&estimate(vec![line("solder", MINUTES + 1, 0)], 100)).is_err());
        assert!(estimated(&estimate(vec![line("solder", 1, 0); LINES + 1], 100)).is_err());
    }

    #[test]
    fn a_bill_takes_the_currency_that_was_named_before_and_sums_its_lines() {
        let paper = Paper::default();
        let lines = vec![line("solder", 20, 2000), line("clean", 5, 505)];
        let bill = Event::Billed {
            lines: lines.clone(),
            total: Money::hundredths(2505),
            currency: "EUR".to_owned(),
        };
        assert_eq!(billed(&paper, &lines, " EUR ").unwrap(), [bill]);
    }

    #[test]
    fn consent_needs_a_person_and_a_sum() {
        let paper = Paper::default();
        let agreed = |by: &str, ceiling: i64| {
            authorised(&paper, by, Consent::Telephone, Money::hundredths(ceiling), "EUR")
        };
        assert!(agreed("the owner", 8000).is_ok());
        assert!(agreed(" ", 8000).is_err() && agreed("the owner", 0).is_err());
    }
}
