//! The file dialogs of the operating system, as a trait; they are answered while the window goes on.

use std::path::{Path, PathBuf};
use std::pin::Pin;

use rfd::{AsyncFileDialog, FileHandle};

/// What a file dialog asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Question {
    /// Where the ticket is to be written, under this name if nothing else is chosen.
    Ticket(String),
    /// Where a list of checks is to be written.
    Checklist(String),
    /// Where a tree is to be written, and the ending of the file.
    Tree(String, &'static str),
    /// Where figures are to be written, and the ending of the file.
    Figures(String, &'static str),
    /// Which job file is to be opened.
    OpenJob,
    /// Where a new job is to be saved.
    SaveJob(PathBuf),
    /// Which photo is to be added to the job.
    OpenPhoto,
    /// Which file is to be read, under this title.
    OpenFile(&'static str),
    /// Which files are to be read, under this title.
    OpenFiles(&'static str),
    /// Which folder is to be read, under this title.
    OpenFolder(&'static str),
    /// Where a copy of past jobs is to be written: the title, and the name if nothing else is chosen.
    SaveCopy(&'static str, String),
}

/// An answer that comes when the person has chosen; no path when they thought better of it.
pub type Answer = Pin<Box<dyn Future<Output = Vec<PathBuf>>>>;

/// What comes of a question.
pub enum Reply {
    /// The answer is there.
    Now(Vec<PathBuf>),
    /// The dialog is open, and the answer comes later.
    Later(Answer),
}

/// The file dialogs of the operating system.
///
/// Those that answer at once say so question by question; the others begin to [`Self::ask`].
pub trait Dialogs {
    /// Begins to ask.
    fn ask(&mut self, question: &Question) -> Reply {
        let one = match question {
            Question::Ticket(name) => self.save_ticket(name),
            Question::Checklist(name) => self.save_checklist(name),
            Question::Tree(name, ending) => self.save_tree(name, ending),
            Question::Figures(name, ending) => self.save_figures(name, ending),
            Question::OpenJob => self.open_job(),
            Question::SaveJob(path) => self.save_job(path),
            Question::OpenPhoto => self.open_photo(),
            Question::OpenFile(title) => self.open_file(title),
            Question::OpenFiles(title) => return Reply::Now(self.open_files(title)),
            Question::OpenFolder(title) => self.open_folder(title),
            Question::SaveCopy(title, name) => self.save_copy(title, name),
        };
        Reply::Now(one.into_iter().collect())
    }

    /// Returns where the ticket is to be written.
    fn save_ticket(&mut self, _suggested: &str) -> Option<PathBuf> {
        None
    }

    /// Returns where a list of checks is to be written; where tickets go unless said otherwise.
    fn save_checklist(&mut self, suggested: &str) -> Option<PathBuf> {
        self.save_ticket(suggested)
    }

    /// Returns where a tree is to be written as a file with this ending; where tickets go unless said otherwise.
    fn save_tree(&mut self, suggested: &str, _ending: &str) -> Option<PathBuf> {
        self.save_ticket(suggested)
    }

    /// Returns where figures are to be written as a file with this ending; where tickets go unless said otherwise.
    fn save_figures(&mut self, suggested: &str, _ending: &str) -> Option<PathBuf> {
        self.save_ticket(suggested)
    }

    /// Returns which job file is to be opened.
    fn open_job(&mut self) -> Option<PathBuf> {
        None
    }

    /// Returns which photo is to be added; the same as for a job unless said otherwise.
    fn open_photo(&mut self) -> Option<PathBuf> {
        self.open_job()
    }

    /// Returns which file is to be read; the same as for a job unless said otherwise.
    fn open_file(&mut self, _title: &str) -> Option<PathBuf> {
        self.open_job()
    }

    /// Returns which files are to be read; the same as for one file unless said otherwise.
    fn open_files(&mut self, title: &str) -> Vec<PathBuf> {
        self.open_file(title).into_iter().collect()
    }

    /// Returns which folder is to be read.
    fn open_folder(&mut self, _title: &str) -> Option<PathBuf> {
        None
    }

    /// Returns where a copy of past jobs is to be written; where tickets go unless said otherwise.
    fn save_copy(&mut self, _title: &str, suggested: &str) -> Option<PathBuf> {
        self.save_ticket(suggested)
    }

    /// Returns where a new job is to be saved.
    fn save_job(&mut self, _suggested: &Path) -> Option<PathBuf> {
        None
    }
}

/// The environment variable that names a folder for documents; none is asked for then, and none is written over.
pub const TICKETS_VARIABLE: &str = "LUGWISE_TICKETS";

/// The dialogs of the desktop the program runs on.
#[derive(Debug, Default)]
pub struct NativeDialogs;

impl Dialogs for NativeDialogs {
    fn ask(&mut self, question: &Question) -> Reply {
        let folder = std::env::var_os(TICKETS_VARIABLE).filter(|value| !value.is_empty());
        match (question, folder) {
            (Question::Ticket(name) | Question::Checklist(name), Some(folder)) => {
                Reply::Now(vec![free_in(Path::new(&folder), name)])
            }
            _ => Reply::Later(opened(question)),
        }
    }
}

/// Opens the desktop's dialog for a question.
fn opened(question: &Question) -> Answer {
    let dialog = AsyncFileDialog::new().set_title(title(question));
    match question {
        Question::OpenJob | Question::OpenFile(_) => one(dialog.pick_file()),
        Question::OpenPhoto => {
            let photos = dialog.add_filter("photo", &["png", "jpg", "jpeg"]);
            one(photos.add_filter("any file", &["*"]).pick_file())
        }
        Question::OpenFiles(_) => {
            let chosen = dialog.pick_files();
            Box::pin(async move { paths(chosen.await.unwrap_or_default()) })
        }
        Question::OpenFolder(_) => one(dialog.pick_folder()),
        other => one(suggesting(dialog, other).save_file()),
    }
}

fn one(chosen: impl Future<Output = Option<FileHandle>> + 'static) -> Answer {
    Box::pin(async move { paths(chosen.await) })
}

fn paths(chosen: impl IntoIterator<Item = FileHandle>) -> Vec<PathBuf> {
    chosen.into_iter().map(|file| file.path().to_owned()).collect()
}

fn title(question: &Question) -> &'static str {
    match question {
        Question::Ticket(_) => "Save the ticket",
        Question::Checklist(_) => "Save the list of checks",
        Question::Tree(..) => "Save the tree",
        Question::Figures(..) => "Save the figures",
        Question::OpenJob => "Open a job file",
        Question::SaveJob(_) => "Where the job is saved",
        Question::OpenPhoto => "Add a photo",
        Question::OpenFile(title) | Question::OpenFiles(title) | Question::OpenFolder(title) => title,
        Question::SaveCopy(title, _) => title,
    }
}

/// Names the file that is suggested, and what it may be.
fn suggesting(dialog: AsyncFileDialog, question: &Question) -> AsyncFileDialog {
    match question {
        Question::Ticket(name) | Question::Checklist(name) if name.ends_with(".pdf") => {
            dialog.add_filter("PDF", &["pdf"]).set_file_name(name.as_str())
        }
        Question::Ticket(name) | Question::Checklist(name) => dialog
            .add_filter("web page", &["html"])
            .add_filter("Markdown", &["md"])
            .set_file_name(name.as_str()),
        Question::Tree(name, ending) | Question::Figures(name, ending) => {
            dialog.add_filter(*ending, &[*ending]).set_file_name(name.as_str())
        }
        Question::SaveCopy(_, name) => dialog.set_file_name(name.as_str()),
        Question::SaveJob(path) => beside(dialog, path),
        Question::OpenJob
        | Question::OpenPhoto
        | Question::OpenFile(_)
        | Question::OpenFiles(_)
        | Question::OpenFolder(_) => dialog,
    }
}

fn beside(dialog: AsyncFileDialog, path: &Path) -> AsyncFileDialog {
    let dialog = match path.parent() {
        Some(folder) => dialog.set_directory(folder),
        None => dialog,
    };
    match path.file_name() {
        Some(name) => dialog.set_file_name(name.to_string_lossy()),
        None => dialog,
    }
}

/// Returns a path in a folder that is not taken yet, with a number before the ending if need be.
fn free_in(folder: &Path, suggested: &str) -> PathBuf {
    let (stem, ending) = suggested.rsplit_once('.').unwrap_or((suggested, "html"));
    let path = |number: u32| match number {
        1 => folder.join(suggested),
        n => folder.join(format!("{stem}-{n}.{ending}")),
    };
    (1..).map(path).find(|path| !path.exists()).unwrap_or_else(|| path(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_document_gets_a_name_that_is_free() {
        let home = tempfile::tempdir().unwrap();
        assert_eq!(free_in(home.path(), "a-ticket.html"), home.path().join("a-ticket.html"));
        std::fs::write(home.path().join("a-ticket.html"), "").unwrap();
        assert_eq!(free_in(home.path(), "a-ticket.html"), home.path().join("a-ticket-2.html"));
    }
}
