//! Lists of jobs.

use super::audit::{By, came_back};
use super::kept::owner;
use super::store::READING;
use super::summary::COLUMNS;
use super::{Archive, ArchiveError, Ending, Summary};
use crate::readings::Symptom;

/// Which jobs; what is not given lets all pass.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// Opened at this moment or later: the beginning of an RFC 3339 text, such as `2026-03` or `2026-03-02`.
    pub from: Option<String>,
    /// Opened before this moment.
    pub until: Option<String>,
    /// Of this wiring.
    pub wiring: Option<String>,
    /// By this technician, whatever the capitals.
    pub technician: Option<String>,
    /// With this complaint, perhaps among others.
    pub complaint: Option<Symptom>,
    /// That stand so.
    pub ending: Option<Ending>,
    /// Closed, and the instrument came back, as [`super::audit::comebacks`] counts it.
    pub came_back: bool,
    /// Closed, and the fault named last was another than the first.
    pub renamed: bool,
    /// That have this in common, as figures put them together.
    pub common: Option<(By, String)>,
}

impl Filter {
    /// Returns the condition on the summary `s`, and the values for its question marks.
    pub(super) fn sql(&self) -> (String, Vec<String>) {
        let complaint = self.complaint.map(|symptom| format!(",{},", symptom.name()));
        let conditions = [
            ("s.opened_at >= ?", self.from.clone()),
            ("s.opened_at < ?", self.until.clone()),
            ("s.wiring = ?", self.wiring.clone()),
            ("s.technician = ? COLLATE NOCASE", self.technician.as_ref().map(|name| name.trim().to_owned())),
            ("instr(s.symptoms, ?) > 0", complaint),
            ("s.ending = ?", self.ending.map(|ending| ending.name().to_owned())),
        ];
        let mut sql = vec!["1".to_owned()];
        let mut values = Vec::new();
        for (condition, value) in conditions {
            let Some(value) = value else { continue };
            sql.push(condition.to_owned());
            values.push(value);
        }
        if let Some((by, name)) = &self.common {
            sql.push(format!("{} = ?", by.column()));
            values.push(name.clone());
        }
        let closed = |what: String| format!("(s.ending <> 'open' AND {what})");
        sql.extend(self.came_back.then(|| closed(came_back())));
        sql.extend(self.renamed.then(|| closed("s.renamed".to_owned())));
        (sql.join(" AND "), values)
    }

    /// Returns the same for figures over most jobs, where going through all is quicker than an index.
    pub(super) fn scan(&self) -> (String, Vec<String>) {
        let (sql, values) = self.sql();
        (sql.replace("AND s.", "AND +s."), values)
    }
}

/// In which order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// The last opened first.
    #[default]
    Newest,
    /// The first opened first.
    Oldest,
    /// By customer.
    Customer,
    /// By instrument.
    Instrument,
    /// The longest first.
    Longest,
}

impl Order {
    fn sql(self) -> &'static str {
        match self {
            Self::Newest => "s.opened_at DESC, s.job DESC",
            Self::Oldest => "s.opened_at, s.job",
            Self::Customer => "s.customer COLLATE NOCASE, s.opened_at DESC, s.job DESC",
            Self::Instrument => "s.instrument COLLATE NOCASE, s.opened_at DESC, s.job DESC",
            Self::Longest => "s.search_minutes + s.repair_minutes DESC, s.opened_at DESC, s.job DESC",
        }
    }
}

/// Which part of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Page {
    /// How many jobs to pass over.
    pub start: u32,
    /// How many to return at most.
    pub size: u32,
}

impl Default for Page {
    fn default() -> Self {
        Self { start: 0, size: 100 }
    }
}

impl Archive {
    /// Returns a part of the jobs that a filter lets pass.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn jobs(&self, filter: &Filter, order: Order, page: Page) -> Result<Vec<Summary>, ArchiveError> {
        let (condition, values) = filter.sql();
        let sql = format!(
            "SELECT {COLUMNS} FROM summary s JOIN job j ON j.id = s.job WHERE {condition} \
             ORDER BY {} LIMIT {} OFFSET {}",
            order.sql(),
            page.size,
            page.start
        );
        self.rows(&sql, &values, Summary::row)
    }

    /// Returns how many jobs a filter lets pass.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn how_many(&self, filter: &Filter) -> Result<u32, ArchiveError> {
        let (condition, values) = filter.sql();
        let sql = format!("SELECT count(*) FROM summary s WHERE {condition}");
        let found: Vec<u32> = self.rows(&sql, &values, |row| row.get(0))?;
        Ok(found.first().copied().unwrap_or(0))
    }

    /// Returns when the first and the last of the jobs were opened that a filter lets pass.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn span(&self, filter: &Filter) -> Result<Option<(String, String)>, ArchiveError> {
        let (condition, values) = filter.sql();
        let sql = format!("SELECT min(s.opened_at), max(s.opened_at) FROM summary s WHERE {condition}");
        let found: Vec<(Option<String>, Option<String>)> =
            self.rows(&sql, &values, |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(found.into_iter().next().and_then(|(first, last)| first.zip(last)))
    }

    /// Returns the names of all technicians, each once, in order.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn technicians(&self) -> Result<Vec<String>, ArchiveError> {
        let sql = "SELECT min(technician) FROM summary WHERE technician <> '' \
                   GROUP BY technician COLLATE NOCASE ORDER BY technician COLLATE NOCASE";
        self.rows(sql, &[], |row| row.get(0))
    }

    /// Returns how many jobs a customer has, by the name as it was written, whatever blanks stand around it.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn of_customer(&self, customer: &str) -> Result<u32, ArchiveError> {
        let sql = "SELECT count(*) FROM summary WHERE trim(customer) = ?1 COLLATE NOCASE AND ?1 <> ''";
        let found: Vec<u32> = self.rows(sql, &[customer.trim().to_owned()], |row| row.get(0))?;
        Ok(found.first().copied().unwrap_or(0))
    }

    /// Returns the names of the jobs whose name begins so, in order, at most so many.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn beginning(&self, with: &str, most: u32) -> Result<Vec<String>, ArchiveError> {
        let sql = format!(
            "SELECT uid FROM job WHERE uid >= ?1 AND substr(uid, 1, length(?1)) = ?1 ORDER BY uid LIMIT {most}"
        );
        self.rows(&sql, &[with.to_owned()], |row| row.get(0))
    }

    /// Returns the jobs of one customer's instrument on one wiring, the first opened first; none when the instrument has
    /// no name. Blanks around the words and capital letters do not matter.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn of_instrument(
        &self,
        customer: &str,
        instrument: &str,
        wiring: &str,
    ) -> Result<Vec<Summary>, ArchiveError> {
        let Some(owner) = owner(customer, instrument) else { return Ok(Vec::new()) };
        let sql = format!(
            "SELECT {COLUMNS} FROM summary s JOIN job j ON j.id = s.job WHERE s.owner = ?1 AND +s.wiring = ?2 \
             ORDER BY {}",
            Order::Oldest.sql()
        );
        self.rows(&sql, &[owner, wiring.to_owned()], Summary::row)
    }

    /// Returns how many jobs are in no list: they were damaged when the lists were made.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn not_listed(&self) -> Result<u32, ArchiveError> {
        let sql = "SELECT max(0, (SELECT count(*) FROM job) - (SELECT count(*) FROM summary))";
        let found: Vec<u32> = self.rows(sql, &[], |row| row.get(0))?;
        Ok(found.first().copied().unwrap_or(0))
    }

    /// Says why a job is in no list: there is none, it is damaged, or its row is gone.
    fn unlisted(&self, uid: &str) -> ArchiveError {
        let gone = |_| ArchiveError::Lists {
            doing: READING,
            path: self.path.clone(),
            why: format!("the job {uid} is not in them"),
        };
        self.job(uid).map_or_else(|why| why, gone)
    }

    /// Returns what one job comes to.
    ///
    /// # Errors
    ///
    /// When there is no such job or it is damaged and not listed, or the archive cannot be read.
    pub fn summary(&self, uid: &str) -> Result<Summary, ArchiveError> {
        let sql = format!("SELECT {COLUMNS} FROM summary s JOIN job j ON j.id = s.job WHERE j.uid = ?1");
        let found = self.rows(&sql, &[uid.to_owned()], Summary::row)?;
        found.into_iter().next().map_or_else(|| Err(self.unlisted(uid)), Ok)
    }
}
