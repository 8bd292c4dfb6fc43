//! Where frames come from: a folder or pattern of numbered pictures, a GIF, or a video through `ffmpeg` where there is one.

use std::ffi::OsString;
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use calotte_lab::clip::{BadFrame, Frame, Sequence, Still, fits, gif, raw, sequence};
use calotte_lab::picture::{Light, decode};

use crate::files;

/// Kinds of pictures that are read.
const PICTURES: [&str; 9] = ["png", "jpg", "jpeg", "tif", "tiff", "bmp", "pgm", "pnm", "ppm"];

/// A clip that can be read from its start as often as needed.
pub(crate) enum Source {
    /// Numbered pictures in a folder.
    Pictures {
        /// The folder.
        folder: PathBuf,
        /// Their order.
        order: Sequence,
    },
    /// A GIF.
    Gif(PathBuf),
    /// Anything else, for `ffmpeg`.
    Video {
        /// The file.
        path: PathBuf,
        /// Columns and rows.
        size: [usize; 2],
        /// When each frame is shown, s.
        stamps: Vec<f64>,
    },
}

fn ending(path: &Path) -> String {
    path.extension().map_or_else(String::new, |e| e.to_string_lossy().to_lowercase())
}

/// Finds out what a path is.
pub(crate) fn source(path: &Path) -> Result<Source, String> {
    let shown = path.display();
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let pattern = name.contains(['*', '?']) && !path.exists();
    if path.is_dir() || pattern {
        let folder =
            if pattern { path.parent().unwrap_or(Path::new("")).to_owned() } else { path.to_owned() };
        let listed = if folder.as_os_str().is_empty() { Path::new(".") } else { &folder };
        let entries =
            std::fs::read_dir(listed).map_err(|e| format!("{}: cannot be read: {e}", listed.display()))?;
        let mut names = Vec::new();
        for entry in entries {
            let entry = entry.map_err(|e| format!("{}: cannot be read: {e}", listed.display()))?;
            let own = entry.file_name().to_string_lossy().into_owned();
            let wanted = if pattern { fits(&name, &own) } else { !own.starts_with('.') };
            if wanted && PICTURES.contains(&ending(Path::new(&own)).as_str()) {
                names.push(own);
            }
        }
        if names.is_empty() {
            return Err(format!(
                "{shown}: there is no picture\n  help: a clip is a folder of numbered pictures ({}), a GIF, or a video",
                PICTURES.join(", ")
            ));
        }
        let order = sequence(&names).map_err(|e| format!("{shown}: {e}"))?;
        return Ok(Source::Pictures { folder, order });
    }
    if !path.is_file() {
        return Err(format!(
            "{shown}: there is no such clip\n  help: a clip is a folder of numbered pictures, a pattern such as \"run_*.png\", a GIF, or a video"
        ));
    }
    match ending(path).as_str() {
        "gif" => Ok(Source::Gif(path.to_owned())),
        e if PICTURES.contains(&e) => Err(format!(
            "{shown}: one picture is no clip\n  help: name the folder of its pictures, or a pattern such as \"run_*.{e}\"; `calotte side` reads single pictures"
        )),
        _ => probe(path),
    }
}

/// With its scheme, a name that begins with a dash or holds a colon is still a file.
fn file(path: &Path) -> OsString {
    let mut out = OsString::from("file:");
    out.push(path);
    out
}

fn absent(path: &Path) -> String {
    format!(
        "{}: a video is read through `ffmpeg` and `ffprobe`, which are not on the path\n  help: install them, or save the clip as numbered PNG pictures in a folder, or as a GIF: both are read without",
        path.display()
    )
}

fn probe(path: &Path) -> Result<Source, String> {
    let run = Command::new("ffprobe")
        .args([
            "-v",
            "error",
            "-select_streams",
            "v:0",
            "-show_entries",
            "stream=width,height:packet=pts_time",
        ])
        .args(["-of", "csv"])
        .arg(file(path))
        .output();
    let run = run.map_err(|e| match e.kind() {
        std::io::ErrorKind::NotFound => absent(path),
        _ => format!("{}: ffprobe cannot be run: {e}", path.display()),
    })?;
    if !run.status.success() {
        return Err(format!(
            "{}: no video that ffmpeg reads: {}",
            path.display(),
            String::from_utf8_lossy(&run.stderr).trim()
        ));
    }
    let text = String::from_utf8_lossy(&run.stdout);
    let (mut size, mut stamps) = (None, Vec::new());
    for line in text.lines() {
        let mut cells = line.split(',');
        match cells.next() {
            Some("packet") => stamps.extend(cells.next().and_then(|t| t.parse::<f64>().ok())),
            Some("stream") => {
                let n: Vec<usize> = cells.filter_map(|c| c.parse().ok()).collect();
                size = n.get(..2).map(|n| [n[0], n[1]]);
            }
            _ => {}
        }
    }
    stamps.sort_by(f64::total_cmp);
    let size = size.ok_or_else(|| format!("{}: there is no video in it", path.display()))?;
    Ok(Source::Video { path: path.to_owned(), size, stamps })
}

/// A program that sends frames; ended when nobody reads on.
struct Sending(Child);

impl Read for Sending {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        match &mut self.0.stdout {
            Some(pipe) => pipe.read(to),
            None => Ok(0),
        }
    }
}

impl Drop for Sending {
    fn drop(&mut self) {
        // It may have ended already; either way it is waited for.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Source {
    /// How many frames there are, where that is known beforehand.
    pub(crate) fn count(&self) -> Option<usize> {
        match self {
            Self::Pictures { order, .. } => Some(order.pictures.len()),
            Self::Gif(_) => None,
            Self::Video { stamps, .. } => Some(stamps.len()),
        }
    }

    /// The order of its pictures, for those that are pictures.
    pub(crate) fn order(&self) -> Option<&Sequence> {
        match self {
            Self::Pictures { order, .. } => Some(order),
            _ => None,
        }
    }

    /// Its frames from the start; of pictures only every `every`-th one is read.
    pub(crate) fn frames(
        &self,
        light: Light,
        every: usize,
    ) -> Result<Box<dyn Iterator<Item = Frame> + '_>, String> {
        match self {
            Self::Pictures { folder, order } => {
                Ok(Box::new(order.pictures.iter().step_by(every).map(move |p| {
                    let path = folder.join(&p.name);
                    let bad = |why: String| BadFrame {
                        number: p.number,
                        place: path.display().to_string(),
                        why,
                        last: false,
                    };
                    let bytes = files::read(&path).map_err(|e| bad(format!("cannot be read: {e}")))?;
                    let picture = decode(&bytes, light).map_err(|e| bad(format!("{e}; {}", e.hint())))?;
                    Ok(Still { number: p.number, stamp: None, gray: picture.gray })
                })))
            }
            Self::Gif(path) => {
                let open = std::fs::File::open(path)
                    .map_err(|e| format!("{}: cannot be read: {e}", path.display()))?;
                let frames =
                    gif(BufReader::new(open), light).map_err(|e| format!("{}: {e}", path.display()))?;
                Ok(Box::new(frames.step_by(every)))
            }
            Self::Video { path, size, stamps } => {
                let child = Command::new("ffmpeg")
                    .args(["-v", "error", "-nostdin", "-noautorotate", "-i"])
                    .arg(file(path))
                    .args([
                        "-map",
                        "0:v:0",
                        "-fps_mode",
                        "passthrough",
                        "-f",
                        "rawvideo",
                        "-pix_fmt",
                        "gray",
                        "-",
                    ])
                    .stdin(Stdio::null())
                    .stdout(Stdio::piped())
                    .stderr(Stdio::null())
                    .spawn()
                    .map_err(|e| match e.kind() {
                        std::io::ErrorKind::NotFound => absent(path),
                        _ => format!("{}: ffmpeg cannot be run: {e}", path.display()),
                    })?;
                let pipe = BufReader::with_capacity(1 << 20, Sending(child));
                Ok(Box::new(raw(pipe, size[0], size[1], stamps.clone(), light).step_by(every)))
            }
        }
    }
}
