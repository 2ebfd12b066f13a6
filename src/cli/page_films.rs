//! The annotated films beside a page: where each lies, and which stretch of which of the flight's films it shows.

use super::{Failure, Report};
use crate::report::{Film, PageFilm};
use std::fmt::Write as _;
use std::path::{Component, Path, PathBuf};

/// The films as the page asks for them; what is not certain of one is said.
pub(super) fn page_films(
    files: &[PathBuf],
    page: &Path,
    films: &[Film],
    report: &Report,
) -> Result<Vec<PageFilm>, Failure> {
    let mut found = Vec::new();
    for file in files {
        let address = address(file, page)?;
        let Some(span) = span(file, films, report)? else { continue };
        let name = file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        found.push(PageFilm { address, name, camera: span.camera, from_s: span.from_s, duration_s: span.duration_s });
    }
    Ok(found)
}

/// What a film shows.
struct Span {
    /// Which of the flight's films.
    camera: usize,
    /// Where in it the film begins.
    from_s: f64,
    duration_s: Option<f64>,
}

/// The stretch that a film covers, by what it says of itself, and else by its length; none for one that nothing joins to the logs.
#[cfg(feature = "codec")]
fn span(file: &Path, films: &[Film], report: &Report) -> Result<Option<Span>, Failure> {
    let clip = crate::video::join(&[file.to_owned()])?;
    let named = |name: &str| {
        let is = |of: &PathBuf| of.file_name().is_some_and(|n| n.to_string_lossy() == name);
        films.iter().position(|film| film.files.iter().any(is))
    };
    let (camera, from_s) = match clip.origin() {
        Some(origin) => match named(&origin.file) {
            Some(camera) => (camera, origin.from_s),
            None => {
                let cure = "name a film that render or excerpts made of this flight";
                return Err(Failure::input(format!(
                    "{}: was made from {}, which is no film of this flight; {cure}",
                    file.display(),
                    origin.file
                )));
            }
        },
        None => {
            // The flight's own film, or one of another program: containers round lengths, and sound may end later than pictures.
            let as_long = |film: &Film| film.duration_s.is_some_and(|whole| (clip.duration_s - whole).abs() <= 0.5);
            let whole = named(&file.file_name().unwrap_or_default().to_string_lossy());
            let camera = whole.or_else(|| films.iter().position(|film| film.fit.is_some() && as_long(film)));
            if camera.is_none() {
                report.say(&format!(
                    "{}: lasts {:.1} s, as none of the flight's films does, and says not where in one it begins; the page takes \
                     it to begin with the first",
                    file.display(),
                    clip.duration_s
                ));
            }
            (camera.unwrap_or(0), 0.0)
        }
    };
    if films.get(camera).is_none_or(|film| film.fit.is_none()) {
        report.say(&format!("{}: nothing joins its camera to the logs, so it is left out of the page", file.display()));
        return Ok(None);
    }
    // Sound may go on beyond the last picture.
    let pictures_s = clip.video.frames.map_or(f64::INFINITY, |n| n as f64 / clip.video.frame_rate.as_f64());
    let duration_s = if pictures_s > 0.0 { pictures_s.min(clip.duration_s) } else { clip.duration_s };
    Ok(Some(Span { camera, from_s, duration_s: Some(duration_s) }))
}

/// Without FFmpeg nothing can be read of a film: it is taken for the whole first one.
#[cfg(not(feature = "codec"))]
#[allow(clippy::unnecessary_wraps, reason = "as the other one")]
fn span(file: &Path, films: &[Film], report: &Report) -> Result<Option<Span>, Failure> {
    report.say(&format!("{}: is taken for the whole of the flight's first film", file.display()));
    Ok(films.first().filter(|film| film.fit.is_some()).map(|_| Span { camera: 0, from_s: 0.0, duration_s: None }))
}

/// A film's address as a page asks for it: from the page's folder, so that both can be moved together.
fn address(film: &Path, page: &Path) -> Result<String, Failure> {
    let find = |path: &Path| {
        path.canonicalize().map_err(|e| {
            Failure::input(format!("{}: cannot be opened: {e}; name the film that render wrote", path.display()))
        })
    };
    if !film.is_file() {
        let what = if film.exists() { "is no file" } else { "does not exist" };
        return Err(Failure::input(format!("{}: {what}; name the film that render wrote", film.display())));
    }
    let folder = match page.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    // A folder that is not there is told when the page is written.
    let Ok(folder) = folder.canonicalize() else { return Ok(String::new()) };
    let film = find(film)?;
    let (to, from): (Vec<Component<'_>>, Vec<Component<'_>>) =
        (film.components().collect(), folder.components().collect());
    let shared = to.iter().zip(&from).take_while(|(a, b)| a == b).count();
    let up = from[shared..].iter().map(|_| "..".to_owned());
    let down = to[shared..].iter().map(|part| encoded(&part.as_os_str().to_string_lossy()));
    Ok(up.chain(down).collect::<Vec<_>>().join("/"))
}

/// A name as a part of an address (RFC 3986, section 2.3: all but unreserved characters are written in hexadecimal).
fn encoded(name: &str) -> String {
    name.bytes().fold(String::new(), |mut text, byte| {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.' | b'_' | b'~') {
            text.push(char::from(byte));
        } else {
            let _ = write!(text, "%{byte:02X}");
        }
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_film_is_named_from_the_page() {
        let folder = tempfile::tempdir().expect("folder");
        std::fs::create_dir_all(folder.path().join("a/b")).expect("folders");
        let film = folder.path().join("a/my film #1.mp4");
        std::fs::write(&film, b"film").expect("film");
        let named = |page: &str| address(&film, &folder.path().join(page)).map_err(|f| f.message);
        assert_eq!(named("a/page.html").as_deref(), Ok("my%20film%20%231.mp4"));
        assert_eq!(named("a/b/page.html").as_deref(), Ok("../my%20film%20%231.mp4"));
        assert_eq!(named("page.html").as_deref(), Ok("a/my%20film%20%231.mp4"));
        assert!(address(&folder.path().join("none.mp4"), &film).is_err());
    }
}
