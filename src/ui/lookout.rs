//! Watches the folders of own wirings and trees beside the window, and wakes it only when a file came, went or changed.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use egui::Context;

use super::bench::Bench;
use super::task::Wake;
use crate::session::{OwnFolder, OwnTrees, Stamps, TreeStamps};

/// The time between two looks at the folders; only names, sizes and times of files are read.
const EVERY: Duration = Duration::from_secs(2);
/// The time until a look that is under way is asked for.
const SOON: Duration = Duration::from_millis(100);

/// What is watched.
struct Places {
    wirings: OwnFolder,
    trees: OwnTrees,
}

impl Places {
    fn stamps(&self) -> (Stamps, TreeStamps) {
        (self.wirings.stamps(), self.trees.stamps())
    }
}

/// Says when the folders are to be looked at.
///
/// Until it begins to watch beside the window, that is every few seconds of the window's clock.
#[derive(Default)]
pub(super) struct Lookout {
    watch: Option<Watch>,
    looked: f64,
}

/// A watch over the folders; it ends when this is dropped.
struct Watch {
    seen: Arc<AtomicBool>,
    _stop: Sender<()>,
}

impl Lookout {
    /// Begins to watch; `wake` is called when something has changed.
    pub fn begin(&mut self, wirings: OwnFolder, trees: OwnTrees, wake: Wake) {
        let seen = Arc::new(AtomicBool::new(false));
        let (stop, stopped) = channel();
        let (places, flag) = (Places { wirings, trees }, Arc::clone(&seen));
        thread::spawn(move || watch_over(&places, &stopped, &flag, &wake));
        self.watch = Some(Watch { seen, _stop: stop });
    }

    /// Returns whether the folders are to be looked at now, in seconds of the window's clock.
    pub fn is_time(&mut self, now: f64) -> bool {
        if let Some(watch) = &self.watch {
            return watch.seen.swap(false, Ordering::Relaxed);
        }
        let is_time = now - self.looked >= EVERY.as_secs_f64();
        self.looked = if is_time { now } else { self.looked };
        is_time
    }
}

fn watch_over(places: &Places, stopped: &Receiver<()>, seen: &AtomicBool, wake: &Wake) {
    let mut known = None;
    while stopped.recv_timeout(EVERY) == Err(RecvTimeoutError::Timeout) {
        let now = Some(places.stamps());
        // The first time everything is looked at once more: it may have changed since it was read.
        if now != known {
            known = now;
            seen.store(true, Ordering::Relaxed);
            wake();
        }
    }
}

/// Takes in what has changed of own wirings and trees, on whatever screen.
pub(super) fn watch(ctx: &Context, bench: &mut dyn Bench) {
    let under_way = bench.look_around(ctx.input(|input| input.time));
    if under_way && bench.wake().is_some() {
        ctx.request_repaint_after(SOON);
    }
}
