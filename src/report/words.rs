//! Numbers in sentences.

/// A number with so many digits after the point, and a true minus sign.
pub(super) fn number(value: f64, decimals: u8) -> String {
    let text = format!("{value:.*}", usize::from(decimals));
    let is_zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    match text.strip_prefix('-') {
        Some(rest) if is_zero => rest.to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

/// How long something took: tenths below a minute, then minutes and seconds.
pub(super) fn seconds(seconds: f64) -> String {
    if seconds < 59.95 {
        return format!("{seconds:.1} s");
    }
    let whole = seconds.round() as u64;
    format!("{} min {} s", whole / 60, whole % 60)
}
