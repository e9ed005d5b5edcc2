//! The arguments of the commands about prices, consent, photos, earlier jobs, the shop and the ticket.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::help::STATE;
use super::picture::Looked;
use crate::job::Consent;
use crate::session::whole_minutes;
use crate::ticket::{Paper, TicketCopy};
use crate::units::{Money, parse_money};

const SHOP: &str = "\
JSON: {\"file\", \"name\", \"lines\", \"currency\", \"labour_per_hour\", \"warranty_days\", \"cautions\", \"paper\", \"logo\"}; with --copy {\"file\"}
  file: null when there is none; labour_per_hour: a text such as \"60.00\" or null; logo: whether there is one
The shop's file is the one that LUGWISE_SHOP names, or shop.ron in the folder of your own wirings.";

/// The commands about prices, consent, photos and earlier jobs.
#[derive(Debug, Subcommand)]
pub(super) enum PaperVerb {
    /// Say what the work will cost; without lines it is proposed from the named fault and the price of an hour
    #[command(after_help = STATE)]
    Estimate {
        /// The job file
        job: PathBuf,
        #[command(flatten)]
        lines: Lines,
        /// What is not gone beyond without a call, such as 80; the sum of the lines when not given
        #[arg(long, value_name = "MONEY", value_parser = money)]
        ceiling: Option<Money>,
        /// What was said to the customer with it
        #[arg(long, value_name = "WORDS", default_value = "")]
        said: String,
    },
    /// Record that the customer agreed to a ceiling
    #[command(after_help = STATE)]
    Authorise {
        /// The job file
        job: PathBuf,
        /// What may be spent at most, such as 80
        #[arg(long, value_name = "MONEY", value_parser = money)]
        ceiling: Money,
        /// Who agreed
        #[arg(long, value_name = "NAME")]
        by: String,
        /// How: telephone, in-person or in-writing
        #[arg(long, value_name = "HOW", value_parser = consent)]
        how: Consent,
    },
    /// Say what is to be paid; without lines it is the repair as it was done and all else of the estimate
    #[command(after_help = STATE)]
    Bill {
        /// The job file
        job: PathBuf,
        #[command(flatten)]
        lines: Lines,
    },
    /// Copy a photo into the folder beside the job; one that is in the job already is kept once, with the new caption
    #[command(after_help = STATE)]
    Photo {
        /// The job file
        job: PathBuf,
        /// The photo; it stays where it is
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// What it shows
        #[arg(long, value_name = "WORDS", default_value = "")]
        caption: String,
        /// Print it on the ticket; it must be PNG or JPEG, at most 5 MB and 4000 by 4000 dots
        #[arg(long)]
        print: bool,
    },
    /// Say that the job is a comeback of an earlier one
    #[command(after_help = STATE)]
    Warranty {
        /// The job file
        job: PathBuf,
        /// The earlier job's file
        #[arg(long, value_name = "JOB")]
        of: PathBuf,
        /// Why it belongs to the earlier one, such as "same fault, same place"
        #[arg(long, value_name = "WORDS")]
        why: String,
    },
    /// Show the shop that stands on printed tickets, or make an example of its file
    #[command(after_help = SHOP)]
    Shop {
        /// Write an example to a file of your own, to be changed; all names in it are invented
        #[arg(long)]
        copy: bool,
        /// The file to make; where the shop's is looked for when not given
        #[arg(short, long, value_name = "FILE", requires = "copy")]
        output: Option<PathBuf>,
    },
}

/// The lines of an estimate or a bill.
#[derive(Debug, Default, Args)]
pub(super) struct Lines {
    /// Work with its minutes, such as "solder the jack"=20
    #[arg(long = "work", value_name = "WHAT=MINUTES", value_parser = work)]
    pub works: Vec<(String, u32)>,
    /// A part with its price, such as "jack"=8.50
    #[arg(long = "part", value_name = "WHAT=MONEY", value_parser = part)]
    pub parts: Vec<(String, Money)>,
    /// The price of an hour of work; that of the shop's file when not given
    #[arg(long, value_name = "MONEY", value_parser = money)]
    pub per_hour: Option<Money>,
    /// What stands behind prices, such as EUR; that of the shop's file when not given
    #[arg(long, value_name = "TEXT")]
    pub currency: Option<String>,
}

/// What ticket is to be written.
#[derive(Debug, Args)]
pub(super) struct TicketWish {
    /// The job file
    pub job: PathBuf,
    /// The file to write
    #[arg(short, long, value_name = "FILE")]
    pub output: PathBuf,
    /// md, html or pdf; what the file's name ends in when not given
    #[arg(long, value_name = "FORM", value_parser = ["md", "html", "pdf"])]
    pub format: Option<String>,
    /// Whose copy a PDF file is: customer or bench; the customer's when not given
    #[arg(long, value_name = "COPY", value_parser = copy)]
    pub copy: Option<TicketCopy>,
    /// The paper of a PDF file: a4, a3 or letter; that of the shop's file, or a4, when not given
    #[arg(long, value_name = "PAPER", value_parser = paper)]
    pub paper: Option<Paper>,
    #[command(flatten)]
    pub looked: Looked,
}

/// Reads an amount of money.
fn money(text: &str) -> Result<Money, String> {
    parse_money(text).map_err(|error| error.to_string().replace("\nhint: ", "; "))
}

fn consent(text: &str) -> Result<Consent, String> {
    Consent::named(text).ok_or_else(|| format!("expected {}", Consent::ALL.map(Consent::name).join(", ")))
}

fn copy(text: &str) -> Result<TicketCopy, String> {
    TicketCopy::named(text)
        .ok_or_else(|| format!("expected {}", TicketCopy::ALL.map(TicketCopy::name).join(" or ")))
}

fn paper(text: &str) -> Result<Paper, String> {
    Paper::named(text).ok_or_else(|| format!("expected {}", Paper::ALL.map(Paper::name).join(", ")))
}

/// Splits a line at its last equals sign.
fn split(text: &str) -> Option<(String, &str)> {
    let (what, value) = text.rsplit_once('=')?;
    let what = what.trim().trim_matches('"').trim();
    (!what.is_empty()).then(|| (what.to_owned(), value.trim()))
}

fn work(text: &str) -> Result<(String, u32), String> {
    let wrong = || "expected WHAT=MINUTES, such as \"solder the jack\"=20".to_owned();
    let (what, minutes) = split(text).ok_or_else(wrong)?;
    whole_minutes(minutes).map(|minutes| (what, minutes)).ok_or_else(wrong)
}

fn part(text: &str) -> Result<(String, Money), String> {
    let (what, price) = split(text).ok_or_else(|| "expected WHAT=MONEY, such as \"jack\"=8.50".to_owned())?;
    money(price).map(|price| (what, price))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_split_at_its_last_equals_sign() {
        assert_eq!(work("\"a = b\"=20"), Ok(("a = b".to_owned(), 20)));
        assert_eq!(part("jack=8,50"), Ok(("jack".to_owned(), Money::hundredths(850))));
        for wrong in ["20", "=20", "solder=", "solder=a while", "solder=-3"] {
            assert!(work(wrong).is_err(), "{wrong}");
        }
    }
}
