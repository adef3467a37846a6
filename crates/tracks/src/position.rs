//! A place on the earth, and the way between two.

use geographiclib_rs::{Geodesic, InverseGeodesic};
use quantity::Length;
use std::sync::LazyLock;

static WGS84: LazyLock<Geodesic> = LazyLock::new(Geodesic::wgs84);

/// A place on the WGS 84 ellipsoid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    latitude_deg: f64,
    longitude_deg: f64,
}

impl Position {
    /// From latitude, −90 to 90 degrees north, and longitude, −180 to 180 degrees east; `None` outside.
    pub fn degrees(latitude: f64, longitude: f64) -> Option<Self> {
        let inside = latitude.abs() <= 90.0 && longitude.abs() <= 180.0;
        inside.then_some(Self { latitude_deg: latitude, longitude_deg: longitude })
    }

    /// Degrees north of the equator.
    pub fn latitude_degrees(self) -> f64 {
        self.latitude_deg
    }

    /// Degrees east of Greenwich.
    pub fn longitude_degrees(self) -> f64 {
        self.longitude_deg
    }

    /// Length of the shortest way to another place, along the ellipsoid at height zero.
    ///
    /// - **Source:** C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013), through `geographiclib-rs`.
    /// - **Left out:** height. At 1,000 m the true way is 0.016 % longer.
    /// - **Checked by:** `tests/validates_geodesic.rs`.
    pub fn distance_to(self, other: Self) -> Length {
        if self == other {
            return Length::ZERO;
        }
        let from = (self.latitude_deg, self.longitude_deg);
        Length::metres(WGS84.inverse(from.0, from.1, other.latitude_deg, other.longitude_deg))
    }

    /// Distance on a sphere cut flat, for thresholds only: within 1 % below 10 km and 80° of latitude.
    pub(crate) fn roughly_to_m(self, other: Self) -> f64 {
        const METRES_PER_DEGREE: f64 = 111_195.0;
        let mut east_deg = (other.longitude_deg - self.longitude_deg).abs();
        if east_deg > 180.0 {
            east_deg = 360.0 - east_deg;
        }
        let east = east_deg * self.latitude_deg.to_radians().cos();
        METRES_PER_DEGREE * (other.latitude_deg - self.latitude_deg).hypot(east)
    }
}
