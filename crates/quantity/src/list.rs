//! The list of all quantities but temperature: one line a quantity, whatever number it holds.

pub(crate) const INCH: f64 = 0.0254;
pub(crate) const POUND_FORCE: f64 = 4.448_221_615_260_5;
pub(crate) const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// Hands the list to the macro that makes the types.
macro_rules! list {
    ($make:ident) => {
        $make! {
        /// A pure number: an efficiency, a share, a gear ratio.
        Ratio [0, 0, 0, 0, 0] { new, get, 1.0, "one"; percent, as_percent, 0.01, "per cent"; }
        /// A coefficient of friction between two faces.
        Friction [0, 0, 0, 0, 0] { new, get, 1.0, "one"; }
        /// Slope of a road: height over horizontal distance, positive uphill.
        Grade [0, 0, 0, 0, 0] { new, get, 1.0, "one"; percent, as_percent, 0.01, "per cent"; }
        /// State of charge of a battery, 0 to 1.
        StateOfCharge [0, 0, 0, 0, 0] { new, get, 1.0, "one"; percent, as_percent, 0.01, "per cent"; }
        /// A length.
        Length [0, 1, 0, 0, 0] { metres, as_metres, 1.0, "metres"; millimetres, as_millimetres, 1e-3, "millimetres"; inches, as_inches, INCH, "inches"; }
        /// An area.
        Area [0, 2, 0, 0, 0] { square_metres, as_square_metres, 1.0, "square metres"; square_millimetres, as_square_millimetres, 1e-6, "square millimetres"; }
        /// An angle.
        Angle [0, 0, 0, 0, 0] { radians, as_radians, 1.0, "radians"; degrees, as_degrees, DEGREE, "degrees"; }
        /// A mass.
        Mass [1, 0, 0, 0, 0] { kilograms, as_kilograms, 1.0, "kilograms"; grams, as_grams, 1e-3, "grams"; }
        /// A time.
        Time [0, 0, 1, 0, 0] { seconds, as_seconds, 1.0, "seconds"; milliseconds, as_milliseconds, 1e-3, "milliseconds"; hours, as_hours, 3600.0, "hours"; }
        /// A speed along the road, or of the air.
        Speed [0, 1, -1, 0, 0] { metres_per_second, as_metres_per_second, 1.0, "metres per second"; kilometres_per_hour, as_kilometres_per_hour, 1.0 / 3.6, "kilometres per hour"; }
        /// An acceleration along the road.
        Acceleration [0, 1, -2, 0, 0] { metres_per_second_squared, as_metres_per_second_squared, 1.0, "metres per second squared"; }
        /// Angular speed of the wheel.
        WheelSpeed [0, 0, -1, 0, 0] { radians_per_second, as_radians_per_second, 1.0, "radians per second"; }
        /// Mechanical angular speed of the motor's rotor.
        RotorSpeed [0, 0, -1, 0, 0] { radians_per_second, as_radians_per_second, 1.0, "radians per second"; }
        /// Angular speed of the cranks.
        CrankSpeed [0, 0, -1, 0, 0] { radians_per_second, as_radians_per_second, 1.0, "radians per second"; revolutions_per_minute, as_revolutions_per_minute, core::f64::consts::PI / 30.0, "revolutions per minute"; }
        /// Electrical angular speed: pole pairs times rotor speed.
        ElectricalSpeed [0, 0, -1, 0, 0] { radians_per_second, as_radians_per_second, 1.0, "radians per second"; }
        /// A frequency.
        Frequency [0, 0, -1, 0, 0] { hertz, as_hertz, 1.0, "hertz"; }
        /// A force: a clamp force, a pull, a weight.
        Force [1, 1, -2, 0, 0] { newtons, as_newtons, 1.0, "newtons"; kilonewtons, as_kilonewtons, 1e3, "kilonewtons"; }
        /// A torque on a fastener, a lever or a section: none of the two below.
        Torque [1, 2, -2, 0, 0] { newton_metres, as_newton_metres, 1.0, "newton metres"; foot_pounds, as_foot_pounds, 0.3048 * POUND_FORCE, "foot pounds"; }
        /// Torque of the motor at the wheel's shell; the axle reacts the same.
        WheelTorque [1, 2, -2, 0, 0] { newton_metres, as_newton_metres, 1.0, "newton metres"; }
        /// Torque at the motor's rotor, before the gears.
        RotorTorque [1, 2, -2, 0, 0] { newton_metres, as_newton_metres, 1.0, "newton metres"; }
        /// Speed-proportional drag at the rotor.
        RotorDamping [1, 2, -1, 0, 0] { newton_metre_seconds, as_newton_metre_seconds, 1.0, "newton metre seconds (per radian)"; }
        /// Torsional stiffness.
        TorsionalStiffness [1, 2, -2, 0, 0] { newton_metres_per_radian, as_newton_metres_per_radian, 1.0, "newton metres per radian"; }
        /// Linear stiffness.
        Stiffness [1, 0, -2, 0, 0] { newtons_per_metre, as_newtons_per_metre, 1.0, "newtons per metre"; }
        /// Gain of a speed loop: braking force for each unit of excess speed.
        SpeedGain [1, 0, -1, 0, 0] { newtons_per_metre_per_second, as_newtons_per_metre_per_second, 1.0, "newtons per metre per second"; }
        /// Elastic compliance of a clamped joint.
        Compliance [-1, 0, 2, 0, 0] { metres_per_newton, as_metres_per_newton, 1.0, "metres per newton"; millimetres_per_newton, as_millimetres_per_newton, 1e-3, "millimetres per newton"; }
        /// A stress or strength of a material.
        Stress [1, -1, -2, 0, 0] { pascals, as_pascals, 1.0, "pascals"; megapascals, as_megapascals, 1e6, "megapascals"; gigapascals, as_gigapascals, 1e9, "gigapascals"; }
        /// A pressure of air.
        Pressure [1, -1, -2, 0, 0] { pascals, as_pascals, 1.0, "pascals"; hectopascals, as_hectopascals, 100.0, "hectopascals"; bars, as_bars, 1e5, "bars"; }
        /// A density.
        Density [1, -3, 0, 0, 0] { kilograms_per_cubic_metre, as_kilograms_per_cubic_metre, 1.0, "kilograms per cubic metre"; }
        /// Drag coefficient times frontal area.
        DragArea [0, 2, 0, 0, 0] { square_metres, as_square_metres, 1.0, "square metres"; }
        /// Moment of inertia.
        Inertia [1, 2, 0, 0, 0] { kilogram_square_metres, as_kilogram_square_metres, 1.0, "kilogram square metres"; }
        /// Motor (phase) current, amplitude of the sine.
        PhaseCurrent [0, 0, 0, 1, 0] { amperes, as_amperes, 1.0, "amperes (amplitude)"; }
        /// Current between battery and controller; the word gives the direction.
        BatteryCurrent [0, 0, 0, 1, 0] { amperes, as_amperes, 1.0, "amperes"; }
        /// A voltage.
        Voltage [1, 2, -3, -1, 0] { volts, as_volts, 1.0, "volts"; }
        /// Resistance of one motor phase (star equivalent).
        PhaseResistance [1, 2, -3, -2, 0] { ohms, as_ohms, 1.0, "ohms"; milliohms, as_milliohms, 1e-3, "milliohms"; }
        /// Resistance between two motor wires: twice that of one phase.
        LineResistance [1, 2, -3, -2, 0] { ohms, as_ohms, 1.0, "ohms"; milliohms, as_milliohms, 1e-3, "milliohms"; }
        /// Any other resistance: pack, wire, plug, switch.
        Resistance [1, 2, -3, -2, 0] { ohms, as_ohms, 1.0, "ohms"; milliohms, as_milliohms, 1e-3, "milliohms"; }
        /// Synchronous inductance of one motor phase.
        PhaseInductance [1, 2, -2, -2, 0] { henries, as_henries, 1.0, "henries"; microhenries, as_microhenries, 1e-6, "microhenries"; }
        /// A capacitance.
        Capacitance [-1, -2, 4, 2, 0] { farads, as_farads, 1.0, "farads"; microfarads, as_microfarads, 1e-6, "microfarads"; }
        /// Flux linkage of one phase, amplitude.
        FluxLinkage [1, 2, -2, -1, 0] { webers, as_webers, 1.0, "webers"; milliwebers, as_milliwebers, 1e-3, "milliwebers"; }
        /// Fall of flux linkage with motor current: `λ = λ₀ / (1 + c·î)`.
        FluxDroop [0, 0, 0, -1, 0] { per_ampere, as_per_ampere, 1.0, "one per ampere"; }
        /// Electric charge.
        Charge [0, 0, 1, 1, 0] { coulombs, as_coulombs, 1.0, "coulombs"; ampere_hours, as_ampere_hours, 3600.0, "ampere hours"; }
        /// Power.
        Power [1, 2, -3, 0, 0] { watts, as_watts, 1.0, "watts"; }
        /// Energy.
        Energy [1, 2, -2, 0, 0] { joules, as_joules, 1.0, "joules"; watt_hours, as_watt_hours, 3600.0, "watt hours"; }
        /// Heat capacity.
        HeatCapacity [1, 2, -2, 0, -1] { joules_per_kelvin, as_joules_per_kelvin, 1.0, "joules per kelvin"; }
        /// Thermal resistance.
        ThermalResistance [-1, -2, 3, 0, 1] { kelvins_per_watt, as_kelvins_per_watt, 1.0, "kelvins per watt"; }
        /// Thermal conductance.
        ThermalConductance [1, 2, -3, 0, -1] { watts_per_kelvin, as_watts_per_kelvin, 1.0, "watts per kelvin"; }
        /// Relative change per kelvin: of a resistance, of a magnet's flux.
        TemperatureCoefficient [0, 0, 0, 0, -1] { per_kelvin, as_per_kelvin, 1.0, "one per kelvin"; percent_per_kelvin, as_percent_per_kelvin, 0.01, "per cent per kelvin"; }
        /// A difference of temperature.
        TemperatureRise [0, 0, 0, 0, 1] { kelvins, as_kelvins, 1.0, "kelvins"; }
        }
    };
}
pub(crate) use list;
