//! A file that appears whole or not at all: it is written without a name in the folder of its place, made durable, named, and
//! moved there. A process that is killed at it leaves nothing behind; where a file system knows no file without a name, it
//! leaves one that is hidden beside the place.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::os::fd::AsRawFd;
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

use rustix::fs::{AtFlags, CWD, OFlags, linkat};
use uuid::Uuid;

const OWN_FILES: &str = "/proc/self/fd";

/// A file that is being written. Dropped before [`Self::finish`], it leaves nothing behind, and whatever stood in its place.
#[derive(Debug)]
pub struct Replacing {
    file: Option<File>,
    /// Its name until it is moved to its place.
    beside: PathBuf,
    /// Whether it has that name already.
    named: bool,
    place: PathBuf,
}

/// The folder that a name is in.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A file without a name in a folder; it is gone with the process. It gets its name by way of /proc.
#[expect(clippy::cast_possible_wrap, reason = "flags of open(2) are an int there")]
fn nameless(folder: &Path) -> io::Result<File> {
    std::fs::metadata(OWN_FILES)?;
    OpenOptions::new().write(true).custom_flags(OFlags::TMPFILE.bits() as i32).open(folder)
}

/// Gives a file without a name its first one.
fn name(file: &File, path: &Path) -> io::Result<()> {
    let own = format!("{OWN_FILES}/{}", file.as_raw_fd());
    Ok(linkat(CWD, own, CWD, path, AtFlags::SYMLINK_FOLLOW)?)
}

impl Replacing {
    /// Begins a file that is to stand at `place`.
    ///
    /// # Errors
    /// If the folder takes no file, or something other than a file stands at `place`, such as a device.
    pub fn begin(place: &Path) -> io::Result<Self> {
        // What these name may be a file that somebody else writes to.
        if ["/dev", "/proc"].iter().any(|folder| place.starts_with(folder)) {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "something other than a file has this name"));
        }
        // Through a link the file that it names is replaced, not the link.
        let place = if place.exists() { place.canonicalize()? } else { place.to_owned() };
        if place.exists() && !place.is_file() {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "something other than a file has this name"));
        }
        if place.file_name().is_none() {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "it names no file"));
        }
        let beside = place.with_file_name(format!(".{}.partial", Uuid::now_v7()));
        let (file, named) = match nameless(folder_of(&place)) {
            Ok(file) => (file, false),
            // Not every file system has such files; what else is wrong shows here, too.
            Err(_) => (OpenOptions::new().write(true).create_new(true).open(&beside)?, true),
        };
        // What somebody closed to others stays closed.
        if let Ok(before) = std::fs::metadata(&place) {
            file.set_permissions(before.permissions())?;
        }
        Ok(Self { file: Some(file), beside, named, place })
    }

    /// Adds to it.
    ///
    /// # Errors
    /// If the disk does not take it.
    pub fn write(&mut self, text: &str) -> io::Result<()> {
        self.file.as_mut().map_or(Ok(()), |file| file.write_all(text.as_bytes()))
    }

    /// Makes it durable and puts it in its place.
    ///
    /// # Errors
    /// If the disk does not take it; then nothing has changed there.
    pub fn finish(mut self) -> io::Result<()> {
        let Some(file) = self.file.take() else { return Ok(()) };
        let named = |()| if self.named { Ok(()) } else { name(&file, &self.beside) };
        let done = file.sync_all().and_then(named).and_then(|()| std::fs::rename(&self.beside, &self.place));
        if let Err(error) = done {
            let _ = std::fs::remove_file(&self.beside);
            return Err(error);
        }
        // The new name must outlive a power cut as well.
        File::open(folder_of(&self.place))?.sync_all()
    }
}

impl Drop for Replacing {
    fn drop(&mut self) {
        if self.file.take().is_some() && self.named {
            let _ = std::fs::remove_file(&self.beside);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::PermissionsExt;

    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    }

    #[test]
    fn a_file_appears_whole_or_not_at_all() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("codes.csv");
        let mut file = Replacing::begin(&place).unwrap();
        file.write("half").unwrap();
        // Nothing shows while it is written: a process that is killed here leaves nothing.
        assert!(names(folder.path()).is_empty());
        drop(file);
        assert!(names(folder.path()).is_empty());

        let mut file = Replacing::begin(&place).unwrap();
        file.write("whole\n").unwrap();
        file.finish().unwrap();
        let mut again = Replacing::begin(&place).unwrap();
        again.write("ha").unwrap();
        drop(again);
        assert_eq!(std::fs::read_to_string(&place).unwrap(), "whole\n");
        std::fs::set_permissions(&place, std::fs::Permissions::from_mode(0o600)).unwrap();
        let mut closed = Replacing::begin(&place).unwrap();
        closed.write("whole\n").unwrap();
        closed.finish().unwrap();
        assert_eq!(std::fs::metadata(&place).unwrap().permissions().mode() & 0o777, 0o600);
        assert_eq!(names(folder.path()), ["codes.csv"]);
    }

    #[test]
    fn a_link_stays_and_what_is_no_file_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let (place, link) = (folder.path().join("a"), folder.path().join("b"));
        std::fs::write(&place, "old").unwrap();
        std::os::unix::fs::symlink(&place, &link).unwrap();
        let mut file = Replacing::begin(&link).unwrap();
        file.write("new").unwrap();
        file.finish().unwrap();
        assert_eq!(std::fs::read_to_string(&place).unwrap(), "new");
        assert!(link.is_symlink());
        assert!(Replacing::begin(Path::new("/dev/null")).is_err());
        assert!(Replacing::begin(Path::new("/dev/stdout")).is_err());
        assert!(Replacing::begin(folder.path()).is_err());
    }
}
