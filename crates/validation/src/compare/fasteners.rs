//! Threads, tightening, faces, shafts and welds.

use physics::axle_section::{self, AxleSection};
use physics::faces::{self, Face, NutMotion, PressureLaw};
use physics::thread::{self, StripFit, Thread, ThreadedSection};
use physics::tightening::{self, Turning};
use physics::{OutOfRange, lock, pinch};
use quantity::*;

use super::{Answer, Compared};
use crate::table::{Recorded, number};

const VDI: &str = "the table is rounded to three figures and leaves the edition's bearing faces open; computed with the \
                   smallest of ISO 4014 and the medium holes of ISO 273";
const ROARK: &str = "Roark's polynomial stands 0.6 to 1.6 % below the solution";
const CUT: &str = "four printed figures of a polynomial, the last one cut, not rounded, in places";
const ROUNDED: &str = "the form 0.16·P + 0.58·d2 of the source rounds 1/2π and 1/(2 cos 30°)";

pub(super) fn compare(row: &Recorded) -> Compared {
    let kind = row.quantity.as_str();
    Some(match kind {
        "stress_area_As" => area(row, Answer::within(0.0, 0.005, "the table is rounded to three figures")),
        "stress_area_As_unrounded" => area(row, Answer::exact(0.0)),
        "stress_area_At (0.93825 form)" => area(row, Answer::within(0.0, 0.001, "worked with a rounded constant")),
        "d2_pitch_diameter" => metric(&row.inputs).map(|t| Answer::exact(t.pitch_diameter().as_millimetres())),
        "d3_minor_rounded_root" => metric(&row.inputs).map(|t| Answer::exact(t.root_diameter().as_millimetres())),
        "VDI_FM_90pct_yield" => vdi(&row.inputs).map(|(force, _)| Answer::within(force.as_kilonewtons(), 0.01, VDI)),
        "VDI_MA_90pct_yield" => {
            vdi(&row.inputs).map(|(_, torque)| Answer::within(torque.as_newton_metres(), 0.015, VDI))
        }
        "K nut factor from long form" => nut_factor(&row.inputs).map(|k| Answer::within(k, 0.005, ROUNDED)),
        _ if kind.starts_with("thread shear area per mm, basic size") => shear_area(row, kind.contains("external")),
        "thread shear area per mm, min material, internal" => worst_internal(row),
        _ if kind.starts_with("Tst / Tsl / Tw") => thread_slip(row)?,
        "annulus torque uniform wear" => annulus(row),
        "r_eff ratio uniform-pressure/uniform-wear" => radius_ratio(row),
        "slot contact moment M/(F*b)" => return slot_moment(row),
        _ if kind.starts_with("two-flat shaft K/r^4") => stiffness(row, kind.contains("own")),
        _ if kind.starts_with("two-flat shaft B") => shear(row, kind.contains("own")),
        "two-flat shaft tau" => two_flat_stress(row),
        "tube torsion" => tube(80.0, 60.0, 4000.0).map(Answer::exact),
        "solid shaft torsion" => {
            let stress = AxleSection::new(Length::inches(1.5), None, Length::ZERO)
                .and_then(|s| axle_section::torsion_bound(s, Torque::foot_pounds(250.0)));
            stress.map(|s| Answer::exact(s.as_pascals() / 6_894.757_293_168))
        }
        "circular fillet torsion throat" => fillet(),
        "endurance limit example" => endurance(),
        _ => return None,
    })
}

/// A thread as the tables write it: `M12x1.25 …` or `M8 coarse …`.
fn metric(inputs: &str) -> Result<Thread, OutOfRange> {
    let d_mm = number(inputs, "M");
    let pitch_mm = match inputs.split_whitespace().next().and_then(|name| name.split_once('x')) {
        Some((_, pitch)) => number(pitch, ""),
        None => [(5.0, 0.8), (6.0, 1.0), (8.0, 1.25), (10.0, 1.5), (12.0, 1.75), (14.0, 2.0)]
            .into_iter()
            .find(|(d, _)| *d == d_mm)
            .map_or(f64::NAN, |(_, pitch)| pitch),
    };
    Thread::new(Length::millimetres(d_mm), Length::millimetres(pitch_mm))
}

fn area(row: &Recorded, answer: Answer) -> Result<Answer, OutOfRange> {
    Ok(Answer { ours: metric(&row.inputs)?.stress_area().as_square_millimetres(), ..answer })
}

/// Mean diameter of the face under a hexagon: smallest bearing diameter of ISO 4014, medium hole of ISO 273.
fn under_head(thread: Thread) -> Result<Length, OutOfRange> {
    let (hole, bearing) = [
        (5.0, 5.5, 6.88),
        (6.0, 6.6, 8.88),
        (8.0, 9.0, 11.63),
        (10.0, 11.0, 14.63),
        (12.0, 13.5, 16.63),
        (14.0, 15.5, 19.64),
    ]
    .into_iter()
    .find(|(d, ..)| (d - thread.nominal().as_millimetres()).abs() < 1e-6)
    .map_or((f64::NAN, f64::NAN), |(_, hole, bearing)| (hole, bearing));
    tightening::face_mean_diameter(Length::millimetres(hole), Length::millimetres(bearing))
}

fn turning(inputs: &str, key: &str) -> Result<Turning, OutOfRange> {
    let thread = metric(inputs)?;
    let mu = Friction::new(number(inputs, key));
    Ok(Turning { thread, thread_friction: mu, face_friction: mu, face_mean_diameter: under_head(thread)? })
}

/// Preload at 90 % of the yield strength, and the torque that gives it.
fn vdi(inputs: &str) -> Result<(Force, Torque), OutOfRange> {
    let turning = turning(inputs, if inputs.contains("muG=muK=") { "muG=muK=" } else { "mu=" })?;
    let yield_mpa = [(" 8.8 ", 640.0), (" 10.9 ", 940.0), (" 12.9 ", 1100.0)]
        .into_iter()
        .find(|(class, _)| inputs.contains(class))
        .map_or(f64::NAN, |(_, yield_mpa)| yield_mpa);
    let section = ThreadedSection::solid(turning.thread);
    let strength = Stress::megapascals(yield_mpa);
    let force = tightening::preload_at_yield(section, turning.thread_friction, strength, Ratio::new(0.9))?;
    Ok((force, tightening::nut_torque(&turning, force)?))
}

fn nut_factor(inputs: &str) -> Result<f64, OutOfRange> {
    Ok(tightening::nut_factor(&turning(inputs, "muG=muK=")?)?.get())
}

fn shear_area(row: &Recorded, external: bool) -> Result<Answer, OutOfRange> {
    let thread = metric(&row.inputs)?;
    let areas = thread::strip_areas(ThreadedSection::solid(thread), StripFit::basic(thread), Length::millimetres(1.0))?;
    let area = if external { areas.external } else { areas.internal };
    Ok(Answer::within(area.as_square_millimetres(), 1e-4, "profile constants of six figures"))
}

fn worst_internal(row: &Recorded) -> Result<Answer, OutOfRange> {
    let thread = metric(&row.inputs)?;
    let fit = StripFit {
        external_major: Length::millimetres(number(&row.inputs, "dmin")),
        internal_pitch: Length::millimetres(number(&row.inputs, "D2max")),
        ..StripFit::basic(thread)
    };
    let areas = thread::strip_areas(ThreadedSection::solid(thread), fit, Length::millimetres(1.0))?;
    Ok(Answer::within(areas.internal.as_square_millimetres(), 0.003, "limits of ISO 965-2 from memory in the source"))
}

/// The second of the three printed torques is that of the thread in loosening.
fn thread_slip(row: &Recorded) -> Option<Result<Answer, OutOfRange>> {
    let printed = row.expected.split('/').nth(1)?.trim().parse().ok()?;
    let slip = metric(&row.inputs).and_then(|thread| {
        let mu = Friction::new(number(&row.inputs, "mu"));
        faces::thread_hold(thread, mu, Force::kilonewtons(30.0), NutMotion::Loosens)
    });
    let why = "the source adds the lead angle to the friction angle, we add their tangents";
    Some(slip.map(|torque| Answer::within(torque.as_newton_metres(), 0.005, why).against(printed)))
}

/// The force comes from the statics of the example: π·p·d·(D − d)/2.
fn annulus(row: &Recorded) -> Result<Answer, OutOfRange> {
    let (mu, p_mpa) = (number(&row.inputs, "mu"), number(&row.inputs, "pa"));
    let (outer, inner) = (number(&row.inputs, " D"), number(&row.inputs, " d"));
    let force = Force::newtons(std::f64::consts::PI * p_mpa * inner * (outer - inner) / 2.0);
    let face = Face::new(Length::millimetres(inner), Length::millimetres(outer), None)?;
    let torque = faces::face_hold(Friction::new(mu), force, face.friction_radius(PressureLaw::WornIn))?;
    Ok(Answer::exact(torque.as_newton_metres() * 1e3))
}

fn radius_ratio(row: &Recorded) -> Result<Answer, OutOfRange> {
    let outer = 20.0;
    let face = Face::new(Length::millimetres(outer * number(&row.inputs, "ri/ro=")), Length::millimetres(outer), None)?;
    let radius = |law| face.friction_radius(law).as_millimetres();
    Ok(Answer::exact(radius(PressureLaw::Even) / radius(PressureLaw::WornIn)))
}

/// Full contact is where the gap begins; two flats carry the torque of a jaw.
fn slot_moment(row: &Recorded) -> Compared {
    (number(&row.inputs, "L/b=") == 1.0).then(|| {
        let (b_mm, force) = (6.0, Force::kilonewtons(10.0));
        let jaw = pinch::Jaw::new(Length::millimetres(b_mm), Length::millimetres(8.0))?;
        let torque = pinch::gap_torque(jaw, force, Length::ZERO)?;
        Ok(Answer::exact(torque.as_newton_metres() * 1e3 / (2.0 * force.as_newtons() * b_mm)))
    })
}

/// A shaft of 10 mm radius with flats of the row's depth.
fn flatted(row: &Recorded) -> Result<AxleSection, OutOfRange> {
    let flats = Length::millimetres(20.0 * (1.0 - number(&row.inputs, "h/r=")));
    AxleSection::new(Length::millimetres(20.0), Some(flats), Length::ZERO)
}

fn stiffness(row: &Recorded, solved: bool) -> Result<Answer, OutOfRange> {
    let modulus = Stress::gigapascals(80.0);
    let stub = axle_section::stub_stiffness(flatted(row)?, Length::metres(1.0), modulus)?;
    let constant_m4 = stub.as_newton_metres_per_radian() / modulus.as_pascals();
    let ours = constant_m4 / 1e-8;
    Ok(if solved { Answer::within(ours, 0.02, ROARK) } else { Answer::within(ours, 1.5e-4, CUT) })
}

fn shear(row: &Recorded, solved: bool) -> Result<Answer, OutOfRange> {
    let stress = axle_section::two_flat_shear(flatted(row)?, Torque::newton_metres(100.0))?;
    let ours = stress.as_pascals() * 1e-6 / 100.0;
    Ok(if solved {
        Answer::within(ours, 0.015, "Roark's polynomial is a fit to within 1 %")
    } else {
        Answer::within(ours, 1.5e-4, CUT)
    })
}

fn two_flat_stress(row: &Recorded) -> Result<Answer, OutOfRange> {
    let input = |key| number(&row.inputs, key);
    let section =
        AxleSection::new(Length::millimetres(input("D")), Some(Length::millimetres(input("AF"))), Length::ZERO)?;
    let stress = axle_section::two_flat_shear(section, Torque::newton_metres(input(" T")))?;
    Ok(Answer::exact(stress.as_megapascals()))
}

fn tube(outer_mm: f64, inner_mm: f64, torque_nm: f64) -> Result<f64, OutOfRange> {
    let section = AxleSection::new(Length::millimetres(outer_mm), None, Length::millimetres(inner_mm))?;
    Ok(axle_section::torsion_bound(section, Torque::newton_metres(torque_nm))?.as_megapascals())
}

/// The leg whose throat is the printed one must give the example's stress: read backwards, as the throat.
fn fillet() -> Result<Answer, OutOfRange> {
    let leg = Length::millimetres(5.0);
    let stress = lock::weld_shear(Torque::newton_metres(2500.0), Length::millimetres(25.0), leg, lock::Weld::Ring)?;
    let throat_mm = 0.707 * leg.as_millimetres() * stress.as_megapascals() / 140.0;
    Ok(Answer::exact(throat_mm))
}

fn endurance() -> Result<Answer, OutOfRange> {
    let factors = Ratio::new(0.82 * 0.85 * 0.868 * 0.577);
    let notch = axle_section::notch_factor(Ratio::new(1.8), Ratio::new(0.86))?;
    let limit = axle_section::endurance_limit(Stress::megapascals(440.0), factors, notch)?;
    Ok(Answer::exact(limit.as_megapascals()))
}
