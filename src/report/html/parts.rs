//! The parts with everything that lies on them, from a corner and from the sides where film is seen.

use super::turn::Turns;
use super::{anchor, choose, said};
use crate::flow::{Outcome, PartId, ScaleOutcome, View};
use crate::report::picture::camera::Camera;
use crate::report::picture::sheet::Link;
use crate::report::picture::whole::{LARGE, Occupied, SMALL, Share, Spot};
use crate::report::sentence;
use crate::report::tally;
use crate::report::text::{count, plain};
use maud::{Markup, PreEscaped, html};
use std::collections::{BTreeMap, BTreeSet};

/// The straight views a modeller is shown, where there is film to see; from below and behind only what none
/// of these shows.
const VIEWS: [View; 4] = [View::Left, View::Right, View::Top, View::Front];

/// A picture's text says each verdict of up to so many places: nobody listens to hundreds.
const SAID: usize = 12;

/// The parts of a whole page.
pub struct Page<'a> {
    /// By scale.
    pub each: Vec<Vec<Occupied<'a>>>,
    pub turns: Turns,
}

impl<'a> Page<'a> {
    pub fn new(outcome: &'a Outcome) -> Self {
        let each: Vec<_> = outcome.scales.iter().map(|at| Occupied::all(&outcome.plan, at)).collect();
        let turns = Turns::new(&each);
        Self { each, turns }
    }

    /// The piece under whose number each piece of a scale is found on its part.
    pub fn homes(&self, scale: usize) -> BTreeMap<u32, u32> {
        let all = self.each[scale].iter().flat_map(|part| &part.spots);
        all.flat_map(|spot| spot.pieces.iter().map(|piece| (piece.number, spot.first().number))).collect()
    }

    /// The parts that something lies on at a scale, with their names.
    pub fn named(&self, scale: usize) -> impl Iterator<Item = (PartId, &'a str)> {
        self.each[scale].iter().map(|each| (each.part, &*each.plan.parts[each.part.0].name))
    }

    /// The parts at a scale.
    pub fn parts(&self, outcome: &Outcome, scale: usize) -> Markup {
        html! {
            @if !self.each[scale].is_empty() {
                h3 { "On the parts at " (outcome.scales[scale].scale.to_string()) }
                @for part in &self.each[scale] { (self.one(outcome, scale, part)) }
            }
        }
    }

    fn one(&self, outcome: &Outcome, scale: usize, part: &Occupied) -> Markup {
        let at = part.at;
        let name = &part.plan.parts[part.part.0].name;
        let spots = &part.spots;
        let drawn_at =
            self.each[..scale].iter().flatten().find(|other| other.part == part.part && other.alike(part));
        // Each spot is named where it is seen first.
        let mut named = BTreeSet::new();
        let verdicts = verdicts(outcome, at, spots);
        let picture = |camera: &Camera, look, view: &str, named: &mut BTreeSet<usize>| {
            let id = anchor::drawn(drawn_at.map_or(at.scale, |other| other.at.scale), part.part, view);
            let share = if drawn_at.is_some() { Share::Again(&id) } else { Share::First(&id) };
            let link = |k: usize| link(outcome, at, &spots[k], named.insert(k));
            part.picture(camera, look, &format!("{name}, {}. {verdicts}", camera.name), share, link)
        };
        // Alike or not, what the corner view shows best is asked once: the picture is shared.
        let corner = drawn_at.unwrap_or(part).corner();
        let large = picture(&corner, LARGE, "corner", &mut named);
        let straight = |view: View, named: &mut BTreeSet<usize>| {
            (view, picture(&Camera::straight(view), SMALL, view.word(), named))
        };
        let mut views: Vec<(View, Option<String>)> = VIEWS.map(|view| straight(view, &mut named)).into();
        for view in [View::Bottom, View::Rear] {
            if named.len() < spots.len() {
                views.push(straight(view, &mut named));
            }
        }
        let blank: Vec<&str> =
            views.iter().filter(|(_, drawn)| drawn.is_none()).map(|(view, _)| view.word()).collect();
        html! {
            article.part id=(anchor::part(at.scale, part.part)) {
                h4 { (said(name)) }
                ul.on {
                    @for (k, spot) in spots.iter().enumerate() {
                        // What is seen from nowhere is found here.
                        li id=[(!named.contains(&k)).then(|| anchor::laid(at.scale, spot.first().number))]
                            data-is=(choose::is(spot.pieces.iter().copied())) {
                            (line(outcome, at, spot))
                        }
                    }
                }
                div.views {
                    @if let Some(large) = large {
                        figure.large {
                            (PreEscaped(large))
                            (self.turns.button(at.scale, part.part, name, &plain(&format!("{name}. {verdicts}"))))
                            figcaption { "From a corner: " (corner.name) }
                        }
                    }
                    @for (view, drawn) in views {
                        @if let Some(drawn) = drawn {
                            figure { (PreEscaped(drawn)) figcaption { (seen(view)) } }
                        }
                    }
                }
                @if !blank.is_empty() { p.which { "No film is seen from the " (listed(&blank)) "." } }
            }
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

/// What a picture of the whole part says: every verdict, or of many how many there are of each.
fn verdicts(outcome: &Outcome, at: &ScaleOutcome, spots: &[Spot]) -> String {
    if spots.len() > SAID {
        let pieces = spots.iter().flat_map(|spot| spot.pieces.iter().copied());
        return format!(
            "{} in {} places: {}.",
            count(pieces.clone().count(), "piece"),
            spots.len(),
            tally::verdicts(pieces)
        );
    }
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
