//! Every piece of three specs laid back on its part, and found where the spec wants it.
//!
//! The program says of each bit of the flat piece where it comes to lie; here that is held against the parts
//! by formulas of the tests' own (`lay_back/parts.rs`) and against numbers worked out from the YAML
//! (`lay_back/specs.rs`): that what is laid lies on the part, as long as it was drawn, held and headed as
//! the spec says, along the line that it follows, and, where the part unrolls, each point where the drawing
//! has it.

#[path = "lay_back/film.rs"]
mod film;
#[path = "lay_back/parts.rs"]
mod parts;
#[path = "lay_back/specs.rs"]
mod specs;

use film::{Laid, laid, named};
use glam::{DVec2, DVec3};
use markloft::batch::{self, Choice};
use markloft::flow::Outcome;
use markloft::outline::{Point, Vector, point};
use markloft::units::Scale;
use parts::Solid;
use specs::{HELMET, INCH, Wanted, mirrored};
use std::f64::consts::TAU;
use std::fs;
use std::sync::LazyLock;

fn worked_out(spec: &str, denominator: f64) -> Outcome {
    let path = format!("{}/specs/{spec}.yaml", env!("CARGO_MANIFEST_DIR"));
    let scales = vec![Scale::one_to(denominator).unwrap()];
    // How pieces lie on their sheets is not asked here.
    let choice = Choice { scales, effort: Some(0), ..Choice::default() };
    batch::work_out(batch::load(&path).unwrap(), &choice).unwrap()
}

static HELICOPTER: LazyLock<Outcome> = LazyLock::new(|| worked_out("rescue-helicopter", 144.0));
static TENDER: LazyLock<Outcome> = LazyLock::new(|| worked_out("crash-tender", 144.0));
/// At the scale at which calipers were taken of every axis of the helmet.
static CREW: LazyLock<Outcome> = LazyLock::new(|| worked_out("crew", 16.0));

fn every_piece() -> Vec<Laid<'static>> {
    [&*HELICOPTER, &*TENDER, &*CREW].into_iter().flat_map(laid).collect()
}

#[test]
fn every_laid_point_lies_on_its_part() {
    let all = every_piece();
    assert_eq!(all.len(), 43, "42 markings, one of them as decal and as mask");
    for one in all {
        for (p, normal) in one.points().zip(&one.film.normals) {
            let off = one.solid.off(p) / one.times;
            assert!(off.abs() < 1e-9, "{}: {p} lies {off} mm off the part", one.name);
            let facing = one.solid.normal(p).dot(*normal);
            assert!(facing > 1.0 - 1e-9, "{}: at {p} its normal is {normal}", one.name);
        }
        // Seen from outside its triangles go round as on the flat piece.
        for t in &one.film.triangles {
            let [a, b, c] = t.map(|k| one.film.laid[k as usize]);
            let normals: DVec3 = t.iter().map(|&k| one.film.normals[k as usize]).sum();
            let [d, e, f] = t.map(|k| one.film.flat[k as usize]);
            assert!((b - a).cross(c - a).dot(normals) > 0.0 && (e - d).cross(f - d) > 0.0, "{}", one.name);
        }
    }
}

/// A mean over small discs is what is reported of the solver's strains: single edges of a net may be
/// stretched a fifth more.
#[test]
fn film_is_stretched_no_further_than_is_said() {
    for one in every_piece() {
        let strain = &one.piece.fit.strain;
        let room = |reported: f64| reported.abs() / 5.0 + strain.estimate + 5e-5;
        for t in &one.film.triangles {
            for [a, b] in [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]].map(|ends| ends.map(|k| k as usize)) {
                let flat = (one.film.flat[b] - one.film.flat[a]).length() * one.times;
                let stretch =
                    one.between(one.film.laid[a] * one.times, one.film.laid[b] * one.times) / flat - 1.0;
                let least = strain.squeeze_max - room(strain.squeeze_max);
                let most = strain.stretch_max + room(strain.stretch_max);
                assert!((least..=most).contains(&stretch), "{}: {stretch} of {strain:?}", one.name);
            }
        }
    }
}

/// The line along the heading, or the one that the piece follows, and the line across it at the hold point.
#[test]
fn lengths_on_the_part_are_the_full_size_lengths_within_the_strain_that_is_told() {
    for one in every_piece() {
        let (fit, name) = (&one.piece.fit, one.name);
        let [along, across] = one.lines();
        let [along, across] = [one.lengths(&along), one.lengths(&across)];
        let full = one.piece.full_size;
        // Curved edges are flattened to 2e-5 of a piece's size before there is film.
        let edge = 5e-5 * along[0].max(across[0]);
        if fit.seam.is_none() {
            let wide = if name.starts_with("cheat-line") { 160.0 } else { full.height.to_mm() };
            assert!(
                (along[0] - full.width.to_mm()).abs() < edge,
                "{name}: {along:?} where {full:?} is drawn"
            );
            // A line that tapers from 220 to 100 is 160 wide in its middle.
            assert!((across[0] - wide).abs() < edge, "{name}: {across:?} where {full:?} is drawn");
        }
        for [flat, laid] in [along, across] {
            let stretch = laid / flat - 1.0;
            let least = fit.strain.squeeze_max - fit.strain.estimate - 1e-6;
            let most = fit.strain.stretch_max.max(0.0) + fit.strain.estimate + 2e-6;
            assert!((least..=most).contains(&stretch), "{name}: {stretch} of {:?}", fit.strain);
        }
        // What follows a line keeps its length along it: only its sides give.
        if !fit.spine.is_empty() {
            assert!((along[1] / along[0] - 1.0).abs() < 5e-7, "{name}: {along:?}");
        }
    }
}

fn every_wanted() -> Vec<(Laid<'static>, Wanted)> {
    let all = [
        (&*HELICOPTER, specs::wanted_on_helicopter()),
        (&*TENDER, specs::wanted_on_tender()),
        (&*CREW, specs::wanted_on_crew()),
    ];
    all.into_iter()
        .flat_map(|(of, wants)| wants.into_iter().map(|want| (named(of, want.name), want)))
        .collect()
}

#[test]
fn each_marking_is_held_and_headed_as_its_spec_says() {
    let all = every_wanted();
    assert_eq!(all.len(), 39, "all but the two areas and the stripe that starts at a limit");
    for (one, want) in all {
        let (at, way) = one.held();
        let off = (at - want.at).length() / one.times;
        // Film that is strained is held in the mean over a fingertip.
        assert!(off < 5e-5, "{}: held at {at}, {off} mm on the model from {}", want.name, want.at);
        let wanted = want.way.reject_from_normalized(one.solid.normal(want.at)).normalize();
        // Between the corners of a triangle film is told as a chord.
        let turned = way.angle_between(wanted).to_degrees();
        assert!(turned < 0.05, "{}: heads {way}, turned by {turned}° from {wanted}", want.name);
        let size = one.piece.fit.run.unwrap_or(one.piece.fit.size);
        for (drawn, wanted) in [(size.width.to_mm(), want.long), (size.height.to_mm(), want.wide)] {
            let wrong = (drawn * one.times / wanted - 1.0).abs();
            assert!(wanted == 0.0 || wrong < 1e-7, "{}: {drawn} mm for {wanted}", want.name);
        }
    }
}

/// On cones, pipes, plates and wings nothing gives: the whole of a flat piece lies as if it were drawn on the
/// unrolled part.
#[test]
fn what_unrolls_lies_point_for_point_where_it_was_drawn() {
    let mut pieces = 0;
    for (one, want) in every_wanted().iter().filter(|(one, _)| one.solid.unrolls()) {
        let (miss, count) = one.miss_of_unrolled(want.at, want.way);
        // The wrap's last corners lie on the handle's bends, and pull a little at what lies on its straight.
        let (most, bent) = if want.name == "handle-wrap" { (2e-4, 100) } else { (1e-6, 0) };
        assert!(miss < most, "{}: {miss} mm", want.name);
        assert!(count + bent >= one.film.flat.len(), "{}: {count} points", want.name);
        pieces += 1;
    }
    assert_eq!(pieces, 25);
}

#[test]
fn areas_end_at_their_limits() {
    // Front sill at 50 up, roof line at 100 ahead of the middle, posts at 660 to either side.
    let canopy = named(&HELICOPTER, "canopy-mask");
    let at = |x: f64, z: f64| canopy.solid.flat(DVec3::new(x, 0.0, z), 0.0).unwrap().x;
    let front = -800.0 * (1.0 - libm::pow(50.0 / 750.0f64, 2.0)).sqrt();
    let top = 750.0 * (1.0 - libm::pow(100.0 / 800.0f64, 2.0)).sqrt();
    assert_bounds(&canopy, [at(front, 50.0), -660.0], [at(-100.0, top), 660.0]);
    // From 35 below the middle to 55 above, which begins 80 below; round to 20 ahead of the middle.
    let visor = named(&CREW, "visor-mask");
    let side = 115.0 * libm::acos(20.0 / 115.0);
    assert_bounds(&visor, [45.0, -side], [135.0, side]);
}

/// The unrolled film fills this box.
fn assert_bounds(one: &Laid, low: [f64; 2], high: [f64; 2]) {
    let (low, high) = (DVec2::from(low), DVec2::from(high));
    let flat: Vec<DVec2> = one.points().map(|p| one.solid.flat(p, 0.0).expect("it unrolls")).collect();
    let (least, most) = flat.iter().fold((flat[0], flat[0]), |(a, b), p| (a.min(*p), b.max(*p)));
    let off = (least - low).abs().max((most - high).abs()) / one.times;
    assert!(off.max_element() < 1e-5, "{}: from {least} to {most}, wanted {low} to {high}", one.name);
    let corner = |t: &[u32; 3], k: usize| flat[t[k] as usize];
    let area: f64 = one
        .film
        .triangles
        .iter()
        .map(|t| (corner(t, 1) - corner(t, 0)).perp_dot(corner(t, 2) - corner(t, 0)).abs() / 2.0)
        .sum();
    let whole = (high - low).element_product();
    assert!((area / whole - 1.0).abs() < 1e-4, "{}: {area} of {whole} mm²", one.name);
}

/// `at: {from: visor-edge}`, held at the front: nothing of the front end lies ahead of the edge, and its
/// foremost point touches it, but for what film gives under the finger; the middle lies in the helmet's plane
/// of symmetry.
#[test]
fn a_stripe_from_a_limit_starts_at_it() {
    let one = named(&CREW, "crown-stripe");
    let edge = -95.0 * HELMET[0] / 285.0;
    let end = one.film.flat.iter().zip(one.points()).filter(|(q, _)| q.x.abs() < 1e-9);
    let foremost = end.map(|(_, p)| p.x).fold(f64::INFINITY, f64::min);
    assert!(((foremost - edge) / one.times).abs() < 1e-3, "{foremost} for {edge}");
    let (at, way) = one.held();
    assert!(at.y.abs() < 1e-6 && at.z > 0.0 && way.x > 0.0 && way.y.abs() < 1e-6, "{at} {way}");
    let size = one.piece.fit.size;
    assert!(
        (size.width.to_mm() * 16.0 - 330.0).abs() < 1e-9 && (size.height.to_mm() * 16.0 - 40.0).abs() < 1e-9
    );
}

/// Where the line lies that a piece follows, in full size.
fn spine(one: &Laid) -> Vec<DVec3> {
    one.piece.fit.spine.iter().map(|&q| one.at(q).expect("film under its own middle line")).collect()
}

#[test]
fn what_follows_a_line_lies_along_it() {
    let guard = DVec3::new(700.0, 0.0, -250.0).normalize();
    let skid =
        specs::wanted_on_helicopter().into_iter().find(|want| want.name == "skid-hazard").unwrap().at.x;
    let paper = specs::cheat_line();
    let on_paper = move |p: DVec3| paper.distance(DVec2::new(p.x, p.z));
    /// How far a point is from a line.
    type Off = Box<dyn Fn(DVec3) -> f64>;
    let lines: [(&Outcome, &str, Off); 6] = [
        // Rings lie at one station, on a bent tube square to it.
        (&HELICOPTER, "boom-band", Box::new(|p| p.x - 3200.0)),
        (&HELICOPTER, "guard-hazard", Box::new(move |p| p.dot(guard) - 250.0)),
        (&HELICOPTER, "skid-hazard", Box::new(move |p| p.x - skid)),
        // A section has one distance from the middle, a line drawn from the left is seen as it was drawn.
        (&CREW, "harness", Box::new(|p| p.y - 90.0)),
        (&HELICOPTER, "cheat-line-left", Box::new(on_paper.clone())),
        (&HELICOPTER, "cheat-line-right", Box::new(on_paper)),
    ];
    for (outcome, name, off) in lines {
        let one = named(outcome, name);
        let worst = spine(&one).into_iter().map(|p| off(p).abs() / one.times).fold(0.0, f64::max);
        assert!(worst < 1e-4, "{name}: {worst} mm beside its line");
    }
}

/// Tape that runs straight on from the side of a bent tube: a geodesic of a torus by its own equations,
/// ρ = R + r cos φ, θ′ = R/ρ² (Clairaut), φ″ = −ρ sin φ θ′²/r (do Carmo, *Differential Geometry*,
/// section 4-4), integrated by Runge and Kutta's rule.
#[test]
fn a_run_round_a_bend_is_a_geodesic_of_the_torus() {
    let one = named(&TENDER, "arch-stripe");
    let (bend, r) = (400.0, 60.0);
    let (leg, turn) = (libm::hypot(150.0, 550.0), libm::atan2(550.0, 150.0));
    let tangent = bend * libm::tan(turn / 2.0);
    // The top runs from one bend's tangent point to the other's; the hold is so far from either.
    let hold = 900.0 - (leg - tangent) - bend * turn;
    let top = 1100.0 - 2.0 * tangent;
    let mut worst: f64 = 0.0;
    for (straight, ahead) in [(hold, -1.0), (top - hold, 1.0)] {
        let middle = if ahead < 0.0 { 150.0 + tangent } else { 1250.0 - tangent };
        let slope = |[_, phi, dphi]: [f64; 3]| {
            let rho = bend + r * libm::cos(phi);
            let dtheta = bend / (rho * rho);
            [dtheta, dphi, -rho * libm::sin(phi) / r * dtheta * dtheta]
        };
        let mut y = [0.0, -TAU / 4.0, 0.0];
        let mut way = straight;
        while way + 1.0 < 800.0 && y[0] < turn {
            let add = |by: [f64; 3], h: f64| std::array::from_fn(|k| y[k] + by[k] * h);
            let a = slope(y);
            let b = slope(add(a, 0.5));
            let c = slope(add(b, 0.5));
            let d = slope(add(c, 1.0));
            y = std::array::from_fn(|k| y[k] + (a[k] + 2.0 * b[k] + 2.0 * c[k] + d[k]) / 6.0);
            way += 1.0;
            if y[0] < turn {
                let [theta, phi, _] = y;
                let rho = bend + r * libm::cos(phi);
                let known = DVec3::new(
                    middle + ahead * rho * libm::sin(theta),
                    r * libm::sin(phi),
                    150.0 + rho * libm::cos(theta),
                );
                let found = one.at(point(ahead * way / one.times, 0.0)).expect("film under its middle line");
                worst = worst.max((found - known).length() / one.times);
            }
        }
        assert!(way > straight + 400.0, "{way} of {straight}");
    }
    assert!(worst < 1e-5, "{worst} mm");
}

/// What is drawn for both sides is, on the part, its own mirror image, colour by colour; letters are not.
#[test]
fn both_sides_are_mirror_images() {
    for (outcome, name) in [
        (&*HELICOPTER, "cheat-line"),
        (&HELICOPTER, "roundel"),
        (&TENDER, "side-checks"),
        (&TENDER, "conspicuity"),
        (&CREW, "side-checks"),
        (&CREW, "badge"),
    ] {
        // Flat they are as large as each other, to what a report tells.
        let [left, right] =
            ["left", "right"].map(|side| named(outcome, &format!("{name}-{side}")).piece.fit.size);
        let wider = [left.width.to_mm() - right.width.to_mm(), left.height.to_mm() - right.height.to_mm()];
        assert!(wider.iter().all(|by| by.abs() < 1e-4), "{name}: {wider:?} mm");
        let middles = |side: &str| {
            let one = named(outcome, &format!("{name}-{side}"));
            let mut all = Vec::new();
            for area in &one.piece.fit.artwork.areas {
                for contour in &area.outline.contours {
                    let middle = one.at(centroid(&contour.flattened(1e-3))).expect("film under its middle");
                    all.push((area.colour, middle / one.times));
                }
            }
            all
        };
        let [left, right] = ["left", "right"].map(middles);
        assert_eq!(left.len(), right.len());
        let mut worst: f64 = 0.0;
        for (colour, p) in &left {
            let twins = right.iter().filter(|(other, _)| other == colour);
            worst = worst.max(twins.map(|(_, q)| (mirrored(*q) - *p).length()).fold(f64::INFINITY, f64::min));
        }
        assert!(worst < 1e-3, "{name}: {worst} mm from its mirror image");
    }
}

/// The middle of a polygon's area.
fn centroid(corners: &[Point]) -> Point {
    let (mut area, mut sum) = (0.0, Vector::zero());
    for (a, b) in corners.iter().zip(corners.iter().cycle().skip(1)) {
        let cross = a.to_vector().cross(b.to_vector());
        area += cross;
        sum += (a.to_vector() + b.to_vector()) * cross;
    }
    (sum / (3.0 * area)).to_point()
}

/// The same helicopter with three markings true as seen: on a loft, a wing and a cone the laid outline, seen
/// in the view it was drawn in, is the drawing.
#[test]
fn what_is_true_as_seen_is_seen_as_drawn() {
    let specs = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("specs");
    let mut text = fs::read_to_string(specs.join("rescue-helicopter.yaml")).unwrap();
    for at in [
        "at: {seen: left, aft: 4.6 m, up: 10 cm}",
        "at: {seen: top, aft: 45 cm, right: 10 cm}",
        "at: {station: 2.55 m, around: left}",
    ] {
        assert_eq!(text.matches(at).count(), 1);
        let seen = if at.contains("top") { "top" } else { "left" };
        text = text.replace(at, &format!("{at}\n    lay: {{sight: {{seen: {seen}}}}}"));
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("seen.yaml");
    fs::write(&path, text).unwrap();
    fs::copy(specs.join("stencils.csv"), folder.path().join("stencils.csv")).unwrap();
    let names = ["roundel-left", "roundel-right", "fin-flash", "registration-left", "registration-right"];
    let choice = Choice {
        scales: vec![Scale::one_to(16.0).unwrap()],
        only: names.map(str::to_owned).to_vec(),
        effort: Some(0),
        ..Choice::default()
    };
    let outcome = batch::work_out(batch::load(path.to_str().unwrap()).unwrap(), &choice).unwrap();
    for one in laid(&outcome) {
        // Each point as it is seen, about where the drawing's middle is seen.
        let seen = |p: DVec3| match one.name {
            "fin-flash" => DVec2::new(p.x - 450.0, p.y - 100.0),
            "roundel-left" => DVec2::new(p.x - 4600.0, p.z - 100.0),
            "roundel-right" => DVec2::new(4600.0 - p.x, p.z - 100.0),
            "registration-left" => DVec2::new(p.x - 2550.0, p.z),
            _ => DVec2::new(2550.0 - p.x, p.z),
        };
        let off = |p: DVec2, radius: f64| match one.name {
            "fin-flash" => from_rectangle(p, [24.0 * INCH, 18.0 * INCH]),
            name if name.starts_with("roundel") => (p.length() - radius).abs(),
            _ => from_rectangle(p, [one.piece.full_size.width.to_mm(), 6.0 * INCH]),
        };
        let edge = one.edge();
        assert!(edge.len() > 40, "{}: {} points", one.name, edge.len());
        let worst = edge.iter().map(|&k| off(seen(one.film.laid[k] * one.times), 300.0)).fold(0.0, f64::max);
        let told = one.piece.fit.miss.to_mm() + 2e-5 * one.piece.fit.size.width.to_mm() + 1e-5;
        assert!(worst / one.times < told.min(0.05), "{}: its edge is seen {worst} mm off", one.name);
        // All round: the edge reaches every side of the drawing.
        let at: Vec<DVec2> = edge.iter().map(|&k| seen(one.film.laid[k] * one.times)).collect();
        let (least, most) = at.iter().fold((at[0], at[0]), |(a, b), p| (a.min(*p), b.max(*p)));
        let full = one.piece.full_size;
        let full = DVec2::new(full.width.to_mm(), full.height.to_mm());
        assert!((most - least - full).abs().max_element() / one.times < 0.05, "{}: {least} {most}", one.name);
        if !one.name.starts_with("roundel") {
            continue;
        }
        // Its colours are carried over with it: rings 1 : 2 : 3, in the order that they are given in.
        for area in &one.piece.fit.artwork.areas {
            let [inner, outer] = [0.0, 1.0].map(|k| 100.0 * (area.colour.0 as f64 + k));
            for q in area.outline.contours.iter().flat_map(|contour| contour.flattened(1e-3)) {
                // A curve's points may lie a hair beside the film's own chords.
                let Some(p) = one.at(q) else { continue };
                let away = seen(p).length();
                let off = (away - inner).abs().min((away - outer).abs()) / one.times;
                assert!(off < 0.05, "{}: a border is seen at {away}, not {inner} or {outer}", one.name);
            }
        }
    }
}

/// From the border of a rectangle about the origin.
fn from_rectangle(p: DVec2, size: [f64; 2]) -> f64 {
    let out = p.abs() - DVec2::from(size) / 2.0;
    if out.max_element() <= 0.0 { -out.max_element() } else { out.max(DVec2::ZERO).length() }
}

/// A line on a part, told by close points, laid flat: as long, and turning as much as it turns on the part,
/// which is between its steps once both are laid into the plane that touches there.
struct Flattened {
    lengths: Vec<f64>,
    flat: Vec<DVec2>,
}

impl Flattened {
    fn new(solid: &Solid, points: &[DVec3]) -> Self {
        let (mut lengths, mut flat, mut heading) = (vec![0.0], vec![DVec2::ZERO], 0.0);
        for k in 0..points.len() - 1 {
            let step = points[k + 1] - points[k];
            if k > 0 {
                let normal = solid.normal(points[k]);
                let [a, b] = [points[k] - points[k - 1], step].map(|way| way.reject_from_normalized(normal));
                heading += libm::atan2(normal.dot(a.cross(b)), a.dot(b));
            }
            lengths.push(lengths[k] + step.length());
            flat.push(flat[k] + DVec2::from_angle(heading) * step.length());
        }
        Self { lengths, flat }
    }

    fn at(&self, along: f64) -> DVec2 {
        let k = self.lengths.partition_point(|length| *length <= along).clamp(1, self.lengths.len() - 1);
        let share = (along - self.lengths[k - 1]) / (self.lengths[k] - self.lengths[k - 1]);
        self.flat[k - 1].lerp(self.flat[k], share)
    }

    /// Its point at a length as it lies from where it is held, heading along x there.
    fn from(&self, hold: f64, along: f64) -> DVec2 {
        // Over some steps either way: a single one is turned by half of its own bend.
        let some = 10.0 * self.lengths[1];
        let heading = (self.at(hold + some) - self.at(hold - some)).normalize();
        DVec2::new(heading.x, -heading.y).rotate(self.at(hold + along) - self.at(hold))
    }
}

#[test]
fn a_bent_piece_turns_as_its_line_does_on_the_part() {
    const STEPS: usize = 40_000;
    let paper = specs::cheat_line();
    let side = |sign: f64| {
        let solid = specs::part("fuselage", "");
        let on = |k: usize| {
            let p = paper.at(paper.length() * k as f64 / STEPS as f64).0;
            let left = specs::on_fuselage(&solid, p.x, p.y);
            if sign > 0.0 { left } else { mirrored(left) }
        };
        let mut points: Vec<DVec3> = (0..=STEPS).map(on).collect();
        if sign < 0.0 {
            points.reverse();
        }
        let line = Flattened::new(&solid, &points);
        let hold = line.lengths[STEPS] / 2.0;
        (line, hold)
    };
    let chest = || {
        let solid = specs::part("pilot-chest", "");
        let on = |k: usize| {
            let x = 20.0 + 460.0 * k as f64 / STEPS as f64;
            solid.met(DVec3::new(x, 90.0, 400.0), DVec3::new(x, 90.0, 0.0))
        };
        let points: Vec<DVec3> = (0..=STEPS).map(on).collect();
        let line = Flattened::new(&solid, &points);
        let k = points.partition_point(|p| p.x < 250.0);
        let hold = line.lengths[k];
        (line, hold)
    };
    for (outcome, name, (line, hold)) in [
        (&*HELICOPTER, "cheat-line-left", side(1.0)),
        (&HELICOPTER, "cheat-line-right", side(-1.0)),
        (&CREW, "harness", chest()),
    ] {
        let one = named(outcome, name);
        let (spine, long) = (&one.piece.fit.spine, one.piece.fit.run.unwrap().width.to_mm() * one.times);
        for (k, q) in spine.iter().enumerate().step_by(64) {
            let known = line.from(hold, long * (k as f64 / (spine.len() - 1) as f64 - 0.5));
            let off = (known - DVec2::new(q.x, q.y) * one.times).length();
            // Told by halving, which is a third short where the bend has a kink, as at the chest's corners.
            let told = 1.5 * one.piece.fit.miss.to_mm() * one.times;
            assert!(off < told, "{name}: off by {off} mm of the real thing where {told} is told");
        }
    }
}
