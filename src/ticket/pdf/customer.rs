//! The customer's copy: what was wrong, what was done, how it was proved, what it costs.

use super::super::rows::{Outcome, Proof};
use super::super::{Shop, Ticket};
use super::parts::{bold, fact, heading, letterhead, outcome, photos, rounds, section, table, told, words};
use crate::draw::PdfError;
use crate::draw::pdf::Block;

/// Returns the blocks of the customer's copy.
pub(super) fn blocks(ticket: &Ticket, shop: &Shop, title: &str) -> Result<Vec<Block>, PdfError> {
    let fault = ticket.fault.as_ref().map_or("", |fault| fault.sentence.as_str());
    let heard = ticket
        .sound
        .as_ref()
        .map_or_else(String::new, |sound| format!("Beside a sound instrument it was: {}.", sound.sentence));
    let done = ticket.repair.as_ref().map_or("", |repair| repair.what.as_str());
    let parts = [
        letterhead(shop)?,
        vec![heading(1, title), outcome(ticket.outcome.as_ref()), words(&head(ticket))],
        told("What you told us", &ticket.complaint),
        rounds(&ticket.rounds),
        told("What was wrong", &format!("{fault}\n{heard}")),
        told("What was done", done),
        proof(ticket),
        ticket
            .papers
            .sections()
            .into_iter()
            .filter(|table| table.heading != "Photos")
            .flat_map(section)
            .collect(),
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

/// Says whose instrument it is and when it came.
fn head(ticket: &Ticket) -> String {
    let told = ["customer", "job opened", "technician"];
    let line = |name: &str| fact(ticket, name).map(|words| format!("{name}: {words}"));
    told.into_iter().filter_map(line).collect::<Vec<_>>().join("\n")
}

/// Says in words how the repair was proved, reading by reading.
fn proof(ticket: &Ticket) -> Vec<Block> {
    if ticket.repair.is_none() {
        return Vec::new();
    }
    let (all, passed) = (ticket.proofs.len(), ticket.proofs.iter().filter(|proof| proof.passed).count());
    if all == 0 {
        return vec![heading(2, "Proof"), bold("NOT PROVED: no reading was taken after the repair.")];
    }
    let row = |proof: &Proof| {
        let result = if proof.passed { "passed" } else { "NOT PASSED" };
        [proof.sentence.clone(), proof.expected.clone(), proof.found.clone(), result.to_owned()]
    };
    let head = ["measured after the repair", "a sound instrument reads", "yours reads", "result"];
    let mut blocks = table("Proof", head, [4.0, 2.0, 2.0, 1.2], ticket.proofs.iter().map(row).collect());
    let said = format!("{passed} of {all} readings taken after the repair are those of a sound instrument.");
    blocks.push(if passed == all { words(&said) } else { bold(&said) });
    blocks
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
        said += " What was not proved may come back: bring the instrument with this ticket if it does.";
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
