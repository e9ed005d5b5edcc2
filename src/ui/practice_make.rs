//! Wires up an instrument for the practice bench beside the window, so that it goes on meanwhile.

use std::rc::Rc;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;
use std::time::{SystemTime, UNIX_EPOCH};

use super::bench::{Bench, WiringChoice};
use super::practice_desk::PracticeDesk;
use crate::circuit::{self, Harness};
use crate::practice::{Difficulty, Practice};
use crate::readings::Meter;
use crate::source::Source;
use crate::workbench::Engine;

/// What a thread will send.
pub(super) type Arriving<T> = Rc<Receiver<Result<T, String>>>;

/// Hides a fault beside the window, in the wiring that was picked or in one of the level.
pub(super) fn begin(bench: &dyn Bench, own: &PracticeDesk) -> Result<Arriving<Practice>, String> {
    let level = own.level();
    let typed = own.seed.trim();
    let seed = match typed {
        "" => any_seed(),
        text => text.parse::<u64>().map_err(|why| format!("\"{text}\" is no whole number: {why}"))?,
    };
    let source = match own.wiring.as_str() {
        "" => picked(level, seed)?,
        name => text_of(bench, name).ok_or_else(|| format!("there is no wiring \"{name}\""))?,
    };
    let meter = Meter::named(&own.meter).unwrap_or_else(Meter::ordinary);
    let (sender, made) = channel();
    thread::spawn(move || {
        let engine = Engine::new(&source, meter, &[]).map(Arc::new).map_err(|error| error.to_string());
        let hide =
            |engine: Arc<Engine>| Practice::new(&engine, level, seed).map_err(|error| error.to_string());
        // Nobody listens any more when the screen was left.
        let _ = sender.send(engine.and_then(hide));
    });
    Ok(Rc::new(made))
}

/// Returns a number that is another one each time.
fn any_seed() -> u64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    since.as_secs().wrapping_mul(1_000_000_007) ^ u64::from(since.subsec_nanos())
}

/// Draws a wiring of the level from those that come with the program.
fn picked(level: Difficulty, seed: u64) -> Result<Source, String> {
    let all: Vec<Source> = circuit::built_in().iter().map(|(name, text)| Source::new(*name, *text)).collect();
    let loaded: Vec<(Harness, &Source)> =
        all.iter().filter_map(|source| Some((circuit::load(source).ok()?, source))).collect();
    let harnesses: Vec<Harness> = loaded.iter().map(|(harness, _)| harness.clone()).collect();
    let found = level.pick(&harnesses, seed).and_then(|index| loaded.get(index));
    found.map(|(_, source)| (*source).clone()).ok_or_else(|| "no wiring belongs to this level".to_owned())
}

fn text_of(bench: &dyn Bench, name: &str) -> Option<Source> {
    let file = format!("{name}.ron");
    let built_in = circuit::built_in().iter().find(|(known, _)| *known == file);
    let built_in = built_in.map(|(known, text)| Source::new(*known, *text));
    let called = |choice: &WiringChoice| choice.name == name;
    let own = || bench.own_files().iter().find(|own| own.wiring.as_ref().is_ok_and(called));
    built_in.or_else(|| own().map(|own| Source::new(own.name(), own.text.as_str())))
}

/// Returns what a thread has sent; `None` while it is at work.
pub(super) fn arrived<T>(from: &Receiver<Result<T, String>>) -> Option<Result<T, String>> {
    match from.try_recv() {
        Ok(sent) => Some(sent),
        Err(TryRecvError::Empty) => None,
        Err(TryRecvError::Disconnected) => Some(Err("it could not be worked out".to_owned())),
    }
}
