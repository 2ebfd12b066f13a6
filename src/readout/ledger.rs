//! What was shown, one row a frame.

use super::{BannerLine, PanelState};
use crate::panel::{OffScale, Panel};
use crate::signal::State;
use crate::time::SessionTime;
use std::io::{self, Write};

/// Writes the ledger: `frame,pts_s,session_s,utc`, then value (or text) and state of every hand, then a word for every lamp
/// (`NAME.recorded`), for every limit (`NAME.calc`) and for every drive that is judged (`NAME.drive.calc`), the sentences
/// of the banner and the caption where there is room for them, and last the time
/// constant of every instrument whose hands follow with a lag (`NAME.smoothing [s]`). What was not shown at all is `hidden`.
pub struct Ledger<W: Write> {
    out: csv::Writer<W>,
    panel: Panel,
    frame: u64,
}

impl<W: Write> Ledger<W> {
    /// Starts a ledger with its header.
    pub fn new(out: W, panel: &Panel) -> io::Result<Self> {
        let mut out = csv::Writer::from_writer(out);
        let mut header: Vec<String> = ["frame", "pts_s", "session_s", "utc"].map(String::from).to_vec();
        for instrument in &panel.instruments {
            for hand in instrument.face.hands() {
                let unit = if hand.unit.is_empty() { String::new() } else { format!(" [{}]", hand.unit) };
                header.push(format!("{}.{}{unit}", instrument.name, hand.name));
                header.push(format!("{}.{}.state", instrument.name, hand.name));
            }
        }
        header.extend(panel.lamps.iter().map(|lamp| format!("{}.recorded", lamp.name)));
        header.extend(panel.limits.iter().map(|limit| format!("{}.calc", limit.name)));
        let driven = panel.instruments.iter().filter(|i| i.face.drive().is_some());
        header.extend(driven.map(|instrument| format!("{}.drive.calc", instrument.name)));
        if panel.banner.is_some() {
            header.extend(["banner.first", "banner.second"].map(String::from));
        }
        if panel.captions {
            header.push("caption".into());
        }
        let smoothed = panel.instruments.iter().filter(|i| i.smoothing_s > 0.0);
        header.extend(smoothed.map(|instrument| format!("{}.smoothing [s]", instrument.name)));
        out.write_record(&header)?;
        Ok(Self { out, panel: panel.clone(), frame: 0 })
    }

    /// Writes the row of the next frame. `pts_s` is its time in the written film; `utc` is left empty where unknown.
    pub fn row(
        &mut self,
        pts_s: f64,
        session: SessionTime,
        utc: Option<jiff::Timestamp>,
        state: &PanelState,
    ) -> io::Result<()> {
        self.out.write_field(self.frame.to_string())?;
        self.out.write_field(format!("{pts_s:.6}"))?;
        self.out.write_field(format!("{:.6}", session.0))?;
        self.out.write_field(utc.map(|t| format!("{t:.6}")).unwrap_or_default())?;
        for (instrument, shown) in self.panel.instruments.iter().zip(&state.instruments) {
            let decimals = instrument.face.hands().iter().map(|hand| hand.ledger_decimals()).max().unwrap_or(4);
            for (i, hand) in shown.hands.iter().enumerate() {
                if shown.faded >= 1.0 {
                    self.out.write_field("")?;
                    self.out.write_field("hidden")?;
                    continue;
                }
                let text = || shown.written().filter(|_| i == 0).unwrap_or_default().to_owned();
                self.out.write_field(hand.number().map_or_else(text, |v| format!("{v:.decimals$}")))?;
                let off = match (hand.state, hand.number()) {
                    // Only a trusted value stands off the scale; a held or saturated one keeps its own, worse state.
                    (State::Measured | State::Derived, Some(value)) => instrument.face.place(i, value),
                    _ => OffScale::On,
                };
                self.out.write_field(match off {
                    OffScale::Low => "off_scale_low",
                    OffScale::High => "off_scale_high",
                    OffScale::On => hand.state.word(),
                })?;
            }
        }
        for lamp in &state.lamps.recorded {
            self.out.write_field(lamp.word())?;
        }
        for alert in &state.lamps.alerts {
            self.out.write_field(alert.word())?;
        }
        let shown = self.panel.instruments.iter().zip(&state.instruments);
        for (_, shown) in shown.filter(|(instrument, _)| instrument.face.drive().is_some()) {
            self.out.write_field(shown.drive.word())?;
        }
        if self.panel.banner.is_some() {
            for i in 0..BannerLine::MOST {
                self.out.write_field(state.banner.get(i).map(BannerLine::sentence).unwrap_or_default())?;
            }
        }
        if self.panel.captions {
            self.out.write_field(state.caption.as_ref().map(|caption| caption.lines.join(" ")).unwrap_or_default())?;
        }
        for instrument in self.panel.instruments.iter().filter(|i| i.smoothing_s > 0.0) {
            self.out.write_field(instrument.smoothing_s.to_string())?;
        }
        self.out.write_record(None::<&[u8]>)?;
        self.frame += 1;
        Ok(())
    }

    /// Hands back the writer with everything written.
    pub fn finish(self) -> io::Result<W> {
        self.out.into_inner().map_err(|e| e.into_error())
    }
}
