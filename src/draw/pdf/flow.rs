//! Puts strips of a document on pages, one below the other.

use super::strip::Strip;

/// One page: whether it lies, and what is on it from top to bottom.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Page {
    pub(super) lying: bool,
    pub(super) placed: Vec<Placed>,
}

/// A strip on a page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Placed {
    /// Which strip.
    pub(super) strip: usize,
    /// How far its top lies below the upper margin.
    pub(super) y: f32,
    /// Whether it is a table's head that was printed before.
    pub(super) repeated: bool,
}

/// Puts strips on pages; `high` is the room between the margins of a standing and of a lying page.
pub(super) fn pages(strips: &[Strip], high: [f32; 2]) -> Vec<Page> {
    let mut flow = Flow { strips, high, pages: vec![Page::default()], y: 0.0 };
    (0..strips.len()).for_each(|index| flow.place(index));
    flow.pages
}

struct Flow<'a> {
    strips: &'a [Strip],
    high: [f32; 2],
    pages: Vec<Page>,
    y: f32,
}

impl Flow<'_> {
    fn place(&mut self, index: usize) {
        let strip = &self.strips[index];
        if !self.fresh() && !self.fits(index) {
            self.pages.push(Page::default());
            self.y = 0.0;
        }
        if self.fresh() {
            self.last().lying = strip.lying;
            if let Some(head) = strip.head {
                self.put(head, true);
            }
            self.put(index, false);
        } else {
            self.y += strip.above;
            self.put(index, false);
        }
    }

    fn fresh(&self) -> bool {
        self.pages.last().is_none_or(|page| page.placed.is_empty())
    }

    fn last(&mut self) -> &mut Page {
        if self.pages.is_empty() {
            self.pages.push(Page::default());
        }
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    fn put(&mut self, strip: usize, repeated: bool) {
        let y = self.y;
        self.last().placed.push(Placed { strip, y, repeated });
        self.y += self.strips[strip].high;
    }

    /// Returns whether a strip fits below what is on the page, with all that must stay beside it.
    fn fits(&self, index: usize) -> bool {
        let strip = &self.strips[index];
        let same = self.pages.last().is_some_and(|page| page.lying == strip.lying);
        let high = self.high[usize::from(strip.lying)];
        let (room, run) = (high - self.y - strip.above, self.together(index));
        same && strip.high <= room && (run <= room || run > high)
    }

    /// Returns how high a strip is with the strips that it must not be parted from.
    fn together(&self, index: usize) -> f32 {
        let strips = &self.strips[index..];
        let kept = strips.iter().take_while(|strip| strip.keep).count();
        let rest = strips.iter().take(kept + 1).skip(1);
        strips[0].high + rest.map(|strip| strip.above + strip.high).sum::<f32>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const HIGH: [f32; 2] = [100.0, 60.0];

    fn strip(high: f32, above: f32, keep: bool) -> Strip {
        Strip { high, above, keep, ..Strip::default() }
    }

    fn numbers(pages: &[Page]) -> Vec<Vec<usize>> {
        pages.iter().map(|page| page.placed.iter().map(|placed| placed.strip).collect()).collect()
    }

    #[test]
    fn nothing_is_one_empty_page() {
        assert_eq!(pages(&[], HIGH), [Page::default()]);
    }

    #[test]
    fn a_heading_goes_with_what_it_is_above() {
        let strips = [strip(90.0, 0.0, false), strip(8.0, 0.0, true), strip(10.0, 0.0, false)];
        assert_eq!(numbers(&pages(&strips, HIGH)), [vec![0], vec![1, 2]]);
    }

    #[test]
    fn the_head_of_a_table_is_printed_again_on_its_next_page() {
        let row = || Strip { head: Some(0), ..strip(40.0, 0.0, false) };
        let strips = [strip(10.0, 0.0, true), row(), row(), row()];
        let pages = pages(&strips, HIGH);
        assert_eq!(numbers(&pages), [vec![0, 1, 2], vec![0, 3]]);
        assert!(pages[1].placed[0].repeated && !pages[1].placed[1].repeated);
        assert_eq!(pages[1].placed[1].y, 10.0);
    }

    #[test]
    fn what_lies_has_a_page_of_its_own() {
        let lying = Strip { lying: true, ..strip(50.0, 5.0, false) };
        let strips = [strip(10.0, 0.0, false), lying, strip(10.0, 5.0, false)];
        let pages = pages(&strips, HIGH);
        assert_eq!(numbers(&pages), [vec![0], vec![1], vec![2]]);
        assert_eq!(pages.iter().map(|page| page.lying).collect::<Vec<_>>(), [false, true, false]);
    }

    fn any_strips() -> impl Strategy<Value = Vec<Strip>> {
        let one = (1.0..30.0_f32, 0.0..9.0_f32, prop::bool::weighted(0.2), prop::bool::weighted(0.1));
        let strip = one.prop_map(|(high, above, keep, lying)| Strip { lying, ..strip(high, above, keep) });
        prop::collection::vec(strip, 0..60)
    }

    proptest! {
        #[test]
        fn every_strip_is_on_one_page_in_order_and_inside_it(strips in any_strips()) {
            let pages = pages(&strips, HIGH);
            let order: Vec<usize> = numbers(&pages).concat();
            prop_assert_eq!(order, (0..strips.len()).collect::<Vec<_>>());
            for page in &pages {
                let mut below = 0.0;
                for placed in &page.placed {
                    prop_assert!(placed.y >= below - 1e-3, "it lies on what is above it");
                    prop_assert_eq!(strips[placed.strip].lying, page.lying);
                    below = placed.y + strips[placed.strip].high;
                }
                prop_assert!(below <= HIGH[usize::from(page.lying)] + 1e-3, "it leaves the page");
            }
        }
    }
}
