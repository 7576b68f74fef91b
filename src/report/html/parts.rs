//! The parts with everything that lies on them, from a corner and from the sides where film is seen.

use super::turn::Turns;
use super::{anchor, said};
use crate::flow::{Outcome, PartId, ScaleOutcome, View};
use crate::report::picture::camera::Camera;
use crate::report::picture::sheet::Link;
use crate::report::picture::whole::{LARGE, SMALL, Spot, corner, spots, whole};
use crate::report::sentence;
use crate::report::text::plain;
use maud::{Markup, PreEscaped, html};
use std::collections::BTreeSet;

/// The straight views a modeller is shown, where there is film to see; from below and behind only what none
/// of these shows.
const VIEWS: [View; 4] = [View::Left, View::Right, View::Top, View::Front];

pub fn parts(outcome: &Outcome, at: &ScaleOutcome, turns: &Turns) -> Markup {
    let each: Vec<(PartId, Vec<Spot>)> = (0..at.parts.len())
        .map(|k| (PartId(k), spots(&outcome.plan, at, PartId(k))))
        .filter(|(_, spots)| !spots.is_empty())
        .collect();
    html! {
        @if !each.is_empty() {
            h3 { "On the parts at " (at.scale.to_string()) }
            @for (part, spots) in &each { (one(outcome, at, *part, spots, turns)) }
        }
    }
}

fn one(outcome: &Outcome, at: &ScaleOutcome, part: PartId, spots: &[Spot], turns: &Turns) -> Markup {
    let plan = &outcome.plan;
    let name = &plan.parts[part.0].name;
    // Each spot is named where it is seen first.
    let mut named = BTreeSet::new();
    let picture = |camera: &Camera, look, named: &mut BTreeSet<usize>| {
        let title = format!("{name}, {}. {}", camera.name, verdicts(outcome, at, spots));
        let link = |k: usize| link(outcome, at, &spots[k], named.insert(k));
        whole(plan, at, part, spots, camera, look, &title, link)
    };
    let corner = corner(spots);
    let large = picture(&corner, LARGE, &mut named);
    let mut straight: Vec<(View, Option<String>)> =
        VIEWS.map(|view| (view, picture(&Camera::straight(view), SMALL, &mut named))).into();
    for view in [View::Bottom, View::Rear] {
        if named.len() < spots.len() {
            straight.push((view, picture(&Camera::straight(view), SMALL, &mut named)));
        }
    }
    let blank: Vec<&str> =
        straight.iter().filter(|(_, drawn)| drawn.is_none()).map(|(view, _)| view.word()).collect();
    html! {
        article.part id=(anchor::part(at.scale, part)) {
            h4 { (said(name)) }
            ul.on {
                @for (k, spot) in spots.iter().enumerate() {
                    // What is seen from nowhere is found here.
                    li id=[(!named.contains(&k)).then(|| anchor::laid(at.scale, spot.first().number))] {
                        (line(outcome, at, spot))
                    }
                }
            }
            div.views {
                @if let Some(large) = large {
                    figure.large {
                        (PreEscaped(large))
                        (turns.button(at.scale, part, &plain(&format!("{name}. {}", verdicts(outcome, at, spots)))))
                        figcaption { "From a corner: " (corner.name) }
                    }
                }
                @for (view, drawn) in straight {
                    @if let Some(drawn) = drawn {
                        figure { (PreEscaped(drawn)) figcaption { (seen(view)) } }
                    }
                }
            }
            @if !blank.is_empty() { p.which { "No film is seen from the " (listed(&blank)) "." } }
        }
    }
}

/// `1–2 crown-stripe: fits`, leading to the card.
fn line(outcome: &Outcome, at: &ScaleOutcome, spot: &Spot) -> Markup {
    let piece = spot.first();
    html! {
        a href={ "#" (anchor::piece(at.scale, piece.number)) } {
            (spot.numbers()) " " (said(&outcome.plan.markings[piece.marking.0].name))
            @if let Some(section) = piece.section { " " (section.letter()) }
        }
        ": " (said(&sentence::verdict(outcome, at.scale, worst(spot))))
    }
}

/// Of a decal and a mask in one place, the one with more to say.
fn worst<'a>(spot: &'a Spot) -> &'a crate::flow::Piece {
    spot.pieces
        .iter()
        .copied()
        .reduce(|a, b| if b.verdict > a.verdict { b } else { a })
        .unwrap_or(spot.first())
}

fn link(outcome: &Outcome, at: &ScaleOutcome, spot: &Spot, named: bool) -> Link {
    let piece = spot.first();
    let name = &outcome.plan.markings[piece.marking.0].name;
    Link {
        to: format!("#{}", anchor::piece(at.scale, piece.number)),
        id: if named { anchor::laid(at.scale, piece.number) } else { String::new() },
        label: format!("Piece {}, {name}: {}", spot.numbers(), worst(spot).verdict.word()),
    }
}

/// What a picture of the whole part says: every verdict.
fn verdicts(outcome: &Outcome, at: &ScaleOutcome, spots: &[Spot]) -> String {
    let each = spots.iter().map(|spot| {
        let piece = worst(spot);
        let name = &outcome.plan.markings[piece.marking.0].name;
        format!("{name}: {}", sentence::verdict(outcome, at.scale, piece))
    });
    each.collect::<Vec<_>>().join(" ")
}

const fn seen(view: View) -> &'static str {
    match view {
        View::Left => "Left side, front to the left",
        View::Right => "Right side, front to the right",
        View::Top => "From above, front to the left",
        View::Bottom => "From below, front to the left",
        View::Front => "From the front",
        View::Rear => "From the rear",
    }
}

fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} or the {last}", first.join(", ")),
    }
}
