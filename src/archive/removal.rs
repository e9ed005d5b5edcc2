//! Taking a customer out of a job: the person goes, the technical record stays.

use rusqlite::{Connection, params};

use super::failure::Failure;
use super::kept;
use super::log::{Found, Log};
use super::{Archive, ArchiveError};
use crate::job::{Event, Intake, JobError, Outcome, Record};

const REMOVING: &str = "take the customer out of the archive";
/// What stands where a name stood.
const GONE: &str = "[removed]";
/// How long a word is at least that is looked for in other texts.
const SHORTEST: usize = 3;

/// What was done to take a customer out of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Removed {
    /// How many events were changed.
    pub events: usize,
    /// Whether the file itself holds no trace any more. When not, another window has the archive open: the trace goes
    /// with [`Archive::scrub`] after it is closed.
    pub scrubbed: bool,
}

impl Archive {
    /// Takes the customer out of a job: customer and instrument become empty, and the words of the customer's name are
    /// replaced in the complaint, in reasons and in what was written about the repair, prices, photos and an earlier job;
    /// who agreed to a price goes whole. Readings, fault, repair, times and prices stay. Backups that were made before,
    /// and photos beside job files, still hold what they held.
    ///
    /// # Errors
    ///
    /// When there is no such job, or the archive cannot be written; then nothing was changed.
    pub fn remove_customer(&mut self, uid: &str, now: &str) -> Result<Removed, ArchiveError> {
        let events = self.write(REMOVING, |transaction| {
            let found = Found::expected(transaction, uid)?;
            Ok(remove(transaction, &found, now)?.1)
        })?;
        Ok(Removed { events, scrubbed: self.scrub() })
    }

    /// Overwrites what was deleted, in the file and in its log; returns whether nothing of it is left.
    pub fn scrub(&mut self) -> bool {
        let emptied = || -> rusqlite::Result<bool> {
            self.connection.execute_batch("INSERT INTO search (search) VALUES ('optimize'); VACUUM;")?;
            let busy: i64 =
                self.connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
            Ok(busy == 0)
        };
        emptied().unwrap_or(false)
    }
}

/// Takes the customer out of a job in the database; returns its new log and how many events were changed.
pub(super) fn remove(connection: &Connection, found: &Found, now: &str) -> Result<(Log, usize), Failure> {
    let old = Log::read(connection, found)?;
    let new = cleaned(&old, &Names::of(&old)).map_err(|why| found.log_error(why))?;
    let changed = old.lines.iter().zip(&new.lines).filter(|(old, new)| old != new).count();
    connection.execute("DELETE FROM event WHERE job = ?1", [found.id])?;
    new.write(connection, found.id, 0)?;
    let sql = "UPDATE job SET removed_at = coalesce(removed_at, ?2) WHERE id = ?1";
    connection.execute(sql, params![found.id, now])?;
    kept::renew(connection, found, &new)?;
    Ok((new, changed))
}

/// Returns a log without the customer; events that do not name it keep their bytes.
pub(super) fn cleaned(log: &Log, names: &Names) -> Result<Log, JobError> {
    let mut cleaned = log.clone();
    for (record, line) in cleaned.records.iter_mut().zip(&mut cleaned.lines) {
        let mut new = record.clone();
        clean(&mut new, names);
        if new != *record {
            *line = crate::job::to_line(&new)?;
            *record = new;
        }
    }
    Ok(cleaned)
}

fn clean(record: &mut Record, names: &Names) {
    match &mut record.event {
        Event::Started { intake, .. } => clean_intake(intake, names),
        Event::Skipped { reason, .. }
        | Event::Withdrawn { reason, .. }
        | Event::Closed { outcome: Outcome::Unproven { reason } } => names.take_out(reason),
        Event::Repaired { what, .. } => names.take_out(what),
        Event::SearchedOn { remains, .. } => names.take_out(remains),
        paper => clean_paper(paper, names),
    }
}

/// Cleans what was written about prices, consent, photos and an earlier job; who agreed goes whatever the name.
fn clean_paper(event: &mut Event, names: &Names) {
    match event {
        Event::Estimated { estimate } => {
            names.take_out(&mut estimate.said);
            estimate.lines.iter_mut().for_each(|line| names.take_out(&mut line.what));
        }
        Event::Authorised { by, .. } => GONE.clone_into(by),
        Event::Billed { lines, .. } => lines.iter_mut().for_each(|line| names.take_out(&mut line.what)),
        Event::PhotoAdded { file, caption, .. } => {
            names.take_out(file);
            names.take_out(caption);
        }
        Event::WarrantyOf { job, why, .. } => {
            names.take_out(job);
            names.take_out(why);
        }
        _ => {}
    }
}

fn clean_intake(intake: &mut Intake, names: &Names) {
    intake.customer.clear();
    intake.instrument.clear();
    names.take_out(&mut intake.complaint);
    names.take_out(&mut intake.last_done);
}

/// The words that name a customer.
#[derive(Default)]
pub(super) struct Names {
    /// Taken out as they stand: addresses and numbers.
    phrases: Vec<String>,
    /// Taken out as whole words, in small letters.
    words: Vec<String>,
}

impl Names {
    /// Returns the words of a job's customer: all of them, or where some begin with a capital letter only those.
    pub(super) fn of(log: &Log) -> Self {
        let Some(Event::Started { intake, .. }) = log.records.first().map(|record| &record.event) else {
            return Self::default();
        };
        let customer = intake.customer.as_str();
        let is_number = |part: &str| part.chars().filter(char::is_ascii_digit).count() >= SHORTEST;
        let telling = |part: &&str| part.contains('@') || is_number(part);
        let apart = |c: char| c.is_whitespace() || ",;:()".contains(c);
        let bare = |part: &str| part.trim_matches(|c: char| !c.is_alphanumeric()).to_owned();
        let long = |word: &&str| word.chars().count() >= SHORTEST;
        let some_capital = customer.contains(char::is_uppercase);
        let named = |word: &&str| !some_capital || word.contains(char::is_uppercase);
        let words = customer.split(|c: char| !c.is_alphanumeric());
        let mut phrases: Vec<String> = customer.split(apart).filter(telling).map(bare).collect();
        phrases.retain(|phrase| long(&phrase.as_str()));
        // A number may begin with another one: the longest goes first.
        phrases.sort_by_key(|phrase| std::cmp::Reverse(phrase.len()));
        Self { phrases, words: words.filter(long).filter(named).map(str::to_lowercase).collect() }
    }

    fn take_out(&self, text: &mut String) {
        for phrase in &self.phrases {
            if text.contains(phrase.as_str()) {
                *text = text.replace(phrase.as_str(), GONE);
            }
        }
        let mut kept = String::with_capacity(text.len());
        for piece in text.split_inclusive(|c: char| !c.is_alphanumeric()) {
            let word = piece.trim_end_matches(|c: char| !c.is_alphanumeric());
            let is_name = self.words.iter().any(|name| *name == word.to_lowercase());
            kept.push_str(if is_name { GONE } else { word });
            kept.push_str(&piece[word.len()..]);
        }
        *text = kept;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(customer: &str) -> Names {
        let event = Event::Started { format: 1, intake: Box::new(intake(customer)), leaders: vec![] };
        let record = Record { at: String::new(), event };
        Names::of(&Log { lines: vec![String::new()], records: vec![record] })
    }

    fn intake(customer: &str) -> Intake {
        Intake {
            wiring: String::new(),
            wiring_text: String::new(),
            priors_text: None,
            trees_text: Vec::new(),
            instrument: String::new(),
            customer: customer.to_owned(),
            complaint: String::new(),
            symptoms: vec![],
            last_done: String::new(),
            access: crate::readings::Access::Outside,
            meter: String::new(),
            technician: String::new(),
        }
    }

    fn without(customer: &str, text: &str) -> String {
        let mut text = text.to_owned();
        names(customer).take_out(&mut text);
        text
    }

    #[test]
    fn names_numbers_and_addresses_go_and_the_rest_stays() {
        let customer = "Zerlinde Quastenfloh, tel 0555/12345 zq@mail.invalid";
        assert_eq!(
            without(customer, "zerlinde's guitar hums; QUASTENFLOH says the tel socket is fine (0555/12345)"),
            "[removed]'s guitar hums; [removed] says the tel socket is fine ([removed])"
        );
        assert_eq!(without(customer, "ask zq@mail.invalid"), "ask [removed]");
        assert_eq!(without("Zerlinde, 01712223344, Town", "ring (01712223344)!"), "ring ([removed])!");
        assert_eq!(without("tel:01712223344", "01712223344 evenings"), "[removed] evenings");
        assert_eq!(without("Zerlinde, 555 0199, 12", "555 0199, fret 12"), "[removed] [removed], fret 12");
        assert_eq!(without("Zerlinde @ Town", "Zerlinde says it hums"), "[removed] says it hums");
        assert_eq!(without("Zerlinde @b", "a bad buzz"), "a bad buzz");
        assert_eq!(without("Zerlinde, 555, 5551234", "ring 5551234"), "ring [removed]");
        assert_eq!(without("zerlinde", "Zerlinde, again"), "[removed], again");
        assert_eq!(without("", "no sound"), "no sound");
    }

    fn cleaned_event(event: Event) -> String {
        let mut record = Record { at: String::new(), event };
        clean(&mut record, &names("Zerlinde Quastenfloh"));
        crate::job::to_line(&record).unwrap()
    }

    #[test]
    fn names_go_from_prices_photos_and_the_earlier_job_too() {
        use crate::job::{Consent, Estimate, PriceLine};
        use crate::units::Money;
        let line = |what: &str| PriceLine {
            what: what.to_owned(),
            minutes: 20,
            labour: Money::hundredths(2000),
            parts: Money::default(),
        };
        let estimate = Estimate {
            lines: vec![line("a new jack for Zerlinde")],
            ceiling: Money::hundredths(3000),
            per_hour: Money::hundredths(6000),
            currency: "EUR".to_owned(),
            said: "Zerlinde wants to be called first".to_owned(),
        };
        let (total, currency) = (Money::hundredths(2000), "EUR".to_owned());
        let by = "the brother of the owner".to_owned();
        let events = [
            Event::Estimated { estimate },
            Event::Authorised { by, how: Consent::Telephone, ceiling: total, currency: currency.clone() },
            Event::Billed { lines: vec![line("a new jack, Quastenfloh")], total, currency },
            Event::PhotoAdded {
                file: "zerlinde-1.png".to_owned(),
                checksum: "00".to_owned(),
                size: 3,
                caption: "as Zerlinde brought it".to_owned(),
                print: false,
            },
            Event::WarrantyOf {
                job: "quastenfloh.job.ron".to_owned(),
                opened: "2026-03-02T09:14:05Z".to_owned(),
                why: "Quastenfloh says it is the same noise".to_owned(),
            },
        ];
        for event in events {
            let line = cleaned_event(event);
            let small = line.to_lowercase();
            assert!(line.contains(GONE), "{line}");
            assert!(
                ["zerlinde", "quastenfloh", "brother"].iter().all(|name| !small.contains(name)),
                "{line}"
            );
        }
    }
}
