//! Reads aloud with the speech program that the platform brings, where there is one.

use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

/// More characters than this are not said in one go.
const LONGEST: usize = 2000;

/// Says texts aloud. A new text cuts off the one before it.
pub trait Voice {
    /// Begins to say a text and returns at once.
    fn say(&mut self, text: &str);

    /// Falls silent.
    fn hush(&mut self);
}

/// A speech program: what it is called, and how a text is given to it. No shell is between.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Program {
    name: &'static str,
    arguments: &'static [&'static str],
    /// Whether the text is the last argument; else it is written to the standard input.
    argument: bool,
    /// What makes it fall silent where ending it does not.
    hush: &'static [&'static str],
}

const SPEAK: &str = "Add-Type -AssemblyName System.Speech; \
                     (New-Object System.Speech.Synthesis.SpeechSynthesizer).Speak([Console]::In.ReadToEnd())";

/// The programs that are looked for, in this order.
const PROGRAMS: &[Program] = if cfg!(windows) {
    &[Program {
        name: "powershell.exe",
        arguments: &["-NoProfile", "-NonInteractive", "-Command", SPEAK],
        argument: false,
        hush: &[],
    }]
} else if cfg!(target_os = "macos") {
    &[Program { name: "say", arguments: &[], argument: false, hush: &[] }]
} else {
    &[
        Program { name: "spd-say", arguments: &["--wait", "--"], argument: true, hush: &["--cancel"] },
        Program { name: "espeak-ng", arguments: &["--stdin"], argument: false, hush: &[] },
        Program { name: "espeak", arguments: &["--stdin"], argument: false, hush: &[] },
    ]
};

/// The platform's speech program.
#[derive(Debug)]
pub struct NativeVoice {
    path: PathBuf,
    program: Program,
    speaking: Option<Child>,
}

impl NativeVoice {
    /// Looks for a speech program where the system looks for programs; `None` when there is none.
    pub fn found() -> Option<Self> {
        Self::among(std::env::var_os("PATH")?.as_os_str(), Path::is_file)
    }

    /// Looks for a speech program in the folders of a search path.
    fn among(folders: &OsStr, is_there: impl Fn(&Path) -> bool) -> Option<Self> {
        PROGRAMS.iter().find_map(|program| {
            let mut paths = std::env::split_paths(folders).map(|folder| folder.join(program.name));
            let path = paths.find(|path| is_there(path))?;
            Some(Self { path, program: *program, speaking: None })
        })
    }

    fn start(&self, text: &str) -> std::io::Result<Child> {
        let Program { arguments, argument, .. } = self.program;
        let mut command = Command::new(&self.path);
        command.args(arguments).stdout(Stdio::null()).stderr(Stdio::null());
        if argument {
            return command.arg(text).stdin(Stdio::null()).spawn();
        }
        let mut child = command.stdin(Stdio::piped()).spawn()?;
        if let Some(mut input) = child.stdin.take() {
            input.write_all(text.as_bytes())?;
        }
        Ok(child)
    }
}

impl Voice for NativeVoice {
    fn say(&mut self, text: &str) {
        self.hush();
        let text = clean(text);
        if !text.is_empty() {
            self.speaking = self.start(&text).ok();
        }
    }

    fn hush(&mut self) {
        let Some(mut child) = self.speaking.take() else { return };
        let speaks = matches!(child.try_wait(), Ok(None));
        // A program that has ended by itself cannot be ended; waiting takes it off the system's list.
        let _ = child.kill();
        let _ = child.wait();
        if speaks && !self.program.hush.is_empty() {
            let mut quiet = Command::new(&self.path);
            // What was said goes on to its end where even this fails.
            let _ = quiet.args(self.program.hush).stdin(Stdio::null()).stdout(Stdio::null()).status();
        }
    }
}

impl Drop for NativeVoice {
    fn drop(&mut self) {
        self.hush();
    }
}

/// Returns a text on one line, without control characters and of bounded length.
fn clean(text: &str) -> String {
    let plain = text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(LONGEST);
    plain.collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn control_characters_are_not_said() {
        assert_eq!(clean("7.6\u{1b}[0m\n kilo\u{7}ohms\0"), "7.6 [0m kilo ohms");
        assert_eq!(clean(&"a".repeat(3000)).len(), LONGEST);
    }

    #[test]
    fn the_first_program_that_is_there_is_taken() {
        let folders = std::env::join_paths(["one", "two"]).unwrap();
        let last = PROGRAMS.last().unwrap();
        let there = Path::new("two").join(last.name);
        let found = NativeVoice::among(&folders, |path| path == there).expect("it is there");
        assert_eq!((found.path.as_path(), found.program), (there.as_path(), *last));
        assert!(NativeVoice::among(&folders, |_| false).is_none());
    }

    #[test]
    fn a_text_that_looks_like_an_option_is_none() {
        for program in PROGRAMS.iter().filter(|program| program.argument) {
            assert_eq!(program.arguments.last(), Some(&"--"), "{}", program.name);
        }
    }
}
