//! The window; the only place that knows egui.
//!
//! Panels read the [`View`](crate::workbench::View) and push [`Action`]s; [`App`] alone carries them out, in
//! `logic`, before the next frame is drawn. What a person has typed but not sent lives on the [`Desk`].
//! The rest of the program is reached through [`Bench`], the file dialogs through [`Dialogs`].

mod action;
mod app;
mod audit;
mod audit_desk;
mod bench;
mod busy;
mod closer;
mod count;
mod crew;
mod desk_bench;
mod entry;
mod far;
mod finish;
mod hands_free;
mod job;
mod keeper;
mod keys;
mod opening;
mod overlay;
mod own;
mod past;
mod past_desk;
mod past_figures;
mod past_read;
mod past_replay;
mod picture;
mod picture_desk;
mod picture_own;
mod picture_view;
mod practice;
mod practice_desk;
mod practice_make;
mod practice_naming;
mod practice_review;
mod readings;
mod recall;
mod scale;
mod scene;
mod sending;
mod shelf;
mod spoken;
mod start;
mod step;
mod suspects;
mod task;
mod telephone;
mod telling;
mod theme;
mod tree_change;
mod tree_check;
mod tree_desk;
mod tree_findings;
mod tree_past;
mod tree_shelf;
mod tree_step;
mod tree_view;
mod trees;
mod verdict;
mod voice;
mod widgets;
mod words;
mod worker;

pub use action::{Action, AuditAction, AuditDesk, Desk, Framing, Look, Overlay, Pane, RepairForm, Spot};
pub use app::App;
pub use bench::{
    Bench, Dialogs, MeterChoice, NativeDialogs, OwnFile, StartForm, TICKETS_VARIABLE, WiringChoice,
};
pub use closer::Closer;
pub use count::{Count, Counting};
pub use desk_bench::{DeskBench, usual_folder};
pub use hands_free::{DOUBLE, Hands, LONG, PEDALS, Pedal, Press, Switch, TARGET, meaning};
pub use keys::{SHORTCUTS, Shortcut};
pub use opening::{UiError, open, run};
pub use own::{Own, OwnDesk};
pub use past_desk::{PastAction, PastDesk, PastForm, PastPage, Rerun};
pub use picture_desk::{Choice, OwnProbes, Probing};
pub use practice_desk::{Bout, Hold, Naming, NextProbe, PracticeAction, PracticeDesk};
pub use recall::TakenOver;
pub use spoken::{read_back, spoken};
pub use task::{Busy, Done, Task, Wake};
pub use theme::{DARK, LIGHT, Tokens, contrast};
pub use tree_change::{Change, Detour, Proposal, propose};
pub use tree_past::TreePast;
pub use tree_shelf::{TreeChoice, TreeShelf};
pub use tree_view::{Drawn, TreeLook};
pub use trees::{TreePane, TreePaper, TreesAction, TreesDesk};
pub use voice::{NativeVoice, Voice};
