//! Markings and scales beyond the plain ones: a reference's triangle, the rotor's two sets of limits, dials turned as on the
//! owner's panel. What stands where is measured on the picture; the angles expected are worked out by hand beside each row.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a panic is how a test fails")]

mod drawing;

use image::RgbImage;
use jumpseat::draw::{Painter, Theme};
use jumpseat::judge::Drive;
use jumpseat::keyfile::Document;
use jumpseat::panel::{Bar, ByPower, Dial, DiscSize, Face, Instrument, Marking, Panel, Side, Strip, StripTrace};
use jumpseat::panel::{Tachometer, UsualRange, file};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::{InstrumentState, Notice, PanelState};
use jumpseat::signal::{Reading, State};

use drawing::golden::{compare, report, seen};
use drawing::measure::{colour, colour_over, draw_in, draw_state};
use drawing::{
    airspeed, contrast, fuel_bar, instrument, oil, reading, speed_tape, tachometer, two_sets, vertical_speed,
};

fn measured(values: &[f64]) -> InstrumentState {
    let hands = values.iter().map(|&value| reading(value, State::Measured, 0.0)).collect();
    InstrumentState { hands, ..InstrumentState::default() }
}

/// One instrument on a frame of 1280 x 720, where fine marks are seen.
fn shown(face: Face, size: DiscSize, state: InstrumentState, theme: Theme) -> RgbImage {
    with_usual(face, &[], size, state, theme)
}

/// The same with usual ranges.
fn with_usual(face: Face, usual: &[UsualRange], size: DiscSize, state: InstrumentState, theme: Theme) -> RgbImage {
    let plain = instrument("shown", face, size, Side::Left, 0.42, 0.3);
    let panel = Panel { instruments: vec![Instrument { usual: usual.to_vec(), ..plain }], ..Panel::default() };
    let mut painter = Painter::new(&panel, FrameShape::plain(1280, 720), theme).unwrap();
    let state = PanelState { instruments: vec![state], notice: Notice::Bare, session_s: 30.0, ..PanelState::default() };
    seen(&painter.draw(&state)[0].patch)
}

#[test]
fn references_on_every_face_with_markings() {
    let reference = |at| Marking::Reference { at };
    let with = |mut markings: Vec<Marking>, at| {
        markings.push(reference(at));
        markings
    };
    let dial = Face::Dial(Dial { markings: with(airspeed().markings, 62.0), ..airspeed() });
    let mut both = tachometer();
    both.rotor_markings.push(reference(101.0));
    both.engine_markings.push(reference(99.0));
    let mut pair = oil();
    pair.left.markings.push(reference(50.0));
    pair.right.markings.push(reference(75.0));
    let mut climb = vertical_speed();
    climb.markings = vec![
        reference(500.0),
        Marking::Normal { from: -500.0, to: 500.0 },
        Marking::Precaution { from: -1500.0, to: -1000.0 },
        Marking::Limit { at: -1500.0 },
        Marking::Forbidden { from: -2000.0, to: -1500.0 },
    ];
    let bar = Face::Bar(Bar { markings: with(fuel_bar().markings, 9.0), width_m: 0.45, ..fuel_bar() });
    let mut tape = speed_tape();
    tape.markings.push(reference(62.0));
    let strip = Face::Strip(Strip {
        traces: vec![StripTrace { channel: "egt".into(), name: "EGT".into() }],
        title: "EGT".into(),
        unit: "\u{b0}C".into(),
        decimals: 0,
        seconds: 30.0,
        scale: Strip::scale(450.0, 750.0),
        markings: vec![reference(560.0), Marking::Limit { at: 710.0 }],
    });
    let faces = [
        ("dial", dial, DiscSize::L, measured(&[58.0])),
        ("tachometer", Face::Tachometer(both), DiscSize::Xl, measured(&[100.0, 100.0])),
        ("pair", Face::Pair(pair), DiscSize::L, measured(&[52.0, 78.0])),
        ("vertical_speed", Face::VerticalSpeed(climb), DiscSize::L, measured(&[450.0])),
        ("bar", bar, DiscSize::M, measured(&[13.4])),
        ("tape", Face::Tape(tape), DiscSize::L, measured(&[58.0])),
        ("strip", strip, DiscSize::M, measured(&[560.0])),
    ];
    let mut results = Vec::new();
    for (name, face, size, state) in faces {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "dial" | "bar") {
                let picture = shown(face.clone(), size, state.clone(), theme);
                results.push(compare(&format!("reference_{name}_{}", theme.name()), &picture));
            }
        }
    }
    report(results);
}

#[test]
fn two_sets_of_limits_follow_the_drive() {
    let face = || Face::Tachometer(two_sets());
    let at = |hands: [f64; 2], drive| InstrumentState { drive, ..measured(&hands) };
    let states = [
        ("on", at([100.0, 100.0], Drive::Together)),
        ("off", at([104.0, 84.0], Drive::RotorAhead)),
        ("unknown", at([100.0, 100.0], Drive::NotJudged)),
        ("apart", at([94.0, 99.0], Drive::Apart)),
        ("invalid", InstrumentState { hands: vec![Reading::INVALID; 2], ..InstrumentState::default() }),
    ];
    let mut results = Vec::new();
    for (name, state) in states {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "on" | "off") {
                let picture = shown(face(), DiscSize::Xl, state.clone(), theme);
                results.push(compare(&format!("two_sets_{name}_{}", theme.name()), &picture));
            }
        }
    }
    // Every kind of mark, hollow.
    let mut all = two_sets();
    all.rotor_by_power.off = vec![
        Marking::Forbidden { from: 84.0, to: 90.0 },
        Marking::Limit { at: 90.0 },
        Marking::Precaution { from: 90.0, to: 94.0 },
        Marking::Normal { from: 94.0, to: 106.0 },
        Marking::Reference { at: 99.0 },
        Marking::Limit { at: 108.0 },
    ];
    let picture = shown(Face::Tachometer(all), DiscSize::Xl, at([104.0, 84.0], Drive::RotorAhead), Theme::Graphite);
    results.push(compare("two_sets_every_kind_graphite", &picture));
    report(results);
}

/// A face as a panel file gives it.
fn written(kind: &str, scale: &str) -> Face {
    let text = format!(
        "[[instrument]]\nname = \"egt\"\nunit = \"degC\"\ntitle = \"EGT\"\nchannel = \"engine.EGT\"\nkind = \"dial\"\n\
         place = {{ side = \"left\", from_side = 0.2, from_bottom = 0.2, size = \"XL\" }}\n{scale}\n\
         [[instrument.marking]]\nkind = \"normal\"\nfrom = 400\nto = 660\n\
         [[instrument.marking]]\nkind = \"precaution\"\nfrom = 660\nto = 710\n\
         [[instrument.marking]]\nkind = \"limit\"\nat = 710\n"
    );
    let rpm = text
        .replace(
            "unit = \"degC\"\ntitle = \"EGT\"\nchannel = \"engine.EGT\"\nkind = \"dial\"",
            "kind = \"tachometer\"\nrotor = \"r\"\nengine = \"e\"",
        )
        .replace("= 400", "= 97")
        .replace("= 660", "= 103")
        .replace("= 710", "= 105");
    let text = if kind == "dial" { text } else { rpm };
    let file = file::read(Document::of("panel.toml".as_ref(), text));
    assert!(file.faults.is_empty(), "{:#?}", file.faults);
    file.panel.instruments[0].face.clone()
}

const EGT: &str = "scale.from = 0\nscale.to = 800\nscale.ticks = { long = 200, middle = 100, short = 20 }\n";
const RPM: &str = "scale.from = 0\nscale.to = 110\nscale.ticks = { long = 20, middle = 10, short = 2 }\n";
const AS_IS: &str = "scale.orientation = \"as on the panel\"\n";

#[test]
fn scales_as_on_the_panel() {
    let egt = |turn: &str| written("dial", &format!("{EGT}{turn}"));
    let rpm = |turn: &str| written("tachometer", &format!("{RPM}{turn}"));
    let as_is = |turn: &str| format!("{AS_IS}{turn}");
    let bends = "scale.breakpoints = [[0, 140], [400, 60], [800, -100]]\n";
    let folded = written("dial", &format!("{bends}scale.ticks = {{ long = 200, middle = 100, short = 20 }}"));
    let round = egt(&as_is("scale.start = 180\nscale.sweep = 360"));
    let other_round = egt(&as_is("scale.start = -90\nscale.sweep = -360"));
    let other = rpm(&as_is("scale.start = 150\nscale.sweep = -240"));
    let faces = [
        ("as_on_the_panel", egt(&as_is("scale.start = -120\nscale.sweep = 240")), measured(&[548.0])),
        ("anticlockwise", egt(&as_is("scale.start = 120\nscale.sweep = -240")), measured(&[548.0])),
        ("anticlockwise_above", egt(&as_is("scale.start = 120\nscale.sweep = -240")), measured(&[820.0])),
        ("anticlockwise_fold", folded, measured(&[548.0])),
        ("upright", egt("scale.orientation = \"upright\"\nscale.sweep = 218\nscale.normal = 550"), measured(&[548.0])),
        ("from_twelve", egt(&as_is("scale.start = 0\nscale.sweep = 330")), measured(&[548.0])),
        ("round_low", round.clone(), measured(&[0.0])),
        ("round_high", round.clone(), measured(&[800.0])),
        ("round_above", round.clone(), measured(&[835.0])),
        ("round_below", round, measured(&[-20.0])),
        ("round_anticlockwise", other_round, measured(&[548.0])),
        ("rpm_as_on_the_panel", rpm(&as_is("scale.start = -135\nscale.sweep = 270")), measured(&[100.0, 98.0])),
        ("rpm_anticlockwise", other.clone(), measured(&[100.0, 98.0])),
        ("rpm_anticlockwise_apart", other, measured(&[103.0, 84.0])),
        ("rpm_free_at_the_left", rpm(&as_is("scale.start = -20\nscale.sweep = 240")), measured(&[100.0, 98.0])),
        ("rpm_round", rpm(&as_is("scale.start = 180\nscale.sweep = 360")), measured(&[100.0, 98.0])),
    ];
    let draw =
        |(name, face, state)| compare(&format!("scale_{name}"), &shown(face, DiscSize::Xl, state, Theme::Graphite));
    report(faces.map(draw));
}

/// Each marking of a file goes to its lane and its set; one without `power` always counts.
#[test]
fn the_file_says_which_set_a_marking_belongs_to() {
    let marking = |keys: &str| format!("[[instrument.marking]]\nkind = \"limit\"\n{keys}\n");
    let text = format!(
        "[[instrument]]\nname = \"rpm\"\nkind = \"tachometer\"\nrotor = \"r\"\nengine = \"e\"\n\
         place = {{ side = \"left\", from_side = 0.2, from_bottom = 0.2, size = \"XL\" }}\n{RPM}{AS_IS}\
         scale.start = -120\nscale.sweep = 240\n{}{}{}{}",
        marking("power = \"on\"\nat = 104"),
        marking("power = \"off\"\nat = 108\nlane = \"rotor\""),
        marking("at = 90"),
        marking("lane = \"engine\"\nat = 105")
    );
    let file = file::read(Document::of("panel.toml".as_ref(), text));
    assert!(file.faults.is_empty(), "{:#?}", file.faults);
    let Face::Tachometer(both) = &file.panel.instruments[0].face else { panic!("a tachometer was written") };
    let limit = |at| vec![Marking::Limit { at }];
    assert_eq!(both.rotor_by_power, ByPower { on: limit(104.0), off: limit(108.0) });
    assert_eq!((&both.rotor_markings, &both.engine_markings), (&limit(90.0), &limit(105.0)));
}

/// How red, or how bright, a place is.
type Tint = fn([f64; 3]) -> f64;
const RED: Tint = |[r, g, _]| (r - g).max(0.0);
const WHITE: Tint = |[r, g, b]| r.min(g).min(b);

/// What one picture has more of than the other on a ring, twenty steps a degree, about an angle.
fn ring(patch: &Patch, without: &Patch, radius: f64, near: f64, tint: Tint) -> Vec<(f64, f64)> {
    let steps = (-160..=160).map(|i| near + f64::from(i) / 20.0);
    let more = |d: f64| (tint(colour(patch, radius, d)) - tint(colour(without, radius, d))).max(0.0);
    steps.map(|d| (d, more(d))).collect()
}

/// The middle of what a ring has, and how many degrees it covers.
fn middle(ring: &[(f64, f64)]) -> (f64, f64) {
    let lit = || ring.iter().filter(|p| p.1 > 0.15);
    let weight: f64 = lit().map(|p| p.1).sum();
    assert!(weight > 0.0, "nothing stands near {}", ring[ring.len() / 2].0);
    (lit().map(|p| p.0 * p.1).sum::<f64>() / weight, lit().count() as f64 / 20.0)
}

/// The triangle is found on the rim where its value stands, wider outside than inside: it points at the scale.
#[test]
fn the_triangle_stands_at_its_value_and_points_inward() {
    let as_is = |turn: &str| written("dial", &format!("{EGT}{AS_IS}{turn}"));
    // Angle of a value by hand: start + sweep x value / 800.
    let rows = [
        ("scale.start = -120\nscale.sweep = 240", 200.0, -60.0),
        ("scale.start = 120\nscale.sweep = -240", 200.0, 60.0),
        ("scale.start = 0\nscale.sweep = 330", 400.0, 165.0),
        ("scale.start = -90\nscale.sweep = -360", 600.0, 0.0),
        ("scale.start = 200\nscale.sweep = 300", 100.0, 237.5),
    ];
    for (turn, value, angle) in rows {
        let with = |at: &[f64]| {
            let Face::Dial(mut dial) = as_is(turn) else { panic!("a dial was written") };
            dial.markings = at.iter().map(|&at| Marking::Reference { at }).collect();
            draw_state(Face::Dial(dial), measured(&[750.0]))
        };
        let (patch, without) = (with(&[value]), with(&[]));
        let [inner, outer] = [0.915, 0.970].map(|radius| middle(&ring(&patch, &without, radius, angle + 1.7, WHITE)));
        for (found, _) in [inner, outer] {
            assert!((found - angle).abs() < 0.3, "{turn}: {value} stands at {found:.2}, not {angle}");
        }
        assert!(outer.1 > 1.8 * inner.1, "{turn}: {:.2} degrees wide outside, {:.2} inside", outer.1, inner.1);
    }
}

/// The T of a limit with power off: found where it must be by its red, and hollow. With power on it is solid.
#[test]
fn the_hollow_limit_stands_at_its_value() {
    let draw = |sets: ByPower| {
        let both = Tachometer { rotor_markings: Vec::new(), rotor_by_power: sets, ..tachometer() };
        draw_state(Face::Tachometer(both), measured(&[10.0, 10.0]))
    };
    let without = draw(ByPower::default());
    // 4.5 degrees for one percent about 100 at twelve: the fold of this scale.
    for (value, angle) in [(90.0, -45.0), (108.0, 36.0), (99.0, -4.5)] {
        let limit = vec![Marking::Limit { at: value }];
        let hollow = draw(ByPower { off: limit.clone(), ..ByPower::default() });
        let solid = draw(ByPower { on: limit, ..ByPower::default() });
        for (patch, is_hollow) in [(&hollow, true), (&solid, false)] {
            let stem = ring(patch, &without, 0.945, angle + 1.1, RED);
            let (found, _) = middle(&stem);
            assert!((found - angle).abs() < 0.2, "the limit of {value} stands at {found:.2}, not {angle}");
            let lit = |p: &&(f64, f64)| p.1 > 0.3;
            let (first, last) = (stem.iter().find(lit).unwrap().0, stem.iter().rev().find(lit).unwrap().0);
            let inside: Vec<f64> = stem.iter().filter(|p| first < p.0 && p.0 < last).map(|p| p.1).collect();
            let dark = inside.iter().filter(|red| **red < 0.1).count();
            assert_eq!(dark > inside.len() / 4, is_hollow, "{value}: {dark} of {} dark inside the stem", inside.len());
        }
    }
}

/// How strongly each limit's T shows, by the drive: that of the set not in force is dim, and neither is gone.
#[test]
fn the_set_that_is_not_in_force_is_dim() {
    let at = |drive| InstrumentState { drive, ..measured(&[10.0, 10.0]) };
    let bare = Tachometer { rotor_by_power: ByPower::default(), ..two_sets() };
    let without = draw_state(Face::Tachometer(bare), at(Drive::NotJudged));
    // At the head of the T: its outline is red whether hollow or not.
    let red = |drive, value: f64| {
        let patch = draw_state(Face::Tachometer(two_sets()), at(drive));
        let angle = 4.5 * (value - 100.0);
        ring(&patch, &without, 0.999, angle, RED).iter().map(|p| p.1).fold(0.0, f64::max)
    };
    let (on, off) = (104.0, 108.0);
    for drive in [Drive::NotJudged, Drive::Apart, Drive::Slipping] {
        let full = red(Drive::Together, on);
        assert!((red(drive, on) - full).abs() < 0.01, "{drive:?}: with power on, in full");
        assert!((red(drive, off) - red(Drive::RotorAhead, off)).abs() < 0.01, "{drive:?}: with power off, in full");
    }
    for (drive, in_force, other) in [(Drive::Together, on, off), (Drive::RotorAhead, off, on)] {
        let (full, dim) = (red(Drive::NotJudged, in_force), red(drive, in_force));
        assert!((full - dim).abs() < 0.01, "{drive:?}: {in_force} is in force");
        let share = red(drive, other) / red(Drive::NotJudged, other);
        assert!((0.4..0.75).contains(&share), "{drive:?}: {other} shows {share:.2} of its red");
    }
}

/// Dim marks stay graphics that can be seen: 3 to 1 against the edge around them (WCAG 2.2, SC 1.4.11), over snow and at night.
#[test]
fn dim_marks_can_still_be_made_out() {
    for theme in Theme::ALL {
        for (drive, value) in [(Drive::Together, 108.0), (Drive::Together, 90.0), (Drive::RotorAhead, 104.0)] {
            let state = InstrumentState { drive, ..measured(&[10.0, 10.0]) };
            let patch = draw_in(theme, Face::Tachometer(two_sets()), state);
            for ground in [[1.0; 3], [0.0; 3]] {
                let angle = 4.5 * (value - 100.0);
                // Across the stem, from its edge on one side to the one on the other.
                let across: Vec<_> =
                    (-70..=70).map(|i| colour_over(&patch, ground, 0.962, angle + f64::from(i) / 20.0)).collect();
                let mark = across.iter().copied().max_by(|a, b| RED(*a).total_cmp(&RED(*b))).unwrap();
                let best = across.iter().map(|edge| contrast(mark, *edge)).fold(0.0, f64::max);
                println!("{} {drive:?} {value}: {best:.2}", theme.name());
                assert!(best >= 3.0, "{}, {drive:?}: the limit of {value} has {best:.2}", theme.name());
            }
        }
    }
}

/// Both caps of a bracket stand where the range starts and ends, and its line lies between ticks and lane.
#[test]
fn a_bracket_spans_its_range() {
    let draw = |counts| {
        let face = Face::Dial(Dial { markings: Vec::new(), ..airspeed() });
        let plain = instrument("dial", face, DiscSize::Xl, Side::Left, 0.2, 0.2);
        let panel =
            Panel { instruments: vec![Instrument { usual: vec![usual(0, 40.0, 60.0)], ..plain }], ..Panel::default() };
        let mut painter = Painter::new(&panel, FrameShape::plain(3840, 2160), Theme::Graphite).unwrap();
        let shown = InstrumentState { usual: vec![counts], ..measured(&[100.0]) };
        let state = PanelState { instruments: vec![shown], notice: Notice::Bare, ..PanelState::default() };
        painter.draw(&state)[0].patch.clone()
    };
    let (patch, without) = (draw(true), draw(false));
    // -126 degrees at 20, 2.8 degrees a knot.
    for angle in [-70.0, -14.0] {
        let (found, _) = middle(&ring(&patch, &without, 0.95, angle + 1.1, WHITE));
        assert!((found - angle).abs() < 0.2, "a cap stands at {found:.2}, not {angle}");
    }
    let (_, wide) = middle(&ring(&patch, &without, 0.905, -42.0, WHITE));
    assert!(wide > 15.9, "the line covers {wide} of 16 degrees looked at");
}

/// The marks change when the set changes, and not because a hand moves.
#[test]
fn the_sets_change_only_with_the_drive() {
    let panel = Panel {
        instruments: vec![instrument("rpm", Face::Tachometer(two_sets()), DiscSize::Xl, Side::Left, 0.2, 0.2)],
        ..Panel::default()
    };
    let mut painter = Painter::new(&panel, FrameShape::plain(1280, 720), Theme::Graphite).unwrap();
    // The T of 108 %, 36 degrees from twelve on a disc of 108 px about (144, 576).
    let (x, y) = (
        144 + (0.96 * 108.0 * 36f64.to_radians().sin()) as u32,
        576 - (0.96 * 108.0 * 36f64.to_radians().cos()) as u32,
    );
    let mut mark = |hands: [f64; 2], drive| {
        let state = InstrumentState { drive, ..measured(&hands) };
        let state = PanelState { instruments: vec![state], notice: Notice::Bare, ..PanelState::default() };
        let patch = painter.draw(&state).swap_remove(0).patch;
        let row = |y: u32| 4 * ((y - patch.place.y) * patch.place.width + x - 3 - patch.place.x) as usize;
        (y - 3..y + 4).flat_map(|y| patch.rgba[row(y)..][..4 * 7].to_vec()).collect::<Vec<u8>>()
    };
    let together = mark([100.0, 100.0], Drive::Together);
    assert!(together == mark([98.0, 98.0], Drive::Together), "hands moved, far from there");
    assert!(together == mark([97.0, 97.5], Drive::Together));
    let ahead = mark([97.0, 97.5], Drive::RotorAhead);
    assert!(ahead != together, "the other set is in force");
    assert!(ahead == mark([96.0, 97.0], Drive::RotorAhead));
    let full = mark([96.0, 97.0], Drive::NotJudged);
    assert!(full != ahead, "both in full");
    assert!(full == mark([96.0, 97.0], Drive::Apart), "as before");
}

fn usual(hand: usize, from: f64, to: f64) -> UsualRange {
    UsualRange { hand, from, to, condition: None }
}

#[test]
fn a_usual_range_is_a_bracket_while_it_counts() {
    let bar = Bar { width_m: 0.45, ..fuel_bar() };
    let mut climb = vertical_speed();
    climb.markings = vec![Marking::Normal { from: -500.0, to: 1000.0 }];
    let faces = [
        ("dial", Face::Dial(airspeed()), DiscSize::L, vec![usual(0, 55.0, 65.0), usual(0, 70.0, 90.0)], vec![58.0]),
        (
            "tachometer",
            Face::Tachometer(tachometer()),
            DiscSize::Xl,
            vec![usual(0, 99.0, 102.0), usual(1, 98.0, 101.0)],
            vec![100.0, 100.0],
        ),
        ("pair", Face::Pair(oil()), DiscSize::L, vec![usual(0, 45.0, 60.0), usual(1, 70.0, 90.0)], vec![52.0, 78.0]),
        ("vertical_speed", Face::VerticalSpeed(climb), DiscSize::L, vec![usual(0, 400.0, 700.0)], vec![450.0]),
        ("bar", Face::Bar(bar), DiscSize::M, vec![usual(0, 8.0, 14.0)], vec![13.4]),
    ];
    let mut results = Vec::new();
    for (name, face, size, ranges, hands) in faces {
        let at = |counts: bool| InstrumentState { usual: vec![counts; ranges.len()], ..measured(&hands) };
        for theme in Theme::ALL {
            if theme == Theme::Graphite || name == "dial" {
                let picture = with_usual(face.clone(), &ranges, size, at(true), theme);
                results.push(compare(&format!("usual_{name}_{}", theme.name()), &picture));
                let plain = shown(face.clone(), size, measured(&hands), theme);
                assert_ne!(plain, picture, "{name}");
                assert_eq!(
                    plain,
                    with_usual(face.clone(), &ranges, size, at(false), theme),
                    "{name}: it does not count now"
                );
            }
        }
    }
    let one = InstrumentState { usual: vec![false, true], ..measured(&[58.0]) };
    let ranges = [usual(0, 55.0, 65.0), usual(0, 70.0, 90.0)];
    let picture = with_usual(Face::Dial(airspeed()), &ranges, DiscSize::L, one, Theme::Graphite);
    results.push(compare("usual_dial_one_of_two_graphite", &picture));
    report(results);
}
