//! Which past jobs are meant: dates as they are typed, and the spans that have names. For window and shell alike.

use super::PastError;
use crate::archive::Filter;

/// Reads a year, a month or a day, as the beginning of a moment.
///
/// # Errors
///
/// Returns what was found and what is allowed.
pub fn past_date(text: &str) -> Result<String, String> {
    let wrong = || format!("\"{text}\" is no date; write 2026, 2026-03 or 2026-03-02");
    let shape: String = text.chars().map(|c| if c.is_ascii_digit() { 'd' } else { c }).collect();
    let whole = match shape.as_str() {
        "dddd" => format!("{text}-01-01"),
        "dddd-dd" => format!("{text}-01"),
        "dddd-dd-dd" => text.to_owned(),
        _ => return Err(wrong()),
    };
    whole.parse::<jiff::civil::Date>().map(|_| text.to_owned()).map_err(|_error| wrong())
}

/// Returns the moment before which a job was opened that belongs to a day, a month or a year.
pub fn past_until(date: &str) -> String {
    // All that begins with the date comes before this.
    format!("{date}~")
}

/// A span of days that has a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Span {
    /// The month of today.
    ThisMonth,
    /// The month before it.
    LastMonth,
    /// The year of today.
    ThisYear,
    /// From the first job to the last.
    All,
}

impl Span {
    /// Every span, in the order in which they are shown.
    pub const ALL: [Self; 4] = [Self::ThisMonth, Self::LastMonth, Self::ThisYear, Self::All];

    /// Returns its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ThisMonth => "This month",
            Self::LastMonth => "Last month",
            Self::ThisYear => "This year",
            Self::All => "All",
        }
    }

    /// Returns the date to put into both limits, for a moment such as that of [`super::moment`]; empty for no limit.
    pub fn date(self, moment: &str) -> String {
        let year = moment.get(..4).unwrap_or_default();
        match self {
            Self::ThisMonth => moment.get(..7).unwrap_or_default().to_owned(),
            Self::LastMonth => month_before(moment).unwrap_or_default(),
            Self::ThisYear => year.to_owned(),
            Self::All => String::new(),
        }
    }
}

fn month_before(moment: &str) -> Option<String> {
    let (year, month) = (moment.get(..4)?.parse::<u32>().ok()?, moment.get(5..7)?.parse::<u32>().ok()?);
    let (year, month) = if month > 1 { (year, month - 1) } else { (year.checked_sub(1)?, 12) };
    Some(format!("{year:04}-{month:02}"))
}

/// Returns the first and the last date of a row of jobs: a week by its Monday, or a month or a year.
pub fn week_from(date: &str) -> Option<(String, String)> {
    past_date(date).ok()?;
    if date.len() < "2026-03-02".len() {
        return Some((date.to_owned(), date.to_owned()));
    }
    let monday: jiff::civil::Date = date.parse().ok()?;
    let sunday = monday.checked_add(jiff::Span::new().try_days(6_i64).ok()?).ok()?;
    Some((date.to_owned(), sunday.to_string()))
}

/// Returns the day of a moment in words, such as `10 December 2025`; what is no moment comes back as it is.
pub fn day_in_words(moment: &str) -> String {
    let day = moment.get(..10).and_then(|day| day.parse::<jiff::civil::Date>().ok());
    day.map_or_else(|| moment.to_owned(), |day| day.strftime("%-d %B %Y").to_string())
}

/// Returns the words that go into a file name for the jobs of a filter, such as `-2026-03-to-2026-04-cured`.
pub fn limits_in_name(filter: &Filter) -> String {
    let until = filter.until.as_deref().map(|until| until.trim_end_matches('~').to_owned());
    let days = match (filter.from.clone(), until) {
        (Some(from), Some(to)) if from == to => Some(from),
        (Some(from), Some(to)) => Some(format!("{from} to {to}")),
        (Some(from), None) => Some(format!("from {from}")),
        (None, Some(to)) => Some(format!("to {to}")),
        (None, None) => None,
    };
    let more = [
        days,
        filter.technician.clone(),
        filter.wiring.clone(),
        filter.complaint.map(|complaint| complaint.name().to_owned()),
        filter.ending.map(|ending| ending.name().to_owned()),
        filter.came_back.then(|| "came back".to_owned()),
        filter.renamed.then(|| "named differently".to_owned()),
        filter.common.as_ref().map(|(_, name)| name.clone()),
    ];
    more.into_iter().flatten().map(|part| format!("-{}", in_name(&part))).collect()
}

/// Returns text as letters, digits and hyphens, at most forty of them.
fn in_name(text: &str) -> String {
    let letter = |c: char| if c.is_alphanumeric() { c } else { '-' };
    let plain: String = text.trim().chars().map(letter).take(40).collect();
    plain.trim_matches('-').to_owned()
}

impl super::PastJobs {
    /// Returns how many jobs have lost their customer here and still have one in a backup.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when either cannot be read.
    pub fn names_in(&self, backup: &std::path::Path) -> Result<usize, PastError> {
        if !self.file()?.exists() {
            return Ok(0);
        }
        Ok(self.open()?.names_in(backup)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("2026", true)]
    #[case("2026-03", true)]
    #[case("2026-02-28", true)]
    #[case("2026-02-30", false)]
    #[case("2025-13", false)]
    #[case("12/2025", false)]
    #[case("last month", false)]
    #[case("' OR 1=1", false)]
    #[case("26-3-2", false)]
    fn a_date_is_a_year_a_month_or_a_day(#[case] text: &str, #[case] right: bool) {
        assert_eq!(past_date(text).is_ok(), right);
    }

    #[test]
    fn spans_are_those_of_the_calendar() {
        let dates = |moment: &str| Span::ALL.map(|span| span.date(moment));
        assert_eq!(dates("2026-01-31T09:00:00Z"), ["2026-01", "2025-12", "2026", ""]);
        assert_eq!(dates("2026-11-02T09:00:00Z"), ["2026-11", "2026-10", "2026", ""]);
    }

    #[test]
    fn a_week_ends_with_its_sunday_and_a_month_with_itself() {
        let span = |from: &str, to: &str| Some((from.to_owned(), to.to_owned()));
        assert_eq!(week_from("2025-12-29"), span("2025-12-29", "2026-01-04"));
        assert_eq!(week_from("2025-12"), span("2025-12", "2025-12"));
        assert_eq!(week_from("unknown"), None);
    }

    #[test]
    fn a_day_is_told_in_words() {
        assert_eq!(day_in_words("2025-12-10T08:00:00Z"), "10 December 2025");
        assert_eq!(day_in_words("some day"), "some day");
    }

    #[test]
    fn limits_make_a_file_name_that_leads_nowhere() {
        let filter = Filter {
            from: Some("2026-03".to_owned()),
            until: Some(past_until("2026-03")),
            technician: Some("../a b".to_owned()),
            ..Filter::default()
        };
        assert_eq!(limits_in_name(&filter), "-2026-03-a-b");
        assert_eq!(limits_in_name(&Filter::default()), "");
    }
}
