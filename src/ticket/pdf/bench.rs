//! The copy for the bench: everything that was read, thought and done.

use super::super::rows::{Finding, Narrowing, Proof, Suspect};
use super::super::{Shop, Ticket};
use super::parts::{bold, heading, letterhead, outcome, photos, rounds, section, table, told, words};
use crate::draw::pdf::Block;
use crate::draw::{PdfError, Picture};
use crate::units::show_percent;

/// Returns the blocks of the copy for the bench.
pub(super) fn blocks(ticket: &Ticket, shop: &Shop, title: &str) -> Result<Vec<Block>, PdfError> {
    let parts = [
        letterhead(shop)?,
        vec![heading(1, title), outcome(ticket.outcome.as_ref())],
        unproven(ticket),
        told("Complaint", &ticket.complaint),
        facts(ticket),
        rounds(&ticket.rounds),
        fault(ticket),
        repair(ticket),
        proofs(&ticket.proofs),
        vec![wiring(ticket)],
        sound(ticket),
        readings(ticket),
        narrowing(&ticket.narrowing),
        beside(ticket),
        ticket.papers.sections().into_iter().flat_map(section).collect(),
        photos(&ticket.papers.photos)?,
    ];
    Ok(parts.into_iter().flatten().collect())
}

/// Names every point that nothing proves.
fn unproven(ticket: &Ticket) -> Vec<Block> {
    let mut points: Vec<String> = Vec::new();
    if ticket.repair.is_some() && ticket.proofs.is_empty() {
        points.push("no reading was taken after the repair".to_owned());
    }
    let failed = ticket.proofs.iter().filter(|proof| !proof.passed);
    points.extend(failed.map(|proof| format!("outside its band: {}: {}", proof.sentence, proof.found)));
    points.extend(ticket.not_done.iter().map(|n| format!("not measured: {} ({})", n.sentence, n.reason)));
    if points.is_empty() {
        return Vec::new();
    }
    let lines: Vec<String> = points.iter().map(|point| format!("NOT PROVED: {point}")).collect();
    vec![heading(2, "Not proved"), bold(&lines.join("\n"))]
}

fn facts(ticket: &Ticket) -> Vec<Block> {
    let row = |(name, words): &(&str, String)| [(*name).to_owned(), words.clone()];
    table("What came in", ["what", "as it was"], [1.0, 3.0], ticket.facts.iter().map(row).collect())
}

fn fault(ticket: &Ticket) -> Vec<Block> {
    let Some(fault) = &ticket.fault else { return Vec::new() };
    let named = format!("Probability {} when it was named, {}", show_percent(fault.probability), fault.at);
    let advice = format!("To do: {} (about {:.0} min)", fault.advice, fault.minutes);
    vec![
        heading(2, "Fault"),
        bold(&fault.sentence),
        words(&format!("{}\n{named}\n{advice}", fault.ids.join("\n"))),
    ]
}

fn repair(ticket: &Ticket) -> Vec<Block> {
    let done = ticket.repair.as_ref();
    let said = done.map(|done| format!("{}\nTook {:.0} min, {}", done.what, done.minutes, done.at));
    said.map_or_else(Vec::new, |said| told("Repair", &said))
}

fn quoted(typed: &[String]) -> String {
    typed.iter().map(|typed| format!("“{typed}”")).collect::<Vec<_>>().join(", ")
}

fn proofs(proofs: &[Proof]) -> Vec<Block> {
    let row = |proof: &Proof| {
        let mut found = format!("{}\ntyped “{}”", proof.found, proof.typed);
        if !proof.earlier.is_empty() {
            found += &format!("\ntaken again, before {}", quoted(&proof.earlier));
        }
        let result = if proof.passed { "passed" } else { "FAILED" };
        [proof.sentence.clone(), proof.expected.clone(), found, result.to_owned(), proof.at.clone()]
    };
    let head = ["measured", "healthy reads", "found", "result", "when"];
    table("Proof", head, [3.4, 2.0, 2.0, 1.1, 1.6], proofs.iter().map(row).collect())
}

fn figure(heading: &str, picture: &Picture, caption: &str) -> Block {
    let (heading, caption) = (heading.to_owned(), caption.to_owned());
    Block::Figure { heading, picture: Box::new(picture.clone()), caption }
}

fn wiring(ticket: &Ticket) -> Block {
    let caption = if ticket.fault.is_some() {
        "The named fault is marked by a dashed ring or dashed lines, with its probability."
    } else {
        "The leading suspects are marked by dashed rings or dashed lines, with their probabilities."
    };
    figure("Wiring", &ticket.picture, caption)
}

fn sound(ticket: &Ticket) -> Vec<Block> {
    let Some(sound) = &ticket.sound else { return Vec::new() };
    let caption = format!(
        "With the fault: {}. Decibels beside one volt in every coil; {}. The healthy line is unbroken, the fault's is \
         dashed.",
        sound.sentence, sound.into
    );
    vec![figure("Sound", &sound.plot, &caption)]
}

fn readings(ticket: &Ticket) -> Vec<Block> {
    let head = ["no.", "measured", "asked by", "healthy reads", "found", "when"];
    let shares = [0.6, 3.2, 1.2, 2.0, 2.2, 1.6];
    let mut blocks = table("Readings", head, shares, ticket.findings.iter().map(reading).collect());
    if !blocks.is_empty() {
        blocks.push(words(&format!("Estimated hands-on time: {:.0} min", ticket.minutes)));
    }
    blocks
}

fn reading(finding: &Finding) -> [String; 6] {
    let mut found = format!("{}\ntyped “{}”", finding.found, finding.typed);
    if !finding.earlier.is_empty() {
        found += &format!("\nCORRECTED, before {}", quoted(&finding.earlier));
    }
    if let Some(reason) = &finding.withdrawn {
        found += &format!("\nWITHDRAWN: {reason}");
    }
    let (number, asked) = (finding.number.to_string(), finding.asked_by.to_owned());
    [number, finding.sentence.clone(), asked, finding.expected.clone(), found, finding.at.clone()]
}

fn narrowing(steps: &[Narrowing]) -> Vec<Block> {
    let told = |s: &Suspect| format!("{}: {}", show_percent(s.probability), s.sentence);
    let leader = |step: &Narrowing, at: usize| step.leaders.get(at).map_or_else(String::new, told);
    let row = |step: &Narrowing| [step.after.clone(), leader(step, 0), leader(step, 1), leader(step, 2)];
    let head = ["after", "first suspect", "second", "third"];
    table("How the suspects narrowed", head, [1.3, 3.0, 3.0, 3.0], steps.iter().map(row).collect())
}

/// Tells what was asked, what was not done, and which cautions were shown.
fn beside(ticket: &Ticket) -> Vec<Block> {
    let asked = ticket.asked.iter().map(|a| [a.question.clone(), a.answer.clone(), a.at.clone()]).collect();
    let skipped = ticket.not_done.iter().map(|n| [n.sentence.clone(), n.reason.clone()]).collect();
    let cautions = ticket.cautions.iter().map(|c| [c.text.clone(), c.at.clone()]).collect();
    [
        table("Looked at and asked", ["question", "answer", "when"], [4.0, 3.0, 2.0], asked),
        table("Proposed but not done", ["measurement", "why not"], [4.0, 3.0], skipped),
        table("Cautions shown", ["caution", "when"], [5.0, 2.0], cautions),
    ]
    .concat()
}
