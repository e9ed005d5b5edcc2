//! Every measurement worth considering on a harness, with what each state makes it read.

use std::collections::{BTreeMap, BTreeSet};

use super::audible::Audible;
use super::flexing::shows;
use super::model::Model;
use super::observations::Ear;
use super::row::Row;
use super::states::Behaviour;
use crate::circuit::{ControlKind, PartKind, PotRole, TerminalId};
use crate::readings::{Measurement, Setting, Stand};
use crate::solver::SolverError;

/// One measurement with what every state makes it read.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// The measurement.
    pub measurement: Measurement,
    /// Index of its row in [`Candidates::rows`].
    pub row: usize,
    /// Index in [`Candidates::shows`] of how likely faults that come and go show meanwhile.
    pub flexed: usize,
}

/// All measurements worth considering; several may share a row.
#[derive(Clone, Debug)]
pub struct Candidates {
    /// The measurements, those at the plug first.
    pub list: Vec<Candidate>,
    /// What every state makes them read.
    pub rows: Vec<Row>,
    /// How likely every hypothesis shows itself while this or that is flexed; the first is with nothing flexed.
    pub shows: Vec<Vec<f64>>,
    /// What can be heard, seen or felt.
    pub questions: Vec<Question>,
}

/// One observation with the chance of the answer yes under every hypothesis.
#[derive(Clone, Debug)]
pub struct Question {
    /// The observation.
    pub measurement: Measurement,
    /// The chance of yes under each hypothesis.
    pub chances: Vec<f64>,
}

type Pair = (String, String);

impl Model {
    /// Works out all measurements worth considering.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations of a setting have no single solution.
    pub fn candidates(&self, audible: &[Audible]) -> Result<Candidates, SolverError> {
        let mut wanted: BTreeMap<Setting, BTreeSet<Pair>> = BTreeMap::new();
        let mut order: Vec<(Setting, Pair)> = Vec::new();
        for (setting, pair) in self.at_the_plug().into_iter().chain(self.inside()) {
            if wanted.entry(setting.clone()).or_default().insert(pair.clone()) {
                order.push((setting, pair));
            }
        }
        let mut rows: BTreeMap<(Setting, Pair), Row> = BTreeMap::new();
        for (setting, pairs) in &wanted {
            let bench = self.bench(setting)?;
            for pair in pairs {
                if let Some((red, black)) = self.nodes(pair) {
                    rows.insert((setting.clone(), pair.clone()), bench.row(red, black));
                }
            }
        }
        let mut all =
            Candidates { list: Vec::new(), rows: Vec::new(), shows: Vec::new(), questions: Vec::new() };
        let mut known = Known::default();
        for key in order {
            if let Some(row) = rows.remove(&key) {
                let (setting, (red, black)) = &key;
                let measurement = Measurement::ohms(red, black, setting.clone());
                all.list.push(Candidate { measurement, row: known.place(row, &mut all.rows), flexed: 0 });
            }
        }
        let flexed = self.flexed(&all);
        all.list.extend(flexed);
        for measurement in self.special(&all) {
            if let Some(row) = self.row(&measurement)? {
                all.list.push(Candidate { measurement, row: known.place(row, &mut all.rows), flexed: 0 });
            }
        }
        self.work_out_what_shows(&mut all);
        let mut ear = Ear::new(self, audible);
        for (check, measurement) in self.questions(&all) {
            let chances = ear.chances(check, &measurement)?;
            all.questions.push(Question { measurement, chances });
        }
        Ok(all)
    }

    pub(super) fn work_out_what_shows(&self, all: &mut Candidates) {
        let shows = |flex: Option<&str>| {
            self.hypotheses.list.iter().map(|h| shows(&self.harness, &h.behaviour, flex)).collect::<Vec<_>>()
        };
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        all.shows = vec![shows(None)];
        for candidate in &mut all.list {
            let Some(flex) = &candidate.measurement.flex else { continue };
            candidate.flexed = *known.entry(flex.clone()).or_insert_with(|| {
                all.shows.push(shows(Some(flex)));
                all.shows.len() - 1
            });
        }
    }

    /// Returns what is flexed from outside: the plug, and every part that a control moves.
    pub fn outside_flexes(&self) -> Vec<String> {
        let moved = self.harness.controls.iter().map(|control| self.harness[control.part].name.clone());
        std::iter::once("plug".to_owned()).chain(moved).collect()
    }

    fn nodes(&self, (red, black): &Pair) -> Option<(crate::circuit::NodeId, crate::circuit::NodeId)> {
        let node = |name: &str| self.harness.terminal(name).map(|terminal| self.network.lug(terminal));
        Some((node(red)?, node(black)?))
    }

    fn at_the_plug(&self) -> Vec<(Setting, Pair)> {
        let tip_sleeve = pair("plug.tip", "plug.sleeve");
        let mut all: Vec<(Setting, Pair)> = Vec::new();
        let switched = self.switch_settings();
        all.extend(switched.iter().map(|setting| (setting.clone(), tip_sleeve.clone())));
        for setting in &switched {
            all.extend(self.knob_settings(setting).into_iter().map(|moved| (moved, tip_sleeve.clone())));
        }
        let outside = |t: &&crate::circuit::Terminal| {
            t.probe && self.harness[t.place].outside && !t.name.starts_with("plug.")
        };
        for terminal in self.harness.terminals.iter().filter(outside) {
            for end in ["plug.sleeve", "plug.tip"] {
                all.push((switched[0].clone(), pair(end, &terminal.name)));
            }
        }
        all
    }

    /// Returns a setting with one knob moved at a time: volumes to 0 and 5, tones to 0.
    fn knob_settings(&self, setting: &Setting) -> Vec<Setting> {
        let knobs = self.harness.controls.iter().filter(|control| control.kind == ControlKind::Knob);
        knobs
            .flat_map(|control| {
                let tone =
                    matches!(self.harness[control.part].kind, PartKind::Pot { role: PotRole::Tone, .. });
                let dials: &[u8] = if tone { &[0] } else { &[0, 5] };
                dials
                    .iter()
                    .map(|&dial| setting.clone().with(&control.name, Stand::Knob(dial)))
                    .collect::<Vec<_>>()
            })
            .collect()
    }

    fn inside(&self) -> Vec<(Setting, Pair)> {
        let switched = self.switch_settings();
        let mut all = Vec::new();
        for setting in &switched {
            for terminal in self.harness.terminals.iter().filter(|t| t.probe && !t.name.starts_with("plug."))
            {
                all.push((setting.clone(), pair("plug.sleeve", &terminal.name)));
                if !terminal.grounded_surface {
                    all.push((setting.clone(), pair("plug.tip", &terminal.name)));
                }
            }
        }
        all.extend(self.neighbours().into_iter().map(|pair| (switched[0].clone(), pair)));
        all.extend(self.turned_lugs(&switched[0]));
        all
    }

    /// Returns what is fixed to each pot and the pot's own lugs, the knob where it tells them apart: a volume half
    /// way, a tone at 0.
    fn turned_lugs(&self, setting: &Setting) -> Vec<(Setting, Pair)> {
        let mut all = Vec::new();
        for control in &self.harness.controls {
            let dial = match self.harness[control.part].kind {
                PartKind::Pot { role: PotRole::Tone, .. } => 0,
                PartKind::Pot { .. } => 5,
                _ => continue,
            };
            let own = |&(a, b): &(TerminalId, TerminalId)| {
                [a, b].iter().any(|&t| self.harness[t].part == control.part)
                    && !self.harness[a].grounded_surface
                    && !self.harness[b].grounded_surface
            };
            let turned = setting.clone().with(&control.name, Stand::Knob(dial));
            let pairs = self.near_terminals().into_iter().filter(own);
            all.extend(
                pairs.map(|(a, b)| (turned.clone(), pair(&self.harness[a].name, &self.harness[b].name))),
            );
        }
        all
    }

    /// Returns the pairs across every link, every part and every near pair.
    fn neighbours(&self) -> Vec<Pair> {
        let named = |(a, b): (TerminalId, TerminalId)| pair(&self.harness[a].name, &self.harness[b].name);
        self.near_terminals().into_iter().map(named).collect()
    }

    fn near_terminals(&self) -> Vec<(TerminalId, TerminalId)> {
        let mut pairs: Vec<(TerminalId, TerminalId)> =
            self.harness.links.iter().map(|link| (link.from.terminal, link.to.terminal)).collect();
        pairs.extend(self.harness.near.iter().map(|near| (near.a, near.b)));
        for part in &self.harness.parts {
            for (index, &one) in part.terminals.iter().enumerate() {
                pairs.extend(part.terminals[index + 1..].iter().map(|&other| (one, other)));
            }
        }
        let probes = |&(a, b): &(TerminalId, TerminalId)| self.harness[a].probe && self.harness[b].probe;
        pairs.retain(probes);
        pairs
    }

    /// Returns the flexed forms: the plug's reading while something outside is moved, and for every hypothesis
    /// that comes and goes the reading that shows it best while its own joint or lead is prodded.
    fn flexed(&self, all: &Candidates) -> Vec<Candidate> {
        let mut list: Vec<Candidate> = Vec::new();
        let settings = self.switch_settings().len();
        for flex in self.outside_flexes() {
            list.extend(all.list[..settings].iter().map(|candidate| flexing(candidate, &flex)));
        }
        for hypothesis in &self.hypotheses.list {
            let Behaviour::ComesAndGoes { terminals, links } = &hypothesis.behaviour else { continue };
            let flex = match (
                links.first(),
                terminals.iter().find(|&&t| !self.harness[t].name.starts_with("plug.")),
            ) {
                (Some(&link), _) => self.harness[link].name.clone(),
                (None, Some(&terminal)) => self.harness[terminal].name.clone(),
                (None, None) => continue,
            };
            list.extend(self.shown_best(all, hypothesis.state).into_iter().map(|best| flexing(best, &flex)));
            list.extend(self.across(all, terminals, links).into_iter().map(|own| flexing(own, &flex)));
        }
        list.sort_by(|a, b| a.measurement.cmp(&b.measurement));
        list.dedup_by(|a, b| a.measurement == b.measurement);
        list
    }

    /// Returns the first measurement across a link, or else between two terminals.
    fn across<'c>(
        &self,
        all: &'c Candidates,
        terminals: &[TerminalId],
        links: &[crate::circuit::LinkId],
    ) -> Option<&'c Candidate> {
        let ends = match (links, terminals) {
            (&[link, ..], _) => [self.harness[link].from.terminal, self.harness[link].to.terminal],
            (_, &[one, other, ..]) => [one, other],
            _ => return None,
        };
        let [a, b] = ends.map(|terminal| self.harness[terminal].name.as_str());
        let joins = |m: &Measurement| (m.red == a && m.black == b) || (m.red == b && m.black == a);
        all.list.iter().find(|candidate| joins(&candidate.measurement))
    }

    /// Returns the first measurement that shows a state as clearly as any other does.
    fn shown_best<'c>(&self, all: &'c Candidates, state: usize) -> Option<&'c Candidate> {
        const CLEAR: f64 = 2.0;
        let shift = |candidate: &Candidate| {
            let row = &all.rows[candidate.row];
            (row[state].scaled() - row[0].scaled()).abs().min(CLEAR)
        };
        let best = all.list.iter().map(shift).fold(0.0, f64::max);
        all.list.iter().find(|candidate| best > 0.05 && shift(candidate) >= best)
    }
}

/// Where the rows are that tell the same states apart.
#[derive(Default)]
pub(super) struct Known(BTreeMap<Vec<u32>, Vec<usize>>);

impl Known {
    /// Returns where a row is, and puts it there when none reads the same.
    pub(super) fn place(&mut self, row: Row, rows: &mut Vec<Row>) -> usize {
        let alike = self.0.entry(row.pattern().to_vec()).or_default();
        if let Some(&index) = alike.iter().find(|&&index| rows[index].reads_like(&row)) {
            return index;
        }
        alike.push(rows.len());
        rows.push(row);
        rows.len() - 1
    }
}

fn pair(red: &str, black: &str) -> Pair {
    (red.to_owned(), black.to_owned())
}

fn flexing(candidate: &Candidate, flex: &str) -> Candidate {
    let measurement = Measurement { flex: Some(flex.to_owned()), ..candidate.measurement.clone() };
    Candidate { measurement, row: candidate.row, flexed: 0 }
}
