//! What tells wirings apart, worked out beside the window so that it goes on meanwhile.

use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use crate::circuit::Harness;
use crate::readings::Meter;
use crate::workbench::{Telling, tell_apart};

/// What tells some wirings apart, or the message to show when it cannot be worked out.
type Told = Result<Vec<Telling>, String>;

/// Wirings that are being told apart.
pub(super) struct Teller {
    names: Vec<String>,
    told: Receiver<Told>,
}

impl Teller {
    /// Begins to tell wirings of these names apart.
    pub fn new(names: &[String], wirings: Vec<Harness>) -> Self {
        let (sender, told) = channel();
        thread::spawn(move || {
            let told = tell_apart(&wirings, Meter::ordinary()).map_err(|error| error.to_string());
            // Nobody listens any more when something else was counted meanwhile.
            let _ = sender.send(told);
        });
        Self { names: names.to_vec(), told }
    }

    /// Returns whether it is these that are told apart.
    pub fn is_for(&self, names: &[String]) -> bool {
        self.names == names
    }

    /// Returns what tells them apart, once it is worked out.
    pub fn told(&self) -> Option<Told> {
        match self.told.try_recv() {
            Ok(told) => Some(told),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => Some(Err("it could not be worked out".to_owned())),
        }
    }
}
