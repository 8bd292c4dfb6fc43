//! Reading and writing files: bounded reads, atomic writes.

use std::fs;
use std::io::{self, Read, Write};
use std::path::Path;

use crate::End;
use crate::paint;

/// Bytes read at most; the case reader refuses smaller sizes already, this only bounds memory.
const LARGEST: u64 = 64 << 20;

/// The bytes of a file, at most 64 MiB of them.
pub(crate) fn read(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    fs::File::open(path)?.take(LARGEST).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Writes a file whole or not at all: to a neighbour first, then renamed.
pub(crate) fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".part");
    let beside = path.with_file_name(name);
    let result = (|| {
        let mut file = fs::File::create(&beside)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&beside, path)
    })();
    if result.is_err() {
        // The neighbour is ours; what cannot be removed was most likely never made.
        let _ = fs::remove_file(&beside);
    }
    result
}

/// `calotte new KIND`; `ask` is the command to run next.
pub(crate) fn new_case(kind: &str, ask: &str, path: &Path) -> End {
    let Some(template) = calotte_specimen::new_template(kind) else {
        paint::complain(&format!("{kind}: there is no template of this kind"));
        return End::BadInput;
    };
    if path.exists() {
        paint::complain(&format!("{} exists already; name another file", path.display()));
        return End::BadInput;
    }
    match write(path, template.as_bytes()) {
        Ok(()) => paint::line(&format!(
            "Wrote {}. Change its numbers, then run: calotte {ask} {}",
            path.display(),
            path.display()
        )),
        Err(e) => {
            paint::complain(&format!("cannot write {}: {e}", path.display()));
            End::BadInput
        }
    }
}
