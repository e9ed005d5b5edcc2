//! A virtual screen with the real program on it, driven by its keys.

#![allow(dead_code, reason = "each check uses a part of it")]

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Width and height of the screen in pixels.
pub const SIZE: (usize, usize) = (1280, 800);

/// Returns which of the programs that these checks need are not installed.
pub fn missing(needed: &[&'static str]) -> Vec<&'static str> {
    let folders: Vec<PathBuf> =
        std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default()).collect();
    let lacks = |name: &&'static str| !folders.iter().any(|folder| folder.join(name).is_file());
    needed.iter().copied().filter(lacks).collect()
}

/// A virtual screen; it ends when this is dropped.
pub struct Screen {
    server: Child,
    display: String,
    folder: tempfile::TempDir,
}

impl Screen {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut server = Command::new("Xvfb")
            .args(["-displayfd", "1", "-nolisten", "tcp", "-noreset", "-screen", "0"])
            .arg(format!("{}x{}x24", SIZE.0, SIZE.1))
            .arg("-fbdir")
            .arg(folder.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut number = String::new();
        BufReader::new(server.stdout.take().unwrap()).read_line(&mut number).unwrap();
        assert!(number.trim().parse::<u32>().is_ok(), "Xvfb told no number: {number:?}");
        Self { server, display: format!(":{}", number.trim()), folder }
    }

    /// Makes a command that is shown on this screen, with every folder of the program in `home`.
    pub fn command(&self, program: impl AsRef<std::ffi::OsStr>, home: &Path) -> Command {
        let mut command = Command::new(program);
        command.env("DISPLAY", &self.display).env_remove("WAYLAND_DISPLAY").env_remove("WAYLAND_SOCKET");
        command.env("HOME", home).env_remove("XDG_DATA_HOME").env_remove("LUGWISE_PRIORS");
        command.env_remove("LUGWISE_SHOP");
        command.env("LIBGL_ALWAYS_SOFTWARE", "1").env("XDG_RUNTIME_DIR", home);
        for (variable, name) in [
            ("LUGWISE_WIRINGS", "wirings"),
            ("LUGWISE_TREES", "trees"),
            ("LUGWISE_ARCHIVE", "past.archive"),
            ("LUGWISE_LOG", "log"),
            ("LUGWISE_MEMORY", "window.ron"),
            ("LUGWISE_TICKETS", "tickets"),
        ] {
            command.env(variable, home.join(name));
        }
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        command
    }

    /// Runs `xdotool` and returns what it printed.
    pub fn keys(&self, args: &[&str]) -> String {
        let output = Command::new("xdotool").args(args).env("DISPLAY", &self.display).output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(output.status.success(), "xdotool {args:?}: {}", String::from_utf8_lossy(&output.stderr));
        text
    }

    /// Returns whether anything but black is on the screen.
    pub fn is_lit(&self) -> bool {
        let Ok(bytes) = std::fs::read(self.folder.path().join("Xvfb_screen0")) else { return false };
        let pixels = bytes.len().saturating_sub(SIZE.0 * SIZE.1 * 4);
        let lit =
            bytes[pixels..].chunks_exact(4).step_by(97).filter(|p| p[..3].iter().any(|b| *b > 8)).count();
        lit > SIZE.0 * SIZE.1 / 97 / 2
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// A program that ends when this is dropped.
pub struct Running(pub Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Waits until something holds, and returns how long that took; `None` when it never did.
pub fn wait(at_most: Duration, mut until: impl FnMut() -> bool) -> Option<Duration> {
    let start = Instant::now();
    while start.elapsed() < at_most {
        if until() {
            return Some(start.elapsed());
        }
        std::thread::sleep(Duration::from_millis(4));
    }
    None
}
