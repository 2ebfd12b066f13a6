//! The wind as a figure of a flight: found where the headings tell it, refused where they do not. `tests/oracle/wind.py` finds the demo's by scipy.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod made;

use jumpseat::air::{Aloft, ground};
use jumpseat::demo::{self, DemoOptions};
use jumpseat::judge::{Figure, judge};
use jumpseat::panel::{Panel, file};
use jumpseat::session::Session;
use jumpseat::signal::{Kind, StateRules};

const RULES: StateRules = StateRules { joined_s: 1.5, held_s: 2.0, stale_s: 5.0 };

/// A record a second: true airspeed, heading, ground speed and, if it is logged, track, in a wind from 200 degrees at 15 kt; the airspeed reads a
/// tenth too low.
fn flown(headings: &[f64], with: &[&str]) -> Session {
    let wind = Aloft { from_deg: 200.0, speed: 15.0 };
    let legs: Vec<f64> = headings.iter().flat_map(|heading| [*heading; 60]).collect();
    let column = |name: &str, value: &dyn Fn(usize, f64) -> f64| -> Vec<Option<f64>> {
        let values =
            legs.iter().enumerate().map(|(i, heading)| Some(value(i, *heading)).filter(|_| with.contains(&name)));
        values.collect()
    };
    // Neither wind nor speed is quite steady.
    let speed = |i: usize| 80.0 + 2.0 * (i as f64 / 7.0).sin();
    let over = |i: usize, heading: f64| {
        ground(heading, speed(i), Aloft { speed: wind.speed + 0.5 * (i as f64 / 11.0).cos(), ..wind })
    };
    let channels = [
        ("True Airspeed", "kt", Kind::Continuous, column("True Airspeed", &|i, _| speed(i) / 1.1)),
        ("True Heading", "deg", Kind::Angle, column("True Heading", &|_, heading| heading)),
        ("Ground Speed", "kt", Kind::Continuous, column("Ground Speed", &|i, heading| over(i, heading).1)),
        ("Track", "deg", Kind::Angle, column("Track", &|i, heading| over(i, heading).0)),
    ];
    let channels = channels.into_iter().filter(|channel| with.contains(&channel.0));
    let made = channels.map(|(name, unit, kind, values)| made::channel(name, Some(unit), kind, (1.0, RULES), &values));
    Session::of(made::recording(made.collect()))
}

fn wind(session: &Session, panel: &Panel) -> Vec<Figure> {
    let figures = judge(session, panel).figures.flight;
    figures.into_iter().filter(|figure| figure.name.starts_with("wind")).collect()
}

const ALL: [&str; 4] = ["True Airspeed", "True Heading", "Ground Speed", "Track"];
const ROUND: [f64; 4] = [20.0, 110.0, 200.0, 290.0];

#[test]
fn each_way_finds_the_wind_and_what_the_airspeed_is_off_by() {
    let ways: [&[&str]; 3] = [&ALL, &ALL[..3], &["True Airspeed", "Ground Speed", "Track"]];
    for with in ways {
        let found = wind(&flown(&ROUND, with), &Panel::default());
        let [speed, from] = &found[..] else { panic!("{with:?}: {found:?}") };
        let told = |figure: &Figure| (figure.value.expect("a value"), figure.plus_minus.expect("how exact"));
        let ((kt, kt_exact), (deg, deg_exact)) = (told(speed), told(from));
        assert!((kt - 15.0).abs() <= kt_exact && kt_exact < 2.0, "{with:?}: {kt} +- {kt_exact} kt");
        assert!((deg - 200.0).abs() <= deg_exact && deg_exact < 6.0, "{with:?}: {deg} +- {deg_exact} degrees");
        // Which north a logged track counts from is not said.
        assert_eq!(from.unit, if with.contains(&"Track") { "\u{b0}" } else { "\u{b0}T" });
        let (_, off) = speed.rule.split_once("by ").expect("what the airspeed is off by");
        let off: f64 = off.split_once(" %").expect("in percent").0.parse().expect("a number");
        assert!((off - 10.0).abs() < 1.5, "{with:?}: {}", speed.rule);
    }
}

#[test]
fn what_leaves_it_open_is_refused_with_the_reason() {
    let why = |headings: &[f64], with: &[&str]| {
        let found = wind(&flown(headings, with), &Panel::default());
        let [only] = &found[..] else { panic!("{found:?}") };
        assert_eq!((only.value, only.plus_minus), (None, None));
        only.rule.clone()
    };
    assert!(
        why(&[20.0, 20.0, 60.0], &ALL).contains("headings differ by 40\u{b0} at most"),
        "{}",
        why(&[20.0, 60.0], &ALL)
    );
    assert!(why(&[20.0], &["True Airspeed", "True Heading"]).contains("no ground speed"));
    assert!(why(&[20.0], &["True Heading", "Ground Speed", "Track"]).contains("no airspeed"));
    assert!(why(&ROUND, &["True Airspeed", "Ground Speed"]).contains("neither a heading nor a track"));
    // There and back: with ground speeds alone nothing is told of what blows across.
    assert!(why(&[110.0, 290.0], &ALL[..3]).contains("the records"), "{}", why(&[110.0, 290.0], &ALL[..3]));
    assert!(
        wind(&flown(&ROUND, &["True Heading"]), &Panel::default()).is_empty(),
        "an engine log's flight is not told of it"
    );
}

/// The demo's wind is 8 kt from 330 degrees; its log holds no track.
#[test]
fn the_demos_wind_is_found() {
    for seed in 1..=5 {
        let folder = tempfile::tempdir().expect("folder");
        demo::write(folder.path(), &DemoOptions { seconds: 600.0, seed, film: false }).expect("flight");
        let panel = file::open(&folder.path().join("panel.toml")).expect("panel").panel;
        let found = wind(&made::session(folder.path()), &panel);
        let [speed, from, ..] = &found[..] else { panic!("seed {seed}: {found:?}") };
        let exact = |figure: &Figure, truth: f64| {
            let (value, exact) = (figure.value.expect("a value"), figure.plus_minus.expect("how exact"));
            assert!(
                (value - truth).abs() <= 1.5 * exact,
                "seed {seed}, {}: {value} +- {exact}, truth {truth}",
                figure.name
            );
            exact
        };
        assert!(exact(speed, 8.0) < 3.0);
        assert!(exact(from, 330.0) < 20.0);
    }
}
