//! A ride on the rider's own hill, step by step, with and without braking by motor.
//!
//! A [`course::Course`] says where it goes; [`bike::Bike`] is one draw of the job's facts as plain numbers; [`run::ride`]
//! steps through it ([`step`]) and adds up ([`tally`]). [`answers`] asks what the rider asks, [`ensemble`] asks it a
//! thousand times.
//!
//! Invariant: no file, no clock; the same numbers on any number of threads.

mod act;
pub mod answers;
pub mod bike;
pub mod course;
pub mod demands;
pub mod descent;
mod electronics;
pub mod ensemble;
pub mod lanes;
pub mod limits;
pub mod options;
pub mod pack;
mod params;
pub mod rainflow;
pub mod run;
pub mod series;
pub mod side_by_side;
mod state;
pub mod step;
pub mod strip;
pub mod study;
pub mod tally;
pub mod went;
