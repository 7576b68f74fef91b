//! The verdict in a sentence that a modeller would say.
//!
//! "6.1 mm too long: trim at the rear rim, or print at 83 %, as for 1/58." Only
//! words for numbers that the fit and the checks settled; nothing is decided here.

use super::text::plain;
use crate::flow::{CutKind, Draw, Fit, Lies, Outcome, Piece, Relief, Verdict};
use crate::outline::number::short;
use crate::units::{Model, Scale};

/// Whether the piece is the right size, by how much not, and the ways out.
pub fn verdict(outcome: &Outcome, scale: Scale, piece: &Piece) -> String {
    let fit = &*piece.fit;
    match piece.verdict {
        Verdict::Fits => "Fits its part.".to_owned(),
        Verdict::Trim => {
            let mut ways = vec![format!("trim at {}", limits(fit))];
            ways.extend(smaller(scale, fit));
            format!("{}: {}.", excess(outcome, piece), ways.join(", or "))
        }
        Verdict::Oversize => {
            let ways: Vec<String> = shorter(fit).into_iter().chain(smaller(scale, fit)).collect();
            if ways.is_empty() {
                format!("{}: no smaller print fits where it is held, so move it.", excess(outcome, piece))
            } else {
                format!("{}: {}.", excess(outcome, piece), ways.join(", or "))
            }
        }
    }
}

/// How the film lies down.
pub fn lies(piece: &Piece) -> String {
    let strain = &piece.fit.strain;
    let gives = format!("stretch {}, squeeze {}", percent(strain.stretch_p99), percent(-strain.squeeze_p99));
    match piece.lies {
        Lies::Flat if strain.mean_abs == 0.0 => "Lies flat: the part unrolls exactly.".to_owned(),
        Lies::Flat if unstrained(piece) => "Lies flat, hardly strained.".to_owned(),
        Lies::Flat => format!("Lies flat as it is ({gives})."),
        Lies::Softened => format!("Lies down once softened or warmed ({gives})."),
        Lies::Cut => match &piece.fit.relief {
            Some(relief) => format!(
                "Lies down only with relief cuts ({gives}): {}, then softened or warmed (squeeze {}).",
                cuts(relief),
                percent(-relief.strain.squeeze_p99)
            ),
            None => format!("Lies down only with relief cuts ({gives})."),
        },
        Lies::No => format!("Will not lie down ({gives})."),
    }
}

/// `4 slits, lips lapping by up to 0.4 mm`.
pub fn cuts(relief: &Relief<Model>) -> String {
    let count = relief.cuts.len();
    let word = if relief.kind == CutKind::Slit { "slit" } else { "dart" };
    let many = if count == 1 { "" } else { "s" };
    let laps = relief.cuts.iter().map(|cut| cut.lap.to_mm());
    let (least, most) = laps.fold((0.0f64, 0.0f64), |(least, most), lap| (least.min(lap), most.max(lap)));
    let how = match relief.kind {
        CutKind::Slit if most > 0.0 => format!("lips lapping by up to {}", length(most)),
        CutKind::Slit => format!("lips gaping by up to {}", length(-least)),
        CutKind::Dart => format!("up to {} wide", length(most)),
        CutKind::Gore => format!("up to {} wide, so that petals are left", length(most)),
    };
    format!("{count} {word}{many}, {how}")
}

/// Whether all strains would be written as 0 %.
pub fn unstrained(piece: &Piece) -> bool {
    let strain = &piece.fit.strain;
    strain.stretch_max.max(-strain.squeeze_max) < 5e-4
}

/// `6.1 mm too long`, `6.1 mm past the rim`.
fn excess(outcome: &Outcome, piece: &Piece) -> String {
    let fit = &*piece.fit;
    let over = length(fit.overhang.to_mm());
    let stripe = matches!(outcome.plan.markings[piece.marking.0].draw, Draw::Stripe { .. });
    // A stripe that runs past a limit sideways is not too long.
    if stripe && (fit.trimmable || fit.largest_length.is_some()) {
        format!("{over} too long")
    } else {
        format!("{over} past {}", limits(fit))
    }
}

/// The limits run past, as one phrase.
fn limits(fit: &Fit<Model>) -> String {
    match &fit.past[..] {
        [] => "the limit".to_owned(),
        names => names.iter().map(|name| plain(name)).collect::<Vec<_>>().join(" and "),
    }
}

/// The stripe at true width that fits.
fn shorter(fit: &Fit<Model>) -> Option<String> {
    let longest = fit.largest_length.filter(|longest| longest.to_mm() > 0.0)?;
    Some(format!("make it {} long", length_down(longest.to_mm())))
}

/// The smaller print that fits, down to a whole per cent, so that the size named really does.
fn smaller(scale: Scale, fit: &Fit<Model>) -> Option<String> {
    let share = (fit.largest_fit * 100.0).floor() / 100.0;
    let way = || format!("print at {} %, as for {}", short(share * 100.0, 0), whole(scale.enlarged(share)));
    (0.01..1.0).contains(&share).then(way)
}

/// A scale to the nearest whole denominator where that is fine enough to print by.
fn whole(scale: Scale) -> String {
    let denominator = scale.denominator();
    format!("1/{}", short(denominator, if denominator >= 20.0 { 0 } else { 1 }))
}

/// Millimetres as a rule shows them, a tenth; a hundredth under one.
pub fn length(mm: f64) -> String {
    format!("{} mm", short(mm, if mm < 1.0 { 2 } else { 1 }))
}

/// The same, never more than the true length.
fn length_down(mm: f64) -> String {
    let unit = if mm < 1.0 { 100.0 } else { 10.0 };
    // A hair of slack: 9.6 is 95.99… tenths in binary.
    length((mm * unit + 1e-6).floor() / unit)
}

/// A share as per cent with one place: `1.8 %`.
pub fn percent(share: f64) -> String {
    format!("{} %", short(share * 100.0, 1))
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;
    use crate::units::Length;
    use std::sync::Arc;

    fn said(change: impl Fn(&mut Piece)) -> String {
        let mut outcome = fixture::outcome();
        change(&mut outcome.scales[0].pieces[1]);
        let piece = outcome.scales[0].pieces[1].clone();
        verdict(&outcome, Scale::one_to(48.0).unwrap(), &piece)
    }

    fn too_long(piece: &mut Piece) {
        let fit = Arc::make_mut(&mut piece.fit);
        fit.overhang = Length::mm(6.12);
        fit.largest_fit = 0.8349;
        fit.past = vec!["rear rim".into()];
    }

    #[test]
    fn as_a_modeller_would_say_it() {
        // 48/0.83 = 57.8, rounded as the trade writes scales.
        let trim = said(|piece| {
            too_long(piece);
            piece.verdict = Verdict::Trim;
        });
        assert_eq!(trim, "6.1 mm too long: trim at rear rim, or print at 83 %, as for 1/58.");
        let oversize = said(|piece| {
            too_long(piece);
            Arc::make_mut(&mut piece.fit).largest_length = Some(Length::mm(30.29));
            piece.verdict = Verdict::Oversize;
        });
        assert_eq!(oversize, "6.1 mm too long: make it 30.2 mm long, or print at 83 %, as for 1/58.");
        let nowhere = said(|piece| {
            too_long(piece);
            let fit = Arc::make_mut(&mut piece.fit);
            (fit.largest_fit, fit.largest_length) = (0.0, None);
            piece.verdict = Verdict::Oversize;
        });
        assert!(nowhere.contains("so move it"), "{nowhere}");
    }

    #[test]
    fn lengths_named_as_a_way_out_never_grow() {
        assert_eq!(
            [length_down(9.6), length_down(9.69), length_down(0.999)],
            ["9.6 mm", "9.6 mm", "0.99 mm"]
        );
    }
}
