//! The two logs as their loggers would have written them, and the truth behind them.

use super::Flight;
use super::clocks::Clock;
use super::dunlin::{AIR, Column, DROPPED, ENGINE};
use super::script::DROP_OUT;
use std::io::{self, Write};

/// Records a second of the two logs, and rows a second of the truth.
const AIR_HZ: u64 = 5;
const ENGINE_HZ: u64 = 10;
const TRUTH_HZ: f64 = 100.0;

/// Records, and the true times at which they are taken, up to `end`.
fn records(clock: Clock, hz: u64, end: f64) -> impl Iterator<Item = (u64, f64)> {
    (0..).map(move |i| (i, clock.time(i as f64 / hz as f64))).take_while(move |(_, t)| *t <= end)
}

/// A value as the logger prints it.
fn print(out: &mut dyn Write, column: &Column, value: f64) -> io::Result<()> {
    // Adding zero takes the sign from a zero.
    let rounded = (value / column.step).round() * column.step + 0.0;
    let rounded = if column.logged_unit == "deg" { rounded % 360.0 } else { rounded };
    write!(out, ",{rounded:.*}", column.decimals)
}

/// `air.csv`: UTC as text, units in the header.
pub(super) fn air(flight: &Flight, out: &mut dyn Write) -> io::Result<()> {
    write!(out, "utc")?;
    for column in &AIR {
        write!(out, ",{} ({})", column.name, column.logged_unit)?;
    }
    writeln!(out)?;
    let clocks = &flight.clocks;
    for (i, t) in records(clocks.air, AIR_HZ, clocks.air_end) {
        let tenths = clocks.air_first_tenths + i * (10 / AIR_HZ);
        let (hours, minutes, seconds) = (tenths / 36_000, tenths / 600 % 60, tenths / 10 % 60);
        write!(out, "2026-05-17T{hours:02}:{minutes:02}:{seconds:02}.{}Z", tenths % 10)?;
        for (column, value) in AIR.iter().zip(flight.dunlin.air(t)) {
            print(out, column, value)?;
        }
        writeln!(out)?;
    }
    Ok(())
}

/// `engine.csv`: milliseconds since power-up, a row of units, lamps as 0 or 1, one sensor away for a while.
pub(super) fn engine(flight: &Flight, out: &mut dyn Write) -> io::Result<()> {
    let heads = |f: fn(&Column) -> &'static str| ENGINE.iter().map(f).collect::<Vec<_>>().join(",");
    writeln!(out, "time_ms,{}", heads(|column| column.name))?;
    writeln!(out, "ms,{}", heads(|column| column.logged_unit))?;
    let clocks = &flight.clocks;
    for (i, t) in records(clocks.engine, ENGINE_HZ, clocks.engine_end) {
        write!(out, "{}", clocks.engine_first_ms + i * (1000 / ENGINE_HZ))?;
        let dropped = flight.script.within(DROP_OUT, t);
        for (column, value) in ENGINE.iter().zip(flight.dunlin.engine(t)) {
            if dropped && column.name == DROPPED {
                write!(out, ",")?;
            } else {
                print(out, column, value)?;
            }
        }
        writeln!(out)?;
    }
    Ok(())
}

/// `truth.csv`: true time, what the three clocks show (seconds since their first record), and every value unrounded.
pub(super) fn truth(flight: &Flight, out: &mut dyn Write) -> io::Result<()> {
    write!(out, "true_s,air_s,engine_s,film_s")?;
    for (log, columns) in [("air", &AIR[..]), ("engine", &ENGINE[..])] {
        for column in columns {
            write!(out, ",{log}.{}", column.name)?;
            if !column.unit.is_empty() {
                write!(out, " [{}]", column.unit)?;
            }
        }
    }
    writeln!(out)?;
    let clocks = &flight.clocks;
    let mut row = 0_u32;
    loop {
        let t = f64::from(row) / TRUTH_HZ;
        if t > flight.script.end() {
            return Ok(());
        }
        write!(out, "{t},{},{},{}", clocks.air.at(t), clocks.engine.at(t), clocks.film.at(t))?;
        for value in flight.dunlin.air(t).into_iter().chain(flight.dunlin.engine(t)) {
            write!(out, ",{value}")?;
        }
        writeln!(out)?;
        row += 1;
    }
}

/// `events.csv`: what happened, in true time.
pub(super) fn events(flight: &Flight, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "name,from_true_s,to_true_s")?;
    for (name, from, to) in flight.dunlin.events() {
        writeln!(out, "{name},{from:.6},{to:.6}")?;
    }
    Ok(())
}
