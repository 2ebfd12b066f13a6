//! Flight recorders' files, by clause.

use crate::case::{Case, text};

const AT: &str = "2026-06-15T11:01:35Z";

fn fix(time: &str, rest: &str) -> String {
    format!("B{time}5206343N00006198W{rest}\r\n")
}

pub fn cases() -> Vec<Case> {
    let (a, b) = (fix("110135", "A0058700558"), fix("110136", "A0058800559"));
    let file = |head: &str, body: &str| format!("AXXXABC\r\n{head}{body}");
    let dated = |rest: &str, body: &str| file(&format!("HFDTE150626\r\n{rest}"), body);
    let both = ("GNSS Altitude Ellipsoid", &[(0.0, 558.0), (1.0, 559.0)][..]);
    let pressure = ("Pressure Altitude 1013 hPa", &[(0.0, 587.0), (1.0, 588.0)][..]);
    let case =
        |clause, bytes: String, counts, findings, channel| text(clause, &bytes, "", counts, findings, channel, AT);
    vec![
        case(
            "B with I extensions",
            dated(
                "I023638FXA3941OAT\r\n",
                &format!("{}{}", fix("110135", "A0058700558035-12"), fix("110136", "A0058800559036-11")),
            ),
            [2, 0, 3],
            &[("records_skipped", 0)],
            ("Fix Accuracy", &[(0.0, 35.0), (1.0, 36.0)]),
        ),
        case(
            "B with I extensions",
            dated(
                "I023638FXA3941OAT\r\n",
                &format!("{}{}", fix("110135", "A0058700558035-12"), fix("110136", "A0058800559   -11")),
            ),
            [2, 0, 3],
            &[("records_skipped", 0)],
            ("Fix Accuracy", &[(0.0, 35.0)]),
        ),
        // A line shorter than the I record says, and an I record that cannot be.
        case(
            "B with I extensions",
            dated("I013638FXA\r\n", &format!("{}{b}", fix("110135", "A0058700558035"))),
            [1, 1, 3],
            &[("records_skipped", 0), ("bad_record", 5)],
            ("Fix Accuracy", &[(0.0, 35.0)]),
        ),
        case(
            "B with I extensions",
            dated("I024041OAT3638FXA\r\n", &format!("{a}{b}")),
            [2, 0, 3],
            &[("records_skipped", 0), ("bad_header", 3)],
            both,
        ),
        // Two more digits of the minutes: 06.343 and 0.00012 of them.
        case(
            "B with I extensions",
            dated("I023637LAD3839LOD\r\n", &fix("110135", "A00587005581200")),
            [1, 0, 3],
            &[("records_skipped", 0)],
            ("Latitude", &[(0.0, 52.0 + 6.343_12 / 60.0)]),
        ),
        case(
            "K",
            dated("J010810WDI\r\n", &format!("{a}K110135270\r\n{b}K110136275\r\n")),
            [4, 0, 3],
            &[("records_skipped", 0)],
            ("WDI digits", &[(0.0, 270.0), (1.0, 275.0)]),
        ),
        case(
            "K",
            dated("J010810WDI\r\n", &format!("{a}K1101x5270\r\n{b}")),
            [2, 1, 3],
            &[("records_skipped", 0), ("bad_record", 5)],
            both,
        ),
        case(
            "K",
            dated("J010810WDI\r\n", &format!("{a}K11013527\r\n{b}")),
            [2, 1, 3],
            &[("records_skipped", 0), ("bad_record", 5)],
            both,
        ),
        case(
            "H",
            file("HFDTEDATE: 150626,01\r\nHFALGALTGPS:GEO\r\n", &format!("{a}{b}")),
            [2, 0, 3],
            &[("records_skipped", 0)],
            ("GNSS Altitude Geoid", &[(0.0, 558.0), (1.0, 559.0)]),
        ),
        case(
            "H",
            file("HFDTE150626\r\nHFALGALTGPS:ELL\r\nHFPLTPILOTINCHARGE:\r\n", &format!("{a}{b}")),
            [2, 0, 4],
            &[("records_skipped", 0)],
            both,
        ),
        // A second date in mid file: the next day's flight.
        case(
            "H",
            dated("", &format!("{a}HFDTE160626\r\n{}", fix("110135", "A0058800559"))),
            [2, 0, 3],
            &[("records_skipped", 0)],
            ("GNSS Altitude Ellipsoid", &[(0.0, 558.0), (86_400.0, 559.0)]),
        ),
        text(
            "H",
            &file("HFDTE150626X\r\n", &format!("{a}{b}")),
            "",
            [2, 0, 2],
            &[("no_date", 0), ("records_skipped", 0), ("bad_header", 2)],
            both,
            "",
        ),
        text(
            "midnight",
            &dated("", &format!("{}{}", fix("235959", "A0058700558"), fix("000000", "A0058800559"))),
            "",
            [2, 0, 2],
            &[("records_skipped", 0), ("midnight", 4)],
            both,
            "2026-06-15T23:59:59Z",
        ),
        text(
            "midnight",
            &dated(
                "J010810WDI\r\n",
                &format!(
                    "{}K235959270\r\n{}K000000275\r\n",
                    fix("235959", "A0058700558"),
                    fix("000000", "A0058800559")
                ),
            ),
            "",
            [4, 0, 3],
            &[("records_skipped", 0), ("midnight", 6)],
            ("WDI digits", &[(0.0, 270.0), (1.0, 275.0)]),
            "2026-06-15T23:59:59Z",
        ),
        // Back by an hour is no midnight.
        text(
            "midnight",
            &dated(
                "",
                &format!(
                    "{}{}{}",
                    fix("120000", "A0058700558"),
                    fix("120001", "A0058800559"),
                    fix("110000", "A0058800559")
                ),
            ),
            "",
            [2, 1, 2],
            &[("records_skipped", 0), ("clock_back", 5)],
            both,
            "2026-06-15T12:00:00Z",
        ),
        case(
            "invalid fixes",
            dated("", &format!("{a}{}", fix("110136", "V0058800000"))),
            [2, 0, 2],
            &[("records_skipped", 0), ("void_fix", 4)],
            pressure,
        ),
        case(
            "invalid fixes",
            dated("", &format!("{a}{}", fix("110136", "V0058800000"))),
            [2, 0, 2],
            &[("records_skipped", 0), ("void_fix", 4)],
            ("Latitude", &[(0.0, 52.0 + 6.343 / 60.0)]),
        ),
        case(
            "invalid fixes",
            dated("", &format!("{a}{}", fix("110136", "X0058800000"))),
            [1, 1, 2],
            &[("records_skipped", 0), ("bad_record", 4)],
            ("Latitude", &[(0.0, 52.0 + 6.343 / 60.0)]),
        ),
        case(
            "invalid fixes",
            dated("", &format!("{a}{}", b.replace("5206343N", "9100000N"))),
            [1, 1, 2],
            &[("records_skipped", 0), ("bad_record", 4)],
            ("Latitude", &[(0.0, 52.0 + 6.343 / 60.0)]),
        ),
        case(
            "below sea level",
            dated("", &format!("{}{}", fix("110135", "A-005300012"), fix("110136", "A-0054-0009"))),
            [2, 0, 2],
            &[("records_skipped", 0)],
            ("Pressure Altitude 1013 hPa", &[(0.0, -53.0), (1.0, -54.0)]),
        ),
        case(
            "below sea level",
            dated("", &format!("{}{}", fix("110135", "A0000000012"), fix("110136", "A0000000013"))),
            [2, 0, 2],
            &[("no_pressure_sensor", 0), ("records_skipped", 0)],
            ("Pressure Altitude 1013 hPa", &[]),
        ),
    ]
}
