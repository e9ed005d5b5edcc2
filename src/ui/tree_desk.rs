//! Carries out what the screen of the trees asks for.

use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

use egui::Context;

use super::action::{Action, Desk, Overlay, Spot};
use super::bench::Bench;
use super::tree_change::{Change, Detour, Proposal};
use super::tree_view::{self, Drawn};
use super::trees::{TreePane, TreePaper, TreesAction, TreesDesk};
use crate::draw::{self, PdfError, TreeMarks};
use crate::session::PastWays;
use crate::trees::Tree;

/// Seconds between two looks at the folder.
const BETWEEN: f64 = 1.0;
/// Seconds until something that is under way is asked for.
const SOON: f64 = 0.1;

/// Carries out one thing asked for.
pub(super) fn carry_out(bench: &mut dyn Bench, desk: &mut Desk, asked: TreesAction) {
    match asked {
        TreesAction::Open => open(bench, desk),
        TreesAction::Close => close(bench, desk),
        TreesAction::Save => save(bench, desk),
        TreesAction::LeaveNews => desk.tree_news.leave(),
        other => {
            if let Some(own) = &mut desk.trees {
                on_screen(bench, own, other);
            }
        }
    }
}

/// Opens the screen with the tree of the job, and the step that the job is at.
fn open(bench: &mut dyn Bench, desk: &mut Desk) {
    bench.trees_mut().look();
    let trail = bench.trail();
    let first = bench.trees().all().first().map(|choice| choice.key.clone());
    let chosen = trail.as_ref().map(|trail| trail.tree.clone()).or(first).unwrap_or_default();
    let at = trail.and_then(|trail| trail.at.or_else(|| Some(trail.behind.last()?.step.clone())));
    let mut own = TreesDesk { chosen, ..TreesDesk::default() };
    if let Some(step) = at {
        own.read(step);
    }
    desk.trees = Some(own);
    desk.focus = Some(Spot::Home);
}

fn close(bench: &mut dyn Bench, desk: &mut Desk) {
    bench.trees_mut().stop_checking();
    desk.trees = None;
    desk.focus = Some(if bench.view().is_some() { Spot::Home } else { Spot::Start });
}

/// Shows how a tree would be changed, unless something else has been begun since that was asked for.
pub(super) fn proposed(desk: &mut Desk, (detour, proposal): (Detour, Result<Proposal, String>)) {
    if desk.overlay.is_some() || desk.detour.as_ref() != Some(&detour) {
        desk.told =
            Some("The change of the tree is not shown: something else was begun meanwhile.".to_owned());
        return;
    }
    desk.change = Some(Change { proposal, saved: None });
    desk.problem = None;
    desk.overlay = Some(Overlay::Change);
    desk.focus = Some(Spot::Overlay);
}

fn save(bench: &mut dyn Bench, desk: &mut Desk) {
    let Some(Change { proposal: Ok(proposal), saved }) = &mut desk.change else { return };
    match bench.trees_mut().save(&proposal.key, &proposal.before, &proposal.after) {
        Ok(path) => (*saved, desk.problem) = (Some(path), None),
        Err(text) => desk.problem = Some(text),
    }
    desk.focus = Some(Spot::Overlay);
}

fn on_screen(bench: &mut dyn Bench, own: &mut TreesDesk, asked: TreesAction) {
    (own.problem, own.told) = (None, None);
    match asked {
        TreesAction::Choose(key) => choose(bench, own, key),
        TreesAction::Step(step) => own.read(step),
        TreesAction::Back => own.back(),
        TreesAction::Pane(pane) => own.pane = pane,
        TreesAction::Line(line, step) => go_to(own, line, step),
        TreesAction::Copy => match bench.trees_mut().copy(&own.chosen) {
            Ok(path) => own.told = Some(format!("Copied to {}", path.display())),
            Err(text) => own.problem = Some(text),
        },
        TreesAction::Check => bench.trees_mut().check(&own.chosen),
        TreesAction::Stop => bench.trees_mut().stop_checking(),
        TreesAction::Open | TreesAction::Close | TreesAction::Propose => {}
        TreesAction::Save | TreesAction::Write(_) | TreesAction::LeaveNews => {}
    }
}

fn choose(bench: &dyn Bench, own: &mut TreesDesk, key: String) {
    if bench.trees().find(&key).is_none() {
        own.problem = Some(format!("There is no tree \"{key}\" here."));
        return;
    }
    let (pane, next_look) = (own.pane, own.next_look);
    let pane = if pane == TreePane::Step || pane == TreePane::List { TreePane::Diagram } else { pane };
    *own = TreesDesk { chosen: key, pane, next_look, ..TreesDesk::default() };
}

/// Brings a line into view: in the text, or as the step that it belongs to.
fn go_to(own: &mut TreesDesk, line: usize, step: String) {
    own.line = Some(line);
    if step.is_empty() {
        own.pane = TreePane::Text;
    } else {
        if own.pane == TreePane::List {
            own.pane = TreePane::Diagram;
        }
        own.read(step);
    }
}

/// Writes a tree, and says on its screen, or else on the one that is shown, what came of it.
pub(super) fn write(bench: &dyn Bench, desk: &mut Desk, key: &str, paper: TreePaper, path: &Path) {
    let past = desk.trees.as_ref().filter(|own| own.chosen == key).and_then(|own| own.past.ways());
    let written = on_paper(bench, key, paper, past).and_then(|(bytes, lacks)| {
        let written = bench.write(path, &bytes).map(|()| lacks);
        written.map_err(|why| format!("writing {}: {why}", path.display()))
    });
    let (problem, told) = match written {
        Ok(None) => (None, Some(format!("Written to {}", path.display()))),
        Ok(Some(lacks)) => (None, Some(format!("Written to {}. {lacks}", path.display()))),
        Err(why) => (Some(why), None),
    };
    match &mut desk.trees {
        Some(own) => (own.problem, own.told) = (problem, told),
        None => (desk.problem, desk.told) = (problem, told),
    }
}

/// Returns a tree as it is written, and what is to be said of letters that could not be printed.
fn on_paper(
    bench: &dyn Bench,
    key: &str,
    paper: TreePaper,
    past: Option<&PastWays>,
) -> Result<(Vec<u8>, Option<String>), String> {
    let tree: Option<&Tree> = bench.trees().find(key).and_then(|choice| choice.tree.as_ref());
    let tree = tree.ok_or_else(|| format!("the tree \"{key}\" is not there any more"))?;
    let marks = tree_view::marks(None, bench.trees().checked(key), past);
    match paper {
        TreePaper::Svg => Ok((draw::tree_svg(tree, &marks).into_bytes(), None)),
        TreePaper::Pdf => printed(tree, &marks).map_err(|why| why.to_string()),
    }
}

fn printed(tree: &Tree, marks: &TreeMarks) -> Result<(Vec<u8>, Option<String>), PdfError> {
    let lacks = draw::wall_chart_lacks(tree, marks)?;
    let chart = draw::wall_chart(tree, marks, draw::Paper::A4)?;
    Ok((chart, draw::pdf::missing_said(&lacks, "the .svg drawing")))
}

impl TreesDesk {
    /// Reads a step: brings it into the middle, and the keyboard to its ways.
    pub(super) fn read(&mut self, step: String) {
        self.behind.extend(self.step.take().filter(|before| *before != step));
        self.centre_on = Some(step.clone());
        self.step = Some(step);
        self.to_ways = true;
        if self.pane == TreePane::Text {
            self.pane = TreePane::Diagram;
        }
    }

    fn back(&mut self) {
        if let Some(step) = self.behind.pop() {
            self.centre_on = Some(step.clone());
            self.step = Some(step);
            self.to_ways = true;
        }
    }
}

/// Looks at the folder and at a check now and then, only while the screen is open.
pub(super) fn watch(ctx: &Context, bench: &mut dyn Bench, desk: &mut Desk) {
    let Some(own) = &mut desk.trees else { return };
    let now = ctx.input(|input| input.time);
    if now >= own.next_look {
        let under_way = bench.trees_mut().look();
        own.next_look = now + if under_way { SOON } else { BETWEEN };
    }
    if own.past.watch(bench.past(), bench.trees().find(&own.chosen)) {
        own.drawn = None;
    }
    let wait = if own.past.is_counting() { SOON } else { (own.next_look - now).max(SOON) };
    ctx.request_repaint_after(Duration::from_secs_f64(wait));
}

/// Draws the diagram anew when what it shows has changed.
pub(super) fn refresh(bench: &dyn Bench, desk: &mut Desk) {
    let Some(own) = &mut desk.trees else { return };
    let shows = (own.chosen.clone(), bench.trees().revision(), bench.revision());
    if own.drawn.as_ref().is_some_and(|drawn| drawn.shows(&shows)) {
        return;
    }
    let trail = bench.trail().filter(|trail| trail.tree == own.chosen);
    let marks = tree_view::marks(trail.as_ref(), bench.trees().checked(&own.chosen), own.past.ways());
    let choice = bench.trees().find(&own.chosen);
    own.drawn = choice.and_then(|choice| Drawn::of(shows, choice, &marks, trail.as_ref())).map(Rc::new);
}

/// Returns what the key for the trees does now.
pub(super) fn toggled(desk: &Desk) -> Action {
    Action::Trees(if desk.trees.is_some() { TreesAction::Close } else { TreesAction::Open })
}
