//! The codecs that films are written in, and what each encoder wants to be told.

use super::ff;
use super::format::{self, PixelFormat};
use super::light::LightData;
use super::{Container, FieldOrder, Pass, Rate, VideoError};
use ffmpeg_next::ffi;
use std::ffi::CStr;
use std::path::Path;

/// A codec of pictures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Codec {
    /// H.264, by x264.
    H264,
    /// H.265, by x265.
    Hevc,
    /// AV1, by SVT-AV1.
    Av1,
    /// VP9, by libvpx.
    Vp9,
    /// Apple ProRes, for editing.
    ProRes,
    /// FFV1 (RFC 9043), which loses nothing.
    Ffv1,
}

/// How long the encoder may think.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Speed {
    /// Largest file.
    Fastest,
    /// What suits most films.
    #[default]
    Fast,
    /// Smaller.
    Balanced,
    /// Smallest file.
    Thorough,
}

impl Codec {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::H264, Self::Hevc, Self::Av1, Self::Vp9, Self::ProRes, Self::Ffv1];

    /// Its name on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::H264 => "h264",
            Self::Hevc => "hevc",
            Self::Av1 => "av1",
            Self::Vp9 => "vp9",
            Self::ProRes => "prores",
            Self::Ffv1 => "ffv1",
        }
    }

    /// What a container's films are usually written in.
    pub const fn of(container: Container) -> Self {
        match container {
            Container::WebM => Self::Vp9,
            _ => Self::H264,
        }
    }

    /// The encoder's name in the library.
    pub(super) const fn encoder(self) -> &'static CStr {
        match self {
            Self::H264 => c"libx264",
            Self::Hevc => c"libx265",
            Self::Av1 => c"libsvtav1",
            Self::Vp9 => c"libvpx-vp9",
            Self::ProRes => c"prores_ks",
            Self::Ffv1 => c"ffv1",
        }
    }

    pub(super) const fn id(self) -> ffi::AVCodecID {
        match self {
            Self::H264 => ffi::AVCodecID::AV_CODEC_ID_H264,
            Self::Hevc => ffi::AVCodecID::AV_CODEC_ID_HEVC,
            Self::Av1 => ffi::AVCodecID::AV_CODEC_ID_AV1,
            Self::Vp9 => ffi::AVCodecID::AV_CODEC_ID_VP9,
            Self::ProRes => ffi::AVCodecID::AV_CODEC_ID_PRORES,
            Self::Ffv1 => ffi::AVCodecID::AV_CODEC_ID_FFV1,
        }
    }

    /// The constant rate factor used where none is asked for, and the worst; none for a codec that has no such factor.
    /// The defaults look alike (common practice, no source).
    pub const fn crf(self) -> Option<(u8, u8)> {
        match self {
            Self::H264 => Some((20, 51)),
            Self::Hevc => Some((22, 51)),
            Self::Av1 => Some((28, 63)),
            Self::Vp9 => Some((30, 63)),
            Self::ProRes | Self::Ffv1 => None,
        }
    }

    /// Whether a film in it can say that its codes are full range; without that it is limited.
    pub(super) const fn says_range(self) -> bool {
        !matches!(self, Self::ProRes)
    }

    /// Whether the encoder flags pictures that are made of two fields.
    pub(super) const fn keeps_fields(self) -> bool {
        matches!(self, Self::H264 | Self::ProRes | Self::Ffv1)
    }

    /// Whether the encoder keeps odd sides of pictures whose chroma is sampled by twos; the others drop a column or a row.
    pub(super) const fn keeps_odd_sides(self) -> bool {
        matches!(self, Self::Vp9 | Self::Ffv1)
    }

    /// The encoder's options by its own names. `crf` 0 keeps every bit.
    pub(super) fn options(
        self,
        crf: u8,
        speed: Speed,
        threads: usize,
        fields: Option<FieldOrder>,
        light: &LightData,
    ) -> Vec<(&'static CStr, String)> {
        let step = speed as usize;
        let preset = ["superfast", "veryfast", "medium", "slow"][step];
        let mut options: Vec<(&CStr, String)> = match self {
            // A rate factor of 0 keeps every bit in 8-bit pictures only.
            Self::H264 if crf == 0 => vec![(c"qp", "0".into()), (c"preset", preset.into())],
            Self::H264 => vec![(c"crf", crf.to_string()), (c"preset", preset.into())],
            Self::Hevc => {
                // Pieces of a film are joined between closed groups of pictures.
                let mut own = "log-level=error:open-gop=0".to_owned();
                if crf == 0 {
                    own += ":lossless=1";
                }
                if threads > 0 {
                    own += &format!(":pools={threads}:frame-threads={}", threads.min(16));
                }
                let display = light.display_in_steps().map(|display| format!(":hdr10=1:master-display={display}"));
                let levels = light.levels_in_text().map(|levels| format!(":max-cll={levels}"));
                own.extend(display.into_iter().chain(levels));
                vec![(c"crf", crf.to_string()), (c"preset", preset.into()), (c"x265-params", own)]
            }
            Self::Av1 => {
                let display = light.display_in_numbers().map(|display| format!("mastering-display={display}"));
                let levels = light.levels_in_text().map(|levels| format!("content-light={levels}"));
                let own: Vec<String> = display.into_iter().chain(levels).collect();
                vec![
                    (c"crf", crf.to_string()),
                    (c"preset", ["12", "10", "8", "5"][step].into()),
                    (c"svtav1-params", own.join(":")),
                ]
            }
            Self::Vp9 => {
                let mut options = vec![
                    (c"crf", crf.to_string()),
                    (c"b", "0".into()),
                    (c"row-mt", "1".into()),
                    (c"deadline", (if speed == Speed::Fastest { "realtime" } else { "good" }).into()),
                    (c"cpu-used", ["8", "5", "2", "1"][step].into()),
                ];
                if crf == 0 {
                    options.push((c"lossless", "1".into()));
                }
                options
            }
            Self::ProRes => vec![(c"vendor", "apl0".into())],
            Self::Ffv1 => vec![(c"level", "3".into()), (c"g", "1".into()), (c"slicecrc", "1".into())],
        };
        if self == Self::H264 {
            let display = light.display_in_steps().map(|display| format!("mastering-display={display}"));
            let levels = light.levels_in_text().map(|levels| format!("cll={levels}"));
            let order = fields.map(|order| if order == FieldOrder::TopFirst { "tff=1" } else { "bff=1" }.to_owned());
            let own: Vec<String> = display.into_iter().chain(levels).chain(order).collect();
            if !own.is_empty() {
                options.push((c"x264-params", own.join(":")));
            }
        }
        if self != Self::Hevc {
            options.push((c"threads", threads.to_string()));
        }
        if fields.is_some() && self != Self::Ffv1 {
            options.push((c"flags", "+ildct+ilme".into()));
        }
        options
    }

    /// Whether a first pass leaves what a second one learns from. SVT-AV1 is not asked for it by FFmpeg 5.1.
    pub const fn learns_by_passes(self) -> bool {
        matches!(self, Self::H264 | Self::Hevc | Self::Vp9)
    }

    /// Whether what passes learn goes through the library, and not through a file of the encoder's own; a first pass then makes
    /// no packets.
    pub(super) const fn hands_over_statistics(self) -> bool {
        matches!(self, Self::Vp9)
    }

    /// Refuses a rate where there is none to be chosen.
    ///
    /// # Errors
    /// In words, with what to take instead.
    pub fn check_rate(self, rate: &Rate) -> Result<(), String> {
        match (self, &rate.pass) {
            (Self::ProRes | Self::Ffv1, _) => {
                Err(format!("{} has no rate to be chosen; take --codec h264, hevc, av1 or vp9", self.name()))
            }
            (Self::Hevc, Some(Pass::First(stats) | Pass::Second(stats))) if stats.to_string_lossy().contains(':') => {
                Err("the folder's name holds a colon, which the encoder cannot read; write into another".into())
            }
            _ => Ok(()),
        }
    }

    /// Turns options for a quality into those for a rate.
    pub(super) fn aim_at(self, rate: &Rate, options: &mut Vec<(&'static CStr, String)>) {
        options.retain(|(key, _)| *key != c"crf" && *key != c"b");
        options.push((c"b", rate.bits.to_string()));
        let (number, stats) = match &rate.pass {
            None => return,
            Some(Pass::First(stats)) => (1, stats.to_string_lossy()),
            Some(Pass::Second(stats)) => (2, stats.to_string_lossy()),
        };
        if self == Self::Hevc {
            if let Some((_, own)) = options.iter_mut().find(|(key, _)| *key == c"x265-params") {
                *own += &format!(":pass={number}:stats={stats}");
            }
            return;
        }
        if self.hands_over_statistics() {
            // In its hurry it would neither leave nor read any.
            let deadline = options.iter_mut().find(|(key, _)| *key == c"deadline");
            deadline.into_iter().for_each(|(_, value)| *value = "good".into());
        } else {
            options.push((c"stats", stats.into_owned()));
        }
        let flag = format!("+pass{number}");
        match options.iter_mut().find(|(key, _)| *key == c"flags") {
            Some((_, flags)) => *flags += &flag,
            None => options.push((c"flags", flag)),
        }
    }

    /// The format in which the encoder takes pictures, without losing anything; the error says in words why there is none.
    pub(super) fn takes(self, given: PixelFormat) -> Result<i32, String> {
        let formats = self.formats();
        if formats.contains(&given.id) {
            return Ok(given.id);
        }
        let plain = given.without_range();
        if formats.contains(&plain) {
            return Ok(plain);
        }
        let list: Vec<ffi::AVPixelFormat> = formats.iter().map(|&id| pixel_format(id)).collect();
        let loses = ffi::FF_LOSS_RESOLUTION | ffi::FF_LOSS_DEPTH | ffi::FF_LOSS_COLORSPACE | ffi::FF_LOSS_CHROMA;
        let best = list.iter().copied().find(|&to| {
            // SAFETY: pure arithmetic on the library's own numbers.
            unsafe { ffi::av_get_pix_fmt_loss(to, pixel_format(plain), 0) & loses == 0 }
        });
        best.map(|format| format as i32).ok_or_else(|| {
            let keep = Self::ALL.iter().filter(|other| **other != self && other.takes_somehow(given));
            let keep: Vec<_> = keep.map(|codec| format!("--codec {}", codec.name())).collect();
            format!("{} cannot hold pictures in {}; take {}", self.name(), format::name(given.id), keep.join(" or "))
        })
    }

    fn takes_somehow(self, given: PixelFormat) -> bool {
        let formats = self.formats();
        formats.contains(&given.id) || formats.contains(&given.without_range())
    }

    /// The formats that the encoder takes, in its own order.
    fn formats(self) -> Vec<i32> {
        let mut formats = Vec::new();
        // SAFETY: the encoder found is static, and its list of formats ends with -1.
        unsafe {
            let encoder = ffi::avcodec_find_encoder_by_name(self.encoder().as_ptr());
            let mut at = encoder.as_ref().map_or(std::ptr::null(), |encoder| encoder.pix_fmts).cast::<i32>();
            while !at.is_null() && *at >= 0 {
                formats.push(*at);
                at = at.add(1);
            }
        }
        formats
    }

    /// Refuses a container that cannot hold it.
    pub(super) fn check_container(self, named: &Path, container: Container) -> Result<(), VideoError> {
        if super::mux::holds(container, self.id()) {
            return Ok(());
        }
        let others = [Container::Mp4, Container::Mov, Container::Mkv, Container::WebM];
        let cure = others.into_iter().filter(|&c| super::mux::holds(c, self.id())).map(|c| c.ending());
        Err(VideoError::CodecInContainer {
            file: named.to_owned(),
            container: container.name(),
            codec: self.name(),
            cure: cure.collect::<Vec<_>>().join(" or "),
        })
    }
}

/// A number of the library's as its own type.
fn pixel_format(id: i32) -> ffi::AVPixelFormat {
    // SAFETY: every number here came out of the library.
    unsafe { std::mem::transmute::<i32, ffi::AVPixelFormat>(id) }
}

/// The library's name of the encoder in words for errors.
pub(super) fn encoder_name(codec: Codec) -> String {
    ff::name(codec.encoder().as_ptr())
}
