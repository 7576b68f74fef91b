//! The tape list as CSV (RFC 4180): a strip a line, millimetres and degrees.
//!
//! Left out: pictures (the tape page has them). A field that does not apply is empty.

use crate::flow::{Plan, Strip};
use crate::outline::number::short;

/// `count` is for all pieces; each of them takes `side_by_side` strips of this kind for one stripe, which with the
/// rows of other widths next to it is `together_mm` wide: what `error_mm` compares with `wanted_mm`.
const HEAD: &str = "pieces,marking,what,colour,wanted_mm,width_mm,error_mm,length_mm,cut_length_mm,count,\
                    start_deg,finish_deg,pitch_mm,rise_deg,turns,gap_mm,equal_pitch_mm,side_by_side,together_mm";

/// The whole file, lines ended as the RFC has them.
pub fn tape_csv(plan: &Plan, strips: &[Strip]) -> String {
    let lines = strips.iter().map(|strip| line(plan, strip));
    std::iter::once(HEAD.to_owned()).chain(lines).map(|line| line + "\r\n").collect()
}

fn line(plan: &Plan, strip: &Strip) -> String {
    let mm = |length: f64| short(length, 2);
    let numbers: Vec<String> = strip.pieces.iter().map(u32::to_string).collect();
    let mut fields = vec![
        numbers.join(" "),
        quoted(&plan.markings[strip.marking.0].name),
        strip.what.clone(),
        strip.colour.map_or(String::new(), |colour| quoted(&plan.colours[colour.0].name)),
        mm(strip.wanted.to_mm()),
        mm(strip.width.to_mm()),
        mm(strip.together.to_mm() - strip.wanted.to_mm()),
        mm(strip.length.to_mm()),
        mm(strip.cut_length.to_mm()),
        strip.count().to_string(),
    ];
    fields.extend(strip.ends.map(|end| short(end.to_degrees(), 1)));
    match strip.helix {
        Some(turns) => fields.extend([
            mm(turns.pitch.to_mm()),
            short(turns.rise.to_degrees(), 1),
            short(turns.turns, 2),
            mm(turns.gap.to_mm()),
            turns.equal_pitch.map_or_else(String::new, |pitch| mm(pitch.to_mm())),
        ]),
        None => fields.extend([const { String::new() }; 5]),
    }
    fields.extend([strip.each.to_string(), mm(strip.together.to_mm())]);
    fields.join(",")
}

/// Names may hold what the format itself uses.
fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}
