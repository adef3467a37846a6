//! Heat of winding and shell.

use super::input::of;
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::heat::{Heating, STEADY_HEAT, TWO_NODES, TwoNodes, Warmth, after, settled};
use quantity::{Temperature, ThermalConductance, ThermalResistance};

const CAPACITY: super::Shape = of(&["heat capacity"], "J/K", 1.0, 1e6);
const CONDUCTANCE: super::Shape = of(&["thermal conductance"], "W/K", 0.01, 1000.0);
const LOSS: super::Shape = of(&["power"], "W", 0.0, 20_000.0);
const TEMPERATURE: super::Shape = of(&["temperature"], "°C", -50.0, 250.0);

/// Shell temperature above which people who can touch it must be warned (EN 15194 family).
const TOUCH_LIMIT: Temperature = Temperature::celsius(60.0);

/// Temperatures after a time.
pub(super) static TWO_NODE_HEAT: Sum = Sum {
    name: "two-node-heat",
    inputs: &[
        Input::new("winding-capacity", CAPACITY),
        Input::new("shell-capacity", CAPACITY),
        Input::new("winding-conductance", CONDUCTANCE),
        Input::new("shell-conductance", CONDUCTANCE).card("m44"),
        Input::new("winding-loss", LOSS),
        Input::new("shell-loss", LOSS).card("m25"),
        Input::new("time", of(&["time"], "h", 0.0, 24.0)),
        Input::new("ambient", of(&["temperature"], "°C", -40.0, 60.0)),
        Input::new("winding-start", TEMPERATURE).optional(),
        Input::new("shell-start", TEMPERATURE).optional().card("m44"),
    ],
    outputs: &[Output::new("winding_c"), Output::new("shell_c"), Output::new("steady_winding_c")],
    formulas: &[&TWO_NODES, &STEADY_HEAT],
    recipe: Some("m44"),
    example: &[
        ("winding-capacity", "300 J/K"),
        ("shell-capacity", "2200 J/K"),
        ("winding-conductance", "8 W/K"),
        ("shell-conductance", "4 W/K"),
        ("winding-loss", "200 W"),
        ("shell-loss", "60 W"),
        ("time", "10 min"),
        ("ambient", "25 °C"),
    ],
    run: run_two_node_heat,
};

fn run_two_node_heat(given: &Given) -> Result<Answer, SumError> {
    let conductance: ThermalConductance = given.q("winding-conductance")?;
    let nodes = TwoNodes {
        winding: given.q("winding-capacity")?,
        shell: given.q("shell-capacity")?,
        winding_to_shell: ThermalResistance::kelvins_per_watt(1.0 / conductance.as_watts_per_kelvin()),
        shell_to_air: given.q("shell-conductance")?,
    };
    let air: Temperature = given.q("ambient")?;
    let heating = Heating { copper_at_20: given.q("winding-loss")?, shell: given.q("shell-loss")?, air };
    let start =
        Warmth { winding: given.opt("winding-start")?.unwrap_or(air), shell: given.opt("shell-start")?.unwrap_or(air) };
    let warm = after(&nodes, &heating, start, given.q("time")?)?;
    let answer = Answer::default().put("winding_c", warm.winding).put("shell_c", warm.shell);
    let answer = match settled(&nodes, &heating)? {
        Some(steady) => answer.put("steady_winding_c", steady.winding),
        None => answer.none("steady_winding_c").note("sum.two-node-heat.note.no-steady", &[]),
    };
    Ok(if warm.shell > TOUCH_LIMIT { answer.note("sum.two-node-heat.note.shell-hot", &[]) } else { answer })
}
