//! Steps that are never reached, and steps that never end.

use super::tree::{Then, step_path};
use super::{Step, Tree};
use crate::source::Located;

/// Refuses dead and endless steps.
pub(super) fn check(tree: &Tree) -> Result<(), Located> {
    let mut walk = Walker { tree, marks: vec![Mark::New; tree.steps.len()], trail: Vec::new() };
    walk.from(tree.start)?;
    let dead = walk.marks.iter().position(|mark| *mark == Mark::New);
    dead.map_or(Ok(()), |dead| {
        let message = format!("no way leads to the step \"{}\"", tree.steps[dead].name);
        let hint = Some("lead an outcome to it, or take it out".to_owned());
        Err(tree.positions.error(&step_path(dead).then("name"), message, hint))
    })
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
    fn from(&mut self, start: usize) -> Result<(), Located> {
        self.enter(start);
        while let Some((step, ways)) = self.trail.last_mut() {
            let (step, next) = (*step, ways.pop());
            match next.map(|next| (next, self.marks[next])) {
                None => {
                    self.marks[step] = Mark::Done;
                    self.trail.pop();
                }
                Some((next, Mark::New)) => self.enter(next),
                Some((next, Mark::OnTrail)) => return Err(self.endless(next)),
                Some((_, Mark::Done)) => {}
            }
        }
        Ok(())
    }

    fn enter(&mut self, step: usize) {
        self.marks[step] = Mark::OnTrail;
        self.trail.push((step, next_steps(&self.tree.steps[step])));
    }

    fn endless(&self, step: usize) -> Located {
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
        let hint = Some("lead the last of them elsewhere; `Advisor` always ends a tree".to_owned());
        self.tree.positions.error(&step_path(step).then("name"), message, hint)
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
