//! GPX, by clause.

use crate::case::{Case, text};

fn point(second: u32, more: &str) -> String {
    format!("<trkpt lat=\"46.5\" lon=\"-7.25\"><time>2026-06-15T08:00:{second:02}Z</time>{more}</trkpt>\n")
}

fn gpx(tracks: &str) -> String {
    format!("<gpx version=\"1.1\" creator=\"x\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n{tracks}\n</gpx>\n")
}

const AT: &str = "2026-06-15T08:00:00Z";

pub fn cases() -> Vec<Case> {
    let (a, b) = (point(0, "<ele>400</ele>"), point(1, "<ele>401.5</ele>"));
    let tracks = |body: &str| gpx(&format!("<trk><trkseg>\n{body}</trkseg></trk>"));
    let lat = ("Latitude", &[(0.0, 46.5), (1.0, 46.5)][..]);
    let ele = ("Elevation", &[(0.0, 400.0), (1.0, 401.5)][..]);
    let case = |clause, file: String, counts, findings, channel| text(clause, &file, "", counts, findings, channel, AT);
    vec![
        case(
            "tracks",
            gpx(&format!("<trk><name>one</name><trkseg>{a}</trkseg></trk>\n<trk><trkseg>{b}</trkseg></trk>")),
            [2, 0, 0],
            &[("segment", 4)],
            ele,
        ),
        case(
            "tracks",
            gpx(&format!(
                "<wpt lat=\"1\" lon=\"2\"><time>2026-06-15T07:00:00Z</time></wpt>\n<trk><trkseg>{a}{b}</trkseg></trk><rte><rtept lat=\"1\" lon=\"2\"/></rte>"
            )),
            [2, 0, 2],
            &[("plans_skipped", 0)],
            ele,
        ),
        case("tracks", gpx(&format!("<trk></trk><trk><trkseg>{a}{b}</trkseg></trk>")), [2, 0, 0], &[], ele),
        // A second flight before the first one.
        case(
            "tracks",
            gpx(&format!(
                "<trk><trkseg>{a}{b}</trkseg></trk>\n<trk><trkseg>{}</trkseg></trk>",
                a.replace("T08", "T07")
            )),
            [2, 1, 0],
            &[("segment", 5), ("clock_back", 5)],
            ele,
        ),
        case(
            "segments",
            tracks(&format!("{a}</trkseg><trkseg></trkseg><trkseg>{b}")),
            [2, 0, 0],
            &[("segment", 4)],
            ele,
        ),
        case("segments", tracks(&format!("</trkseg>\n<trkseg>{a}{b}</trkseg><trkseg>\n")), [2, 0, 0], &[], ele),
        case(
            "extensions",
            tracks(&format!("{}{b}", point(0, "<extensions><n3:rpm xmlns:n3=\"urn:x\"> 510.5 </n3:rpm></extensions>"))),
            [2, 0, 0],
            &[],
            ("rpm", &[(0.0, 510.5)]),
        ),
        case(
            "extensions",
            tracks(&point(0, "<extensions><deep><er><oat>-3</oat></er></deep><note>fine</note></extensions>")),
            [1, 0, 0],
            &[],
            ("oat", &[(0.0, -3.0)]),
        ),
        // What the schema does not know outside of extensions is no channel, whatever it is called.
        case("extensions", tracks(&point(0, "<oat>-3</oat><extensions/>")), [1, 0, 0], &[], ("oat", &[])),
        case(
            "extensions",
            tracks(&point(0, "<extensions><hr>77</hr><hr>78</hr></extensions>")),
            [1, 0, 0],
            &[],
            ("hr", &[(0.0, 77.0)]),
        ),
        case(
            "invalid fixes",
            tracks(&format!("{a}{}", point(1, "<fix>none</fix><ele>9</ele>"))),
            [2, 0, 0],
            &[("void_fix", 4)],
            ("Latitude", &[(0.0, 46.5)]),
        ),
        case(
            "invalid fixes",
            tracks(&format!("{a}{b}{}", point(2, "").replace("46.5", "90.5"))),
            [2, 1, 0],
            &[("bad_position", 5)],
            lat,
        ),
        case(
            "fractions of a second",
            tracks(&format!("{a}{}", b.replace("00:01Z", "00:00.25Z"))),
            [2, 0, 0],
            &[],
            ("Elevation", &[(0.0, 400.0), (0.25, 401.5)]),
        ),
        case(
            "fractions of a second",
            tracks(&format!("{a}{}", b.replace("08:00:01Z", "10:00:01.5+02:00"))),
            [2, 0, 0],
            &[],
            ("Elevation", &[(0.0, 400.0), (1.5, 401.5)]),
        ),
    ]
}
