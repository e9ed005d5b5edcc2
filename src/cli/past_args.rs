//! What `past` is told on the command line.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::failure::Failure;
use super::past_help::{
    BACKUP, CHECKED, EXPORT, FIGURES, FORGET, IMPORT, LEARNT, LOOKED, MERGE, REPLAY, REPORT, RESTORE, SHOW,
};
use crate::archive::audit::By;
use crate::archive::{Ending, Filter};
use crate::readings::Symptom;
use crate::session::{Chart, past_date, past_until};

/// Past jobs: listed, or what else is done with them.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(super) struct Past {
    /// What is done; a list when nothing is said.
    #[command(subcommand)]
    pub verb: Option<PastVerb>,
    #[command(flatten)]
    pub list: Listed,
}

/// Which jobs are listed.
#[derive(Debug, Args)]
pub(super) struct Listed {
    /// Words that a job must hold, in customer, instrument, complaint, fault, parts, repair, prices, consent or remarks
    pub words: Vec<String>,
    #[command(flatten)]
    pub which: Which,
    /// How many are listed at most
    #[arg(long, value_name = "N", default_value = "50", value_parser = clap::value_parser!(u32).range(1..))]
    pub limit: u32,
}

/// A filter on jobs.
#[derive(Debug, Default, Args)]
pub(super) struct Which {
    /// Opened on this day or later: 2026, 2026-03 or 2026-03-02
    #[arg(long, value_name = "DATE", value_parser = past_date)]
    pub from: Option<String>,
    /// Opened on this day or earlier, in this month or in this year
    #[arg(long, value_name = "DATE", value_parser = past_date)]
    pub to: Option<String>,
    /// On this wiring, by its name
    #[arg(long, value_name = "NAME")]
    pub wiring: Option<String>,
    /// By this technician
    #[arg(long, value_name = "NAME")]
    pub technician: Option<String>,
    /// With this complaint, such as silent or hum
    #[arg(long, value_name = "COMPLAINT")]
    pub complaint: Option<Symptom>,
    /// That are open, cured or unproven
    #[arg(long, value_name = "ENDING", value_parser = ending)]
    pub ending: Option<Ending>,
    /// Closed, and the instrument came back
    #[arg(long)]
    pub came_back: bool,
    /// Closed, and the fault named last was another than the first
    #[arg(long)]
    pub renamed: bool,
}

impl Which {
    /// Returns the filter for the archive; refuses days of which the last comes before the first.
    pub(super) fn filter(&self) -> Result<Filter, Failure> {
        let until = self.to.as_deref().map(past_until);
        if let (Some(from), Some(to), Some(until)) = (&self.from, &self.to, &until)
            && from >= until
        {
            return Err(Failure::new(format!("--from {from} comes after --to {to}"))
                .with_hint("name the earlier day first"));
        }
        Ok(Filter {
            from: self.from.clone(),
            until,
            wiring: self.wiring.clone(),
            technician: self.technician.clone(),
            complaint: self.complaint,
            ending: self.ending,
            came_back: self.came_back,
            renamed: self.renamed,
            common: None,
        })
    }

    /// Returns the filter in words, each part with its name.
    pub(super) fn facts(&self) -> Vec<(&'static str, String)> {
        let complaint = self.complaint.map(|complaint| complaint.name().to_owned());
        let ending = self.ending.map(|ending| ending.name().to_owned());
        let parts = [
            ("from", self.from.clone()),
            ("to", self.to.clone()),
            ("wiring", self.wiring.clone()),
            ("technician", self.technician.clone()),
            ("complaint", complaint),
            ("ending", ending),
            ("came-back", self.came_back.then(|| "yes".to_owned())),
            ("renamed", self.renamed.then(|| "yes".to_owned())),
        ];
        parts.into_iter().filter_map(|(name, value)| Some((name, value?))).collect()
    }
}

/// What is done with past jobs.
#[derive(Debug, Subcommand)]
pub(super) enum PastVerb {
    /// Tell what one job came to
    #[command(after_help = SHOW)]
    Show {
        /// The job's name, or its beginning
        uid: String,
    },
    /// Tell a job step by step, exactly as it went
    #[command(after_help = REPLAY)]
    Replay {
        /// The job's name, or its beginning
        uid: String,
        /// Tell this step in full; the first is 1
        #[arg(long, value_name = "N", conflicts_with = "from_start")]
        step: Option<usize>,
        /// Tell every step in full
        #[arg(long)]
        from_start: bool,
    },
    /// Take job files in
    #[command(after_help = IMPORT)]
    Import {
        /// Job files, or folders of them
        #[arg(required = true, value_name = "FILE|FOLDER")]
        paths: Vec<PathBuf>,
    },
    /// Write a job file, or all jobs for other programs
    #[command(after_help = EXPORT)]
    Export(Exported),
    /// Take in the jobs of another archive, from its `export --all --format ndjson`
    #[command(after_help = MERGE)]
    Merge {
        /// The file of jobs
        file: PathBuf,
    },
    /// Copy the archive to a new file, while it is in use
    #[command(after_help = BACKUP)]
    Backup {
        /// The file to make
        file: PathBuf,
    },
    /// Put a backup in the archive's place; what was there is set aside
    #[command(after_help = RESTORE)]
    Restore {
        /// The backup
        file: PathBuf,
    },
    /// Take the customer out of a job, and the instrument's name and number; its readings stay
    #[command(after_help = FORGET)]
    Forget {
        /// The job's name, or its beginning
        uid: String,
        /// Do it; it cannot be undone
        #[arg(long)]
        yes: bool,
    },
    /// Make lists, figures and the index of words anew from the events
    #[command(after_help = LOOKED)]
    Rebuild,
    /// Look the whole archive through
    #[command(after_help = CHECKED)]
    Check,
    /// Count: jobs per week, minutes, what was found, how the checks served, what came back
    #[command(after_help = FIGURES)]
    Figures(Figures),
    /// Write all figures as a page to print
    #[command(after_help = REPORT)]
    Report {
        /// The file to make, which ends in .html
        #[arg(short, long, value_name = "FILE")]
        output: PathBuf,
        /// What jobs are put together by: all, kind, family, fault, place, wiring or technician
        #[arg(long, default_value = "kind", value_parser = by)]
        by: By,
        #[command(flatten)]
        which: Which,
    },
    /// Tell what cured jobs teach about how often things fail, and let it move the priors of new jobs
    #[command(after_help = LEARNT)]
    Learnt {
        /// From now on, let past jobs move the priors of new ones
        #[arg(long, conflicts_with = "off")]
        on: bool,
        /// From now on, use the priors as they are
        #[arg(long)]
        off: bool,
        /// Tell it for a job on this wiring, by its name
        #[arg(long, value_name = "NAME")]
        wiring: Option<String>,
    },
}

/// What is exported, and how.
#[derive(Debug, Args)]
pub(super) struct Exported {
    /// The job's name, or its beginning
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    pub uid: Option<String>,
    /// All jobs
    #[arg(long)]
    pub all: bool,
    /// How all jobs are written
    #[arg(long, value_enum, default_value = "ndjson", requires = "all")]
    pub format: AllAs,
    /// The file to make; of one job, a folder will do
    #[arg(short, long, value_name = "FILE")]
    pub output: PathBuf,
}

/// How all jobs are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum AllAs {
    /// One JSON object a line.
    Ndjson,
    /// Two tables of columns.
    #[value(name = "parquet")]
    Columns,
}

/// What is counted.
#[derive(Debug, Args)]
pub(super) struct Figures {
    /// One figure: weeks, minutes, pareto and so on; all when not given
    #[arg(long, value_name = "CHART")]
    pub chart: Option<Chart>,
    /// What jobs are put together by: all, kind, family, fault, place, wiring or technician
    #[arg(long, default_value = "kind", value_parser = by)]
    pub by: By,
    #[command(flatten)]
    pub which: Which,
    /// text, csv or json
    #[arg(long, value_enum, default_value = "text")]
    pub format: FiguresAs,
}

/// How figures are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum FiguresAs {
    /// Columns for people.
    Text,
    /// Comma-separated values.
    Csv,
    /// JSON.
    Json,
}

fn ending(text: &str) -> Result<Ending, String> {
    let found = Ending::ALL.into_iter().find(|ending| ending.name().eq_ignore_ascii_case(text));
    found.ok_or_else(|| "expected open, cured or unproven".to_owned())
}

/// What jobs can be put together by, with the names used here.
pub(super) const GROUPS: [(&str, By); 7] = [
    ("all", By::All),
    ("kind", By::Kind),
    ("family", By::Family),
    ("fault", By::Fault),
    ("place", By::Place),
    ("wiring", By::Wiring),
    ("technician", By::Technician),
];

fn by(text: &str) -> Result<By, String> {
    let found = GROUPS.iter().find(|(name, _)| name.eq_ignore_ascii_case(text));
    let names = || GROUPS.map(|(name, _)| name).join(", ");
    found.map(|(_, by)| *by).ok_or_else(|| format!("there are {}", names()))
}

/// Returns the name of what jobs are put together by.
pub(super) fn by_name(by: By) -> &'static str {
    GROUPS.iter().find(|(_, known)| *known == by).map_or("all", |(name, _)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_day_counts() {
        let day = |text: &str| Some(text.to_owned());
        let reversed = Which { from: day("2026-12"), to: day("2026-01"), ..Which::default() };
        assert_eq!(
            reversed.filter().unwrap_err().to_string().lines().next(),
            Some("error: --from 2026-12 comes after --to 2026-01")
        );
        assert!(Which { from: day("2026-03-02"), to: day("2026-03"), ..Which::default() }.filter().is_ok());
        let which = Which { to: day("2026-03"), ..Which::default() };
        let until = which.filter().unwrap().until.unwrap();
        assert!("2026-03-31T23:59:59Z" < until.as_str() && "2026-04-01T00:00:00Z" > until.as_str());
    }
}
