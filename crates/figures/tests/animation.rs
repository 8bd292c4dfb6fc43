//! Animations of invented releases: what plays when, and files that decode to what was drawn.

#![allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

mod common;
mod invented_release;

use std::io::Cursor;

use calotte_answers::release::report::Outcome;
use calotte_figures::animation::{AnimationFailure, Picture, Setting, apng, frames, gif};
use common::Invented;
use invented_release::Release;

fn small() -> Setting {
    Setting { width: 240, height: 180, pictures: 40, delay_cs: 4, slowed: None }
}

fn jump() -> Release {
    Release { jumps: Some(1.5), lands: true, ramp_s: 0.0, ..Release::default() }
}

fn cases() -> Vec<Release> {
    let d = Release::default();
    vec![
        d.clone(),
        jump(),
        Release { outcome: Outcome::Returns, halfway_s: 7e-3, ramp_s: 0.0, table: false, ..d.clone() },
        Release { outcome: Outcome::Stays, halfway_s: 900.0, ..d.clone() },
        Release { halfway_s: 3e5, ramp_s: 1e4, ..d.clone() },
        Release { part: Invented { hole_radius_m: 4e-3, ..Invented::default() }, ..d },
    ]
}

/// How many times slower than it happens, from the words on a picture.
fn told(words: &str) -> f64 {
    let number = || words.split(' ').rev().nth(1).unwrap().parse::<f64>().unwrap();
    if words.contains("slowed") {
        number()
    } else if words.contains("sped up") {
        1.0 / number()
    } else {
        assert!(words.ends_with("real time"), "{words}");
        1.0
    }
}

#[test]
fn the_factor_on_a_picture_is_its_delay_over_the_time_to_the_next() {
    for case in cases() {
        let pictures = frames(&case.report(), &small());
        let mut kinds = Vec::new();
        for pair in pictures[1..].windows(2) {
            let true_factor = f64::from(pair[0].delay_cs) / 100.0 / (pair[1].time_s - pair[0].time_s);
            let (words, said) = (&pair[0].words, told(&pair[0].words));
            assert!((said / true_factor - 1.0).abs() < 5.1e-3, "{words} {true_factor} {case:?}");
            assert!((pair[0].slowed.unwrap() / true_factor - 1.0).abs() < 1e-4, "{words} {true_factor}");
            assert!(words.starts_with(pair[0].phase));
            kinds.push(words.clone());
        }
        kinds.dedup();
        assert!(kinds.len() <= 9, "{kinds:?}");
    }
}

#[test]
fn a_wait_is_sped_up_and_a_snap_slowed() {
    let pictures = frames(&jump().report(), &small());
    let of =
        |phase: &str| pictures.iter().filter(|p| p.phase == phase && p.slowed.is_some()).collect::<Vec<_>>();
    assert!(of("waiting")[0].slowed.unwrap() < 1.0);
    assert!(of("snap").len() >= 5 && of("snap").iter().all(|p| p.slowed.unwrap() > 50.0));
    assert!(of("flight").last().unwrap().slowed.unwrap() < of("snap")[0].slowed.unwrap() / 10.0);
    assert_eq!((pictures[0].words.as_str(), pictures[0].slowed), ("held (still)", None));
}

#[test]
fn times_rise_and_stay_within_the_frames_of_the_report() {
    for case in cases() {
        let report = case.report();
        let pictures = frames(&report, &small());
        let (first, last) = (report.frames[0].time_s, report.frames[report.frames.len() - 1].time_s);
        assert!((20..=80).contains(&pictures.len()), "{} {case:?}", pictures.len());
        assert!(pictures.windows(2).all(|w| w[0].time_s <= w[1].time_s));
        assert!(pictures.iter().all(|p| p.time_s >= first && p.time_s <= last));
        assert!(pictures.iter().all(|p| p.rgb().len() == 240 * 180 * 3));
        let stays = case.outcome == Outcome::Stays;
        assert_eq!(pictures.iter().any(|p| p.phase == "snap"), !stays);
    }
}

/// Pictures of a GIF put together: colours and delays.
fn read_gif(bytes: &[u8]) -> (u16, u16, Vec<(Vec<u8>, u16)>) {
    let mut options = gif::DecodeOptions::new();
    options.set_color_output(gif::ColorOutput::RGBA);
    let mut decoder = options.read_info(Cursor::new(bytes)).unwrap();
    let (w, h) = (decoder.width(), decoder.height());
    let mut canvas = vec![0; usize::from(w) * usize::from(h) * 3];
    let mut out = Vec::new();
    while let Some(f) = decoder.read_next_frame().unwrap() {
        let part = (f.left.into(), f.top.into(), f.width.into());
        lay_over(&mut canvas, w.into(), part, &f.buffer);
        out.push((canvas.clone(), f.delay));
    }
    (w, h, out)
}

/// Lays a part with see-through pixels over a canvas.
fn lay_over(canvas: &mut [u8], across: usize, (left, top, width): (usize, usize, usize), rgba: &[u8]) {
    for (i, p) in rgba.chunks_exact(4).enumerate() {
        let at = ((top + i / width) * across + left + i % width) * 3;
        if p[3] > 0 {
            canvas[at..at + 3].copy_from_slice(&p[..3]);
        }
    }
}

fn pictures() -> Vec<Picture> {
    frames(&jump().report(), &small())
}

#[test]
fn a_gif_decodes_to_the_pictures_drawn() {
    let pictures = pictures();
    let bytes = gif(&pictures).unwrap();
    let (w, h, read) = read_gif(&bytes);
    assert_eq!((w, h, read.len()), (240, 180, pictures.len()));
    for (p, (canvas, delay)) in pictures.iter().zip(&read) {
        assert!(p.rgb() == *canvas && p.delay_cs == *delay, "at {} s", p.time_s);
    }
}

#[test]
fn an_animated_png_decodes_to_the_pictures_drawn() {
    let pictures = pictures();
    let bytes = apng(&pictures).unwrap();
    let mut decoder = png::Decoder::new(Cursor::new(bytes));
    decoder.set_transformations(png::Transformations::EXPAND | png::Transformations::ALPHA);
    let mut reader = decoder.read_info().unwrap();
    let control = *reader.info().animation_control().unwrap();
    assert_eq!((control.num_frames as usize, control.num_plays), (pictures.len(), 0));
    assert_eq!((reader.info().width, reader.info().height), (240, 180));
    let mut canvas = vec![0; 240 * 180 * 3];
    for p in &pictures {
        let mut part = vec![0; 240 * 180 * 4];
        let info = reader.next_frame(&mut part).unwrap();
        let frame = *reader.info().frame_control().unwrap();
        part.truncate(info.buffer_size());
        let place = (frame.x_offset as usize, frame.y_offset as usize, frame.width as usize);
        lay_over(&mut canvas, 240, place, &part);
        assert!(p.rgb() == canvas, "at {} s", p.time_s);
        assert_eq!((frame.delay_num, frame.delay_den), (p.delay_cs, 100));
    }
}

#[test]
fn the_same_report_gives_the_same_bytes_and_a_small_file() {
    let report = jump().report();
    let setting = Setting { pictures: 60, ..Setting::default() };
    let [a, b] = [0, 1].map(|_| gif(&frames(&report, &setting)).unwrap());
    assert!(a == b && a.len() < 400_000, "{} bytes", a.len());
}

#[test]
fn the_wall_moves_the_table_does_not_and_the_wall_has_its_thickness() {
    let pictures = frames(&Release::default().report(), &Setting::default());
    let column = |p: &Picture, colour: [u8; 3]| -> Vec<usize> {
        let rgb = p.rgb();
        (0..360).filter(|y| rgb[(y * 480 + 270) * 3..][..3] == colour).collect()
    };
    let both = |colour| (column(&pictures[0], colour), column(pictures.last().unwrap(), colour));
    let (ground, later) = both([0xec, 0xe8, 0xde]);
    assert!(ground.len() > 4 && ground == later, "{ground:?} {later:?}");
    // Pixels of the wall just beside the axis: their middle falls, their number is the thickness.
    let (first, last) = both([0xf1, 0xcf, 0x9f]);
    let middle = |c: &[usize]| c.iter().sum::<usize>() / c.len();
    assert!(middle(&first) + 40 < middle(&last), "{first:?} {last:?}");
    assert!(first.len().abs_diff(last.len()) <= 2, "{first:?} {last:?}");
    // 20 mm of wall radius 19.15 mm fill the width: about 9.9 pixels a millimetre, 2 mm less its outline.
    assert!((15..=20).contains(&first.len()), "{}", first.len());
}

#[test]
fn what_cannot_be_drawn_gives_no_picture() {
    let mut report = jump().report();
    report.frames[4].z_m[3] = f64::NAN;
    report.frames[6].r_m.clear();
    report.history.pole_over_rim_m.clear();
    assert!(frames(&report, &small()).len() > 20);
    report.frames.truncate(1);
    assert!(frames(&report, &small()).is_empty());
    assert_eq!(gif(&[]), Err(AnimationFailure::Empty));
    let full = jump().report();
    for setting in [
        Setting { width: 0, ..small() },
        Setting { height: 100_000, ..small() },
        Setting { delay_cs: 0, ..small() },
        Setting { height: 125, width: 480, ..small() },
    ] {
        assert!(frames(&full, &setting).is_empty(), "{setting:?}");
    }
    let one = frames(&full, &Setting { pictures: 0, ..small() });
    assert!(!one.is_empty() && one.len() < 30, "{}", one.len());
    let [mut a, b] = [&small(), &Setting { width: 242, ..small() }].map(|s| frames(&full, s));
    a.truncate(3);
    a.push(b[0].clone());
    assert_eq!(apng(&a), Err(AnimationFailure::Size { picture: 3 }));
}
