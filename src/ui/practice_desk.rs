//! Carries out what the practice bench asks for.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

use egui::Context;

use super::action::{Desk, Look, Spot};
use super::bench::Bench;
use super::picture_desk;
use super::practice_hold::Hold;
use super::practice_make::{Arriving, arrived, begin};
use crate::circuit::PlaceId;
use crate::draw::{Marks, Picture, Plan, Sight};
use crate::practice::{Difficulty, Played, Practice, Progress, Review, ReviewStep, UPDATE};
use crate::readings::{Measurement, Mode};
use crate::session::PracticeFile;
use crate::workbench::answer_in_words;

/// How long to wait before asking again whether something is worked out.
const SOON: Duration = Duration::from_millis(50);

/// One thing asked for at the practice bench.
#[derive(Clone, Debug, PartialEq)]
pub enum PracticeAction {
    /// Open it.
    Open,
    /// Go back to the first screen.
    Close,
    /// Hide a fault.
    Begin,
    /// Go back to the choice of levels.
    Again,
    /// A terminal was touched in the picture.
    Touch(String),
    /// The body of the part of this name was clicked in the picture.
    Offer(String),
    /// See the wiring another way.
    See(Sight),
    /// A conductor was pointed at in the picture.
    Point(String),
    /// Put the probes on as they are chosen.
    Measure,
    /// Note what stands in the note line.
    Note,
    /// Listen as the question with this number asks.
    Listen(usize),
    /// Look at the part of this name.
    Look(String),
    /// Show the leading suspects.
    Hint,
    /// Begin to name what is wrong, or go back to measuring.
    Naming(bool),
    /// Choose a fault by its id, or take it back.
    Choose(String),
    /// Name what is chosen.
    Conclude,
    /// Give up.
    GiveUp,
}

/// What is being named.
#[derive(Clone, Debug, Default)]
pub struct Naming {
    /// The words that are searched for.
    pub search: String,
    /// The terminal or conductor that was pointed at in the picture.
    pub place: Option<String>,
    /// The ids that are chosen.
    pub chosen: Vec<String>,
    /// Whether it was named once and only has to be said for sure.
    pub sure: bool,
}

/// One instrument on the practice bench.
#[derive(Clone, Debug)]
pub struct Bout {
    /// The hidden fault and all that was done.
    pub game: Rc<RefCell<Practice>>,
    /// How the meter is set.
    pub hands: Hold,
    /// When the probes were put on, in seconds of the window's clock.
    pub since: Option<f64>,
    /// What the last hint said, since the last reading.
    pub hints: Vec<String>,
    /// Whether a hint has just come and is to be brought into sight.
    pub hinted: bool,
    /// The part whose lugs are offered, by name.
    pub offered: Option<String>,
    /// How the wiring is looked at.
    pub sight: Sight,
    /// What is being named, while it is.
    pub naming: Option<Naming>,
    /// The picture, and the probes and steps that it was drawn for.
    pub picture: Option<(Drawn, Rc<Picture>)>,
    /// Both ways, once the program has played its own.
    pub review: Option<Result<Rc<Review>, String>>,
    put_by: Option<Naming>,
    /// The probes and the range that were read or tried last.
    tried: Option<(String, String, Option<usize>)>,
    playing: Option<Arriving<Vec<ReviewStep>>>,
    plan: Rc<Plan>,
}

/// What a picture was drawn for: red, black, lifted, how many places are open, and how it is looked at.
type Drawn = (String, String, Option<String>, usize, Sight);

/// The practice bench.
#[derive(Clone, Debug, Default)]
pub struct PracticeDesk {
    /// The level that is chosen.
    pub level: Option<Difficulty>,
    /// The wiring that the person picked; empty when the level picks one.
    pub wiring: String,
    /// The class of meter; empty for the ordinary one.
    pub meter: String,
    /// The number that decides what is hidden, as typed; empty for any.
    pub seed: String,
    /// What was played so far.
    pub progress: Progress,
    /// The instrument on the bench.
    pub bout: Option<Bout>,
    file: Option<PracticeFile>,
    making: Option<Arriving<Practice>>,
}

impl PracticeDesk {
    /// Returns the level that is chosen.
    pub fn level(&self) -> Difficulty {
        self.level.unwrap_or(Difficulty::First)
    }

    /// Returns whether an instrument is being made.
    pub fn is_making(&self) -> bool {
        self.making.is_some()
    }

    /// Returns how what is typed is to be read: whether something is moved, and the dial.
    pub(super) fn meaning(&self) -> Option<(bool, Mode)> {
        let game = self.bout.as_ref()?.game.borrow();
        game.placed().map(|(measurement, _)| (measurement.flex.is_some(), measurement.mode))
    }
}

impl Bout {
    fn new(game: Practice) -> Self {
        let plan = Rc::new(Plan::new(game.harness()));
        let hands = Hold::new(game.harness(), game.meter());
        Self {
            game: Rc::new(RefCell::new(game)),
            hands,
            since: None,
            hints: Vec::new(),
            hinted: false,
            offered: None,
            sight: Sight::default(),
            naming: None,
            picture: None,
            review: None,
            put_by: None,
            tried: None,
            playing: None,
            plan,
        }
    }
}

impl Bout {
    /// Returns whether both probes are on and were not read there yet.
    pub(super) fn unread(&self) -> bool {
        let hands = &self.hands;
        let tried = |(red, black, range): &(String, String, Option<usize>)| {
            *red == hands.red && *black == hands.black && *range == hands.range
        };
        self.naming.is_none() && hands.complete() && !self.tried.as_ref().is_some_and(tried)
    }

    /// Returns whether what is on the display is read where the probes are now.
    pub(super) fn shows_now(&self) -> bool {
        let game = self.game.borrow();
        let at = |m: &Measurement| m.red == self.hands.red && m.black == self.hands.black;
        game.placed().is_some_and(|(measurement, _)| at(measurement))
    }
}

/// Carries out one thing asked for.
pub(super) fn carry_out(ctx: &Context, bench: &dyn Bench, desk: &mut Desk, asked: PracticeAction) {
    let focus = match asked {
        PracticeAction::Touch(_) | PracticeAction::Point(_) => None,
        PracticeAction::Offer(_) | PracticeAction::See(_) => None,
        PracticeAction::Look(_) | PracticeAction::Listen(_) | PracticeAction::Choose(_) => None,
        PracticeAction::Close => Some(Spot::Start),
        _ => Some(Spot::Home),
    };
    (desk.problem, desk.told) = (None, None);
    match asked {
        PracticeAction::Open => open(bench, desk),
        PracticeAction::Close => {
            desk.practised = desk.practice.take();
            desk.entry.clear();
            desk.echo = None;
        }
        other => {
            let Some(mut own) = desk.practice.take() else { return };
            match at_the_bench(ctx, bench, desk, &mut own, other) {
                Ok(told) => desk.told = told,
                Err(problem) => desk.problem = Some(problem),
            }
            desk.practice = Some(own);
        }
    }
    desk.focus = focus.or(desk.focus);
}

fn open(bench: &dyn Bench, desk: &mut Desk) {
    if let Some(own) = desk.practised.take() {
        desk.practice = Some(own);
        return;
    }
    let mut file = bench.practice_file();
    let (progress, said) = file.as_mut().map(PracticeFile::read).unwrap_or_default();
    desk.problem = said;
    desk.entry.clear();
    desk.practice =
        Some(PracticeDesk { meter: desk.start.meter.clone(), progress, file, ..PracticeDesk::default() });
}

/// What is said, if anything, or why it cannot be done.
type Said = Result<Option<String>, String>;

fn at_the_bench(
    ctx: &Context,
    bench: &dyn Bench,
    desk: &mut Desk,
    own: &mut PracticeDesk,
    asked: PracticeAction,
) -> Said {
    match asked {
        PracticeAction::Begin => {
            own.making = Some(begin(bench, own)?);
            return Ok(None);
        }
        PracticeAction::Again => {
            (own.bout, own.making) = (None, None);
            desk.entry.clear();
            return Ok(None);
        }
        PracticeAction::Conclude | PracticeAction::GiveUp => return end(own, &asked),
        _ => {}
    }
    let Some(bout) = &mut own.bout else { return Ok(None) };
    match asked {
        PracticeAction::Touch(name) => {
            touch(bout, name);
            if bout.unread() {
                measure(ctx, bout, desk)?;
            }
        }
        PracticeAction::Offer(part) => bout.offered = Some(part),
        PracticeAction::See(sight) => {
            picture_desk::turn(&mut desk.look, bout.sight, sight);
            bout.sight = sight;
        }
        PracticeAction::Point(name) => point(bout, name),
        PracticeAction::Measure => measure(ctx, bout, desk)?,
        PracticeAction::Note => return note(bout, desk),
        PracticeAction::Listen(index) => return listen(bout, index),
        PracticeAction::Look(part) => return look(bout, &part),
        PracticeAction::Hint => hint(bout)?,
        PracticeAction::Naming(true) => {
            let known = bout.naming.take().or_else(|| bout.put_by.take());
            bout.naming = Some(Naming { sure: false, ..known.unwrap_or_default() });
        }
        PracticeAction::Naming(false) => bout.put_by = bout.naming.take().or_else(|| bout.put_by.take()),
        PracticeAction::Choose(id) => choose(bout, id),
        _ => {}
    }
    Ok(None)
}

fn touch(bout: &mut Bout, name: String) {
    bout.offered = None;
    match &mut bout.naming {
        Some(naming) => naming.place = Some(name),
        None => bout.hands.touch(name),
    }
}

fn point(bout: &mut Bout, name: String) {
    if let Some(naming) = &mut bout.naming {
        naming.place = Some(name);
    }
}

fn measure(ctx: &Context, bout: &mut Bout, desk: &mut Desk) -> Result<(), String> {
    if !bout.hands.complete() {
        return Err(
            "Put both probes on first: click two terminals, or choose them from the lists.".to_owned()
        );
    }
    bout.tried = Some((bout.hands.red.clone(), bout.hands.black.clone(), bout.hands.range));
    {
        let mut game = bout.game.borrow_mut();
        game.turn(bout.hands.range);
        game.measure(bout.hands.measurement()).map(|_| ()).map_err(|error| error.to_string())?;
    }
    bout.hints.clear();
    bout.since = Some(ctx.input(|input| input.time));
    desk.entry.clear();
    desk.echo = None;
    Ok(())
}

fn note(bout: &mut Bout, desk: &mut Desk) -> Said {
    let text = desk.entry.trim().to_owned();
    if text.is_empty() {
        return Err("Nothing is typed yet. What does the meter show?".to_owned());
    }
    if !bout.shows_now() {
        return Err("Nothing is read where the probes are: put both on before something is noted.".to_owned());
    }
    let found = bout.game.borrow_mut().note(&text).map_err(|error| error.to_string())?;
    bout.hints.clear();
    desk.entry.clear();
    desk.echo = None;
    Ok(Some(format!("Noted: {found}")))
}

fn listen(bout: &mut Bout, index: usize) -> Said {
    let mut game = bout.game.borrow_mut();
    let Some((words, mut measurement)) = game.questions().into_iter().nth(index) else { return Ok(None) };
    measurement.setting = bout.hands.setting.clone();
    let said = game.listen(&measurement).map_err(|error| error.to_string())?;
    bout.hints.clear();
    Ok(Some(format!("{words} {}.", answer_in_words(said))))
}

fn look(bout: &mut Bout, part: &str) -> Said {
    let seen = bout.game.borrow_mut().look(part).map_err(|error| error.to_string())?;
    Ok(Some(format!("Looked at: {seen}.")))
}

/// Shows a hint: at first what a healthy instrument reads, and the suspects only when another one is asked for.
fn hint(bout: &mut Bout) -> Result<(), String> {
    bout.hinted = true;
    if bout.hints.is_empty() {
        let here = bout.game.borrow_mut().hint_here().map_err(|error| error.to_string())?;
        bout.hints = vec![here, "The next hint names the leading suspects.".to_owned()];
        return Ok(());
    }
    let suspects = bout.game.borrow_mut().hint();
    let words = |share| super::words::percent(share);
    bout.hints = suspects.iter().map(|s| format!("{}: {}", words(s.probability), s.sentence)).collect();
    Ok(())
}

fn choose(bout: &mut Bout, id: String) {
    let most = bout.game.borrow().level().faults();
    let Some(naming) = &mut bout.naming else { return };
    naming.sure = false;
    if let Some(index) = naming.chosen.iter().position(|known| *known == id) {
        naming.chosen.remove(index);
        return;
    }
    naming.chosen.push(id);
    let old = naming.chosen.len().saturating_sub(most);
    naming.chosen.drain(..old);
}

/// Ends the search, and begins to play the program's way beside the window.
fn end(own: &mut PracticeDesk, asked: &PracticeAction) -> Said {
    let Some(bout) = &mut own.bout else { return Ok(None) };
    if let (PracticeAction::Conclude, Some(naming)) = (asked, &mut bout.naming)
        && !naming.chosen.is_empty()
        && !naming.sure
    {
        naming.sure = true;
        return Ok(None);
    }
    {
        let mut game = bout.game.borrow_mut();
        let chosen = bout.naming.as_ref().map(|naming| naming.chosen.clone()).unwrap_or_default();
        let ended = match asked {
            PracticeAction::GiveUp => game.give_up(),
            _ => game.conclude(&chosen),
        };
        ended.map_err(|error| error.to_string())?;
    }
    bout.naming = None;
    let closing = bout.game.borrow().closing();
    let (sender, playing) = channel();
    thread::spawn(move || {
        let _ = sender.send(closing.play().map_err(|error| error.to_string()));
    });
    bout.playing = Some(Rc::new(playing));
    count(own)
}

/// Adds what was played to the progress, on disk too.
fn count(own: &mut PracticeDesk) -> Said {
    let Some(bout) = &own.bout else { return Ok(None) };
    let game = bout.game.borrow();
    let played = Played {
        wiring: game.harness().name.clone(),
        found: game.verdict().is_some_and(|verdict| verdict.right),
        minutes: game.minutes(),
        bits: game.steps().iter().map(|step| step.bits).sum(),
        hints: game.hints(),
    };
    own.progress.add(game.level(), played);
    own.file.as_ref().map_or(Ok(()), |file| file.write(&own.progress))?;
    Ok(None)
}

/// Takes in what was made or played beside the window, and keeps the display going.
pub(super) fn watch(ctx: &Context, desk: &mut Desk) {
    let Some(own) = &mut desk.practice else { return };
    if let Some(making) = &own.making {
        match arrived(making) {
            None => ctx.request_repaint_after(SOON),
            Some(made) => {
                own.making = None;
                match made {
                    Ok(game) => own.bout = Some(Bout::new(game)),
                    Err(problem) => desk.problem = Some(problem),
                }
                desk.look = Look::at(desk.look.framing);
                desk.focus = Some(Spot::Home);
                ctx.request_repaint();
            }
        }
    }
    let Some(bout) = &mut own.bout else { return };
    if let Some(playing) = &bout.playing {
        match arrived(playing) {
            None => ctx.request_repaint_after(SOON),
            Some(played) => {
                let review = played.map(|steps| Rc::new(bout.game.borrow().review_with(steps)));
                (bout.review, bout.playing) = (Some(review), None);
                ctx.request_repaint();
            }
        }
    }
    if bout.game.borrow().placed().is_some() {
        ctx.request_repaint_after(Duration::from_millis(UPDATE / 4));
    }
}

/// Draws the picture anew when a probe has moved or a cover has come off.
pub(super) fn refresh(desk: &mut Desk) {
    let Some(bout) = desk.practice.as_mut().and_then(|own| own.bout.as_mut()) else { return };
    let game = bout.game.borrow();
    let (hands, opened) = (&bout.hands, &game.stand().opened);
    let shows = (hands.red.clone(), hands.black.clone(), hands.lifted.clone(), opened.len(), bout.sight);
    if bout.picture.as_ref().is_some_and(|(drawn, _)| *drawn == shows) {
        return;
    }
    let harness = game.harness();
    let closed = (0..harness.places.len()).map(PlaceId);
    let marks = Marks {
        red: harness.terminal(&hands.red),
        black: harness.terminal(&hands.black),
        suspects: Vec::new(),
        closed_places: closed.filter(|id| !harness[*id].outside && !opened.contains(id)).collect(),
        lifted: hands.lifted.as_deref().and_then(|name| harness.lifted(name)),
    };
    let drawn = Rc::new(bout.plan.seen(bout.sight).picture(harness, &marks));
    drop(game);
    bout.picture = Some((shows, drawn));
}
