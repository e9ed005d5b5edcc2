//! Takes written text apart into figures, power of ten and the letters after them.

/// A written number before its letters have a meaning.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Scan {
    /// Whether a minus stands before it.
    pub(super) negative: bool,
    /// All figures in order, without the decimal mark.
    pub(super) figures: String,
    /// The power of ten of the last figure, before any unit counts.
    pub(super) exponent: i32,
    /// Whether a decimal point or comma was written.
    pub(super) mark: bool,
    /// Whether a power of ten was written, as in `7.6e3`.
    pub(super) power: bool,
    /// The letters, with the spaces taken out: `kΩ` in `7.6 kΩ`, `k` in `4k7`.
    pub(super) tail: String,
}

/// Why text cannot be taken apart.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Trouble {
    /// There is nothing.
    Empty,
    /// It is not a number.
    NotANumber,
    /// A comma that may part off thousands.
    CommaUnclear,
}

impl Scan {
    /// Returns the number, times ten to the power `shift`.
    pub(super) fn number(&self, shift: i32) -> f64 {
        let exponent = self.exponent.saturating_add(shift);
        format!("{}e{exponent}", self.figures).parse().unwrap_or(f64::INFINITY)
    }

    /// Returns the worth of the last figure, times ten to the power `shift`.
    pub(super) fn resolution(&self, shift: i32) -> f64 {
        let exponent = self.exponent.saturating_add(shift);
        format!("1e{exponent}").parse().unwrap_or(f64::INFINITY)
    }

    /// Returns whether every figure is a nought.
    pub(super) fn is_zero(&self) -> bool {
        self.figures.bytes().all(|b| b == b'0')
    }

    /// Returns whether figures stand alone: no mark, no power of ten, no letters.
    pub(super) fn is_bare_integer(&self) -> bool {
        !self.mark && !self.power && self.tail.is_empty()
    }
}

/// Takes `text` apart.
pub(super) fn scan(text: &str) -> Result<Scan, Trouble> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Trouble::Empty);
    }
    let (negative, rest) = sign(text);
    let (whole, rest) = figures(rest);
    let (mark, fraction, rest) = fraction(rest);
    check_comma(mark, whole, fraction)?;
    let has_figures = !(whole.is_empty() && fraction.is_empty());
    if mark.is_some() && !has_figures {
        return Err(Trouble::NotANumber);
    }
    let (power, rest) = if has_figures { power(rest)? } else { (None, rest) };
    let letter_may_part = mark.is_none() && power.is_none();
    let (infix, tail) = letters(rest, letter_may_part)?;
    if !has_figures && infix.is_empty() {
        return Err(Trouble::NotANumber);
    }
    Ok(Scan {
        negative,
        figures: format!("{whole}{fraction}{infix}"),
        exponent: power.unwrap_or(0).saturating_sub(count(fraction)).saturating_sub(count(infix)),
        mark: mark.is_some(),
        power: power.is_some(),
        tail,
    })
}

fn count(figures: &str) -> i32 {
    figures.bytes().map(|_| 1).sum()
}

fn sign(text: &str) -> (bool, &str) {
    match text.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    }
}

fn figures(text: &str) -> (&str, &str) {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    text.split_at(end)
}

fn fraction(text: &str) -> (Option<char>, &str, &str) {
    let Some(mark) = text.chars().next().filter(|c| matches!(c, '.' | ',')) else {
        return (None, "", text);
    };
    let (fraction, rest) = figures(&text[mark.len_utf8()..]);
    (Some(mark), fraction, rest)
}

fn check_comma(mark: Option<char>, whole: &str, fraction: &str) -> Result<(), Trouble> {
    let thousands = fraction.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    if mark == Some(',') && thousands {
        return Err(Trouble::CommaUnclear);
    }
    Ok(())
}

fn power(text: &str) -> Result<(Option<i32>, &str), Trouble> {
    let Some(rest) = text.strip_prefix(['e', 'E']) else {
        return Ok((None, text));
    };
    let (negative, digits) = match rest.strip_prefix('-') {
        Some(digits) => (true, digits),
        None => (false, rest.strip_prefix('+').unwrap_or(rest)),
    };
    let (digits, after) = figures(digits);
    if digits.is_empty() {
        return Ok((None, text));
    }
    let size: i32 = digits.parse().or(Err(Trouble::NotANumber))?;
    Ok((Some(if negative { -size } else { size }), after))
}

/// Splits what follows the figures into the figures behind a letter (`7` in `4k7`) and the letters.
fn letters(text: &str, letter_may_part: bool) -> Result<(&str, String), Trouble> {
    let (infix, tail) = match text.chars().next().filter(|c| c.is_alphabetic()) {
        Some(letter) if letter_may_part => {
            let (infix, after) = figures(&text[letter.len_utf8()..]);
            (infix, format!("{letter}{after}"))
        }
        _ => ("", text.to_owned()),
    };
    let tail: String = tail.chars().filter(|c| !c.is_whitespace()).collect();
    if tail.chars().any(|c| !(c.is_alphabetic() || matches!(c, '%' | '°'))) {
        return Err(Trouble::NotANumber);
    }
    Ok((infix, tail))
}
