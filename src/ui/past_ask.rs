//! Which files the screen of past jobs asks for, and what is done with those that are chosen.

use std::path::PathBuf;

use super::action::Desk;
use super::dialogs::Question;
use super::past_care::{Care, Sure};
use super::past_desk::{PastAction, PastDesk, PastPage, TypedPath};
use super::past_read::Wanted;
use crate::archive::Filter;
use crate::archive::audit::By;
use crate::session::{AllJobs, Figure, PastJobs, limits_in_name};

/// What a file is asked for.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum PastFile {
    /// A figure is written there as comma-separated values.
    Csv(Box<Figure>),
    /// All figures over these jobs are written there as a page to print.
    Report(Filter, By, Vec<(&'static str, String)>),
    /// Its jobs are taken in.
    Import,
    /// The jobs of the archive that it was written from are taken in.
    Merge,
    /// The job of this name is written there.
    Export(String),
    /// All jobs are written there.
    ExportAll(AllJobs),
    /// The archive is copied there.
    Backup,
    /// It is put in the archive's place, once that was asked once more.
    Restore,
}

/// Returns what to ask for, and what is done with it, when an action needs a file.
pub(super) fn question(own: &PastDesk, asked: &PastAction) -> Option<(Question, PastFile)> {
    let file = aim(own, asked)?;
    let name = suggested(&file, own);
    let question = match (&file, asked) {
        (PastFile::Csv(_), _) => Question::Figures(name, "csv"),
        (PastFile::Report(..), _) => Question::Figures(name, "html"),
        (PastFile::Import, PastAction::ImportFolder) => Question::OpenFolder("Take in a folder of job files"),
        (PastFile::Import, _) => Question::OpenFiles("Take in job files"),
        (PastFile::Merge, _) => Question::OpenFile("Take in another archive's jobs"),
        (PastFile::Restore, _) => Question::OpenFile("Put a backup back"),
        (PastFile::Export(_), _) => Question::SaveCopy("Write the job", name),
        (PastFile::ExportAll(_), _) => Question::SaveCopy("Write all jobs", name),
        (PastFile::Backup, _) => Question::SaveCopy("Back up the archive", name),
    };
    Some((question, file))
}

/// Returns what an action needs a file for, if it does.
fn aim(own: &PastDesk, asked: &PastAction) -> Option<PastFile> {
    Some(match asked {
        PastAction::SaveCsv | PastAction::SaveReport if own.form.is_wrong() || own.is_reading() => {
            return None;
        }
        PastAction::SaveCsv => PastFile::Csv(Box::new(own.figure()?.clone())),
        PastAction::SaveReport => PastFile::Report(own.form.filter(), own.by, own.form.facts()),
        PastAction::Import | PastAction::ImportFolder => PastFile::Import,
        PastAction::Merge => PastFile::Merge,
        PastAction::Restore => PastFile::Restore,
        PastAction::Export => PastFile::Export(own.rerun.as_ref()?.job.uid.clone()),
        PastAction::ExportAll(form) => PastFile::ExportAll(*form),
        PastAction::Backup => PastFile::Backup,
        _ => return None,
    })
}

/// Does beside the window what files were asked for, and returns whether the screen is still there to say so.
pub(super) fn chosen(desk: &mut Desk, file: PastFile, paths: Vec<PathBuf>) -> bool {
    let Some(own) = &mut desk.past else { return false };
    let Some(path) = paths.first().cloned() else { return true };
    (desk.problem, desk.told) = (None, None);
    let wanted = match file {
        PastFile::Csv(figure) => Wanted::Csv { path, figure },
        PastFile::Report(filter, by, facts) => Wanted::Report { path, filter, by, facts },
        PastFile::Import => Wanted::Care(Care::Import(paths)),
        PastFile::Merge => Wanted::Care(Care::Merge(path)),
        PastFile::Export(uid) => Wanted::Care(Care::Export { uid, to: path }),
        PastFile::ExportAll(form) => Wanted::Care(Care::ExportAll(form, path)),
        PastFile::Backup => Wanted::Care(Care::Backup(path)),
        PastFile::Restore if own.page != PastPage::Files => return false,
        PastFile::Restore => {
            own.names_back = None;
            own.want(Wanted::Care(Care::NamesIn(path.clone())));
            own.sure = Some(Sure::Restore(path));
            return true;
        }
    };
    own.want(wanted);
    true
}

/// Lets a path be typed for what no file dialog could be opened for, beginning with the folder of past jobs.
pub(super) fn offer_path(desk: &mut Desk, file: PastFile) {
    let Some(own) = &mut desk.past else { return };
    let folder = own.place().path().and_then(std::path::Path::parent).unwrap_or(std::path::Path::new(""));
    let text = folder.join(suggested(&file, own)).display().to_string();
    own.typed = Some(TypedPath { file, text });
}

/// Returns under which name a file is written if nothing else is chosen; nothing for those that are read.
fn suggested(file: &PastFile, own: &PastDesk) -> String {
    let limits = limits_in_name(&own.form.filter());
    match file {
        PastFile::Csv(figure) => format!("past-jobs-{}{limits}.csv", figure.chart.name()),
        PastFile::Report(..) => format!("past-jobs{limits}.html"),
        PastFile::Export(uid) => PastJobs::file_name(uid),
        PastFile::ExportAll(AllJobs::Ndjson) => "jobs.ndjson".to_owned(),
        PastFile::ExportAll(AllJobs::Columns) => "jobs.parquet".to_owned(),
        PastFile::Backup | PastFile::Restore => "jobs-backup.archive".to_owned(),
        PastFile::Import | PastFile::Merge => String::new(),
    }
}

/// Goes on with a path that was typed; an empty one is asked for again.
pub(super) fn take_path(desk: &mut Desk, typed: TypedPath) {
    let path = PathBuf::from(typed.text.trim());
    if path.as_os_str().is_empty() {
        desk.problem = Some("Type the whole path of the file, or leave it.".to_owned());
        if let Some(own) = &mut desk.past {
            own.typed = Some(typed);
        }
        return;
    }
    if !chosen(desk, typed.file, vec![path]) {
        desk.problem = Some("A backup is put back on the page Archive; nothing was done.".to_owned());
    }
}
