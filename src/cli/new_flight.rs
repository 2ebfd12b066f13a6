//! The text of a new flight file: what was found with its reasons, and what only the owner knows as comments.

use super::new::{Found, PANEL};
use crate::panel::lack_a_unit;
use crate::readout::facts;
use crate::recorder::{ClockKind, DateOrder, Format, Recording};
use crate::session::SessionLog;

/// Columns of a comment, and remarks of one log that stand in its comments.
const WIDTH: usize = 110;
const REMARKS: usize = 12;
/// A log of more parts than this is of more flights than one (common practice, no source).
const MOST_PARTS: usize = 4;

/// A text that grows by comments and lines.
#[derive(Default)]
pub(super) struct Text(pub String);

impl Text {
    pub fn line(&mut self, line: &str) {
        self.0.push_str(line);
        self.0.push('\n');
    }

    /// A comment, broken between words; what no comment may hold becomes blanks.
    pub fn comment(&mut self, text: &str) {
        let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        let mut line = String::from("#");
        for word in plain.split_whitespace() {
            if line.chars().count() + 1 + word.chars().count() > WIDTH && line.len() > 1 {
                self.line(&line);
                line = String::from("#  ");
            }
            line.push(' ');
            line.push_str(word);
        }
        self.line(&line);
    }
}

/// A text as TOML writes it, whatever it holds.
pub(super) fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The flight file.
pub(super) fn text(found: &Found) -> String {
    let mut text = Text::default();
    text.comment(
        "A flight file, made from what the clips and logs hold. Lines that begin with # are off: take the # away where one is \
         right. What nothing in the files decides was left to you.",
    );
    text.comment("Recorded data, not for use in flight: the flight manual and your own limits govern.");
    text.line("");
    text.line(&format!("title = {}   # the folder's name", quoted(&found.title)));
    text.line("# aircraft = \"...\"");
    text.line(&format!("panel = {}", quoted(PANEL)));
    films(found, &mut text);
    for i in 0..found.session.logs().len() {
        log(found, i, &mut text);
    }
    clocks(found, &mut text);
    conditions(&mut text);
    text.0
}

fn films(found: &Found, text: &mut Text) {
    for (i, (clip, files)) in found.films.iter().enumerate() {
        text.line("");
        let (width, height) = clip.video.shape.shown_size();
        let rate = clip.video.frame_rate.as_f64();
        let made = match (&clip.created, &clip.created_from) {
            (Some(created), Some(from)) => format!("made {created} by its {from}"),
            (Some(created), None) => format!("made {created}"),
            (None, _) => "its date is not known".to_owned(),
        };
        text.comment(&format!(
            "{:.1} s, {width:.0} x {height:.0}, {rate:.3} frames a second, {} sound track(s); {made}",
            clip.duration_s,
            clip.audio.len()
        ));
        if i > 0 {
            text.comment("one film is taken so far: this one is off");
        }
        let off = if i > 0 { "# " } else { "" };
        text.line(&format!("{off}[[film]]"));
        let names: Vec<String> = files.iter().map(|file| quoted(file)).collect();
        match &names[..] {
            [name] => text.line(&format!("{off}file = {name}")),
            _ => {
                text.comment("files of one recording by their names or dates, joined as one film");
                text.line(&format!("{off}file = [{}]", names.join(", ")));
            }
        }
    }
}

fn log(found: &Found, i: usize, text: &mut Text) {
    let (Some(SessionLog { name, recording, .. }), Some(file)) = (found.session.logs().get(i), found.log_files.get(i))
    else {
        return;
    };
    text.line("");
    text.comment(&format!(
        "{} by its bytes: {} rows read, {} refused, {} without data, {} channels",
        recording.format.word(),
        recording.rows_read,
        recording.rows_refused,
        recording.rows_left_out,
        recording.channels.len()
    ));
    clock_comment(recording, text);
    for finding in recording.findings.iter().take(REMARKS) {
        text.comment(&format!("- {}", super::report::place_and_message(finding)));
    }
    if let Some(more @ 1..) = recording.findings.len().checked_sub(REMARKS) {
        text.comment(&format!("- {more} more remarks: jumpseat inspect --verbose shows them"));
    }
    text.line("[[log]]");
    text.line(&format!("name = {}   # before its channels' names; from the file's", quoted(name)));
    text.line(&format!("file = {}", quoted(file)));
    if i == found.reference {
        let why = if found.offset.is_some() {
            "the offset was given on it"
        } else if recording.clock.first_utc.is_some() {
            "the first that knows UTC"
        } else {
            "the first one; none knows UTC"
        };
        text.line(&format!("reference = true   # its clock is the session's: {why}"));
    }
    parts(name, recording, text);
    let is_table = recording.format == Format::Csv;
    if let Some((day_first, month_first)) = &recording.clock.date_readings {
        text.comment(&format!(
            "SET THIS: nothing in the log says whether its first stamp is {day_first} or {month_first}"
        ));
        text.line("# date_order = \"day-first\"");
        text.line("# date_order = \"month-first\"");
    } else if let (true, Some(order)) = (is_table, found.date_order) {
        let word = match order {
            DateOrder::DayFirst => "day-first",
            DateOrder::MonthFirst => "month-first",
            DateOrder::YearFirst => "year-first",
        };
        text.line(&format!("date_order = \"{word}\"   # as --date-order said"));
    }
    if recording.clock.kind == ClockKind::Local {
        text.comment("SET THIS: its times are local and name no zone; with one, they are instants");
        text.line("# zone = \"Area/City\"");
        text.line("# utc_offset = \"+00:00\"");
    }
    let facts = facts(&found.session);
    let of_log: Vec<_> = facts.into_iter().filter(|f| f.channel.starts_with(&format!("{name}."))).collect();
    let lacking = lack_a_unit(&of_log);
    if !lacking.is_empty() {
        text.comment("the log states no unit for these; name the right one, and they can become instruments:");
        let might_be = |(column, units): &(&str, &[&str])| format!("{column} ({})", units.join(", "));
        text.comment(&lacking.iter().map(might_be).collect::<Vec<_>>().join(", "));
        let pairs: Vec<String> = lacking.iter().map(|(column, _)| format!("{} = \"...\"", quoted(column))).collect();
        text.line(&format!("# units = {{ {} }}", pairs.join(", ")));
    }
}

/// Whether all parts of a log are taken: a count began anew, and not so often that the parts would be other flights. A date that was set
/// would put a part on the wrong day.
fn takes_all_parts(recording: &Recording) -> bool {
    recording.clock.kind == ClockKind::Counter && (2..=MOST_PARTS).contains(&recording.parts.len())
}

/// The names of a log's clocks in marks: its own, or one for each part.
fn clock_names(log: &SessionLog) -> Vec<String> {
    match takes_all_parts(&log.recording) {
        true => (1..=log.recording.parts.len()).map(|n| format!("{}-{n}", log.name)).collect(),
        false => vec![log.name.clone()],
    }
}

/// The clock on which a log's times count so far: of a log in parts, that of the one that was read.
fn clock_name(log: &SessionLog) -> String {
    let read = log.recording.parts.iter().position(|part| part.read).unwrap_or(0);
    clock_names(log).into_iter().nth(read).unwrap_or_else(|| log.name.clone())
}

/// The parts of a log whose clock begins anew.
fn parts(name: &str, recording: &Recording, text: &mut Text) {
    let n = recording.parts.len();
    let list = (1..=n).map(|n| n.to_string()).collect::<Vec<_>>().join(", ");
    if takes_all_parts(recording) {
        text.comment(&format!(
            "the logger began anew {} time(s): {name}.COLUMN holds all {n} parts, with a hole between them. Each has a clock of its own, \
             {name}-1 and so on, which the film's sound or a mark joins; take a part out that is of another flight",
            n - 1
        ));
        text.line(&format!("power_up = [{list}]"));
    } else if n > 1 {
        text.comment(&format!(
            "the log has {n} parts, and the one with most rows is taken. Which of them are of this flight is yours to say; listed, they are \
             one log of several parts, each with a clock of its own: {name}-1, {name}-2"
        ));
        text.line("# power_up = [1, 2]");
    }
}

/// What its times are, and where they were read.
fn clock_comment(recording: &Recording, text: &mut Text) {
    let clock = &recording.clock;
    let what = match (clock.kind, clock.first_utc.is_some()) {
        (ClockKind::Utc, _) => "UTC",
        (ClockKind::Local, _) => "local time of a zone that is not stated",
        (ClockKind::Gps, true) => "GPS time, whose distance from UTC is known",
        (ClockKind::Gps, false) => "GPS time",
        (ClockKind::Counter, _) => "a count since power-up",
    };
    let columns: Vec<String> = clock.columns.iter().map(|c| format!("`{c}`")).collect();
    let from = if columns.is_empty() { String::new() } else { format!(", from {}", columns.join(" and ")) };
    text.comment(&format!(
        "clock: {what}{from}; first {}, last {}, in steps of {} s",
        clock.first, clock.last, clock.resolution_s
    ));
}

/// The same moment on several clocks.
fn clocks(found: &Found, text: &mut Text) {
    let logs = found.session.logs();
    let Some(reference) = logs.get(found.reference) else { return };
    text.line("");
    if let Some(offset) = found.offset {
        text.comment("as --offset said: the log's time, in seconds since its first sample, at the film's first frame");
        text.line("[[clock.mark]]");
        text.line("film = \"0:00\"");
        text.line(&format!("{} = {offset:?}", quoted(&clock_name(reference))));
        text.line("");
    } else if let Some(sigma_s) = found.film_sigma_s {
        text.comment(&format!(
            "The film's creation time is laid against the UTC of `{}`, as good as the camera's clock and at best to {sigma_s:.2} s. \
             A mark is better: a moment that is seen in both, in film time and in seconds since the log's first sample.",
            reference.name
        ));
    } else {
        text.comment(
            "SET THIS: no dates join film and logs. Name a moment that is seen in both (the engine starts, the rotor turns): film \
             time, and seconds since the log's first sample.",
        );
    }
    let apart: Vec<String> = logs.iter().filter(|log| log.fit.is_none()).map(clock_name).collect();
    if !apart.is_empty() {
        text.comment(&format!(
            "SET THIS: nothing joins the clock of {} to that of `{}`.",
            apart.join(", "),
            clock_name(reference)
        ));
    }
    text.line("# [[clock.mark]]");
    text.line("# film = \"m:s\"");
    for clock in logs.iter().flat_map(clock_names) {
        text.line(&format!("# {} = ...", quoted(&clock)));
    }
}

fn conditions(text: &mut Text) {
    text.line("");
    text.comment("What no logger writes down. Nothing is made up without it; take what you know, with its unit.");
    for line in [
        "# [conditions]",
        "# oat = \"... degC\"                # at the field, where no log has it",
        "# field_elevation = \"... ft\"",
        "# fuel_at_start = \"... US gal\"",
        "# rotor_rpm_at_100 = ...           # engine_rpm_at_100 as well",
        "# position_error = [[..., ...]]    # knots: indicated, calibrated; from your flight manual",
        "# [[conditions.altimeter_setting]]",
        "# from = 0                         # seconds of session time",
        "# setting = \"... inHg\"             # or hPa",
    ] {
        text.line(line);
    }
}
