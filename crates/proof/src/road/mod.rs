//! The road: a log held against the plan.

mod coast;
mod events;
mod held;
mod observe;
mod peaks;
mod plan;
mod promise;
mod promised;
mod ride;
mod sample;

pub use coast::{NoRoadFit, RoadFit, Rolling, road_fit};
pub use observe::Observer;
pub use plan::{Ground, reversals_beyond, rolling, steer};
pub use promise::{Proof, prove};
pub use promised::{Promise, Promised, Shown, Unridden};
pub use ride::{Coast, Heating, Held, Reversal, Ride, Slot, Steer, Window};
pub use sample::{Channel, Clockwork, Frame, Framer, Step, Values};
