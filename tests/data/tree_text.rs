//! The text of a tree as lines: what stands where, and what was changed. It knows the layout in which trees are written:
//! each field on a line of its own, each bracket of a step, an outcome and an answer too.

use std::collections::BTreeSet;
use std::ops::Range;

/// The lines of a text; those that were changed are marked.
#[derive(Clone)]
pub struct Text(Vec<(String, bool)>);

/// An outcome or an answer.
#[derive(Clone, Debug)]
pub struct Way {
    /// Its lines from 0, both brackets included.
    pub lines: Range<usize>,
    /// The line of `when` or `answer`.
    pub head: usize,
    /// The lines of `then`.
    pub then: Range<usize>,
    /// What stands behind `when`; empty for an answer.
    pub when: String,
    /// What stands behind `then`.
    pub leads: String,
}

/// A step.
#[derive(Clone, Debug)]
pub struct Step {
    pub name: String,
    /// Its lines from 0, both brackets included.
    pub lines: Range<usize>,
    /// The line of its name.
    pub head: usize,
    /// The lines of `outcomes`, with the head and the last bracket; those of `ask` for a question.
    pub ways_at: Range<usize>,
    pub measures: bool,
    pub ways: Vec<Way>,
    /// What stands behind `cannot`; empty when it is not there.
    pub cannot: String,
}

/// How far a step, an outcome and an answer are indented.
const STEP: usize = 8;
const OUTCOME: usize = 20;
const ANSWER: usize = 16;

impl Text {
    pub fn of(text: &str) -> Self {
        Self(text.lines().map(|line| (line.to_owned(), false)).collect())
    }

    pub fn joined(&self) -> String {
        self.0.iter().map(|(line, _)| format!("{line}\n")).collect()
    }

    /// Returns the numbers of the changed lines, from 1.
    pub fn changed(&self) -> BTreeSet<usize> {
        self.0.iter().enumerate().filter(|(_, (_, changed))| *changed).map(|(at, _)| at + 1).collect()
    }

    pub fn line(&self, at: usize) -> &str {
        self.0[at].0.trim()
    }

    pub fn lines(&self, range: Range<usize>) -> Vec<String> {
        self.0[range].iter().map(|(line, _)| line.clone()).collect()
    }

    /// Puts other lines in the place of some, and marks them.
    pub fn replace(&mut self, range: Range<usize>, lines: Vec<String>) {
        self.0.splice(range, lines.into_iter().map(|line| (line, true)));
    }

    pub fn insert(&mut self, at: usize, lines: Vec<String>) {
        self.replace(at..at, lines);
    }

    pub fn remove(&mut self, range: Range<usize>) {
        self.0.drain(range);
    }

    pub fn mark(&mut self, at: usize) {
        self.0[at].1 = true;
    }

    /// Changes a part of a line and marks it; nothing when the part is not there.
    pub fn change(&mut self, at: usize, from: &str, to: &str) -> bool {
        let (line, changed) = &mut self.0[at];
        if !line.contains(from) {
            return false;
        }
        *line = line.replacen(from, to, 1);
        *changed = true;
        true
    }

    /// Returns the line of a field among some lines, the first.
    pub fn field(&self, range: Range<usize>, name: &str) -> Option<usize> {
        let head = format!("{name}: ");
        range.into_iter().find(|at| self.line(*at).starts_with(&head))
    }

    /// Returns what stands behind a field's name, without the comma at its end.
    fn value(&self, at: usize) -> String {
        let (_, value) = self.line(at).split_once(": ").unwrap_or_default();
        value.trim_end_matches(',').to_owned()
    }

    /// Returns the text in quotes behind a field's name, or what stands there.
    pub fn word(&self, range: Range<usize>, name: &str) -> Option<String> {
        self.field(range, name).map(|at| self.value(at).trim_matches('"').to_owned())
    }

    /// Returns the lines of every bracket of one indentation.
    fn brackets(&self, range: Range<usize>, indent: usize) -> Vec<Range<usize>> {
        let blank = " ".repeat(indent);
        let (open, closed) = (format!("{blank}("), format!("{blank}),"));
        let is = |at: &usize, wanted: &str| self.0[*at].0 == wanted;
        let starts: Vec<usize> = range.clone().filter(|at| is(at, &open)).collect();
        let end = |start: usize| (start..range.end).find(|at| is(at, &closed)).map(|end| start..end + 1);
        starts.into_iter().filter_map(end).collect()
    }

    pub fn steps(&self) -> Vec<Step> {
        self.brackets(0..self.0.len(), STEP).into_iter().filter_map(|lines| self.step(lines)).collect()
    }

    fn step(&self, lines: Range<usize>) -> Option<Step> {
        let head = self.field(lines.clone(), "name")?;
        let ask = self.field(lines.clone(), "ask")?;
        let measures = self.line(ask).contains("Measure(");
        let (indent, first, field) = if measures {
            (OUTCOME, self.field(lines.clone(), "outcomes")?, "when")
        } else {
            (ANSWER, ask, "answer")
        };
        let found = self.brackets(lines.clone(), indent);
        let ways: Vec<Way> = found.into_iter().filter_map(|way| self.way(way, field)).collect();
        let last = ways.last().map_or(first, |way| way.lines.end);
        let cannot = self.field(last..lines.end, "cannot").map_or_else(String::new, |at| self.value(at));
        let name = self.value(head).trim_matches('"').to_owned();
        Some(Step { name, lines, head, ways_at: first..last + 1, measures, ways, cannot })
    }

    fn way(&self, lines: Range<usize>, field: &str) -> Option<Way> {
        let head = self.field(lines.clone(), field)?;
        let then = self.field(lines.clone(), "then")?..lines.end - 1;
        let when = if field == "when" { self.value(head) } else { String::new() };
        let rest: String = self.lines(then.clone()).iter().map(|line| line.trim()).collect();
        let leads = rest.trim_start_matches("then: ").trim_end_matches(',').to_owned();
        Some(Way { lines, head, then, when, leads })
    }

    /// Takes out the steps that no way leads to any more.
    pub fn prune(&mut self) {
        loop {
            let steps = self.steps();
            let start = self.word(0..steps.first().map_or(0, |step| step.lines.start), "start");
            let led = |name: &str| steps.iter().any(|step| step.targets().iter().any(|to| to == name));
            let dead = steps.iter().find(|step| start.as_deref() != Some(&step.name) && !led(&step.name));
            let Some(dead) = dead else { return };
            self.remove(dead.lines.clone());
        }
    }
}

impl Step {
    /// Returns the names of the steps it leads to.
    pub fn targets(&self) -> Vec<String> {
        let leads = self.ways.iter().map(|way| way.leads.as_str()).chain([self.cannot.as_str()]);
        leads.filter_map(target).collect()
    }
}

/// Returns the step that a `then` leads to.
pub fn target(leads: &str) -> Option<String> {
    leads.strip_prefix("Step(\"").and_then(|rest| rest.strip_suffix("\")")).map(str::to_owned)
}

/// Returns the words in the square brackets behind a name: the places or the kinds of failure of an end.
pub fn list(leads: &str, name: &str) -> BTreeSet<String> {
    let inside = leads.split_once(&format!("{name}: [")).and_then(|(_, rest)| rest.split_once(']'));
    let words = inside.map_or("", |(words, _)| words).split(',');
    words.map(|word| word.trim().trim_matches('"').to_owned()).filter(|word| !word.is_empty()).collect()
}

/// Returns a line at an indentation.
fn at(indent: usize, text: &str) -> String {
    format!("{}{text}", " ".repeat(indent))
}

/// Returns the lines of an outcome.
pub fn outcome(when: &str, leads: &str) -> Vec<String> {
    let field = OUTCOME + 4;
    vec![
        at(OUTCOME, "("),
        at(field, &format!("when: {when},")),
        at(field, "means: \"put in\","),
        at(field, &format!("then: {leads},")),
        at(OUTCOME, "),"),
    ]
}

/// A reading to put into a tree.
pub struct Reading<'a> {
    pub name: &'a str,
    pub red: &'a str,
    pub black: &'a str,
    pub flex: Option<&'a str>,
    /// What it can read, and where that leads.
    pub ways: &'a [(&'a str, &'a str)],
}

impl Reading<'_> {
    /// Returns the lines of the step.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![
            at(STEP, "("),
            at(12, &format!("name: \"{}\",", self.name)),
            at(12, "say: \"Read it.\","),
            at(12, "why: \"It is put in.\","),
            at(12, "ask: Measure("),
            at(16, &format!("red: \"{}\",", self.red)),
            at(16, &format!("black: \"{}\",", self.black)),
            at(16, "set: {\"knobs\": 10, \"switches\": \"first\"},"),
        ];
        lines.extend(self.flex.map(|flex| at(16, &format!("flex: \"{flex}\","))));
        lines.push(at(16, "outcomes: ["));
        lines.extend(self.ways.iter().flat_map(|(when, leads)| outcome(when, leads)));
        lines.extend([at(16, "],"), at(12, "),"), at(STEP, "),")]);
        lines
    }
}
