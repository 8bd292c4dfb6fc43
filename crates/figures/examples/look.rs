#![allow(missing_docs, dead_code, clippy::unwrap_used)]
#[path = "../tests/common/mod.rs"]
mod common;
#[path = "../tests/invented_poke/mod.rs"]
mod invented_poke;
use invented_poke::*;
#[path = "../tests/invented_map/mod.rs"]
mod invented_map;
use invented_map::Map;
fn grey(svg: &str) -> String {
    let mut out = String::new();
    let mut rest = svg;
    while let Some(i) = rest.find('#') {
        out.push_str(&rest[..i]);
        rest = &rest[i..];
        if rest.len() >= 7 && rest[1..7].chars().all(|c| c.is_ascii_hexdigit()) {
            let v = |k: usize| f64::from(u8::from_str_radix(&rest[k..k + 2], 16).unwrap());
            let y = (0.2126 * v(1) + 0.7152 * v(3) + 0.0722 * v(5)).round() as u8;
            out.push_str(&format!("#{y:02x}{y:02x}{y:02x}"));
            rest = &rest[7..];
        } else {
            out.push('#');
            rest = &rest[1..];
        }
    }
    out.push_str(rest);
    out
}
fn main() {
    let d = Poke::default();
    let cases = vec![
        ("over", Poke { barriers: true, ..d.clone() }),
        ("overd", Poke { control: "displacement", sideways: Some((3, 0.15, 0.55)), ..d.clone() }),
        ("side", Poke { sideways: Some((3, 0.15, 0.55)), ..d.clone() }),
        ("loops", Poke { made: loops, sideways: Some((5, 0.03, 0.2)), ..d.clone() }),
        ("loopsd", Poke { made: loops, control: "displacement", ..d.clone() }),
        ("back", Poke { made: springs_back, ..d.clone() }),
        ("rises", Poke { made: rises, ..d.clone() }),
        ("pulled", Poke { made: pulled, ..d.clone() }),
        ("stop", Poke { stop_m: Some(6.5e-3), ..d.clone() }),
        ("tiny", Poke { load_factor: 1e-7, displacement_factor: 1e-3, ..d.clone() }),
        (
            "pressure",
            Poke {
                load_factor: 2e3,
                displacement_factor: 1e-3,
                load: ("pressure", "Pa"),
                displacement: ("volume swept", "m³"),
                ..d.clone()
            },
        ),
        ("stiffens", Poke { made: stiffens, ..d.clone() }),
    ];
    let only: Vec<String> = std::env::args().skip(1).collect();
    for (name, p) in cases {
        if !only.is_empty() && !only.iter().any(|o| o == name) {
            continue;
        }
        for f in calotte_figures::poke_figures(&p.report()) {
            std::fs::write(format!("/tmp/fig-b/{name}-{}.svg", f.name), &f.svg).unwrap();
            std::fs::write(
                format!("/tmp/fig-b/{name}-{}.png", f.name),
                calotte_figures::png(&f.svg, 2.0).unwrap(),
            )
            .unwrap();
            std::fs::write(
                format!("/tmp/fig-b/{name}-{}-grey.png", f.name),
                calotte_figures::png(&grey(&f.svg), 2.0).unwrap(),
            )
            .unwrap();
            println!("{name} {} {} bytes\n  {}\n  {}", f.name, f.svg.len(), f.caption, f.alt);
        }
    }

    let d = Map::default();
    let maps = vec![
        ("plain", d.clone()),
        ("full", Map { turning: true, grid: true, specimens: 60, ..d.clone() }),
        ("spec", Map { turning: true, specimens: 60, ..d.clone() }),
        ("log", Map { thickness_m: (0.05e-3, 4e-3), grid: true, ..d.clone() }),
        ("gridonly", Map { grid: true, curves: false, ..d.clone() }),
    ];
    for (name, m) in maps {
        for f in calotte_figures::map_figures(&m.report()) {
            std::fs::write(format!("/tmp/fig-b/{name}-{}.svg", f.name), &f.svg).unwrap();
            std::fs::write(
                format!("/tmp/fig-b/{name}-{}.png", f.name),
                calotte_figures::png(&f.svg, 2.0).unwrap(),
            )
            .unwrap();
            std::fs::write(
                format!("/tmp/fig-b/{name}-{}-grey.png", f.name),
                calotte_figures::png(&grey(&f.svg), 2.0).unwrap(),
            )
            .unwrap();
            println!("{name} {} {} bytes\n  {}\n  {}", f.name, f.svg.len(), f.caption, f.alt);
        }
    }
}
