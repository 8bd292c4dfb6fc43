//! One edge followed through the frames: predicted from those before, sought near there, and refused where glare, a wrong
//! step or an impossible jump says that it is not the edge. What is lost stays lost.

use std::collections::VecDeque;
use std::fmt;

use calotte_chance::sample::{quantile, sorted};

use super::line::Line;
use crate::picture::{EdgeSettings, Gray, edge_across};

/// How an edge is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrackSettings {
    /// Which edge along the line to begin with: 1 is the first one from its start.
    pub nth: usize,
    /// Half the width of the strip across the line, px.
    pub half_width: f64,
    /// Least step of grey values that is an edge.
    pub least_contrast: f64,
}

impl Default for TrackSettings {
    fn default() -> Self {
        Self { nth: 1, half_width: 1.5, least_contrast: 0.08 }
    }
}

/// The edge in one frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Number of the frame.
    pub number: u64,
    /// Distance from the start of the line, px.
    pub along: f64,
    /// Standard deviation of that, px.
    pub sd: f64,
    /// Width of its blur, px.
    pub blur: f64,
    /// Step of grey values over the usual one of this clip.
    pub contrast: f64,
}

/// Why a frame has no edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lost {
    /// No step of the right sense stands out where the edge can be.
    None,
    /// There is a step, but its levels are not those of the edge: glare, or something before it.
    Levels,
    /// It is farther from where it was than it can have moved, and is not there in the next frame.
    Jump,
    /// Too near to an end of the line.
    End,
}

impl fmt::Display for Lost {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::None => "no edge stands out",
            Self::Levels => "glare, or something before the edge: its grey levels are others",
            Self::Jump => "an edge too far from those before and after",
            Self::End => "the edge is too near to an end of the line",
        })
    }
}

/// Work done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Frames seen.
    pub frames: u64,
    /// Profiles along the line that were searched for a step.
    pub searches: u64,
    /// Edges fitted.
    pub fits: u64,
}

/// An edge being followed.
#[derive(Clone, Debug)]
pub struct Tracker {
    line: Line,
    settings: TrackSettings,
    /// Levels before and behind the edge in the frames so far, as they are taken for granted.
    levels: Option<[f64; 2]>,
    kept: Vec<[f64; 2]>,
    recent: VecDeque<(f64, f64)>,
    /// A spot far from where it was expected: kept when the next frame confirms it.
    unsure: Option<Spot>,
    /// Frames lost one after another.
    streak: usize,
    /// Found so far.
    pub spots: Vec<Spot>,
    /// Frames without, and why.
    pub lost: Vec<(u64, Lost)>,
    /// Work.
    pub count: Count,
}

/// Frames whose levels make the usual ones.
const LEVELS: usize = 15;
/// Share of the contrast by which a level may differ from the usual one.
const LEVEL_OFF: f64 = 0.3;
/// So many frames lost one after another, with fewer than that found before, are a false start.
const FALSE_START: usize = 6;
/// Least share of the usual contrast.
const FAINT: f64 = 0.5;

impl Tracker {
    /// Nothing seen yet.
    pub fn new(line: Line, settings: TrackSettings) -> Self {
        Self {
            line,
            settings,
            levels: None,
            kept: Vec::new(),
            recent: VecDeque::new(),
            unsure: None,
            streak: 0,
            spots: Vec::new(),
            lost: Vec::new(),
            count: Count::default(),
        }
    }

    /// The line.
    pub fn line(&self) -> &Line {
        &self.line
    }

    /// Usual grey levels before and behind the edge.
    pub(super) fn levels(&self) -> Option<[f64; 2]> {
        self.levels
    }

    /// Place and speed (px, px a frame) expected in frame `n`.
    fn expected(&self, n: f64) -> Option<[f64; 2]> {
        let (n1, x1) = *self.recent.back()?;
        let speed = match self.recent.iter().rev().nth(1) {
            Some((n0, x0)) => (x1 - x0) / (n1 - n0),
            None => 0.0,
        };
        // Long gone, a speed says nothing.
        let ahead = n - n1;
        Some(if ahead <= 3.0 { [x1 + speed * ahead, speed] } else { [x1, speed] })
    }

    /// Takes a frame.
    pub fn see(&mut self, number: u64, picture: &Gray) {
        self.count.frames += 1;
        let n = number as f64;
        let found = match self.expected(n) {
            None => self.begin(number, picture).map(|s| (s, true)),
            Some([place, speed]) => self.follow(number, picture, place, speed),
        };
        match found {
            Ok((spot, sure)) => {
                if let Some(before) = self.unsure.take() {
                    let off = (spot.along - before.along).abs();
                    let gap = n - before.number as f64;
                    if off
                        <= 12.0 + 0.6 * (before.along - self.recent.back().map_or(0.0, |r| r.1)).abs() * gap
                    {
                        self.keep(before);
                    } else {
                        self.lost.push((before.number, Lost::Jump));
                    }
                }
                if sure || self.recent.back().is_some_and(|r| (spot.along - r.1).abs() <= gate(0.0)) {
                    self.keep(spot);
                } else {
                    self.unsure = Some(spot);
                }
            }
            Err(why) => {
                self.lost.push((number, why));
                self.streak += 1;
                if self.streak >= FALSE_START && self.spots.len() < FALSE_START {
                    self.begin_again();
                }
            }
        }
    }

    /// What was taken for the edge at first is no longer there: glare, most likely. The frames so far are lost.
    fn begin_again(&mut self) {
        self.lost.extend(self.spots.drain(..).map(|s| (s.number, Lost::Levels)));
        self.lost.extend(self.unsure.take().map(|s| (s.number, Lost::Levels)));
        self.kept.clear();
        self.levels = None;
        self.recent.clear();
        self.streak = 0;
    }

    /// The clip is over.
    pub fn end(&mut self) {
        if let Some(s) = self.unsure.take() {
            self.lost.push((s.number, Lost::Jump));
        }
        self.lost.sort_unstable();
    }

    fn keep(&mut self, spot: Spot) {
        self.streak = 0;
        self.recent.push_back((spot.number as f64, spot.along));
        if self.recent.len() > 3 {
            self.recent.pop_front();
        }
        self.spots.push(spot);
    }

    /// Steps along the line, by place: (place, step), those of a local extreme.
    fn steps(&mut self, picture: &Gray, from: f64, to: f64, width: usize) -> Vec<(f64, f64)> {
        self.count.searches += 1;
        let last = self.line.length() as usize;
        let first = (from.max(0.0) as usize).saturating_sub(width);
        let end = ((to.min(last as f64).max(0.0)) as usize + width).min(last);
        let p = self.line.profile(
            picture,
            first,
            (end + 1).saturating_sub(first),
            self.settings.half_width as i32,
        );
        let m = width;
        if p.len() < 2 * m + 2 {
            return Vec::new();
        }
        let mean = |r: std::ops::Range<usize>| f64::from(p[r].iter().sum::<f32>()) / m as f64;
        let steps: Vec<f64> = (m..=p.len() - m).map(|k| mean(k..k + m) - mean(k - m..k)).collect();
        (0..steps.len())
            .filter(|k| {
                let s = steps[*k].abs();
                let near = k.saturating_sub(m)..(k + m + 1).min(steps.len());
                near.clone().all(|j| steps[j].abs() < s || (steps[j].abs() == s && j >= *k))
            })
            .map(|k| ((first + m + k) as f64 - 0.5, steps[k]))
            .collect()
    }

    /// The first frame: the edge of the stated number among those that stand out.
    fn begin(&mut self, number: u64, picture: &Gray) -> Result<Spot, Lost> {
        let steps = self.steps(picture, 0.0, f64::INFINITY, 3);
        let most = steps.iter().map(|s| s.1.abs()).fold(0.0, f64::max);
        let strong = (0.4 * most).max(self.settings.least_contrast);
        let at = steps.iter().filter(|s| s.1.abs() >= strong).nth(self.settings.nth - 1).ok_or(Lost::None)?.0;
        self.fit(number, picture, at, 6.0)
    }

    fn follow(&mut self, number: u64, picture: &Gray, place: f64, speed: f64) -> Result<(Spot, bool), Lost> {
        let away = number as f64 - self.recent.back().map_or(0.0, |r| r.0);
        let reach = gate(speed) * away.clamp(1.0, 4.0);
        // Motion smears the edge over up to its way in a frame.
        let width = (0.5 * speed.abs()) as usize + 3;
        let smear = 6.0 + 0.9 * speed.abs().min(40.0);
        let mut why = Lost::None;
        for (whole, [from, to]) in
            [(false, [place - reach, place + reach]), (true, [0.0, self.line.length()])]
        {
            let usual = self.levels.map_or(0.0, |l| l[1] - l[0]);
            let steps = self.steps(picture, from, to, width.min(20));
            let mut fitting: Vec<(f64, f64)> =
                steps.into_iter().filter(|s| s.1 * usual.signum() > FAINT * usual.abs()).collect();
            fitting.sort_by(|a, b| (a.0 - place).abs().total_cmp(&(b.0 - place).abs()));
            for (at, _) in fitting.iter().take(3) {
                match self.fit(number, picture, *at, smear) {
                    Ok(spot) => return Ok((spot, !whole)),
                    Err(e) => why = e,
                }
            }
        }
        Err(why)
    }

    /// The edge near `at`, with its levels held against the usual ones.
    fn fit(&mut self, number: u64, picture: &Gray, at: f64, reach: f64) -> Result<Spot, Lost> {
        let room = at.min(self.line.length() - at);
        let reach = reach.min(room - 0.1);
        if reach < 3.0 {
            return Err(Lost::End);
        }
        let settings = EdgeSettings {
            reach,
            half_width: self.settings.half_width,
            least_contrast: self.settings.least_contrast,
        };
        self.count.fits += 1;
        let edge = edge_across(picture, self.line.at(at), self.line.direction(), &settings)
            .map_err(|_| Lost::None)?;
        let (before, after) = (edge.before, edge.after);
        let usual = self.levels.unwrap_or([before, after]);
        let contrast = usual[1] - usual[0];
        let off = [(before - usual[0]) / contrast, (after - usual[1]) / contrast];
        let known = edge.sd.is_finite() && edge.sd > 0.0;
        if off.iter().any(|o| o.is_nan() || o.abs() > LEVEL_OFF) || !known {
            return Err(Lost::Levels);
        }
        if self.kept.len() < LEVELS {
            self.kept.push([before, after]);
            let median =
                |i: usize| quantile(&sorted(&self.kept.iter().map(|l| l[i]).collect::<Vec<_>>()), 0.5);
            self.levels = Some([median(0), median(1)]);
        }
        Ok(Spot {
            number,
            along: at + edge.along,
            sd: edge.sd,
            blur: edge.blur,
            contrast: (after - before) / contrast,
        })
    }
}

/// Farthest from the expected place, px, at a speed of `speed` px a frame.
fn gate(speed: f64) -> f64 {
    8.0 + 2.0 * speed.abs()
}
