//! Drawing frame after frame: what is on a patch depends on the state alone, and what is said to have changed has.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use jumpseat::draw::{DrawError, Painter, Theme};
use jumpseat::panel::{DiscSize, Face, Panel, Side};
use jumpseat::pixel::{FrameShape, Orientation, Patch, PixelBox};
use jumpseat::readout::{InstrumentState, Notice, PanelState};
use jumpseat::signal::{Reading, State};
use proptest::prelude::*;

use drawing::{airspeed, instrument, panel, reading, state, volts};

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
    let value = prop_oneof![8 => (-40.0..200.0f64).prop_map(Some), 1 => Just(None), 1 => Just(Some(f64::NAN)), 1 => Just(Some(-1e300))];
    (value, states, 0.0..200.0f64).prop_map(|(value, state, age_s)| Reading { value, state, age_s })
}

fn any_state() -> impl Strategy<Value = PanelState> {
    let notice = prop_oneof![Just(Notice::Plate), Just(Notice::Bare)];
    (prop::collection::vec(any_reading(), 0..4), notice).prop_map(|(readings, notice)| state(&readings, notice))
}

fn shapes() -> impl Strategy<Value = FrameShape> {
    let turned = Orientation { quarter_turns: 3, mirrored: true };
    prop_oneof![
        Just(FrameShape::plain(320, 180)),
        Just(FrameShape::plain(427, 241)),
        Just(FrameShape { width: 270, height: 480, pixel_aspect: 1.25, orientation: turned }),
    ]
}

fn patches(painter: &mut Painter, state: &PanelState) -> (Vec<Patch>, Vec<PixelBox>) {
    painter.draw(state).iter().map(|drawn| (drawn.patch.clone(), drawn.dirty)).unzip()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_way_to_a_state_gives_the_same_pixels(states in prop::collection::vec(any_state(), 1..12), shape in shapes()) {
        let mut walked = Painter::new(&panel(), shape, Theme::Graphite).unwrap();
        let mut before: Option<Vec<Patch>> = None;
        for state in &states {
            let (now, dirty) = patches(&mut walked, state);
            for (i, (patch, dirty)) in now.iter().zip(&dirty).enumerate() {
                prop_assert_eq!(dirty.intersect(patch.place), *dirty, "what changed lies on the patch");
                prop_assert!(dirty.x % 2 == 0 && dirty.y % 2 == 0);
                match &before {
                    None => prop_assert_eq!(*dirty, patch.place, "at first everything is new"),
                    Some(before) => prop_assert!(covers(*dirty, &before[i], patch), "a pixel changed outside {:?}", dirty),
                }
            }
            before = Some(now);
        }
        let last = states.last().unwrap();
        let (fresh, _) = patches(&mut Painter::new(&panel(), shape, Theme::Graphite).unwrap(), last);
        prop_assert_eq!(before.unwrap(), fresh);
        let (_, dirty) = patches(&mut walked, last);
        prop_assert!(dirty.iter().all(|d| d.is_empty()), "the same state again changes nothing");
    }
}

/// Whether all pixels that differ lie in the box.
fn covers(dirty: PixelBox, a: &Patch, b: &Patch) -> bool {
    let width = a.place.width as usize;
    a.rgba.chunks(4).zip(b.rgba.chunks(4)).enumerate().filter(|(_, (p, q))| p != q).all(|(i, _)| {
        let (x, y) = (a.place.x + (i % width) as u32, a.place.y + (i / width) as u32);
        (dirty.x..dirty.right()).contains(&x) && (dirty.y..dirty.bottom()).contains(&y)
    })
}

#[test]
fn a_moving_hand_leaves_most_of_the_dial_alone() {
    let mut painter = Painter::new(&panel(), FrameShape::plain(1920, 1080), Theme::Graphite).unwrap();
    let at = |value| state(&[reading(value, State::Measured, 0.0)], Notice::Bare);
    patches(&mut painter, &at(57.6));
    // The same written value, the hand a little further.
    let (now, dirty) = patches(&mut painter, &at(58.2));
    let area = |b: PixelBox| f64::from(b.width) * f64::from(b.height);
    assert!(area(dirty[0]) > 0.0 && area(dirty[0]) < 0.2 * area(now[0].place), "{:?}", dirty[0]);
    assert!(dirty[1..].iter().all(|d| d.is_empty()));
    let (_, dirty) = patches(&mut painter, &at(58.2001));
    assert!(dirty[0].is_empty(), "less than can be seen");
}

#[test]
fn patches_have_a_clear_margin_on_even_places_at_every_size() {
    let sizes = [(320, 180), (426, 240), (640, 360), (854, 480), (1280, 720), (1920, 1080), (3840, 2160), (7680, 4320)];
    let readings =
        [reading(58.0, State::Held, 8.8), reading(166.0, State::Measured, 0.0), reading(27.9, State::Held, 0.6)];
    for (w, h) in sizes {
        let mut painter = Painter::new(&panel(), FrameShape::plain(w, h), Theme::Graphite).unwrap();
        for drawn in painter.draw(&state(&readings, Notice::Plate)) {
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

#[test]
fn what_does_not_fit_is_refused_by_name() {
    let dial = |name, x| instrument(name, Face::Dial(airspeed()), DiscSize::Xl, Side::Left, x, 0.2);
    let build = |instruments| {
        Painter::new(&Panel { instruments, ..Panel::default() }, FrameShape::plain(1920, 1080), Theme::Graphite).err()
    };
    assert_eq!(build(vec![dial("a", 0.151), dial("b", 0.452)]), None, "halos may overlap");
    assert_eq!(
        build(vec![dial("a", 0.151), dial("b", 0.44)]),
        Some(DrawError::Overlap { first: "a".into(), second: "b".into() })
    );
    assert_eq!(
        build(vec![dial("a", 0.14)]),
        Some(DrawError::OutsideFrame { instrument: "a".into(), edge: "left", pixels: 11 })
    );
    let tile = instrument("volts", Face::Tile(volts()), DiscSize::M, Side::Centre, 0.0, 0.95);
    let notice = build(vec![tile]);
    assert_eq!(notice, Some(DrawError::Overlap { first: "volts".into(), second: "the notice".into() }));
    assert!(matches!(build(vec![dial("a", f64::NAN)]), Some(DrawError::OutsideFrame { .. })));
    let mut flat = airspeed();
    flat.scale.breakpoints.truncate(1);
    let flat = instrument("flat", Face::Dial(flat), DiscSize::Xl, Side::Left, 0.2, 0.2);
    assert_eq!(build(vec![flat]), Some(DrawError::Scale { instrument: "flat".into() }));
}

/// Width in degrees of the dark gap between the two half leaves, on the picture at .40 of the radius.
fn gap_between_leaves(rotor: f64, engine: f64) -> f64 {
    let face = instrument("rpm", Face::Tachometer(drawing::tachometer()), DiscSize::Xl, Side::Left, 0.2, 0.2);
    let panel = Panel { instruments: vec![face], ..Panel::default() };
    let mut painter = Painter::new(&panel, FrameShape::plain(1920, 1080), Theme::Graphite).unwrap();
    let hands = [rotor, engine].map(|v| reading(v, State::Measured, 0.0)).to_vec();
    let shown =
        PanelState { instruments: vec![InstrumentState { hands }], notice: Notice::Bare, ..PanelState::default() };
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
