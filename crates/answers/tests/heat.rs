//! Trip and reset of heated parts against independent numbers.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use calotte_answers::heat::report::{HeatMap, HeatOutcome, HeatReport, MapState};
use calotte_answers::heat::{Branches, MapRequest, Watch, heat};
use calotte_answers::{Given, Subject};
use calotte_oracle::heat::{BUCKLES, LEAST};
use calotte_oracle::heat_trip::{DEEP_DISCS, SHALLOW};
use calotte_specimen::{
    Corner, Corners, Heat, Layer, Layers, Load, Material, Meridian, Motion, Part, Pin, Property, Rim,
    SphereCap, Wall,
};

/// A disc of radius R = 1 m whose wall loses the curvature x/R per x kelvins and grows by `growth` per kelvin.
fn disc(alpha: f64, h: f64, nu: f64, growth: f64) -> Part {
    let layer = Layer {
        share: 1.0,
        youngs: Property::Constant(1e9),
        poisson: nu,
        expansion: Property::Constant(growth),
    };
    let layers = Layers {
        layers: vec![layer],
        formed_at: 1000.0,
        temperature: 1000.0,
        face_difference: 0.0,
        extra_curvature: 0.0,
        flexivity: -h,
    };
    Part {
        meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: alpha, hole_angle: 0.0 }),
        wall: Wall::uniform(h).with_layers(Some(Arc::new(layers))),
        material: Material { youngs: 1e9, poisson: nu, density: None },
        rim: Rim::Free,
    }
}

fn height(r: &HeatReport, travel: f64) -> f64 {
    1.0 - travel / r.part.rise_m
}

/// Recomputed from the stated equations by collocation (oracle): limits of deep discs to 1e-8 and better, with and without growth;
/// movements to what the path's own mesh gives.
#[test]
fn deep_discs_trip_where_collocation_says() {
    for d in DEEP_DISCS {
        let r = heat(&disc(d.alpha_deg.to_radians(), d.h_over_r, 0.3, d.growth)).unwrap();
        assert!(r.outcome == HeatOutcome::Trips && r.doubts.is_empty(), "{:?}", r.doubts);
        let (trip, reset) = (r.trip.as_ref().unwrap(), r.reset.as_ref().unwrap());
        let x = |k: Option<f64>| k.unwrap() - 1000.0;
        let ([at_trip, at_reset], known) = ([x(trip.round_limit_K), x(reset.round_limit_K)], d.trip);
        let near = |got: f64, want: f64, within: f64| {
            assert!((got - want).abs() < within, "{d:?}: {got:.11} {want:.11}")
        };
        near(at_trip, known.taken.value, 2e-10 * at_trip.abs());
        near(at_reset, known.reset.value, 2e-10 * at_trip.abs());
        if trip.n == 0 {
            near(trip.temperature_K - 1000.0, at_trip, 1e-12);
            near(height(&r, trip.travel_before_m), known.before.value, 1e-8);
            near(height(&r, trip.travel_after_m.unwrap()), known.after.value, 1e-6);
            // What heat puts in over a cycle is what the jumps set free.
            let cycle = r.cycle.unwrap();
            assert!(cycle.lost_J > 0.0 && cycle.gap < 1e-11, "{cycle:?}");
        } else {
            // Thin discs give way in three waves just before the limit.
            assert!(trip.n == 3 && trip.temperature_K < trip.round_limit_K.unwrap());
        }
        assert!(trip.on == "heating" && reset.on == "cooling");
        assert_eq!(r.stays_tripped, Some(reset.temperature_K < 1000.0));
    }
}

/// Source: Wittrick, Myers & Blunden 1953 (equations), recomputed by collocation: the exact disc tends to the shallow one as α²;
/// two depths are carried to none.
#[test]
fn shallow_discs_are_the_limit() {
    for s in SHALLOW.iter().filter(|s| s.lambda < 7.0) {
        let at = |alpha: f64| {
            let c = (12.0 * (1.0 - s.nu * s.nu)).sqrt();
            let r = heat(&disc(alpha, c * alpha * alpha / (s.lambda * s.lambda), s.nu, 0.0)).unwrap();
            let x = |k: Option<f64>| k.unwrap() - 1000.0;
            [x(r.trip.as_ref().unwrap().round_limit_K), x(r.reset.as_ref().unwrap().round_limit_K)]
        };
        let (wide, flat) = (at(0.04), at(0.02));
        for (i, known) in [s.trip.taken, s.trip.reset].into_iter().enumerate() {
            let carried = flat[i] + (flat[i] - wide[i]) / 3.0;
            assert!((flat[i] - known.value).abs() < 2e-3, "{} {}", flat[i], known.value);
            assert!((carried - known.value).abs() < 2e-6, "{}: {carried:.10} {:.10}", known.id, known.value);
        }
    }
}

/// Without growth the equations are the same for the mirror image when x becomes 2 − x: heating and cooling branches mirror each
/// other about the temperature at which the wall would be flat.
#[test]
fn heating_and_cooling_mirror_each_other() {
    let r = heat(&disc(0.6, 0.04, 0.3, 0.0)).unwrap();
    let flat = r.wall.flat_at_K.unwrap();
    assert!((flat - 1001.0).abs() < 1e-9);
    let (trip, reset) = (r.trip.unwrap(), r.reset.unwrap());
    assert!((trip.temperature_K + reset.temperature_K - 2.0 * flat).abs() < 1e-9);
    assert!((trip.movement_m.unwrap() + reset.movement_m.unwrap()).abs() < 1e-9);
    assert!((trip.released_J.unwrap() / reset.released_J.unwrap() - 1.0).abs() < 1e-9);
    // Growth breaks it.
    let r = heat(&disc(0.6, 0.04, 0.3, 0.01)).unwrap();
    let (trip, reset) = (r.trip.unwrap(), r.reset.unwrap());
    assert!((trip.temperature_K + reset.temperature_K - 2.0 * flat).abs() > 1e-3);
}

/// A disc too shallow for its thickness moves smoothly (λ below 3.541252, ν = 0.3: Wittrick et al. 1953, recomputed) until, bent far
/// beyond its own dish, it gives way sideways.
#[test]
fn a_shallow_disc_follows() {
    let alpha = 0.05;
    let of = |lambda: f64| disc(alpha, (12.0f64 * 0.91).sqrt() * alpha * alpha / (lambda * lambda), 0.3, 0.0);
    let below = heat(&of(3.53)).unwrap();
    assert_eq!(below.outcome, HeatOutcome::Buckles);
    assert!(below.trip.is_none() && below.far.is_empty());
    assert!(below.buckling.iter().all(|b| b.n == 2 && (b.temperature_K - 1001.0).abs() > 1.5));
    assert_eq!(heat(&of(3.56)).unwrap().outcome, HeatOutcome::Trips);
}

/// Source: Timoshenko & Gere 1961, art. 7.4 (problem), characteristic equation solved (oracle): a plate that cannot grow buckles when
/// E h α ΔT a²/((1−ν) D) reaches 14.68 (clamped) or 4.198 (hinged, ν = 0.3), but for terms of the order of its strain.
#[test]
fn plates_that_cannot_grow_buckle() {
    // The path shows the first loss; those with waves come later.
    for b in BUCKLES.iter().filter(|b| !b.compression.id.contains("-n")) {
        let h = 1e-3;
        let corner = |r: f64| Corner { r, z: 0.0, fillet: 0.0, arc: 0.0 };
        let plate = Corners::new(&[corner(0.0), corner(1.0)]).unwrap();
        let mut part = disc(0.5, h, b.nu, 1e-6);
        let mut layers = part.wall.layers().unwrap().clone();
        layers.flexivity = 0.0;
        part.wall = part.wall.with_layers(Some(Arc::new(layers)));
        part.meridian = Meridian::Corners(Box::new(plate));
        part.rim = if b.clamped { Rim::Clamped } else { Rim::Hinged };
        let r = heat(&part).unwrap();
        assert!(r.outcome == HeatOutcome::Buckles, "{:?} {:?}", r.outcome, r.doubts);
        let rise = r.buckling.iter().find(|k| k.on == "heating").unwrap();
        assert!(rise.n == 0 && rise.mesh_difference_K.unwrap() < 1e-6);
        // E h αΔT/(1−ν) over D/a² = 12 (1+ν) αΔT a²/h².
        let compression = 12.0 * (1.0 + b.nu) * 1e-6 * (rise.temperature_K - 1000.0) / (h * h);
        assert!(
            (compression / b.compression.value - 1.0).abs() < 1e-5,
            "{}: {compression}",
            b.compression.id
        );
    }
}

/// A rigid pin close above the centre stops the disc short, and a preload towards the other state lowers the trip.
#[test]
fn pins_and_preloads_act() {
    let part = disc(0.6, 0.04, 0.3, 0.0);
    let free = heat(&part).unwrap();
    let rise = free.part.rise_m;
    let with = |device: Heat| heat(&Device(part.clone(), device)).unwrap();
    let pushed = with(Heat { preload: 1e3, ..Heat::default() });
    let t = |r: &HeatReport| r.trip.as_ref().unwrap().temperature_K;
    assert!(t(&pushed) < t(&free));
    // To first order the force moves the limit by what it works: dT/dP = −(travel)/(∂²Π/∂T…); the moves say so too.
    let row =
        |r: &HeatReport| r.moves.iter().find(|m| m.input == "heat.preload").unwrap().trip_K_per_SI.unwrap();
    let slope = 0.5 * (row(&pushed) + row(&with(Heat { preload: 1e-9, ..Heat::default() })));
    assert!(
        ((t(&pushed) - t(&free)) / 1e3 / slope - 1.0).abs() < 1e-3,
        "{} {slope}",
        (t(&pushed) - t(&free)) / 1e3
    );
    let gap = 1.2 * rise;
    let stopped = with(Heat { pin: Some(Pin { gap, stiffness: f64::INFINITY }), ..Heat::default() });
    let jump = stopped.trip.as_ref().unwrap();
    assert!((t(&stopped) - t(&free)).abs() < 1e-9, "it trips before it meets the pin");
    assert!((jump.travel_after_m.unwrap() / gap - 1.0).abs() < 1e-2 && jump.pin_force_after_N.unwrap() > 0.0);
    assert!(stopped.reset.as_ref().unwrap().temperature_K > free.reset.as_ref().unwrap().temperature_K);
}

/// A part with a device around it.
struct Device(Part, Heat);

impl Subject for Device {
    fn title(&self) -> &str {
        "device"
    }
    fn shape_name(&self) -> &str {
        "disc"
    }
    fn part(&self) -> &Part {
        &self.0
    }
    fn givens(&self) -> Vec<Given> {
        vec![Given { key: "heat.preload".into(), value: self.1.preload, half_width: None }]
    }
    fn with_given(&self, _: usize, _: f64) -> Option<Part> {
        None
    }
    fn depth(&self) -> f64 {
        self.0.depth()
    }
    fn with_depth(&self, depth: f64) -> Option<Part> {
        self.0.with_depth(depth)
    }
    fn depth_rule(&self) -> &str {
        self.0.depth_rule()
    }
    fn changed(&self, _: &[(usize, f64)], _: Option<f64>) -> Option<(Part, Load)> {
        None
    }
    fn heat(&self) -> Option<Heat> {
        Some(self.1)
    }
    fn heated(&self, changes: &[(usize, f64)]) -> Option<(Part, Heat)> {
        let preload = changes.first().map_or(self.1.preload, |c| c.1);
        Some((self.0.clone(), Heat { preload, ..self.1 }))
    }
    fn motion(&self) -> Motion {
        Motion::default()
    }
    fn moved(&self, _: &[(usize, f64)]) -> Option<(Part, Motion)> {
        None
    }
}

/// The derivative rows against parts really changed.
#[test]
fn moves_are_derivatives() {
    let part = disc(0.6, 0.04, 0.3, 0.005);
    let r = heat(&part).unwrap();
    let e = 1e-3;
    let at = |p: &Part| heat(p).unwrap();
    for (name, up, down) in [
        ("depth", part.with_depth(0.6 + e).unwrap(), part.with_depth(0.6 - e).unwrap()),
        (
            "thickness",
            Part { wall: part.wall.scaled(1.0 + e / 0.04), ..part.clone() },
            Part { wall: part.wall.scaled(1.0 - e / 0.04), ..part.clone() },
        ),
    ] {
        let m = r.moves.iter().find(|m| m.input == name).unwrap();
        let (a, b) = (at(&up), at(&down));
        for (pick, row) in [(true, m.trip_K_per_SI), (false, m.reset_K_per_SI)] {
            let t = |r: &HeatReport| if pick { &r.trip } else { &r.reset }.as_ref().unwrap().temperature_K;
            let slope = (t(&a) - t(&b)) / (2.0 * e);
            assert!((slope / row.unwrap() - 1.0).abs() < 5e-3, "{name} {pick}: {slope} {row:?}");
        }
    }
}

/// The work of one trip temperature found again, pinned: what a spread or a map pays for each part.
#[test]
fn a_trip_found_again_costs_two_assemblies() {
    let r = heat(&disc(0.6, 0.04, 0.3, 0.0)).unwrap();
    let w = r.evidence.refinement.unwrap();
    assert!(w.assemblies <= 3 && w.factorisations <= 3 && w.directionals <= 2, "{w:?}");
}

/// Discs whose thickness has a tolerance.
struct Batch(Part, f64);

impl Subject for Batch {
    fn title(&self) -> &str {
        "batch"
    }
    fn shape_name(&self) -> &str {
        "disc"
    }
    fn part(&self) -> &Part {
        &self.0
    }
    fn givens(&self) -> Vec<Given> {
        let value = self.0.wall.thickness(0.0);
        vec![Given { key: "wall.thickness".into(), value, half_width: Some(self.1 * value) }]
    }
    fn with_given(&self, _: usize, value: f64) -> Option<Part> {
        let wall = self.0.wall.scaled(value / self.0.wall.thickness(0.0));
        Some(Part { wall, ..self.0.clone() })
    }
    fn depth(&self) -> f64 {
        self.0.depth()
    }
    fn with_depth(&self, depth: f64) -> Option<Part> {
        self.0.with_depth(depth)
    }
    fn depth_rule(&self) -> &str {
        self.0.depth_rule()
    }
    fn changed(&self, _: &[(usize, f64)], _: Option<f64>) -> Option<(Part, Load)> {
        None
    }
    fn heat(&self) -> Option<Heat> {
        Some(Heat::default())
    }
    fn heated(&self, changes: &[(usize, f64)]) -> Option<(Part, Heat)> {
        let part = changes.first().map_or(Some(self.0.clone()), |c| self.with_given(c.0, c.1))?;
        Some((part, Heat::default()))
    }
    fn motion(&self) -> Motion {
        Motion::default()
    }
    fn moved(&self, _: &[(usize, f64)]) -> Option<(Part, Motion)> {
        None
    }
}

#[allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]
fn spread(batch: &Batch, count: usize, threads: usize) -> calotte_answers::heat::report::HeatSpread {
    let stop = AtomicBool::new(false);
    let watch = Watch { threads, stop: &stop, progress: &|_| {} };
    Branches::of(batch).unwrap().spread(count, &watch).unwrap().unwrap()
}

/// Closed form: a normal distribution cut off at two standard deviations keeps √(1 − 4 φ(2)/(2 Φ(2) − 1)) = 0.87963 of its deviation
/// (Φ and φ from memory); small tolerances act to first order.
#[test]
fn small_tolerances_spread_to_first_order() {
    let batch = Batch(disc(0.4, 0.02, 0.3, 0.002), 1e-3);
    let s = spread(&batch, 200, 1);
    assert_eq!((s.drawn, s.varied.as_slice()), (200, &["wall.thickness".to_owned()][..]));
    for one in [&s.trip, &s.reset, &s.delta] {
        assert_eq!((one.known, one.none, one.unknown, one.beyond), (1.0, 0.0, 0.0, 0.0));
        let ratio = one.two_deviations_K.unwrap() / one.first_order_half_width_K.unwrap();
        assert!((ratio / 0.879_63 - 1.0).abs() < 5e-3, "{ratio}");
    }
    // What the whole answer says of the same tolerance.
    let r = heat(&batch).unwrap();
    let whole = r.tolerance.unwrap().trip_half_width_K.unwrap();
    assert!((s.trip.first_order_half_width_K.unwrap() / whole - 1.0).abs() < 1e-9);
    assert!((s.trip.mean_K.unwrap() - r.trip.unwrap().temperature_K).abs() < 1e-2 * whole);
    // Any number of threads gives the same draws.
    let two = spread(&batch, 200, 2);
    assert_eq!((s.trips_K, s.resets_K), (two.trips_K, two.resets_K));
}

/// λ falls as 1/√h: the parts thicker than the one of λ = 3.541252 (ν = 0.3: Wittrick et al. 1953, recomputed) do not trip. The batch
/// is made about that very thickness, so that is half of them.
#[test]
fn half_of_a_batch_about_the_least_depth_does_not_trip() {
    let alpha = 0.05;
    let h = (12.0f64 * 0.91).sqrt() * alpha * alpha / (3.541_252 * 3.541_252);
    let batch = Batch(disc(alpha, 0.999 * h, 0.3, 0.0), 0.08);
    let s = spread(&batch, 60, 2);
    let none = s.trips_K.iter().filter(|t| t.is_none()).count();
    assert!(s.trip.known > 0.4 && s.trip.none > 0.4, "{:?}", s.trip);
    assert!(none.abs_diff(30) <= 4, "{none}");
    assert!(s.words.iter().any(|w| w.contains("move without a jump")), "{:?}", s.words);
}

/// A thick and deep disc has more limits between unstable shapes; draws keep to those of trip and reset: no draw lies far from the
/// others, and each end of the tolerance is what the whole answer says of such a part.
#[test]
fn draws_keep_to_trip_and_reset() {
    let batch = Batch(disc(0.18, 0.0036, 0.29, 0.0), 0.04);
    let s = spread(&batch, 200, 2);
    assert_eq!((s.trip.known, s.reset.known), (1.0, 1.0));
    let ends = |drawn: &[Option<f64>]| {
        let all = || drawn.iter().flatten().copied();
        (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max))
    };
    let at = |factor: f64| {
        let r = heat(&Part { wall: batch.0.wall.scaled(factor), ..batch.0.clone() }).unwrap();
        [r.trip.unwrap(), r.reset.unwrap()].map(|j| j.round_limit_K.unwrap())
    };
    let (thin, thick) = (at(0.96), at(1.04));
    for (drawn, i) in [(&s.trips_K, 0), (&s.resets_K, 1)] {
        let (low, high) = (thin[i].min(thick[i]), thin[i].max(thick[i]));
        let (least, most) = ends(drawn);
        let slack = 0.02 * (high - low);
        assert!(least > low - slack && most < high + slack, "{least} {most} in {low} {high}");
        assert!(least < low + 0.1 * (high - low) && most > high - 0.1 * (high - low), "{least} {most}");
    }
}

#[allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]
fn map(part: &Part, request: &MapRequest, threads: usize) -> HeatMap {
    let stop = AtomicBool::new(false);
    let watch = Watch { threads, stop: &stop, progress: &|_| {} };
    Branches::of(part).unwrap().map(request, &watch).unwrap().unwrap()
}

/// Points of the curves, followed anew, trip at the level of their curve and have its delta. Recomputed from the same equations on
/// finer meshes and without a neighbour's help.
#[test]
fn curves_of_a_map_have_their_level() {
    let part = disc(0.3, 0.015, 0.3, 0.002);
    let m = map(&part, &MapRequest { depth: None, thickness: None, size: [7, 7] }, 2);
    assert!(m.doubts.is_empty() && m.lost_crossings == 0 && m.unknown == 0, "{:?}", m.doubts);
    assert!(m.tripping > 24 && m.checked > 3 && m.contradicted == 0, "{:?}", m.words);
    let anew = |depth: f64, thickness: f64| {
        let part = part.with_depth(depth).unwrap();
        let r = heat(&Part { wall: part.wall.scaled(thickness / 0.015), ..part }).unwrap();
        [r.trip.unwrap(), r.reset.unwrap()].map(|j| j.round_limit_K.unwrap())
    };
    for (family, delta) in [(&m.equal_trip, false), (&m.equal_delta, true)] {
        assert!((5..=10).contains(&family.len()), "{}", family.len());
        for level in family {
            let c = level.curves.iter().max_by_key(|c| c.depth_si.len()).unwrap();
            let i = c.depth_si.len() / 2;
            let [trip, reset] = anew(c.depth_si[i], c.thickness_m[i]);
            let got = if delta { trip - reset } else { trip };
            assert!((got - level.level_K).abs() < 1e-5, "{delta} {got} {}", level.level_K);
        }
    }
    // The part itself is the middle of the grid.
    let r = heat(&part).unwrap();
    assert!((m.trips_K[24].unwrap() - r.trip.unwrap().round_limit_K.unwrap()).abs() < 1e-6);
    // Any number of threads gives the same map.
    let one = map(&part, &MapRequest { depth: None, thickness: None, size: [7, 7] }, 1);
    assert_eq!(format!("{m:?}"), format!("{one:?}"));
}

/// Parts thicker than the one of λ = 3.541252 (ν = 0.3: Wittrick et al. 1953, recomputed by the oracle) do not trip: in every column
/// the region without a trip begins in the cell that this thickness crosses.
#[test]
fn no_trip_begins_at_the_least_depth() {
    let least = LEAST.iter().find(|l| l.nu == 0.3).unwrap().lambda.value;
    let thickness = |alpha: f64| (12.0f64 * 0.91).sqrt() * alpha * alpha / (least * least);
    let part = disc(0.05, thickness(0.05), 0.3, 0.0);
    let asked = MapRequest { depth: Some([0.045, 0.055]), thickness: None, size: [3, 10] };
    let m = map(&part, &asked, 2);
    assert!(m.unknown == 0 && m.no_part == 0 && m.tripping > 8 && m.none > 8, "{:?}", m.words);
    for (i, depth) in m.depths_si.iter().enumerate() {
        for (j, h) in m.thicknesses_m.iter().enumerate() {
            let trips = m.states[i + 3 * j] == MapState::Trips;
            assert_eq!(trips, *h < thickness(*depth), "{depth} {h}");
        }
    }
}

/// Ranges that hold nothing are refused.
#[test]
fn empty_ranges_of_a_map_are_refused() {
    let part = disc(0.3, 0.015, 0.3, 0.0);
    let stop = AtomicBool::new(false);
    let watch = Watch { threads: 1, stop: &stop, progress: &|_| {} };
    let branches = Branches::of(&part).unwrap();
    for (depth, size) in [([0.3, 0.3], [3, 3]), ([0.0, 0.3], [3, 3]), ([0.2, 0.3], [1, 3])] {
        let asked = MapRequest { depth: Some(depth), thickness: None, size };
        assert!(branches.map(&asked, &watch).is_err(), "{depth:?} {size:?}");
    }
}
