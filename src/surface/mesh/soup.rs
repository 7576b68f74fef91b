//! Triangles as a file lists them, before anything is mended, and what readers share.

use super::error::MeshError;
pub use crate::flow::Soup;
use glam::DVec3;

/// More than any scanner gives, and two gigabytes of tree and normals.
pub const MOST_TRIANGLES: usize = 10_000_000;

/// Reads a mesh by its content: OBJ where `obj` says so, else STL, binary or text.
///
/// # Errors
/// Anything that is not a mesh in that format.
pub fn read(bytes: &[u8], obj: bool) -> Result<Soup, MeshError> {
    if obj { super::obj::read(bytes) } else { super::stl::read(bytes) }
}

pub(super) fn counted(triangles: usize) -> Result<(), MeshError> {
    if triangles > MOST_TRIANGLES {
        return Err(MeshError::TooMany { found: triangles as u64, most: MOST_TRIANGLES as u64 });
    }
    Ok(())
}

/// Lines with their numbers from 1; a CR before the end counts as white space.
pub(super) fn lines(bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    bytes.split(|&b| b == b'\n').enumerate().map(|(k, line)| (k + 1, line))
}

/// The words of a line.
pub(super) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(u8::is_ascii_whitespace).filter(|word| !word.is_empty())
}

/// A word as text for a message: short, and printable whatever the bytes.
pub(super) fn shown(word: &[u8]) -> String {
    let start = &word[..word.len().min(96)];
    String::from_utf8_lossy(start).chars().filter(|c| !c.is_control()).take(24).collect()
}

/// Three numbers from the words of a line.
pub(super) fn point<'a>(words: &mut impl Iterator<Item = &'a [u8]>, line: usize) -> Result<DVec3, MeshError> {
    let mut number = || {
        let word = words.next().ok_or_else(|| fault(line, "three coordinates are wanted"))?;
        let value = std::str::from_utf8(word).ok().and_then(|text| text.parse::<f64>().ok());
        match value {
            Some(value) if value.is_finite() => Ok(value),
            _ => Err(fault(line, &format!("`{}` is not a number", shown(word)))),
        }
    };
    Ok(DVec3::new(number()?, number()?, number()?))
}

pub(super) fn fault(line: usize, what: &str) -> MeshError {
    MeshError::Line { line, what: what.to_owned() }
}
