//! NMEA 0183, GPX and IGC: real files against an independent count (`readers_oracle.py`), nasty files by clause, damage.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use jumpseat::recorder::{self, Options, Recording};
use jumpseat::signal::{Channel, Kind, Samples};
use proptest::prelude::*;
use std::io::Write;
use std::path::Path;

fn try_read(bytes: &[u8]) -> Result<Recording, recorder::RecorderError> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(bytes).unwrap();
    recorder::read(file.path(), &Options::default())
}

fn numbers<'a>(log: &'a Recording, name: &str) -> &'a [f64] {
    let channel = log.channels.iter().find(|c| c.name == name).unwrap_or_else(|| panic!("no {name}"));
    let Samples::Numbers(values) = &channel.samples else { panic!("{name} holds texts") };
    values
}

/// A sentence with its checksum.
fn sum(body: &str) -> String {
    format!("${body}*{:02X}\n", body.bytes().fold(0, |sum, b| sum ^ b))
}

fn rmc(time: &str, date: &str) -> String {
    sum(&format!("GPRMC,{time},A,4807.038,N,01131.000,E,022.4,084.4,{date},003.1,W"))
}

#[test]
fn real_files_agree_with_the_independent_count() {
    let oracle = std::fs::read_to_string("tests/readers_oracle.txt").unwrap();
    let mut lines = oracle.lines().peekable();
    let mut files = 0;
    while let Some(line) = lines.next() {
        let words: Vec<&str> = line.split_whitespace().collect();
        let count = |i: usize| words[i].parse::<usize>().unwrap();
        let mut ends = Vec::new();
        while lines.peek().is_some_and(|l| l.starts_with("  ")) {
            ends.push(lines.next().unwrap().split_whitespace().collect::<Vec<_>>());
        }
        let path = Path::new("tests/real/logs").join(words[0]).join(words[1]);
        let log = recorder::read(&path, &Options::default());
        files += 1;
        if words[1] == "track-with-extremes.gpx" {
            assert!(log.unwrap_err().to_string().contains("25 of 25 track points have no time"));
            continue;
        }
        let log = log.unwrap();
        let totals = (log.rows_read + log.rows_refused, log.rows_left_out);
        match words[0] {
            "nmea" => assert_eq!(totals, (count(2) + count(3) + count(5) + count(6), count(4) + count(7)), "{line}"),
            "gpx" => assert_eq!((totals, log.rows_read), ((count(2), count(4) + count(5)), count(3)), "{line}"),
            _ => assert_eq!(
                (log.rows_read, log.rows_refused, log.rows_left_out),
                (count(2) + count(5), count(3) + count(4), count(6)),
                "{line}"
            ),
        }
        let Some(first) = ends.first() else { continue };
        let at = if words[0] == "nmea" { 2 } else { 1 };
        // The phone's file has one more digit of the minutes (LAD, LOD) than the count looks at.
        let near = if words[1] == "phone_no_baro.igc" { 2e-5 } else { 1e-6 };
        for (i, end) in [(0, first), (usize::MAX, &ends[1])] {
            let value = |name| {
                let all = numbers(&log, name);
                all[i.min(all.len() - 1)]
            };
            let (lat, lon): (f64, f64) = (end[at].parse().unwrap(), end[at + 1].parse().unwrap());
            assert!(
                (value("Latitude") - lat).abs() < near && (value("Longitude") - lon).abs() < near,
                "{line} {end:?}"
            );
            if words[0] == "gpx" {
                assert_eq!(value("Elevation"), end[3].parse::<f64>().unwrap());
            }
            if words[0] == "igc" {
                let name = log.channels.iter().find(|c| c.name.starts_with("GNSS Altitude")).unwrap().name.clone();
                assert_eq!(value(&name), end[4].parse::<f64>().unwrap());
            }
        }
    }
    assert_eq!(files, 20);
}

#[test]
fn what_is_odd_in_the_real_files_is_named() {
    for (file, code, row) in [
        ("nmea/april6_2019.log", "bad_field", Some(15)),
        ("nmea/april6_2019.log", "week_rollover", None),
        ("nmea/gp-320fw-2019-04-07-coldboot.log", "week_rollover", None),
        ("nmea/gp-320fw-2019-04-07-coldboot.log", "clock_back", Some(38)),
        ("nmea/gp-320fw-2019-04-07-coldboot.log", "cut_sentence", Some(36)),
        ("nmea/mtk-3301.log", "date_before_fix", Some(24)),
        ("nmea/rgm3800.log", "date_before_fix", Some(20)),
        ("nmea/geos-1m.log", "date_before_fix", Some(10)),
        ("nmea/iTrek.log", "date_before_fix", Some(13)),
        ("nmea/iTrek.log", "bad_field", Some(15)),
        ("nmea/tn200.log", "never_fixed", None),
        ("nmea/tn200.log", "clock_jump", Some(66)),
        ("gpx/cerknicko-without-times.gpx", "point_without_time", Some(67)),
        ("gpx/gpx1.0_with_all_fields.gpx", "zone_missing", Some(85)),
        ("gpx/korita-zbevnica.gpx", "segment", Some(1823)),
        ("igc/bad-line.igc", "bad_record", Some(55)),
        ("igc/no_time_increment.igc", "stamp_repeated", Some(153)),
        ("igc/phone_no_baro.igc", "no_pressure_sensor", None),
    ] {
        let log = recorder::read(&Path::new("tests/real/logs").join(file), &Options::default()).unwrap();
        assert!(log.findings.iter().any(|f| (f.code, f.row) == (code, row)), "{file} {code}: {:?}", log.findings);
    }
}

const FIX: &str = "B1101355206343N00006198WA0058700558\r\n";

fn gpx(points: &str) -> String {
    format!(
        "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"x\">\n<trk><trkseg>\n{points}\n</trkseg></trk>\n</gpx>\n"
    )
}

fn point(time: &str) -> String {
    format!("<trkpt lat=\"1\" lon=\"2\"><time>{time}</time></trkpt>")
}

/// Clause, file, code and row that it must give.
#[test]
fn nasty_files() {
    let a = rmc("123519", "230312");
    let b = rmc("123520", "230312");
    let igc = |rest: &str| format!("AXXXABC\r\nHFDTE160701\r\n{rest}").into_bytes();
    let t = "2026-06-15T08:00:00Z";
    let cases: Vec<(&str, Vec<u8>, &str, Option<u64>)> = vec![
        ("checksum", format!("{a}{}", b.replace("*", "*9")).into(), "checksum", Some(2)),
        ("checksum", format!("{a}{b}{}", rmc("123521", "230312").replace("4807", "4907")).into(), "checksum", Some(3)),
        (
            "no checksum",
            b"$GPHDT,274.0,T\n$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230312,,\n".into(),
            "no_checksum",
            Some(1),
        ),
        ("no checksum", format!("{a}$GPHDT,27").into(), "cut_sentence", Some(2)),
        ("void", format!("{a}{}", sum("GPRMC,123520,V,4807.0,N,01131.0,E,,,230312,,")).into(), "void_fix", Some(2)),
        ("void", format!("{a}{}", sum("GPGGA,123520,4807.0,N,01131.0,E,0,00,,,M,,M,,")).into(), "void_fix", Some(2)),
        ("unknown", format!("{a}{}", sum("IIXDR,C,19.52,C,TempAir")).into(), "sentences_skipped", None),
        ("unknown", format!("{a}{}", sum("PABCD,1")).into(), "sentences_skipped", None),
        ("date", sum("GPGGA,123519,4807.0,N,01131.0,E,1,08,0.9,545.4,M,46.9,M,,").into(), "no_date", None),
        ("date", format!("{a}{}", rmc("123520", "310212")).into(), "bad_field", Some(2)),
        ("date", format!("{a}{}", sum("GPZDA,123520,31,12,9016,00,00")).into(), "bad_field", Some(2)),
        ("midnight", format!("{}{}", rmc("235959", "230312"), rmc("000000", "240312")).into(), "midnight", Some(2)),
        (
            "midnight",
            format!("{}{}", rmc("235959", "230312"), sum("GPGLL,4807.0,N,01131.0,E,000000,A,A")).into(),
            "midnight",
            Some(2),
        ),
        ("rollover", rmc("123519", "230394").into(), "week_rollover", None),
        ("rollover", format!("{}{}", rmc("000344", "070419"), rmc("000345", "220899")).into(), "week_rollover", None),
        ("wrong date", format!("{}{a}", sum("GPRMC,000000,V,,,,,,,060180,,")).into(), "date_before_fix", Some(1)),
        ("wrong date", format!("{}{a}{b}", sum("GPRMC,235900,V,,,,,,,230312,,")).into(), "date_before_fix", Some(1)),
        ("jump", format!("{a}{}", rmc("123520", "250312")).into(), "clock_jump", Some(2)),
        ("repeated", format!("{a}{a}{b}").into(), "stamp_repeated", Some(2)),
        ("repeated", format!("{a}{0}{0}", sum("GPHDT,274.0,T")).into(), "sentence_repeated", Some(3)),
        ("backward", format!("{b}{}{a}", rmc("123521", "230312")).into(), "clock_back", Some(3)),
        ("second 60", format!("{a}{}", rmc("235960", "230312")).into(), "second_60", Some(2)),
        ("second 60", format!("{a}{}", rmc("235960.5", "311216")).into(), "bad_field", Some(2)),
        (
            "garbage",
            [b"\x00\x01\xff\xfe".as_slice(), a.as_bytes(), b"\xb5\x62\x01\n", b.as_bytes()].concat(),
            "not_a_sentence",
            Some(1),
        ),
        ("garbage", format!("{a}noise{b}").into(), "not_a_sentence", Some(2)),
        (
            "range",
            format!("{a}{}", sum("GPGGA,123520,4860.000,N,01131.0,E,1,08,0.9,5,M,4,M,,")).into(),
            "bad_field",
            Some(2),
        ),
        (
            "range",
            format!("{a}{}", sum("GPGGA,123520,9000.001,N,01131.0,E,1,08,0.9,5,M,4,M,,")).into(),
            "bad_field",
            Some(2),
        ),
        ("no time", gpx(&format!("{}<trkpt lat=\"1\" lon=\"2\"/>", point(t))).into(), "point_without_time", Some(4)),
        ("no time", gpx(&format!("{}\n{}", point(t), point("yesterday"))).into(), "point_without_time", Some(5)),
        ("zone", gpx(&point("2026-06-15T08:00:00")).into(), "zone_missing", Some(4)),
        ("zone", gpx(&format!("{}\n{}", point(t), point("2026-06-15T08:00:01"))).into(), "zone_mixed", Some(5)),
        (
            "segment",
            gpx(&format!("{}\n</trkseg><trkseg>\n{}", point(t), point("2026-06-15T08:01:00Z"))).into(),
            "segment",
            Some(6),
        ),
        (
            "segment",
            gpx(&format!("{}</trkseg></trk><trk><trkseg>{}", point(t), point("2026-06-15T08:01:00Z"))).into(),
            "segment",
            Some(4),
        ),
        ("longitude", gpx(&format!("{}<trkpt lat=\"1\" lon=\"181\"/>", point(t))).into(), "bad_position", Some(4)),
        ("longitude", gpx(&point(t).replace("lon=\"2\"", "lon=\"180\"")).into(), "longitude_180", Some(4)),
        ("latitude", gpx(&format!("{}<trkpt lat=\"x\" lon=\"1\"/>", point(t))).into(), "bad_position", Some(4)),
        (
            "plans",
            gpx(&format!("{}</trkseg></trk><wpt lat=\"1\" lon=\"2\"/><trk><trkseg>", point(t))).into(),
            "plans_skipped",
            None,
        ),
        ("cut", gpx(&point(t)).split("</trkseg>").next().unwrap().into(), "cut_off", Some(5)),
        (
            "cut",
            format!("{}<trkpt lat=\"1\"", gpx(&point(t)).split("\n</trkseg>").next().unwrap()).into(),
            "cut_off",
            Some(4),
        ),
        ("broken", gpx(&format!("{}</trk>", point(t))).into(), "bad_xml", Some(4)),
        (
            "order",
            gpx(&format!("{}\n{}\n{}", point("2026-06-15T08:00:05Z"), point("2026-06-15T08:00:06Z"), point(t))).into(),
            "clock_back",
            Some(6),
        ),
        ("bad line", igc(&format!("{FIX}B11013X5206343N00006198WA0058700558\r\n")), "bad_record", Some(4)),
        ("bad line", igc(&format!("{FIX}B1101365260343N00006198WA0058700558\r\n")), "bad_record", Some(4)),
        ("void", igc(&FIX.replace("WA", "WV")), "void_fix", Some(3)),
        (
            "midnight",
            igc(&format!("B2359595206343N00006198WA0058700558\n{}", FIX.replace("B110135", "B000000"))),
            "midnight",
            Some(4),
        ),
        ("no date", format!("AXXXABC\n{FIX}").into(), "no_date", None),
        ("no date", format!("AXXXABC\nHFDTE310201\n{FIX}").into(), "bad_header", Some(2)),
        ("I record", igc(&format!("I023636LAD36\r\n{FIX}")), "bad_header", Some(3)),
        ("repeated", igc(&format!("{FIX}{FIX}")), "stamp_repeated", Some(4)),
        ("backward", igc(&format!("{0}{FIX}", FIX.replace("B1101", "B1105"))), "clock_back", Some(4)),
        ("noise", igc(&format!("{FIX}?what\r\n")), "not_a_record", Some(4)),
    ];
    for (clause, bytes, code, row) in cases {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let log = try_read(&bytes).unwrap_or_else(|error| panic!("{clause}: {error}\n{text}"));
        assert!(log.findings.iter().any(|f| (f.code, f.row) == (code, row)), "{clause}: {:?}\n{text}", log.findings);
    }
}

#[test]
fn extensions_and_old_elements_are_channels() {
    let inner = format!("{}</trkpt>", point("2026-06-15T08:00:00Z").trim_end_matches("</trkpt>"));
    let with = |more: &str| inner.replace("</trkpt>", &format!("{more}</trkpt>"));
    let text = gpx(&with(
        "<speed>12.5</speed><course>359</course><extensions><a:set xmlns:a=\"q\"><a:hr>77</a:hr></a:set></extensions>",
    ));
    let log = try_read(text.as_bytes()).unwrap();
    assert_eq!(
        (numbers(&log, "Ground Speed"), numbers(&log, "Track True"), numbers(&log, "hr")),
        (&[12.5][..], &[359.0][..], &[77.0][..])
    );
    let track: &Channel = log.channels.iter().find(|c| c.name == "Track True").unwrap();
    assert_eq!((track.kind, track.unit.as_deref()), (Kind::Angle, Some("deg")));
    assert!(log.channels.iter().all(|c| !c.name.contains("Heading")));
}

/// Fields that only some receivers fill, and kinds that say more than a place: values as written, units as the sentence says.
#[test]
fn what_sentences_say() {
    let gga = |rest: &str| sum(&format!("GPGGA,123519,4807.0,N,01131.0,E,2,08,0.9,545.4,M,46.9,M,{rest}"));
    for (text, name, unit, value) in [
        (gga("3.5,0120"), "DGPS Age", Some("s"), Some(3.5)),
        (gga(",0000"), "DGPS Age", Some("s"), None),
        (gga("3.5,0120"), "Fix Quality", None, Some(2.0)),
        (gga(",") + &sum("IIVHW,271.0,T,268.0,M,12.5,N,23.15,K"), "Water Speed", Some("kt"), Some(12.5)),
        (gga(",") + &sum("IIVHW,,,,,,,23.15,K"), "Water Speed", Some("kt"), Some(12.5)),
        (gga(",") + &sum("IIVHW,271.0,T,268.0,M,12.5,N,23.15,K"), "Heading True", Some("deg"), Some(271.0)),
        (gga(",") + &sum("WIMWV,214.8,R,10,M,A"), "Wind Speed Relative", Some("kt"), Some(36000.0 / 1852.0)),
        (gga(",") + &sum("WIMWV,214.8,T,18.52,K,A"), "Wind Speed Theoretical", Some("kt"), Some(10.0)),
        (gga(",") + &sum("WIMWV,214.8,R,10,M,V"), "Wind Speed Relative", Some("kt"), None),
    ] {
        let log = try_read(text.as_bytes()).unwrap();
        let channel = log.channels.iter().find(|c| c.name == name).filter(|c| !c.times.is_empty());
        let Some(value) = value else {
            assert!(channel.is_none(), "{text}");
            continue;
        };
        assert_eq!(channel.map(|c| c.unit.as_deref()), Some(unit), "{text}");
        assert!((numbers(&log, name)[0] - value).abs() < 1e-9, "{text}: {:?}", numbers(&log, name));
    }
    // ZDA alone dates the log; XDR is passed over and counted by name.
    let zda = sum("GPZDA,123519,31,12,2016,00,00") + &sum("IIXDR,C,19.52,C,TempAir") + &sum("IIXDR,P,1.02,B,Baro");
    let log = try_read(zda.as_bytes()).unwrap();
    assert_eq!(log.clock.first_utc.unwrap().to_string(), "2016-12-31T12:35:19Z");
    let skipped = log.findings.iter().find(|f| f.code == "sentences_skipped").unwrap();
    assert!(skipped.message.contains("2 XDR"), "{}", skipped.message);
    let broken = try_read((sum("GPZDA,123519,31,12,2016,00,00") + &sum("GPZDA,123520,31,13,2016,00,00")).as_bytes());
    assert!(broken.unwrap().findings.iter().any(|f| (f.code, f.row) == ("bad_field", Some(2))));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Damage anywhere: no panic, and every sentence or record is read, refused or skipped.
    #[test]
    fn nothing_is_lost(which in 0usize..2, hits in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..30)) {
        let file = ["tests/real/logs/nmea/mtk-3301.log", "tests/real/logs/igc/bad-line.igc"][which];
        let mut bytes = std::fs::read(file).unwrap();
        hits.iter().for_each(|(at, byte)| { let i = at.index(bytes.len()); bytes[i] = *byte; });
        let end = if bytes.contains(&b'\n') { b'\n' } else { b'\r' };
        let trimmed = bytes.split(|b| *b == end).map(<[u8]>::trim_ascii).filter(|l| !l.is_empty());
        let present: usize = if which == 1 { trimmed.count() } else {
            trimmed.map(|l| if l[0] == b'#' { 1 } else {
                let starts: Vec<usize> = (0..l.len()).filter(|&i| i == 0 || matches!(l[i], b'$' | b'!')).chain([l.len()]).collect();
                starts.windows(2).filter(|w| !l[w[0]..w[1]].trim_ascii().is_empty()).count()
            }).sum()
        };
        if let Ok(log) = try_read(&bytes) && log.format != recorder::Format::Csv {
            prop_assert_eq!(log.rows_read + log.rows_refused + log.rows_left_out, present);
        }
    }

    /// A track of whole and of damaged points, in any segments, beside plans: every one is read, refused or left out.
    #[test]
    fn points_are_counted(points in proptest::collection::vec((0u8..9, 0u32..30, -90i32..90, -180i32..180), 1..60)) {
        let mut now = 0;
        let (mut text, mut present, mut sound) = (String::new(), 0, 0);
        for (kind, step, lat, lon) in points {
            now += step;
            let time = format!("<time>2026-06-15T08:{:02}:{:02}Z</time>", now / 60 % 60, now % 60);
            let whole = format!("<trkpt lat=\"{lat}\" lon=\"{lon}\"><ele>{step}</ele>{time}<extensions><q><n>{step}</n></q></extensions></trkpt>\n");
            present += usize::from(kind != 1);
            sound += usize::from(kind > 6 || kind == 0);
            text += &match kind {
                1 => "</trkseg><trkseg>\n".to_owned(),
                2 => whole.replace("<time>2026-", "<time>"),
                3 => format!("<trkpt lat=\"{lat}\" lon=\"181\">{time}</trkpt>\n"),
                4 => format!("<trkpt lon=\"{lon}\">{time}</trkpt>\n"),
                5 => format!("</trkseg></trk><wpt lat=\"{lat}\" lon=\"{lon}\"></wpt><trk><trkseg>\n"),
                6 => format!("<trkpt lat=\"{lat}\" lon=\"{lon}\"/>\n"),
                _ => whole,
            };
        }
        match try_read(gpx(&text).as_bytes()) {
            Ok(log) => {
                prop_assert_eq!(log.rows_read + log.rows_refused + log.rows_left_out, present, "{:?}\n{}", log.findings, text);
                prop_assert!(log.rows_read <= sound && (log.rows_read == sound || !log.findings.is_empty()));
                prop_assert_eq!(numbers(&log, "n").len(), log.rows_read);
            }
            Err(error) => prop_assert!(sound == 0, "{error}\n{text}"),
        }
    }

    /// A recorder's file as the format has it, whatever it recorded, reads back the same.
    #[test]
    fn fixes_come_back(fixes in proptest::collection::vec((1u32..9000, 0u32..5_400_000, 0u32..10_800_000, 1i32..9999, 0u32..999, any::<[bool; 3]>()), 1..50)) {
        let mut text = "AXXXABC\r\nHFDTE150626\r\nI013638FXA\r\n".to_owned();
        let (mut now, mut expected) = (36_000, Vec::new());
        for (step, lat, lon, pressure, fxa, [south, west, valid]) in fixes {
            let day = now % 86_400;
            let angle = |v: u32, width: usize| format!("{:0width$}{:05}", v / 60_000, v % 60_000);
            text += &format!("B{:02}{:02}{:02}{}{}{}{}{}{pressure:05}00100{fxa:03}\r\n", day / 3600, day / 60 % 60, day % 60,
                angle(lat, 2), if south { 'S' } else { 'N' }, angle(lon, 3), if west { 'W' } else { 'E' }, if valid { 'A' } else { 'V' });
            let place = |v: u32, minus| if minus { -f64::from(v) / 60_000.0 } else { f64::from(v) / 60_000.0 };
            expected.push((f64::from(now - 36_000), place(lat, south), place(lon, west), f64::from(pressure), f64::from(fxa), valid));
            now += step;
        }
        let log = try_read(text.as_bytes()).unwrap();
        prop_assert_eq!([log.rows_read, log.rows_refused], [expected.len(), 0], "{:?}\n{}", log.findings, text);
        let channel = |name: &str| log.channels.iter().find(|c| c.name.starts_with(name));
        let pressure = channel("Pressure Altitude").unwrap();
        let Samples::Numbers(values) = &pressure.samples else { panic!() };
        for ((t, v), e) in pressure.times.iter().zip(values).zip(&expected) {
            prop_assert_eq!((*t, *v), (e.0, e.3));
        }
        let Samples::Numbers(values) = &channel("Fix Accuracy").unwrap().samples else { panic!() };
        prop_assert_eq!(values.clone(), expected.iter().map(|e| e.4).collect::<Vec<_>>());
        for (name, pick) in [("Latitude", 1), ("Longitude", 2)] {
            let sound: Vec<f64> = expected.iter().filter(|e| e.5).map(|e| if pick == 1 { e.1 } else { e.2 }).collect();
            if sound.is_empty() { continue }
            let found = numbers(&log, name);
            prop_assert_eq!(found.len(), sound.len());
            prop_assert!(found.iter().zip(&sound).all(|(a, b)| (a - b).abs() < 1e-9), "{found:?} {sound:?}");
        }
    }

    #[test]
    fn no_bytes_make_it_panic(head in 0usize..4, bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let head = ["", "<gpx version=\"1.0\"><trk><trkseg><trkpt lat=\"1\" lon=\"1\"><time>", "AXXX\nHFDTE010101\nI013638FXA\nB", "$GPRMC,1"][head];
        let _ = try_read(&[head.as_bytes(), &bytes].concat());
    }
}
