//! Figures in metres and seconds: scale and frame rate with their errors put on what was read in pixels.

use super::clock::{Clock, Sized};
use super::read::{Figure, GRAVITY, RATE, Readings, SCALE, Unread};

/// What is known of the place where the clip was made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Metres a pixel.
    pub scale: Sized,
    /// Local gravity, m/s².
    pub gravity: Sized,
}

/// Figures, SI.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figures {
    /// s.
    pub wait: Option<Figure>,
    /// 1/s.
    pub growth_rate: Option<Figure>,
    /// s.
    pub snap_time: Option<Figure>,
    /// m/s.
    pub peak_speed: Option<Figure>,
    /// m: from rest to end level.
    pub way: Option<Figure>,
    /// Hz.
    pub ringing_frequency: Option<Figure>,
    /// 1.
    pub damping_ratio: Option<Figure>,
    /// m.
    pub jump_height: Option<Figure>,
    /// m/s².
    pub gravity_fitted: Option<Figure>,
}

impl Figures {
    /// Names and figures, in the order in which they are told.
    pub fn all(&self) -> [(&'static str, &'static str, Option<&Figure>); 9] {
        [
            ("wait", "s", self.wait.as_ref()),
            ("growth rate", "1/s", self.growth_rate.as_ref()),
            ("snap time", "s", self.snap_time.as_ref()),
            ("peak speed", "m/s", self.peak_speed.as_ref()),
            ("way", "m", self.way.as_ref()),
            ("ringing frequency", "Hz", self.ringing_frequency.as_ref()),
            ("damping ratio", "1", self.damping_ratio.as_ref()),
            ("jump height", "m", self.jump_height.as_ref()),
            ("gravity as fitted", "m/s2", self.gravity_fitted.as_ref()),
        ]
    }
}

/// `figure` times `unit`, whose relative deviations are `shares`.
fn put(figure: &Figure, unit: f64, shares: &[(&'static str, f64)]) -> Figure {
    let mut out = figure.clone();
    out.value *= unit;
    out.parts.iter_mut().for_each(|p| p.deviation *= unit);
    for (what, share) in shares {
        let value = out.value;
        out = out.with(what, (value * share).abs());
    }
    out
}

/// The figures of what was read in pixels and seconds.
pub fn physical(r: &Readings, clock: &Clock, place: &Place) -> (Figures, Vec<Unread>) {
    let s = place.scale.value;
    let scale = place.scale.deviation / s;
    let rate = clock.share;
    let jump = r.jump.as_ref();
    let figures = Figures {
        wait: r.wait.as_ref().map(|f| put(f, 1.0, &[(RATE, rate)])),
        growth_rate: r.growth.as_ref().map(|g| put(&g.rate, 1.0, &[(RATE, rate)])),
        snap_time: r.snap.as_ref().map(|s| put(&s.time, 1.0, &[(RATE, rate)])),
        peak_speed: r.snap.as_ref().map(|k| put(&k.speed, s, &[(SCALE, scale), (RATE, rate)])),
        way: r.levels.as_ref().filter(|_| r.snap.is_some()).map(|l| {
            let way = Figure::new(l.way().abs(), libm::hypot(l.rest[1], l.end[1]));
            put(&way, s, &[(SCALE, scale)])
        }),
        ringing_frequency: r.ringing.as_ref().map(|k| put(&k.frequency, 1.0, &[(RATE, rate)])),
        damping_ratio: r.ringing.as_ref().map(|k| k.damping.clone()),
        jump_height: jump.map(|j| {
            // H(s) = s·h(g/s): the scale enters twice, and gravity where it was taken for granted.
            let (h, by) = (j.height.value, j.by_gravity);
            put(&j.height, s, &[])
                .with(SCALE, (s * (h - by) * scale).abs())
                .with(RATE, (2.0 * s * by * rate).abs())
                .with(GRAVITY, (s * by * place.gravity.deviation / place.gravity.value).abs())
        }),
        gravity_fitted: jump.map(|j| put(&j.gravity, s, &[(SCALE, scale), (RATE, 2.0 * rate)])),
    };
    (figures, r.unread.clone())
}
