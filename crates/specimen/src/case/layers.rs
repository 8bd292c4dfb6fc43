//! The table `[layers]`: what the wall is made of.

use calotte_quantity::{Dimension, Quantity, nearest, show};

use super::build::{Slot, Thickness};
use super::draft::Value;
use super::finding::{File, Finding};
use super::heat::HeatPlan;
use super::resolve::{Resolver, falls};
use super::table::{Measure, Wanted, header_stems, read_columns};
use crate::shelf::{Stated, Stocked, find_on_shelf, shelf};
use crate::{Layer, Layers, Property};

/// Most layers of a wall.
const MOST_LAYERS: usize = 8;
/// Shares that add to 1 within this are taken as parts of their sum: people write 0.333.
const SHARES_OFF: f64 = 2e-3;
/// Layers that miss the wall's thickness by more than this part of it do not add up.
const SUM_OFF: f64 = 1e-6;

const YOUNGS: [&str; MOST_LAYERS] =
    ["youngs_1", "youngs_2", "youngs_3", "youngs_4", "youngs_5", "youngs_6", "youngs_7", "youngs_8"];
const EXPANSION: [&str; MOST_LAYERS] = [
    "expansion_1",
    "expansion_2",
    "expansion_3",
    "expansion_4",
    "expansion_5",
    "expansion_6",
    "expansion_7",
    "expansion_8",
];

/// A property of one layer, without its number.
#[derive(Clone, Debug)]
pub(super) enum Told {
    /// A number of the table `[layers]`.
    Here(Slot),
    /// Readings over temperature.
    Over(Property),
    /// The material's.
    Material,
}

impl Told {
    fn property(&self, values: &[f64], material: f64) -> Property {
        match self {
            Self::Here(slot) => Property::Constant(slot.of(values)),
            Self::Over(p) => p.clone(),
            Self::Material => Property::Constant(material),
        }
    }
}

/// The table without its numbers.
#[derive(Clone, Debug)]
pub(super) struct LayersPlan {
    /// Thicknesses or shares, from the convex face; their parts of the sum count.
    parts: Vec<Slot>,
    /// Whether the parts are thicknesses, which together are the wall.
    by_thickness: bool,
    youngs: Vec<Told>,
    poisson: Vec<Told>,
    expansion: Vec<Told>,
    flexivity: Slot,
    extra_curvature: Slot,
}

impl LayersPlan {
    /// Whether every layer has a Young's modulus, and every one a Poisson ratio, of its own.
    pub(super) fn own(&self) -> [bool; 2] {
        [&self.youngs, &self.poisson].map(|all| all.iter().all(|t| !matches!(t, Told::Material)))
    }

    /// The layers with these input values on a material with this Young's modulus (Pa) and Poisson ratio.
    pub(super) fn layers(&self, values: &[f64], material: [f64; 2], heat: &HeatPlan) -> Layers {
        let parts: Vec<f64> = self.parts.iter().map(|p| p.of(values)).collect();
        let sum: f64 = parts.iter().sum();
        let layers = parts.iter().enumerate().map(|(i, part)| Layer {
            share: part / sum,
            youngs: self.youngs[i].property(values, material[0]),
            poisson: self.poisson[i].property(values, material[1]).at(0.0)[0],
            expansion: self.expansion[i].property(values, 0.0),
        });
        Layers {
            layers: layers.collect(),
            formed_at: heat.formed_at.of(values),
            temperature: heat.temperature(values),
            face_difference: heat.face_difference.of(values),
            extra_curvature: self.extra_curvature.of(values),
            flexivity: self.flexivity.of(values),
        }
    }
}

/// Means over the thickness of Young's modulus (Pa, at the wall's temperature) and Poisson ratio.
pub(super) fn means(layers: &Layers) -> [f64; 2] {
    layers.layers.iter().fold([0.0; 2], |m, l| {
        [m[0] + l.share * l.youngs.at(layers.temperature)[0], m[1] + l.share * l.poisson]
    })
}

type Listed = Option<Vec<(Quantity, std::ops::Range<usize>)>>;

impl Resolver<'_> {
    /// `None` without a table `[layers]`, or when what it holds is wrong and said.
    pub(super) fn layers(&mut self) -> Option<LayersPlan> {
        self.draft.tables.get("layers")?;
        let (thickness, share) = (self.list("layers.thickness"), self.list("layers.share"));
        if let (Some(_), Some(field)) = (&thickness, self.draft.fields.get("layers.share")) {
            let span = field.key_span.clone();
            self.draft.error(span, "`thickness` and `share` exclude each other").hint =
                Some("keep one of them".to_owned());
            return None;
        }
        if ["layers.thickness", "layers.share"].iter().any(|p| self.is_wrong(p)) {
            return None;
        }
        let by_thickness = thickness.is_some();
        let parts = thickness.or(share);
        let count = parts.as_ref().map_or(1, Vec::len);
        let path = if by_thickness { "layers.thickness" } else { "layers.share" };
        if count == 0 || count > MOST_LAYERS {
            let span = self.draft.span(path).unwrap_or(0..0);
            self.draft.error(span, format!("{count} layers; 1 to {MOST_LAYERS} are taken"));
            return None;
        }
        let mut sound = self.shares_add(by_thickness, parts.as_deref());
        let lists = ["layers.youngs_modulus", "layers.poisson_ratio", "layers.expansion"];
        for list in lists {
            let Some(len) = self.list(list).map(|l| l.len()) else {
                sound &= !self.is_wrong(list);
                continue;
            };
            if parts.is_none() && len > 1 {
                self.uncounted(list, len);
                sound = false;
            } else {
                sound &=
                    self.of_length(list, len, count, "values", if count == 1 { "layer" } else { "layers" });
            }
        }
        let stock = self.stock(count, parts.is_some());
        let moduli = self.over("layers.moduli", &YOUNGS[..count], Dimension::Pressure, true);
        let expansions = self.over("layers.expansions", &EXPANSION[..count], Dimension::Expansion, false);
        sound &= self.check_flexivity(count);
        if !sound {
            return None;
        }
        let parts = match parts {
            Some(all) => all
                .iter()
                .enumerate()
                .map(|(i, (q, _))| self.push_input(format!("{path}[{}]", i + 1), q))
                .collect(),
            None => vec![Slot::Fixed(1.0)],
        };
        let stock = stock?;
        let youngs = self.told("layers.youngs_modulus", moduli?, &stock, |m| Some(m.youngs_modulus.clone()));
        let poisson =
            self.told("layers.poisson_ratio", vec![None; count], &stock, |m| Some(m.poisson_ratio.clone()));
        let expansion = self.told("layers.expansion", expansions?, &stock, |m| m.expansion.clone());
        let bends = self.draft.has("layers.flexivity") || self.draft.has("layers.extra_curvature");
        let lacking = expansion.iter().filter(|t| matches!(t, Told::Material)).count();
        if lacking > 0 && (count > 1 || !bends) {
            let span = self.draft.span("layers").unwrap_or(0..0);
            let says = match lacking == count {
                true => "`expansion` is missing in `[layers]`".to_owned(),
                false => format!("{lacking} of {count} layers have no expansion"),
            };
            self.draft.error(span, says).hint = Some(
                "one for each layer, from the convex face: `expansion = [\"1.2 ppm/K\", \"19 ppm/K\"]`"
                    .to_owned(),
            );
        }
        let nothing = Slot::Fixed(0.0);
        let flexivity = self.input("layers.flexivity").unwrap_or(nothing);
        let extra_curvature = self.input("layers.extra_curvature").unwrap_or(nothing);
        Some(LayersPlan { parts, by_thickness, youngs, poisson, expansion, flexivity, extra_curvature })
    }

    /// A list, of one when a single number is written.
    fn list(&self, path: &str) -> Listed {
        match &self.draft.fields.get(path)?.value {
            Value::Numbers(all) => Some(all.clone()),
            Value::Number(q) => Some(vec![(q.clone(), self.draft.span(path)?)]),
            _ => None,
        }
    }

    fn shares_add(
        &mut self,
        by_thickness: bool,
        parts: Option<&[(Quantity, std::ops::Range<usize>)]>,
    ) -> bool {
        let Some(parts) = parts.filter(|_| !by_thickness) else { return true };
        let sum: f64 = parts.iter().map(|p| p.0.value).sum();
        if (sum - 1.0).abs() <= SHARES_OFF || parts.iter().any(|p| p.0.value <= 0.0) {
            return true;
        }
        let span = self.draft.span("layers.share").unwrap_or(0..0);
        self.draft.error(span, format!("the shares add up to {sum:.4}, not 1")).hint =
            Some("each is the layer's part of the wall's thickness".to_owned());
        false
    }

    fn check_flexivity(&mut self, count: usize) -> bool {
        let Some(field) = self.draft.fields.get("layers.flexivity").filter(|_| count > 1) else {
            return true;
        };
        let span = field.key_span.clone();
        self.draft
            .error(span, format!("`flexivity` stands for the whole wall and does not go with {count} layers"))
            .hint =
            Some("keep one of the two: the flexivity, or the layers with their expansions".to_owned());
        false
    }

    /// What each layer is told: by a table, else by its entry of the list, else by the shelf, else nothing.
    fn told(
        &mut self,
        list: &str,
        tables: Vec<Option<Property>>,
        stock: &[Option<Stocked>],
        of: fn(&Stocked) -> Option<Stated>,
    ) -> Vec<Told> {
        let entries = self.list(list);
        let mut out = Vec::with_capacity(tables.len());
        for (i, table) in tables.into_iter().enumerate() {
            let key = format!("{list}[{}]", i + 1);
            let entry = entries.as_ref().and_then(|e| e.get(i));
            let stated = stock[i].as_ref().and_then(of);
            out.push(match (table, entry, stated) {
                (Some(p), ..) => Told::Over(p),
                (None, Some((q, _)), _) => Told::Here(self.push_input(key, q)),
                (None, None, Some(stated)) => self
                    .shelf_value(key, stated.value, Some(stated.half_width))
                    .map_or(Told::Material, Told::Here),
                (None, None, None) => Told::Material,
            });
        }
        out
    }

    /// The shelf's entry of each layer; `None` when a name is not there or their number is wrong, and said.
    fn stock(&mut self, count: usize, counted: bool) -> Option<Vec<Option<Stocked>>> {
        let names = match self.draft.fields.get("layers.name").map(|f| &f.value) {
            Some(Value::Texts(all)) => all.clone(),
            Some(_) => return None,
            None => return Some(vec![None; count]),
        };
        let plural = if count == 1 { "layer" } else { "layers" };
        if !counted && names.len() > 1 {
            self.uncounted("layers.name", names.len());
            return None;
        }
        if !self.of_length("layers.name", names.len(), count, "names", plural) {
            return None;
        }
        let mut out = Vec::with_capacity(count);
        for (name, span) in names {
            let found = find_on_shelf(&name);
            if found.is_none() {
                let all = shelf();
                let near = nearest(&name, all.iter().flat_map(|m| [m.key, m.name]));
                let hint = match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => {
                        format!("on the shelf: {}", all.iter().map(|m| m.key).collect::<Vec<_>>().join(", "))
                    }
                };
                self.draft.error(span, format!("`{name}` is not on the shelf")).hint = Some(hint);
            }
            out.push(found);
        }
        if out.iter().any(Option::is_none) {
            return None;
        }
        let names: Vec<&str> = out.iter().flatten().map(|m| m.name).collect();
        self.notes.push(format!(
            "layers from the shelf, where nothing else is given: {} (typical handbook ranges, from memory)",
            names.join("; ")
        ));
        Some(out)
    }

    /// Several entries, and nothing that says how thick each layer is.
    fn uncounted(&mut self, list: &str, len: usize) {
        let span = self.draft.span(list).unwrap_or(0..0);
        self.draft.error(span, format!("{len} values, and nothing says how thick the layers are")).hint =
            Some(
                "add `thickness = [\"0.1 mm\", \"0.1 mm\"]` or `share = [0.5, 0.5]` to `[layers]`".to_owned(),
            );
    }

    /// Readings over temperature of the layers that a file has; all `None` when no file is named, `None` when it is wrong.
    fn over(
        &mut self,
        path: &str,
        names: &[&'static str],
        dimension: Dimension,
        positive: bool,
    ) -> Option<Vec<Option<Property>>> {
        if !self.draft.has(path) {
            return Some(vec![None; names.len()]);
        }
        let (name, bytes) = self.open(path)?;
        let stems = header_stems(&bytes);
        let layers: Vec<usize> =
            (0..names.len()).filter(|i| stems.iter().any(|s| s.0 == names[*i])).collect();
        let mut wanted = vec![Wanted { name: "temperature", measure: Measure::Of(Dimension::Temperature) }];
        // A file without any of them is told which one it might have.
        let named = if layers.is_empty() { &[0][..] } else { &layers[..] };
        wanted.extend(named.iter().map(|i| Wanted { name: names[*i], measure: Measure::Of(dimension) }));
        let (columns, found) = read_columns(&name, &bytes, &wanted);
        self.draft.findings.extend(found);
        let columns = columns?;
        let before = self.draft.findings.len();
        let mut say = |row: usize, says: &str, hint: &str| {
            let finding = Finding::error(File::Other(name.clone()), columns.rows[row].clone(), says);
            self.draft.findings.push(finding.hint(hint));
        };
        for i in falls(&columns.values[0]) {
            say(
                i,
                "the temperature must increase from row to row",
                "list the rows from cold to warm, each temperature once",
            );
        }
        for row in 0..columns.rows.len() {
            if columns.values[0][row] <= 0.0 {
                say(row, "the temperature must be above absolute zero, −273.15 degC", "is the unit right?");
            }
            if positive && columns.values[1..].iter().any(|c| c[row] <= 0.0) {
                say(
                    row,
                    "a modulus must be greater than 0",
                    "moduli are those of the layer at this temperature",
                );
            }
        }
        if columns.rows.len() < 2 {
            say(0, "one row is no table: two at least", "give the modulus or expansion as a number instead");
        }
        if self.draft.findings.len() > before {
            return None;
        }
        let mut out = vec![None; names.len()];
        for (layer, column) in layers.iter().zip(&columns.values[1..]) {
            let readings: Vec<(f64, f64)> =
                columns.values[0].iter().copied().zip(column.iter().copied()).collect();
            out[*layer] = Some(Property::table(&readings)?);
        }
        Some(out)
    }

    /// The wall that listed thicknesses of layers make; `None` when there are none. What `[wall]` says must agree.
    pub(super) fn wall_of_layers(&mut self, plan: Option<&LayersPlan>) -> Option<Thickness> {
        let plan = plan.filter(|p| p.by_thickness)?;
        let varies =
            ["wall.arc", "wall.table", "wall.offset", "wall.thickness_end"].iter().any(|p| self.draft.has(p))
                || self.draft.numbers("wall.thickness").is_some();
        if varies {
            let span = self.draft.fields.get("layers.thickness").map_or(0..0, |f| f.key_span.clone());
            self.draft.error(span, "layers of fixed `thickness` do not go with a wall that varies").hint =
                Some("give each layer's `share` of the wall instead".to_owned());
        } else if let Some(q) = self.draft.number("wall.thickness").cloned() {
            self.unused_tolerance("wall.thickness", &q, "of a wall whose layers are given");
            let sum: f64 = plan.parts.iter().map(|s| s.of(&self.values())).sum();
            if q.value > 0.0 && (sum / q.value - 1.0).abs() > SUM_OFF {
                let says = format!(
                    "the layers add up to {}, the wall is {}",
                    show(sum, None, q.unit),
                    show(q.value, None, q.unit)
                );
                let span = self.draft.span("layers.thickness").unwrap_or(0..0);
                self.draft.error(span, says).hint =
                    Some("correct one of them, or leave out the wall's `thickness`".to_owned());
            }
        }
        Some(Thickness::Sum(plan.parts.clone()))
    }

    /// Whether layers bring Young's modulus and Poisson ratio; of layers that are wrong, whether they mean to.
    pub(super) fn own_constants(&self, plan: Option<&LayersPlan>) -> [bool; 2] {
        let has = |key: &str| self.draft.has(key);
        let named = has("layers.name");
        let means_to = [
            named || has("layers.youngs_modulus") || has("layers.moduli"),
            named || has("layers.poisson_ratio"),
        ];
        plan.map_or(means_to, LayersPlan::own)
    }

    /// Constants of the material that layers replace are told to be of no use.
    pub(super) fn replaced_by_layers(&mut self, own: [bool; 2]) {
        for (key, _) in ["youngs_modulus", "poisson_ratio"].iter().zip(own).filter(|k| k.1) {
            let Some(field) = self.draft.fields.get(&format!("material.{key}")) else { continue };
            let span = field.key_span.clone();
            self.draft.warning(span, format!("`{key}` is not used: every layer has its own")).hint =
                Some("remove it here, or in `[layers]`".to_owned());
        }
        let [e, nu] = own;
        let what = match (e, nu) {
            (true, true) => "Young's modulus and Poisson ratio",
            (true, false) => "Young's modulus",
            (false, true) => "Poisson ratio",
            (false, false) => return,
        };
        self.notes.push(format!(
            "{what} of the part as a whole: the mean of its layers over the thickness, at the part's temperature; the mechanics use the layers"
        ));
    }
}
