//! The wiring audit as it is shown: what to do, what healthy reads, what each check covers, and what stays open.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::engine::{Engine, EngineError};
use super::{CautionView, ControlView, cautions, proof, words};
use crate::advisor::{Stand, places, to_open};
use crate::audit::{Audit, Check, Sound, Why};
use crate::circuit::Harness;
use crate::faults::{Fault, FaultId};
use crate::job::Band;
use crate::readings::{Access, Measurement, Mode, Setting, Shown};
use crate::units::Ohms;

/// The list of checks that proves a fresh wiring whole.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AuditView {
    /// The wiring's name.
    pub wiring: String,
    /// The wiring's short code.
    pub code: String,
    /// The wiring's title.
    pub title: String,
    /// The class of meter.
    pub meter: String,
    /// How far the technician may go.
    pub access: Access,
    /// The checks in the order they are best taken.
    pub checks: Vec<AuditCheck>,
    /// No list from the measurements considered has fewer checks and covers as much.
    pub at_least: usize,
    /// How many measurements were considered.
    pub considered: usize,
    /// How many steady faults the list shows.
    pub covered: usize,
    /// How many steady faults there are.
    pub total: usize,
    /// The same by kind of fault.
    pub kinds: Vec<KindCoverage>,
    /// What to move while a check is repeated, for the faults that come and go.
    pub flexed: Vec<AuditFlex>,
    /// How many faults that come and go show that way.
    pub flex_covered: usize,
    /// How many faults that come and go there are.
    pub flex_total: usize,
    /// What the list does not show, and why.
    pub missed: Vec<AuditMissed>,
    /// Hands-on minutes of the whole list, opening included.
    pub minutes: f64,
    /// What to read before the first check.
    pub cautions: Vec<CautionView>,
    /// For each covered fault and each form it can take, the checks that show it.
    #[serde(skip)]
    pub(super) proofs: Vec<Vec<Vec<usize>>>,
}

/// One check of the list.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AuditCheck {
    /// What is measured.
    pub measurement: Measurement,
    /// One instruction in plain words.
    pub headline: String,
    /// What a person calls the terminal under the red probe.
    pub red: String,
    /// What a person calls the terminal under the black probe.
    pub black: String,
    /// What the dial is to be set to, with the range.
    pub dial: String,
    /// Every control with its position, and whether it is moved for this check.
    pub controls: Vec<ControlView>,
    /// Where it is done.
    pub place: String,
    /// What must be opened first, empty when nothing.
    pub open_first: Vec<String>,
    /// What a healthy instrument reads, in words.
    pub healthy: String,
    /// The span a healthy instrument keeps within.
    pub band: Band,
    /// How many steady faults it shows.
    pub covers: usize,
    /// How many of them no earlier check shows.
    pub adds: usize,
    /// One fault that it shows, as a sentence.
    pub example: String,
    /// The steady faults that it shows.
    pub faults: Vec<String>,
}

/// How many faults of one kind are covered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct KindCoverage {
    /// What the kind is called.
    pub kind: String,
    /// How many are covered.
    pub covered: usize,
    /// How many there are.
    pub total: usize,
}

/// One thing to move while a check is repeated.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AuditFlex {
    /// Index of the check.
    pub check: usize,
    /// What is moved: the name of a link or a terminal.
    pub flex: String,
    /// The instruction in words.
    pub say: String,
    /// The faults that come and go and show then.
    pub faults: Vec<String>,
}

/// One fault that the list does not show.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AuditMissed {
    /// The fault.
    pub fault: String,
    /// The fault as a sentence.
    pub sentence: String,
    /// Why it is not shown.
    pub why: String,
}

impl AuditView {
    /// Returns whether no shorter list exists among the measurements considered.
    pub fn proven(&self) -> bool {
        self.at_least == self.checks.len()
    }

    /// Returns how short the list is, as a sentence.
    pub fn shortness(&self) -> String {
        let (count, considered) = (self.checks.len(), self.considered);
        match self.proven() {
            true => format!("No shorter list shows as much, among {considered} measurements considered"),
            false => format!(
                "At least {} checks are needed among {considered} measurements considered; {count} is the best found",
                self.at_least
            ),
        }
    }

    /// Returns what the list covers, as sentences.
    pub fn coverage(&self) -> [String; 2] {
        [
            format!("{} of {} steady faults show in at least one check", self.covered, self.total),
            format!(
                "{} of {} faults that come and go show when a check is repeated while the right thing is moved",
                self.flex_covered, self.flex_total
            ),
        ]
    }

    /// Returns what else is to be moved at a check.
    pub fn flexed_at(&self, check: usize) -> impl Iterator<Item = &AuditFlex> {
        self.flexed.iter().filter(move |flex| flex.check == check)
    }
}

impl AuditCheck {
    /// Returns whether a healthy instrument shows this.
    pub fn passes(&self, shown: &Shown) -> bool {
        proof::within(shown, &self.band)
    }
}

impl Engine {
    /// Works out the audit of the wiring.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError::Solver`] when the equations of a setting have no single solution.
    pub fn audit(&self, access: Access) -> Result<AuditView, EngineError> {
        let audit = Audit::new(&self.model, self.meter, access)?;
        let harness = self.harness();
        let kinds = audit.kinds(&self.model);
        let kind = |(kind, (covered, total)): (crate::faults::Kind, (usize, usize))| KindCoverage {
            kind: kind.words().to_owned(),
            covered,
            total,
        };
        let missed = |(fault, why): &(FaultId, Why)| self.missed(*fault, *why);
        Ok(AuditView {
            wiring: harness.name.clone(),
            code: harness.code.clone(),
            title: harness.title.clone(),
            meter: self.meter.title.to_owned(),
            access,
            checks: self.audit_checks(&audit),
            at_least: audit.at_least,
            considered: audit.considered,
            covered: audit.covered.len(),
            total: audit.covered.len() + audit.missed.len(),
            kinds: kinds.into_iter().map(kind).collect(),
            flexed: self.audit_flexes(&audit),
            flex_covered: audit.flexed.len(),
            flex_total: audit.flexed.len() + audit.unflexed.len(),
            missed: audit.missed.iter().map(missed).collect(),
            minutes: audit.seconds / 60.0,
            cautions: self.audit_cautions(),
            proofs: audit.covered.iter().map(|&fault| audit.shown_by(&self.model, fault)).collect(),
        })
    }

    fn audit_cautions(&self) -> Vec<CautionView> {
        let battery = self.harness().has_battery().then_some("battery-out");
        let keys = ["unplug"].into_iter().chain(battery).chain(["opening"]);
        keys.filter_map(cautions::caution).collect()
    }

    fn missed(&self, fault: FaultId, why: Why) -> AuditMissed {
        let Fault { id, sentence, .. } = &self.model.catalogue[fault];
        AuditMissed { fault: id.clone(), sentence: sentence.clone(), why: reason(why).to_owned() }
    }

    fn audit_checks(&self, audit: &Audit) -> Vec<AuditCheck> {
        let reference = Setting::reference(self.harness());
        let mut stand = Stand { setting: reference, ..Stand::default() };
        let mut seen: BTreeSet<FaultId> = BTreeSet::new();
        audit
            .checks
            .iter()
            .map(|check| {
                let fresh = check.faults.iter().copied().filter(|fault| !seen.contains(fault)).collect();
                let view = self.audit_check(check, &stand, fresh);
                seen.extend(&check.faults);
                stand.opened.extend(places(self.harness(), &check.measurement));
                stand.setting = check.measurement.setting.clone();
                view
            })
            .collect()
    }

    fn audit_check(&self, check: &Check, stand: &Stand, fresh: Vec<FaultId>) -> AuditCheck {
        let (harness, measurement) = (self.harness(), &check.measurement);
        let band = band(check.sound);
        let at: Vec<_> = places(harness, measurement).into_iter().collect();
        let opened = to_open(harness, measurement, stand);
        let name = |fault: &FaultId| self.model.catalogue[*fault].id.clone();
        AuditCheck {
            measurement: measurement.clone(),
            headline: words::headline(harness, measurement),
            red: measurement.touched(harness, &measurement.red),
            black: measurement.touched(harness, &measurement.black),
            dial: words::dial(measurement, &self.meter.range_for(band.high.unwrap_or(self.meter.ceiling()))),
            controls: controls(self.harness(), measurement, &stand.setting),
            place: words::places(harness, &at),
            open_first: opened.iter().map(|&p| format!("{}: {}", harness[p].name, harness[p].how)).collect(),
            healthy: healthy(measurement.mode, &band),
            band,
            covers: check.faults.len(),
            adds: fresh.len(),
            example: self.example(if fresh.is_empty() { &check.faults } else { &fresh }),
            faults: check.faults.iter().map(name).collect(),
        }
    }

    /// Returns the likeliest of some faults as a sentence.
    fn example(&self, faults: &[FaultId]) -> String {
        let faults = faults.iter().map(|&fault| &self.model.catalogue[fault]);
        let likeliest = faults.max_by(|a, b| a.prior.total_cmp(&b.prior).then(b.id.cmp(&a.id)));
        likeliest.map(|fault| fault.sentence.clone()).unwrap_or_default()
    }

    fn audit_flexes(&self, audit: &Audit) -> Vec<AuditFlex> {
        let mut grouped: BTreeMap<(usize, &str), Vec<String>> = BTreeMap::new();
        for flexed in &audit.flexed {
            let id = self.model.catalogue[flexed.fault].id.clone();
            grouped.entry((flexed.check, &flexed.flex)).or_default().push(id);
        }
        let view = |((check, flex), faults): ((usize, &str), Vec<String>)| AuditFlex {
            check,
            flex: flex.to_owned(),
            say: words::flexing(self.harness(), flex),
            faults,
        };
        grouped.into_iter().map(view).collect()
    }
}

fn controls(harness: &Harness, measurement: &Measurement, before: &Setting) -> Vec<ControlView> {
    let moved = measurement.setting.moved(before);
    let view = |(name, stand): (&String, &crate::readings::Stand)| ControlView {
        name: harness.control_title(name).to_owned(),
        stand: stand.to_string(),
        moved: moved.contains(&name.as_str()),
    };
    measurement.setting.0.iter().map(view).collect()
}

/// Returns the span of a sound reading, its ends moved outwards to what is printed.
fn band(sound: Sound) -> Band {
    match sound {
        Sound::NoPath => Band::default(),
        Sound::Between { low, ohms, high } => Band {
            ohms: Some(Ohms::new(ohms)),
            low: Some(Ohms::new(outwards(low, f64::floor))),
            high: Some(Ohms::new(outwards(high, f64::ceil))),
            ..Band::default()
        },
    }
}

/// Rounds to three figures, below ten ohms to a tenth of an ohm.
fn outwards(ohms: f64, round: fn(f64) -> f64) -> f64 {
    let mut step = 0.1;
    while ohms >= step * 1000.0 {
        step *= 10.0;
    }
    round(ohms / step) * step
}

/// Returns what a healthy instrument reads, in words.
fn healthy(mode: Mode, band: &Band) -> String {
    match (mode, band.low, band.high) {
        (_, _, None) if mode == Mode::Resistance => "over range".to_owned(),
        (Mode::Resistance, Some(low), Some(high)) if low.get() <= 0.0 => {
            format!("at most {}", crate::units::show_ohms(high))
        }
        (Mode::Continuity, _, Some(high)) if high.get() < 100.0 => "it beeps".to_owned(),
        (Mode::Continuity, ..) => "no beep".to_owned(),
        _ => words::band(band),
    }
}

fn reason(why: Why) -> &'static str {
    match why {
        Why::Capacitor => {
            "no direct current flows through a capacitor: measure its capacitance, or listen to what the control does"
        }
        Why::NoCurrent => {
            "no reading in ohms changes, only a capacitance, through which no direct current flows: measure it at the plug or across the part"
        }
        Why::Idle => "no direct current flows where it is, and no capacitance changes by a tenth",
        Why::Supply => {
            "no reading in ohms changes: it shows only with the battery in, in volts or in the current that is drawn"
        }
        Why::Unmoved => {
            "no reading in ohms changes, at any two places a probe can reach, with all knobs at 10 or one at 5 or 0"
        }
        Why::Beside => {
            "another path carries the current beside it: no reading changes by more than half an ohm and 1 %"
        }
        Why::Tolerance => {
            "it moves no reading farther than sound parts of these tolerances, and the meter, may lie apart"
        }
        Why::Small => "only its grosser forms show: a slight one hides within the tolerances of the parts",
        Why::Closed => "it shows only with a reading at a closed place",
    }
}
