//! The battery: what it may take, and what an open plug shows.

use super::input::{NUMBER, ROAD_SPEED, Shape, VOLTAGE, of};
use super::machine::{EMF_EXAMPLE, EMF_ON_ROAD, join, machine, road_speed};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::battery::{
    COLD_SHARE, FOLD_BACK, FULLEST_CHARGE, OPEN_CIRCUIT, VOLTAGE_ROOM, WARM_FULL, cold_share, fold_back,
    fullest_charge, open_circuit, voltage_room, warm_full,
};
use physics::voltage::{BACK_EMF_SPEED, LINE_PEAK};
use quantity::{BatteryCurrent, Length, Ratio, Resistance, Speed, Temperature, Voltage};

/// The speed at which an open plug gets dangerous.
pub(super) static BATTERY_OUT_SPEED: Sum = Sum {
    name: "battery-out-speed",
    inputs: &join::<_, 4, 2, 6>(
        EMF_ON_ROAD,
        [Input::new("voltage", VOLTAGE).or("60 V").card("m30"), Input::new("speed", ROAD_SPEED).optional()],
    ),
    outputs: &[Output::new("speed_km_h"), Output::optional("open_voltage_v")],
    formulas: &[&BACK_EMF_SPEED, &LINE_PEAK],
    recipe: Some("m21"),
    example: &join::<_, 3, 2, 5>(EMF_EXAMPLE, [("wheel-radius", "340 mm"), ("speed", "45 km/h")]),
    run: run_battery_out_speed,
};

fn run_battery_out_speed(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let radius: Length = given.q("wheel-radius")?;
    let at = machine.back_emf_speed(given.q::<Voltage>("voltage")?);
    let answer = Answer::default().put("speed_km_h", road_speed(machine.wheel_speed(at), radius));
    let Some(speed) = given.opt::<Speed>("speed")? else { return Ok(answer) };
    let rotor = machine.rotor_speed(physics::motor::rolling(speed, radius)?);
    Ok(answer.put("open_voltage_v", machine.back_emf_peak(rotor)))
}

/// Outside these no lithium cell's charge limit lies: the voltage is not that of the whole pack.
const LEAST_CELL_LIMIT: Voltage = Voltage::volts(2.5);
const MOST_CELL_LIMIT: Voltage = Voltage::volts(4.5);

/// What a battery may take.
pub(super) static CHARGE_LIMIT: Sum = Sum {
    name: "charge-limit",
    inputs: &[
        Input::new("chemistry", Shape::Choice(evidence::ocv::CHEMISTRIES)).card("m34"),
        Input::new("cells-series", Shape::Count { low: 1, high: 200 }).card("m31"),
        Input::new("cells-parallel", Shape::Count { low: 1, high: 100 }).card("m34"),
        Input::new("state-of-charge", of(NUMBER, "%", 0.0, 100.0)),
        Input::new("temperature", of(&["temperature"], "°C", -40.0, 80.0)).card("m35"),
        Input::new("voltage-limit", VOLTAGE).card("m31"),
        Input::new("cell-charge-current", of(&["current"], "A", 0.0, 100.0)).or("1.5 A").card("m34"),
        Input::new("cell-resistance", of(&["resistance"], "mΩ", 0.5, 1000.0)).or("35 mΩ").card("m32"),
        Input::new("imbalance", of(&["voltage"], "mV", 0.0, 300.0)).or("0 mV"),
        Input::new("cool-share", of(NUMBER, "%", 0.0, 100.0)).or("30 %").card("m34"),
        Input::new("warm-lowering", of(&["voltage"], "mV", 0.0, 1000.0)).optional().card("m34"),
        Input::new("wanted-current", of(&["current"], "A", 0.0, 1000.0)).optional(),
    ],
    outputs: &[
        Output::new("charge_current_a"),
        Output::new("open_circuit_v"),
        Output::new("rating_limit_a"),
        Output::new("voltage_limit_a"),
        Output::optional("fullest_percent"),
    ],
    formulas: &[&OPEN_CIRCUIT, &COLD_SHARE, &WARM_FULL, &FOLD_BACK, &VOLTAGE_ROOM, &FULLEST_CHARGE],
    recipe: Some("m34"),
    example: &[
        ("chemistry", "nmc"),
        ("cells-series", "13"),
        ("cells-parallel", "5"),
        ("state-of-charge", "80 %"),
        ("temperature", "20 °C"),
        ("voltage-limit", "54.6 V"),
    ],
    run: run_charge_limit,
};

fn run_charge_limit(given: &Given) -> Result<Answer, SumError> {
    let (series, parallel) = (given.count("cells-series")?, given.count("cells-parallel")?);
    let curve = evidence::ocv::curve(given.word("chemistry")?);
    let at_rest = open_circuit(&curve, series, given.q("state-of-charge")?)?;
    let share = cold_share(given.q("temperature")?, given.q("cool-share")?)?;
    let full_rating = given.q::<BatteryCurrent>("cell-charge-current")? * f64::from(parallel);
    let rating = full_rating * share.get();
    let limit = given.q::<Voltage>("voltage-limit")? / f64::from(series);
    if limit < LEAST_CELL_LIMIT || limit > MOST_CELL_LIMIT {
        return Err(SumError::Refused("sum.charge-limit.note.not-the-packs"));
    }
    let resistance = given.q::<Resistance>("cell-resistance")? * (f64::from(series) / f64::from(parallel));
    let temperature: Temperature = given.q("temperature")?;
    let lowering: Option<Voltage> = given.opt("warm-lowering")?;
    let limit = match lowering {
        Some(lowering) if share > Ratio::ZERO => warm_full(limit, temperature, lowering)?,
        _ => limit,
    };
    let most = fold_back(series, limit, given.q("imbalance")?);
    let room = voltage_room(most, at_rest, resistance)?;
    let answer = Answer::default()
        .put("charge_current_a", rating.min(room))
        .put("open_circuit_v", at_rest)
        .put("rating_limit_a", rating)
        .put("voltage_limit_a", room);
    let answer = match given.opt::<BatteryCurrent>("wanted-current")? {
        None => answer,
        Some(wanted) if wanted > rating => {
            answer.none("fullest_percent").note("sum.charge-limit.note.beyond-rating", &[])
        }
        Some(wanted) => match fullest_charge(&curve, series, most, wanted, resistance)? {
            Some(charge) => answer.put("fullest_percent", charge),
            None => answer.none("fullest_percent").note("sum.charge-limit.note.never-fits", &[]),
        },
    };
    let cold = temperature < Temperature::celsius(0.0);
    let reason = match (rating, room) {
        _ if share == Ratio::ZERO && cold => "sum.charge-limit.note.cold",
        _ if share == Ratio::ZERO => "sum.charge-limit.note.hot",
        (_, room) if room == BatteryCurrent::ZERO => "sum.charge-limit.note.full",
        (rating, room) if room < rating => "sum.charge-limit.note.voltage",
        _ if share < Ratio::new(1.0) => "sum.charge-limit.note.cool",
        _ => "sum.charge-limit.note.rating",
    };
    let answer = answer.note(reason, &[]);
    let warm = share > Ratio::ZERO && temperature > Temperature::celsius(45.0) && lowering.is_none();
    let answer = if warm { answer.note("sum.charge-limit.note.warm", &[]) } else { answer };
    let assumed = !given.written("cell-charge-current") || !given.written("cell-resistance");
    Ok(if assumed { answer.note("sum.charge-limit.note.assumed", &[]) } else { answer })
}
