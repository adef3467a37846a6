//! What a single fault takes out of the chain, and what has to carry instead.

use super::{Kind, Link, Path, Place};

/// A link when one part has let go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// As ever.
    AsEver,
    /// It is the part that let go, or holds nothing without it.
    Gone,
    /// It carries what the other no longer does. How much of it each one carries is not worked out; what they carry
    /// together is the result of the fault.
    Carries,
    /// The fault itself.
    Fault,
}

/// The faults of a job: parts that let go in the order of its links, then the battery that opens or is taken out.
pub fn faults(links: &[Link]) -> Vec<Link> {
    let parts = links.iter().filter(|l| l.kind.path() == Path::Fault);
    let battery = links.iter().filter(|l| matches!(l.kind, Kind::PackCutsOut | Kind::BatteryOut));
    parts.chain(battery).copied().collect()
}

/// What a link is when `fault` has happened.
pub fn role(fault: Link, link: Link) -> Role {
    use Kind as K;
    let axle = matches!(link.kind, K::AxleHold | K::Faces | K::Flats | K::Dropout | K::AxleSection)
        || matches!(link.kind, K::Arm | K::PinchJaws | K::PinchBolts | K::Anchor | K::AnchorBolt);
    let (gone, carries) = match (fault.kind, fault.place) {
        (K::FaultNut, Place::At(slack)) => {
            let there = link.place == Place::At(slack);
            // Without its nut an end still has flats in a slot; its faces, thread and clamped section have nothing.
            (there && matches!(link.kind, K::Faces | K::Thread | K::Nut | K::AxleSection), axle)
        }
        (K::FaultArm, place) => (link.place == place && axle, axle),
        (K::FaultShort, _) => {
            let wheel = matches!(link.kind, K::Gears | K::GearThrust | K::ClutchLock | K::CoverScrews | K::Spokes);
            (matches!(link.kind, K::MotorCurrent | K::HillHold), axle || wheel || link.kind == K::TyreGrip)
        }
        (K::FaultSign, _) => {
            let wheel = matches!(link.kind, K::Gears | K::GearThrust | K::ClutchLock | K::CoverScrews | K::Spokes);
            (link.kind == K::MotorCurrent, axle || wheel || link.kind == K::TyreGrip)
        }
        (K::FaultRegen, _) => (link.kind == K::HillHold, link.kind == K::HandBrakes),
        (K::PackCutsOut | K::BatteryOut, _) => {
            let pack = matches!(link.kind, K::BatteryPort | K::ChargeAmps | K::ChargeVolts | K::PlugAndWire | K::Cold);
            (pack || link.kind == K::HillHold, matches!(link.kind, K::ControllerVolts | K::HandBrakes))
        }
        _ => (false, false),
    };
    if link == fault {
        Role::Fault
    } else if gone {
        Role::Gone
    } else if carries {
        Role::Carries
    } else {
        Role::AsEver
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Job;
    use crate::link::plan;

    #[test]
    fn a_fault_takes_out_its_own_part_and_something_else_carries() {
        let links = plan(&Job::new("1", "x", 2));
        let all = faults(&links);
        assert_eq!(all.len(), 2 + 2 + 3 + 2, "two nuts, two arms, wires, sign, brake, pack, battery");
        for f in all {
            let of = |role| links.iter().filter(|l| super::role(f, **l) == role).count();
            assert_eq!(of(Role::Fault), 1, "{}", f.id());
            assert!(of(Role::Gone) > 0 && of(Role::Carries) > 0 && of(Role::AsEver) > 0, "{}", f.id());
            // The other end and the other arm never go with it.
            for l in links.iter().filter(|l| super::role(f, **l) == Role::Gone && l.place != Place::Whole) {
                assert_eq!(l.place, f.place, "{} takes {} out", f.id(), l.id());
            }
        }
    }
}
