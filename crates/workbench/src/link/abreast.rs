//! The links once more, for eight draws at a time: the same files, compiled for eight numbers in place of one.
//!
//! A result is good if [`apart`] says no after it: then it is that of each draw alone, to the bit.

#![allow(clippy::duplicate_mod, reason = "each link is written once and compiled for one draw and for eight")]
#![allow(dead_code, reason = "what is asked of one draw only")]

#[path = "axle.rs"]
mod axle;
#[path = "drive.rs"]
mod drive;
#[path = "energy.rs"]
mod energy;
#[path = "load.rs"]
mod load;
#[path = "world/mod.rs"]
mod world;

use super::{Gap, Kind, Link, Off, Place, Step, Tape};
use ::physics::abreast as formulas;
use ::physics::axle_state as alone;
use formulas::{Number, math, si};
pub use load::{Load, load};
pub use si::{COUNT, apart, forget_apart, set_apart};
pub use world::{Values, World};

/// The quantity that a fact of this kind is.
type Of<Q> = <Q as quantity::Quantity>::Abreast;

/// The numbers that stand at a place and after it.
#[inline]
fn read(numbers: &[f64], at: usize) -> Option<Number> {
    Some(Number::of(*numbers.get(at..)?.first_chunk()?))
}

/// What holds the axle in each draw, and the peaks: its state is then a matter of a few comparisons.
pub fn axle<T: Tape>(w: &World<'_, T>) -> Result<[(alone::Peaks, alone::Hold); COUNT], Gap> {
    let (peaks, hold) = (w.peaks()?, w.holding()?);
    Ok(core::array::from_fn(|i| {
        let peaks = alone::Peaks { drive: peaks.drive.lane(i), brake: peaks.brake.lane(i) };
        let hold = alone::Hold {
            first_slip: hold.first_slip.lane(i),
            faces: hold.faces.lane(i),
            arms: hold.arms.lane(i),
            arm_stiffness: hold.arm_stiffness.map(|k| k.lane(i)),
            stop: match hold.stop {
                formulas::axle_state::Stop::None => alone::Stop::None,
                formulas::axle_state::Stop::AfterPlay(k) => alone::Stop::AfterPlay(k.map(|k| k.lane(i))),
            },
        };
        (peaks, hold)
    }))
}
