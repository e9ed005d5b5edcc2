//! What is different between two texts, line by line.

use similar::{ChangeTag, TextDiff};

/// Lines that stay the same and are shown around each change.
const AROUND: usize = 3;

/// What became of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DiffKind {
    /// It is in both texts.
    Same,
    /// It is in the text before only.
    Out,
    /// It is in the text after only.
    In,
}

/// One line of a difference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DiffLine {
    /// What became of it.
    pub kind: DiffKind,
    /// Its number in the text before, from 1.
    pub old: Option<usize>,
    /// Its number in the text after, from 1.
    pub new: Option<usize>,
    /// The line, without its end.
    pub text: String,
}

/// Returns the lines that differ between two texts with three lines around each change; nothing when they are the same.
pub fn differences(before: &str, after: &str) -> Vec<DiffLine> {
    let diff = TextDiff::from_lines(before, after);
    let groups = diff.grouped_ops(AROUND);
    let mut lines = Vec::new();
    for op in groups.iter().flatten() {
        lines.extend(diff.iter_changes(op).map(|change| DiffLine {
            kind: kind(change.tag()),
            old: change.old_index().map(|index| index + 1),
            new: change.new_index().map(|index| index + 1),
            text: change.value().trim_end_matches(['\r', '\n']).to_owned(),
        }));
    }
    lines
}

fn kind(tag: ChangeTag) -> DiffKind {
    match tag {
        ChangeTag::Equal => DiffKind::Same,
        ChangeTag::Delete => DiffKind::Out,
        ChangeTag::Insert => DiffKind::In,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn told(before: &str, after: &str) -> Vec<String> {
        let sign = |kind| match kind {
            DiffKind::Same => ' ',
            DiffKind::Out => '-',
            DiffKind::In => '+',
        };
        differences(before, after).iter().map(|line| format!("{}{}", sign(line.kind), line.text)).collect()
    }

    #[test]
    fn three_lines_stand_around_a_change() {
        let before = "1\n2\n3\n4\n5\n6\n7\n8\n9\n";
        assert_eq!(
            told(before, &before.replace('5', "five")),
            [" 2", " 3", " 4", "-5", "+five", " 6", " 7", " 8"]
        );
        assert!(told(before, before).is_empty());
    }

    proptest! {
        /// Every line that is shown stands where its number says, and every line that is new is shown.
        #[test]
        fn lines_stand_where_they_say(before in "([ab]\n){0,8}", after in "([ab]\n){0,8}") {
            let (old, new): (Vec<&str>, Vec<&str>) = (before.lines().collect(), after.lines().collect());
            let lines = differences(&before, &after);
            for line in &lines {
                prop_assert!(line.old.is_none_or(|number| old[number - 1] == line.text));
                prop_assert!(line.new.is_none_or(|number| new[number - 1] == line.text));
            }
            let count = |kind| lines.iter().filter(|line| line.kind == kind).count();
            prop_assert_eq!(old.len() + count(DiffKind::In), new.len() + count(DiffKind::Out));
        }
    }
}
