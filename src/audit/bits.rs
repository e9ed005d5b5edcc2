//! Sets of small numbers.

/// A set of numbers below a size that is fixed when it is made.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bits(Vec<u64>);

impl Bits {
    /// Returns the empty set for numbers below `size`.
    pub fn new(size: usize) -> Self {
        Self(vec![0; size.div_ceil(64)])
    }

    /// Returns the set of some numbers below `size`.
    pub fn of(size: usize, members: impl IntoIterator<Item = usize>) -> Self {
        let mut set = Self::new(size);
        members.into_iter().for_each(|member| set.insert(member));
        set
    }

    /// Puts a number in.
    pub fn insert(&mut self, member: usize) {
        self.0[member / 64] |= 1 << (member % 64);
    }

    /// Takes a number out.
    pub fn remove(&mut self, member: usize) {
        self.0[member / 64] &= !(1 << (member % 64));
    }

    /// Returns whether a number is in.
    pub fn holds(&self, member: usize) -> bool {
        self.0[member / 64] >> (member % 64) & 1 == 1
    }

    /// Returns how many numbers are in.
    pub fn count(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// Returns whether nothing is in.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|word| *word == 0)
    }

    /// Returns how many numbers are in both.
    pub fn shared(&self, other: &Self) -> usize {
        self.0.iter().zip(&other.0).map(|(a, b)| (a & b).count_ones() as usize).sum()
    }

    /// Returns whether every number is in the other set too.
    pub fn within(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).all(|(a, b)| a & !b == 0)
    }

    /// Puts in every number of another set.
    pub fn add(&mut self, other: &Self) {
        self.0.iter_mut().zip(&other.0).for_each(|(a, b)| *a |= b);
    }

    /// Returns the numbers that are not in the other set.
    pub fn without(&self, other: &Self) -> Self {
        Self(self.0.iter().zip(&other.0).map(|(a, b)| a & !b).collect())
    }

    /// Returns the numbers that are in both.
    pub fn both(&self, other: &Self) -> Self {
        Self(self.0.iter().zip(&other.0).map(|(a, b)| a & b).collect())
    }

    /// Returns the numbers, the smallest first.
    pub fn iter(&self) -> impl Iterator<Item = usize> {
        self.0.iter().enumerate().flat_map(|(index, &word)| {
            (0..64).filter(move |bit| word >> bit & 1 == 1).map(move |bit| index * 64 + bit)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::Bits;

    #[test]
    fn numbers_go_in_and_come_out() {
        let mut set = Bits::of(130, [0, 63, 64, 129]);
        assert_eq!(set.iter().collect::<Vec<_>>(), [0, 63, 64, 129]);
        assert_eq!((set.count(), set.holds(64), set.holds(65)), (4, true, false));
        set.remove(63);
        let other = Bits::of(130, [0, 5, 64, 129]);
        assert!(set.within(&other) && !other.within(&set));
        assert_eq!(other.without(&set).iter().collect::<Vec<_>>(), [5]);
        assert_eq!((other.shared(&set), other.both(&set)), (3, set));
    }
}
