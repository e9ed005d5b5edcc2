//! The picture of the moment, drawn anew only when what it shows has changed.

use super::action::{Desk, Look};
use super::app::asked;
use super::bench::Bench;
use super::closer;
use crate::draw::{Picture, Sight};

/// The picture of the moment.
#[derive(Default)]
pub(super) struct Scene {
    shows: Option<Shows>,
    picture: Option<Picture>,
}

/// What a picture was drawn of.
#[derive(PartialEq)]
struct Shows {
    /// The revision of the job, the suspect that is open, the proof reading that is taken again.
    moment: (u64, Option<String>, Option<usize>),
    sight: Sight,
    /// Where a person's own probes are.
    probes: Option<(String, String)>,
}

impl Shows {
    fn now(bench: &dyn Bench, desk: &Desk) -> Self {
        let own = desk.own_probes.as_ref().map(|own| &own.measurement);
        Self {
            moment: (bench.revision(), desk.unfolded.clone(), desk.reprove),
            sight: bench.sight(),
            probes: own.map(|own| (own.red.clone(), own.black.clone())),
        }
    }
}

impl Scene {
    /// Returns the picture.
    pub(super) fn picture(&self) -> Option<&Picture> {
        self.picture.as_ref()
    }

    /// Draws it anew if it would look different now.
    pub(super) fn refresh(&mut self, bench: &dyn Bench, desk: &mut Desk) {
        let shows = Shows::now(bench, desk);
        if self.shows.as_ref() == Some(&shows) {
            return;
        }
        desk.sight = shows.sight;
        self.picture = drawn(bench, desk);
        if self.shows.as_ref().is_none_or(|before| before.moment != shows.moment) {
            desk.detour = bench.detour();
            desk.look = Look::at(desk.look.framing);
        }
        self.shows = Some(shows);
    }
}

/// Draws the wiring with a person's own probes in it, or else those of what is asked for.
fn drawn(bench: &dyn Bench, desk: &Desk) -> Option<Picture> {
    let view = bench.view()?;
    let own = desk.own_probes.as_ref().map(|own| &own.measurement);
    let probes = own.or_else(|| asked(view, desk));
    bench.picture(probes, &closer::marked(view, desk.unfolded.as_deref()))
}
