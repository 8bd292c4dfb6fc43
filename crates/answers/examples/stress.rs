#![allow(missing_docs, clippy::all)]
use calotte_answers::*;
use calotte_answers::report::*;
use calotte_specimen::*;
use std::time::Instant;
fn main() {
    let n: u64 = std::env::args().nth(1).unwrap().parse().unwrap();
    let seed: u64 = std::env::args().nth(2).unwrap().parse().unwrap();
    let thin: f64 = std::env::args().nth(3).unwrap().parse().unwrap();
    let mut s = seed;
    let mut roll = || { s = s.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407); (s >> 11) as f64 / (1u64 << 53) as f64 };
    let mut tally = std::collections::BTreeMap::new();
    let mut worst: f64 = 0.0;
    for i in 0..n {
        let alpha = (2.0f64.ln() + roll() * (60.0f64).ln()).exp();
        let h = (thin.ln() + roll() * (0.3f64 / thin).ln()).exp();
        let nu = -0.5 + roll();
        let hole = if roll() < 0.4 { alpha * 0.7 * roll() } else { 0.0 };
        let rim = match (roll() * 8.0) as u32 { 0 => Rim::Ring, 1 => Rim::Hinged, 2 => Rim::Clamped, 3 => Rim::Elastic(RimSprings { radial: h * roll(), axial: h * roll(), circumferential: h * roll(), turning: h * h * h * roll() }), _ => Rim::Free };
        let p = Part { meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: alpha.to_radians(), hole_angle: hole.to_radians() }), wall: Wall::uniform(h), material: Material { youngs: 1.0, poisson: nu, density: None }, rim };
        let t0 = Instant::now();
        let r = verdict(&p, Detail { branch: true, depth: true });
        let dt = t0.elapsed().as_secs_f64() * 1e3;
        worst = worst.max(dt);
        let e = &r.evidence;
        let rn = format!("{rim:?}"); let rn = rn.split(|c: char| !c.is_alphabetic()).next().unwrap().to_string();
        *tally.entry((rn.clone(), format!("{:?}", r.verdict))).or_insert(0) += 1;
        let ratio = r.margin.as_ref().map(|m| m.thickness_ratio);
        let odd = match (r.verdict, ratio) { (Verdict::Stays, Some(q)) => q >= 1.0, (Verdict::Returns, Some(q)) => q <= 1.0 && r.margin.as_ref().unwrap().governing_n == 0, _ => false };
        let undecided = r.verdict == Verdict::Undecided && h < 0.25;
        let nomargin = r.margin.is_none() && r.eversion.is_none();
        let nodepth = r.margin.as_ref().map_or(false, |m| m.depth.is_none() && m.governing_n == 0);
        let nosaddle = r.inverted.as_ref().map_or(false, |i| i.saddle_energy_J.is_none()) && r.margin.is_some();
        let gov = r.margin.as_ref().map_or(0, |m| m.governing_n);
        if odd || undecided || nomargin || dt > 500.0 || nosaddle || gov > 0 || nodepth {
            println!("#{i} a {alpha:.3} h {h:.3e} nu {nu:.3} hole {hole:.2} {rn}: {:?} ratio {ratio:?} gov {gov} {dt:.0}ms dE {:?} dT {:?} res {:?} lost {:?} {}{}{}{} {:?} | {}", r.verdict, e.energy_difference, e.threshold_difference, e.residual, r.ripples.iter().filter(|q| q.negative > 0).map(|q| (q.n, q.negative)).collect::<Vec<_>>(), if odd { "ODD " } else { "" }, if nomargin { "NOMARGIN " } else { "" }, if nosaddle { "NOSADDLE " } else { "" }, if nodepth { "NODEPTH " } else { "" }, r.doubts, r.margin.as_ref().map_or("", |m| &m.depth_note));
        }
    }
    println!("{tally:?} worst {worst:.0} ms");
}
