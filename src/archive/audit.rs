//! What a shop's owner asks of past jobs, as plain rows. Every row says from how many it comes.

use std::collections::BTreeMap;

use rusqlite::Row;
use serde::Serialize;

use super::{Archive, ArchiveError, Filter};

/// From fewer than this, a figure says little.
pub const FEW: u32 = 10;
/// Within how many days an instrument that comes again counts as a comeback (90: common practice, no source).
pub const COMEBACK_DAYS: u32 = 90;
/// The day of a moment that is written as this program writes it; a week is then worked out once for each day.
const DAY: &str =
    "CASE WHEN s.opened_at GLOB '????-??-??T??:??:??Z' THEN substr(s.opened_at, 1, 10) ELSE s.opened_at END";
/// How many classes of announced probability there are.
const BINS: u32 = 10;

/// What jobs are put together by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// All together.
    All,
    /// The kind of the fault that was named last.
    Kind,
    /// The sort of thing that failed.
    Family,
    /// The fault itself.
    Fault,
    /// The terminal, part or conductor.
    Place,
    /// The wiring.
    Wiring,
    /// The technician.
    Technician,
}

impl By {
    /// Returns the expression on the summary `s` that jobs are put together by.
    pub(super) fn column(self) -> &'static str {
        match self {
            Self::All => "'all'",
            Self::Kind => "coalesce(s.last_kind, 'none named')",
            Self::Family => "coalesce(s.last_family, 'none named')",
            Self::Fault => "coalesce(s.last_fault, 'none named')",
            Self::Place => "coalesce(s.last_place, 'none named')",
            Self::Wiring => "s.wiring",
            Self::Technician => "s.technician",
        }
    }
}

/// The jobs of one week.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Week {
    /// The week's Monday, as `2026-03-02`; `unknown` for moments that are none.
    pub monday: String,
    /// How many jobs were opened in it.
    pub n: u32,
    /// How many of these are closed today.
    pub closed: u32,
    /// Whether `n` is under [`FEW`].
    pub small: bool,
}

/// How long closed jobs took.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Minutes {
    /// What they have in common.
    pub name: String,
    /// A quarter of the jobs took at most so many minutes.
    pub lower: f64,
    /// Half of the jobs took at most so many minutes.
    pub median: f64,
    /// Three quarters of the jobs took at most so many minutes.
    pub upper: f64,
    /// How many jobs.
    pub n: u32,
    /// Whether `n` is under [`FEW`].
    pub small: bool,
}

/// How often something was found, the most frequent first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Share {
    /// What was found.
    pub name: String,
    /// How many jobs.
    pub n: u32,
    /// Its share of all jobs with a named fault, 0 to 1.
    pub share: f64,
    /// The share of it and of all that are more frequent.
    pub together: f64,
    /// Whether `n` is under [`FEW`].
    pub small: bool,
}

/// How one measurement served.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Check {
    /// The measurement, always in the same words.
    pub name: String,
    /// How often it was taken.
    pub n: u32,
    /// How often it was the last one before the fault was named.
    pub found: u32,
    /// Estimated minutes of all times together.
    pub minutes: f64,
    /// By how many bits it made the suspects less uncertain, all times together.
    pub bits: f64,
    /// The same for a minute; nothing when it took no time.
    pub bits_per_minute: Option<f64>,
    /// Whether `n` is under [`FEW`].
    pub small: bool,
}

/// How many of how many.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Rate {
    /// What they have in common.
    pub name: String,
    /// How many it happened to.
    pub count: u32,
    /// Of how many.
    pub n: u32,
    /// Whether `n` is under [`FEW`].
    pub small: bool,
}

/// What was announced with about this probability.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bin {
    /// The lower end of the probabilities; it belongs to the class.
    pub low: f64,
    /// The upper end; it belongs to the next class, and to the last one.
    pub high: f64,
    /// The mean of what was announced; nothing in an empty class.
    pub announced: Option<f64>,
    /// How often it came true: the fault named first was still named last, and the job was closed with full proof.
    pub came_true: u32,
    /// Of how many closed jobs.
    pub n: u32,
    /// Whether `n` is under [`FEW`].
    pub small: bool,
}

/// Returns how many jobs were opened in each week that had any.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn weeks(archive: &Archive, filter: &Filter) -> Result<Vec<Week>, ArchiveError> {
    opened(archive, filter, "date(day, 'weekday 0', '-6 days')")
}

/// Returns the same for months, each as `2026-03` in the place of the Monday.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn months(archive: &Archive, filter: &Filter) -> Result<Vec<Week>, ArchiveError> {
    opened(archive, filter, "substr(date(day), 1, 7)")
}

/// Returns the same for years, each as `2026` in the place of the Monday.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn years(archive: &Archive, filter: &Filter) -> Result<Vec<Week>, ArchiveError> {
    opened(archive, filter, "substr(date(day), 1, 4)")
}

fn opened(archive: &Archive, filter: &Filter, span: &str) -> Result<Vec<Week>, ArchiveError> {
    let (condition, values) = filter.scan();
    let sql = format!(
        "SELECT coalesce({span}, 'unknown') AS monday, sum(n), sum(closed) FROM \
         (SELECT {DAY} AS day, count(*) AS n, sum(s.ending <> 'open') AS closed \
         FROM summary s WHERE {condition} GROUP BY day) GROUP BY monday ORDER BY monday"
    );
    archive.rows(&sql, &values, |row| {
        let n: u32 = row.get(1)?;
        Ok(Week { monday: row.get(0)?, n, closed: row.get(2)?, small: n < FEW })
    })
}

/// Returns median and quartiles of the minutes of closed jobs, search and repair together.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn minutes(archive: &Archive, filter: &Filter, by: By) -> Result<Vec<Minutes>, ArchiveError> {
    let (condition, values) = filter.scan();
    let sql = format!(
        "SELECT {} AS name, s.search_minutes + s.repair_minutes AS minutes FROM summary s \
         WHERE {condition} AND s.ending <> 'open' ORDER BY name, minutes",
        by.column()
    );
    let rows: Vec<(String, f64)> = archive.rows(&sql, &values, |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.chunk_by(|a, b| a.0 == b.0).filter_map(spread).collect())
}

/// Returns how often each fault was named last, the most frequent first.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn pareto(archive: &Archive, filter: &Filter, by: By) -> Result<Vec<Share>, ArchiveError> {
    let (condition, values) = filter.scan();
    let sql = format!(
        "SELECT {} AS name, count(*) AS n FROM summary s WHERE {condition} AND s.last_fault IS NOT NULL \
         GROUP BY name ORDER BY n DESC, name",
        by.column()
    );
    let rows: Vec<(String, u32)> = archive.rows(&sql, &values, |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(shares(rows))
}

/// Returns how each measurement served, those that found the most first.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn checks(archive: &Archive, filter: &Filter) -> Result<Vec<Check>, ArchiveError> {
    let mut checks: Vec<Check> = sums(archive, filter)?.into_iter().filter_map(Sum::check).collect();
    checks.sort_by(|a, b| (b.found, b.n, &a.name).cmp(&(a.found, a.n, &b.name)));
    Ok(checks)
}

/// Returns in how many closed jobs with a named fault the last named one was another than the first.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn renamed(archive: &Archive, filter: &Filter, by: By) -> Result<Vec<Rate>, ArchiveError> {
    rates(archive, filter, by, "s.renamed", "s.first_fault IS NOT NULL")
}

/// Returns how many closed jobs were closed without full proof.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn unproven(archive: &Archive, filter: &Filter, by: By) -> Result<Vec<Rate>, ArchiveError> {
    rates(archive, filter, by, "s.ending = 'unproven'", "1")
}

/// Returns how many closed jobs were followed by another one under their warranty, or by one of the same customer and
/// instrument within [`COMEBACK_DAYS`].
///
/// # Errors
///
/// When the archive cannot be read.
pub fn comebacks(archive: &Archive, filter: &Filter, by: By) -> Result<Vec<Rate>, ArchiveError> {
    rates(archive, filter, by, &came_back(), "1")
}

/// Returns the condition that the instrument of a closed job came back.
pub(super) fn came_back() -> String {
    format!(
        "(s.job IN (SELECT e.job FROM summary e CROSS JOIN summary l WHERE e.owner IS NOT NULL \
         AND l.owner IS NOT NULL AND l.owner = e.owner AND l.job <> e.job \
         AND l.opened_day >= e.closed_day AND l.opened_day <= e.closed_day + {COMEBACK_DAYS}) \
         OR s.job IN (SELECT j.id FROM job w JOIN job j ON j.uid = w.warranty_of WHERE w.warranty_of IS NOT NULL))"
    )
}

/// Returns the plain sentence of each fault that was named last, by the fault's id; the same fault may have had several.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn sentences(archive: &Archive, filter: &Filter) -> Result<BTreeMap<String, String>, ArchiveError> {
    let (condition, values) = filter.scan();
    let sql = format!(
        "SELECT s.* FROM summary s WHERE {condition} AND s.last_fault IS NOT NULL GROUP BY s.last_fault"
    );
    let rows: Vec<(String, Option<String>)> = archive.rows(&sql, &values, |row| {
        // An archive that may not be written can be of a version without sentences.
        Ok((row.get("last_fault")?, row.get("last_sentence").unwrap_or_default()))
    })?;
    let told = |(fault, said): (String, Option<String>)| Some((fault, said.filter(|said| !said.is_empty())?));
    Ok(rows.into_iter().filter_map(told).collect())
}

/// Returns how often each measurement was skipped, of all the times it was taken or skipped; the most skipped first.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn skipped(archive: &Archive, filter: &Filter) -> Result<Vec<Rate>, ArchiveError> {
    let mut rates: Vec<Rate> = sums(archive, filter)?.into_iter().filter_map(Sum::skipped).collect();
    rates.sort_by(|a, b| (b.count, &a.name).cmp(&(a.count, &b.name)));
    Ok(rates)
}

/// Returns what became of the probabilities announced with the fault named first, in ten classes, empty ones included.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn calibration(archive: &Archive, filter: &Filter) -> Result<Vec<Bin>, ArchiveError> {
    let (condition, values) = filter.scan();
    let sql = format!(
        "SELECT min(CAST(s.first_probability * {BINS} AS INTEGER), {BINS} - 1) AS bin, count(*), \
         avg(s.first_probability), sum(s.ending = 'cured' AND NOT s.renamed) FROM summary s \
         WHERE {condition} AND s.ending <> 'open' AND s.first_probability IS NOT NULL GROUP BY bin"
    );
    let rows: Vec<(u32, u32, f64, u32)> =
        archive.rows(&sql, &values, |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    Ok((0..BINS).map(|bin| class(bin, rows.iter().find(|row| row.0 == bin))).collect())
}

fn rates(
    archive: &Archive,
    filter: &Filter,
    by: By,
    happened: &str,
    among: &str,
) -> Result<Vec<Rate>, ArchiveError> {
    let (condition, values) = filter.scan();
    let sql = format!(
        "SELECT {} AS name, sum({happened}), count(*) AS n FROM summary s \
         WHERE {condition} AND s.ending <> 'open' AND {among} GROUP BY name ORDER BY n DESC, name",
        by.column()
    );
    archive.rows(&sql, &values, rate)
}

fn rate(row: &Row<'_>) -> rusqlite::Result<Rate> {
    let n: u32 = row.get(2)?;
    Ok(Rate { name: row.get(0)?, count: row.get(1)?, n, small: n < FEW })
}

/// What is summed over the readings and skips of one measurement.
#[derive(Clone, Debug, Default)]
struct Sum {
    name: String,
    n: u32,
    found: u32,
    seconds: f64,
    bits: f64,
    skips: u32,
}

impl Sum {
    fn check(self) -> Option<Check> {
        let (n, minutes, bits) = (self.n, self.seconds / 60.0, self.bits);
        let bits_per_minute = (minutes > 0.0).then(|| bits / minutes);
        let small = n < FEW;
        (n > 0).then_some(Check {
            name: self.name,
            n,
            found: self.found,
            minutes,
            bits,
            bits_per_minute,
            small,
        })
    }

    fn skipped(self) -> Option<Rate> {
        let n = self.n + self.skips;
        (self.skips > 0).then_some(Rate { name: self.name, count: self.skips, n, small: n < FEW })
    }
}

/// Sums over every measurement. The rows are gone through here, since the database would look each job up anew.
fn sums(archive: &Archive, filter: &Filter) -> Result<Vec<Sum>, ArchiveError> {
    let mut sums: Vec<Sum> = Vec::new();
    archive.rows("SELECT id, said FROM measured", &[], |row| {
        at(&mut sums, row.get(0)?).name = row.get(1)?;
        Ok(())
    })?;
    let chosen = chosen(archive, filter)?;
    archive.rows("SELECT job, measured, found, seconds, bits FROM reading", &[], |row| {
        if chosen.get(index(row.get(0)?)) == Some(&true) {
            let sum = at(&mut sums, row.get(1)?);
            sum.n += 1;
            sum.found += row.get::<_, u32>(2)?;
            sum.seconds += row.get::<_, f64>(3)?;
            sum.bits += row.get::<_, f64>(4)?;
        }
        Ok(())
    })?;
    archive.rows("SELECT job, measured FROM skip", &[], |row| {
        if chosen.get(index(row.get(0)?)) == Some(&true) {
            at(&mut sums, row.get(1)?).skips += 1;
        }
        Ok(())
    })?;
    Ok(sums)
}

/// Returns for each row number of a job whether a filter lets it pass.
fn chosen(archive: &Archive, filter: &Filter) -> Result<Vec<bool>, ArchiveError> {
    let (condition, values) = filter.scan();
    let sql = format!("SELECT s.job FROM summary s WHERE {condition}");
    let mut chosen = Vec::new();
    archive.rows(&sql, &values, |row| {
        *at(&mut chosen, row.get(0)?) = true;
        Ok(())
    })?;
    Ok(chosen)
}

fn index(id: i64) -> usize {
    usize::try_from(id).unwrap_or_default()
}

/// Returns the place of a row number, made if it is not there yet.
fn at<T: Clone + Default>(list: &mut Vec<T>, id: i64) -> &mut T {
    let index = index(id);
    if list.len() <= index {
        list.resize(index + 1, T::default());
    }
    &mut list[index]
}

fn class(bin: u32, row: Option<&(u32, u32, f64, u32)>) -> Bin {
    let edge = |bin: u32| f64::from(bin) / f64::from(BINS);
    let n = row.map_or(0, |row| row.1);
    Bin {
        low: edge(bin),
        high: edge(bin + 1),
        announced: row.map(|row| row.2),
        came_true: row.map_or(0, |row| row.3),
        n,
        small: n < FEW,
    }
}

/// Returns median and quartiles of rows that are in order of their minutes.
fn spread(rows: &[(String, f64)]) -> Option<Minutes> {
    let n = u32::try_from(rows.len()).ok()?;
    let at = |share: f64| quantile(rows, share);
    let name = rows.first()?.0.clone();
    Some(Minutes { name, lower: at(0.25), median: at(0.5), upper: at(0.75), n, small: n < FEW })
}

/// Returns a quantile, with a straight line between the two values beside it (type 7 of Hyndman and Fan, 1996).
fn quantile(rows: &[(String, f64)], share: f64) -> f64 {
    let value = |index: usize| rows.get(index).map_or(0.0, |row| row.1);
    let place = share * rows.len().saturating_sub(1) as f64;
    let below = place.floor() as usize;
    let rest = place - place.floor();
    let above = if rest > 0.0 { value(below + 1) } else { value(below) };
    value(below) + rest * (above - value(below))
}

fn shares(rows: Vec<(String, u32)>) -> Vec<Share> {
    let all = f64::from(rows.iter().map(|row| row.1).sum::<u32>());
    let mut so_far = 0;
    let share = |(name, n): (String, u32)| {
        so_far += n;
        Share { name, n, share: f64::from(n) / all, together: f64::from(so_far) / all, small: n < FEW }
    };
    rows.into_iter().map(share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case(&[5.0], [5.0, 5.0, 5.0])]
    #[case(&[1.0, 3.0], [1.5, 2.0, 2.5])]
    #[case(&[1.0, 2.0, 3.0, 4.0, 5.0], [2.0, 3.0, 4.0])]
    fn quartiles_lie_on_a_line_between_their_neighbours(#[case] minutes: &[f64], #[case] expected: [f64; 3]) {
        let rows: Vec<(String, f64)> = minutes.iter().map(|m| (String::new(), *m)).collect();
        let found = spread(&rows).unwrap();
        assert_eq!([found.lower, found.median, found.upper], expected);
        assert_eq!((found.n as usize, found.small), (minutes.len(), true));
    }

    #[test]
    fn shares_add_up() {
        let rows = vec![("a".to_owned(), 30), ("b".to_owned(), 10)];
        let found = shares(rows);
        assert_eq!((found[0].share, found[0].together, found[0].small), (0.75, 0.75, false));
        assert_eq!((found[1].share, found[1].together), (0.25, 1.0));
    }
}
