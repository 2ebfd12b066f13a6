//! The command line: one file a command, each turning arguments into a finished plan before any work starts.

mod align;
mod align_plot;
mod align_write;
mod check;
mod clocks;
mod debrief;
mod debrief_flight;
mod demo;
#[cfg(feature = "codec")]
mod hear;
mod hearing;
mod hearing_plot;
mod inputs;
mod inspect;
mod inspect_plot;
mod load;
mod owners_channels;
mod page_films;
mod panel;
mod panel_advice;
mod panel_faults;
mod panel_file;
mod readings;
mod report;
mod sparkline;
mod which_flight;

#[cfg(feature = "codec")]
mod demo_film;
#[cfg(feature = "codec")]
mod excerpts;
#[cfg(feature = "codec")]
mod films;
#[cfg(feature = "codec")]
mod flight_plan;
#[cfg(feature = "codec")]
mod interrupt;
#[cfg(feature = "codec")]
mod join;
#[cfg(feature = "codec")]
mod layer;
#[cfg(feature = "codec")]
mod loose;
#[cfg(feature = "codec")]
mod new;
#[cfg(feature = "codec")]
mod new_flight;
#[cfg(feature = "codec")]
mod new_panel;
#[cfg(feature = "codec")]
mod plan;
#[cfg(feature = "codec")]
mod progress;
#[cfg(feature = "codec")]
mod render;
#[cfg(feature = "codec")]
mod still;
#[cfg(feature = "codec")]
mod still_strip;

use clap::{Parser, Subcommand, ValueEnum};
use report::Report;
use std::ffi::OsString;

/// Draws a recorded flight's instruments over the cockpit film that belongs to it.
///
/// Recorded data, not for use in flight. The flight manual and the owner's own limits govern; airworthiness decisions belong
/// to licensed people and the local authority.
#[derive(Parser)]
#[command(name = "jumpseat", version, max_term_width = 110)]
struct Arguments {
    /// Say only what went wrong
    #[arg(long, global = true)]
    quiet: bool,
    /// Say every remark, not only the first of each file
    #[arg(long, global = true, conflicts_with = "quiet")]
    verbose: bool,
    /// Colour in messages
    #[arg(long, global = true, value_enum, default_value_t)]
    color: Colour,
    #[command(subcommand)]
    command: Command,
}

#[derive(Clone, Copy, Default, ValueEnum)]
enum Colour {
    #[default]
    Auto,
    Always,
    Never,
}

#[derive(Subcommand)]
enum Command {
    /// Say how the clocks of films and logs meet, on what evidence, and how sure that is
    Align(align::Arguments),
    /// Find everything about a flight that can be known before work starts
    Check(check::Arguments),
    /// Write what the records say: a page that works offline, a document, tables
    Debrief(debrief::Arguments),
    /// Invent a flight: cockpit film, logs, flight and panel file, and the truth
    Demo(demo::Arguments),
    /// Write a short film of every event
    #[cfg(feature = "codec")]
    Excerpts(excerpts::Arguments),
    /// Say what a log or a clip holds, and what is wrong with it
    Inspect(inspect::Arguments),
    /// Join the pieces of a film without encoding again
    #[cfg(feature = "codec")]
    Join(join::Arguments),
    /// Write a commented flight file and panel file from clips and logs
    #[cfg(feature = "codec")]
    New(new::Arguments),
    /// Draw instruments to a picture, without a film
    Panel(panel::Arguments),
    /// Write every channel of a flight on one time line
    Readings(readings::Arguments),
    /// Write the film with its instruments
    #[cfg(feature = "codec")]
    Render(render::Arguments),
    /// Write single frames with their instruments as pictures
    #[cfg(feature = "codec")]
    Still(still::Arguments),
}

/// Why a command ended without doing what was asked: the message, and the exit code.
pub(crate) struct Failure {
    message: String,
    code: u8,
}

impl Failure {
    /// Wrong usage or wrong input.
    pub(crate) fn input(message: impl ToString) -> Self {
        Self { message: message.to_string(), code: 2 }
    }

    /// A file that cannot be written.
    pub(crate) fn from_output(error: crate::output::OutputError) -> Self {
        Self { code: if error.is_input() { 2 } else { 1 }, message: error.to_string() }
    }

    /// The input was fine, the work could not be finished.
    pub(crate) fn work(message: impl ToString) -> Self {
        Self { message: message.to_string(), code: 1 }
    }
}

#[cfg(feature = "codec")]
impl From<crate::render::RenderError> for Failure {
    fn from(error: crate::render::RenderError) -> Self {
        Self { code: error.exit_code(), message: error.to_string() }
    }
}

#[cfg(feature = "codec")]
impl From<crate::video::VideoError> for Failure {
    fn from(error: crate::video::VideoError) -> Self {
        crate::render::RenderError::from(error).into()
    }
}

/// Runs the command line and returns the exit code: 0 done, 1 failed, 2 wrong usage or input, 130 interrupted.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            // A closed terminal is no reason to fail differently.
            let _ = error.print();
            return if error.use_stderr() { 2 } else { 0 };
        }
    };
    match arguments.color {
        Colour::Auto => anstream::ColorChoice::Auto,
        Colour::Always => anstream::ColorChoice::Always,
        Colour::Never => anstream::ColorChoice::Never,
    }
    .write_global();
    #[cfg(feature = "codec")]
    crate::video::init();
    let report = Report::new(arguments.quiet, arguments.verbose);
    let result = match arguments.command {
        Command::Align(a) => align::run(&a, &report),
        Command::Check(a) => check::run(&a, &report),
        Command::Debrief(a) => debrief::run(&a, &report),
        Command::Demo(a) => demo::run(&a, &report),
        Command::Readings(a) => readings::run(&a, &report),
        Command::Inspect(a) => inspect::run(&a, &report),
        Command::Panel(a) => panel::run(&a, &report),
        #[cfg(feature = "codec")]
        Command::Excerpts(a) => excerpts::run(&a, &report),
        #[cfg(feature = "codec")]
        Command::Join(a) => join::run(&a, &report),
        #[cfg(feature = "codec")]
        Command::New(a) => new::run(&a, &report),
        #[cfg(feature = "codec")]
        Command::Render(a) => render::run(&a, &report),
        #[cfg(feature = "codec")]
        Command::Still(a) => still::run(&a, &report),
    };
    match result {
        Ok(()) => 0,
        Err(failure) => {
            report.failure(&failure);
            failure.code
        }
    }
}
