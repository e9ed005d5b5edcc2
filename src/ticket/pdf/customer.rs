//! The customer's copy: what was wrong, what was done, how it was proved, what it costs.

use super::super::plain_words::{self, plainly};
use super::super::rows::{Outcome, Proof, Round};
use super::super::{Shop, Ticket};
use super::parts::{bold, fact, heading, letterhead, photos, section, table, told, words};
use crate::draw::PdfError;
use crate::draw::pdf::Block;

/// Returns the blocks of the customer's copy.
pub(super) fn blocks(ticket: &Ticket, shop: &Shop, title: &str) -> Result<Vec<Block>, PdfError> {
    let done = ticket.repair.as_ref().map_or("", |repair| repair.what.as_str());
    let prices = ticket.papers.sections().into_iter().filter(|table| priced(table.heading));
    let parts = [
        letterhead(shop)?,
        vec![heading(1, title), outcome(ticket.outcome.as_ref()), words(&head(ticket))],
        told("What you told us", &ticket.complaint),
        rounds(&ticket.rounds),
        told("What was wrong", &wrong(ticket)),
        told("What was done", done),
        proof(ticket),
        prices.flat_map(section).collect(),
        comeback(ticket),
        photos(&ticket.papers.photos)?,
        warranty(ticket.outcome.as_ref(), shop),
        cautions(shop),
        vec![
            heading(2, "Signed"),
            Block::Sign(vec![
                "Customer: date and signature".to_owned(),
                "Workshop: date and signature".to_owned(),
            ]),
        ],
    ];
    Ok(parts.into_iter().flatten().collect())
}

/// Returns whether a table is set here as it is; photos and an earlier repair are told in another way.
fn priced(heading: &str) -> bool {
    !matches!(heading, "Photos" | "Comeback")
}

/// Returns the day of a moment in words.
fn day(moment: &str) -> &str {
    moment.get(..10).unwrap_or(moment)
}

/// Says how the work ended.
fn outcome(outcome: Option<&Outcome>) -> Block {
    match outcome {
        None => bold("The work is not finished yet."),
        Some(end) if end.cured => {
            bold(&format!("Repaired, and proved by measuring. Finished on {}.", day(&end.at)))
        }
        Some(end) => bold(&format!(
            "NOT PROVED: finished on {} without all of the measurements that would prove it. The reason: {}",
            day(&end.at),
            end.reason
        )),
    }
}

/// Says whose instrument it is and when it came.
fn head(ticket: &Ticket) -> String {
    let told = [("customer", "Customer"), ("job opened", "Came in on"), ("technician", "Worked on by")];
    let words =
        |name: &str| fact(ticket, name).map(|words| if name == "job opened" { day(words) } else { words });
    let line = |(name, said): (&str, &str)| words(name).map(|words| format!("{said}: {words}"));
    told.into_iter().filter_map(line).collect::<Vec<_>>().join("\n")
}

/// Says what was wrong and how that sounds.
fn wrong(ticket: &Ticket) -> String {
    let fault = ticket.fault.as_ref().map(|named| plain_words::fault(&named.sentence));
    let heard = ticket.sound.as_ref().map(|sound| sound.heard.clone());
    fault.into_iter().chain(heard).collect::<Vec<_>>().join("\n")
}

/// Tells the repairs that were not all that was wrong.
fn rounds(rounds: &[Round]) -> Vec<Block> {
    let row = |round: &Round| {
        let fault = plain_words::fault(&round.fault.sentence);
        [fault, round.repair.what.clone(), still_wrong(round), day(&round.at).to_owned()]
    };
    let head = ["what was found first", "what was done", "what was still wrong", "on"];
    table("What was repaired before", head, [3.0, 3.0, 3.0, 1.4], rounds.iter().map(row).collect())
}

/// Says what a repair did not cure: in the customer's own words, and by what was measured.
fn still_wrong(round: &Round) -> String {
    let said = Some(format!("“{}”", round.remains)).filter(|_| !round.remains.is_empty());
    let failed =
        round.failed.iter().map(|proof| format!("{}: {}", plainly(&proof.sentence), plainly(&proof.found)));
    said.into_iter().chain(failed).collect::<Vec<_>>().join("; ")
}

/// What the table of the proof says, for one who has no meter.
const ABOUT_PROOF: &str = "These measurements were taken after the repair. Each one says how well electricity passes \
                           between two points, in ohms (Ω) or thousands of ohms (kΩ) unless another unit stands there. \
                           It is passed when it lies between the two values that a healthy instrument shows.";

/// Says in words how the repair was proved, measurement by measurement.
fn proof(ticket: &Ticket) -> Vec<Block> {
    if ticket.repair.is_none() {
        return Vec::new();
    }
    let (all, passed) = (ticket.proofs.len(), ticket.proofs.iter().filter(|proof| proof.passed).count());
    let title = "How it was proved";
    if all == 0 {
        return vec![heading(2, title), bold("NOT PROVED: nothing was measured after the repair.")];
    }
    let row = |proof: &Proof| {
        let result = if proof.passed { "passed" } else { "NOT PASSED" };
        [plainly(&proof.sentence), plainly(&proof.expected), plainly(&proof.found), result.to_owned()]
    };
    let head = ["measured between", "a healthy instrument shows", "yours shows", "result"];
    let mut blocks = table(title, head, [4.0, 2.0, 2.0, 1.2], ticket.proofs.iter().map(row).collect());
    let said = format!("{passed} of {all} measurements are those of a healthy instrument.");
    blocks.extend([if passed == all { words(&said) } else { bold(&said) }, words(ABOUT_PROOF)]);
    blocks
}

/// Says which earlier repair this one belongs to.
fn comeback(ticket: &Ticket) -> Vec<Block> {
    let Some(earlier) = &ticket.papers.comeback else { return Vec::new() };
    let said = format!(
        "This work belongs to an earlier repair, for which the instrument came in on {}.\nWhy: {}\nThe earlier ticket: {}",
        day(&earlier.opened),
        earlier.why,
        earlier.job
    );
    told("An earlier repair", &said)
}

/// Says for how long the work is warranted, counted from the day on which the job was closed.
fn warranty(outcome: Option<&Outcome>, shop: &Shop) -> Vec<Block> {
    let Some(closed) = outcome.filter(|_| shop.warranty_days > 0) else { return Vec::new() };
    let until =
        last_day(&closed.at, shop.warranty_days).map_or_else(String::new, |day| format!(", to {day}"));
    let mut said = format!(
        "The work named on this ticket is warranted for {} days from the day it was closed{until}. It covers the work \
         that was done and the parts that were put in, not the wear of parts that were left as they were.",
        shop.warranty_days
    );
    if !closed.cured {
        said += " What could not be proved may come back: bring the instrument with this ticket if it does.";
    }
    told("Warranty", &said)
}

/// Returns the last day of a span that begins on the day of a moment in words.
fn last_day(moment: &str, days: u32) -> Option<String> {
    let day: jiff::civil::Date = moment.get(..10)?.parse().ok()?;
    let span = jiff::Span::new().try_days(i64::from(days)).ok()?;
    day.checked_add(span).ok().map(|day| day.to_string())
}

fn cautions(shop: &Shop) -> Vec<Block> {
    let usual = "Unplug the instrument from everything that is mains-powered before any cover is opened.";
    let all: Vec<&str> = std::iter::once(usual).chain(shop.cautions.iter().map(String::as_str)).collect();
    told("Please read", &all.join("\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counted on a calendar: March has 31 days, April 30, and 2028 is a leap year.
    #[test]
    fn a_warranty_ends_on_its_last_day() {
        assert_eq!(last_day("2026-03-02 09:14:05 UTC", 90).as_deref(), Some("2026-05-31"));
        assert_eq!(last_day("2028-02-28 23:59:59 UTC", 1).as_deref(), Some("2028-02-29"));
        assert_eq!(last_day("yesterday", 90), None);
    }
}
