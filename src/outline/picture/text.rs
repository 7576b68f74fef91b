//! Text in a picture: set in the one font that is given, and refused where a letter is lacking.
//!
//! usvg would take a lacking letter from another font, and drop a line whose font
//! it does not find; so every letter is looked up in the font's own table first.

use super::super::font::is_sound;
use super::super::lettering::options_with;
use super::Refused;
use super::survey::tag;
use skrifa::{FontRef, MetadataProvider};
use std::sync::Arc;
use usvg::fontdb;
use usvg::roxmltree::{Document, Node};

/// A font file, read.
#[derive(Clone)]
pub struct Face {
    /// As the user named it.
    name: String,
    bytes: Arc<Vec<u8>>,
    fonts: Arc<fontdb::Database>,
}

impl Face {
    /// From the bytes of an OpenType or TrueType file; `None` where they are no font.
    pub fn new(name: &str, bytes: Vec<u8>) -> Option<Self> {
        FontRef::new(&bytes).ok().filter(is_sound)?;
        let bytes = Arc::new(bytes);
        let mut fonts = fontdb::Database::new();
        fonts.load_font_source(fontdb::Source::Binary(Arc::clone(&bytes) as _));
        (fonts.len() == 1).then(|| Self { name: name.to_owned(), bytes, fonts: Arc::new(fonts) })
    }

    /// The first character that the font has no letter for.
    fn lacking(&self, text: &str) -> Option<char> {
        let font = FontRef::new(&self.bytes).ok()?;
        let letters = font.charmap();
        text.chars().find(|&c| !c.is_whitespace() && !c.is_control() && letters.map(c).is_none())
    }
}

/// Only the font that is given; no fallback, no files.
pub fn options(face: Option<&Face>) -> usvg::Options<'static> {
    options_with(face.map_or_else(|| Arc::new(fontdb::Database::new()), |face| Arc::clone(&face.fonts)))
}

/// Text without a font, and letters that the font lacks.
pub fn letters(xml: &Document<'_>, face: Option<&Face>) -> Vec<Refused> {
    let is_text = |node: &Node<'_, '_>| node.is_element() && node.tag_name().name() == "text";
    let refuse = |node: Node<'_, '_>| {
        let text: String = node.descendants().filter(Node::is_text).filter_map(|node| node.text()).collect();
        let Some(face) = face else {
            let help = "add `font: file.ttf` beside `file`, or turn the text into paths";
            return (!text.trim().is_empty())
                .then(|| Refused::new(tag(node), "text, and no font is given", help));
        };
        let lacking = face.lacking(&text)?;
        let message = format!("`{}` has no letter `{lacking}` (U+{:04X})", face.name, u32::from(lacking));
        Some(Refused::new(tag(node), message, "give a font that has it, or turn the text into paths"))
    };
    xml.descendants().filter(is_text).filter_map(refuse).collect()
}
