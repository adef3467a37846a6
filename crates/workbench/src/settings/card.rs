//! A name card: how a person's own controller and display name, order, scale, limit and round the values.
//!
//! A device value is a straight line of the setting: `shown = at_zero + (at_full − at_zero) · setting / full_scale`, or
//! the setting itself in another unit. Currents may be RMS on one side and amplitude on the other.

use super::{At, Kind, Safe, Setting};
use crate::fact::list;
use crate::job::Job;
use quantity::units::Unit;

/// How a device shows a setting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// As it is.
    Plain,
    /// As a line through two points: what is shown at nothing and at full scale, all in SI.
    Line {
        /// The setting at full scale.
        full_scale: f64,
        /// Shown at nothing.
        at_zero: f64,
        /// Shown at full scale.
        at_full: f64,
    },
}

/// What a current on the device means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Means {
    /// Peak of the sine.
    Amplitude,
    /// Root of its mean square.
    Rms,
}

/// One value of the device.
#[derive(Clone, Debug)]
pub struct Entry {
    /// What the device calls it.
    pub name: String,
    /// Page of the device.
    pub page: Option<String>,
    /// What it is.
    pub kind: Kind,
    /// Where.
    pub at: At,
    /// How it is shown.
    pub scale: Scale,
    /// What a current means; none: as in the job.
    pub means: Option<Means>,
    /// Unit of the device.
    pub unit: &'static Unit,
    /// Step of the device, in SI of its unit.
    pub step: f64,
    /// Least and most that the device takes, in SI of its unit.
    pub least: Option<f64>,
    /// See `least`.
    pub most: Option<f64>,
    /// What it showed before, as written down.
    pub old: Option<String>,
}

/// A person's own card.
#[derive(Clone, Debug, Default)]
pub struct Card {
    /// What the device is called.
    pub device: String,
    /// Parts with their firmware versions.
    pub firmware: Vec<(String, String)>,
    /// Values in the order of the device.
    pub entries: Vec<Entry>,
}

/// What to key in for one entry.
#[derive(Clone, Debug, PartialEq)]
pub enum Keyed {
    /// This.
    Value {
        /// As the device shows it, with its unit.
        text: String,
        /// The same in the unit of the device.
        number: f64,
        /// What it makes of the setting, SI.
        setting: f64,
    },
    /// The device cannot go as far to the safe side.
    OutOfReach {
        /// What would be needed, with the unit of the device.
        needed: String,
        /// The nearest that the device takes.
        nearest: String,
    },
    /// There is no such value for this bike.
    NotThere,
}

/// One line of the sheet.
#[derive(Clone, Debug)]
pub struct Line<'a> {
    /// The entry.
    pub entry: &'a Entry,
    /// The setting behind it, if there is one.
    pub setting: Option<&'a Setting>,
    /// What to key in.
    pub keyed: Keyed,
}

impl Card {
    /// The sheet: every value of the card, in its order.
    pub fn sheet<'a>(&'a self, job: &Job, settings: &'a [Setting]) -> Vec<Line<'a>> {
        self.entries
            .iter()
            .map(|entry| {
                let setting = settings.iter().find(|s| s.kind == entry.kind && s.at == entry.at);
                let keyed = setting.map_or(Keyed::NotThere, |s| entry.key(job, s));
                Line { entry, setting, keyed }
            })
            .collect()
    }
}

impl Entry {
    /// A current as the device means it, over what the job means.
    fn factor(&self, job: &Job) -> f64 {
        let job_rms = job.answer(list::CURRENT_MEANS.id()) == Some("rms");
        match (self.means, job_rms) {
            (Some(Means::Rms), false) => core::f64::consts::FRAC_1_SQRT_2,
            (Some(Means::Amplitude), true) => core::f64::consts::SQRT_2,
            _ => 1.0,
        }
    }

    /// From the setting to what is shown, SI.
    fn shown(&self, job: &Job, setting: f64) -> f64 {
        let x = setting * self.factor(job);
        match self.scale {
            Scale::Plain => x,
            Scale::Line { full_scale, at_zero, at_full } => at_zero + (at_full - at_zero) * x / full_scale,
        }
    }

    /// Back from what is shown, SI.
    fn setting(&self, job: &Job, shown: f64) -> f64 {
        let x = match self.scale {
            Scale::Plain => shown,
            Scale::Line { full_scale, at_zero, at_full } => (shown - at_zero) / (at_full - at_zero) * full_scale,
        };
        x / self.factor(job)
    }

    /// In the unit of the device.
    fn text(&self, shown: f64) -> String {
        let step = self.unit.from_si(self.step) - self.unit.from_si(0.0);
        let digits =
            (0..6).find(|d| ((step * 10f64.powi(*d)).round() - step * 10f64.powi(*d)).abs() < 1e-6).unwrap_or(6);
        format!("{:.*} {}", digits as usize, self.unit.from_si(shown), self.unit.symbol).trim_end().to_owned()
    }

    /// What to key in: the step of the device nearest to the setting on its safe side.
    pub fn key(&self, job: &Job, s: &Setting) -> Keyed {
        let exact = self.shown(job, s.value);
        // Steps count from the device's least value, or from nothing.
        let origin = self.least.unwrap_or(0.0);
        let steps = (exact - origin) / self.step;
        let rising = match self.scale {
            Scale::Plain => true,
            Scale::Line { at_zero, at_full, .. } => at_full > at_zero,
        };
        let safe_is_less = (s.kind.safe() == Safe::Down) == rising;
        let whole = match s.kind.safe() {
            Safe::Between => steps.round(),
            _ if safe_is_less => (steps + 1e-9).floor(),
            _ => (steps - 1e-9).ceil(),
        };
        let wanted = origin + whole * self.step;
        let given = wanted.max(self.least.unwrap_or(f64::NEG_INFINITY)).min(self.most.unwrap_or(f64::INFINITY));
        let back = self.setting(job, given);
        let reached = match s.kind.safe() {
            Safe::Between => (given - wanted).abs() < 0.5 * self.step,
            safe => safe.allows(s.value, back),
        };
        if reached {
            Keyed::Value { text: self.text(given), number: self.unit.from_si(given), setting: back }
        } else {
            Keyed::OutOfReach { needed: self.text(wanted), nearest: self.text(given) }
        }
    }
}
