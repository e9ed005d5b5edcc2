//! What is typed for an estimate, a bill and a consent, and what it means: by the rules of the shell.

use crate::job::{Consent, Estimate, PriceLine, total};
use crate::session::{PaperFacts, PriceError, Rate, agreed_beside, part_line, whole_minutes};
use crate::ticket::Shop;
use crate::units::{Money, parse_money, show_money};
use crate::workbench::{Command, check_ceiling, check_estimate, check_price_line};

/// Said when minutes are no whole number.
const MINUTES: &str = "Type whole minutes, such as 20.";
/// Said when work cannot be priced.
const RATE: &str = "No price of an hour is known: type one above, or the price of this work here.";

/// A field of one of the forms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Slot {
    /// What a line is for, by its place.
    What(usize),
    /// The minutes of a line.
    Minutes(usize),
    /// The price of a line.
    Price(usize),
    /// The list of lines.
    Lines,
    /// The price of an hour.
    PerHour,
    /// What may be spent at most.
    Ceiling,
    /// Who agreed.
    By,
    /// How it was agreed.
    How,
    /// The shop's file.
    Shop,
    /// The photo.
    File,
    /// The earlier job.
    Earlier,
    /// Why it belongs to the earlier job.
    Why,
}

/// What is wrong with a field.
pub(super) type Wrong = (Slot, String);

/// A form, and what stood in it before a person typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft<T> {
    /// The form.
    pub now: T,
    seed: T,
    sending: Option<T>,
}

impl<T: Clone + PartialEq> Draft<T> {
    /// Returns whether something was typed that is not recorded.
    pub fn touched(&self) -> bool {
        self.now != self.seed
    }

    /// Remembers what is sent.
    pub(super) fn send(&mut self) {
        self.sending = Some(self.now.clone());
    }

    /// Takes what was sent as recorded; what was typed since stays.
    pub(super) fn sent(&mut self) {
        self.seed = self.sending.take().unwrap_or_else(|| self.now.clone());
    }

    /// Begins with this, unless something is typed.
    pub(super) fn renew(&mut self, fresh: T) {
        if !self.touched() {
            self.now = fresh.clone();
            self.seed = fresh;
        }
    }
}

/// One line of an estimate or a bill, as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineForm {
    /// Whether it is a part; else it is work.
    pub part: bool,
    /// What is done or put in.
    pub what: String,
    /// Minutes of work.
    pub minutes: String,
    /// The price; for work, empty for the minutes at the price of an hour.
    pub price: String,
}

impl LineForm {
    fn work(what: &str, minutes: u32) -> Self {
        Self { what: what.to_owned(), minutes: minutes.to_string(), ..Self::default() }
    }

    fn part(line: &PriceLine) -> Self {
        let price = show_money(line.parts);
        Self { part: true, what: line.what.clone(), price, ..Self::default() }
    }

    /// Returns the lines to be typed that stand for a recorded one: work and parts apart.
    fn of(line: &PriceLine, rate: &Rate) -> Vec<Self> {
        let nothing = Money::default();
        if line.minutes == 0 && line.labour == nothing {
            return vec![Self::part(line)];
        }
        let usual = rate.per_hour.map(|per_hour| per_hour.for_minutes(line.minutes));
        let price = if usual == Some(line.labour) { String::new() } else { show_money(line.labour) };
        let work = Self { price, ..Self::work(&line.what, line.minutes) };
        let parts = (line.parts > nothing).then(|| Self::part(line));
        std::iter::once(work).chain(parts).collect()
    }

    /// Returns what it means at its place in the form.
    pub(super) fn read(&self, index: usize, rate: &Rate) -> Result<PriceLine, Wrong> {
        let (what, doing) = (self.what.trim(), "reading a line");
        let price = || parse_money(&self.price).map_err(|why| (Slot::Price(index), told(&why)));
        let line = if self.part {
            part_line(what, price()?)
        } else {
            let minutes = whole_minutes(&self.minutes);
            let minutes = minutes.ok_or_else(|| (Slot::Minutes(index), MINUTES.to_owned()))?;
            match self.price.trim() {
                "" => {
                    let unpriced = |_: PriceError| (Slot::Price(index), RATE.to_owned());
                    rate.work(what, minutes).map_err(unpriced)?
                }
                _ => PriceLine { minutes, labour: price()?, ..part_line(what, Money::default()) },
            }
        };
        let slot = if what.is_empty() { Slot::What(index) } else { Slot::Minutes(index) };
        check_price_line(doing, &line).map_err(|why| (slot, told(&why)))?;
        Ok(line)
    }

    /// Returns what its work costs by its minutes.
    pub(super) fn usual(&self, rate: &Rate) -> Option<Money> {
        rate.work("", whole_minutes(&self.minutes)?).ok().map(|line| line.labour)
    }
}

/// An estimate or a bill, as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PriceForm {
    /// Its lines.
    pub lines: Vec<LineForm>,
    /// The price of an hour; empty when none is known.
    pub per_hour: String,
    /// What stands behind prices.
    pub currency: String,
    /// What is not gone beyond without a call; empty for the sum of the lines. Only for an estimate.
    pub ceiling: String,
    /// What was said to the customer. Only for an estimate.
    pub said: String,
}

impl PriceForm {
    /// Returns the estimate that holds, or the one that is proposed.
    pub(super) fn estimate(facts: &PaperFacts, shop: &Shop) -> Self {
        let Some(made) = facts.paper.estimate() else { return Self::proposed(facts, shop) };
        let known = &made.estimate;
        let rate = Rate::of(shop, Some(known));
        let is_sum = known.ceiling == total(&known.lines);
        let ceiling = if is_sum { String::new() } else { show_money(known.ceiling) };
        Self { ceiling, said: known.said.clone(), ..Self::of(&known.lines, &rate) }
    }

    /// Returns the estimate that is proposed from the named fault or the verdict.
    pub(super) fn proposed(facts: &PaperFacts, shop: &Shop) -> Self {
        let work = facts.advised.as_ref().map(|(what, minutes)| LineForm::work(what, *minutes));
        Self::begun(work, Vec::new(), &Rate::of(shop, None))
    }

    /// Returns the bill that was made, or the one that is proposed.
    pub(super) fn bill(facts: &PaperFacts, shop: &Shop) -> Self {
        let Some(bill) = &facts.paper.bill else { return Self::done(facts, shop) };
        let mut rate = Rate::of(shop, known(facts));
        rate.currency.clone_from(&bill.currency);
        Self::of(&bill.lines, &rate)
    }

    /// Returns the bill that is proposed from the repair and all else of the estimate.
    pub(super) fn done(facts: &PaperFacts, shop: &Shop) -> Self {
        let work = facts.done.as_ref().map(|(what, minutes)| LineForm::work(what, *minutes));
        let rate = Rate::of(shop, known(facts));
        let agreed = agreed_beside(known(facts), facts.named.as_deref());
        Self::begun(work, agreed.iter().flat_map(|line| LineForm::of(line, &rate)).collect(), &rate)
    }

    fn of(lines: &[PriceLine], rate: &Rate) -> Self {
        let lines = lines.iter().flat_map(|line| LineForm::of(line, rate)).collect();
        Self { lines, ..Self::begun(None, Vec::new(), rate) }
    }

    fn begun(work: Option<LineForm>, others: Vec<LineForm>, rate: &Rate) -> Self {
        let lines = std::iter::once(work.unwrap_or_default()).chain(others).collect();
        let per_hour = rate.per_hour.map(show_money).unwrap_or_default();
        Self { lines, per_hour, currency: rate.currency.clone(), ..Self::default() }
    }

    /// Returns the price of an hour and the currency.
    pub(super) fn rate(&self) -> Result<Rate, Wrong> {
        let per_hour = match self.per_hour.trim() {
            "" => None,
            text => Some(parse_money(text).map_err(|why| (Slot::PerHour, told(&why)))?),
        };
        Ok(Rate { per_hour, currency: self.currency.trim().to_owned() })
    }

    /// Returns the lines, or everything that is wrong.
    pub(super) fn read(&self) -> Result<(Vec<PriceLine>, Rate), Vec<Wrong>> {
        let mut wrong = Vec::new();
        let rate = self.rate().map_err(|why| wrong.push(why)).unwrap_or_default();
        let mut lines = Vec::new();
        for (index, line) in self.lines.iter().enumerate() {
            match line.read(index, &rate) {
                Ok(line) => lines.push(line),
                Err(why) => wrong.push(why),
            }
        }
        if wrong.is_empty() { Ok((lines, rate)) } else { Err(wrong) }
    }

    /// Returns the sum; `None` while a line is wrong.
    pub(super) fn total(&self) -> Option<Money> {
        self.read().ok().map(|(lines, _)| total(&lines))
    }

    /// Returns the command of an estimate.
    pub(super) fn estimated(&self) -> Result<Command, Vec<Wrong>> {
        let (lines, rate) = self.read()?;
        let sum = total(&lines);
        let ceiling = match self.ceiling.trim() {
            "" => sum,
            text => parse_money(text).map_err(|why| vec![(Slot::Ceiling, told(&why))])?,
        };
        let slot = if ceiling < sum { Slot::Ceiling } else { Slot::Lines };
        let (per_hour, said) = (rate.per_hour.unwrap_or_default(), self.said.trim().to_owned());
        let estimate = Estimate { lines, ceiling, per_hour, currency: rate.currency, said };
        check_estimate(&estimate).map_err(|why| vec![(slot, told(&why))])?;
        Ok(Command::Estimate(estimate))
    }

    /// Returns the command of a bill.
    pub(super) fn billed(&self) -> Result<Command, Vec<Wrong>> {
        let (lines, rate) = self.read()?;
        Ok(Command::Bill { lines, currency: rate.currency })
    }
}

fn known(facts: &PaperFacts) -> Option<&Estimate> {
    facts.paper.estimate().map(|made| &made.estimate)
}

/// A customer's word, as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ConsentForm {
    /// Who agreed.
    pub by: String,
    /// How; nothing until it is chosen.
    pub how: Option<Consent>,
    /// What may be spent at most.
    pub ceiling: String,
}

impl ConsentForm {
    /// Returns a form with what the estimate names, and who agreed the time before, or the customer.
    pub(super) fn of(facts: &PaperFacts) -> Self {
        let last = facts.paper.authorised.last();
        let by = last.map_or_else(|| facts.customer.clone(), |last| last.by.clone());
        Self { by, how: None, ceiling: facts.paper.ceiling().map(show_money).unwrap_or_default() }
    }

    /// Returns the command, in the job's currency or the shop's.
    pub(super) fn authorised(&self, facts: &PaperFacts, shop: &Shop) -> Result<Command, Vec<Wrong>> {
        let by = self.by.trim().to_owned();
        let ceiling = parse_money(&self.ceiling).map_err(|why| told(&why));
        let more = |money| check_ceiling(money).map(|()| money).map_err(|why| told(&why));
        let ceiling = ceiling.and_then(more);
        let mut wrong = Vec::new();
        if by.is_empty() {
            wrong.push((Slot::By, "Who agreed? Write the name.".to_owned()));
        }
        if self.how.is_none() {
            wrong.push((Slot::How, "How was it agreed? Choose one.".to_owned()));
        }
        let named = !facts.paper.currency().is_empty();
        let currency = if named { String::new() } else { shop.currency.clone() };
        match (ceiling, self.how) {
            (Ok(ceiling), Some(how)) if wrong.is_empty() => {
                return Ok(Command::Authorise { by, how, ceiling, currency });
            }
            (Ok(_), _) => {}
            (Err(why), _) => wrong.push((Slot::Ceiling, why)),
        }
        Err(wrong)
    }
}

/// Returns an error in one line.
pub(super) fn told(error: &dyn std::error::Error) -> String {
    error.to_string().replace("\n  hint: ", "; ").replace("\nhint: ", "; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shop() -> Shop {
        let labour_per_hour = Some(Money::hundredths(6000));
        Shop { labour_per_hour, currency: "EUR".to_owned(), ..Shop::default() }
    }

    fn facts() -> PaperFacts {
        let work = Some(("solder the jack".to_owned(), 20));
        PaperFacts { advised: work.clone(), done: work, ..PaperFacts::default() }
    }

    #[test]
    fn what_is_proposed_is_priced_by_its_minutes() {
        let form = PriceForm::estimate(&facts(), &shop());
        assert_eq!(form.total(), Some(Money::hundredths(2000)));
        let Ok(Command::Estimate(made)) = form.estimated() else { panic!("{form:?}") };
        assert_eq!((made.ceiling, made.currency.as_str()), (Money::hundredths(2000), "EUR"));
        assert_eq!(PriceForm::bill(&facts(), &shop()).total(), Some(Money::hundredths(2000)));
    }

    #[test]
    fn everything_that_is_wrong_is_told_at_its_field() {
        let part = LineForm {
            part: true,
            what: "jack".to_owned(),
            price: "cheap".to_owned(),
            ..LineForm::default()
        };
        let long = LineForm::work("solder", 99_999);
        let form = PriceForm {
            lines: vec![LineForm::default(), part, long],
            per_hour: "60".to_owned(),
            ..PriceForm::default()
        };
        let slots: Vec<Slot> = form.read().unwrap_err().into_iter().map(|(slot, _)| slot).collect();
        assert_eq!(slots, [Slot::Minutes(0), Slot::Price(1), Slot::Minutes(2)]);
        let low = PriceForm { ceiling: "19.99".to_owned(), ..PriceForm::estimate(&facts(), &shop()) };
        let wrong = low.estimated().unwrap_err();
        assert!(matches!(&wrong[..], [(Slot::Ceiling, why)] if why.contains("20.00 EUR")), "{wrong:?}");
        let unpriced = PriceForm { per_hour: String::new(), ..PriceForm::estimate(&facts(), &shop()) };
        assert_eq!(unpriced.read().unwrap_err()[0].0, Slot::Price(0));
    }

    #[test]
    fn a_recorded_line_is_typed_back_as_it_was() {
        let rate = Rate::of(&shop(), None);
        let lines = [
            PriceLine {
                minutes: 20,
                labour: Money::hundredths(2000),
                ..part_line("solder", Money::default())
            },
            PriceLine { minutes: 5, labour: Money::hundredths(100), ..part_line("clean", Money::default()) },
            part_line("jack", Money::hundredths(850)),
        ];
        let form = PriceForm::of(&lines, &rate);
        assert_eq!(form.lines[0].price, "", "by its minutes");
        assert_eq!(form.read().unwrap().0, lines);
    }

    #[test]
    fn consent_needs_a_name_and_more_than_nothing() {
        let form = |by: &str, ceiling: &str| {
            let how = Some(Consent::Telephone);
            let form = ConsentForm { by: by.to_owned(), how, ceiling: ceiling.to_owned() };
            form.authorised(&facts(), &shop())
        };
        assert!(
            matches!(form("the owner", "80"), Ok(Command::Authorise { currency, .. }) if currency == "EUR")
        );
        let slots = |wrong: Vec<Wrong>| wrong.into_iter().map(|(slot, _)| slot).collect::<Vec<_>>();
        assert_eq!(slots(form(" ", "0").unwrap_err()), [Slot::By, Slot::Ceiling]);
        let known = PaperFacts { customer: "the owner".to_owned(), ..facts() };
        let preset = ConsentForm::of(&known);
        assert_eq!((preset.by.as_str(), preset.how), ("the owner", None));
        let open = ConsentForm { ceiling: "80".to_owned(), ..preset };
        assert_eq!(slots(open.authorised(&known, &shop()).unwrap_err()), [Slot::How]);
    }

    #[test]
    fn what_is_typed_is_never_replaced() {
        let mut draft = Draft::default();
        draft.renew("proposed".to_owned());
        draft.now.push('!');
        draft.renew("another".to_owned());
        assert!(draft.touched() && draft.now == "proposed!");
        draft.sent();
        draft.renew("another".to_owned());
        assert_eq!(draft.now, "another");
    }
}
