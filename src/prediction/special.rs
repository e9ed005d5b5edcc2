//! Measurements beyond plain ohms, and the questions worth asking a person.

use super::candidates::Candidates;
use super::model::Model;
use super::modes::sounds;
use crate::circuit::{Control, ControlKind, Fixing, Link, PartKind, PotRole};
use crate::readings::{Check, Measurement, Mode, Setting, Stand};

impl Model {
    /// Returns the measurements of the other modes: swept knobs, capacitances, lifted ends, volts and current.
    pub(super) fn special(&self, plain: &Candidates) -> Vec<Measurement> {
        let mut all = self.sweeps(plain);
        all.extend(self.capacitors());
        all.extend(self.coils_alone());
        all.extend(self.supply());
        all
    }

    fn asked(&self, mode: Mode, red: &str, black: &str) -> Measurement {
        Measurement { mode, ..Measurement::ohms(red, black, Setting::reference(&self.harness)) }
    }

    /// Returns one sweep for each volume knob, in the first switch setting in which the knob matters.
    fn sweeps(&self, plain: &Candidates) -> Vec<Measurement> {
        let sweep = |knob: &Control| {
            let setting = self.where_it_matters(plain, knob)?;
            let asked = self.asked(Mode::Sweep, "plug.tip", "plug.sleeve");
            Some(Measurement { setting, about: Some(knob.name.clone()), ..asked })
        };
        self.knobs(PotRole::Volume).into_iter().filter_map(sweep).collect()
    }

    /// Returns the first switch setting in which a volume knob changes the reading at the plug.
    fn where_it_matters(&self, plain: &Candidates, knob: &Control) -> Option<Setting> {
        let reads = |setting: &Setting| {
            let known = plain.list.iter().find(|c| {
                (c.measurement.red.as_str(), c.measurement.black.as_str()) == ("plug.tip", "plug.sleeve")
                    && c.measurement.setting == *setting
            });
            known.map(|candidate| plain.rows[candidate.row][0].reads)
        };
        let matters = |setting: &Setting, knob: &Control| {
            reads(setting) != reads(&setting.clone().with(&knob.name, Stand::Knob(0)))
        };
        self.switch_settings().into_iter().find(|setting| matters(setting, knob))
    }

    /// Returns the first switch setting in which a tone knob has a way for signals to the plug: that of the pickup
    /// whose lug it shares, which the tone's own lugs show by their ohms to the tip.
    fn where_it_is_heard(&self, plain: &Candidates, knob: &Control) -> Setting {
        let wiper = format!("{}.lug2", self.harness[knob.part].name);
        let near = |setting: &Setting| {
            let reads = |c: &super::candidates::Candidate| {
                let m = &c.measurement;
                let pair = [m.red.as_str(), m.black.as_str()];
                let it =
                    pair.contains(&"plug.tip") && pair.contains(&wiper.as_str()) && m.setting == *setting;
                it && plain.rows[c.row][0].reads.is_some_and(|ohms| ohms < 1e3)
            };
            plain.list.iter().any(reads)
        };
        let settings = self.switch_settings();
        let heard = settings.iter().find(|setting| near(setting));
        heard.or(settings.first()).cloned().unwrap_or_default()
    }

    fn knobs(&self, wanted: PotRole) -> Vec<&Control> {
        let plays = |control: &&Control| matches!(self.harness[control.part].kind, PartKind::Pot { role, .. } if role == wanted);
        self.harness.controls.iter().filter(plays).collect()
    }

    /// Returns the capacitance across every capacitor and piezo element, in circuit and with one leg lifted.
    fn capacitors(&self) -> Vec<Measurement> {
        let mut all = Vec::new();
        for part in &self.harness.parts {
            if let (PartKind::Capacitor { .. } | PartKind::Piezo { .. }, &[a, b]) =
                (&part.kind, &part.terminals[..])
            {
                let [a, b] = [a, b].map(|terminal| self.harness[terminal].name.as_str());
                let across = self.asked(Mode::Capacitance, a, b);
                all.push(across.clone());
                let leg = self.harness.links.iter().find(|link| self.liftable(link, a));
                all.extend(leg.map(|leg| Measurement { lifted: Some(leg.name.clone()), ..across }));
            }
        }
        all
    }

    /// Returns whether a conductor ends at this terminal and can be unsoldered at one end.
    fn liftable(&self, link: &Link, terminal: &str) -> bool {
        let here = |end: &crate::circuit::End| self.harness[end.terminal].name == terminal;
        let soldered = link.from.fixing == Fixing::Solder || link.to.fixing == Fixing::Solder;
        soldered && (here(&link.from) || here(&link.to))
    }

    /// Returns the ohms of every coil with its hot lead lifted.
    fn coils_alone(&self) -> Vec<Measurement> {
        let mut all = Vec::new();
        for (index, part) in self.harness.parts.iter().enumerate().filter(|(i, _)| sounds(&self.harness, *i))
        {
            let &[hot, cold] = &part.terminals[..] else { continue };
            let hot = self.harness[hot].name.as_str();
            let lead = self.harness.links.iter().find(|link| self.liftable(link, hot));
            if let (Some(lead), true) =
                (lead, matches!(self.harness.parts[index].kind, PartKind::Coil { .. }))
            {
                let asked = self.asked(Mode::Resistance, hot, &self.harness[cold].name);
                all.push(Measurement { lifted: Some(lead.name.clone()), ..asked });
            }
        }
        all
    }

    /// Returns what tells of battery and supply: volts at battery, preamp and plug, and the current drawn.
    fn supply(&self) -> Vec<Measurement> {
        if self.batteries().is_empty() {
            return Vec::new();
        }
        let mut all = vec![self.asked(Mode::Volts, "plug.tip", "plug.sleeve")];
        for part in &self.harness.parts {
            if matches!(part.kind, PartKind::Battery { .. } | PartKind::Preamp { .. }) {
                let lug = |name: &str| format!("{}.{name}", part.name);
                all.push(self.asked(Mode::Volts, &lug("plus"), &lug("minus")));
            }
        }
        if self.harness.terminal("plug.ring").is_some() {
            let three = Stand::At("three-contact".to_owned());
            for mode in [Mode::Volts, Mode::Current] {
                let asked = self.asked(mode, "plug.ring", "plug.sleeve");
                all.push(Measurement { setting: asked.setting.clone().with("plug", three.clone()), ..asked });
            }
        }
        all
    }

    /// Returns the questions that a person can answer about this wiring.
    pub(super) fn questions(&self, plain: &Candidates) -> Vec<(Check, Measurement)> {
        let ask = |check: Check, setting: &Setting, about: Option<&str>| {
            let asked = self.asked(Mode::Observe(check), "", "");
            let about = about.map(str::to_owned);
            (check, Measurement { setting: setting.clone(), about, ..asked })
        };
        let settings = self.switch_settings();
        let first = Setting::reference(&self.harness);
        let always = [Check::OtherCable, Check::Hums, Check::StringsCalm, Check::PlugCalms];
        let mut all: Vec<_> = always.into_iter().map(|check| ask(check, &first, None)).collect();
        for setting in &settings {
            let heard = [Check::Sound, Check::Weak, Check::Dark, Check::Bright, Check::Thin];
            all.extend(heard.into_iter().map(|check| ask(check, setting, None)));
            let pickups = self.harness.parts.iter().enumerate().filter(|(i, _)| sounds(&self.harness, *i));
            all.extend(pickups.map(|(_, pickup)| ask(Check::Tap, setting, Some(&pickup.name))));
        }
        for knob in self.knobs(PotRole::Volume) {
            let setting = self.where_it_matters(plain, knob);
            all.extend(setting.map(|setting| ask(Check::Closes, &setting, Some(&knob.name))));
        }
        for knob in self.knobs(PotRole::Tone) {
            all.push(ask(Check::ToneActs, &self.where_it_is_heard(plain, knob), Some(&knob.name)));
        }
        let moved = self.harness.controls.iter().filter(|c| {
            c.kind == ControlKind::Knob || matches!(self.harness[c.part].kind, PartKind::Switch { .. })
        });
        all.extend(moved.map(|control| ask(Check::Crackles, &first, Some(&control.name))));
        all
    }
}
