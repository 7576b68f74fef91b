//! The verdict in a sentence that a modeller would say.
//!
//! "6.1 mm past rear rim: trim at rear rim, or print at 83 %, as for 1/58." Only
//! words for numbers that the fit and the checks settled; nothing is decided here.

use super::text::plain;
use crate::flow::{CutKind, Draw, Fit, Lies, Outcome, Piece, Relief, Verdict};
use crate::outline::number::{listed, said_mm, said_share};
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
            let drawn_at = outcome.plan.markings[piece.marking.0].size_by.of(scale, piece.effective_scale);
            let shorter = fit.largest_length_said(drawn_at).map(|longest| format!("make it {longest}"));
            let ways: Vec<String> = shorter.into_iter().chain(smaller(scale, fit)).collect();
            if ways.is_empty() && fit.largest_fit >= 1.0 {
                format!("{}: make it a little smaller.", excess(outcome, piece))
            } else if ways.is_empty() {
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
    let gives =
        format!("stretch {}, squeeze {}", said_share(strain.stretch_p99), said_share(-strain.squeeze_p99));
    match piece.lies {
        Lies::Flat if strain.mean_abs == 0.0 => "Lies flat: the part unrolls exactly.".to_owned(),
        Lies::Flat if unstrained(piece) => "Lies flat, hardly strained.".to_owned(),
        Lies::Flat => format!("Lies flat as it is ({gives})."),
        Lies::Softened => format!("Lies down once softened or warmed ({gives})."),
        Lies::Cut => match &piece.fit.relief {
            Some(relief) => format!(
                "Lies down only with relief cuts ({gives}): {}, then softened or warmed (squeeze {}).",
                cuts(relief),
                said_share(-relief.strain.squeeze_p99)
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
        CutKind::Slit if most > 0.0 => format!("lips lapping by up to {}", said_mm(most)),
        CutKind::Slit => format!("lips gaping by up to {}", said_mm(-least)),
        CutKind::Dart => format!("up to {} wide", said_mm(most)),
        CutKind::Gore => format!("up to {} wide, so that petals are left", said_mm(most)),
    };
    format!("{count} {word}{many}, {how}")
}

/// Whether all strains are under 0.05 %.
pub fn unstrained(piece: &Piece) -> bool {
    let strain = &piece.fit.strain;
    strain.stretch_max.max(-strain.squeeze_max) < 5e-4
}

/// `2.1 mm too long, 1 mm past rim`, `6.1 mm past rim`.
fn excess(outcome: &Outcome, piece: &Piece) -> String {
    let fit = &*piece.fit;
    let past = format!("{} past {}", said_mm(fit.overhang.to_mm()), limits(fit));
    let is_stripe = matches!(outcome.plan.markings[piece.marking.0].draw, Draw::Stripe { .. });
    let length = fit.run.unwrap_or(fit.size).width;
    // What runs past at both ends is longer by both.
    let longer = fit.largest_length.filter(|_| is_stripe).map(|longest| (length - longest).to_mm());
    match longer.filter(|&longer| longer > 0.0) {
        Some(longer) => format!("{} too long, {past}", said_mm(longer)),
        None => past,
    }
}

/// The limits run past, as one phrase.
fn limits(fit: &Fit<Model>) -> String {
    match &fit.past[..] {
        [] => "the limit".to_owned(),
        names => listed(names.iter().map(|name| plain(name))),
    }
}

/// The smaller print that fits.
fn smaller(scale: Scale, fit: &Fit<Model>) -> Option<String> {
    fit.smaller_print(scale).map(|print| format!("print at {print}"))
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
        fit.largest_length = None;
    }

    #[test]
    fn as_a_modeller_would_say_it() {
        // 48/0.83 = 57.8, rounded up, so that it fits.
        let trim = said(|piece| {
            too_long(piece);
            piece.verdict = Verdict::Trim;
        });
        assert_eq!(trim, "6.1 mm past rear rim: trim at rear rim, or print at 83 %, as for 1/58.");
        let oversize = said(|piece| {
            too_long(piece);
            Arc::make_mut(&mut piece.fit).largest_length = Some(Length::mm(7.29));
            piece.verdict = Verdict::Oversize;
        });
        assert_eq!(
            oversize,
            "4.4 mm too long, 6.1 mm past rear rim: make it 349.9 mm long at full size (7.2 mm on the model), \
             or print at 83 %, as for 1/58."
        );
        let nowhere = said(|piece| {
            too_long(piece);
            let fit = Arc::make_mut(&mut piece.fit);
            (fit.largest_fit, fit.largest_length) = (0.0, None);
            piece.verdict = Verdict::Oversize;
        });
        assert!(nowhere.contains("so move it"), "{nowhere}");
    }
}
