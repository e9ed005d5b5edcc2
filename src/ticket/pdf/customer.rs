//! The customer's copy: what was wrong, what was done, how it was proved, what it costs.

use super::super::papers::day;
use super::super::plain_fault;
use super::super::plain_words::{plainly, shown};
use super::super::rows::{Outcome, Proof, Round};
use super::super::{Shop, Ticket};
use super::parts::{bold, fact, heading, letterhead, photos, section, table, told, words};
use crate::draw::PdfError;
use crate::draw::pdf::Block;

/// Returns the blocks of the customer's copy.
pub(super) fn blocks(ticket: &Ticket, shop: &Shop, title: &str) -> Result<Vec<Block>, PdfError> {
    let done = ticket.repair.as_ref().map_or("", |repair| repair.what.as_str());
    let prices = ticket.papers.by_day().sections().into_iter().filter(|table| priced(table.heading));
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
        vec![Block::Sign(vec![
            "Customer: date and signature".to_owned(),
            "Workshop: date and signature".to_owned(),
        ])],
    ];
    Ok(parts.into_iter().flatten().collect())
}

/// Returns whether a table is set here as it is; photos and an earlier repair are told in another way.
fn priced(heading: &str) -> bool {
    !matches!(heading, "Photos" | "Comeback")
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
    let proved_by = ticket.repair.as_ref().filter(|_| proved(ticket)).map(|repair| repair.what.as_str());
    let fault = ticket.fault.as_ref().map(|named| plain_fault::fault(named, proved_by));
    let heard = ticket.sound.as_ref().map(|sound| sound.heard.clone());
    fault.into_iter().chain(heard).collect::<Vec<_>>().join("\n")
}

/// Returns whether measurements prove the repair.
fn proved(ticket: &Ticket) -> bool {
    let unproven = ticket.outcome.as_ref().is_some_and(|end| !end.cured);
    !unproven && !ticket.proofs.is_empty() && ticket.proofs.iter().all(|proof| proof.passed)
}

/// Tells the repairs that were not all that was wrong.
fn rounds(rounds: &[Round]) -> Vec<Block> {
    let row = |round: &Round| {
        let fault = plain_fault::fault(&round.fault, None);
        [fault, round.repair.what.clone(), still_wrong(round), day(&round.at).to_owned()]
    };
    let head = ["what was found first", "what was done", "what was still wrong", "on"];
    table("What was repaired before", head, [3.0, 3.0, 3.0, 1.4], rounds.iter().map(row).collect())
}

/// Says what a repair did not cure: in the customer's own words, and by what was measured.
fn still_wrong(round: &Round) -> String {
    let said = Some(format!("“{}”", round.remains)).filter(|_| !round.remains.is_empty());
    let failed =
        round.failed.iter().map(|proof| format!("{}: {}", plainly(&proof.sentence), shown(&proof.found)));
    said.into_iter().chain(failed).collect::<Vec<_>>().join("; ")
}

/// What the table of the proof says, for one who has no meter.
const ABOUT_PROOF: &str = "Each one says how hard it is for electricity to pass between two points, in ohms (Ω) or \
                           thousands of ohms (kΩ) unless another unit stands there. It is passed when it lies within \
                           what a healthy instrument shows.";

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
    let controls = shared(&ticket.proofs);
    let head = ["measured between", "should show", "yours shows", "result"];
    let mut blocks = table(title, head, [5.8, 1.7, 1.4, 1.1], proof_rows(&ticket.proofs, &controls));
    let said = format!("{passed} of {all} measurements are those of a healthy instrument.");
    let with = if controls.is_empty() { String::new() } else { format!(", with {controls}") };
    let about = format!("They were taken after the repair{}. {ABOUT_PROOF}", plainly(&with));
    if passed == all {
        blocks.push(words(&format!("{said} {about}")));
    } else {
        blocks.extend([bold(&said), words(&about)]);
    }
    blocks
}

/// Returns how the controls stood in every one of several measurements, as far as it is said last of each.
fn shared(proofs: &[Proof]) -> String {
    let pieces = |proof: &Proof| proof.controls.split(", ").map(str::to_owned).collect::<Vec<_>>();
    let mut all = proofs.iter().map(pieces);
    let mut same = all.next().filter(|_| proofs.len() > 1).unwrap_or_default();
    for others in all {
        let alike = same.iter().rev().zip(others.iter().rev()).take_while(|(a, b)| a == b).count();
        same.drain(..same.len() - alike);
    }
    same.join(", ")
}

/// Returns a row for each measurement. One that was taken again while something was moved shares the row of the first
/// when both passed.
fn proof_rows(proofs: &[Proof], controls: &str) -> Vec<[String; 4]> {
    let mut rows = Vec::new();
    let mut rest = proofs;
    while let Some((first, others)) = rest.split_first() {
        let again = others.first().and_then(|second| Some((second, moved(first, second)?)));
        rest = if again.is_some() { &others[1..] } else { others };
        rows.push(proof_row(first, again, controls));
    }
    rows
}

fn proof_row(first: &Proof, again: Option<(&Proof, &str)>, controls: &str) -> [String; 4] {
    let bare = first.sentence.strip_suffix(controls).unwrap_or(&first.sentence).trim_end_matches(", ");
    let (mut measured, mut found) = (plainly(bare), shown(&first.found));
    if let Some((second, moved)) = again {
        measured += &format!(", also {}", plainly(moved));
        let second = shown(&second.found);
        found = if second.starts_with(&found) { second } else { format!("{found}; {second}") };
    }
    let result = if first.passed { "passed" } else { "NOT PASSED" };
    [measured, plainly(&first.expected), found, result.to_owned()]
}

/// Returns what was moved in the second of two measurements that passed and are the same but for that.
fn moved<'a>(first: &Proof, second: &'a Proof) -> Option<&'a str> {
    let alike = first.passed && second.passed && first.expected == second.expected;
    let start = second.sentence.find(", while flexing ").filter(|_| alike)?;
    let rest = first.sentence.strip_prefix(&second.sentence[..start])?;
    second.sentence[start + 2..].strip_suffix(rest)
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
