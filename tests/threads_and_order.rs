//! A picture depends on the moment it shows and on nothing else: not on threads, not on the frames drawn before it.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

use drawing::film::{COLOUR, Frame};
use drawing::kinds::{NOW_S, WIDE, every_kind, whole_panel};
use drawing::{lamps_state, reading};
use jumpseat::blend::Film;
use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{Panel, Severity};
use jumpseat::pixel::FrameShape;
use jumpseat::readout::{AlertShown, BannerLine, CaptionOf, CaptionWords, LampShown, Notice, PanelState};
use jumpseat::signal::State;
use rayon::prelude::*;

/// Enough for each kind to meet each of its states, and for most pairs of states to follow each other.
const STATES: usize = 220;

/// Numbers below one that are the same on every run.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        // Knuth's MMIX generator; its upper bits are good enough.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[(self.roll() * of.len() as f64) as usize]
    }
}

fn states() -> Vec<PanelState> {
    let mut dice = Dice(5);
    let kinds = every_kind();
    let data = [
        State::Measured,
        State::Measured,
        State::Measured,
        State::Derived,
        State::Held,
        State::Stale,
        State::Invalid,
        State::SaturatedLow,
        State::SaturatedHigh,
    ];
    let line = |severity, now, [what, beyond, time]: [&str; 3]| BannerLine {
        severity,
        now,
        what: what.into(),
        beyond: beyond.into(),
        time: time.into(),
    };
    let captions = [(CaptionOf::Warning, "Low rotor"), (CaptionOf::Note, "Watch the lamp.")]
        .map(|(of, line)| Arc::new(CaptionWords { of, lines: vec![line.to_owned()] }));
    let lines = [
        line(Severity::Warning, true, ["ROTOR 89 %", "below 95", "for 4 s"]),
        line(Severity::Caution, false, ["FUEL", "was below 4.0", "9 s old"]),
    ];
    let shown = |dice: &mut Dice| {
        use LampShown::{Disagree, Invalid, Lit, NotRecorded, Stale, Unlit};
        let group = [Unlit, NotRecorded, Lit(0), Disagree, Stale { age_s: 9.4 }, Invalid];
        let alert = [AlertShown::Off, AlertShown::On, AlertShown::Unknown, AlertShown::Lost { age_s: 3.0 }];
        let instruments = kinds.iter().map(|kind| {
            let (state, age_s) = (dice.one_of(&data), 12.0 * dice.roll());
            // About the usual value, now and then far beyond any scale.
            let far = dice.one_of(&[0.1, 0.1, 0.1, 0.3, 3.0]);
            let values = if kind.values.is_empty() { &[0.0][..] } else { &kind.values };
            let hands = values.iter().map(|v| reading(v + far * v * (2.0 * dice.roll() - 1.0), state, age_s));
            kind.shows(hands.collect())
        });
        PanelState {
            instruments: instruments.collect(),
            lamps: lamps_state(
                std::array::from_fn(|_| dice.one_of(&group)),
                std::array::from_fn(|_| dice.one_of(&alert)),
            ),
            banner: lines[..dice.one_of(&[0, 1, 2])].to_vec(),
            caption: dice.one_of(&[None, Some(0), Some(1)]).map(|i: usize| Arc::clone(&captions[i])),
            notice: dice.one_of(&[Notice::Plate, Notice::Bare]),
            film_s: Some(60.0 * dice.roll()),
            session_s: NOW_S + dice.one_of(&[0.0, 0.3, 7.0, -12.0]),
        }
    };
    (0..STATES).map(|_| shown(&mut dice)).collect()
}

/// What one film's frames are made with, as the renderer keeps it: redrawn and converted only where something changed.
struct Renderer {
    patches: Painter,
    on_film: Painter<Film>,
}

impl Renderer {
    fn new() -> Self {
        let (panel, shape) = (Panel { captions: true, ..whole_panel() }, FrameShape::plain(WIDE.0, WIDE.1));
        Self {
            patches: Painter::new(&panel, shape, Theme::Graphite).unwrap(),
            on_film: Painter::in_form(&panel, shape, Theme::Graphite, Film::new(&COLOUR)).unwrap(),
        }
    }

    /// Two hashes of a moment: of the patches, and of the frame that they lie on.
    fn frame(&mut self, state: &PanelState, ground: &Frame) -> [u64; 2] {
        let mut frame = ground.clone();
        let mut patches = DefaultHasher::new();
        self.patches.draw(state).iter().for_each(|one| one.patch.rgba.hash(&mut patches));
        self.on_film.show(state);
        self.on_film.lay(&mut Film::new(&COLOUR).canvas(frame.planes()).unwrap());
        [patches.finish(), hash_of(frame.bytes())]
    }

    /// Hashes of frames that are painted together, a few at a time, the last time fewer.
    fn together(states: &[PanelState], ground: &Frame) -> Vec<u64> {
        let mut film = Self::new();
        let few = states.chunks(7).flat_map(|states| {
            let mut frames = vec![ground.clone(); states.len()];
            let canvas = |frame| Film::new(&COLOUR).canvas(Frame::planes(frame)).unwrap();
            film.on_film.paint(states, &mut frames.iter_mut().map(canvas).collect::<Vec<_>>());
            frames
        });
        few.map(|frame| hash_of(frame.bytes())).collect()
    }

    /// Frames in an order; their hashes by their own numbers.
    fn run(order: impl Iterator<Item = usize>, states: &[PanelState], ground: &Frame) -> Vec<[u64; 2]> {
        let mut film = Self::new();
        let mut hashes = vec![[0; 2]; states.len()];
        for i in order {
            hashes[i] = film.frame(&states[i], ground);
        }
        hashes
    }
}

fn hash_of(thing: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    thing.hash(&mut hasher);
    hasher.finish()
}

fn in_pool<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> T {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(work)
}

#[test]
fn any_order_and_any_threads_give_the_same_pixels() {
    let (states, ground) = (states(), Frame::busy(WIDE.0, WIDE.1, 0));
    let expected = in_pool(1, || Renderer::run(0..STATES, &states, &ground));
    let different: std::collections::HashSet<_> = expected.iter().collect();
    assert!(different.len() > STATES - 5, "the states are told apart: {}", different.len());

    let mut dice = Dice(11);
    let mut shuffled: Vec<usize> = (0..STATES).collect();
    (1..STATES).rev().for_each(|i| shuffled.swap(i, (dice.roll() * (i + 1) as f64) as usize));
    let runs = [
        ("on five threads", in_pool(5, || Renderer::run(0..STATES, &states, &ground))),
        ("backwards", in_pool(2, || Renderer::run((0..STATES).rev(), &states, &ground))),
        ("shuffled", in_pool(3, || Renderer::run(shuffled.into_iter(), &states, &ground))),
        // Each on a painter of its own, which has drawn nothing before, many at once.
        ("afresh", in_pool(4, || states.par_iter().map(|state| Renderer::new().frame(state, &ground)).collect())),
    ];
    let together = in_pool(2, || Renderer::together(&states, &ground));
    let differs: Vec<usize> = (0..STATES).filter(|&i| together[i] != expected[i][1]).collect();
    assert_eq!(differs, [0; 0], "frames of these states differ painted together");
    for (how, hashes) in runs {
        let differs = |part: usize| (0..STATES).filter(|&i| hashes[i][part] != expected[i][part]).collect::<Vec<_>>();
        assert_eq!(differs(0), [0; 0], "patches of these states differ {how}");
        assert_eq!(differs(1), [0; 0], "frames of these states differ {how}");
    }
}
