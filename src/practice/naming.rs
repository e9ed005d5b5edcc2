//! What may be named as the fault, and whether it was right.

use crate::faults::{FaultId, Kind};
use crate::workbench::Engine;

/// One fault that may be named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Its id.
    pub id: String,
    /// How it fails, in words.
    pub kind: &'static str,
    /// A plain sentence.
    pub sentence: String,
    /// The terminals where it sits, by name.
    pub terminals: Vec<String>,
    /// The conductors where it sits, by name.
    pub links: Vec<String>,
}

impl Choice {
    /// Returns whether every word of a search is in it.
    pub fn matches(&self, search: &str) -> bool {
        let text = format!("{} {} {}", self.sentence, self.kind, self.id).to_lowercase();
        search.to_lowercase().split_whitespace().all(|word| text.contains(word))
    }
}

/// One fault that was hidden.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hidden {
    /// Its id.
    pub id: String,
    /// A plain sentence.
    pub sentence: String,
    /// What mends it.
    pub repair: String,
    /// The sentences of those that no reading tells from it, or that the same repair mends.
    pub alike: Vec<String>,
    /// Whether it, or one of those, was named.
    pub named: bool,
}

/// How it ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// Whether everything that was wrong was named.
    pub right: bool,
    /// Whether it was given up.
    pub given_up: bool,
    /// The sentences of what was named.
    pub named: Vec<String>,
    /// What was hidden.
    pub hidden: Vec<Hidden>,
}

/// Returns everything that may be named.
pub(super) fn choices(engine: &Engine) -> Vec<Choice> {
    let harness = engine.harness();
    let all = engine.model.catalogue.faults.iter();
    let real = all.filter(|fault| !matches!(fault.kind, Kind::NotInCatalogue | Kind::Two));
    real.map(|fault| Choice {
        id: fault.id.clone(),
        kind: fault.kind.words(),
        sentence: fault.sentence.clone(),
        terminals: fault.terminals.iter().map(|&id| harness[id].name.clone()).collect(),
        links: fault.links.iter().map(|&id| harness[id].name.clone()).collect(),
    })
    .collect()
}

/// Returns how it ended; `None` named means that it was given up.
pub(super) fn verdict(engine: &Engine, faults: &[(FaultId, usize)], named: Option<&[String]>) -> Verdict {
    let ids = named.unwrap_or_default();
    let hidden: Vec<Hidden> = faults.iter().map(|fault| hidden(engine, *fault, ids)).collect();
    let sentence = |id: &String| engine.fault(id).map_or_else(|_| id.clone(), |f| f.sentence.clone());
    Verdict {
        right: named.is_some() && hidden.iter().all(|hidden| hidden.named),
        given_up: named.is_none(),
        named: ids.iter().map(sentence).collect(),
        hidden,
    }
}

fn hidden(engine: &Engine, (fault, hypothesis): (FaultId, usize), ids: &[String]) -> Hidden {
    let catalogue = &engine.model.catalogue;
    let decision = engine.groups.decision_of[hypothesis];
    let group = engine.groups.faults(&engine.model, decision);
    let others = group.iter().filter(|id| **id != fault);
    Hidden {
        id: catalogue[fault].id.clone(),
        sentence: catalogue[fault].sentence.clone(),
        repair: catalogue[fault].repair.text.clone(),
        alike: others.map(|id| catalogue[*id].sentence.clone()).collect(),
        named: group.iter().any(|id| ids.contains(&catalogue[*id].id)),
    }
}
