//! The only room that knows FFmpeg: what a clip holds, its frames, and the film that is written from them.
//!
//! Every `unsafe` block of the crate stands here, each with its reason. Frames leave as [`crate::pixel::PlanesMut`], times
//! as ticks in a stated base; no other room sees a type of the codec library.

#![allow(unsafe_code)]

mod codec;
mod colour;
mod container;
mod count;
mod cut_off;
mod damage;
mod deinterlace;
mod encode;
mod error;
mod ff;
mod format;
mod frame;
mod interleave;
mod joined;
mod jumps;
mod layer;
mod light;
mod listen;
mod make;
mod messages;
mod mux;
mod numbering;
mod open;
mod origin;
mod picture;
mod pieces;
mod probe;
mod read;
mod recode;
mod reshape;
mod sound;
mod transcode;
mod unpack;
mod write;

pub use codec::{Codec, Speed};
pub use container::Container;
pub use count::{FrameCount, count_frames, frame_spans, frame_ticks, frame_times, stored_frames};
pub use cut_off::CutOff;
pub use encode::{EncodeSettings, Pass, Rate};
pub use error::VideoError;
pub use frame::{FieldOrder, Frame, FramePool};
pub use joined::{follows, join};
pub use layer::{LayerCodec, LayerFrames, LayerSettings, LayerWriter};
pub use listen::{listen, listen_to_file};
pub use make::{Made, Maker};
pub use messages::take_findings;
pub use mux::Packet;
pub use origin::Origin;
pub use picture::Picture;
pub use pieces::Piece;
pub use probe::{AudioTrack, Clip, SubtitleTrack, VideoTrack, probe, probe_to_read};
pub use read::{Item, Reader};
pub use reshape::{Crop, Reshape, Scale};
pub use transcode::AAC_BITS;
pub use write::{Chapter, Excerpt, Target, Writer};

/// Prepares the library once for the process: its messages go to [`take_findings`] instead of the terminal, and a write
/// beyond the file-size limit becomes an ordinary error instead of a signal that kills the process.
pub fn init() {
    static ONCE: std::sync::Once = std::sync::Once::new();
    ONCE.call_once(|| {
        messages::install();
        // Without this the library's own errors have no words.
        ffmpeg_next::util::error::register_all();
        // SAFETY: SIG_IGN is a valid disposition, and nothing else in this process handles SIGXFSZ.
        unsafe { libc::signal(libc::SIGXFSZ, libc::SIG_IGN) };
        // SAFETY: both strings end with NUL. One of the encoders writes to the terminal unless told to keep to errors; this
        // happens once, before any encoder's thread can read the environment.
        unsafe { libc::setenv(c"SVT_LOG".as_ptr(), c"1".as_ptr(), 0) };
    });
}
