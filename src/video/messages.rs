//! The library's own messages: collected for the findings, never printed.

use crate::finding::{Finding, Severity};
use ffmpeg_next::ffi;
use std::collections::HashMap;
use std::ffi::CStr;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

/// Different messages kept between two calls of [`take_findings`]; a damaged clip can produce one a frame.
const MOST: usize = 50;

#[derive(Default)]
struct Collected {
    /// Message, severity, how often; in the order of their first coming.
    list: Vec<(String, Severity, u64)>,
    index: HashMap<String, usize>,
    /// Messages beyond [`MOST`].
    more: u64,
}

static COLLECTED: Mutex<Option<Collected>> = Mutex::new(None);

#[cfg(target_arch = "x86_64")]
type VaList = *mut ffi::__va_list_tag;
#[cfg(not(target_arch = "x86_64"))]
type VaList = ffi::va_list;

/// How often one decoder complained. Where frames are decoded side by side, whether a torn one is marked as such is a matter of
/// chance: it may be handed out before the thread that patches it has said so. Its complaints are always there.
#[derive(Default)]
pub(super) struct Complaints(Box<AtomicU64>);

impl Complaints {
    /// Counts what the decoder of this context and its threads complain of from now on.
    ///
    /// # Safety
    /// The context must not be open yet, and must be closed before this is dropped.
    pub(super) unsafe fn of(decoder: *mut ffi::AVCodecContext) -> Self {
        let complaints = Self::default();
        // SAFETY: by contract; the library leaves this field to its user, and copies it to the contexts of its threads.
        unsafe { (*decoder).opaque = (&raw const *complaints.0).cast_mut().cast() };
        complaints
    }

    /// The number since the last call.
    pub(super) fn take(&self) -> u64 {
        self.0.swap(0, Ordering::Relaxed)
    }
}

/// Counts a complaint with the decoder that it comes from, if that one is listened to.
///
/// # Safety
/// `context` must come from the library with a message of its.
unsafe fn count(context: *mut libc::c_void) {
    // SAFETY: by contract it is null or begins with a pointer to its class, which says what the rest is. Only a decoder that
    // `Complaints::of` was given has its user's field set, to a number that lives longer than it does.
    unsafe {
        if context.is_null() || *context.cast::<*const ffi::AVClass>() != ffi::avcodec_get_class() {
            return;
        }
        let counter = (*context.cast::<ffi::AVCodecContext>()).opaque.cast::<AtomicU64>();
        if let Some(counter) = counter.as_ref() {
            counter.fetch_add(1, Ordering::Relaxed);
        }
    }
}

/// Sends every message of the library to [`collect`].
pub(super) fn install() {
    // SAFETY: the callback has the signature that the library asks for, touches no thread-local state, and is never removed.
    unsafe { ffi::av_log_set_callback(Some(collect)) };
}

/// Called by the library from any thread.
unsafe extern "C" fn collect(
    context: *mut libc::c_void,
    level: libc::c_int,
    format: *const libc::c_char,
    args: VaList,
) {
    // Higher levels are chatter about settings and progress.
    if level > ffi::AV_LOG_WARNING {
        return;
    }
    let mut line = [0; 512];
    let mut prefix = 0;
    // SAFETY: all pointers come from the library for this very call; the buffer's length is passed with it, and the
    // library ends the text with a nul inside it.
    let text = unsafe {
        ffi::av_log_format_line2(context, level, format, args, line.as_mut_ptr(), line.len() as i32, &mut prefix);
        CStr::from_ptr(line.as_ptr())
    };
    let text = text.to_string_lossy().trim().to_owned();
    // Some messages come in several calls, the last of which ends the line.
    if !text.chars().any(char::is_alphanumeric) {
        return;
    }
    let severity = if level <= ffi::AV_LOG_ERROR { Severity::Warning } else { Severity::Note };
    if severity == Severity::Warning {
        // SAFETY: the context comes with this very message.
        unsafe { count(context) };
    }
    let Ok(mut guard) = COLLECTED.lock() else { return };
    let collected = guard.get_or_insert_default();
    // "packet 4 with DTS 3009" and "packet 8 with DTS 15009" are one complaint.
    let mut kind: String = text.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect();
    while kind.contains("00") {
        kind = kind.replace("00", "0");
    }
    if let Some(&i) = collected.index.get(&kind) {
        collected.list[i].2 += 1;
    } else if collected.list.len() < MOST {
        collected.index.insert(kind, collected.list.len());
        collected.list.push((text, severity, 1));
    } else {
        collected.more += 1;
    }
}

/// The messages since the last call, as findings; repeats are counted.
pub fn take_findings() -> Vec<Finding> {
    let collected = COLLECTED.lock().ok().and_then(|mut guard| guard.take()).unwrap_or_default();
    let mut findings: Vec<Finding> = collected
        .list
        .into_iter()
        .map(|(text, severity, times)| {
            let text = if times > 1 { format!("{text} ({times} of this kind)") } else { text };
            Finding::new(severity, "codec_message", format!("the codec library says: {text}"))
        })
        .collect();
    if collected.more > 0 {
        let text = format!("the codec library said {} more things of this kind", collected.more);
        findings.push(Finding::new(Severity::Note, "codec_message", text));
    }
    findings
}

/// The last complaint as one line for an error message; the rest stays for the findings.
pub(super) fn last_complaint() -> Option<String> {
    let guard = COLLECTED.lock().ok()?;
    let text = guard.as_ref()?.list.last()?.0.clone();
    // "[mov,mp4 @ 0x55d0] moov atom not found" -> "moov atom not found"
    Some(text.rsplit_once("] ").map_or(text.clone(), |(_, said)| said.to_owned()))
}
