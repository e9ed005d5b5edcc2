//! What is kept beside the events so that lists, figures and search are quick. All of it follows from the events.

use rusqlite::{Connection, OptionalExtension as _, params};

use super::failure::Failure;
use super::lessons;
use super::letters::folded;
use super::log::{Found, Log, count, digits};
use super::measured::{Told, told, words};
use super::summary::{Named, Summary};
use crate::job::{Event, Job, Outcome, PriceLine, Record};
use crate::units::{Money, show_money};

/// Makes anew what follows from one job's events; refuses events that make no job.
pub(super) fn renew(connection: &Connection, found: &Found, log: &Log) -> Result<(), Failure> {
    let job = log.job().map_err(|why| found.log_error(why))?;
    if found.events > 0 {
        forget(connection, found.id)?;
    }
    summary(connection, found.id, &Summary::of(&found.uid, &job))?;
    paper(connection, found, log, &job)?;
    for reading in told(&job) {
        reading_row(connection, found.id, &reading)?;
    }
    for skip in job.skipped() {
        let measured = measured(connection, &words(&skip.measurement))?;
        let sql = "INSERT OR REPLACE INTO skip (job, measured, reason) VALUES (?1, ?2, ?3)";
        connection.execute(sql, params![found.id, measured, skip.reason])?;
    }
    lessons::keep(connection, found.id, &job)?;
    Ok(searchable(connection, found.id, &job)?)
}

fn forget(connection: &Connection, id: i64) -> rusqlite::Result<()> {
    for sql in [
        "DELETE FROM reading WHERE job = ?1",
        "DELETE FROM skip WHERE job = ?1",
        "DELETE FROM taught WHERE job = ?1",
        "DELETE FROM summary WHERE job = ?1",
    ] {
        connection.execute(sql, [id])?;
    }
    Ok(())
}

const SUMMARY: &str = "INSERT INTO summary (job, wiring, instrument, customer, technician, complaint, \
    symptoms, opened_at, closed_at, opened_day, closed_day, search_minutes, repair_minutes, renamed, ending, \
    reason, readings, skipped, rounds, owner) \
    VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, julianday(?8), julianday(?9), ?10, ?11, ?12, ?13, ?14, ?15, ?16, \
    ?17, ?18)";

fn summary(connection: &Connection, id: i64, it: &Summary) -> rusqlite::Result<()> {
    let symptoms: String = it.symptoms.iter().flat_map(|name| [name.as_str(), ","]).collect();
    connection.execute(
        SUMMARY,
        params![
            id,
            it.wiring,
            it.instrument,
            it.customer,
            it.technician,
            it.complaint,
            format!(",{symptoms}"),
            it.opened_at,
            it.closed_at,
            it.search_minutes,
            it.repair_minutes,
            it.renamed,
            it.ending.name(),
            it.reason,
            it.readings,
            it.skipped,
            it.rounds,
            owner(&it.customer, &it.instrument),
        ],
    )?;
    named(connection, id, "first", it.first.as_ref())?;
    named(connection, id, "last", it.last.as_ref())
}

fn named(connection: &Connection, id: i64, which: &str, it: Option<&Named>) -> rusqlite::Result<()> {
    let Some(it) = it else { return Ok(()) };
    let sql = format!(
        "UPDATE summary SET {which}_fault = ?2, {which}_kind = ?3, {which}_place = ?4, {which}_family = ?5, \
         {which}_probability = ?6, {which}_sentence = ?7 WHERE job = ?1"
    );
    let Named { fault, kind, place, family, probability, sentence } = it;
    connection.execute(&sql, params![id, fault, kind, place, family, probability, sentence])?;
    Ok(())
}

/// Keeps the price and the earlier job that the events tell; where no event ever told one, what was kept by hand stays.
fn paper(connection: &Connection, found: &Found, log: &Log, job: &Job) -> rusqlite::Result<()> {
    let Paper { price, earlier } = Paper::of(connection, found, log, job)?;
    if let Some(price) = price {
        connection.execute("UPDATE job SET price = ?2 WHERE id = ?1", params![found.id, price])?;
    }
    if let Some(earlier) = earlier {
        connection.execute("UPDATE job SET warranty_of = ?2 WHERE id = ?1", params![found.id, earlier])?;
    }
    Ok(())
}

/// What the events tell that is kept with the job itself; nothing where no event ever told it.
pub(super) struct Paper {
    /// The total of the last bill that counts.
    pub price: Option<Option<i64>>,
    /// The name of the earlier job.
    pub earlier: Option<Option<String>>,
}

impl Paper {
    /// Returns what the events of a job tell.
    pub(super) fn of(connection: &Connection, found: &Found, log: &Log, job: &Job) -> rusqlite::Result<Self> {
        let tells = |is: fn(&Event) -> bool| log.records.iter().any(|record| is(&record.event));
        let price = tells(|event| matches!(event, Event::Billed { .. }))
            .then(|| job.paper().bill.as_ref().map(|bill| bill.total.in_hundredths()));
        let mut earlier = None;
        if tells(|event| matches!(event, Event::WarrantyOf { .. })) {
            let warranty = job.paper().warranty.as_ref();
            let known = warranty.map(|it| opened_then(connection, &found.uid, &it.opened)).transpose()?;
            earlier = Some(known.flatten());
        }
        Ok(Self { price, earlier })
    }
}

/// Returns the one other job that was opened at a moment; nothing when there is none yet, or more than one.
fn opened_then(connection: &Connection, uid: &str, moment: &str) -> rusqlite::Result<Option<String>> {
    let begins = digits(moment);
    // `.` is the character after `-`, so that the index of the names serves.
    let sql = "SELECT uid FROM job WHERE uid >= ?1 || '-' AND uid < ?1 || '.' AND uid <> ?2 \
               AND diverged_from IS NULL LIMIT 2";
    let mut statement = connection.prepare(sql)?;
    let found = statement.query_map([begins.as_str(), uid], |row| row.get(0))?;
    let mut found: Vec<String> = found.collect::<rusqlite::Result<_>>()?;
    Ok(if found.len() == 1 { found.pop() } else { None })
}

/// Returns what two jobs of one instrument have in common; nothing when the instrument has no name.
pub(super) fn owner(customer: &str, instrument: &str) -> Option<String> {
    let plain = |text: &str| text.trim().to_lowercase();
    (!instrument.trim().is_empty()).then(|| format!("{}\n{}", plain(customer), plain(instrument)))
}

fn reading_row(connection: &Connection, id: i64, it: &Told) -> rusqlite::Result<()> {
    let measured = measured(connection, &it.said)?;
    let sql = "INSERT INTO reading (job, number, seq, measured, asked_by, seconds, bits, found) \
               VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";
    connection.execute(
        sql,
        params![id, it.number, count(it.seq), measured, it.asked_by, it.seconds, it.bits, it.found],
    )?;
    Ok(())
}

fn measured(connection: &Connection, said: &str) -> rusqlite::Result<i64> {
    let sql = "SELECT id FROM measured WHERE said = ?1";
    if let Some(known) = connection.query_row(sql, [said], |row| row.get(0)).optional()? {
        return Ok(known);
    }
    connection.execute("INSERT INTO measured (said) VALUES (?1)", [said])?;
    Ok(connection.last_insert_rowid())
}

/// So many letters of a text can be searched: finding the words around a place takes time with the square of the places.
const SEARCHED: usize = 4_000;

fn opening(text: &str) -> String {
    text.chars().take(SEARCHED).collect()
}

/// Keeps the words of a job in the index, which most events leave as it is.
fn searchable(connection: &Connection, id: i64, job: &Job) -> rusqlite::Result<()> {
    let new = searched(job);
    let old = indexed(connection, id)?;
    if old.as_ref() == Some(&new) {
        return Ok(());
    }
    if old.is_some() {
        connection.execute("DELETE FROM search WHERE rowid = ?1", [id])?;
    }
    let sql = "INSERT INTO search (rowid, customer, instrument, complaint, faults, parts, repairs, remarks) \
               VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";
    let [customer, instrument, complaint, faults, parts, repairs, remarks] = new;
    connection.execute(sql, params![id, customer, instrument, complaint, faults, parts, repairs, remarks])?;
    Ok(())
}

/// Returns the texts under which a job can be found, in the order of the index's columns.
fn searched(job: &Job) -> [String; 7] {
    let intake = job.intake();
    let mut texts = Texts::default();
    job.counting().for_each(|record| texts.add(record));
    let Texts { faults, parts, repairs, remarks, amounts } = texts;
    let remarks: Vec<&str> = remarks.into_iter().chain(amounts.iter().map(String::as_str)).collect();
    let [faults, parts, repairs, remarks] = [faults, parts, repairs, remarks].map(|all| all.join("\n"));
    [&intake.customer, &intake.instrument, &intake.complaint, &faults, &parts, &repairs, &remarks]
        .map(|text| folded(&opening(text)))
}

/// Returns the texts that the index holds of a job.
fn indexed(connection: &Connection, id: i64) -> rusqlite::Result<Option<[String; 7]>> {
    let sql = "SELECT customer, instrument, complaint, faults, parts, repairs, remarks FROM search \
               WHERE rowid = ?1";
    let mut statement = connection.prepare(sql)?;
    let mut rows = statement.query([id])?;
    let Some(row) = rows.next()? else { return Ok(None) };
    let mut texts: [String; 7] = Default::default();
    for (column, text) in texts.iter_mut().enumerate() {
        *text = row.get(column).unwrap_or_default();
    }
    Ok(Some(texts))
}

/// The words of a job under which it can be found.
#[derive(Default)]
struct Texts<'a> {
    faults: Vec<&'a str>,
    parts: Vec<&'a str>,
    repairs: Vec<&'a str>,
    remarks: Vec<&'a str>,
    amounts: Vec<String>,
}

impl<'a> Texts<'a> {
    fn add(&mut self, record: &'a Record) {
        match &record.event {
            Event::Concluded { faults, sentence, repair, .. } => {
                self.faults.push(sentence);
                self.parts.extend(faults.iter().map(String::as_str));
                self.repairs.push(repair);
            }
            Event::Known { part, .. } => self.parts.push(part),
            Event::Repaired { what, .. } => self.repairs.push(what),
            Event::Billed { lines, total, .. } => {
                self.repairs.extend(lines.iter().map(|line| line.what.as_str()));
                self.prices(lines, *total);
            }
            Event::Estimated { estimate } => {
                self.remarks.push(&estimate.said);
                self.remarks.extend(estimate.lines.iter().map(|line| line.what.as_str()));
                self.prices(&estimate.lines, estimate.ceiling);
            }
            Event::Authorised { by, how, .. } => self.remarks.extend([by.as_str(), how.words()]),
            event => self.remarks.extend(remark(event)),
        }
    }

    /// Adds the price of each line, their sum and the amount at their end, each once.
    fn prices(&mut self, lines: &[PriceLine], end: Money) {
        let prices = lines.iter().map(|line| line.labour + line.parts);
        let sum = prices.clone().fold(Money::default(), |sum, price| sum + price);
        for price in prices.chain([sum, end]).map(show_money) {
            if !self.amounts.contains(&price) {
                self.amounts.push(price);
            }
        }
    }
}

fn remark(event: &Event) -> Option<&str> {
    match event {
        Event::Started { intake, .. } => Some(&intake.last_done),
        Event::Withdrawn { reason, .. } | Event::Skipped { reason, .. } => Some(reason),
        Event::SearchedOn { remains, .. } => Some(remains),
        Event::Answered { answer, .. } => Some(answer),
        Event::PhotoAdded { caption, .. } => Some(caption),
        Event::WarrantyOf { why, .. } => Some(why),
        Event::Closed { outcome: Outcome::Unproven { reason } } => Some(reason),
        _ => None,
    }
}
