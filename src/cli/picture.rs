//! `picture`: the wiring drawn as the ticket draws it.

use std::path::Path;

use clap::Args;
use serde_json::json;

use super::engine;
use super::failure::Failure;
use super::reply::{Answer, Reply, put};
use super::wirings::{self, Wiring};
use crate::draw::{self, Marks, Palette, Plan, Sight, Spot};
use crate::workbench::Priors;

/// How the instrument is looked at in a drawing.
#[derive(Clone, Copy, Debug, Args)]
pub(super) struct Looked {
    /// Draw the wiring as seen from the front, not from behind
    #[arg(long)]
    pub front: bool,
    /// Draw the wiring of a left-handed instrument: everything the other way round
    #[arg(long)]
    pub left_handed: bool,
}

impl Looked {
    /// Returns it as the drawing takes it.
    pub(super) fn sight(self) -> Sight {
        Sight { from_front: self.front, left_handed: self.left_handed }
    }
}

/// Draws a wiring, with a fault marked when one is named; prints the drawing when no file is.
pub(super) fn picture(wiring: &str, output: Option<&Path>, fault: Option<&str>, looked: Looked) -> Answer {
    let wiring = wirings::find(wiring)?;
    let marks = fault.map_or(Ok(Marks::default()), |fault| marks(&wiring, fault))?;
    let plan = Plan::new(&wiring.harness).seen(looked.sight());
    let svg = draw::svg(&plan.picture(&wiring.harness, &marks), &Palette::Light);
    let Some(output) = output else {
        return Ok(Reply::new(svg.trim_end(), json!({ "svg": svg })));
    };
    let file = output.display().to_string();
    put(output, svg.as_bytes())?;
    Ok(Reply::new(format!("{file} written"), json!({"file": file, "bytes": svg.len()})))
}

fn marks(wiring: &Wiring, fault: &str) -> Result<Marks, Failure> {
    if !engine::faults(&wiring.source, Priors::built_in())?.iter().any(|known| known.id == fault) {
        let name = &wiring.harness.name;
        return Err(Failure::new(format!("cannot mark \"{fault}\": {name} has no such fault"))
            .with_hint(format!("`lugwise faults {name}` lists every fault")));
    }
    let spots = Spot::of_fault(&wiring.harness, fault);
    Ok(Marks { suspects: spots.into_iter().map(|spot| (spot, 1.0)).collect(), ..Marks::default() })
}
