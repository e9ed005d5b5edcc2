//! `trial --jobs`: an archive of invented past jobs. A pool of visits is really played; each job is one of them with a
//! customer, an instrument, a technician and moments of its own.

use std::path::Path;
use std::sync::Arc;

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use serde_json::json;

use super::failure::Failure;
use super::plain::counted;
use super::reply::{Answer, Reply};
use super::trial::{Progress, cores};
use super::trial_args::Rehearsal;
use super::wirings::{self, Wiring};
use super::{engine, jobs, priors};
use crate::archive::Archive;
use crate::job::{Event, Intake, Record};
use crate::readings::Meter;
use crate::session::moment;

/// So many visits are played when nothing is said.
const POOL: usize = 60;
/// So many jobs are written at once.
const AT_ONCE: usize = 1000;
/// The jobs come in over so many seconds: ten years, three of them leap years.
const TEN_YEARS: i64 = 315_619_200;
/// Seconds of a day.
const DAY: i64 = 86_400;
/// Said where a moment cannot be told.
const UNTOLD: &str = "1970-01-01T00:00:00Z";
/// Each customer comes so often on average, with one of so many instruments, to one of so many technicians.
const VISITS: usize = 3;
const INSTRUMENTS: u32 = 2;
const TECHNICIANS: u32 = 6;
/// The share of jobs that are not closed.
const OPEN: f64 = 0.01;
/// The share of jobs that are the instrument of the job before once more (invented).
const COMES_BACK: f64 = 0.04;
/// Seconds for everything that has no time of its own.
const STEP: f64 = 20.0;

/// Makes a new archive of so many jobs and tells how much is in it; `quiet` leaves the progress away.
pub(super) fn make(asked: &Rehearsal, count: usize, file: &Path, quiet: bool) -> Answer {
    if file.try_exists().unwrap_or(true) {
        let name = file.display();
        return Err(Failure::new(format!(
            "cannot make the archive {name}: something with this name is there"
        ))
        .with_hint("choose another name; nothing was changed"));
    }
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
    if folder.is_some_and(|folder| !folder.is_dir()) {
        return Err(Failure::new(format!(
            "cannot make the archive {}: its folder is missing",
            file.display()
        ))
        .with_hint("make the folder first; nothing was changed"));
    }
    let pool = pool(asked, quiet)?;
    if pool.is_empty() {
        return Err(Failure::new("cannot play a visit: no fault of these wirings can be told")
            .with_hint("name other wirings"));
    }
    let end = asked.until.map_or_else(tomorrow, Ok)?;
    let invented = Invented { pool: &pool, count, seed: asked.seed, begin: end - TEN_YEARS };
    let progress = Progress::new("jobs", quiet);
    let events = Archive::filled(file, &told(end), |archive| written(&invented, archive, &progress))?;
    let name = file.display().to_string();
    let [jobs, all, visits] = [(count, "job"), (events, "event"), (pool.len(), "visit")]
        .map(|(count, what)| counted(count as u64, what));
    let text = format!("{name} made: {jobs} with {all}, from {visits}");
    let json = json!({
        "archive": name, "jobs": count, "events": events, "pool": pool.len(), "seed": asked.seed
    });
    Ok(Reply::new(text, json))
}

/// Returns when tomorrow begins, in seconds since 1970.
fn tomorrow() -> Result<i64, Failure> {
    let now = moment().parse::<jiff::Timestamp>().map_err(|why| Failure::told(&why))?;
    Ok((now.as_second() / DAY + 1) * DAY)
}

/// Writes all jobs, and returns how many events they have.
fn written(invented: &Invented<'_>, archive: &mut Archive, progress: &Progress) -> Result<usize, Failure> {
    let mut events = 0;
    for start in (0..invented.count).step_by(AT_ONCE) {
        let end = invented.count.min(start + AT_ONCE);
        let some: Vec<Vec<Record>> = (start..end).map(|number| invented.job(number)).collect();
        events += some.iter().map(Vec::len).sum::<usize>();
        archive.add_jobs(&some)?;
        progress.tell(end, invented.count);
    }
    progress.close();
    Ok(events)
}

/// Plays visits on every wiring, as evenly as it goes.
fn pool(asked: &Rehearsal, quiet: bool) -> Result<Vec<Vec<Record>>, Failure> {
    let wirings = asked.wirings.iter().map(|name| wirings::find(name)).collect::<Result<Vec<_>, _>>()?;
    let meter = jobs::meter_class(asked.meter.as_deref())?;
    let in_use = priors::in_use(asked.priors.as_deref())?;
    let each = asked.pool.unwrap_or(POOL).div_ceil(wirings.len().max(1));
    let seeds: Vec<u64> = (0..each as u64).map(|number| asked.seed.wrapping_add(number)).collect();
    let threads = asked.threads.unwrap_or_else(cores);
    let mut pool = Vec::new();
    for wiring in &wirings {
        let engine = Arc::new(engine::prepared(&wiring.source, meter, &[], &in_use.priors)?);
        let progress = Progress::new(&wiring.harness.name, quiet);
        let tell = |done, all| progress.tell(done, all);
        pool.extend(engine::visits(&engine, &intake(asked, wiring, meter)?, &seeds, threads, &tell)?);
        progress.close();
    }
    Ok(pool)
}

fn intake(asked: &Rehearsal, wiring: &Wiring, meter: &Meter) -> Result<Intake, Failure> {
    Ok(Intake {
        wiring: wiring.harness.name.clone(),
        wiring_text: wiring.source.text.clone(),
        priors_text: priors::text(asked.priors.as_deref())?,
        trees_text: Vec::new(),
        instrument: String::new(),
        customer: String::new(),
        complaint: "a look at all of it".to_owned(),
        symptoms: Vec::new(),
        last_done: String::new(),
        access: asked.access,
        meter: meter.name.to_owned(),
        technician: String::new(),
    })
}

/// Jobs that nobody had.
struct Invented<'a> {
    pool: &'a [Vec<Record>],
    count: usize,
    seed: u64,
    /// When the first may come in, in seconds since 1970.
    begin: i64,
}

/// Whose instrument comes in, and which visit of the pool is played.
struct Who {
    customer: usize,
    instrument: u32,
    visit: usize,
}

impl Invented<'_> {
    /// Returns one of the jobs; the same number gives the same job.
    fn job(&self, number: usize) -> Vec<Record> {
        let mut rng = self.rng(number);
        let who = self.who(number);
        let mut records = self.pool[who.visit].clone();
        if rng.random_bool(OPEN) {
            records.pop();
        }
        let mut moment = self.opened(number, &mut rng) as f64;
        for record in &mut records {
            invent(&mut record.event, &who, &mut rng);
            record.at = told(moment as i64);
            moment += seconds(&record.event);
        }
        records
    }

    fn rng(&self, number: usize) -> StdRng {
        StdRng::seed_from_u64(self.seed ^ (number as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15))
    }

    /// Returns whose instrument comes in. One that comes back is that of the job before, with another visit on its wiring.
    fn who(&self, number: usize) -> Who {
        let mut rng = StdRng::seed_from_u64(self.rng(number).random());
        if number > 0 && rng.random_bool(COMES_BACK) {
            let before = self.who(number - 1);
            return Who { visit: self.on_the_wiring_of(before.visit, &mut rng), ..before };
        }
        let customers = self.count.div_ceil(VISITS).max(1);
        Who {
            customer: rng.random_range(1..=customers),
            instrument: rng.random_range(1..=INSTRUMENTS),
            visit: rng.random_range(0..self.pool.len()),
        }
    }

    fn on_the_wiring_of(&self, visit: usize, rng: &mut StdRng) -> usize {
        let wanted = wiring(&self.pool[visit]);
        let is_same = |index: &usize| wiring(&self.pool[*index]) == wanted;
        let same: Vec<usize> = (0..self.pool.len()).filter(is_same).collect();
        same.get(rng.random_range(0..same.len().max(1))).copied().unwrap_or(visit)
    }

    /// Returns when a job comes in: each in a part of the ten years of its own.
    fn opened(&self, number: usize, rng: &mut StdRng) -> i64 {
        let part = TEN_YEARS / i64::try_from(self.count.max(1)).unwrap_or(i64::MAX);
        self.begin + part * i64::try_from(number).unwrap_or(0) + rng.random_range(0..part.max(1))
    }
}

fn invent(event: &mut Event, who: &Who, rng: &mut StdRng) {
    let Event::Started { intake, .. } = event else { return };
    intake.customer = format!("invented customer {}", who.customer);
    intake.instrument = format!("invented guitar {}", who.instrument);
    intake.technician = format!("technician {}", rng.random_range(1..=TECHNICIANS));
}

/// Returns the name of a visit's wiring.
fn wiring(visit: &[Record]) -> Option<&str> {
    match &visit.first()?.event {
        Event::Started { intake, .. } => Some(intake.wiring.as_str()),
        _ => None,
    }
}

/// Returns a moment as it stands in jobs.
fn told(seconds: i64) -> String {
    let moment = jiff::Timestamp::from_second(seconds);
    moment.map_or_else(|_error| UNTOLD.to_owned(), |at| at.strftime("%Y-%m-%dT%H:%M:%SZ").to_string())
}

/// Returns how many seconds pass after an event.
fn seconds(event: &Event) -> f64 {
    match event {
        Event::Read { seconds, .. } => STEP + seconds,
        Event::Repaired { minutes, .. } => STEP + 60.0 * minutes,
        _ => STEP,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_number_gives_the_same_job_and_each_has_a_moment_of_its_own() {
        let first = Record { at: String::new(), event: Event::Opened { place: "cavity".to_owned() } };
        let pool = vec![vec![first]];
        let invented = |seed| Invented { pool: &pool, count: 400, seed, begin: 1_451_606_400 };
        let all: Vec<Vec<Record>> = (0..400).map(|number| invented(7).job(number)).collect();
        assert_eq!(all[3], invented(7).job(3));
        assert_ne!(all[3], invented(8).job(3));
        let moments: Vec<&str> = all.iter().flatten().map(|record| record.at.as_str()).collect();
        assert!(moments.is_sorted() && moments.windows(2).all(|two| two[0] != two[1]));
        assert!(moments[0].starts_with("2016-") && moments[moments.len() - 1].starts_with("2025-"));
    }
}
