//! A tree as plain text, for a terminal or for paper.

use super::marks::Marked;
use super::{TreeMarks, words};
use crate::trees::{Step, Then, Tree};

/// The longest line, in characters.
const WIDE: usize = 100;

/// Returns the tree as plain text: its steps in the order of the file, numbered, with what leads where.
pub fn as_text(tree: &Tree) -> String {
    marked_text(tree, &TreeMarks::default())
}

/// Returns the tree as plain text as [`as_text`] does, with what the marks say of the whole and below each way.
pub fn marked_text(tree: &Tree, marks: &TreeMarks) -> String {
    let marked = Marked::new(tree, marks);
    let mut text = String::new();
    say(&mut text, "", "", &format!("{} ({})", tree.title, tree.name));
    say(&mut text, "", "", &format!("Complaint: {}.", tree.complaint.title()));
    if let Some(guitars) = tree.meant_for() {
        say(&mut text, "", "", &format!("Only {guitars}."));
    }
    if let Some(elsewhere) = &tree.elsewhere {
        say(&mut text, "", "", &format!("Other guitars: {elsewhere}"));
    }
    if !marks.told.is_empty() {
        say(&mut text, "", "", &marks.told);
    }
    say(&mut text, "", "", &format!("Begin with {}.", step_named(tree, tree.start)));
    for (index, found) in tree.steps.iter().enumerate() {
        text.push('\n');
        step(&mut text, index, found);
        ways(&mut text, tree, index, &marked);
    }
    text
}

fn step(text: &mut String, index: usize, step: &Step) {
    const IN: &str = "    ";
    say(text, "", IN, &format!("{}. {}", index + 1, step.name));
    say(text, IN, IN, &step.say);
    if let Some(feature) = step.needs {
        say(text, IN, IN, &format!("Needs: {}.", feature.words()));
    }
    say(text, IN, IN, &format!("Why: {}", step.why));
    if let Some(telephone) = &step.telephone {
        say(text, IN, IN, &format!("On the telephone: {telephone}"));
    }
    if let Some(caution) = words::caution(step) {
        say(text, IN, IN, &caution);
    }
    say(text, IN, IN, &format!("How: {}.", words::asked(&step.ask)));
}

fn ways(text: &mut String, tree: &Tree, index: usize, marked: &Marked<'_>) {
    let step = &tree.steps[index];
    let told = words::ways(step).into_iter().zip(words::meanings(step));
    for (number, ((way, means), then)) in told.zip(step.ways()).enumerate() {
        let means = means.map_or(String::new(), |means| format!(": {means}"));
        say(text, "    - ", "      ", &format!("{way}{means}"));
        let note = marked.note(index, number);
        if !note.is_empty() {
            say(text, "      ", "      ", &format!("({note})"));
        }
        say(text, "      -> ", "         ", &leads(tree, then));
    }
}

fn leads(tree: &Tree, then: &Then) -> String {
    match then {
        Then::Step(index) => step_named(tree, *index),
        Then::Advisor => "the advisor goes on".to_owned(),
        Then::Suspect(suspicion) if suspicion.at.is_empty() => format!("suspect: {}", suspicion.say),
        Then::Suspect(suspicion) => format!("suspect: {} (at: {})", suspicion.say, words::at(suspicion)),
        Then::Tree(name) => format!("the tree \"{name}\""),
        Then::NotTheInstrument => "not the instrument".to_owned(),
    }
}

fn step_named(tree: &Tree, index: usize) -> String {
    let name = tree.steps.get(index).map_or("", |step| step.name.as_str());
    format!("step {} ({name})", index + 1)
}

/// Adds words in lines that are not too long: the first begins with `first`, the others with `next`.
fn say(text: &mut String, first: &str, next: &str, words: &str) {
    let (mut line, mut bare) = (first.to_owned(), true);
    for word in words.split_whitespace() {
        let long = line.chars().count() + 1 + word.chars().count() > WIDE;
        if long && !bare {
            text.push_str(&line);
            text.push('\n');
            (line, bare) = (next.to_owned(), true);
        }
        if !bare {
            line.push(' ');
        }
        line.push_str(word);
        bare = false;
    }
    text.push_str(line.trim_end());
    text.push('\n');
}
