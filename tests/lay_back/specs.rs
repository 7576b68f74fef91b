//! Where the three specs have their parts and want their markings: their numbers, read by a person.

use crate::parts::{self, Rounded, Section, Solid};
use glam::{DVec2, DVec3};
use std::f64::consts::TAU;

static FUSELAGE: [(f64, Section, f64); 5] = [
    (0.0, Section::Oval(500.0, 500.0, 2.0), -100.0),
    (800.0, Section::Oval(1500.0, 1500.0, 2.4), 0.0),
    (2200.0, Section::Oval(1800.0, 1900.0, 2.8), 0.0),
    (4400.0, Section::Oval(1800.0, 1900.0, 2.8), 0.0),
    (6000.0, Section::Oval(1100.0, 1200.0, 2.0), 200.0),
];
static BODY: [(f64, Section, f64); 2] =
    [(0.0, Section::Box(2500.0, 1900.0, 150.0), 0.0), (8200.0, Section::Box(2500.0, 1900.0, 150.0), 0.0)];
static CHEST: [(f64, Section, f64); 3] = [
    (0.0, Section::Box(320.0, 210.0, 60.0), 0.0),
    (250.0, Section::Box(400.0, 260.0, 90.0), 0.0),
    (500.0, Section::Oval(360.0, 230.0, 2.0), 0.0),
];
/// At 1/16 the calipers found 17.2, 14.4 and 15.5 mm where the drawing has 285, 240 and 255.
pub const HELMET: [f64; 3] = [17.2 * 16.0, 14.4 * 16.0, 15.5 * 16.0];
const GUARD: [[f64; 2]; 3] = [[0.0, 0.0], [700.0, -250.0], [1300.0, 0.0]];
const SKID: [[f64; 2]; 3] = [[0.0, 500.0], [450.0, 0.0], [3400.0, 0.0]];
const ARCH: [[f64; 2]; 4] = [[0.0, 0.0], [150.0, 550.0], [1250.0, 550.0], [1400.0, 0.0]];
const HANDLE: [[f64; 2]; 4] = [[0.0, 0.0], [0.0, 60.0], [90.0, 60.0], [90.0, 0.0]];

fn on_plane(p: DVec2) -> DVec3 {
    DVec3::new(p.x, 0.0, p.y)
}

/// The part under a marking.
pub fn part(name: &str, marking: &str) -> Solid {
    let (x, y, z) = (DVec3::X, DVec3::Y, DVec3::Z);
    // A bent tube unrolls along its straights; the one that the marking lies on.
    let pipe = |path: &[[f64; 2]], bend: f64, diameter: f64, stretch: [f64; 2]| {
        let line = Rounded::new(path, bend);
        let [from, to] = stretch.map(|along| on_plane(line.at(along).0));
        parts::tube(line, diameter).unrolled_as_pipe(from, to, z, diameter / 2.0)
    };
    match name {
        "fuselage" => parts::loft(&FUSELAGE),
        "canopy" => parts::elliptic_cylinder(1600.0, 1500.0),
        "tail-boom" => parts::cone(550.0, 260.0, 3400.0),
        "fin" => parts::wing(0.15, 1100.0),
        "rotor-guard" => pipe(&GUARD, 300.0, 60.0, [0.0, 600.0]),
        "skid" => pipe(&SKID, 400.0, 90.0, [900.0, 3300.0]),
        "body" if marking.ends_with("-left") => parts::loft(&BODY).unrolled_side(x, z, 1250.0),
        "body" => parts::loft(&BODY).unrolled_side(-x, z, 1250.0),
        "roof" => parts::plate(x, y),
        "bumper" => parts::plate(-y, z),
        "wheel-arch" => parts::tube(Rounded::new(&ARCH, 400.0), 120.0),
        "helmet" => parts::ellipsoid(HELMET[0], HELMET[1], HELMET[2]),
        // Straight up from -80; "top" of what stands is what looks ahead.
        "visor" => parts::tube(Rounded::new(&[[0.0, -80.0], [0.0, 80.0]], 0.0), 230.0).unrolled_as_pipe(
            -z * 80.0,
            z * 80.0,
            -x,
            115.0,
        ),
        "handle" => pipe(&HANDLE, 25.0, 14.0, [74.3, 114.2]),
        chest if chest.ends_with("-chest") => parts::loft(&CHEST),
        other => panic!("no formula for {other}"),
    }
}

/// Where a marking is held, in full-size millimetres of its part, and the way it heads there, to be laid down
/// on the part. How long and how wide it is drawn; 0 where letters make their own length.
pub struct Wanted {
    pub name: &'static str,
    pub at: DVec3,
    pub way: DVec3,
    pub long: f64,
    pub wide: f64,
}

const fn wanted(name: &'static str, at: DVec3, way: DVec3, long: f64, wide: f64) -> Wanted {
    Wanted { name, at, way, long, wide }
}

pub const INCH: f64 = 25.4;
/// From the top over the left.
fn round(degrees: f64) -> DVec3 {
    let (sin, cos) = libm::sincos(degrees.to_radians());
    DVec3::new(0.0, -sin, cos)
}

/// What is seen from the left, on the fuselage, at so far aft and up.
pub fn on_fuselage(solid: &Solid, aft: f64, up: f64) -> DVec3 {
    solid.met(DVec3::new(aft, -2000.0, up), DVec3::new(aft, 0.0, up))
}

/// On the right what is on the left, y turned over; the drawing heads the other way.
pub fn mirrored(p: DVec3) -> DVec3 {
    DVec3::new(p.x, -p.y, p.z)
}

/// The line of the cheat line on the paper of the left view.
pub fn cheat_line() -> Rounded {
    Rounded::new(&[[1800.0, -840.0], [4000.0, -840.0], [5600.0, -50.0]], 1000.0)
}

/// Its middle as it lies on the fuselage, and the way there.
fn middle_of_cheat_line() -> (DVec3, DVec3) {
    const STEPS: usize = 8000;
    let (paper, solid) = (cheat_line(), part("fuselage", ""));
    let on = |k: usize| {
        let p = paper.at(paper.length() * k as f64 / STEPS as f64).0;
        on_fuselage(&solid, p.x, p.y)
    };
    let points: Vec<DVec3> = (0..=STEPS).map(on).collect();
    let mut sums = vec![0.0];
    for pair in points.windows(2) {
        sums.push(sums[sums.len() - 1] + (pair[1] - pair[0]).length());
    }
    let half = sums[STEPS] / 2.0;
    let k = sums.partition_point(|sum| *sum < half) - 1;
    let (a, b) = (points[k], points[k + 1]);
    (a.lerp(b, (half - sums[k]) / (sums[k + 1] - sums[k])), b - a)
}

pub fn wanted_on_helicopter() -> Vec<Wanted> {
    let aft = DVec3::X;
    // The boom's radius goes from 550 to 260 over 3400.
    let boom =
        |station: f64, degrees: f64| aft * station + round(degrees) * (550.0 - 290.0 * station / 3400.0);
    let (on_line, along_line) = middle_of_cheat_line();
    let roundel = on_fuselage(&part("fuselage", ""), 4600.0, 100.0);
    // NACA 0015 at 450 of 1100.
    let x = 450.0 / 1100.0f64;
    let flash = 5.0
        * 0.15
        * 1100.0
        * (0.2969 * x.sqrt() - 0.1260 * x - 0.3516 * x * x + 0.2843 * libm::pow(x, 3.0)
            - 0.1015 * libm::pow(x, 4.0));
    // The guard's first straight. Its seam is on top, so it is held below; aft is to the left of the heading.
    let guard = DVec3::new(700.0, 0.0, -250.0).normalize();
    let under_guard = DVec3::NEG_Z.reject_from_normalized(guard).normalize();
    // The skid's straight begins a bend's tangent past its corner: stations count the bend's arc.
    let turn = libm::atan2(500.0, 450.0);
    let tangent = 400.0 * libm::tan(turn / 2.0);
    let skid =
        |station: f64| 450.0 + tangent + station - (libm::hypot(450.0, 500.0) - tangent) - 400.0 * turn;
    // Round and along at once: 110 along in a turn.
    let helix = DVec3::new(110.0, -TAU * 45.0, 0.0);
    let on_skid = |station: f64| DVec3::new(skid(station), 0.0, 45.0);
    let stencil = |name, station, degrees| wanted(name, boom(station, degrees), aft, 0.0, 30.0);
    vec![
        wanted("cheat-line-left", on_line, along_line, 2200.0, 220.0),
        wanted("cheat-line-right", mirrored(on_line), -mirrored(along_line), 2200.0, 220.0),
        wanted("boom-letters-left", boom(1200.0, 90.0), aft, 0.0, 8.0 * INCH),
        wanted("boom-letters-right", boom(1200.0, -90.0), -aft, 0.0, 8.0 * INCH),
        wanted("registration-left", boom(2550.0, 90.0), aft, 0.0, 6.0 * INCH),
        wanted("registration-right", boom(2550.0, -90.0), -aft, 0.0, 6.0 * INCH),
        wanted("roundel-left", roundel, aft, 600.0, 600.0),
        wanted("roundel-right", mirrored(roundel), -aft, 600.0, 600.0),
        wanted("fin-flash", DVec3::new(450.0, 100.0, flash), aft, 24.0 * INCH, 18.0 * INCH),
        // Held opposite the seam at the bottom, heading round over the left.
        wanted("boom-band", boom(3200.0, 0.0), -DVec3::Y, TAU * (550.0 - 290.0 * 3200.0 / 3400.0), 300.0),
        wanted(
            "guard-hazard",
            guard * 250.0 + under_guard * 30.0,
            guard.cross(under_guard),
            TAU * 30.0,
            400.0,
        ),
        wanted("skid-hazard", on_skid(1400.0), -DVec3::Y, TAU * 45.0, 300.0),
        wanted("skid-wrap", on_skid(2400.0), helix, 1000.0, 50.0),
        stencil("no-step-left", 400.0, 60.0),
        stencil("no-step-right", 400.0, 300.0),
        stencil("lift-here-left", 1200.0, 140.0),
        stencil("lift-here-right", 1200.0, 220.0),
        stencil("drain", 900.0, 180.0),
        stencil("earth-here", 2200.0, 150.0),
        stencil("danger", 2600.0, 40.0),
    ]
}

pub fn wanted_on_tender() -> Vec<Wanted> {
    let (aft, right) = (DVec3::X, DVec3::Y);
    let on_body = |up: f64| DVec3::new(4100.0, -1250.0, up);
    // The arch's top begins a bend's tangent past its corner.
    let (leg, turn) = (libm::hypot(150.0, 550.0), libm::atan2(550.0, 150.0));
    let tangent = 400.0 * libm::tan(turn / 2.0);
    let arch = 150.0 + tangent + 900.0 - (leg - tangent) - 400.0 * turn;
    vec![
        wanted("side-checks-left", on_body(0.0), aft, 14.0 * 200.0, 400.0),
        wanted("side-checks-right", mirrored(on_body(0.0)), -aft, 14.0 * 200.0, 400.0),
        wanted("conspicuity-left", on_body(-250.0), aft, 6000.0, 50.0),
        wanted("conspicuity-right", mirrored(on_body(-250.0)), -aft, 6000.0, 50.0),
        wanted("roof-number", DVec3::ZERO, aft, 0.0, 1200.0),
        wanted("name-left", on_body(500.0), aft, 0.0, 220.0),
        wanted("name-right", mirrored(on_body(500.0)), -aft, 0.0, 220.0),
        wanted("arch-stripe", DVec3::new(arch, -60.0, 550.0), aft, 1600.0, 30.0),
        // From the front the paper's right is the vehicle's left.
        wanted("bumper-hazard", DVec3::ZERO, -right, 2200.0, 300.0),
    ]
}

/// Places on the helmet move with its calipers; the drawings do not.
pub fn wanted_on_crew() -> Vec<Wanted> {
    let aft = DVec3::X;
    let [a, b, c] = HELMET.map(|size| size / 2.0);
    let on_helmet = |x: f64, z: f64| {
        let (x, z) = (x * HELMET[0] / 285.0, z * HELMET[2] / 255.0);
        DVec3::new(x, -b * (1.0 - libm::pow(x / a, 2.0) - libm::pow(z / c, 2.0)).sqrt(), z)
    };
    let (checks, badge) = (on_helmet(20.0, -15.0), on_helmet(-20.0, 45.0));
    // At station 250 the chest is a box 400 × 260: flat on top to 110 from the middle.
    let harness = DVec3::new(250.0, 90.0, 130.0);
    // Behind that its height falls as a parabola from 130 to 115 at 500.
    let tape = DVec3::new(330.0, 0.0, 130.0 - 15.0 * libm::pow(80.0 / 250.0f64, 2.0));
    // The handle: 35 up, a quarter of a turn at 25, then aft at 60.
    let handle = DVec3::new(25.0 + 92.0 - 35.0 - 25.0 * TAU / 4.0, 0.0, 67.0);
    let helix = DVec3::new(29.0, -TAU * 7.0, 0.0);
    let name = |name| wanted(name, tape, aft, 0.0, 12.0);
    vec![
        wanted("side-checks-left", checks, aft, 90.0, 30.0),
        wanted("side-checks-right", mirrored(checks), -aft, 90.0, 30.0),
        wanted("badge-left", badge, aft, 55.0, 55.0),
        wanted("badge-right", mirrored(badge), -aft, 55.0, 55.0),
        wanted("harness", harness, aft, 420.0, 45.0),
        wanted("handle-wrap", handle, helix, 60.0, 8.0),
        name("pilot"),
        name("winch"),
        name("medic"),
        name("lookout"),
    ]
}
