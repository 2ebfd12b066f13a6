//! A film that comes from no clip: every picture and every sample is made by the caller.

use super::colour::Tags;
use super::encode::{Encoder, Pictures};
use super::format::PixelFormat;
use super::light::LightData;
use super::mux::Muxer;
use super::sound::SoundEncoder;
use super::write::movie_timescale;
use super::{Container, EncodeSettings, Frame, VideoError};
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::path::Path;

/// The pictures of such a film: 8-bit 4:2:0, BT.709, limited range, square pixels.
#[derive(Debug, Clone)]
pub struct Made {
    /// Columns, even.
    pub width: u32,
    /// Rows, even.
    pub height: u32,
    /// Frames a second.
    pub frame_rate: Rational,
    /// How they are encoded.
    pub settings: EncodeSettings,
}

/// Bits a second of the sound: ample for one channel.
const SOUND_BITS: u32 = 112_000;

/// Writes an MP4 file with sound and, where asked for, pictures. One tick of a picture's time is one frame.
pub struct Maker {
    muxer: Muxer,
    film: Option<(Encoder, usize, ffi::AVRational)>,
    sound: SoundEncoder,
    sound_track: usize,
    sound_base: ffi::AVRational,
    frames: u64,
}

impl Maker {
    /// Creates the file at `path`; `named` is the name that the user gave. `created` is the creation time as an RFC 3339
    /// instant in whole seconds: all that the container can hold.
    pub fn create(
        path: &Path,
        named: &Path,
        pictures: Option<&Made>,
        sound_hz: u32,
        created: &str,
    ) -> Result<Self, VideoError> {
        let sound = SoundEncoder::open(named, sound_hz, 1, SOUND_BITS)?;
        let encoder = pictures.map(|made| open_encoder(named, made)).transpose()?;
        let mut muxer = Muxer::create(path, named, Container::Mp4)?;
        let mut film = None;
        let mut tick = Rational::new(1, 1);
        if let (Some(encoder), Some(made)) = (encoder, pictures) {
            tick = Rational::new(made.frame_rate.den, made.frame_rate.num);
            let track = muxer.add_encoded(encoder.context())?;
            film = Some((encoder, track, super::ff::av_rational(tick)));
        }
        let sound_track = muxer.add_encoded(sound.context())?;
        muxer.tag(c"creation_time", created)?;
        muxer.start(movie_timescale(tick, std::iter::once(sound_hz)), false)?;
        let sound_base = super::ff::av_rational(Rational::new(1, sound_hz as i32));
        Ok(Self { muxer, film, sound, sound_track, sound_base, frames: 0 })
    }

    /// Takes the next picture, its time in frames.
    pub fn frame(&mut self, frame: &mut Frame) -> Result<(), VideoError> {
        if let Some((encoder, ..)) = &mut self.film {
            encoder.send(Some(frame))?;
            self.frames += 1;
        }
        self.drain_film()
    }

    /// Takes the next samples, -1 to 1. Samples and pictures should come in step: the file is written as they come.
    pub fn sound(&mut self, samples: &[f32]) -> Result<(), VideoError> {
        let (muxer, track, base) = (&mut self.muxer, self.sound_track, self.sound_base);
        self.sound.send(&[samples], |packet| write(muxer, packet, track, base))
    }

    /// Ends the file. Returns the number of pictures in it.
    pub fn finish(mut self) -> Result<u64, VideoError> {
        if let Some((encoder, ..)) = &mut self.film {
            encoder.send(None)?;
        }
        self.drain_film()?;
        let (muxer, track, base) = (&mut self.muxer, self.sound_track, self.sound_base);
        self.sound.end(|packet| write(muxer, packet, track, base))?;
        self.muxer.finish()?;
        Ok(self.frames)
    }

    fn drain_film(&mut self) -> Result<(), VideoError> {
        let Some((encoder, track, base)) = &mut self.film else { return Ok(()) };
        while let Some(packet) = encoder.receive()? {
            write(&mut self.muxer, packet, *track, *base)?;
        }
        Ok(())
    }
}

/// Writes a packet whose times are in `base`.
fn write(
    muxer: &mut Muxer,
    mut packet: ffmpeg_next::Packet,
    track: usize,
    base: ffi::AVRational,
) -> Result<(), VideoError> {
    packet.rescale_ts(base, muxer.time_base(track));
    muxer.write(&mut packet, track)
}

fn open_encoder(named: &Path, made: &Made) -> Result<Encoder, VideoError> {
    let side = |n| i32::try_from(n).map_err(|_| VideoError::OutOfMemory);
    let pictures = Pictures {
        size: (side(made.width)?, side(made.height)?),
        format: PixelFormat::of(ffi::AVPixelFormat::AV_PIX_FMT_YUV420P as i32)
            .map_err(|what| VideoError::Asked { file: named.to_owned(), what })?,
        // ITU-T H.273: limited range, BT.709 throughout, chroma on the left column.
        tags: Tags { range: 1, primaries: 1, transfer: 1, matrix: 1, siting: 1 },
        full: false,
        pixel_aspect: Some(Rational::new(1, 1)),
        frame_rate: made.frame_rate,
        time_base: Rational::new(made.frame_rate.den, made.frame_rate.num),
        fields: None,
        light: LightData::default(),
    };
    Encoder::open(named, &pictures, &made.settings)
}
