//! Files that appear under their name only when they are complete.

use std::ffi::{OsStr, OsString};
use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

/// Why a file cannot be written; each says what to do.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs, reason = "the fields are what the messages say")]
pub enum OutputError {
    /// The output is one of the inputs.
    #[error("{file}: the output is the input {input}, which must not be overwritten; choose another name", file = file.display(), input = input.display())]
    IsInput { file: PathBuf, input: PathBuf },
    /// The output exists.
    #[error("{file}: exists already; add --overwrite to replace it, or choose another name", file = file.display())]
    Exists { file: PathBuf },
    /// The output's name is that of a folder.
    #[error("{file}: is a folder; name a file in it", file = file.display())]
    IsFolder { file: PathBuf },
    /// The output's folder cannot be written.
    #[error("{file}: cannot be created in its folder {folder}: {source}; choose a folder that exists and may be written", file = file.display(), folder = folder.display())]
    Folder { file: PathBuf, folder: PathBuf, source: io::Error },
    /// Putting the finished file in place failed.
    #[error("{file}: writing failed: {source}", file = file.display())]
    Write { file: PathBuf, source: io::Error },
}

impl OutputError {
    /// Whether the wish is to blame (exit code 2) rather than the work (exit code 1).
    pub fn is_input(&self) -> bool {
        !matches!(self, Self::Write { .. })
    }
}

/// Ending of a file that is still being written.
const ENDING: &str = ".jumpseat-part";

/// Ending of a folder for what lies between two steps of work.
const FOLDER_ENDING: &str = ".jumpseat-steps";

/// A file being written under a temporary name in its folder. Dropped without [`Pending::finish`], it is gone.
#[derive(Debug)]
pub struct Pending {
    target: PathBuf,
    temporary: PathBuf,
    overwrite: bool,
    finished: bool,
    /// Locked as long as this process lives: the sign for others to leave the file alone.
    file: File,
}

impl Pending {
    /// Starts a file that will become `target`. `inputs` are never written, under whatever name or link they come.
    pub fn create(target: &Path, overwrite: bool, inputs: &[PathBuf]) -> Result<Self, OutputError> {
        clear_abandoned(&folder_of(target));
        Self::create_another(target, overwrite, inputs)
    }

    /// The same for one more of many files in one folder, which is not looked through again.
    pub fn create_another(target: &Path, overwrite: bool, inputs: &[PathBuf]) -> Result<Self, OutputError> {
        if let Ok(existing) = std::fs::metadata(target) {
            if existing.is_dir() {
                return Err(OutputError::IsFolder { file: target.to_owned() });
            }
            if let Some(input) = inputs.iter().find(|i| std::fs::metadata(i).is_ok_and(|m| same_file(&m, &existing))) {
                return Err(OutputError::IsInput { file: target.to_owned(), input: input.clone() });
            }
            if !overwrite {
                return Err(OutputError::Exists { file: target.to_owned() });
            }
        }
        let folder = folder_of(target);
        let no_folder = |source| OutputError::Folder { file: target.to_owned(), folder: folder.clone(), source };
        let Some(name) = target.file_name() else {
            return Err(no_folder(io::Error::new(io::ErrorKind::InvalidInput, "the name is that of a folder")));
        };
        let make = |path: &Path| OpenOptions::new().read(true).write(true).create_new(true).open(path);
        let (temporary, file) = hidden(&folder, name, ENDING, make).map_err(no_folder)?;
        Ok(Self { target: target.to_owned(), temporary, overwrite, finished: false, file })
    }

    /// Where to write for now.
    pub fn path(&self) -> &Path {
        &self.temporary
    }

    /// The file itself, for writers that take one.
    pub fn file(&self) -> &File {
        &self.file
    }

    /// Puts the file in place under another name, in place of one that may lie there: for work that was cut short.
    pub fn finish_as(mut self, target: &Path) -> Result<(), OutputError> {
        target.clone_into(&mut self.target);
        self.overwrite = true;
        self.finish()
    }

    /// Puts the complete file in place, once it is safely on the disk.
    pub fn finish(mut self) -> Result<(), OutputError> {
        let failed = |source| OutputError::Write { file: self.target.clone(), source };
        self.file.sync_all().map_err(failed)?;
        if !self.overwrite && self.target.exists() {
            return Err(OutputError::Exists { file: self.target.clone() });
        }
        std::fs::rename(&self.temporary, &self.target).map_err(failed)?;
        self.finished = true;
        Ok(())
    }
}

impl Drop for Pending {
    fn drop(&mut self) {
        if !self.finished {
            // What cannot be removed now is cleared by the next run.
            let _ = std::fs::remove_file(&self.temporary);
        }
    }
}

/// A hidden folder beside a file to come, for what lies between two steps of its making. Gone with this; what a process that was
/// killed left behind is cleared by the next run.
#[derive(Debug)]
pub struct Between {
    folder: PathBuf,
    /// Locked as a [`Pending`]'s file is.
    _held: File,
}

impl Between {
    /// Makes the folder.
    ///
    /// # Errors
    /// Nothing can be made beside the file.
    pub fn beside(target: &Path) -> Result<Self, OutputError> {
        let folder = folder_of(target);
        clear_abandoned(&folder);
        let make = |path: &Path| {
            std::fs::create_dir(path)?;
            // Cleared away by another run before it was opened: the next number is as good.
            File::open(path)
                .map_err(|e| if e.kind() == io::ErrorKind::NotFound { io::ErrorKind::AlreadyExists.into() } else { e })
        };
        let made = hidden(&folder, target.file_name().unwrap_or_default(), FOLDER_ENDING, make);
        let (folder, held) = made.map_err(|source| OutputError::Folder { file: target.to_owned(), folder, source })?;
        Ok(Self { folder, _held: held })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.folder
    }
}

impl Drop for Between {
    fn drop(&mut self) {
        // What cannot be removed now is cleared by the next run.
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// Makes something under a hidden name that is free, and locks it.
fn hidden(
    folder: &Path,
    name: &OsStr,
    ending: &str,
    make: impl Fn(&Path) -> io::Result<File>,
) -> io::Result<(PathBuf, File)> {
    for number in 0..100 {
        let mut hidden = OsString::from(".");
        hidden.push(name);
        hidden.push(format!(".{}-{number}{ending}", std::process::id()));
        let path = folder.join(hidden);
        let file = match make(&path) {
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => continue,
            other => other?,
        };
        // Before it was locked, another run may have taken the newcomer for abandoned: it holds it now, or has removed it.
        if !matches!(file.try_lock(), Err(TryLockError::WouldBlock)) && is_at(&file, &path) {
            return Ok((path, file));
        }
    }
    Err(io::Error::other("no free temporary name"))
}

fn folder_of(target: &Path) -> PathBuf {
    match target.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// Removes temporary files and folders of this program in a folder that no living process holds.
fn clear_abandoned(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let (path, name) = (entry.path(), entry.file_name());
        let name = name.to_string_lossy();
        let Ok(kind) = entry.file_type() else { continue };
        let is_file = kind.is_file() && name.ends_with(ENDING);
        let is_folder = kind.is_dir() && name.ends_with(FOLDER_ENDING);
        if !name.starts_with('.') || !(is_file || is_folder) {
            continue;
        }
        // Held until it is gone, so that nobody can begin to write it. What was opened may since be a finished file elsewhere, and
        // another one have its name.
        let Ok(held) = File::open(&path) else { continue };
        if held.try_lock().is_err() || !is_at(&held, &path) {
            continue;
        }
        // What cannot be removed is hidden and harms nothing.
        let _ = if is_file { std::fs::remove_file(path) } else { std::fs::remove_dir_all(path) };
    }
}

/// Whether an open file or folder is still what lies at a path.
fn is_at(file: &File, path: &Path) -> bool {
    std::fs::metadata(path).is_ok_and(|there| file.metadata().is_ok_and(|own| same_file(&there, &own)))
}

#[cfg(unix)]
fn same_file(a: &std::fs::Metadata, b: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    (a.dev(), a.ino()) == (b.dev(), b.ino())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_finished_file_appears() {
        let folder = tempfile::tempdir().expect("folder");
        let target = folder.path().join("film.mp4");
        drop(Pending::create(&target, false, &[]).expect("created"));
        assert_eq!(std::fs::read_dir(folder.path()).expect("folder").count(), 0);
        let pending = Pending::create(&target, false, &[]).expect("created");
        assert!(!target.exists());
        pending.finish().expect("finished");
        assert_eq!(std::fs::read_dir(folder.path()).expect("folder").count(), 1);
        assert!(matches!(Pending::create(&target, false, &[]), Err(OutputError::Exists { .. })));
    }

    #[test]
    fn an_input_is_never_the_output_even_through_links() {
        let folder = tempfile::tempdir().expect("folder");
        let input = folder.path().join("clip.mp4");
        std::fs::write(&input, b"precious").expect("input");
        let (hard, soft) = (folder.path().join("hard.mp4"), folder.path().join("soft.mp4"));
        std::fs::hard_link(&input, &hard).expect("link");
        std::os::unix::fs::symlink(&input, &soft).expect("link");
        for output in [&input, &hard, &soft] {
            let refused = Pending::create(output, true, std::slice::from_ref(&input));
            assert!(matches!(refused, Err(OutputError::IsInput { .. })), "{output:?}");
        }
        assert_eq!(std::fs::read(&input).expect("input"), b"precious");
    }

    #[test]
    fn the_next_run_clears_what_no_living_process_holds() {
        let folder = tempfile::tempdir().expect("folder");
        let dead = folder.path().join(format!(".old.mp4.1-0{ENDING}"));
        std::fs::write(&dead, b"half a film").expect("left over");
        let held = Pending::create(&folder.path().join("a.mp4"), false, &[]).expect("created");
        assert!(!dead.exists());
        let _other = Pending::create(&folder.path().join("b.mp4"), false, &[]).expect("created");
        assert!(held.path().exists(), "a file that is being written is left alone");
    }

    #[test]
    fn those_who_begin_at_once_do_not_clear_each_other() {
        let folder = tempfile::tempdir().expect("folder");
        let work = |worker: u32| {
            for number in 0..300 {
                let target = folder.path().join(format!("{worker}-{number}.mp4"));
                let pending = Pending::create(&target, false, &[]).expect("created");
                std::thread::yield_now();
                assert!(pending.path().exists(), "{worker}-{number} was cleared");
                pending.finish().expect("finished");
                std::fs::remove_file(&target).expect("removed");
                let between = Between::beside(&target).expect("made");
                std::thread::yield_now();
                assert!(between.path().is_dir(), "the steps of {worker}-{number} were cleared");
            }
        };
        std::thread::scope(|scope| (0..6).for_each(|worker| drop(scope.spawn(move || work(worker)))));
    }

    #[test]
    fn the_next_run_clears_folders_too() {
        let folder = tempfile::tempdir().expect("folder");
        let (dead, alien) = (folder.path().join(format!(".old.mp4.1-0{FOLDER_ENDING}")), folder.path().join(".mine"));
        for made in [&dead, &alien] {
            std::fs::create_dir(made).expect("left over");
            std::fs::write(made.join("stats"), b"half").expect("left over");
        }
        let held = Between::beside(&folder.path().join("a.mp4")).expect("made");
        assert!(!dead.exists() && alien.exists());
        let other = Between::beside(&folder.path().join("a.mp4")).expect("made");
        assert!(held.path().is_dir() && held.path() != other.path(), "a folder in use is left alone");
        drop((held, other));
        assert_eq!(std::fs::read_dir(folder.path()).expect("folder").count(), 1);
    }
}
