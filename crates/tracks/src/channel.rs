//! What a column of a file holds.

/// What is measured. Every value of a quantity is held in [one unit](Quantity::unit).
///
/// Signs: currents, torque and power of the motor and of the battery are positive when the motor drives (the battery
/// gives) and negative when it brakes (the battery takes). A file with the opposite sign says `scale = -1` in its
/// [`Columns`](crate::Columns).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Latitude, WGS 84.
    Latitude,
    /// Longitude, WGS 84.
    Longitude,
    /// Height above sea level or any fixed level.
    Height,
    /// Distance ridden so far.
    Distance,
    /// Speed over ground.
    Speed,
    /// Voltage at the controller's battery terminals.
    BusVoltage,
    /// Current out of the battery.
    BatteryCurrent,
    /// Power out of the battery.
    BatteryPower,
    /// Charge level of the battery, 0 to 1.
    ChargeLevel,
    /// Motor (phase) current, peak of the sine unless the file's maker says otherwise.
    PhaseCurrent,
    /// Torque of the motor at the wheel.
    MotorTorque,
    /// Mechanical power of the motor.
    MotorPower,
    /// Speed of the motor or wheel as the controller counts it.
    MotorSpeed,
    /// Temperature of the motor.
    MotorTemperature,
    /// Temperature of the controller.
    ControllerTemperature,
    /// Temperature of the battery.
    BatteryTemperature,
    /// Temperature of the air.
    AirTemperature,
    /// Cadence of the cranks.
    Cadence,
    /// Power of the rider at the cranks.
    RiderPower,
    /// Torque of the rider at the cranks.
    RiderTorque,
    /// Signal of the brake lever, 0 to 1.
    BrakeSignal,
    /// Signal of the throttle, 0 to 1.
    ThrottleSignal,
}

/// How a quantity is named in files, and its unit.
struct Spec {
    quantity: Quantity,
    name: &'static str,
    unit: &'static str,
    kind: &'static str,
}

const fn spec(quantity: Quantity, name: &'static str, unit: &'static str, kind: &'static str) -> Spec {
    Spec { quantity, name, unit, kind }
}

/// In the order of the enum.
const SPECS: [Spec; 22] = [
    spec(Quantity::Latitude, "latitude", "°", "angle"),
    spec(Quantity::Longitude, "longitude", "°", "angle"),
    spec(Quantity::Height, "height", "m", "length"),
    spec(Quantity::Distance, "distance", "m", "length"),
    spec(Quantity::Speed, "speed", "m/s", "speed"),
    spec(Quantity::BusVoltage, "bus voltage", "V", "voltage"),
    spec(Quantity::BatteryCurrent, "battery current", "A", "current"),
    spec(Quantity::BatteryPower, "battery power", "W", "power"),
    spec(Quantity::ChargeLevel, "charge level", "", "pure number"),
    spec(Quantity::PhaseCurrent, "phase current", "A", "current"),
    spec(Quantity::MotorTorque, "motor torque", "N·m", "torque"),
    spec(Quantity::MotorPower, "motor power", "W", "power"),
    spec(Quantity::MotorSpeed, "motor speed", "rpm", "angular speed"),
    spec(Quantity::MotorTemperature, "motor temperature", "°C", "temperature"),
    spec(Quantity::ControllerTemperature, "controller temperature", "°C", "temperature"),
    spec(Quantity::BatteryTemperature, "battery temperature", "°C", "temperature"),
    spec(Quantity::AirTemperature, "air temperature", "°C", "temperature"),
    spec(Quantity::Cadence, "cadence", "rpm", "angular speed"),
    spec(Quantity::RiderPower, "rider power", "W", "power"),
    spec(Quantity::RiderTorque, "rider torque", "N·m", "torque"),
    spec(Quantity::BrakeSignal, "brake signal", "", "pure number"),
    spec(Quantity::ThrottleSignal, "throttle signal", "", "pure number"),
];

impl Quantity {
    /// All quantities.
    pub fn all() -> impl Iterator<Item = Self> {
        SPECS.iter().map(|spec| spec.quantity)
    }

    /// Its name, as a columns file writes it: `battery current`.
    pub fn name(self) -> &'static str {
        SPECS[self as usize].name
    }

    /// The unit of all its values here; empty for a share of one.
    pub fn unit(self) -> &'static str {
        SPECS[self as usize].unit
    }

    /// The kind of unit it is measured in.
    pub(crate) fn kind(self) -> &'static str {
        SPECS[self as usize].kind
    }

    /// The quantity of that name.
    pub fn named(name: &str) -> Option<Self> {
        let wanted = name.trim().to_lowercase().replace(['_', '-'], " ");
        SPECS.iter().find(|spec| spec.name == wanted).map(|spec| spec.quantity)
    }
}

/// One column of numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// As the file names it.
    pub name: String,
    /// What it holds, in [`Quantity::unit`].
    pub quantity: Quantity,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_stands_in_the_order_of_the_enum() {
        for (place, spec) in SPECS.iter().enumerate() {
            assert_eq!(spec.quantity as usize, place);
            assert_eq!(Quantity::named(spec.name), Some(spec.quantity));
            assert!(!quantity::units::fits(spec.kind).is_empty(), "nobody measures {}", spec.kind);
            assert!(spec.unit.is_empty() || quantity::units::find_unit(spec.unit).is_some(), "{}", spec.unit);
        }
    }
}
