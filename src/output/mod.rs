//! Files that appear under their name only when they are complete.

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
        let folder = match target.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
            _ => PathBuf::from("."),
        };
        let no_folder = |source| OutputError::Folder { file: target.to_owned(), folder: folder.clone(), source };
        let Some(name) = target.file_name() else {
            return Err(no_folder(io::Error::new(io::ErrorKind::InvalidInput, "the name is that of a folder")));
        };
        clear_abandoned(&folder);
        // Another process may take an unlocked newcomer for abandoned; the next number is then free of it.
        for number in 0..100 {
            let mut hidden = std::ffi::OsString::from(".");
            hidden.push(name);
            hidden.push(format!(".{}-{number}{ENDING}", std::process::id()));
            let temporary = folder.join(hidden);
            let file = match OpenOptions::new().read(true).write(true).create_new(true).open(&temporary) {
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists => continue,
                other => other.map_err(no_folder)?,
            };
            if matches!(file.try_lock(), Err(TryLockError::WouldBlock)) {
                continue;
            }
            let target = target.to_owned();
            return Ok(Self { target, temporary, overwrite, finished: false, file });
        }
        Err(no_folder(io::Error::other("no free temporary name")))
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

/// Removes temporary files of this program in a folder that no living process holds.
fn clear_abandoned(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let is_ours = name.starts_with('.') && name.ends_with(ENDING) && entry.file_type().is_ok_and(|t| t.is_file());
        if is_ours && File::open(entry.path()).is_ok_and(|f| f.try_lock().is_ok()) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
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
}
