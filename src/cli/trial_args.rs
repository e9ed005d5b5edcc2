//! What `trial` is told on the command line.

use std::path::PathBuf;

use clap::Args;

use crate::readings::{Access, Symptom};
use crate::trial::Policy;

/// What is tried, and how.
#[derive(Debug, Args)]
pub(super) struct Rehearsal {
    /// Names, short codes or files
    #[arg(required = true, value_name = "WIRING")]
    pub wirings: Vec<String>,
    /// How the next measurement is chosen: advisor, half-split, greedy, random or tree:TREE, which is the name
    /// of a tree that comes with the program or of one of your own, or a file
    #[arg(long, default_value = "advisor", value_parser = way_to_choose)]
    pub policy: WayToChoose,
    /// Try so many faults of each wiring, taken evenly from its list; every one when not given
    #[arg(long, value_name = "N", value_parser = count)]
    #[arg(allow_negative_numbers = true)]
    pub singles: Option<usize>,
    /// Try so many instruments with two faults as well
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = count)]
    #[arg(allow_negative_numbers = true)]
    pub pairs: usize,
    /// Try so many instruments that nothing is wrong with as well
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = count)]
    #[arg(allow_negative_numbers = true)]
    pub healthy: usize,
    /// So many instruments as they come in: each fault as often as its prior says
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = count)]
    #[arg(allow_negative_numbers = true)]
    pub drawn: usize,
    /// What the customer says of every instrument that comes in: each fault as often as it is behind that
    #[arg(long, value_name = "SYMPTOM", requires = "drawn")]
    pub complaint: Option<Symptom>,
    /// Try so many instruments with something that the list of faults does not hold as well
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = count)]
    #[arg(allow_negative_numbers = true)]
    pub outside: usize,
    /// Where all chance comes from: part values, meter errors, what is drawn
    #[arg(long, value_name = "NUMBER", default_value_t = 1000, value_parser = seed)]
    #[arg(allow_negative_numbers = true)]
    pub seed: u64,
    /// The class of meter; `handheld` is the ordinary one
    #[arg(long)]
    pub meter: Option<String>,
    /// How far the technician may go: telephone, outside, may-open or may-unsolder
    #[arg(long, default_value = "may-unsolder")]
    pub access: Access,
    /// So many readings of a hundred are taken or typed wrongly: a lug beside, a knob or switch elsewhere, ohms for
    /// kilohms, no contact
    #[arg(long, value_name = "PERCENT", default_value_t = 0.0, value_parser = share_of_hundred)]
    #[arg(allow_negative_numbers = true)]
    pub slips: f64,
    /// The program holds every fault so many times too likely or too unlikely, at random
    #[arg(long, value_name = "FACTOR", default_value_t = 1.0, value_parser = times_off)]
    #[arg(allow_negative_numbers = true)]
    pub priors_off: f64,
    /// A file of your own priors instead of the usual one
    #[arg(long, value_name = "FILE")]
    pub priors: Option<PathBuf>,
    /// How many threads work; as many as there are cores when not given
    #[arg(long, value_name = "N", value_parser = at_least_one)]
    #[arg(allow_negative_numbers = true)]
    pub threads: Option<usize>,
    /// Draw calibration and readings to this file, which ends in .svg
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Make an archive of so many invented past jobs instead: some visits are played, and each job is one of them with a
    /// customer, a technician and a day of its own
    #[arg(long, value_name = "N", requires = "archive", value_parser = count)]
    #[arg(conflicts_with_all = ["policy", "singles", "pairs", "healthy", "drawn", "complaint", "outside", "slips", "priors_off", "plot"])]
    #[arg(allow_negative_numbers = true)]
    pub jobs: Option<usize>,
    /// The archive to make
    #[arg(long, value_name = "FILE", requires = "jobs")]
    pub archive: Option<PathBuf>,
    /// So many visits are played for it, on all wirings together; 60 when not given
    #[arg(long, value_name = "N", requires = "jobs", value_parser = at_least_one)]
    #[arg(allow_negative_numbers = true)]
    pub pool: Option<usize>,
    /// The last day on which a job comes in, such as 2026-03-02; today when not given. They come in over ten years
    #[arg(long, value_name = "DATE", requires = "jobs", value_parser = end_of_day)]
    pub until: Option<i64>,
}

/// The moment after the last second of a day, in seconds since 1970.
fn end_of_day(text: &str) -> Result<i64, String> {
    let wrong = |_error| format!("\"{text}\" is no date; write one such as 2026-03-02");
    let day: jiff::civil::Date = text.parse().map_err(wrong)?;
    let next = day.tomorrow().map_err(wrong)?;
    let midnight = next.to_zoned(jiff::tz::TimeZone::UTC).map_err(wrong)?;
    Ok(midnight.timestamp().as_second())
}

/// How the next measurement is chosen, as it was written.
#[derive(Clone, Debug)]
pub(super) struct WayToChoose {
    pub policy: Policy,
    /// The tree that leads.
    pub tree: Option<String>,
    pub written: String,
}

/// Reads a policy: its name, or `tree:TREE`.
fn way_to_choose(text: &str) -> Result<WayToChoose, String> {
    let written = text.to_owned();
    if let Some(tree) = text.strip_prefix("tree:").filter(|tree| !tree.is_empty()) {
        return Ok(WayToChoose { policy: Policy::Tree, tree: Some(tree.to_owned()), written });
    }
    let found = Policy::PLAIN.into_iter().find(|policy| policy.name() == text);
    found.map(|policy| WayToChoose { policy, tree: None, written }).ok_or_else(|| {
        let names = Policy::PLAIN.map(Policy::name).join(", ");
        format!("expected {names} or tree:TREE")
    })
}

/// The most instruments of one kind that a trial takes.
const MOST: usize = 1_000_000;

/// Reads how many instruments are tried.
fn count(text: &str) -> Result<usize, String> {
    match text.parse::<usize>() {
        Ok(count) if count <= MOST => Ok(count),
        _ => Err(format!("expected a whole number from 0 to {MOST}, such as 20")),
    }
}

/// Reads where chance comes from.
fn seed(text: &str) -> Result<u64, String> {
    text.parse()
        .map_err(|_error| "expected a whole number from 0 to 18446744073709551615, such as 1000".to_owned())
}

/// Reads a share in percent.
fn share_of_hundred(text: &str) -> Result<f64, String> {
    match text.trim_end_matches(['%', ' ']).parse::<f64>() {
        Ok(percent) if (0.0..=100.0).contains(&percent) => Ok(percent),
        _ => Err("expected a number from 0 to 100, such as 2".to_owned()),
    }
}

/// Reads how many times a prior is off.
fn times_off(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(factor) if (1.0..=1000.0).contains(&factor) => Ok(factor),
        _ => Err("expected a number from 1 to 1000, such as 10".to_owned()),
    }
}

/// Reads a number of threads or steps.
pub(super) fn at_least_one(text: &str) -> Result<usize, String> {
    match text.parse::<usize>() {
        Ok(count) if (1..=1024).contains(&count) => Ok(count),
        _ => Err("expected a number from 1 to 1024".to_owned()),
    }
}
