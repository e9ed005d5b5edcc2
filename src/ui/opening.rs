//! Opens the window, and what can be wrong with that.

use std::path::{Path, PathBuf};
use std::thread::{self, JoinHandle};

use super::app::App;
use super::bench::Bench;
use super::desk_bench::DeskBench;
use super::dialogs::NativeDialogs;
use crate::session::{Bounds, DayLog, LogLine, MemoryFile, PastJobs, check_job_file};

/// Why the window could not be shown.
#[derive(Debug, thiserror::Error)]
pub enum UiError {
    /// There is nothing to show a window on.
    #[error(
        "no display was found: neither WAYLAND_DISPLAY nor DISPLAY is set\n  hint: the window \
         needs a desktop session; all commands work without one: see `lugwise --help`, or `lugwise next JOB`"
    )]
    NoDisplay,
    /// The window could not be opened.
    #[error("{reason}\n  hint: the commands work without a window, see `lugwise --help`")]
    Window {
        /// What the system said.
        reason: String,
    },
}

/// Opens the window, on a job if one is given, and returns when it is closed.
///
/// # Errors
///
/// Returns why the window or the job could not be opened.
pub fn open(job: Option<&Path>) -> Result<(), String> {
    let log = DayLog::usual();
    job.map_or(Ok(()), check_job_file).map_err(|error| error.to_string())?;
    note_breaks(log.clone());
    let making = thread::spawn(move || -> Result<DeskBench, String> {
        let bench = DeskBench::new(usual_folder())?;
        Ok(bench.keeping(PastJobs::usual()).with_log(log))
    });
    show(move || made(making), job).map_err(|error| error.to_string())
}

/// Waits for the bench, which is made while the system makes the window.
fn made(making: JoinHandle<Result<DeskBench, String>>) -> Result<Box<dyn Bench>, String> {
    let broke_off = || "the program broke off while it read its wirings".to_owned();
    let bench = making.join().ok().ok_or_else(broke_off)?;
    Ok(Box::new(bench?))
}

/// Opens the window with what is remembered and returns when it is closed; long work is done beside it.
///
/// # Errors
/// Returns [`UiError::NoDisplay`] when there is nothing to show a window on, [`UiError::Window`] when it is
/// there but refuses, as it does without a graphics driver.
pub fn run(bench: Box<dyn Bench>, job: Option<&Path>) -> Result<(), UiError> {
    show(move || Ok(bench), job)
}

fn show(bench: impl FnOnce() -> Result<Box<dyn Bench>, String>, job: Option<&Path>) -> Result<(), UiError> {
    if !has_display(|name| std::env::var_os(name).is_some_and(|value| !value.is_empty())) {
        return Err(UiError::NoDisplay);
    }
    let file = MemoryFile::usual();
    let read = file.read();
    let viewport = placed(read.0.bounds);
    let job = job.map(Path::to_owned);
    let options = eframe::NativeOptions { viewport, renderer: eframe::Renderer::Glow, ..Default::default() };
    let make = move |cc: &eframe::CreationContext<'_>| -> Result<App, String> {
        let mut bench = bench()?;
        let ctx = cc.egui_ctx.clone();
        bench.work_beside(std::sync::Arc::new(move || ctx.request_repaint()));
        let mut app = App::new(cc, bench, Box::new(NativeDialogs)).remembering(&cc.egui_ctx, file, read);
        job.into_iter().for_each(|job| app.open(job));
        Ok(app)
    };
    eframe::run_native("lugwise", options, Box::new(move |cc| Ok(Box::new(make(cc)?))))
        .map_err(|error| UiError::Window { reason: without_source(&error.to_string()).to_owned() })
}

/// Returns where jobs are saved unless a person chooses otherwise: a folder of the program in the user's documents.
pub fn usual_folder() -> PathBuf {
    let home = std::env::var_os("HOME").or_else(|| std::env::var_os("USERPROFILE")).map(PathBuf::from);
    let home = home.unwrap_or_else(|| PathBuf::from("."));
    let documents = home.join("Documents");
    if documents.is_dir() { documents.join("Lugwise") } else { home.join("Lugwise") }
}

/// Returns how the window is made: where and as large as it was, or of the usual size.
fn placed(bounds: Option<Bounds>) -> egui::ViewportBuilder {
    let viewport = egui::ViewportBuilder::default()
        .with_title("Lugwise")
        .with_app_id("lugwise")
        .with_min_inner_size([900.0, 600.0]);
    let Some(bounds) = bounds else { return viewport.with_inner_size([1280.0, 800.0]) };
    let viewport = viewport.with_inner_size([bounds.width, bounds.height]).with_maximized(bounds.maximised);
    match (bounds.left, bounds.top) {
        (Some(left), Some(top)) => viewport.with_position([left, top]),
        _ => viewport,
    }
}

/// Writes to the log where the program breaks off; what was being worked on is not written.
fn note_breaks(log: DayLog) {
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |about| {
        if let Some(place) = about.location() {
            log.add(&LogLine::Broke { file: end_of(place.file()), line: place.line() });
        }
        before(about);
    }));
}

/// Returns the last two parts of a source file's path: the rest belongs to the machine that built the program.
fn end_of(file: &str) -> String {
    let parts: Vec<&str> = file.split(['/', '\\']).collect();
    parts[parts.len().saturating_sub(2)..].join("/")
}

/// Returns whether there is something to show a window on; only where that is told by the environment can it lack.
fn has_display(is_set: impl Fn(&str) -> bool) -> bool {
    let told = cfg!(all(unix, not(target_os = "macos")));
    !told || ["WAYLAND_DISPLAY", "WAYLAND_SOCKET", "DISPLAY"].into_iter().any(is_set)
}

/// Returns what the system said without the line of a library's source that it was said in.
fn without_source(reason: &str) -> &str {
    let after = reason.rsplit_once(".rs:").and_then(|(_, after)| after.split_once(": "));
    after.map_or(reason, |(_, said)| said)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case(&["DISPLAY"], true)]
    #[case(&["WAYLAND_DISPLAY"], true)]
    #[case(&["HOME"], cfg!(not(all(unix, not(target_os = "macos")))))]
    fn a_display_is_found_by_the_environment(#[case] set: &[&str], #[case] found: bool) {
        assert_eq!(has_display(|name| set.contains(&name)), found);
    }

    #[test]
    fn a_source_file_is_named_without_its_machine() {
        assert_eq!(end_of("a/b/src/ui/app.rs"), "ui/app.rs");
        assert_eq!(end_of("C:\\x\\ui\\app.rs"), "ui/app.rs");
        assert_eq!(end_of("app.rs"), "app.rs");
    }

    #[test]
    fn what_the_system_said_names_no_source_file() {
        let said = "window error: os error at lib-0.1/src/x11/mod.rs:76: the server refused: 111";
        assert_eq!(without_source(said), "the server refused: 111");
        assert_eq!(without_source("no driver: none"), "no driver: none");
    }
}
