//! Films of invented answers: loops that close, shading that is drawn, a page that holds the pictures.

#![allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

mod common;
mod invented_release;

use std::io::Read as _;

use base64::Engine as _;
use calotte_figures::animation::{Picture, Play, Setting, Style, View, page, paint, release};
use invented_release::Release;

const SETTING: Setting = Setting { width: 320, height: 240, pictures: 30, delay_cs: 8, slowed: None };

fn play() -> Play {
    release(&Release::default().report(), None, &SETTING).unwrap()
}

fn painted(view: View) -> Vec<Picture> {
    let style = Style { view, energy: true, colours: 255 };
    paint(&play(), (320, 240), &style, &mut |_| true).unwrap()
}

/// Mean difference of two pictures, levels.
fn step(a: &Picture, b: &Picture) -> f64 {
    let (a, b) = (a.rgb(), b.rgb());
    a.iter().zip(&b).map(|(x, y)| f64::from(x.abs_diff(*y))).sum::<f64>() / a.len() as f64
}

/// The step from the last picture to the first is no larger than the largest inside, in every view; painted again the pictures are the same.
#[test]
fn films_lead_from_their_end_into_their_beginning() {
    for view in [View::Section, View::Solid, View::Both] {
        let pictures = painted(view);
        let inside = pictures.windows(2).map(|w| step(&w[0], &w[1])).fold(0.0, f64::max);
        let closing = step(pictures.last().unwrap(), &pictures[0]);
        assert!(closing <= inside, "{view:?}: {closing} {inside}");
        if view == View::Both {
            assert!(pictures == painted(view));
        }
    }
}

/// In the round the part is smooth: many shades, and a stopped watch gives nothing.
#[test]
fn the_round_part_is_shaded_and_stops_when_told() {
    let pictures = painted(View::Solid);
    let rgb = pictures[0].rgb();
    let mut shades: Vec<&[u8]> = rgb.chunks_exact(3).filter(|p| p[0] > p[2].saturating_add(15)).collect();
    assert!(shades.len() > 1000, "{} pixels of the outer face", shades.len());
    shades.sort_unstable();
    shades.dedup();
    assert!(shades.len() > 40, "{} shades", shades.len());
    let style = Style { view: View::Solid, energy: false, colours: 64 };
    let mut calls = 0;
    let stopped = paint(&play(), (320, 240), &style, &mut |_| {
        calls += 1;
        calls < 5
    });
    assert!(stopped.is_none() && calls == 5);
}

/// Factors by hand hold on every moving picture.
#[test]
fn slow_motion_by_hand_is_kept() {
    let setting = Setting { slowed: Some(150.0), ..SETTING };
    let play = release(&Release::default().report(), None, &setting).unwrap();
    let style = Style { view: View::Section, energy: false, colours: 255 };
    let pictures = paint(&play, (320, 240), &style, &mut |_| true).unwrap();
    let factors: Vec<f64> = pictures.iter().filter_map(|p| p.slowed).collect();
    assert!(factors.len() > 5 && factors.iter().all(|f| (f / 150.0 - 1.0).abs() < 0.02), "{factors:?}");
    let too_slow = Setting { slowed: Some(1e9), ..SETTING };
    assert!(release(&Release::default().report(), None, &too_slow).is_none());
}

/// The page holds every picture: unpacked and put together as its player does, the last one is the last picture.
#[test]
fn the_page_holds_the_pictures() {
    let pictures = painted(View::Section);
    let html = page(&pictures, &calotte_figures::animation::PageWords::default()).unwrap();
    let text =
        |name: &str| html.split(&format!("const {name}=\"")).nth(1).unwrap().split('"').next().unwrap();
    let bytes = |name: &str| base64::engine::general_purpose::STANDARD.decode(text(name)).unwrap();
    let (colours, packed) = (bytes("COLOURS"), bytes("PIXELS"));
    let mut pixels = Vec::new();
    flate2::read::ZlibDecoder::new(&packed[..]).read_to_end(&mut pixels).unwrap();
    let frames = html.split("const FRAMES=[").nth(1).unwrap().split("];\n").next().unwrap();
    let through = colours.len() / 3 - 1;
    let (mut now, mut read, mut count) = (vec![0_u8; 320 * 240], 0, 0);
    for line in frames.lines() {
        let place: Vec<usize> = line[1..].split(',').take(4).map(|n| n.parse().unwrap()).collect();
        for y in 0..place[3] {
            for x in 0..place[2] {
                if usize::from(pixels[read]) != through {
                    now[(place[1] + y) * 320 + place[0] + x] = pixels[read];
                }
                read += 1;
            }
        }
        let rgb: Vec<u8> = now.iter().flat_map(|i| colours[3 * usize::from(*i)..][..3].to_vec()).collect();
        assert!(rgb == pictures[count].rgb(), "picture {count}");
        count += 1;
    }
    assert_eq!((count, read), (pictures.len(), pixels.len()));
}
