//! A plan with its case, ready to be asked: columns, points, rows.

use calotte_answers::gauge::{Gauge, Gauges};
use calotte_answers::map::Quantity;
use calotte_desk::tables::column;
use calotte_desk::{PROGRAM, VERSION};
use calotte_quantity::{show, units};
use calotte_runs::{Column, Job, Kind, Value, checksum};
use calotte_solve::Work;
use calotte_specimen::Case;
use serde::Serialize;

use crate::plan::Plan;
use crate::question::{Asked, Question, guarded};

/// A sweep.
pub struct Sweep<'a> {
    plan: &'a Plan,
    case: &'a Case,
    /// Set up where the threshold is asked.
    gauges: Option<Gauges<'a>>,
    /// Width of each question's answer.
    widths: Vec<usize>,
    job: Job,
}

/// The numbers of one point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Point {
    /// Its number, from 0.
    pub point: u64,
    /// The chunk that it belongs to.
    pub chunk: u64,
    /// What varies, in the order of the plan.
    pub values: Vec<PointValue>,
    /// Why there is no such part; none when there is one.
    pub note: Option<String>,
}

/// One number of a point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PointValue {
    /// Key in the case, or `depth`.
    pub key: String,
    /// SI value.
    pub value_si: f64,
    /// SI unit.
    pub unit_si: &'static str,
    /// The value in the unit of the case, rounded.
    pub shown: String,
}

impl<'a> Sweep<'a> {
    /// Ready to ask: finds the threshold of the part as described where thresholds are asked.
    ///
    /// # Errors
    /// Words on which question makes no sense.
    pub fn new(plan: &'a Plan, case: &'a Case) -> Result<Self, String> {
        let gauges = match plan.questions.contains(&Question::Threshold) {
            true => Some(Gauges::new(case, &[Gauge::Margin], &mut Work::default())?),
            false => None,
        };
        let mut columns = vec![column("point", "1", "number of the point, from 0", Kind::Count)];
        for v in &plan.vary {
            let about = format!("`{}` of the case at this point", v.key);
            columns.push(column(
                &v.column(),
                if v.si().is_empty() { "1" } else { v.si() },
                &about,
                Kind::Number,
            ));
        }
        let mut widths = Vec::new();
        for q in &plan.questions {
            let of = q.columns(case);
            widths.push(of.len());
            let several = plan.questions.len() > 1;
            columns.extend(of.into_iter().map(|c| match several {
                true => Column { name: format!("{}_{}", q.name(), c.name), ..c },
                false => c,
            }));
        }
        columns.push(column(
            "note",
            "",
            "why cells are missing or an answer is doubtful; empty otherwise",
            Kind::Text,
        ));
        let identity = plan.identity(&case.digest());
        let digest = format!("{:016x}", checksum(identity.as_bytes()));
        let provenance = vec![
            ("program".to_owned(), format!("{PROGRAM} {VERSION}")),
            ("plan_digest".to_owned(), digest),
            ("case_digest".to_owned(), case.digest()),
            ("points".to_owned(), plan.design.points().to_string()),
            ("points_per_chunk".to_owned(), plan.chunk.to_string()),
        ];
        let job = Job {
            name: "chunk".to_owned(),
            identity,
            columns,
            points: plan.design.points(),
            chunk: plan.chunk,
            provenance,
        };
        Ok(Self { plan, case, gauges, widths, job })
    }

    /// The plan.
    pub fn plan(&self) -> &'a Plan {
        self.plan
    }

    /// The case.
    pub fn case(&self) -> &'a Case {
        self.case
    }

    /// What is computed, as `calotte-runs` takes it.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Sixteen hexadecimal digits that change with anything that a row depends on but the program (FNV-1a, 64 bits).
    pub fn digest(&self) -> &str {
        self.job.provenance.iter().find(|p| p.0 == "plan_digest").map_or("", |p| &p.1)
    }

    /// How many points there are.
    pub fn points(&self) -> u64 {
        self.job.points
    }

    /// How many chunks.
    pub fn chunks(&self) -> u64 {
        self.job.points.div_ceil(self.job.chunk)
    }

    /// SI values of point `k`.
    fn values(&self, k: u64) -> Vec<f64> {
        let shares = self.plan.design.shares(k);
        self.plan.vary.iter().zip(shares).map(|(v, share)| v.value(share)).collect()
    }

    fn asked(&self, values: &[f64]) -> Result<Asked, String> {
        let mut changes = Vec::with_capacity(values.len());
        let mut depth = None;
        for (v, value) in self.plan.vary.iter().zip(values) {
            match v.quantity {
                Quantity::Depth => depth = Some(*value),
                Quantity::Given(i) => changes.push((i, *value)),
            }
        }
        Asked::at(self.case, &changes, depth)
    }

    /// The numbers of point `k`; none beyond the last.
    pub fn point(&self, k: u64) -> Option<Point> {
        if k >= self.points() {
            return None;
        }
        let values = self.values(k);
        let note = self.asked(&values).err();
        let told = self.plan.vary.iter().zip(values).map(|(v, value)| {
            let unit = units(v.dimension).find(|u| u.symbol == v.unit).or_else(|| units(v.dimension).next());
            PointValue {
                key: v.key.clone(),
                value_si: value,
                unit_si: v.si(),
                shown: unit.map_or_else(|| value.to_string(), |u| show(value, None, u)),
            }
        });
        Some(Point { point: k, chunk: k / self.job.chunk, values: told.collect(), note })
    }

    /// The row of point `k`: a pure function of the plan, its case and `k`.
    pub fn row(&self, k: u64) -> Vec<Value> {
        let values = self.values(k);
        let mut out = Vec::with_capacity(self.job.columns.len());
        out.push(Value::Count(i64::try_from(k).unwrap_or(i64::MAX)));
        out.extend(values.iter().map(|v| Value::Number(*v)));
        let mut notes = Vec::new();
        let several = self.plan.questions.len() > 1;
        // Building a part must not lose the others either.
        let mut asked = None;
        let (_, no_part) = guarded(|| match self.asked(&values) {
            Ok(a) => {
                asked = Some(a);
                (Vec::new(), None)
            }
            Err(why) => (Vec::new(), Some(format!("no such part: {why}"))),
        });
        notes.extend(no_part);
        for (q, width) in self.plan.questions.iter().zip(&self.widths) {
            let (mut cells, note) = match &asked {
                None => (Vec::new(), None),
                Some(a) => guarded(|| match &self.gauges {
                    Some(gauges) if *q == Question::Threshold => a.threshold(gauges),
                    _ => a.cells(*q),
                }),
            };
            cells.resize(*width, Value::Missing);
            out.append(&mut cells);
            notes.extend(note.map(|n| if several { format!("{}: {n}", q.name()) } else { n }));
        }
        out.push(if notes.is_empty() { Value::Missing } else { Value::Text(notes.join("; ")) });
        out
    }
}
