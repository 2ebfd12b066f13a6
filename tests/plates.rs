//! Texts and times on the panel: from the log to what is shown and what the ledger says.
#![allow(clippy::expect_used, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::judge::Judged;
use jumpseat::panel::file::read;
use jumpseat::readout::{Ledger, Notice, Readout};
use jumpseat::recorder::{self, Options};
use jumpseat::session::Session;
use jumpseat::time::{FilmTime, SessionTime};

fn session(log: &str) -> Session {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("air.csv");
    std::fs::write(&file, log).expect("log");
    Session::of(recorder::read(&file, &Options::default()).expect("a log"))
}

fn panel(text: &str) -> jumpseat::panel::Panel {
    let file = read(jumpseat::keyfile::Document::of(std::path::Path::new("panel.toml"), text.into()));
    assert!(file.faults.is_empty(), "{:?}", file.faults);
    file.panel
}

const PLACE: &str = "place = { side = \"left\", from_side = 0.3, from_bottom = 0.3, size = \"M\" }";

#[test]
fn a_code_keeps_its_zeros_from_the_log_to_the_ledger() {
    let session = session("time_s,XPDR\n0,0021\n1,0021\n2,7700\n3,7700\n");
    let panel = panel(&format!("[[instrument]]\nname = \"code\"\nkind = \"tile\"\nchannel = \"air.XPDR\"\n{PLACE}"));
    let judged = Judged::default();
    let mut readout = Readout::new(&session, &judged, &panel);
    let mut ledger = Ledger::new(Vec::new(), &panel).expect("ledger");
    for t in [-1.0, 0.5, 2.0, 3.5, 8.0, 90.0] {
        let state = readout.at(SessionTime(t), Notice::Bare);
        ledger.row(t, SessionTime(t), None, &state).expect("row");
    }
    let text = String::from_utf8(ledger.finish().expect("ledger")).expect("text");
    let shown: Vec<&str> = text.lines().skip(1).map(|line| line.split(",,").last().expect("cells")).collect();
    assert!(text.starts_with("frame,pts_s,session_s,utc,code.value,code.value.state\n"), "{text}");
    assert_eq!(shown, [",invalid", "0021,measured", "7700,measured", "7700,held", ",stale", ",invalid"], "{text}");
}

#[test]
fn a_clock_shows_what_is_known_and_nothing_else() {
    let shows =
        |shows: &str| format!("[[instrument]]\nname = \"{shows}\"\nkind = \"clock\"\nshows = \"{shows}\"\n{PLACE}\n");
    let text =
        format!("{}{}{}{}utc_offset = \"-05:30\"\n", shows("utc"), shows("film"), shows("session"), shows("local"));
    let panel = panel(&text);
    let judged = Judged::default();
    let clocks = |log: &str, film: Option<f64>, t: f64| -> Vec<String> {
        let session = session(log);
        let mut readout = Readout::new(&session, &judged, &panel);
        let state = match film {
            Some(film) => readout.in_film(FilmTime(film), SessionTime(t), Notice::Bare),
            None => readout.at(SessionTime(t), Notice::Bare),
        };
        state.instruments.iter().map(|i| i.written().unwrap_or("-").to_owned()).collect()
    };
    let dated = "time,Code\n2026-03-01T02:00:00Z,1\n2026-03-01T02:00:01Z,2\n";
    assert_eq!(clocks(dated, Some(61.5), 3.9), ["02:00:03", "0:01:01", "0:00:03", "20:30:03"]);
    assert_eq!(clocks(dated, None, -1.0), ["01:59:59", "-", "\u{2212}0:00:01", "20:29:59"]);
    assert_eq!(clocks("time_s,Code\n0,1\n1,2\n", Some(0.0), 5.0), ["-", "0:00:00", "0:00:05", "-"]);
}
