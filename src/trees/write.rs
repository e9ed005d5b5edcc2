//! A tree as the text of its file.

use super::tree::Place;
use super::{Answer, Ask, How, Outcome, Probe, Sense, Step, Then, Tree};
use crate::readings::{Check, Mode, Symptom};

/// Spaces that each bracket moves a line in by.
const STEP_IN: usize = 4;

/// Returns the text of a tree's file: what is loaded from it is the same tree. Comments are no part of a tree.
pub fn written(tree: &Tree) -> String {
    let mut page = Page::default();
    page.open("(");
    page.line(&format!("format: {},", super::load::FORMAT));
    page.text("name", &tree.name);
    page.text("title", &tree.title);
    page.line(&format!("complaint: {},", complaint(tree.complaint)));
    if !tree.wirings.is_empty() {
        page.line(&format!("wirings: [{}],", listed(tree.wirings.iter().map(|name| quoted(name)))));
    }
    if !tree.only.is_empty() {
        page.line(&format!("only: [{}],", listed(tree.only.iter().map(|of| format!("{of:?}")))));
    }
    page.maybe("elsewhere", tree.elsewhere.as_deref());
    page.text("start", tree.steps.get(tree.start).map_or("", |step| step.name.as_str()));
    page.open("steps: [");
    tree.steps.iter().for_each(|step| page.step(step, &tree.steps));
    page.close("],");
    page.close(")");
    page.text
}

/// Returns the text of one step, from its opening to its closing bracket, with no indentation of its own; `names` are
/// the steps of its tree, which its ways lead to by their index.
pub fn written_step(step: &Step, names: &[Step]) -> String {
    let mut page = Page::default();
    page.step(step, names);
    page.text.trim_end_matches([',', '\n']).to_owned()
}

/// Returns where a way leads, as it is written in a file.
pub(super) fn written_then(then: &Then, names: &[Step]) -> String {
    match then {
        Then::Step(index) => {
            format!("Step({})", quoted(names.get(*index).map_or("", |step| step.name.as_str())))
        }
        Then::Advisor => "Advisor".to_owned(),
        Then::Suspect(suspicion) => {
            let at = listed(suspicion.at.iter().map(|part| quoted(part)));
            let how = listed(suspicion.how.iter().map(|how| way_to_fail(*how)));
            let how = if how.is_empty() { String::new() } else { format!(", how: [{how}]") };
            format!("Suspect(say: {}, at: [{at}]{how})", quoted(&suspicion.say))
        }
        Then::Tree(name) => format!("Tree({})", quoted(name)),
        Then::NotTheInstrument => "NotTheInstrument".to_owned(),
    }
}

/// Returns a text in quotes as a file holds it.
pub(super) fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => quoted += "\\\"",
            '\\' => quoted += "\\\\",
            '\n' => quoted += "\\n",
            '\r' => quoted += "\\r",
            '\t' => quoted += "\\t",
            c if c.is_control() => quoted += &format!("\\u{{{:x}}}", u32::from(c)),
            c => quoted.push(c),
        }
    }
    quoted + "\""
}

/// A text that grows line by line.
#[derive(Default)]
struct Page {
    text: String,
    indent: usize,
}

impl Page {
    fn line(&mut self, line: &str) {
        self.text += &" ".repeat(self.indent);
        self.text += line;
        self.text.push('\n');
    }

    fn open(&mut self, line: &str) {
        self.line(line);
        self.indent += STEP_IN;
    }

    fn close(&mut self, line: &str) {
        self.indent -= STEP_IN;
        self.line(line);
    }

    fn text(&mut self, field: &str, text: &str) {
        self.line(&format!("{field}: {},", quoted(text)));
    }

    fn maybe(&mut self, field: &str, text: Option<&str>) {
        if let Some(text) = text {
            self.text(field, text);
        }
    }

    fn step(&mut self, step: &Step, names: &[Step]) {
        self.open("(");
        self.text("name", &step.name);
        self.text("say", &step.say);
        self.text("why", &step.why);
        self.maybe("telephone", step.telephone.as_deref());
        self.maybe("caution", step.caution.as_deref());
        if let Some(needs) = step.needs {
            self.line(&format!("needs: {needs:?},"));
        }
        match &step.ask {
            Ask::Measure(probe) => match probe.heard() {
                Some(check) => self.hear(check, probe, names),
                None => self.measure(probe, names),
            },
            Ask::Question { sense, answers } => self.question(*sense, answers, names),
        }
        if step.cannot != Then::Advisor {
            self.line(&format!("cannot: {},", written_then(&step.cannot, names)));
        }
        self.close("),");
    }

    fn measure(&mut self, probe: &Probe, names: &[Step]) {
        self.open("ask: Measure(");
        if probe.mode != Mode::Resistance {
            self.line(&format!("mode: {},", mode(probe.mode)));
        }
        self.text("red", &probe.red);
        self.text("black", &probe.black);
        self.set(probe);
        self.maybe("flex", probe.flex.as_deref());
        self.open("outcomes: [");
        for Outcome { written, means, then, .. } in &probe.outcomes {
            self.way("when", written, means, &written_then(then, names));
        }
        self.close("],");
        self.close("),");
    }

    fn hear(&mut self, check: Check, probe: &Probe, names: &[Step]) {
        self.open("ask: Hear(");
        self.line(&format!("check: {check:?},"));
        self.set(probe);
        self.maybe("about", probe.about.as_deref());
        for Outcome { written, means, then, .. } in &probe.outcomes {
            self.open(&format!("{written}: ("));
            self.text("means", means);
            self.line(&format!("then: {},", written_then(then, names)));
            self.close("),");
        }
        self.close("),");
    }

    fn set(&mut self, probe: &Probe) {
        if !probe.set.is_empty() {
            let set = probe.set.iter().map(|(name, place)| format!("{}: {}", quoted(name), put(place)));
            self.line(&format!("set: {{{}}},", listed(set)));
        }
    }

    fn question(&mut self, sense: Sense, answers: &[Answer], names: &[Step]) {
        let word = match sense {
            Sense::Look => "Look",
            Sense::Listen => "Listen",
            Sense::Ask => "Ask",
        };
        self.open(&format!("ask: {word}(["));
        for Answer { answer, means, then } in answers {
            self.way("answer", &quoted(answer), means, &written_then(then, names));
        }
        self.close("]),");
    }

    fn way(&mut self, field: &str, value: &str, means: &str, then: &str) {
        self.open("(");
        self.line(&format!("{field}: {value},"));
        self.text("means", means);
        self.line(&format!("then: {then},"));
        self.close("),");
    }
}

fn listed<T: AsRef<str>>(words: impl Iterator<Item = T>) -> String {
    words.map(|word| word.as_ref().to_owned()).collect::<Vec<_>>().join(", ")
}

fn put(place: &Place) -> String {
    match place {
        Place::Number(number) => number.to_string(),
        Place::Name(name) => quoted(name),
    }
}

/// Returns the word of a mode; what a tree cannot ask for is read in ohms.
fn mode(mode: Mode) -> &'static str {
    match mode {
        Mode::Continuity => "Continuity",
        Mode::Volts => "Volts",
        Mode::Current => "Current",
        _ => "Resistance",
    }
}

fn complaint(symptom: Symptom) -> &'static str {
    match symptom {
        Symptom::Silent => "Silent",
        Symptom::Intermittent => "Intermittent",
        Symptom::Muffled => "Muffled",
        Symptom::Hum => "Hum",
        Symptom::Weak => "Weak",
        Symptom::Bright => "Bright",
        Symptom::Thin => "Thin",
        Symptom::OnePosition => "OnePosition",
        Symptom::VolumeOpen => "VolumeOpen",
        Symptom::ToneIdle => "ToneIdle",
        Symptom::Crackle => "Crackle",
        Symptom::BuzzOnTouch => "BuzzOnTouch",
        Symptom::BatteryDrains => "BatteryDrains",
        Symptom::Pops => "Pops",
    }
}

fn way_to_fail(how: How) -> &'static str {
    match how {
        How::Open => "Open",
        How::Short => "Short",
        How::Poor => "Poor",
        How::Loose => "Loose",
        How::Wrong => "Wrong",
        How::Dead => "Dead",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;
    use crate::trees::{built_in, load};
    use proptest::prelude::*;
    use rstest::rstest;

    /// Everything that a tree file can hold, in the layout that is written.
    const ALL: &str = r#"(
    format: 1,
    name: "all",
    title: "All \"that\" there is",
    complaint: BuzzOnTouch,
    wirings: ["one-pickup", "my own"],
    only: [Battery, TwoPickups],
    elsewhere: "Leave it to the advisor.",
    start: "first",
    steps: [
        (
            name: "first",
            say: "Listen.",
            why: "It costs nothing.",
            telephone: "Please listen.",
            caution: "amplifier",
            needs: Switch,
            ask: Listen([
                (
                    answer: "Yes",
                    means: "it hums",
                    then: Step("second"),
                ),
                (
                    answer: "No",
                    means: "it does not",
                    then: NotTheInstrument,
                ),
                (
                    answer: "Something else",
                    means: "another complaint",
                    then: Tree("hum"),
                ),
            ]),
            cannot: Step("second"),
        ),
        (
            name: "second",
            say: "Read the volts.",
            why: "A flat battery.",
            ask: Measure(
                mode: Volts,
                red: "plug.tip",
                black: "plug.sleeve",
                set: {"knobs": 10, "selector": "last"},
                flex: "plug",
                outcomes: [
                    (
                        when: Under("7 V"),
                        means: "flat",
                        then: Suspect(say: "the battery", at: ["battery"], how: [Dead, Loose]),
                    ),
                    (
                        when: Between("7 V", "8.5 V"),
                        means: "weak",
                        then: Suspect(say: "the battery or its clip", at: ["battery"]),
                    ),
                    (
                        when: AnythingElse,
                        means: "something else",
                        then: Step("third"),
                    ),
                ],
            ),
        ),
        (
            name: "third",
            say: "Turn the volume down. Is it silent now?",
            why: "A volume that has lost its ground does not close.",
            ask: Hear(
                check: Closes,
                set: {"knobs": 10, "selector": "last"},
                about: "volume",
                yes: (
                    means: "it closes",
                    then: Advisor,
                ),
                no: (
                    means: "it does not",
                    then: Suspect(say: "the volume pot", at: ["volume"]),
                ),
            ),
        ),
    ],
)
"#;

    fn read(text: &str) -> Tree {
        load(&Source::new("tree.ron", text)).unwrap_or_else(|error| panic!("{error}\n{text}"))
    }

    #[test]
    fn the_layout_is_that_of_a_file() {
        assert_eq!(written(&read(ALL)), ALL);
    }

    /// What is read from a text that was written is written as the same text.
    #[test]
    fn every_tree_that_comes_with_the_program_is_written_and_read() {
        for (name, text) in built_in() {
            let tree = read(text);
            let first = written(&tree);
            let again = read(&first);
            assert_eq!(written(&again), first, "{name}");
            assert_eq!(plain(&again), plain(&tree), "{name}");
        }
    }

    /// Returns all that a tree says, but for where it stands in its file.
    fn plain(tree: &Tree) -> String {
        let Tree { name, title, complaint, wirings, only, elsewhere, start, steps, .. } = tree;
        format!("{name:?} {title:?} {complaint:?} {wirings:?} {only:?} {elsewhere:?} {start} {steps:?}")
    }

    #[test]
    fn one_step_is_written_as_in_its_file() {
        let tree = read(ALL);
        let step = written_step(&tree.steps[1], &tree.steps);
        let moved: String = step.lines().map(|line| format!("        {line}\n")).collect();
        assert!(ALL.contains(moved.trim_end()), "{moved}");
    }

    #[rstest]
    #[case("plain", "\"plain\"")]
    #[case("a \"b\" \\ c", r#""a \"b\" \\ c""#)]
    #[case("5 kΩ\n", "\"5 kΩ\\n\"")]
    #[case("\u{7}", "\"\\u{7}\"")]
    fn texts_are_quoted(#[case] text: &str, #[case] expected: &str) {
        assert_eq!(quoted(text), expected);
        assert_eq!(ron::from_str::<String>(expected).unwrap(), text);
    }

    proptest! {
        /// A small tree with any words in it is read as it was written.
        #[test]
        fn any_words_are_written_and_read(
            words in proptest::collection::vec("[a-zA-Z\"\\\\/Ω {}()\\[\\],:]{1,12}", 6),
            limit in 1_u32..100_000,
            down in 0_u8..=10,
            how in 0_usize..6,
        ) {
            let words: Vec<String> = words.iter().map(|word| format!("x{word}")).collect();
            let all = [How::Open, How::Short, How::Poor, How::Loose, How::Wrong, How::Dead];
            let mut tree = read(ALL);
            (tree.title, tree.elsewhere) = (words[0].clone(), Some(words[1].clone()));
            tree.steps[0].say.clone_from(&words[2]);
            tree.steps[1].telephone = Some(words[3].clone());
            if let Ask::Measure(probe) = &mut tree.steps[1].ask {
                probe.set = vec![("knobs".to_owned(), Place::Number(down))];
                probe.outcomes[0].written = format!("Under({:?})", format!("{limit} mV"));
                probe.outcomes[1].written = format!("Over({:?})", format!("{} mV", limit + 1));
                probe.outcomes[0].then = Then::Tree(words[4].clone());
                let suspicion = crate::trees::Suspicion {
                    say: words[5].clone(),
                    at: vec!["battery".to_owned(), "jack".to_owned()],
                    how: all[..how].to_vec(),
                };
                probe.outcomes[1].then = Then::Suspect(suspicion);
            }
            let first = written(&tree);
            let again = read(&first);
            prop_assert_eq!(written(&again), first);
            prop_assert_eq!((again.title.as_str(), again.elsewhere.as_deref()), (&*words[0], Some(&*words[1])));
            prop_assert_eq!(&again.steps[0].say, &words[2]);
            prop_assert_eq!(&again.steps[1].telephone, &Some(words[3].clone()));
        }
    }
}
