//! How much charge: limit, level, and the volts between which braking folds back.

use super::field::{turned, value};
use super::solve::{CHARGE_TO, HAIR, Solver, asked};
use super::{Kind, Summer, Wish, speeds};
use crate::fact::list;
use crate::link::{Kind as L, Off, World};
use physics::{battery, hold};
use quantity::*;

impl Solver<'_> {
    pub(super) fn charge_floor(&self) -> f64 {
        self.job().get(list::CHARGE_TO).map_or(CHARGE_TO.0, |c| c.si().min(CHARGE_TO.0))
    }

    /// Charge limit and charge-to level, and the braking current that goes best with them.
    ///
    /// What the supply rises to when the pack opens grows with the motor current and with the power into the pack, so
    /// that one is paid for with the other: the search walks along the largest charge limit of each braking current and
    /// takes the one with the most braking at the speeds asked for, each counted as a share of what the motor could
    /// alone, all with the same weight.
    pub(super) fn charge(&mut self, wish: &Wish) {
        let level = list::CHARGE_TO.id();
        let floor = self.charge_floor();
        let id = list::CHARGE_LIMIT.id();
        let links = self.field.links();
        if self.charge_kept {
            let all = self.wanted(&[id]);
            let brake = list::BRAKE_CURRENT.id();
            // The pack's own limits hold whatever the motor current is set to.
            let (dump, pack): (Vec<usize>, Vec<usize>) = all.iter().partition(|i| links[**i].kind == L::PackCutsOut);
            let pack_dials = turned(&self.dials, brake, self.hardware());
            let pack_most = |links: &[usize]| {
                Self::largest(Kind::ChargeLimit, 0.0, 200.0, |x| {
                    self.field.worst(links, &turned(&pack_dials, id, x)).0 <= 1.0
                })
                .unwrap_or(0.0)
            };
            let warm: Vec<usize> = pack.iter().copied().filter(|i| links[*i].kind != L::Cold).collect();
            let (of_pack, of_warm) = (pack_most(&pack), pack_most(&warm));
            let most = |top: f64, amps: f64| {
                let dials = turned(&self.dials, brake, amps);
                Self::largest(Kind::ChargeLimit, 0.0, top, |x| self.field.worst(&dump, &turned(&dials, id, x)).0 <= 1.0)
                    .unwrap_or(0.0)
            };
            let top = value(&self.dials, brake).unwrap_or(0.0);
            let worth = |amps: f64| -self.braking_worth(wish, amps, most(of_pack, amps), top);
            let best = Self::lowest(Kind::BrakeCurrent, 0.0, top, worth);
            // Where a lower current would bring next to nothing, the higher one brakes more at low speed.
            let best = if worth(top) <= worth(best) + HAIR { top } else { best };
            let (all_year, in_summer) = (most(of_pack, best), most(of_warm, best));
            self.summer = (in_summer > all_year).then_some(Summer { all_year, warm: in_summer });
            self.set(brake, best);
            self.set(id, all_year);
        }
        let volts = self.wanted(&[level]);
        let to = Self::largest(Kind::ChargeTo, floor, CHARGE_TO.1, |x| {
            self.field.worst(&volts, &turned(&self.dials, level, x)).0 <= 1.0
        });
        let to = to.unwrap_or(floor);
        self.set(level, to);
        self.full_below = self.full_braking_below();
        self.set(level, self.full_below.map_or(to, |x| to.min(x.max(floor))));
    }

    /// Mean over the speeds asked for of the braking torque, as a share of that with `top` alone.
    pub(super) fn braking_worth(&self, wish: &Wish, amps: f64, charge: f64, top: f64) -> f64 {
        let values = self.middle_values();
        let w = World::new(&values, self.job().arms, &Off);
        let share = |v: Speed| -> Option<f64> {
            let (torque, _) = speeds::torque(&w, v, amps, Some(charge))?;
            let (alone, _) = speeds::torque(&w, v, top, None)?;
            Some(torque.as_newton_metres() / alone.as_newton_metres())
        };
        let asked = asked(self.job(), wish);
        asked.iter().filter_map(|v| share(*v)).sum::<f64>() / asked.len() as f64
    }

    /// Volts between which braking folds back.
    pub(super) fn fold_back(&self) -> Option<(f64, f64)> {
        let end = self.field.number(&self.dials, false, |w| {
            let series = w.get(list::CELLS_SERIES).ok()?.get() as u32;
            let limit = battery::fold_back(series, w.get(list::CELL_FULL).ok()?, w.get(list::IMBALANCE).ok()?);
            Some(limit.si())
        });
        let end = Kind::FoldBackEnd.rounded(end?);
        let charge = BatteryCurrent::from_si(value(&self.dials, list::CHARGE_LIMIT.id()).unwrap_or(0.0));
        let band = hold::fold_back_band(charge, Resistance::from_si(self.resistance()?)).ok()?;
        Some((Kind::FoldBackFrom.rounded(end - band.si()), end))
    }

    pub(super) fn resistance(&self) -> Option<f64> {
        self.field.number(&self.dials, true, |w| w.get(list::PACK_RESISTANCE).ok().map(Quantity::si))
    }

    /// Highest level of charge at which the full charge current stays below the volts where braking folds back.
    pub(super) fn full_braking_below(&self) -> Option<f64> {
        let (from, _) = self.fold_back()?;
        let charge = value(&self.dials, list::CHARGE_LIMIT.id()).unwrap_or(0.0);
        let rest = from - charge * self.resistance()?;
        let values = self.middle_values();
        let w = World::new(&values, self.job().arms, &Off);
        Self::largest(Kind::ChargeTo, 0.0, 1.0, |x| {
            w.bus_at_rest(StateOfCharge::from_si(x)).is_ok_and(|v| v.si() <= rest)
        })
    }
}
