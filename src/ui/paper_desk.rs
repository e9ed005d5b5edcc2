//! What the screen of estimate and bill remembers, and what it asks for.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::mpsc::Receiver;

use super::bench::Bench;
use super::paper_form::{ConsentForm, Draft, PriceForm, Slot, Wrong};
use super::past_read::{Answer, FoundJob};
use crate::session::{Earlier, OwnShop, PaperFacts, PaperWish, PastJobs, ShopPlace, can_be_printed};
use crate::source::Source;
use crate::ticket::{Paper, Shop, TicketCopy};
use crate::workbench::Command;

/// A page of the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PaperPage {
    /// What the work will cost.
    #[default]
    Estimate,
    /// What the customer agreed to.
    Consent,
    /// What is to be paid.
    Bill,
    /// Photos.
    Photos,
    /// The earlier job.
    Comeback,
    /// The shop on printed tickets.
    Shop,
    /// The ticket.
    Ticket,
}

/// What the screen asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PaperAction {
    /// Open the screen.
    Open,
    /// Go back to the job.
    Close,
    /// Show this page.
    Page(PaperPage),
    /// Add a line: a part, or work.
    Add {
        /// Whether it is a part.
        part: bool,
    },
    /// Take this line out.
    Remove(usize),
    /// Put the proposed lines in the place of those that stand there.
    Propose,
    /// Record the form of the page, or write the ticket.
    Record,
    /// Ask for a photo.
    ChoosePhoto,
    /// These files were dropped on the window.
    Dropped(Vec<PathBuf>),
    /// Take a photo on or off the ticket.
    Print(String, bool),
    /// Change the caption of a photo.
    Recaption(String),
    /// Go back from changing a photo to adding one.
    AnotherPhoto,
    /// Look for earlier jobs with the words of the form.
    Search,
    /// Take this job of those that were found.
    Pick(usize),
    /// Ask for the file of the earlier job.
    ChooseEarlier,
    /// Read the shop's file again.
    LookAtShop,
    /// Make an example of the shop's file.
    CopyShop,
    /// Write the shop's file as it is typed.
    WriteShop,
}

/// The form of photos.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PhotoForm {
    /// The file, as typed or chosen.
    pub file: String,
    /// What it shows.
    pub caption: String,
    /// Whether it is printed on the ticket.
    pub print: bool,
    /// The photo of the job that is changed; `None` when one is added.
    pub changed: Option<String>,
}

/// The form of a comeback.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ComebackForm {
    /// What earlier jobs are looked for with.
    pub words: String,
    /// Why it belongs to the earlier job.
    pub why: String,
    /// The earlier job, and its line as it is shown.
    pub earlier: Option<(Earlier, String)>,
}

/// A shop that has no file yet, as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ShopForm {
    /// Its name.
    pub name: String,
    /// What stands below the name, a line each.
    pub lines: String,
    /// The price of an hour.
    pub per_hour: String,
    /// What stands behind prices.
    pub currency: String,
    /// Days of warranty.
    pub warranty: String,
}

impl ShopForm {
    /// Returns the text of the shop's file, or what is wrong.
    pub(super) fn text(&self) -> Result<String, String> {
        let days = match self.warranty.trim() {
            "" => 0,
            typed => {
                typed.parse::<u32>().map_err(|why| format!("\"{typed}\" is no number of days: {why}"))?
            }
        };
        let lines: Vec<&str> = self.lines.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
        let mut text =
            format!("(\n    format: 1,\n    name: {:?},\n    lines: {lines:?},\n", self.name.trim());
        text.push_str(&format!("    currency: {:?},\n", self.currency.trim()));
        if !self.per_hour.trim().is_empty() {
            text.push_str(&format!("    labour_per_hour: {:?},\n", self.per_hour.trim()));
        }
        text.push_str(&format!("    warranty_days: {days},\n)\n"));
        let read = Shop::read(&Source::new("shop.ron", text.as_str()));
        read.map_err(|all| all.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))?;
        Ok(text)
    }
}

/// What a ticket is written as.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TicketForm {
    /// A PDF file to print.
    #[default]
    Pdf,
    /// A web page.
    Html,
    /// Markdown.
    Markdown,
}

/// The screen of estimate and bill.
#[derive(Clone, Debug)]
pub struct PaperDesk {
    /// Which page is shown.
    pub page: PaperPage,
    /// The estimate.
    pub estimate: Draft<PriceForm>,
    /// The consent.
    pub consent: Draft<ConsentForm>,
    /// The bill.
    pub bill: Draft<PriceForm>,
    /// The photo to be added or changed.
    pub photo: PhotoForm,
    /// The comeback.
    pub comeback: ComebackForm,
    /// The earlier jobs that were found; `None` until they were looked for.
    pub found: Option<Vec<FoundJob>>,
    /// Whose copy of the ticket is printed.
    pub copy: TicketCopy,
    /// On what it is printed; the shop's paper when none is named.
    pub paper: Option<Paper>,
    /// What the ticket is written as.
    pub form: TicketForm,
    /// What is known of the job.
    pub facts: PaperFacts,
    /// The shop's file as it was read last; `None` when there is none.
    pub shop: Option<OwnShop>,
    /// Where the shop's file is.
    pub place: ShopPlace,
    /// What is to be known of the photo in the form.
    pub photo_note: Option<String>,
    /// A shop that has no file yet.
    pub shop_form: ShopForm,
    pub(super) wrong: Vec<Wrong>,
    /// The line that was added last, until the keyboard is in it.
    pub(super) fresh: Option<usize>,
    pub(super) dropped: VecDeque<PathBuf>,
    pub(super) past: PastJobs,
    pub(super) seen: Option<u64>,
    pub(super) sent: Option<PaperPage>,
    pub(super) waiting: bool,
    pub(super) reading: Option<Rc<Receiver<Answer>>>,
}

impl PaperDesk {
    pub(super) fn new(bench: &dyn Bench) -> Self {
        let place = bench.shop();
        Self {
            page: PaperPage::default(),
            estimate: Draft::default(),
            consent: Draft::default(),
            bill: Draft::default(),
            photo: PhotoForm::default(),
            comeback: ComebackForm::default(),
            found: None,
            copy: TicketCopy::Customer,
            paper: None,
            form: TicketForm::default(),
            facts: PaperFacts::default(),
            shop: place.read(),
            place,
            photo_note: None,
            shop_form: ShopForm::default(),
            wrong: Vec::new(),
            fresh: None,
            dropped: VecDeque::new(),
            past: bench.past(),
            seen: None,
            sent: None,
            waiting: false,
            reading: None,
        }
    }

    /// Returns whether earlier jobs are being looked for.
    pub fn is_reading(&self) -> bool {
        self.reading.is_some() || self.waiting
    }

    /// Returns the shop that is known; one without a name when there is none, or its file is wrong.
    pub fn known_shop(&self) -> Shop {
        self.shop.as_ref().and_then(|own| own.shop.clone().ok()).unwrap_or_default()
    }

    /// Returns what is wrong with a field.
    pub(super) fn wrong_at(&self, slot: Slot) -> Option<&str> {
        self.wrong.iter().find(|(at, _)| *at == slot).map(|(_, why)| why.as_str())
    }

    /// Returns the form with lines that is shown.
    pub(super) fn lines(&mut self) -> Option<&mut PriceForm> {
        match self.page {
            PaperPage::Estimate => Some(&mut self.estimate.now),
            PaperPage::Bill => Some(&mut self.bill.now),
            _ => None,
        }
    }

    /// Returns whether something is typed in a form that undo is for.
    pub(super) fn is_typing(&self) -> bool {
        match self.page {
            PaperPage::Estimate => self.estimate.touched(),
            PaperPage::Consent => self.consent.touched(),
            PaperPage::Bill => self.bill.touched(),
            PaperPage::Photos => self.photo != PhotoForm::default(),
            PaperPage::Comeback => self.comeback != ComebackForm::default(),
            PaperPage::Shop => self.shop_form != ShopForm::default(),
            PaperPage::Ticket => false,
        }
    }

    pub(super) fn renew(&mut self) {
        let shop = self.known_shop();
        self.estimate.renew(PriceForm::estimate(&self.facts, &shop));
        self.consent.renew(ConsentForm::of(&self.facts));
        self.bill.renew(PriceForm::bill(&self.facts, &shop));
    }

    pub(super) fn propose(&mut self) {
        let shop = self.known_shop();
        match self.page {
            PaperPage::Estimate => self.estimate.now = PriceForm::proposed(&self.facts, &shop),
            PaperPage::Bill => self.bill.now = PriceForm::done(&self.facts, &shop),
            _ => {}
        }
    }

    pub(super) fn take_photo(&mut self, file: PathBuf) {
        self.photo_note = match can_be_printed(&file) {
            Ok(true) => None,
            Ok(false) => Some(
                "It is neither a PNG nor a JPEG file: it can be kept with the job, but not be printed on the ticket."
                    .to_owned(),
            ),
            Err(why) => Some(format!("It cannot be read: {why}")),
        };
        self.photo.print &= self.photo_note.is_none();
        self.photo.changed = None;
        self.photo.file = file.display().to_string();
    }

    pub(super) fn next_photo(&mut self) {
        (self.photo, self.photo_note) = (PhotoForm::default(), None);
        if let Some(file) = self.dropped.pop_front() {
            self.take_photo(file);
        }
    }

    pub(super) fn recaption(&mut self, file: &str) {
        if let Some(known) = self.facts.paper.photo(file) {
            let (caption, print) = (known.caption.clone(), known.print);
            let (file, changed) = (known.file.clone(), Some(known.file.clone()));
            self.photo = PhotoForm { file, caption, print, changed };
            self.photo_note = None;
        }
    }

    pub(super) fn pick(&mut self, index: usize) {
        let found = self.found.as_ref().and_then(|found| found.get(index));
        self.comeback.earlier = found.map(|found| {
            let (uid, opened) = (found.0.uid.clone(), found.0.opened_at.clone());
            (Earlier::Archived { uid, opened }, super::past::line(found))
        });
    }

    /// Returns what the form of the page asks for, or everything that is wrong with it.
    pub(super) fn record(&self) -> Result<Wish, Vec<Wrong>> {
        match self.page {
            PaperPage::Estimate => self.estimate.now.estimated().map(Wish::Do),
            PaperPage::Bill => self.bill.now.billed().map(Wish::Do),
            PaperPage::Consent => self.consent.now.authorised(&self.facts, &self.known_shop()).map(Wish::Do),
            PaperPage::Photos => self.photo_wish(),
            PaperPage::Comeback => self.comeback_wish(),
            PaperPage::Shop | PaperPage::Ticket => Ok(Wish::Nothing),
        }
    }

    fn photo_wish(&self) -> Result<Wish, Vec<Wrong>> {
        let PhotoForm { file, caption, print, changed } = self.photo.clone();
        if let Some(file) = changed {
            return Ok(Wish::Paper(PaperWish::Change { file, caption, print }));
        }
        if file.trim().is_empty() {
            return Err(vec![(Slot::File, "Choose a photo, or type where its file is.".to_owned())]);
        }
        Ok(Wish::Paper(PaperWish::Photo { file: PathBuf::from(file.trim()), caption, print }))
    }

    fn comeback_wish(&self) -> Result<Wish, Vec<Wrong>> {
        let why = self.comeback.why.trim().to_owned();
        let mut wrong = Vec::new();
        if self.comeback.earlier.is_none() {
            wrong.push((Slot::Earlier, "Choose the earlier job first.".to_owned()));
        }
        if why.is_empty() {
            wrong.push((
                Slot::Why,
                "Write why it belongs to the earlier job: it stands on the ticket.".to_owned(),
            ));
        }
        match &self.comeback.earlier {
            Some((of, _)) if wrong.is_empty() => Ok(Wish::Paper(PaperWish::Comeback { of: of.clone(), why })),
            _ => Err(wrong),
        }
    }
}

/// What the form of a page asks for.
pub(super) enum Wish {
    /// Nothing: it has no form, or only asks where the ticket is to be written.
    Nothing,
    /// A command.
    Do(Command),
    /// A photo, or an earlier job.
    Paper(PaperWish),
}
