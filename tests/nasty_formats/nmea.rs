//! Sentences of NMEA 0183, by clause.

use crate::case::{Case, text};

/// A sentence with its checksum.
fn sum(body: &str) -> String {
    format!("${body}*{:02X}\r\n", body.bytes().fold(0, |sum, b| sum ^ b))
}

fn rmc(talker: &str, time: &str, date: &str) -> String {
    sum(&format!("{talker}RMC,{time},A,4807.500,N,01131.250,E,022.4,084.4,{date},003.1,W"))
}

fn gga(talker: &str, time: &str, metres: &str) -> String {
    sum(&format!("{talker}GGA,{time},4807.500,N,01131.250,E,1,08,0.9,{metres},M,46.9,M,,"))
}

const AT: &str = "2012-03-23T12:35:19Z";

pub fn cases() -> Vec<Case> {
    let (a, b) = (rmc("GP", "123519", "230312"), rmc("GP", "123520", "230312"));
    let with = |clause, more: &[&str], counts, findings, channel| {
        let said: String = more.iter().map(|body| sum(body)).collect();
        text(clause, &format!("{a}{said}"), "", counts, findings, channel, AT)
    };
    let lat = ("Latitude", &[(0.0, 48.125), (1.0, 48.125)][..]);
    let mut all = vec![
        // The last digit of the sum, and a byte of the body.
        text("checksum", &format!("{a}{b}{}", b.replacen("*", "0*", 1)), "", [2, 1, 0], &[("checksum", 3)], lat, AT),
        text(
            "checksum",
            &format!("{}{a}{b}", sum("GPRNC,123519,A")),
            "",
            [2, 0, 1],
            &[("sentences_skipped", 0)],
            lat,
            AT,
        ),
        text("checksum", &format!("{a}{}{b}", a.replace("4807", "4808")), "", [2, 1, 0], &[("checksum", 2)], lat, AT),
        text(
            "checksum",
            &format!("{}\r\n", a.split('*').next().unwrap_or_default()),
            "",
            [1, 0, 0],
            &[("no_checksum", 1)],
            ("Latitude", &[(0.0, 48.125)]),
            AT,
        ),
    ];
    all.extend([
        text(
            "talkers mixed",
            &format!("{}{}", rmc("GN", "123519", "230312"), gga("GP", "123519", "545.4")),
            "",
            [2, 0, 0],
            &[],
            ("GNSS Altitude MSL", &[(0.0, 545.4)]),
            AT,
        ),
        text(
            "talkers mixed",
            &format!("{}{}{}", rmc("GL", "123519", "230312"), gga("GA", "123519", "545.4"), gga("GN", "123520", "546")),
            "",
            [3, 0, 0],
            &[],
            ("GNSS Altitude MSL", &[(0.0, 545.4), (1.0, 546.0)]),
            AT,
        ),
        // Two receivers that count the same seconds: the first of a kind counts, the other is told.
        text(
            "talkers mixed",
            &format!("{}{}", gga("GP", "123519", "545.4"), gga("GL", "123519", "547")),
            "",
            [1, 1, 0],
            &[("no_date", 0), ("stamp_repeated", 2)],
            ("GNSS Altitude MSL", &[(0.0, 545.4)]),
            "",
        ),
    ]);
    all.extend([
        text(
            "date from RMC only",
            &format!("{}{}{}", gga("GP", "123518", "1"), a, gga("GP", "123520", "2")),
            "",
            [3, 0, 0],
            &[],
            ("GNSS Altitude MSL", &[(0.0, 1.0), (2.0, 2.0)]),
            "2012-03-23T12:35:18Z",
        ),
        text("date from RMC only", &format!("{}{}", rmc("GP", "123519", ""), b), "", [2, 0, 0], &[], lat, AT),
        text(
            "date from ZDA only",
            &format!("{}{}", sum("GPZDA,123519,23,03,2012,00,00"), gga("GP", "123520", "2")),
            "",
            [2, 0, 0],
            &[],
            ("GNSS Altitude MSL", &[(1.0, 2.0)]),
            AT,
        ),
        text(
            "date from ZDA only",
            &format!("{}{}", gga("GP", "123519", "2"), sum("GPZDA,123521,23,03,2012,,")),
            "",
            [2, 0, 0],
            &[],
            ("GNSS Altitude MSL", &[(0.0, 2.0)]),
            AT,
        ),
        text(
            "date from ZDA only",
            &format!("{}{}", sum("GPZDA,123519,,,,00,00"), gga("GP", "123520", "2")),
            "",
            [2, 0, 0],
            &[("no_date", 0)],
            ("GNSS Altitude MSL", &[(1.0, 2.0)]),
            "",
        ),
        text(
            "two-digit years",
            &rmc("GP", "123519", "310599"),
            "",
            [1, 0, 0],
            &[("week_rollover", 0)],
            ("Latitude", &[(0.0, 48.125)]),
            "1999-05-31T12:35:19Z",
        ),
        text(
            "two-digit years",
            &rmc("GP", "123519", "290200"),
            "",
            [1, 0, 0],
            &[],
            ("Latitude", &[(0.0, 48.125)]),
            "2000-02-29T12:35:19Z",
        ),
        text(
            "two-digit years",
            &rmc("GP", "123519", "010179"),
            "",
            [1, 0, 0],
            &[],
            ("Latitude", &[(0.0, 48.125)]),
            "2079-01-01T12:35:19Z",
        ),
    ]);
    all.extend([
        text(
            "GLL",
            &format!("{a}{}", sum("GPGLL,4907.500,S,01131.250,W,123520,A,A")),
            "",
            [2, 0, 0],
            &[],
            ("Latitude", &[(0.0, 48.125), (1.0, -49.125)]),
            AT,
        ),
        text(
            "GLL",
            &format!("{a}{}", sum("GPGLL,4907.500,N,01131.250,W,123520,V,N")),
            "",
            [2, 0, 0],
            &[("void_fix", 2)],
            ("Latitude", &[(0.0, 48.125)]),
            AT,
        ),
        text(
            "GLL",
            &format!("{a}{}", sum("GPGLL,4907.500,N,01131.250,W")),
            "",
            [1, 1, 0],
            &[("bad_field", 2)],
            ("Latitude", &[(0.0, 48.125)]),
            AT,
        ),
        with("GSA", &["GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1"], [2, 0, 0], &[], ("PDOP", &[(0.0, 2.5)])),
        with("GSA", &["GPGSA,A,1,,,,,,,,,,,,,99.9,99.9,99.9"], [2, 0, 0], &[], ("PDOP", &[])),
        // Several systems of satellites, a sentence each: the first one's figures count.
        with(
            "GSA",
            &["GNGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1", "GNGSA,A,3,70,71,,,,,,,,,,,2.6,1.4,2.2"],
            [3, 0, 0],
            &[],
            ("HDOP", &[(0.0, 1.3)]),
        ),
        with("GSA", &["GPGSA,A,3,04,05,09,12,24,2.5,1.3,2.1"], [1, 1, 0], &[("bad_field", 2)], ("PDOP", &[])),
        with("VTG", &["GPVTG,054.7,T,034.4,M,005.5,N,010.2,K"], [2, 0, 0], &[], ("Track Magnetic", &[(0.0, 34.4)])),
        with("VTG", &["GPVTG,054.7,T,034.4,M,005.5,N,010.2,K,N"], [2, 0, 0], &[], ("Track Magnetic", &[])),
    ]);
    all.extend([
        with("HDG", &["HCHDG,98.3,0.0,E,12.6,W"], [2, 0, 0], &[], ("Heading Magnetic", &[(0.0, 98.3)])),
        with("HDG", &["HCHDG,98.3,2.0,E,12.6,W"], [2, 0, 0], &[], ("Heading Sensor", &[(0.0, 98.3)])),
        with("HDG", &["HCHDG,98.3,,,12.6,X"], [1, 1, 0], &[("bad_field", 2)], ("Heading Magnetic", &[])),
        with("HDT", &["GPHDT,274.07,T"], [2, 0, 0], &[], ("Heading True", &[(0.0, 274.07)])),
        with("HDT", &["GPHDT,374.07,T"], [1, 1, 0], &[("bad_field", 2)], ("Heading True", &[])),
        with("HDM", &["HCHDM,360.0,M"], [2, 0, 0], &[], ("Heading Magnetic", &[(0.0, 360.0)])),
        with("HDM", &["HCHDM,,M"], [2, 0, 0], &[], ("Heading Magnetic", &[])),
        with("VHW", &["IIVHW,271.0,T,268.0,M,12.5,N,23.15,K"], [2, 0, 0], &[], ("Water Speed", &[(0.0, 12.5)])),
        with("VHW", &["IIVHW,,T,268.0,M,,N,23.15,K"], [2, 0, 0], &[], ("Water Speed", &[(0.0, 12.5)])),
        with("VHW", &["IIVHW,271.0,T,268.0,M,fast,N,,K"], [1, 1, 0], &[("bad_field", 2)], ("Water Speed", &[])),
        with("MWV", &["WIMWV,214.8,R,18.52,K,A"], [2, 0, 0], &[], ("Wind Speed Relative", &[(0.0, 10.0)])),
        with("MWV", &["WIMWV,214.8,T,10,N,V"], [2, 0, 0], &[], ("Wind Speed Theoretical", &[])),
        with("MWV", &["WIMWV,214.8,R,10,Z,A"], [1, 1, 0], &[("bad_field", 2)], ("Wind Speed Relative", &[])),
        with(
            "XDR",
            &["IIXDR,C,19.52,C,TempAir"],
            [1, 0, 1],
            &[("sentences_skipped", 0)],
            ("Latitude", &[(0.0, 48.125)]),
        ),
        with(
            "XDR",
            &["YXXDR,A,-2.3,D,PTCH,A,1.1,D,ROLL", "YXXDR,P,1.02,B,Baro"],
            [1, 0, 2],
            &[("sentences_skipped", 0)],
            ("Latitude", &[(0.0, 48.125)]),
        ),
        with(
            "unknown sentences",
            &["GPGSV,1,1,00", "PABCD,1,2"],
            [1, 0, 2],
            &[("sentences_skipped", 0)],
            ("Latitude", &[(0.0, 48.125)]),
        ),
        text(
            "unknown sentences",
            &format!("{a}{}", sum("AIVDM,1,1,,A,14eG;o@034o8sd<L9i:a;WF>062D,0").replace('$', "!")),
            "",
            [1, 0, 1],
            &[("sentences_skipped", 0)],
            ("Latitude", &[(0.0, 48.125)]),
            AT,
        ),
    ]);
    all
}
