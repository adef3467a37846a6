//! Nuts, bolts and clamped faces.

use super::input::{FORCE, FRICTION, NUMBER, STRENGTH, Shape, TORQUE, length, of};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::anchor::{ANCHOR_SLIP as SLIP, ARM_FORCE, arm_force, slip_force};
use physics::faces::{
    FACE_HOLD as HOLD, FRICTION_RADIUS, Face, NutMotion, OUTER_HOLD as OUTER, OuterHold, OuterPath, PressureLaw,
    WeakestPart, face_hold, outer_hold,
};
use physics::thread::{ARC_FRACTION, NET_STRESS_AREA, STRIP_AREAS, STRIP_FORCES, ThreadedSection, strip_forces};
use physics::tightening::stress_while_tightening;
use physics::tightening::{PRELOAD as LONG_FORM, STRESS_WHILE_TIGHTENING, Turning, nut_torque, preload};
use quantity::{Force, Friction, Length, Ratio, Stress, Torque};

const THREAD: Input = Input::new("thread", Shape::Thread).card("m6");
const THREAD_FRICTION: Input = Input::new("thread-friction", FRICTION).card("m43");
const FACE_FRICTION: Input = Input::new("face-friction", FRICTION).card("m43");
const FACE_DIAMETER: Input = Input::new("face-diameter", length(2.0, 200.0)).card("m7");
const PRELOAD_FORCE: Input = Input::new("preload", FORCE);
const HOLD_FRICTION: Input = Input::new("friction", FRICTION).card("m43");
const ACROSS_FLATS: Input = Input::new("across-flats", length(1.0, 100.0)).optional().card("m7");
const BORE: Input = Input::new("bore", length(0.0, 60.0)).or("0 mm").card("m7");

/// What a torque on a nut or bolt gives.
pub(super) static PRELOAD: Sum = Sum {
    name: "preload",
    inputs: &[
        THREAD,
        Input::new("torque", TORQUE).card("m9"),
        THREAD_FRICTION,
        FACE_FRICTION,
        FACE_DIAMETER,
        Input::new("class", Shape::PropertyClass).card("m15"),
        BORE,
        ACROSS_FLATS,
    ],
    outputs: &[
        Output::new("preload_n"),
        Output::new("stress_mpa"),
        Output::new("von_mises_mpa"),
        Output::new("yield_utilisation"),
    ],
    formulas: &[&LONG_FORM, &NET_STRESS_AREA, &STRESS_WHILE_TIGHTENING],
    recipe: Some("m9"),
    example: &[
        ("thread", "M12x1.25"),
        ("torque", "80 N·m"),
        ("thread-friction", "0.12"),
        ("face-friction", "0.12"),
        ("face-diameter", "17 mm"),
        ("class", "8.8"),
        ("bore", "6 mm"),
        ("across-flats", "10 mm"),
    ],
    run: run_preload,
};

fn turning(given: &Given) -> Result<Turning, SumError> {
    Ok(Turning {
        thread: given.thread("thread")?,
        thread_friction: given.q("thread-friction")?,
        face_friction: given.q("face-friction")?,
        face_mean_diameter: given.q("face-diameter")?,
    })
}

fn run_preload(given: &Given) -> Result<Answer, SumError> {
    let turning = turning(given)?;
    let section = ThreadedSection::new(turning.thread, given.opt("across-flats")?, given.q("bore")?)?;
    let force = preload(&turning, given.q("torque")?)?;
    let stress = Stress::megapascals(force.as_newtons() / section.net_stress_area().as_square_millimetres());
    let von_mises = stress_while_tightening(section, turning.thread_friction, force)?;
    let use_of_yield = von_mises / given.class("class")?.yield_strength;
    let answer = Answer::default()
        .put("preload_n", force)
        .put("stress_mpa", stress)
        .put("von_mises_mpa", von_mises)
        .put_number("yield_utilisation", use_of_yield);
    Ok(match use_of_yield {
        over if over > 1.0 => answer.note("sum.preload.note.yields", &[]),
        high if high > 0.9 => answer.note("sum.preload.note.above-aim", &[]),
        _ => answer,
    })
}

/// The torque for a wanted preload.
pub(super) static TIGHTENING_TORQUE: Sum = Sum {
    name: "tightening-torque",
    inputs: &[THREAD, PRELOAD_FORCE, THREAD_FRICTION, FACE_FRICTION, FACE_DIAMETER],
    outputs: &[Output::new("torque_nm")],
    formulas: &[&LONG_FORM],
    recipe: Some("m43"),
    example: &[
        ("thread", "M12x1.25"),
        ("preload", "30 kN"),
        ("thread-friction", "0.12"),
        ("face-friction", "0.12"),
        ("face-diameter", "17 mm"),
    ],
    run: |given| Ok(Answer::default().put("torque_nm", nut_torque(&turning(given)?, given.q("preload")?)?)),
};

/// What clamped faces hold.
pub(super) static FACE_HOLD: Sum = Sum {
    name: "face-hold",
    inputs: &[
        PRELOAD_FORCE,
        HOLD_FRICTION,
        Input::new("inner-diameter", length(1.0, 200.0)).card("m7"),
        Input::new("outer-diameter", length(1.0, 300.0)).card("m7"),
        Input::new("faces", Shape::Count { low: 1, high: 20 }),
        Input::new("slot-width", length(0.0, 100.0)).optional().card("m7"),
    ],
    outputs: &[Output::new("hold_uniform_pressure_nm"), Output::new("hold_uniform_wear_nm")],
    formulas: &[&FRICTION_RADIUS, &HOLD],
    recipe: Some("m43"),
    example: &[
        ("preload", "20 kN"),
        ("friction", "0.12"),
        ("inner-diameter", "12.5 mm"),
        ("outer-diameter", "20 mm"),
        ("faces", "1"),
    ],
    run: run_face_hold,
};

fn run_face_hold(given: &Given) -> Result<Answer, SumError> {
    let face = Face::new(given.q("inner-diameter")?, given.q("outer-diameter")?, given.opt("slot-width")?)?;
    let (mu, force) = (given.q::<Friction>("friction")?, given.q::<Force>("preload")?);
    let faces = f64::from(given.count("faces")?);
    let hold = |law| face_hold(mu, force, face.friction_radius(law)).map(|torque| torque * faces);
    let even = hold(PressureLaw::Even)?;
    Ok(Answer::default().put("hold_uniform_pressure_nm", even).put("hold_uniform_wear_nm", hold(PressureLaw::WornIn)?))
}

/// What the path over thread, nut and washer holds.
pub(super) static OUTER_HOLD: Sum = Sum {
    name: "outer-hold",
    inputs: &[
        PRELOAD_FORCE,
        Input::new("nut-friction", FRICTION).card("m43"),
        Input::new("nut-radius", length(1.0, 100.0)).card("m7"),
        Input::new("washer-friction", FRICTION).card("m43"),
        Input::new("washer-radius", length(1.0, 150.0)).card("m7"),
        THREAD,
        THREAD_FRICTION,
    ],
    outputs: &[Output::new("tightening_nm"), Output::new("loosening_nm")],
    formulas: &[&OUTER],
    recipe: Some("m43"),
    example: &[
        ("preload", "20 kN"),
        ("nut-friction", "0.12"),
        ("nut-radius", "9.4 mm"),
        ("washer-friction", "0.12"),
        ("washer-radius", "9.4 mm"),
        ("thread", "M12x1.25"),
        ("thread-friction", "0.12"),
    ],
    run: run_outer_hold,
};

fn run_outer_hold(given: &Given) -> Result<Answer, SumError> {
    let path = OuterPath {
        thread: given.thread("thread")?,
        thread_friction: given.q("thread-friction")?,
        nut_friction: given.q("nut-friction")?,
        nut_radius: given.q("nut-radius")?,
        washer_friction: given.q("washer-friction")?,
        washer_radius: given.q("washer-radius")?,
        keyed_without_play: false,
        locker: Torque::ZERO,
    };
    let force = given.q("preload")?;
    let tightening = outer_hold(&path, force, NutMotion::Tightens)?;
    let loosening = outer_hold(&path, force, NutMotion::Loosens)?;
    Ok(Answer::default()
        .put("tightening_nm", tightening.torque)
        .put("loosening_nm", loosening.torque)
        .note(slips_first(loosening), &[]))
}

fn slips_first(hold: OuterHold) -> &'static str {
    match hold.weakest {
        WeakestPart::Thread => "sum.outer-hold.note.thread",
        WeakestPart::Nut => "sum.outer-hold.note.nut",
        WeakestPart::Washer => "sum.outer-hold.note.washer",
    }
}

/// When the threads shear off.
pub(super) static THREAD_STRIP: Sum = Sum {
    name: "thread-strip",
    inputs: &[
        THREAD,
        Input::new("engagement", length(0.1, 200.0)).card("m10"),
        Input::new("external-strength", STRENGTH).card("m14"),
        Input::new("internal-strength", STRENGTH).card("m15"),
        ACROSS_FLATS,
    ],
    outputs: &[Output::new("external_n"), Output::new("internal_n")],
    formulas: &[&STRIP_AREAS, &ARC_FRACTION, &STRIP_FORCES],
    recipe: Some("m10"),
    example: &[
        ("thread", "M12x1.25"),
        ("engagement", "8 mm"),
        ("external-strength", "800 MPa"),
        ("internal-strength", "600 MPa"),
        ("across-flats", "10 mm"),
    ],
    run: run_thread_strip,
};

fn run_thread_strip(given: &Given) -> Result<Answer, SumError> {
    let thread = given.thread("thread")?;
    let section = ThreadedSection::new(thread, given.opt("across-flats")?, Length::ZERO)?;
    let engagement: Length = given.q("engagement")?;
    let forces = strip_forces(section, engagement, given.q("external-strength")?, given.q("internal-strength")?)?;
    let answer = Answer::default().put("external_n", forces.external).put("internal_n", forces.internal);
    let short = engagement < thread.nominal() * 0.8;
    Ok(if short { answer.note("sum.thread-strip.note.short", &[]) } else { answer })
}

/// Whether a bolted anchor slips.
pub(super) static ANCHOR_SLIP: Sum = Sum {
    name: "anchor-slip",
    inputs: &[
        PRELOAD_FORCE,
        HOLD_FRICTION,
        Input::new("faces", Shape::Count { low: 1, high: 20 }),
        Input::new("torque", TORQUE).card("m12"),
        Input::new("arm-length", length(5.0, 2000.0)).card("m7"),
        Input::new("safety-factor", of(NUMBER, "", 1.0, 5.0)).or("1"),
    ],
    outputs: &[Output::new("demand_n"), Output::new("capacity_n"), Output::new("utilisation")],
    formulas: &[&ARM_FORCE, &SLIP],
    recipe: Some("m43"),
    example: &[
        ("preload", "3 kN"),
        ("friction", "0.10"),
        ("faces", "1"),
        ("torque", "19.2 N·m"),
        ("arm-length", "80 mm"),
        ("safety-factor", "1.25"),
    ],
    run: run_anchor_slip,
};

fn run_anchor_slip(given: &Given) -> Result<Answer, SumError> {
    let demand = arm_force(given.q("torque")?, given.q("arm-length")?)?;
    let safety: Ratio = given.q("safety-factor")?;
    let capacity = slip_force(given.q("preload")?, given.q("friction")?, given.count("faces")?, safety)?;
    let answer = Answer::default().put("demand_n", demand).put("capacity_n", capacity);
    if capacity.as_newtons() <= 0.0 {
        return Ok(answer.none("utilisation").note("sum.anchor-slip.note.no-clamp", &[]));
    }
    let slips = demand > capacity;
    let answer = answer.put_number("utilisation", demand / capacity);
    Ok(if slips { answer.note("sum.anchor-slip.note.slips", &[]) } else { answer })
}
