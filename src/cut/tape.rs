//! Which strips of stock tape a marking takes, how long, how many, how their ends are cut.
//!
//! A stripe, a band or a rectangle is laid in strips of its own colours; of
//! checks, tape makes the field's edges, put down as masks. A strip's length is
//! the flat area of its colour over its width, which is the length of its middle
//! line wherever it lies. Left out: strips side by side to make a wider one.

use super::helix;
use crate::flow::{
    Climb, Code, ColourId, Draw, Finding, Helix, Lay, Line, Make, Piece, Plan, ScaleOutcome, Severity, Shape,
    Strip, Turns,
};
use crate::outline::number::short;
use crate::units::{Angle, Length, Model};
use std::f64::consts::PI;

/// Tape this near the wanted width passes for it, mm, or share of the width where that is more.
/// Common practice, no source.
const NEAR: (f64, f64) = (0.1, 0.05);

/// Every strip of one scale, and what no tape in stock can do, with the index of the first piece it is about.
pub fn strips(plan: &Plan, at: &ScaleOutcome) -> (Vec<Strip>, Vec<(usize, Finding)>) {
    let mut strips = Vec::new();
    let mut findings = Vec::new();
    let mut first = 0;
    for copies in at.pieces.chunk_by(|a, b| a.marking == b.marking && a.make == b.make) {
        if copies[0].make == Make::Tape {
            let of_marking = of_marking(plan, at, copies);
            findings.extend(no_tape(plan, at, &of_marking).into_iter().map(|finding| (first, finding)));
            strips.extend(of_marking);
        }
        first += copies.len();
    }
    (strips, findings)
}

/// How far the nearest width in stock is from this one, or `None` where nothing is near enough or in stock.
pub fn stocked(plan: &Plan, wanted: f64) -> Option<f64> {
    let near = NEAR.0.max(NEAR.1 * wanted);
    nearest(plan, wanted).filter(|width| (width - wanted).abs() <= near)
}

fn nearest(plan: &Plan, wanted: f64) -> Option<f64> {
    let off = |width: &f64| (width - wanted).abs();
    plan.films.tape.widths.iter().map(|width| width.to_mm()).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// One strip as the marking has it, mm.
struct Want {
    colour: Option<ColourId>,
    what: &'static str,
    width: f64,
    length: f64,
}

fn wanted(plan: &Plan, piece: &Piece) -> Vec<Want> {
    let artwork = &piece.fit.artwork;
    let size = piece.fit.run.unwrap_or(piece.fit.size);
    let (long, across) = (size.width.to_mm(), size.height.to_mm());
    let shares: Vec<f64> = match &plan.markings[piece.marking.0].draw {
        Draw::Band { widths, .. } => {
            let all: f64 = widths.iter().map(|width| width.to_mm()).sum();
            widths.iter().map(|width| width.to_mm() / all).collect()
        }
        Draw::Stripe { colours, .. } => vec![1.0 / colours.len() as f64; colours.len()],
        Draw::Checks { columns, .. } => return edges(plan, long, across, columns.is_some()),
        _ => {
            // A rectangle's strip runs along its longer side.
            let (width, length) = (long.min(across), long.max(across));
            let colour = artwork.areas.first().map(|area| area.colour);
            return vec![Want { colour, what: "rectangle", width, length }];
        }
    };
    let strip = |(share, area): (&f64, &crate::flow::Area<Model>)| {
        let width = across * share;
        Want { colour: Some(area.colour), what: "stripe", width, length: area.outline.area().abs() / width }
    };
    shares.iter().zip(&artwork.areas).map(strip).collect()
}

/// The edges of a field of checks: tape that masks them, the narrowest there is, for it bends best.
fn edges(plan: &Plan, long: f64, across: f64, has_ends: bool) -> Vec<Want> {
    let Some(width) = plan.films.tape.widths.first().map(|width| width.to_mm()) else { return Vec::new() };
    let edge = |length: f64| Want { colour: None, what: "edge", width, length };
    let ends = if has_ends { vec![edge(across), edge(across)] } else { Vec::new() };
    [edge(long), edge(long)].into_iter().chain(ends).collect()
}

fn of_marking(plan: &Plan, at: &ScaleOutcome, copies: &[Piece]) -> Vec<Strip> {
    let piece = &copies[0];
    let marking = &plan.markings[piece.marking.0];
    let winding = match &marking.lay {
        Lay::Follow(Line::Helix(helix)) => rod(plan, at, piece, helix).map(|rod| (helix, rod)),
        _ => None,
    };
    let trim = plan.films.tape.trim;
    let strip = |want: Want| {
        let width = nearest(plan, want.width).unwrap_or(want.width);
        let turns = winding.map(|(helix, rod)| turns(helix, rod, width, want.length));
        let slant = match (&marking.lay, turns) {
            (Lay::Follow(Line::Helix(helix)), Some(turns)) if helix.flush => turns.rise,
            _ => Angle::degrees(90.0),
        };
        Strip {
            pieces: copies.iter().map(|piece| piece.number).collect(),
            marking: piece.marking,
            colour: want.colour,
            what: want.what.to_owned(),
            wanted: Length::mm(want.width),
            width: Length::mm(width),
            length: Length::mm(want.length),
            cut_length: Length::mm(want.length) + trim * 2.0,
            ends: [slant, slant],
            helix: turns,
        }
    };
    wanted(plan, piece).into_iter().map(strip).collect()
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

/// One finding for each width that nothing in stock comes near to.
fn no_tape(plan: &Plan, at: &ScaleOutcome, strips: &[Strip]) -> Vec<Finding> {
    let mut seen: Vec<f64> = Vec::new();
    let mut findings = Vec::new();
    for strip in strips {
        let wanted = strip.wanted.to_mm();
        if stocked(plan, wanted).is_some() || seen.iter().any(|other| (other - wanted).abs() < 1e-6) {
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
