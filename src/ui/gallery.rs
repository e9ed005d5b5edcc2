//! Small pictures of wirings: each is drawn once it is looked at, one after the other beside the window.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, OnceLock};
use std::thread;

use egui::{Rect, Ui, Vec2};

use super::action::Action;
use super::bench::Bench;
use super::picture;
use super::task::Wake;
use crate::circuit::Harness;
use crate::draw::{self, Picture};

/// The small picture of a wiring. To lay out all wirings takes longer than the first frame may.
#[derive(Clone)]
pub struct SmallPicture(Arc<Canvas>);

struct Canvas {
    harness: Harness,
    ordered: AtomicBool,
    drawn: OnceLock<Picture>,
}

impl SmallPicture {
    /// Returns the picture of a wiring, which is not drawn yet.
    pub fn of(harness: &Harness) -> Self {
        let (ordered, drawn) = (AtomicBool::new(false), OnceLock::new());
        Self(Arc::new(Canvas { harness: harness.clone(), ordered, drawn }))
    }

    /// Returns what was drawn; `None` until it is.
    pub fn drawn(&self) -> Option<&Picture> {
        self.0.drawn.get()
    }

    fn draw(&self) -> &Picture {
        self.0.drawn.get_or_init(|| draw::small_picture(&self.0.harness))
    }

    fn is_ordered(&self) -> bool {
        self.0.ordered.load(Ordering::Relaxed)
    }
}

impl PartialEq for SmallPicture {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl std::fmt::Debug for SmallPicture {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("SmallPicture").field(&self.0.harness.name).finish()
    }
}

/// Shows a picture as large as it fits into `size`, or its empty place until it is drawn; asks for it when it is seen.
pub(super) fn show(ui: &mut Ui, bench: &dyn Bench, small: &SmallPicture, size: Vec2, out: &mut Vec<Action>) {
    let seen = ui.is_rect_visible(Rect::from_min_size(ui.cursor().min, size));
    if seen && bench.wake().is_none() {
        small.draw();
    }
    match small.drawn() {
        Some(drawn) => {
            picture::fixed(ui, drawn, size);
        }
        None => {
            picture::empty(ui, &format!("picture of {}, not drawn yet", small.0.harness.title), size);
            if seen && !small.is_ordered() {
                out.push(Action::Draw(small.clone()));
            }
        }
    }
}

/// Draws small pictures beside the window, in the order in which they were asked for.
#[derive(Default)]
pub(super) struct Studio {
    orders: Option<Sender<SmallPicture>>,
}

impl Studio {
    /// Takes an order on, once; `wake` is called whenever one is done.
    pub(super) fn order(&mut self, small: SmallPicture, wake: Option<Wake>) {
        let Some(wake) = wake.filter(|_| !small.0.ordered.swap(true, Ordering::Relaxed)) else { return };
        let orders = self.orders.get_or_insert_with(|| begin(wake));
        // There is always somebody at work: what cannot be drawn is caught.
        let _ = orders.send(small);
    }
}

fn begin(wake: Wake) -> Sender<SmallPicture> {
    let (orders, taken) = channel::<SmallPicture>();
    thread::spawn(move || {
        for small in taken {
            // The place of a picture that cannot be drawn stays empty, and the others come all the same.
            let _ = catch_unwind(AssertUnwindSafe(|| {
                small.draw();
            }));
            wake();
        }
    });
    orders
}
