//! The panel file and the flight file.

use super::Flight;
use super::chance::Chance;
use super::dunlin::{DROPPED, FIELD_FT, OAT_C, SETTING_INHG, WIND};
use super::script::{DROP_OUT, LIGHT_OFF, RUN_DOWN};
use std::io::{self, Write};

/// The panel file, with `@for N@` for each rule that waits N seconds in a flight at true pace, and `@pace@` for the
/// sentence about it.
const PANEL: &str = include_str!("panel.toml");
/// The shortest that a rule waits, in seconds: one record of the engine log.
const SHORTEST_WAIT_S: f64 = 0.1;
/// Fuel that cannot be used.
const UNUSABLE_US_GAL: f64 = 0.4;
/// Fuel that is not counted on.
const RESERVE_US_GAL: f64 = 2.5;
/// Fuel flow above idling on the ground.
const FLIES_US_GAL_H: f64 = 7.0;
/// The rotor's revolutions at 100 percent, in rpm.
const ROTOR_RPM: f64 = 510.0;
/// How far a mark set by hand may be off, in seconds.
const MARK_ERROR_S: f64 = 0.012;

/// What the files say of the pace.
fn pace(flight: &Flight) -> String {
    if flight.script.pace < 1.0 {
        let (seconds, pace) = (flight.options.seconds, flight.script.pace);
        format!(
            "# This flight is compressed into {seconds} s: it runs {:.1} times as fast as a real one would, climbs less, and the\n\
             # times in the rules of the panel file (`for`) are shortened as much, to {SHORTEST_WAIT_S} s at least. Real rules are longer.\n",
            1.0 / pace
        )
    } else {
        "# This flight runs at true pace, and so do the times in the rules of the panel file.\n".to_owned()
    }
}

/// `panel.toml`.
pub(super) fn panel(flight: &Flight, out: &mut dyn Write) -> io::Result<()> {
    // Every second piece stands between two signs.
    for (i, piece) in PANEL.split('@').enumerate() {
        let wait = piece.strip_prefix("for ").and_then(|seconds| seconds.parse::<f64>().ok());
        match wait {
            Some(seconds) => write!(out, "{:.2}", (seconds * flight.script.pace).max(SHORTEST_WAIT_S))?,
            None if i % 2 == 1 => write!(out, "{}", pace(flight))?,
            None => write!(out, "{piece}")?,
        }
    }
    Ok(())
}

/// `flight.toml`.
pub(super) fn flight(flight: &Flight, out: &mut dyn Write) -> io::Result<()> {
    let fuel = flight.dunlin.fuel_at_start;
    let (from, to) = flight.script.span(DROP_OUT);
    write!(
        out,
        "# An invented flight for trying jumpseat. Aircraft, field and every number are imaginary.\n\
         {}\
         # The truth, which no logger knows, is in truth.csv, and what happened in events.csv; there, time is true time.\n\
         # {DROPPED} drops out from {from:.3} to {to:.3} s true time. Wind {:03} degrees true, {} kt.\n\n\
         title = \"A flight at Harrowmere\"\n\
         aircraft = \"Dunlin\"\n\
         panel = \"panel.toml\"\n\n",
        pace(flight),
        WIND.1,
        WIND.0
    )?;
    if flight.options.film {
        write!(out, "[[film]]\nfile = \"cockpit.mp4\"\n\n")?;
    }
    write!(
        out,
        "[[log]]\nname = \"air\"\nfile = \"air.csv\"\nreference = true\n\n\
         [[log]]\nname = \"engine\"\nfile = \"engine.csv\"\n\n\
         [conditions]\n\
         oat = \"{OAT_C} degC\"\n\
         field_elevation = \"{FIELD_FT} ft\"\n\
         takeoff_weight = \"980 lb\"\n\
         fuel_at_start = \"{fuel:.1} US gal\"\n\
         usable_fuel = \"{:.1} US gal\"\n\
         # What endurance and range do not count on, and the flow from which on the aircraft flies.\n\
         fuel_reserve = \"{RESERVE_US_GAL} US gal\"\n\
         flow_in_flight = \"{FLIES_US_GAL_H} US gal/h\"\n\
         rotor_rpm_at_100 = {ROTOR_RPM}\n\
         # Knots as indicated, and what they stand for.\n\
         position_error = [[20, 24], [60, 61.5], [110, 108.5]]\n\n\
         [[conditions.altimeter_setting]]\n\
         from = 0.0\n\
         setting = \"{SETTING_INHG} inHg\"\n\n\
         # How far the exhaust gas is below the red line of the panel.\n\
         [[formula]]\n\
         name = \"EGT to Red Line\"\n\
         unit = \"K\"\n\
         expression = \"720[degC] - {{engine.EGT}}\"\n",
        fuel - UNUSABLE_US_GAL
    )?;
    let mut chance = Chance::new(!flight.options.seed);
    for (what, moment) in [("light-off", LIGHT_OFF), ("fuel cut-off", RUN_DOWN.0)] {
        let t = flight.script.time(moment);
        let mut by_hand = |exact: f64| exact + chance.between(-MARK_ERROR_S, MARK_ERROR_S);
        let (air, engine) = (by_hand(flight.clocks.air.at(t)), by_hand(flight.clocks.engine.at(t)));
        write!(out, "\n# {what}\n[[clock.mark]]\nair = {air:.2}\nengine = {engine:.2}\n")?;
        if flight.options.film {
            writeln!(out, "film = \"{}\"", film_time(by_hand(flight.clocks.film.at(t))))?;
        }
    }
    Ok(())
}

/// Film time as minutes, seconds and thousandths.
fn film_time(seconds: f64) -> String {
    let thousandths = (seconds * 1000.0).round() as u64;
    format!("{}:{:02}.{:03}", thousandths / 60_000, thousandths / 1000 % 60, thousandths % 1000)
}
