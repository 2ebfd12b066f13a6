//! Why frames are copied before they are written on: a decoder still needs them as references.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::*;
use jumpseat::render::render;
use std::path::Path;

/// Renders a clip of moving noise with four reference frames and none bidirectional, the kind on which the damage shows.
/// Returns the samples in the middle column of the picture, where no instrument stands, of source and film.
fn middle_of_source_and_film(folder: &Path, skip_copies: bool) -> (Vec<u8>, Vec<u8>, u64) {
    let recipe = "-f lavfi -i testsrc2=s=640x360:r=30:d=3 -vf noise=alls=40:allf=t,scroll=h=0.01 \
        -c:v libx264 -preset medium -refs 4 -bf 0 -pix_fmt yuv420p";
    let clip = make_clip(folder, "noise.mp4", recipe);
    let plan = plan(&clip, &dunlin_log(folder, "dunlin.csv", 10));
    let mut job = lossless_job(&clip, folder.join("film.mp4"));
    // One decoder thread: the damage does not depend on a race.
    job.decoder_threads = 1;
    job.skip_copies = skip_copies;
    let summary = render(&plan, &job, &mut Silent, &Default::default()).expect("film");
    let middle = |file: &Path| {
        let frames = raw_frames(file);
        let column =
            |frame: &[u8]| (60..200).flat_map(|y| frame[y * 640 + 280..y * 640 + 360].to_vec()).collect::<Vec<u8>>();
        frames.chunks(640 * 540).flat_map(column).collect::<Vec<u8>>()
    };
    (middle(&clip), middle(&job.output), summary.copies)
}

#[test]
fn frames_that_the_decoder_holds_are_copied() {
    let folder = tempfile::tempdir().expect("folder");
    let (source, film, copies) = middle_of_source_and_film(folder.path(), false);
    assert!(copies >= 45, "only {copies} of 90 frames were held by the decoder: this clip proves nothing");
    assert!(source == film, "samples beside the instruments changed");
}

/// The same comparison without the copies must fail; if it ever passes, the test above proves nothing.
#[test]
fn without_the_copies_the_damage_shows() {
    let folder = tempfile::tempdir().expect("folder");
    let (source, film, copies) = middle_of_source_and_film(folder.path(), true);
    assert_eq!(copies, 0);
    assert!(source != film, "writing into the decoder's own frames did no harm here");
}
