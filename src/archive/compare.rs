//! Whether what is kept beside the events is what they give. Nothing here changes the archive.

use rusqlite::types::Value;
use rusqlite::{Connection, Statement, params};

use super::failure::Failure;
use super::kept::Paper;
use super::log::{Found, Log};
use super::store::CHECKING;
use super::{Archive, ArchiveError, kept, schema};

/// So many jobs are told.
const TOLD: usize = 100;
/// So many letters of a text are told.
const LETTERS: usize = 60;
/// Numbers that are apart by no more than this share of the larger one, or by this where both are below 1, are the same:
/// another machine may round otherwise.
const NEARLY: f64 = 1e-9;

/// What is kept of a job in each table, with nothing in it that depends on other jobs.
const TABLES: [(&str, &str); 5] = [
    ("summary", "SELECT * FROM summary WHERE job = ?1"),
    (
        "reading",
        "SELECT r.number, r.seq, m.said, r.asked_by, r.seconds, r.bits, r.found FROM reading r \
         LEFT JOIN measured m ON m.id = r.measured WHERE r.job = ?1 ORDER BY r.number",
    ),
    (
        "skip",
        "SELECT m.said, s.reason FROM skip s LEFT JOIN measured m ON m.id = s.measured \
         WHERE s.job = ?1 ORDER BY m.said",
    ),
    (
        "taught",
        "SELECT t.wiring, t.drawing, n.faults FROM taught t LEFT JOIN named n ON n.id = t.named \
         WHERE t.job = ?1",
    ),
    (
        "search",
        "SELECT customer, instrument, complaint, faults, parts, repairs, remarks FROM search \
         WHERE rowid = ?1",
    ),
];
/// The words of one job need no index.
const PLAIN_SEARCH: &str = "DROP TABLE search; CREATE TABLE search (customer, instrument, complaint, faults, parts, \
                            repairs, remarks);";

/// Jobs of which lists, figures or the index of words tell something else than their events.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Compared {
    /// How many there are.
    pub differing: usize,
    /// The first hundred of them.
    pub told: Vec<Differs>,
    /// Tables of lists, figures or search that cannot be read, and indexes that are missing.
    pub unread: Vec<String>,
}

/// A job of which something else is kept than its events give.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Differs {
    /// Its name.
    pub uid: String,
    /// What differs: table, column, what stands there and what should.
    pub what: Vec<String>,
}

impl Archive {
    /// Derives everything anew that follows from the events, job by job, and compares it with what is kept. Price and
    /// earlier job are compared where events tell them, else they may be told by hand. A job whose events are not what was
    /// written is passed over: [`Archive::look_through`] names it. `None` where an older program kept less of the
    /// archive and it may not be written.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn compare(&self) -> Result<Option<Compared>, ArchiveError> {
        let compared = self.steady(|| {
            let kept = schema::kept_for(&self.connection)?;
            (kept == schema::known()).then(|| compare(&self.connection)).transpose()
        });
        compared.map_err(|failure| failure.told(CHECKING, &self.path))
    }
}

impl Compared {
    fn add(&mut self, uid: String, what: Vec<String>) {
        if what.is_empty() {
            return;
        }
        self.differing += 1;
        if self.told.len() < TOLD {
            self.told.push(Differs { uid, what });
        }
    }
}

fn compare(connection: &Connection) -> Result<Compared, Failure> {
    let fresh = empty()?;
    let mut compared = Compared::default();
    let mut tables = Vec::new();
    for (name, sql) in TABLES {
        match Table::begin(name, sql, connection, &fresh) {
            Ok(table) => tables.push(table),
            Err(why) => compared.unread.push(format!("{name}: {}", Failure::from(why).of_lists()?)),
        }
    }
    let missing = schema::missing_indexes(connection, &fresh)?;
    compared.unread.extend(missing.iter().map(|name| format!("the index {name} is missing")));
    Found::each(connection, &mut |found| {
        let what = differences(connection, &fresh, &mut tables, &found)?;
        compared.add(found.uid, what);
        Ok(())
    })?;
    Ok(compared)
}

/// Returns an archive in memory that one job after the other is put into.
fn empty() -> rusqlite::Result<Connection> {
    let connection = schema::fresh()?;
    connection.execute_batch(PLAIN_SEARCH)?;
    Ok(connection)
}

/// Returns what differs of one job; nothing stays of it in memory.
fn differences(
    connection: &Connection,
    fresh: &Connection,
    tables: &mut [Table<'_>],
    found: &Found,
) -> Result<Vec<String>, Failure> {
    let passing = fresh.unchecked_transaction()?;
    fresh.execute("INSERT INTO job (id, uid) VALUES (?1, ?2)", params![found.id, found.uid])?;
    let derived = Log::read(connection, found).and_then(|log| {
        kept::renew(fresh, found, &log)?;
        paper(connection, found, &log)
    });
    let mut what = match derived {
        Ok(what) => what,
        Err(Failure::Said(ArchiveError::DamagedJob { .. })) => return Ok(Vec::new()),
        Err(failure) => return Ok(vec![failure.of_one_job()?]),
    };
    for table in tables {
        what.extend(table.differences(found.id)?);
    }
    passing.rollback()?;
    Ok(what)
}

/// Returns what differs of price and earlier job, where events tell them.
fn paper(connection: &Connection, found: &Found, log: &Log) -> Result<Vec<String>, Failure> {
    let job = log.job().map_err(|why| found.log_error(why))?;
    let due = Paper::of(connection, found, log, &job)?;
    let sql = "SELECT price, warranty_of FROM job WHERE id = ?1";
    let kept: (Value, Value) = connection.query_row(sql, [found.id], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let price = due.price.map(|price| ("price", kept.0, Value::from(price)));
    let earlier = due.earlier.map(|earlier| ("warranty_of", kept.1, Value::from(earlier)));
    let differ = price.into_iter().chain(earlier).filter(|(_, found, due)| !same(found, due));
    let told = |(name, found, due): (&str, Value, Value)| {
        format!("job: {name} is {} instead of {}", said(&found), said(&due))
    };
    Ok(differ.map(told).collect())
}

/// A table as it is kept, and as the events give it.
struct Table<'a> {
    name: &'static str,
    columns: Vec<String>,
    kept: Statement<'a>,
    fresh: Statement<'a>,
}

impl<'a> Table<'a> {
    fn begin(
        name: &'static str,
        sql: &str,
        kept: &'a Connection,
        fresh: &'a Connection,
    ) -> rusqlite::Result<Self> {
        let kept = kept.prepare(sql)?;
        let columns = kept.column_names().map(str::to_owned).collect();
        Ok(Self { name, columns, kept, fresh: fresh.prepare(sql)? })
    }

    fn differences(&mut self, id: i64) -> Result<Vec<String>, Failure> {
        let due = rows(&mut self.fresh, id)?;
        match rows(&mut self.kept, id) {
            Ok(found) => Ok(self.differing(&found, &due)),
            Err(why) => {
                let why = Failure::from(why).of_lists().or_else(Failure::of_one_job)?;
                Ok(vec![format!("{}: {why}", self.name)])
            }
        }
    }

    fn differing(&self, found: &[Vec<Value>], due: &[Vec<Value>]) -> Vec<String> {
        if found.len() != due.len() {
            return vec![format!("{}: {} instead of {}", self.name, lines(found.len()), lines(due.len()))];
        }
        let each = (1_usize..).zip(found.iter().zip(due));
        each.flat_map(|(number, (found, due))| self.in_row(number, found, due)).collect()
    }

    fn in_row(&self, number: usize, found: &[Value], due: &[Value]) -> Vec<String> {
        let both = self.columns.iter().zip(found.iter().zip(due));
        let differ = both.filter(|(_, (found, due))| !same(found, due));
        let told = |(column, (found, due)): (&String, (&Value, &Value))| {
            format!("{} {number}: {column} is {} instead of {}", self.name, said(found), said(due))
        };
        differ.map(told).collect()
    }
}

fn rows(ask: &mut Statement<'_>, id: i64) -> rusqlite::Result<Vec<Vec<Value>>> {
    let columns = ask.column_count();
    let mut rows = ask.query([id])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        all.push((0..columns).map(|column| row.get(column)).collect::<rusqlite::Result<Vec<Value>>>()?);
    }
    Ok(all)
}

fn lines(count: usize) -> String {
    format!("{count} line{}", if count == 1 { "" } else { "s" })
}

fn same(found: &Value, due: &Value) -> bool {
    match (found, due) {
        _ if found == due => true,
        (Value::Real(found), Value::Real(due)) => {
            (found - due).abs() <= NEARLY * found.abs().max(due.abs()).max(1.0)
        }
        _ => false,
    }
}

fn said(value: &Value) -> String {
    match value {
        Value::Null => "nothing".to_owned(),
        Value::Integer(number) => number.to_string(),
        Value::Real(number) => number.to_string(),
        Value::Text(text) if text.chars().count() <= LETTERS => format!("{text:?}"),
        Value::Text(text) => format!("{:?}…", text.chars().take(LETTERS).collect::<String>()),
        Value::Blob(bytes) => format!("{} bytes", bytes.len()),
    }
}
