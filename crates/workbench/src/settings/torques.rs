//! How tight: the most that each end bears, and where its fullest link is least full.

use super::Kind;
use super::field::{Dials, turned, value};
use super::solve::Solver;
use crate::advice;
use crate::fact::{FactId, Side, list};
use crate::link::{Kind as L, Off, Place, World};
use quantity::*;

/// Torques between which an axle's nut is searched, N·m: hand-tight, and more than any hub's axle bears.
const LEAST: f64 = 5.0;
const MOST: f64 = 200.0;

impl Solver<'_> {
    pub(super) fn nut(side: Side) -> FactId {
        list::NUT_TORQUE.of(side)
    }

    /// How tight each nut may be whatever the motor does.
    pub(super) fn find_caps(&mut self) {
        for side in Side::BOTH {
            let own =
                self.field.find(|l| matches!(l.kind, L::Nut | L::Thread | L::Dropout) && l.place == Place::At(side));
            // What hardly any torque overloads, none spares.
            let own: Vec<usize> = own.into_iter().filter(|i| self.bears(&[*i], &self.dials, side, LEAST)).collect();
            let bears = |t: f64| !own.is_empty() && self.bears(&own, &self.dials, side, t);
            self.caps[side as usize] = Self::largest(Kind::NutTorque, LEAST, MOST, bears).unwrap_or(LEAST);
        }
    }

    /// Whether an end bears its nut's torque.
    pub(super) fn bears(&self, links: &[usize], dials: &Dials, side: Side, torque: f64) -> bool {
        self.field.worst(links, &turned(dials, Self::nut(side), torque)).0 <= 1.0
    }

    /// The nuts as tight as both ends may be under these currents: whatever holds, holds best with these.
    pub(super) fn tight(&self, dials: &Dials) -> Dials {
        let mut out = dials.clone();
        if !self.nuts_free {
            return out;
        }
        for side in Side::BOTH {
            let cap = self.caps[side as usize];
            let own = self.field.find(|l| l.kind == L::AxleSection && l.place == Place::At(side));
            let fits = |t: f64| self.bears(&own, &out, side, t);
            let t = if fits(cap) { cap } else { Self::largest(Kind::NutTorque, LEAST, cap, fits).unwrap_or(cap) };
            out = turned(&out, Self::nut(side), t);
        }
        out
    }

    pub(super) fn arms(&mut self) {
        if !self.nuts_free {
            return;
        }
        for i in 0..self.job().arms {
            let id = list::ANCHOR_TORQUE.of(i);
            if let Some(limit) = self.small_limit(i, "anchor") {
                let bolt = self.field.find(|l| l.kind == L::AnchorBolt && l.place == Place::Arm(i));
                let holds = |t: f64| self.field.worst(&bolt, &turned(&self.dials, id, t)).0 <= 1.0;
                let most = Self::largest(Kind::AnchorTorque, 0.5, limit, holds);
                self.set(id, most.unwrap_or(Kind::AnchorTorque.rounded(limit)));
            }
            let id = list::PINCH_TORQUE.of(i);
            if value(&self.dials, id).is_some() {
                let most = self.small_limit(i, "pinch").unwrap_or(60.0);
                let own = self.wanted(&[id]);
                let dials = self.tight(&self.dials);
                let best =
                    Self::lowest(Kind::PinchTorque, 0.5, most, |t| self.field.worst(&own, &turned(&dials, id, t)).0);
                self.set(id, best);
            }
        }
    }

    pub(super) fn small_limit(&self, arm: usize, key: &str) -> Option<f64> {
        let values = self.middle_values();
        let w = World::new(&values, self.job().arms, &Off);
        advice::small_limit(self.job(), &w, arm, key).map(Quantity::si)
    }

    /// Each nut where its fullest link is least full: not tighter than does any good.
    pub(super) fn settle_nuts(&mut self) {
        self.dials = self.tight(&self.dials);
        if !self.nuts_free {
            return;
        }
        for side in Side::BOTH {
            let id = Self::nut(side);
            let most = value(&self.dials, id).unwrap_or(LEAST);
            // With those that no setting can meet: let them be as little over their room as they can.
            let mut own = self.field.depending(&[id]);
            own.retain(|i| !self.held.contains(i));
            let best =
                Self::lowest(Kind::NutTorque, LEAST, most, |t| self.field.worst(&own, &turned(&self.dials, id, t)).0);
            self.set(id, best);
        }
    }
}
