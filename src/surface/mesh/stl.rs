//! STL, binary and text.
//!
//! The format is told by the length, not by the first word: programs write
//! binary files whose header begins with `solid`. A binary file of n triangles is
//! 84 + 50 n bytes long (3D Systems, *StereoLithography Interface Specification*,
//! 1989; from memory). Its normals are left out: corners tell more exactly.

use super::error::MeshError;
use super::soup::{Soup, counted, fault, lines, point, shown, words};
use glam::DVec3;

const HEADER: usize = 84;
const RECORD: usize = 50;

/// Reads either kind.
pub fn read(bytes: &[u8]) -> Result<Soup, MeshError> {
    if bytes.is_empty() {
        return Err(MeshError::Empty);
    }
    let count = bytes.get(80..HEADER).map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]) as usize);
    let expected = |n: usize| HEADER + RECORD * n;
    match count {
        Some(n) if bytes.len() == expected(n) => binary(bytes, n),
        _ if starts_solid(bytes) && !bytes[..bytes.len().min(HEADER)].contains(&0) => text(bytes),
        Some(n) => Err(MeshError::BinaryLength {
            triangles: n as u64,
            expected: expected(n) as u64,
            found: bytes.len() as u64,
        }),
        None => Err(MeshError::NotStl),
    }
}

fn starts_solid(bytes: &[u8]) -> bool {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    words(bytes).next().is_some_and(|word| word.eq_ignore_ascii_case(b"solid"))
}

fn binary(bytes: &[u8], count: usize) -> Result<Soup, MeshError> {
    counted(count)?;
    let mut soup = Soup { points: Vec::with_capacity(3 * count), triangles: Vec::with_capacity(count) };
    for (triangle, record) in bytes[HEADER..].chunks_exact(RECORD).enumerate() {
        let number = |k: usize| {
            f64::from(f32::from_le_bytes([record[k], record[k + 1], record[k + 2], record[k + 3]]))
        };
        for corner in 0..3 {
            // Twelve bytes of normal come first.
            let k = 12 + 12 * corner;
            let p = DVec3::new(number(k), number(k + 4), number(k + 8));
            if !p.is_finite() {
                return Err(MeshError::NotFinite { triangle, offset: HEADER + RECORD * triangle + k });
            }
            soup.points.push(p);
        }
        soup.triangles.push(last_three(&soup));
    }
    Ok(soup)
}

fn last_three(soup: &Soup) -> [u32; 3] {
    let n = soup.points.len() as u32;
    [n - 3, n - 2, n - 1]
}

fn text(bytes: &[u8]) -> Result<Soup, MeshError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut soup = Soup::default();
    let (mut corners, mut last, mut is_whole) = (0, 1, false);
    for (line, content) in lines(bytes) {
        let mut words = words(content);
        let Some(word) = words.next() else { continue };
        last = line;
        match word.to_ascii_lowercase().as_slice() {
            b"solid" | b"facet" | b"endfacet" => {}
            b"endsolid" => is_whole = corners == 0,
            b"outer" => corners = 0,
            b"vertex" => {
                soup.points.push(point(&mut words, line)?);
                corners += 1;
            }
            b"endloop" if corners == 3 => {
                soup.triangles.push(last_three(&soup));
                counted(soup.triangles.len())?;
                corners = 0;
            }
            b"endloop" => return Err(fault(line, &format!("this facet has {corners} corners instead of 3"))),
            _ => return Err(fault(line, &format!("`{}` is no word of an STL file", shown(word)))),
        }
    }
    if !is_whole {
        return Err(fault(last, "the file ends before its `endsolid`: it was cut short, export it again"));
    }
    Ok(soup)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn one_triangle(header: &[u8]) -> Vec<u8> {
        let mut bytes = header.to_vec();
        bytes.resize(80, b' ');
        bytes.extend(1_u32.to_le_bytes());
        for value in [0.0_f32, 0.0, 1.0, 0.0, 0.0, 0.0, 2.0, 0.0, 0.0, 0.0, 3.0, 0.0] {
            bytes.extend(value.to_le_bytes());
        }
        bytes.extend([0, 0]);
        bytes
    }

    #[test]
    fn binary_whatever_its_header_says() {
        for header in [&b"solid of a helmet"[..], b"COLOR="] {
            let soup = read(&one_triangle(header)).unwrap();
            assert_eq!(soup.points, [[0.0; 3], [2.0, 0.0, 0.0], [0.0, 3.0, 0.0]].map(DVec3::from));
        }
    }

    #[test]
    fn text_in_capitals_with_odd_spaces() {
        let text = b"SOLID x\r\n facet normal 0 0 1\r\n OUTER LOOP\r\n  VERTEX 0 0 0\r\n vertex  2e0 -0 +0\r\n\r\n vertex 0 3.0 0\r\n endloop\r\n endfacet\r\nendsolid x\r\n";
        assert_eq!(read(text).unwrap(), read(&one_triangle(b"x")).unwrap());
    }

    #[test]
    fn what_is_wrong_is_placed() {
        assert_eq!(read(b""), Err(MeshError::Empty));
        assert_eq!(read(b"hello"), Err(MeshError::NotStl));
        let mut short = one_triangle(b"x");
        short.pop();
        assert_eq!(read(&short), Err(MeshError::BinaryLength { triangles: 1, expected: 134, found: 133 }));
        let mut nan = one_triangle(b"x");
        nan[84 + 12 + 16..84 + 12 + 20].copy_from_slice(&f32::NAN.to_le_bytes());
        assert_eq!(read(&nan), Err(MeshError::NotFinite { triangle: 0, offset: 84 + 24 }));
        assert_eq!(read(b"solid\nvertex 0 nan 0\n").unwrap_err().line(), Some(2));
        assert_eq!(read(b"solid\nouter loop\nvertex 0 0 0\nendloop").unwrap_err().line(), Some(4));
        assert_eq!(read(b"solid\n\nfoo").unwrap_err().to_string(), "line 3, `foo` is no word of an STL file");
    }

    proptest! {
        #[test]
        fn garbage_never_panics(mut bytes in prop::collection::vec(any::<u8>(), 0..400), solid: bool) {
            if solid {
                bytes.splice(0..0, *b"solid ");
            }
            let _ = read(&bytes);
        }

        #[test]
        fn mangled_text_never_panics(words in prop::collection::vec(
            prop::sample::select(vec!["vertex", "1", "nan", "endloop", "outer loop", "facet", "\n", "1e999", "é"]), 0..60)) {
            let _ = read(format!("solid {}", words.join(" ")).as_bytes());
        }
    }
}
