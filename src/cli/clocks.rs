//! What a flight file and its films say of the clocks, as evidence, and the faults of it.

use super::load::{Loaded, at};
use crate::clock::channels::{self, Match};
use crate::clock::{self, ClockFit, ClockId, Clocks, Evidence, Joined, Moment, OWNER_SIGMA_S, Stamps, timestamps};
use crate::finding::Severity;
use crate::flight::{Change, EventEntry, FlightFile, MarkEntry};
use crate::keyfile::Fault;
use crate::readout::conversion;
use crate::recorder::Recording;
use crate::session::{SessionLog, dated};
use crate::signal::{Channel, Kind, Samples};

/// Limit of uncertainty where the flight file sets none, in seconds.
pub(crate) const LIMIT_S: f64 = 0.25;
/// Clocks that differ by more than this share do not count the same seconds.
const STRANGEST_RATE: f64 = 0.01;

/// The clocks of the logs that could be read, and of all films.
pub(super) fn clocks(flight: &FlightFile, logs: &[SessionLog], reference: usize) -> Clocks {
    let same = |a: &SessionLog, b: &SessionLog| {
        a.recording.file == b.recording.file || a.part_of.is_some() && a.part_of == b.part_of
    };
    let logger = |log: &SessionLog| logs.iter().position(|other| same(other, log)).unwrap_or(0);
    Clocks {
        reference,
        logs: logs.iter().map(|l| dated(&l.recording)).collect(),
        loggers: logs.iter().map(logger).collect(),
        films: flight.films.len(),
    }
}

/// All evidence but that of channels, sound and picture. `entries`: the place in the flight file of every log that could be read; `stamps`: one
/// a film, none where it could not be opened.
pub(super) fn evidence(
    flight: &FlightFile,
    clocks: &Clocks,
    logs: &[SessionLog],
    entries: &[usize],
    stamps: &[Option<Stamps>],
) -> (Vec<Evidence>, Vec<Fault>) {
    let mut faults = Vec::new();
    let mut moments = Vec::new();
    for (n, mark) in flight.clock.marks.iter().enumerate() {
        match moment(mark, n, clocks, logs, entries, flight) {
            Ok(moment) => moments.push(moment),
            Err(fault) => faults.push(*fault),
        }
    }
    let mut all = clock::marks::evidence(&moments, ClockId::Log(clocks.reference));
    if let (Some(epoch), Some(span)) = (clocks.epoch(), clocks.utc_span()) {
        for (i, (stamps, entry)) in stamps.iter().zip(&flight.films).enumerate() {
            let Some(stamps) = stamps else { continue };
            let stamps = Stamps { utc_offset: entry.utc_offset, at_end: entry.stamped_at_end, ..stamps.clone() };
            let (readings, finding) = timestamps::of_film(i, &stamps, span, epoch);
            all.extend(readings);
            faults.extend(finding.map(|f| {
                let cure = "say utc_offset = \"+02:00\" in [[film]]";
                at(&flight.document, &entry.place, f.severity, f.code, "film", f.message, cure)
            }));
        }
    }
    (all, faults)
}

/// A mark's times on all clocks that it names.
fn moment(
    mark: &MarkEntry,
    n: usize,
    clocks: &Clocks,
    logs: &[SessionLog],
    entries: &[usize],
    flight: &FlightFile,
) -> Result<Moment, Box<Fault>> {
    let films = mark.films_s.iter().enumerate().filter_map(|(i, t)| Some((ClockId::Film(i), (*t)?, 0.0)));
    let read = entries.iter().enumerate();
    let on_logs =
        read.filter_map(|(i, &entry)| Some((ClockId::Log(i), mark.logs_s.get(entry).copied().flatten()?, 0.0)));
    let mut times: Vec<(ClockId, f64, f64)> = films.chain(on_logs).collect();
    if let (Some(utc), Some(epoch)) = (mark.utc, clocks.epoch()) {
        times.push((ClockId::Utc, timestamps::seconds(utc, epoch), 0.0));
    }
    if let Some(event) = &mark.event {
        times.push(event_time(event, logs).map_err(|(code, message, cure)| {
            Box::new(at(&flight.document, &event.place, Severity::Error, code, "clock.mark.event", message, &cure))
        })?);
    }
    Ok(Moment { times, sigma_s: mark.sigma_s.unwrap_or(OWNER_SIGMA_S), why: format!("mark {}", n + 1) })
}

type Refusal = (&'static str, String, String);

/// When a channel does what the owner says, on its log's clock, and how far that is known between two records.
fn event_time(event: &EventEntry, logs: &[SessionLog]) -> Result<(ClockId, f64, f64), Refusal> {
    let places = channels_of(logs, &event.channel);
    if places.is_empty() {
        let message = format!("no log has the channel `{}`, or several have it", event.channel);
        let names = logs.iter().flat_map(|l| l.recording.channels.iter().map(|c| format!("{}.{}", l.name, c.name)));
        let near = names.min_by_key(|name| strsim::damerau_levenshtein(name, &event.channel));
        return Err(("unknown_channel", message, near.map_or(String::new(), |n| format!("the nearest is \"{n}\""))));
    }
    let in_parts = places.len() > 1;
    let mut all = Vec::new();
    for (log, channel) in places {
        let found = changes(channel, &event.change);
        let found = found.map_err(|message| ("bad_event", message, "mend the event".to_owned()))?;
        all.extend(found.into_iter().map(|(time, step)| (log, time, step)));
    }
    let told = |all: &[(usize, f64, f64)]| {
        let one = |(log, t, _): &(usize, f64, f64)| match in_parts {
            true => format!("{t:.2} s of {}", logs[*log].name),
            false => format!("{t:.2} s"),
        };
        all.iter().take(8).map(one).collect::<Vec<_>>().join(", ")
    };
    let one = match (&all[..], event.which) {
        ([], _) => None,
        (_, Some(n)) => all.get(n - 1),
        ([only], None) => Some(only),
        _ => {
            let message = format!("`{}` does so {} times: at {}", event.channel, all.len(), told(&all));
            return Err(("event_many_times", message, "say which one: which = 1".to_owned()));
        }
    };
    let Some(&(log, time, step)) = one else {
        let message = format!("`{}` does so {} times, and not {}", event.channel, all.len(), event.which.unwrap_or(1));
        return Err(("no_such_event", message, told(&all)));
    };
    Ok((ClockId::Log(log), time, step / 12f64.sqrt()))
}

/// The middles between the two records of every change, and the time between these.
fn changes(channel: &Channel, change: &Change) -> Result<Vec<(f64, f64)>, String> {
    let Samples::Numbers(values) = &channel.samples else {
        return Err(format!("`{}` holds texts, which neither rise nor cross", channel.name));
    };
    let level = match change {
        Change::Rises | Change::Falls => 0.5,
        Change::Crosses(value, unit) => match channel.unit.as_deref() {
            Some(own) if !unit.is_empty() => {
                let convert = conversion(unit, own).map_err(|e| format!("`{}` is in {own}: {e}", channel.name))?;
                match convert {
                    Some((from, to)) => from.convert(*value, to).map_err(|e| e.to_string())?,
                    None => *value,
                }
            }
            _ => *value,
        },
    };
    let pairs = values.windows(2).zip(channel.times.windows(2));
    let joined = pairs.filter(|(_, t)| t[1] - t[0] <= channel.rules.joined_s);
    Ok(joined
        .filter_map(|(v, t)| {
            let (up, down) = (v[0] < level && v[1] >= level, v[0] >= level && v[1] < level);
            match change {
                Change::Rises => up.then_some(((t[0] + t[1]) / 2.0, t[1] - t[0])),
                Change::Falls => down.then_some(((t[0] + t[1]) / 2.0, t[1] - t[0])),
                // On the straight line between the records a crossing is known better than its step (common practice, no source).
                Change::Crosses(..) => {
                    let share = (level - v[0]) / (v[1] - v[0]);
                    (up || down).then_some((t[0] + share * (t[1] - t[0]), 0.2 * (t[1] - t[0])))
                }
            }
        })
        .collect())
}

/// What the fit says against the evidence: marks that contradict each other, clocks that do not count seconds, and evidence that
/// was refused.
pub(super) fn faults(flight: &FlightFile, joined: &Joined, logs: &[SessionLog]) -> Vec<Fault> {
    let mut faults = Vec::new();
    let place = |why: &str| {
        let number: Option<usize> = why.strip_prefix("mark ").and_then(|n| n.parse().ok());
        number
            .and_then(|n| flight.clock.marks.get(n - 1))
            .or(flight.clock.marks.last())
            .map_or(0..0, |m| m.place.clone())
    };
    let mut fault = |why: &str, severity, code, message: String, cure: &str| {
        faults.push(at(&flight.document, &place(why), severity, code, "clock.mark", message, cure));
    };
    let names = flight.films.iter().map(|f| f.name.as_str());
    let fits = names.zip(&joined.films).chain(logs.iter().map(|l| l.name.as_str()).zip(&joined.logs));
    let cure = "look at the marks once more: one of them does not name the same moment";
    for (name, fit) in fits.filter_map(|(name, fit)| Some((name, fit.as_ref()?))) {
        if (fit.rate - 1.0).abs() > STRANGEST_RATE {
            let rate = fit.rate;
            let message = format!("by the marks, the clocks of `{name}` and of the session run {rate:.3} to 1");
            fault("", Severity::Error, "marks_contradict", message, cure);
        }
    }
    let name = |clock: ClockId| match clock {
        ClockId::Utc => "UTC",
        ClockId::Film(i) => flight.films.get(i).map_or("film", |f| f.name.as_str()),
        ClockId::Log(i) => logs.get(i).map_or("log", |l| l.name.as_str()),
    };
    for (a, b, apart) in joined.network.torn() {
        let [one, other] = b.on.map(|(clock, _)| name(clock));
        let message = format!(
            "{} and {} contradict each other: between `{one}` and `{other}` they lie {apart:.2} s apart, and nothing tells \
             which of them is wrong",
            a.why, b.why
        );
        fault(&b.why, Severity::Error, "marks_contradict", message, cure);
    }
    for (piece, sigmas) in joined.network.refused() {
        if joined.network.torn().any(|(a, b, _)| a == piece || b == piece) {
            continue;
        }
        let message = format!("{}: refused, {sigmas:.0} standard deviations from what the rest says", piece.why);
        fault(&piece.why, Severity::Warning, "evidence_refused", message, "jumpseat align shows all evidence");
    }
    faults
}

/// The fit that `align --write` wrote for a film, in place of a computed one; and what is wrong with it.
pub(super) fn written(
    flight: &FlightFile,
    film: usize,
    reference: &str,
    computed: Option<&ClockFit>,
) -> (Option<ClockFit>, Option<Fault>) {
    let Some(entry) = flight.films.get(film) else { return (None, None) };
    let Some(fit) = flight.clock.fits.iter().find(|fit| fit.film == entry.name) else { return (None, None) };
    let tell = |severity, code, message, cure| {
        Some(at(&flight.document, &fit.place, severity, code, "clock.fit", message, cure))
    };
    if fit.log != reference {
        let message = format!("the fit is on the clock of `{}`, and the session's is that of `{reference}`", fit.log);
        return (None, tell(Severity::Error, "fit_of_another_log", message, "run jumpseat align --write once more"));
    }
    let at_pivot = fit.offset_s + fit.rate * fit.pivot_s;
    let made = ClockFit {
        pivot_s: fit.pivot_s,
        offset_at_pivot_s: at_pivot - fit.pivot_s,
        rate: fit.rate,
        cov: [[fit.sigma_s.powi(2), 0.0], [0.0, fit.sigma_rate.powi(2)]],
        evidence: computed.map(|c| c.evidence.clone()).unwrap_or_default(),
    };
    let far = computed.and_then(|computed| {
        let t = fit.pivot_s;
        let (apart, sigma) = (made.at(t) - computed.at(t), made.sigma(t).hypot(computed.sigma(t)));
        // What was written is rounded to a tenth of a millisecond.
        (apart.abs() > 4.0 * sigma + 1e-3).then(|| {
            let message = format!("the written fit lies {apart:+.3} s from what the evidence says now");
            tell(
                Severity::Warning,
                "fit_outdated",
                message,
                "run jumpseat align --write once more, or take the table out",
            )
        })
    });
    (Some(made), far.flatten())
}

/// Two channels that were laid along each other.
pub(crate) struct Laid {
    /// Index of each channel's log, and its name.
    pub(crate) of: [(usize, String); 2],
    /// What came of it, or why nothing did.
    pub(crate) found: Result<Match, String>,
}

impl Laid {
    /// Both names, with their logs'.
    pub(crate) fn names(&self, logs: &[SessionLog]) -> String {
        let name = |(log, channel): &(usize, String)| format!("{}.{channel}", logs[*log].name);
        format!("{} and {}", name(&self.of[0]), name(&self.of[1]))
    }
}

/// Lays along each other the channels that the owner names, and those of one name and unit where nothing else joins two logs; a
/// sensor's lag would look like a clock's, so that evidence of another kind is better.
pub(super) fn lay_channels(
    flight: &FlightFile,
    clocks: &Clocks,
    logs: &[SessionLog],
    evidence: &mut Vec<Evidence>,
) -> (Vec<Laid>, Vec<Fault>) {
    let (mut laid, mut faults) = (Vec::new(), Vec::new());
    for (names, place) in &flight.clock.same {
        let [first, second] = [0, 1].map(|n| channels_of(logs, &names[n]));
        if first.is_empty() || second.is_empty() {
            let message =
                format!("no log has the channel `{}`, or several have it", names[usize::from(!first.is_empty())]);
            let cure = "name it LOG.COLUMN";
            faults.push(at(&flight.document, place, Severity::Error, "unknown_channel", "clock.same", message, cure));
            continue;
        }
        for (&a, &b) in first.iter().flat_map(|a| second.iter().map(move |b| (a, b))) {
            let one = lay(a, b, logs);
            match &one.found {
                Ok(found) => evidence.extend(found.evidence.iter().cloned()),
                Err(why) => {
                    let message = format!("{}: {why}", one.names(logs));
                    let cure = "name another pair, or add a [[clock.mark]]";
                    let (severity, code) = (Severity::Warning, "channels_not_matched");
                    faults.push(at(&flight.document, place, severity, code, "clock.same", message, cure));
                }
            }
            laid.push(one);
        }
    }
    let joined = clocks.join(evidence.clone());
    for (i, log) in logs.iter().enumerate() {
        if joined.logs[i].is_some() || i == clocks.reference {
            continue;
        }
        let reference = &logs[clocks.reference];
        for (a, b) in shared(&log.recording, &reference.recording) {
            let one = lay((i, a), (clocks.reference, b), logs);
            evidence.extend(one.found.iter().flat_map(|found| found.evidence.iter().cloned()));
            laid.push(one);
        }
    }
    (laid, faults)
}

fn lay(a: (usize, &Channel), b: (usize, &Channel), logs: &[SessionLog]) -> Laid {
    let mut laid = Laid { of: [a, b].map(|(log, c)| (log, c.name.clone())), found: Err(String::new()) };
    let [x, y] = [a, b].map(|(log, c)| (ClockId::Log(log), c));
    laid.found = channels::lay(x, y, &laid.names(logs));
    laid
}

/// The channels of two logs that hold one steady quantity under one name and in one unit.
fn shared<'a>(a: &'a Recording, b: &'a Recording) -> Vec<(&'a Channel, &'a Channel)> {
    let steady = |c: &Channel| c.kind != Kind::Discrete && matches!(c.samples, Samples::Numbers(_));
    let same = |c: &Channel, d: &Channel| c.name == d.name && c.unit == d.unit && steady(c) && steady(d);
    a.channels.iter().filter_map(|c| Some((c, b.channels.iter().find(|d| same(c, d))?))).collect()
}

/// The channel of a name, `LOG.COLUMN` or `COLUMN`, if one log has it.
pub(super) fn channel<'a>(logs: &'a [SessionLog], name: &str) -> Option<(usize, &'a Channel)> {
    let mut found = logs.iter().enumerate().flat_map(|(i, log)| {
        let column = name.strip_prefix(log.name.as_str()).and_then(|rest| rest.strip_prefix('.')).unwrap_or(name);
        log.recording.channels.iter().filter(move |c| c.name == column).map(move |c| (i, c))
    });
    found.next().filter(|_| found.next().is_none())
}

/// The channel of a name; where it names a whole log of several parts, that of every part which has it, in their order.
fn channels_of<'a>(logs: &'a [SessionLog], name: &str) -> Vec<(usize, &'a Channel)> {
    if let Some(one) = channel(logs, name) {
        return vec![one];
    }
    let parts = logs.iter().enumerate().flat_map(|(i, log)| {
        let whole = log.part_of.as_deref().and_then(|whole| name.strip_prefix(whole)?.strip_prefix('.'));
        log.recording.channels.iter().filter(move |c| Some(c.name.as_str()) == whole).map(move |c| (i, c))
    });
    parts.collect()
}

/// Films whose fit is less sure than the flight file's limit, each with its warning.
pub(super) fn unsure(loaded: &Loaded) -> Vec<Fault> {
    let limit_s = loaded.flight.clock.limit_s.unwrap_or(LIMIT_S);
    let films = loaded.flight.films.iter().enumerate();
    let unsure = films.filter_map(|(i, entry)| {
        let (fit, duration_s) = (loaded.film_fits.get(i)?.as_ref()?, loaded.film_duration_s(i)?);
        let message = too_unsure(fit, duration_s, limit_s)?;
        Some(at(
            &loaded.flight.document,
            &entry.place,
            Severity::Warning,
            "clock_unsure",
            "clock",
            message,
            UNSURE_CURE,
        ))
    });
    unsure.collect()
}

/// What to do about a fit that is not sure enough.
pub(super) const UNSURE_CURE: &str = "add a [[clock.mark]], or state limit in [clock]";

/// The sentence on a fit that is less sure than a limit over a film; none where it is sure enough.
pub(super) fn too_unsure(fit: &ClockFit, duration_s: f64, limit_s: f64) -> Option<String> {
    let sigma_s = fit.sigma_within(0.0, duration_s);
    (sigma_s > limit_s)
        .then(|| format!("film and logs are lined up to +- {sigma_s:.2} s only (1 sigma); the limit is {limit_s} s"))
}

/// How film and log are lined up, and how sure that is.
pub(super) fn clock_line(fit: &ClockFit) -> String {
    let why: Vec<&str> = fit.evidence.iter().filter(|e| e.used).map(|e| e.why.as_str()).collect();
    let away = (fit.rate - 1.0) * 1e6;
    format!(
        "clocks: the film's first frame is {:.3} s into the log, +- {:.2} s (1 sigma), rate {away:+.0} ppm; by {}",
        fit.offset_s(),
        fit.sigma(0.0),
        if why.is_empty() { "the written fit".to_owned() } else { why.join(", ") }
    )
}
