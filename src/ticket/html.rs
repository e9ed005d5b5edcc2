//! The ticket as one self-contained page.

use super::Ticket;
use super::clean::{html_line, html_lines};
use super::markdown::not_cured;
use super::papers::{Papers, Section};
use super::rows::{
    Asked, Caution, Fault, Finding, Narrowing, NotDone, Outcome, Proof, Repair, Round, Sound, Suspect,
};
use super::style::css;
use crate::draw::svg_themed;
use crate::units::show_percent;

/// Returns the ticket as a page without scripts or anything fetched; the same ticket gives the same text.
pub fn html(ticket: &Ticket) -> String {
    let title = html_line(&ticket.instrument);
    let sections = [
        outcome(ticket.outcome.as_ref()),
        intake(ticket),
        rounds(&ticket.rounds),
        fault(ticket.fault.as_ref()),
        sound(ticket.sound.as_ref()),
        repair(ticket.repair.as_ref()),
        proofs(&ticket.proofs),
        drawing(ticket),
        findings(&ticket.findings, ticket.minutes),
        asked(&ticket.asked),
        not_done(&ticket.not_done),
        narrowing(&ticket.narrowing),
        cautions(&ticket.cautions),
        papers(&ticket.papers),
    ];
    page(&format!("Repair ticket: {title}"), "", &sections.concat())
}

/// Returns a whole page; title and body are HTML already, the style is added to that of all pages.
pub(super) fn page(title: &str, style: &str, body: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n<title>{title}</title>\n\
         <style>\n{}{style}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n{body}</main>\n</body>\n</html>\n",
        css()
    )
}

fn section(heading: &str, body: &str) -> String {
    format!("<section>\n<h2>{heading}</h2>\n{body}</section>\n")
}

/// Returns a section with a table whose cells are HTML already; nothing when there are no rows.
pub(super) fn table<const N: usize>(heading: &str, head: [&str; N], rows: Vec<[String; N]>) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let head: String = head.iter().map(|name| format!("<th scope=\"col\">{name}</th>")).collect();
    let row = |cells: &[String; N]| -> String {
        let cell = |(i, words): (usize, &String)| match i {
            0 => format!("<th scope=\"row\">{words}</th>"),
            _ => format!("<td>{words}</td>"),
        };
        format!("<tr>{}</tr>\n", cells.iter().enumerate().map(cell).collect::<String>())
    };
    let body: String = rows.iter().map(row).collect();
    let table = format!("<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>\n");
    section(heading, &format!("<div class=\"wide\">\n{table}</div>\n"))
}

fn outcome(outcome: Option<&Outcome>) -> String {
    let words = match outcome {
        None => "<strong>Still open.</strong>".to_owned(),
        Some(end) if end.cured => {
            format!("<strong>Cured and proved</strong>, closed {}.", html_line(&end.at))
        }
        Some(end) => {
            let (at, reason) = (html_line(&end.at), html_lines(&end.reason));
            format!("<strong>Closed unproven</strong>, {at}. Reason: {reason}")
        }
    };
    format!("<p class=\"outcome\">{words}</p>\n")
}

fn intake(ticket: &Ticket) -> String {
    let fact = |(name, words): &(&str, String)| format!("<dt>{name}</dt><dd>{}</dd>\n", html_lines(words));
    let facts: String = ticket.facts.iter().map(fact).collect();
    let complaint = format!("<blockquote>{}</blockquote>\n", html_lines(&ticket.complaint));
    section("Complaint", &complaint) + &section("What came in", &format!("<dl>\n{facts}</dl>\n"))
}

fn rounds(rounds: &[Round]) -> String {
    let row = |r: &Round| {
        let cells = [&r.fault.sentence, &r.repair.what, &not_cured(r)].map(|words| html_lines(words));
        let [fault, repair, why] = cells;
        [fault, repair, why, html_line(&r.at)]
    };
    let head = ["fault named", "repair", "why it was not all", "when"];
    table("Repairs before", head, rounds.iter().map(row).collect())
}

fn fault(fault: Option<&Fault>) -> String {
    let Some(fault) = fault else { return String::new() };
    let ids: String =
        fault.ids.iter().map(|id| format!("<li><code>{}</code></li>\n", html_line(id))).collect();
    let body = format!(
        "<p><strong>{}</strong></p>\n<ul>\n{ids}</ul>\n<p>Probability when it was named: {}, {}</p>\n\
         <p>To do: {} (about {:.0} min)</p>\n",
        html_lines(&fault.sentence),
        show_percent(fault.probability),
        html_line(&fault.at),
        html_lines(&fault.advice),
        fault.minutes
    );
    section("Fault", &body)
}

fn sound(sound: Option<&Sound>) -> String {
    let Some(sound) = sound else { return String::new() };
    let (sentence, into, svg) = (html_line(&sound.sentence), html_line(&sound.into), svg_themed(&sound.plot));
    let caption =
        "Decibels beside one volt in every coil. The healthy line is unbroken, the fault's is dashed.";
    let figure = format!("<figure>\n{svg}<figcaption>{caption} {into}.</figcaption>\n</figure>\n");
    section("Sound", &format!("<p>With the fault: {sentence}.</p>\n{figure}"))
}

fn repair(repair: Option<&Repair>) -> String {
    let Some(done) = repair else { return String::new() };
    let (what, at) = (html_lines(&done.what), html_line(&done.at));
    section("Repair", &format!("<p>{what}</p>\n<p>Took {:.0} min, {at}</p>\n", done.minutes))
}

fn proofs(proofs: &[Proof]) -> String {
    let row = |p: &Proof| {
        let verdict = if p.passed { "✓ passed" } else { "<strong>✗ failed</strong>" };
        let now = format!("{}<br><small>typed “{}”</small>", html_line(&p.found), html_line(&p.typed));
        let found = now + &replaced("taken again", &p.earlier);
        [html_line(&p.sentence), html_line(&p.expected), found, verdict.to_owned(), html_line(&p.at)]
    };
    let head = ["measured", "healthy reads", "found", "result", "when"];
    table("Proof", head, proofs.iter().map(row).collect())
}

fn drawing(ticket: &Ticket) -> String {
    let caption = if ticket.fault.is_some() {
        "The named fault is marked by a dashed ring or dashed lines, with its probability."
    } else {
        "The leading suspects are marked by dashed rings or dashed lines, with their probabilities."
    };
    let svg = svg_themed(&ticket.picture);
    section("Wiring", &format!("<figure>\n{svg}<figcaption>{caption}</figcaption>\n</figure>\n"))
}

fn findings(findings: &[Finding], minutes: f64) -> String {
    let row = |f: &Finding| {
        let (number, asked) = (f.number.to_string(), f.asked_by.to_owned());
        [number, html_line(&f.sentence), asked, html_line(&f.expected), found(f), html_line(&f.at)]
    };
    let head = ["no.", "measured", "asked by", "healthy reads", "found", "when"];
    let table = table("Readings", head, findings.iter().map(row).collect());
    if table.is_empty() {
        table
    } else {
        format!("{table}<p>Estimated hands-on time: {minutes:.0} min</p>\n")
    }
}

/// Returns what was typed before it was replaced; nothing when it never was.
fn replaced(how: &str, earlier: &[String]) -> String {
    let earlier: Vec<String> =
        earlier.iter().map(|typed| format!("“<del>{}</del>”", html_line(typed))).collect();
    if earlier.is_empty() { String::new() } else { format!("<br>{how}, before {}", earlier.join(", ")) }
}

fn found(f: &Finding) -> String {
    let now = format!("{}<br><small>typed “{}”</small>", html_line(&f.found), html_line(&f.typed));
    let corrected = replaced("corrected", &f.earlier);
    match &f.withdrawn {
        Some(reason) => {
            format!("<del>{now}</del>{corrected}<br><strong>withdrawn</strong>: {}", html_line(reason))
        }
        None => now + &corrected,
    }
}

fn asked(asked: &[Asked]) -> String {
    let row = |a: &Asked| [html_line(&a.question), html_line(&a.answer), html_line(&a.at)];
    table("Looked at and asked", ["question", "answer", "when"], asked.iter().map(row).collect())
}

fn not_done(list: &[NotDone]) -> String {
    let row = |n: &NotDone| [html_line(&n.sentence), html_line(&n.reason)];
    table("Proposed but not done", ["measurement", "why not"], list.iter().map(row).collect())
}

fn narrowing(steps: &[Narrowing]) -> String {
    let leader = |step: &Narrowing, i: usize| step.leaders.get(i).map_or(String::new(), suspect);
    let row = |step: &Narrowing| [html_line(&step.after), leader(step, 0), leader(step, 1), leader(step, 2)];
    let head = ["after", "first suspect", "second", "third"];
    table("How the suspects narrowed", head, steps.iter().map(row).collect())
}

/// Returns a suspect with its probability in words and as a bar.
fn suspect(suspect: &Suspect) -> String {
    let (share, words) = (show_percent(suspect.probability), html_line(&suspect.sentence));
    let wide = suspect.probability.clamp(0.0, 1.0) * 100.0;
    let bar = format!(
        "<svg class=\"bar\" viewBox=\"0 0 100 8\" width=\"100\" height=\"8\" aria-hidden=\"true\">\
         <rect class=\"rail\" width=\"100\" height=\"8\"/><rect class=\"fill\" width=\"{wide:.1}\" height=\"8\"/></svg>"
    );
    format!("{bar} <strong>{share}</strong><br>{words}")
}

fn papers(papers: &Papers) -> String {
    let cleaned = |section: Section| {
        let rows = section.every_row().map(|row| row.each_ref().map(|cell| html_lines(cell))).collect();
        table(section.heading, section.head, rows)
    };
    papers.sections().into_iter().map(cleaned).collect()
}

fn cautions(cautions: &[Caution]) -> String {
    let row = |c: &Caution| [html_lines(&c.text), html_line(&c.at)];
    table("Cautions shown", ["caution", "when"], cautions.iter().map(row).collect())
}
