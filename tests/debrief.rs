//! `jumpseat debrief`: the document, its tables and the page as files. What the page does is tried in `tests/page`.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

fn run(folder: &Path, arguments: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
    command.current_dir(folder).args(arguments.split_whitespace()).output().expect("jumpseat runs")
}

fn done(folder: &Path, arguments: &str) -> Vec<u8> {
    let output = run(folder, arguments);
    assert!(output.status.success(), "{arguments}: {}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

/// A flight of the demo's, without its film.
fn flown() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("folder");
    done(folder.path(), "demo . --no-film --seconds 60");
    folder
}

fn json(folder: &Path, arguments: &str) -> Value {
    serde_json::from_slice(&done(folder, arguments)).expect("one document")
}

/// What stands between a page's script element of this id and its end.
fn block<'a>(page: &'a str, id: &str) -> &'a str {
    let (_, after) = page.split_once(&format!("id=\"{id}\">")).expect("the element");
    after.split_once("</script>").expect("its end").0
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[test]
fn the_document_is_whole() {
    let folder = flown();
    let document = json(folder.path(), "debrief flight.toml --json");
    let keys = [
        "flight",
        "phases",
        "events",
        "exceedances",
        "not_judged",
        "limits",
        "figures",
        "empty",
        "data_quality",
        "clocks",
        "findings",
        "provenance",
    ];
    for key in keys {
        assert!(document.get(key).is_some(), "{key}");
    }
    let (from, to) = (number(&document["flight"]["from_s"]), number(&document["flight"]["to_s"]));
    let phases = document["phases"].as_array().expect("phases");
    assert!(phases.len() > 5, "{phases:?}");
    assert_eq!((number(&phases[0]["from_s"]), number(&phases[phases.len() - 1]["to_s"])), (from, to));
    assert!(phases.windows(2).all(|pair| pair[0]["to_s"] == pair[1]["from_s"]), "one phase ends where the next begins");
    for quality in document["data_quality"].as_array().expect("channels") {
        let shares = ["measured", "derived", "held", "stale", "invalid", "saturated"].map(|key| number(&quality[key]));
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{quality}");
    }
    // The demo's rotor falls below its limit in cruise, and its engine drives it in a practice autorotation no more.
    let exceedances = document["exceedances"].as_array().expect("exceedances");
    assert!(exceedances.iter().any(|e| e["limit"] == "rotor low" && e["phase"] == "CRUISE"), "{exceedances:?}");
    for e in exceedances {
        let (from, to, peak) = (number(&e["from_s"]), number(&e["to_s"]), number(&e["peak_s"]));
        assert!(from <= peak && peak <= to, "{e}");
        assert_eq!(e["source"], "invented for the demo", "{e}");
    }
    let kinds: Vec<&str> =
        document["events"].as_array().expect("events").iter().filter_map(|e| e["kind"].as_str()).collect();
    assert!(kinds.contains(&"autorotation"), "{kinds:?}");
    assert!(
        document["events"].as_array().expect("events").iter().all(|e| e["utc"].is_string()),
        "the air log knows UTC"
    );
    let files = document["provenance"]["files"].as_array().expect("files");
    let hash = |role: &str| files.iter().find(|f| f["role"] == role).map(|f| f["sha256"].clone()).expect("a file");
    // The same file by another program.
    let other = Command::new("sha256sum").arg(folder.path().join("panel.toml")).output().expect("sha256sum");
    assert_eq!(hash("panel").as_str(), String::from_utf8_lossy(&other.stdout).split_whitespace().next());
}

#[test]
fn tables_hold_what_the_document_holds() {
    let folder = flown();
    let document = json(folder.path(), "debrief flight.toml --json --csv tables");
    for (file, list) in [
        ("events.csv", "events"),
        ("exceedances.csv", "exceedances"),
        ("not_judged.csv", "not_judged"),
        ("phases.csv", "phases"),
        ("quality.csv", "data_quality"),
    ] {
        let mut table = csv::Reader::from_path(folder.path().join("tables").join(file)).expect("a table");
        let headers = table.headers().expect("headers").clone();
        let rows: Vec<csv::StringRecord> = table.records().collect::<Result<_, _>>().expect("rows");
        let list = document[list].as_array().expect("a list");
        assert_eq!(rows.len(), list.len(), "{file}");
        for (row, told) in rows.iter().zip(list) {
            for (key, cell) in headers.iter().zip(row).filter(|(key, _)| key.ends_with("_s") && *key != "film_s") {
                let same = cell.parse::<f64>().map_or(told[key].is_null(), |v| (v - number(&told[key])).abs() < 6e-4);
                assert!(same, "{file}: {key} is {cell}, and {} in the document", told[key]);
            }
        }
    }
    let again = run(folder.path(), "debrief flight.toml --csv tables");
    assert_eq!(again.status.code(), Some(2), "tables are not replaced unasked");
    assert!(String::from_utf8_lossy(&again.stderr).contains("--overwrite"));
    done(folder.path(), "debrief flight.toml --csv tables --overwrite");
}

#[test]
fn a_page_stands_alone() {
    let folder = flown();
    done(folder.path(), "debrief flight.toml -o page.html");
    let page = fs::read_to_string(folder.path().join("page.html")).expect("a page");
    let told: Value = serde_json::from_str(block(&page, "document")).expect("a document");
    let mut document = json(folder.path(), "debrief flight.toml --json");
    document["provenance"]["made_utc"] = told["provenance"]["made_utc"].clone();
    assert_eq!(told, document, "the page carries what --json writes");
    // The plots' script names its home in a remark; nothing asks for an address.
    for outside in ["url(h", "url(\"", "url(/", "@import", " src=", "href=\"h", "href=\"/", "fetch(", "XMLHttpRequest"]
    {
        let markup = page.replace(block(&page, "document"), "");
        assert!(!markup.contains(outside), "the page asks for something: {outside}");
    }
    assert!(page.contains("default-src &#39;none&#39;"));
    let refused = run(folder.path(), "debrief flight.toml -o page.html");
    assert_eq!(refused.status.code(), Some(2));
    let missing = run(folder.path(), "debrief flight.toml -o other.html --film none.mp4");
    assert_eq!(missing.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&missing.stderr).contains("none.mp4: does not exist"));
    let input = run(folder.path(), "debrief flight.toml -o panel.toml --overwrite");
    assert_eq!(input.status.code(), Some(2), "an input is never written");
}

/// Whatever a log or a flight file says is text on the page, never markup and never a script.
#[test]
fn nasty_names_stay_text() {
    let folder = tempfile::tempdir().expect("folder");
    let names = [
        "</script><script>alert(1)</script>",
        "<!--<script>",
        "\u{202e}gnp.exe",
        "a\"b'c&amp;d",
        "{{bytes}}",
        "line\u{2028}line",
        "<img src=x onerror=alert(1)>",
    ];
    let header: Vec<String> = names.iter().map(|n| format!("\"{}\"", n.replace('"', "\"\""))).collect();
    let mut log = format!("time_s,{}\n", header.join(","));
    for i in 0..50 {
        log += &format!("{i}{}\n", ",1.5".repeat(names.len()));
    }
    fs::write(folder.path().join("log.csv"), log).expect("a log");
    let flight = "title = \"</title><script>alert(2)</script> \\\"q\\\" {{script}}\"\naircraft = \"</script>\"\n[[log]]\nname = \"log\"\nfile = \"log.csv\"\n";
    fs::write(folder.path().join("flight.toml"), flight).expect("a flight");
    done(folder.path(), "debrief flight.toml -o page.html");
    let page = fs::read_to_string(folder.path().join("page.html")).expect("a page");
    assert_eq!(page.matches("</script").count(), 7, "five blocks of data, the plots' script and the page's own");
    assert_eq!(page.matches("<script").count(), 7);
    assert_eq!((page.matches("<title").count(), page.matches("</title").count()), (1, 1));
    assert!(!page.contains("<!--"));
    let told: Value = serde_json::from_str(block(&page, "document")).expect("a document");
    assert_eq!(told["flight"]["aircraft"], "</script>");
    let drawn: Value = serde_json::from_str(block(&page, "drawn")).expect("channels");
    let labels: Vec<&str> =
        drawn["channels"].as_array().expect("channels").iter().filter_map(|c| c["label"].as_str()).collect();
    for name in names {
        assert!(labels.contains(&name), "{name:?} of {labels:?}");
    }
}

#[test]
fn without_location_no_place_is_told() {
    let folder = tempfile::tempdir().expect("folder");
    let mut log = "time_s,Latitude [deg],Longitude [deg],Altitude [ft]\n".to_owned();
    for i in 0..120 {
        log += &format!("{i},{:.6},{:.6},{}\n", 47.123456 + f64::from(i) * 1e-4, 8.654321, 1000 + i);
    }
    fs::write(folder.path().join("log.csv"), log).expect("a log");
    fs::write(folder.path().join("flight.toml"), "[[log]]\nname = \"log\"\nfile = \"log.csv\"\n").expect("a flight");
    done(folder.path(), "debrief flight.toml -o with.html --csv with");
    done(folder.path(), "debrief flight.toml -o without.html --csv without --no-location");
    let [with, without] = ["with", "without"].map(|name| {
        let page = fs::read_to_string(folder.path().join(format!("{name}.html"))).expect("a page");
        let quality = fs::read_to_string(folder.path().join(name).join("quality.csv")).expect("a table");
        let drawn: Value = serde_json::from_str(block(&page, "drawn")).expect("channels");
        (drawn, block(&page, "document").to_owned() + &quality, block(&page, "bytes").len())
    });
    assert!(with.0["track"].is_array() && with.1.contains("log.Latitude"));
    assert!(without.0["track"].is_null() && without.0["without_location"] == true);
    assert!(
        without.0["channels"]
            .as_array()
            .expect("channels")
            .iter()
            .all(|c| !c["name"].as_str().is_some_and(|n| n.contains("itude") && !n.contains("Altitude")))
    );
    assert!(!without.1.contains("Latitude") && !without.1.contains("Longitude") && !without.1.contains("47.1"));
    assert!(without.2 < with.2, "the numbers are not there either");
}

#[test]
fn earlier_flights_are_counted_and_compared() {
    let folder = flown();
    let folder = folder.path();
    let own = json(folder, "debrief flight.toml --json");
    let earlier = folder.join("earlier");
    fs::create_dir(&earlier).expect("folder");
    let figure = |document: &Value, name: &str| {
        let rows = document["figures"]["flight"].as_array().expect("figures");
        number(&rows.iter().find(|row| row["name"] == name).expect("the figure")["value"])
    };
    // Three flights before this one: two like it but for a hotter engine, one much slower; and four documents that do not count.
    let cruise = |document: &mut Value, channel: &str, by: f64| {
        let rows = document["figures"]["by_phase"].as_array_mut().expect("phases");
        let row = rows.iter_mut().find(|row| row["phase"] == "CRUISE").expect("cruise");
        let spread = row["channels"].as_array_mut().expect("channels").iter_mut().find(|s| s["channel"] == channel);
        let mean = &mut spread.expect("the channel")["mean"];
        *mean = (number(mean) + by).into();
    };
    for (day, hotter, slower) in [("10", 12.0, 0.0), ("11", 20.0, 0.0), ("12", 90.0, -30.0)] {
        let mut document = own.clone();
        document["flight"]["first_utc"] = format!("2026-04-{day}T08:00:00.000Z").into();
        cruise(&mut document, "engine.EGT", hotter);
        cruise(&mut document, "air.IAS", slower);
        fs::write(earlier.join(format!("{day}.json")), document.to_string()).expect("document");
    }
    let mut other = own.clone();
    other["flight"]["first_utc"] = "2026-04-01T08:00:00.000Z".into();
    other["flight"]["aircraft"] = "Heron".into();
    let left_out = [
        ("again.json", fs::read_to_string(earlier.join("10.json")).expect("document")),
        ("broken.json", "{".to_owned()),
        ("other.json", other.to_string()),
        ("own.json", own.to_string()),
    ];
    for (name, text) in &left_out {
        fs::write(earlier.join(name), text).expect("document");
    }
    let history = &json(folder, "debrief flight.toml --json --history earlier")["history"];
    assert_eq!(history["flights"].as_array().map(Vec::len), Some(3), "{history:#}");
    assert_eq!(history["left_out"].as_array().map(Vec::len), Some(left_out.len()), "{history:#}");
    let row = |list: &str, key: &str, name: &str| {
        history[list].as_array().expect("rows").iter().find(|row| row[key] == name).expect("the row").clone()
    };
    for name in ["airborne", "starts", "fuel used"] {
        let total = row("totals", "name", name);
        assert!((number(&total["value"]) - 4.0 * figure(&own, name)).abs() < 1e-9, "{total}");
        assert_eq!(total["flights"], 4);
    }
    let heat = row("compared", "channel", "engine.EGT");
    assert_eq!(heat["flights"], 2, "the slow cruise is not comparable: {heat}");
    assert!((number(&heat["before"]) - number(&heat["now"]) - 20.0).abs() < 1e-9, "{heat}");
    assert!(own.get("history").is_none(), "only where it was asked for");
}

/// Two flights of the demo's, in the folders `a` and `b`.
fn two() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("folder");
    done(folder.path(), "demo a --no-film --seconds 60");
    done(folder.path(), "demo b --no-film --seconds 75 --seed 3");
    folder
}

/// Changes a text in a file of a flight.
fn change(folder: &Path, file: &str, from: &str, to: &str) {
    let text = fs::read_to_string(folder.join(file)).expect("a file");
    assert!(text.contains(from), "{file} has no {from}");
    fs::write(folder.join(file), text.replacen(from, to, 1)).expect("written");
}

fn texts(list: &Value) -> Vec<&str> {
    list.as_array().expect("a list").iter().filter_map(Value::as_str).collect()
}

/// Session times and airspeeds of a flight's air log, which is its reference, read from the file alone.
fn airspeeds(folder: &Path) -> Vec<(f64, f64)> {
    let mut table = csv::Reader::from_path(folder.join("air.csv")).expect("a table");
    let rows = table.records().map(|row| {
        let row = row.expect("a row");
        let utc: jiff::Timestamp = row[0].parse().expect("an instant");
        (utc.as_millisecond(), row[1].parse::<f64>().expect("a number"))
    });
    let rows: Vec<(i64, f64)> = rows.collect();
    rows.iter().map(|(ms, kt)| ((ms - rows[0].0) as f64 / 1000.0, *kt)).collect()
}

#[test]
fn a_flight_is_laid_over_another() {
    let folder = two();
    let document = json(folder.path(), "debrief a/flight.toml --compare b/flight.toml --json");
    let told = &document["comparison"];
    let channels = told["channels"].as_array().expect("channels");
    let compared: Vec<&Value> = channels.iter().filter(|c| c["compared"] == true).collect();
    let ias = compared.iter().position(|c| c["channel"] == "air.IAS").expect("the airspeed is compared");
    let first = &told["pairs"][0];
    assert_eq!((&first["phase"], &first["laid_by"]), (&"AUTOROTATION".into(), &"start".into()));
    let approach = told["pairs"].as_array().expect("pairs").iter().find(|pair| pair["phase"] == "APPROACH");
    assert_eq!(approach.expect("an approach")["laid_by"], "end");
    for pair in told["pairs"].as_array().expect("pairs") {
        let sides = [("a", "here"), ("b", "there")].map(|(flight, side)| {
            let it = &told[side][pair[side].as_u64().expect("a place") as usize];
            assert_eq!(it["phase"], pair["phase"]);
            let (from, to) = (number(&it["from_s"]), number(&it["to_s"]));
            let all = airspeeds(&folder.path().join(flight));
            // The clock's own arithmetic may be off in the last place.
            let within: Vec<f64> = all.iter().filter(|r| r.0 > from - 1e-9 && r.0 < to - 1e-9).map(|r| r.1).collect();
            let figures = &it["figures"][ias];
            if within.is_empty() {
                assert!(figures.is_null(), "{figures}");
                return None;
            }
            let least = within.iter().copied().fold(f64::INFINITY, f64::min);
            let greatest = within.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            assert_eq!(figures["records"], within.len(), "{pair}");
            assert_eq!((number(&figures["least"]), number(&figures["greatest"])), (least, greatest));
            let mean = within.iter().sum::<f64>() / within.len() as f64;
            assert!((number(&figures["mean"]) - mean).abs() < 1e-9);
            assert!(all.iter().any(|r| (r.0 - number(&figures["greatest_s"])).abs() < 1e-6 && r.1 == greatest));
            Some([least, mean, greatest])
        });
        if let [Some(here), Some(there)] = sides {
            for (key, (a, b)) in ["least", "mean", "greatest"].into_iter().zip(here.into_iter().zip(there)) {
                assert!((number(&pair["differences"][ias][key]) - (a - b)).abs() < 1e-9, "{key} of {pair}");
            }
        }
    }
    let said = texts(&told["said"]).join(" ");
    assert!(said.contains("each on its own clock") && said.contains("No difference says"), "{said}");
    assert!(!said.contains("Different"), "one day, one aircraft: {said}");
    let page = done(folder.path(), "debrief a/flight.toml --compare b/flight.toml -o -");
    let page = String::from_utf8(page).expect("text");
    let other: Value = serde_json::from_str(block(&page, "other")).expect("the other flight's channels");
    assert_eq!(other["groups"][0]["file"], "air.csv");
    let alone = String::from_utf8(done(folder.path(), "debrief a/flight.toml -o -")).expect("text");
    assert_eq!(block(&alone, "other"), "null");
}

#[test]
fn what_cannot_be_compared_is_said_by_name() {
    let folder = two();
    change(folder.path(), "b/flight.toml", "panel = \"panel.toml\"", "");
    change(folder.path(), "b/flight.toml", "aircraft = \"Dunlin\"", "aircraft = \"Dunlin II\"");
    change(folder.path(), "b/air.csv", "Pressure Altitude (ft)", "Pressure Altitude (m)");
    change(folder.path(), "b/engine.csv", "Oil T", "Sump T");
    let air = fs::read_to_string(folder.path().join("b/air.csv")).expect("a log").replace("2026-05-17", "2026-05-19");
    fs::write(folder.path().join("b/air.csv"), air).expect("written");
    // The engine's clock has no date: a mark joins it, as before.
    let told = json(folder.path(), "debrief a/flight.toml --compare b/flight.toml --json")["comparison"].clone();
    let said = texts(&told["said"]).join(" ");
    for part in
        ["Different days: 2026-05-17 here, 2026-05-19 there", "Different aircraft: Dunlin here, Dunlin II there"]
    {
        assert!(said.contains(part), "{said}");
    }
    assert!(!said.contains("its own flight file names"), "this flight's panel judged it: {said}");
    assert!(told["pairs"].as_array().is_some_and(|pairs| pairs.len() > 5), "judged by the panel that was lent");
    let note = |channel: &str| {
        let row = told["channels"].as_array().expect("channels").iter().find(|c| c["channel"] == channel);
        let row = row.unwrap_or_else(|| panic!("no {channel}"));
        assert_eq!(row["compared"], false, "{row}");
        row["note"].as_str().expect("a reason").to_owned()
    };
    assert_eq!(note("air.Pressure Altitude"), "other unit: ft here, m there");
    assert_eq!(note("engine.Oil T"), "not logged in the other flight");
    assert_eq!(note("engine.Sump T"), "not logged in this flight");
    // A flight beside itself.
    let told = json(folder.path(), "debrief a/flight.toml --compare a/flight.toml --json")["comparison"].clone();
    assert!(texts(&told["said"])[0].starts_with("Both are one flight"));
    let zero = |pair: &Value| {
        let differences = pair["differences"].as_array().expect("differences");
        differences
            .iter()
            .filter(|d| !d.is_null())
            .all(|d| ["least", "mean", "greatest"].iter().all(|key| d[*key] == 0.0))
    };
    assert!(told["pairs"].as_array().expect("pairs").iter().all(zero));
}

/// A track without anything else: what is empty says why.
#[test]
fn every_empty_part_says_why() {
    let folder = tempfile::tempdir().expect("folder");
    let fixes: String = (0..60)
        .map(|i| {
            format!(
                "<trkpt lat=\"46.0{i:02}\" lon=\"14.1\"><ele>{i}</ele><time>2026-05-17T08:00:{i:02}Z</time></trkpt>"
            )
        })
        .collect();
    let gpx = format!(
        "<gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><trkseg>{fixes}</trkseg></trk></gpx>"
    );
    fs::write(folder.path().join("way.gpx"), gpx).expect("written");
    fs::write(folder.path().join("flight.toml"), "[[log]]\nname = \"way\"\nfile = \"way.gpx\"\n").expect("written");
    let empty = |arguments: &str| {
        let document = json(folder.path(), arguments);
        let parts = document["empty"].as_array().expect("parts").clone();
        assert!(
            parts.iter().all(|part| part["why"].as_str().is_some_and(|why| why.ends_with('.') && !why.contains('\n'))),
            "{parts:?}"
        );
        parts
            .iter()
            .map(|part| {
                (
                    part["part"].as_str().unwrap_or_default().to_owned(),
                    part["why"].as_str().unwrap_or_default().to_owned(),
                )
            })
            .collect::<Vec<_>>()
    };
    let found = empty("debrief flight.toml --json");
    let parts: Vec<&str> = found.iter().map(|it| &*it.0).collect();
    assert_eq!(parts, ["events", "limits", "phases", "film"]);
    assert!(found[0].1.contains("not all was looked for: the flight file names no panel"), "{found:?}");
    assert!(
        empty("debrief flight.toml --json --no-location")
            .iter()
            .any(|it| it.0 == "track" && it.1.contains("on request"))
    );
    // A panel whose rules name what nobody logged.
    fs::write(folder.path().join("panel.toml"), "[phases]\nground_speed = \"calc.Ground Speed\"\n").expect("written");
    fs::write(
        folder.path().join("flight.toml"),
        "panel = \"panel.toml\"\n[[log]]\nname = \"way\"\nfile = \"way.gpx\"\n",
    )
    .expect("written");
    let found = empty("debrief flight.toml --json");
    let phases = found.iter().find(|it| it.0 == "phases").expect("no phase can be judged");
    assert!(phases.1.contains("[phases] names no rotor"), "{phases:?}");
}
