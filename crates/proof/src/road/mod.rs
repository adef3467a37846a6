//! The road: a log held against the plan.

mod coast;
mod observe;
mod plan;
mod promise;
mod sample;

pub use coast::{NoRoadFit, RoadFit, Rolling, road_fit};
pub use observe::{Coast, Heating, Held, Observer, Reversal, Ride, Slot, Steer, Window};
pub use plan::{Ground, rolling, steer};
pub use promise::{Promise, Promised, Proof, Shown, Unridden, prove};
pub use sample::{Channel, Clockwork, Frame, Framer, Step, Values};
