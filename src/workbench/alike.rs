//! Wirings that look alike from outside: which reading tells them apart.

use std::collections::BTreeSet;

use crate::belief::{Estimate, Expectation};
use crate::circuit::{Change, ControlKind, ElementId, Harness, PartId, PartKind};
use crate::prediction::{Cell, Model, Params};
use crate::readings::{Dial, Level, Measurement, Meter, Setting, Stand};
use crate::solver::{Response, Solved, SolverError};

/// The most switch settings that are looked at.
const MOST_SETTINGS: usize = 12;
/// How far apart two spans must be on the scale of readings: about a twentieth of a reading above 50 Ω.
const CLEAR: f64 = 0.05;
/// One standard deviation of the logarithm of a coil's ohms while nobody knows which pickup it is: two thirds of all
/// lie within a factor of 1.4 (common practice, no source).
const ANY_COIL: f64 = 0.35;

/// One thing to do that splits wirings that look alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Telling {
    /// What to do, in one sentence without a final stop.
    pub what: String,
    /// The reading to take; `None` when it is no reading.
    pub reading: Option<Measurement>,
    /// What it shows, and for which of the wirings, by their index.
    pub shows: Vec<(String, Vec<usize>)>,
}

/// Returns what tells wirings apart, step by step: readings at the plug before readings inside before a look inside.
///
/// A reading is named only when the spans in which healthy instruments read lie apart, with the tolerances of their parts
/// and with pickups that may be any.
///
/// # Errors
///
/// Returns [`SolverError`] when the equations of a wiring have no single solution.
pub fn tell_apart(wirings: &[Harness], meter: &Meter) -> Result<Vec<Telling>, SolverError> {
    let specimens: Vec<Specimen> = wirings.iter().map(Specimen::new).collect();
    let mut open: Vec<Vec<usize>> = vec![(0..wirings.len()).collect()];
    let mut found = Vec::new();
    while let Some(group) = open.pop() {
        if group.len() < 2 {
            continue;
        }
        let telling = Group { specimens: &specimens, members: &group, meter }.told_apart()?;
        if telling.shows.len() > 1 {
            open.extend(telling.shows.iter().rev().map(|(_, members)| members.clone()));
        }
        found.push(telling);
    }
    Ok(found)
}

/// A wiring with what is needed to predict its readings.
struct Specimen {
    model: Model,
    prior: Estimate,
}

/// The span in which a healthy instrument reads, on the scale of readings.
#[derive(Clone, Copy, Debug)]
struct Span {
    low: f64,
    high: f64,
}

impl Span {
    const OVER: Self = Self { low: Dial::END, high: Dial::END };

    fn words(self) -> String {
        let (low, high) = (word(self.low), word(self.high));
        if low == high { low } else { format!("{low} to {high}") }
    }
}

fn word(scaled: f64) -> String {
    if scaled >= Dial::END {
        return "over range".to_owned();
    }
    Level::of(Dial::Ohms, Dial::Ohms.unscaled(scaled), 0.0).words()
}

impl Specimen {
    fn new(harness: &Harness) -> Self {
        let model = Model::new(harness.clone());
        Self { prior: Estimate::prior(&with_any_coils(&model)), model }
    }

    fn harness(&self) -> &Harness {
        &self.model.harness
    }

    fn solved(&self, setting: &Setting) -> Result<Solved<f64>, SolverError> {
        let at = self.model.positions(setting);
        Solved::new(&self.model.harness, &self.model.network, &self.model.values, &at, 0.0, &[])
    }

    /// Returns what a healthy instrument reads between two terminals.
    fn span(&self, solved: &Solved<f64>, way: &Way, meter: &Meter) -> Span {
        let expected = self.cell(solved, way).map(|cell| Expectation::new(&cell, &self.prior, meter));
        let Some((low, high)) = expected.and_then(|expected| expected.band()) else {
            return Span::OVER;
        };
        Span { low: Dial::Ohms.scale(low), high: Dial::Ohms.scale(high) }
    }

    fn response(
        &self,
        solved: &Solved<f64>,
        red: &str,
        black: &str,
        through: &[ElementId],
    ) -> Option<Response<f64>> {
        let node = |name: &str| self.harness().terminal(name).map(|id| self.model.network.lug(id));
        solved.response(node(red)?, node(black)?, &Change::Nothing, through)
    }

    fn cell(&self, solved: &Solved<f64>, way: &Way) -> Option<Cell> {
        let Model { harness, params, values, .. } = &self.model;
        let response = self.response(solved, &way.red, &way.black, &params.through)?;
        let worth = |slot: usize| solved.impedance(params.through[slot]).unwrap_or(0.0);
        let at = self.model.positions(&way.setting);
        let (gradient, noise) = params.sensitivities(harness, values, &at, &response.currents, &worth);
        Some(Cell { dial: Dial::Ohms, reads: Some(response.ohms.max(0.0)), noise, gradient, size: None })
    }
}

/// Returns the uncertain values of a wiring whose pickups nobody knows yet.
fn with_any_coils(model: &Model) -> Params {
    let mut params = model.params.clone();
    let coil = |part: PartId| matches!(model.harness[part].kind, PartKind::Coil { .. });
    let coils = params.list.iter_mut().filter(|param| coil(param.part));
    coils.for_each(|param| param.sd = param.sd.max(ANY_COIL));
    params
}

/// Probes and setting of one reading that every member can have.
#[derive(Clone, Debug)]
struct Way {
    red: String,
    black: String,
    setting: Setting,
}

/// A reading that splits a group: the members behind each span, the lowest first.
struct Split {
    way: Way,
    shows: Vec<(Span, Vec<usize>)>,
}

impl Split {
    /// Returns how far the two nearest spans are apart.
    fn gap(&self) -> f64 {
        self.shows.windows(2).map(|two| two[1].0.low - two[0].0.high).fold(f64::INFINITY, f64::min)
    }

    fn beats(&self, other: &Self) -> bool {
        let clearer = self.gap() > other.gap() + 1e-9;
        self.shows.len() > other.shows.len() || (self.shows.len() == other.shows.len() && clearer)
    }
}

/// Wirings that are still to be told apart.
struct Group<'a> {
    specimens: &'a [Specimen],
    members: &'a [usize],
    meter: &'a Meter,
}

impl Group<'_> {
    fn first(&self) -> &Harness {
        self.specimens[self.members[0]].harness()
    }

    fn told_apart(&self) -> Result<Telling, SolverError> {
        let plug = [("plug.tip".to_owned(), "plug.sleeve".to_owned())];
        let outside = self.best(&plug, &self.settings(true))?;
        let inside = || self.best(&self.inside(), &self.settings(false));
        let split = outside.map_or_else(inside, |split| Ok(Some(split)))?;
        Ok(split.map_or_else(|| self.parts(), |split| self.reading(split)))
    }

    fn reading(&self, split: Split) -> Telling {
        let Way { red, black, setting } = split.way;
        let reading = Measurement::ohms(&red, &black, setting);
        Telling {
            what: format!("read the ohms from {}", reading.sentence(self.first())),
            reading: Some(reading),
            shows: split.shows.into_iter().map(|(span, members)| (span.words(), members)).collect(),
        }
    }

    /// Returns the reading that splits the group into most parts, and of these the clearest.
    fn best(&self, probes: &[(String, String)], settings: &[Setting]) -> Result<Option<Split>, SolverError> {
        let mut best: Option<Split> = None;
        for setting in settings {
            let solved: Vec<Solved<f64>> =
                self.members.iter().map(|m| self.specimens[*m].solved(setting)).collect::<Result<_, _>>()?;
            for (red, black) in probes.iter().filter(|probes| self.may_differ(probes, &solved)) {
                let way = Way { red: red.clone(), black: black.clone(), setting: setting.clone() };
                let split = self.split(way, &solved);
                if split.shows.len() > 1 && best.as_ref().is_none_or(|best| split.beats(best)) {
                    best = Some(split);
                }
            }
        }
        Ok(best)
    }

    /// Returns whether the nominal readings of some members lie clearly apart: where they do not, their spans, which hold
    /// them, do not either, and need not be worked out.
    fn may_differ(&self, (red, black): &(String, String), solved: &[Solved<f64>]) -> bool {
        let nominal = |(member, solved): (&usize, &Solved<f64>)| {
            let ohms =
                self.specimens[*member].response(solved, red, black, &[]).map(|response| response.ohms);
            ohms.map_or(Dial::END, |ohms| Dial::Ohms.scale(ohms.max(0.0)))
        };
        let mut reads: Vec<f64> = self.members.iter().zip(solved).map(nominal).collect();
        reads.sort_by(f64::total_cmp);
        reads.windows(2).any(|two| two[1] - two[0] >= CLEAR)
    }

    fn split(&self, way: Way, solved: &[Solved<f64>]) -> Split {
        let span = |(member, solved): (&usize, &Solved<f64>)| {
            (self.specimens[*member].span(solved, &way, self.meter), *member)
        };
        let mut spans: Vec<(Span, usize)> = self.members.iter().zip(solved).map(span).collect();
        spans.sort_by(|a, b| a.0.low.total_cmp(&b.0.low).then(a.1.cmp(&b.1)));
        let mut shows: Vec<(Span, Vec<usize>)> = Vec::new();
        for (span, member) in spans {
            match shows.last_mut() {
                Some((all, members)) if span.low < all.high + CLEAR => {
                    all.high = all.high.max(span.high);
                    members.push(member);
                    members.sort_unstable();
                }
                _ => shows.push((span, vec![member])),
            }
        }
        Split { way, shows }
    }

    /// Returns settings of the controls that all members have: `thorough` with every knob at 0 by itself.
    fn settings(&self, thorough: bool) -> Vec<Setting> {
        let first = self.first();
        let common = first.controls.iter().filter(|control| {
            let same = |h: &Harness| h.control(&control.name).is_some_and(|c| c.kind == control.kind);
            self.members.iter().all(|member| same(self.specimens[*member].harness()))
        });
        let mut switched = vec![Setting::reference(first)];
        let mut knobs = Vec::new();
        for control in common {
            match &control.kind {
                ControlKind::Knob => knobs.push(control.name.as_str()),
                ControlKind::Selector(names) => switched = with_each(&switched, &control.name, names),
            }
        }
        let turned = |setting: &Setting| turned(setting, &knobs, thorough);
        switched.iter().take(if thorough { MOST_SETTINGS } else { 1 }).flat_map(turned).collect()
    }

    /// Returns every pair of terminals that all members have and a probe can reach.
    fn inside(&self) -> Vec<(String, String)> {
        let mut sets = self.members.iter().map(|member| probed(self.specimens[*member].harness()));
        let first = sets.next().unwrap_or_default();
        let common: Vec<String> = sets.fold(first, |all, next| &all & &next).into_iter().collect();
        let pairs = common.iter().enumerate();
        pairs.flat_map(|(i, a)| common[i + 1..].iter().map(|b| (a.clone(), b.clone()))).collect()
    }

    /// Returns the look inside for parts that only some members have.
    fn parts(&self) -> Telling {
        let members = self.members.len();
        let all: Vec<BTreeSet<String>> = self.members.iter().map(|member| self.titles(*member)).collect();
        let holders = |title: &String| all.iter().filter(|titles| titles.contains(title)).count();
        let rarer_than = |most: usize| -> Vec<String> {
            let rare = |title: &&String| holders(title) < most;
            all.iter()
                .map(|titles| titles.iter().filter(rare).cloned().collect::<Vec<_>>().join(", "))
                .collect()
        };
        // A part that one alone lacks is not worth naming, unless nothing else tells.
        let (whole, short) = (self.shown(&rarer_than(members)), self.shown(&rarer_than(members - 1)));
        let shows = if short.len() == whole.len() { short } else { whole };
        let what = match shows.len() {
            1 => "no reading in ohms tells these apart; compare them with the wires",
            _ => "look inside for the parts that only some of them have",
        };
        Telling { what: what.to_owned(), reading: None, shows }
    }

    /// Returns what a member's parts are called; a shield is where it is and says nothing about the wiring.
    fn titles(&self, member: usize) -> BTreeSet<String> {
        let parts = self.specimens[member].harness().parts.iter();
        parts.filter(|part| part.kind != PartKind::Surface).map(|part| part.title.clone()).collect()
    }

    fn shown(&self, parts: &[String]) -> Vec<(String, Vec<usize>)> {
        let mut shows: Vec<(String, Vec<usize>)> = Vec::new();
        for (member, own) in self.members.iter().zip(parts) {
            let says = if own.is_empty() { "none of these parts" } else { own };
            match shows.iter_mut().find(|(known, _)| known == says) {
                Some((_, members)) => members.push(*member),
                None => shows.push((says.to_owned(), vec![*member])),
            }
        }
        shows
    }
}

fn probed(harness: &Harness) -> BTreeSet<String> {
    let reached = harness.terminals.iter().filter(|terminal| terminal.probe);
    reached.map(|terminal| terminal.name.clone()).collect()
}

fn with_each(settings: &[Setting], switch: &str, positions: &[String]) -> Vec<Setting> {
    let at = |setting: &Setting| -> Vec<Setting> {
        positions.iter().map(|name| setting.clone().with(switch, Stand::At(name.clone()))).collect()
    };
    settings.iter().flat_map(at).collect()
}

/// Returns a setting with its knobs all at 10, all at 5, all at 0 and, when `each`, each at 0 by itself.
fn turned(setting: &Setting, knobs: &[&str], each: bool) -> Vec<Setting> {
    let all = |dial: u8| knobs.iter().fold(setting.clone(), |s, knob| s.with(knob, Stand::Knob(dial)));
    let alone = knobs.iter().map(|knob| all(10).with(knob, Stand::Knob(0)));
    [10, 5, 0].map(all).into_iter().chain(alone.take(if each { knobs.len() } else { 0 })).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Looks, built_in, load};
    use crate::source::Source;
    use std::collections::BTreeMap;

    const TEXT: &str = include_str!("../../assets/wirings/two-humbuckers.ron");

    fn read(text: &str) -> Harness {
        load(&Source::new("a.ron", text)).unwrap_or_else(|errors| panic!("{errors:#?}"))
    }

    /// The same instrument with another track: what `A2a` and its fellow differ in.
    fn told(other: &str) -> Vec<Telling> {
        tell_apart(&[read(TEXT), read(other)], Meter::ordinary()).unwrap()
    }

    #[test]
    fn a_wiring_is_not_told_from_itself() {
        let told = told(TEXT);
        assert_eq!(told.len(), 1, "{told:#?}");
        assert!(told[0].reading.is_none() && told[0].shows.len() == 1, "{told:#?}");
    }

    // Neck volume at 0: where lug 3 is the output, the neck branch hangs from the jack by its whole track and the other
    // pickup is still read; else the jack is shorted (reference table A2c, fault F44).
    #[test]
    fn independent_volumes_are_told_by_one_volume_at_zero() {
        let exchanged = ["neck", "bridge"].iter().fold(TEXT.to_owned(), |text, side| {
            text.replace(&format!("{side}-volume.lug3"), "LUG")
                .replace(&format!("{side}-volume.lug2"), &format!("{side}-volume.lug3"))
                .replace("LUG", &format!("{side}-volume.lug2"))
        });
        let told = told(&exchanged);
        assert_eq!(told.len(), 1, "{told:#?}");
        let reading = told[0].reading.as_ref().unwrap();
        assert_eq!((reading.red.as_str(), reading.black.as_str()), ("plug.tip", "plug.sleeve"));
        assert!(reading.setting.0.values().any(|stand| *stand == Stand::Knob(0)), "{reading:?}");
        assert_eq!(told[0].shows.iter().map(|(_, who)| who.clone()).collect::<Vec<_>>(), [[0], [1]]);
    }

    // The tone's capacitor keeps it out of every reading in ohms at the plug; inside, its feed is or is not on a lug.
    #[test]
    fn a_tone_on_the_other_side_is_told_inside() {
        let other = TEXT.replacen(
            "from: \"neck-volume.lug3\", to: \"neck-tone.lug2\"",
            "from: \"neck-volume.lug2\", to: \"neck-tone.lug2\"",
            1,
        );
        assert_ne!(other, TEXT);
        let told = told(&other);
        assert_eq!(told.len(), 1, "{told:#?}");
        let reading = told[0].reading.as_ref().unwrap();
        assert!(!reading.red.starts_with("plug.") || !reading.black.starts_with("plug."), "{reading:?}");
        assert_eq!(told[0].shows.len(), 2);
    }

    /// Returns the wirings that come with the program, those together that look alike.
    fn look_alikes() -> Vec<Vec<Harness>> {
        let mut groups: BTreeMap<Looks, Vec<Harness>> = BTreeMap::new();
        for (name, text) in built_in() {
            let harness = load(&Source::new(*name, *text)).unwrap();
            groups.entry(Looks::of(&harness)).or_default().push(harness);
        }
        groups.into_values().filter(|group| group.len() > 1).collect()
    }

    fn each_is_told_apart(group: &[Harness]) {
        let told = tell_apart(group, Meter::ordinary()).unwrap();
        let alone = |who: &usize| {
            told.iter().any(|telling| telling.shows.iter().any(|(_, members)| members[..] == [*who]))
        };
        for (who, wiring) in group.iter().enumerate() {
            assert!(alone(&who), "{} is not told apart: {told:#?}", wiring.name);
        }
    }

    #[test]
    fn every_wiring_of_the_program_is_told_from_its_look_alikes() {
        let groups = look_alikes();
        assert!(groups.len() >= 4, "{} groups look alike", groups.len());
        groups.iter().for_each(|group| each_is_told_apart(group));
    }

    // Whoever can count nothing is left with them all.
    #[test]
    fn all_wirings_of_the_program_together_are_told_apart() {
        let all: Vec<Harness> =
            built_in().iter().map(|(name, text)| load(&Source::new(*name, *text)).unwrap()).collect();
        each_is_told_apart(&all);
    }
}
