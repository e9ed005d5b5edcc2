//! The report of `trial` in words and columns.

use super::reply::columns;
use crate::trial::{Decile, Kind, Numbers, Outcome, PairFound, Policy, Report, Setup, WiringReport};

/// Returns the report, line by line.
pub(super) fn text(report: &Report, setup: &Setup) -> Vec<String> {
    let mut lines = Vec::new();
    for wiring in &report.wirings {
        lines.extend(of_wiring(wiring, setup));
        lines.push(String::new());
        lines.extend(misses(&wiring.misses));
        lines.push(String::new());
    }
    if report.wirings.len() > 1 {
        lines.extend(of_wiring(&report.all, setup));
    }
    while lines.pop_if(|last| last.is_empty()).is_some() {}
    lines
}

fn of_wiring(report: &WiringReport, setup: &Setup) -> Vec<String> {
    let mut lines = vec![format!("{}:", report.wiring)];
    lines.push(columns(&table(report)));
    lines.extend(report.bound.map(|bound| {
        format!(
            "no way of working needs fewer than {:.2} readings or {:.1} minutes on average: {:.1} bits, {} outcomes at most",
            bound.readings, bound.minutes, bound.bits, bound.outcomes
        )
    }));
    lines.extend(remarks(report, setup));
    lines.extend(calibration(report));
    lines
}

const HEAD: [&str; 10] = [
    "instruments",
    "cases",
    "found",
    "wrong",
    "guesses",
    "group",
    "readings",
    "9 in 10",
    "minutes",
    "doubted",
];

fn table(report: &WiringReport) -> Vec<Vec<String>> {
    let head = HEAD.map(str::to_owned).to_vec();
    let rows = Kind::ALL.into_iter().filter_map(|kind| Some(row(kind, report.of(kind)?)));
    std::iter::once(head).chain(rows).collect()
}

fn row(kind: Kind, numbers: &Numbers) -> Vec<String> {
    vec![
        named(kind).to_owned(),
        numbers.cases.to_string(),
        percent(numbers.share),
        numbers.wrong.to_string(),
        numbers.guesses.to_string(),
        format!("{:.1}", numbers.group),
        format!("{:.2}", numbers.readings),
        numbers.readings_90.to_string(),
        format!("{:.1}", numbers.minutes),
        numbers.flagged.to_string(),
    ]
}

fn named(kind: Kind) -> &'static str {
    match kind {
        Kind::Single => "with one fault",
        Kind::Healthy => "healthy",
        Kind::Drawn => "as they come in",
        Kind::Pair => "with two faults",
        Kind::Outside => "outside the catalogue",
    }
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

/// Says what the columns do not.
fn remarks(report: &WiringReport, setup: &Setup) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(numbers) = &report.healthy {
        lines.push(format!(
            "healthy: {} of {} end with \"nothing wrong in the instrument\"",
            numbers.acquitted, numbers.cases
        ));
    }
    if let Some(numbers) = &report.pairs {
        let [both, cured, one, none] = numbers.pairs;
        lines.push(format!(
            "two faults: {both} times both were among the first three suspects, {cured} times one was and its repair \
             passed every proof with nothing left to complain of, {one} times one, {none} times none"
        ));
    }
    lines.extend(report.outside.as_ref().map(doubt));
    if let Some(singles) = &report.singles {
        lines.push(format!(
            "false alarms: {} of {} instruments with one fault were held to be outside the catalogue",
            singles.flagged, singles.cases
        ));
    }
    let total = |of: fn(&Numbers) -> usize| -> usize {
        Kind::ALL.into_iter().filter_map(|kind| report.of(kind)).map(of).sum()
    };
    if setup.slips > 0.0 {
        lines.push(format!("slips: {}", total(|numbers| numbers.slips)));
    }
    if setup.policy == Policy::Tree {
        lines.push(format!("led by the tree at first: {}", total(|numbers| numbers.by_tree)));
    }
    lines
}

fn doubt(numbers: &Numbers) -> String {
    let after = numbers.flagged_after.map_or_else(String::new, |readings| {
        format!(", after {readings:.1} readings that nothing explains on average")
    });
    format!(
        "outside: of {}, {} gave readings that contradict the catalogue, and {} of these were held to be outside it by the third{after}",
        numbers.cases, numbers.contradicted, numbers.flagged_in_time
    )
}

/// Returns the calibration as columns; tenths in which nothing was announced are left out.
fn calibration(report: &WiringReport) -> Vec<String> {
    let head = ["announced", "verdicts", "mean", "true", "suspects", "mean", "true", "true by prior"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    let both = report.verdicts.iter().zip(&report.suspects);
    rows.extend(both.filter(|(v, s)| v.count + s.count > 0).map(|(v, s)| decile(v, s)));
    if rows.len() == 1 { Vec::new() } else { vec![String::new(), columns(&rows)] }
}

fn decile(verdicts: &Decile, suspects: &Decile) -> Vec<String> {
    let told = |share: Option<f64>| share.map_or_else(|| "-".to_owned(), percent);
    vec![
        format!("{:>3.0} to {:.0} %", 100.0 * verdicts.from, 100.0 * verdicts.to),
        verdicts.count.to_string(),
        told(verdicts.announced),
        told(verdicts.held),
        suspects.count.to_string(),
        told(suspects.announced),
        told(suspects.held),
        told(suspects.held_by_prior),
    ]
}

fn misses(all: &[Outcome]) -> Vec<String> {
    if all.is_empty() {
        return vec!["every case went as it should".to_owned()];
    }
    let mut lines = vec![format!("{} cases did not go as they should:", all.len())];
    lines.extend(all.iter().map(miss));
    lines
}

/// Returns what else there is to say of a case that did not go as it should.
fn besides(outcome: &Outcome) -> &'static str {
    match (outcome.kind, outcome.pair) {
        (Kind::Pair, Some(PairFound::One)) => "; one of both among the likeliest",
        (Kind::Pair, _) => "; none of both among the likeliest",
        (Kind::Single | Kind::Healthy | Kind::Drawn, _) if outcome.flagged_after.is_some() => {
            "; doubted for nothing"
        }
        _ => "",
    }
}

fn miss(outcome: &Outcome) -> String {
    let concluded = match &outcome.concluded[..] {
        [] => "nothing".to_owned(),
        [only] => only.clone(),
        [first, others @ ..] => format!("{first} and {} more", others.len()),
    };
    format!(
        "  {}: concluded {concluded}, {} after {} readings{}",
        outcome.truth.join(" with "),
        percent(outcome.probability),
        outcome.readings,
        besides(outcome)
    )
}
