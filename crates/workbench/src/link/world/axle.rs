//! One draw as the axle in the frame sees it: nuts, clamped faces, flats, and what holds them all.

use super::super::formulas::axle_section::{self, AxleSection};
use super::super::formulas::axle_state::{self, Hold, Stop};
use super::super::formulas::faces::{self, Face, MotorSense, OuterPath, PressureLaw};
use super::super::formulas::flats::{self, SlotFit};
use super::super::formulas::thread::{Thread, ThreadedSection};
use super::super::formulas::tightening::{self, Turning};
use super::super::si::*;
use super::super::{Gap, Step, Tape};
use super::{AxleState, STEEL, SideHold, World};
use crate::fact::{Side, list};

impl<T: Tape> World<'_, T> {
    /// The axle's thread.
    pub fn thread(&self) -> Result<Thread, Gap> {
        Ok(Thread::new(self.get(list::AXLE_DIAMETER)?, self.get(list::AXLE_PITCH)?)?)
    }
    /// The axle's threaded section at one end.
    pub fn section(&self, side: Side) -> Result<ThreadedSection, Gap> {
        self.shared(&self.sections[side as usize], || self.threaded_section(side)).copied()
    }
    fn threaded_section(&self, side: Side) -> Result<ThreadedSection, Gap> {
        if self.is(list::CABLE_SLOT.id(), "yes")? && self.at(list::BORE, side)?.as_metres() > 0.0 {
            return Err(Gap::Cannot("open-section"));
        }
        Ok(ThreadedSection::new(self.thread()?, Some(self.get(list::ACROSS_FLATS)?), self.at(list::BORE, side)?)?)
    }
    /// The nut as it turns.
    pub fn turning(&self, side: Side) -> Result<Turning, Gap> {
        let thread = self.thread()?;
        Ok(Turning {
            thread,
            thread_friction: self.at(list::THREAD_FRICTION, side)?,
            face_friction: self.at(list::NUT_FRICTION, side)?,
            face_mean_diameter: tightening::face_mean_diameter(thread.nominal(), self.at(list::NUT_FACE, side)?)?,
        })
    }
    /// Thread that the nut really has.
    pub fn engagement(&self, side: Side) -> Result<Length, Gap> {
        Ok(self.at(list::NUT_HEIGHT, side)?.min(self.at(list::FREE_THREAD, side)?))
    }
    /// The clamped ring at the dropout, less the slot. A washer wider than the recess stands on its rim, and one that
    /// does not sit flat bends and settles: neither clamps the ring that was measured.
    pub fn ring(&self, side: Side) -> Result<Face, Gap> {
        self.shared(&self.rings[side as usize], || self.clamped_ring(side)).copied()
    }
    fn clamped_ring(&self, side: Side) -> Result<Face, Gap> {
        let recess = self.at(list::RECESS, side)?;
        if recess > Length::ZERO && self.at(list::FACE_OUTER, side)? > recess {
            return Err(Gap::Cannot("recess"));
        }
        if self.is(list::WASHER_FLAT.of(side), "no")? {
            return Err(Gap::Cannot("washer-bridges"));
        }
        let slot = self.at(list::SLOT_WIDTH, side)?;
        Ok(Face::new(self.at(list::FACE_INNER, side)?, self.at(list::FACE_OUTER, side)?, Some(slot))?)
    }

    /// What one end holds by friction.
    pub fn side(&self, side: Side) -> Result<&SideHold, Gap> {
        self.shared(&self.sides[side as usize], || self.side_hold(side))
    }

    fn side_hold(&self, side: Side) -> Result<SideHold, Gap> {
        let (turning, section) = (self.turning(side)?, self.section(side)?);
        let torque = self.at(list::NUT_TORQUE, side)?;
        let tightened = tightening::preload(&turning, torque)?;
        self.step(|| {
            Step::new("clamp-force", side.token(), &tightening::PRELOAD, ("F", tightened.as_kilonewtons(), "kN"))
                .put("T", torque.as_newton_metres(), "N·m")
                .put("μ_t", turning.thread_friction.get(), "")
                .put("μ_n", turning.face_friction.get(), "")
        });
        let inner = self.at(list::FACE_INNER, side)?;
        let outer = self.at(list::FACE_OUTER, side)?;
        let clamped = self.clamped_length(side)?;
        let bolt = tightening::bolt_compliance(section, clamped, STEEL.into())?;
        let plates = tightening::plate_compliance(inner, outer, clamped, STEEL.into())?;
        let settling = self.at(list::SETTLING, side)?;
        let loss = tightening::embedding_loss(settling, bolt, plates)?;
        let clamp = tightening::preload_after_loss(tightened, loss)?;
        self.step(|| {
            Step::new("settling", side.token(), &tightening::EMBEDDING_LOSS, ("F", clamp.as_kilonewtons(), "kN"))
                .put("f_Z", settling.as_metres() * 1e6, "µm")
                .put("δ_S+δ_P", (bolt + plates).as_millimetres_per_newton() * 1e6, "10⁻⁶ mm/N")
        });
        let radius = self.ring(side)?.friction_radius(PressureLaw::Even);
        let mu = self.at(list::FACE_FRICTION, side)?;
        let within = faces::face_hold(mu, clamp, radius)?;
        let path = OuterPath {
            thread: turning.thread,
            thread_friction: turning.thread_friction,
            nut_friction: turning.face_friction,
            nut_radius: turning.face_mean_diameter / 2.0,
            washer_friction: mu,
            washer_radius: radius,
            locker: Torque::ZERO,
            keyed_without_play: self.is(list::WASHER_KEYED.of(side), "yes")?,
        };
        let held = |sense| -> Result<Torque, Gap> {
            let end = if side == Side::Left { faces::Side::Left } else { faces::Side::Right };
            Ok(faces::outer_hold(&path, clamp, faces::nut_motion(end, sense))?.torque)
        };
        let (out_drive, out_brake) = (held(MotorSense::Drive)?, held(MotorSense::Brake)?);
        let (drive, brake) = (within + out_drive, within + out_brake);
        self.step(|| {
            Step::new("side-hold", side.token(), &faces::OUTER_HOLD, ("T", drive.min(brake).as_newton_metres(), "N·m"))
                .put("F", clamp.as_kilonewtons(), "kN")
                .put("μ", mu.get(), "")
                .put("r", radius.as_millimetres(), "mm")
                .put("T_in", within.as_newton_metres(), "N·m")
        });
        Ok(SideHold { tightened, clamp, compliance: bolt + plates, drive, brake, outer: out_drive.max(out_brake) })
    }

    /// Dropout plus the arms of that side.
    fn clamped_length(&self, side: Side) -> Result<Length, Gap> {
        let mut length = self.at(list::DROPOUT_THICKNESS, side)?;
        for i in 0..self.arms {
            if self.is(list::ARM_SIDE.of(i), side.token())? {
                length = length + self.of_arm(list::ARM_THICKNESS, i)?;
            }
        }
        Ok(length)
    }

    /// Torque up to which no face slips at all. A passed hold test says "at least".
    pub fn first_slip(&self) -> Result<Torque, Gap> {
        self.shared(&self.first_slip, || self.slips_first()).copied()
    }
    fn slips_first(&self) -> Result<Torque, Gap> {
        let (left, right) = (self.side(Side::Left)?, self.side(Side::Right)?);
        let drive = axle_state::first_slip(left.drive, right.drive, None)?;
        let brake = axle_state::first_slip(left.brake, right.brake, None)?;
        let computed = drive.min(brake);
        let slip = self.get(list::HOLD_TEST).map_or(computed, |tested| tested.max(computed));
        self.step(|| {
            Step::new("first-slip", "", &axle_state::FIRST_SLIP, ("T_s", slip.as_newton_metres(), "N·m"))
                .put("T_L", left.drive.min(left.brake).as_newton_metres(), "N·m")
                .put("T_R", right.drive.min(right.brake).as_newton_metres(), "N·m")
        });
        Ok(slip)
    }

    /// The same by the faces alone, for what is left when a part lets go. A hold test was made with all arms fitted, so it
    /// counts only where there are none.
    pub fn faces_alone(&self) -> Result<Torque, Gap> {
        if self.arms() == 0 {
            return self.faces_hold();
        }
        self.computed_hold()
    }

    fn computed_hold(&self) -> Result<Torque, Gap> {
        let (left, right) = (self.side(Side::Left)?, self.side(Side::Right)?);
        let drive = axle_state::plastic_hold(left.drive, right.drive)?;
        Ok(drive.min(axle_state::plastic_hold(left.brake, right.brake)?))
    }

    /// Torque up to which the faces hold together after they have shared it (plastic limit).
    pub fn faces_hold(&self) -> Result<Torque, Gap> {
        let sum = self.computed_hold()?;
        Ok(self.get(list::HOLD_TEST).map_or(sum, |tested| tested.max(sum)))
    }

    /// Torque up to which the lever hold test may pull: 90 % of the first yield of the end with the smaller bore, which is
    /// the one that is pulled.
    pub fn hold_test_limit(&self) -> Result<Torque, Gap> {
        let bore = self.at(list::BORE, Side::Left)?.min(self.at(list::BORE, Side::Right)?);
        let root = self.thread()?.root_diameter();
        let section = AxleSection::new(root, Some(self.get(list::ACROSS_FLATS)?.min(root)), bore)?;
        Ok(axle_section::hold_test_limit(section, self.get(list::AXLE_YIELD)?, Force::ZERO)?)
    }

    /// Length of the axle's flats.
    pub fn flat(&self) -> Result<Length, Gap> {
        self.shared(&self.flat, || {
            Ok(flats::flat_length(self.get(list::AXLE_DIAMETER)?, self.get(list::ACROSS_FLATS)?)?)
        })
        .copied()
    }
    /// How the flats sit in one dropout. A slot in light alloy or carbon is no stop: its edges are beaten out or break (common
    /// practice: hold without counting the flats).
    pub fn dropout_fit(&self, side: Side) -> Result<SlotFit, Gap> {
        self.shared(&self.fits[side as usize], || {
            let material = self.token(list::DROPOUT_MATERIAL.of(side));
            if matches!(material, Ok(Some("aluminium" | "magnesium" | "carbon"))) {
                return Ok(SlotFit::NoStop);
            }
            self.fit(self.at(list::SLOT_WIDTH, side)?)
        })
        .copied()
    }
    /// How the flats sit in a slot. The axle does sit in it, so a draw in which its doubts say otherwise means no play.
    pub fn fit(&self, slot: Length) -> Result<SlotFit, Gap> {
        let flats = self.get(list::ACROSS_FLATS)?;
        Ok(flats::slot_fit(self.get(list::AXLE_DIAMETER)?, flats, slot.max(flats))?)
    }

    /// Torque at which a prong beside the slot bends open.
    pub fn prong(&self, side: Side) -> Result<Torque, Gap> {
        Ok(flats::prong_hold(
            self.flat()?,
            self.at(list::DROPOUT_THICKNESS, side)?,
            self.at(list::PRONG_HEIGHT, side)?,
            self.at(list::PRONG_LENGTH, side)?,
            self.at(list::DROPOUT_YIELD, side)?,
        )?)
    }

    /// Plastic limit of a dropout's slot; nothing if the axle turns freely in it.
    pub fn dropout_plastic(&self, side: Side) -> Result<Torque, Gap> {
        self.shared(&self.plastic[side as usize], || self.slot_or_prong(side)).copied()
    }
    fn slot_or_prong(&self, side: Side) -> Result<Torque, Gap> {
        match self.dropout_fit(side)? {
            SlotFit::NoStop => Ok(Torque::ZERO),
            SlotFit::Stop(_) => {
                let slot = flats::slot_plastic(
                    self.flat()?,
                    self.at(list::DROPOUT_THICKNESS, side)?,
                    self.at(list::DROPOUT_BEARING, side)?,
                )?;
                Ok(slot.min(self.prong(side)?))
            }
        }
    }

    /// Everything that holds the axle, for its state.
    pub fn holding(&self) -> Result<Hold, Gap> {
        let mut arms = Torque::ZERO;
        let mut stiffness = Some(TorsionalStiffness::ZERO);
        let mut stop = false;
        for i in 0..self.arms {
            let still = super::arms::uncrushed(self.arm_still(i))?;
            arms = arms + still;
            if still > Torque::ZERO {
                stiffness = stiffness.and_then(|k| self.of_arm(list::ARM_STIFFNESS, i).ok().map(|more| k + more));
            }
            stop |= !self.pinches(i)? && matches!(self.fit(self.of_arm(list::ARM_SLOT, i)?)?, SlotFit::Stop(_));
        }
        for side in Side::BOTH {
            stop |= matches!(self.dropout_fit(side)?, SlotFit::Stop(_));
        }
        Ok(Hold {
            first_slip: self.first_slip()?,
            faces: self.faces_hold()?,
            arms,
            arm_stiffness: stiffness.filter(|k| *k > TorsionalStiffness::ZERO),
            stop: if stop { Stop::AfterPlay(None) } else { Stop::None },
        })
    }

    /// What the axle does.
    pub fn state(&self) -> Result<AxleState, Gap> {
        Ok(axle_state::axle_state(self.peaks()?, &self.holding()?)?)
    }

    /// Play each way from the middle at the dropouts: the smaller of both ends that have a stop.
    pub fn play(&self) -> Result<Option<Angle>, Gap> {
        let mut least: Option<Angle> = None;
        for side in Side::BOTH {
            if let SlotFit::Stop(play) = self.dropout_fit(side)? {
                least = Some(least.map_or(play, |p| p.min(play)));
            }
        }
        Ok(least)
    }
}
