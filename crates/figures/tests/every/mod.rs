//! Figures of every invented report, for tests about all figures.

use calotte_figures::{
    Figure, SeriesFit, map_figures, memory_figure, poke_figures, release_figures, slowing_figure,
    spread_figure, verdict_figures, wait_figure,
};

use crate::common::Invented;
use crate::invented_map::Map;
use crate::invented_poke::{Poke, loops, pulled};
use crate::invented_release::{Release, slowing, wait_curve, wait_spread};

/// All of them, drawn in the style of the moment.
pub(crate) fn figures() -> Vec<Figure> {
    let mut all = verdict_figures(&Invented::default().report());
    all.extend(verdict_figures(&Invented { hole_radius_m: 6e-3, ..Invented::default() }.report()));
    let sideways = Some((3, 0.15, 0.55));
    let d = Poke::default();
    all.extend(poke_figures(&Poke { sideways, barriers: true, ..d.clone() }.report()));
    all.extend(poke_figures(&Poke { made: loops, sideways: Some((5, 0.03, 0.2)), ..d.clone() }.report()));
    all.extend(poke_figures(&Poke { made: pulled, ..d }.report()));
    all.extend(map_figures(&Map { grid: true, specimens: 60, ..Map::default() }.report()));
    let d = Release::default();
    all.extend(release_figures(&d.report()));
    all.extend(release_figures(
        &Release { jumps: Some(1.5), lands: true, sideways: true, ramp_s: 0.0, ..d }.report(),
    ));
    all.extend(wait_figure(&wait_curve(true), "Invented cap"));
    all.extend(spread_figure(&wait_spread(), "Invented batch"));
    all.extend(slowing_figure(&slowing(), "Invented cap"));
    let readings = (0..25)
        .map(|i| {
            let t = libm::pow(10.0, -2.0 + f64::from(i) / 6.0);
            [t, 1e6 * (0.8 + 0.2 * libm::exp(-t)), 1e6 * (0.801 + 0.199 * libm::exp(-t))]
        })
        .collect();
    let fit = SeriesFit {
        what: "relaxation modulus".to_owned(),
        unit: "Pa".to_owned(),
        readings,
        terms: vec![[0.2, 1.0]],
    };
    all.extend(memory_figure(&fit, "Invented strip"));
    all
}
