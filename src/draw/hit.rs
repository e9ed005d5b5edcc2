//! What can be pointed at in a picture, and the way from one terminal to the next.

use super::Picture;
use super::Point;
use super::shape::distance;
use crate::circuit::{LinkId, PartId, TerminalId};

/// How close to the middle of a wire's spot a pointer means the wire and not a part that lies there.
const ON_A_WIRE: f32 = 12.0;
/// How much dearer a step aside is than one ahead, on the way to the next terminal.
const ASIDE: f32 = 2.0;

/// A spot that can be pointed at.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// Its centre.
    pub at: Point,
    /// How far from the centre a pointer still counts.
    pub radius: f32,
    /// Half the width and height of a part's body, all of which counts.
    pub half: Option<(f32, f32)>,
    /// The terminal there.
    pub terminal: Option<TerminalId>,
    /// The link that runs there.
    pub link: Option<LinkId>,
    /// The part that lies there.
    pub part: Option<PartId>,
    /// Its name in files, such as `neck-volume.lug3`.
    pub name: String,
    /// What a person calls it; a wire with both its ends.
    pub label: String,
    /// Where a part can be reached; empty for all else.
    pub place: String,
    /// What helps to find it, such as how a pot is held; empty for most.
    pub help: &'static str,
    /// Whether a probe can be put on it.
    pub probe: bool,
}

impl Hit {
    /// Returns what a person calls it, and below that what helps to find it.
    pub fn told(&self) -> String {
        if self.help.is_empty() { self.label.clone() } else { format!("{}\n{}", self.label, self.help) }
    }

    /// Returns whether a pointer at `at` counts.
    pub fn reaches(&self, at: Point) -> bool {
        match self.half {
            Some((wide, high)) => (self.at.0 - at.0).abs() <= wide && (self.at.1 - at.1).abs() <= high,
            None => distance(self.at, at) <= self.radius,
        }
    }

    /// Returns which spot is meant first where several reach: terminals, wires right below, parts, wires nearby.
    fn rank(&self, at: Point) -> (u8, f32) {
        let far = distance(self.at, at);
        let rank = match (self.terminal, self.link) {
            (Some(_), _) => 0,
            (None, Some(_)) if far <= ON_A_WIRE => 1,
            (None, None) => 2,
            (None, Some(_)) => 3,
        };
        (rank, far)
    }
}

impl Picture {
    /// Returns the spot that a pointer at `at` means: the nearest whose radius reaches; a terminal wins over a link.
    pub fn hit(&self, at: Point) -> Option<&Hit> {
        let order = |a: &&Hit, b: &&Hit| {
            let (a, b) = (a.rank(at), b.rank(at));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
        };
        self.hits.iter().filter(|hit| hit.reaches(at)).min_by(order)
    }

    /// Returns the nearest terminal that lies from `from` in the direction `way`, a step along one axis.
    pub fn next_terminal(&self, from: Point, way: Point) -> Option<&Hit> {
        let cost = |hit: &Hit| {
            let (dx, dy) = (hit.at.0 - from.0, hit.at.1 - from.1);
            let (ahead, aside) = (dx * way.0 + dy * way.1, (dx * way.1 - dy * way.0).abs());
            (ahead > 1.0).then_some(ahead + ASIDE * aside)
        };
        let terminals = self.hits.iter().filter(|hit| hit.terminal.is_some());
        let ahead = terminals.filter_map(|hit| Some((cost(hit)?, hit)));
        ahead.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, hit)| hit)
    }

    /// Returns each thing that has a name once: the terminals, the middles of the links, the parts.
    pub fn named(&self) -> impl Iterator<Item = &Hit> {
        let first = move |index: usize, hit: &Hit| {
            hit.link.is_none()
                || index == 0
                || self.hits.get(index - 1).is_none_or(|before| before.link != hit.link)
        };
        self.hits.iter().enumerate().filter(move |(index, hit)| first(*index, hit)).map(|(_, hit)| hit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn terminal(id: usize, at: Point) -> Hit {
        Hit {
            at,
            radius: 16.0,
            half: None,
            terminal: Some(TerminalId(id)),
            link: None,
            part: None,
            name: format!("part.lug{id}"),
            label: format!("lug {id}"),
            place: String::new(),
            help: "",
            probe: true,
        }
    }

    fn wire(id: usize, at: Point) -> Hit {
        Hit { terminal: None, link: Some(LinkId(id)), radius: 25.0, ..terminal(id, at) }
    }

    fn body(at: Point, half: (f32, f32)) -> Hit {
        Hit { terminal: None, part: Some(PartId(0)), half: Some(half), ..terminal(0, at) }
    }

    fn picture(hits: Vec<Hit>) -> Picture {
        Picture { title: String::new(), about: String::new(), size: (400.0, 400.0), shapes: Vec::new(), hits }
    }

    // A cross of terminals around the middle, and one far to the right but nearly straight ahead.
    #[test]
    fn the_nearest_in_the_direction_is_next_and_none_behind() {
        let cross = [(100.0, 50.0), (150.0, 100.0), (100.0, 150.0), (50.0, 100.0), (180.0, 105.0)];
        let picture = picture(cross.iter().enumerate().map(|(id, at)| terminal(id, *at)).collect());
        let next = |way| picture.next_terminal((100.0, 100.0), way).and_then(|hit| hit.terminal);
        assert_eq!(next((0.0, -1.0)), Some(TerminalId(0)));
        assert_eq!(next((1.0, 0.0)), Some(TerminalId(1)));
        assert_eq!(next((0.0, 1.0)), Some(TerminalId(2)));
        assert_eq!(next((-1.0, 0.0)), Some(TerminalId(3)));
        assert_eq!(picture.next_terminal((190.0, 100.0), (1.0, 0.0)), None);
    }

    #[test]
    fn a_terminal_wins_over_a_wire_and_a_wire_right_below_over_a_part() {
        let hits = vec![terminal(0, (20.0, 20.0)), wire(1, (50.0, 20.0)), body((50.0, 50.0), (40.0, 40.0))];
        let picture = picture(hits);
        let found =
            |at| picture.hit(at).map(|hit| (hit.terminal.is_some(), hit.link.is_some(), hit.part.is_some()));
        assert_eq!(found((30.0, 20.0)), Some((true, false, false)));
        assert_eq!(found((50.0, 25.0)), Some((false, true, false)));
        assert_eq!(found((50.0, 40.0)), Some((false, false, true)));
        assert_eq!(found((300.0, 300.0)), None);
    }

    #[test]
    fn each_wire_is_named_once() {
        let hits =
            vec![wire(0, (0.0, 0.0)), wire(0, (50.0, 0.0)), wire(1, (0.0, 90.0)), wire(1, (50.0, 90.0))];
        let picture = picture(hits);
        let middles: Vec<Point> = picture.named().map(|hit| hit.at).collect();
        assert_eq!(middles, [(0.0, 0.0), (0.0, 90.0)]);
    }
}
