//! What readings on the bench mean, and what to pull in the hold test.

use super::input::{MASS, NUMBER, STRENGTH, Shape, WHEEL_RADIUS, length, of};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::anchor::{ARM_FORCE, arm_force};
use physics::axle_section::{AxleSection, HOLD_TEST_LIMIT, hold_test_limit};
use physics::readings::{
    CENTRE_AHEAD, CENTRE_HEIGHT, THREAD_BUDGET, THREE_CLAMP as AMPLITUDE, centre_ahead, centre_height, thread_budget,
    three_clamp,
};
use quantity::{Force, Length, Mass, Ratio, Torque};

/// Standard acceleration of free fall: what a scale that reads kilograms takes a newton for.
const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;

/// What to pull at the lever.
pub(super) static HOLD_TEST: Sum = Sum {
    name: "hold-test",
    inputs: &[
        Input::new("torque", of(&["torque"], "N·m", 1.0, 1000.0)).card("m26"),
        Input::new("factor", of(NUMBER, "", 1.0, 2.0)).or("1.25"),
        Input::new("lever", length(100.0, 3000.0)).or("1000 mm").card("m12"),
        Input::new("axle-diameter", length(4.0, 60.0)).card("m6"),
        Input::new("across-flats", length(2.0, 60.0)).optional().card("m7"),
        Input::new("bore", length(0.0, 50.0)).or("0 mm").card("m7"),
        Input::new("yield-strength", STRENGTH).card("m14"),
    ],
    outputs: &[
        Output::new("wanted_nm"),
        Output::new("limit_nm"),
        Output::new("test_nm"),
        Output::new("pull_n"),
        Output::new("pull_kg"),
    ],
    formulas: &[&HOLD_TEST_LIMIT, &ARM_FORCE],
    recipe: Some("m12"),
    example: &[
        ("torque", "60 N·m"),
        ("axle-diameter", "10.47 mm"),
        ("across-flats", "10 mm"),
        ("yield-strength", "800 MPa"),
    ],
    run: run_hold_test,
};

fn run_hold_test(given: &Given) -> Result<Answer, SumError> {
    let section = AxleSection::new(given.q("axle-diameter")?, given.opt("across-flats")?, given.q("bore")?)?;
    let limit = hold_test_limit(section, given.q("yield-strength")?, Force::ZERO)?;
    let wanted = given.q::<Torque>("torque")? * given.q::<Ratio>("factor")?.get();
    let test = wanted.min(limit);
    let pull = arm_force(test, given.q("lever")?)?;
    let answer = Answer::default()
        .put("wanted_nm", wanted)
        .put("limit_nm", limit)
        .put("test_nm", test)
        .put("pull_n", pull)
        .put("pull_kg", Mass::kilograms(pull.as_newtons() / STANDARD_GRAVITY_M_S2));
    Ok(if limit < wanted { answer.note("sum.hold-test.note.limited", &[]) } else { answer })
}

/// Whether the axle is long enough for all that shall go on it.
pub(super) static STACK: Sum = Sum {
    name: "stack",
    inputs: &[
        Input::new("thread", Shape::Thread).card("m6"),
        Input::new("free-length", length(0.0, 200.0)).card("m11"),
        Input::new("arm", length(0.0, 100.0)).or("0 mm").card("m7"),
        Input::new("washers", length(0.0, 100.0)).or("0 mm").card("m7"),
        Input::new("nut-height", length(1.0, 50.0)).card("m7"),
    ],
    outputs: &[Output::new("engaged_mm"), Output::new("left_mm"), Output::new("turns"), Output::new("share_of_needed")],
    formulas: &[&THREAD_BUDGET],
    recipe: Some("m11"),
    example: &[
        ("thread", "M12x1.25"),
        ("free-length", "20 mm"),
        ("arm", "6 mm"),
        ("washers", "3 mm"),
        ("nut-height", "10 mm"),
    ],
    run: run_stack,
};

/// Engaged length over the diameter below which the nut gets less torque (common practice).
const NEEDED_ENGAGEMENT: f64 = 0.8;

fn run_stack(given: &Given) -> Result<Answer, SumError> {
    let thread = given.thread("thread")?;
    let (free, arm): (Length, Length) = (given.q("free-length")?, given.q("arm")?);
    let budget = thread_budget(thread, free, arm, given.q("washers")?, given.q("nut-height")?)?;
    let share = budget.engaged / (thread.nominal() * NEEDED_ENGAGEMENT);
    let answer = Answer::default()
        .put("engaged_mm", budget.engaged)
        .put("left_mm", budget.left)
        .put("turns", budget.turns)
        .put_number("share_of_needed", share);
    Ok(if share < 1.0 { answer.note("sum.stack.note.short", &[]) } else { answer })
}

/// Where the centre of mass is, from a scale under the front wheel.
pub(super) static CENTRE_OF_MASS: Sum = Sum {
    name: "centre-of-mass",
    inputs: &[
        Input::new("wheelbase", length(200.0, 5000.0)).card("m3"),
        Input::new("front-mass", MASS).card("m3"),
        Input::new("rear-mass", MASS).card("m1"),
        Input::new("front-mass-raised", of(&["mass"], "kg", 0.0, 1000.0)).optional().card("m4"),
        Input::new("block-height", length(50.0, 1000.0)).or("300 mm").card("m4"),
        Input::new("wheel-radius", WHEEL_RADIUS).optional().card("m5"),
    ],
    outputs: &[Output::new("mass_kg"), Output::new("ahead_mm"), Output::optional("height_mm")],
    formulas: &[&CENTRE_AHEAD, &CENTRE_HEIGHT],
    recipe: Some("m3"),
    example: &[
        ("wheelbase", "1120 mm"),
        ("front-mass", "43 kg"),
        ("rear-mass", "69 kg"),
        ("front-mass-raised", "23.3 kg"),
        ("wheel-radius", "340 mm"),
    ],
    run: run_centre_of_mass,
};

fn run_centre_of_mass(given: &Given) -> Result<Answer, SumError> {
    let (front, rear): (Mass, Mass) = (given.q("front-mass")?, given.q("rear-mass")?);
    let base: Length = given.q("wheelbase")?;
    let answer = Answer::default().put("mass_kg", front + rear).put("ahead_mm", centre_ahead(base, front, rear)?);
    let Some(raised) = given.opt("front-mass-raised")? else { return Ok(answer) };
    let height = centre_height(base, given.q("wheel-radius")?, front, rear, given.q("block-height")?, raised)?;
    Ok(answer.put("height_mm", height))
}

const CLAMP: Shape = of(&["current"], "A", -2000.0, 2000.0);

/// Amplitude and RMS from a clamp on each wire.
pub(super) static THREE_CLAMP: Sum = Sum {
    name: "three-clamp",
    inputs: &[
        Input::new("current-a", CLAMP).card("m27"),
        Input::new("current-b", CLAMP).card("m27"),
        Input::new("current-c", CLAMP).card("m27"),
    ],
    outputs: &[Output::new("amplitude_a"), Output::new("rms_a")],
    formulas: &[&AMPLITUDE],
    recipe: Some("m27"),
    example: &[("current-a", "70 A"), ("current-b", "-35 A"), ("current-c", "-35 A")],
    run: run_three_clamp,
};

fn run_three_clamp(given: &Given) -> Result<Answer, SumError> {
    let amplitude = three_clamp(given.q("current-a")?, given.q("current-b")?, given.q("current-c")?)?;
    Ok(Answer::default().put("amplitude_a", amplitude).put("rms_a", amplitude / 2.0_f64.sqrt()))
}
