//! Steps that are never reached, and steps that never end.

use super::tree::{Then, step_path};
use super::ways::way_path;
use super::{Step, Tree, TreeError, Wrong};
use crate::source::Located;

/// Returns the first endless step, or else all dead ones.
pub(super) fn check(tree: &Tree) -> Vec<TreeError> {
    let mut walk = Walker { tree, marks: vec![Mark::New; tree.steps.len()], trail: Vec::new() };
    if let Err((step, error)) = walk.from(tree.start) {
        return vec![TreeError::new(Wrong::Endless, error).in_step(&tree.steps[step].name)];
    }
    let dead = walk.marks.iter().enumerate().filter(|(_, mark)| **mark == Mark::New);
    dead.map(|(step, _)| dead_step(tree, step)).collect()
}

fn dead_step(tree: &Tree, step: usize) -> TreeError {
    let name = &tree.steps[step].name;
    let hint = Some("lead an outcome to it, or take it out".to_owned());
    let message = format!("no way leads to the step \"{name}\"");
    let error = tree.positions.error(&step_path(step).then("name"), message, hint);
    TreeError::new(Wrong::Unreachable, error).in_step(name)
}

#[derive(Clone, Copy, PartialEq)]
enum Mark {
    New,
    OnTrail,
    Done,
}

/// Goes through all ways from the first step, without recursion, so that a long tree needs no deep stack.
struct Walker<'a> {
    tree: &'a Tree,
    marks: Vec<Mark>,
    trail: Vec<(usize, Vec<usize>)>,
}

impl Walker<'_> {
    /// Goes through everything; an error comes with the step whose way leads back to one before it.
    fn from(&mut self, start: usize) -> Result<(), (usize, Located)> {
        self.enter(start);
        while let Some((step, ways)) = self.trail.last_mut() {
            let (step, next) = (*step, ways.pop());
            match next.map(|next| (next, self.marks[next])) {
                None => {
                    self.marks[step] = Mark::Done;
                    self.trail.pop();
                }
                Some((next, Mark::New)) => self.enter(next),
                Some((next, Mark::OnTrail)) => return Err((step, self.endless(step, next))),
                Some((_, Mark::Done)) => {}
            }
        }
        Ok(())
    }

    fn enter(&mut self, step: usize) {
        self.marks[step] = Mark::OnTrail;
        self.trail.push((step, next_steps(&self.tree.steps[step])));
    }

    /// Says of the way from the last step to one before it that it closes a ring.
    fn endless(&self, last: usize, step: usize) -> Located {
        const SHOWN: usize = 6;
        let name = |step: usize| self.tree.steps[step].name.as_str();
        let ring = self.trail.iter().map(|(step, _)| *step).skip_while(|at| *at != step);
        let mut names: Vec<&str> = ring.map(name).collect();
        if names.len() > SHOWN {
            names.truncate(SHOWN);
            names.push("...");
        }
        names.push(name(step));
        let message = format!("the step \"{}\" leads back to itself: {}", name(step), names.join(" -> "));
        let hint = Some("lead this way elsewhere; `Advisor` always ends a tree".to_owned());
        let back = self.tree.steps[last].ways().position(|then| *then == Then::Step(step));
        let way = back.unwrap_or_else(|| self.tree.steps[last].cannot_way());
        self.tree.positions.error(&way_path(last, &self.tree.steps[last], way), message, hint)
    }
}

/// Returns the steps a step leads to, the first way last, so that it is taken first from the end.
fn next_steps(step: &Step) -> Vec<usize> {
    let next = |then: &Then| match then {
        Then::Step(index) => Some(*index),
        _ => None,
    };
    let mut steps: Vec<usize> = step.ways().filter_map(next).collect();
    steps.reverse();
    steps
}
