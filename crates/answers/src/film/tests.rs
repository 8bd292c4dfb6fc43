//! What films show is what reports say.

use calotte_shell::{Grading, Mesh, Model, mirror};
use calotte_specimen::{Case, TEMPLATES, new_template, read_case};

use super::{Camera, natural};
use crate::scene::length_unit;

/// A case that calotte offers to start from.
fn template(name: &str) -> Case {
    let text = new_template(name).unwrap();
    let none = |_: &str| Err(std::io::ErrorKind::NotFound.into());
    read_case(text.as_bytes(), &none).0.unwrap()
}

fn near(a: f64, b: f64, by: f64) -> bool {
    (a - b).abs() <= by
}

#[test]
fn the_natural_shape_is_free_of_strain_and_lies_on_the_meridian() {
    for name in TEMPLATES {
        let case = template(name);
        let part = case.part();
        let film = natural(part);
        let n = film.s_m.len();
        assert!((60..=160).contains(&n), "{name}: {n} places");
        assert_eq!((film.over.as_str(), film.frames.len()), ("shapes", 1));
        let f = &film.frames[0];
        assert!(f.strain.iter().chain(&f.energy_J_per_m2).all(|v| *v == 0.0));
        let length = part.meridian.length();
        for (i, s) in film.s_m.iter().enumerate() {
            let p = part.meridian.at(*s);
            assert!(
                near(f.r_m[i], p.r, 1e-5 * length) && near(f.z_m[i], p.z, 1e-5 * length),
                "{name} at {s}"
            );
            assert!(film.thickness_m[i] > 0.0);
        }
        assert!(f.z_m[n - 1] > f.z_m[0]);
        assert!(film.s_m.windows(2).all(|w| w[0] <= w[1]));
        for c in [&f.r_m, &f.z_m, &f.slope_rad, &f.strain, &f.energy_J_per_m2] {
            assert_eq!(c.len(), n);
        }
    }
}

/// At every corner, slope and, where it steps, thickness have a value on both sides.
#[test]
fn joints_are_kept() {
    let case = template("bowl");
    let part = case.part();
    let film = natural(part);
    let joints = part.meridian.joints();
    assert!(!joints.is_empty());
    for j in joints {
        let i = film.s_m.iter().position(|s| near(*s, j.s, 1e-5 * part.meridian.length())).unwrap();
        assert_eq!(film.s_m[i], film.s_m[i + 1]);
        let turned = film.frames[0].slope_rad[i + 1] - film.frames[0].slope_rad[i];
        assert!(near(turned, j.turn, 1e-5), "{turned} {}", j.turn);
    }
}

/// A state of the model that is the natural shape shows it, on every template: no strain beyond that of interpolation.
#[test]
fn a_model_at_rest_shows_the_natural_shape() {
    for name in TEMPLATES {
        let case = template(name);
        let part = case.part();
        let camera = Camera::new(part);
        let radius = length_unit(part);
        let model = Model::new(part, radius, &Mesh::graded(part, radius, &Grading::default()));
        let (f, want) = (camera.frame(&model, &calotte_shell::natural(&model), 1.0), camera.natural());
        let length = part.meridian.length();
        for i in 0..f.r_m.len() {
            assert!(
                near(f.r_m[i], want.r_m[i], 2e-5 * length),
                "{name} r at {i}: {} {}",
                f.r_m[i],
                want.r_m[i]
            );
            assert!(
                near(f.z_m[i], want.z_m[i], 2e-5 * length),
                "{name} z at {i}: {} {}",
                f.z_m[i],
                want.z_m[i]
            );
            assert!(near(f.slope_rad[i], want.slope_rad[i], 1e-4), "{name} slope at {i}");
            assert!(f.strain[i] < 1e-4, "{name} strain at {i}: {}", f.strain[i]);
        }
    }
}

/// Closed form: the mirror image of a cap has no stretching, its curvature changes by −2/R in both directions, so its faces strain
/// by h/R and it stores `D (1+ν) (2/R)²` per area.
#[test]
fn mirror_image() {
    let case = template("cap");
    let part = case.part();
    let camera = Camera::new(part);
    let radius = length_unit(part);
    let model = Model::new(part, radius, &Mesh::graded(part, radius, &Grading::default()));
    let image = camera.frame(&model, &mirror(&model), 1.0);
    let natural = camera.natural();
    let rim = natural.z_m[natural.z_m.len() - 1];
    let (h, nu, e) = (part.wall.thickness(0.0), part.material.poisson, part.material.youngs);
    let density = e * h.powi(3) / (12.0 * (1.0 - nu * nu)) * (1.0 + nu) * (2.0 / radius).powi(2);
    for i in 0..image.r_m.len() {
        assert!(near(image.r_m[i], natural.r_m[i], 1e-6 * radius));
        assert!(near(image.z_m[i], 2.0 * rim - natural.z_m[i], 1e-5 * radius));
        assert!(near(image.slope_rad[i], -natural.slope_rad[i], 1e-4));
        assert!(near(image.strain[i] / (h / radius), 1.0, 1e-3), "{} {}", image.strain[i], h / radius);
        let at = image.energy_J_per_m2[i];
        assert!(near(at / density, 1.0, 2e-3), "{at} {density}");
    }
}
