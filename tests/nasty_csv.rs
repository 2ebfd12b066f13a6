//! Logs as loggers really write them, by clause: each with the exact findings that it must give and the exact counts.
//!
//! The numbers are invented. Every case holds the count law: read, refused and left out are all the rows that are not blank.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::flight;
use jumpseat::keyfile::Document;
use jumpseat::recorder::{self, CsvOptions, Options, RecorderError, Recording};
use jumpseat::signal::Samples;
use std::path::Path;

/// One log: its clause, its bytes, keys of the flight file, then what must come of it.
struct Case {
    clause: &'static str,
    bytes: Vec<u8>,
    keys: &'static str,
    /// Rows read, refused, left out.
    counts: [usize; 3],
    /// Codes with their rows (0: the whole file), in the order that they are told.
    findings: &'static [(&'static str, u64)],
    /// A channel, and its numbers with their times.
    channel: (&'static str, &'static [(f64, f64)]),
    /// The first instant; empty where there is none.
    utc: &'static str,
}

fn text(
    clause: &'static str,
    text: &str,
    keys: &'static str,
    counts: [usize; 3],
    findings: &'static [(&'static str, u64)],
    channel: (&'static str, &'static [(f64, f64)]),
    utc: &'static str,
) -> Case {
    Case { clause, bytes: text.as_bytes().to_vec(), keys, counts, findings, channel, utc }
}

fn bytes(clause: &'static str, bytes: Vec<u8>, counts: [usize; 3], findings: &'static [(&'static str, u64)]) -> Case {
    Case { clause, bytes, keys: "", counts, findings, channel: ("IAS", IAS), utc: "" }
}

const IAS: &[(f64, f64)] = &[(0.0, 20.5), (1.0, 21.25), (2.0, 22.0)];
const PLAIN: &str = "t [s],IAS [kt],Öl [°C]\n0,20.5,80\n1,21.25,81\n2,22,82\n";
const COMMA: &str = "t [s];IAS [kt]\n0,0;20,5\n1,0;21,25\n2,0;22,0\n";

/// What the flight file's keys say.
fn options(keys: &str) -> CsvOptions {
    let file = format!("[[log]]\nname = \"x\"\nfile = \"x.csv\"\n{keys}\n");
    let flight = flight::read(Document::of(Path::new("flight.toml"), file));
    assert!(flight.faults.is_empty(), "{keys}: {:?}", flight.faults);
    flight.logs[0].csv.clone()
}

fn read(bytes: &[u8], keys: &str) -> Result<Recording, RecorderError> {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("x.csv");
    std::fs::write(&file, bytes).expect("log");
    recorder::read(&file, &Options { csv: options(keys) })
}

fn utf16(text: &str, bytes: fn(u16) -> [u8; 2], mark: bool) -> Vec<u8> {
    mark.then_some(0xfeff).into_iter().chain(text.encode_utf16()).flat_map(bytes).collect()
}

fn dialects() -> Vec<Case> {
    let latin: Vec<u8> = PLAIN.chars().map(|c| u8::try_from(u32::from(c)).expect("Latin")).collect();
    let with_nuls = [PLAIN.as_bytes(), &[0; 40]].concat();
    let nul_inside = PLAIN.replace("21.25", "21.\u{0}25").into_bytes();
    vec![
        text("comma", PLAIN, "", [3, 0, 1], &[], ("IAS", IAS), ""),
        text("comma", &PLAIN.replace(',', ";"), "", [3, 0, 1], &[("separator", 0)], ("IAS", IAS), ""),
        text("semicolon", COMMA, "", [3, 0, 1], &[("separator", 0), ("decimal_comma", 0)], ("IAS", IAS), ""),
        text(
            "semicolon",
            &COMMA.replace(";", " ; "),
            "separator = \"semicolon\"",
            [3, 0, 1],
            &[("separator", 0), ("decimal_comma", 0)],
            ("IAS", IAS),
            "",
        ),
        text("tab", &PLAIN.replace(',', "\t"), "", [3, 0, 1], &[("separator", 0)], ("IAS", IAS), ""),
        text(
            "tab",
            "t [s]\tIAS, indicated\n0\t20.5\n1\t21.25\n2\t22\n",
            "",
            [3, 0, 1],
            &[("separator", 0)],
            ("IAS, indicated", IAS),
            "",
        ),
        text("pipe", &PLAIN.replace(',', "|"), "", [3, 0, 1], &[("separator", 0)], ("IAS", IAS), ""),
        text(
            "pipe",
            "t [s] | IAS | Note\n0 | 20.5 | a,b\n1 | 21.25 | c,d\n2 | 22 | e,f\n",
            "",
            [3, 0, 1],
            &[("separator", 0)],
            ("IAS", IAS),
            "",
        ),
        text(
            "fixed blanks",
            "t_s   IAS      Oil T\n0     20.5     80\n1     21.25\n2     22       82\n",
            "",
            [3, 0, 1],
            &[("separator", 0), ("cells_missing", 3)],
            ("IAS", IAS),
            "",
        ),
        text(
            "fixed blanks",
            "  t_s IAS\n  0 20,5\n  1 21,25\n  2 22,0\n",
            "",
            [3, 0, 1],
            &[("separator", 0), ("decimal_comma", 0)],
            ("IAS", IAS),
            "",
        ),
        bytes("UTF-8", [b"\xef\xbb\xbf", PLAIN.as_bytes()].concat(), [3, 0, 1], &[]),
        bytes("UTF-8", PLAIN.as_bytes().to_vec(), [3, 0, 1], &[]),
        bytes("UTF-16", utf16(PLAIN, u16::to_le_bytes, true), [3, 0, 1], &[("encoding", 0)]),
        bytes("UTF-16", utf16(PLAIN, u16::to_be_bytes, true), [3, 0, 1], &[("encoding", 0)]),
        bytes("UTF-16", utf16(PLAIN, u16::to_le_bytes, false), [3, 0, 1], &[("encoding", 0)]),
        bytes("UTF-16", utf16(PLAIN, u16::to_be_bytes, false), [3, 0, 1], &[("encoding", 0)]),
        bytes("Windows-1252", latin.clone(), [3, 0, 1], &[("encoding", 0)]),
        Case { keys: "encoding = \"windows-1252\"", ..bytes("Windows-1252", latin, [3, 0, 1], &[("encoding", 0)]) },
        text(
            "decimal comma",
            "t [s],IAS\n\"0,0\",\"20,5\"\n\"1,0\",\"21,25\"\n\"2,0\",22\n",
            "",
            [3, 0, 1],
            &[("decimal_comma", 0)],
            ("IAS", IAS),
            "",
        ),
        text(
            "decimal comma",
            "t [s];A\n0;1,234\n1;1,235\n",
            "",
            [2, 0, 1],
            &[("separator", 0), ("number_open", 0)],
            ("A", &[]),
            "",
        ),
        text(
            "decimal comma",
            "t [s];A\n0;1,234\n1;1,235\n",
            "decimal = \"comma\"",
            [2, 0, 1],
            &[("separator", 0), ("decimal_comma", 0)],
            ("A", &[(0.0, 1.234), (1.0, 1.235)]),
            "",
        ),
        text(
            "decimal comma",
            "t [s];A;B\n0;1,234;5,5\n1;1,235;6,5\n",
            "",
            [2, 0, 1],
            &[("separator", 0), ("decimal_comma", 0)],
            ("A", &[(0.0, 1.234), (1.0, 1.235)]),
            "",
        ),
        text(
            "thousands",
            "t [s];A;B\n0;1,234;5.5\n1;1,235;6.5\n",
            "",
            [2, 0, 1],
            &[("separator", 0), ("thousands", 2)],
            ("A", &[(0.0, 1234.0), (1.0, 1235.0)]),
            "",
        ),
        text(
            "thousands",
            "t [s],A\n0,\"1,234.5\"\n1,987.5\n",
            "",
            [2, 0, 1],
            &[("thousands", 2)],
            ("A", &[(0.0, 1234.5), (1.0, 987.5)]),
            "",
        ),
        text(
            "thousands",
            "t [s];A\n0;1 234,5\n1;12'345,5\n",
            "",
            [2, 0, 1],
            &[("separator", 0), ("decimal_comma", 0), ("thousands", 2)],
            ("A", &[(0.0, 1234.5), (1.0, 12_345.5)]),
            "",
        ),
        text(
            "quotes",
            "\"t [s]\",\"IAS\",\"Note\"\n\"0\",\"20.5\",\"a, \"\"b\"\"\"\n1,21.25,\"two\nlines\"\n2,22,x\n",
            "",
            [3, 0, 1],
            &[],
            ("IAS", IAS),
            "",
        ),
        text("quotes", "t [s],IAS,Note\n0,20.5,a\n1,21.25,b\n2,22,\"c\n3,23,d\n", "", [3, 0, 1], &[], ("IAS", IAS), ""),
        text(
            "preamble",
            "Dunlin of Harrowmere\nLogger, 12\n\nt [s],IAS\n0,20.5\n1,21.25\n2,22\n",
            "",
            [3, 0, 3],
            &[("preamble", 1)],
            ("IAS", IAS),
            "",
        ),
        text(
            "preamble",
            "Serial,12,3\nDate,2026-06-15\nt [s],IAS\n0,20.5\n1,21.25\n2,22\n",
            "header_row = 3",
            [3, 0, 3],
            &[("preamble", 1)],
            ("IAS", IAS),
            "",
        ),
        text(
            "header in rows",
            "t,Air,,Engine\n,IAS,Alt,RPM\ns,kt,ft,rpm\n0,20.5,1,2\n1,21.25,1,2\n2,22,1,2\n",
            "",
            [3, 0, 3],
            &[("header_rows", 1)],
            ("Air IAS", IAS),
            "",
        ),
        text(
            "header in rows",
            "t [s],Air,Engine\nclock,speed,shaft\n0,20.5,2\n1,21.25,2\n2,22,2\n",
            "header_rows = 2",
            [3, 0, 2],
            &[("header_rows", 1)],
            ("Air speed", IAS),
            "",
        ),
        text(
            "units",
            "t [s],IAS (kt),Oil T [°F],RPM/%\n0,20.5,1,2\n1,21.25,1,2\n2,22,1,2\n",
            "",
            [3, 0, 1],
            &[],
            ("IAS", IAS),
            "",
        ),
        text(
            "units",
            "t,IAS,Oil T\n[ms],[kt],[blobs]\n0,20.5,1\n1000,21.25,1\n2000,22,1\n",
            "unit_row = 2",
            [3, 0, 2],
            &[("unit_unknown", 2)],
            ("IAS", IAS),
            "",
        ),
        text(
            "repeated names",
            "t [s],EGT,EGT,EGT\n0,1,2,20.5\n1,1,2,21.25\n2,1,2,22\n",
            "",
            [3, 0, 1],
            &[("column_name_twice", 1), ("column_name_twice", 1)],
            ("EGT 3", IAS),
            "",
        ),
        text(
            "repeated names",
            "t [s],EGT,EGT 2,EGT\n0,1,2,20.5\n1,1,2,21.25\n2,1,2,22\n",
            "",
            [3, 0, 1],
            &[("column_name_twice", 1)],
            ("EGT 3", IAS),
            "",
        ),
        text(
            "comments",
            "# made by hand\nt [s],IAS\n0,20.5\n# battery low, landing\n1,21.25\n2,22\n",
            "",
            [3, 0, 3],
            &[("comment_lines", 1)],
            ("IAS", IAS),
            "",
        ),
        text("comments", "#t [s],IAS\n0,20.5\n1,21.25\n2,22\n", "", [3, 0, 1], &[], ("IAS", IAS), ""),
        text(
            "comments",
            "t [s],IAS\n0,20.5\n!late,\n1,21.25\n2,22\n",
            "comment = \"!\"",
            [3, 0, 2],
            &[("comment_lines", 3)],
            ("IAS", IAS),
            "",
        ),
        text(
            "ragged rows",
            "t [s],IAS,a\n0,20.5,1\n0.5,20\n1,21.25,1\n1.5,1,2,3\n2,22,1\n",
            "",
            [3, 2, 1],
            &[("row_width", 3)],
            ("IAS", IAS),
            "",
        ),
        text(
            "ragged rows",
            "t [s],IAS\n0,20.5,\n1,21.25,\n2,22,\n3\n",
            "",
            [3, 1, 1],
            &[("row_width", 5)],
            ("IAS", IAS),
            "",
        ),
        text(
            "last line cut",
            "t [s],IAS,a\n0,20.5,1\n1,21.25,1\n2,22,1\n3,2",
            "",
            [3, 1, 1],
            &[("last_line_cut", 5)],
            ("IAS", IAS),
            "",
        ),
        text(
            "last line cut",
            "t [s],IAS,Note\n0,20.5,a\n1,21.25,b\n2,22,c\n3,\"23.",
            "",
            [3, 1, 1],
            &[("last_line_cut", 5)],
            ("IAS", IAS),
            "",
        ),
        text(
            "header again",
            "time,IAS\n2026-06-15T08:30:00Z,20.5\ntime,IAS\n2026-06-15T08:30:01Z,21.25\n2026-06-15T08:30:02Z,22\n",
            "",
            [3, 0, 2],
            &[("header_again", 3)],
            ("IAS", IAS),
            "2026-06-15T08:30:00Z",
        ),
        text(
            "header again",
            "t [s],IAS\n100,1\n101,2\nt [s],IAS\n0,20.5\n1,21.25\n2,22\n",
            "",
            [3, 2, 2],
            &[("header_again", 4), ("clock_restarts", 5)],
            ("IAS", IAS),
            "",
        ),
        text(
            "header again",
            "t [s],IAS\n100,1\n101,2\nt [s],IAS\n0,20.5\n1,21.25\n2,22\n",
            "power_up = 1",
            [2, 3, 2],
            &[("header_again", 4), ("clock_restarts", 5)],
            ("IAS", &[(0.0, 1.0), (1.0, 2.0)]),
            "",
        ),
        text(
            "header again",
            "t [s],IAS,a\n0,20.5,1\n1,21.25,1\n2,22,1\nt [s],a,IAS\n3,1,23\nt [s],IAS,a\n",
            "",
            [3, 2, 2],
            &[("header_changes", 5), ("header_again", 7)],
            ("IAS", IAS),
            "",
        ),
        bytes("NUL bytes", with_nuls, [3, 0, 1], &[("nul_bytes", 5)]),
        bytes("NUL bytes", nul_inside, [3, 0, 1], &[("nul_bytes", 3)]),
        bytes("line ends", PLAIN.replace('\n', "\r\n").into_bytes(), [3, 0, 1], &[]),
        bytes("line ends", PLAIN.replace('\n', "\r").into_bytes(), [3, 0, 1], &[]),
        bytes("line ends", PLAIN.replace('\n', "\n\n").into_bytes(), [3, 0, 1], &[]),
        text(
            "placeholders",
            "t [s],IAS\n0,20.5\n0.5,-999\n1,21.25\n2,22\n",
            "",
            [4, 0, 1],
            &[("placeholder", 3), ("cells_missing", 3)],
            ("IAS", IAS),
            "",
        ),
        text(
            "placeholders",
            "t [s],IAS\n0,20.5\n0.5,65535\n1,21.25\n1.5,inf\n1.7,---\n2,22\n",
            "",
            [6, 0, 1],
            &[("placeholder", 3), ("cells_missing", 3)],
            ("IAS", IAS),
            "",
        ),
        text(
            "placeholders",
            "t [s],IAS\n0,20.5\n0.5,7777\n0.7,bad\n1,21.25\n2,22\n",
            "placeholders = [\"7777\", \"bad\"]",
            [5, 0, 1],
            &[("placeholder_named", 3), ("cells_missing", 3)],
            ("IAS", IAS),
            "",
        ),
        text(
            "placeholders",
            "t [s],A\n0,1\n1,-999\n",
            "placeholders = []",
            [2, 0, 1],
            &[],
            ("A", &[(0.0, 1.0), (1.0, -999.0)]),
            "",
        ),
        text(
            "unit stuck on",
            "t [s],IAS\n0,20.5kt\n1,21.25kt\n2,22 kt\n",
            "",
            [3, 0, 1],
            &[("unit_in_cells", 2)],
            ("IAS", IAS),
            "",
        ),
        text(
            "unit stuck on",
            "t [s];N1\n0;98,5%\n1;99%\n2;12kt\n",
            "",
            [3, 0, 1],
            &[("separator", 0), ("decimal_comma", 0), ("unit_in_cells", 2), ("not_a_number", 4), ("cells_missing", 4)],
            ("N1", &[(0.0, 98.5), (1.0, 99.0)]),
            "",
        ),
    ]
}

fn times() -> Vec<Case> {
    // A count at each of these times.
    let log = |head: &str, stamps: &[&str]| {
        let rows = stamps.iter().zip(["20.5", "21.25", "22", "23", "24", "25", "26", "27", "28", "29", "30"]);
        rows.fold(format!("{head},IAS\n"), |text, (stamp, value)| text + stamp + "," + value + "\n")
    };
    const UTC: &str = "2026-06-15T08:30:00Z";
    let three = |clause, head: &str, stamps: &[&str; 3], utc| {
        text(clause, &log(head, stamps), "", [3, 0, 1], &[], ("IAS", IAS), utc)
    };
    let zoned = |clause, keys, stamps: &[&str], counts, findings, channel, utc| {
        text(clause, &log("time", stamps), keys, counts, findings, channel, utc)
    };
    const LONDON: &str = "zone = \"Europe/London\"";
    const OPEN: &[(&str, u64)] = &[("date_order_open", 2)];
    vec![
        three("RFC 3339", "time", &["2026-06-15T08:30:00Z", "2026-06-15T10:30:01+02:00", "2026-06-15t08:30:02z"], UTC),
        three(
            "RFC 3339",
            "time",
            &["1990-12-31T23:59:58Z", "1990-12-31T23:59:59Z", "1990-12-31T23:59:60Z"],
            "1990-12-31T23:59:58Z",
        ),
        three("ISO 8601", "time", &["20260615T083000Z", "20260615T083001Z", "20260615T083002Z"], UTC),
        three("ISO 8601", "time", &["2026-166T08:30:00Z", "2026-W25-1T08:30:01Z", "2026-06-15T08:30:02Z"], UTC),
        three(
            "two columns",
            "date,time [UTC]",
            &["2026-06-15,08:30:00", "2026-06-15,08:30:01", "2026-06-15,08:30:02"],
            UTC,
        ),
        three(
            "two columns",
            "UTC date,UTC time",
            &["15.06.2026,08:30:00", "15.06.2026,08:30:01", "15.06.2026,08:30:02"],
            UTC,
        ),
        text(
            "day or month first",
            &log("UTC date,UTC time", &["4/5/2026,08:30:00", "4/5/2026,08:30:01", "4/5/2026,08:30:02"]),
            "",
            [3, 0, 1],
            OPEN,
            ("IAS", IAS),
            "",
        ),
        text(
            "day or month first",
            &log("UTC date,UTC time", &["4/5/2026,08:30:00", "4/5/2026,08:30:01", "4/5/2026,08:30:02"]),
            "date_order = \"month-first\"",
            [3, 0, 1],
            &[],
            ("IAS", IAS),
            "2026-04-05T08:30:00Z",
        ),
        three(
            "12-hour clock",
            "UTC date,UTC time",
            &["6/15/2026,12:59:59 AM", "6/15/2026,1:00:00 AM", "6/15/2026,1:00:01 am"],
            "2026-06-15T00:59:59Z",
        ),
        three(
            "12-hour clock",
            "UTC",
            &["15/06/2026 12:59:59 p.m.", "15/06/2026 1:00:00 p.m.", "15/06/2026 1:00:01 pm"],
            "2026-06-15T12:59:59Z",
        ),
        three("month names", "UTC", &["15 Jun 2026 08:30:00", "15-JUN-2026 08:30:01", "June 15 2026 08:30:02"], UTC),
        three(
            "month names",
            "UTC",
            &["15-Oct-26 08:30:00", "15OCT26 08:30:01", "Thu 15 Oct 2026 08:30:02"],
            "2026-10-15T08:30:00Z",
        ),
        text(
            "midnight",
            &log("time", &["23:59:59", "00:00:00", "00:00:01"]),
            "",
            [3, 0, 1],
            &[("midnight", 3)],
            ("IAS", IAS),
            "",
        ),
        text(
            "midnight",
            &log("time", &["11:59:59 PM", "12:00:00 AM", "12:00:01 AM"]),
            "",
            [3, 0, 1],
            &[("midnight", 3)],
            ("IAS", IAS),
            "",
        ),
        text(
            "epoch",
            &log("timestamp", &["1781512200", "1781512201", "1781512202"]),
            "",
            [3, 0, 1],
            &[("count_since_epoch", 2)],
            ("IAS", IAS),
            UTC,
        ),
        text(
            "epoch",
            &log("time", &["1781512200000", "1781512201000", "1781512202000"]),
            "",
            [3, 0, 1],
            &[("count_since_epoch", 2)],
            ("IAS", IAS),
            UTC,
        ),
        text(
            "epoch",
            &log("time_us", &["1781512200000000", "1781512201000000", "1781512202000000"]),
            "",
            [3, 0, 1],
            &[("count_since_epoch", 2)],
            ("IAS", IAS),
            UTC,
        ),
        text(
            "epoch",
            &log("unix [ns]", &["1781512200000000000", "1781512201000000000", "1781512202000000000"]),
            "",
            [3, 0, 1],
            &[("count_since_epoch", 2)],
            ("IAS", IAS),
            UTC,
        ),
        text(
            "power-up",
            &log("millis", &["4294966796", "500", "1500", "2500"]),
            "",
            [4, 0, 1],
            &[("count_runs_over", 3)],
            ("IAS", &[(0.0, 20.5), (1.0, 21.25), (2.0, 22.0), (3.0, 23.0)]),
            "",
        ),
        text(
            "power-up",
            &log("time_us", &["2147183648", "-2146819648", "-2145819648", "-2144819648"]),
            "",
            [4, 0, 1],
            &[("count_runs_over", 3)],
            ("IAS", &[(0.0, 20.5), (0.964, 21.25), (1.964, 22.0), (2.964, 23.0)]),
            "",
        ),
        text(
            "power-up",
            &log("beat", &["0", "100", "200"]),
            "time_column = \"beat\"\ncounts = \"ms\"",
            [3, 0, 1],
            &[],
            ("IAS", &[(0.0, 20.5), (0.1, 21.25), (0.2, 22.0)]),
            "",
        ),
        text(
            "GPS week",
            &log("GPS Week,TOW [s]", &["2446,288018", "2446,288019", "2446,288020"]),
            "",
            [3, 0, 1],
            &[],
            ("IAS", IAS),
            "2026-11-25T08:00:00Z",
        ),
        text(
            "GPS week",
            &log("week,iTOW", &["398,288018000", "398,288019000", "398,288020000"]),
            "",
            [3, 0, 1],
            &[("gps_week_open", 2)],
            ("IAS", IAS),
            "",
        ),
        text(
            "GPS week",
            &log("week,iTOW", &["398,288018000", "398,288019000", "398,288020000"]),
            "gps_rollovers = 2",
            [3, 0, 1],
            &[],
            ("IAS", IAS),
            "2026-11-25T08:00:00Z",
        ),
        text(
            "GPS week",
            &log("GPS Week,TOW [s]", &["2445,604799", "2446,0", "2446,1"]),
            "",
            [3, 0, 1],
            &[],
            ("IAS", IAS),
            "2026-11-21T23:59:41Z",
        ),
        text(
            "spreadsheet",
            &log("Date", &["46351.354166667", "46351.354178241", "46351.354189815"]),
            "",
            [3, 0, 1],
            &[("spreadsheet_days", 2)],
            ("IAS", IAS),
            "",
        ),
        text(
            "spreadsheet",
            &log("Date", &["44889.354166667", "44889.354178241", "44889.354189815"]),
            "time_column = \"Date\"\ncounts = \"days since 1904\"\nutc_offset = \"Z\"",
            [3, 0, 1],
            &[],
            ("IAS", IAS),
            "2026-11-25T08:30:00Z",
        ),
        zoned(
            "zone",
            LONDON,
            &["2026-06-15 09:30:00", "2026-06-15 09:30:01", "2026-06-15 09:30:02"],
            [3, 0, 1],
            &[],
            ("IAS", IAS),
            UTC,
        ),
        zoned(
            "zone: never",
            LONDON,
            &["2026-03-29 00:59:59", "2026-03-29 01:00:00", "2026-03-29 02:00:00", "2026-03-29 02:00:01"],
            [3, 1, 1],
            &[("local_time_never", 3)],
            ("IAS", &[(0.0, 20.5), (1.0, 22.0), (2.0, 23.0)]),
            "2026-03-29T00:59:59Z",
        ),
        zoned(
            "zone: twice",
            LONDON,
            &["2026-10-25 01:59:59", "2026-10-25 01:00:00", "2026-10-25 01:00:01"],
            [3, 0, 1],
            &[("local_time_twice", 2)],
            ("IAS", IAS),
            "2026-10-25T00:59:59Z",
        ),
        zoned(
            "zone: twice",
            LONDON,
            &["2026-10-25 01:30:00", "2026-10-25 01:30:01", "2026-10-25 01:30:02"],
            [3, 0, 1],
            &[("local_time_twice", 2)],
            ("IAS", IAS),
            "",
        ),
        zoned(
            "zone: twice",
            LONDON,
            &["2026-10-25 01:59:58", "2026-10-25 01:59:59", "2026-10-25 02:00:00"],
            [3, 0, 1],
            &[("local_time_twice", 2)],
            ("IAS", IAS),
            "2026-10-25T01:59:58Z",
        ),
        text(
            "leap seconds",
            &log("GPS time [s]", &["1167264016", "1167264017", "1167264018"]),
            "",
            [3, 0, 1],
            &[("count_since_epoch", 2)],
            ("IAS", IAS),
            "2016-12-31T23:59:59Z",
        ),
        text(
            "leap seconds",
            &log("time", &["2026-06-15T23:59:59Z", "2026-06-15T23:59:60Z", "2026-06-16T00:00:00Z"]),
            "",
            [2, 1, 1],
            &[("row_without_time", 3)],
            ("IAS", &[(0.0, 20.5), (1.0, 22.0)]),
            "2026-06-15T23:59:59Z",
        ),
        text(
            "wrong date first",
            &log(
                "time",
                &[
                    "2006-08-22T00:00:00Z",
                    "2006-08-22T00:00:01Z",
                    "2026-06-15T08:30:00Z",
                    "2026-06-15T08:30:01Z",
                    "2026-06-15T08:30:02Z",
                ],
            ),
            "",
            [3, 2, 1],
            &[("clock_set_ahead", 4)],
            ("IAS", &[(0.0, 22.0), (1.0, 23.0), (2.0, 24.0)]),
            UTC,
        ),
        text(
            "wrong date first",
            &log(
                "time",
                &[
                    "2046-01-28T00:00:00Z",
                    "2046-01-28T00:00:01Z",
                    "2026-06-15T08:30:00Z",
                    "2026-06-15T08:30:01Z",
                    "2026-06-15T08:30:02Z",
                    "2026-06-15T08:30:03Z",
                    "2026-06-15T08:30:04Z",
                ],
            ),
            "",
            [5, 2, 1],
            &[("clock_set_back", 4)],
            ("IAS", &[(0.0, 22.0), (1.0, 23.0), (2.0, 24.0), (3.0, 25.0), (4.0, 26.0)]),
            UTC,
        ),
        text(
            "restarts",
            &log("t [s]", &["500", "501", "0", "1", "2", "3", "4"]),
            "",
            [5, 2, 1],
            &[("clock_restarts", 4)],
            ("IAS", &[(0.0, 22.0), (1.0, 23.0), (2.0, 24.0), (3.0, 25.0), (4.0, 26.0)]),
            "",
        ),
        text(
            "restarts",
            &log("t [s]", &["500", "501", "0", "1", "2", "3", "4"]),
            "power_up = 1",
            [2, 5, 1],
            &[("clock_restarts", 4)],
            ("IAS", &[(0.0, 20.5), (1.0, 21.25)]),
            "",
        ),
        text(
            "steps back",
            &log("t [s]", &["10", "11", "9", "12"]),
            "",
            [3, 1, 1],
            &[("clock_back", 4)],
            ("IAS", &[(0.0, 20.5), (1.0, 21.25), (2.0, 23.0)]),
            "",
        ),
        text(
            "steps back",
            &log("t [s]", &["10", "11", "99", "12", "13"]),
            "",
            [4, 1, 1],
            &[("stamp_ahead", 4)],
            ("IAS", &[(0.0, 20.5), (1.0, 21.25), (2.0, 23.0), (3.0, 24.0)]),
            "",
        ),
        text(
            "repeated stamps",
            &log("t [s]", &["0", "1", "1", "2"]),
            "",
            [3, 1, 1],
            &[("stamp_repeated", 4)],
            ("IAS", &[(0.0, 20.5), (1.0, 21.25), (2.0, 23.0)]),
            "",
        ),
        text(
            "repeated stamps",
            &log("UTC time,UTC date", &["08:30:00,2026-06-15", "08:30:00,2026-06-15", "08:30:01,2026-06-15"]),
            "",
            [2, 1, 1],
            &[("stamp_repeated", 3)],
            ("IAS", &[(0.0, 20.5), (1.0, 22.0)]),
            UTC,
        ),
        text(
            "drift",
            "time_ms,UTC,IAS\n0,2026-06-15T08:30:00Z,20.5\n1000,2026-06-15T08:30:01Z,21.25\n2000,2026-06-15T08:30:02Z,22\n\
            6000,2026-06-15T08:30:03Z,23\n",
            "",
            [4, 0, 1],
            &[("count_drifts", 5)],
            ("IAS", &[(0.0, 20.5), (1.0, 21.25), (2.0, 22.0), (3.0, 23.0)]),
            UTC,
        ),
        text(
            "drift",
            "INDEX,t [s],IAS\n0,0,20.5\n1,1,21.25\n2,2,22\n6,3,23\n",
            "",
            [4, 0, 1],
            &[("count_drifts", 5)],
            ("IAS", &[(0.0, 20.5), (1.0, 21.25), (2.0, 22.0), (3.0, 23.0)]),
            "",
        ),
        text(
            "drift",
            "INDEX,t [s],IAS\n0,0,20.5\n1,1,21.25\n2,2,22\n3,9,23\n",
            "",
            [4, 0, 1],
            &[],
            ("IAS", &[(0.0, 20.5), (1.0, 21.25), (2.0, 22.0), (9.0, 23.0)]),
            "",
        ),
    ]
}

#[test]
fn nasty_logs() {
    let cases: Vec<Case> = dialects().into_iter().chain(times()).collect();
    assert!(cases.len() >= 90, "{}", cases.len());
    let mut wrong = Vec::new();
    for case in &cases {
        let shown = String::from_utf8_lossy(&case.bytes).into_owned();
        let complain = |what: String| format!("{} [{}]: {what}\n{shown}", case.clause, case.keys);
        let log = match read(&case.bytes, case.keys) {
            Ok(log) => log,
            Err(error) => {
                wrong.push(complain(error.to_string()));
                continue;
            }
        };
        let counts = [log.rows_read, log.rows_refused, log.rows_left_out];
        let findings: Vec<_> = log.findings.iter().map(|f| (f.code, f.row.unwrap_or(0))).collect();
        let channel = log.channels.iter().find(|c| c.name == case.channel.0);
        let values: Option<Vec<(f64, f64)>> = channel.map(|c| match &c.samples {
            Samples::Numbers(values) => c.times.iter().copied().zip(values.iter().copied()).collect(),
            Samples::Texts(_) => Vec::new(),
        });
        let utc = log.clock.first_utc.map(|t| t.to_string()).unwrap_or_default();
        if counts != case.counts {
            wrong.push(complain(format!("counts {counts:?}, not {:?}: {:?}", case.counts, log.findings)));
        }
        if findings != case.findings {
            wrong.push(complain(format!("{:?}, not {:?}", log.findings, case.findings)));
        }
        if values.as_deref() != Some(case.channel.1) {
            wrong.push(complain(format!("{values:?}, not {:?}", case.channel)));
        }
        if utc != case.utc {
            wrong.push(complain(format!("the first instant is `{utc}`, not `{}`", case.utc)));
        }
    }
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong.join("\n"));
}

/// What cannot be read says what to do.
#[test]
fn refusals_name_their_cure() {
    for (text, keys, words) in [
        ("t [s];A\n1,234;1\n1,334;2\n", "", "set decimal = \"point\" or \"comma\""),
        ("t [s],A\n0,1\n", "header_row = 9", "row 9: the flight file says"),
        ("t [s],A\n0,1\n", "time_column = \"tt\"", "the log does not have it"),
        ("t [s],A,B\n0,1,x\n1,2,y\n", "time_column = \"B\"", "holds no times (first value `x`)"),
        ("t [s],A\n0,1\n1,1\n", "power_up = 2", "1 parts"),
        ("time,A\n2026-03-29 01:30:00,1\n", "zone = \"Europe/London\"", "never comes in the zone"),
        ("time,A\n1234567,1\n1234667,1\n", "", "state it, for example time=ms"),
    ] {
        let message = read(text.as_bytes(), keys).map(|log| log.findings).expect_err(text).to_string();
        assert!(message.contains(words), "{text}: {message}");
    }
}
