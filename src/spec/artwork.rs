//! The SVG files that markings are drawn from, each read once, with what is wrong placed in them.
//!
//! Left out: sizes and colours, which are the marking's.

use super::log::Wrong;
use super::mirror::{self, Spec};
use super::problem::shown;
use super::source::Source;
use super::{Files, words};
use crate::flow::Limits;
use crate::outline::picture::{self, Face, Picture};
use std::collections::{BTreeMap, BTreeSet};

/// Pictures by file and font. What could not be read is not there, and the log says why.
pub type Pictures = BTreeMap<(String, Option<String>), Picture>;

/// The name by which a drawing's picture is kept.
pub fn key(drawn: &mirror::Artwork) -> Option<(String, Option<String>)> {
    let font = if drawn.font.given { Some(drawn.font.get()?.0.clone()) } else { None };
    Some((drawn.file.get()?.0.clone(), font))
}

/// Reads every picture that a spec's markings name.
pub fn pictures(files: &mut Files<'_>, spec: &Spec) -> Pictures {
    let mut pictures = Pictures::new();
    let mut tried = BTreeSet::new();
    for (_, marking) in spec.markings.get().map_or(&[][..], |named| &named.0) {
        let Some(mirror::Draw::Artwork(drawn)) = marking.get().and_then(|marking| marking.draw.get()) else {
            continue;
        };
        let Some(key) = key(drawn).filter(|key| tried.insert(key.clone())) else { continue };
        if let Some(picture) = read(files, drawn) {
            pictures.insert(key, picture);
        }
    }
    pictures
}

fn read(files: &mut Files<'_>, drawn: &mirror::Artwork) -> Option<Picture> {
    let face = if drawn.font.given { Some(face(files, drawn)?) } else { None };
    let bytes = files.opened(drawn.file.get()?, drawn.file.at)?;
    let Ok(text) = std::str::from_utf8(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes)) else {
        let help = "save the drawing as plain SVG, in UTF-8 and not compressed";
        files.log.value(drawn.file.at, "this is no SVG text", help);
        return None;
    };
    picture::read_within(files.log.limits.factor(), text, face.as_ref())
        .map_err(|refused| {
            let name = &drawn.file.get().map_or("", |name| &name.0);
            files.log.sources.push(Source::new(&format!("{}{name}", files.folder), text));
            let file = files.log.sources.len() - 1;
            for refused in refused {
                let help = if refused.too_much {
                    format!("{}; {}", refused.help, Limits::RAISE)
                } else {
                    refused.help
                };
                files.log.span(file, &refused.at, Wrong::new(refused.message, help));
            }
        })
        .ok()
}

fn face(files: &mut Files<'_>, drawn: &mirror::Artwork) -> Option<Face> {
    let name = drawn.font.get()?;
    let bytes = files.opened(name, drawn.font.at)?;
    let face = Face::new(&shown(&name.0), bytes);
    if face.is_none() {
        files.log.value(drawn.font.at, "this is no font", "name a TrueType or OpenType file: `face.ttf`");
    }
    face
}

impl Files<'_> {
    /// The bytes of a file below the spec's folder; `None` where it cannot be read, and the log says why.
    pub fn opened(&self, name: &words::Text, at: super::At) -> Option<Vec<u8>> {
        let refused = |reason| {
            let message = format!("`{}` cannot be read: {reason}", shown(&name.0));
            self.log.value(at, message, "names are taken from the spec's folder, and files lie below it");
        };
        (self.open)(&name.0).map_err(refused).ok()
    }
}
