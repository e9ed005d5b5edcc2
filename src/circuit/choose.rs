//! Choosing a wiring by counting what can be seen from outside.

use std::collections::{BTreeMap, BTreeSet};

use super::{ControlKind, Harness, PartKind};

/// The most questions that are asked.
pub const MOST_QUESTIONS: usize = 4;

/// One thing that can be counted without opening anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fact {
    /// Pickups.
    Pickups,
    /// Knobs.
    Knobs,
    /// Switches of every sort.
    Switches,
    /// Positions of the switch that has the most of them; 0 without a switch.
    Positions,
    /// Whether there is a battery: 1 or 0.
    Battery,
}

impl Fact {
    /// Every fact; of two that tell as much the first is asked for.
    pub const ALL: [Self; 5] = [Self::Pickups, Self::Knobs, Self::Positions, Self::Battery, Self::Switches];

    /// Returns the question to ask.
    pub const fn asks(self) -> &'static str {
        match self {
            Self::Pickups => "How many pickups can you see?",
            Self::Knobs => "How many knobs are there?",
            Self::Switches => "How many switches are there?",
            Self::Positions => "How many positions has the switch?",
            Self::Battery => "Is there a battery?",
        }
    }

    /// Returns what counts and what does not.
    pub const fn counts(self) -> &'static str {
        match self {
            Self::Pickups => {
                "One frame or cover is one pickup, whatever the number of its coils, and so are two halves side by side. A \
                 strip under the saddle cannot be seen and does not count."
            }
            Self::Knobs => "Everything that turns. A knob that can also be pulled is one knob.",
            Self::Switches => {
                "Levers, toggles, slides and push-buttons. A knob that can be pulled up is a switch too."
            }
            Self::Positions => {
                "Feel every click. With more than one switch, take the one with the most positions."
            }
            Self::Battery => "Look for a battery box or a small lid in the back.",
        }
    }

    /// Returns one answer in words, such as `2 pickups`.
    pub fn says(self, value: u32) -> String {
        let counted = |one: &str| match value {
            0 => format!("no {one}"),
            1 => format!("1 {one}"),
            many if one.ends_with("ch") => format!("{many} {one}es"),
            many => format!("{many} {one}s"),
        };
        match self {
            Self::Pickups => counted("pickup"),
            Self::Knobs => counted("knob"),
            Self::Switches => counted("switch"),
            Self::Positions if value == 0 => "no switch".to_owned(),
            Self::Positions => counted("position"),
            Self::Battery if value == 0 => "no battery".to_owned(),
            Self::Battery => "a battery".to_owned(),
        }
    }
}

/// What an instrument looks like from outside.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Looks {
    /// How many pickups can be seen.
    pub pickups: u32,
    /// How many knobs it has.
    pub knobs: u32,
    /// The number of positions of each switch, in the order of the file.
    pub switches: Vec<u32>,
    /// Whether it has a battery.
    pub battery: bool,
}

impl Looks {
    /// Counts what can be seen of a harness.
    pub fn of(harness: &Harness) -> Self {
        let coils = harness.parts.iter().filter(|part| matches!(part.kind, PartKind::Coil { .. }));
        let pickups: BTreeSet<&str> =
            coils.map(|coil| coil.pickup.as_deref().unwrap_or(coil.name.as_str())).collect();
        // What the plug does to the contacts of its jack is no switch.
        let own = harness.controls.iter().filter(|control| harness[control.part].kind != PartKind::Plug);
        let (mut knobs, mut switches) = (0, Vec::new());
        for control in own {
            match &control.kind {
                ControlKind::Knob => knobs += 1,
                ControlKind::Selector(positions) => switches.push(count(positions.len())),
            }
        }
        Self { pickups: count(pickups.len()), knobs, switches, battery: harness.has_battery() }
    }

    /// Returns the answer to a question.
    pub fn answer(&self, fact: Fact) -> u32 {
        match fact {
            Fact::Pickups => self.pickups,
            Fact::Knobs => self.knobs,
            Fact::Switches => count(self.switches.len()),
            Fact::Positions => self.switches.iter().copied().max().unwrap_or(0),
            Fact::Battery => u32::from(self.battery),
        }
    }

    /// Returns everything that is counted, in words.
    pub fn says(&self) -> String {
        let switches = match &self.switches[..] {
            [] => "no switch".to_owned(),
            [one] => format!("a switch with {one} positions"),
            many => {
                let each: Vec<String> = many.iter().map(ToString::to_string).collect();
                format!("{} switches with {} positions", many.len(), each.join(" and "))
            }
        };
        let counted = [Fact::Pickups, Fact::Knobs].map(|fact| fact.says(self.answer(fact)));
        let battery = Fact::Battery.says(u32::from(self.battery));
        format!("{}, {switches}, {battery}", counted.join(", "))
    }
}

fn count(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}

/// What was answered so far, and what could not be said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seen {
    answers: BTreeMap<Fact, u32>,
    passed: BTreeSet<Fact>,
}

impl Seen {
    /// Returns this with one answer more; an answer to the same question is replaced.
    #[must_use]
    pub fn with(mut self, fact: Fact, value: u32) -> Self {
        self.passed.remove(&fact);
        self.answers.insert(fact, value);
        self
    }

    /// Returns this with a question that could not be answered.
    #[must_use]
    pub fn without(mut self, fact: Fact) -> Self {
        self.answers.remove(&fact);
        self.passed.insert(fact);
        self
    }

    /// Returns every answer, in the order of [`Fact`].
    pub fn answers(&self) -> impl Iterator<Item = (Fact, u32)> {
        self.answers.iter().map(|(fact, value)| (*fact, *value))
    }

    /// Returns how many questions were asked.
    pub fn asked(&self) -> usize {
        self.answers.len() + self.passed.len()
    }

    /// Returns whether an instrument looks like what was seen.
    pub fn fits(&self, looks: &Looks) -> bool {
        self.answers().all(|(fact, value)| looks.answer(fact) == value)
    }

    fn knows(&self, fact: Fact) -> bool {
        self.answers.contains_key(&fact) || self.passed.contains(&fact)
    }
}

/// One answer that some wirings give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The number.
    pub value: u32,
    /// How many of the wirings that are left give it.
    pub left: usize,
}

/// What to count next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// What is counted.
    pub fact: Fact,
    /// The answers that the wirings give that are left, the lowest first.
    pub answers: Vec<Answer>,
}

impl Question {
    fn new(fact: Fact, left: &[&Looks]) -> Self {
        let mut counts = BTreeMap::new();
        for looks in left {
            *counts.entry(looks.answer(fact)).or_insert(0) += 1;
        }
        Self { fact, answers: counts.into_iter().map(|(value, left)| Answer { value, left }).collect() }
    }

    /// Returns what the answer is expected to tell, in bits, when every wiring is as likely.
    fn bits(&self) -> f64 {
        let all: usize = self.answers.iter().map(|answer| answer.left).sum();
        let share = |answer: &Answer| answer.left as f64 / all as f64;
        self.answers.iter().map(|answer| -share(answer) * libm::log2(share(answer))).sum()
    }
}

/// Returns what to count next: what splits the wirings best that look like what was seen.
///
/// There is none once they all look alike, and after [`MOST_QUESTIONS`].
pub fn next_question(all: &[Looks], seen: &Seen) -> Option<Question> {
    if seen.asked() >= MOST_QUESTIONS {
        return None;
    }
    let left: Vec<&Looks> = all.iter().filter(|looks| seen.fits(looks)).collect();
    let open = Fact::ALL.into_iter().filter(|fact| !seen.knows(*fact));
    let questions = open.map(|fact| Question::new(fact, &left)).filter(|q| q.answers.len() > 1);
    let best = |best: Question, next: Question| if next.bits() > best.bits() + 1e-9 { next } else { best };
    questions.reduce(best)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::source::Source;
    use proptest::prelude::*;

    fn all() -> Vec<(Harness, Looks)> {
        let read = |(name, text): &(&str, &str)| {
            let harness = load(&Source::new(*name, *text)).unwrap();
            let looks = Looks::of(&harness);
            (harness, looks)
        };
        built_in().iter().map(read).collect()
    }

    /// Asks and answers as an instrument would that looks like this; returns what was seen.
    fn asked(all: &[Looks], own: &Looks) -> Seen {
        let mut seen = Seen::default();
        while let Some(question) = next_question(all, &seen) {
            seen = seen.with(question.fact, own.answer(question.fact));
        }
        seen
    }

    #[test]
    fn four_questions_lead_to_every_wiring_that_comes_with_the_program() {
        let all = all();
        let looks: Vec<Looks> = all.iter().map(|(_, looks)| looks.clone()).collect();
        for (harness, own) in &all {
            let seen = asked(&looks, own);
            assert!(seen.asked() <= MOST_QUESTIONS, "{}: {seen:?}", harness.name);
            assert!(seen.fits(own), "{} is not led to: {seen:?}", harness.name);
            let left = looks.iter().filter(|looks| seen.fits(looks));
            let alike = left.filter(|other| Fact::ALL.iter().all(|f| other.answer(*f) == own.answer(*f)));
            assert_eq!(
                alike.count(),
                looks.iter().filter(|looks| seen.fits(looks)).count(),
                "{} is left with others that look different",
                harness.name
            );
        }
    }

    #[test]
    fn what_is_seen_is_counted() {
        let (_, two) = all().into_iter().find(|(harness, _)| harness.code == "A2a").unwrap();
        assert_eq!(two, Looks { pickups: 2, knobs: 4, switches: vec![3], battery: false });
        assert_eq!(two.says(), "2 pickups, 4 knobs, a switch with 3 positions, no battery");
    }

    #[test]
    fn coils_in_one_pickup_are_seen_as_one() {
        let text = include_str!("../../assets/wirings/two-humbuckers.ron");
        let joined = text.replacen("kind: Coil(", "pickup: \"the one\", kind: Coil(", 1).replacen(
            "title: \"bridge pickup\",",
            "title: \"bridge pickup\", pickup: \"the one\",",
            1,
        );
        let harness = load(&Source::new("a.ron", joined)).unwrap_or_else(|errors| panic!("{errors:#?}"));
        assert_eq!(harness.parts.iter().filter(|part| part.pickup.is_some()).count(), 2);
        assert_eq!(Looks::of(&harness).pickups, 1);
    }

    #[test]
    fn what_cannot_be_said_is_not_asked_again() {
        let looks: Vec<Looks> = all().into_iter().map(|(_, looks)| looks).collect();
        let first = next_question(&looks, &Seen::default()).unwrap();
        let passed = Seen::default().without(first.fact);
        assert!(next_question(&looks, &passed).is_none_or(|next| next.fact != first.fact));
        assert!(looks.iter().all(|looks| passed.fits(looks)));
    }

    #[test]
    fn nothing_is_asked_when_no_wiring_fits() {
        let looks: Vec<Looks> = all().into_iter().map(|(_, looks)| looks).collect();
        assert_eq!(next_question(&looks, &Seen::default().with(Fact::Knobs, 99)), None);
    }

    fn any_looks() -> impl Strategy<Value = Looks> {
        let switches = proptest::collection::vec(2_u32..6, 0..4);
        (0_u32..4, 0_u32..5, switches, any::<bool>()).prop_map(|(pickups, knobs, switches, battery)| Looks {
            pickups,
            knobs,
            switches,
            battery,
        })
    }

    proptest! {
        /// Whatever the wirings: what an instrument looks like leads to it, in the same way each time, and every
        /// question splits what is left.
        #[test]
        fn its_own_looks_lead_to_an_instrument(all in proptest::collection::vec(any_looks(), 1..30), pick in any::<usize>()) {
            let own = &all[pick % all.len()];
            let mut seen = Seen::default();
            while let Some(question) = next_question(&all, &seen) {
                prop_assert_eq!(&question, &next_question(&all, &seen).unwrap());
                let left = all.iter().filter(|looks| seen.fits(looks)).count();
                prop_assert_eq!(question.answers.iter().map(|answer| answer.left).sum::<usize>(), left);
                prop_assert!(question.answers.iter().all(|answer| answer.left < left));
                seen = seen.with(question.fact, own.answer(question.fact));
                prop_assert!(seen.fits(own));
            }
            prop_assert!(seen.asked() <= MOST_QUESTIONS);
        }
    }
}
