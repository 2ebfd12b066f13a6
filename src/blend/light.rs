//! Drawn colours in films of high dynamic range.
//!
//! A drawn white is graphics white: 203 cd/m2 (ITU-R BT.2408: 58 % of a PQ signal, 75 % of an HLG one), all else in proportion to
//! its light. Primaries of BT.709 become those of BT.2020.

use super::weights::Pixel;
use crate::pixel::Light;

/// Light of a drawn white, in cd/m2 (ITU-R BT.2408, BT.2100-3 note 10a).
const GRAPHICS_WHITE: f64 = 203.0;

/// Peak of the display for which HLG's rendering is reckoned, in cd/m2, and its system gamma (ITU-R BT.2100, table 5).
const HLG_PEAK: f64 = 1000.0;
const HLG_GAMMA: f64 = 1.2;

/// Linear light of BT.709 primaries in BT.2020 ones (ITU-R BT.2087-0).
const TO_BT2020: [[f64; 3]; 3] = [[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]];

/// A premultiplied drawn pixel with the film's R'G'B' codes in place of the drawn ones.
pub(super) fn film_codes(pixel: Pixel, light: Light) -> Pixel {
    let [.., a] = pixel;
    if light == Light::Ordinary || a == 0.0 {
        return pixel;
    }
    let linear = [0, 1, 2].map(|i| srgb_light(f64::from(pixel[i] / a)));
    let wide = TO_BT2020.map(|row| row.iter().zip(linear).map(|(k, c)| k * c).sum::<f64>());
    let shown = wide.map(|c| GRAPHICS_WHITE * c);
    let signal = match light {
        Light::Ordinary => wide,
        Light::Pq => shown.map(pq_signal),
        Light::Hlg => hlg_scene(shown).map(hlg_signal),
    };
    let [r, g, b] = signal.map(|s| s as f32 * a);
    [r, g, b, a]
}

/// Linear light, 0 to 1, of an sRGB code, 0 to 1 (IEC 61966-2-1).
pub fn srgb_light(code: f64) -> f64 {
    if code <= 0.04045 { code / 12.92 } else { ((code + 0.055) / 1.055).powf(2.4) }
}

/// The PQ signal, 0 to 1, of light in cd/m2 (SMPTE ST 2084; ITU-R BT.2100, table 4).
pub fn pq_signal(light: f64) -> f64 {
    let (m1, m2) = (2610.0 / 16384.0, 128.0 * 2523.0 / 4096.0);
    let (c1, c2, c3) = (3424.0 / 4096.0, 32.0 * 2413.0 / 4096.0, 32.0 * 2392.0 / 4096.0);
    let y = (light / 10000.0).max(0.0).powf(m1);
    ((c1 + c2 * y) / (1.0 + c3 * y)).powf(m2)
}

/// The HLG signal, 0 to 1, of scene light, 0 to 1 (ITU-R BT.2100, table 5).
pub fn hlg_signal(scene: f64) -> f64 {
    let (a, b, c) = (0.178_832_77, 0.284_668_92, 0.559_910_73);
    if scene <= 1.0 / 12.0 { (3.0 * scene.max(0.0)).sqrt() } else { a * (12.0 * scene - b).ln() + c }
}

/// Scene light, 0 to 1, that an HLG display shows as this light in cd/m2: its rendering backwards (ITU-R BT.2100, table 5).
fn hlg_scene(shown: [f64; 3]) -> [f64; 3] {
    let relative = shown.map(|c| c / HLG_PEAK);
    let luminance = 0.2627 * relative[0] + 0.6780 * relative[1] + 0.0593 * relative[2];
    let factor = if luminance > 0.0 { luminance.powf((1.0 - HLG_GAMMA) / HLG_GAMMA) } else { 0.0 };
    relative.map(|c| c * factor)
}
