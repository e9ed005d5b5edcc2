//! What cured jobs teach, counted together where they teach the same.

use rusqlite::{Connection, params};

use super::log::short;
use super::{Archive, ArchiveError};
use crate::job::{Job, Outcome};

/// How many jobs are tried for a drawing before it counts as lost.
const MOST_TRIED: u32 = 50;

/// Cured jobs on one wiring that named the same faults last.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lesson {
    /// The name of the wiring.
    pub wiring: String,
    /// A checksum of the wiring's text.
    pub drawing: String,
    /// The ids of the faults of the group that was named.
    pub faults: Vec<String>,
    /// How many jobs.
    pub jobs: u32,
    /// One of them, which holds the wiring's text.
    pub uid: String,
}

impl Archive {
    /// Returns what all cured jobs with a named fault teach, in the order of wirings and of what was named first.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn lessons(&self) -> Result<Vec<Lesson>, ArchiveError> {
        let sql = "SELECT t.wiring, t.drawing, n.faults, t.jobs, j.uid FROM \
                   (SELECT wiring, drawing, named, count(*) AS jobs, min(job) AS first FROM taught \
                   GROUP BY wiring, drawing, named) t \
                   JOIN named n ON n.id = t.named JOIN job j ON j.id = t.first ORDER BY t.wiring, t.drawing, n.id";
        self.rows(sql, &[], |row| {
            let faults: String = row.get(2)?;
            Ok(Lesson {
                wiring: row.get(0)?,
                drawing: row.get(1)?,
                faults: faults.lines().map(str::to_owned).collect(),
                jobs: row.get(3)?,
                uid: row.get(4)?,
            })
        })
    }

    /// Returns a whole job on the drawing of a lesson; damaged ones are passed over while there are others.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read, or none of these jobs is whole.
    pub fn drawn(&self, lesson: &Lesson) -> Result<Job, ArchiveError> {
        let sql = "SELECT j.uid FROM taught t JOIN job j ON j.id = t.job \
                   WHERE t.wiring = ?1 AND t.drawing = ?2 ORDER BY t.job LIMIT ?3";
        let asked = [lesson.wiring.clone(), lesson.drawing.clone(), MOST_TRIED.to_string()];
        let uids: Vec<String> = self.rows(sql, &asked, |row| row.get(0))?;
        let mut first = None;
        for uid in &uids {
            match self.job(uid) {
                Ok(job) => return Ok(job),
                Err(why) => first = first.or(Some(why)),
            }
        }
        first.map_or_else(|| self.job(&lesson.uid), Err)
    }
}

/// Keeps what a job teaches, if it was cured.
pub(super) fn keep(connection: &Connection, id: i64, job: &Job) -> rusqlite::Result<()> {
    let cured = job.closed().is_some_and(|closing| closing.outcome == Outcome::Cured);
    let Some(named) = job.concluded().filter(|_| cured) else { return Ok(()) };
    let (intake, faults) = (job.intake(), named.faults.join("\n"));
    connection.execute("INSERT OR IGNORE INTO named (faults) VALUES (?1)", [&faults])?;
    let sql = "INSERT INTO taught (job, wiring, drawing, named) \
               SELECT ?1, ?2, ?3, id FROM named WHERE faults = ?4";
    let drawing = short(intake.wiring_text.as_bytes());
    connection.execute(sql, params![id, intake.wiring, drawing, faults])?;
    Ok(())
}
