//! The placement guide: steps in order, each piece with where it goes, cautions where they belong.

use super::{anchor, choose, said};
use crate::flow::{Outcome, Piece, ScaleOutcome, Verdict};
use crate::report::guide::{Does, Step, steps};
use crate::report::text::count;
use crate::report::whereabouts::Whereabouts;
use crate::report::{sentence, tally};
use maud::{Markup, html};

/// `None` where there is nothing to do.
pub fn guide(outcome: &Outcome, at: &ScaleOutcome) -> Option<Markup> {
    let parts: Vec<Whereabouts> = (0..at.parts.len()).map(|k| Whereabouts::new(at, k)).collect();
    let steps = steps(outcome, at);
    let whole = html! {
        section.guide id=(anchor::guide(at.scale)) {
            h3 { "Order of work at " (at.scale.to_string()) }
            p.which {
                "Left and right are the part's own: stand behind it and look forward. Lengths are measured \
                 straight, as a rule or caliper does, not over the curve. The hold point lies between the two \
                 ticks on the edge of the piece, on the line that its triangle points along; it goes down first."
            }
            ol {
                @for step in &steps {
                    li {
                        b { (title(outcome, at, step)) }
                        ul {
                            @for alike in &step.pieces {
                                li data-is=(choose::is(*alike)) { (entry(outcome, at, &parts, alike)) }
                            }
                        }
                        @for caution in &step.cautions { p.caution { b { "Mind: " } (caution) } }
                    }
                }
            }
        }
    };
    (!steps.is_empty()).then_some(whole)
}

fn title(outcome: &Outcome, at: &ScaleOutcome, step: &Step) -> Markup {
    html! {
        @match step.does {
            Does::Spray { sheet } => {
                @let kept = outcome.sheets_for(at).nth(sheet);
                "Spray"
                @if let Some(colour) = kept.and_then(|kept| kept.sheet.colour).map(|colour| &outcome.plan.colours[colour.0]) {
                    " " (said(&colour.name))
                    @if let Some(paint) = &colour.paint { " (" (said(paint)) ")" }
                }
                @if let Some(kept) = kept {
                    " through " a href={ "#" (anchor::sheet(kept.home, kept.index)) } { (said(&kept.sheet.stem)) }
                }
            },
            Does::Mask => { "Spray through the masks" },
            Does::Tape => { "Stick the tape" },
            Does::Decals { layer: 0 } => { "Lay the decals" },
            Does::Decals { .. } => { "Lay the decals that go over others" },
        }
    }
}

fn entry(outcome: &Outcome, at: &ScaleOutcome, parts: &[Whereabouts], alike: &[Piece]) -> Markup {
    let piece = &alike[0];
    let marking = &outcome.plan.markings[piece.marking.0];
    html! {
        a href={ "#" (anchor::piece(at.scale, piece.number)) } {
            (tally::numbers(alike)) " " (said(&marking.name))
            @if let Some(section) = piece.section { " " (section.letter()) }
        }
        " on " a href={ "#" (anchor::part(at.scale, piece.part)) } { (said(&outcome.plan.parts[piece.part.0].name)) }
        @let [wanted, spare] = tally::wanted_and_spare(&outcome.plan, alike);
        @if wanted > 1 { " (" (wanted) " copies, each to a part of its own)" }
        @if spare > 0 { " (" (count(spare, "spare")) " in case one is spoilt)" }
        ". "
        @if let Some(relief) = &piece.fit.relief { "First cut the " (sentence::cuts(relief)) ". " }
        (said(&parts[piece.part.0].words(&outcome.plan, piece)))
        @if piece.verdict != Verdict::Fits { " " strong { (said(&sentence::verdict(outcome, at.scale, piece))) } }
        @if let Some(note) = &marking.note { " " (said(note)) }
    }
}
