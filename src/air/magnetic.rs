//! The earth's magnetic field.

use world_magnetic_model::GeomagneticField;
use world_magnetic_model::time::Date;
use world_magnetic_model::uom::si::angle::degree;
use world_magnetic_model::uom::si::f32::{Angle, Length};
use world_magnetic_model::uom::si::length::meter;
use world_magnetic_model::uom::si::magnetic_flux_density::nanotesla;

/// Below this horizontal field in nT no compass is of use: the blackout zone of the World Magnetic Model (NOAA NCEI and BGS).
pub const WEAKEST_NT: f64 = 2000.0;

/// Why there is no variation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoVariation {
    /// The day lies outside the model's years.
    #[error("the World Magnetic Model (2020 and 2025) holds from 2020 to 2029 and says nothing of that day")]
    OutOfYears,
    /// No such day, position or height.
    #[error("there is no such day, or no such place")]
    NoPlace,
    /// A place near a magnetic pole.
    #[error("the horizontal field is too weak there for a compass")]
    NoCompass,
}

/// Magnetic variation in degrees, positive east: true = magnetic + variation. By the World Magnetic Model (NOAA NCEI and BGS, public domain):
/// that of 2020 for 2020 to 2024, and that of 2025 for 2025 to 2029. Latitude and longitude in degrees on WGS 84, the height in
/// metres above its ellipsoid; a height above the sea serves as well, for 100 m move it by less than 0.005 degrees outside the
/// polar regions. The model's own standard deviation is about 0.3 degrees at middle latitudes, and grows towards the poles.
///
/// # Errors
/// A day outside the model's years, a place that is none, a field too weak for a compass.
pub fn variation_deg(
    latitude_deg: f64,
    longitude_deg: f64,
    height_m: f64,
    (year, day_of_year): (i32, u16),
) -> Result<f64, NoVariation> {
    if !(2020..2030).contains(&year) {
        return Err(NoVariation::OutOfYears);
    }
    let date = Date::from_ordinal_date(year, day_of_year).map_err(|_| NoVariation::NoPlace)?;
    let angle = |deg: f64| Angle::new::<degree>(deg as f32);
    let height = Length::new::<meter>(height_m as f32);
    let field = GeomagneticField::new(height, angle(latitude_deg), angle(longitude_deg), date);
    let field = field.map_err(|_| NoVariation::NoPlace)?;
    if f64::from(field.h().get::<nanotesla>()) < WEAKEST_NT {
        return Err(NoVariation::NoCompass);
    }
    Ok(f64::from(field.declination().get::<degree>()))
}
