//! Fuel by volume and by mass. The density is the owner's.

/// Mass in kilograms of a volume in litres at a density in kg/m^3.
pub fn mass_kg(litres: f64, density_kg_m3: f64) -> f64 {
    litres * density_kg_m3 / 1000.0
}

/// Hours that an amount lasts at a flow in its unit an hour; none for no flow.
pub fn endurance_h(amount: f64, flow: f64) -> Option<f64> {
    (flow > 0.0 && amount >= 0.0).then(|| amount / flow)
}
