//! What was settled on paper, in words for a ticket: prices, consent, photos, an earlier job.

use super::build::when;
use crate::job::{self, Job, PriceLine};
use crate::units::{Money, show_money, show_price};

/// What was settled on paper; every price in words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Papers {
    /// What the work was to cost, as it was said last.
    pub estimate: Option<Prices>,
    /// What the customer agreed to, in order.
    pub agreed: Vec<Agreed>,
    /// What is to be paid.
    pub bill: Option<Prices>,
    /// The photos, in order.
    pub photos: Vec<TicketPhoto>,
    /// The earlier job that this one is a comeback of.
    pub comeback: Option<Comeback>,
}

/// An estimate or a bill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prices {
    /// When.
    pub at: String,
    /// For what, its minutes, the price of the work, the price of the parts.
    pub lines: Vec<[String; 4]>,
    /// The sum with its currency.
    pub total: String,
    /// What was said with it, such as the ceiling; may be empty.
    pub notes: Vec<String>,
}

/// A customer's word.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Agreed {
    /// When.
    pub at: String,
    /// Who.
    pub by: String,
    /// How: `on the telephone`.
    pub how: &'static str,
    /// The ceiling with its currency.
    pub ceiling: String,
}

/// A photo of the job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TicketPhoto {
    /// When it was added.
    pub at: String,
    /// The name of its file.
    pub file: String,
    /// What it shows.
    pub caption: String,
    /// Its BLAKE3 checksum in hexadecimal digits.
    pub checksum: String,
    /// Whether it is to be printed.
    pub print: bool,
    /// The bytes of its file, when it is to be printed and was read.
    pub image: Option<Vec<u8>>,
}

/// The earlier job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comeback {
    /// When it was said.
    pub at: String,
    /// The earlier job's file name.
    pub job: String,
    /// When the earlier job was opened.
    pub opened: String,
    /// Why this one belongs to it.
    pub why: String,
}

/// A table with its heading, as every form of the ticket sets it.
pub(super) struct Section {
    pub(super) heading: &'static str,
    pub(super) head: [&'static str; 4],
    pub(super) rows: Vec<[String; 4]>,
    /// What stands below the rows: the sum first, then what was said with it.
    pub(super) below: Vec<String>,
}

impl Section {
    /// Returns the rows, then each line below them as a row whose other cells are empty.
    pub(super) fn every_row(&self) -> impl Iterator<Item = [String; 4]> {
        let alone = |words: &String| [words.clone(), String::new(), String::new(), String::new()];
        self.rows.iter().cloned().chain(self.below.iter().map(alone))
    }
}

impl Papers {
    /// Tells the paper of a job.
    pub(super) fn of(job: &Job) -> Self {
        let paper = job.paper();
        Self {
            estimate: paper.estimate().map(estimate),
            agreed: paper.authorised.iter().map(agreed).collect(),
            bill: paper.bill.as_ref().map(|bill| Prices {
                at: when(&bill.at),
                lines: lines(&bill.lines),
                total: show_price(bill.total, &bill.currency),
                notes: above(paper, bill).into_iter().collect(),
            }),
            photos: paper.photos.iter().map(photo).collect(),
            comeback: paper.warranty.as_ref().map(|earlier| Comeback {
                at: when(&earlier.at),
                job: earlier.job.clone(),
                opened: when(&earlier.opened),
                why: earlier.why.clone(),
            }),
        }
    }

    /// Returns the same with the day of each moment, which is all that a customer asks for.
    pub(super) fn by_day(&self) -> Self {
        let mut own = self.clone();
        let prices = own.estimate.iter_mut().chain(&mut own.bill).map(|prices| &mut prices.at);
        let agreed = own.agreed.iter_mut().map(|agreed| &mut agreed.at);
        prices.chain(agreed).for_each(|at| *at = day(at).to_owned());
        own
    }

    /// Returns the tables of what is there.
    pub(super) fn sections(&self) -> Vec<Section> {
        let prices = ["for", "minutes", "work", "parts"];
        let priced = |heading, prices: &Option<Prices>, head| Section {
            heading,
            head,
            rows: prices.as_ref().map(|prices| prices.lines.clone()).unwrap_or_default(),
            below: prices.as_ref().map(Prices::below).unwrap_or_default(),
        };
        let all = [
            priced("Estimate", &self.estimate, prices),
            Section {
                heading: "Agreed",
                head: ["who", "how", "at most", "when"],
                rows: self.agreed.iter().map(Agreed::row).collect(),
                below: Vec::new(),
            },
            priced("Price", &self.bill, prices),
            Section {
                heading: "Photos",
                head: ["file", "shows", "BLAKE3 checksum", "when"],
                rows: self.photos.iter().map(TicketPhoto::row).collect(),
                below: Vec::new(),
            },
            Section {
                heading: "Comeback",
                head: ["earlier job", "it was opened", "why it belongs to it", "said"],
                rows: self.comeback.iter().map(Comeback::row).collect(),
                below: Vec::new(),
            },
        ];
        all.into_iter().filter(|section| section.every_row().next().is_some()).collect()
    }
}

impl Prices {
    fn below(&self) -> Vec<String> {
        let (sum, said) = (format!("together: {}", self.total), format!("said {}", self.at));
        std::iter::once(sum).chain(self.notes.iter().cloned()).chain([said]).collect()
    }
}

impl Agreed {
    fn row(&self) -> [String; 4] {
        [self.by.clone(), self.how.to_owned(), self.ceiling.clone(), self.at.clone()]
    }
}

impl TicketPhoto {
    fn row(&self) -> [String; 4] {
        [self.file.clone(), self.caption.clone(), self.checksum.clone(), self.at.clone()]
    }
}

impl Comeback {
    fn row(&self) -> [String; 4] {
        [self.job.clone(), self.opened.clone(), self.why.clone(), self.at.clone()]
    }
}

/// Returns the day of a moment in words.
pub(super) fn day(moment: &str) -> &str {
    moment.get(..10).unwrap_or(moment)
}

fn estimate(made: &job::Estimated) -> Prices {
    let said = &made.estimate;
    let ceiling = format!("at most {} without a call", show_price(said.ceiling, &said.currency));
    let words = Some(said.said.trim()).filter(|words| !words.is_empty());
    let words = words.map(|words| format!("said to the customer: {words}"));
    Prices {
        at: when(&made.at),
        lines: lines(&said.lines),
        total: show_price(job::total(&said.lines), &said.currency),
        notes: std::iter::once(ceiling).chain(words).collect(),
    }
}

/// Says by how much a bill is above what was agreed to; `None` when it is not, or is in another currency.
fn above(paper: &job::Paper, bill: &job::Billed) -> Option<String> {
    let agreed =
        paper.authorised.last().map(|word| (word.ceiling, &word.currency, "that was agreed to at most"));
    let foretold = paper.estimate().map(|made| {
        let said = &made.estimate;
        (said.ceiling, &said.currency, "that the estimate names as the most")
    });
    let (ceiling, currency, how) = agreed.or(foretold)?;
    let alike = currency == &bill.currency || currency.is_empty() || bill.currency.is_empty();
    (alike && bill.total > ceiling).then(|| {
        let more = bill.total.in_hundredths().saturating_sub(ceiling.in_hundredths());
        let [more, ceiling] = [Money::hundredths(more), ceiling].map(|sum| show_price(sum, paper.currency()));
        format!("NOTE: this is {more} more than the {ceiling} {how}")
    })
}

fn lines(lines: &[PriceLine]) -> Vec<[String; 4]> {
    let none_empty = |money: Money| if money == Money::default() { String::new() } else { show_money(money) };
    let minutes = |minutes: u32| if minutes == 0 { String::new() } else { minutes.to_string() };
    let line = |line: &PriceLine| {
        [line.what.clone(), minutes(line.minutes), none_empty(line.labour), none_empty(line.parts)]
    };
    lines.iter().map(line).collect()
}

fn agreed(agreed: &job::Authorised) -> Agreed {
    Agreed {
        at: when(&agreed.at),
        by: agreed.by.clone(),
        how: agreed.how.words(),
        ceiling: show_price(agreed.ceiling, &agreed.currency),
    }
}

fn photo(photo: &job::Photo) -> TicketPhoto {
    TicketPhoto {
        at: when(&photo.at),
        file: photo.file.clone(),
        caption: photo.caption.clone(),
        checksum: photo.checksum.clone(),
        print: photo.print,
        image: None,
    }
}
