//! The cutting room from outside: paint sprayed through the masks by polygon booleans,
//! a trailing knife driven along the HPGL as it was written, files measured by readers of this file's own.

mod common;

use common::{add, on_sheets, plain, plan};
use markloft::batch;
use markloft::cut::{knife, masks::sets};
use markloft::flow::*;
use markloft::outline::{Outline, Point, Region, Vector, point, turned};
use markloft::units::{Length, Model, Scale, Size};
use markloft::write;
use std::f64::consts::{PI, TAU};

const RED: (&str, [u8; 3]) = ("rescue-red", [200, 50, 30]);
const BONE: (&str, [u8; 3]) = ("bone", [239, 233, 220]);
const SOOT: (&str, [u8; 3]) = ("soot", [35, 33, 31]);
const ORIGIN: Point = point(0.0, 0.0);
const OFFSET: f64 = 0.25;

fn mm(length: f64) -> Length<Model> {
    Length::mm(length)
}

// ---- Masks ------------------------------------------------------------------

/// Paint on the part after each step, by colour; `masked` false leaves the films out.
fn sprayed(set: &MaskSet, overspray: &Region<Model>, masked: bool) -> Vec<(ColourId, Region<Model>)> {
    let mut paint: Vec<(ColourId, Region<Model>)> = Vec::new();
    let mut covers = Region::empty();
    let mut frame: Option<Region<Model>> = None;
    for step in &set.steps {
        let film = step.film.minus(&step.window);
        let on_part = match step.covers {
            // A cover comes on top of what lies already; the frame of the first step stays.
            Some(_) => {
                covers = covers.union(&film);
                covers.union(frame.as_ref().expect("a frame is laid first"))
            }
            None => {
                frame = Some(film.clone());
                film
            }
        };
        let wet = if masked { overspray.minus(&on_part) } else { overspray.clone() };
        for (_, dry) in &mut paint {
            *dry = dry.minus(&wet);
        }
        paint.push((step.colour, wet));
    }
    paint
}

/// Area that has not the colour the artwork wants, mm², over the artwork's.
fn wrong(artwork: &Artwork<Model>, paint: &[(ColourId, Region<Model>)]) -> f64 {
    let wanted = artwork.colours().into_iter().map(|colour| (colour, artwork.shown(colour, 0.002)));
    let wrong = |(colour, area): (ColourId, Region<Model>)| {
        let got = paint.iter().filter(|(other, _)| *other == colour);
        let got = got.fold(Region::empty(), |all: Region<Model>, (_, area)| all.union(area));
        got.minus(&area).area() + area.minus(&got).area()
    };
    let whole = artwork.silhouette.flattened(0.002).area();
    wanted.map(wrong).sum::<f64>() / whole
}

/// Every marking of the demo as a mask.
fn demo_masks(change: impl Fn(&mut Plan)) -> (Plan, Vec<Piece>) {
    let text = std::fs::read_to_string("specs/harrow-tarn.yaml").unwrap();
    let mut plan = batch::load_embedded("harrow-tarn.yaml", &text).unwrap();
    for marking in &mut plan.markings {
        marking.make = vec![Make::Mask];
        marking.copies = 1;
    }
    change(&mut plan);
    let outcome = batch::work_out(
        plan,
        &batch::Choice { scales: vec![Scale::one_to(48.0).unwrap()], ..batch::Choice::default() },
    )
    .unwrap();
    ((*outcome.plan).clone(), outcome.scales.into_iter().next().unwrap().pieces)
}

#[test]
fn sprayed_in_order_every_demo_marking_is_its_artwork() {
    for film in [MaskFilm::Window, MaskFilm::Cover] {
        let (plan, pieces) = demo_masks(|plan| plan.spray.film = film);
        let all = sets(&plan, &[&pieces]).remove(0);
        assert_eq!(all.len(), plan.markings.len());
        let mut several = 0;
        for set in &all {
            let artwork = &pieces.iter().find(|piece| piece.marking == set.marking).unwrap().fit.artwork;
            // The gun reaches as far as the border does.
            let gun = set.steps[0].film.clone();
            let name = &plan.markings[set.marking.0].name;
            let off = wrong(artwork, &sprayed(set, &gun, true));
            // Rounding where areas were joined: slivers are under 0.01 mm and are let go.
            assert!(off < 1e-6, "{name} {film:?}: {off:.2e}");
            let bare = wrong(artwork, &sprayed(set, &gun, false));
            assert!(bare > 0.05, "{name}: without masks {bare}");
            several += usize::from(set.steps.len() > 1);
        }
        assert!(several >= 3, "roundel, hazard and checks have several colours");
    }
}

#[test]
fn openings_reach_under_what_is_sprayed_later_by_the_overlap() {
    let (mut plan, mut pieces) = (plan("By hand", &[RED, BONE, SOOT]), vec![]);
    // Two halves of 10 × 10 mm that meet on the y axis.
    let half = |x: f64| Outline::rectangle(point(x, 0.0), 5.0, 10.0);
    let areas = vec![
        Area { colour: ColourId(0), outline: half(-2.5) },
        Area { colour: ColourId(1), outline: half(2.5) },
    ];
    let artwork = Artwork { areas, silhouette: Outline::rectangle(ORIGIN, 10.0, 10.0), repeat: None };
    add(&mut plan, &mut pieces, "halves", &[Make::Mask], 1, artwork);
    plan.spray.overlap = mm(0.3);
    let steps = |plan: &Plan| sets(plan, &[&pieces]).remove(0).remove(0).steps;
    // Bone is lighter: sprayed first, 0.3 mm into red's ground, and no further out of the marking.
    let light_first = steps(&plan);
    assert_eq!(light_first.iter().map(|step| step.colour.0).collect::<Vec<_>>(), [1, 0]);
    assert!((light_first[0].window.area() - 10.0 * 5.3).abs() < 1e-6);
    assert!((light_first[0].window.bounds().min.x + 0.3).abs() < 1e-6);
    assert!((light_first[1].window.area() - 50.0).abs() < 1e-6);
    // Asked for the other way round.
    plan.spray.order = vec![ColourId(0)];
    let red_first = steps(&plan);
    assert_eq!(red_first.iter().map(|step| step.colour.0).collect::<Vec<_>>(), [0, 1]);
    assert!((red_first[0].window.area() - 10.0 * 5.3).abs() < 1e-6);
    // As covers: everything inside a frame, then film on red alone, over the frame's edge.
    plan.spray.film = MaskFilm::Cover;
    let covers = steps(&plan);
    assert_eq!((covers[0].covers, covers[1].covers), (None, Some(ColourId(0))));
    assert!((covers[0].window.area() - 100.0).abs() < 1e-6);
    let cover = &covers[1].film;
    assert!(cover.intersection(&half(2.5).flattened(0.1)).area() < 1e-6);
    assert!((cover.bounds().min.x + 5.3).abs() < 1e-6, "{:?}", cover.bounds());
    // A marking's own trap goes before the overlap of all.
    plan.spray = Spray { overlap: mm(0.3), ..Spray::default() };
    plan.markings[0].piece.trap = Some(mm(0.1));
    assert!((steps(&plan)[0].window.area() - 10.0 * 5.1).abs() < 1e-6);
    plan.markings[0].piece.trap = Some(mm(0.0));
    assert!((steps(&plan)[0].window.area() - 50.0).abs() < 1e-6);
    // Frames have one outer edge and crosses at the same places, in the border.
    let set = sets(&plan, &[&pieces]).remove(0).remove(0);
    assert_eq!(set.register.len(), 4);
    for p in set.register.iter().flatten() {
        assert!(set.steps[0].film.contains(*p) && !set.steps[0].window.contains(*p));
    }
}

#[test]
fn a_grip_is_at_the_same_place_of_every_step_and_off_unless_asked_for() {
    let text = |piece: &str| {
        spec(
            &format!(
                "  roundel: {{{ON_DOOR_IN_TWO}, draw: {{roundel: {{diameter: 960 mm, rings: [1, 2]}}}}, make: mask{piece}}}"
            ),
            "cutter: {weed: false}",
        )
    };
    let [plain, tabbed] = ["", ", piece: {tab: 4 mm}"].map(|piece| outcome_of(&text(piece)));
    let films = |outcome: &Outcome| {
        let steps = sets(&outcome.plan, &[&outcome.scales[0].pieces]).remove(0).remove(0).steps;
        assert_eq!(steps.len(), 2);
        steps.into_iter().map(|step| step.film).collect::<Vec<_>>()
    };
    let (without, with) = (films(&plain), films(&tabbed));
    assert_eq!(with[0], with[1], "one step lies where the last one lay");
    let tongue = with[0].minus(&without[0]).opened(0.01).bounds();
    // 20 mm across at 1/48, and 3 mm of border: 4 mm more stand out at the rear, as wide.
    assert!((tongue.min.x + 17.0).abs() < 0.01 && (tongue.height() - 4.0).abs() < 0.01, "{tongue:?}");
    // Cut along with the film's edge, and the label kept clear of it.
    for (sheet, job) in tabbed.scales[0].sheets.iter().zip(&tabbed.scales[0].jobs) {
        for region in [sheet.outlines[0].flattened(0.01), design(job, Tool::Kiss)] {
            let bounds = region.bounds();
            assert!((bounds.width().max(bounds.height()) - 30.0).abs() < 0.02, "{bounds:?}");
        }
    }
}

/// A mask round a rod would cover its own opening at the seam: lines say where its ends come off.
#[test]
fn a_mask_that_goes_all_the_way_round_has_ends_to_cut_off() {
    let band = |lay: &str| {
        outcome_of(&spec(
            &format!(
                "  band: {{part: rod, draw: {{band: {{width: 96 mm}}}}, colour: red, make: mask, lay: {{follow: {lay}}}}}"
            ),
            "",
        ))
    };
    let trims = |outcome: &Outcome| -> Vec<Vec<Point>> {
        let layers = outcome.scales[0].sheets[0].layers.iter().filter(|layer| layer.purpose == Purpose::Trim);
        let lines = layers.flat_map(|layer| &layer.items).filter_map(|item| match item {
            Item::Path { points, rgb, .. } if *rgb == [255; 3] => Some(points.clone()),
            _ => None,
        });
        lines.collect()
    };
    let lines = trims(&band("{ring: {station: 1 m}}"));
    assert_eq!(lines.len(), 2);
    // As far apart as it is round the rod, each as long as the film is wide: 2 mm and two borders of 3.
    let middle = |line: &[Point]| line[0].lerp(line[1], 0.5);
    let apart = (middle(&lines[0]) - middle(&lines[1])).length();
    assert!((apart - PI * 76.0 / 48.0).abs() < 1e-6, "{apart}");
    assert!(lines.iter().all(|line| ((line[1] - line[0]).length() - 8.0).abs() < 1e-6));
    // Along the rod nothing meets.
    let along = "{line: {seen: top, points: [[0.2 m, 0 m], [2 m, 0 m]]}}";
    assert_eq!(trims(&band(along)), Vec::<Vec<Point>>::new());
}

/// Film of a mask gives less than that of a decal: the same cap lies down as one and not as the other.
#[test]
fn a_mask_on_a_dome_is_judged_by_mask_film() {
    let text = "markloft: 1\nscales: [1/48]\ncolours: {red: \"#c8321e\"}\nparts:\n  \
                dome: {shape: {sphere: {diameter: 30 cm}}}\nmarkings:\n  \
                cap: {part: dome, draw: {disc: {diameter: 150 mm}}, colour: red, make: [decal, mask]}\n";
    let outcome = outcome_of(text);
    let [decal, mask] = &outcome.scales[0].pieces[..] else { panic!("one of each") };
    let films = &outcome.plan.films;
    let squeeze = -decal.fit.strain.squeeze_p99;
    // Fitted alike, for both films are as stiff one way as the other; judged each by its own.
    assert!((squeeze + mask.fit.strain.squeeze_p99).abs() < 1e-9);
    assert!(squeeze > films.mask.softened.squeeze && squeeze < films.decal.softened.squeeze, "{squeeze}");
    assert_eq!(decal.lies, Lies::Softened);
    assert!(mask.lies == Lies::Cut || mask.lies == Lies::No, "{:?}", mask.lies);
}

/// Of three letters on an arc each is parted by a bridge along its own height.
#[test]
fn bridges_turn_with_letters_on_an_arc() {
    for side in ["over", "under"] {
        let draw =
            format!("draw: {{letters: {{text: OOO, height: 1 m, arc: {{radius: 1.6 m, side: {side}}}}}}}");
        let more = "sheets: {page: A4}\ncutter: {weed: false}";
        let outcome = outcome_of(&spec(
            &format!("  ring: {{{ON_DOOR}, {draw}, make: mask, piece: {{bridge: 1 mm}}}}"),
            more,
        ));
        let job = &outcome.scales[0].jobs[0];
        let windows = design(job, Tool::Kiss).rings;
        let largest = windows.iter().map(|ring| span(ring)).fold(0.0, f64::max);
        // Two halves of each letter; the film's own edge is the largest line.
        let halves: Vec<Point> =
            windows.iter().filter(|ring| span(ring) < largest).map(|ring| middle_of(ring)).collect();
        assert_eq!(halves.len(), 6);
        // Halves of a letter are nearer to each other than to any other: 2/3 less a stroke against 5/6 of the height.
        let pair = |k: usize| {
            let others = (0..6).filter(|other| *other != k);
            let way = |other: &usize| (halves[*other] - halves[k]).length();
            halves[others.min_by(|a, b| way(a).total_cmp(&way(b))).unwrap()] - halves[k]
        };
        let mut ways: Vec<f64> = (0..6).map(pair).map(|v| libm::atan2(v.y, v.x).rem_euclid(PI)).collect();
        ways.sort_by(f64::total_cmp);
        // Letters stand 5/6 m apart where they come closest: at their feet, hanging ones at their heads.
        let apart: f64 = 5.0 / 6.0 / if side == "over" { 1.6 } else { 0.6 };
        let found: Vec<f64> = ways.iter().flat_map(|a| ways.iter().map(move |b| b - a)).collect();
        for count in [1.0, 2.0] {
            let wanted = (count * apart).rem_euclid(PI);
            let near = |way: &f64| (way.rem_euclid(PI) - wanted).abs() < 0.02;
            assert!(found.iter().any(near), "{side}: {wanted} {ways:?}");
        }
    }
}

fn span(ring: &[Point]) -> f64 {
    let bounds = markloft::outline::Bounds::from_points(ring.iter().copied());
    bounds.width().max(bounds.height())
}

fn middle_of(ring: &[Point]) -> Point {
    let area = markloft::outline::region::signed_area(ring);
    let start = ring[0];
    let next = ring.iter().cycle().skip(1);
    let sum = ring.iter().zip(next).fold(Vector::zero(), |sum, (a, b)| {
        let (a, b) = (*a - start, *b - start);
        sum + (a + b) * (a.cross(b) / 6.0)
    });
    start + sum / area
}

// ---- The knife --------------------------------------------------------------

/// A sheet of shapes with sharp, blunt and round corners, and its plan with a cutter.
fn a_job(make: Make, change: impl Fn(&mut Plan)) -> (Plan, Sheet, Job, Vec<Finding>) {
    let (mut plan, mut pieces) = (plan("By hand", &[RED, BONE, SOOT]), vec![]);
    let star: Vec<Point> = (0..10)
        .map(|k| {
            ORIGIN
                + turned(
                    Vector::new(if k % 2 == 0 { 9.0 } else { 9.0 * 0.381_966 }, 0.0),
                    PI / 5.0 * f64::from(k),
                )
        })
        .collect();
    add(&mut plan, &mut pieces, "star", &[make], 2, plain(0, Outline::polygon(&star)));
    add(&mut plan, &mut pieces, "disc", &[make], 2, plain(0, Outline::circle(ORIGIN, 6.0)));
    add(&mut plan, &mut pieces, "bar", &[make], 2, plain(0, Outline::rectangle(ORIGIN, 30.0, 2.0)));
    plan.cutter = Some(Cutter { offset: mm(OFFSET), ..Cutter::default() });
    change(&mut plan);
    let (mut sheets, _) = on_sheets(&plan, &pieces);
    let sheet = sheets.remove(0);
    let (job, findings) =
        knife::job(&plan, &pieces.iter().collect::<Vec<_>>(), plan.cutter.as_ref().unwrap(), &sheet);
    (plan, sheet, job, findings.into_iter().map(|(_, finding)| finding).collect())
}

/// One blade-down stretch of an HPGL file, in mm, and its pen. A reader of its own: pen up, pen down, absolute.
fn strokes_of(hpgl: &str) -> Vec<(u32, Vec<Point>)> {
    let (mut pen, mut here, mut all) = (0, None, Vec::<(u32, Vec<Point>)>::new());
    for word in hpgl.split(';').map(str::trim).filter(|word| !word.is_empty()) {
        let (name, rest) = word.split_at(2);
        let numbers: Vec<f64> =
            rest.split(',').filter(|n| !n.is_empty()).map(|n| n.parse().unwrap()).collect();
        let points: Vec<Point> =
            numbers.chunks(2).filter(|c| c.len() == 2).map(|c| point(c[0] / 40.0, c[1] / 40.0)).collect();
        match name {
            "SP" => pen = numbers[0] as u32,
            "PU" => here = points.last().copied(),
            "PD" => {
                if let Some(from) = here.take() {
                    all.push((pen, vec![from]));
                }
                all.last_mut().unwrap().1.extend(points);
            }
            "IN" | "PA" | "VS" => {}
            other => panic!("unknown command {other}"),
        }
    }
    all
}

/// A blade that trails its holder like a castor: the tractrix, in steps so small that they do not matter.
struct Knife {
    holder: Point,
    facing: Vector,
}

impl Knife {
    /// Drags the holder along and gives where the tip has been.
    fn cut(&mut self, path: &[Point]) -> Vec<Point> {
        self.holder = path[0];
        let mut track = vec![self.holder - self.facing * OFFSET];
        for &to in &path[1..] {
            let way = to - self.holder;
            let steps = (way.length() / 1e-3).ceil().max(1.0);
            for _ in 0..steps as usize {
                let next = self.holder + way / steps;
                // The tip moves along the blade only: it stays at one distance and follows (midpoint rule).
                let tip = self.holder - self.facing * OFFSET;
                let middle = ((self.holder + (next - self.holder) / 2.0) - tip).normalize();
                let along = tip + middle * (next - self.holder).dot(middle);
                self.facing = (next - along).normalize();
                self.holder = next;
                track.push(next - self.facing * OFFSET);
            }
        }
        track
    }
}

/// Furthest that a track is off the lines, and that the lines are off the track, mm.
fn miss(tracks: &[Vec<Point>], design: &Region<Model>) -> [f64; 2] {
    let off = tracks.iter().flatten().step_by(31).map(|p| design.distance_to_edge(*p)).fold(0.0, f64::max);
    let cut = Region::<Model>::new(
        tracks.iter().map(|track| track.iter().copied().step_by(20).collect()).collect(),
    );
    // Points along the design, corners among them.
    let along = design.edges().flat_map(|(a, b)| {
        let count = ((b - a).length() / 0.5).ceil() as usize;
        (0..count.max(1)).map(move |k| a + (b - a) * (k as f64 / count.max(1) as f64))
    });
    let uncut = along.map(|p| cut.distance_to_edge(p)).fold(0.0, f64::max);
    [off, uncut]
}

/// The design's lines of one tool.
fn design(job: &Job, tool: Tool) -> Region<Model> {
    let runs = job.runs.iter().filter(|run| run.tool == tool);
    Region::new(
        runs.flat_map(|run| &run.strokes).filter(|s| s.closed).map(|s| s.line.flattened(5e-4)).collect(),
    )
}

#[test]
fn a_trailing_knife_that_starts_the_wrong_way_cuts_the_design() {
    let (_, _, job, findings) = a_job(Make::Mask, |_| {});
    assert_eq!(findings, []);
    let wanted = design(&job, Tool::Kiss);
    let kiss = job.runs.iter().find(|run| run.tool == Tool::Kiss).unwrap();
    let rounded: Vec<Vec<Point>> = strokes_of(&write::hpgl(&job))
        .into_iter()
        .filter(|(pen, _)| *pen == Tool::Kiss.pen())
        .map(|(_, path)| path)
        .collect();
    let exact: Vec<Vec<Point>> =
        std::iter::once(kiss.lead_in.clone()).chain(kiss.strokes.iter().map(|s| s.path.clone())).collect();
    assert_eq!(rounded.len(), exact.len());
    // Exactly backwards is where dragging alone never turns it.
    for start in [PI, PI * 0.999, 1.5] {
        for (paths, most) in [(&exact, 0.01), (&rounded, 0.025)] {
            let mut knife = Knife { holder: ORIGIN, facing: turned(Vector::new(1.0, 0.0), start) };
            let mut tracks: Vec<Vec<Point>> = paths.iter().map(|path| knife.cut(path)).collect();
            let lead_in = tracks.remove(0);
            let [off, uncut] = miss(&tracks, &wanted);
            assert!(off < most && uncut < most, "{start}: {off:.4} and {uncut:.4} mm, not {most}");
            // And the lead-in touches no film.
            let films = wanted.filled();
            assert!(lead_in.iter().all(|p| !films.contains(*p)));
        }
    }
    assert!(kiss.lead_in.windows(2).map(|p| (p[1] - p[0]).length()).sum::<f64>() >= 5.0 * OFFSET);
}

#[test]
fn without_compensation_the_same_knife_misses() {
    let (_, _, job, _) = a_job(Make::Mask, |plan| plan.cutter.as_mut().unwrap().offset = mm(0.0));
    let wanted = design(&job, Tool::Kiss);
    let kiss = job.runs.iter().find(|run| run.tool == Tool::Kiss).unwrap();
    assert!(kiss.lead_in.is_empty());
    let mut knife = Knife { holder: ORIGIN, facing: Vector::new(-1.0, 0.0) };
    let tracks: Vec<Vec<Point>> = kiss.strokes.iter().map(|s| knife.cut(&s.path)).collect();
    let [off, uncut] = miss(&tracks, &wanted);
    assert!(off > 0.05 && uncut > 0.05, "{off} {uncut}");
}

#[test]
fn the_simulated_blade_turns_as_theory_says() {
    // tan(ψ/2) = tan(ψ₀/2) e^(−s/e): from 90° one degree is left after 4.741 e (computed).
    let mut knife = Knife { holder: ORIGIN, facing: Vector::new(0.0, 1.0) };
    knife.cut(&[ORIGIN, point(4.741 * OFFSET, 0.0)]);
    let left = libm::atan2(knife.facing.y, knife.facing.x).to_degrees();
    assert!((left - 1.0).abs() < 1e-3, "{left}");
    for start in [2.9, 1.0, -2.0f64] {
        let mut knife = Knife { holder: ORIGIN, facing: turned(Vector::new(1.0, 0.0), start) };
        knife.cut(&[ORIGIN, point(0.6, 0.0)]);
        let psi = libm::atan2(knife.facing.y, knife.facing.x);
        let law = 2.0 * libm::atan(libm::tan(start / 2.0) * libm::exp(-0.6 / OFFSET));
        assert!((psi - law).abs() < 1e-5, "{psi} {law}");
    }
    // To cut radius r the holder runs at √(r² + e²).
    let spoke = |k: i32| turned(Vector::new(6.0, 0.0), TAU * f64::from(k) / 7200.0);
    let circle: Vec<Point> = (0..=7200).map(|k| ORIGIN + spoke(k)).collect();
    let mut facing = Vector::new(0.0, 1.0);
    let path = knife::holder::path(&circle, OFFSET, &mut facing);
    let far = libm::sqrt(libm::pow(6.0f64, 2.0) + libm::pow(OFFSET, 2.0));
    assert!(path.iter().all(|p| (p.to_vector().length() - far).abs() < 2e-4));
}

#[test]
fn no_line_is_cut_before_what_lies_inside_it_and_tools_keep_their_order() {
    let (_, sheet, job, _) = a_job(Make::Mask, |_| {});
    assert_eq!(job.runs.iter().map(|run| run.tool).collect::<Vec<_>>(), [Tool::Kiss, Tool::Weed]);
    let kiss = &job.runs[0].strokes;
    // A film outline and a window for each of the pieces on the sheet.
    assert_eq!(kiss.len(), 2 * sheet.pieces.len());
    let lines: Vec<Vec<Point>> = kiss.iter().map(|stroke| stroke.line.flattened(0.01)).collect();
    for (k, outer) in lines.iter().enumerate() {
        for inner in &lines[k + 1..] {
            assert!(!knife::order::holds(outer, inner[0]), "an outside was cut before its inside");
        }
    }
    // Weeding lines and border keep off all film.
    let films: Vec<Region<Model>> = sheet.outlines.iter().map(|outline| outline.flattened(0.01)).collect();
    for stroke in job.runs[1].strokes.iter().filter(|stroke| !stroke.closed) {
        let line = stroke.line.flattened(0.01);
        let count = 200;
        for k in 0..=count {
            let p = line[0] + (line[1] - line[0]) * (f64::from(k) / f64::from(count));
            assert!(films.iter().all(|film| !film.contains(p) && film.distance_to_edge(p) > 0.4));
        }
    }
    assert!(job.runs[1].strokes.len() > 2);
    // Decals are cut through their paper, or not.
    let (_, _, through, _) = a_job(Make::Decal, |_| {});
    assert_eq!(through.runs.iter().map(|run| run.tool).collect::<Vec<_>>(), [Tool::Through]);
    let (_, _, film_only, _) = a_job(Make::Decal, |plan| plan.cutter.as_mut().unwrap().through = false);
    assert_eq!(film_only.runs[0].tool, Tool::Kiss);
}

#[test]
fn closed_cuts_run_past_their_start_the_way_that_was_asked() {
    let (_, _, job, _) = a_job(Make::Mask, |plan| {
        let cutter = plan.cutter.as_mut().unwrap();
        (cutter.offset, cutter.overcut, cutter.weed) = (mm(0.0), mm(0.7), false);
    });
    for stroke in &job.runs[0].strokes {
        let length = |line: &[Point]| line.windows(2).map(|p| (p[1] - p[0]).length()).sum::<f64>();
        let round = stroke.line.flattened(0.002);
        let closed: Vec<Point> = round.iter().copied().chain([round[0]]).collect();
        assert!((length(&stroke.path) - length(&closed) - 0.7).abs() < 1e-9);
        assert!(stroke.line.signed_area() > 0.0);
    }
    let (_, _, job, _) = a_job(Make::Mask, |plan| plan.cutter.as_mut().unwrap().clockwise = true);
    assert!(job.runs[0].strokes.iter().all(|stroke| stroke.line.signed_area() < 0.0));
}

#[test]
fn what_the_machine_gets_wrong_is_undone_and_the_printer_does_not_enter() {
    // A machine that cuts 100 mm as 99.5 and 100.4 is told that much more and less.
    let (_, _, true_one, _) = a_job(Make::Mask, |_| {});
    let (_, _, told, _) = a_job(Make::Mask, |plan| {
        plan.cutter.as_mut().unwrap().measured = Size { width: mm(99.5), height: mm(100.4) };
    });
    let bounds = |job: &Job| design(job, Tool::Kiss).bounds();
    let (a, b) = (bounds(&true_one), bounds(&told));
    assert!((b.width() * 0.995 - a.width()).abs() < 2e-3 && (b.height() * 1.004 - a.height()).abs() < 2e-3);
    // Marks found shifted, turned and stretched: decals' lines go along, masks' stay.
    let shift = |p: Point| (turned(p.to_vector() * 1.003, 0.01) + Vector::new(3.0, 1.0)).to_point();
    let with_marks = |make| {
        a_job(make, |plan| {
            let found = plan.sheets.register_marks().map(shift);
            plan.cutter.as_mut().unwrap().marks = Some(found);
        })
        .2
    };
    let (_, _, plain, _) = a_job(Make::Decal, |_| {});
    let area = |job: &Job, tool| design(job, tool).area();
    let moved = with_marks(Make::Decal);
    let ratio = area(&moved, Tool::Through) / area(&plain, Tool::Through);
    assert!((ratio - libm::pow(1.003f64, 2.0)).abs() < 1e-4, "{ratio}");
    let centre = |job: &Job| {
        let rings = design(job, Tool::Through).rings;
        let sum = rings.iter().flatten().fold(Vector::zero(), |sum, p| sum + p.to_vector());
        (sum / rings.iter().map(Vec::len).sum::<usize>() as f64).to_point()
    };
    assert!((centre(&moved) - shift(centre(&plain))).length() < 0.5);
    assert_eq!(design(&with_marks(Make::Mask), Tool::Kiss), design(&true_one, Tool::Kiss));
}

#[test]
fn a_square_of_100_mm_is_100_mm_in_every_format() {
    let (mut plan, mut pieces) = (plan("Square", &[RED]), vec![]);
    add(
        &mut plan,
        &mut pieces,
        "square",
        &[Make::Decal],
        1,
        plain(0, Outline::rectangle(ORIGIN, 100.0, 100.0)),
    );
    plan.films.decal.border = mm(0.0);
    plan.cutter = Some(Cutter { overcut: mm(0.0), ..Cutter::default() });
    let sheet = on_sheets(&plan, &pieces).0.remove(0);
    let (job, _) =
        knife::job(&plan, &pieces.iter().collect::<Vec<_>>(), plan.cutter.as_ref().unwrap(), &sheet);
    let span = |values: &[f64]| {
        values.iter().copied().fold(f64::MIN, f64::max) - values.iter().copied().fold(f64::MAX, f64::min)
    };
    // HPGL: 40 units a millimetre.
    let plt = strokes_of(&write::hpgl(&job));
    assert_eq!(plt.len(), 1);
    let [x, y]: [Vec<f64>; 2] =
        [plt[0].1.iter().map(|p| p.x).collect(), plt[0].1.iter().map(|p| p.y).collect()];
    assert!((span(&x) - 100.0).abs() <= 0.025 && (span(&y) - 100.0).abs() <= 0.025);
    // DXF: pairs of group code and value; $INSUNITS 4 is millimetres.
    let dxf = write::dxf(&job, &["Square"]);
    let lines: Vec<&str> = dxf.lines().map(str::trim).collect();
    let pairs: Vec<(&str, &str)> = lines.chunks(2).map(|pair| (pair[0], pair[1])).collect();
    let units = pairs.iter().position(|pair| *pair == ("9", "$INSUNITS")).unwrap();
    assert_eq!(pairs[units + 1], ("70", "4"));
    let first = pairs.iter().position(|pair| *pair == ("0", "VERTEX")).unwrap();
    let value = |code: &str| {
        pairs[first..].iter().filter(|p| p.0 == code).map(|p| p.1.parse().unwrap()).collect::<Vec<f64>>()
    };
    assert_eq!(pairs[first..].iter().filter(|pair| **pair == ("0", "VERTEX")).count(), 4);
    assert!((span(&value("10")) - 100.0).abs() < 1e-5 && (span(&value("20")) - 100.0).abs() < 1e-5);
    // SVG: millimetres by width and viewBox; relative steps.
    let svg = write::cut_svg(&job, &["Square", "about"]);
    let read = roxmltree::Document::parse(&svg).unwrap();
    let root = read.root_element();
    assert_eq!((root.attribute("width"), root.attribute("viewBox")), (Some("210mm"), Some("0 0 210 297")));
    let d = read.descendants().find_map(|node| node.attribute("d")).unwrap();
    let steps: Vec<f64> = d
        .split(|c: char| c.is_ascii_alphabetic() || c == ' ')
        .filter(|n| !n.is_empty())
        .map(|n| n.parse().unwrap())
        .collect();
    let sides: Vec<f64> = steps[2..].iter().copied().filter(|n| n.abs() > 1e-6).map(f64::abs).collect();
    assert!(sides.len() >= 3 && sides.iter().all(|side| *side == 100.0), "{sides:?}");
}

#[test]
fn round_pieces_have_arcs_in_dxf() {
    let (_, _, job, _) = a_job(Make::Mask, |_| {});
    let dxf = write::dxf(&job, &[]);
    let bulges: Vec<f64> = dxf
        .lines()
        .collect::<Vec<_>>()
        .chunks(2)
        .filter(|pair| pair[0].trim() == "42")
        .map(|pair| pair[1].parse().unwrap())
        .collect();
    // A half turn at most in one stretch: tan(π/4) = 1, and a little for the sampling.
    assert!(bulges.len() >= 3 * 4 && bulges.iter().all(|b| b.abs() < 1.02), "{bulges:?}");
    assert!(dxf.lines().count() < 4000, "{} lines", dxf.lines().count());
}

/// Cautions stand at the head of what a person opens; every tool has a layer, a pen and a speed of its own.
#[test]
fn cut_files_have_cautions_layers_pens_and_an_estimate() {
    let (plan, _, job, _) = a_job(Make::Mask, |_| {});
    let head = write::cut_head(&plan.title, &[Scale::FULL], &job);
    let lines: Vec<&str> = head.iter().map(String::as_str).collect();
    let (svg, dxf, plt) = (write::cut_svg(&job, &lines), write::dxf(&job, &lines), write::hpgl(&job));
    for word in ["Blades cut", "cutting mat", "solvents", "spray", "makers' instructions", "ventilation"] {
        let before_lines = dxf.split("SECTION").next().unwrap();
        assert!(svg.contains(word) && before_lines.contains(word), "{word}");
    }
    let read = roxmltree::Document::parse(&svg).unwrap();
    let groups: Vec<&str> = read.descendants().filter_map(|node| node.attribute("id")).collect();
    assert_eq!(groups, ["kiss", "weed"]);
    for layer in ["register", "kiss", "weed", "through"] {
        assert!(dxf.contains(&format!("LAYER\n  2\n{layer}\n")), "{layer}");
    }
    // 30 mm in a second are 3 cm, which HPGL counts in.
    assert_eq!(plt.matches("SP2;VS3;").count() + plt.matches("SP3;VS3;").count(), 2);
    let (_, _, through, _) = a_job(Make::Decal, |_| {});
    assert!(write::hpgl(&through).contains("SP4;VS2;"), "half as fast through everything");
    // The estimate is the way of the paths themselves, at that speed, and a lift for each of them.
    let (mut ways, mut lifts, mut at) = ([0.0; 2], 0.0, ORIGIN);
    for run in &job.runs {
        let paths = std::iter::once(&run.lead_in).chain(run.strokes.iter().map(|stroke| &stroke.path));
        for path in paths {
            ways[0] += path.windows(2).map(|pair| (pair[1] - pair[0]).length()).sum::<f64>();
            ways[1] += (path[0] - at).length();
            (at, lifts) = (*path.last().unwrap(), lifts + 1.0);
        }
    }
    assert!((job.cut.to_mm() - ways[0]).abs() < 1e-9 && (job.travel.to_mm() - ways[1]).abs() < 1e-9);
    assert!((job.seconds - (ways[0] + ways[1]) / 30.0 - 0.15 * lifts).abs() < 1e-9);
}

#[test]
fn what_a_cutter_cannot_do_is_said_with_a_way_out() {
    let (_, _, _, findings) = a_job(Make::Mask, |plan| plan.cutter.as_mut().unwrap().offset = mm(1.2));
    let codes: Vec<Code> = findings.iter().map(|finding| finding.code).collect();
    // The bars are 2 mm wide; a blade 1.2 mm off its axis needs 2.4.
    assert!(codes.contains(&Code::Knife), "{findings:?}");
    assert!(findings.iter().any(|f| f.text.contains("a closed line 2 mm wide")), "{findings:?}");
    let (_, _, _, findings) = a_job(Make::Mask, |plan| {
        plan.cutter.as_mut().unwrap().mat = Some(Size { width: mm(30.0), height: mm(300.0) });
    });
    assert!(
        findings.iter().any(|f| f.code == Code::Mat && f.text.contains("36 × 8 mm with its film")),
        "{findings:?}"
    );
    assert!(findings.iter().any(|f| f.code == Code::Mat && f.text.contains("lies past")));
    // Rollers hold the lowest 30 mm; pieces lie from the margin on.
    let (_, _, _, findings) = a_job(Make::Mask, |plan| plan.cutter.as_mut().unwrap().feed = mm(30.0));
    let held =
        findings.iter().filter(|f| f.code == Code::Mat && f.help.contains("`margin` of at least `feed`"));
    assert!(held.count() > 0, "{findings:?}");
    assert!(findings.iter().all(|f| !f.help.is_empty()));
}

/// Slits that the sheet numbers are cut by the machine too, before the edge is.
#[test]
fn relief_slits_are_cut() {
    let text = "markloft: 1\nscales: [1/12]\ncolours: {red: \"#c8321e\"}\ncutter: {}\nparts:\n  \
         helmet: {shape: {ellipsoid: {length: 285 mm, width: 240 mm, height: 255 mm}}}\nmarkings:\n  \
         crown: {part: helmet, draw: {disc: {diameter: 200 mm}}, colour: red, at: {seen: top}, make: decal}\n";
    let at = &outcome_of(text).scales[0];
    let slits = at.pieces[0].fit.relief.as_ref().expect("it does not lie down whole").cuts.len();
    let tools: Vec<(Tool, usize)> = at.jobs[0].runs.iter().map(|run| (run.tool, run.strokes.len())).collect();
    assert!(tools.contains(&(Tool::Kiss, slits)) && tools.last() == Some(&(Tool::Through, 1)), "{tools:?}");
    // Where the edge is a kiss cut too, it comes after them.
    let at = &outcome_of(&text.replace("cutter: {}", "cutter: {decals: kiss}")).scales[0];
    let kiss = at.jobs[0].runs.iter().find(|run| run.tool == Tool::Kiss).unwrap();
    let closed: Vec<bool> = kiss.strokes.iter().map(|stroke| stroke.closed).collect();
    assert_eq!((closed.iter().position(|closed| *closed), closed.len()), (Some(slits), slits + 1));
}

// ---- Tape and the choice ----------------------------------------------------

fn outcome_of(text: &str) -> Outcome {
    let plan = batch::load_embedded("bench.yaml", text).unwrap_or_else(|error| panic!("{error:?}"));
    batch::work_out(plan, &batch::Choice::default()).unwrap()
}

fn spec(markings: &str, more: &str) -> String {
    format!(
        "markloft: 1\nscales: [1/48]\ncolours: {{red: \"#c8321e\", bone: \"#efe9dc\"}}\n{more}\nparts:\n  \
         door: {{shape: {{flat: {{width: 9 m, height: 6 m, face: left}}}}}}\n  \
         rod: {{shape: {{cylinder: {{diameter: 76 mm, length: 2.4 m}}}}}}\nmarkings:\n{markings}\n"
    )
}

const STOCK: &str = "films: {tape: {widths: [3 mm, 1 mm, 2 mm], trim: 4 mm}}";
const ON_DOOR: &str = "part: door, at: {seen: left, aft: 0 mm, up: 0 mm}, colour: red";
const ON_DOOR_IN_TWO: &str = "part: door, at: {seen: left, aft: 0 mm, up: 0 mm}, colours: [red, bone]";

#[test]
fn strips_have_stock_width_trim_and_count() {
    let text = spec(
        &format!(
            "  line: {{{ON_DOOR}, draw: {{stripe: {{width: 96 mm, length: 2.4 m}}}}, make: tape, copies: 3}}"
        ),
        STOCK,
    );
    let at = &outcome_of(&text).scales[0];
    let strip = &at.tape[0];
    assert_eq!((at.tape.len(), &strip.pieces[..]), (1, &[1, 2, 3][..]));
    assert!((strip.width.to_mm() - 2.0).abs() < 1e-12 && (strip.length.to_mm() - 50.0).abs() < 1e-9);
    assert!((strip.cut_length.to_mm() - 58.0).abs() < 1e-9);
    assert_eq!(strip.ends.map(|end| end.to_degrees().round()), [90.0, 90.0]);
    assert!(at.all_findings().all(|finding| finding.code != Code::NoTape));
    let page = at.sheets.iter().find(|sheet| sheet.make == Make::Tape).unwrap();
    // Drawn true to size: 58 × 2 mm.
    assert!((page.outlines[0].bounds().width() - 58.0).abs() < 1e-9);
    assert!((page.outlines[0].bounds().height() - 2.0).abs() < 1e-9);
}

/// Widths × how many a piece takes, and what they make together.
fn laid(at: &ScaleOutcome) -> Vec<([f64; 2], u32)> {
    let round = |length: Length<Model>| (length.to_mm() * 1e6).round() / 1e6;
    at.tape.iter().map(|strip| ([round(strip.width), round(strip.together)], strip.each)).collect()
}

#[test]
fn what_no_roll_is_wide_enough_for_is_laid_side_by_side_in_as_few_strips_as_may_be() {
    let stripe = |width: &str, more: &str| {
        let draw = format!("draw: {{stripe: {{width: {width}, length: 2.4 m}}}}");
        outcome_of(&spec(&format!("  line: {{{ON_DOOR}, {draw}, make: tape{more}}}"), STOCK))
    };
    // In stock are 1, 2 and 3 mm: 6 mm is 3 + 3, 8 mm is 3 + 3 + 2, never 2 + 2 + 2 + 2.
    let six = stripe("288 mm", ", copies: 2");
    assert_eq!(laid(&six.scales[0]), [([3.0, 6.0], 2)]);
    assert_eq!(six.scales[0].tape[0].count(), 4);
    let eight = stripe("384 mm", "");
    assert_eq!(laid(&eight.scales[0]), [([3.0, 8.0], 2), ([2.0, 8.0], 1)]);
    assert!(eight.scales[0].all_findings().all(|finding| finding.code != Code::NoTape));
    let csv = write::tape_csv(&eight.plan, &eight.scales[0].tape);
    assert!(csv.contains("1,line,stripe,red,8,3,0,50,58,2,90,90,,,,,,2,8\r\n"), "{csv}");
    assert!(csv.contains("1,line,stripe,red,8,2,0,50,58,1,90,90,,,,,,1,8\r\n"), "{csv}");
    // Six of the widest are 18 mm; past that the nearest single one is told.
    let wide = stripe("960 mm", "");
    assert_eq!(laid(&wide.scales[0]), [([3.0, 3.0], 1)]);
    let told = wide.scales[0].all_findings().find(|finding| finding.code == Code::NoTape).unwrap();
    assert!(told.text.contains("3 mm is 17 mm too narrow"), "{}", told.text);
    // Along a quarter of a circle to the left the inner strip is shorter by π/2 of the way between them.
    let bent = outcome_of(&spec(
        "  line: {part: door, colour: red, make: tape, draw: {stripe: {width: 288 mm, length: 2.4 m}}, \
         lay: {follow: {line: {seen: left, points: [[-1.5 m, -1.5 m], [0.9 m, -1.5 m], [0.9 m, 1.5 m]], radius: 1 m}}}}",
        STOCK,
    ));
    let strips = &bent.scales[0].tape;
    assert_eq!(laid(&bent.scales[0]), [([3.0, 6.0], 1), ([3.0, 6.0], 1)]);
    let [outer, inner] = [0, 1].map(|k: usize| strips[k].length.to_mm());
    let whole = turned_on(&bent.scales[0].pieces[0].fit.spine);
    assert!(whole > 0.5 && whole <= PI / 2.0 + 1e-6, "{whole}");
    assert!((outer - inner - 3.0 * whole).abs() < 1e-2, "{outer} {inner} {whole}");
    assert!(((outer + inner) / 2.0 - 50.0).abs() < 1e-3);
}

/// The turn from a line's first stretch to its last.
fn turned_on(line: &[Point]) -> f64 {
    let [from, to] = [line[1] - line[0], line[line.len() - 1] - line[line.len() - 2]];
    libm::atan2(from.cross(to), from.dot(to))
}

#[test]
fn of_checks_tape_makes_the_border_or_else_the_edges() {
    let checks = |border: &str| {
        let draw = "draw: {checks: {square: 240 mm, rows: 2, columns: 5}}";
        let on_door = ON_DOOR_IN_TWO;
        outcome_of(&spec(&format!("  checks: {{{on_door}, {draw}, make: tape{border}}}"), STOCK))
    };
    let found = |outcome: &Outcome| -> Vec<(String, [f64; 2])> {
        let strip = |strip: &Strip| (strip.what.clone(), [strip.width.to_mm(), strip.length.to_mm()]);
        outcome.scales[0].tape.iter().map(strip).collect()
    };
    let near = |outcome: &Outcome, what: &str, wanted: [[f64; 2]; 4]| {
        let found = found(outcome);
        assert_eq!(found.len(), 4, "{found:?}");
        for ((name, sizes), wanted) in found.iter().zip(wanted) {
            let off = (sizes[0] - wanted[0]).abs().max((sizes[1] - wanted[1]).abs());
            assert!(name == what && off < 1e-9, "{name} {sizes:?} {wanted:?}");
        }
    };
    // A field of 25 × 10 mm at 1/48; with a border of 2 mm 29 × 14 mm, its ends between its sides.
    near(&checks(""), "edge", [[1.0, 25.0], [1.0, 25.0], [1.0, 10.0], [1.0, 10.0]]);
    let wide = [[2.0, 29.0], [2.0, 29.0], [2.0, 10.0], [2.0, 10.0]];
    near(&checks(", border: {width: 96 mm, colour: bone}"), "border", wide);
    near(&checks(", border: {share: 20 %, colour: bone}"), "border", wide);
    let bone = ColourId(1);
    let with = checks(", border: {width: 96 mm, colour: bone}");
    assert!(with.scales[0].tape.iter().all(|strip| strip.colour == Some(bone)));
}

#[test]
fn a_width_that_is_not_stocked_is_told_with_the_nearest_ones() {
    let text = spec(
        &format!("  line: {{{ON_DOOR}, draw: {{stripe: {{width: 120 mm, length: 2 m}}}}, make: tape}}"),
        STOCK,
    );
    let outcome = outcome_of(&text);
    let finding = outcome.scales[0].all_findings().find(|finding| finding.code == Code::NoTape).unwrap();
    // 120 mm is 2.5 mm at 1/48: half a millimetre, 24 mm at full size, from both neighbours.
    assert!(finding.text.contains("2 mm is 0.5 mm too narrow (24 mm at full size)"), "{}", finding.text);
    assert!(finding.text.contains("3 mm is 0.5 mm too wide (24 mm at full size)"), "{}", finding.text);
}

#[test]
fn a_band_takes_one_strip_a_colour_each_as_long_as_it_lies() {
    let text = spec(
        "  band: {part: rod, draw: {band: {widths: [48 mm, 96 mm]}}, colours: [red, bone], make: tape, lay: {follow: {ring: {station: 1 m}}}}",
        STOCK,
    );
    let at = &outcome_of(&text).scales[0];
    let girth = PI * 76.0 / 48.0;
    let found: Vec<[f64; 2]> =
        at.tape.iter().map(|strip| [strip.width.to_mm(), strip.length.to_mm()]).collect();
    assert_eq!(found.len(), 2);
    for (found, width) in found.iter().zip([1.0, 2.0]) {
        assert!((found[0] - width).abs() < 1e-9 && (found[1] - girth).abs() < 1e-6, "{found:?}");
    }
}

#[test]
fn a_helix_has_the_figures_of_the_unrolled_rod() {
    let text = spec(
        "  spiral: {part: rod, draw: {stripe: {width: 48 mm, length: 1.5 m}}, colour: red, make: tape, at: {station: 1.2 m, around: top}, lay: {follow: {helix: {pitch: 120 mm}}}}",
        STOCK,
    );
    let outcome = outcome_of(&text);
    let strip = &outcome.scales[0].tape[0];
    let turns = strip.helix.unwrap();
    let (d, pitch, w) = (76.0 / 48.0, 120.0 / 48.0, 1.0);
    let girth = PI * d;
    assert!((turns.pitch.to_mm() - pitch).abs() < 1e-9);
    assert!((turns.rise.to_radians() - libm::atan(pitch / girth)).abs() < 1e-12);
    assert!((turns.turns - 1500.0 / 48.0 / libm::hypot(pitch, girth)).abs() < 1e-6);
    assert!((turns.gap.to_mm() - (pitch * girth / libm::hypot(pitch, girth) - w)).abs() < 1e-12);
    let equal = turns.equal_pitch.unwrap().to_mm();
    assert!((equal - 2.0 * w / libm::sqrt(1.0 - libm::pow(2.0 * w / girth, 2.0))).abs() < 1e-12);
    let csv = write::tape_csv(&outcome.plan, &outcome.scales[0].tape);
    assert!(csv.contains("1,spiral,stripe,red,1,1,0,31.25,39.25,1,90,90,2.5,26.7,"), "{csv}");
}

#[test]
fn what_is_left_open_is_chosen_and_the_reason_given() {
    let text = spec(
        &format!(
            "  line: {{{ON_DOOR}, draw: {{stripe: {{width: 96 mm, length: 2 m}}}}}}\n  \
             odd: {{{ON_DOOR}, draw: {{stripe: {{width: 130 mm, length: 2 m}}}}}}\n  \
             wall: {{{ON_DOOR}, draw: {{rectangle: {{width: 4 m, height: 4 m}}}}}}\n  \
             asked: {{{ON_DOOR}, draw: {{disc: {{diameter: 1 m}}}}, make: mask}}"
        ),
        STOCK,
    );
    let outcome = outcome_of(&text);
    let pieces = &outcome.scales[0].pieces;
    let makes: Vec<Make> = pieces.iter().map(|piece| piece.make).collect();
    assert_eq!(makes, [Make::Tape, Make::Decal, Make::Mask, Make::Mask]);
    let note = |k: usize| pieces[k].findings.iter().find(|finding| finding.code == Code::Make);
    assert!(note(0).unwrap().text.contains("2 mm is a width in stock"));
    assert!(note(2).unwrap().text.contains("better painted"));
    assert!(note(3).is_none());
    assert_eq!(note(1).unwrap().severity, Severity::Note);
}

#[test]
fn what_is_wrong_in_the_spec_is_told_with_its_place() {
    let line = |make: &str| {
        format!("  line: {{{ON_DOOR}, draw: {{stripe: {{width: 96 mm, length: 2 m}}}}, make: {make}}}")
    };
    let disc = format!("  disc: {{{ON_DOOR}, draw: {{disc: {{diameter: 1 m}}}}, make: tape}}");
    for (markings, more, wanted) in [
        (line("tape"), "", "no tape is in stock"),
        (line("tape"), "films: {tape: {widths: []}}", "the list is empty"),
        (line("tape"), "films: {tape: {widths: [2 mm, 2 mm]}}", "2 mm is listed twice"),
        (line("tape"), "films: {tape: {widths: [0 mm]}}", "tape is not 0 mm wide"),
        (disc, STOCK, "tape cannot do this drawing"),
        (
            format!(
                "  bar: {{{ON_DOOR}, draw: {{rectangle: {{width: 1 m, height: 96 mm}}}}, make: tape, border: {{width: 48 mm, corner: round}}}}"
            ),
            STOCK,
            "tape goes round no corner",
        ),
        (
            format!(
                "  disc: {{{ON_DOOR}, draw: {{disc: {{diameter: 1 m}}}}, make: decal, piece: {{tab: 4 mm}}}}"
            ),
            "",
            "only a mask has a tab",
        ),
        (
            format!(
                "  disc: {{{ON_DOOR}, draw: {{disc: {{diameter: 1 m}}}}, make: mask, piece: {{tab: 30 mm}}}}"
            ),
            "",
            "a tab of 30 mm",
        ),
        (line("mask"), "spray: {order: [red, blue]}", "no colour is called"),
        (line("mask"), "spray: {order: [red, red]}", "`red` is listed twice"),
        (line("mask"), "spray: {film: windo}", "unknown word `windo`"),
        (line("mask"), "cutter: {offset: 5 mm}", "5 mm is no offset of a drag knife"),
        (line("mask"), "cutter: {speed: 0 mm}", "a size cannot be zero"),
        (
            line("mask"),
            "cutter: {mat: {width: 300 mm, height: 20 mm}, feed: 12 mm}",
            "nothing is left of a mat",
        ),
        (line("mask"), "cutter: {measured: {across: 50 mm}}", "a square of 100 mm is cut as 50 mm"),
        (line("mask"), "cutter: {marks: [[1 mm, 1 mm], [200 mm, 1 mm]]}", "2 marks"),
        (
            line("mask"),
            "cutter: {marks: [[1 mm, 1 mm], [200 mm, 1 mm], [90 mm, 1 mm]]}",
            "do not span a sheet",
        ),
    ] {
        let Err(batch::Failure::Spec(problems)) = batch::load_embedded("bench.yaml", &spec(&markings, more))
        else {
            panic!("{more} was taken");
        };
        let told: Vec<String> = problems.iter().map(|problem| format!("{problem}")).collect();
        assert!(told.iter().any(|text| text.contains(wanted)), "{more}: {told:?}");
    }
}

/// Six mistakes of a bench: each is told with a way out, and gone once that is taken.
#[test]
fn what_is_wrong_on_the_bench_is_cured_as_it_says() {
    let line = |width: &str, make: &str| {
        format!("  line: {{{ON_DOOR}, draw: {{stripe: {{width: {width}, length: 2 m}}}}, make: {make}}}")
    };
    let mask = line("96 mm", "mask");
    for (more, message, help, cure) in [
        ("spray: {order: [red, blue]}", "no colour is called `blue`", "known here", "spray: {order: [red]}"),
        (
            "spray: {order: [red, bone]}",
            "`bone` is sprayed through no mask",
            "take it out of `order`",
            "spray: {order: [red]}",
        ),
    ] {
        let read = |more: &str| batch::load_embedded("bench.yaml", &spec(&mask, more));
        let Err(batch::Failure::Spec(problems)) = read(more) else { panic!("{more} was taken") };
        assert_eq!(problems.len(), 1, "{problems:#?}");
        assert!(problems[0].message.contains(message), "{}", problems[0].message);
        assert!(problems[0].help.contains(help), "{}", problems[0].help);
        assert_eq!(problems[0].place.to_string(), "bench.yaml:4:22", "the second colour of the order");
        assert!(read(cure).is_ok(), "{cure}");
    }
    let tape = line("96 mm", "tape");
    for more in ["", "films: {tape: {widths: []}}"] {
        let Err(batch::Failure::Spec(problems)) = batch::load_embedded("bench.yaml", &spec(&tape, more))
        else {
            panic!("{more} was taken")
        };
        let cure = "films: {tape: {widths: [1 mm, 2 mm, 3 mm]}}";
        assert!(problems.iter().any(|problem| problem.help.contains(cure)), "{problems:#?}");
        assert!(batch::load_embedded("bench.yaml", &spec(&tape, cure)).is_ok());
    }
    let disc = format!("  disc: {{{ON_DOOR}, draw: {{disc: {{diameter: 40 mm}}}}, make: mask}}");
    let page = "sheets: {page: {width: 100 mm, height: 100 mm}}\ncutter: ";
    for (code, [markings, more], help, [cured, with]) in [
        // A hole of 0.83 mm for a blade 0.5 mm off its axis.
        (
            Code::Knife,
            [disc.as_str(), "cutter: {offset: 0.5 mm}"],
            "a blade of smaller offset",
            [disc.as_str(), "cutter: {offset: 0.3 mm}"],
        ),
        // 0.25 mm, where a knife cuts 0.4 mm: 19.2 mm at full size.
        (
            Code::FineLine,
            [&line("12 mm", "mask"), ""],
            "widen it to 19.2 mm at full size",
            [&line("19.2 mm", "mask"), ""],
        ),
        // 47.7 × 8 mm with its film.
        (
            Code::Mat,
            [&mask, &format!("{page}{{mat: {{width: 30 mm, height: 30 mm}}}}")],
            "shorter sections",
            [&mask.replace("2 m}", "50 cm}"), &format!("{page}{{mat: {{width: 100 mm, height: 100 mm}}}}")],
        ),
    ] {
        let found = outcome_of(&spec(markings, more));
        let finding = found.scales[0].all_findings().find(|finding| finding.code == code);
        let finding = finding.unwrap_or_else(|| panic!("{code:?} of {markings} {more}"));
        assert!(finding.help.contains(help), "{}", finding.help);
        let found = outcome_of(&spec(cured, with));
        assert_eq!(found.scales[0].all_findings().find(|finding| finding.code == code), None);
    }
}

#[test]
fn a_window_narrower_than_the_knife_can_cut_is_told() {
    let text = spec(
        &format!("  line: {{{ON_DOOR}, draw: {{stripe: {{width: 12 mm, length: 2 m}}}}, make: mask}}"),
        "",
    );
    let outcome = outcome_of(&text);
    let fine = outcome.scales[0].all_findings().find(|finding| finding.code == Code::FineLine).unwrap();
    assert!(fine.text.contains("0.25 mm is finer than the 0.4 mm"), "{}", fine.text);
}

/// A boat with masks in an order, taped and cut: the report lists what lies in the folder, and nothing is wrong with it.
#[test]
fn the_report_lists_what_is_cut_and_taped() {
    let out = tempfile::tempdir().unwrap();
    let mut command = assert_cmd::Command::cargo_bin("markloft").unwrap();
    command.args(["make", "specs/rescue-boat.yaml", "--strict", "--dpi", "60", "--out"]).arg(out.path());
    command.assert().success();
    let home = out.path().join("rescue-boat");
    let report = std::fs::read_to_string(home.join("report.json")).unwrap();
    let report: serde_json::Value = serde_json::from_str(&report).unwrap();
    let summary = &report["summary"];
    assert_eq!((&summary["errors"], &summary["warnings"]), (&0.into(), &0.into()), "{report:#}");
    let words = |value: &serde_json::Value| -> Vec<String> {
        value.as_array().unwrap().iter().map(|word| word.as_str().unwrap().to_owned()).collect()
    };
    // Both scales share their sheets of film.
    let of = |make: &str| {
        let sheets = report["together"]["sheets"].as_array().unwrap().iter();
        sheets.filter(|sheet| sheet["make"] == make).cloned().collect::<Vec<_>>()
    };
    let order: Vec<String> =
        of("mask").iter().map(|sheet| sheet["colour"].as_str().unwrap().to_owned()).collect();
    assert_eq!(order, ["bone", "rescue-red", "tarn-blue"]);
    // Each is cut, in three files that are there.
    let cuts = report["together"]["cuts"].as_array().unwrap();
    assert_eq!(cuts.len(), of("mask").len() + of("decal").len());
    for cut in cuts {
        assert!(home.join(cut["sheet"].as_str().unwrap()).is_file());
        let files = words(&cut["files"]);
        assert!(files.len() == 3 && files.iter().all(|file| home.join(file).is_file()), "{files:?}");
        assert!(cut["cut_mm"].as_f64().unwrap() > 10.0 && cut["seconds"].as_f64().unwrap() > 1.0);
    }
    for at in report["scales"].as_array().unwrap() {
        // The hull's line is 24 cm: 5 or 10 mm, laid side by side from rolls of 1, 2 and 3 mm.
        let tape = &at["tape"];
        let listed = std::fs::read_to_string(home.join(tape["file"].as_str().unwrap())).unwrap();
        let strips = tape["strips"].as_array().unwrap();
        assert_eq!(listed.lines().count(), strips.len() + 1);
        let line: f64 = strips
            .iter()
            .filter(|strip| strip["marking"] == "hull-line")
            .map(|strip| strip["width_mm"].as_f64().unwrap() * strip["side_by_side"].as_f64().unwrap())
            .sum();
        let scale: f64 = at["scale"].as_str().unwrap()[2..].parse().unwrap();
        assert!((line - 240.0 / scale).abs() < 1e-9, "{line}");
        let wound = strips.iter().find(|strip| strip["marking"] == "mast-wrap").unwrap();
        let helix = &wound["helix"];
        let equal = helix["equal_pitch_mm"].as_f64().unwrap() / helix["pitch_mm"].as_f64().unwrap();
        assert!((equal - 1.0).abs() < 2e-3, "as much bare as taped: {helix}");
    }
}
