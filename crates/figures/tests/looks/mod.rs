//! How colours are seen, and what a legend tells apart by colour alone.
//!
//! Sources: matrices of severity 1 after Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of
//! color vision deficiency", IEEE TVCG 15 (2009), in linear RGB, from memory (each row keeps white: its sum is 1, checked
//! below); sRGB after IEC 61966-2-1; CIE 1976 L*a*b* with D65, closed form; contrast after WCAG 2.1, 1.4.3.

#![allow(dead_code, reason = "each test file uses a part of it")]
#![allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

pub(crate) type Rgb = [f64; 3];

const PROTANOPIA: [Rgb; 3] =
    [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]];
const DEUTERANOPIA: [Rgb; 3] =
    [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]];
const TRITANOPIA: [Rgb; 3] =
    [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]];
/// Luminance alone (IEC 61966-2-1).
const GREY: [Rgb; 3] = [[0.2126, 0.7152, 0.0722]; 3];
pub(crate) const SEEN: [(&str, [Rgb; 3]); 4] =
    [("protanopia", PROTANOPIA), ("deuteranopia", DEUTERANOPIA), ("tritanopia", TRITANOPIA), ("grey", GREY)];

/// Smallest difference ΔE*ab of two colours that differ in nothing else; about 2.3 can just be seen side by side, and four
/// times that is seen apart on a page (common practice, no source).
const APART: f64 = 9.0;

fn linear(hex: &str) -> Rgb {
    let value = |i: usize| f64::from(u8::from_str_radix(&hex[i..i + 2], 16).unwrap()) / 255.0;
    [1, 3, 5].map(|i| {
        let c = value(i);
        if c <= 0.04045 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
    })
}

fn seen(c: Rgb, m: &[Rgb; 3]) -> Rgb {
    m.map(|row| row.iter().zip(c).map(|(a, b)| a * b).sum::<f64>().clamp(0.0, 1.0))
}

pub(crate) fn lab(c: Rgb) -> Rgb {
    let xyz = [
        (0.4124 * c[0] + 0.3576 * c[1] + 0.1805 * c[2]) / 0.9505,
        0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2],
        (0.0193 * c[0] + 0.1192 * c[1] + 0.9505 * c[2]) / 1.089,
    ];
    let [x, y, z] = xyz.map(|t| {
        let edge = 6.0_f64 / 29.0;
        if t > edge * edge * edge { libm::cbrt(t) } else { t / (3.0 * edge * edge) + 4.0 / 29.0 }
    });
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn difference(a: &str, b: &str, m: &[Rgb; 3]) -> f64 {
    let (p, q) = (lab(seen(linear(a), m)), lab(seen(linear(b), m)));
    p.iter().zip(q).map(|(x, y)| (x - y) * (x - y)).sum::<f64>().sqrt()
}

pub(crate) fn contrast(a: &str, b: &str) -> f64 {
    let light = |c: &str| {
        let [r, g, b] = linear(c);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (x, y) = (light(a), light(b));
    (x.max(y) + 0.05) / (x.min(y) + 0.05)
}

/// The entries of a legend: kind (with shape or dash) and colours.
fn keys(csv: &str) -> Vec<(String, Vec<String>, String)> {
    csv.lines()
        .filter_map(|l| l.strip_prefix("# key: ")?.split_once(" = "))
        .map(|(look, words)| {
            let (colours, kind): (Vec<String>, Vec<String>) =
                look.split(' ').map(str::to_owned).partition(|w| w.starts_with('#'));
            (kind.join(" "), colours, words.to_owned())
        })
        .collect()
}

/// Pairs of entries of one legend that only colour tells apart, from the head of the numbers behind a figure: how many there are, and which of
/// them cannot be told apart in grey or by eyes that lack a kind of cone.
pub(crate) fn alike(csv: &str, figure: &str) -> (usize, Vec<String>) {
    let keys = keys(csv);
    let (mut compared, mut bad) = (0, Vec::new());
    for (i, a) in keys.iter().enumerate() {
        for b in &keys[..i] {
            // Another kind of thing, another shape of mark, another dash or another pattern.
            if a.0 != b.0 || a.2 == b.2 || a.1.iter().chain(&b.1).any(|c| c.starts_with("url")) {
                continue;
            }
            compared += 1;
            for (name, m) in SEEN {
                let most = a.1.iter().zip(&b.1).map(|(p, q)| difference(p, q, &m)).fold(0.0, f64::max);
                if most < APART {
                    bad.push(format!("{figure}, {name}: “{}” and “{}” differ by {most:.1}", a.2, b.2));
                }
            }
        }
    }
    (compared, bad)
}
