//! Drawing frame after frame: what is on a patch depends on the state alone, and what is said to have changed has.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use jumpseat::draw::{DrawError, Painter, Theme};
use jumpseat::judge::Drive;
use jumpseat::panel::{DiscSize, Face, Instrument, KeepClear, Panel, Side, UsualRange};
use jumpseat::pixel::{FrameShape, Orientation, Patch};
use jumpseat::readout::{AlertShown, InstrumentState, LampShown, LampWord, LampsState, Notice, PanelState};
use jumpseat::signal::{Reading, State};
use proptest::prelude::*;

use drawing::{airspeed, cards, instrument, lamps_state, panel, reading, state, two_sets, volts};

fn any_reading() -> impl Strategy<Value = Reading> {
    let states = prop_oneof![
        4 => Just(State::Measured),
        1 => Just(State::Derived),
        1 => Just(State::Held),
        1 => Just(State::Stale),
        1 => Just(State::Invalid),
        1 => Just(State::SaturatedLow),
        1 => Just(State::SaturatedHigh),
    ];
    let value = prop_oneof![8 => (-40.0..200.0f64).prop_map(Some), 2 => (-3000.0..13_000.0f64).prop_map(Some), 1 => Just(None), 1 => Just(Some(f64::NAN)), 1 => Just(Some(-1e300))];
    (value, states, 0.0..200.0f64).prop_map(|(value, state, age_s)| Reading { value, state, age_s })
}

fn any_state() -> impl Strategy<Value = PanelState> {
    let notice = prop_oneof![Just(Notice::Plate), Just(Notice::Bare)];
    (prop::collection::vec(any_reading(), 0..6), any_lamps(), notice).prop_map(|(readings, lamps, notice)| {
        let mut shown = state(&readings, notice);
        // A second hand for those that have one, and any drive and usual ranges.
        let drives = [Drive::NotJudged, Drive::Together, Drive::RotorAhead, Drive::Slipping];
        for (instrument, reading) in shown.instruments.iter_mut().zip(readings.iter().skip(1)) {
            instrument.hands.push(*reading);
            instrument.drive = drives[reading.age_s as usize % 4];
            instrument.usual = vec![reading.age_s > 50.0, reading.age_s < 100.0];
        }
        PanelState { lamps, ..shown }
    })
}

/// Any lamps and alerts; of those in disorder the drawing asks nothing.
fn any_lamps() -> impl Strategy<Value = LampsState> {
    let shown = prop_oneof![
        Just(LampShown::NotRecorded),
        Just(LampShown::Unlit),
        (0..8usize).prop_map(LampShown::Lit),
        Just(LampShown::Disagree),
        (0.0..9e9).prop_map(|age_s| LampShown::Stale { age_s }),
        Just(LampShown::Invalid),
    ];
    let word = prop_oneof![Just(LampWord::Off), Just(LampWord::On), Just(LampWord::Unknown)];
    let alert = prop_oneof![
        2 => Just(AlertShown::Off),
        3 => Just(AlertShown::On),
        1 => Just(AlertShown::Unknown),
        1 => (0.0..9e9).prop_map(|age_s| AlertShown::Lost { age_s }),
    ];
    use prop::collection::vec;
    (vec(shown, 0..5), vec(word, 0..8), vec(alert, 0..7)).prop_map(|(groups, recorded, alerts)| LampsState {
        groups,
        recorded,
        alerts,
    })
}

fn shapes() -> impl Strategy<Value = FrameShape> {
    let turned = Orientation { quarter_turns: 3, mirrored: true };
    prop_oneof![
        Just(FrameShape::plain(320, 180)),
        Just(FrameShape::plain(427, 241)),
        Just(FrameShape { width: 270, height: 480, pixel_aspect: 1.25, orientation: turned }),
    ]
}

fn patches(painter: &mut Painter, state: &PanelState) -> (Vec<Patch>, Vec<bool>) {
    painter.draw(state).iter().map(|drawn| (drawn.patch.clone(), drawn.changed)).unzip()
}

/// Instruments with markings that come and go.
fn marked() -> Panel {
    let usual = |from, to| UsualRange { hand: 0, from, to, condition: None };
    let rpm = instrument("rpm", Face::Tachometer(two_sets()), DiscSize::Xl, Side::Left, 0.172, 0.172);
    let speed = instrument("airspeed", Face::Dial(airspeed()), DiscSize::M, Side::Right, 0.117, 0.117);
    Panel {
        instruments: vec![
            Instrument { usual: vec![usual(98.0, 102.0)], ..rpm },
            Instrument { usual: vec![usual(55.0, 65.0), usual(60.0, 75.0)], ..speed },
        ],
        ..Panel::default()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_way_to_a_state_gives_the_same_pixels(
        states in prop::collection::vec(any_state(), 1..12),
        shape in shapes(),
        panel in prop_oneof![Just(panel()), Just(cards()), Just(marked())],
    ) {
        let mut walked = Painter::new(&panel, shape, Theme::Graphite).unwrap();
        let mut before: Option<Vec<Patch>> = None;
        for state in &states {
            let (now, changed) = patches(&mut walked, state);
            for (i, (patch, changed)) in now.iter().zip(changed).enumerate() {
                match &before {
                    None => prop_assert!(changed, "at first everything is new"),
                    Some(before) => prop_assert!(changed || before[i] == *patch, "instrument {} changed unsaid", i),
                }
            }
            before = Some(now);
        }
        let last = states.last().unwrap();
        let (fresh, _) = patches(&mut Painter::new(&panel, shape, Theme::Graphite).unwrap(), last);
        prop_assert_eq!(before.unwrap(), fresh);
        let (_, changed) = patches(&mut walked, last);
        prop_assert!(changed.iter().all(|changed| !changed), "the same state again changes nothing");
    }
}

#[test]
fn a_moving_hand_leaves_most_of_the_dial_alone() {
    let mut painter = Painter::new(&panel(), FrameShape::plain(1920, 1080), Theme::Graphite).unwrap();
    let at = |value| state(&[reading(value, State::Measured, 0.0)], Notice::Bare);
    let (before, _) = patches(&mut painter, &at(57.6));
    // The same written value, the hand a little further.
    let (now, changed) = patches(&mut painter, &at(58.2));
    let pixels = before[0].rgba.as_chunks::<4>().0.iter().zip(now[0].rgba.as_chunks::<4>().0);
    let moved = pixels.clone().filter(|(before, now)| before != now).count() as f64 / pixels.len() as f64;
    assert!(moved > 0.0 && moved < 0.1, "{moved} of the picture");
    assert!(changed[0] && changed[1..].iter().all(|changed| !changed));
    let (_, changed) = patches(&mut painter, &at(58.2001));
    assert!(!changed[0], "less than can be seen");
}

#[test]
fn patches_have_a_clear_margin_on_even_places_at_every_size() {
    let sizes = [(320, 180), (426, 240), (640, 360), (854, 480), (1280, 720), (1920, 1080), (3840, 2160), (7680, 4320)];
    let readings =
        [reading(58.0, State::Held, 8.8), reading(166.0, State::Measured, 0.0), reading(27.9, State::Held, 0.6)];
    for (panel, (w, h)) in [panel(), cards()].into_iter().flat_map(|panel| sizes.map(|size| (panel.clone(), size))) {
        let mut painter = Painter::new(&panel, FrameShape::plain(w, h), Theme::Graphite).unwrap();
        let lamps = lamps_state(
            [LampShown::Lit(0), LampShown::Lit(2), LampShown::Disagree, LampShown::Invalid],
            [AlertShown::On; 6],
        );
        for drawn in painter.draw(&PanelState { lamps, ..state(&readings, Notice::Plate) }) {
            let place = drawn.patch.place;
            assert!(place.x % 2 == 0 && place.y % 2 == 0 && place.width % 2 == 0 && place.height % 2 == 0, "{place:?}");
            let alpha = |x: u32, y: u32| drawn.patch.rgba[4 * (y * place.width + x) as usize + 3];
            // At the frame's own edge a halo may be cut off; elsewhere two columns and rows stay clear.
            for x in 0..place.width {
                assert!(place.y == 0 || (alpha(x, 0) == 0 && alpha(x, 1) == 0), "{w}: {place:?}");
                let (y1, y2) = (place.height - 1, place.height - 2);
                assert!(place.bottom() == h || (alpha(x, y1) == 0 && alpha(x, y2) == 0), "{w}: {place:?}");
            }
            for y in 0..place.height {
                assert!(place.x == 0 || (alpha(0, y) == 0 && alpha(1, y) == 0), "{w}: {place:?}");
                let (x1, x2) = (place.width - 1, place.width - 2);
                assert!(place.right() == w || (alpha(x1, y) == 0 && alpha(x2, y) == 0), "{w}: {place:?}");
            }
        }
    }
}

/// The names of two that lie over each other.
fn overlapping(fault: DrawError) -> Option<[String; 2]> {
    match fault {
        DrawError::Overlap { first, second, pixels: 1.. } => Some([first, second]),
        _ => None,
    }
}

#[test]
fn what_does_not_fit_is_refused_by_name() {
    let dial = |name, x| instrument(name, Face::Dial(airspeed()), DiscSize::Xl, Side::Left, x, 0.2);
    let build = |instruments| {
        Painter::new(&Panel { instruments, ..Panel::default() }, FrameShape::plain(1920, 1080), Theme::Graphite).err()
    };
    assert_eq!(build(vec![dial("a", 0.151), dial("b", 0.452)]), None, "halos may overlap");
    assert_eq!(
        build(vec![dial("a", 0.151), dial("b", 0.44)]),
        Some(DrawError::Overlap { first: "a".into(), second: "b".into(), pixels: 12 }),
        "0.300 - 0.289 of the height"
    );
    assert_eq!(
        build(vec![dial("a", 0.14)]),
        Some(DrawError::OutsideFrame { instrument: "a".into(), edge: "left", pixels: 11 })
    );
    let tile = instrument("volts", Face::Tile(volts()), DiscSize::M, Side::Centre, 0.0, 0.95);
    assert_eq!(build(vec![tile]).and_then(overlapping), Some(["volts".into(), "the notice".into()]));
    assert!(matches!(build(vec![dial("a", f64::NAN)]), Some(DrawError::OutsideFrame { .. })));
    let mut flat = airspeed();
    flat.scale.breakpoints.truncate(1);
    let flat = instrument("flat", Face::Dial(flat), DiscSize::Xl, Side::Left, 0.2, 0.2);
    assert_eq!(build(vec![flat]), Some(DrawError::Scale { instrument: "flat".into() }));
}

#[test]
fn the_row_of_lamps_keeps_its_room() {
    let row = |instruments, keep_clear, from_bottom| {
        let panel = Panel { instruments, keep_clear, lamps_from_bottom_m: from_bottom, ..panel() };
        Painter::new(&panel, FrameShape::plain(1920, 1080), Theme::Graphite).err()
    };
    let row_name = || "the row of lamps".to_owned();
    let tile = |from_bottom| instrument("volts", Face::Tile(volts()), DiscSize::M, Side::Centre, 0.1, from_bottom);
    assert_eq!(row(vec![tile(0.060)], Vec::new(), None), None);
    let over = |from_bottom| row(vec![tile(from_bottom)], Vec::new(), None).and_then(overlapping);
    let overlap = Some(["volts".to_owned(), row_name()]);
    assert_eq!(over(0.075), overlap, "over a lamp");
    assert_eq!(over(0.270), overlap, "over a badge, though none is lit");
    assert_eq!(row(vec![tile(0.270)], Vec::new(), Some(0.05)), None, "the owner moved the row");
    let kept = KeepClear { name: "the real panel".into(), x: 0.4, y: 0.7, width: 0.1, height: 0.1 };
    let covers = DrawError::CoversKept { instrument: row_name(), kept: "the real panel".into() };
    assert_eq!(row(Vec::new(), vec![kept], None), Some(covers));
    assert!(matches!(row(Vec::new(), Vec::new(), Some(-0.1)), Some(DrawError::OutsideFrame { .. })));
}

/// Columns of the row's patch in which anything is drawn: from and to, in shares of its width.
fn drawn_columns(groups: [LampShown; 4]) -> Vec<f64> {
    let panel = Panel { instruments: Vec::new(), ..panel() };
    let mut painter = Painter::new(&panel, FrameShape::plain(1920, 1080), Theme::Graphite).unwrap();
    let lamps = lamps_state(groups, [AlertShown::Off; 6]);
    let drawn = painter.draw(&PanelState { lamps, ..PanelState::default() });
    let (place, rgba) = (drawn[0].patch.place, &drawn[0].patch.rgba);
    let dense = |x: u32| (0..place.height).any(|y| rgba[4 * (y * place.width + x) as usize + 3] > 100);
    let edges = (1..place.width).filter(|&x| dense(x) != dense(x - 1));
    edges.map(|x| f64::from(x) / f64::from(place.width)).collect()
}

#[test]
fn the_row_closes_up_round_a_lamp_that_is_not_recorded() {
    let unlit = LampShown::Unlit;
    let all = drawn_columns([unlit; 4]);
    assert_eq!(all.len(), 8, "four plates: {all:?}");
    assert_eq!(drawn_columns([unlit, LampShown::NotRecorded, unlit, unlit]), all[..6], "three, without a hole");
    assert_eq!(
        drawn_columns([LampShown::NotRecorded, unlit, LampShown::NotRecorded, unlit]),
        all[2..6],
        "the middle two"
    );
    assert!(drawn_columns([LampShown::NotRecorded; 4]).is_empty());
}

/// Width in degrees of the dark gap between the two half leaves, on the picture at .40 of the radius.
fn gap_between_leaves(rotor: f64, engine: f64) -> f64 {
    let face = instrument("rpm", Face::Tachometer(drawing::tachometer()), DiscSize::Xl, Side::Left, 0.2, 0.2);
    let panel = Panel { instruments: vec![face], ..Panel::default() };
    let mut painter = Painter::new(&panel, FrameShape::plain(1920, 1080), Theme::Graphite).unwrap();
    let hands = [rotor, engine].map(|v| reading(v, State::Measured, 0.0)).to_vec();
    let shown = PanelState {
        instruments: vec![InstrumentState { hands, ..Default::default() }],
        notice: Notice::Bare,
        ..PanelState::default()
    };
    let patch = painter.draw(&shown)[0].patch.clone();
    let bright: Vec<f64> = (-400..=400)
        .map(|i| f64::from(i) * 0.05)
        .filter(|degrees| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let (x, y) = (216.0 + 0.40 * 162.0 * sin, 864.0 - 0.40 * 162.0 * cos);
            drawing::over(&patch, x as u32, y as u32, [0.0; 3])[1] > 0.5
        })
        .collect();
    bright.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max)
}

/// The engine ahead is the hidden danger: it must open the leaf as far as the rotor ahead does.
#[test]
fn one_percent_of_either_hand_opens_the_leaf_alike() {
    let [joined, rotor, engine] =
        [(100.0, 100.0), (101.0, 100.0), (100.0, 101.0)].map(|(r, e)| gap_between_leaves(r, e));
    assert!(rotor > joined + 1.5 && engine > joined + 1.5, "joined {joined:.2}, rotor {rotor:.2}, engine {engine:.2}");
    assert!((rotor - engine).abs() < 1.0, "rotor {rotor:.2}, engine {engine:.2}");
}
