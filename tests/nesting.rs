//! Nesting measured from outside: open instances of strip packing, and layouts checked by
//! this file's own geometry.

use markloft::flow::Turning;
use markloft::outline::{Outline, Point, Region, point, turned};
use markloft::sheet::layout::{Footprint, Layout, Placement, Room, Rows};
use markloft::sheet::nest::{Nest, strip};
use markloft::units::{Angle, Model};
use proptest::prelude::*;

/// An ESICUP instance: its pieces, one for each that is wanted, and the strip's width.
fn instance(name: &str) -> (Vec<Footprint>, f64) {
    let path = format!("{}/tests/data/nesting/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let read: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let mut items = Vec::new();
    for item in read["items"].as_array().unwrap() {
        let corner = |p: &serde_json::Value| point(p[0].as_f64().unwrap(), p[1].as_f64().unwrap());
        let ring: Vec<Point> = item["shape"]["data"].as_array().unwrap().iter().map(corner).collect();
        let turns = match item["allowed_orientations"].as_array().unwrap().len() {
            1 => Turning::Fixed,
            2 => Turning::Steps(Angle::degrees(180.0)),
            _ => Turning::Steps(Angle::degrees(90.0)),
        };
        // Ours runs down the sheet, theirs to the right: everything is turned by a quarter.
        let quarter = |p: Point| point(-p.y, p.x);
        let area = Region::<Model>::new(vec![ring.into_iter().map(quarter).collect()]).cleaned();
        let copies = item["demand"].as_u64().unwrap() as usize;
        items.extend(std::iter::repeat_n(Footprint { area, turns, rank: 0 }, copies));
    }
    (items, read["strip_height"].as_f64().unwrap())
}

fn laid(item: &Footprint, place: &Placement) -> Region<Model> {
    let (radians, step) = (place.turn.to_radians(), place.step);
    let ring =
        |ring: &Vec<Point>| ring.iter().map(|p| (turned(p.to_vector(), radians) + step).to_point()).collect();
    Region::new(item.area.rings.iter().map(ring).collect())
}

/// Area on which two pieces of one sheet lie over each other, all pairs, mm².
fn overlap(items: &[Footprint], places: &[Placement]) -> f64 {
    let all: Vec<_> =
        items.iter().zip(places).map(|(item, place)| (place.sheet, laid(item, place))).collect();
    let mut sum = 0.0;
    for (k, (sheet, a)) in all.iter().enumerate() {
        for (_, b) in
            all[..k].iter().filter(|(other, b)| other == sheet && a.bounds().intersects(&b.bounds()))
        {
            sum += a.intersection(b).area();
        }
    }
    sum
}

/// Least way between two areas of one sheet, mm; 0 where they overlap.
fn gap(a: &Region<Model>, b: &Region<Model>) -> f64 {
    if a.intersection(b).area() > 1e-9 {
        return 0.0;
    }
    let to = |p: &Point, other: &Region<Model>| other.distance_to_edge(*p);
    let ends = a.rings.iter().flatten().map(|p| to(p, b)).chain(b.rings.iter().flatten().map(|p| to(p, a)));
    ends.fold(f64::INFINITY, f64::min)
}

fn room(width: f64, height: f64, spacing: f64) -> Room {
    Room { width, height, spacing, used: Region::empty() }
}

fn piece(outline: &Outline<Model>) -> Footprint {
    Footprint {
        area: outline.flattened(0.01).cleaned(),
        turns: Turning::Steps(Angle::degrees(90.0)),
        rank: 0,
    }
}

fn polygon(corners: &[[f64; 2]]) -> Footprint {
    piece(&Outline::polygon(&corners.iter().map(|&[x, y]| point(x, y)).collect::<Vec<_>>()))
}

/// All inside, all apart by the spacing, no sheet empty; the number of sheets.
fn sound(items: &[Footprint], places: &[Option<Placement>], room: &Room) -> usize {
    assert_eq!(places.len(), items.len());
    let all: Vec<_> = items
        .iter()
        .zip(places)
        .map(|(item, place)| {
            let place = place.expect("every piece has a place");
            (place.sheet, laid(item, &place))
        })
        .collect();
    for (k, (sheet, a)) in all.iter().enumerate() {
        let bounds = a.bounds();
        assert!(bounds.min.x > -1e-6 && bounds.max.x < room.width + 1e-6, "{bounds:?}");
        assert!(bounds.min.y > -1e-6 && bounds.max.y < room.height + 1e-6, "{bounds:?}");
        if *sheet == 0 && !room.used.is_empty() {
            assert!(gap(a, &room.used) > room.spacing - 1e-5);
        }
        let near = bounds.inflate(room.spacing, room.spacing);
        for (_, b) in all[..k].iter().filter(|(other, b)| other == sheet && near.intersects(&b.bounds())) {
            assert!(gap(a, b) > room.spacing - 1e-5, "{} on sheet {sheet}", gap(a, b));
        }
    }
    let sheets = all.iter().map(|(sheet, _)| sheet + 1).max().unwrap_or(0);
    let first = usize::from(!room.used.is_empty());
    assert!((first..sheets).all(|sheet| all.iter().any(|(on, _)| *on == sheet)), "an empty sheet");
    sheets
}

#[test]
fn open_instances_reach_nine_tenths_of_the_best_density_known() {
    // ESICUP, CC0; best densities of the first three: Gardeyn, Vanden Berghe, Wauters, arXiv 2509.13329; of the
    // others: Elkeran, European Journal of Operational Research 231 (2013), from memory.
    let reached = [
        ("swim", 0.7983),
        ("shapes0", 0.6998),
        ("albano", 0.8982),
        ("dagli", 0.8951),
        ("fu", 0.9241),
        ("jakobs1", 0.8909),
        ("mao", 0.8544),
    ]
    .map(|(name, best)| {
        let (items, width) = instance(name);
        let (length, places) = strip(&items, width, 400_000);
        let area: f64 = items.iter().map(|item| item.area.area()).sum();
        assert!(overlap(&items, &places) < 1e-9 * area);
        let hair = 1e-9 * width;
        for (item, place) in items.iter().zip(&places) {
            let bounds = laid(item, place).bounds();
            assert!(bounds.min.x > -hair && bounds.max.x < width + hair, "{name} {bounds:?}");
            assert!(bounds.max.y < hair && bounds.min.y > -length - hair, "{name} {bounds:?}");
        }
        let density = area / (length * width);
        println!("{name}: {density:.4}, {:.3} of the best known", density / best);
        (name, density / best)
    });
    for (name, share) in reached {
        assert!(share >= 0.9, "{name}: {share}");
    }
}

#[test]
fn sixty_pieces_that_fill_three_quarters_of_a_page_go_on_one() {
    // Cut from strips without waste: 60 rectangles, right triangles and L's.
    let mut items = Vec::new();
    for k in 0..20 {
        let (w, h) = (24.0 + f64::from(k % 5) * 2.0, 20.0 + f64::from(k % 4) * 4.0);
        items.push(polygon(&[[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]));
        items.push(polygon(&[[0.0, 0.0], [w * 1.2, 0.0], [0.0, h * 1.2]]));
        items.push(polygon(&[
            [0.0, 0.0],
            [w, 0.0],
            [w, h / 2.0],
            [w / 2.0, h / 2.0],
            [w / 2.0, h],
            [0.0, h],
        ]));
    }
    let area: f64 = items.iter().map(|item| item.area.area()).sum();
    // A page in the shape of A4 of which they are three quarters.
    let width = (area / 0.75 / std::f64::consts::SQRT_2).sqrt();
    let page = room(width, width * std::f64::consts::SQRT_2, 0.0);
    let by_rows = Rows.place(&items, &page).iter().flatten().map(|p| p.sheet + 1).max().unwrap();
    assert!(by_rows > 1);
    let places = Nest::default().place(&items, &page);
    assert_eq!(sound(&items, &places, &page), 1);
}

#[test]
fn small_pieces_go_into_the_holes_of_large_ones() {
    let ring = piece(&Outline::ring(point(0.0, 0.0), 40.0, 49.0));
    let disc = piece(&Outline::circle(point(0.0, 0.0), 30.0));
    // The ring takes the page, the disc 60 of the 80 in it.
    let page = room(100.0, 100.0, 2.0);
    let items = [disc, ring];
    assert_eq!(sound(&items, &Rows.place(&items, &page), &page), 2);
    assert_eq!(sound(&items, &Nest::default().place(&items, &page), &page), 1);
}

#[test]
fn turns_are_those_allowed() {
    let flag = |turns| Footprint { turns, ..polygon(&[[0.0, 0.0], [40.0, 0.0], [0.0, 25.0]]) };
    let page = room(110.0, 110.0, 1.0);
    let degrees = |turns| -> Vec<f64> {
        let items = vec![flag(turns); 8];
        let places = Nest::default().place(&items, &page);
        sound(&items, &places, &page);
        places.iter().map(|place| place.unwrap().turn.to_degrees()).collect()
    };
    assert!(degrees(Turning::Fixed).iter().all(|&d| d == 0.0));
    let by_half = degrees(Turning::Steps(Angle::degrees(180.0)));
    assert!(by_half.iter().all(|&d| d == 0.0 || (d - 180.0).abs() < 1e-9), "{by_half:?}");
    assert!(degrees(Turning::Free).iter().all(|&d| (d / 5.0 - (d / 5.0).round()).abs() < 1e-9));
    // A long piece that may not be turned has no place on a narrow page, whatever the slant would do.
    let long = |turns| Footprint { turns, ..polygon(&[[0.0, 0.0], [120.0, 0.0], [120.0, 3.0], [0.0, 3.0]]) };
    assert_eq!(Nest::default().place(&[long(Turning::Fixed)], &page), [None]);
    assert!(Nest::default().place(&[long(Turning::Readable)], &page)[0].is_some());
}

#[test]
fn what_has_priority_is_on_the_first_sheet() {
    let square = |rank| Footprint { rank, ..polygon(&[[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]]) };
    // Four to a page.
    let page = room(85.0, 85.0, 2.0);
    let ranks = [0, 0, 5, 0, -1, 5, 0, 5, 0];
    let items = ranks.map(square);
    for layout in [&Nest::default() as &dyn Layout, &Rows] {
        let places = layout.place(&items, &page);
        assert_eq!(sound(&items, &places, &page), 3);
        let sheets: Vec<_> = places.iter().map(|place| place.unwrap().sheet).collect();
        assert_eq!([sheets[2], sheets[5], sheets[7]], [0; 3]);
        assert_eq!(sheets[4], 2, "what ranks lowest comes last");
    }
}

#[test]
fn a_partly_used_sheet_is_used_up_first() {
    let square = polygon(&[[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]]);
    let used = Outline::<Model>::rectangle(point(40.0, 75.0), 100.0, 60.0).flattened(0.1);
    let page = Room { used, ..room(100.0, 100.0, 2.0) };
    // Two below what is gone; the third needs another sheet.
    let items = vec![square; 3];
    let places = Nest::default().place(&items, &page);
    assert_eq!(sound(&items, &places, &page), 2);
    assert_eq!(places.iter().filter(|place| place.unwrap().sheet == 0).count(), 2);
    // One with nothing left is passed over.
    let gone = Outline::<Model>::rectangle(point(50.0, 50.0), 100.0, 100.0).flattened(0.1);
    let page = Room { used: gone, ..page };
    let places = Nest::default().place(&items, &page);
    sound(&items, &places, &page);
    assert!(places.iter().all(|place| place.unwrap().sheet > 0));
}

#[test]
fn five_hundred_pieces_over_many_sheets_take_fewer_than_rows_do() {
    let mut items = Vec::new();
    for k in 0..500u32 {
        let size = 14.0 + f64::from(k * 7 % 23);
        let (x, y) = (size, size * (0.5 + f64::from(k % 5) * 0.2));
        items.push(match k % 3 {
            0 => polygon(&[[0.0, 0.0], [x, 0.0], [0.0, y]]),
            1 => polygon(&[[0.0, 0.0], [x, 0.0], [x, y * 0.3], [x * 0.3, y * 0.3], [x * 0.3, y], [0.0, y]]),
            _ => piece(&Outline::circle(point(3.0, -2.0), size * 0.45)),
        });
    }
    let page = room(194.0, 265.0, 2.0);
    let by_rows = sound(&items, &Rows.place(&items, &page), &page);
    let nested = sound(&items, &Nest::default().place(&items, &page), &page);
    println!("{by_rows} sheets in rows, {nested} nested");
    assert!(nested < by_rows, "{nested} {by_rows}");
}

#[test]
fn more_effort_never_takes_more_and_the_same_effort_the_same() {
    let items: Vec<_> = (0..24)
        .map(|k| {
            let size = 20.0 + f64::from(k % 6) * 6.0;
            polygon(&[[0.0, 0.0], [size, 0.0], [size * 0.2, size * 0.9]])
        })
        .collect();
    let page = room(120.0, 170.0, 1.0);
    let sheets = [0, 1, 4].map(|effort| sound(&items, &Nest { effort }.place(&items, &page), &page));
    assert!(sheets[0] >= sheets[1] && sheets[1] >= sheets[2], "{sheets:?}");
    assert_eq!(Nest::default().place(&items, &page), Nest::default().place(&items, &page));
}

#[test]
fn rooms_and_spacings_that_make_no_sense_hold_what_they_can() {
    let square = polygon(&[[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]]);
    let items = vec![square; 3];
    assert_eq!(Nest::default().place(&items, &room(-5.0, 0.0, 2.0)), [None; 3]);
    assert_eq!(Nest::default().place(&[], &room(100.0, 100.0, 2.0)), []);
    // A spacing wider than the page: one piece to a sheet.
    let page = room(100.0, 100.0, 500.0);
    assert_eq!(sound(&items, &Nest::default().place(&items, &page), &page), 3);
    let exact = room(40.0, 40.0, 0.0);
    assert_eq!(sound(&items, &Nest::default().place(&items, &exact), &exact), 3);
}

fn any_piece() -> impl Strategy<Value = (Footprint, usize)> {
    let turns = prop_oneof![
        Just(Turning::Readable),
        Just(Turning::Fixed),
        Just(Turning::Free),
        Just(Turning::Steps(Angle::degrees(120.0)))
    ];
    let bar = (2.0f64..60.0, 2.0f64..40.0, 0.0f64..3.0);
    let bar = bar.prop_map(|(w, h, angle)| Outline::rectangle(point(5.0, 0.0), w, h).turned(angle));
    let ring = (5.0f64..25.0, 0.1f64..0.9);
    let ring = ring.prop_map(|(radius, share)| Outline::ring(point(0.0, 3.0), radius * share, radius));
    let sliver = (5.0f64..70.0, 0.01f64..1.0);
    let sliver = sliver.prop_map(|(l, w)| Outline::polygon(&[point(0.0, 0.0), point(l, -w), point(l, w)]));
    (prop_oneof![bar, ring, sliver], turns, -1i32..3, 1usize..4)
        .prop_map(|(outline, turns, rank, copies)| (Footprint { turns, rank, ..piece(&outline) }, copies))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    #[test]
    fn every_piece_has_one_place_and_keeps_its_distance(
        kinds in prop::collection::vec(any_piece(), 1..12), spacing in prop_oneof![Just(0.0), 0.2f64..4.0]
    ) {
        let items: Vec<_> = kinds.into_iter().flat_map(|(item, copies)| vec![item; copies]).collect();
        let page = room(100.0, 130.0, spacing);
        sound(&items, &Nest::default().place(&items, &page), &page);
    }
}
