//! What the benches of films share: a log that keeps every hand moving, and the flight file of a clip.

#![allow(clippy::expect_used, reason = "a test stops at the first thing that is not as it must be")]

use std::path::Path;

/// A log whose hands move by a pixel or more on every frame, and whose written values are new on each.
pub fn busy_log(folder: &Path) -> std::path::PathBuf {
    let columns = [
        ("IAS (kt)", 30.0, 75.0),
        ("Altitude (ft)", 200.0, 900.0),
        ("Vertical Speed (ft/min)", -1500.0, 3000.0),
        ("Rotor (%)", 88.0, 28.0),
        ("Engine (%)", 86.0, 30.0),
        ("EGT (degC)", 100.0, 650.0),
        ("Fuel Flow (gal/h)", 2.0, 16.0),
        ("Gearbox T (degC)", 10.0, 95.0),
        ("Heading (deg)", 20.0, 300.0),
        ("Oil P (psi)", 10.0, 80.0),
        ("Oil T (degC)", 10.0, 100.0),
        ("Fuel (gal)", 2.0, 16.0),
        ("Volts (V)", 20.0, 8.0),
        ("OAT (degC)", -20.0, 50.0),
    ];
    let names: Vec<&str> = columns.iter().map(|column| column.0).collect();
    let mut text = format!("time_ms,{},Lamp\n", names.join(","));
    for i in 0..1200 {
        text += &(i * 100).to_string();
        for (n, (_, from, span)) in columns.iter().enumerate() {
            let wave = 0.5 + 0.5 * (f64::from(i) * (0.31 + 0.023 * n as f64)).sin();
            text += &format!(",{:.3}", from + span * wave);
        }
        text += ",1\n";
    }
    let path = folder.join("busy.csv");
    std::fs::write(&path, text).expect("log written");
    path
}

/// Writes the flight file of a clip, `NAME.toml` of `NAME.mp4`, with the bench's panel.
pub fn flight_file(folder: &Path, name: &str) {
    std::fs::write(folder.join("panel.toml"), include_str!("panel.toml")).expect("panel written");
    let text = format!(
        "panel = \"panel.toml\"\n[[film]]\nfile = \"{name}.mp4\"\n[[log]]\nname = \"busy\"\nfile = \"busy.csv\"\n\
         [[clock.mark]]\nfilm = \"0:00\"\nbusy = 0.05\n"
    );
    std::fs::write(folder.join(format!("{name}.toml")), text).expect("flight written");
}
