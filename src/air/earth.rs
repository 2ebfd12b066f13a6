//! Lengths on the ellipsoid.

/// Half the larger axis of WGS 84 in metres, and its flattening.
const A: f64 = 6_378_137.0;
const F: f64 = 1.0 / 298.257_223_563;

/// Metres a degree northward and eastward at a latitude in degrees, on the WGS 84 ellipsoid: its radii of curvature along the meridian
/// and across it. For steps of some kilometres; over longer ones it is the curve that counts.
pub fn metres_a_degree(latitude_deg: f64) -> (f64, f64) {
    let e2 = F * (2.0 - F);
    let (sin, cos) = latitude_deg.to_radians().sin_cos();
    let w = (1.0 - e2 * sin * sin).sqrt();
    let degree = 1.0_f64.to_radians();
    (A * (1.0 - e2) / (w * w * w) * degree, A / w * cos * degree)
}
