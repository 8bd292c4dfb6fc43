//! The table of units.

use crate::Dimension;
use crate::decimal::Written;

/// How a number in a unit becomes SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Factor {
    /// 10^k: the conversion moves the decimal point and rounds once.
    Ten(i32),
    /// m · 10^k exactly: multiplied in integers, rounded once.
    Exact(u32, i32),
    /// A factor that no decimal gives, as the sum of two floats: right to about one unit in the last place.
    Pair(f64, f64),
}

/// A unit of measurement.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// Usual spelling, printed after a space (`°` and the empty unit of pure numbers excepted).
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    pub(crate) factor: Factor,
    /// Where its zero lies above absolute zero, in hundredths of the unit; 0 for all but temperatures.
    pub(crate) zero: i32,
    /// Other spellings, after [`plain`].
    also: &'static [&'static str],
}

impl Unit {
    /// SI value of `value` of this unit (one or two roundings).
    pub fn to_si(&self, value: f64) -> f64 {
        match self.factor {
            Factor::Pair(hi, lo) if self.zero == 0 => value.mul_add(hi, value * lo),
            _ => Written::read(&format!("{value:e}")).map_or(f64::NAN, |(w, _)| self.read(&w)),
        }
    }

    /// SI value of a number written in this unit.
    pub(crate) fn read(&self, number: &Written) -> f64 {
        if self.zero == 0 { number.times(self.factor) } else { number.plus(self.zero).times(self.factor) }
    }

    /// `si` expressed in this unit (two roundings at most).
    pub fn from_si(&self, si: f64) -> f64 {
        let scaled = self.width_from_si(si);
        if self.zero == 0 || !scaled.is_finite() {
            return scaled;
        }
        Written::read(&format!("{scaled:e}"))
            .map_or(f64::NAN, |(w, _)| w.plus(-self.zero).times(Factor::Ten(0)))
    }

    /// A difference of two SI values, such as the half-width of a tolerance, in this unit: the zero of a
    /// temperature scale does not matter.
    pub fn width_from_si(&self, si: f64) -> f64 {
        match self.factor {
            Factor::Ten(k) => {
                Written::read(&format!("{si:e}")).map_or(f64::NAN, |(w, _)| w.times(Factor::Ten(-k)))
            }
            Factor::Exact(m, k) if k < 0 => si * ten(-k) / f64::from(m),
            Factor::Exact(m, k) => si / (f64::from(m) * ten(k)),
            Factor::Pair(hi, _) => si / hi,
        }
    }
}

/// 10^k, exact for 0 ≤ k ≤ 22.
pub(crate) fn ten(k: i32) -> f64 {
    format!("1e{k}").parse().unwrap_or(f64::NAN)
}

const fn unit(
    symbol: &'static str,
    dimension: Dimension,
    factor: Factor,
    also: &'static [&'static str],
) -> Unit {
    Unit { symbol, dimension, factor, zero: 0, also }
}

impl Unit {
    const fn from(mut self, zero: i32) -> Self {
        self.zero = zero;
        self
    }
}

use Dimension::{
    Acceleration, Angle, Curvature, Density, Expansion, Force, Length, MolarEnergy, Number, Pressure, Rate,
    RimStiffness, Stiffness, Temperature, TemperatureDifference, Time, TurningStiffness,
};
use Factor::{Exact, Pair, Ten};

/// π/180 in two floats.
const DEGREE: Factor = Pair(0.017_453_292_519_943_295, 2.948_652_270_870_168_7e-19);
/// Pound-force per square inch, 0.453 592 37 · 9.806 65 / 0.0254² Pa, in two floats.
const PSI: Factor = Pair(6_894.757_293_168_362, -3.476_429_902_321_071e-13);
const KSI: Factor = Pair(6_894_757.293_168_361, 3.798_276_331_961_447e-11);

/// A millionth per 5/9 K.
const PPM_PER_FAHRENHEIT: Factor = Exact(18, -7);
/// Pound-force, 0.453 592 37 · 9.806 65 N, and the same per inch, 1/0.0254 m⁻¹, in two floats.
const POUND_FORCE: Factor = Pair(4.448_221_615_260_5, 3.604_674_457_164_947e-16);
const POUND_PER_INCH: Factor = Pair(175.126_835_246_476_4, -1.137_671_711_685_971_9e-14);

/// 1/60 and 5/9 in two floats.
const PER_MINUTE: Factor = Pair(0.016_666_666_666_666_666, 2.312_964_634_635_743e-19);
const FAHRENHEIT: Factor = Pair(0.555_555_555_555_555_6, -2.467_162_276_944_792_2e-17);

static UNITS: &[Unit] = &[
    unit("m", Length, Ten(0), &["metre", "meter", "metres", "meters"]),
    unit("mm", Length, Ten(-3), &["millimetre", "millimeter", "millimetres", "millimeters"]),
    unit("cm", Length, Ten(-2), &["centimetre", "centimeter", "centimetres", "centimeters"]),
    unit("um", Length, Ten(-6), &["micron", "microns", "micrometre", "micrometer"]),
    unit("nm", Length, Ten(-9), &[]),
    unit("in", Length, Exact(254, -4), &["inch", "inches", "\"", "″"]),
    unit("mil", Length, Exact(254, -7), &["thou", "mils"]),
    unit("ft", Length, Exact(3048, -4), &["foot", "feet"]),
    unit("rad", Angle, Ten(0), &["radian", "radians"]),
    unit("mrad", Angle, Ten(-3), &[]),
    unit("deg", Angle, DEGREE, &["degree", "degrees", "°", "º"]),
    unit("Pa", Pressure, Ten(0), &["N/m^2"]),
    unit("kPa", Pressure, Ten(3), &["kN/m^2"]),
    unit("MPa", Pressure, Ten(6), &["MN/m^2", "N/mm^2"]),
    unit("GPa", Pressure, Ten(9), &["kN/mm^2"]),
    unit("bar", Pressure, Ten(5), &[]),
    unit("mbar", Pressure, Ten(2), &["hPa"]),
    unit("psi", Pressure, PSI, &["lbf/in^2"]),
    unit("ksi", Pressure, KSI, &[]),
    unit("kg/m^3", Density, Ten(0), &["kg/m3", "kgm^-3"]),
    unit("g/cm^3", Density, Ten(3), &["g/cm3", "g/cc", "g/ml", "g/mL", "kg/l", "kg/L", "t/m^3"]),
    unit("", Number, Ten(0), &["1"]),
    unit("%", Number, Ten(-2), &["percent"]),
    unit("N", Force, Ten(0), &["newton", "newtons"]),
    unit("mN", Force, Ten(-3), &[]),
    unit("kN", Force, Ten(3), &[]),
    // Gram-force, kilogram-force: standard gravity.
    unit("gf", Force, Exact(980_665, -8), &["p"]),
    unit("kgf", Force, Exact(980_665, -5), &["kp"]),
    unit("lbf", Force, POUND_FORCE, &[]),
    unit("N/m", Stiffness, Ten(0), &["mN/mm"]),
    unit("N/mm", Stiffness, Ten(3), &["kN/m"]),
    unit("gf/mm", Stiffness, Exact(980_665, -5), &[]),
    unit("lbf/in", Stiffness, POUND_PER_INCH, &[]),
    unit("N/m/m", RimStiffness, Ten(0), &["N/m^2", "Pa"]),
    unit("kN/m/m", RimStiffness, Ten(3), &["kN/m^2", "kPa", "N/mm/m"]),
    unit("N/mm/mm", RimStiffness, Ten(6), &["N/mm^2", "MPa"]),
    unit("N/rad", TurningStiffness, Ten(0), &["N", "N*m/rad/m", "N*mm/rad/mm", "N*m/m/rad", "N*mm/mm/rad"]),
    unit("N*mm/rad/m", TurningStiffness, Ten(-3), &["mN/rad", "mN"]),
    unit("m/s^2", Acceleration, Ten(0), &["m/s2", "m/s/s", "m*s^-2"]),
    unit("mm/s^2", Acceleration, Ten(-3), &["mm/s2", "mm/s/s"]),
    // Standard gravity. Not `g`, which is a gram.
    unit("g0", Acceleration, Exact(980_665, -5), &["g_0"]),
    unit("s", Time, Ten(0), &["sec", "second", "seconds"]),
    unit("ms", Time, Ten(-3), &["millisecond", "milliseconds"]),
    unit("us", Time, Ten(-6), &["microsecond", "microseconds"]),
    unit("min", Time, Exact(60, 0), &["minute", "minutes"]),
    unit("h", Time, Exact(3_600, 0), &["hour", "hours"]),
    unit("1/s", Rate, Ten(0), &["s^-1", "/s", "s⁻¹"]),
    unit("1/ms", Rate, Ten(3), &["ms^-1", "/ms", "ms⁻¹"]),
    unit("1/min", Rate, PER_MINUTE, &["min^-1", "/min", "min⁻¹"]),
    unit("K", Temperature, Ten(0), &["kelvin"]),
    unit("degC", Temperature, Ten(0), &["°C", "ºC", "C", "deg*C", "celsius"]).from(27_315),
    unit("degF", Temperature, FAHRENHEIT, &["°F", "ºF", "F", "deg*F", "fahrenheit"]).from(45_967),
    unit("K", TemperatureDifference, Ten(0), &["kelvin", "degC", "°C", "ºC", "C", "deg*C", "celsius"]),
    unit("J/mol", MolarEnergy, Ten(0), &[]),
    unit("kJ/mol", MolarEnergy, Ten(3), &[]),
    // The thermochemical calorie, 4.184 J.
    unit("kcal/mol", MolarEnergy, Exact(4_184, 0), &[]),
    unit("1/K", Expansion, Ten(0), &["K^-1", "/K", "K⁻¹", "m/m/K", "1/degC", "1/°C"]),
    unit(
        "ppm/K",
        Expansion,
        Ten(-6),
        &["um/m/K", "1e-6/K", "10^-6/K", "1e-6*1/K", "ppm/degC", "um/m/degC", "ppm/°C", "um/m/°C", "mm/km/K"],
    ),
    unit("ppm/degF", Expansion, PPM_PER_FAHRENHEIT, &["um/m/degF", "1e-6/degF", "10^-6/degF"]),
    unit("1/m", Curvature, Ten(0), &["m^-1", "/m", "m⁻¹"]),
    unit("1/mm", Curvature, Ten(3), &["mm^-1", "/mm", "mm⁻¹"]),
];

/// Every unit known for a dimension.
pub fn units(dimension: Dimension) -> impl Iterator<Item = &'static Unit> {
    UNITS.iter().filter(move |u| u.dimension == dimension)
}

/// The unit of this dimension spelled `text`; `µ`, `²`, `³`, `·` and blanks are read as people mean them.
pub fn find_unit(text: &str, dimension: Dimension) -> Option<&'static Unit> {
    let wanted = plain(text);
    units(dimension).find(|u| u.symbol == wanted || u.also.contains(&wanted.as_str()))
}

/// Every spelling of every unit of a dimension.
pub(crate) fn spellings(dimension: Dimension) -> impl Iterator<Item = &'static str> {
    units(dimension).flat_map(|u| std::iter::once(u.symbol).chain(u.also.iter().copied()))
}

/// The spelling used in the table: ASCII where there is a choice, a blank between letters a product.
pub(crate) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut blank = false;
    for c in text.trim().chars() {
        if c.is_whitespace() {
            blank = true;
            continue;
        }
        // `N m` is a product, `m m` no millimetre.
        if std::mem::take(&mut blank) && c.is_alphanumeric() && out.ends_with(char::is_alphanumeric) {
            out.push('*');
        }
        match c {
            'µ' | 'μ' => out.push('u'),
            '²' => out.push_str("^2"),
            '³' => out.push_str("^3"),
            '·' | '⋅' | '×' => out.push('*'),
            '−' => out.push('-'),
            c => out.push(c),
        }
    }
    out
}
