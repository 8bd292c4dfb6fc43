//! Pictures to MP4 through an `ffmpeg` that the user has installed.
//!
//! Nothing is linked: raw pictures go down a pipe, the program writes the file. It appears under its name when it is
//! whole.

use std::ffi::{OsStr, OsString};
use std::fmt;
use std::io::{ErrorKind, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

/// Why there is no video.
#[derive(Debug)]
pub(crate) enum VideoFailure {
    /// The program is not there.
    NotFound {
        /// The name it was looked for under.
        program: OsString,
    },
    /// There is no picture, or one stays for no time, or has not three bytes for each pixel.
    Pictures,
    /// The program could not be run or spoken to, or the file not be put in its place.
    Io(std::io::Error),
    /// The program ended without a video; its words.
    Refused(String),
}

impl fmt::Display for VideoFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFound { program } => {
                write!(f, "`{}` is not on the path; install it, or ask for a GIF", program.to_string_lossy())
            }
            Self::Pictures => write!(f, "there are no whole pictures to put in a video"),
            Self::Io(e) => write!(f, "the video could not be written: {e}"),
            Self::Refused(words) => write!(f, "the video encoder gave up: {words}"),
        }
    }
}

impl std::error::Error for VideoFailure {}

/// The longest time of which every delay is a whole multiple.
fn tick(delays_cs: &[u16]) -> u16 {
    delays_cs.iter().fold(0, |mut a, &b| {
        let mut b = b;
        while b > 0 {
            (a, b) = (b, a % b);
        }
        a
    })
}

/// What the program is told.
fn orders((width, height): (u32, u32), tick_cs: u16, to: &Path) -> Vec<OsString> {
    let size = format!("{width}x{height}");
    let rate = format!("100/{tick_cs}");
    let mut out: Vec<OsString> =
        ["-v", "error", "-y", "-f", "rawvideo", "-pix_fmt", "rgb24", "-s", &size, "-r", &rate]
            .into_iter()
            .chain(["-i", "-", "-an", "-fflags", "+bitexact", "-flags:v", "+bitexact"])
            .map(OsString::from)
            .collect();
    if width % 2 + height % 2 > 0 {
        // The colours of the usual codec come in blocks of two by two.
        out.extend(["-vf", "pad=ceil(iw/2)*2:ceil(ih/2)*2:color=white"].map(OsString::from));
    }
    out.extend(["-pix_fmt", "yuv420p", "-movflags", "+faststart", "-f", "mp4"].map(OsString::from));
    // With its scheme, a name that begins with a dash or holds a colon is still a file.
    let mut file = OsString::from("file:");
    file.push(to);
    out.push(file);
    out
}

/// Writes an MP4 of pictures that are red, green and blue, row by row; `delays_cs` are hundredths of a second.
pub(crate) fn mp4(
    program: &OsStr,
    path: &Path,
    size: (u32, u32),
    delays_cs: &[u16],
    picture: &mut dyn FnMut(usize) -> Vec<u8>,
) -> Result<(), VideoFailure> {
    let bytes = size.0 as usize * size.1 as usize * 3;
    if delays_cs.is_empty() || delays_cs.contains(&0) || bytes == 0 {
        return Err(VideoFailure::Pictures);
    }
    let tick_cs = tick(delays_cs);
    let unfinished = unfinished(path);
    let child = Command::new(program)
        .args(orders(size, tick_cs, &unfinished))
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn();
    let child = child.map_err(|e| match e.kind() {
        ErrorKind::NotFound => VideoFailure::NotFound { program: program.to_owned() },
        _ => VideoFailure::Io(e),
    })?;
    let done = feed(child, delays_cs, tick_cs, bytes, picture)
        .and_then(|()| std::fs::rename(&unfinished, path).map_err(VideoFailure::Io));
    if done.is_err() {
        // What is half written is of no use; that it may not exist does not matter.
        let _ = std::fs::remove_file(&unfinished);
    }
    done
}

/// The name of the file while it is written, beside its place.
fn unfinished(path: &Path) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.part", std::process::id()));
    path.with_file_name(name)
}

/// Sends every picture as often as its delay asks for, and waits for the end.
fn feed(
    mut child: Child,
    delays_cs: &[u16],
    tick_cs: u16,
    bytes: usize,
    picture: &mut dyn FnMut(usize) -> Vec<u8>,
) -> Result<(), VideoFailure> {
    // Its words are read meanwhile: a full pipe would stop it.
    let words = child.stderr.take().map(|mut pipe| {
        std::thread::spawn(move || {
            let mut words = Vec::new();
            let read = pipe.read_to_end(&mut words);
            read.map(|_| String::from_utf8_lossy(&words).trim().to_owned()).unwrap_or_default()
        })
    });
    let mut sent = Ok(());
    if let Some(mut pipe) = child.stdin.take() {
        'pictures: for (i, delay) in delays_cs.iter().enumerate() {
            let rgb = picture(i);
            if rgb.len() != bytes {
                sent = Err(VideoFailure::Pictures);
                break;
            }
            for _ in 0..delay / tick_cs {
                if let Err(e) = pipe.write_all(&rgb) {
                    sent = Err(VideoFailure::Io(e));
                    break 'pictures;
                }
            }
        }
    }
    let ended = child.wait().map_err(VideoFailure::Io)?;
    let words = words.and_then(|w| w.join().ok()).unwrap_or_default();
    match (sent, ended.success()) {
        (Err(VideoFailure::Pictures), _) => Err(VideoFailure::Pictures),
        // A pipe that breaks is the program's end; its words say more.
        (_, false) => Err(VideoFailure::Refused(if words.is_empty() { ended.to_string() } else { words })),
        (sent, true) => sent,
    }
}
