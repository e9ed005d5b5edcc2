//! The known name that was probably meant.

/// Returns the candidate that is nearest to `name`, if any is near enough to be a slip of the keys.
///
/// The first of equally near candidates wins, so that the answer does not depend on anything but the order given.
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let allowed = 1 + name.chars().count() / 4;
    candidates
        .into_iter()
        .map(|candidate| (edits(name, candidate), candidate))
        .filter(|(count, _)| *count <= allowed)
        .min_by_key(|(count, _)| *count)
        .map(|(_, candidate)| candidate)
}

/// Returns the hint for an unknown name: the near one, or else the list of all that are allowed.
///
/// `what` is the plural of the kind of thing, such as `the parts are`; `quote` goes around every name.
pub fn advice<'a>(name: &str, candidates: &[&'a str], what: &str, quote: char) -> String {
    match nearest(name, candidates.iter().copied()) {
        Some(near) => format!("did you mean {quote}{near}{quote}?"),
        None if candidates.is_empty() => format!("{what} none"),
        None => {
            let quoted: Vec<String> = candidates.iter().map(|name| format!("{quote}{name}{quote}")).collect();
            format!("{what} {}", quoted.join(", "))
        }
    }
}

/// Counts the letters to add, drop or change to make `a` into `b`, ignoring case.
fn edits(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.to_lowercase().chars().collect();
    let b: Vec<char> = b.to_lowercase().chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let change = diagonal + usize::from(from != to);
            diagonal = row[j + 1];
            row[j + 1] = change.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("", "", 0)]
    #[case("", "abc", 3)]
    #[case("kitten", "sitting", 3)] // the textbook example of this distance, from memory
    #[case("Volume", "volume", 0)]
    #[case("lug3", "lug2", 1)]
    fn counts_edits(#[case] a: &str, #[case] b: &str, #[case] count: usize) {
        assert_eq!(edits(a, b), count);
        assert_eq!(edits(b, a), count);
    }

    #[rstest]
    #[case("neck-volum", Some("neck-volume"))]
    #[case("nek-tone", Some("neck-tone"))]
    #[case("battery", None)]
    fn finds_the_near_name(#[case] name: &str, #[case] found: Option<&str>) {
        assert_eq!(nearest(name, ["neck-volume", "neck-tone", "jack"]), found);
    }

    #[test]
    fn advice_lists_all_when_nothing_is_near() {
        assert_eq!(
            advice("battery", &["volume", "jack"], "the parts are", '"'),
            "the parts are \"volume\", \"jack\""
        );
        assert_eq!(advice("jak", &["volume", "jack"], "the parts are", '"'), "did you mean \"jack\"?");
    }
}
