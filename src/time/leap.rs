//! Leap seconds: the days that had an 86 401st second.

/// Unix times of the midnights (UTC) right after an inserted second.
///
/// Source: IERS `Leap_Second.dat`, through Bulletin C 72 (July 2026).
const MIDNIGHTS: [i64; 27] = [
    78_796_800,
    94_694_400,
    126_230_400,
    157_766_400,
    189_302_400,
    220_924_800,
    252_460_800,
    283_996_800,
    315_532_800,
    362_793_600,
    394_329_600,
    425_865_600,
    489_024_000,
    567_993_600,
    631_152_000,
    662_688_000,
    709_948_800,
    741_484_800,
    773_020_800,
    820_454_400,
    867_715_200,
    915_148_800,
    1_136_073_600,
    1_230_768_000,
    1_341_100_800,
    1_435_708_800,
    1_483_228_800,
];

/// Whether a leap second was inserted right before this Unix time, so that a stamp `23:59:60` may stand for it.
pub fn follows_leap_second(unix_s: i64) -> bool {
    MIDNIGHTS.binary_search(&unix_s).is_ok()
}

/// Unix time of the epoch of GPS, 1980-01-06T00:00:00Z (IS-GPS-200).
const GPS_EPOCH: i64 = 315_964_800;

/// How many seconds GPS time is ahead of UTC, at a number of seconds since the epoch of GPS; in the leap second itself the
/// number before it. No second is assumed after the last one that is known.
pub fn gps_minus_utc(gps_s: i64) -> i64 {
    let since = MIDNIGHTS.iter().filter(|midnight| **midnight > GPS_EPOCH);
    // The n-th midnight after the epoch comes n seconds later to those who count leap seconds.
    since.zip(1..).take_while(|(midnight, n)| gps_s >= **midnight - GPS_EPOCH + n).count() as i64
}

/// Unix nanoseconds of nanoseconds since the epoch of GPS. A leap second reads as the second after it, as in Unix time.
pub fn unix_ns_of_gps(gps_ns: i64) -> i64 {
    const SECOND: i64 = 1_000_000_000;
    gps_ns + (GPS_EPOCH - gps_minus_utc(gps_ns.div_euclid(SECOND))) * SECOND
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_days() {
        assert!(follows_leap_second(662_688_000), "1990-12-31T23:59:60Z, RFC 3339 section 5.8");
        assert!(follows_leap_second(1_483_228_800), "2016-12-31T23:59:60Z, the latest so far");
        assert!(!follows_leap_second(1_781_568_000), "2026-06-15 had none");
        assert!(MIDNIGHTS.iter().all(|m| m % 86_400 == 0));
    }
}
