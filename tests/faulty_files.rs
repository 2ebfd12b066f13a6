//! Flight and panel files with one fault each: the message must show the line, what was found, what was expected, and the cure.
//!
//! `JUMPSEAT_SHOW_FAULTS=1 cargo test --test faulty_files -- --nocapture` prints every message as a person sees it.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use std::path::Path;
use std::process::Command;

const PANEL: &str = r#"title = "The Dunlin's panel"

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

const FLIGHT: &str = r#"title = "Hover practice"
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

const AIR: &str = "utc,IAS (kt)\n2026-05-02T09:00:00Z,21\n2026-05-02T09:00:01Z,25\n2026-05-02T09:00:02Z,29\n";
const ENGINE: &str =
    "time_ms,Rotor,Engine,Volts,Low Rotor\nms,%,%,V,\n0,99,99,27.9,0\n1000,98,99,27.9,0\n2000,94,95,27.8,1\n";

/// One fault: which file, the words taken out, the words put in, the fault's code, words of its message and cure, and the
/// text of the line that it must point at.
struct Case {
    panel: bool,
    out: &'static str,
    put: &'static str,
    code: &'static str,
    words: &'static [&'static str],
    line: &'static str,
}

const fn panel(
    out: &'static str,
    put: &'static str,
    code: &'static str,
    words: &'static [&'static str],
    line: &'static str,
) -> Case {
    Case { panel: true, out, put, code, words, line }
}

const fn flight(
    out: &'static str,
    put: &'static str,
    code: &'static str,
    words: &'static [&'static str],
    line: &'static str,
) -> Case {
    Case { panel: false, out, put, code, words, line }
}

/// The tile of the panel, whose place another instrument takes.
const TILE: &str = "kind = \"tile\"\nchannel = \"engine.Volts\"\ntitle = \"VOLTS\"\nunit = \"V\"\ndecimals = 1";

const CASES: &[Case] = &[
    panel("title = \"The", "titel = \"The", "unknown_key", &["titel", "did you mean title?"], "titel ="),
    panel(
        "[theme]\nname = \"graphite\"",
        "[theme]\nname = \"grafite\"",
        "unknown_word",
        &["grafite", "graphite", "did you mean"],
        "name = \"grafite\"",
    ),
    panel(
        "kind = \"dial\"",
        "kind = \"dail\"",
        "unknown_word",
        &["dail", "dial, tile, tachometer", "did you mean \"dial\"?"],
        "kind = \"dail\"",
    ),
    panel(
        TILE,
        "kind = \"clock\"\nshows = \"gmt\"",
        "unknown_word",
        &["gmt", "utc, film, session, local"],
        "shows = \"gmt\"",
    ),
    panel(TILE, "kind = \"clock\"\nshows = \"local\"", "missing_key", &["utc_offset", "+02:00"], "[[instrument]]"),
    panel(
        TILE,
        "kind = \"clock\"\nshows = \"utc\"\nutc_offset = \"+02:00\"",
        "offset_has_no_place",
        &["local time", "take it out"],
        "[[instrument]]",
    ),
    panel(
        TILE,
        "kind = \"clock\"\nshows = \"local\"\nutc_offset = \"2 h\"",
        "bad_offset",
        &["2 h", "-18:00 to +18:00", "-05:30"],
        "utc_offset = \"2 h\"",
    ),
    panel(
        TILE,
        "kind = \"strip\"\nchannels = [\"engine.Volts\"]\nfrom = 30\nto = 20",
        "empty_range",
        &["from 30 to 20", "lower value"],
        "to = 20",
    ),
    panel(
        TILE,
        "kind = \"strip\"\nchannels = [\"engine.Volts\"]\nfrom = 20\nto = 30\nseconds = 2",
        "out_of_range",
        &["seconds", "5 to 600"],
        "seconds = 2",
    ),
    panel(
        TILE,
        "kind = \"strip\"\nchannels = [\"engine.Volts\", \"engine.Rotor\", \"engine.Engine\", \"air.IAS\"]\nfrom = 20\nto = 30",
        "out_of_range",
        &["4 channels", "one to three", "two strips"],
        "channels =",
    ),
    panel(
        TILE,
        "kind = \"strip\"\nchannels = [\"engine.Volts\"]\nnames = [\"a\", \"b\"]\nfrom = 20\nto = 30",
        "names_do_not_match",
        &["2 entries for 1", "one name for each"],
        "names =",
    ),
    panel(TILE, "kind = \"attitude\"\npitch = \"air.IAS\"", "missing_key", &["bank", "air.bank"], "[[instrument]]"),
    panel(
        TILE,
        "kind = \"controls\"\npedals = \"engine.Volts\"\npedals_range = [5, 5]",
        "out_of_range",
        &["pedals_range", "[-100, 100]"],
        "pedals_range",
    ),
    panel(TILE, "kind = \"controls\"", "missing_key", &["at least one of", "pedals"], "[[instrument]]"),
    panel(
        TILE,
        "kind = \"slip\"\nchannel = \"engine.Volts\"",
        "unit_does_not_convert",
        &["recorded in V", "shown in g"],
        "[[instrument]]",
    ),
    panel(TILE, "kind = \"legend\"\nfrom = 9\nto = 8", "empty_range", &["9 s to 8 s", "never"], "to = 8"),
    panel(
        TILE,
        "kind = \"altimeter\"\ndatum = \"gnss\"\nchannel = \"engine.Volts\"",
        "satellite_altitude",
        &["gnss", "never", "kind = \"tile\""],
        "datum = \"gnss\"",
    ),
    panel(
        TILE,
        "kind = \"altimeter\"\nchannel = \"air.GPS Altitude\"",
        "satellite_altitude",
        &["air.GPS Altitude", "never", "kind = \"tile\""],
        "channel = \"air.GPS Altitude\"",
    ),
    panel(
        TILE,
        "kind = \"altimeter\"\nchannel = \"air.Pressure Altitude\"",
        "pressure_altitude",
        &["air.Pressure Altitude", "datum = \"pressure\""],
        "channel = \"air.Pressure Altitude\"",
    ),
    panel(
        TILE,
        "kind = \"altimeter\"\ndatum = \"qfe\"\nchannel = \"engine.Volts\"",
        "unknown_word",
        &["qfe", "indicated, pressure"],
        "datum = \"qfe\"",
    ),
    panel(
        TILE,
        "kind = \"altimeter\"\nunit = \"m\"\nchannel = \"engine.Volts\"",
        "not_for_this_face",
        &["\"m\"", "in ft", "tile"],
        "unit = \"m\"",
    ),
    panel(
        TILE,
        "kind = \"altimeter\"\nsetting = \"2992 inHg\"\nchannel = \"engine.Volts\"",
        "out_of_range",
        &["2992.00 inHg", "29.92 inHg"],
        "setting = \"2992 inHg\"",
    ),
    panel(
        TILE,
        "kind = \"altimeter\"\ndatum = \"pressure\"\nsetting = \"1013 hPa\"\nchannel = \"engine.Volts\"",
        "setting_has_no_place",
        &["standard pressure", "take `setting` out"],
        "setting = \"1013 hPa\"",
    ),
    panel(
        TILE,
        "kind = \"vertical_speed\"\nunit = \"kt\"\nchannel = \"engine.Volts\"",
        "not_for_this_face",
        &["\"kt\"", "ft/min or m/s", "converted"],
        "unit = \"kt\"",
    ),
    panel(
        TILE,
        "kind = \"vertical_speed\"\nrange = 1234\nchannel = \"engine.Volts\"",
        "out_of_range",
        &["1234", "2000"],
        "range = 1234",
    ),
    panel(
        TILE,
        "kind = \"heading\"\nchannel = \"engine.Volts\"",
        "missing_key",
        &["reference", "magnetic", "true"],
        "[[instrument]]",
    ),
    panel(
        TILE,
        "kind = \"heading\"\nreference = \"grid\"\nchannel = \"engine.Volts\"",
        "unknown_word",
        &["grid", "magnetic, true"],
        "reference = \"grid\"",
    ),
    panel(
        TILE,
        "kind = \"heading\"\nreference = \"true\"\nchannel = \"air.GPS Track\"",
        "track_is_no_heading",
        &["air.GPS Track", "over the ground", "kind = \"tile\""],
        "channel = \"air.GPS Track\"",
    ),
    panel(
        TILE,
        "kind = \"heading_tape\"\nreference = \"true\"\nchannel = \"air.COG\"",
        "track_is_no_heading",
        &["air.COG", "over the ground", "kind = \"tile\""],
        "channel = \"air.COG\"",
    ),
    panel(
        TILE,
        "kind = \"heading_tape\"\nreference = \"true\"\nwidth = 12\nchannel = \"engine.Volts\"",
        "out_of_range",
        &["`width` is 12", "0.24 to 1.2"],
        "width = 12",
    ),
    panel(
        TILE,
        "kind = \"bar\"\nchannel = \"engine.Volts\"\nwidth = 0.1\nscale = { from = 0, to = 30, step = 10 }",
        "out_of_range",
        &["`width` is 0.1", "0.3 to 3", "height of a landscape picture"],
        "width = 0.1",
    ),
    panel(TILE, "kind = \"bar\"\nchannel = \"engine.Volts\"", "missing_key", &["scale", "from = 0"], "[[instrument]]"),
    panel(
        TILE,
        "kind = \"bar\"\nchannel = \"engine.Volts\"\nscale = { from = 30, to = 20, step = 10 }",
        "scale_not_rising",
        &["from 30 to 20", "above `from`"],
        "to = 20",
    ),
    panel(
        TILE,
        "kind = \"tape\"\nchannel = \"engine.Volts\"\nspan = 1000\nticks = { long = 1 }",
        "out_of_range",
        &["shows 1000", "1 to 12 long ticks"],
        "span = 1000",
    ),
    panel(
        TILE,
        "kind = \"tape\"\nchannel = \"engine.Volts\"\nspan = 10\nticks = { long = 5 }\nfrom = 30\nto = 20",
        "scale_not_rising",
        &["`to` is 20", "starts at 30"],
        "to = 20",
    ),
    panel(
        TILE,
        "kind = \"pair\"\nleft = { channel = \"engine.Volts\", letter = \"V\", scale = { breakpoints = [[0, -140], [30, -40]], ticks = { long = 10 } } }",
        "missing_key",
        &["right", "[instrument.right]"],
        "[[instrument]]",
    ),
    panel(
        TILE,
        "kind = \"pair\"\nleft = { channel = \"engine.Volts\", letter = \"V\", scale = { breakpoints = [[0, -140], [30, 40]], ticks = { long = 10 } } }\nright = { channel = \"engine.Rotor\", letter = \"R\", scale = { breakpoints = [[0, 140], [30, 40]], ticks = { long = 10 } } }",
        "angle_on_other_side",
        &["-150 and -25", "-140 over -90"],
        "left = {",
    ),
    panel("engine = \"engine.Engine\"\n", "", "missing_key", &["instrument[2]", "engine"], "[[instrument]]"),
    panel(
        "rotor = \"engine.Rotor\"",
        "channel = \"engine.Rotor\"\nrotor = \"engine.Rotor\"",
        "unknown_key",
        &["channel"],
        "channel = \"engine.Rotor\"",
    ),
    panel(
        "engine = \"engine.Engine\"",
        "engine = \"engine.Engin\"",
        "unknown_channel",
        &["engine.Engin", "engine.Engine"],
        "engine = \"engine.Engin\"",
    ),
    panel("lane = \"engine\"", "lane = \"motor\"", "unknown_word", &["motor", "rotor, engine"], "lane = \"motor\""),
    panel("to = 101\n", "to = 131\n", "marking_off_scale", &["131", "0 to 121"], "to = 131"),
    panel("kind = \"tile\"", "", "missing_key", &["instrument[3]", "kind", "dial"], "[[instrument]]"),
    panel("channel = \"air.IAS\"", "", "missing_key", &["instrument[1]", "channel", "air.IAS"], "[[instrument]]"),
    panel(
        "channel = \"air.IAS\"",
        "channel = \"air.ISA\"",
        "unknown_channel",
        &["air.ISA", "nearest is \"air.IAS\""],
        "channel = \"air.ISA\"",
    ),
    panel(
        "channel = \"engine.Volts\"",
        "channel = \"Vlots\"",
        "unknown_channel",
        &["Vlots", "engine.Volts"],
        "channel = \"Vlots\"",
    ),
    panel(
        "channel = \"engine.Low Rotor\"",
        "channel = \"engine.LowRotor\"",
        "not_recorded",
        &["engine.Low Rotor", "will not be drawn"],
        "channel = \"engine.LowRotor\"",
    ),
    panel(
        "channel = \"engine.Rotor\"",
        "channel = \"rotor.Engine\"",
        "unknown_channel",
        &["rotor.Engine"],
        "channel = \"rotor.Engine\"",
    ),
    panel("unit = \"kt\"", "unit = \"knotz\"", "unknown_unit", &["knotz"], "unit = \"knotz\""),
    panel(
        "unit = \"kt\"",
        "unit = \"psi\"",
        "unit_does_not_convert",
        &["recorded in kt", "psi", "same kind"],
        "unit = \"psi\"",
    ),
    panel("unit = \"kt\"", "unit = 5", "wrong_kind", &["the number 5", "a text in quotes"], "unit = 5"),
    panel("decimals = 0", "decimals = 2.5", "out_of_range", &["2.5", "whole number from 0 to 6"], "decimals = 2.5"),
    panel(
        "decimals = 0",
        "decimals = \"0\"",
        "wrong_kind",
        &["the text \"0\"", "a number", "without quotes"],
        "decimals = \"0\"",
    ),
    panel("side = \"left\"", "side = \"port\"", "unknown_word", &["port", "left, right, centre"], "side = \"port\""),
    panel("size = \"XL\"", "size = \"XXL\"", "unknown_word", &["XXL", "XL, L, M, S"], "size = \"XXL\""),
    panel("from_side = 0.172, ", "", "missing_key", &["from_side", "modules"], "place = {"),
    panel(
        "from_side = 0.172",
        "fromside = 0.172",
        "unknown_key",
        &["fromside", "did you mean from_side?"],
        "place = {",
    ),
    panel(
        "place = { side = \"left\", from_side = 0.172, from_bottom = 0.172, size = \"XL\" }",
        "",
        "missing_key",
        &["instrument[1]", "place"],
        "[[instrument]]",
    ),
    panel(
        "scale.breakpoints = [[20, -126], [110, 126]]",
        "scale.breakpoints = [[110, 126], [20, -126]]",
        "scale_not_rising",
        &["values rise", "lowest value first"],
        "scale.breakpoints",
    ),
    panel(
        "scale.breakpoints = [[20, -126], [110, 126]]",
        "scale.breakpoints = [[20, -126]]",
        "scale_not_rising",
        &["at least two"],
        "scale.breakpoints",
    ),
    panel(
        "scale.breakpoints = [[20, -126], [110, 126]]",
        "scale.breakpoints = [20, 110]",
        "wrong_kind",
        &["[number, number]"],
        "scale.breakpoints",
    ),
    panel("scale.breakpoints = [[20, -126], [110, 126]]\n", "", "missing_key", &["breakpoints", "angles"], "scale."),
    panel("long = 20, middle", "long = -20, middle", "out_of_range", &["-20", "above zero"], "scale.ticks"),
    panel("scale.ticks = { long = 20, middle = 10, short = 2 }", "", "missing_key", &["ticks", "long"], "scale."),
    panel(
        "scale.numerals = [20, 40, 60, 80, 100]",
        "scale.numerals = [20, 40]\nscale.numerals_text = [\"2\"]",
        "numerals_do_not_match",
        &["1 entries for 2 numerals"],
        "numerals_text",
    ),
    panel(
        "unit = \"V\"",
        "unit = \"V\"\nscale.breakpoints = [[0, 0], [1, 1]]",
        "not_for_a_tile",
        &["a tile has no `scale`"],
        "scale.breakpoints",
    ),
    panel(
        "kind = \"limit\"\nat = 102",
        "kind = \"limit\"",
        "missing_key",
        &["marking[2]", "at"],
        "[[instrument.marking]]",
    ),
    panel("at = 102", "at = 120", "marking_off_scale", &["120", "20 to 110"], "at = 120"),
    panel("from = 20\nto = 80", "from = 80\nto = 20", "empty_range", &["80", "20", "empty"], "to = 20"),
    panel(
        "kind = \"normal\"",
        "kind = \"green\"",
        "unknown_word",
        &["green", "normal, precaution, forbidden, limit"],
        "kind = \"green\"",
    ),
    panel(
        "name = \"volts\"",
        "name = \"airspeed\"",
        "name_twice",
        &["airspeed", "taken already"],
        "name = \"airspeed\"",
    ),
    panel(
        "name = \"volts\"",
        "name = \"volts, main\"",
        "bad_name",
        &["volts, main", "letters"],
        "name = \"volts, main\"",
    ),
    panel(
        "severity = \"warning\"\n\n[[limit]]",
        "severity = \"red\"\n\n[[limit]]",
        "unknown_word",
        &["red", "warning, caution, advisory, in transit, normal"],
        "severity = \"red\"",
    ),
    panel(
        "severity = \"warning\"\nsource",
        "severity = \"normal\"\nsource",
        "unknown_word",
        &["normal", "warning, caution, advisory"],
        "severity = \"normal\"",
    ),
    panel(
        "[[limit]]",
        "[[lamp]]\nname = \"high_rotor\"\nchannel = \"engine.Low Rotor\"\nsubject = \"ROTOR\"\nlit = \"HIGH\"\n\
         severity = \"warning\"\nalways_one = true\n\n[[limit]]",
        "always_one_mixed",
        &["ROTOR", "all of them"],
        "[[lamp]]",
    ),
    panel(
        "lit = \"LOW\"",
        "lit = [\"ROTOR\", \"IS\", \"LOW\"]",
        "out_of_range",
        &["3 lines", "two"],
        "lit = [\"ROTOR\", \"IS\", \"LOW\"]",
    ),
    panel("lit = \"LOW\"", "lit = \"\"", "does_not_fit", &["empty", "LOW"], "lit = \"\""),
    panel(
        "lit = \"LOW\"",
        "lit = \"VERY MUCH TOO LOW INDEED\"",
        "does_not_fit",
        &["24 letters", "18"],
        "lit = \"VERY MUCH TOO LOW INDEED\"",
    ),
    panel("for = 0.3", "for = -0.3", "out_of_range", &["-0.3", "zero or more"], "for = -0.3"),
    panel("for = 0.3", "for = 0.3\nclear_by = -1", "out_of_range", &["-1", "zero or more"], "clear_by = -1"),
    panel(
        "for = 0.3",
        "for = 0.3\narmed_by = { for = 5.0 }",
        "missing_key",
        &["armed_by", "`below` or `above`"],
        "armed_by = { for = 5.0 }",
    ),
    panel("[[limit]]", "[lamps]\nfrom_bottm = 0.2\n\n[[limit]]", "unknown_key", &["from_bottom"], "from_bottm = 0.2"),
    panel(
        "below = 95",
        "below = 95\nabove = 105",
        "two_bounds",
        &["either `below` or `above`", "two limits"],
        "above = 105",
    ),
    panel(
        "severity = \"warning\"\nsource = \"invented\"",
        "severity = \"warning\"",
        "missing_key",
        &["limit[1]", "source", "flight manual"],
        "[[limit]]",
    ),
    panel("x = 0.3", "x = 300", "out_of_range", &["300", "fraction", "divide"], "x = 300"),
    panel("[[keep_clear]]", "[keep_clear]", "wrong_kind", &["a table", "double square brackets"], "[keep_clear]"),
    panel("lit = \"LOW\"", "lit = \"LOW", "not_toml", &["mend"], "lit = \"LOW"),
    flight("aircraft", "airplane", "unknown_key", &["airplane"], "airplane ="),
    flight("panel.toml", "pannel.toml", "cannot_open", &["pannel.toml", "No such file"], "panel = \"pannel.toml\""),
    flight("engine.csv", "motor.csv", "log_not_read", &["motor.csv"], "file = \"motor.csv\""),
    flight("name = \"engine\"", "name = \"air\"", "name_twice", &["air", "taken"], "name = \"air\""),
    flight("name = \"engine\"", "name = \"the engine\"", "bad_name", &["the engine"], "name = \"the engine\""),
    flight(
        "file = \"air.csv\"\nreference = true",
        "file = \"air.csv\"\nreference = \"yes\"",
        "wrong_kind",
        &["the text \"yes\"", "true or false"],
        "reference = \"yes\"",
    ),
    flight(
        "file = \"engine.csv\"",
        "file = \"engine.csv\"\nreference = true",
        "two_references",
        &["second reference", "keep one"],
        "file = \"engine.csv\"",
    ),
    flight(
        "file = \"engine.csv\"",
        "file = \"engine.csv\"\ndate_order = \"dmy\"",
        "unknown_word",
        &["dmy", "day-first, month-first, year-first"],
        "date_order",
    ),
    flight(
        "file = \"engine.csv\"",
        "file = \"engine.csv\"\nutc_offset = \"+2\"",
        "bad_offset",
        &["+2", "+02:00"],
        "utc_offset",
    ),
    flight("oat = \"12 degC\"", "oat = 12", "wrong_kind", &["the number 12", "a text in quotes"], "oat = 12"),
    flight("oat = \"12 degC\"", "oat = \"warm\"", "not_a_quantity", &["warm", "12 degC"], "oat = \"warm\""),
    flight(
        "field_elevation = \"420 ft\"",
        "field_elevation = \"420 psi\"",
        "unknown_unit",
        &["psi", "420 ft"],
        "field_elevation",
    ),
    flight(
        "setting = \"29.87 inHg\"",
        "",
        "missing_key",
        &["setting", "29.92 inHg"],
        "[[conditions.altimeter_setting]]",
    ),
    flight("engine = 12.35", "enigne = 12.35", "unknown_key", &["enigne", "did you mean engine?"], "enigne"),
    flight(
        "engine = 12.35",
        "",
        "mark_joins_nothing",
        &["1 of the clocks film, air, engine", "another clock"],
        "[[clock.mark]]",
    ),
    flight("engine = 12.35", "engine = \"12.35\"", "wrong_kind", &["a number of seconds"], "engine = \"12.35\""),
    flight("engine = 12.35", "film = \"1:75\"", "bad_film_time", &["1:75", "1:15.5"], "film = \"1:75\""),
    flight(
        "[[clock.mark]]\nair = 4.2\nengine = 12.35",
        "",
        "log_not_joined",
        &["engine", "[[clock.mark]]"],
        "file = \"engine.csv\"",
    ),
    flight(
        "engine = 12.35",
        "engine = 12.35\n[[clock.mark]]\nair = 5.2\nengine = 30",
        "marks_contradict",
        &["`engine`", "to 1", "same moment"],
        "[[clock.mark]]",
    ),
    flight(
        "engine = 12.35",
        "engine = 12.35\n[[clock.mark]]\nair = 4.2\nengine = 13.35",
        "marks_contradict",
        &["s apart", "same moment"],
        "[[clock.mark]]",
    ),
];

fn check(folder: &Path) -> (Option<i32>, serde_json::Value, String) {
    let program = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
        command.current_dir(folder).args(["check", "flight.toml"]);
        command
    };
    let json = program().arg("--json").output().expect("started");
    let text = program().output().expect("started");
    let document = serde_json::from_slice(&json.stdout).expect("one JSON document");
    assert_eq!(json.status.code(), text.status.code());
    (text.status.code(), document, String::from_utf8_lossy(&text.stderr).into_owned())
}

fn write(folder: &Path, panel: &str, flight: &str) {
    for (name, text) in [("panel.toml", panel), ("flight.toml", flight), ("air.csv", AIR), ("engine.csv", ENGINE)] {
        std::fs::write(folder.join(name), text).expect("file");
    }
}

#[test]
fn sound_files_pass() {
    let folder = tempfile::tempdir().expect("folder");
    write(folder.path(), PANEL, FLIGHT);
    let (code, document, text) = check(folder.path());
    assert_eq!((code, &document["ok"]), (Some(0), &true.into()), "{text}");
    assert_eq!(document["findings"].as_array().map(Vec::len), Some(0), "{text}");
}

#[test]
fn every_fault_shows_its_line_and_its_cure() {
    assert!(CASES.len() >= 40);
    let mut wrong = Vec::new();
    for case in CASES {
        let folder = tempfile::tempdir().expect("folder");
        let source = if case.panel { PANEL } else { FLIGHT };
        let faulty = source.replacen(case.out, case.put, 1);
        assert_ne!(faulty, source, "nothing to replace: {}", case.out);
        if case.panel {
            write(folder.path(), &faulty, FLIGHT)
        } else {
            write(folder.path(), PANEL, &faulty)
        }
        let (code, document, text) = check(folder.path());
        if std::env::var_os("JUMPSEAT_SHOW_FAULTS").is_some() {
            println!("---- {} -> {}\n{text}", case.out, case.put);
        }
        let mut complain = |what: String| wrong.push(format!("{what}: {} -> {}\n{text}", case.out, case.put));
        // A lamp that the logger does not record is a remark, and the only one that is made here.
        if code != Some(if case.code == "not_recorded" { 0 } else { 2 }) {
            complain(format!("exit code {code:?}"));
        }
        let findings = document["findings"].as_array().expect("findings");
        let Some(found) = findings.iter().find(|f| f["code"] == case.code) else {
            complain(format!("no {}", case.code));
            continue;
        };
        // A value that is wrong is not missing as well, nor is anything else wrong because of it.
        if matches!(case.code, "unknown_word" | "wrong_kind" | "out_of_range" | "unknown_unit") && findings.len() != 1 {
            complain(format!("{} faults for one", findings.len()));
        }
        let said = format!("{} {} {}", found["message"], found["cure"], found["key"]).replace('\\', "");
        for word in case.words.iter().filter(|w| !said.contains(**w)) {
            complain(format!("no `{word}` in {said}"));
        }
        let line = found["line"].as_u64().expect("a line") as usize;
        let shown = faulty.lines().nth(line - 1).unwrap_or_default();
        if !shown.contains(case.line) {
            complain(format!("line {line} is `{shown}`"));
        }
        // The text form shows the same line with a caret under it.
        if !text.contains('^') || !text.contains(shown.trim()) {
            complain("no line with a caret".into());
        }
    }
    assert!(wrong.is_empty(), "{} of {} cases:\n{}", wrong.len(), CASES.len(), wrong.join("\n"));
}
