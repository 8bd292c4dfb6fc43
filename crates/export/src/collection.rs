//! The files of an answer: surfaces, a collection of them, a table that says what each is.

use std::fmt::Write as _;

use calotte_answers::film::Film;
use calotte_runs::{Column, Kind, Table, Value};
use calotte_specimen::Part;

use crate::surface::{Rows, deflection, natural, surface};
use crate::vtk::vtu;

/// A file to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedFile {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// What the steps of a collection count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Steps {
    /// Time, s.
    Time,
    /// Temperature, K.
    Temperature,
    /// Shapes in their order: states, and paths on which load or temperature turn back.
    Shapes,
}

impl Steps {
    /// As it is told in the table and in the report.
    pub fn word(self) -> &'static str {
        match self {
            Self::Time => "time_s",
            Self::Temperature => "temperature_K",
            Self::Shapes => "shape",
        }
    }
}

/// An answer's surfaces, to be made one after another.
pub struct Export<'a> {
    part: &'a Part,
    film: &'a Film,
    name: &'a str,
    about: Vec<String>,
    around: u32,
    packed: bool,
    natural: Vec<(f64, f64)>,
    /// What the steps count.
    pub steps: Steps,
}

/// Words that stand in every VTK file.
const UNITS: &str = "Units: SI, in the names of the fields (_m metres, _1 pure numbers, _per_m per metre, _rad radians); points in metres, z along \
                     the axis. Shapes are given to six significant digits.";

/// The surfaces of a film. `name`: that of the answer; `about`: provenance; `around`: points around the axis, at least 8; `packed`: with zlib.
pub fn surfaces<'a>(
    part: &'a Part,
    film: &'a Film,
    name: &'a str,
    about: &[String],
    around: u32,
    packed: bool,
) -> Export<'a> {
    let rises = film.frames.windows(2).all(|w| w[0].at < w[1].at);
    let steps = match film.over.as_str() {
        "time" if rises => Steps::Time,
        "temperature" if rises => Steps::Temperature,
        _ => Steps::Shapes,
    };
    let about = about.iter().cloned().chain([UNITS.to_owned()]).collect();
    Export { part, film, name, about, around: around.max(8), packed, natural: natural(part, film), steps }
}

impl Export<'_> {
    /// How many surfaces there are.
    pub fn count(&self) -> usize {
        self.film.frames.len()
    }

    /// Name of the file of a surface.
    fn file(&self, k: usize) -> String {
        let digits = self.count().saturating_sub(1).to_string().len();
        let frame = &self.film.frames[k];
        if frame.name.is_empty() || self.count() == 1 {
            format!("{}-{k:0digits$}.vtu", self.name)
        } else {
            let plain: String =
                frame.name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
            format!("{}-{k:0digits$}-{plain}.vtu", self.name)
        }
    }

    /// The step of a surface in the collection.
    fn step(&self, k: usize) -> f64 {
        if self.steps == Steps::Shapes { k as f64 } else { self.film.frames[k].at }
    }

    /// A surface as a file; `None` beyond the last.
    pub fn surface(&self, k: usize) -> Option<NamedFile> {
        let frame = self.film.frames.get(k)?;
        let made = surface(self.part, self.film, frame, &self.natural, self.around);
        let mut about = self.about.clone();
        about.push(format!("{} {}", self.steps.word(), self.step(k)));
        Some(NamedFile { name: self.file(k), bytes: vtu(&made, &about, self.packed).into_bytes() })
    }

    /// The collection: every surface with its step, in order.
    pub fn collection(&self) -> NamedFile {
        let mut out = String::from("<?xml version=\"1.0\"?>\n");
        let words: Vec<String> = self.about.iter().map(|l| l.replace("--", "- -")).collect();
        let _ = writeln!(out, "<!--\n{}\ntimestep: {}\n-->", words.join("\n"), self.steps.word());
        out.push_str(
            "<VTKFile type=\"Collection\" version=\"1.0\" byte_order=\"LittleEndian\">\n<Collection>\n",
        );
        for k in 0..self.count() {
            let _ = writeln!(
                out,
                "<DataSet timestep=\"{}\" part=\"0\" file=\"{}\"/>",
                self.step(k),
                self.file(k)
            );
        }
        out.push_str("</Collection>\n</VTKFile>\n");
        NamedFile { name: format!("{}.pvd", self.name), bytes: out.into_bytes() }
    }

    /// What every surface is: file, step, name, branch, the parameter of the film, the row of the answer's own table.
    pub fn table(&self, provenance: Vec<(String, String)>) -> Table {
        let column = |name: &str, unit: &str, about: &str, kind| Column {
            name: name.to_owned(),
            unit: unit.to_owned(),
            about: about.to_owned(),
            kind,
        };
        let (at, unit) = match self.film.over.as_str() {
            "time" => ("time_s", "s"),
            "temperature" => ("temperature_K", "K"),
            _ => ("number", "1"),
        };
        let columns = vec![
            column("file", "", "name of the file with the surface", Kind::Text),
            column(
                "timestep",
                if self.steps == Steps::Shapes { "1" } else { unit },
                "step of the collection",
                Kind::Number,
            ),
            column(at, unit, "what the shapes are counted by", Kind::Number),
            column("name", "", "name of the state, where it has one", Kind::Text),
            column("branch", "", "over temperature: near or far", Kind::Text),
            column("row", "1", "row of the answer's table, from 0", Kind::Count),
        ];
        let text = |t: &str| if t.is_empty() { Value::Missing } else { Value::Text(t.to_owned()) };
        let rows = self
            .film
            .frames
            .iter()
            .enumerate()
            .map(|(k, f)| {
                vec![
                    Value::Text(self.file(k)),
                    Value::Number(self.step(k)),
                    Value::Number(f.at),
                    text(&f.name),
                    text(f.branch.as_deref().unwrap_or("")),
                    f.row.map_or(Value::Missing, |r| Value::Count(r as i64)),
                ]
            })
            .collect();
        Table { columns, rows, provenance }
    }
}

/// A mode as an export takes it: name, waves around the axis, columns across, along and around on the places of the film.
pub struct ModeColumns {
    /// Name of the field.
    pub name: String,
    /// Waves around the axis.
    pub n: u32,
    /// Largest displacement 1.
    pub columns: [Vec<f64>; 3],
}

/// The shape that vibrates with modes as vector fields, in one file; `None` when a column does not fit the shape.
pub fn modes(export: &Export<'_>, modes: &[ModeColumns]) -> Option<NamedFile> {
    let frame = export.film.frames.first()?;
    let mut made = surface(export.part, export.film, frame, &export.natural, export.around);
    let radii: Vec<f64> = export.natural.iter().map(|p| p.0).collect();
    let rows = Rows::new(&radii, export.around);
    for m in modes {
        if m.columns.iter().any(|c| c.len() != radii.len()) {
            return None;
        }
        let [a, b, c] = &m.columns;
        made.fields.push(deflection(frame, &rows, m.n, [a, b, c], m.name.clone()));
    }
    Some(NamedFile { name: export.file(0), bytes: vtu(&made, &export.about, export.packed).into_bytes() })
}
