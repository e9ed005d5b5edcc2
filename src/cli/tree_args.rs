//! What `tree` is told on the command line.

use std::path::PathBuf;

use clap::Subcommand;

use super::help::{TREE_CHECK, TREE_COPY, TREE_GROW, TREE_LIST, TREE_SHOW, TREE_USE};
use super::trial_args::at_least_one;
use crate::draw::Paper;
use crate::readings::Symptom;

/// What is done with trees.
#[derive(Debug, Subcommand)]
pub(super) enum TreeVerb {
    /// List the trees that come with the program and your own
    #[command(after_help = TREE_LIST)]
    List,
    /// Print or draw a tree
    #[command(after_help = TREE_SHOW)]
    Show {
        /// Name or file
        tree: String,
        /// text, svg or pdf; as the file's name ends (.txt, .svg, .pdf) when not given, and text without a file
        #[arg(long, value_parser = form)]
        format: Option<TreeForm>,
        /// The file to write; printed when not given
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
        /// The paper of a pdf: a4, letter or a3
        #[arg(long, default_value = "a4", value_parser = paper)]
        paper: Paper,
        /// Say beside each way how many past jobs went it, and how many of these were closed proven
        #[arg(long)]
        past: bool,
    },
    /// Hold trees against the circuits of all wirings that they are for
    #[command(after_help = TREE_CHECK)]
    Check {
        /// Names or files
        #[arg(required = true, value_name = "TREE")]
        trees: Vec<String>,
        /// A wiring by its name, short code or file; all that come with the program when not given
        #[arg(long = "wiring", value_name = "WIRING")]
        wirings: Vec<String>,
        /// How many threads work; as many as there are cores when not given
        #[arg(long, value_name = "N", value_parser = at_least_one)]
        threads: Option<usize>,
        /// Play so many jobs on each wiring, with the tree and with the advisor alone, and judge its minutes by them;
        /// when not given, a few where a small tree is slow by estimates; with 0 none
        #[arg(long, value_name = "N")]
        played: Option<usize>,
        /// Write the figures as a Markdown table to this file
        #[arg(long, value_name = "FILE")]
        table: Option<PathBuf>,
    },
    /// Grow a tree for one complaint from the circuit of one wiring
    #[command(after_help = TREE_GROW)]
    Grow {
        /// Name, short code or file
        wiring: String,
        /// The complaint, such as silent or hum
        #[arg(long, value_name = "COMPLAINT")]
        complaint: Symptom,
        /// How many steps it may have at most
        #[arg(long, value_name = "N", default_value = "15", value_parser = at_least_one)]
        steps: usize,
        /// Play so many jobs to judge the minutes that it takes
        #[arg(long, value_name = "N", default_value = "8")]
        played: usize,
        /// The file to make; printed when not given
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Copy a tree to a file of your own, to be changed
    #[command(after_help = TREE_COPY)]
    Copy {
        /// Name or file
        tree: String,
        /// The file to make; one in the folder of your own trees when not given
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Put a tree to use in a job instead of the one of its name, such as one that was changed since the job began
    #[command(after_help = TREE_USE)]
    Use {
        /// The job file
        job: PathBuf,
        /// Name or file
        tree: String,
    },
}

/// What a tree is shown as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum TreeForm {
    /// Plain text.
    Text,
    /// A drawing.
    Svg,
    /// A wall chart.
    Pdf,
}

impl TreeForm {
    /// Returns what it is, in words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Text => "plain text",
            Self::Svg => "a drawing",
            Self::Pdf => "a wall chart",
        }
    }
}

/// Reads what a tree is shown as.
pub(super) fn form(text: &str) -> Result<TreeForm, String> {
    match text.to_lowercase().as_str() {
        "text" | "txt" => Ok(TreeForm::Text),
        "svg" => Ok(TreeForm::Svg),
        "pdf" => Ok(TreeForm::Pdf),
        _ => Err("expected text, svg or pdf".to_owned()),
    }
}

/// Reads a size of paper.
fn paper(text: &str) -> Result<Paper, String> {
    match text.to_lowercase().as_str() {
        "a4" => Ok(Paper::A4),
        "letter" => Ok(Paper::Letter),
        "a3" => Ok(Paper::A3),
        _ => Err("expected a4, letter or a3".to_owned()),
    }
}
