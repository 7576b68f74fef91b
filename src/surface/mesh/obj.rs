//! Wavefront OBJ: corners and faces (Wavefront, *Object Files*, appendix B1 of
//! the Advanced Visualizer manual; from memory).
//!
//! Faces of more than three corners are cut into triangles: a fan where they are
//! convex, ears cut off where not. Texture, normals, groups and materials are
//! passed over; curved patches are refused, for leaving them out would leave
//! holes.

use super::error::MeshError;
use super::soup::{Soup, counted, fault, lines, point, shown, words};
use glam::DVec3;

/// Faces of more corners than this are damage: cutting ears takes the cube of their number.
const MOST_CORNERS: usize = 64;

/// Reads the corners and faces.
pub fn read(bytes: &[u8]) -> Result<Soup, MeshError> {
    if bytes.is_empty() {
        return Err(MeshError::Empty);
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut soup = Soup::default();
    let mut continued: Vec<u8> = Vec::new();
    for (line, content) in lines(bytes) {
        let content = content.trim_ascii_end();
        if let Some(part) = content.strip_suffix(b"\\") {
            continued.extend(part);
            continued.push(b' ');
            continue;
        }
        if continued.is_empty() {
            statement(content, line, &mut soup)?;
        } else {
            continued.extend(content);
            statement(&std::mem::take(&mut continued), line, &mut soup)?;
        }
    }
    if continued.is_empty() {
        Ok(soup)
    } else {
        statement(&continued, lines(bytes).count(), &mut soup).map(|()| soup)
    }
}

fn statement(content: &[u8], line: usize, soup: &mut Soup) -> Result<(), MeshError> {
    let content = content.split(|&b| b == b'#').next().unwrap_or_default();
    let mut words = words(content);
    let Some(word) = words.next() else { return Ok(()) };
    match word {
        b"v" => {
            soup.points.push(point(&mut words, line)?);
            counted(soup.points.len() / 3)
        }
        b"f" | b"fo" => {
            let corners =
                words.map(|word| corner(word, line, soup.points.len())).collect::<Result<Vec<_>, _>>()?;
            face(&corners, line, soup)?;
            counted(soup.triangles.len())
        }
        b"vt" | b"vn" | b"g" | b"o" | b"s" | b"usemtl" | b"mtllib" | b"usemap" | b"maplib" | b"mg" | b"l"
        | b"p" | b"bevel" | b"c_interp" | b"d_interp" | b"lod" | b"shadow_obj" | b"trace_obj" => Ok(()),
        b"vp" | b"cstype" | b"deg" | b"bmat" | b"step" | b"curv" | b"curv2" | b"surf" | b"parm" | b"trim"
        | b"hole" | b"scrv" | b"sp" | b"end" | b"con" | b"ctech" | b"stech" | b"bsp" | b"bzp" | b"cdc"
        | b"cdp" | b"res" | b"call" | b"csh" => Err(MeshError::Unsupported { line, word: shown(word) }),
        _ => Err(fault(line, &format!("`{}` is no word of an OBJ file", shown(word)))),
    }
}

/// The corner that `7`, `7/1`, `7//3` or `-1` names: from 1, or counted back from the last one read.
fn corner(word: &[u8], line: usize, count: usize) -> Result<u32, MeshError> {
    let number = word.split(|&b| b == b'/').next().unwrap_or_default();
    let index = std::str::from_utf8(number).ok().and_then(|text| text.parse::<i64>().ok());
    let Some(index) = index else { return Err(fault(line, &format!("`{}` names no corner", shown(word)))) };
    let place = if index < 0 { index.checked_add(count as i64) } else { index.checked_sub(1) };
    match place {
        Some(place) if (0..count as i64).contains(&place) => Ok(place as u32),
        _ => Err(fault(line, &format!("corner {index} is not among the {count} read so far"))),
    }
}

fn face(corners: &[u32], line: usize, soup: &mut Soup) -> Result<(), MeshError> {
    match corners.len() {
        0..3 => Err(fault(line, "a face has at least 3 corners")),
        n if n > MOST_CORNERS => {
            Err(fault(line, &format!("a face of {n} corners is more than {MOST_CORNERS}")))
        }
        _ => {
            let triangles = cut_ears(corners, &soup.points);
            soup.triangles.extend(triangles.ok_or_else(|| fault(line, "the face crosses itself"))?);
            Ok(())
        }
    }
}

/// Cuts a polygon into triangles, ear by ear (G. H. Meisters, *Polygons have Ears*, 1975), seen
/// along its mean normal; of a convex one that makes a fan. A polygon without an ear crosses itself.
fn cut_ears(corners: &[u32], points: &[DVec3]) -> Option<Vec<[u32; 3]>> {
    let at = |i: u32| points[i as usize];
    let mut ring = corners.to_vec();
    // Newell's normal: right also where corners are not in one plane.
    let cross = |k: usize| at(ring[k]).cross(at(ring[(k + 1) % ring.len()]));
    let normal: DVec3 = (0..ring.len()).map(cross).sum();
    let turn = |a: DVec3, b: DVec3, c: DVec3| (b - a).cross(c - b).dot(normal);
    let mut triangles = Vec::new();
    while ring.len() > 3 {
        let n = ring.len();
        let ear = |k: usize| [ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]];
        let is_ear = |k: &usize| {
            let [a, b, c] = ear(*k).map(at);
            let holds = |&i: &u32| {
                let p = at(i);
                turn(a, b, p) > 0.0 && turn(b, c, p) > 0.0 && turn(c, a, p) > 0.0
            };
            turn(a, b, c) >= 0.0 && !ring.iter().any(holds)
        };
        let k = (1..n).chain([0]).find(is_ear)?;
        triangles.push(ear(k));
        ring.remove(k);
    }
    triangles.push([ring[0], ring[1], ring[2]]);
    Some(triangles)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn area(soup: &Soup) -> f64 {
        let twice = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|i| soup.points[i as usize]);
            (b - a).cross(c - a).z
        };
        soup.triangles.iter().map(twice).sum::<f64>() / 2.0
    }

    #[test]
    fn faces_with_texture_normals_and_negative_corners() {
        let text = b"# a square\nmtllib x.mtl\nv 0 0 0\nv 2 0 0 1.0\nv 2 2 0\nv 0 2 0\nvt 0 0\nvn 0 0 1\nf 1/1/1 2//1 -2 -1/1\n";
        let soup = read(text).unwrap();
        assert_eq!((soup.triangles.len(), area(&soup)), (2, 4.0));
    }

    #[test]
    fn a_hollow_face_keeps_its_area() {
        // An L of area 3, begun at the hollow corner's neighbour; a line goes on after a backslash.
        let soup =
            read(b"v 0 0 0\nv 2 0 0\nv 2 1 0\nv 1 1 0\nv 1 2 0\nv 0 2 0\nf 3 4 5 \\\n 6 1 2\n").unwrap();
        assert_eq!((soup.triangles.len(), area(&soup)), (4, 3.0));
        let positive = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|i| soup.points[i as usize]);
            (b - a).cross(c - a).z > 0.0
        };
        assert!(soup.triangles.iter().all(positive));
    }

    #[test]
    fn what_is_wrong_is_placed() {
        let fault = |text: &str| read(text.as_bytes()).unwrap_err();
        assert_eq!(
            fault("v 0 0 0\nf 1 2 3\n").to_string(),
            "line 2, corner 2 is not among the 1 read so far"
        );
        assert_eq!(fault("v 0 0\n").line(), Some(1));
        assert_eq!(fault("v 0 0 inf\n").to_string(), "line 1, `inf` is not a number");
        assert_eq!(fault("\ncurv 0 1 2\n"), MeshError::Unsupported { line: 2, word: "curv".into() });
        assert_eq!(fault("v 0 0 0\nf 1 0 1\n").line(), Some(2));
        assert_eq!(fault("f 1 -9223372036854775808 1\n").line(), Some(1));
    }

    proptest! {
        #[test]
        fn garbage_never_panics(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            let _ = read(&bytes);
        }

        #[test]
        fn mangled_text_never_panics(words in prop::collection::vec(
            prop::sample::select(vec!["v", "f", "1", "-1", "2/3", "\n", "\n", "1e999", "\\\n", "#", "9"]), 0..80)) {
            let _ = read(words.join(" ").as_bytes());
        }
    }
}
