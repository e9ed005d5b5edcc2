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
use crate::session::{self, OwnShop, PriceError, Rate};
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
        PaperVerb::Photo { job, file, caption, print } => photo(&job, &file, &caption, print),
        PaperVerb::Warranty { job, of, why } => {
            engine::change(&job, |session| session.link_warranty(&of, &why)).map(|view| state(&view))
        }
        PaperVerb::Shop { copy: true, output } => copy(output.as_deref()),
        PaperVerb::Shop { .. } => shop(),
    }
}

/// Copies a photo beside the job, and tells what became of one that was there already.
fn photo(job: &Path, file: &Path, caption: &str, print: bool) -> Answer {
    let mut told = None;
    let mut view = engine::change(job, |session| {
        told = session.add_photo(file, caption, print)?;
        Ok(())
    })?;
    view.notices.extend(told);
    Ok(state(&view))
}

impl From<PriceError> for Failure {
    fn from(error: PriceError) -> Self {
        let hint = match error {
            PriceError::NoRate => {
                "give --per-hour, or write labour_per_hour in your shop's file; `lugwise shop --copy` makes one"
            }
            PriceError::NoWork => "say the work with --work WHAT=MINUTES",
            PriceError::NoRepair => {
                "say the work with --work WHAT=MINUTES and the parts with --part WHAT=MONEY"
            }
        };
        Self::told(&error).with_hint(hint)
    }
}

/// Returns what was given, else what `known` says, else what the shop's file says.
fn rate(lines: &Lines, known: Option<&Estimate>) -> Result<Rate, Failure> {
    let told = Rate::of(&session::shop()?, known);
    let currency = lines.currency.clone().unwrap_or(told.currency);
    Ok(Rate { per_hour: lines.per_hour.or(told.per_hour), currency })
}

fn priced(rate: &Rate, lines: &Lines) -> Result<Vec<PriceLine>, Failure> {
    let works = lines.works.iter().map(|(what, minutes)| rate.work(what, *minutes).map_err(Failure::from));
    let parts = lines.parts.iter().map(|(what, price)| Ok(session::part_line(what, *price)));
    works.chain(parts).collect()
}

fn given(lines: &Lines) -> bool {
    !lines.works.is_empty() || !lines.parts.is_empty()
}

fn estimate(path: &Path, lines: &Lines, ceiling: Option<Money>, said: String) -> Answer {
    let job = engine::job(path)?;
    let rate = rate(lines, None)?;
    let lines = if given(lines) {
        priced(&rate, lines)?
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
    if let Some(named) = session::named_work(job) {
        return Ok(named);
    }
    Ok(session::advised_work(&engine::look(path)?).ok_or(PriceError::NoWork)?)
}

fn bill(path: &Path, lines: &Lines) -> Answer {
    let job = engine::job(path)?;
    let known = job.paper().estimate().map(|made| &made.estimate);
    let rate = rate(lines, known)?;
    let lines = if given(lines) { priced(&rate, lines)? } else { session::done_lines(&rate, &job)? };
    jobs::apply(path, Command::Bill { lines, currency: rate.currency })
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
