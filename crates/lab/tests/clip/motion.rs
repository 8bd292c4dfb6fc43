//! A motion in closed form: growth from an unstable rest, then a damped swing about the other side, then a throw; and strips of
//! pictures of it.

use calotte_chance::{Stream, normal};
use calotte_lab::clip::{Frame, Still};
use calotte_lab::picture::{Gray, paint};

/// x″ = σ² (x − x₀) until the deflection is a share ω²/(σ² + ω²) of the way, then x″ = −ω²(x − b) − 2λx′: pixels and seconds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Law {
    pub(crate) rest: f64,
    pub(crate) way: f64,
    pub(crate) sigma: f64,
    /// Undamped, rad/s.
    pub(crate) omega: f64,
    pub(crate) zeta: f64,
    /// When growth ends, s.
    pub(crate) switch: f64,
    /// Gravity in px/s², speed of take-off in px/s and its time, for those that jump.
    pub(crate) throw: Option<[f64; 3]>,
}

impl Law {
    fn share(&self) -> f64 {
        let (s, o) = (self.sigma * self.sigma, self.omega * self.omega);
        o / (s + o)
    }

    /// Pole over rim: place and speed.
    pub(crate) fn relative(&self, t: f64) -> [f64; 2] {
        let d = self.share() * self.way;
        let u = t - self.switch;
        if u <= 0.0 {
            let e = d * libm::exp(self.sigma * u);
            return [self.rest + e, self.sigma * e];
        }
        let lambda = self.zeta * self.omega;
        let damped = self.omega * (1.0 - self.zeta * self.zeta).sqrt();
        let c = d - self.way;
        let s = (self.sigma * d + lambda * c) / damped;
        let (sin, cos) = libm::sincos(damped * u);
        let e = libm::exp(-lambda * u);
        let y = e * (c * cos + s * sin);
        let v = -lambda * y + e * damped * (s * cos - c * sin);
        [self.rest + self.way + y, v]
    }

    /// Rise of the rim.
    pub(crate) fn rim(&self, t: f64) -> f64 {
        let Some([g, v, leaves]) = self.throw else { return 0.0 };
        let u = (t - leaves).max(0.0);
        v * u - 0.5 * g * u * u
    }

    pub(crate) fn truth(&self) -> Truth {
        let step = 0.002 / self.omega;
        let begin_scan = self.switch - 8.0 / self.sigma;
        let (mut peak, mut end) = (0.0_f64, f64::NAN);
        let mut t = begin_scan;
        while end.is_nan() {
            let [x, v] = self.relative(t);
            if (x - self.rest) / self.way >= 0.9 {
                end = t;
            } else {
                peak = peak.max(v.abs());
            }
            t += step;
        }
        // Growth: speed is σ times the deflection, a tenth of the peak is passed before the switch.
        let d = self.share() * self.way.abs();
        let begin = self.switch + libm::log(0.1 * peak / (self.sigma * d)) / self.sigma;
        assert!(begin < self.switch);
        Truth { begin, end, peak }
    }
}

/// Figures in closed form, or from the closed form by finding places.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Truth {
    pub(crate) begin: f64,
    pub(crate) end: f64,
    pub(crate) peak: f64,
}

/// How a strip is filmed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Camera {
    pub(crate) rate: f64,
    pub(crate) frames: u64,
    pub(crate) height: usize,
    /// Share of the time between frames for which the shutter is open.
    pub(crate) shutter: f64,
    pub(crate) blur: f64,
    pub(crate) noise: f64,
    /// Chance of glare, and of a dropped frame.
    pub(crate) glare: f64,
    pub(crate) drops: f64,
}

const WIDTH: usize = 5;
/// Moments within an exposure.
const EXPOSED: usize = 4;

/// A strip five pixels wide: dark below the edge, which lies `up(t)` pixels over the lowest row.
pub(crate) fn film(camera: &Camera, seed: u64, piece: u64, up: &dyn Fn(f64) -> f64) -> Vec<Frame> {
    let mut stream = Stream::of(seed, piece);
    let mut events = Stream::of(seed, 977);
    let mut out = Vec::new();
    for number in 0..camera.frames {
        // The same frames are dropped and lit on every strip of a clip.
        let (dropped, lit) = (events.unit() < camera.drops, events.unit() < camera.glare);
        let spot = [events.unit() * WIDTH as f64, events.unit() * camera.height as f64];
        if dropped && number > 0 {
            continue;
        }
        let middle = number as f64 / camera.rate;
        // Upright, every column is the same: a step blurred by the lens, over pixels and over the exposure.
        let mut column = vec![0.0; camera.height];
        for k in 0..EXPOSED {
            let u = (k as f64 + 0.5) / EXPOSED as f64 - 0.5;
            let edge = (camera.height - 1) as f64 - up(middle + u * camera.shutter / camera.rate);
            // Antiderivative of the normal distribution function, whose differences are means over pixels.
            let whole = |y: f64| match (y - edge) / camera.blur {
                z if z < -7.0 => 0.0,
                z if z > 7.0 => y - edge,
                z => camera.blur * (z * normal::below(z) + normal::density(z)),
            };
            for (j, v) in column.iter_mut().enumerate() {
                let y = j as f64;
                *v += (0.8 - 0.65 * (whole(y + 0.5) - whole(y - 0.5))) / EXPOSED as f64;
            }
        }
        let values = column.iter().flat_map(|v| [*v as f32; WIDTH]).collect();
        let mut picture = Gray::of(WIDTH, camera.height, values).unwrap();
        if lit {
            paint::glare(&mut picture, spot, [6.0, 10.0], 1.5);
        }
        paint::noise(&mut picture, camera.noise, 0.0, &mut stream);
        paint::develop(&mut picture, 255);
        out.push(Ok(Still { number, stamp: None, gray: picture }));
    }
    out
}
