//! Prices, consent, photos, earlier jobs and the shop, from the shell.

use std::path::Path;

use serde_json::{Value, json};

use super::engine;
use super::failure::Failure;
use super::jobs;
use super::paper_args::{Lines, PaperVerb};
use super::reply::{Answer, Reply};
use super::step::state;
use crate::job::{Estimate, Job, PriceLine, total};
use crate::session::{self, OwnShop};
use crate::ticket::{Paper, Shop};
use crate::units::{Money, show_money};
use crate::workbench::Command;

/// Carries a command about paper out.
pub(super) fn paper(verb: PaperVerb) -> Answer {
    match verb {
        PaperVerb::Estimate { job, lines, ceiling, said } => estimate(&job, &lines, ceiling, said),
        PaperVerb::Authorise { job, ceiling, by, how } => {
            let known = engine::job(&job)?;
            let named = !known.paper().currency().is_empty();
            let currency = if named { String::new() } else { session::shop()?.currency };
            jobs::apply(&job, Command::Authorise { by, how, ceiling, currency })
        }
        PaperVerb::Bill { job, lines } => bill(&job, &lines),
        PaperVerb::Photo { job, file, caption, print } => {
            engine::change(&job, |session| session.add_photo(&file, &caption, print)).map(|view| state(&view))
        }
        PaperVerb::Warranty { job, of, why } => {
            engine::change(&job, |session| session.link_warranty(&of, &why)).map(|view| state(&view))
        }
        PaperVerb::Shop { copy: true, output } => copy(output.as_deref()),
        PaperVerb::Shop { .. } => shop(),
    }
}

/// The price of work, and what stands behind prices.
struct Rate {
    per_hour: Option<Money>,
    currency: String,
}

impl Rate {
    /// Returns what was given, else what `known` says, else what the shop's file says.
    fn of(lines: &Lines, known: Option<&Estimate>) -> Result<Self, Failure> {
        let shop = session::shop()?;
        let told = known.map(|known| known.per_hour).filter(|price| *price > Money::default());
        let currency = known.map(|known| known.currency.clone()).filter(|currency| !currency.is_empty());
        Ok(Self {
            per_hour: lines.per_hour.or(told).or(shop.labour_per_hour),
            currency: lines.currency.clone().or(currency).unwrap_or(shop.currency),
        })
    }

    fn work(&self, what: &str, minutes: u32) -> Result<PriceLine, Failure> {
        let per_hour = self.per_hour.ok_or_else(|| {
            Failure::new("cannot price the work: no price of an hour is known").with_hint(
                "give --per-hour, or write labour_per_hour in your shop's file; `lugwise shop --copy` makes one",
            )
        })?;
        let (what, labour) = (what.to_owned(), per_hour.for_minutes(minutes));
        Ok(PriceLine { what, minutes, labour, parts: Money::default() })
    }

    fn lines(&self, lines: &Lines) -> Result<Vec<PriceLine>, Failure> {
        let works = lines.works.iter().map(|(what, minutes)| self.work(what, *minutes));
        let parts = lines.parts.iter().map(|(what, price)| Ok(part(what, *price)));
        works.chain(parts).collect()
    }
}

fn part(what: &str, price: Money) -> PriceLine {
    PriceLine { what: what.to_owned(), minutes: 0, labour: Money::default(), parts: price }
}

fn given(lines: &Lines) -> bool {
    !lines.works.is_empty() || !lines.parts.is_empty()
}

fn estimate(path: &Path, lines: &Lines, ceiling: Option<Money>, said: String) -> Answer {
    let job = engine::job(path)?;
    let rate = Rate::of(lines, None)?;
    let lines = if given(lines) {
        rate.lines(lines)?
    } else {
        let (what, minutes) = proposed(path, &job)?;
        vec![rate.work(&what, minutes)?]
    };
    let ceiling = ceiling.unwrap_or_else(|| total(&lines));
    let per_hour = rate.per_hour.unwrap_or_default();
    let estimate = Estimate { lines, ceiling, per_hour, currency: rate.currency, said };
    jobs::apply(path, Command::Estimate(estimate))
}

/// Returns the work that the named fault, or the verdict, asks for.
fn proposed(path: &Path, job: &Job) -> Result<(String, u32), Failure> {
    if let Some(named) = job.concluded() {
        return Ok((named.repair.clone(), whole(named.minutes)));
    }
    let verdict = engine::look(path)?.verdict;
    verdict.map(|verdict| (verdict.repair, whole(verdict.minutes))).ok_or_else(|| {
        Failure::new("cannot propose an estimate: no fault is named and there is no verdict yet")
            .with_hint("say the work with --work WHAT=MINUTES")
    })
}

/// Returns whole minutes; a begun one counts.
fn whole(minutes: f64) -> u32 {
    minutes.ceil().clamp(0.0, 1e6) as u32
}

fn bill(path: &Path, lines: &Lines) -> Answer {
    let job = engine::job(path)?;
    let known = job.paper().estimate().map(|made| &made.estimate);
    let rate = Rate::of(lines, known)?;
    let lines = if given(lines) { rate.lines(lines)? } else { done(&rate, &job, known)? };
    jobs::apply(path, Command::Bill { lines, currency: rate.currency })
}

/// Returns the repair as it was done, and the parts of the estimate.
fn done(rate: &Rate, job: &Job, known: Option<&Estimate>) -> Result<Vec<PriceLine>, Failure> {
    let repaired = job.repaired().ok_or_else(|| {
        Failure::new("cannot propose a bill: no repair is recorded")
            .with_hint("say the work with --work WHAT=MINUTES and the parts with --part WHAT=MONEY")
    })?;
    let work = rate.work(&repaired.what, whole(repaired.minutes))?;
    let parts = known
        .map_or(&[][..], |known| known.lines.as_slice())
        .iter()
        .filter(|line| line.parts > Money::default());
    Ok(std::iter::once(work).chain(parts.map(|line| part(&line.what, line.parts))).collect())
}

fn copy(output: Option<&Path>) -> Answer {
    let path = OwnShop::copy(output).map_err(|error| Failure::told(&error))?;
    let file = path.display().to_string();
    let text = format!("{file} written\nEvery name in it is invented: write your own, then: lugwise shop");
    Ok(Reply::new(text, json!({ "file": file })))
}

fn shop() -> Answer {
    let Some(own) = OwnShop::usual() else {
        let text = format!(
            "There is no shop's file; tickets are printed without a letterhead.\nThen: lugwise shop --copy   (it makes {})",
            OwnShop::usual_file().display()
        );
        return Ok(Reply::new(text, shop_json(None, &Shop::default())));
    };
    let shop = own.shop.map_err(Failure::from)?;
    let price = shop.labour_per_hour.map_or_else(|| "no price of work".to_owned(), show_money);
    let text = format!(
        "{}\n{}\n{}\nan hour of work: {price} {}\nwarranty: {} days",
        own.source.name,
        shop.name,
        shop.lines.join("\n"),
        shop.currency,
        shop.warranty_days
    );
    let json = shop_json(Some(&own.source.name), &shop);
    Ok(Reply::new(text, json))
}

fn shop_json(file: Option<&str>, shop: &Shop) -> Value {
    json!({
        "file": file,
        "name": shop.name,
        "lines": shop.lines,
        "currency": shop.currency,
        "labour_per_hour": shop.labour_per_hour.map(show_money),
        "warranty_days": shop.warranty_days,
        "cautions": shop.cautions,
        "paper": shop.paper.map(Paper::name),
        "logo": shop.logo.is_some(),
    })
}
