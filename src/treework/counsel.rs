//! What the advisor says somewhere in a tree: the measurements worth taking, and how much is left.

use crate::advisor::{self, Circumstances, Ground, Proposal, Stand};
use crate::belief::Belief;
use crate::readings::{Access, Check, Measurement, Mode};
use crate::workbench::Engine;

/// What the advisor says at one point.
#[derive(Clone, Debug, Default)]
pub(super) struct Counsel {
    /// The measurements worth taking, those that tell most for their time first.
    pub proposals: Vec<Proposal>,
    /// Where the bench stands.
    pub stand: Stand,
    /// The readings and the minutes that are left with the advisor alone.
    pub steps: f64,
    pub minutes: f64,
    /// The readings that no way of working can be below.
    pub least_steps: f64,
}

/// Where the advisor is asked.
pub(super) struct Occasion<'a> {
    /// The probability of each hypothesis; they need not add up to one.
    pub weights: &'a [f64],
    /// Where the bench stands.
    pub stand: Stand,
    /// What was read on the way.
    pub spent: &'a [Measurement],
    /// Whether cable and amplifier were asked after.
    pub cable_known: bool,
}

/// A weight that belief can take the logarithm of.
const LEAST: f64 = 1e-12;

impl Occasion<'_> {
    /// Returns what is worth taking here.
    pub fn proposals(&self, engine: &Engine) -> Vec<Proposal> {
        self.proposed(engine, &self.belief(engine))
    }

    /// Returns what is worth taking here, and how much is left.
    pub fn counsel(&self, engine: &Engine) -> Counsel {
        let belief = self.belief(engine);
        let (leader, probability) = advisor::leader(&engine.groups, &belief);
        if advisor::sure(&engine.groups, leader, probability) {
            return Counsel::default();
        }
        let proposals = self.proposed(engine, &belief);
        let planned = advisor::planned(&self.ground(engine, &belief, &proposals));
        let outlook = advisor::outlook(&self.ground(engine, &belief, &planned));
        let more = advisor::beyond_outlook(&engine.groups, &belief);
        let left = |outlook: advisor::Outlook| (more * outlook.readings, more * outlook.minutes);
        let (steps, minutes) = outlook.map_or((0.0, 0.0), left);
        let least_steps = outlook.map_or(0.0, |outlook| outlook.least_readings);
        Counsel { proposals, stand: self.stand.clone(), steps, minutes, least_steps }
    }

    fn belief(&self, engine: &Engine) -> Belief {
        Belief::weighing(&engine.model, self.weights.iter().map(|weight| weight.max(LEAST)))
    }

    fn proposed(&self, engine: &Engine, belief: &Belief) -> Vec<Proposal> {
        let cable = |m: &&Measurement| m.mode == Mode::Observe(Check::OtherCable);
        let questions = engine.candidates.questions.iter().map(|question| &question.measurement);
        let skipped: Vec<Measurement> =
            questions.filter(cable).filter(|_| self.cable_known).cloned().collect();
        let (spent, stand) = (self.spent, self.stand.clone());
        let circumstances = Circumstances { access: Access::MayOpen, stand, spent, skipped: &skipped };
        let (model, candidates, groups) = (&engine.model, &engine.candidates, &engine.groups);
        advisor::propose(model, candidates, groups, belief, engine.meter, &circumstances)
    }

    fn ground<'g>(&'g self, engine: &'g Engine, belief: &'g Belief, proposals: &'g [Proposal]) -> Ground<'g> {
        Ground {
            model: &engine.model,
            candidates: &engine.candidates,
            groups: &engine.groups,
            belief,
            meter: engine.meter,
            stand: &self.stand,
            proposals,
        }
    }
}
