//! The commands, their arguments and their help.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use super::help::{
    AUDIT, CHECK, COIL, COPY, FAULTS, NETLIST, PICTURE, PREDICT, PRIORS, RESPONSE, STATE, TICKET, TREE,
    TRIAL, WIRINGS,
};
use super::paper_args::{PaperVerb, TicketWish};
use super::past_args::Past;
use super::past_help::PAST;
use super::picture::Looked;
use super::response::hertz;
use super::tree_args::TreeVerb;
use super::trial_args::Rehearsal;
use crate::readings::{Access, Mode, Symptom};
use crate::units::{Farads, Hertz, Ohms, parse_farads, parse_ohms};

const ABOUT: &str = "Finds the one joint, wire, braid strand or part at fault in an electric guitar's wiring, \
                     one meter reading at a time.\n\nWithout a command, the window opens.";

const AFTER: &str = "\
WIRING is the name of a wiring that comes with the program or of one of your own (`lugwise wirings` lists them), its
short code, or any wiring file. JOB is a job file: made by `start`, added to by the commands after it.

Exit codes: 0 done, 1 the input is wrong (the message says where), 2 the command line is wrong,
3 a part could not be done (damaged jobs are not in a file of all jobs).
With --json an error is {\"error\": {\"message\", \"hint\", \"file\", \"line\", \"column\", \"others\"}} on standard output.
Unplug the instrument from everything that is mains-powered before any reading.";

/// The whole command line.
#[derive(Debug, Parser)]
#[command(name = "lugwise", version, about = ABOUT, after_help = AFTER)]
pub(super) struct CommandLine {
    /// Print JSON instead of text
    #[arg(long, global = true)]
    pub json: bool,
    /// What to do; nothing opens the window.
    #[command(subcommand)]
    pub command: Option<Verb>,
}

/// One command.
#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// List the wirings that come with the program and your own, or those that look like yours from outside
    #[command(after_help = WIRINGS)]
    Wirings(Counted),
    /// Copy a wiring to a file of your own, to be changed
    #[command(after_help = COPY)]
    Copy {
        /// Name, short code or file
        wiring: String,
        /// The file to make; one in the folder of your own wirings when not given
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Check wiring files, tree files and priors, and say where they are wrong
    #[command(after_help = CHECK)]
    Check {
        /// Wiring files, tree files or priors
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
    },
    /// List every fault that a wiring can have
    #[command(after_help = FAULTS)]
    Faults {
        /// Name, short code or file
        wiring: String,
        /// A file of your own priors instead of the usual one
        #[arg(long, value_name = "FILE")]
        priors: Option<PathBuf>,
    },
    /// List how often each family of faults turns up, and what an instrument's history makes likelier
    #[command(after_help = PRIORS)]
    Priors {
        /// A file of your own priors instead of the usual one
        #[arg(long, value_name = "FILE", conflicts_with = "copy")]
        priors: Option<PathBuf>,
        /// Write the program's priors to a file of your own, to be changed
        #[arg(long)]
        copy: bool,
        /// The file to make; where your own priors are looked for when not given
        #[arg(short, long, value_name = "FILE", requires = "copy")]
        output: Option<PathBuf>,
    },
    /// List the fewest checks that prove a fresh wiring whole, to work through and print
    #[command(after_help = AUDIT)]
    Audit {
        /// Name, short code or file
        wiring: String,
        /// How far you may go: telephone, outside, may-open or may-unsolder
        #[arg(long, default_value = "may-open")]
        access: Access,
        /// The file to write the list to: Markdown for a name that ends in .md, a web page for .html
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Say what the meter should show
    #[command(after_help = PREDICT)]
    Predict(Query),
    /// Say what a coil reads at another temperature, which pickups read as much, and how long its wire is
    #[command(after_help = COIL)]
    Coil(Coil),
    /// Print a SPICE deck of the same measurement
    #[command(after_help = NETLIST)]
    Netlist(Query),
    /// Draw a wiring, as the ticket draws it
    #[command(after_help = PICTURE)]
    Picture {
        /// Name, short code or file
        wiring: String,
        /// The SVG file to write; printed when not given
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
        /// A fault to mark
        #[arg(long, value_name = "ID")]
        fault: Option<String>,
        #[command(flatten)]
        looked: Looked,
    },
    /// Say what reaches the end of the cable at every frequency, and draw it
    #[command(after_help = RESPONSE)]
    Response(Listen),
    /// Play the bench for simulated instruments, and count how well their faults are found
    #[command(after_help = TRIAL)]
    Trial(Box<Rehearsal>),
    /// List, show, check, grow and copy trees: a shop's own ways of working
    #[command(subcommand, after_help = TREE)]
    Tree(TreeVerb),
    /// Open a job for an instrument that came in
    #[command(after_help = STATE)]
    Start(Box<Start>),
    /// Show the suspects, the next reading, why, and what could be done instead
    #[command(after_help = STATE)]
    Next {
        /// The job file
        job: PathBuf,
        /// Only what is read out to a customer on the telephone, with the cautions that come first; as JSON
        /// {"cautions", "script", "answers"}
        #[arg(long)]
        script: bool,
    },
    /// Record a reading; what is not said stays as it was asked for, but one with its own mode, probes or subject is still
    #[command(after_help = STATE)]
    Record {
        /// The job file
        job: PathBuf,
        /// What the meter showed, with its unit: `6.8k`, `470 Ω`, `OL`, `beep`, `0.3r..OL` while flexing
        #[arg(allow_hyphen_values = true)]
        reading: String,
        #[command(flatten)]
        instead: Instead,
    },
    /// Replace an earlier reading that was wrong
    #[command(after_help = STATE)]
    Correct {
        /// The job file
        job: PathBuf,
        /// The reading's number
        id: u32,
        /// What the meter really showed
        #[arg(allow_hyphen_values = true)]
        reading: String,
    },
    /// Withdraw an earlier reading
    #[command(after_help = STATE)]
    Withdraw {
        /// The job file
        job: PathBuf,
        /// The reading's number
        id: u32,
        /// Why
        #[arg(long, default_value = "taken wrongly")]
        reason: String,
    },
    /// Say that the step on offer cannot or will not be done
    #[command(after_help = STATE)]
    Skip {
        /// The job file
        job: PathBuf,
        /// Why
        #[arg(long, default_value = "cannot be done")]
        reason: String,
    },
    /// Take one of the alternatives as the next step
    #[command(after_help = STATE)]
    Choose {
        /// The job file
        job: PathBuf,
        /// Its number in the list of alternatives; the first is 1
        #[arg(value_parser = clap::value_parser!(u32).range(1..))]
        number: u32,
    },
    /// Answer the question on offer
    #[command(after_help = STATE)]
    Answer {
        /// The job file
        job: PathBuf,
        /// The answer's number; the first is 1
        #[arg(value_parser = clap::value_parser!(u32).range(1..))]
        number: u32,
    },
    /// Change how far you may go
    #[command(after_help = STATE)]
    Access {
        /// The job file
        job: PathBuf,
        /// telephone, outside, may-open or may-unsolder
        access: Access,
    },
    /// Acknowledge a caution after reading it
    #[command(after_help = STATE)]
    Caution {
        /// The job file
        job: PathBuf,
        /// The caution's key
        key: String,
    },
    /// Name the fault: the verdict, or another suspect
    #[command(after_help = STATE)]
    Conclude {
        /// The job file
        job: PathBuf,
        /// A suspect's number in the list, or fault ids; the verdict's faults when not given
        #[arg(value_name = "SUSPECT")]
        suspect: Vec<String>,
    },
    /// Record what was done
    #[command(after_help = STATE)]
    Repair {
        /// The job file
        job: PathBuf,
        /// What was done, in your own words
        what: String,
        /// How many minutes of work it took, 24 hours at most
        #[arg(long, value_parser = minutes)]
        minutes: f64,
    },
    /// Record a proof reading after the repair
    #[command(after_help = STATE)]
    Prove {
        /// The job file
        job: PathBuf,
        /// What the meter showed
        #[arg(allow_hyphen_values = true)]
        reading: String,
        /// The proof reading's number in the list, also to take one again; the first that was not taken when not given
        #[arg(long, value_parser = clap::value_parser!(u32).range(1..))]
        number: Option<u32>,
    },
    /// Go on with the search after a repair that did not cure, with all that is known
    #[command(after_help = STATE)]
    SearchOn {
        /// The job file
        job: PathBuf,
        /// What is still wrong, in the customer's words; not needed when a proof reading failed
        #[arg(long, value_name = "WORDS", default_value = "")]
        remains: String,
        /// What these words mean, when they do not say it: silent, hum and so on, as at `start`
        #[arg(long = "symptom", value_name = "SYMPTOM")]
        symptoms: Vec<Symptom>,
    },
    /// Close the job
    #[command(after_help = STATE)]
    Close {
        /// The job file
        job: PathBuf,
        #[command(flatten)]
        outcome: Closing,
    },
    /// Take back the last step of a job
    #[command(after_help = STATE)]
    Undo {
        /// The job file
        job: PathBuf,
    },
    /// Bring back the step that was taken back last
    #[command(after_help = STATE)]
    Redo {
        /// The job file
        job: PathBuf,
    },
    /// Write the ticket: Markdown for a name that ends in .md, a web page for .html, paper to sign for .pdf
    #[command(after_help = TICKET)]
    Ticket(TicketWish),
    #[command(flatten)]
    Paper(PaperVerb),
    /// Say that a part's own value is known, such as a pickup or a capacitor that was read by itself
    #[command(after_help = STATE)]
    Know {
        /// The job file
        job: PathBuf,
        /// The part's name, such as `neck-pickup`
        part: String,
        /// Its value, such as `8.1k` for a pickup or `22n` for a capacitor
        value: String,
        /// How warm a pickup was, such as `35C` or `95F`; 20 °C when not given
        #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
        at: Option<String>,
    },
    /// List, search, replay, export and count past jobs
    #[command(after_help = PAST)]
    Past(Box<Past>),
    /// Open the window on a job
    Open {
        /// The job file
        job: PathBuf,
    },
}

/// What was counted on an instrument from outside.
#[derive(Debug, Default, Args)]
pub(super) struct Counted {
    /// How many pickups can be seen
    #[arg(long, value_name = "N")]
    pub pickups: Option<u32>,
    /// How many knobs it has
    #[arg(long, value_name = "N")]
    pub knobs: Option<u32>,
    /// How many switches it has, knobs that can be pulled up among them
    #[arg(long, value_name = "N")]
    pub switches: Option<u32>,
    /// How many positions its switch has, or the one with most; 0 without a switch
    #[arg(long, value_name = "N")]
    pub positions: Option<u32>,
    /// Whether it has a battery
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    pub battery: Option<bool>,
}

/// A measurement on a wiring, healthy or with one fault.
#[derive(Debug, Args)]
pub(super) struct Query {
    /// Name, short code or file
    pub wiring: String,
    /// The terminal under the red probe, such as `plug.tip`
    #[arg(long, value_name = "TERMINAL", required_unless_present = "mode")]
    pub red: Option<String>,
    /// The terminal under the black probe, such as `plug.sleeve`
    #[arg(long, value_name = "TERMINAL", required_unless_present = "mode")]
    pub black: Option<String>,
    /// resistance, continuity, capacitance, volts, current or sweep, or an observation such as tap or hums
    #[arg(long, default_value = "resistance")]
    pub mode: Mode,
    /// Where a control stands, such as `"neck volume"=10` or `selector=neck`; the others: knobs at 10, switches in
    /// their first position
    #[arg(long = "set", value_name = "NAME=VALUE", value_parser = name_and_value)]
    pub settings: Vec<(String, String)>,
    /// The fault that the instrument has; healthy when not given
    #[arg(long, value_name = "ID")]
    pub fault: Option<String>,
    /// The knob that is swept, or the control or pickup that an observation is about
    #[arg(long, value_name = "NAME")]
    pub about: Option<String>,
    /// The wire or leg of which one end is unsoldered
    #[arg(long, value_name = "NAME")]
    pub lifted: Option<String>,
}

/// A coil that was measured, or one to be wound.
#[derive(Debug, Args)]
pub(super) struct Coil {
    /// What it reads, such as `6.3k`
    pub ohms: String,
    /// How warm it was then, such as `35C` or `95F`; 20 °C when not given
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// Say what it will read at this temperature, such as `5C`
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub expect: Option<String>,
    /// Say how long its wire is, for a wire of this American gauge
    #[arg(long, value_parser = clap::value_parser!(u8).range(30..=50))]
    pub gauge: Option<u8>,
}

/// What is to be heard.
#[derive(Debug, Args)]
pub(super) struct Listen {
    /// Name, short code or file
    pub wiring: String,
    /// The fault that the instrument has, told beside the healthy one
    #[arg(long, value_name = "ID")]
    pub fault: Option<String>,
    /// Where a control stands, such as `"neck tone"=0`; the others: knobs at 10, switches in their first position
    #[arg(long = "set", value_name = "NAME=VALUE", value_parser = name_and_value)]
    pub settings: Vec<(String, String)>,
    /// Capacitance of the cable
    #[arg(long, value_name = "FARADS", default_value = "500p", value_parser = cable)]
    pub cable: Farads,
    /// Resistance of the amplifier's input
    #[arg(long, value_name = "OHMS", default_value = "1M", value_parser = input)]
    pub input: Ohms,
    /// A coil that sounds, by its name; all of them when not given
    #[arg(long = "coil", value_name = "NAME")]
    pub coils: Vec<String>,
    /// A frequency, such as 3000 or 3k; from 40 Hz to 15 kHz when not given
    #[arg(long = "at", value_name = "HZ", value_parser = hertz)]
    pub at: Vec<Hertz>,
    /// The picture to write, which ends in .svg
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

/// What was measured instead of what was asked for.
#[derive(Debug, Default, Args)]
pub(super) struct Instead {
    /// The terminal that was under the red probe
    #[arg(long, value_name = "TERMINAL")]
    pub red: Option<String>,
    /// The terminal that was under the black probe
    #[arg(long, value_name = "TERMINAL")]
    pub black: Option<String>,
    /// resistance, continuity, capacitance, volts, current or sweep, or an observation such as tap or hums
    #[arg(long)]
    pub mode: Option<Mode>,
    /// Where a control stood, such as `"neck volume"=10` or `selector=neck`
    #[arg(long = "set", value_name = "NAME=VALUE", value_parser = name_and_value)]
    pub settings: Vec<(String, String)>,
    /// What was flexed meanwhile: `plug`, the name of a part, terminal or wire, or `nothing`
    #[arg(long, value_name = "NAME")]
    pub flex: Option<String>,
    /// The knob that was swept, or the control or pickup that an observation is about
    #[arg(long, value_name = "NAME")]
    pub about: Option<String>,
    /// The wire or leg of which one end was unsoldered, or `nothing`
    #[arg(long, value_name = "NAME")]
    pub lifted: Option<String>,
}

/// What is known when the instrument comes in.
#[derive(Debug, Args)]
pub(super) struct Start {
    /// Name, short code or file
    pub wiring: String,
    /// The complaint in the customer's words
    #[arg(long, value_name = "WORDS")]
    pub complaint: String,
    /// The job file to make
    #[arg(short, long, value_name = "JOB")]
    pub output: PathBuf,
    /// What the complaint means, when the words do not say it: silent, intermittent, muffled, hum, weak, bright, thin,
    /// one-position, volume-open, tone-idle, crackle, buzz-on-touch, battery-drains or pops
    #[arg(long = "symptom", value_name = "SYMPTOM")]
    pub symptoms: Vec<Symptom>,
    /// The instrument in your own words
    #[arg(long, default_value = "")]
    pub instrument: String,
    /// The customer, as much as you want to keep
    #[arg(long, default_value = "")]
    pub customer: String,
    /// What was done to the instrument last
    #[arg(long, default_value = "")]
    pub last_done: String,
    /// How far you may go: telephone, outside, may-open or may-unsolder
    #[arg(long, default_value = "may-open")]
    pub access: Access,
    /// The class of meter; `handheld` is the ordinary one
    #[arg(long)]
    pub meter: Option<String>,
    /// A file of your own priors instead of the usual one; the job keeps its text
    #[arg(long, value_name = "FILE")]
    pub priors: Option<PathBuf>,
    /// Who works on it
    #[arg(long, default_value = "")]
    pub technician: String,
}

/// How a job ends.
#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
pub(super) struct Closing {
    /// Every proof reading was taken and is healthy
    #[arg(long)]
    pub cured: bool,
    /// Closed without full proof, for this reason
    #[arg(long, value_name = "REASON")]
    pub unproven: Option<String>,
}

/// Splits `NAME=VALUE`; quotes that the shell left around the name are taken off.
fn name_and_value(text: &str) -> Result<(String, String), String> {
    let bare = |part: &str| part.trim().trim_matches('"').to_owned();
    match text.split_once('=') {
        Some((name, value)) if !bare(name).is_empty() && !bare(value).is_empty() => {
            Ok((bare(name), bare(value)))
        }
        _ => Err("expected NAME=VALUE, such as \"neck volume\"=10".to_owned()),
    }
}

/// Reads a yes or a no.
fn yes_or_no(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err("expected yes or no".to_owned()),
    }
}

/// Reads the capacitance of a cable.
fn cable(text: &str) -> Result<Farads, String> {
    parse_farads(text).map(|written| written.value).map_err(|error| error.to_string())
}

/// Reads the resistance of an input, which is never zero.
fn input(text: &str) -> Result<Ohms, String> {
    match parse_ohms(text).map_err(|error| error.to_string())?.value {
        none if none.get() <= 0.0 => Err("expected more than zero ohms, such as 1M".to_owned()),
        some => Ok(some),
    }
}

/// Reads a number of minutes.
fn minutes(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(minutes) if minutes.is_finite() && minutes >= 0.0 => Ok(minutes),
        _ => Err("expected a number of minutes, such as 12".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_definition_is_consistent() {
        CommandLine::command().debug_assert();
    }

    #[test]
    fn a_setting_is_split_at_its_first_equals_sign() {
        let pair = |name: &str, value: &str| Ok((name.to_owned(), value.to_owned()));
        assert_eq!(name_and_value("\"neck volume\"=10"), pair("neck volume", "10"));
        assert_eq!(name_and_value("selector = neck"), pair("selector", "neck"));
        assert!(name_and_value("selector").is_err());
        assert!(name_and_value("=3").is_err());
    }

    #[test]
    fn minutes_are_finite_and_not_negative() {
        assert_eq!(minutes("12.5"), Ok(12.5));
        for wrong in ["-1", "inf", "NaN", "long"] {
            assert!(minutes(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn every_command_but_the_window_tells_its_json() {
        for verb in CommandLine::command().get_subcommands().filter(|c| c.get_name() != "open") {
            let help = verb.get_after_help().map(ToString::to_string).unwrap_or_default();
            assert!(help.starts_with("JSON: "), "{} does not tell its shape", verb.get_name());
        }
    }
}
