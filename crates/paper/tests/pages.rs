//! Pages read back: sizes, lengths and words are what the SVG says.

#![allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::fmt::Write as _;
use std::io::Read as _;

use calotte_paper::{Meta, Page, PaperFailure, pdf, size_mm};

const META: Meta<'_> = Meta { title: "A cap, drawn", subject: "Its section", language: "en" };

/// A page of 120 mm × 60 mm whose user unit is a quarter millimetre, as figures have it.
fn svg(body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"120mm\" height=\"60mm\" viewBox=\"0 0 480 240\" \
         font-family=\"'DejaVu Sans', sans-serif\">{body}</svg>"
    )
}

fn made(body: &str) -> Vec<u8> {
    pdf(&[Page { svg: &svg(body), alt: "What it shows" }], &META).unwrap()
}

/// Every stream of a file that can be inflated, as text.
fn streams(file: &[u8]) -> Vec<String> {
    let (start, end) = (b"stream\n".as_slice(), b"endstream".as_slice());
    let find =
        |from: usize, what: &[u8]| file[from..].windows(what.len()).position(|w| w == what).map(|p| p + from);
    let mut out = Vec::new();
    let mut at = 0;
    while let Some(open) = find(at, start) {
        let from = open + start.len();
        let Some(to) = find(from, end) else { break };
        let mut text = Vec::new();
        let mut inflate = flate2::read::ZlibDecoder::new(&file[from..to]);
        // What is no deflated stream, or only a part of one, gives what it gives.
        let _ = inflate.read_to_end(&mut text);
        out.push(String::from_utf8_lossy(&text).into_owned());
        at = to + end.len();
    }
    out
}

/// Numbers before the operator `name`, with all `cm` before it applied: only scales and shifts occur in these files.
fn places(content: &str, names: [&str; 2]) -> Vec<[f64; 2]> {
    let mut now = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0];
    let (mut kept, mut numbers, mut out) = (Vec::new(), Vec::<f64>::new(), Vec::new());
    for word in content.split_whitespace() {
        match word.parse::<f64>() {
            Ok(x) => numbers.push(x),
            Err(_) => {
                let n = numbers.len();
                match word {
                    "q" => kept.push(now),
                    "Q" => now = kept.pop().unwrap(),
                    "cm" => {
                        let [a, b, c, d, e, f]: [f64; 6] = numbers[n - 6..].try_into().unwrap();
                        let t = now;
                        now = [
                            a * t[0] + b * t[2],
                            a * t[1] + b * t[3],
                            c * t[0] + d * t[2],
                            c * t[1] + d * t[3],
                            e * t[0] + f * t[2] + t[4],
                            e * t[1] + f * t[3] + t[5],
                        ];
                    }
                    w if names.contains(&w) => {
                        let (x, y) = (numbers[n - 2], numbers[n - 1]);
                        out.push([x * now[0] + y * now[2] + now[4], x * now[1] + y * now[3] + now[5]]);
                    }
                    _ => {}
                }
                numbers.clear();
            }
        }
    }
    out
}

#[test]
fn a_line_of_100_mm_is_100_mm_on_a_page_of_its_own_size() {
    let file = made("<line x1=\"40\" y1=\"80\" x2=\"440\" y2=\"80\" stroke=\"#000\" stroke-width=\"1\"/>");
    let text = String::from_utf8_lossy(&file);
    let media = text.split("/MediaBox").nth(1);
    let all = streams(&file).join("\n");
    let media = media.map_or_else(|| all.split("/MediaBox").nth(1).unwrap().to_owned(), str::to_owned);
    let sides: Vec<f64> = media
        .split(['[', ']'])
        .nth(1)
        .unwrap()
        .split_whitespace()
        .map(|n| n.parse::<f64>().unwrap() * 25.4 / 72.0)
        .collect();
    assert!((sides[2] - 120.0).abs() < 0.01 && (sides[3] - 60.0).abs() < 0.01, "{sides:?}");
    let content = streams(&file).into_iter().find(|s| s.contains(" l\n")).unwrap();
    let ends = places(&content, ["m", "l"]);
    let [a, b] = ends[ends.len() - 2..] else { panic!("{ends:?}") };
    let mm = |x: f64| x * 25.4 / 72.0;
    assert!((mm(b[0] - a[0]) - 100.0).abs() < 0.01, "{a:?} {b:?}");
    assert!((mm(a[0]) - 10.0).abs() < 0.01 && (mm(a[1]) - 40.0).abs() < 0.01, "{a:?}");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let body =
        "<text x=\"10\" y=\"40\" font-size=\"11\">depth (mm)</text><circle cx=\"60\" cy=\"90\" r=\"9\"/>";
    assert_eq!(made(body), made(body));
}

#[test]
fn letters_carry_the_words_they_stand_for() {
    let words = "µ²√θ−";
    let file = made(&format!("<text x=\"10\" y=\"40\" font-size=\"11\">{words}</text>"));
    // The table from letters to words (ToUnicode) names each character by its code.
    let table = streams(&file).into_iter().find(|s| s.contains("beginbf")).unwrap().to_lowercase();
    for c in words.chars() {
        let mut code = String::new();
        write!(code, "<{:04x}>", c as u32).unwrap();
        assert!(table.contains(&code), "{c} ({code}) is not in\n{table}");
    }
}

#[test]
fn what_cannot_be_drawn_is_named() {
    let fails = |body: &str| pdf(&[Page { svg: &svg(body), alt: "" }], &META).unwrap_err().to_string();
    assert!(
        fails(
            "<defs><linearGradient id=\"g\"><stop offset=\"0\" stop-color=\"red\"/><stop offset=\"1\"/></linearGradient></defs>\
             <rect width=\"9\" height=\"9\" fill=\"url(#g)\"/>"
        )
        .contains("a gradient")
    );
    assert!(
        fails("<mask id=\"m\"><rect width=\"5\" height=\"5\" fill=\"#fff\"/></mask><rect width=\"9\" height=\"9\" mask=\"url(#m)\"/>")
            .contains("a mask")
    );
    assert!(matches!(size_mm("no svg"), Err(PaperFailure::NotSvg(_))));
    let wide = svg("").replace("120mm", "12000mm");
    assert!(matches!(pdf(&[Page { svg: &wide, alt: "" }], &META), Err(PaperFailure::Size { .. })));
}

#[test]
fn sizes_are_read_in_mm() {
    let [width, height] = size_mm(&svg("")).unwrap();
    assert!((width - 120.0).abs() < 1e-3 && (height - 60.0).abs() < 1e-3);
}
