//! An outcome made by hand, for this room's tests: films laid by formula, not by the solver.
//!
//! A helmet (sphere, 250 mm) with a disc and a stripe on its crown, a roundel
//! twice on a flat door, at 1/48. The disc lies in the polar layout (radii true,
//! hoop scale sin c/c), the stripe with its centreline true (length scale cos b).

use crate::flow::*;
use crate::outline::{Outline, Point, Region, point};
use crate::units::{Angle, Full, Length, Model, Scale, Size};
use glam::DVec3;
use std::sync::Arc;

/// The sphere's radius at full size, mm.
pub const RADIUS: f64 = 125.0;
/// The disc's radius at full size, mm.
pub const DISC: f64 = 110.0;

pub fn place(line: u32) -> Place {
    Place { file: "harrow-tarn.yaml".into(), line, column: 3 }
}

pub fn outcome() -> Outcome {
    let scale = Scale::one_to(48.0).unwrap();
    let plan = plan();
    let at = at_scale(&plan, scale);
    Outcome { plan: Arc::new(plan), scales: vec![at], together: Together::default() }
}

/// The same at three scales.
pub fn three_scales() -> Outcome {
    let mut plan = plan();
    plan.scales = [72, 48, 32].map(|d| Scale::one_to(f64::from(d)).unwrap()).to_vec();
    let scales = plan.scales.iter().map(|&scale| at_scale(&plan, scale)).collect();
    Outcome { plan: Arc::new(plan), scales, together: Together::default() }
}

fn at_scale(plan: &Plan, scale: Scale) -> ScaleOutcome {
    let disc = Arc::new(disc().at(scale));
    let stripe = Arc::new(stripe().at(scale));
    let roundel = Arc::new(roundel().at(scale));
    let piece = |number, marking: usize, copy, fit: &Arc<Fit<Model>>| Piece {
        number,
        marking: MarkingId(marking),
        part: plan.markings[marking].part,
        copy,
        section: None,
        make: Make::Decal,
        full_size: Size {
            width: fit.size.width.stands_for(scale),
            height: fit.size.height.stands_for(scale),
        },
        fit: fit.clone(),
        effective_scale: Scale::one_to(50.617283).unwrap(),
        verdict: Verdict::Fits,
        lies: Lies::Flat,
        findings: Vec::new(),
    };
    let finding = |code, severity, text: &str, help: &str, line| Finding {
        code,
        severity,
        text: text.into(),
        help: help.into(),
        at: place(line),
    };
    let mut pieces = vec![
        piece(1, 0, 1, &disc),
        piece(2, 1, 1, &stripe),
        piece(3, 2, 1, &roundel),
        piece(4, 2, 2, &roundel),
    ];
    pieces[0].verdict = Verdict::Oversize;
    pieces[0].lies = Lies::No;
    pieces[0].findings = vec![
        finding(
            Code::Oversize,
            Severity::Error,
            "runs 1.4 mm past visor-edge, and a disc may not be trimmed",
            "print at 41 %, as for 1/117, or move it aft",
            12,
        ),
        finding(
            Code::Wrinkle,
            Severity::Warning,
            "squeezed by 12 %, softened film gives 4 %",
            "cut it in sectors",
            12,
        ),
    ];
    pieces[1].verdict = Verdict::Trim;
    pieces[1].findings =
        vec![finding(Code::Trim, Severity::Warning, "runs 0.9 mm past rim", "trim it at the rim", 18)];
    let parts = plan.parts.clone();
    let sheet = sheet(scale, &pieces);
    ScaleOutcome {
        scale,
        parts,
        pieces,
        sheets: vec![sheet],
        tape: Vec::new(),
        jobs: Vec::new(),
        findings: Vec::new(),
    }
}

fn plan() -> Plan {
    let colour = |name: &str, rgb| Colour { name: name.into(), rgb, paint: None, note: None };
    let limit = |name: &str, axis, offset| Limit {
        name: name.into(),
        kind: LimitKind::Plane { axis, offset: Length::mm(offset), keep_greater: true },
        at: place(5),
    };
    let part = |name: &str, shape, limits| Part {
        name: name.into(),
        shape,
        measured: Vec::new(),
        limits,
        seam: Angle::degrees(180.0),
        at: place(3),
    };
    let marking = |name: &str, part, draw, make| Marking {
        name: name.into(),
        part: PartId(part),
        draw,
        spot: Spot::Seen { view: View::Top, across: Length::ZERO, up: Length::ZERO, turn: Angle::ZERO },
        hold: Hold::Centre,
        lay: Lay::Drape,
        make,
        copies: 1,
        may_trim: Vec::new(),
        size_by: SizeBy::Scale,
        over: Vec::new(),
        layer: 0,
        piece: PieceWishes::default(),
        note: None,
        at: place(10),
        draw_at: place(11),
        spot_at: place(12),
    };
    let helmet = part(
        "helmet",
        Shape::Sphere { diameter: Length::mm(2.0 * RADIUS) },
        vec![limit("visor-edge", Direction::Aft, -65.0), limit("rim", Direction::Up, -60.0)],
    );
    let door = Shape::Flat { width: Length::mm(1000.0), height: Length::mm(600.0), face: View::Left };
    let stripe = Draw::Stripe {
        width: Length::mm(40.0),
        end_width: Length::mm(40.0),
        length: Length::mm(560.0),
        colours: vec![ColourId(0)],
    };
    let roundel = Draw::Roundel {
        diameter: Length::mm(400.0),
        rings: vec![1.0, 3.0, 5.0],
        colours: vec![ColourId(0), ColourId(1), ColourId(0)],
    };
    let disc = Draw::Disc { diameter: Length::mm(2.0 * DISC), colour: ColourId(1) };
    Plan {
        name: "harrow-tarn".into(),
        title: "Harrow Tarn Air Rescue, crew and door".into(),
        scales: vec![Scale::one_to(48.0).unwrap()],
        colours: vec![colour("rescue-red", [200, 50, 30]), colour("bone", [239, 233, 220])],
        films: Films::default(),
        parts: vec![helmet, part("door", door, Vec::new())],
        markings: vec![
            marking("crown-disc", 0, disc, vec![Make::Decal]),
            marking("crown-stripe", 0, stripe, vec![Make::Decal]),
            marking("door-roundel", 1, roundel, vec![Make::Decal]),
        ],
        sheets: Sheets::default(),
        printer: Printer::default(),
        spray: Spray::default(),
        cutter: None,
    }
}

fn fit(artwork: Artwork<Full>, film: Film3) -> Fit<Full> {
    let bounds = artwork.silhouette.bounds();
    Fit {
        artwork,
        size: Size { width: Length::mm(bounds.width()), height: Length::mm(bounds.height()) },
        run: None,
        spine: Vec::new(),
        film,
        strain: Strain { settled: true, ..Strain::default() },
        overhang: Length::ZERO,
        overhang_share: 0.0,
        overhanging: Region::empty(),
        trim: Vec::new(),
        past: Vec::new(),
        trimmable: false,
        largest_fit: 4.0,
        largest_length: None,
        seam: None,
        repeats: None,
        hidden_share: 0.0,
        doubled_share: 0.0,
        relief: None,
        past_line: Length::ZERO,
        miss: Length::ZERO,
    }
}

/// On the sphere's crown in the polar layout: colatitude ρ/R.
pub fn polar(p: Point) -> DVec3 {
    let rho = p.to_vector().length();
    let (sin, cos) = libm::sincos(rho / RADIUS);
    let along = if rho > 0.0 { p.to_vector() / rho } else { p.to_vector() };
    DVec3::new(sin * along.x, sin * along.y, cos) * RADIUS
}

/// Over the crown with the centreline true: angle x/R aft, then y/R to the right.
fn meridian(p: Point) -> DVec3 {
    let (sin_a, cos_a) = libm::sincos(p.x / RADIUS);
    let (sin_b, cos_b) = libm::sincos(p.y / RADIUS);
    DVec3::new(sin_a * cos_b, sin_b, cos_a * cos_b) * RADIUS
}

/// A film over a grid of flat points.
fn grid(
    columns: usize,
    rows: usize,
    flat: impl Fn(f64, f64) -> Point,
    lay: impl Fn(Point) -> DVec3,
    normal: impl Fn(DVec3) -> DVec3,
    stretch: impl Fn(Point) -> [f64; 2],
) -> Film3 {
    let mut film = Film3::default();
    for row in 0..=rows {
        for column in 0..=columns {
            let p = flat(column as f64 / columns as f64, row as f64 / rows as f64);
            film.flat.push(p);
            film.laid.push(lay(p));
            film.normals.push(normal(lay(p)));
        }
    }
    let index = |column: usize, row: usize| (row * (columns + 1) + column) as u32;
    for row in 0..rows {
        for column in 0..columns {
            let (a, b) = (index(column, row), index(column + 1, row));
            let (c, d) = (index(column + 1, row + 1), index(column, row + 1));
            for triangle in [[a, b, c], [a, c, d]] {
                let corner = |k: usize| film.flat[triangle[k] as usize].to_vector();
                let middle = ((corner(0) + corner(1) + corner(2)) / 3.0).to_point();
                if (corner(1) - corner(0)).cross(corner(2) - corner(0)).abs() > 1e-9 {
                    film.triangles.push(triangle);
                    film.stretches.push(stretch(middle));
                }
            }
        }
    }
    film
}

fn one_colour(colour: usize, outline: Outline<Full>) -> Artwork<Full> {
    Artwork {
        areas: vec![Area { colour: ColourId(colour), outline: outline.clone() }],
        silhouette: outline,
        repeat: None,
    }
}

pub fn disc() -> Fit<Full> {
    let spoke = |turn: f64, out: f64| {
        let (sin, cos) = libm::sincos(std::f64::consts::TAU * turn);
        point(cos, sin) * (DISC * out)
    };
    // Columns run outwards and rows round: out, then round, is counter-clockwise.
    let film = grid(
        24,
        96,
        |out, turn| spoke(turn, out),
        polar,
        DVec3::normalize,
        |p| {
            let c = p.to_vector().length() / RADIUS;
            [1.0, libm::sin(c) / c]
        },
    );
    let outline = Outline::circle(point(0.0, 0.0), DISC);
    // Past the plane x = −65: with the polar layout, the part of the disc where polar(p).x < −65.
    let beyond = |p: &Point| polar(*p).x < -65.0;
    let edge = outline.flattened(0.05).rings[0].clone();
    let trim: Vec<Point> = (-400..=400)
        .filter_map(|k| {
            let y = f64::from(k) / 400.0 * 105.0;
            let z2 = RADIUS * RADIUS - 65.0 * 65.0 - y * y;
            (z2 > 0.0).then(|| {
                let c = libm::acos(z2.sqrt() / RADIUS);
                point(-65.0, y) * (c * RADIUS / libm::sqrt(65.0 * 65.0 + y * y))
            })
        })
        .filter(|p| p.to_vector().length() <= DISC)
        .collect();
    let mut ring: Vec<Point> = edge.into_iter().filter(beyond).collect();
    ring.extend(trim.iter().copied());
    let mut fit = fit(one_colour(1, outline.clone()), film);
    fit.overhanging = Region::new(vec![ring]).cleaned();
    fit.overhang_share = fit.overhanging.area() / outline.area();
    fit.overhang = Length::mm(DISC - libm::asin(65.0 / RADIUS) * RADIUS);
    fit.trim = vec![trim];
    fit.past = vec!["visor-edge".into()];
    fit.largest_fit = libm::asin(65.0 / RADIUS) * RADIUS / DISC;
    let edge_hoop = libm::sin(DISC / RADIUS) / (DISC / RADIUS) - 1.0;
    fit.strain = Strain {
        squeeze_max: edge_hoop,
        squeeze_p99: edge_hoop * 0.99,
        mean_abs: 0.061_234_567,
        estimate: 0.000_1,
        settled: true,
        ..Strain::default()
    };
    fit
}

fn stripe() -> Fit<Full> {
    let (long, wide) = (560.0, 40.0);
    let film = grid(
        64,
        4,
        |s, t| point((s - 0.5) * long, (t - 0.5) * wide),
        meridian,
        DVec3::normalize,
        |p| [1.0, libm::cos(p.y / RADIUS)],
    );
    let mut fit = fit(one_colour(0, Outline::rectangle(point(0.0, 0.0), long, wide)), film);
    // The rear end runs past the rim, z = −60.
    let rim = libm::acos(-60.0 / RADIUS) * RADIUS;
    let over = long / 2.0 - rim;
    fit.overhang = Length::mm(over);
    fit.overhang_share = over / long;
    fit.overhanging = Outline::rectangle(point(long / 2.0 - over / 2.0, 0.0), over, wide).flattened(0.01);
    fit.trim = vec![vec![point(rim, -wide / 2.0), point(rim, wide / 2.0)]];
    fit.past = vec!["rim".into()];
    fit.trimmable = true;
    fit.largest_fit = 2.0 * rim / long;
    fit.largest_length = Some(Length::mm(2.0 * rim));
    fit.run = Some(Size { width: Length::mm(long), height: Length::mm(wide) });
    fit.strain = Strain {
        squeeze_max: -0.0125,
        squeeze_p99: -0.012,
        mean_abs: 0.004,
        estimate: 0.000_05,
        settled: true,
        ..Strain::default()
    };
    fit
}

fn roundel() -> Fit<Full> {
    let ring = |d: f64| Outline::circle(point(0.0, 0.0), d / 2.0);
    let artwork = Artwork {
        areas: [(400.0, 0), (240.0, 1), (80.0, 0)]
            .map(|(d, colour)| Area { colour: ColourId(colour), outline: ring(d) })
            .to_vec(),
        silhouette: ring(400.0),
        repeat: None,
    };
    let [right, up, towards] = View::Left.axes();
    let film = grid(
        8,
        8,
        |s, t| point(s - 0.5, t - 0.5) * 400.0,
        |p| right * p.x + up * p.y,
        |_| towards,
        |_| [1.0, 1.0],
    );
    fit(artwork, film)
}

/// A band all the way round a cylinder of radius 50 mm, 200 mm long, its middle 20 mm from the rear end: wider
/// than that, so 5 mm of it lie past the end.
pub fn band() -> Fit<Full> {
    let (radius, station, wide) = (50.0, 180.0, 50.0);
    let round = std::f64::consts::TAU * radius;
    // Heading to the part's right over the top, so that left of the heading is forward.
    let spoke = move |p: Point| {
        let (sin, cos) = libm::sincos(p.x / radius);
        DVec3::new(0.0, sin, cos)
    };
    let film = grid(
        48,
        2,
        |s, t| point((s - 0.5) * round, (t - 0.5) * wide),
        |p| spoke(p) * radius + DVec3::X * (station - p.y),
        |p| DVec3::new(0.0, p.y, p.z).normalize(),
        |_| [1.0, 1.0],
    );
    let mut fit = fit(one_colour(0, Outline::rectangle(point(0.0, 0.0), round, wide)), film);
    fit.overhang = Length::mm(5.0);
    fit.overhang_share = 0.1;
    fit.overhanging = Outline::rectangle(point(0.0, -22.5), round, 5.0).flattened(0.01);
    fit.trim = vec![vec![point(-round / 2.0, -20.0), point(round / 2.0, -20.0)]];
    fit.past = vec!["rear end".into()];
    fit.seam = Some(Seam { gap: Length::ZERO });
    fit
}

/// The outcome with the band in the roundel's place, on a boom.
pub fn with_band() -> Outcome {
    let mut outcome = outcome();
    let plan = Arc::make_mut(&mut outcome.plan);
    plan.parts[1].shape = Shape::Cylinder { diameter: Length::mm(100.0), length: Length::mm(200.0) };
    let at = &mut outcome.scales[0];
    at.parts = plan.parts.clone();
    at.pieces[2].fit = Arc::new(band().at(at.scale));
    outcome
}

fn sheet(scale: Scale, pieces: &[Piece]) -> Sheet {
    let mut y = 270.0;
    let mut items = Vec::new();
    let mut outlines = Vec::new();
    for piece in pieces {
        let step = crate::outline::Vector::new(60.0, y);
        y -= 25.0;
        outlines.push(piece.fit.artwork.silhouette.flattened(0.01).offset(0.5).to_outline().moved(step));
        for area in &piece.fit.artwork.areas {
            items.push(Item::Fill { outline: area.outline.moved(step), rgb: [200, 50, 30] });
        }
    }
    let page = Sheets::default().page;
    Sheet {
        stem: "decal-1".into(),
        page,
        scales: vec![scale],
        make: Make::Decal,
        colour: None,
        step: None,
        pieces: pieces.iter().map(|piece| piece.number).collect(),
        outlines,
        used_share: 0.123_456,
        layers: vec![Layer::new(Purpose::Artwork, items)],
    }
}

/// Every line of path data made of moves, lines and closes.
pub fn read_path(d: &str) -> Vec<Vec<Point>> {
    use svgtypes::SimplePathSegment::{ClosePath, LineTo, MoveTo};
    let mut lines: Vec<Vec<Point>> = Vec::new();
    for segment in svgtypes::SimplifyingPathParser::from(d) {
        match segment.unwrap() {
            MoveTo { x, y } => lines.push(vec![point(x, y)]),
            LineTo { x, y } => lines.last_mut().unwrap().push(point(x, y)),
            ClosePath => {}
            other => panic!("{other:?}"),
        }
    }
    lines
}
