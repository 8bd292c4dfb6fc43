//! Files written whole or not at all, and the checksum of what is written.

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// Suffix of a file that is not finished.
pub(crate) const PART: &str = ".part";

/// The neighbour that a file is written to before it takes its name.
fn beside(path: &Path) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(PART);
    path.with_file_name(name)
}

/// Writes a file whole or not at all, and for good: to the neighbour `NAME.part`, which is synced to the
/// disk and then renamed; at last the folder is synced. Whatever had the name before is replaced in one
/// step. Two writers of one path at the same time need a lock of their own: they share the neighbour.
///
/// # Errors
/// What the disk says; the old file, if there was one, is as it was.
pub fn write_atomic(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write_with(path, &mut |file| file.write_all(bytes))
}

/// The same in pieces, for what is too large to be held in memory.
///
/// # Errors
/// What the disk or `write` says; the old file, if there was one, is as it was.
pub fn write_with(path: &Path, write: &mut dyn FnMut(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    let beside = beside(path);
    let result = (|| {
        let mut file = fs::File::create(&beside)?;
        write(&mut file)?;
        file.sync_all()?;
        fs::rename(&beside, path)
    })();
    if result.is_err() {
        // The neighbour is ours; what cannot be removed was most likely never made.
        let _ = fs::remove_file(&beside);
        return result;
    }
    sync_folder(path.parent().unwrap_or(Path::new("")))
}

/// Has the names in a folder written to the disk, where folders can be opened and synced at all. An empty
/// path is the folder that the process works in.
pub(crate) fn sync_folder(path: &Path) -> io::Result<()> {
    if !cfg!(unix) {
        return Ok(());
    }
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    match fs::File::open(path)?.sync_all() {
        // Some file systems know no such thing.
        Err(e) if matches!(e.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => Ok(()),
        other => other,
    }
}

/// Bytes read of a file at most: this only bounds memory.
const LARGEST: u64 = 256 << 20;

/// The bytes of a file, at most 256 MiB of them.
///
/// # Errors
/// What the disk says.
pub fn read(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    fs::File::open(path)?.take(LARGEST).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Makes a folder, and those above it, unless it is there.
///
/// # Errors
/// What the disk says.
pub fn make_folder(path: &Path) -> io::Result<()> {
    fs::create_dir_all(path)
}

/// FNV-1a, 64 bits: any change of a single byte shows, others but for one in 2⁶⁴.
pub fn checksum(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(*b)).wrapping_mul(0x0000_0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_path_is_the_working_folder() {
        sync_folder(Path::new("")).unwrap();
        sync_folder(Path::new(".")).unwrap();
    }

    #[test]
    fn checksum_of_known_texts() {
        assert_eq!(checksum(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(checksum(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(checksum(b"foobar"), 0x8594_4171_f739_67e8);
    }
}
