//! Text from a spec, made safe to show.
//!
//! A title may come from a stranger: control characters could steer a terminal,
//! and bidirectional overrides could show a word other than the one written.
//! Both are spelled out. Letters of any script pass unchanged. Left out: what
//! HTML and SVG ask to be escaped, which their writers do themselves.

use std::fmt::Write;

/// `text` with every control and direction-steering character written as `\u{…}`.
pub fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_control() || steers(c) {
            // Writing to a String cannot fail.
            let _ = write!(out, "{}", c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

/// Characters that turn or hide the text round them: Unicode Standard Annex 9 (bidirectional
/// embeddings, overrides, isolates and marks), line and paragraph separators, the byte order mark.
fn steers(c: char) -> bool {
    matches!(c, '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// `1 piece`, `2 pieces`.
pub fn count(number: usize, one: &str) -> String {
    format!("{number} {one}{}", if number == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steering_characters_are_spelled_out_and_letters_pass() {
        assert_eq!(plain("a\x1b[31mb\nc"), "a\\u{1b}[31mb\\u{a}c");
        assert_eq!(plain("ab\u{202e}dc"), "ab\\u{202e}dc");
        assert_eq!(plain("שלום 🚁 Ö"), "שלום 🚁 Ö");
    }
}
