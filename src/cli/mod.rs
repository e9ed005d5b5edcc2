//! The command line: the same things as the window, in words and in JSON.
//!
//! Each command ends in an answer that is told twice, as text and as JSON, or in a failure that says what is wrong
//! with the input. Nothing here computes: `engine` is the one way to what does.

mod args;
mod audit;
mod choose;
mod coil;
mod engine;
mod failure;
mod help;
mod jobs;
mod measure;
mod paper;
mod paper_args;
mod past;
mod past_args;
mod past_figures;
mod past_files;
mod past_help;
mod past_replay;
mod picture;
mod plain;
mod priors;
mod reply;
mod response;
mod step;
mod text;
mod tree;
mod tree_args;
mod tree_check;
mod tree_played;
mod trial;
mod trial_args;
mod trial_jobs;
mod trial_text;
mod wirings;

use std::ffi::OsString;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Parser;

use self::args::{CommandLine, Verb};
use self::failure::Failure;
use self::plain::printable;
use self::reply::Answer;
use crate::job::ReadingId;
use crate::workbench::Command;

/// What the command line asks the program to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Nothing is left to do; the program ends with this exit code.
    Exit(u8),
    /// The window is to be opened, on this job file if one is named.
    Window(Option<PathBuf>),
}

/// Carries out a command line, given with the program's own name first, and prints its answer.
///
/// The exit code is 0 when it was done, 1 when the input is wrong, 2 when the command line is, and 3 when a part could not
/// be done.
pub fn run(args: impl IntoIterator<Item = OsString>) -> Wish {
    let args: Vec<OsString> = args.into_iter().collect();
    let json = args.iter().take_while(|arg| *arg != "--").any(|arg| arg == "--json");
    match CommandLine::try_parse_from(args) {
        Ok(CommandLine { command: None, .. }) => Wish::Window(None),
        Ok(CommandLine { command: Some(Verb::Open { job }), .. }) => Wish::Window(Some(job)),
        Ok(CommandLine { command: Some(verb), json }) => Wish::Exit(tell(carry_out(verb, json), json)),
        Err(error) => Wish::Exit(usage(&error, json)),
    }
}

/// Prints help or what is wrong with the command line, the latter as JSON too when that is wanted.
fn usage(error: &clap::Error, json: bool) -> u8 {
    if json && error.use_stderr() {
        say(&mut io::stdout(), &format!("{:#}", Failure::usage(&error.to_string()).to_json()));
    }
    // A reader that went away is no error of ours.
    let _ = error.print();
    u8::try_from(error.exit_code()).unwrap_or(2)
}

fn carry_out(verb: Verb, json: bool) -> Answer {
    match verb {
        Verb::Wirings(counted) => choose::list(&counted),
        Verb::Copy { wiring, output } => choose::copy(&wiring, output.as_deref()),
        Verb::Check { files } => wirings::check(&files),
        Verb::Faults { wiring, priors } => wirings::faults(&wiring, priors.as_deref()),
        Verb::Priors { copy: true, output, .. } => priors::copy(output.as_deref()),
        Verb::Priors { priors, .. } => priors::list(priors.as_deref()),
        Verb::Audit { wiring, access, output } => audit::audit(&wiring, access, output.as_deref()),
        Verb::Predict(query) => measure::predict(&query),
        Verb::Coil(coil) => coil::tell(&coil),
        Verb::Netlist(query) => measure::netlist(&query),
        Verb::Picture { wiring, output, fault, looked } => {
            picture::picture(&wiring, output.as_deref(), fault.as_deref(), looked)
        }
        Verb::Response(listen) => response::response(&listen),
        Verb::Trial(rehearsal) => trial::trial(&rehearsal, json),
        Verb::Tree(verb) => tree::tree(&verb, json),
        Verb::Start(start) => jobs::start(&start),
        Verb::Next { job, script } => jobs::next(&job, script),
        Verb::Record { job, reading, instead } => jobs::record(&job, &reading, &instead),
        Verb::Know { job, part, value, at } => jobs::know(&job, &part, &value, at.as_deref()),
        Verb::Conclude { job, suspect } => jobs::conclude(&job, suspect),
        Verb::Close { job, outcome } => jobs::close(&job, outcome),
        Verb::Undo { job } => jobs::turn(&job, &Command::Undo),
        Verb::Redo { job } => jobs::turn(&job, &Command::Redo),
        Verb::Ticket(wish) => jobs::ticket(&wish),
        Verb::Paper(verb) => paper::paper(verb),
        Verb::Past(asked) => past::past(&asked),
        Verb::Open { job } => {
            Err(Failure::new(format!("cannot open {} in a window from here", job.display())))
        }
        other => one_command(other)
            .map_or_else(|| Err(Failure::new("nothing to do")), |(job, c)| jobs::apply(&job, c)),
    }
}

/// Returns the job and the workbench's command for those commands that are nothing else.
fn one_command(verb: Verb) -> Option<(PathBuf, Command)> {
    let index = |number: u32| number as usize - 1;
    Some(match verb {
        Verb::Correct { job, id, reading } => (job, Command::Correct { id: ReadingId(id), text: reading }),
        Verb::Withdraw { job, id, reason } => (job, Command::Withdraw { id: ReadingId(id), reason }),
        Verb::Skip { job, reason } => (job, Command::Skip { reason }),
        Verb::Choose { job, number } => (job, Command::Choose { alternative: index(number) }),
        Verb::Answer { job, number } => (job, Command::Answer { answer: index(number) }),
        Verb::Access { job, access } => (job, Command::SetAccess(access)),
        Verb::Caution { job, key } => (job, Command::SeeCaution { key }),
        Verb::Repair { job, what, minutes } => (job, Command::Repair { what, minutes }),
        Verb::Prove { job, reading, number } => {
            (job, Command::Prove { index: number.map(index), text: reading })
        }
        Verb::SearchOn { job, remains, symptoms } => (job, Command::SearchOn { remains, symptoms }),
        _ => return None,
    })
}

/// Prints an answer and returns the exit code.
fn tell(answer: Answer, json: bool) -> u8 {
    match answer {
        Ok(reply) => {
            let text = if json { format!("{:#}", reply.json) } else { printable(&reply.text) };
            say(&mut io::stdout(), &text);
            reply.notes.iter().for_each(|note| say(&mut io::stderr(), &printable(note)));
            reply.code()
        }
        Err(failure) => {
            if json {
                say(&mut io::stdout(), &format!("{:#}", failure.to_json()));
            }
            say(&mut io::stderr(), &printable(&failure.to_string()));
            1
        }
    }
}

fn say(to: &mut impl Write, text: &str) {
    // A reader that went away is no error of ours.
    let _ = writeln!(to, "{text}");
}

/// Says on the standard error stream that the window could not be opened, and returns the exit code for that.
pub fn no_window(job: Option<&Path>, why: &str) -> u8 {
    let what = job.map_or_else(|| "the window".to_owned(), |job| format!("the window on {}", job.display()));
    say(&mut io::stderr(), &format!("error: cannot open {what}: {why}"));
    1
}
