//! `artwork`: a picture at its size, its colours found among the spec's.

use super::super::artwork::{Pictures, key};
use super::super::lenient::May;
use super::super::mirror;
use super::super::words::Rgb;
use super::drawing::Paint;
use super::shown;
use crate::flow::{Area, Artwork, Colour, ColourId, Draw};
use crate::outline::picture::{Coloured, Picture, Side};
use crate::units::Full;
use std::collections::BTreeMap;
use std::sync::Arc;

pub fn artwork(
    paint: &Paint<'_>,
    drawn: &mirror::Artwork,
    marking: &mirror::Marking,
    pictures: &Pictures,
) -> Option<Draw> {
    let log = paint.log;
    let side = match (drawn.width.given, drawn.height.given) {
        (true, false) => paint.size(&drawn.width).map(|width| Side::Width(width.to_mm())),
        (false, true) => paint.size(&drawn.height).map(|height| Side::Height(height.to_mm())),
        (true, true) => {
            log.key(drawn.height.at, "`width` and `height` together", "give one: the other follows");
            None
        }
        (false, false) => {
            log.key(
                drawn.width.at,
                "the artwork has no size",
                "add `width: …` or `height: …`, as on the real thing",
            );
            None
        }
    };
    let picture = key(drawn).and_then(|key| pictures.get(&key));
    let colours = colours(paint, drawn, marking, picture);
    let (picture, side, colours) = (picture?, side?, colours?);
    let (areas, silhouette) = picture.set(side);
    Some(Draw::Artwork(Arc::new(Artwork { areas: joined(&colours, areas), silhouette, repeat: None })))
}

/// The spec's colour for each of the picture's.
fn colours(
    paint: &Paint<'_>,
    drawn: &mirror::Artwork,
    marking: &mirror::Marking,
    picture: Option<&Picture>,
) -> Option<Vec<ColourId>> {
    let log = paint.log;
    let mut palette = paint.palette.borrow_mut();
    let has = picture.map(|picture| picture.areas.iter().map(|(rgb, _)| *rgb).collect::<Vec<_>>());
    let named = |rgb: [u8; 3]| format!("\"{}\"", Colour::bare(rgb).hex());
    let listed = |has: &[[u8; 3]]| has.iter().take(12).map(|&rgb| named(rgb)).collect::<Vec<_>>().join(", ");
    let mut chosen: BTreeMap<[u8; 3], ColourId> = BTreeMap::new();
    for (hex, word) in drawn.colours.get().map_or(&[][..], |named| &named.0) {
        let id = word.get().and_then(|name| palette.find(log, &name.0, word.at));
        match (Rgb::hex(hex), &has) {
            (Some(Rgb(rgb)), Some(has)) if !has.contains(&rgb) => {
                let help = format!("it has {}", listed(has));
                log.key(word.at, format!("the artwork has no colour `{}`", shown(hex)), help);
            }
            (Some(Rgb(rgb)), _) => chosen.extend(id.map(|id| (rgb, id))),
            (None, _) => {
                let help = "write the file's colour by its digits: `{\"#c8321e\": rescue-red}`";
                log.key(word.at, format!("`{}` is no colour of a file", shown(hex)), help);
            }
        }
    }
    if marking.colours.given {
        let help = "say which is which: `artwork: {…, colours: {\"#c8321e\": rescue-red}}`";
        log.key(marking.colours.at, "an artwork brings colours of its own", help);
    }
    let has = has?;
    if let Some((word, at)) = one(&marking.colour) {
        let id = palette.find(log, word, at);
        if has.len() > 1 {
            let help =
                format!("give each its own under `artwork: {{…, colours: …}}`; it has {}", listed(&has));
            log.value(at, format!("one colour for an artwork of {}", has.len()), help);
        }
        return Some(vec![id?; has.len()]);
    }
    Some(has.iter().map(|rgb| chosen.get(rgb).copied().unwrap_or_else(|| palette.paint(*rgb))).collect())
}

fn one(colour: &May<super::super::words::Text>) -> Option<(&str, super::At)> {
    Some((colour.get()?.0.as_str(), colour.at))
}

/// Areas with their colours; two that are given one colour become one.
fn joined(colours: &[ColourId], areas: Coloured) -> Vec<Area<Full>> {
    let mut all: Vec<Area<Full>> = Vec::new();
    for (&colour, (_, outline)) in colours.iter().zip(areas) {
        match all.iter_mut().find(|area| area.colour == colour) {
            // Straight edges only: any tolerance flattens them exactly.
            Some(area) => {
                area.outline = area.outline.flattened(1.0).union(&outline.flattened(1.0)).to_outline()
            }
            None => all.push(Area { colour, outline }),
        }
    }
    all
}
