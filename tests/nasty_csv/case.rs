//! What one log is, and what must come of it.

/// One log: its clause, its bytes, keys of the flight file, then what must come of it.
pub struct Case {
    pub clause: &'static str,
    pub bytes: Vec<u8>,
    pub keys: &'static str,
    /// Rows read, refused, left out.
    pub counts: [usize; 3],
    /// Codes with their rows (0: the whole file), in the order that they are told.
    pub findings: &'static [(&'static str, u64)],
    /// A channel, and its numbers with their times.
    pub channel: (&'static str, &'static [(f64, f64)]),
    /// The first instant; empty where there is none.
    pub utc: &'static str,
}

pub fn text(
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

pub fn bytes(
    clause: &'static str,
    bytes: Vec<u8>,
    counts: [usize; 3],
    findings: &'static [(&'static str, u64)],
) -> Case {
    Case { clause, bytes, keys: "", counts, findings, channel: ("IAS", IAS), utc: "" }
}

pub const IAS: &[(f64, f64)] = &[(0.0, 20.5), (1.0, 21.25), (2.0, 22.0)];
pub const PLAIN: &str = "t [s],IAS [kt],Öl [°C]\n0,20.5,80\n1,21.25,81\n2,22,82\n";
pub const COMMA: &str = "t [s];IAS [kt]\n0,0;20,5\n1,0;21,25\n2,0;22,0\n";
