//! Maps for the tests. Everything in them is INVENTED: curves follow made-up formulas, specimens lie on a
//! made-up lattice. They exercise the drawing and say nothing about any real part.

use calotte_answers::map::report::{
    Axis, Comparison, Counts, Curve, Grid, MapEvidence, MapReport, MarginCurves, Observed, Specimen,
    SweptPoints, TripCurves, ValidityCurves, WaitingCurves,
};
use calotte_answers::report::Verdict;

/// What to invent.
#[derive(Clone, Debug)]
pub(crate) struct Map {
    /// Ends of the thickness axis, m.
    pub(crate) thickness_m: (f64, f64),
    /// The threshold turns back on itself.
    pub(crate) turning: bool,
    pub(crate) grid: bool,
    pub(crate) swept: bool,
    pub(crate) specimens: u32,
    pub(crate) curves: bool,
}

impl Default for Map {
    fn default() -> Self {
        Self {
            thickness_m: (0.5e-3, 4e-3),
            turning: false,
            grid: false,
            swept: false,
            specimens: 0,
            curves: true,
        }
    }
}

const DEPTH: (f64, f64) = (4e-3, 24e-3);

impl Map {
    /// Threshold thickness at a share of the depth axis, as a share of the thickness axis.
    fn edge(&self, y: f64) -> f64 {
        let turn = if self.turning { 0.22 * libm::sin(7.0 * y) } else { 0.0 };
        0.12 + 0.6 * y + turn
    }

    fn x(&self, share: f64) -> f64 {
        let (low, high) = self.thickness_m;
        if high / low > 20.0 { low * libm::pow(high / low, share) } else { low + share * (high - low) }
    }

    fn curve(&self, shift: f64) -> Curve {
        let mut c = Curve::default();
        for i in 0..=400 {
            let y = f64::from(i) / 400.0;
            c.x_si.push(self.x(self.edge(y) + shift));
            c.y_si.push(DEPTH.0 + y * (DEPTH.1 - DEPTH.0));
        }
        c
    }

    /// h/h* at shares of the axes.
    fn ratio(&self, x: f64, y: f64) -> f64 {
        1.0 + 1.4 * (x - self.edge(y))
    }

    fn verdict(&self, x: f64, y: f64) -> Verdict {
        match self.ratio(x, y) {
            r if r < 0.985 => Verdict::Stays,
            r if r > 1.015 => Verdict::Returns,
            _ => Verdict::Undecided,
        }
    }

    /// A lattice of points that is turned against the axes; where they are very thin there is no part.
    fn invented_points(&self) -> SweptPoints {
        let mut s = SweptPoints {
            title: "Invented sweep".to_owned(),
            plan_digest: "0123456789abcdef".to_owned(),
            planned: 400,
            x_si: Vec::new(),
            y_si: Vec::new(),
            verdicts: Vec::new(),
            thickness_ratio: Vec::new(),
        };
        for k in 0..400 {
            let x = (f64::from(k) + 0.5) / 400.0;
            let y = (0.5 + 0.618_033_988_75 * f64::from(k)).fract();
            let exists = x + y > 0.12;
            s.x_si.push(self.x(x));
            s.y_si.push(DEPTH.0 + y * (DEPTH.1 - DEPTH.0));
            s.verdicts.push(exists.then(|| self.verdict(x, y)));
            s.thickness_ratio.push(exists.then(|| self.ratio(x, y)));
        }
        s
    }

    fn invented_grid(&self) -> Grid {
        let mut g =
            Grid { x_si: Vec::new(), y_si: Vec::new(), verdicts: Vec::new(), thickness_ratio: Vec::new() };
        let (columns, rows) = (30, 20);
        for j in 0..rows {
            let y = (f64::from(j) + 0.5) / f64::from(rows);
            g.y_si.push(DEPTH.0 + y * (DEPTH.1 - DEPTH.0));
            for i in 0..columns {
                let x = (f64::from(i) + 0.5) / f64::from(columns);
                if j == 0 {
                    g.x_si.push(self.x(x));
                }
                let exists = x + y > 0.12;
                g.verdicts.push(exists.then(|| self.verdict(x, y)));
                g.thickness_ratio.push(exists.then(|| self.ratio(x, y)));
            }
        }
        g
    }

    fn specimen(&self, i: u32) -> Specimen {
        // Two incommensurable steps scatter the lattice.
        let (x, y) = (f64::from(i) * 0.618_034 % 1.0, f64::from(i) * 0.414_214 % 1.0);
        let observed = match i % 7 {
            0 => None,
            1 => Some(Observed::Waits),
            _ if self.ratio(x, y) < 1.0 => Some(Observed::Stays),
            _ => Some(Observed::Returns),
        };
        let predicted = self.verdict(x, y);
        let stays = observed == Some(Observed::Stays);
        let comparison = match (observed, predicted) {
            (None, _) | (_, Verdict::Undecided) => Comparison::Open,
            (_, Verdict::Stays) if stays => Comparison::Agrees,
            (_, Verdict::Returns) if !stays => Comparison::Agrees,
            _ if i.is_multiple_of(2) => Comparison::WithinTolerance,
            _ => Comparison::Contradicted,
        };
        Specimen {
            name: format!("P{i}"),
            x_si: self.x(x),
            y_si: DEPTH.0 + y * (DEPTH.1 - DEPTH.0),
            x_half_width_si: Some(0.02 * (self.x(1.0) - self.x(0.0)).min(3e-3)),
            y_half_width_si: i.is_multiple_of(3).then_some(0.5e-3),
            observed,
            predicted,
            thickness_ratio: Some(self.ratio(x, y)),
            ratio_half_width: None,
            comparison,
        }
    }

    pub(crate) fn report(&self) -> MapReport {
        let axis = |key: &str, label: &str, ends: (f64, f64), here: f64, half: Option<f64>| Axis {
            key: key.to_owned(),
            label: label.to_owned(),
            unit: "mm".to_owned(),
            unit_si: 1e-3,
            low_si: ends.0,
            high_si: ends.1,
            here_si: here,
            here_half_width_si: half,
        };
        let specimens: Vec<Specimen> = (1..=self.specimens).map(|i| self.specimen(i)).collect();
        let number = |c: Comparison| specimens.iter().filter(|s| s.comparison == c).count();
        let seen = |o: Observed| specimens.iter().filter(|s| s.observed == Some(o)).count();
        let counts = Counts {
            predicted_stay: specimens.iter().filter(|s| s.predicted == Verdict::Stays).count(),
            predicted_return: specimens.iter().filter(|s| s.predicted == Verdict::Returns).count(),
            observed_stay: seen(Observed::Stays),
            observed_return: seen(Observed::Returns) + seen(Observed::Waits),
            agree: number(Comparison::Agrees),
            within_tolerance: number(Comparison::WithinTolerance),
            contradicted: number(Comparison::Contradicted),
            open: number(Comparison::Open),
        };
        let mut threshold = self.curve(0.0);
        if self.turning {
            threshold.cusps = vec![130];
        }
        let some = |v: Vec<Curve>| if self.curves { v } else { Vec::new() };
        let margins = [0.8, 0.9, 1.1, 1.2]
            .into_iter()
            .map(|ratio| MarginCurves { ratio, curves: some(vec![self.curve((ratio - 1.0) / 1.4)]) })
            .collect();
        let level = |shares: (f64, f64)| Curve {
            x_si: vec![self.x(0.0), self.x(0.5), self.x(1.0)],
            y_si: [shares.0, (shares.0 + shares.1) / 2.0, shares.1]
                .iter()
                .map(|y| DEPTH.0 + y * (DEPTH.1 - DEPTH.0))
                .collect(),
            ..Curve::default()
        };
        MapReport {
            schema_version: 1,
            title: "Invented cap".to_owned(),
            axes: [
                axis("wall.thickness", "thickness", self.thickness_m, self.x(0.4), Some(0.08e-3)),
                axis("depth", "depth", DEPTH, 15e-3, Some(0.4e-3)),
            ],
            explanation: Vec::new(),
            doubts: Vec::new(),
            warnings: Vec::new(),
            threshold: vec![threshold],
            waiting: some(vec![level((0.35, 0.5))])
                .into_iter()
                .map(|c| WaitingCurves { hold: "as held".to_owned(), loss: 0.19, curves: vec![c] })
                .collect(),
            margins,
            snapping_first: some(vec![level((0.06, 0.16))]),
            trip_loads: [(1.5, 0.5), (4.0, 0.72)]
                .into_iter()
                .map(|(load, y)| TripCurves {
                    load_SI: load,
                    load_unit: "N".to_owned(),
                    curves: some(vec![level((y + 0.15, y - 0.25))]),
                })
                .collect(),
            validity: vec![ValidityCurves {
                name: "h/R, thin-shell theory".to_owned(),
                limit: 0.1,
                curves: some(vec![Curve {
                    x_si: vec![self.x(0.8), self.x(0.9), self.x(0.95)],
                    y_si: vec![DEPTH.0, 12e-3, DEPTH.1],
                    ..Curve::default()
                }]),
            }],
            grid: self.grid.then(|| self.invented_grid()),
            points: self.swept.then(|| self.invented_points()),
            counts: (!specimens.is_empty()).then_some(counts),
            specimens,
            evidence: MapEvidence::default(),
        }
    }
}
