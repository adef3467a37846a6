//! The axle's flats, the parts that hold them, and the parts that carry the torque.

use super::input::{FORCE, STRENGTH, Shape, TORQUE, length, of};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::axle_section::{AxleSection, TORSION_BOUND, TORSION_ESTIMATE, torsion_bound, torsion_estimate};
use physics::flats::{
    CORNER_YIELD, FLAT_LENGTH, PLASTIC, PLAY, SlotFit, corner_yield, flat_length, slot_fit, slot_plastic,
};
use physics::lock::{WELD_SHEAR, Weld, weld_shear};
use physics::pinch::{self, GAP, Jaw, NO_YIELD, PLASTIC as CRUSH, PRESSURE};
use physics::wheel::{Lacing, SPOKE_CHANGE, SPOKE_LEFT, spoke_tension_change, spoke_tension_left};
use quantity::{Force, Length, Stress, Torque};

const THICKNESS: Input = Input::new("thickness", length(0.5, 50.0)).card("m7");
const YIELD: Input = Input::new("yield-strength", STRENGTH).card("m13");
const BEARING: Input = Input::new("bearing-strength", STRENGTH).card("m13");

/// What a dropout or a slotted arm holds.
pub(super) static FLATS: Sum = Sum {
    name: "flats",
    inputs: &[
        Input::new("axle-diameter", length(4.0, 60.0)).card("m6"),
        Input::new("across-flats", length(2.0, 60.0)).card("m7"),
        Input::new("slot-width", length(2.0, 80.0)).card("m7"),
        THICKNESS,
        YIELD,
        BEARING,
        Input::new("elastic-modulus", of(&["stress"], "GPa", 1.0, 1000.0)).or("200 GPa"),
    ],
    outputs: &[
        Output::new("flat_length_mm"),
        Output::new("play_deg"),
        Output::new("corner_yield_nm"),
        Output::new("plastic_nm"),
    ],
    formulas: &[&FLAT_LENGTH, &PLAY, &CORNER_YIELD, &PLASTIC],
    recipe: Some("m8"),
    example: &[
        ("axle-diameter", "12 mm"),
        ("across-flats", "10 mm"),
        ("slot-width", "10.2 mm"),
        ("thickness", "6 mm"),
        ("yield-strength", "235 MPa"),
        ("bearing-strength", "360 MPa"),
    ],
    run: run_flats,
};

fn run_flats(given: &Given) -> Result<Answer, SumError> {
    let (diameter, across): (Length, Length) = (given.q("axle-diameter")?, given.q("across-flats")?);
    let flat = flat_length(diameter, across)?;
    let answer = Answer::default().put("flat_length_mm", flat);
    match slot_fit(diameter, across, given.q("slot-width")?)? {
        SlotFit::NoStop => Ok(answer
            .none("play_deg")
            .put("corner_yield_nm", Torque::ZERO)
            .put("plastic_nm", Torque::ZERO)
            .note("sum.flats.note.no-stop", &[])),
        SlotFit::Stop(play) => {
            let thickness = given.q("thickness")?;
            let first = corner_yield(flat, thickness, play, given.q("yield-strength")?, given.q("elastic-modulus")?)?;
            Ok(answer
                .put("play_deg", play)
                .put("corner_yield_nm", first.torque)
                .put("plastic_nm", slot_plastic(flat, thickness, given.q("bearing-strength")?)?))
        }
    }
}

/// What a pinching torque arm holds.
pub(super) static PINCH: Sum = Sum {
    name: "pinch",
    inputs: &[
        Input::new("clamp-force", FORCE),
        Input::new("flat-length", length(0.5, 60.0)).card("m7"),
        THICKNESS,
        YIELD,
        BEARING,
    ],
    outputs: &[
        Output::new("gap_nm"),
        Output::new("no_yield_nm"),
        Output::new("crush_limited_nm"),
        Output::new("pressure_mpa"),
    ],
    formulas: &[&GAP, &NO_YIELD, &CRUSH, &PRESSURE],
    recipe: Some("m7"),
    example: &[
        ("clamp-force", "15 kN"),
        ("flat-length", "6.6332 mm"),
        ("thickness", "8 mm"),
        ("yield-strength", "400 MPa"),
        ("bearing-strength", "400 MPa"),
    ],
    run: run_pinch,
};

fn run_pinch(given: &Given) -> Result<Answer, SumError> {
    let jaw = Jaw::new(given.q("flat-length")?, given.q("thickness")?)?;
    let squeeze: Force = given.q("clamp-force")?;
    let (yields, crushes): (Stress, Stress) = (given.q("yield-strength")?, given.q("bearing-strength")?);
    let mean = if squeeze == Force::ZERO { Stress::ZERO } else { pinch::jaw_pressure(jaw, squeeze, Torque::ZERO)? };
    let answer = Answer::default().put("gap_nm", pinch::gap_torque(jaw, squeeze, Length::ZERO)?);
    let crushed = mean > yields;
    let no_yield =
        if crushed { Torque::ZERO } else { pinch::no_yield_torque(jaw, squeeze, squeeze, Length::ZERO, yields)? };
    let flowing = mean > crushes;
    let plastic = if flowing { Torque::ZERO } else { pinch::plastic_torque(jaw, squeeze, crushes)? };
    let answer = answer.put("no_yield_nm", no_yield).put("crush_limited_nm", plastic).put("pressure_mpa", mean);
    Ok(match (flowing, crushed) {
        (true, _) => answer.note("sum.pinch.note.flows", &[]),
        (_, true) => answer.note("sum.pinch.note.crushed", &[]),
        _ => answer,
    })
}

/// Shear in the weld of the clutch lock.
pub(super) static WELD: Sum = Sum {
    name: "weld",
    inputs: &[
        Input::new("torque", TORQUE).card("m26"),
        Input::new("radius", length(1.0, 200.0)).card("m7"),
        Input::new("leg", length(0.1, 50.0)).card("m7"),
        Input::new(
            "length",
            Shape::QuantityOr { kinds: &["length"], unit: "mm", low: 1.0, high: 1500.0, word: "full" },
        )
        .card("m7"),
    ],
    outputs: &[Output::new("stress_mpa")],
    formulas: &[&WELD_SHEAR],
    recipe: Some("m7"),
    example: &[("torque", "110 N·m"), ("radius", "15 mm"), ("leg", "3 mm"), ("length", "full")],
    run: run_weld,
};

fn run_weld(given: &Given) -> Result<Answer, SumError> {
    let weld = if given.is("length", "full")? {
        Weld::Ring
    } else {
        Weld::Tacks { number: 1, length: given.q("length")?, missing: 0 }
    };
    let stress = weld_shear(given.q("torque")?, given.q("radius")?, given.q("leg")?, weld)?;
    Ok(Answer::default().put("stress_mpa", stress).note("sum.weld.note.limits", &[]))
}

/// Shear in the axle under torque.
pub(super) static SHAFT_TORSION: Sum = Sum {
    name: "shaft-torsion",
    inputs: &[
        Input::new("diameter", length(2.0, 100.0)).card("m6"),
        Input::new("bore", length(0.0, 90.0)).or("0 mm").card("m7"),
        Input::new("across-flats", length(1.0, 100.0)).optional().card("m7"),
        Input::new("torque", TORQUE).card("m26"),
    ],
    outputs: &[Output::new("stress_mpa"), Output::optional("estimate_mpa")],
    formulas: &[&TORSION_BOUND, &TORSION_ESTIMATE],
    recipe: Some("m7"),
    example: &[("diameter", "12 mm"), ("bore", "6 mm"), ("across-flats", "10 mm"), ("torque", "40 N·m")],
    run: run_shaft_torsion,
};

fn run_shaft_torsion(given: &Given) -> Result<Answer, SumError> {
    let (torque, bore): (Torque, Length) = (given.q("torque")?, given.q("bore")?);
    let section = AxleSection::new(given.q("diameter")?, given.opt("across-flats")?, bore)?;
    let answer = Answer::default().put("stress_mpa", torsion_bound(section, torque)?);
    Ok(match torsion_estimate(section, torque) {
        Ok(estimate) => answer.put("estimate_mpa", estimate).note("sum.shaft-torsion.note.bound", &[]),
        Err(_) => answer.note("sum.shaft-torsion.note.bound-only", &[]),
    })
}

/// What braking does to the spokes.
pub(super) static SPOKE_LOAD: Sum = Sum {
    name: "spoke-load",
    inputs: &[
        Input::new("torque", TORQUE).card("m26"),
        Input::new("spokes", Shape::Count { low: 12, high: 72 }).card("look"),
        Input::new("crosses", Shape::Count { low: 1, high: 5 }).card("look"),
        Input::new("rim-radius", length(50.0, 500.0)).card("m7"),
        Input::new("flange-radius", length(10.0, 300.0)).card("m7"),
        Input::new("tension", of(&["force"], "N", 50.0, 5000.0)),
    ],
    outputs: &[Output::new("change_n"), Output::new("lowest_n"), Output::new("highest_n")],
    formulas: &[&SPOKE_CHANGE, &SPOKE_LEFT],
    recipe: Some("m26"),
    example: &[
        ("torque", "90 N·m"),
        ("spokes", "36"),
        ("crosses", "2"),
        ("rim-radius", "270 mm"),
        ("flange-radius", "60 mm"),
        ("tension", "900 N"),
    ],
    run: run_spoke_load,
};

fn run_spoke_load(given: &Given) -> Result<Answer, SumError> {
    let lacing = Lacing {
        spokes: given.count("spokes")?,
        crosses: given.count("crosses")?,
        rim_radius: given.q("rim-radius")?,
        flange_radius: given.q("flange-radius")?,
    };
    let tension: Force = given.q("tension")?;
    let change = spoke_tension_change(given.q("torque")?, &lacing)?;
    let answer = Answer::default().put("change_n", change).put("highest_n", tension + change);
    Ok(match spoke_tension_left(tension, change) {
        Ok(left) => answer.put("lowest_n", left),
        Err(_) => answer.none("lowest_n").note("sum.spoke-load.note.slack", &[]),
    })
}
