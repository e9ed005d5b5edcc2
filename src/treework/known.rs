//! Sets of the readings that are known on every path.

/// A set of small numbers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Known(Vec<u64>);

impl Known {
    pub fn insert(&mut self, number: usize) {
        let word = number / 64;
        if self.0.len() <= word {
            self.0.resize(word + 1, 0);
        }
        self.0[word] |= 1 << (number % 64);
    }

    pub fn contains(&self, number: usize) -> bool {
        self.0.get(number / 64).is_some_and(|word| word >> (number % 64) & 1 == 1)
    }

    /// Keeps what another set holds as well.
    pub fn meet(&mut self, other: &Self) {
        self.0.truncate(other.0.len());
        self.0.iter_mut().zip(&other.0).for_each(|(word, other)| *word &= other);
    }

    /// Returns the numbers in the set.
    pub fn numbers(&self) -> Vec<usize> {
        (0..64 * self.0.len()).filter(|number| self.contains(*number)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::Known;

    fn set(numbers: &[usize]) -> Known {
        let mut set = Known::default();
        numbers.iter().for_each(|number| set.insert(*number));
        set
    }

    #[test]
    fn what_is_known_on_two_paths_is_known_on_both() {
        let mut both = set(&[0, 63, 64, 200]);
        both.meet(&set(&[63, 64, 65]));
        assert_eq!(both.numbers(), [63, 64]);
        assert!(both.contains(64) && !both.contains(200) && !both.contains(0));
        both.meet(&Known::default());
        assert_eq!(both.numbers(), Vec::<usize>::new());
    }
}
