//! What is done with the bytes of a stranger's file, of each kind: read, and worked with a little.
//!
//! Fuzz targets and the test that replays their corpus share this file. Whatever is refused must be
//! refused with a reason in its place; nothing may panic.

use glam::DVec3;
use markloft::outline::font::Font;
use markloft::outline::picture::{self, Face, Side};
use markloft::spec;
use markloft::surface::Surface;
use markloft::surface::mesh::{self, Mesh, Placing};
use std::sync::{Arc, LazyLock};

const FACE: &[u8] = include_bytes!("../src/outline/face/BarlowCondensed_500Medium.ttf");

/// A spec, which may use a few files that are there.
pub fn spec(bytes: &[u8]) {
    let there: [(&str, &[u8]); 6] = [
        ("a.yaml", b"markloft: 1\ncolours: {red: \"#c8321e\"}\nparts: {}\n"),
        ("a.csv", b"station (mm),radius (mm)\n0,0\n100,40\n300,60\n"),
        ("rows.csv", b"name,width,station,around\ntow,9 in,1.2 m,left\n"),
        ("a.svg", b"<svg viewBox='0 0 9 9'><path d='M0 0H9V9Z' fill='#c8321e'/></svg>"),
        ("a.obj", b"v 0 0 0\nv 9 0 0\nv 0 9 0\nv 0 0 9\nf 1 2 3\nf 1 4 2\nf 2 4 3\nf 3 4 1\n"),
        ("a.ttf", FACE),
    ];
    let open = |name: &str| match there.iter().find(|(other, _)| *other == name) {
        Some((_, bytes)) => Ok(bytes.to_vec()),
        None => Err("there is no such file".to_owned()),
    };
    if let Err(problems) = spec::read("fuzz.yaml", bytes, &open) {
        assert!(!problems.is_empty(), "refused without a reason");
        for problem in problems {
            assert!(problem.place.line >= 1 && problem.place.column >= 1, "{problem}");
            assert!(!problem.message.is_empty(), "{}", problem.place);
        }
    }
}

/// An SVG file.
pub fn artwork(bytes: &[u8]) {
    static SET_IN: LazyLock<Option<Face>> = LazyLock::new(|| Face::new("face.ttf", FACE.to_vec()));
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match picture::read(text, SET_IN.as_ref()) {
        Ok(picture) => {
            let (areas, silhouette) = picture.set(Side::Width(100.0));
            assert!(!areas.is_empty() && !silhouette.is_empty(), "nothing was painted, and nobody was told");
        }
        Err(refused) => {
            assert!(!refused.is_empty(), "refused without a reason");
            for refused in refused {
                assert!(!refused.message.is_empty() && !refused.help.is_empty(), "{refused:?}");
                assert!(refused.at.end <= text.len() && refused.at.start <= refused.at.end, "{refused:?}");
            }
        }
    }
}

/// The same bytes as either kind of mesh.
pub fn mesh(bytes: &[u8]) {
    for obj in [true, false] {
        match mesh::read(bytes, obj).and_then(|soup| Mesh::new(soup, &Placing::PLAIN)) {
            Ok(mesh) => {
                let [low, high] = mesh.bounds();
                assert!(low.is_finite() && high.is_finite(), "a mesh of no size");
                for t in [0.0, 0.3, 1.0] {
                    let foot = mesh.project(low.lerp(high, t) + DVec3::new(0.1, 0.2, 0.3));
                    assert!(foot.point.is_finite() && foot.normal.is_finite(), "a foot that is nowhere");
                }
            }
            Err(error) => assert!(!error.to_string().is_empty(), "refused without a reason"),
        }
    }
}

/// A font, and a line set in it.
pub fn font(bytes: &[u8]) {
    match Font::read(Arc::from(bytes)) {
        Ok(font) => {
            for line in ["AVé 07", "fig", "\u{5d0}\u{5d1} 1"] {
                let _ = font.lacking(line);
                let _ = font.line::<markloft::units::Full>(line, 100.0, 2.0);
                let _ = font.length(line, 100.0, 0.0);
            }
        }
        Err(reason) => assert!(!reason.is_empty(), "refused without a reason"),
    }
}
