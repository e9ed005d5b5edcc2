//! The paper side of a job: what was foretold and agreed to, what it costs, photos, and an earlier job.

use serde::{Deserialize, Serialize};

use super::{Event, Record};
use crate::units::{Money, show_price};

/// One line of an estimate or of a bill.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PriceLine {
    /// What is done or put in.
    pub what: String,
    /// Minutes of work; 0 for a part.
    #[serde(default)]
    pub minutes: u32,
    /// What the work costs.
    #[serde(default)]
    pub labour: Money,
    /// What the parts cost.
    #[serde(default)]
    pub parts: Money,
}

impl PriceLine {
    /// Returns what the line costs.
    pub fn price(&self) -> Money {
        self.labour + self.parts
    }
}

/// Returns what some lines cost together.
pub fn total(lines: &[PriceLine]) -> Money {
    lines.iter().map(PriceLine::price).sum()
}

/// What the work will cost, as it was said to the customer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Estimate {
    /// The lines, in order.
    pub lines: Vec<PriceLine>,
    /// What is not gone beyond without a call.
    pub ceiling: Money,
    /// The price of an hour of work; 0 when none was named.
    #[serde(default)]
    pub per_hour: Money,
    /// The currency of every price, such as `EUR`.
    #[serde(default)]
    pub currency: String,
    /// What was said to the customer with it; may be empty.
    #[serde(default)]
    pub said: String,
}

/// How a customer agreed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Consent {
    /// On the telephone.
    Telephone,
    /// At the counter.
    InPerson,
    /// By letter, message or signature.
    InWriting,
}

impl Consent {
    /// Every way, in the order in which they are listed anywhere.
    pub const ALL: [Self; 3] = [Self::Telephone, Self::InPerson, Self::InWriting];

    /// Returns the name used on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Telephone => "telephone",
            Self::InPerson => "in-person",
            Self::InWriting => "in-writing",
        }
    }

    /// Returns it in words: `on the telephone`.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Telephone => "on the telephone",
            Self::InPerson => "in person",
            Self::InWriting => "in writing",
        }
    }

    /// Returns the way with this name, whatever its case; a blank stands for a hyphen.
    pub fn named(name: &str) -> Option<Self> {
        let name = name.trim().replace(' ', "-");
        Self::ALL.into_iter().find(|how| how.name().eq_ignore_ascii_case(&name))
    }
}

/// An estimate with the moment it was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Estimated {
    /// When.
    pub at: String,
    /// What it says.
    pub estimate: Estimate,
}

/// A customer's word for what may be spent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Authorised {
    /// When.
    pub at: String,
    /// Who agreed.
    pub by: String,
    /// How.
    pub how: Consent,
    /// What may be spent at most.
    pub ceiling: Money,
    /// The currency; may be empty.
    pub currency: String,
}

/// What the customer is to pay.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Billed {
    /// When.
    pub at: String,
    /// The lines, in order.
    pub lines: Vec<PriceLine>,
    /// The sum.
    pub total: Money,
    /// The currency; may be empty.
    pub currency: String,
}

/// A photo that belongs to the job; the file itself lies in the folder beside the job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// When it was added.
    pub at: String,
    /// The name of its file in that folder.
    pub file: String,
    /// Its BLAKE3 checksum in hexadecimal digits, by which a change shows.
    pub checksum: String,
    /// Its length in bytes.
    pub size: u64,
    /// What it shows.
    pub caption: String,
    /// Whether it is printed on the ticket.
    pub print: bool,
    /// The caption that it had when it was added the time before; `None` when it was added once.
    pub was: Option<String>,
}

impl Photo {
    /// Returns what is said when adding it once more gave it another caption; `None` when it did not.
    pub fn change(&self) -> Option<String> {
        let was = self.was.as_ref().filter(|was| **was != self.caption)?;
        let quoted = |text: &str| if text.is_empty() { "none".to_owned() } else { format!("\"{text}\"") };
        let (was, now) = (quoted(was), quoted(&self.caption));
        Some(format!(
            "the photo {} was in the job already and is kept once; its caption was {was} and is {now} now",
            self.file
        ))
    }
}

/// The earlier job that this one is a comeback of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warranty {
    /// When it was said.
    pub at: String,
    /// The earlier job's file name, or its name in the archive.
    pub job: String,
    /// When the earlier job was opened.
    pub opened: String,
    /// Why this one belongs to it.
    pub why: String,
}

/// What the paper events of a job add up to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Paper {
    /// The estimates in order; the last one holds.
    pub estimates: Vec<Estimated>,
    /// What was agreed to, in order; the last one holds.
    pub authorised: Vec<Authorised>,
    /// The last bill.
    pub bill: Option<Billed>,
    /// The photos in order, each file once.
    pub photos: Vec<Photo>,
    /// The earlier job.
    pub warranty: Option<Warranty>,
}

impl Paper {
    /// Returns the estimate that holds.
    pub fn estimate(&self) -> Option<&Estimated> {
        self.estimates.last()
    }

    /// Returns what may be spent at most: what was agreed to last, else what the estimate names.
    pub fn ceiling(&self) -> Option<Money> {
        let agreed = self.authorised.last().map(|agreed| agreed.ceiling);
        agreed.or_else(|| self.estimate().map(|made| made.estimate.ceiling))
    }

    /// Returns the currency that was named last; empty when none was.
    pub fn currency(&self) -> &str {
        let named = [
            self.bill.as_ref().map(|bill| bill.currency.as_str()),
            self.authorised.last().map(|agreed| agreed.currency.as_str()),
            self.estimate().map(|made| made.estimate.currency.as_str()),
        ];
        named.into_iter().flatten().find(|currency| !currency.trim().is_empty()).unwrap_or("")
    }

    /// Returns what the work costs as it stands: the bill, else the repair's minutes at the estimate's price of an hour
    /// with the parts of the estimate; `None` without both.
    pub fn cost(&self, repair_minutes: f64) -> Option<Money> {
        if let Some(bill) = &self.bill {
            return Some(bill.total);
        }
        let estimate = &self.estimate()?.estimate;
        let parts: Money = estimate.lines.iter().map(|line| line.parts).sum();
        let minutes = repair_minutes.clamp(0.0, 1e6).round() as u32;
        (estimate.per_hour > Money::default()).then(|| estimate.per_hour.for_minutes(minutes) + parts)
    }

    /// Returns the photo of this file name.
    pub fn photo(&self, file: &str) -> Option<&Photo> {
        self.photos.iter().find(|photo| photo.file == file)
    }

    /// Returns what is said when the work goes over the ceiling; `None` while it does not.
    pub fn over(&self, repair_minutes: f64) -> Option<String> {
        self.beyond(self.cost(repair_minutes)?)
    }

    /// Returns what is said when so much is over the ceiling; `None` when it is not, or when there is no ceiling.
    pub fn beyond(&self, cost: Money) -> Option<String> {
        let ceiling = self.ceiling()?;
        (cost > ceiling).then(|| {
            let [cost, ceiling] = [cost, ceiling].map(|money| show_price(money, self.currency()));
            format!(
                "the work comes to {cost}, over the ceiling of {ceiling}: ask the customer before going on"
            )
        })
    }

    /// Adds one counting event; others change nothing.
    pub(super) fn apply(&mut self, record: &Record) {
        let at = record.at.clone();
        match &record.event {
            Event::Estimated { estimate } => {
                self.estimates.push(Estimated { at, estimate: estimate.clone() });
            }
            Event::Authorised { by, how, ceiling, currency } => {
                let (by, currency) = (by.clone(), currency.clone());
                self.authorised.push(Authorised { at, by, how: *how, ceiling: *ceiling, currency });
            }
            Event::Billed { lines, total, currency } => {
                let (lines, currency) = (lines.clone(), currency.clone());
                self.bill = Some(Billed { at, lines, total: *total, currency });
            }
            Event::WarrantyOf { job, opened, why } => {
                let (job, opened, why) = (job.clone(), opened.clone(), why.clone());
                self.warranty = Some(Warranty { at, job, opened, why });
            }
            Event::PhotoAdded { .. } => self.add_photo(record),
            _ => {}
        }
    }

    fn add_photo(&mut self, record: &Record) {
        let Event::PhotoAdded { file, checksum, size, caption, print } = &record.event else { return };
        let known = self.photos.iter_mut().find(|photo| photo.file == *file);
        let added = Photo {
            at: record.at.clone(),
            file: file.clone(),
            checksum: checksum.clone(),
            size: *size,
            caption: caption.clone(),
            print: *print,
            was: known.as_ref().map(|known| known.caption.clone()),
        };
        match known {
            Some(known) => *known = added,
            None => self.photos.push(added),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(event: Event) -> Record {
        Record { at: "2026-03-02T09:14:05Z".to_owned(), event }
    }

    fn line(minutes: u32, labour: i64, parts: i64) -> PriceLine {
        let (labour, parts) = (Money::hundredths(labour), Money::hundredths(parts));
        PriceLine { what: "invented work".to_owned(), minutes, labour, parts }
    }

    fn estimate(ceiling: i64) -> Estimate {
        Estimate {
            lines: vec![line(20, 2000, 0), line(0, 0, 850)],
            ceiling: Money::hundredths(ceiling),
            per_hour: Money::hundredths(6000),
            currency: "EUR".to_owned(),
            said: String::new(),
        }
    }

    fn paper(events: Vec<Event>) -> Paper {
        let mut paper = Paper::default();
        events.into_iter().for_each(|event| paper.apply(&record(event)));
        paper
    }

    #[test]
    fn the_work_is_held_beside_what_was_agreed_to_last() {
        let mut events = vec![Event::Estimated { estimate: estimate(3000) }];
        assert_eq!(paper(events.clone()).over(20.0), None, "28.50 of 30.00");
        let over = paper(events.clone()).over(45.0);
        assert!(over.is_some_and(|said| said.contains("53.50 EUR") && said.contains("30.00 EUR")));
        let (by, currency) = ("the owner".to_owned(), "EUR".to_owned());
        let ceiling = Money::hundredths(6000);
        events.push(Event::Authorised { by, how: Consent::Telephone, ceiling, currency });
        assert_eq!(paper(events.clone()).over(45.0), None);
        let (total, currency) = (Money::hundredths(6001), "EUR".to_owned());
        events.push(Event::Billed { lines: Vec::new(), total, currency });
        assert!(paper(events).over(0.0).is_some(), "the bill counts and not the minutes");
    }

    #[test]
    fn without_a_price_of_work_nothing_is_said_of_it() {
        let free = Estimate { per_hour: Money::default(), ..estimate(1) };
        assert_eq!(paper(vec![Event::Estimated { estimate: free }]).over(600.0), None);
        assert_eq!(paper(Vec::new()).over(600.0), None);
    }

    #[test]
    fn a_photo_added_again_takes_the_place_of_the_first() {
        let photo = |caption: &str, print| Event::PhotoAdded {
            file: "a.png".to_owned(),
            checksum: "00".to_owned(),
            size: 3,
            caption: caption.to_owned(),
            print,
        };
        let paper = paper(vec![photo("before", false), photo("after", true)]);
        assert_eq!(paper.photos.len(), 1);
        assert!(paper.photos[0].print && paper.photos[0].caption == "after");
        let told = paper.photos[0].change().unwrap();
        assert!(told.contains("\"before\"") && told.contains("\"after\""), "{told}");
        let again = self::paper(vec![photo("after", false), photo("after", true)]);
        assert_eq!(again.photos[0].change(), None, "only the caption is told of");
    }

    #[test]
    fn every_way_to_agree_is_found_by_its_name() {
        for how in Consent::ALL {
            assert_eq!(Consent::named(how.name()), Some(how));
        }
        assert_eq!(Consent::named("In Person"), Some(Consent::InPerson));
        assert_eq!(Consent::named("by dove"), None);
    }
}
