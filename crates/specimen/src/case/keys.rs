//! Every key of a case file: one table, from which the reader, the schema and the messages follow.

use std::f64::consts::PI;

use calotte_quantity::Dimension;

/// What a key takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Takes {
    Text,
    Flag,
    Choice(&'static [&'static str]),
    Number(Dimension),
    /// A list of numbers, or (for `wall.thickness`) one number.
    Numbers(Dimension),
    /// A list of numbers and nothing else.
    List(Dimension),
    /// A list of texts, or one.
    Texts,
}

impl Takes {
    /// What its numbers measure; `None` when it takes none.
    pub(super) fn measures(self) -> Option<Dimension> {
        match self {
            Self::Number(d) | Self::Numbers(d) | Self::List(d) => Some(d),
            Self::Text | Self::Texts | Self::Flag | Self::Choice(_) => None,
        }
    }
}

/// Which values of a number are possible.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Range {
    Any,
    Positive,
    NotNegative,
    HalfAngle,
    Poisson,
    /// A share of a whole of which something is left.
    Share,
    /// An absolute temperature.
    Warm,
    /// A count.
    Whole,
    /// A number in a row, from 1.
    Ordinal,
    /// How many parts are drawn.
    Draws,
}

impl Range {
    pub(super) fn words(self) -> &'static str {
        match self {
            Self::Any => "finite",
            Self::Positive => "greater than 0",
            Self::NotNegative => "0 or greater",
            Self::HalfAngle => "greater than 0 and at most 180 deg",
            Self::Poisson => "greater than −1 and at most 0.5",
            Self::Share => "greater than 0 and less than 1",
            Self::Whole => "a whole number from 1 to 20",
            Self::Ordinal => "a whole number, 1 or greater",
            Self::Draws => "a whole number from 100 to 100000",
            Self::Warm => "above absolute zero, −273.15 degC",
        }
    }

    pub(super) fn allows(self, x: f64) -> bool {
        x.is_finite()
            && match self {
                Self::Any => true,
                Self::Positive => x > 0.0,
                Self::NotNegative => x >= 0.0,
                Self::HalfAngle => x > 0.0 && x <= PI,
                Self::Poisson => x > -1.0 && x <= 0.5,
                Self::Share => x > 0.0 && x < 1.0,
                Self::Warm => x > 0.0,
                Self::Ordinal => x.fract() == 0.0 && x >= 1.0,
                Self::Draws => {
                    let (least, most) = (*crate::SIZE_DRAWS.start(), *crate::SIZE_DRAWS.end());
                    x.fract() == 0.0 && x >= f64::from(least) && x <= f64::from(most)
                }
                Self::Whole => x.fract() == 0.0 && x >= 1.0 && x <= crate::MOST_TERMS as f64,
            }
    }
}

/// One key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Key {
    /// Table it belongs to; empty for the top.
    pub(super) table: &'static str,
    pub(super) name: &'static str,
    pub(super) takes: Takes,
    pub(super) range: Range,
    /// SI values outside this are probably a slip of the unit.
    pub(super) usual: (f64, f64),
    /// The kinds of its table it goes with; empty for all.
    pub(super) kinds: &'static [&'static str],
    pub(super) says: &'static str,
    pub(super) example: &'static str,
}

/// Name, what it holds, and whether a case must have it.
pub(super) const TABLES: [(&str, &str, bool); 11] = [
    ("shape", "Natural (stress-free) shape.", true),
    ("wall", "Wall thickness.", true),
    ("layers", "Layers of the wall, from the convex face of the natural bowl to the concave one.", false),
    ("material", "Elastic constants and density.", true),
    ("rim", "How the outer edge is held.", true),
    ("heat", "Temperature of a wall of layers, and the device around it.", false),
    ("load", "How the part is poked.", false),
    ("memory", "How the material relaxes.", false),
    ("hold", "How the part is held turned inside out, and let go.", false),
    ("surroundings", "What surrounds the part when it is let go.", false),
    ("size", "What may change in the part, and what is wished of it.", false),
];
pub(super) const SHAPES: &[&str] = &["cap", "meridian", "corners"];
pub(super) const SURFACES: &[&str] = &["mid", "inner", "outer"];
pub(super) const RIMS: &[&str] = &["free", "table", "ring", "hinged", "clamped", "elastic"];
pub(super) const LOADS: &[&str] =
    &["pole", "ring", "flat", "ball", "pusher", "pressure", "rim-displacement", "rim-pull", "gravity"];
pub(super) const STARTS: &[&str] = &["natural", "inverted"];
pub(super) const SHIFTS: &[&str] = &["none", "wlf", "arrhenius"];
pub(super) const HELD: &[&str] = &["mirror", "inverted", "poke", "flat", "given"];
pub(super) const LET_GO: &[&str] = &["at once", "ramp"];
pub(super) const RESTS: &[&str] = &["nowhere", "table"];
pub(super) const CONTROLS: &[&str] = &["load", "displacement"];

const fn text(table: &'static str, name: &'static str, says: &'static str, example: &'static str) -> Key {
    let usual = (f64::NEG_INFINITY, f64::INFINITY);
    Key { table, name, takes: Takes::Text, range: Range::Any, usual, kinds: &[], says, example }
}

const fn number(
    table: &'static str,
    name: &'static str,
    dimension: Dimension,
    range: Range,
    usual: (f64, f64),
    says: &'static str,
    example: &'static str,
) -> Key {
    Key { table, name, takes: Takes::Number(dimension), range, usual, kinds: &[], says, example }
}

impl Key {
    const fn with(mut self, takes: Takes) -> Self {
        self.takes = takes;
        self
    }

    const fn of_kinds(mut self, kinds: &'static [&'static str]) -> Self {
        self.kinds = kinds;
        self
    }

    /// The key of its table that decides whether it belongs, and what that one is when it is left out.
    pub(super) fn decided_by(&self) -> (&'static str, Option<&'static str>) {
        match (self.table, self.name) {
            ("hold", "ramp") => ("let_go", Some("at once")),
            ("hold", _) => ("shape", Some("inverted")),
            ("memory", _) => ("shift", Some("none")),
            _ => ("kind", None),
        }
    }

    /// The kinds it goes with, for a sentence: `kind = "ball" or "pusher"`.
    pub(super) fn kind_words(&self) -> String {
        let kinds: Vec<String> = self.kinds.iter().map(|k| format!("\"{k}\"")).collect();
        format!("{} = {}", self.decided_by().0, kinds.join(" or "))
    }

    /// `table.name`.
    pub(super) fn path(&self) -> String {
        if self.table.is_empty() { self.name.to_owned() } else { format!("{}.{}", self.table, self.name) }
    }
}

use Dimension::{
    Acceleration, Angle, Curvature, Density, Expansion, Force, Length, MolarEnergy, Number, Pressure, Rate,
    RimStiffness, Stiffness, Temperature, TemperatureDifference, Time, TurningStiffness,
};
use Range::{NotNegative, Poisson, Positive, Share, Warm, Whole};

/// A micrometre to ten metres.
const SIZE: (f64, f64) = (1e-6, 10.0);
/// The same or nothing.
const SIZE0: (f64, f64) = (0.0, 10.0);
const THIN: (f64, f64) = (1e-8, 1.0);
const MODULI: (f64, f64) = (1e3, 1.3e12);
const ALL: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);
/// About a hundred times standard gravity either way.
const WEIGHTS: (f64, f64) = (-1e3, 1e3);

/// A nanosecond to thirty years.
const TIMES: (f64, f64) = (1e-9, 1e9);
/// −123 to 327 degC.
const WARMTH: (f64, f64) = (150.0, 600.0);

const CAP: &[&str] = &["cap"];
const MERIDIAN: &[&str] = &["meridian"];
const CORNERS: &[&str] = &["corners"];
const ELASTIC: &[&str] = &["elastic"];
const WLF: &[&str] = &["wlf"];
const ARRHENIUS: &[&str] = &["arrhenius"];

pub(super) const KEYS: &[Key] = &[
    text("", "title", "What the part is called in reports.", "Rubber cap no. 3"),
    text("shape", "kind", "`cap`: part of a sphere, from two of its sizes. `meridian`: a measured profile. `corners`: straight lines and arcs through corners.", "cap")
        .with(Takes::Choice(SHAPES)),
    text("shape", "surface", "Surface that the sizes or the profile refer to: `mid` (default), `inner` (concave side, nearer to the centre of the sphere) or `outer`.", "mid")
        .with(Takes::Choice(SURFACES)),
    number("shape", "radius", Length, Positive, SIZE, "Radius of the sphere.", "25 mm").of_kinds(CAP),
    number("shape", "half_angle", Angle, Range::HalfAngle, (0.0087, PI), "Angle from the axis to the rim, seen from the centre of the sphere; 180 deg for a complete sphere.", "50 deg ± 0.5 deg").of_kinds(CAP),
    number("shape", "rim_diameter", Length, Positive, SIZE, "Diameter of the rim circle.", "38.3 mm").of_kinds(CAP),
    number("shape", "rise", Length, Positive, SIZE, "Height from the pole to the plane of the rim.", "8.9 mm").of_kinds(CAP),
    number("shape", "arc_length", Length, Positive, SIZE, "Length along the meridian from the pole (of the complete surface) to the rim.", "21.8 mm").of_kinds(CAP),
    number("shape", "hole_diameter", Length, NotNegative, ALL, "Diameter of a hole at the pole.", "4 mm").of_kinds(CAP),
    text("shape", "file", "CSV file with columns `r` and `z`, unit in the header (`r_mm,z_mm`): points from the pole (or the hole's edge) to the rim.", "profile.csv").of_kinds(MERIDIAN),
    number("shape", "position_sd", Length, Positive, (1e-9, 1e-2), "Standard deviation of a measured point's position, in each direction.", "0.02 mm").of_kinds(MERIDIAN),
    text("shape", "hole", "Whether the first point is the edge of a pole hole (default: false).", "false").with(Takes::Flag).of_kinds(MERIDIAN),
    number("shape", "scale", Number, Positive, (1e-3, 1e3), "Factor on every r and z of the profile (default: 1), to carry the tolerance of a picture's scale.", "1.000 ± 0.005").of_kinds(MERIDIAN),
    number("shape", "r", Length, NotNegative, SIZE0, "Distances of the corners from the axis, from the inner end (0 for a pole) to the rim.", "[\"0 mm\", \"8 mm\", \"10 mm\"]").with(Takes::List(Length)).of_kinds(CORNERS),
    number("shape", "z", Length, Range::Any, (-10.0, 10.0), "Heights of the corners, one for each `r`, from any origin.", "[\"0 mm\", \"0 mm\", \"4 mm\"]").with(Takes::List(Length)).of_kinds(CORNERS),
    number("shape", "fillet", Length, NotNegative, SIZE0, "Radius of the rounding of the corners, one for all inner ones; or a list, one per corner, 0 for a sharp one and at both ends.", "0.5 mm").with(Takes::Numbers(Length)).of_kinds(CORNERS),
    number("shape", "arc", Length, Range::Any, (-1e3, 1e3), "Radius of each piece between two corners, 0 for a straight one; positive when it bends upwards on the way to the rim.", "[\"0 mm\", \"12 mm\"]").with(Takes::List(Length)).of_kinds(CORNERS),
    number("wall", "thickness", Length, Positive, THIN, "Thickness, one for all; or a list, with `arc`; or, through corners, a list with one for each piece.", "2.10 ± 0.05 mm").with(Takes::Numbers(Length)),
    number("wall", "arc", Length, NotNegative, ALL, "Places of the listed thicknesses: distance along the mid-surface from the pole (or the hole's edge).", "[\"0 mm\", \"20 mm\"]").with(Takes::Numbers(Length)),
    number("wall", "thickness_end", Length, Positive, THIN, "Through corners: thickness of each piece at its outer end, when it differs from the one in `thickness`, that at its inner end.", "[\"0.4 mm\", \"1 mm\"]").with(Takes::List(Length)),
    number("wall", "rigid", Number, Range::Ordinal, ALL, "Through corners: numbers of the pieces, from 1 at the inner end, that are as good as rigid.", "[1]").with(Takes::Numbers(Number)),
    text("wall", "table", "CSV file with columns `arc` and `thickness`, unit in the header (`arc_mm,thickness_mm`).", "wall.csv"),
    number("wall", "offset", Length, Range::Any, (-1e-2, 1e-2), "Added to every thickness of a list or table (default: 0), to carry their common tolerance.", "0 ± 0.05 mm"),
    number("layers", "thickness", Length, Positive, THIN, "Thickness of each layer; together the wall, whose `thickness` may then be left out.", "[\"0.1 mm\", \"0.1 mm\"]").with(Takes::Numbers(Length)),
    number("layers", "share", Number, Positive, (1e-6, 1.0), "Share of the wall that each layer takes, instead of `thickness`; together 1.", "[0.5, 0.5]").with(Takes::Numbers(Number)),
    text("layers", "name", "Material of each layer on the shelf; numbers given below come before the shelf's.", "[\"invar-36\", \"nickel-iron-22\"]").with(Takes::Texts),
    number("layers", "youngs_modulus", Pressure, Positive, MODULI, "Young's modulus of each layer (default: that of the material).", "[\"140 GPa\", \"170 GPa\"]").with(Takes::Numbers(Pressure)),
    number("layers", "poisson_ratio", Number, Poisson, (0.0, 0.5), "Poisson ratio of each layer (default: that of the material).", "[0.3, 0.3]").with(Takes::Numbers(Number)),
    number("layers", "expansion", Expansion, Range::Any, (-1e-5, 1e-3), "Coefficient of thermal expansion of each layer.", "[\"1.2 ppm/K\", \"19 ppm/K\"]").with(Takes::Numbers(Expansion)),
    text("layers", "moduli", "CSV file of Young's moduli over temperature: `temperature` and, for each layer in it, `youngs_1`, `youngs_2` … with units (`temperature_degC,youngs_1_GPa`).", "moduli.csv"),
    text("layers", "expansions", "CSV file of expansions over temperature: `temperature` and, for each layer in it, `expansion_1`, `expansion_2` … with units (`temperature_degC,expansion_1_ppm/K`).", "expansions.csv"),
    number("layers", "flexivity", Expansion, Range::Any, (-1e-3, 1e-3), "Flexivity of a strip sold as one: curvature per kelvin times thickness. Positive when heat bends the wall like the natural bowl.", "15 ± 1 ppm/K"),
    number("layers", "extra_curvature", Curvature, Range::Any, (-1e5, 1e5), "Curvature, in both directions, that the wall would take if it were free, beyond that of the described shape; positive like that of a bowl (default: 0).", "-2 1/m"),
    number("heat", "formed_at", Temperature, Warm, WARMTH, "Temperature at which the described shape is free of stress (default: 20 degC).", "20 degC"),
    number("heat", "temperature", Temperature, Warm, WARMTH, "Temperature of the middle of the wall for every question but the heat's own (default: `formed_at`).", "60 degC"),
    number("heat", "face_difference", TemperatureDifference, Range::Any, (-500.0, 500.0), "Temperature of the concave face less that of the convex one (default: 0).", "2 K"),
    number("heat", "from", Temperature, Warm, WARMTH, "Lowest temperature looked at.", "0 degC"),
    number("heat", "to", Temperature, Warm, WARMTH, "Highest temperature looked at.", "200 degC"),
    number("heat", "preload", Force, Range::Any, (-1e4, 1e4), "Axial force on the centre that acts all the time, positive towards the other state (default: 0).", "0.5 N"),
    number("heat", "pin_gap", Length, NotNegative, SIZE0, "Travel of the pole towards the other state at which it meets a pin.", "0.3 mm"),
    number("heat", "pin_stiffness", Stiffness, Positive, ALL, "Stiffness of the spring behind the pin; a rigid stop when left out.", "2 N/mm"),
    number("heat", "creep_from", Temperature, Warm, WARMTH, "Temperature from which slow movement before the trip is counted.", "90 degC"),
    text("material", "name", "A material on the shelf (`silicone-30`, …), or a label when the numbers are given.", "silicone-30"),
    number("material", "youngs_modulus", Pressure, Positive, MODULI, "Young's modulus at small strain.", "1.2 MPa ± 10 %"),
    number("material", "poisson_ratio", Number, Poisson, (0.0, 0.5), "Poisson ratio.", "0.49"),
    number("material", "density", Density, Positive, (10.0, 25e3), "Mass density; frequencies need it.", "1080 kg/m^3"),
    number("material", "strain_limit", Number, Positive, (1e-4, 10.0), "Largest strain that the material bears.", "1.5 %"),
    text("rim", "kind", "`free`; `table`: rests on a frictionless table; `ring`: keeps its height, slides and turns; `hinged`: turns only; `clamped`; `elastic`: on springs.", "free").with(Takes::Choice(RIMS)),
    number("rim", "radial", RimStiffness, NotNegative, ALL, "Spring against radial displacement, per length of rim.", "0.2 N/mm/mm").of_kinds(ELASTIC),
    number("rim", "axial", RimStiffness, NotNegative, ALL, "Spring against axial displacement, per length of rim.", "0.2 N/mm/mm").of_kinds(ELASTIC),
    number("rim", "circumferential", RimStiffness, NotNegative, ALL, "Spring against circumferential displacement, per length of rim.", "0.2 N/mm/mm").of_kinds(ELASTIC),
    number("rim", "turning", TurningStiffness, NotNegative, ALL, "Spring against turning of the meridian's slope, per length of rim.", "3 N/rad").of_kinds(ELASTIC),
    text("load", "kind", "What pushes. `pole`: a force on the pole, or on the whole edge of its hole; `ring`: a force spread over a circle; `flat`: a rigid plate; `ball`: a rigid ball; `pusher`: a rigid flat pusher; `pressure`: on the convex face; `rim-displacement`: the grip of the rim moves inwards; `rim-pull`: a radial force on a sliding rim; `gravity`.", "pole").with(Takes::Choice(LOADS)),
    text("load", "from", "State that is poked: `natural` (default) or `inverted`.", "natural").with(Takes::Choice(STARTS)),
    text("load", "control", "What is set: the `load` (default; a weight, a gas) or the `displacement` (a screw, a finger).", "load").with(Takes::Choice(CONTROLS)),
    number("load", "arc", Length, NotNegative, ALL, "Where the circle lies: distance along the mid-surface from the pole (or the hole's edge), short of the rim.", "8 mm").of_kinds(&["ring"]),
    number("load", "radius", Length, Positive, SIZE, "Radius of the ball or the pusher.", "5 mm").of_kinds(&["ball", "pusher"]),
    text("load", "bonded", "Whether the wall inside the radius moves with the pusher as one body; otherwise it slides without friction and may lift off (default: false).", "false").with(Takes::Flag).of_kinds(&["pusher"]),
    number("load", "edge", Length, Positive, SIZE, "Rounding of the edge of a pusher that is not bonded (default: a tenth of its radius).", "0.5 mm").of_kinds(&["pusher"]),
    text("load", "follows", "Whether the pressure stays square to the deformed wall, as gas does; otherwise each force keeps the direction and size it has on the natural wall (default: true).", "true").with(Takes::Flag).of_kinds(&["pressure"]),
    number("load", "weight", Acceleration, Range::Any, WEIGHTS, "Acceleration that acts all the time (default: 0), from the pole of the natural bowl towards the plane of its rim: positive for a dome that lies on its rim.", "1 g0"),
    number("load", "stop", Length, Positive, SIZE, "Travel of the loaded place at which it meets a rigid stop.", "6 mm"),
    number("load", "reach", Length, Positive, SIZE, "Largest travel followed; for pressure and gravity, that of the pole (default: a little beyond the mirror image).", "12 mm"),
    number("memory", "shares", Number, Share, ALL, "Share of the instantaneous modulus that each term of the Prony series relaxes; together less than 1.", "[0.10, 0.05]").with(Takes::Numbers(Number)),
    number("memory", "times", Time, Positive, TIMES, "Relaxation time of each term, increasing.", "[\"1 s\", \"100 s\"]").with(Takes::Numbers(Time)),
    text("memory", "table", "CSV file of relaxation or creep with the columns `time` and one of `modulus`, `youngs`, `ratio` or `compliance`, unit in the header (`time_s,modulus_MPa`); a series is fitted to it.", "relax.csv"),
    number("memory", "terms", Number, Whole, ALL, "Number of terms fitted to the table (default: as few as its readings ask for).", "4"),
    text("memory", "shelf", "Whether to take the typical memory of the shelf's material (default: false).", "true").with(Takes::Flag),
    text("memory", "shift", "How temperature shifts the times: `none` (default), `wlf` (Williams, Landel & Ferry) or `arrhenius`.", "wlf").with(Takes::Choice(SHIFTS)),
    number("memory", "c1", Number, Positive, (0.1, 1e3), "Constant c1 of the WLF law, for the decadic logarithm.", "17.44").of_kinds(WLF),
    number("memory", "c2", TemperatureDifference, Positive, (1.0, 1e3), "Constant c2 of the WLF law.", "51.6 K").of_kinds(WLF),
    number("memory", "activation_energy", MolarEnergy, Positive, (1e3, 2e6), "Activation energy.", "80 kJ/mol").of_kinds(ARRHENIUS),
    number("memory", "reference", Temperature, Warm, WARMTH, "Temperature at which the times hold.", "23 degC").of_kinds(&["wlf", "arrhenius"]),
    text("hold", "shape", "Shape in which the part is held: its `mirror` image; `inverted`, its own inverted equilibrium (default); `poke`, its pole pushed by `travel` with the rim on a table; `flat` between two plates; `given`, on a former.", "mirror").with(Takes::Choice(HELD)),
    number("hold", "travel", Length, Positive, SIZE, "Travel of the pole from its natural place.", "12 mm").of_kinds(&["poke"]),
    text("hold", "file", "CSV file of the former with columns `r` and `z`, unit in the header (`r_mm,z_mm`): points from the pole (or the hole's edge) to the rim, z along the axis, positive from the natural pole towards the plane of the natural rim.", "former.csv").of_kinds(&["given"]),
    number("hold", "time", Time, NotNegative, (f64::NEG_INFINITY, 1e9), "How long it is held (default: 0).", "60 s"),
    text("hold", "let_go", "How the hold ends: `at once`, or as a `ramp` of the holding forces. Default: at once from the inverted shape, a ramp of 50 ms from any other.", "ramp").with(Takes::Choice(LET_GO)),
    number("hold", "ramp", Time, Positive, TIMES, "Time in which the holding forces fall to nothing.", "50 ms").of_kinds(&["ramp"]),
    number("hold", "sideways", Length, NotNegative, (f64::NEG_INFINITY, 0.1), "Sideways deflection in 1, 2 and 3 waves when the hand is gone: an imperfection (default: 0).", "0.01 mm"),
    number("surroundings", "temperature", Temperature, Warm, WARMTH, "Temperature of the part.", "23 ± 2 degC"),
    number("surroundings", "gravity", Acceleration, NotNegative, WEIGHTS, "Gravity, from the turned pole towards the plane of the rim (default: 0).", "1 g0"),
    text("surroundings", "rests", "What the part lies on when it is let go: `nowhere` (default; it floats) or a level `table`, its rim down.", "table").with(Takes::Choice(RESTS)),
    number("surroundings", "air_density", Density, Positive, (1e-3, 1e2), "Density of the air that drags; with `drag`.", "1.2 kg/m^3"),
    number("surroundings", "drag", Number, NotNegative, (f64::NEG_INFINITY, 1e2), "Drag coefficient of a flat ring; with `air_density`.", "1.2"),
    number("surroundings", "damping", Rate, NotNegative, (f64::NEG_INFINITY, 1e6), "Damping rate of a bath: a force against every motion, so many times the momentum per time (default: 0).", "0.5 1/s"),
    text("size", "vary", "Numbers of the case that may change, each with its limits: `KEY = FROM..TO`.", "[\"wall.thickness = 1 mm..4 mm\", \"shape.half_angle = 40 deg..70 deg\"]").with(Takes::Texts),
    text("size", "wishes", "What is wished of the part: a limit, a value with its tolerance, `smallest` or `largest`.", "[\"margin >= 10 %\", \"smallest mass\"]").with(Takes::Texts),
    number("size", "draws", Number, Range::Draws, ALL, "Parts drawn to check a wish about a share of a batch (default: 1000).", "2000"),
];

/// The key `name` of `table`.
pub(super) fn find_key(table: &str, name: &str) -> Option<&'static Key> {
    KEYS.iter().find(|k| k.table == table && k.name == name)
}

/// The key whose `table.name` is `path`, an index such as `[3]` left aside.
pub(super) fn key_at(path: &str) -> Option<&'static Key> {
    let path = path.split('[').next().unwrap_or(path);
    KEYS.iter().find(|k| k.path() == path)
}
