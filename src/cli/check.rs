//! `jumpseat check`: everything about a flight that can be known before work starts.

use super::hearing::Listen;
use super::load::{Compute, Loaded};
use super::which_flight::FlightArguments;
use super::{Failure, Report};
use crate::finding::Severity;
use crate::keyfile::Fault;
use serde_json::{Value, json};

/// Arguments of `check`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    #[command(flatten)]
    flight: FlightArguments,
    /// One JSON document on standard output
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let (loaded, faults) = match arguments.flight.load(Compute::Named, Listen::WhereUnsure) {
        Ok(loaded) => {
            let faults = all_faults(&loaded);
            (Some(loaded), faults)
        }
        Err(fault) => (None, vec![*fault]),
    };
    if arguments.json {
        report.json(&document(&faults));
    } else {
        show(loaded.as_ref(), &faults, report);
    }
    let errors = faults.iter().filter(|f| f.severity == Severity::Error).count();
    if errors > 0 {
        let faults = if errors == 1 { "1 fault".into() } else { format!("{errors} faults") };
        return Err(Failure::input(format!("{}: {faults} to mend", arguments.flight.name())));
    }
    report.say(&format!("{}: nothing stands in the way", arguments.flight.name()));
    Ok(())
}

/// The faults of the files, and of the films as far as this build can open them.
pub(crate) fn all_faults(loaded: &Loaded) -> Vec<Fault> {
    #[cfg(feature = "codec")]
    return loaded.faults.iter().cloned().chain(super::flight_plan::film_faults(loaded)).collect();
    #[cfg(not(feature = "codec"))]
    loaded.faults.clone()
}

/// Shows faults with their lines and carets.
pub(crate) fn show(loaded: Option<&Loaded>, faults: &[Fault], report: &Report) {
    for fault in faults {
        match loaded {
            Some(loaded) => report.block(&fault.with_caret(loaded.text_of(fault), report.coloured())),
            None => report.block(&fault.message),
        }
    }
}

fn document(faults: &[Fault]) -> Value {
    let findings: Vec<Value> = faults
        .iter()
        .map(|f| {
            json!({
                "severity": f.severity,
                "file": f.file,
                "line": f.line,
                "key": f.key,
                "code": f.code,
                "message": f.message,
                "cure": f.cure,
            })
        })
        .collect();
    json!({ "ok": faults.iter().all(|f| f.severity != Severity::Error), "findings": findings })
}
