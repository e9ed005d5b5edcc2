//! What is left of a job of which not every event is what was written.

use rusqlite::Connection;

use super::failure::Failure;
use super::log::{Found, Log, mark};
use super::removal::{self, Names};

const ROWS: &str =
    "SELECT seq, CAST(line AS BLOB), CAST(mark AS BLOB) FROM event WHERE job = ?1 ORDER BY seq";

/// The events of a damaged job that are what was written.
#[derive(Debug, PartialEq)]
pub(super) struct Remains {
    /// Each with its place in the log; the first is 0.
    lines: Vec<(usize, String)>,
    /// How many events the job had at least.
    least: usize,
}

/// A row of [`ROWS`], as far as it can be read.
type RawRow = (i64, Option<Vec<u8>>, Option<Vec<u8>>);

impl Remains {
    /// Returns the events whose own checksum, over the one before, is what was written.
    pub(super) fn read(connection: &Connection, found: &Found) -> Result<Self, Failure> {
        let mut statement = connection.prepare(ROWS)?;
        let rows = statement.query_map([found.id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        let rows: Vec<RawRow> = rows.collect::<rusqlite::Result<_>>()?;
        let mut before = (0, Some([0; 16]));
        let mut lines = Vec::new();
        for (seq, line, written) in rows {
            let last = before.1.filter(|_| before.0 + 1 == seq);
            let written = written.and_then(|mark| <[u8; 16]>::try_from(mark).ok());
            lines.extend(whole(seq, line, written, last));
            before = (seq, written);
        }
        let least = usize::try_from(found.events).unwrap_or_default();
        let least = least.max(lines.last().map_or(0, |(at, _): &(usize, String)| at + 1));
        Ok(Self { lines, least })
    }

    /// Returns how many events are whole.
    pub(super) fn whole(&self) -> usize {
        self.lines.len()
    }

    /// Returns whether a log has at least as many events and agrees with all that are whole.
    pub(super) fn agree(&self, log: &Log) -> bool {
        log.lines.len() >= self.least && self.lines.iter().all(|(at, line)| log.lines.get(*at) == Some(line))
    }

    /// Returns the same without the customer, as far as the first event says who that is.
    pub(super) fn without_customer(mut self) -> Self {
        let text: String = self.lines.iter().flat_map(|(_, line)| [line.as_str(), "\n"]).collect();
        let cleaned = Log::parsed(&text).and_then(|(log, _)| removal::cleaned(&log, &Names::of(&log)));
        if let Ok(cleaned) = cleaned.map(|log| log.lines).as_deref()
            && cleaned.len() == self.lines.len()
        {
            self.lines.iter_mut().zip(cleaned).for_each(|((_, line), clean)| line.clone_from(clean));
        }
        self
    }
}

/// Returns a line with its place in the log, when its checksum over the one before is what was written.
fn whole(
    seq: i64,
    line: Option<Vec<u8>>,
    written: Option<[u8; 16]>,
    last: Option<[u8; 16]>,
) -> Option<(usize, String)> {
    let line = line?;
    let at = usize::try_from(seq).ok()?.checked_sub(1)?;
    (mark(&last?, &line) == written?).then(|| Some((at, String::from_utf8(line).ok()?)))?
}
