//! How the instrument sounds: responses for whoever asks, and the leading suspect beside a healthy instrument.

use super::ToneView;
use super::engine::{Engine, EngineError};
use super::situation::Situation;
use super::suspects::{self, Ranked};
use crate::circuit::{Change, ControlKind, PartKind, PotRole};
use crate::faults::FaultId;
use crate::job::{Job, Tone, TonePoint};
use crate::prediction::{BODY, Behaviour, Difference, Load, Point, Response, Sounding, grid};
use crate::readings::{Setting, Stand};
use crate::units::{Hertz, uncertainty};

/// A healthy instrument that gives less than this, in volts for one volt in its coils, is turned down.
const INAUDIBLE: f64 = 1e-3;

/// What is to be heard: where the controls stand, what the instrument plays into, which coils sound.
#[derive(Clone, Debug, PartialEq)]
pub struct Listening {
    /// Where the controls stand.
    pub setting: Setting,
    /// The cable and the amplifier's input.
    pub load: Load,
    /// The names of the parts that sound; all coils when empty.
    pub sources: Vec<String>,
    /// The frequencies, in rising order.
    pub hertz: Vec<Hertz>,
}

impl Engine {
    /// Returns what reaches the cable's end, healthy or under a fault; of a fault of unknown size, the middle one.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when there is no such fault.
    pub fn response(&self, listening: &Listening, fault: Option<&str>) -> Result<Response, EngineError> {
        let state = match fault {
            Some(fault) => self.middle_state(self.foretold(fault)?),
            None => 0,
        };
        let sounding = self.sounding(listening);
        let change = &self.model.hypotheses.states[state].change;
        let curves = sounding.curves(&[change])?;
        curves[0].response(&listening.hertz).map_err(EngineError::from)
    }

    /// Returns the frequencies between which the resonant peak of 95 healthy instruments of 100 lies; `None` where none
    /// stands out.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when the equations have no single solution.
    pub fn peak_band(&self, listening: &Listening, peak: Point) -> Result<Option<[Hertz; 2]>, EngineError> {
        let spread = self.sounding(listening).peak_spread()?;
        let end = |spread: f64| Hertz::new(peak.hertz.get() * uncertainty::expanded(spread).exp());
        Ok(spread.map(|spread| [end(-spread), end(spread)]))
    }

    fn sounding(&self, listening: &Listening) -> Sounding<'_> {
        let sounding = self.model.sounding(&listening.setting, listening.load);
        if listening.sources.is_empty() { sounding } else { sounding.only(&listening.sources) }
    }
}

/// Returns how the named fault sounds, or else the leading suspect; `None` when it may sound like anything.
pub(super) fn view(
    engine: &Engine,
    job: &Job,
    situation: &Situation,
) -> Result<Option<ToneView>, EngineError> {
    if let Some(named) = job.concluded() {
        let view = |tone: &Tone| ToneView { suspect: named.sentence.clone(), tone: tone.clone() };
        return Ok(named.tone.as_ref().map(view));
    }
    let all = suspects::ranked(engine, situation);
    let Some((leading, fault)) = all.first().and_then(|ranked| Some((ranked, first(ranked)?))) else {
        return Ok(None);
    };
    let tone = of_fault(engine, situation, fault)?;
    Ok(tone.map(|tone| ToneView { suspect: suspects::sentence(engine, leading), tone }))
}

fn first(ranked: &Ranked) -> Option<FaultId> {
    ranked.faults.first().map(|(fault, _)| *fault)
}

/// Returns how a fault sounds in its most probable size, where the controls stand now or where it is heard best.
pub(super) fn of_fault(
    engine: &Engine,
    situation: &Situation,
    fault: FaultId,
) -> Result<Option<Tone>, EngineError> {
    let hypotheses = &engine.model.hypotheses;
    let weights = situation.belief.weights();
    let share = |index: usize| {
        let list = &hypotheses.list[index].faults;
        list.iter().filter(|(f, _)| *f == fault).map(|(_, share)| share * weights[index]).sum::<f64>()
    };
    let holds = |&index: &usize| hypotheses.list[index].faults.iter().any(|(f, _)| *f == fault);
    let heaviest = (0..hypotheses.list.len())
        .filter(holds)
        .max_by(|&a, &b| share(a).total_cmp(&share(b)).then(b.cmp(&a)));
    let Some(hypothesis) = heaviest.map(|index| &hypotheses.list[index]) else { return Ok(None) };
    let change = &hypotheses.states[hypothesis.state].change;
    match hypothesis.behaviour {
        Behaviour::Anything => Ok(None),
        _ if matches!(change, Change::Several(_)) => Ok(None),
        Behaviour::Steady => telling(engine, &situation.stand.setting, change, "").map(Some),
        Behaviour::ComesAndGoes { .. } => {
            telling(engine, &situation.stand.setting, change, Tone::WHILE_IT_SHOWS).map(Some)
        }
    }
}

/// Returns how a change sounds where the controls stand; where nothing is heard of it there, at the setting at which it
/// differs most.
fn telling(engine: &Engine, stand: &Setting, change: &Change, when: &str) -> Result<Tone, EngineError> {
    let mut told = tone(engine, stand, change, when)?;
    if *change == Change::Nothing || !healthy_like(told.level, told.treble) {
        return Ok(told);
    }
    let differs = |tone: &Tone| tone.level.max(Tone::NOTHING).abs() + tone.treble.max(Tone::NOTHING).abs();
    for setting in engine.model.switch_settings() {
        for setting in [setting.clone(), dark(engine, &setting)] {
            let other = tone(engine, &setting, change, when)?;
            if !healthy_like(other.level, other.treble) && differs(&other) > differs(&told) {
                told = other;
            }
        }
    }
    Ok(told)
}

/// Returns a setting with every tone knob at 0.
fn dark(engine: &Engine, setting: &Setting) -> Setting {
    let harness = engine.harness();
    let tones = harness.controls.iter().filter(|control| {
        let of_tone = matches!(harness[control.part].kind, PartKind::Pot { role: PotRole::Tone, .. });
        control.kind == ControlKind::Knob && of_tone
    });
    tones.fold(setting.clone(), |setting, control| setting.with(&control.name, Stand::Knob(0)))
}

/// Returns whether nobody hears a difference of level and treble, in decibels.
fn healthy_like(level: f64, treble: f64) -> bool {
    level.abs() < 0.5 && treble.abs() < 0.5
}

fn tone(engine: &Engine, setting: &Setting, change: &Change, when: &str) -> Result<Tone, EngineError> {
    let healthy = |setting: &Setting| engine.model.sounding(setting, Load::default());
    let up = turned_up(engine, setting);
    // With the volume down nothing can be told apart: then it is heard with every knob up.
    let quiet = healthy(setting).volts(BODY, [&Change::Nothing])?[0] < INAUDIBLE;
    let setting = if quiet { &up } else { setting };
    let sounding = healthy(setting);
    let both = sounding.curves(&[&Change::Nothing, change])?;
    let (healthy, faulty) = (both[0].response(&grid())?, both[1].response(&grid())?);
    let peaks: Vec<Hertz> =
        [healthy.peak, faulty.peak].into_iter().flatten().map(|peak| three_figures(peak.hertz)).collect();
    let difference = faulty.beside(&healthy);
    let extra = [both[0].points(&peaks)?, both[1].points(&peaks)?];
    Ok(Tone {
        setting: setting.sentence(engine.harness()),
        cable: Load::default().cable,
        input: Load::default().input,
        points: points([[healthy.points, faulty.points], extra]),
        level: tenth(difference.level),
        treble: tenth(difference.treble),
        sentence: format!("{when}{}", in_words(difference)),
    })
}

/// Returns pairs of curves as one list of points, in rising order and to a tenth of a decibel.
fn points(pairs: [[Vec<Point>; 2]; 2]) -> Vec<TonePoint> {
    let point = |(healthy, faulty): (Point, Point)| TonePoint {
        hertz: healthy.hertz,
        healthy: tenth(healthy.decibels),
        faulty: tenth(faulty.decibels),
    };
    let both = pairs.into_iter().flat_map(|[healthy, faulty]| healthy.into_iter().zip(faulty));
    let mut all: Vec<TonePoint> = both.map(point).collect();
    all.sort_by(|a, b| a.hertz.get().total_cmp(&b.hertz.get()));
    all.dedup_by_key(|point| point.hertz);
    all
}

fn turned_up(engine: &Engine, setting: &Setting) -> Setting {
    let mut setting = setting.clone();
    for control in engine.harness().controls.iter().filter(|control| control.kind == ControlKind::Knob) {
        setting = setting.with(&control.name, Stand::Knob(10));
    }
    setting
}

/// Returns a number to a tenth, without a sign before zero.
fn tenth(decibels: f64) -> f64 {
    (decibels * 10.0).round() / 10.0 + 0.0
}

fn three_figures(hertz: Hertz) -> Hertz {
    let step = 10f64.powi(hertz.get().log10().floor() as i32 - 2);
    Hertz::new((hertz.get() / step).round() * step)
}

/// Returns a difference in words: `treble 12 dB down, level 1 dB down`.
pub fn in_words(difference: Difference) -> String {
    let Difference { level, treble } = difference;
    if Tone::leaves_nothing(level, treble) {
        return "silent: nothing of the strings reaches the amplifier".to_owned();
    }
    if healthy_like(level, treble) {
        return "sounds like a healthy one".to_owned();
    }
    format!("{}, {}", shifted("treble", treble), shifted("level", level))
}

fn shifted(what: &str, decibels: f64) -> String {
    match decibels.abs().round() {
        0.0 => format!("{what} the same"),
        _ if decibels <= Tone::NOTHING => format!("no {what} left"),
        whole if decibels < 0.0 => format!("{what} {whole} dB down"),
        whole => format!("{what} {whole} dB up"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case(-1.2, -12.4, "treble 12 dB down, level 1 dB down")]
    #[case(0.3, 1.9, "treble 2 dB up, level the same")]
    #[case(0.4, -0.4, "sounds like a healthy one")]
    #[case(-90.0, -70.0, "silent: nothing of the strings reaches the amplifier")]
    #[case(-3.0, -70.0, "no treble left, level 3 dB down")]
    fn differences_are_told_in_whole_decibels(#[case] level: f64, #[case] treble: f64, #[case] words: &str) {
        assert_eq!(in_words(Difference { level, treble }), words);
    }

    #[rstest]
    #[case(3706.9, 3710.0)]
    #[case(366.6, 367.0)]
    #[case(10_049.0, 10_000.0)]
    fn a_peak_is_told_to_three_figures(#[case] hertz: f64, #[case] told: f64) {
        assert_eq!(three_figures(Hertz::new(hertz)), Hertz::new(told));
    }

    #[test]
    fn a_tenth_of_a_decibel_has_no_sign_at_zero() {
        assert_eq!(format!("{} {}", tenth(-0.04), tenth(-1.26)), "0 -1.3");
    }
}
