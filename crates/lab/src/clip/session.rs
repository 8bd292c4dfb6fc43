//! A clip watched from its first frame to its last.

use super::clock::Stamp;
use super::frames::{BadFrame, Frame};
use super::line::{Line, Strip};
use super::track::{TrackSettings, Tracker};
use crate::picture::Gray;

/// What an edge is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// The pole, or a mark on it.
    Pole,
    /// The rim on the left.
    RimLeft,
    /// The rim on the right.
    RimRight,
}

impl Role {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Pole => "pole",
            Self::RimLeft => "rim-left",
            Self::RimRight => "rim-right",
        }
    }
}

/// A line to watch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watched {
    /// What it crosses.
    pub role: Role,
    /// Where.
    pub line: Line,
    /// Whether it was found and not given.
    pub found: bool,
    /// How its edge is followed.
    pub settings: TrackSettings,
}

/// A clip being watched.
#[derive(Clone, Debug)]
pub struct Session {
    pub(super) lines: Vec<(Watched, Tracker)>,
    pub(super) size: Option<[usize; 2]>,
    pub(super) stamps: Vec<Stamp>,
    pub(super) bad: Vec<BadFrame>,
    pub(super) repeated: Vec<u64>,
    pub(super) strip: Strip,
    pub(super) bright: f64,
    digest: u64,
    last: Option<u64>,
}

/// A number that equal pictures share, and others practically never (FNV-1a over the bits of the values: Fowler, Noll & Vo).
fn mark(picture: &Gray) -> u64 {
    picture
        .values()
        .iter()
        .fold(0xcbf2_9ce4_8422_2325, |h, v| (h ^ u64::from(v.to_bits())).wrapping_mul(0x0000_0100_0000_01b3))
}

impl Session {
    /// Nothing seen yet.
    pub fn new(lines: &[Watched]) -> Self {
        Self {
            lines: lines.iter().map(|w| (*w, Tracker::new(w.line, w.settings))).collect(),
            size: None,
            stamps: Vec::new(),
            bad: Vec::new(),
            repeated: Vec::new(),
            strip: Strip::default(),
            bright: 0.0,
            digest: 0,
            last: None,
        }
    }

    /// Frames that could be used so far.
    pub fn seen(&self) -> usize {
        self.stamps.len()
    }

    /// The first frame that could not be used.
    pub fn first_bad(&self) -> Option<&BadFrame> {
        self.bad.first()
    }

    /// A number that clips of the same frames share, in hexadecimal digits.
    pub fn digest(&self) -> String {
        format!("{:016x}", self.digest)
    }

    /// What the pole's line saw.
    pub fn strip(&self) -> &Strip {
        &self.strip
    }

    /// Places of the pole's edge along its line, px, by frame.
    pub fn along(&self) -> Vec<(u64, f64)> {
        self.lines.first().map_or_else(Vec::new, |l| l.1.spots.iter().map(|s| (s.number, s.along)).collect())
    }

    /// Takes a frame.
    ///
    /// # Errors
    /// In words, when a line does not lie in the pictures of this clip; nothing can follow.
    pub fn see(&mut self, frame: Frame) -> Result<(), String> {
        let still = match frame {
            Ok(still) => still,
            Err(bad) => {
                self.bad.push(bad);
                return Ok(());
            }
        };
        let size = [still.gray.width(), still.gray.height()];
        match self.size {
            None => {
                for (w, _) in &self.lines {
                    w.line.within(size[0], size[1]).map_err(|why| format!("{}: {why}", w.role.name()))?;
                }
                self.size = Some(size);
            }
            Some([w, h]) if size != [w, h] => {
                let why = format!(
                    "{} × {} pixels, while the first frame has {w} × {h}; it is left out",
                    size[0], size[1]
                );
                let place = format!("frame {}", still.number);
                self.bad.push(BadFrame { number: still.number, place, why, last: false });
                return Ok(());
            }
            Some(_) => {}
        }
        let own = mark(&still.gray);
        self.digest = (self.digest ^ own).wrapping_mul(0x0000_0100_0000_01b3);
        if self.last == Some(own) {
            self.repeated.push(still.number);
        }
        self.last = Some(own);
        self.stamps.push(Stamp { number: still.number, shown: still.stamp });
        for (k, (_, tracker)) in self.lines.iter_mut().enumerate() {
            tracker.see(still.number, &still.gray);
            if k == 0 {
                let line = *tracker.line();
                let profile = line.profile(&still.gray, 0, line.length() as usize + 1, 1);
                self.strip.add(still.number, &profile);
                if let Some(l) = tracker.levels() {
                    self.bright = l[0].max(l[1]);
                }
            }
        }
        Ok(())
    }
}
