//! The dates of a clip, parsed.

use crate::clock::{Stamps, timestamps};
use crate::video::Clip;

/// What a clip's own dates say. What only the owner knows is left open.
pub fn stamps(clip: &Clip) -> Stamps {
    let modified = std::fs::metadata(&clip.file).and_then(|m| m.modified()).ok();
    Stamps {
        created: clip.created.as_deref().and_then(|text| text.parse().ok()),
        zoned: clip.zoned.as_deref().and_then(timestamps::zoned),
        timecode: clip
            .timecode
            .as_deref()
            .and_then(|text| timestamps::timecode_of(text, clip.video.frame_rate.as_f64())),
        name: clip.file.file_stem().and_then(|name| timestamps::date_in_name(&name.to_string_lossy())),
        modified: modified.and_then(|at| jiff::Timestamp::try_from(at).ok()),
        duration_s: clip.duration_s,
        utc_offset: None,
        at_end: None,
    }
}
