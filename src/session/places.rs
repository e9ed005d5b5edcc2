//! Where each system keeps what belongs to a program and a person.

use std::ffi::OsString;
use std::path::PathBuf;

/// What kind of files are kept.
#[derive(Clone, Copy, Debug)]
pub(super) enum Keeps {
    /// What a person adds to the program.
    Data,
    /// How a person has set it.
    Settings,
    /// What it writes down about its own work.
    State,
}

/// The systems that differ in where they keep files.
#[derive(Clone, Copy, Debug)]
pub(super) enum System {
    /// Windows.
    Windows,
    /// macOS.
    MacOs,
    /// All others, which follow the XDG Base Directory Specification.
    Other,
}

impl System {
    /// Returns the one that the program runs on.
    pub(super) fn here() -> Self {
        match std::env::consts::OS {
            "windows" => Self::Windows,
            "macos" => Self::MacOs,
            _ => Self::Other,
        }
    }
}

/// Returns the path that a variable of the environment names, unless it is empty.
pub(super) fn named(name: &str, variable: &dyn Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    variable(name).filter(|value| !value.is_empty()).map(PathBuf::from)
}

/// Returns the program's folder for files of a kind.
pub(super) fn folder(system: System, keeps: Keeps, variable: &dyn Fn(&str) -> Option<OsString>) -> PathBuf {
    let set = |name: &str| named(name, variable);
    let home = || set("HOME").or_else(|| set("USERPROFILE")).unwrap_or_else(|| PathBuf::from("."));
    let base = match system {
        System::Windows => windows(keeps, &set).unwrap_or_else(|| windows_home(keeps, home())),
        System::MacOs => home().join("Library").join("Application Support"),
        System::Other => xdg(keeps, &set, &home),
    };
    base.join("lugwise")
}

fn windows(keeps: Keeps, set: &dyn Fn(&str) -> Option<PathBuf>) -> Option<PathBuf> {
    set(if matches!(keeps, Keeps::State) { "LOCALAPPDATA" } else { "APPDATA" })
}

fn windows_home(keeps: Keeps, home: PathBuf) -> PathBuf {
    home.join("AppData").join(if matches!(keeps, Keeps::State) { "Local" } else { "Roaming" })
}

/// A relative path in such a variable is to be ignored (XDG Base Directory Specification 0.8).
fn xdg(keeps: Keeps, set: &dyn Fn(&str) -> Option<PathBuf>, home: &dyn Fn() -> PathBuf) -> PathBuf {
    let (name, usual) = match keeps {
        Keeps::Data => ("XDG_DATA_HOME", ".local/share"),
        Keeps::Settings => ("XDG_CONFIG_HOME", ".config"),
        Keeps::State => ("XDG_STATE_HOME", ".local/state"),
    };
    set(name).filter(|path| path.is_absolute()).unwrap_or_else(|| home().join(usual))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    // XDG Base Directory Specification 0.8 for the first four; the folders of the other systems: common practice.
    #[rstest]
    #[case(System::Other, Keeps::State, &[("HOME", "/h")], "/h/.local/state/lugwise")]
    #[case(System::Other, Keeps::State, &[("HOME", "/h"), ("XDG_STATE_HOME", "/x")], "/x/lugwise")]
    #[case(System::Other, Keeps::Settings, &[("HOME", "/h")], "/h/.config/lugwise")]
    #[case(System::Other, Keeps::Settings, &[("HOME", "/h"), ("XDG_CONFIG_HOME", "x")], "/h/.config/lugwise")]
    #[case(System::MacOs, Keeps::State, &[("HOME", "/h")], "/h/Library/Application Support/lugwise")]
    #[case(System::Windows, Keeps::State, &[("LOCALAPPDATA", "/u/local")], "/u/local/lugwise")]
    #[case(System::Windows, Keeps::Settings, &[("USERPROFILE", "/u")], "/u/AppData/Roaming/lugwise")]
    fn each_system_has_its_folders(
        #[case] system: System,
        #[case] keeps: Keeps,
        #[case] set: &[(&str, &str)],
        #[case] expected: &str,
    ) {
        let variable = |name: &str| -> Option<OsString> {
            set.iter().find(|(known, _)| *known == name).map(|(_, value)| (*value).into())
        };
        assert_eq!(folder(system, keeps, &variable), PathBuf::from(expected));
    }
}
