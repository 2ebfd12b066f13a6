//! Any table, written in any dialect, reads back the same; and no row of any file is lost in silence.
#![allow(clippy::expect_used, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::recorder::{self, Options, Recording};
use jumpseat::signal::Samples;
use proptest::prelude::*;

fn read(bytes: &[u8]) -> Recording {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("x.csv");
    std::fs::write(&file, bytes).expect("log");
    recorder::read(&file, &Options::default()).expect("a log")
}

/// How a table is written.
#[derive(Debug, Clone)]
struct Dialect {
    separator: &'static str,
    comma: bool,
    thousands: &'static str,
    end: &'static str,
    encoding: u8,
    quotes: bool,
    unit_row: bool,
    preamble: bool,
    comment: bool,
    again: bool,
}

fn dialect() -> impl Strategy<Value = Dialect> {
    let separator = prop_oneof![Just(","), Just(";"), Just("\t"), Just("|"), Just("   ")];
    let end = prop_oneof![Just("\n"), Just("\r\n"), Just("\r")];
    let thousands = prop_oneof![Just(""), Just("'"), Just("mark")];
    (separator, any::<bool>(), thousands, end, 0u8..7, any::<[bool; 5]>()).prop_map(
        |(separator, comma, thousands, end, encoding, [quotes, unit_row, preamble, comment, again])| {
            // Blanks quote nothing, and a lone CR is found only in a file without any LF.
            let blanks = separator == "   ";
            let quotes = !blanks && (quotes || (separator == "," && (comma || thousands == "mark")));
            Dialect { separator, comma, thousands, end, encoding, quotes, unit_row, preamble, comment, again }
        },
    )
}

impl Dialect {
    /// A number of hundredths; two decimals show which mark is the decimal one.
    fn number(&self, hundredths: i64) -> String {
        let (decimal, mark) = if self.comma { (',', ".") } else { ('.', ",") };
        let mark = if self.thousands == "mark" { mark } else { self.thousands };
        let whole = (hundredths.abs() / 100).to_string();
        let mut grouped = String::new();
        for (i, c) in whole.chars().enumerate() {
            if i > 0 && (whole.len() - i).is_multiple_of(3) {
                grouped += mark;
            }
            grouped.push(c);
        }
        format!("{}{grouped}{decimal}{:02}", if hundredths < 0 { "-" } else { "" }, hundredths.abs() % 100)
    }

    fn line(&self, cells: &[String]) -> String {
        let cell = |c: &String| if self.quotes { format!("\"{c}\"") } else { c.clone() };
        cells.iter().map(cell).collect::<Vec<_>>().join(self.separator) + self.end
    }

    fn write(&self, rows: &[(i64, i64)]) -> (Vec<u8>, usize) {
        let header = if self.unit_row { ["time", "Öl"] } else { ["time_ms", "Öl [°C]"] }.map(str::to_owned);
        let mut text = String::new();
        let mut left_out = 1;
        if self.preamble {
            text += &(String::from("Dunlin") + self.end);
            left_out += 1;
        }
        text += &self.line(&header);
        if self.unit_row {
            text += &self.line(&["ms".to_owned(), "°C".to_owned()]);
            left_out += 1;
        }
        for (i, (ms, value)) in rows.iter().enumerate() {
            if self.comment && i % 7 == 3 {
                text += &(String::from("# by hand") + self.end);
                left_out += 1;
            }
            if self.again && i == 5 {
                text += &self.line(&header);
                left_out += 1;
            }
            text += &self.line(&[ms.to_string(), self.number(*value)]);
        }
        let utf16 = |bytes: fn(u16) -> [u8; 2], mark: Option<u16>| {
            mark.into_iter().chain(text.encode_utf16()).flat_map(bytes).collect()
        };
        let bytes = match self.encoding {
            0 => text.into_bytes(),
            1 => [b"\xef\xbb\xbf", text.as_bytes()].concat(),
            2 => utf16(u16::to_le_bytes, Some(0xfeff)),
            3 => utf16(u16::to_be_bytes, Some(0xfeff)),
            4 => utf16(u16::to_le_bytes, None),
            5 => utf16(u16::to_be_bytes, None),
            _ => text.chars().map(|c| u8::try_from(u32::from(c)).expect("Latin")).collect(),
        };
        (bytes, left_out)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn any_table_in_any_dialect_reads_back_the_same(
        steps in prop_oneof![
            proptest::collection::vec((1i64..5000, -900_000_000i64..900_000_000), 3..40),
            // Narrow cells: blanks stand under names.
            proptest::collection::vec((1i64..9, 0i64..2000), 3..9),
        ],
        dialect in dialect(),
    ) {
        let rows: Vec<(i64, i64)> = steps.iter().scan(0, |ms, (step, value)| {
            let now = *ms;
            *ms += step;
            Some((now, *value))
        }).collect();
        let (bytes, left_out) = dialect.write(&rows);
        let log = read(&bytes);
        prop_assert_eq!([log.rows_read, log.rows_refused, log.rows_left_out], [rows.len(), 0, left_out], "{:?}", log.findings);
        prop_assert_eq!((&*log.channels[0].name, log.channels[0].unit.as_deref()), ("Öl", Some("°C")));
        let expected: Vec<f64> = rows.iter().map(|(_, v)| format!("{}e-2", v).parse().expect("a number")).collect();
        prop_assert_eq!(&log.channels[0].samples, &Samples::Numbers(expected), "{:?}", log.findings);
        let times: Vec<f64> = rows.iter().map(|(ms, _)| *ms as f64 / 1000.0).collect();
        prop_assert_eq!(&*log.channels[0].times, &times[..]);
    }

    /// Whatever the rows are, each is read, refused or left out; what is refused has a finding.
    #[test]
    fn no_row_is_lost(rows in proptest::collection::vec(prop_oneof![
        4 => (1u32..9, -99i32..99).prop_map(|(step, v)| format!("+{step},{v}")),
        1 => (0u32..400, -99i32..99).prop_map(|(t, v)| format!("{t},{v}")),
        1 => Just("t [s],IAS".to_owned()),
        1 => Just("IAS,t [s]".to_owned()),
        1 => Just("# a, b".to_owned()),
        1 => Just("1,2,3".to_owned()),
        1 => Just("words".to_owned()),
        1 => Just("stop, here".to_owned()),
        1 => Just("-999,-999".to_owned()),
        1 => Just(String::new()),
    ], 0..40)) {
        // A step becomes the time that it leads to.
        let mut now = 0;
        let rows: Vec<String> = rows.into_iter().map(|row| match row.strip_prefix('+').and_then(|r| r.split_once(',')) {
            Some((step, value)) => {
                now += step.parse::<u32>().expect("a step");
                format!("{now},{value}")
            }
            None => row,
        }).collect();
        let start = "t [s],IAS\n0,1\n0.1,1\n0.2,1\n0.3,1\n0.4,1\n0.5,1\n0.6,1\n0.7,1\n0.8,1\n";
        // Enough rows that rise: what mostly falls is no clock.
        let end: String = (500..550).map(|t| format!("{t},2\n")).collect();
        let text = format!("{start}{}\n{end}", rows.join("\n"));
        let log = read(text.as_bytes());
        let present = 60 + rows.iter().filter(|row| !row.is_empty()).count();
        prop_assert_eq!(log.rows_read + log.rows_refused + log.rows_left_out, present, "{:?}", log.findings);
        let told = ["text_line", "row_width", "row_without_time", "header_changes", "stamp_repeated", "stamp_ahead", "clock_back", "clock_restarts"];
        prop_assert_eq!(log.rows_refused > 0, log.findings.iter().any(|f| told.contains(&f.code)), "{:?}", log.findings);
    }
}
