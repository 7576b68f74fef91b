//! Which strips of stock tape a marking takes, how long, how many, how their ends are cut.
//!
//! A stripe, a band or a rectangle is laid in strips of its own colours, a border
//! in four strips of its own; of checks, tape makes the border, or where they have
//! none the field's edges, put down as masks. A strip's length is the flat area of
//! its colour over its width, which is the length of its middle line wherever it
//! lies. Where no tape is as wide as wanted, strips side by side make up the width,
//! as few as may be. Along a line that turns by θ in the flat piece, a strip that
//! lies d to its left is dθ shorter.
//!
//! Left out: strips side by side on a helix, whose turns would come closer.

use super::helix;
use crate::flow::{
    Change, Climb, Code, ColourId, Draw, Edge, EdgeWidth, Finding, Helix, Lay, Line, Make, Piece, Plan,
    ScaleOutcome, Severity, Shape, Strip, Turns,
};
use crate::outline::number::short;
use crate::outline::{Point, Vector};
use crate::units::{Angle, Length, Model};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Tape this near the wanted width passes for it, mm, or share of the width where that is more.
/// Common practice, no source.
const NEAR: (f64, f64) = (0.1, 0.05);

/// The most strips that are laid side by side: each more is a joint more to show. Common practice, no source.
const MOST_BESIDE: usize = 6;

/// Every strip of one scale, and what no tape in stock can do, with the index of each piece it is about.
pub fn strips(plan: &Plan, at: &ScaleOutcome) -> (Vec<Strip>, Vec<(usize, Finding)>) {
    let mut strips = Vec::new();
    let mut findings = Vec::new();
    let mut first = 0;
    for copies in at.pieces.chunk_by(|a, b| a.marking == b.marking && a.make == b.make) {
        if copies[0].make == Make::Tape {
            let of_marking = of_marking(plan, at, copies);
            for finding in no_tape(plan, at, &of_marking) {
                findings.extend((first..first + copies.len()).map(|piece| (piece, finding.clone())));
            }
            strips.extend(of_marking);
        }
        first += copies.len();
    }
    (strips, findings)
}

/// How far the nearest width in stock is from this one, or `None` where nothing is near enough or in stock.
pub fn stocked(plan: &Plan, wanted: f64) -> Option<f64> {
    nearest(plan, wanted).filter(|width| is_near(*width, wanted))
}

fn is_near(width: f64, wanted: f64) -> bool {
    (width - wanted).abs() <= NEAR.0.max(NEAR.1 * wanted)
}

fn nearest(plan: &Plan, wanted: f64) -> Option<f64> {
    let off = |width: &f64| (width - wanted).abs();
    plan.films.tape.widths.iter().map(|width| width.to_mm()).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// Stocked widths, the widest first, that side by side are as wide as wanted: as few as may be, and of those the
/// nearest. The nearest single one where none are.
fn side_by_side(plan: &Plan, wanted: f64) -> Vec<f64> {
    /// Sums are told apart by this, mm: finer than tape is slit.
    const STEP: f64 = 0.01;
    let alone = || vec![nearest(plan, wanted).unwrap_or(wanted)];
    if stocked(plan, wanted).is_some() {
        return alone();
    }
    let widths: Vec<f64> = plan.films.tape.widths.iter().map(|width| width.to_mm()).collect();
    let most = widths.last().copied().unwrap_or(0.0);
    // Every sum that so many strips make, with some that make it.
    let mut sums: BTreeMap<i64, Vec<f64>> = BTreeMap::from([(0, Vec::new())]);
    for count in 1..=MOST_BESIDE {
        let mut more: BTreeMap<i64, Vec<f64>> = BTreeMap::new();
        for strips in sums.values() {
            for width in &widths {
                let sum = strips.iter().sum::<f64>() + width;
                let reach = sum + (MOST_BESIDE - count) as f64 * most;
                if (sum <= wanted || is_near(sum, wanted)) && (reach >= wanted || is_near(reach, wanted)) {
                    let key = (sum / STEP).round() as i64;
                    more.entry(key).or_insert_with(|| [strips.as_slice(), &[*width]].concat());
                }
            }
        }
        let off = |strips: &&Vec<f64>| (strips.iter().sum::<f64>() - wanted).abs();
        let near = more.values().filter(|strips| is_near(strips.iter().sum(), wanted));
        if let Some(mut strips) = near.min_by(|a, b| off(a).total_cmp(&off(b))).cloned() {
            strips.sort_by(|a, b| b.total_cmp(a));
            return strips;
        }
        sums = more;
    }
    alone()
}

/// A stripe as the marking has it, mm.
struct Want {
    colour: Option<ColourId>,
    what: &'static str,
    width: f64,
    length: f64,
    /// How far its middle line turns to the left in the flat piece, radians.
    turn: f64,
}

fn wanted(plan: &Plan, piece: &Piece) -> Vec<Want> {
    let size = piece.fit.run.unwrap_or(piece.fit.size);
    let (draw, edge) = bare(&plan.markings[piece.marking.0].draw);
    let [long, across] = [size.width.to_mm(), size.height.to_mm()];
    let turn = turning(&piece.fit.spine);
    let Some(edge) = edge else { return within(plan, piece, draw, [long, across], turn) };
    let border = match edge.width {
        EdgeWidth::Wide(width) => width.to_mm() * long / piece.full_size.width.to_mm(),
        // A share of what it goes round.
        EdgeWidth::Share(share) => long.min(across) * share / (1.0 + 2.0 * share),
    };
    let [inner, between] = [long - 2.0 * border, across - 2.0 * border];
    // Its middle line lies `left` of the piece's.
    let strip = |what, colour, width, length, left: f64| Want {
        colour: Some(colour),
        what,
        width,
        length: length - left * turn,
        turn,
    };
    let mut all: Vec<Want> = match draw {
        Draw::Stripe { colours, .. } => {
            let width = between / colours.len() as f64;
            let left = |k: usize| (k as f64 + 0.5) * width - between / 2.0;
            let stripe = |(k, colour): (usize, &ColourId)| strip("stripe", *colour, width, inner, left(k));
            colours.iter().enumerate().map(stripe).collect()
        }
        Draw::Rectangle { colour, .. } => {
            vec![strip("rectangle", *colour, inner.min(between), inner.max(between), 0.0)]
        }
        _ => Vec::new(),
    };
    let side = |left: f64| strip("border", edge.colour, border, long, left * (across - border) / 2.0);
    let end = || Want { turn: 0.0, ..strip("border", edge.colour, border, between, 0.0) };
    all.extend([side(-1.0), side(1.0), end(), end()]);
    all
}

/// What is drawn before it is mirrored, which changes nothing of tape, and the line round it.
fn bare(draw: &Draw) -> (&Draw, Option<&Edge>) {
    let Draw::Changed { draw, changes } = draw else { return (draw, None) };
    let (inner, below) = bare(draw);
    let own = changes.iter().find_map(|change| match change {
        Change::Border(edge) => Some(edge),
        _ => None,
    });
    (inner, own.or(below))
}

/// How far a line turns to the left from its start to its end, radians. A chord shows its way half way along, so the
/// first and the last one turn on by half as much as they do to the next.
fn turning(line: &[Point]) -> f64 {
    let ways: Vec<Vector> = line.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let turned = |pair: &[Vector]| libm::atan2(pair[0].cross(pair[1]), pair[0].dot(pair[1]));
    let turns: Vec<f64> = ways.windows(2).map(turned).collect();
    let ends = turns.first().zip(turns.last()).map_or(0.0, |(first, last)| (first + last) / 2.0);
    turns.iter().sum::<f64>() + ends
}

/// The stripes of a drawing without a border.
fn within(plan: &Plan, piece: &Piece, draw: &Draw, [long, across]: [f64; 2], turn: f64) -> Vec<Want> {
    let artwork = &piece.fit.artwork;
    let shares: Vec<f64> = match draw {
        Draw::Band { widths, .. } => {
            let all: f64 = widths.iter().map(|width| width.to_mm()).sum();
            widths.iter().map(|width| width.to_mm() / all).collect()
        }
        Draw::Stripe { colours, .. } => vec![1.0 / colours.len() as f64; colours.len()],
        Draw::Checks { columns, .. } => return edges(plan, [long, across], turn, columns.is_some()),
        _ => {
            // A rectangle's strip runs along its longer side.
            let (width, length) = (long.min(across), long.max(across));
            let colour = artwork.areas.first().map(|area| area.colour);
            return vec![Want { colour, what: "rectangle", width, length, turn }];
        }
    };
    let strip = |(share, area): (&f64, &crate::flow::Area<Model>)| {
        let width = across * share;
        let length = area.outline.area().abs() / width;
        Want { colour: Some(area.colour), what: "stripe", width, length, turn }
    };
    shares.iter().zip(&artwork.areas).map(strip).collect()
}

/// The edges of a field of checks: tape that masks them, the narrowest there is, for it bends best.
fn edges(plan: &Plan, [long, across]: [f64; 2], turn: f64, has_ends: bool) -> Vec<Want> {
    let Some(width) = plan.films.tape.widths.first().map(|width| width.to_mm()) else { return Vec::new() };
    let edge = |length: f64| Want { colour: None, what: "edge", width, length, turn: 0.0 };
    let ends = if has_ends { vec![edge(across), edge(across)] } else { Vec::new() };
    [-1.0, 1.0].map(|left: f64| edge(long - left * across / 2.0 * turn)).into_iter().chain(ends).collect()
}

fn of_marking(plan: &Plan, at: &ScaleOutcome, copies: &[Piece]) -> Vec<Strip> {
    let piece = &copies[0];
    let lay = &plan.markings[piece.marking.0].lay;
    let helix = match lay {
        Lay::Follow(Line::Helix(helix)) => Some(helix),
        _ => None,
    };
    let winding = helix.and_then(|helix| Some((helix, rod(plan, at, piece, helix)?)));
    let mut strips: Vec<Strip> = Vec::new();
    for want in wanted(plan, piece) {
        let widths = match helix {
            Some(_) => vec![nearest(plan, want.width).unwrap_or(want.width)],
            None => side_by_side(plan, want.width),
        };
        let together: f64 = widths.iter().sum();
        let mut left = -together / 2.0;
        let first = strips.len();
        for width in widths {
            let middle = left + width / 2.0;
            left += width;
            let length = Length::mm(want.length - middle * want.turn);
            let turns = winding.map(|(helix, rod)| turns(helix, rod, width, want.length));
            let slant = match turns {
                Some(turns) if helix.is_some_and(|helix| helix.flush) => turns.rise,
                _ => Angle::degrees(90.0),
            };
            let strip = Strip {
                pieces: copies.iter().map(|piece| piece.number).collect(),
                marking: piece.marking,
                colour: want.colour,
                what: want.what.to_owned(),
                wanted: Length::mm(want.width),
                width: Length::mm(width),
                each: 1,
                together: Length::mm(together),
                length,
                cut_length: length + plan.films.tape.trim * 2.0,
                ends: [slant, slant],
                helix: turns,
            };
            let same = |other: &&mut Strip| (other.width, other.length) == (strip.width, strip.length);
            match strips[first..].last_mut().filter(same) {
                Some(other) => other.each += 1,
                None => strips.push(strip),
            }
        }
    }
    strips
}

/// A rod's diameter and the helix's pitch on it, mm of the model; `None` on other parts.
fn rod(plan: &Plan, at: &ScaleOutcome, piece: &Piece, helix: &Helix) -> Option<[f64; 2]> {
    let moulded = |parts: &[crate::flow::Part]| match parts[piece.part.0].shape {
        Shape::Cylinder { diameter, length } => Some([diameter.to_mm(), length.to_mm()]),
        _ => None,
    };
    let ([_, drawn], [diameter, length]) = (moulded(&plan.parts)?, moulded(&at.parts)?);
    let pitch = match helix.climb {
        Climb::Pitch(pitch) => pitch.to_mm() * length / drawn,
        Climb::Turns(turns) => length / turns,
        Climb::Rise(rise) => PI * diameter * libm::tan(rise.to_radians()),
    };
    Some([diameter, pitch].map(|full| full * at.scale.ratio()))
}

fn turns(helix: &Helix, [diameter, pitch]: [f64; 2], width: f64, length: f64) -> Turns {
    Turns {
        pitch: Length::mm(pitch),
        rise: Angle::radians(helix::rise(diameter, pitch)),
        turns: length / helix::turn_length(diameter, pitch),
        gap: Length::mm(helix::gap(diameter, pitch, width, helix.starts)),
        equal_pitch: helix::equal_pitch(diameter, width, helix.starts).map(Length::mm),
    }
}

/// One finding for each width that nothing in stock comes near to, alone or side by side.
fn no_tape(plan: &Plan, at: &ScaleOutcome, strips: &[Strip]) -> Vec<Finding> {
    let mut seen: Vec<f64> = Vec::new();
    let mut findings = Vec::new();
    for strip in strips {
        let wanted = strip.wanted.to_mm();
        if is_near(strip.together.to_mm(), wanted) || seen.iter().any(|other| (other - wanted).abs() < 1e-6) {
            continue;
        }
        seen.push(wanted);
        let marking = &plan.markings[strip.marking.0];
        let stock = || plan.films.tape.widths.iter().map(|width| width.to_mm());
        let below = stock().rfind(|width| *width < wanted);
        let above = stock().find(|width| *width > wanted);
        let said = |width: f64| {
            let off = width - wanted;
            let full = short(off.abs() * at.scale.denominator(), 0);
            let sense = if off < 0.0 { "narrow" } else { "wide" };
            format!(
                "{} mm is {} mm too {sense} ({full} mm at full size)",
                short(width, 2),
                short(off.abs(), 2)
            )
        };
        let nearest: Vec<String> = [below, above].into_iter().flatten().map(said).collect();
        findings.push(Finding {
            code: Code::NoTape,
            severity: Severity::Warning,
            text: format!(
                "`{}` wants tape {} mm wide, and none is in stock: {}",
                marking.name,
                short(wanted, 2),
                nearest.join(", ")
            ),
            help: "lay the nearest, stock the width under `films: {tape: {widths: [...]}}`, \
                   or make it as a decal or mask"
                .to_owned(),
            at: marking.draw_at.clone(),
        });
    }
    findings
}
