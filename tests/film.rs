//! The film solver as its nets grow finer, against closed forms and against itself.

use glam::DVec3;
use markloft::film::{Draped, Settings, drape};
use markloft::outline::{Outline, Region, point};
use markloft::surface::{Ellipsoid, Sphere, Start, Surface};
use markloft::units::Full;
use std::f64::consts::PI;

/// One net of about so many triangles.
fn on_one_net(surface: &dyn Surface, flat: &Region<Full>, start: Start, triangles: usize) -> Draped {
    let settings =
        Settings { poisson: 0.3, tolerance: f64::INFINITY, relative: 0.0, max_triangles: triangles };
    drape(surface, flat, start, &settings).unwrap()
}

fn on_top(surface: &dyn Surface, above: DVec3) -> Start {
    let foot = surface.project(above);
    Start { foot, heading: DVec3::X.reject_from(foot.normal).normalize() }
}

/// Observed order between three spacings, each half of the one before.
fn order([coarse, middle, fine]: [f64; 3]) -> f64 {
    libm::log2(((coarse - middle) / (middle - fine)).abs())
}

/// The spacing is halved three times; a disc of a/R = 0.2 on a ball.
#[test]
fn centre_edge_and_energy_converge() {
    let (a, ball) = (0.2, Sphere { radius: 1.0 });
    let disc: Region<Full> = Outline::circle(point(0.0, 0.0), a).flattened(1e-7 * a);
    let figures = [250, 1000, 4000, 16_000].map(|triangles| {
        let draped = on_one_net(&ball, &disc, on_top(&ball, DVec3::Z), triangles);
        let film = &draped.film;
        let at_edge = film.flat.iter().zip(&film.laid).filter(|(q, _)| q.to_vector().length() > 0.9999 * a);
        let hoop: Vec<f64> =
            at_edge.map(|(q, p)| libm::hypot(p.x, p.y) / q.to_vector().length() - 1.0).collect();
        let edge = hoop.iter().sum::<f64>() / hoop.len() as f64;
        // At this Poisson's ratio film is stretched most in the middle.
        [draped.strain.stretch_max, edge, draped.energy / (PI * libm::pow(a, 6.0) / 384.0)]
    });
    // The table of large-strain numbers that `fit.rs` names.
    let limits = [1.7481e-3, -5.0225e-3, 1.0068];
    for (k, name) in ["centre", "edge", "energy"].into_iter().enumerate() {
        let series = figures.map(|row| row[k]);
        let orders = [order([series[0], series[1], series[2]]), order([series[1], series[2], series[3]])];
        println!("{name}: {series:?}, orders {orders:.2?}");
        assert!(orders.iter().all(|&order| order > 1.5), "{name}: {series:?}, orders {orders:.2?}");
        assert!((series[3] / limits[k] - 1.0).abs() < 4e-3, "{name}: {series:?}, not {}", limits[k]);
    }
}

/// At a notch strain has no limit; what is reported is averaged, and settles.
#[test]
fn a_notch_settles() {
    let helmet = Ellipsoid { axes: DVec3::new(142.5, 120.0, 127.5) };
    let corner = |k: usize| {
        let (sin, cos) = libm::sincos(PI / 5.0 * k as f64);
        point(cos, sin) * 90.0 * if k.is_multiple_of(2) { 1.0 } else { 0.381_966 }
    };
    let star = Region::new(vec![(0..10).map(corner).collect()]);
    let series = [500, 2000, 8000, 32_000].map(|triangles| {
        let strain =
            on_one_net(&helmet, &star, on_top(&helmet, DVec3::new(60.0, -70.0, 90.0)), triangles).strain;
        [strain.stretch_max, strain.squeeze_max]
    });
    println!("{series:?}");
    for k in [0, 1] {
        let change = |n: usize| (series[n + 1][k] / series[n][k] - 1.0).abs();
        assert!(change(2) < change(0) && change(2) < 0.01, "{series:?}");
    }
}
