//! One piece, or several copies of it: verdict, pictures, numbers, findings.

use super::overview::badge;
use super::{anchor, choose, findings, said};
use crate::flow::{Kept, Outcome, Piece, Plan, ScaleOutcome};
use crate::outline::number::{said_factor, said_mm, said_mm_down, said_share, short};
use crate::report::picture::camera::best_straight;
use crate::report::picture::onpart::{Extent, gain, on_part};
use crate::report::picture::{flat, strain};
use crate::report::sentence;
use crate::report::tally;
use crate::report::text::count;
use crate::units::{Length, Size, World};
use maud::{Markup, PreEscaped, html};
use std::collections::BTreeMap;

/// Room for a picture on A4 between the report's margins, mm.
const PAPER: f64 = 180.0;

/// A close view is shown where it is so many times larger than the whole part.
const WORTH: f64 = 1.5;

/// The card of pieces that differ in number only; nothing for none.
pub fn card(outcome: &Outcome, at: &ScaleOutcome, alike: &[Piece], homes: &BTreeMap<u32, u32>) -> Markup {
    let Some((piece, copies)) = alike.split_first() else { return html! {} };
    let marking = &outcome.plan.markings[piece.marking.0];
    let says = sentence::verdict(outcome, at.scale, piece);
    html! {
        article.card id=(anchor::piece(at.scale, piece.number)) data-is=(choose::is(alike)) {
            div.words {
                @for copy in copies { span id=(anchor::piece(at.scale, copy.number)) {} }
                h4 { (said(&marking.name)) " " (badge(piece.verdict)) }
                p.which {
                    @if copies.is_empty() { "Piece " } @else { "Pieces " }
                    b { (tally::numbers(alike)) }
                    @if let Some(section) = piece.section { ", section " (section.letter()) " of " (section.of) }
                    ", " (piece.make.word()) " for " (said(&outcome.plan.parts[piece.part.0].name)) " at "
                    (at.scale.to_string())
                    @let [wanted, spare] = tally::wanted_and_spare(&outcome.plan, alike);
                    @if wanted > 1 { ", " (wanted) " copies" }
                    @if spare > 0 { ", " (count(spare, "spare")) }
                }
                p.sentence { (said(&says)) " " (said(&sentence::lies(piece))) }
                @if let Some(note) = &marking.note { p.note { (said(note)) } }
                (findings::of_alike(alike))
                (numbers(outcome, at, piece))
                (places(outcome, at, alike, homes))
            }
            div.pictures { (pictures(outcome, at, piece, &says)) }
        }
    }
}

fn pictures(outcome: &Outcome, at: &ScaleOutcome, piece: &Piece, says: &str) -> Markup {
    let plan = &outcome.plan;
    let name = &plan.markings[piece.marking.0].name;
    let title = |what: &str| format!("{name}, {what}. {says}");
    let on = |camera: &_, extent, what: &str| on_part(plan, at, piece, camera, extent, &title(what));
    let straight = best_straight(&piece.fit.film);
    // The part's own picture, above the cards, shows as much of a piece that fills it.
    let close = (gain(at, piece, &straight) > WORTH).then(|| {
        let what = format!("close up, seen from the {}", straight.name);
        (on(&straight, Extent::Close, &what), capital(&what))
    });
    let give = strain::strain(plan, piece, &title("how far the film gives"));
    let others = close.into_iter().chain([(give, "How far the film gives".to_owned())]);
    html! {
        (flat_piece(plan, piece, &title("the flat piece")))
        @for (picture, caption) in others {
            @if let Some(picture) = picture {
                figure { (PreEscaped(picture)) figcaption { (caption) } }
            }
        }
    }
}

/// The flat piece, true to size where that is asked for and paper has room.
fn flat_piece(plan: &Plan, piece: &Piece, title: &str) -> Markup {
    let width = flat::true_width(plan, piece);
    let fits = width <= PAPER;
    html! {
        figure.flat style=[fits.then(|| format!("--true:{}mm", short(width, 2)))] {
            (PreEscaped(flat::flat(plan, piece, title)))
            figcaption {
                "The flat piece"
                @if fits {
                    label.true { input type="checkbox"; " true to size, once printed" }
                } @else { "; wider than paper, true to size on its sheets" }
            }
        }
    }
}

fn numbers(outcome: &Outcome, at: &ScaleOutcome, piece: &Piece) -> Markup {
    let fit = &*piece.fit;
    let strain = &fit.strain;
    let measured =
        outcome.plan.parts[piece.part.0].measured.iter().any(|measured| measured.scale == at.scale);
    let mut rows = vec![
        (
            if fit.artwork.repeat.is_some() { "One repeat, full size" } else { "Full size" },
            size(piece.full_size, 1),
        ),
        ("At model size", size(fit.size, 2)),
        ("Laid", outcome.plan.markings[piece.marking.0].lay.word().to_owned()),
    ];
    if let Some(run) = fit.run {
        rows.push(("Run, length × width", size(run, 2)));
    }
    if !fit.past.is_empty() {
        let over = fit.overhang.to_mm();
        rows.push(("Overhang", format!("{}, {} of its area", said_mm(over), said_share(fit.overhang_share))));
    }
    if fit.largest_fit < 4.0 {
        rows.push(("Largest fit", said_factor(fit.largest_fit)));
    }
    if let Some(length) = fit.largest_length {
        rows.push(("Largest length, at this width", said_mm_down(length.to_mm())));
    }
    if let Some(seam) = &fit.seam {
        let gap = seam.gap.to_mm();
        let word = if gap < 0.0 { "lap" } else { "gap" };
        rows.push((
            "At the seam",
            if gap == 0.0 { "its ends meet".to_owned() } else { format!("{} {word}", said_mm(gap.abs())) },
        ));
    }
    if measured {
        rows.push(("Effective scale, by calipers", piece.effective_scale.to_string()));
    }
    if !sentence::unstrained(piece) {
        let worst = format!("{} / {}", said_share(strain.stretch_max), said_share(-strain.squeeze_max));
        rows.push(("Stretch / squeeze, at the worst place", worst));
    }
    if let Some(relief) = &fit.relief {
        rows.push(("Relief cuts", sentence::cuts(relief)));
        let both = |f: fn(&crate::flow::Strain) -> f64| {
            format!("{} / {}", said_share(f(strain)), said_share(f(&relief.strain)))
        };
        rows.push(("Squeeze of 99 % of the film, uncut / cut", both(|strain| -strain.squeeze_p99)));
        rows.push(("Stretch of 99 % of the film, uncut / cut", both(|strain| strain.stretch_p99)));
    }
    html! {
        dl { @for (term, value) in rows { div { dt { (term) } dd { (value) } } } }
    }
}

/// Where the pieces lie on the part and on the sheets.
fn places<'a>(
    outcome: &'a Outcome,
    at: &'a ScaleOutcome,
    alike: &'a [Piece],
    homes: &BTreeMap<u32, u32>,
) -> Markup {
    let lying = |piece: &'a Piece| outcome.sheets_with(at, piece.number).map(|kept| (piece.number, kept));
    let all: Vec<(u32, Kept)> = alike.iter().flat_map(lying).collect();
    let part = alike[0].part;
    let home = homes.get(&alike[0].number);
    html! {
        p.places {
            @if let Some(home) = home {
                "On the part: "
                a href={ "#" (anchor::laid(at.scale, *home)) } { (said(&outcome.plan.parts[part.0].name)) }
                ". "
            }
            @if !all.is_empty() {
                "On the sheet: "
                @for (k, (number, kept)) in all.iter().enumerate() {
                    @if k > 0 { ", " }
                    a href={ "#" (anchor::spot(kept.home, kept.index, *number)) } { "no. " (number) " on " (said(&kept.sheet.stem)) }
                }
                "."
            }
        }
    }
}

fn size<W: World>(size: Size<W>, decimals: usize) -> String {
    let side = |length: Length<W>| short(length.to_mm(), decimals);
    format!("{} × {} mm", side(size.width), side(size.height))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
