//! Good trees made wrong, each in one place: every kind of mistake that an author can make, with the lines it is made in.

use std::collections::{BTreeMap, BTreeSet};

use lugwise::readings::Symptom;
use lugwise::treework::Flaw;

use super::tree_text::{Reading, Step, Text, Way, list, outcome, target};

/// A tree to be made wrong.
pub struct Base {
    pub file: String,
    pub text: Text,
    pub steps: Vec<Step>,
    pub complaint: Symptom,
    /// The wiring by its index on which a step is used; none for a step that is passed over on all.
    pub used: BTreeMap<String, usize>,
    /// The share of the faults that goes each way of a step, for each wiring.
    pub shares: BTreeMap<usize, BTreeMap<String, Vec<f64>>>,
    /// Two terminals of one part that must be opened, and the part, for each wiring.
    pub inside: Vec<[String; 3]>,
}

/// A tree that is wrong in one place.
pub struct Mutant {
    pub kind: &'static str,
    pub file: String,
    pub text: String,
    /// The flaws that say what is wrong: more than one where the mistake is of several kinds.
    pub flaws: &'static [Flaw],
    /// The lines the mistake is made in.
    pub lines: BTreeSet<usize>,
    /// The wiring by its index.
    pub wiring: usize,
}

/// Ways that fewer faults take than this are left alone: a mistake there moves nothing.
const TAKEN: f64 = 0.01;

impl Base {
    fn start(&self) -> (usize, String) {
        let head = 0..self.steps[0].lines.start;
        let at = self.text.field(head.clone(), "start").unwrap();
        (at, self.text.word(head, "start").unwrap())
    }

    fn mutant(&self, kind: &'static str, flaws: &'static [Flaw], text: &Text, wiring: usize) -> Mutant {
        Mutant { kind, file: self.file.clone(), text: text.joined(), flaws, lines: text.changed(), wiring }
    }

    fn wiring(&self, step: &Step) -> Option<usize> {
        self.used.get(&step.name).copied()
    }

    /// Returns the reading steps that are used on some wiring, with that wiring.
    fn readings(&self) -> impl Iterator<Item = (&Step, usize)> {
        let used = self.steps.iter().filter(|step| step.measures);
        used.filter_map(move |step| Some((step, self.wiring(step)?)))
    }

    /// Returns whether some faults go a way of a step on its wiring.
    fn taken(&self, step: &Step, way: usize) -> bool {
        let shares = self.wiring(step).and_then(|wiring| self.shares.get(&wiring)?.get(&step.name));
        shares.is_some_and(|shares| shares.get(way).is_some_and(|share| *share >= TAKEN))
    }

    /// Returns every way of a reading that some faults go, with its step and wiring.
    fn ways(&self) -> impl Iterator<Item = (&Step, usize, &Way)> {
        self.readings().flat_map(move |(step, wiring)| {
            let ways = step.ways.iter().enumerate().filter(move |(at, _)| self.taken(step, *at));
            ways.map(move |(_, way)| (step, wiring, way))
        })
    }

    fn field(&self, step: &Step, name: &str) -> String {
        self.text.word(step.lines.start..step.ways_at.start, name).unwrap_or_default()
    }

    fn flexed(&self, step: &Step) -> bool {
        !self.field(step, "flex").is_empty()
    }

    /// Whether a step reads between tip and sleeve with nothing flexed.
    fn at_the_plug(&self, step: &Step) -> bool {
        let ends = [self.field(step, "red"), self.field(step, "black")];
        ends == ["plug.tip", "plug.sleeve"] && !self.flexed(step)
    }

    /// Leads a way elsewhere.
    fn led(&self, way: &Way, leads: &str) -> Text {
        let mut text = self.text.clone();
        let indent = " ".repeat(24);
        text.replace(way.then.clone(), vec![format!("{indent}then: {leads},")]);
        text
    }

    /// Puts steps before the first; the last of them leads to what was the first.
    fn begun(&self, first: &str, steps: Vec<String>) -> Text {
        let (at, start) = self.start();
        let mut text = self.text.clone();
        text.insert(self.steps[0].lines.start, steps);
        text.change(at, &format!("\"{start}\""), &format!("\"{first}\""));
        text
    }
}

/// Returns every mutant of a tree.
pub fn mutants(base: &Base) -> Vec<Mutant> {
    let kinds: [fn(&Base) -> Vec<Mutant>; 16] = [
        gaps,
        narrowed,
        overlaps,
        dead_steps,
        taken_by_none,
        endless,
        irrelevant,
        redundant,
        premature,
        contradicted,
        wrong_ends,
        splittable,
        against_the_advisor,
        slow,
        unknown_names,
        unknown_terminals,
    ];
    kinds.iter().flat_map(|kind| kind(base)).collect()
}

/// Whether outcomes leave something untaken whatever the guitar reads: numbers without an upper end need `Over`.
fn leaves_a_gap(step: &Step, without: usize) -> bool {
    let left = step.ways.iter().enumerate().filter(|(at, _)| *at != without);
    let whens: Vec<&str> = left.map(|(_, way)| way.when.as_str()).collect();
    let has = |head: &str| whens.iter().any(|when| when.starts_with(head));
    let numbers =
        ["Near", "Half", "Volume", "Under", "Between", "Over(", "OverRange"].iter().any(|head| has(head));
    if has("AnythingElse") || whens.is_empty() {
        return false;
    }
    if numbers {
        !has("Over(") || !has("OverRange") && !has("NearHealthy")
    } else {
        !has("Beeps") || !has("NoBeep")
    }
}

fn gaps(base: &Base) -> Vec<Mutant> {
    let removed = |(step, wiring): (&Step, usize)| {
        let gaps = (0..step.ways.len()).filter(|at| leaves_a_gap(step, *at)).collect::<Vec<_>>();
        let mutant = |at: usize| {
            let mut text = base.text.clone();
            // The lines of the outcomes that are left: none of those taken out can be pointed at.
            (step.ways_at.clone()).for_each(|line| text.mark(line));
            text.remove(step.ways[at].lines.clone());
            text.prune();
            base.mutant("gap: an outcome taken out", &[Flaw::Gap], &text, wiring)
        };
        gaps.into_iter().map(mutant).collect::<Vec<_>>()
    };
    base.readings().flat_map(removed).collect()
}

/// Each number of a step that has no `AnythingElse` made narrower.
fn narrowed(base: &Base) -> Vec<Mutant> {
    let whole = |(step, _): &(&Step, usize)| step.ways.iter().all(|way| way.when != "AnythingElse");
    let narrower = [
        ("Under(\"1k\")", "Under(\"900 ohm\")"),
        ("Over(\"1k\")", "Over(\"1.1k\")"),
        ("Under(\"100 ohm\")", "Under(\"90 ohm\")"),
        ("Between(\"100 ohm\", \"20k\")", "Between(\"110 ohm\", \"20k\")"),
        ("Between(\"100 ohm\", \"20k\")", "Between(\"100 ohm\", \"19k\")"),
        ("Over(\"20k\")", "Over(\"21k\")"),
    ];
    let each = |(step, wiring): (&Step, usize)| {
        let changed = |(from, to): &(&str, &str)| {
            let at = step.ways.iter().find(|way| way.when == *from)?.head;
            let mut text = base.text.clone();
            (step.ways_at.clone()).for_each(|line| text.mark(line));
            text.change(at, from, to).then(|| base.mutant("gap: narrowed", &[Flaw::Gap], &text, wiring))
        };
        narrower.iter().filter_map(changed).collect::<Vec<_>>()
    };
    base.readings().filter(whole).flat_map(each).collect()
}

/// An outcome that takes what another takes too, put in as the last but `AnythingElse`.
fn overlaps(base: &Base) -> Vec<Mutant> {
    let overlap = |(step, wiring): (&Step, usize)| {
        let has =
            |heads: &[&str]| step.ways.iter().any(|way| heads.iter().any(|head| way.when.starts_with(head)));
        let value = |text: &str| match base.field(step, "mode").as_str() {
            "Volts" => text.replace("ohm", "mV"),
            "Current" => text.replace("ohm", "uA"),
            _ => text.to_owned(),
        };
        let mut put = Vec::new();
        if has(&["NearZero", "Under(", "Between(", "Over("]) {
            put.push(value("Over(\"0.1 ohm\")"));
        }
        if has(&["NearZero", "Under("]) {
            put.push(value("Under(\"0.5 ohm\")"));
        }
        let signs = ["OverRange", "Unstable", "Beeps", "NoBeep"];
        put.extend(signs.into_iter().filter(|sign| has(&[*sign])).map(str::to_owned));
        let last = step.ways.iter().find(|way| way.when == "AnythingElse");
        let at = last.map_or(step.ways_at.end - 1, |way| way.lines.start);
        let mutant = |when: String| {
            let mut text = base.text.clone();
            text.insert(at, outcome(&when, "Advisor"));
            let mut mutant = base.mutant("overlap", &[Flaw::Overlap], &text, wiring);
            mutant.lines = BTreeSet::from([at + 2]);
            mutant
        };
        put.into_iter().map(mutant).collect::<Vec<_>>()
    };
    base.readings().flat_map(overlap).collect()
}

fn alone<'a>(name: &'a str, ways: &'a [(&'a str, &'a str)]) -> Reading<'a> {
    Reading { name, red: "plug.tip", black: "plug.sleeve", flex: None, ways }
}

/// A step behind each that no way leads to.
fn dead_steps(base: &Base) -> Vec<Mutant> {
    let dead = |step: &Step| {
        let mut text = base.text.clone();
        let lines = alone("nobody comes", &[("AnythingElse", "Advisor")]).lines();
        text.insert(step.lines.end, lines);
        let mut mutant = base.mutant("unreachable: no way", &[Flaw::Unreachable], &text, 0);
        mutant.lines = BTreeSet::from([step.lines.end + 2]);
        mutant
    };
    base.steps.iter().map(dead).collect()
}

/// A step that only an outcome leads to which no meter can show: resistances above its range.
fn taken_by_none(base: &Base) -> Vec<Mutant> {
    let closed = |(step, _): &(&Step, usize)| {
        let ohms = ["", "Resistance"].contains(&base.field(step, "mode").as_str());
        ohms && step.ways.iter().all(|way| !way.when.starts_with("Over("))
    };
    let mutant = |(step, wiring): (&Step, usize)| {
        let last = step.ways.iter().find(|way| way.when == "AnythingElse")?;
        let mut text = base.text.clone();
        let lines = alone("nobody comes", &[("AnythingElse", "Advisor")]).lines();
        text.insert(step.lines.end, lines);
        let leads = "Step(\"nobody comes\")";
        text.insert(last.lines.start, outcome("Between(\"900meg\", \"950meg\")", leads));
        Some(base.mutant("unreachable: no fault", &[Flaw::Unreachable], &text, wiring))
    };
    base.readings().filter(closed).filter_map(mutant).collect()
}

/// Each way of each later step led back to the first; said of the way or of the step it leads back to.
fn endless(base: &Base) -> Vec<Mutant> {
    let (_, start) = base.start();
    let first = base.steps.iter().find(|step| step.name == start).unwrap();
    let back = |way: &Way| {
        let mut text = base.led(way, &format!("Step(\"{start}\")"));
        text.prune();
        let head = text.steps().iter().find(|step| step.name == start).unwrap().head;
        text.mark(head);
        base.mutant("endless", &[Flaw::Endless], &text, 0)
    };
    let later = base.steps.iter().filter(|step| step.name != first.name);
    later.flat_map(|step| step.ways.iter().map(back)).collect()
}

/// Whether the string ground has no part in what is complained of.
fn strings_are_silent(complaint: Symptom) -> bool {
    use Symptom::{Bright, Muffled, OnePosition, Silent, Thin, ToneIdle, VolumeOpen, Weak};
    [Silent, Muffled, Weak, Bright, Thin, OnePosition, VolumeOpen, ToneIdle].contains(&complaint)
}

/// The string ground read where one fault explains what was read before, a short or an open pickup: whichever it is, the
/// strings read the same.
fn irrelevant(base: &Base) -> Vec<Mutant> {
    let whole = |(step, _, way): &(&Step, usize, &Way)| {
        let turned_down = base.text.field(step.lines.clone(), "set").map(|at| base.text.line(at));
        let turned_down =
            turned_down.is_some_and(|set| set.contains("\"volumes\": 0") || set.contains("\"knobs\": 0"));
        let last =
            base.text.field(step.lines.clone(), "set").map(|at| base.text.line(at).contains("\"last\""));
        base.at_the_plug(step) && !turned_down && last != Some(true) && way.when == "NearZero"
    };
    let mutant = |(step, wiring, way): (&Step, usize, &Way)| {
        let ways = [("NearHealthy", way.leads.as_str()), ("AnythingElse", way.leads.as_str())];
        let (name, flex) = ("strings for nothing", None);
        let reading = Reading { name, red: "strings.surface", black: "plug.sleeve", flex, ways: &ways };
        let mut text = base.text.clone();
        text.insert(step.lines.end, reading.lines());
        let plain = text.changed();
        let leads = format!("{}then: Step(\"{name}\"),", " ".repeat(24));
        text.replace(way.then.clone(), vec![leads]);
        let mut mutant = base.mutant("irrelevant", &[Flaw::Irrelevant, Flaw::Redundant], &text, wiring);
        let fewer = way.then.len() - 1;
        mutant.lines = plain.into_iter().map(|line| line - fewer).collect();
        mutant
    };
    let silent = strings_are_silent(base.complaint);
    base.ways().filter(|way| silent && whole(way)).map(mutant).collect()
}

/// The same reading once more behind one of its outcomes.
fn redundant(base: &Base) -> Vec<Mutant> {
    let mutant = |(step, wiring, way): (&Step, usize, &Way)| {
        let name = format!("{} once more", step.name);
        let mut again = base.text.lines(step.lines.clone());
        again[step.head - step.lines.start] = format!("            name: \"{name}\",");
        let mut text = base.text.clone();
        text.insert(step.lines.end, again);
        let fewer = way.then.len() - 1;
        let lines = text.changed().into_iter().map(|line| line - fewer).collect();
        text.replace(way.then.clone(), vec![format!("{}then: Step(\"{name}\"),", " ".repeat(24))]);
        Mutant { lines, ..base.mutant("redundant", &[Flaw::Redundant], &text, wiring) }
    };
    base.ways().filter(|(step, ..)| !base.flexed(step)).map(mutant).collect()
}

/// A later reading taken first, where it cannot be used: whatever it shows, the tree goes on as before. Said of the reading
/// that comes too early, or of the later one that reads the same once more.
fn premature(base: &Base) -> Vec<Mutant> {
    let (_, start) = base.start();
    let next = format!("Step(\"{start}\")");
    let later = |(step, _): &(&Step, usize)| {
        step.name != start && !base.flexed(step) && (0..step.ways.len()).any(|way| base.taken(step, way))
    };
    let mutant = |(step, wiring): (&Step, usize)| {
        let mut early = Text::of(&(base.text.lines(step.lines.clone()).join("\n") + "\n"));
        early.change(step.head - step.lines.start, &step.name, "taken too early");
        for way in early.steps()[0].ways.iter().rev() {
            early.replace(way.then.clone(), vec![format!("{}then: {next},", " ".repeat(24))]);
        }
        let lines = early.joined().lines().map(str::to_owned).collect();
        let mut text = base.begun("taken too early", lines);
        let later = text.steps().into_iter().find(|known| known.name == step.name).unwrap();
        later.lines.for_each(|line| text.mark(line));
        base.mutant("premature", &[Flaw::Premature, Flaw::Irrelevant, Flaw::Redundant], &text, wiring)
    };
    base.readings().filter(later).map(mutant).collect()
}

/// An end at a place, or with a kind of failure, that none of the faults that come there has.
fn contradicted(base: &Base) -> Vec<Mutant> {
    let ends = base.ways().filter(|(.., way)| way.leads.starts_with("Suspect("));
    let mutants = |(step, wiring, way): (&Step, usize, &Way)| {
        let (at, how) = (list(&way.leads, "at"), list(&way.leads, "how"));
        let mut wrong: Vec<(&str, &'static [Flaw])> = Vec::new();
        if !at.contains("battery") {
            wrong.push(("at: [\"battery\"]", &[Flaw::Contradicted, Flaw::DoesNotFit]));
        }
        if !at.contains("strings") && base.at_the_plug(step) && strings_are_silent(base.complaint) {
            wrong.push(("at: [\"strings\"]", &[Flaw::Contradicted, Flaw::WrongEnd]));
        }
        if way.when == "OverRange" && base.at_the_plug(step) && !how.contains("Short") {
            let short = "at: [\"jack\", \"switch\", \"volume\", \"pickup\"], how: [Short]";
            wrong.push((short, &[Flaw::Contradicted, Flaw::WrongEnd]));
        }
        let mutant = |(what, flaws): (&str, &'static [Flaw])| {
            let text = base.led(way, &format!("Suspect(say: \"what cannot be\", {what})"));
            base.mutant("contradicted", flaws, &text, wiring)
        };
        wrong.into_iter().map(mutant).collect::<Vec<_>>()
    };
    ends.flat_map(mutants).collect()
}

/// Whether each of two ends names a place that the other does not.
fn differ(one: &Way, other: &Way) -> bool {
    let [a, b] = [one, other].map(|way| list(&way.leads, "at"));
    a.is_disjoint(&b)
}

/// Two ends of one step in each other's place, where they name nothing in common.
fn wrong_ends(base: &Base) -> Vec<Mutant> {
    let swapped = |(step, wiring, one): (&Step, usize, &Way)| {
        let later =
            step.ways.iter().enumerate().filter(|(at, way)| way.head > one.head && base.taken(step, *at));
        let mutant = |(_, other): (usize, &Way)| {
            let mut text = base.text.clone();
            let [first, second] = [one, other].map(|way| base.text.lines(way.then.clone()));
            text.replace(other.then.clone(), first);
            text.replace(one.then.clone(), second);
            base.mutant("wrong end", &[Flaw::WrongEnd, Flaw::Contradicted], &text, wiring)
        };
        let ends = later.filter(|(_, other)| other.leads.starts_with("Suspect(") && differ(one, other));
        ends.map(mutant).collect::<Vec<_>>()
    };
    base.ways().filter(|(.., way)| way.leads.starts_with("Suspect(")).flat_map(swapped).collect()
}

/// A way to a step that tells suspects apart, ended before it with all of them.
fn splittable(base: &Base) -> Vec<Mutant> {
    let mutant = |(_, wiring, way): (&Step, usize, &Way)| {
        let next = base.steps.iter().find(|step| Some(&step.name) == target(&way.leads).as_ref())?;
        let splits = (0..next.ways.len()).filter(|at| base.taken(next, *at)).count() > 1;
        let ends: Vec<&Way> = next.ways.iter().filter(|way| way.leads.starts_with("Suspect(")).collect();
        let places: BTreeSet<String> = ends.iter().flat_map(|end| list(&end.leads, "at")).collect();
        if !(splits && next.measures && ends.len() > 1 && base.wiring(next) == Some(wiring)) {
            return None;
        }
        let named: Vec<String> = places.iter().map(|place| format!("\"{place}\"")).collect();
        let all = format!("Suspect(say: \"one of all these\", at: [{}])", named.join(", "));
        let mut text = base.led(way, &all);
        text.prune();
        Some(base.mutant("splittable", &[Flaw::Splittable], &text, wiring))
    };
    base.ways().filter_map(mutant).collect()
}

/// The first reading of the silent guitar replaced by one inside that tells next to nothing.
fn against_the_advisor(base: &Base) -> Vec<Mutant> {
    if base.complaint != Symptom::Silent {
        return Vec::new();
    }
    let first = base.readings().find(|(step, _)| base.at_the_plug(step));
    let Some((step, wiring)) = first else { return Vec::new() };
    let Some(on) = step.ways.iter().find(|way| target(&way.leads).is_some()) else { return Vec::new() };
    let [red, black, part] = &base.inside[wiring];
    let mutant = |flex: Option<&str>| {
        let ways = [("NearHealthy", on.leads.as_str()), ("AnythingElse", "Advisor")];
        let reading = Reading { name: &step.name, red, black, flex, ways: &ways };
        let mut text = base.text.clone();
        text.replace(step.lines.clone(), reading.lines());
        text.prune();
        base.mutant("against the advisor", &[Flaw::AgainstTheAdvisor], &text, wiring)
    };
    [None, Some(part.as_str())].into_iter().map(mutant).collect()
}

/// Three readings inside before everything else; said of the tree or of one of them.
fn slow(base: &Base) -> Vec<Mutant> {
    let (_, start) = base.start();
    let Some((_, wiring)) = base.readings().next() else { return Vec::new() };
    let [red, black, part] = &base.inside[wiring];
    const STEPS: usize = 40;
    let name = |at: usize| if at < STEPS { format!("slow {at}") } else { start.clone() };
    let flexes = [None, Some(part.as_str()), Some("plug")];
    let step = |at: usize| {
        let next = format!("Step(\"{}\")", name(at + 1));
        let ways = [("NearHealthy", next.as_str()), ("AnythingElse", next.as_str())];
        Reading { name: &name(at), red, black, flex: flexes[at % flexes.len()], ways: &ways }.lines()
    };
    let mut text = base.begun(&name(0), (0..STEPS).flat_map(step).collect());
    (0..base.steps[0].lines.start).for_each(|line| text.mark(line));
    vec![base.mutant("slow", &[Flaw::Slow], &text, wiring)]
}

/// Names of steps, controls, places and parts that are not there.
fn unknown_names(base: &Base) -> Vec<Mutant> {
    let (at, start) = base.start();
    let spoilt = |at: usize, from: &str, to: &str, flaws: &'static [Flaw], wiring: usize| {
        let mut text = base.text.clone();
        text.change(at, from, to).then(|| base.mutant("unknown name", flaws, &text, wiring))
    };
    let unread: &'static [Flaw] = &[Flaw::CannotBeRead];
    let mut all: Vec<Option<Mutant>> = vec![spoilt(at, &start, "nowhere", unread, 0)];
    for way in base.steps.iter().flat_map(|step| &step.ways) {
        all.push(spoilt(way.then.start, "Step(\"", "Step(\"nowhere ", unread, 0));
    }
    for (step, wiring) in base.readings() {
        let head = step.lines.start..step.ways_at.start;
        let unfit: &'static [Flaw] = &[Flaw::DoesNotFit];
        let set = base.text.field(head.clone(), "set");
        all.extend(set.map(|at| spoilt(at, "{\"", "{\"unknown ", unfit, wiring)));
        let flex = base.text.field(head, "flex");
        all.extend(flex.map(|at| spoilt(at, ": \"", ": \"unknown ", unfit, wiring)));
    }
    for (_, wiring, way) in base.ways().filter(|(.., way)| way.leads.starts_with("Suspect(")) {
        let text = base.led(way, "Suspect(say: \"a place that is not there\", at: [\"nowhere\"])");
        let flaws: &'static [Flaw] = &[Flaw::DoesNotFit, Flaw::CannotBeRead, Flaw::Contradicted];
        all.push(Some(base.mutant("unknown name", flaws, &text, wiring)));
    }
    all.into_iter().flatten().collect()
}

/// Each probe on a terminal that is not there.
fn unknown_terminals(base: &Base) -> Vec<Mutant> {
    let spoilt = |(step, wiring): (&Step, usize)| {
        let head = step.lines.start..step.ways_at.start;
        let probes =
            ["red", "black"].into_iter().filter_map(move |probe| base.text.field(head.clone(), probe));
        probes.map(move |at| {
            let mut text = base.text.clone();
            text.change(at, ".", ".no-");
            base.mutant("unknown terminal", &[Flaw::DoesNotFit], &text, wiring)
        })
    };
    base.readings().flat_map(spoilt).collect()
}
