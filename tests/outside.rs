//! What foreign programs read in markloft's files, kept as fixtures that the program is held to.
//!
//! `.ci/outside` renders `tests/data/*.yaml`, lets Pillow, lxml and Chromium read the result and
//! keeps what they said in `tests/data/readings.json`; here the same specs are rendered again and
//! must still be read so. `figures-chromium.png` is Chromium's picture of `figures.svg`. Where each
//! fixture is from: `tests/data/PROVENANCE.md`.

use assert_cmd::Command;
use markloft::units::{Dpi, Length, Size};
use markloft::write::png;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const RED: [u8; 3] = [0xc8, 0x32, 0x1e];

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

fn readings() -> Value {
    serde_json::from_str(&fs::read_to_string(data("readings.json")).unwrap()).unwrap()
}

/// Numbers of a reading, in their order.
fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect()
}

fn assert_near(found: &[f64], wanted: &Value, within: f64) {
    let wanted = numbers(wanted);
    assert_eq!(found.len(), wanted.len());
    for (f, w) in found.iter().zip(&wanted) {
        assert!((f - w).abs() <= within, "{found:?} where {wanted:?} were read");
    }
}

/// A spec as the program renders it.
struct Made {
    folder: TempDir,
    spec: &'static str,
}

impl Made {
    fn new(spec: &'static str, dpi: &str) -> Self {
        Self::with(spec, dpi, &[])
    }

    fn with(spec: &'static str, dpi: &str, more: &[&str]) -> Self {
        let folder = TempDir::new().unwrap();
        let mut program = Command::new(env!("CARGO_BIN_EXE_markloft"));
        program
            .arg("make")
            .arg(data(spec).with_extension("yaml"))
            .args(["--dpi", dpi])
            .args(more)
            .arg("--out");
        program.arg(folder.path()).assert().success();
        Self { folder, spec }
    }

    fn read(&self, file: &str) -> Vec<u8> {
        fs::read(self.folder.path().join(self.spec).join(file)).unwrap()
    }
}

/// An RGB picture, row by row.
struct Picture {
    width: usize,
    height: usize,
    per_metre: Option<u32>,
    rgb: Vec<[u8; 3]>,
}

impl Picture {
    fn read(bytes: &[u8]) -> Self {
        let mut reader = ::png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut rows = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut rows).unwrap();
        assert_eq!(info.color_type, ::png::ColorType::Rgb);
        let per_metre = reader.info().pixel_dims.map(|dims| {
            assert_eq!((dims.xppu, dims.unit), (dims.yppu, ::png::Unit::Meter));
            dims.xppu
        });
        Self {
            width: info.width as usize,
            height: info.height as usize,
            per_metre,
            rgb: rows.chunks(3).map(|p| [p[0], p[1], p[2]]).collect(),
        }
    }

    /// Width and height of the box round the pixels of a colour, not counting those that are only half in it.
    fn sides_of(&self, colour: [u8; 3]) -> [f64; 2] {
        let has = |k: &usize| self.rgb[*k].iter().zip(colour).all(|(a, b)| a.abs_diff(b) < 64);
        let all: Vec<usize> = (0..self.rgb.len()).filter(has).collect();
        let columns = || all.iter().map(|k| k % self.width);
        let width = columns().max().unwrap() + 1 - columns().min().unwrap();
        let height = all[all.len() - 1] / self.width + 1 - all[0] / self.width;
        [width as f64, height as f64]
    }
}

/// Width and height in CSS pixels of the one path with this fill, as usvg reads the drawing.
fn on_screen(svg: &[u8], fill: [u8; 3]) -> [f64; 2] {
    let tree = usvg::Tree::from_data(svg, &usvg::Options::default()).unwrap();
    let mut found = Vec::new();
    collect(tree.root(), fill, &mut found);
    assert_eq!(found.len(), 1, "one path is filled so");
    found[0]
}

fn collect(group: &usvg::Group, fill: [u8; 3], found: &mut Vec<[f64; 2]>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(inner) => collect(inner, fill, found),
            usvg::Node::Path(path) => {
                let paint = path.fill().map(|fill| fill.paint().clone());
                let wanted = usvg::Color::new_rgb(fill[0], fill[1], fill[2]);
                if paint == Some(usvg::Paint::Color(wanted)) {
                    let b = path.abs_bounding_box();
                    found.push([b.width(), b.height()].map(f64::from));
                }
            }
            _ => {}
        }
    }
}

#[test]
fn the_square_is_as_pillow_read_it() {
    let read = &readings()["square"]["pillow"];
    let picture = Picture::read(&Made::new("square", "600").read("full/decal-1.png"));
    assert_near(&[picture.width as f64, picture.height as f64], &read["page_dots"], 0.0);
    let dpi = f64::from(picture.per_metre.unwrap()) * 0.0254;
    assert_near(&[dpi, dpi], &read["dpi"], 0.001);
    // 100 mm are 2362.2 dots: where the square begins within a dot decides about one of them.
    assert_near(&picture.sides_of(RED), &read["square_dots"], 1.0);
}

#[test]
fn the_pdf_is_as_pdfinfo_poppler_and_qpdf_read_it() {
    let read = &readings()["paper"];
    let made = Made::new("square", "600");
    let text: String = made.read("full/decal-1.pdf").iter().map(|&b| char::from(b)).collect();
    let media = text.split("/MediaBox [").nth(1).unwrap().split(']').next().unwrap();
    let media: Vec<f64> = media.split_whitespace().map(|word| word.parse().unwrap()).collect();
    assert_near(&media[2..], &read["pdfinfo"]["page_pt"], 0.01);
    // Poppler's dots of the PDF are as many as ours of the PNG.
    let picture = Picture::read(&made.read("full/decal-1.png"));
    assert_near(&picture.sides_of(RED), &read["poppler"]["square_dots"], 1.0);
    let layers = Made::new("layers", "60").read("full/decal-1.pdf");
    let text: String = layers.iter().map(|&b| char::from(b)).collect();
    for ink in readings()["layers"]["qpdf"]["inks"].as_array().unwrap() {
        assert!(text.contains(&format!("/Separation /{}", ink.as_str().unwrap())));
    }
}

#[test]
fn the_square_is_as_lxml_and_chromium_read_it() {
    let read = &readings()["square"];
    let svg = Made::new("square", "96").read("full/decal-1.svg");
    let document = roxmltree::Document::parse(std::str::from_utf8(&svg).unwrap()).unwrap();
    let side = |name| {
        let text = document.root_element().attribute(name).unwrap();
        text.strip_suffix("mm").unwrap().parse::<f64>().unwrap()
    };
    assert_near(&[side("width"), side("height")], &read["lxml"]["page_mm"], 0.0);
    let px = on_screen(&svg, RED);
    assert_near(&px, &read["chromium"]["square_px"], 0.02);
    // 96 CSS pixels are an inch (CSS Values).
    assert_near(&px.map(|px| px / 96.0 * 25.4), &read["lxml"]["square_mm"], 0.001);
}

#[test]
fn pieces_are_as_large_as_lxml_read_them_on_their_sheets() {
    let read = &readings()["figures"]["lxml"]["size_mm"];
    let report: Value = serde_json::from_slice(&Made::new("figures", "96").read("report.json")).unwrap();
    let pieces = report["scales"][0]["pieces"].as_array().unwrap();
    let named = |piece: &Value| piece["marking"].as_str().unwrap().to_owned();
    assert_eq!(
        pieces.iter().map(named).collect::<Vec<_>>(),
        read.as_object().unwrap().keys().cloned().collect::<Vec<_>>()
    );
    for piece in pieces {
        assert_near(&numbers(&piece["size_mm"]), &read[named(piece)], 0.01);
    }
}

#[test]
fn a_drawing_looks_as_chromium_draws_it() {
    let svg = fs::read_to_string(data("figures.svg")).unwrap();
    let side = Length::mm(90.0);
    let mut bytes = Vec::new();
    png(&svg, Size { width: side, height: side }, Dpi::new(96.0).unwrap(), &mut bytes).unwrap();
    let ours = Picture::read(&bytes);
    let theirs = Picture::read(&fs::read(data("figures-chromium.png")).unwrap());
    assert_eq!((ours.width, ours.height), (theirs.width, theirs.height));
    // Two programs smooth an edge in their own ways: at most 60 of 255 were seen between them.
    // Drawn one dot off, 2 % of the pixels are further apart than 64.
    let apart = |(a, b): (&[u8; 3], &[u8; 3])| a.iter().zip(b).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
    let far = ours.rgb.iter().zip(&theirs.rgb).map(apart).filter(|&d| d > 64).count();
    assert!(far * 10_000 <= ours.rgb.len(), "{far} of {} pixels differ", ours.rgb.len());
}

/// Area of a closed line of corners with bulges: its polygon, and the segment of a circle on each arc.
fn bulged_area(corners: &[[f64; 3]]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    let piece = |([x, y, bulge], [x2, y2, _]): (&[f64; 3], &[f64; 3])| {
        let flat = (x * y2 - x2 * y) / 2.0;
        if *bulge == 0.0 {
            return flat;
        }
        let sweep = 4.0 * libm::atan(*bulge);
        let radius = libm::hypot(x2 - x, y2 - y) / (2.0 * libm::sin(sweep / 2.0));
        flat + radius * radius * (sweep - libm::sin(sweep)) / 2.0
    };
    corners.iter().zip(next).map(piece).sum()
}

#[test]
fn a_cutter_gets_what_ezdxf_and_hp2xx_read() {
    let made = Made::new("cutting", "60");
    let dxf = String::from_utf8(made.read("1-48/mask-1-soot.dxf")).unwrap();
    let lines: Vec<&str> = dxf.lines().map(str::trim).collect();
    let mut outlines: Vec<Vec<[f64; 3]>> = Vec::new();
    let mut in_vertex = false;
    for pair in lines.chunks(2) {
        match (pair[0], pair[1]) {
            ("0", "POLYLINE") => (in_vertex, _) = (false, outlines.push(Vec::new())),
            ("0", "VERTEX") => (in_vertex, _) = (true, outlines.last_mut().unwrap().push([0.0; 3])),
            ("0", _) => in_vertex = false,
            (code @ ("10" | "20" | "42"), value) if in_vertex => {
                let place = ["10", "20", "42"].iter().position(|known| *known == code).unwrap();
                outlines.last_mut().unwrap().last_mut().unwrap()[place] = value.parse().unwrap();
            }
            _ => {}
        }
    }
    let mut areas: Vec<f64> = outlines.iter().map(|outline| bulged_area(outline)).collect();
    areas.sort_by(f64::total_cmp);
    // Arcs are put through points within a tolerance: what they enclose is known to 1e-5 of itself.
    assert_near(&areas, &readings()["cutting"]["ezdxf"]["areas_mm2"], 5e-3);
    // Ten dots a millimetre, four units a dot; the pen is a dot wide.
    let plt = String::from_utf8(made.read("1-48/mask-1-soot.plt")).unwrap();
    let numbers = |word: &str| word[2..].split(',').map(|n| n.parse::<f64>().unwrap()).collect::<Vec<_>>();
    let down: Vec<f64> =
        plt.split(';').map(str::trim).filter(|w| w.starts_with("PD")).flat_map(numbers).collect();
    let span = |first: usize| {
        let values = || down.iter().skip(first).step_by(2).copied();
        (values().fold(f64::MIN, f64::max) - values().fold(f64::MAX, f64::min)) / 4.0
    };
    assert_near(&[span(0), span(1)], &readings()["cutting"]["hp2xx"]["plot_dots"], 3.0);
}

#[test]
fn bodies_are_as_the_khronos_validator_read_them() {
    let made = Made::with("figures", "60", &["--glb"]);
    for (file, read) in readings()["bodies"].as_object().unwrap() {
        let bytes = made.read(file);
        let length = u32::from_le_bytes(bytes[12..16].try_into().unwrap()) as usize;
        let root: Value = serde_json::from_slice(&bytes[20..20 + length]).unwrap();
        let accessor = |index: &Value| &root["accessors"][index.as_u64().unwrap() as usize];
        let primitives = || {
            root["meshes"].as_array().unwrap().iter().flat_map(|mesh| mesh["primitives"].as_array().unwrap())
        };
        let sum = |of: &dyn Fn(&Value) -> u64| primitives().map(of).sum::<u64>();
        let count = |of: &Value| of["count"].as_u64().unwrap();
        assert_eq!(read["vertices"], sum(&|p| count(accessor(&p["attributes"]["POSITION"]))), "{file}");
        assert_eq!(read["triangles"], sum(&|p| count(accessor(&p["indices"])) / 3), "{file}");
        assert_eq!(read["materials"], root["materials"].as_array().unwrap().len(), "{file}");
        let place = accessor(&root["meshes"][0]["primitives"][0]["attributes"]["POSITION"]);
        let side = |axis: usize| place["max"][axis].as_f64().unwrap() - place["min"][axis].as_f64().unwrap();
        assert_near(&[0, 1, 2].map(|axis| side(axis) * 1000.0), &read["box_mm"], 6e-4);
    }
}
