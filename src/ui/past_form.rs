//! Which past jobs are looked for: what is typed, what is wrong with it, and the filter that it makes.

use crate::archive::audit::By;
use crate::archive::{Ending, Filter};
use crate::readings::Symptom;
use crate::session::{past_date, past_until};

/// What jobs have in common that a bar of a figure stands for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Common {
    /// What they are put together by.
    pub by: By,
    /// What they have in common, as the archive has it.
    pub key: String,
    /// The same in words.
    pub words: String,
}

/// Which jobs are looked for; what is empty lets all pass.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PastForm {
    /// Words that the job holds.
    pub words: String,
    /// Opened on this day or later.
    pub from: String,
    /// Opened on this day or before.
    pub to: String,
    /// The name of the wiring.
    pub wiring: String,
    /// Who worked on it.
    pub technician: String,
    /// What the complaint means.
    pub complaint: Option<Symptom>,
    /// How they stand.
    pub ending: Option<Ending>,
    /// Whether the instrument came back.
    pub came_back: bool,
    /// Whether another fault was named at first.
    pub renamed: bool,
    /// What they have in common, from a bar that was pressed.
    pub common: Option<Common>,
}

impl PastForm {
    /// Returns the filter, which knows nothing of the words. It means nothing while a date [is wrong](Self::is_wrong).
    pub fn filter(&self) -> Filter {
        Filter {
            from: given(&self.from),
            until: given(&self.to).as_deref().map(past_until),
            wiring: given(&self.wiring),
            technician: given(&self.technician),
            complaint: self.complaint,
            ending: self.ending,
            came_back: self.came_back,
            renamed: self.renamed,
            common: self.common.as_ref().map(|it| (it.by, it.key.clone())),
        }
    }

    /// Returns what is wrong with the first and with the last day.
    pub fn problems(&self) -> [Option<String>; 2] {
        let wrong = |text: &str| given(text).and_then(|text| past_date(&text).err());
        let [from, to] = [wrong(&self.from), wrong(&self.to)];
        let turned = from.is_none() && to.is_none() && self.ends_before_it_begins();
        let to = to.or_else(|| turned.then(|| "this is before the day in From".to_owned()));
        [from, to]
    }

    fn ends_before_it_begins(&self) -> bool {
        let (from, to) = (given(&self.from), given(&self.to));
        from.zip(to).is_some_and(|(from, to)| past_until(&to) < from)
    }

    /// Returns whether a date is wrong, so that nothing can be looked for.
    pub fn is_wrong(&self) -> bool {
        self.problems().iter().any(Option::is_some)
    }

    /// Returns which jobs these are, in words.
    pub(super) fn facts(&self) -> Vec<(&'static str, String)> {
        let yes = |is: bool| is.then(|| "yes".to_owned());
        let parts = [
            ("from", given(&self.from)),
            ("to", given(&self.to)),
            ("wiring", given(&self.wiring)),
            ("technician", given(&self.technician)),
            ("complaint", self.complaint.map(|complaint| complaint.name().to_owned())),
            ("ending", self.ending.map(|ending| ending.name().to_owned())),
            ("came back", yes(self.came_back)),
            ("another fault named first", yes(self.renamed)),
            ("only", self.common.as_ref().map(|it| it.words.clone())),
        ];
        parts.into_iter().filter_map(|(name, value)| Some((name, value?))).collect()
    }
}

fn given(text: &str) -> Option<String> {
    Some(text.trim().to_owned()).filter(|text| !text.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(from: &str, to: &str) -> PastForm {
        PastForm { from: from.to_owned(), to: to.to_owned(), ..PastForm::default() }
    }

    #[test]
    fn a_month_named_as_the_end_is_in_it() {
        let form = days("", " 2026-03 ");
        let until = form.filter().until.unwrap();
        assert!("2026-03-31T23:59:59Z" < until.as_str() && "2026-04-01T00:00:00Z" > until.as_str());
        assert_eq!(form.facts(), [("to", "2026-03".to_owned())]);
        assert_eq!(PastForm::default().filter(), Filter::default());
    }

    #[test]
    fn a_wrong_date_is_told_at_its_field() {
        for wrong in ["12/2025", "2025-13", "last month"] {
            let [from, to] = days(wrong, "2026").problems();
            assert!(from.unwrap().contains("is no date; write 2026") && to.is_none(), "{wrong}");
            assert!(days("", wrong).is_wrong());
        }
        assert!(days("2026-03-05", "2026-03-04").is_wrong());
        assert!(!days("2026-03-05", "2026-03").is_wrong() && !days("2026", " 2026 ").is_wrong());
    }
}
