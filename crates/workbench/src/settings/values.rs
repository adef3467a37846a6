//! The values of the sheet with what ends each, and those that follow from a rule: ramp, fade, fastest descent.

use super::field::{Dials, turned, value};
use super::solve::{CHARGE_TO, JERK_M_S3, NEAR, SHORTEST_RAMP, Solver, WALKING};
use super::{At, Binds, Kind, Setting, assist};
use crate::fact::{Side, list};
use crate::link::Kind as L;
use physics::gears;
use physics::supply::{self, Inverter};
use quantity::*;

impl Solver<'_> {
    /// Fastest speed downhill at which the volts stay in bounds.
    pub(super) fn fastest_downhill(&self) -> Option<f64> {
        let id = list::DOWNHILL_SPEED.id();
        let volts =
            self.field.find(|l| matches!(l.kind, L::TooFast | L::ControllerVolts | L::BatteryOut | L::PackCutsOut));
        Self::largest(
            Kind::FastestDownhill,
            Speed::kilometres_per_hour(5.0).si(),
            Speed::kilometres_per_hour(90.0).si(),
            |v| self.field.worst(&volts, &turned(&self.dials, id, v)).0 <= 1.0,
        )
    }

    /// Shortest ramp under which play in the gears makes no blow: five swings of the rotor (PHYSICS-DETAIL section 3).
    pub(super) fn least_ramp(&self) -> f64 {
        let swings = self.field.number(&self.dials, true, |w| {
            let f = gears::drive_frequency(
                w.get(list::GEAR_STIFFNESS).ok()?,
                w.get(list::ROTOR_INERTIA).ok()?,
                w.get(list::REDUCTION).ok()?,
            );
            f.ok().map(|f| 5.0 / f.as_hertz())
        });
        swings.unwrap_or(0.0).max(SHORTEST_RAMP.si())
    }

    /// The link that one step more of a setting would not leave room. Where only the second sample was over its room,
    /// the first is near it.
    pub(super) fn binder(&self, links: &[usize], dials: &Dials) -> Option<Binds> {
        let (share, i) = self.field.worst(links, dials);
        let i = i.filter(|_| share > NEAR)?;
        Some(Binds::Link(self.field.links()[i]))
    }

    pub(super) fn binds(&self, kind: Kind, at: At, value_si: f64) -> Option<Binds> {
        let id = kind.fact(at)?;
        let up = kind.to_si(kind.from_si(value_si) + kind.step());
        match kind {
            Kind::BrakeCurrent => {
                // What pulls, else what the charge limit leaves no room for.
                let links = self.wanted(&[id]);
                let charged = turned(&self.dials, id, up);
                self.binder(&links, &self.braking(&self.dials, up)).or_else(|| self.binder(&links, &charged))
            }
            Kind::DriveCurrent => self.binder(&self.wanted(&[id]), &self.driving(&self.dials, up)),
            Kind::ChargeLimit => {
                let (own, links) = (self.wanted(&[id]), self.field.links());
                let (dump, pack): (Vec<usize>, Vec<usize>) =
                    own.iter().partition(|i| links[**i].kind == L::PackCutsOut);
                let more = turned(&self.dials, id, up);
                let brake = turned(&more, list::BRAKE_CURRENT.id(), self.hardware());
                let (dump, pack) = (self.field.worst(&dump, &more), self.field.worst(&pack, &brake));
                let (share, i) = if dump.0 > pack.0 { dump } else { pack };
                i.filter(|_| share > NEAR).map(|i| Binds::Link(links[i]))
            }
            Kind::ChargeTo if value_si >= CHARGE_TO.1 => Some(Binds::Rule("full")),
            Kind::ChargeTo if self.full_below.is_some_and(|x| value_si >= x) => Some(Binds::Rule("fold-back")),
            Kind::HoldFastest => self.binder(&self.held, &turned(&self.dials, id, up)).or(Some(Binds::Rule("wish"))),
            _ => self.binder(&self.wanted(&[id]), &turned(&self.dials, id, up)),
        }
    }

    pub(super) fn setting(
        &self,
        kind: Kind,
        at: At,
        value_si: f64,
        binds: Option<Binds>,
        keeper: &'static str,
    ) -> Setting {
        let now = kind.fact(at).and_then(|id| self.job().fact(id)).map(|f| f.value);
        Setting { kind, at, value: value_si, now, binds, keeper }
    }

    /// All values of the sheet.
    pub fn settings(&self) -> Vec<Setting> {
        let mut out = Vec::new();
        let dial = |kind: Kind, at: At| kind.fact(at).and_then(|id| value(&self.dials, id));
        let rule = |key| Some(Binds::Rule(key));
        for kind in [Kind::DriveCurrent, Kind::BrakeCurrent, Kind::ChargeLimit] {
            if let Some(v) = dial(kind, At::Whole) {
                out.push(self.setting(kind, At::Whole, v, self.binds(kind, At::Whole, v), "controller"));
            }
        }
        if let Some((from, end)) = self.fold_back() {
            out.push(self.setting(Kind::FoldBackFrom, At::Whole, from, rule("fold-back-band"), "controller"));
            out.push(self.setting(Kind::FoldBackEnd, At::Whole, end, rule("cell-full"), "controller"));
        }
        if let Some(v) = dial(Kind::ChargeTo, At::Whole) {
            out.push(self.setting(Kind::ChargeTo, At::Whole, v, self.binds(Kind::ChargeTo, At::Whole, v), "rider"));
        }
        let ramp = self.ramp();
        out.push(self.setting(Kind::Ramp, At::Whole, ramp.0, rule(ramp.1), "controller"));
        let (from, gone, why) = self.fade();
        out.push(self.setting(Kind::FadeFrom, At::Whole, from, rule(why), "controller"));
        out.push(self.setting(Kind::FadeGone, At::Whole, gone, rule("walking"), "controller"));
        if let (Some(v), true) = (dial(Kind::HoldFastest, At::Whole), self.can_hold) {
            let slowest = Kind::HoldSlowest.rounded(from.max(self.hold_slowest));
            if slowest <= v {
                let why = if from > self.hold_slowest { "above-fade" } else { "air-helps" };
                out.push(self.setting(Kind::HoldSlowest, At::Whole, slowest, rule(why), "controller"));
                let binds = self.binds(Kind::HoldFastest, At::Whole, v);
                out.push(self.setting(Kind::HoldFastest, At::Whole, v, binds, "controller"));
            }
        }
        if let Some(v) = self.fastest_downhill() {
            let kept = self.job().answer(list::DOWNHILL_KEPT_BY.id()).unwrap_or("nobody");
            let binds = self.binds_speed(v);
            out.push(self.setting(Kind::FastestDownhill, At::Whole, v, binds, kept));
        }
        let drive = PhaseCurrent::from_si(dial(Kind::DriveCurrent, At::Whole).unwrap_or(0.0));
        if let Some(a) = assist::assist(self.job(), drive) {
            out.push(self.setting(Kind::AssistLeast, At::Whole, a.least, rule("drag"), "controller"));
            out.push(self.setting(Kind::AssistMost, At::Whole, a.most, rule("class"), "controller"));
            if let Some(c) = a.class {
                let speed = Speed::kilometres_per_hour(c.cut_off_km_h).si();
                out.push(self.setting(Kind::AssistCutOff, At::Whole, speed, rule("class"), "controller"));
                out.push(self.setting(Kind::AssistPower, At::Whole, c.power_w, rule("class"), "controller"));
            }
        }
        for side in Side::BOTH {
            if let Some(v) = dial(Kind::NutTorque, At::Side(side)) {
                let binds = if self.nuts_free { self.binds_nut(side, v) } else { rule("hold-test") };
                out.push(self.setting(Kind::NutTorque, At::Side(side), v, binds, "workshop"));
            }
        }
        for i in 0..self.job().arms {
            if let Some(v) = dial(Kind::PinchTorque, At::Arm(i)) {
                let why = if self.nuts_free { "least-full" } else { "hold-test" };
                out.push(self.setting(Kind::PinchTorque, At::Arm(i), v, rule(why), "workshop"));
            }
            if let Some(v) = dial(Kind::AnchorTorque, At::Arm(i)) {
                let why = if self.nuts_free { "bolt-yield" } else { "hold-test" };
                out.push(self.setting(Kind::AnchorTorque, At::Arm(i), v, rule(why), "workshop"));
            }
        }
        out
    }

    pub(super) fn binds_speed(&self, v: f64) -> Option<Binds> {
        let id = list::DOWNHILL_SPEED.id();
        let volts =
            self.field.find(|l| matches!(l.kind, L::TooFast | L::ControllerVolts | L::BatteryOut | L::PackCutsOut));
        self.binder(&volts, &turned(&self.dials, id, v + Kind::FastestDownhill.to_si(1.0)))
    }

    /// What would be over its room with the nut one step looser or tighter; where nothing is, it is where all is least full.
    pub(super) fn binds_nut(&self, side: Side, v: f64) -> Option<Binds> {
        let id = Self::nut(side);
        let own = self.wanted(&[id]);
        self.binder(&own, &turned(&self.dials, id, v + Kind::NutTorque.step())).or(Some(Binds::Rule("least-full")))
    }

    /// Ramp, and the rule that asks most.
    pub(super) fn ramp(&self) -> (f64, &'static str) {
        let gears = self.least_ramp();
        let jerk = self.field.number(&self.dials, true, |w| {
            let force = w.steady().ok()?.brake.as_newton_metres() / w.get(list::WHEEL_RADIUS).ok()?.as_metres();
            Some(force / (w.get(list::LIGHTEST).ok()?.as_kilograms() * JERK_M_S3))
        });
        let jerk = jerk.unwrap_or(0.0);
        let why = if jerk > gears {
            "jerk"
        } else if gears > SHORTEST_RAMP.si() {
            "gear-play"
        } else {
            "shortest-ramp"
        };
        (Kind::Ramp.rounded(gears.max(jerk)), why)
    }

    /// Speeds between which braking fades: from where it draws nothing from the battery, gone at walking pace.
    pub(super) fn fade(&self) -> (f64, f64, &'static str) {
        let gone = Kind::FadeGone.rounded(WALKING.si());
        let brake = value(&self.dials, list::BRAKE_CURRENT.id()).unwrap_or(0.0);
        let draws_from = self.field.number(&self.dials, true, |w| {
            let current = w.amplitude(PhaseCurrent::from_si(brake)).ok()?;
            if current.as_amperes() < 0.5 {
                return None;
            }
            // Hot winding and magnet: recovery is worst (PHYSICS-DETAIL section 2, §4).
            let hot = w.motor().ok()?.at(w.get(list::WINDING_LIMIT).ok()?, w.get(list::GEAR_LIMIT).ok()?).ok()?;
            let bus = w.bus_at_rest(w.get(list::CHARGE_TO).ok()?).ok()?;
            let rotor = supply::zero_recovery_speed(&hot, &Inverter::IDEAL, current, bus).ok()?;
            Some(hot.wheel_speed(rotor).as_radians_per_second() * w.get(list::WHEEL_RADIUS).ok()?.as_metres())
        });
        let draws_from = draws_from.unwrap_or(0.0);
        // Deceleration a = F/m fades over v₁ − v₂ while the speed falls at a: jerk a²/(v₁ − v₂).
        let jerk = self.field.number(&self.dials, true, |w| {
            let force = w.steady().ok()?.brake.as_newton_metres() / w.get(list::WHEEL_RADIUS).ok()?.as_metres();
            let a = force / w.get(list::LIGHTEST).ok()?.as_kilograms();
            Some(a * a / JERK_M_S3)
        });
        let soft = gone + jerk.unwrap_or(0.0);
        let from = draws_from.max(soft).max(gone + Kind::FadeFrom.to_si(1.0));
        (Kind::FadeFrom.rounded(from), gone, if draws_from > soft { "zero-recovery" } else { "jerk" })
    }
}
