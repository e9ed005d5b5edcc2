//! Carries out what the screen of estimate and bill asks for.

use std::rc::Rc;

use egui::Context;

use super::action::{Action, Desk, Spot};
use super::bench::Bench;
use super::paper_desk::{ComebackForm, PaperAction, PaperDesk, PaperPage, ShopForm, Wish};
use super::paper_form::{LineForm, Slot};
use super::past_read::{self, Told, Wanted};
use super::task::Task;
use crate::archive::Filter;
use crate::session::PaperWish;
use crate::workbench::{Command, View};

/// Carries out one action of the screen; returns what is to be done to the job.
pub(super) fn carry_out(bench: &dyn Bench, desk: &mut Desk, asked: PaperAction) -> Option<Task> {
    bench.view()?;
    (desk.problem, desk.told) = (None, None);
    match asked {
        PaperAction::Open => open(bench, desk),
        PaperAction::Close => {
            desk.put_by = desk.paper.take();
            desk.focus = Some(Spot::Home);
        }
        PaperAction::Dropped(files) => {
            open(bench, desk);
            let own = desk.paper.as_mut()?;
            own.page = PaperPage::Photos;
            own.dropped.extend(files);
            if own.photo.file.is_empty()
                && let Some(file) = own.dropped.pop_front()
            {
                own.take_photo(file);
            }
        }
        PaperAction::Record => return record(bench, desk),
        PaperAction::Print(file, print) => {
            let caption = desk.paper.as_ref()?.facts.paper.photo(&file)?.caption.clone();
            return Some(Task::Paper(PaperWish::Change { file, caption, print }));
        }
        PaperAction::CopyShop => copy_shop(desk),
        PaperAction::WriteShop => write_shop(desk),
        PaperAction::Page(_) if desk.paper.is_none() => {
            open(bench, desk);
            turn(desk, asked);
        }
        asked => turn(desk, asked),
    }
    None
}

fn open(bench: &dyn Bench, desk: &mut Desk) {
    let known = desk.paper.take().or_else(|| desk.put_by.take());
    let mut own = known.unwrap_or_else(|| PaperDesk::new(bench));
    (own.shop, own.seen) = (own.place.read(), None);
    desk.paper = Some(own);
    desk.focus = Some(Spot::Home);
}

fn turn(desk: &mut Desk, asked: PaperAction) {
    let Some(own) = &mut desk.paper else { return };
    match asked {
        PaperAction::Page(page) => {
            own.page = page;
            own.wrong.clear();
            own.waiting |= page == PaperPage::Comeback && own.found.is_none() && own.past.path().is_some();
            desk.focus = Some(Spot::Home);
        }
        PaperAction::Add { part } => {
            let line = LineForm { part, ..LineForm::default() };
            own.lines().into_iter().for_each(|form| form.lines.push(line.clone()));
            own.fresh = own.lines().and_then(|form| form.lines.len().checked_sub(1));
        }
        PaperAction::Remove(index) => {
            own.wrong.clear();
            let form = own.lines().filter(|form| index < form.lines.len());
            form.into_iter().for_each(|form| drop(form.lines.remove(index)));
            desk.focus = Some(Spot::Home);
        }
        PaperAction::Propose => {
            own.wrong.clear();
            own.propose();
        }
        PaperAction::Recaption(file) => {
            own.recaption(&file);
            desk.focus = Some(Spot::Home);
        }
        PaperAction::AnotherPhoto => own.next_photo(),
        PaperAction::Search => own.waiting = true,
        PaperAction::Pick(index) => own.pick(index),
        PaperAction::LookAtShop => {
            (own.shop, own.seen) = (own.place.read(), None);
        }
        _ => {}
    }
}

fn copy_shop(desk: &mut Desk) {
    let Some(own) = &mut desk.paper else { return };
    match own.place.copy() {
        Ok(file) => {
            desk.told = Some(format!(
                "{} was written. Every name in it is invented: write your own.",
                file.display()
            ));
        }
        Err(why) => desk.problem = Some(why.to_string()),
    }
    (own.shop, own.seen) = (own.place.read(), None);
}

/// Writes the shop's file as it is typed, or says what is wrong with it.
fn write_shop(desk: &mut Desk) {
    let Some(own) = &mut desk.paper else { return };
    own.wrong.clear();
    let made = own.shop_form.text().and_then(|text| own.place.make(&text).map_err(|why| why.to_string()));
    match made {
        Ok(file) => {
            own.shop_form = ShopForm::default();
            desk.told = Some(format!("{} was written.", file.display()));
        }
        Err(why) => own.wrong.push((Slot::Shop, why)),
    }
    (own.shop, own.seen) = (own.place.read(), None);
}

fn record(bench: &dyn Bench, desk: &mut Desk) -> Option<Task> {
    let own = desk.paper.as_mut()?;
    own.wrong.clear();
    match own.record() {
        Ok(Wish::Nothing) => None,
        Ok(Wish::Do(command)) => {
            match own.page {
                PaperPage::Estimate => own.estimate.send(),
                PaperPage::Consent => own.consent.send(),
                PaperPage::Bill => own.bill.send(),
                _ => {}
            }
            own.sent = Some(own.page);
            Some(Task::Do { command, seen: bench.revision() })
        }
        Ok(Wish::Paper(wish)) => {
            own.sent = Some(own.page);
            Some(Task::Paper(wish))
        }
        Err(wrong) => {
            own.wrong = wrong;
            None
        }
    }
}

/// Takes the form that was sent as recorded: a command is on disk.
pub(super) fn kept(desk: &mut Desk) {
    let Some(own) = desk.paper.as_mut().or(desk.put_by.as_mut()) else { return };
    match own.sent.take() {
        Some(PaperPage::Estimate) => own.estimate.sent(),
        Some(PaperPage::Consent) => own.consent.sent(),
        Some(PaperPage::Bill) => own.bill.sent(),
        Some(PaperPage::Photos) => own.next_photo(),
        Some(PaperPage::Comeback) => {
            (own.comeback, own.found) = (ComebackForm::default(), None);
        }
        _ => {}
    }
}

/// Leaves the form that was sent as it is: its command was refused.
pub(super) fn turned_down(desk: &mut Desk) {
    let forms = desk.paper.as_mut().or(desk.put_by.as_mut());
    forms.into_iter().for_each(|own| own.sent = None);
}

/// Looks at what is known of the job when it has changed; what is typed stays.
pub(super) fn refresh(bench: &dyn Bench, desk: &mut Desk) {
    let Some(own) = &mut desk.paper else { return };
    if own.seen == Some(bench.revision()) {
        return;
    }
    own.seen = Some(bench.revision());
    own.facts = bench.paper().cloned().unwrap_or_default();
    own.renew();
}

/// Takes in the earlier jobs that were found beside the window, and begins to look for others.
pub(super) fn watch(ctx: &Context, desk: &mut Desk) {
    let Some(own) = &mut desk.paper else { return };
    match past_read::arrived(ctx, &mut own.reading) {
        Some(Ok(Told::Jobs(listing))) => own.found = Some(listing.jobs),
        Some(Err(why)) => desk.problem = Some(why),
        Some(Ok(_)) | None => {}
    }
    if own.reading.is_none() && std::mem::take(&mut own.waiting) {
        let wanted = Wanted::Jobs { words: own.comeback.words.clone(), filter: Filter::default() };
        own.reading = Some(Rc::new(past_read::begin(own.past.clone(), wanted)));
        ctx.request_repaint_after(past_read::SOON);
    }
}

/// Takes the files that were dropped on the window while a job is open.
pub(super) fn dropped(ctx: &Context, view: Option<&View>, desk: &Desk, out: &mut Vec<Action>) {
    let elsewhere = desk.trees.is_some() || desk.practice.is_some() || desk.past.is_some();
    if view.is_none() || elsewhere || desk.overlay.is_some() {
        return;
    }
    let files = ctx.input_mut(|input| std::mem::take(&mut input.raw.dropped_files));
    if !files.is_empty() {
        let paths = files.iter().map(|file| file.path().to_owned()).collect();
        out.push(Action::Paper(PaperAction::Dropped(paths)));
    }
}

/// Returns what undo and redo do on this screen; nothing while something is typed, which they are for then.
pub(super) fn key(undo: bool, redo: bool, view: &View, own: &PaperDesk) -> Option<Action> {
    match own.is_typing() {
        true => None,
        false if undo && view.can_undo => Some(Action::Do(Command::Undo)),
        false if redo && view.can_redo => Some(Action::Do(Command::Redo)),
        false => None,
    }
}
