//! Drawing, converting and blending a frame takes no memory of a picture's size once a film is under way: every allocation is
//! counted by an allocator that this test program runs on alone.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]
#![allow(unsafe_code, reason = "an allocator cannot be written without; it hands everything on to the system's")]

mod drawing;

use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::Relaxed};

use drawing::film::{COLOUR, Frame};
use drawing::kinds::{Kind, NOW_S, WIDE, every_kind, whole_panel};
use drawing::{lamps_state, reading};
use jumpseat::blend::Film;
use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::Panel;
use jumpseat::pixel::FrameShape;
use jumpseat::readout::{AlertShown, CaptionOf, CaptionWords, LampShown, Notice, PanelState};
use jumpseat::signal::State;

/// No block may be larger than this. Half of the pictures here are larger (asserted); what is left are masks, a byte a pixel:
/// the largest is the sky of an attitude.
const LARGEST_BLOCK: usize = 72 * 1024;
/// All blocks of a frame together, in bytes: twenty instruments that all move, 1.8 MB measured. One picture of each would be
/// 4.1 MB more.
const OF_A_FRAME: usize = 2_500_000;

/// Counts while it is told to: allocations, their bytes, and the largest one.
struct Counting;

static ON: AtomicBool = AtomicBool::new(false);
static COUNT: AtomicUsize = AtomicUsize::new(0);
static BYTES: AtomicUsize = AtomicUsize::new(0);
static LARGEST: AtomicUsize = AtomicUsize::new(0);

fn count(size: usize) {
    if ON.load(Relaxed) {
        COUNT.fetch_add(1, Relaxed);
        BYTES.fetch_add(size, Relaxed);
        LARGEST.fetch_max(size, Relaxed);
    }
}

// SAFETY: every call goes to the system's allocator as it came; counting touches no memory but its own atomics.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count(layout.size());
        // SAFETY: the caller keeps the contract of `alloc`, which is the same.
        unsafe { System.alloc(layout) }
    }

    unsafe fn alloc_zeroed(&self, layout: Layout) -> *mut u8 {
        count(layout.size());
        // SAFETY: as above.
        unsafe { System.alloc_zeroed(layout) }
    }

    unsafe fn realloc(&self, at: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        count(size);
        // SAFETY: `at` came from the system's allocator, as every block here does.
        unsafe { System.realloc(at, layout, size) }
    }

    unsafe fn dealloc(&self, at: *mut u8, layout: Layout) {
        // SAFETY: as above.
        unsafe { System.dealloc(at, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// Every hand moves on every frame and every text is new; lamps, the caption and data states stay, as they do for most of a film.
fn state(kinds: &[Kind], caption: &Arc<CaptionWords>, frame: usize) -> PanelState {
    use LampShown::{Lit, Unlit};
    let wave = (frame as f64 * 0.37).sin();
    let instruments = kinds.iter().map(|kind| {
        let values = kind.values.iter().map(|v| reading(v * (1.0 + 0.25 * wave), State::Measured, 0.0));
        let mut shown =
            kind.shows(if kind.is_text() { vec![reading(0.0, State::Measured, 0.0)] } else { values.collect() });
        if kind.is_text() {
            shown.text = format!("14:03:{frame:02}");
        }
        shown
    });
    PanelState {
        instruments: instruments.collect(),
        lamps: lamps_state([Lit(0), Lit(2), Unlit, Lit(4)], [AlertShown::Off; 6]),
        caption: Some(Arc::clone(caption)),
        notice: Notice::Bare,
        film_s: Some(frame as f64 / 10.0),
        session_s: NOW_S + frame as f64 / 10.0,
        ..PanelState::default()
    }
}

#[test]
fn a_frame_takes_no_memory_of_a_pictures_size() {
    let (warm, counted) = (60, 30);
    let shape = FrameShape::plain(2 * WIDE.0, 2 * WIDE.1);
    let kinds = every_kind();
    let lines = vec!["Lamp ROTOR LOW: lit for 0.9 s".to_owned()];
    let caption = Arc::new(CaptionWords { of: CaptionOf::Warning, lines });
    let states: Vec<PanelState> = (0..warm + counted).map(|frame| state(&kinds, &caption, frame)).collect();
    let talking = Panel { captions: true, ..whole_panel() };
    let mut painter = Painter::in_form(&talking, shape, Theme::Graphite, Film::new(&COLOUR)).unwrap();
    let mut frame = Frame::busy(shape.width, shape.height, 0);
    for (i, state) in states.iter().enumerate() {
        ON.store(i >= warm, Relaxed);
        painter.show(state);
        painter.lay(&mut Film::new(&COLOUR).canvas(frame.planes()).unwrap());
        ON.store(false, Relaxed);
    }
    let [count, bytes] = [&COUNT, &BYTES].map(|total| total.load(Relaxed) / counted);
    let largest = LARGEST.load(Relaxed);
    let mut pictures: Vec<usize> = painter.places().map(|place| 4 * (place.width * place.height) as usize).collect();
    pictures.sort_unstable();
    let (median, all) = (pictures[pictures.len() / 2], pictures.iter().sum::<usize>());
    println!(
        "a frame: {count} allocations, {bytes} bytes, the largest {largest}; pictures: median {median}, all {all}"
    );
    assert!(median > LARGEST_BLOCK, "half of the pictures have less than {median} bytes");
    assert!(count > 0 && largest <= LARGEST_BLOCK, "a block of {largest} bytes");
    assert!(bytes <= OF_A_FRAME, "{bytes} bytes a frame");
}
