//! Photos beside a job, comebacks of earlier jobs, and the ticket to print.

use std::collections::BTreeSet;
use std::fs;
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};

use super::{Session, SessionError, write_whole};
use crate::archive::JobFile;
use crate::job::turned_back;
use crate::ticket::{self, Image, Paper, Shop, Sight, Ticket, TicketCopy};
use crate::workbench::Command;

/// The most bytes of a photo.
const BYTES: u64 = 50 * 1024 * 1024;

/// Said of a file that is no picture.
const NO_PICTURE: &str = "it is no picture\n  hint: take a PNG or JPEG file, which can be printed too, or a GIF, WebP, TIFF, \
                          BMP, HEIC or AVIF file";
/// How pictures begin that cannot be printed: as their formats lay down, from memory.
const BEGINS: [&[u8]; 4] = [b"GIF87a", b"GIF89a", b"II*\0", b"MM\0*"];

/// What a form about photos or an earlier job asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PaperWish {
    /// Add a photo.
    Photo {
        /// The photo; it stays where it is.
        file: PathBuf,
        /// What it shows.
        caption: String,
        /// Whether it is printed on the ticket.
        print: bool,
    },
    /// Give a photo of the job another caption, or take it on or off the ticket.
    Change {
        /// The name of its file in the folder beside the job.
        file: String,
        /// What it shows.
        caption: String,
        /// Whether it is printed on the ticket.
        print: bool,
    },
    /// Say that the job is a comeback of an earlier one.
    Comeback {
        /// The earlier job.
        of: Earlier,
        /// Why it belongs to the earlier one.
        why: String,
    },
}

/// A copy of the ticket to print.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PrintedTicket {
    /// The PDF file.
    pub bytes: Vec<u8>,
    /// The letters in whose place a question mark is printed.
    pub missing: BTreeSet<char>,
}

/// An earlier job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Earlier {
    /// By its file.
    File(PathBuf),
    /// By its name in the archive.
    Archived {
        /// Its name there.
        uid: String,
        /// When it was opened.
        opened: String,
    },
}

impl Session {
    /// Returns the folder of the job's photos: that of the job file with `.photos` for its ending.
    pub fn photos_folder(&self) -> PathBuf {
        self.path().with_extension("photos")
    }

    /// Copies a photo into the folder beside the job and notes it; the photo itself stays where it was. One that is in the
    /// job already is kept once. Returns what a person must know of it.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the file cannot be read or copied, is larger than 50 MB, or is to be printed and is
    /// no image that can be.
    pub fn add_photo(
        &mut self,
        photo: &Path,
        caption: &str,
        print: bool,
    ) -> Result<Option<String>, SessionError> {
        let command = self.photo_command(photo, caption, print)?;
        self.apply(&command)?;
        Ok(self.told_of(&command))
    }

    /// Returns what a person must know of a command that was carried out: what became of a photo, or what was taken back.
    pub fn told_of(&self, command: &Command) -> Option<String> {
        match command {
            Command::AddPhoto { file, .. } => self.bench.job().paper().photo(file)?.change(),
            Command::Undo | Command::Redo => turned_back(self.bench.job()),
            _ => None,
        }
    }

    /// Returns the command that a wish leads to; a photo is in the folder beside the job then.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when a photo cannot be used, or when the earlier job is no job or this one.
    pub fn command_for(&self, wish: &PaperWish) -> Result<Command, SessionError> {
        match wish {
            PaperWish::Photo { file, caption, print } => self.photo_command(file, caption, *print),
            PaperWish::Change { file, caption, print } => self.changed_photo(file, caption, *print),
            PaperWish::Comeback { of: Earlier::File(path), why } => self.warranty_command(path, why),
            PaperWish::Comeback { of: Earlier::Archived { uid, opened }, why } => {
                if self.uid() == Some(uid.as_str()) {
                    return Err(SessionError::OwnComeback);
                }
                Ok(Command::LinkWarranty { job: uid.clone(), opened: opened.clone(), why: why.clone() })
            }
        }
    }

    fn photo_command(&self, photo: &Path, caption: &str, print: bool) -> Result<Command, SessionError> {
        let wrong = |why: String| SessionError::Photo { path: photo.to_owned(), why };
        let about = fs::metadata(photo).map_err(|why| wrong(why.to_string()))?;
        if !about.is_file() || about.len() > BYTES {
            return Err(wrong("it is no file, or larger than 50 MB".to_owned()));
        }
        let bytes = fs::read(photo).map_err(|why| wrong(why.to_string()))?;
        if print {
            Image::whole(bytes.clone()).map_err(|why| wrong(why.to_string()))?;
        } else if !is_picture(&bytes) {
            return Err(wrong(NO_PICTURE.to_owned()));
        }
        let (checksum, size) = (digest(&bytes), bytes.len() as u64);
        let known = self.bench.job().paper().photos.iter().find(|known| known.checksum == checksum);
        let name = known.map_or_else(|| own_name(photo), |known| plain_name(&known.file));
        let file = self.keep_photo(&name, &bytes).map_err(|why| wrong(why.to_string()))?;
        Ok(Command::AddPhoto { file, checksum, size, caption: caption.to_owned(), print })
    }

    /// Returns the command that gives a photo of the job another caption, or takes it on or off the ticket.
    fn changed_photo(&self, file: &str, caption: &str, print: bool) -> Result<Command, SessionError> {
        let wrong = |why: String| SessionError::Photo { path: self.photos_folder().join(file), why };
        let known = self.bench.job().paper().photo(file);
        let known = known.ok_or_else(|| wrong("it is not in this job".to_owned()))?;
        if print {
            let bytes = self.photo(&known.file, &known.checksum)?;
            Image::whole(bytes).map_err(|why| wrong(why.to_string()))?;
        }
        let (checksum, caption) = (known.checksum.clone(), caption.to_owned());
        Ok(Command::AddPhoto { file: known.file.clone(), checksum, size: known.size, caption, print })
    }

    /// Writes a photo into the folder under a name that is free there, or finds it there already; returns the name.
    fn keep_photo(&self, name: &str, bytes: &[u8]) -> std::io::Result<String> {
        let folder = self.photos_folder();
        fs::create_dir_all(&folder)?;
        for number in 1_u32.. {
            let free = numbered(name, number);
            let path = folder.join(&free);
            match fs::OpenOptions::new().write(true).create_new(true).open(&path) {
                Ok(mut file) => {
                    file.write_all(bytes)?;
                    file.sync_data()?;
                    return Ok(free);
                }
                Err(why) if why.kind() == std::io::ErrorKind::AlreadyExists => {
                    if fs::read(&path)? == bytes {
                        return Ok(free);
                    }
                }
                Err(why) => return Err(why),
            }
        }
        Err(std::io::Error::other("no name is free in the folder of photos"))
    }

    /// Says that this job is a comeback of an earlier one.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the other file is no job, is this job, or when no reason is given.
    pub fn link_warranty(&mut self, earlier: &Path, why: &str) -> Result<(), SessionError> {
        let command = self.warranty_command(earlier, why)?;
        self.apply(&command)
    }

    fn warranty_command(&self, earlier: &Path, why: &str) -> Result<Command, SessionError> {
        let (_, records, _) = JobFile::open(earlier)?;
        let same = fs::canonicalize(earlier).ok() == fs::canonicalize(self.path()).ok();
        if same {
            return Err(SessionError::OwnComeback);
        }
        let first = records.first().ok_or_else(|| SessionError::Empty(earlier.to_owned()))?;
        let name = earlier.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        let (opened, why) = (first.at.clone(), why.to_owned());
        Ok(Command::LinkWarranty { job: name, opened, why })
    }

    /// Returns the ticket as a PDF file to print, with the photos that are to be printed; on the shop's paper, or A4, when
    /// none is named.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the job's wiring cannot be drawn, or when a photo was changed or is gone.
    pub fn ticket_pdf(
        &self,
        copy: TicketCopy,
        paper: Option<Paper>,
        shop: &Shop,
        sight: Sight,
    ) -> Result<PrintedTicket, SessionError> {
        let paper = paper.or(shop.paper).unwrap_or(Paper::A4);
        let mut ticket = Ticket::seen(self.bench.job(), sight)?;
        for photo in ticket.papers.photos.iter_mut().filter(|photo| photo.print) {
            photo.image = Some(self.photo(&photo.file, &photo.checksum)?);
        }
        let missing = ticket::missing_letters(&ticket, copy, shop)?;
        Ok(PrintedTicket { bytes: ticket::pdf(&ticket, copy, paper, shop)?, missing })
    }

    /// Writes a copy of the ticket as a PDF file; on the shop's paper, or A4, when none is named. Returns what is to be said
    /// of letters that could not be printed.
    ///
    /// # Errors
    ///
    /// Returns [`SessionError`] when the ticket cannot be made, or the file cannot be written.
    pub fn write_ticket_pdf(
        &self,
        path: &Path,
        copy: TicketCopy,
        paper: Option<Paper>,
        shop: &Shop,
        sight: Sight,
    ) -> Result<Option<String>, SessionError> {
        let printed = self.ticket_pdf(copy, paper, shop, sight)?;
        let written = write_whole(path, &printed.bytes);
        written.map_err(|why| SessionError::Write { path: path.to_owned(), why })?;
        Ok(ticket::missing_said(&printed.missing))
    }

    /// Returns the bytes of a photo, which must be those that were added.
    fn photo(&self, file: &str, checksum: &str) -> Result<Vec<u8>, SessionError> {
        let path = self.photos_folder().join(plain_name(file));
        let bytes = fs::read(&path)
            .map_err(|why| SessionError::Photo { path: path.clone(), why: why.to_string() })?;
        if digest(&bytes) == checksum {
            return Ok(bytes);
        }
        let why = "it was changed after it was added; put it back from a copy, or add it again".to_owned();
        Err(SessionError::Photo { path, why })
    }
}

/// Returns whether a file begins like one that can be printed: PNG or JPEG.
///
/// # Errors
///
/// Returns what the system said when it cannot be read.
pub fn can_be_printed(file: &Path) -> std::io::Result<bool> {
    let mut begin = Vec::new();
    fs::File::open(file)?.take(8).read_to_end(&mut begin)?;
    Ok(printable(&begin))
}

fn printable(begin: &[u8]) -> bool {
    begin.starts_with(b"\x89PNG\r\n\x1a\n") || begin.starts_with(&[0xff, 0xd8, 0xff])
}

/// Returns whether bytes begin like those of a picture, also of one that cannot be printed.
fn is_picture(bytes: &[u8]) -> bool {
    let kind = |from: usize| bytes.get(from..from + 4).unwrap_or_default();
    let known = match kind(0) {
        b"RIFF" => kind(8) == b"WEBP",
        [b'B', b'M', ..] => kind(6) == [0; 4],
        _ => BEGINS.iter().any(|begin| bytes.starts_with(begin)),
    };
    let boxed =
        kind(4) == b"ftyp" && [b"heic", b"heix", b"mif1", b"avif"].iter().any(|brand| kind(8) == *brand);
    printable(bytes) || known || boxed
}

fn own_name(photo: &Path) -> String {
    photo.file_name().map_or_else(|| "photo".to_owned(), |name| name.to_string_lossy().into_owned())
}

/// Returns the last part of a name, so that a job file cannot name anything outside its own folder.
fn plain_name(file: &str) -> String {
    let name = file.rsplit(['/', '\\']).next().unwrap_or_default();
    if matches!(name, "" | "." | "..") { "photo".to_owned() } else { name.to_owned() }
}

fn numbered(name: &str, number: u32) -> String {
    match (number, name.rsplit_once('.')) {
        (1, _) => name.to_owned(),
        (_, Some((stem, ending))) => format!("{stem}-{number}.{ending}"),
        (_, None) => format!("{name}-{number}"),
    }
}

fn digest(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// The value for `abc` is from memory.
    #[test]
    fn a_photo_is_known_by_its_checksum() {
        assert_eq!(digest(b"abc"), "6437b3ac38465133ffb63b75273a8db548c558465d79db03fd359c6cd5bd9d85");
    }

    /// How each format begins, from memory.
    #[rstest]
    #[case(b"\x89PNG\r\n\x1a\n....", true)]
    #[case(b"\xff\xd8\xff\xe0....", true)]
    #[case(b"GIF89a......", true)]
    #[case(b"RIFF\x10\0\0\0WEBP", true)]
    #[case(b"RIFF\x10\0\0\0WAVE", false)]
    #[case(b"BM\x10\0\0\0\0\0\0\0..", true)]
    #[case(b"BMX is a word of it", false)]
    #[case(b"\0\0\0\x18ftypheic", true)]
    #[case(b"\0\0\0\x18ftypmp42", false)]
    #[case(b"# A ticket\n", false)]
    #[case(b"(at:\"2026-03-02", false)]
    #[case(b"", false)]
    fn a_picture_is_told_from_other_files(#[case] bytes: &[u8], #[case] picture: bool) {
        assert_eq!(is_picture(bytes), picture);
    }

    #[rstest]
    #[case("a.png", "a.png")]
    #[case("../../a.png", "a.png")]
    #[case("c:\\b\\a.png", "a.png")]
    #[case("..", "photo")]
    fn a_name_stays_in_its_folder(#[case] file: &str, #[case] name: &str) {
        assert_eq!(plain_name(file), name);
    }

    #[rstest]
    #[case("a.png", 1, "a.png")]
    #[case("a.png", 2, "a-2.png")]
    #[case("a", 3, "a-3")]
    fn a_name_that_is_taken_gets_a_number(#[case] name: &str, #[case] number: u32, #[case] free: &str) {
        assert_eq!(numbered(name, number), free);
    }
}
