//! A step put into the text of a tree's file, everything else kept as it was written.

use super::tree::{answer_path, outcome_path, step_path};
use super::write::quoted;
use super::{Ask, Step, Then, Tree, load, written_step};
use crate::readings::Mode;
use crate::source::{Located, Path, Positions, Source, Splice, advice};

/// One of the ways on from a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// With the outcome at this index.
    Outcome(usize),
    /// With the answer at this index.
    Answer(usize),
    /// When it cannot be done.
    Cannot,
}

impl Step {
    /// Returns where a way leads; `None` when the step has no such way.
    pub fn led(&self, way: Way) -> Option<&Then> {
        match (way, &self.ask) {
            (Way::Outcome(index), Ask::Measure(probe)) => probe.outcomes.get(index).map(|way| &way.then),
            (Way::Answer(index), Ask::Question { answers, .. }) => answers.get(index).map(|way| &way.then),
            (Way::Cannot, _) => Some(&self.cannot),
            _ => None,
        }
    }
}

/// Returns a tree file's text with a new step: the way that is named leads to it, and it stands after the step that
/// the way is of. The ways of the new step lead to the steps of the file as it is, by their index.
///
/// Comments, blanks and the order of everything else stay as they are.
///
/// # Errors
///
/// When the text is no tree, when it has no such step or way, and when what comes out is no tree: a name that is taken,
/// a step that leads back to itself. The place is then one of the new text.
pub fn with_step_after(source: &Source, step: &str, way: Way, new: &Step) -> Result<String, Located> {
    let tree = load(source)?;
    let index = found(&tree, step)?;
    let path = way_path(&tree, index, way)?;
    let mut splice = Splice::new(source);
    let then = format!("Step({})", quoted(&new.name));
    if !splice.replace(&path, &then) {
        splice.add_field(&step_path(index), &format!("cannot: {then}"));
    }
    splice.add_after(&step_path(index), &written_step(new, &tree.steps));
    let made = Source::new(source.name.as_str(), splice.done());
    load(&made).map(|_| made.text)
}

fn found(tree: &Tree, step: &str) -> Result<usize, Located> {
    tree.steps.iter().position(|known| known.name == step).ok_or_else(|| {
        let names: Vec<&str> = tree.steps.iter().map(|step| step.name.as_str()).collect();
        let hint = Some(advice(step, &names, "the steps are", '"'));
        tree.positions.error(&Path::root().then("steps"), format!("the tree has no step \"{step}\""), hint)
    })
}

/// Returns the path of the value that says where a way leads.
fn way_path(tree: &Tree, index: usize, way: Way) -> Result<Path, Located> {
    let step = &tree.steps[index];
    let path = match way {
        Way::Outcome(at) => outcome_path(index, mode(step), at).then("then"),
        Way::Answer(at) => answer_path(index, at).then("then"),
        Way::Cannot => step_path(index).then("cannot"),
    };
    match step.led(way) {
        Some(_) => Ok(path),
        None => Err(no_way(&tree.positions, index, step, way)),
    }
}

/// Returns the mode that a step reads in; that of ohms for a question, which has no outcomes.
fn mode(step: &Step) -> Mode {
    match &step.ask {
        Ask::Measure(probe) => probe.mode,
        Ask::Question { .. } => Mode::Resistance,
    }
}

fn no_way(positions: &Positions, index: usize, step: &Step, way: Way) -> Located {
    let (asked, has) = match (way, &step.ask) {
        (Way::Answer(at), Ask::Measure(probe)) => {
            (format!("answer {}", at + 1), format!("outcomes, {} of them", probe.outcomes.len()))
        }
        (Way::Answer(at), Ask::Question { answers, .. }) => {
            (format!("answer {}", at + 1), format!("{} answers", answers.len()))
        }
        (Way::Outcome(at), Ask::Question { answers, .. }) => {
            (format!("outcome {}", at + 1), format!("answers, {} of them", answers.len()))
        }
        (Way::Outcome(at), Ask::Measure(probe)) => {
            (format!("outcome {}", at + 1), format!("{} outcomes", probe.outcomes.len()))
        }
        (Way::Cannot, _) => ("`cannot`".to_owned(), String::new()),
    };
    let message = format!("the step \"{}\" has no {asked}", step.name);
    positions.error(&step_path(index).then("name"), message, Some(format!("it has {has}")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::Setting;
    use crate::source::{DiffKind, differences};
    use crate::trees::{Outcome, Probe, Sense, When, built_in};
    use rstest::rstest;

    const TEXT: &str = r#"// A tree of ours.
(
    format: 1, name: "ours", title: "Ours", complaint: Hum,
    start: "look",
    steps: [
        ( // the first thing
            name: "look",
            say: "Look.", why: "It costs nothing.",
            ask: Look([
                (answer: "Yes", means: "seen", then: Advisor), // to be done
                (answer: "No", means: "not seen", then: Suspect(say: "the jack", at: ["jack"])),
            ]),
        ), // and no more
    ],
)
"#;

    /// Returns a step that reads at the plug and then leads where a way led.
    fn plug(name: &str, then: &Then) -> Step {
        let mut probe = Probe::new(Mode::Resistance, "plug.tip", "plug.sleeve", &Setting::default(), None);
        let when = When::Number { low: 0.0, high: Some(5.0) };
        probe.outcomes.push(Outcome::new(
            when,
            Mode::Resistance,
            "hot and ground touch",
            Then::NotTheInstrument,
        ));
        probe.outcomes.push(Outcome::new(When::AnythingElse, Mode::Resistance, "no short", then.clone()));
        Step {
            name: name.to_owned(),
            say: "Read at the plug.".to_owned(),
            why: "A short shows here.".to_owned(),
            telephone: None,
            caution: None,
            needs: None,
            ask: Ask::Measure(probe),
            cannot: then.clone(),
        }
    }

    fn put(text: &str, step: &str, way: Way) -> String {
        let source = Source::new("ours.ron", text);
        let tree = load(&source).unwrap();
        let then = tree.step(step).unwrap().led(way).unwrap();
        let text = with_step_after(&source, step, way, &plug("new", then)).unwrap_or_else(|e| panic!("{e}"));
        let made = load(&Source::new("ours.ron", text.as_str())).unwrap();
        let at = made.steps.iter().position(|step| step.name == "new").unwrap();
        assert_eq!(made.step(step).unwrap().led(way), Some(&Then::Step(at)));
        assert_eq!(made.steps[at - 1].name, step);
        let (Then::Step(old), Then::Step(new)) = (then, &made.steps[at].cannot) else {
            assert_eq!(made.steps[at].cannot, *then);
            return text;
        };
        assert_eq!(tree.steps[*old].name, made.steps[*new].name);
        text
    }

    #[rstest]
    #[case(Way::Answer(0), &["                (answer: \"Yes\", means: \"seen\", then: Advisor), // to be done"])]
    #[case(Way::Answer(1), &["                (answer: \"No\", means: \"not seen\", then: Suspect(say: \"the jack\", at: [\"jack\"])),"])]
    #[case(Way::Cannot, &[])]
    fn only_the_way_is_changed(#[case] way: Way, #[case] out: &[&str]) {
        let made = put(TEXT, "look", way);
        let lines = differences(TEXT, &made);
        let gone: Vec<&str> =
            lines.iter().filter(|line| line.kind == DiffKind::Out).map(|line| line.text.as_str()).collect();
        assert_eq!(gone, out);
        assert!(
            made.contains("        ), // and no more\n        (\n            name: \"new\",\n"),
            "{made}"
        );
    }

    #[test]
    fn a_way_that_is_not_written_is_added_last() {
        let made = put(TEXT, "look", Way::Cannot);
        assert!(
            made.contains("            ]),\n            cannot: Step(\"new\"),\n        ), // and no more"),
            "{made}"
        );
    }

    /// Every way of every step of every tree that comes with the program can be gone another way.
    #[test]
    fn every_way_takes_a_step() {
        for (name, text) in built_in() {
            let tree = load(&Source::new(*name, *text)).unwrap();
            for step in &tree.steps {
                let (outcomes, answers) = match &step.ask {
                    Ask::Measure(probe) => (probe.outcomes.len(), 0),
                    Ask::Question { answers, .. } => (0, answers.len()),
                };
                let ways = (0..outcomes).map(Way::Outcome).chain((0..answers).map(Way::Answer));
                for way in ways.chain([Way::Cannot]) {
                    let made = put(text, &step.name, way);
                    assert_eq!(comments(&made), comments(text), "{name}: {} {way:?}", step.name);
                }
            }
        }
    }

    fn comments(text: &str) -> Vec<&str> {
        text.lines().filter(|line| line.trim().starts_with("//")).collect()
    }

    #[test]
    fn lines_end_as_in_the_file() {
        let made = put(&TEXT.replace('\n', "\r\n"), "look", Way::Answer(0));
        assert!(!made.replace("\r\n", "").contains('\n'));
    }

    #[rstest]
    #[case(
        "lok",
        Way::Cannot,
        "new",
        "ours.ron:5:12: the tree has no step \"lok\"\n  hint: did you mean \"look\"?"
    )]
    #[case(
        "look",
        Way::Answer(2),
        "new",
        "ours.ron:7:19: the step \"look\" has no answer 3\n  hint: it has 2 answers"
    )]
    #[case(
        "look",
        Way::Outcome(0),
        "new",
        "ours.ron:7:19: the step \"look\" has no outcome 1\n  hint: it has answers, 2 of them"
    )]
    #[case("look", Way::Answer(0), "look", "is used twice, first in line 7")]
    fn what_cannot_be_put_in_is_refused(
        #[case] step: &str,
        #[case] way: Way,
        #[case] name: &str,
        #[case] says: &str,
    ) {
        let source = Source::new("ours.ron", TEXT);
        let error = with_step_after(&source, step, way, &plug(name, &Then::Advisor)).unwrap_err();
        assert!(error.to_string().contains(says), "{error}");
    }

    #[test]
    fn a_question_has_no_outcomes_and_a_reading_no_answers() {
        let question = Step {
            ask: Ask::Question { sense: Sense::Look, answers: Vec::new() },
            ..plug("question", &Then::Advisor)
        };
        assert_eq!(question.led(Way::Outcome(0)), None);
        assert_eq!(plug("plug", &Then::Advisor).led(Way::Answer(0)), None);
    }
}
