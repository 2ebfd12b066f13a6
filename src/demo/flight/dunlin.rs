//! The Dunlin: what its sensors would give at any true time, before a logger rounds it. All of it invented.

use super::chance::Chance;
use super::curve::{Curve, crossing};
use super::keys;
use super::script::{self, Script, Span};
use std::f64::consts::TAU;

/// One column of a log.
pub(super) struct Column {
    pub name: &'static str,
    /// Unit as the logger prints it; empty where there is none.
    pub logged_unit: &'static str,
    /// Unit as this program writes it.
    pub unit: &'static str,
    /// The logger's resolution.
    pub step: f64,
    /// Digits after the decimal point that it prints.
    pub decimals: usize,
}

const fn column(name: &'static str, unit: &'static str, step: f64, decimals: usize) -> Column {
    Column { name, logged_unit: unit, unit, step, decimals }
}

const fn celsius(name: &'static str, step: f64, decimals: usize) -> Column {
    Column { name, logged_unit: "degC", unit: "°C", step, decimals }
}

const fn lamp(name: &'static str) -> Column {
    column(name, "", 1.0, 0)
}

/// Columns of the air log.
pub(super) const AIR: [Column; 7] = [
    column("IAS", "kt", 0.1, 1),
    column("Altitude", "ft", 1.0, 0),
    column("Pressure Altitude", "ft", 1.0, 0),
    column("Vertical Speed", "ft/min", 10.0, 0),
    column("Heading", "deg", 1.0, 0),
    celsius("OAT", 0.1, 1),
    column("Ground Speed", "kt", 0.1, 1),
];

/// Columns of the engine log.
pub(super) const ENGINE: [Column; 16] = [
    column("Rotor", "%", 0.1, 1),
    column("Engine", "%", 0.1, 1),
    column("Fuel Flow", "US gal/h", 0.1, 1),
    column(DROPPED, "psi", 1.0, 0),
    celsius("Oil T", 1.0, 0),
    celsius("Gearbox T", 1.0, 0),
    celsius("EGT", 1.0, 0),
    column("Fuel", "US gal", 0.1, 1),
    column("Volts", "V", 0.1, 1),
    lamp("Lamp Low Rotor"),
    lamp("Lamp High Rotor"),
    lamp("Lamp Charge"),
    lamp("Lamp Chip"),
    lamp("Clutch Engaged"),
    lamp("Clutch In Transit"),
    lamp("Clutch Disengaged"),
];

/// The sensor that drops out.
pub(super) const DROPPED: &str = "Oil P";

pub(super) const OAT_C: f64 = 12.0;
pub(super) const FIELD_FT: f64 = 420.0;
pub(super) const SETTING_INHG: f64 = 29.87;
/// Wind in knots and degrees true; the heading is read as true too.
pub(super) const WIND: (f64, f64) = (8.0, 330.0);
const FULL_TANK_US_GAL: f64 = 14.2;
/// What a longer flight takes in addition to what it burns.
const RESERVE_US_GAL: f64 = 3.0;

/// Trip points: lamps in % and volts, invented; the panel's limit stands elsewhere on purpose.
const LOW_ROTOR_LAMP: f64 = 94.0;
const HIGH_ROTOR_LAMP: f64 = 107.0;
const CHARGE_LAMP_V: f64 = 26.0;
/// Rotor speed and split at which an event begins, in %.
const LOW_ROTOR: f64 = 95.0;
const SPLIT: f64 = 2.0;

/// A small unrest: sine of a period in seconds with a phase by chance.
#[derive(Debug, Clone, Copy)]
struct Unrest {
    turns_per_s: f64,
    phase: f64,
}

impl Unrest {
    fn new(period_s: f64, chance: &mut Chance) -> Self {
        Self { turns_per_s: TAU / period_s, phase: chance.between(0.0, TAU) }
    }

    fn at(self, t: f64) -> f64 {
        (self.turns_per_s * t + self.phase).sin()
    }

    fn slope(self, t: f64) -> f64 {
        self.turns_per_s * (self.turns_per_s * t + self.phase).cos()
    }
}

/// The flight's quantities over true time.
pub(super) struct Dunlin {
    script: Script,
    /// Usable and unusable fuel at battery on.
    pub fuel_at_start: f64,
    airspeed: Curve,
    climb: Curve,
    skids_ft: Curve,
    heading: Curve,
    rotor: Curve,
    engine: Curve,
    flow: Curve,
    oil_p: Curve,
    oil_t: Curve,
    gearbox_t: Curve,
    egt: Curve,
    volts: Curve,
    /// 0 on the ground and in the hover, 1 when moving.
    moving: Curve,
    /// 0 below, 1 well above the ground: how far the air's unrest is felt.
    aloft: Curve,
    /// Unrest of airspeed (two), height, heading, governor and fuel float.
    unrest: [Unrest; 6],
}

impl Dunlin {
    pub fn new(script: &Script, chance: &mut Chance) -> Self {
        let curve = |keys: &[(f64, f64)]| script.curve(keys);
        let droop = chance.between(91.6, 93.0);
        let slip = chance.between(5.5, 8.0);
        let autorotation = chance.between(102.8, 104.6);
        let start_peak = chance.between(662.0, 708.0);
        let (governed, slow) = (100.0 - 0.5 * slip, 100.0 + 0.5 * slip);

        // Rotor and engine turn as one wherever the drive is joined: those keys are the same.
        let joined = [(92.0, 62.0), (102.0, 62.0), (120.0, 100.0), (310.0, 100.0), (315.0, droop), (325.0, 100.0)];
        let idling = [(552.0, 100.0), (560.0, 62.0), (566.0, 62.0)];
        let rotor = [
            &[(62.0, 0.0)][..],
            &joined,
            &[(350.0, 100.0), (353.0, 97.0), (360.0, autorotation), (374.0, 103.0), (383.0, 100.0)],
            &[(430.0, 100.0), (433.0, governed), (437.0, governed), (440.0, 100.0)],
            &idling,
            &[(598.0, 0.0)],
        ];
        let engine = [
            &[(20.0, 0.0), (25.0, 13.0), (38.0, 46.0), (48.0, 62.0), (62.0, 62.0), (70.0, 55.0), (84.0, 58.0)][..],
            &joined,
            &[(350.0, 100.0), (354.0, 66.0), (376.0, 66.0), (383.0, 100.0)],
            &[(430.0, 100.0), (433.0, slow), (437.0, slow), (440.0, 100.0)],
            &idling,
            &[(584.0, 0.0)],
        ];
        let flow = curve(&keys::FLOW);
        let burnt = flow.area(script.end()) / 3600.0;
        Self {
            script: *script,
            fuel_at_start: FULL_TANK_US_GAL.max((10.0 * (burnt + RESERVE_US_GAL)).ceil() / 10.0),
            airspeed: curve(&keys::AIRSPEED),
            climb: curve(&keys::climb()),
            skids_ft: curve(&[(140.0, 0.0), (145.0, 4.0), (545.0, 4.0), (550.0, 0.0)]),
            heading: curve(&keys::HEADING),
            rotor: curve(&rotor.concat()),
            engine: curve(&engine.concat()),
            flow,
            oil_p: curve(&keys::OIL_P),
            oil_t: curve(&keys::OIL_T),
            gearbox_t: curve(&keys::GEARBOX_T),
            egt: curve(&keys::egt(start_peak)),
            volts: curve(&keys::VOLTS),
            moving: curve(&[(165.0, 0.0), (185.0, 1.0), (518.0, 1.0), (532.0, 0.0)]),
            aloft: curve(&[(175.0, 0.0), (230.0, 1.0), (485.0, 1.0), (515.0, 0.0)]),
            unrest: [7.3, 3.1, 17.0, 11.0, 4.3, 2.3].map(|period| Unrest::new(period, chance)),
        }
    }

    /// The values of [`AIR`] at a true time.
    pub fn air(&self, t: f64) -> [f64; AIR.len()] {
        let [gust, puff, wave, yaw, ..] = self.unrest;
        let (moving, aloft) = (self.moving.at(t), self.aloft.at(t));
        let airspeed = self.airspeed.at(t);
        let altitude = FIELD_FT + self.climb.area(t) / 60.0 + self.skids_ft.at(t) + 3.0 * wave.at(t) * aloft;
        let wave_ft_s = 3.0 * (wave.slope(t) * aloft + wave.at(t) * self.aloft.slope(t));
        let vertical_speed = self.climb.at(t) + 60.0 * (self.skids_ft.slope(t) + wave_ft_s);
        let pressure_altitude = altitude + standard_altitude_ft(SETTING_INHG);
        // Two degrees per thousand feet is the usual rule of thumb.
        let oat = OAT_C - 2.0 * (altitude - FIELD_FT) / 1000.0;
        let heading = self.heading.at(t) + (0.4 + 0.8 * aloft) * yaw.at(t) * self.skids_ft.at(t) / 4.0;
        let true_airspeed = airspeed / density_ratio(pressure_altitude, oat).sqrt();
        let (sin, cos) = (heading - WIND.1).to_radians().sin_cos();
        // The wind blows from WIND.1: it shortens the part of the way that leads there.
        let ground_speed = moving * (true_airspeed * cos - WIND.0).hypot(true_airspeed * sin);
        let felt = airspeed + (0.3 + 0.7 * aloft) * (0.9 * gust.at(t) + 0.5 * puff.at(t));
        [felt, altitude, pressure_altitude, vertical_speed, heading.rem_euclid(360.0), oat, ground_speed]
    }

    /// The values of [`ENGINE`] at a true time; lamps are 0 or 1.
    pub fn engine(&self, t: f64) -> [f64; ENGINE.len()] {
        let [.., slosh] = self.unrest;
        let (rotor, volts) = (self.rotor(t), self.volts.at(t));
        let fuel = self.fuel_at_start - self.flow.area(t) / 3600.0 + 0.08 * slosh.at(t) * self.aloft.at(t);
        let lit = |on: bool| f64::from(u8::from(on));
        let chip = self.script.within(script::CHIP, t);
        let transit = self.script.within(script::CLUTCH_ENGAGING, t) || self.script.within(script::CLUTCH_LEAVING, t);
        let engaged = self.script.within((script::CLUTCH_ENGAGING.1, script::CLUTCH_LEAVING.0), t);
        [
            rotor,
            self.engine_speed(t),
            self.flow.at(t),
            self.oil_p.at(t),
            self.oil_t.at(t),
            self.gearbox_t.at(t),
            self.egt.at(t),
            fuel,
            volts,
            lit(rotor < LOW_ROTOR_LAMP),
            lit(rotor > HIGH_ROTOR_LAMP),
            lit(volts < CHARGE_LAMP_V),
            lit(chip),
            lit(engaged),
            lit(transit),
            lit(!engaged && !transit),
        ]
    }

    fn rotor(&self, t: f64) -> f64 {
        self.rotor.at(t) + self.governor(t)
    }

    fn engine_speed(&self, t: f64) -> f64 {
        self.engine.at(t) + self.governor(t)
    }

    /// What the governor leaves of the air's unrest, in %: the same on both sides of the drive.
    fn governor(&self, t: f64) -> f64 {
        0.12 * self.unrest[4].at(t) * self.aloft.at(t)
    }

    /// What happens, with true times from and to: phases by the script, conditions by their own crossings.
    pub fn events(&self) -> Vec<(&'static str, f64, f64)> {
        let script = &self.script;
        let scripted = |name, span: Span| (name, script.time(span.0), script.time(span.1));
        // A condition begins within the first span and ends within the second, where `f` passes through zero.
        let crossed = |name, (a, b): Span, (c, d): Span, f: &dyn Fn(f64) -> f64| {
            let at = |from, to| crossing(f, script.time(from), script.time(to));
            (name, at(a, b), at(c, d))
        };
        let low_lamp = |t| self.rotor(t) - LOW_ROTOR_LAMP;
        let low = |t| self.rotor(t) - LOW_ROTOR;
        let ahead = |t| self.rotor(t) - self.engine_speed(t) - SPLIT;
        let behind = |t| self.engine_speed(t) - self.rotor(t) - SPLIT;
        let bottom = script::DROOP.0 + 5.0;
        vec![
            scripted("engine start", script::ENGINE_START),
            scripted("clutch engaging", script::CLUTCH_ENGAGING),
            scripted("run-up", script::RUN_UP),
            scripted("lift-off", script::LIFT_OFF),
            scripted("hover", script::HOVER),
            scripted("climb", script::CLIMB),
            scripted("cruise", script::CRUISE),
            crossed("low rotor", (script::DROOP.0, bottom), (bottom, script::DROOP.1), &low),
            crossed("low rotor lamp", (script::DROOP.0, bottom), (bottom, script::DROOP.1), &low_lamp),
            scripted("practice autorotation", script::AUTOROTATION),
            crossed("rotor ahead", (350.0, 354.0), (376.0, script::AUTOROTATION.1), &ahead),
            crossed("slipping", (script::SLIPPING.0, 433.0), (437.0, script::SLIPPING.1), &behind),
            scripted("chip light", script::CHIP),
            scripted("sensor drop-out", script::DROP_OUT),
            scripted("descent", script::DESCENT),
            scripted("landing", script::LANDING),
            scripted("run-down", script::RUN_DOWN),
        ]
    }
}

/// Altitude of a pressure in the standard atmosphere, in feet: what an altimeter set to 29.92 inHg shows there. An
/// altimeter set to another pressure shows less by the altitude of its setting.
/// Source: ICAO Doc 7488/3, 288.15 K, 6.5 K/km, 9.80665 m/s^2, 287.05287 J/(kg K).
fn standard_altitude_ft(inhg: f64) -> f64 {
    SCALE_FT * (1.0 - (inhg * 3386.389 / 101_325.0).powf(1.0 / EXPONENT))
}

/// Air density over that of the standard atmosphere at sea level. Source as above.
fn density_ratio(pressure_altitude_ft: f64, oat_c: f64) -> f64 {
    (1.0 - pressure_altitude_ft / SCALE_FT).powf(EXPONENT) * 288.15 / (oat_c + 273.15)
}

/// 288.15 K over 6.5 K/km, in feet.
const SCALE_FT: f64 = 288.15 / 0.0065 / 0.3048;
/// 9.80665 / (0.0065 x 287.05287).
const EXPONENT: f64 = 5.255_88;
