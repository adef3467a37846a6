//! One draw as a torque arm sees it: its bolts, jaws and anchor.

use super::super::formulas::pinch::{self, Jaw};
use super::super::formulas::thread::Thread;
use super::super::formulas::tightening::{self, Turning};
use super::super::formulas::{anchor, flats};
use super::super::math;
use super::super::si::*;
use super::super::{Gap, Step, Tape};
use super::World;
use crate::fact::{FactId, Side, list};
use std::sync::OnceLock;

impl<T: Tape> World<'_, T> {
    /// Force with which an arm's jaws squeeze the flats: of all pinch bolts, or by levers where one side is not cut.
    pub fn squeeze(&self, i: usize) -> Result<Force, Gap> {
        let one = self.small_bolt(
            self.of_arm(list::PINCH_DIAMETER, i)?,
            self.of_arm(list::PINCH_FRICTION, i)?,
            self.of_arm(list::PINCH_TORQUE, i)?,
        )?;
        let all = one * self.of_arm(list::PINCH_BOLTS, i)?.get();
        if !self.is(list::PINCH_CUT.of(i), "one-side")? {
            return Ok(all);
        }
        let squeeze = pinch::one_sided_squeeze(
            all,
            self.of_arm(list::PINCH_BOLT_LEVER, i)?,
            self.of_arm(list::PINCH_CLOSING, i)?,
            self.of_arm(list::PINCH_FLAT_LEVER, i)?,
        )?;
        self.step(|| {
            Step::new("one-sided", format!("{}", i + 1), &pinch::ONE_SIDED, ("F_c", squeeze.as_kilonewtons(), "kN"))
                .put("F", all.as_kilonewtons(), "kN")
        });
        Ok(squeeze)
    }

    /// Preload of a small bolt with coarse thread and the same friction in thread and face.
    pub fn small_bolt(&self, diameter: Length, friction: Friction, torque: Torque) -> Result<Force, Gap> {
        Ok(tightening::preload(&self.small_turning(diameter, friction)?, torque)?)
    }
    /// A small bolt as it turns; the head's bearing face reaches to 1.5 diameters (ISO 4762 head).
    pub fn small_turning(&self, diameter: Length, friction: Friction) -> Result<Turning, Gap> {
        let thread = Thread::new(diameter, coarse_pitch(diameter)?)?;
        let face = tightening::face_mean_diameter(diameter * 1.1, diameter * 1.5)?;
        Ok(Turning { thread, thread_friction: friction, face_friction: friction, face_mean_diameter: face })
    }

    /// Least yield strength of the grade that a bolt is.
    pub fn bolt_yield(&self, grade: FactId) -> Result<Stress, Gap> {
        let row = self.token(grade)?.and_then(evidence::bolts::find).ok_or(Gap::Unknown(grade))?;
        Ok(row.yield_strength.into())
    }

    /// Clamp force of an arm's anchor after settling.
    pub fn anchor_clamp(&self, i: usize) -> Result<Force, Gap> {
        let fresh = self.small_bolt(
            self.of_arm(list::ANCHOR_DIAMETER, i)?,
            self.of_arm(list::ANCHOR_THREAD_FRICTION, i)?,
            self.of_arm(list::ANCHOR_TORQUE, i)?,
        )?;
        Ok(fresh * (1.0 - self.of_arm(list::ANCHOR_SETTLING, i)?.get()))
    }
    /// Force at which an arm's anchor slips, or a band around a tube gapes, slips or dents the tube.
    pub fn anchor_slip(&self, i: usize) -> Result<Force, Gap> {
        let mu = self.of_arm(list::ANCHOR_FRICTION, i)?;
        let clamp = self.anchor_clamp(i)?;
        if self.is(list::ANCHOR_KIND.of(i), "band")? {
            let side = if self.is(list::ARM_SIDE.of(i), "left")? { Side::Left } else { Side::Right };
            // Mild steel like the dropout's; a thin wall caves in long before the band slips.
            let wall = anchor::tube_wall_force(
                self.of_arm(list::TUBE_DIAMETER, i)?,
                self.of_arm(list::TUBE_WALL, i)?,
                self.of_arm(list::BAND_WIDTH, i)?,
                self.at(list::DROPOUT_YIELD, side)?,
            )?;
            return Ok(anchor::band_gap_force(clamp)?.min(anchor::band_slip_force(clamp, mu)?).min(wall));
        }
        let faces = math::whole(self.of_arm(list::ANCHOR_FACES, i)?.get());
        Ok(anchor::slip_force(clamp, mu, faces, Ratio::new(1.0))?)
    }

    /// Whether an arm squeezes the flats.
    pub fn pinches(&self, i: usize) -> Result<bool, Gap> {
        self.is(list::ARM_KIND.of(i), "pinching")
    }

    /// Torque that an arm holds without gap and yield; nothing for a slotted one, which has play.
    pub fn arm_still(&self, i: usize) -> Result<Torque, Gap> {
        if !self.pinches(i)? {
            return Ok(Torque::ZERO);
        }
        let jaw = Jaw::new(self.flat()?, self.of_arm(list::ARM_THICKNESS, i)?)?;
        let squeeze = self.squeeze(i)?;
        let yields = self.of_arm(list::ARM_YIELD, i)?;
        let jaws = pinch::no_yield_torque(jaw, squeeze, squeeze, self.of_arm(list::PINCH_OFFSET, i)?, yields)?;
        let anchor = anchor::arm_capacity(self.anchor_slip(i)?, self.of_arm(list::ARM_LENGTH, i)?)?;
        self.step(|| {
            Step::new(
                "arm-still",
                format!("{}", i + 1),
                &pinch::NO_YIELD,
                ("T₀", jaws.min(anchor).as_newton_metres(), "N·m"),
            )
            .put("F_c", squeeze.as_kilonewtons(), "kN")
            .put("p_y", yields.as_megapascals(), "MPa")
            .put("anchor", anchor.as_newton_metres(), "N·m")
        });
        Ok(jaws.min(anchor))
    }

    /// Plastic limit of an arm's hold on the flats, and no more than its anchor passes on.
    pub fn arm_plastic(&self, i: usize) -> Result<Torque, Gap> {
        let anchor = anchor::arm_capacity(self.anchor_slip(i)?, self.of_arm(list::ARM_LENGTH, i)?)?;
        Ok(self.flats_plastic(i)?.min(anchor))
    }

    fn flats_plastic(&self, i: usize) -> Result<Torque, Gap> {
        let (flat, thickness) = (self.flat()?, self.of_arm(list::ARM_THICKNESS, i)?);
        let crush = self.of_arm(list::ARM_BEARING, i)?;
        if self.pinches(i)? {
            // A jaw that was crushed on tightening holds nothing; its own link says so.
            let (jaw, squeeze) = (Jaw::new(flat, thickness)?, self.squeeze(i)?);
            let crushing = pinch::crushing_squeeze(jaw, crush)?;
            let torque = pinch::plastic_torque(jaw, squeeze.min(crushing), crush)?.as_newton_metres();
            let uncrushed = math::if_above(squeeze.as_newtons(), crushing.as_newtons(), 0.0, torque);
            return Ok(Torque::newton_metres(uncrushed));
        }
        Ok(flats::slot_plastic(flat, thickness, crush)?)
    }
}

/// A jaw that was crushed on tightening holds nothing; its own link says so.
pub(super) fn uncrushed(hold: Result<Torque, Gap>) -> Result<Torque, Gap> {
    match hold {
        Err(Gap::Range(r)) if r.what == "squeeze" => Ok(Torque::ZERO),
        other => other,
    }
}

/// Coarse pitch of the bolts of arms and anchors.
fn coarse_pitch(diameter: Length) -> Result<Length, Gap> {
    // Read once: this runs in every draw.
    static COARSE: OnceLock<Vec<(f64, quantity::Length)>> = OnceLock::new();
    let sizes = COARSE.get_or_init(|| {
        let coarse = evidence::threads::rows().iter().filter(|t| t.series == "coarse");
        coarse.map(|t| (t.diameter.as_millimetres(), t.pitch)).collect()
    });
    let mm = diameter.as_millimetres();
    sizes.iter().find(|(d, _)| (*d - mm).abs() < 0.05).map(|(_, pitch)| (*pitch).into()).ok_or(Gap::Cannot("bolt-size"))
}
