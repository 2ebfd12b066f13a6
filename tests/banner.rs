//! The banner's words over time, from records to the ledger.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod made;

use jumpseat::judge::judge;
use jumpseat::panel::{Banner, DiscSize, Face, Instrument, Limit, Panel, Place, Severity, Side, Tile};
use jumpseat::readout::{BannerLine, Ledger, Notice, Readout};
use jumpseat::session::Session;
use jumpseat::signal::{Channel, Kind, StateRules};
use jumpseat::time::SessionTime;

/// One record a second, none where there is none; a record counts for two seconds, and is too old after five.
fn channel(name: &str, unit: Option<&str>, values: &[Option<f64>]) -> Channel {
    let rules = StateRules { joined_s: 1.0, held_s: 2.0, stale_s: 5.0 };
    made::channel(name, unit, Kind::Discrete, (1.0, rules), values)
}

fn session(channels: Vec<Channel>) -> Session {
    Session::of(made::recording(channels))
}

fn limit(name: &str, channel: &str, below: f64, severity: Severity) -> Limit {
    Limit {
        name: name.into(),
        severity,
        subject: name.to_uppercase(),
        word: "LOW".into(),
        source: "invented".into(),
        ..Limit::bare(channel, below, true)
    }
}

fn panel(limits: Vec<Limit>) -> Panel {
    let tile = Tile { channel: "Fuel".into(), title: "FUEL".into(), unit: "US gal".into(), decimals: 1 };
    let place = Place { side: Side::Left, from_side_m: 0.2, from_bottom_m: 0.1, size: DiscSize::M };
    let banner = Some(Banner { least: Severity::Caution });
    let instruments = vec![Instrument::new("fuel", place, Face::Tile(tile))];
    Panel { instruments, limits, banner, ..Panel::default() }
}

/// The sentences at some times.
fn said(session: &Session, panel: &Panel, times: &[f64]) -> Vec<String> {
    let judged = judge(session, panel);
    let mut readout = Readout::new(session, &judged, panel);
    let mut at = |t: &f64| readout.at(SessionTime(*t), Notice::Bare).banner;
    times.iter().map(|t| at(t).iter().map(BannerLine::sentence).collect::<Vec<_>>().join(" | ")).collect()
}

/// Ten seconds above, then below; digits and unit are those of the tile.
#[test]
fn the_time_counts_from_where_the_limit_was_passed() {
    let fuel = |i: usize| Some(if i < 10 { 4.5 } else { 3.1 });
    let session = session(vec![channel("Fuel", Some("US gal"), &(0..100).map(fuel).collect::<Vec<_>>())]);
    let mut panel = panel(vec![limit("fuel", "Fuel", 4.0, Severity::Caution)]);
    assert_eq!(
        said(&session, &panel, &[9.9, 10.0, 75.5]),
        ["", "FUEL 3.1 US gal, below 4.0, for 0 s", "FUEL 3.1 US gal, below 4.0, for 1 min 5 s"]
    );
    panel.limits[0].seconds = 5.0;
    let patient = said(&session, &panel, &[14.9, 15.0]);
    assert_eq!(patient, ["", "FUEL 3.1 US gal, below 4.0, for 5 s"], "the waiting counts");
}

#[test]
fn gaps_are_said() {
    let fuel = |i: usize| (!(20..30).contains(&i)).then_some(if i < 10 { 4.5 } else { 3.1 });
    let of = |from: usize| session(vec![channel("Fuel", Some("US gal"), &(from..100).map(fuel).collect::<Vec<_>>())]);
    let panel = panel(vec![limit("fuel", "Fuel", 4.0, Severity::Caution)]);
    assert_eq!(
        said(&of(0), &panel, &[20.5, 22.0, 29.5, 30.0, 101.5, 110.0]),
        [
            "FUEL 3.1 US gal, held, below 4.0, for 10 s",
            "FUEL, was below 4.0, 3 s old",
            "FUEL, was below 4.0, 10 s old",
            "FUEL 3.1 US gal, below 4.0, for at least 20 s",
            "FUEL, was below 4.0, 2 s old",
            "FUEL, was below 4.0, 11 s old",
        ]
    );
    assert_eq!(
        said(&of(15), &panel, &[4.0]),
        ["FUEL 3.1 US gal, below 4.0, for at least 4 s"],
        "from the first record"
    );
}

/// What is passed and back inside its hysteresis is not below its limit any more.
#[test]
fn the_words_are_true_within_the_hysteresis() {
    let fuel = |i: usize| Some([4.5, 3.1, 4.3, 5.1][(i / 10).min(3)]);
    let session = session(vec![channel("Fuel", Some("US gal"), &(0..50).map(fuel).collect::<Vec<_>>())]);
    let mut panel = panel(vec![limit("fuel", "Fuel", 4.0, Severity::Caution)]);
    panel.limits[0].clear_by = 1.0;
    assert_eq!(
        said(&session, &panel, &[15.0, 25.0, 35.0]),
        ["FUEL 3.1 US gal, below 4.0, for 5 s", "FUEL 4.3 US gal, clears at 5.0, for 15 s", "",]
    );
}

#[test]
fn two_lines_the_worst_first_and_what_the_owner_wants() {
    let low = |from: usize| (0..60).map(|i| Some(if i < from { 9.0 } else { 1.0 })).collect::<Vec<_>>();
    let gone = (0..20).map(|i| Some(if i < 5 { 9.0 } else { 1.0 })).collect::<Vec<_>>();
    let channels = vec![
        channel("Fuel", Some("US gal"), &low(10)),
        channel("Rotor", Some("%"), &low(30)),
        channel("Note", None, &low(0)),
        channel("Oil", Some("psi"), &gone),
    ];
    let session = session(channels);
    let limits = vec![
        limit("note", "Note", 5.0, Severity::Advisory),
        limit("fuel", "Fuel", 5.0, Severity::Caution),
        limit("oil", "Oil", 5.0, Severity::Warning),
        limit("rotor", "Rotor", 5.0, Severity::Warning),
    ];
    let mut panel = panel(limits);
    assert_eq!(
        said(&session, &panel, &[5.0, 12.0, 25.0, 40.0]),
        [
            "OIL 1 psi, below 5, for 0 s",
            "OIL 1 psi, below 5, for 7 s | FUEL 1.0 US gal, below 5.0, for 2 s",
            "FUEL 1.0 US gal, below 5.0, for 15 s | OIL, was below 5, 6 s old",
            "ROTOR 1 %, below 5, for 10 s | FUEL 1.0 US gal, below 5.0, for 30 s",
        ]
    );
    panel.banner = Some(Banner { least: Severity::Advisory });
    assert_eq!(
        said(&session, &panel, &[3.0]),
        ["NOTE 1, below 5, for at least 3 s"],
        "no unit is stated, none is written"
    );
    panel.banner = None;
    assert_eq!(said(&session, &panel, &[40.0]), [""]);
}

#[test]
fn the_ledger_holds_the_sentences() {
    let fuel = |i: usize| Some(if i < 10 { 4.5 } else { 3.1 });
    let session = session(vec![channel("Fuel", Some("US gal"), &(0..100).map(fuel).collect::<Vec<_>>())]);
    let panel = panel(vec![limit("fuel", "Fuel", 4.0, Severity::Caution)]);
    let judged = judge(&session, &panel);
    let mut readout = Readout::new(&session, &judged, &panel);
    let mut ledger = Ledger::new(Vec::new(), &panel).expect("header");
    for t in [5.0, 15.0] {
        let state = readout.at(SessionTime(t), Notice::Bare);
        ledger.row(t, SessionTime(t), None, &state).expect("row");
    }
    let text = String::from_utf8(ledger.finish().expect("written")).expect("text");
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].ends_with(",fuel.calc,banner.first,banner.second"), "{}", lines[0]);
    assert!(lines[1].ends_with(",off,,"), "{}", lines[1]);
    assert!(lines[2].ends_with(",on,\"FUEL 3.1 US gal, below 4.0, for 5 s\","), "{}", lines[2]);
}
