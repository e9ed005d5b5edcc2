//! The program run from the shell.

use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

/// Runs a command with a folder of own wirings, and own trees in its folder `trees`; returns its exit code, output and errors.
pub fn lugwise(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lugwise"));
    command.args(args).env("LUGWISE_WIRINGS", folder).env_remove("LUGWISE_PRIORS").env_remove("LUGWISE_SHOP");
    command
        .env("LUGWISE_TREES", folder.join("trees"))
        .env("LUGWISE_ARCHIVE", folder.join("past").join("jobs.archive"));
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// Returns what a command that succeeds tells as JSON.
#[track_caller]
pub fn json(folder: &Path, args: &[&str]) -> Value {
    let (code, out, err) = lugwise(folder, &[args, &["--json"]].concat());
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    serde_json::from_str(&out).unwrap()
}
