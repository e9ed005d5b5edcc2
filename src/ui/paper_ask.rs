//! Which files the screen of estimate and bill asks for, and what is done with those that are chosen.

use std::path::{Path, PathBuf};

use super::action::Desk;
use super::dialogs::Question;
use super::paper_desk::{PaperAction, PaperDesk, PaperPage, TicketForm};
use crate::session::Earlier;
use crate::ticket::{Paper, TicketCopy};

/// Whose copy of the ticket is printed, and on what; on the shop's paper when none is named.
pub(super) type Printed = (TicketCopy, Option<Paper>);

/// What a file is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PaperFile {
    /// It is a photo.
    Photo,
    /// It is the earlier job.
    Earlier,
}

/// Returns what to ask for when an action needs a file that is there already.
pub(super) fn question(asked: &PaperAction) -> Option<(Question, PaperFile)> {
    match asked {
        PaperAction::ChoosePhoto => Some((Question::OpenPhoto, PaperFile::Photo)),
        PaperAction::ChooseEarlier => {
            Some((Question::OpenFile("Choose the earlier job"), PaperFile::Earlier))
        }
        _ => None,
    }
}

/// Returns the ending of the ticket's file, and whose copy is printed on what, when an action asks for the ticket.
pub(super) fn ticket(own: &PaperDesk, asked: &PaperAction) -> Option<(&'static str, Option<Printed>)> {
    if *asked != PaperAction::Record || own.page != PaperPage::Ticket {
        return None;
    }
    Some(match own.form {
        TicketForm::Pdf => ("pdf", Some((own.copy, own.paper))),
        TicketForm::Html => ("html", None),
        TicketForm::Markdown => ("md", None),
    })
}

/// Says that a file with a number is newer than the one without it, when that lies beside it; nothing for any other.
pub(super) fn newer(path: &Path) -> String {
    let older = || {
        let (stem, ending) = (path.file_stem()?.to_str()?, path.extension()?.to_str()?);
        let (name, number) = stem.rsplit_once('-')?;
        let before = match number.parse::<u32>().ok()? {
            0 | 1 => return None,
            2 => format!("{name}.{ending}"),
            number => format!("{name}-{}.{ending}", number - 1),
        };
        path.with_file_name(&before).exists().then_some(before)
    };
    older().map_or_else(String::new, |before| format!("; it is newer than {before}, which was kept"))
}

/// Puts a file that was chosen into its form, and returns whether the form is still there.
pub(super) fn chosen(desk: &mut Desk, file: PaperFile, path: PathBuf) -> bool {
    let Some(own) = desk.paper.as_mut().or(desk.put_by.as_mut()) else { return false };
    (desk.problem, desk.told) = (None, None);
    match file {
        // The photo that is in the form comes first.
        PaperFile::Photo if own.photo.changed.is_some() || own.sent == Some(PaperPage::Photos) => {
            own.dropped.push_back(path);
        }
        PaperFile::Photo => own.take_photo(path),
        PaperFile::Earlier => {
            let line = path.display().to_string();
            own.comeback.earlier = Some((Earlier::File(path), line));
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::newer;

    #[test]
    fn a_second_ticket_is_said_to_be_the_newer_one() {
        let home = tempfile::tempdir().unwrap();
        let (first, second) = (home.path().join("a-ticket.pdf"), home.path().join("a-ticket-2.pdf"));
        assert_eq!(newer(&second), "", "nothing lies beside it");
        std::fs::write(&first, "").unwrap();
        assert!(newer(&second).contains("newer than a-ticket.pdf"));
        assert_eq!(newer(&first), "");
    }
}
