//! Opens the window, or says why it cannot be opened.

use super::app::App;
use super::bench::{Bench, NativeDialogs};

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

/// Opens the window and returns when it is closed.
///
/// # Errors
/// Returns [`UiError::NoDisplay`] when there is nothing to show a window on, [`UiError::Window`] when it is
/// there but refuses, as it does without a graphics driver.
pub fn run(bench: Box<dyn Bench>) -> Result<(), UiError> {
    if !has_display(|name| std::env::var_os(name).is_some_and(|value| !value.is_empty())) {
        return Err(UiError::NoDisplay);
    }
    let viewport = egui::ViewportBuilder::default()
        .with_title("Lugwise")
        .with_app_id("lugwise")
        .with_inner_size([1280.0, 800.0])
        .with_min_inner_size([900.0, 600.0]);
    let options = eframe::NativeOptions { viewport, renderer: eframe::Renderer::Glow, ..Default::default() };
    let make = |cc: &eframe::CreationContext<'_>| App::new(cc, bench, Box::new(NativeDialogs));
    eframe::run_native("lugwise", options, Box::new(move |cc| Ok(Box::new(make(cc)))))
        .map_err(|error| UiError::Window { reason: without_source(&error.to_string()).to_owned() })
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
    fn what_the_system_said_names_no_source_file() {
        let said = "window error: os error at lib-0.1/src/x11/mod.rs:76: the server refused: 111";
        assert_eq!(without_source(said), "the server refused: 111");
        assert_eq!(without_source("no driver: none"), "no driver: none");
    }
}
