//! The ticket as Markdown.

use super::Ticket;
use super::clean::{md_line, md_quote};
use super::papers::{Papers, Section};
use super::rows::{Asked, Caution, Fault, Finding, Narrowing, NotDone, Outcome, Proof, Repair, Round, Sound};
use crate::units::show_percent;

/// Returns the ticket as Markdown; the same ticket gives the same text.
pub fn markdown(ticket: &Ticket) -> String {
    let parts = [
        format!("# Repair ticket: {}\n", md_line(&ticket.instrument)),
        outcome(ticket.outcome.as_ref()),
        intake(ticket),
        findings(&ticket.findings, ticket.minutes),
        asked(&ticket.asked),
        not_done(&ticket.not_done),
        narrowing(&ticket.narrowing),
        rounds(&ticket.rounds),
        fault(ticket.fault.as_ref()),
        sound(ticket.sound.as_ref()),
        repair(ticket.repair.as_ref()),
        proofs(&ticket.proofs),
        cautions(&ticket.cautions),
        papers(&ticket.papers),
    ];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    parts.join("\n")
}

/// Returns a heading with a table below it; nothing when there are no rows.
pub(super) fn table<const N: usize>(heading: &str, head: [&str; N], rows: Vec<[String; N]>) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let rule = vec!["---".to_owned(); N];
    let body: String = rows.iter().map(|row| line(row)).collect();
    format!("## {heading}\n\n{}{}{body}", line(&head.map(str::to_owned)), line(&rule))
}

fn outcome(outcome: Option<&Outcome>) -> String {
    match outcome {
        None => "**Still open.**\n".to_owned(),
        Some(end) if end.cured => format!("**Cured and proved**, closed {}.\n", md_line(&end.at)),
        Some(end) => {
            format!("**Closed unproven**, {}. Reason: {}\n", md_line(&end.at), md_line(&end.reason))
        }
    }
}

fn intake(ticket: &Ticket) -> String {
    let fact = |(name, words): &(&str, String)| format!("- {name}: {}\n", md_line(words));
    let facts: String = ticket.facts.iter().map(fact).collect();
    format!("## Complaint\n\n{}\n\n## What came in\n\n{facts}", md_quote(&ticket.complaint))
}

fn findings(findings: &[Finding], minutes: f64) -> String {
    let row = |f: &Finding| {
        let number = f.number.to_string();
        [number, md_line(&f.sentence), f.asked_by.to_owned(), f.expected.clone(), found(f), md_line(&f.at)]
    };
    let head = ["no.", "measured", "asked by", "healthy reads", "found", "when"];
    let table = table("Readings", head, findings.iter().map(row).collect());
    if table.is_empty() { table } else { format!("{table}\nEstimated hands-on time: {minutes:.0} min\n") }
}

fn quoted(typed: &[String]) -> String {
    let quoted: Vec<String> = typed.iter().map(|typed| format!("“{}”", md_line(typed))).collect();
    quoted.join(", ")
}

fn found(f: &Finding) -> String {
    let mut words = format!("typed “{}”: {}", md_line(&f.typed), f.found);
    if !f.earlier.is_empty() {
        words += &format!("; **corrected**, before {}", quoted(&f.earlier));
    }
    if let Some(reason) = &f.withdrawn {
        words += &format!("; **withdrawn**: {}", md_line(reason));
    }
    words
}

fn asked(asked: &[Asked]) -> String {
    let row = |a: &Asked| [md_line(&a.question), md_line(&a.answer), md_line(&a.at)];
    table("Looked at and asked", ["question", "answer", "when"], asked.iter().map(row).collect())
}

fn not_done(list: &[NotDone]) -> String {
    let row = |n: &NotDone| [md_line(&n.sentence), md_line(&n.reason)];
    table("Proposed but not done", ["measurement", "why not"], list.iter().map(row).collect())
}

fn narrowing(steps: &[Narrowing]) -> String {
    let leader = |step: &Narrowing, i: usize| {
        let words = |s: &super::Suspect| format!("{}: {}", show_percent(s.probability), md_line(&s.sentence));
        step.leaders.get(i).map_or(String::new(), words)
    };
    let row = |step: &Narrowing| [step.after.clone(), leader(step, 0), leader(step, 1), leader(step, 2)];
    let head = ["after", "first suspect", "second", "third"];
    table("How the suspects narrowed", head, steps.iter().map(row).collect())
}

fn rounds(rounds: &[Round]) -> String {
    let row = |r: &Round| {
        [md_line(&r.fault.sentence), md_line(&r.repair.what), md_line(&not_cured(r)), md_line(&r.at)]
    };
    let head = ["fault named", "repair", "why it was not all", "when"];
    table("Repairs before", head, rounds.iter().map(row).collect())
}

/// Returns what said that a repair did not cure.
pub(super) fn not_cured(round: &Round) -> String {
    let failed = round.failed.iter().map(|p| format!("{}: {}", p.sentence, p.found));
    let remains = Some(&round.remains).filter(|words| !words.is_empty()).map(|words| format!("“{words}”"));
    remains.into_iter().chain(failed).collect::<Vec<_>>().join("; ")
}

fn fault(fault: Option<&Fault>) -> String {
    let Some(fault) = fault else { return String::new() };
    let ids: Vec<String> = fault.ids.iter().map(|id| format!("- {}\n", md_line(id))).collect();
    format!(
        "## Fault\n\n{}\n\n{}\nProbability when it was named: {}, {}\n\nTo do: {} (about {:.0} min)\n",
        md_line(&fault.sentence),
        ids.concat(),
        show_percent(fault.probability),
        md_line(&fault.at),
        md_line(&fault.advice),
        fault.minutes
    )
}

fn sound(sound: Option<&Sound>) -> String {
    let Some(sound) = sound else { return String::new() };
    let (sentence, into) = (md_line(&sound.sentence), md_line(&sound.into));
    let table = table("Sound", ["frequency", "healthy", "with the fault"], sound.levels.clone());
    format!("{table}\nWith the fault: {sentence}. Decibels beside one volt in every coil; {into}.\n")
}

fn repair(repair: Option<&Repair>) -> String {
    let Some(done) = repair else { return String::new() };
    format!("## Repair\n\n{}\n\nTook {:.0} min, {}\n", md_quote(&done.what), done.minutes, md_line(&done.at))
}

fn proofs(proofs: &[Proof]) -> String {
    let row = |p: &Proof| {
        let mut found = format!("typed “{}”: {}", md_line(&p.typed), p.found);
        if !p.earlier.is_empty() {
            found += &format!("; **taken again**, before {}", quoted(&p.earlier));
        }
        let verdict = if p.passed { "passed" } else { "**failed**" };
        [md_line(&p.sentence), p.expected.clone(), found, verdict.to_owned(), md_line(&p.at)]
    };
    let head = ["measured", "healthy reads", "found", "result", "when"];
    table("Proof", head, proofs.iter().map(row).collect())
}

fn papers(papers: &Papers) -> String {
    let cleaned = |section: Section| {
        let rows = section.every_row().map(|row| row.each_ref().map(|cell| md_line(cell))).collect();
        table(section.heading, section.head, rows)
    };
    papers.sections().into_iter().map(cleaned).collect::<Vec<_>>().join("\n")
}

fn cautions(cautions: &[Caution]) -> String {
    let row = |c: &Caution| [md_line(&c.text), md_line(&c.at)];
    table("Cautions shown", ["caution", "when"], cautions.iter().map(row).collect())
}
