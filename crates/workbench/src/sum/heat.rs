//! Heat of winding and shell.

use super::input::of;
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::heat::{
    CONTINUOUS_LOSS, Heating, Node, REST_TIME, SHORT_TIME_LOSS, STEADY_HEAT, TIME_TO_LIMIT, TWO_NODES, TwoNodes,
    Warmth, after, continuous_loss, rest_time, settled, short_time_loss, time_to_limit,
};
use quantity::{Temperature, ThermalConductance, ThermalResistance, Time};

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
        Input::new("winding-limit", TEMPERATURE).optional(),
        Input::new("shell-limit", TEMPERATURE).optional(),
    ],
    outputs: &[
        Output::new("winding_c"),
        Output::new("shell_c"),
        Output::new("steady_winding_c"),
        Output::optional("time_to_limit_s"),
        Output::optional("continuous_winding_loss_w"),
        Output::optional("short_time_winding_loss_w"),
        Output::optional("rest_s"),
    ],
    formulas: &[&TWO_NODES, &STEADY_HEAT, &TIME_TO_LIMIT, &CONTINUOUS_LOSS, &SHORT_TIME_LOSS, &REST_TIME],
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
    let answer = match (given.opt("winding-limit")?, given.opt("shell-limit")?) {
        (Some(winding), Some(shell)) => {
            with_limits(answer, &nodes, &heating, start, warm, Warmth { winding, shell }, given.q("time")?)?
        }
        (None, None) => answer,
        _ => answer.note("sum.two-node-heat.note.both-limits", &[]),
    };
    Ok(if warm.shell > TOUCH_LIMIT { answer.note("sum.two-node-heat.note.shell-hot", &[]) } else { answer })
}

/// When a limit is reached, and what can go on for ever or for the time.
fn with_limits(
    answer: Answer,
    nodes: &TwoNodes,
    heating: &Heating,
    start: Warmth,
    end: Warmth,
    limit: Warmth,
    time: Time,
) -> Result<Answer, SumError> {
    let (shell, air) = (heating.shell, heating.air);
    let answer = match time_to_limit(nodes, heating, start, limit)? {
        Some((time, Node::Winding)) => {
            answer.put("time_to_limit_s", time).note("sum.two-node-heat.note.winding-first", &[])
        }
        Some((time, Node::Shell)) => {
            answer.put("time_to_limit_s", time).note("sum.two-node-heat.note.shell-first", &[])
        }
        None => answer.none("time_to_limit_s").note("sum.two-node-heat.note.no-limit", &[]),
    };
    let answer = match continuous_loss(nodes, shell, air, limit)? {
        Some(loss) => answer.put("continuous_winding_loss_w", loss),
        None => answer.none("continuous_winding_loss_w").note("sum.two-node-heat.note.shell-alone", &[]),
    };
    let answer = if time < Time::seconds(1.0) {
        answer
    } else {
        match short_time_loss(nodes, shell, air, limit, time)? {
            Some(loss) => answer.put("short_time_winding_loss_w", loss),
            None => answer.none("short_time_winding_loss_w"),
        }
    };
    Ok(match rest_time(nodes, end, air)? {
        Some(rest) => answer.put("rest_s", rest),
        None => answer.none("rest_s"),
    })
}
