//! Sound files, and how one fault is put into them.

pub const PANEL: &str = r#"title = "The Dunlin's panel"

[theme]
name = "graphite"

[[instrument]]
name = "airspeed"
kind = "dial"
channel = "air.IAS"
title = ["AIRSPEED"]
unit = "kt"
decimals = 0
place = { side = "left", from_side = 0.172, from_bottom = 0.172, size = "XL" }
scale.breakpoints = [[20, -126], [110, 126]]
scale.ticks = { long = 20, middle = 10, short = 2 }
scale.numerals = [20, 40, 60, 80, 100]

[[instrument.marking]]
kind = "normal"
from = 20
to = 80
source = "invented"

[[instrument.marking]]
kind = "limit"
at = 102
source = "invented"

[[instrument]]
name = "rpm"
kind = "tachometer"
rotor = "engine.Rotor"
engine = "engine.Engine"
place = { side = "right", from_side = 0.172, from_bottom = 0.172, size = "XL" }
scale.breakpoints = [[0, -142], [80, -90], [121, 94.5]]
scale.ticks = { long = 20, middle = 10, short = 1 }

[[instrument.marking]]
kind = "normal"
lane = "engine"
from = 97
to = 101
source = "invented"

[[instrument]]
name = "volts"
kind = "tile"
channel = "engine.Volts"
title = "VOLTS"
unit = "V"
decimals = 1
place = { side = "centre", from_side = 0.1, from_bottom = 0.06, size = "M" }

[[lamp]]
name = "low_rotor"
channel = "engine.Low Rotor"
subject = "ROTOR"
lit = "LOW"
severity = "warning"

[[limit]]
name = "rotor low"
channel = "engine.Rotor"
below = 95
for = 0.3
severity = "warning"
source = "invented"

[[keep_clear]]
name = "the real panel"
x = 0.3
y = 0.55
width = 0.2
height = 0.1
"#;

pub const FLIGHT: &str = r#"title = "Hover practice"
aircraft = "Dunlin, of Harrowmere"
panel = "panel.toml"

[[log]]
name = "air"
file = "air.csv"
reference = true

[[log]]
name = "engine"
file = "engine.csv"

[conditions]
oat = "12 degC"
field_elevation = "420 ft"

[[conditions.altimeter_setting]]
from = 0
setting = "29.87 inHg"

[[clock.mark]]
air = 4.2
engine = 12.35
"#;

pub const AIR: &str = "utc,IAS (kt)\n2026-05-02T09:00:00Z,21\n2026-05-02T09:00:01Z,25\n2026-05-02T09:00:02Z,29\n";
pub const ENGINE: &str =
    "time_ms,Rotor,Engine,Volts,Low Rotor\nms,%,%,V,\n0,99,99,27.9,0\n1000,98,99,27.9,0\n2000,94,95,27.8,1\n";

/// One fault: which file, the words taken out, the words put in, the fault's code, words of its message and cure, and the
/// text of the line that it must point at.
pub struct Case {
    pub panel: bool,
    pub out: &'static str,
    pub put: &'static str,
    pub code: &'static str,
    pub words: &'static [&'static str],
    pub line: &'static str,
}

pub const fn panel(
    out: &'static str,
    put: &'static str,
    code: &'static str,
    words: &'static [&'static str],
    line: &'static str,
) -> Case {
    Case { panel: true, out, put, code, words, line }
}

pub const fn flight(
    out: &'static str,
    put: &'static str,
    code: &'static str,
    words: &'static [&'static str],
    line: &'static str,
) -> Case {
    Case { panel: false, out, put, code, words, line }
}

/// The tile of the panel, whose place another instrument takes.
pub const TILE: &str = "kind = \"tile\"\nchannel = \"engine.Volts\"\ntitle = \"VOLTS\"\nunit = \"V\"\ndecimals = 1";
/// The start of the tile's place, before which other keys may stand.
pub const VOLTS_PLACE: &str = "place = { side = \"centre\", from_side = 0.1";
