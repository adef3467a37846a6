//! The unknowns of a bench session, and what each reading would be if they were known.
//!
//! Motor equations of PHYSICS 4 and PHYSICS-DETAIL E9, E10, E15: `R` between wires at 20 °C, `λ` at 20 °C without current,
//! `λ(î) = λ/(1 + c·î)`, drag `T_h + k_e·ω` at the rotor, gear efficiency `η` in the direction of the power.
//! - no load: `P = P₀ + (T_h + k_e·ω)·ω + κ·R·î²/2`, `î = T/(k·p·λ)`; motor volts `√3·(R·î/2 + p·ω·λ)`
//! - pulled: `F·r = N·T_h/η` (slow); turned: `V = √(3/2)·p·N·λ·ω_w`
//! - left alone: `J·ω' = −N·(T_h + k_e·N·ω)/η`, `ω(t) = (ω₀ + a/b)·e^(−bt) − a/b`
//! - lever: against the motor `N·(T + T_h)/η`, lifted by it `N·η·(T − T_h)`, `T = k·p·λ·î/(1 + c·î)`

use super::sheet::{Lever, NoLoad, Sheet, Taken};
use crate::fit::{Model, Prior, Reading, Unknown};

/// What is sought.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// Resistance between two wires at 20 °C, Ω.
    Resistance,
    /// Flux linkage of a phase without current at 20 °C, Wb.
    Flux,
    /// Constant part of the drag at the rotor, N·m.
    DragConstant,
    /// Part of the drag that grows with speed, N·m·s.
    DragPerSpeed,
    /// Gear efficiency.
    Efficiency,
    /// Fall of the flux linkage with current, 1/A.
    Droop,
    /// What the controller takes itself, W.
    Standby,
    /// Inertia of wheel and rotor together, seen at the wheel, kg·m².
    Inertia,
}

impl Quantity {
    /// All, in the order in which they are shown.
    pub const ALL: [Self; 8] = [
        Self::Resistance,
        Self::Flux,
        Self::DragConstant,
        Self::DragPerSpeed,
        Self::Efficiency,
        Self::Droop,
        Self::Standby,
        Self::Inertia,
    ];
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Resistance => "resistance",
            Self::Flux => "flux",
            Self::DragConstant => "drag-constant",
            Self::DragPerSpeed => "drag-per-speed",
            Self::Efficiency => "efficiency",
            Self::Droop => "droop",
            Self::Standby => "standby",
            Self::Inertia => "inertia",
        }
    }
    /// Unit in which it is shown, and how many of them are one in SI.
    pub const fn shown(self) -> (&'static str, f64) {
        match self {
            Self::Resistance => ("mΩ", 1e3),
            Self::Flux => ("mWb", 1e3),
            Self::DragConstant => ("N·m", 1.0),
            Self::DragPerSpeed => ("mN·m·s", 1e3),
            Self::Efficiency => ("", 1.0),
            Self::Droop => ("%/A", 1e2),
            Self::Standby => ("W", 1.0),
            Self::Inertia => ("kg·m²", 1.0),
        }
    }
    /// Usual size, against which doubt is counted: where nothing better is known, the unknown is within it.
    pub const fn size(self) -> f64 {
        match self {
            Self::Resistance => 0.15,
            Self::Flux => 0.02,
            Self::DragConstant => 0.2,
            Self::DragPerSpeed => 1e-3,
            // It is known before to lie between 0.8 and 1.
            Self::Efficiency => 0.1,
            Self::Droop => 3e-3,
            Self::Standby => 5.0,
            Self::Inertia => 0.2,
        }
    }
    /// Whether a negative value is impossible by nature.
    const fn positive(self) -> bool {
        matches!(self, Self::Resistance | Self::Flux | Self::Efficiency | Self::Inertia)
    }
}

/// What is known of the hub beside the bench: counted or measured on the bike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hub {
    /// Rotor turns per wheel turn.
    pub reduction: f64,
    /// Pole pairs.
    pub pole_pairs: f64,
    /// Radius in metres where the string lies.
    pub radius: f64,
    /// Its standard deviation in metres.
    pub radius_sigma: f64,
    /// Torque over pole pairs, flux linkage and current: 1.5 for sine, 3√3/π for block.
    pub torque_factor: f64,
    /// Copper loss over `R·î²` of one phase: 1.5 for sine, 2 for block.
    pub copper_factor: f64,
    /// Amplitude over a current as the job's currents are given.
    pub amplitude: f64,
}

/// What is known of an unknown before, from the job.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// Which.
    pub quantity: Quantity,
    /// Value in SI.
    pub value: f64,
    /// Standard deviation in SI.
    pub sigma: f64,
}

/// Which reading a row is.
#[derive(Clone, Debug, PartialEq)]
pub enum Row {
    /// Between wires.
    Wires(usize),
    /// At rest.
    Standby,
    /// Amperes of a no-load point.
    NoLoad(usize),
    /// Motor volts of a no-load point whose speed was read too.
    NoLoadVolts(usize),
    /// Pulled.
    Pull(usize),
    /// Turned.
    BackEmf(usize),
    /// Point of a spin-down.
    SpinDown(usize, usize),
    /// Against the motor.
    Against(usize),
    /// Lifted by the motor.
    Lifted(usize),
}

impl Row {
    /// Key of its words, and the number that a person counts it by (from 1).
    pub const fn said(&self) -> (&'static str, usize, usize) {
        match self {
            Self::Wires(i) => ("wires", *i + 1, 0),
            Self::Standby => ("standby", 1, 0),
            Self::NoLoad(i) => ("no-load", *i + 1, 0),
            Self::NoLoadVolts(i) => ("no-load-volts", *i + 1, 0),
            Self::Pull(i) => ("pull", *i + 1, 0),
            Self::BackEmf(i) => ("back-emf", *i + 1, 0),
            Self::SpinDown(i, k) => ("spin-down", *i + 1, *k + 1),
            Self::Against(i) => ("lever-against", *i + 1, 0),
            Self::Lifted(i) => ("lever-lifted", *i + 1, 0),
        }
    }
    /// Unit in which it is shown, and how many of them are one in SI.
    pub const fn shown(&self) -> (&'static str, f64) {
        match self {
            Self::Wires(_) => ("mΩ", 1e3),
            Self::Standby => ("W", 1.0),
            Self::NoLoad(_) => ("A", 1.0),
            Self::NoLoadVolts(_) | Self::BackEmf(_) => ("V", 1.0),
            Self::Pull(_) => ("N", 1.0),
            Self::SpinDown(..) => ("rpm", 30.0 / core::f64::consts::PI),
            Self::Against(_) | Self::Lifted(_) => ("N·m", 1.0),
        }
    }
}

/// Rise of copper's resistance per kelvin at 20 °C (IEC 60028).
const COPPER: f64 = 0.003_93;
/// Fall of a neodymium magnet's flux per kelvin (usual grades, from memory).
const NEODYMIUM: f64 = -0.0011;
/// Where neither job nor bench knows better, a controller takes some watts for itself (common practice).
const STANDBY_GUESS: (f64, f64) = (5.0, 4.0);
/// A rim with its tyre at 0.3 m, and a rotor behind the gears (common practice).
const INERTIA_GUESS: (f64, f64) = (0.2, 0.15);

/// One session with its unknowns laid out.
pub(crate) struct Layout<'a> {
    hub: Hub,
    sheet: &'a Sheet,
    /// Rows in the order of the readings.
    pub(crate) rows: Vec<Row>,
    /// Readings in the same order.
    pub(crate) readings: Vec<Reading>,
    /// The quantities among the unknowns, in order.
    pub(crate) sought: Vec<Quantity>,
    /// All unknowns: quantities, then nuisances.
    pub(crate) unknowns: Vec<Unknown>,
    /// Priors of tools, radius, flywheels.
    pub(crate) instruments: Vec<Prior>,
    tools: Vec<String>,
    radius: Option<usize>,
    starts: Vec<usize>,
    flywheels: Vec<Option<usize>>,
    fixed: [f64; 8],
}

impl<'a> Layout<'a> {
    pub(crate) fn new(hub: Hub, sheet: &'a Sheet, known: &[Known]) -> Self {
        let mut fixed = Quantity::ALL.map(Quantity::size);
        fixed[Quantity::Efficiency as usize] = 0.95;
        fixed[Quantity::Droop as usize] = 0.0;
        fixed[Quantity::Standby as usize] = STANDBY_GUESS.0;
        for k in known {
            fixed[k.quantity as usize] = k.value;
        }
        let mut l = Self {
            hub,
            sheet,
            rows: Vec::new(),
            readings: Vec::new(),
            sought: Vec::new(),
            unknowns: Vec::new(),
            instruments: Vec::new(),
            tools: Vec::new(),
            radius: None,
            starts: Vec::new(),
            flywheels: Vec::new(),
            fixed,
        };
        l.list_rows();
        l.list_unknowns();
        l
    }

    /// A reading, with the doubt of what it is read against (a speed, a supply, a current) as a share of it.
    fn add(&mut self, row: Row, t: &Taken, against: &[&Taken]) {
        let share = |t: &Taken| if t.value == 0.0 { 0.0 } else { t.sigma / t.value };
        let others: f64 = against.iter().map(|a| (share(a) * t.value).powi(2)).sum();
        self.rows.push(row);
        self.readings.push(Reading { value: t.value, sigma: (t.sigma * t.sigma + others).sqrt() });
    }

    fn list_rows(&mut self) {
        let s = self.sheet;
        for (i, w) in s.wires.iter().enumerate() {
            self.add(Row::Wires(i), &w.ohms, &[]);
        }
        if let Some(t) = &s.standby {
            self.add(Row::Standby, t, &[]);
        }
        for (i, n) in s.no_load.iter().enumerate() {
            if let Some(at) = n.wheel_speed.as_ref().or(n.motor_volts.as_ref()) {
                self.add(Row::NoLoad(i), &n.amperes, &[&n.supply_volts, at]);
            }
            if let (Some(w), Some(v)) = (&n.wheel_speed, &n.motor_volts) {
                self.add(Row::NoLoadVolts(i), v, &[w]);
            }
        }
        for (i, p) in s.pulls.iter().enumerate() {
            if s.turns_rotor(p.turned) && !p.plugged {
                self.add(Row::Pull(i), &p.newtons, &[]);
            }
        }
        for (i, b) in s.back_emf.iter().enumerate() {
            if s.turns_rotor(b.turned) {
                self.add(Row::BackEmf(i), &b.volts_rms, &[&b.wheel_speed]);
            }
        }
        for (i, d) in s.spin_downs.iter().enumerate() {
            if s.turns_rotor(d.turned) {
                for (k, (_, t)) in d.points.iter().enumerate() {
                    self.add(Row::SpinDown(i, k), t, &[]);
                }
            }
        }
        for (i, l) in s.levers.iter().enumerate() {
            if let Some(t) = &l.against {
                self.add(Row::Against(i), t, &[&l.amperes]);
            }
            if let Some(t) = &l.lifted {
                self.add(Row::Lifted(i), t, &[&l.amperes]);
            }
        }
    }

    fn list_unknowns(&mut self) {
        use Quantity::{DragConstant, DragPerSpeed, Droop, Efficiency, Flux, Inertia, Resistance, Standby};
        let mut wanted = [false; 8];
        for row in &self.rows {
            let touched: &[Quantity] = match row {
                Row::Wires(_) => &[Resistance],
                Row::Standby => &[Standby],
                Row::NoLoad(_) => &[Standby, DragConstant, DragPerSpeed, Flux],
                Row::NoLoadVolts(_) => &[Flux],
                Row::Pull(_) => &[DragConstant, Efficiency],
                Row::BackEmf(_) => &[Flux],
                Row::SpinDown(..) => &[DragConstant, DragPerSpeed, Efficiency, Inertia],
                Row::Against(_) | Row::Lifted(_) => &[Flux, DragConstant, Efficiency, Droop],
            };
            for q in touched {
                wanted[*q as usize] = true;
            }
        }
        for q in Quantity::ALL.into_iter().filter(|q| wanted[*q as usize]) {
            self.sought.push(q);
            self.unknowns.push(Unknown { start: self.fixed[q as usize], size: q.size() });
        }
        let gains: Vec<(String, f64)> = self.taken().filter_map(|t| Some((t.tool.clone()?, t.gain))).collect();
        for (tool, gain) in gains {
            if gain > 0.0 && !self.tools.contains(&tool) {
                self.tools.push(tool);
                self.nuisance(1.0, 0.1, 1.0, gain);
            }
        }
        let pulled = self.rows.iter().any(|r| matches!(r, Row::Pull(_)));
        if pulled && self.hub.radius_sigma > 0.0 {
            let hub = self.hub;
            self.radius = Some(self.nuisance(hub.radius, hub.radius, hub.radius, hub.radius_sigma));
        }
        for (i, d) in self.sheet.spin_downs.iter().enumerate() {
            let used = self.rows.iter().any(|r| matches!(r, Row::SpinDown(k, _) if *k == i));
            let first = d.points.first().map_or(1.0, |p| p.1.value);
            self.starts.push(self.unknowns.len());
            self.flywheels.push(None);
            if !used {
                continue;
            }
            self.unknowns.push(Unknown { start: first, size: first.abs().max(1.0) });
            if let Some(f) = d.flywheel.as_ref().filter(|f| f.sigma > 0.0) {
                self.flywheels[i] = Some(self.nuisance(f.value, f.value.max(1e-3), f.value, f.sigma));
            }
        }
    }

    fn nuisance(&mut self, start: f64, size: f64, value: f64, sigma: f64) -> usize {
        let unknown = self.unknowns.len();
        self.unknowns.push(Unknown { start, size });
        self.instruments.push(Prior { unknown, value, sigma, instrument: true });
        unknown
    }

    /// Every reading of a tool whose own error its neighbours share.
    fn taken(&self) -> impl Iterator<Item = &'a Taken> + use<'a> {
        let s = self.sheet;
        let wires = s.wires.iter().map(|w| &w.ohms);
        let no_load = s.no_load.iter().flat_map(|n| [Some(&n.amperes), n.motor_volts.as_ref()]).flatten();
        let pulls = s.pulls.iter().map(|p| &p.newtons);
        let emf = s.back_emf.iter().map(|b| &b.volts_rms);
        let levers = s.levers.iter().flat_map(|l| [l.against.as_ref(), l.lifted.as_ref()]).flatten();
        wires.chain(no_load).chain(pulls).chain(emf).chain(levers)
    }

    /// What the job knows of one of the unknowns, or the usual guess.
    pub(crate) fn prior(&self, place: usize, known: &[Known]) -> Option<Prior> {
        let q = *self.sought.get(place)?;
        let from_job = known.iter().find(|k| k.quantity == q).map(|k| (k.value, k.sigma));
        let (value, sigma) = from_job.or(match q {
            Quantity::Standby => Some(STANDBY_GUESS),
            Quantity::Inertia => Some(INERTIA_GUESS),
            _ => None,
        })?;
        // What is written without a doubt still has one.
        Some(Prior { unknown: place, value, sigma: sigma.max(1e-3 * q.size()), instrument: false })
    }

    fn value(&self, u: &[f64], q: Quantity) -> f64 {
        self.sought.iter().position(|s| *s == q).map_or(self.fixed[q as usize], |i| u[i])
    }

    fn gain(&self, u: &[f64], t: &Taken) -> f64 {
        let place = t.tool.as_ref().and_then(|tool| self.tools.iter().position(|x| x == tool));
        place.map_or(1.0, |i| u[self.sought.len() + i])
    }

    fn temperature(&self) -> f64 {
        self.sheet.celsius.unwrap_or(20.0) - 20.0
    }

    /// Flux linkage at the temperature of the hub.
    fn flux(&self, u: &[f64]) -> f64 {
        self.value(u, Quantity::Flux) * (1.0 + NEODYMIUM * self.temperature())
    }

    fn resistance(&self, u: &[f64]) -> f64 {
        self.value(u, Quantity::Resistance) * (1.0 + COPPER * self.temperature())
    }

    /// Rotor speed and amplitude of the motor current of a no-load point.
    fn spinning(&self, u: &[f64], n: &NoLoad) -> (f64, f64) {
        let (t_h, k_e) = (self.value(u, Quantity::DragConstant), self.value(u, Quantity::DragPerSpeed));
        let (flux, p) = (self.flux(u), self.hub.pole_pairs);
        let per_ampere = self.hub.torque_factor * p * flux;
        let speed = match (&n.wheel_speed, &n.motor_volts) {
            (Some(w), _) => w.value * self.hub.reduction,
            (None, Some(v)) => {
                // √3·(R/2·(T_h + k_e·ω)/(k·p·λ) + p·λ·ω) = V, solved for ω.
                let half = self.resistance(u) / 2.0 / per_ampere;
                (v.value / self.gain(u, v) / 3f64.sqrt() - half * t_h) / (p * flux + half * k_e)
            }
            (None, None) => 0.0,
        };
        (speed, (t_h + k_e * speed) / per_ampere)
    }

    fn no_load_amperes(&self, u: &[f64], n: &NoLoad) -> f64 {
        let (speed, current) = self.spinning(u, n);
        let drag = self.value(u, Quantity::DragConstant) + self.value(u, Quantity::DragPerSpeed) * speed;
        let copper = self.hub.copper_factor * self.resistance(u) / 2.0 * current * current;
        (self.value(u, Quantity::Standby) + drag * speed + copper) / n.supply_volts.value
    }

    fn spin_down(&self, u: &[f64], i: usize, seconds: f64) -> f64 {
        let d = &self.sheet.spin_downs[i];
        let extra = self.flywheels[i].map_or_else(|| d.flywheel.as_ref().map_or(0.0, |f| f.value), |k| u[k]);
        let n = self.hub.reduction;
        let over = n / (self.value(u, Quantity::Efficiency) * (self.value(u, Quantity::Inertia) + extra));
        let a = over * self.value(u, Quantity::DragConstant);
        let b = over * n * self.value(u, Quantity::DragPerSpeed);
        // (1 − e^(−bt))/b tends to t without drag that grows with speed.
        let fading = if (b * seconds).abs() < 1e-9 { seconds } else { -libm::expm1(-b * seconds) / b };
        u[self.starts[i]] * (1.0 - b * fading) - a * fading
    }

    fn lever(&self, u: &[f64], l: &Lever, against: bool) -> f64 {
        let i = l.amperes.value * self.hub.amplitude;
        let per_ampere = self.hub.torque_factor * self.hub.pole_pairs * self.flux(u);
        let torque = per_ampere * i / (1.0 + self.value(u, Quantity::Droop) * i);
        let (t_h, eta) = (self.value(u, Quantity::DragConstant), self.value(u, Quantity::Efficiency));
        let n = self.hub.reduction;
        if against { n * (torque + t_h) / eta } else { n * eta * (torque - t_h) }
    }

    fn one(&self, u: &[f64], row: &Row) -> f64 {
        let s = self.sheet;
        match row {
            Row::Wires(i) => self.resistance(u) * self.gain(u, &s.wires[*i].ohms),
            Row::Standby => self.value(u, Quantity::Standby),
            Row::NoLoad(i) => self.no_load_amperes(u, &s.no_load[*i]) * self.gain(u, &s.no_load[*i].amperes),
            Row::NoLoadVolts(i) => {
                let n = &s.no_load[*i];
                let (speed, current) = self.spinning(u, n);
                let volts = self.resistance(u) / 2.0 * current + self.hub.pole_pairs * speed * self.flux(u);
                3f64.sqrt() * volts * n.motor_volts.as_ref().map_or(1.0, |v| self.gain(u, v))
            }
            Row::Pull(i) => {
                let radius = self.radius.map_or(self.hub.radius, |k| u[k]);
                let torque = self.value(u, Quantity::DragConstant) / self.value(u, Quantity::Efficiency);
                self.hub.reduction * torque / radius * self.gain(u, &s.pulls[*i].newtons)
            }
            Row::BackEmf(i) => {
                let b = &s.back_emf[*i];
                let electrical = self.hub.pole_pairs * self.hub.reduction * b.wheel_speed.value;
                1.5f64.sqrt() * electrical * self.flux(u) * self.gain(u, &b.volts_rms)
            }
            Row::SpinDown(i, k) => self.spin_down(u, *i, s.spin_downs[*i].points[*k].0),
            Row::Against(i) => {
                let l = &s.levers[*i];
                self.lever(u, l, true) * l.against.as_ref().map_or(1.0, |t| self.gain(u, t))
            }
            Row::Lifted(i) => {
                let l = &s.levers[*i];
                self.lever(u, l, false) * l.lifted.as_ref().map_or(1.0, |t| self.gain(u, t))
            }
        }
    }

    /// Rotor speed of a no-load point.
    pub(crate) fn rotor_speed(&self, u: &[f64], n: &NoLoad) -> f64 {
        self.spinning(u, n).0
    }
}

impl Model for Layout<'_> {
    fn predict(&self, u: &[f64], out: &mut [f64]) {
        let impossible = self.sought.iter().enumerate().any(|(i, q)| q.positive() && u[i] <= 0.0);
        for (o, row) in out.iter_mut().zip(&self.rows) {
            *o = if impossible { f64::NAN } else { self.one(u, row) };
        }
    }
}
