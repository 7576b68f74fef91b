//! report.html: one file that a modeller opens at the bench, with no network. All of it works
//! without the script, which only turns the parts.
//!
//! The order in which it is read: the title and the count, every marking across
//! the scales, then scale by scale the parts with all that lies on them, the
//! order of work, the pieces as cards and the sheets they are on, then the
//! cautions. Cells, parts, cards and sheet pictures lead to each other as plain
//! anchors. Spec text is escaped by the writer, stripped of steering
//! characters, and set apart from the line's direction. Left out: dates and
//! versions, so that the same spec gives the same bytes.

mod anchor;
mod card;
mod choose;
mod findings;
mod guide;
mod overview;
mod parts;
mod share;
mod sheets;
mod turn;

use super::tally;
use super::text::plain;
use crate::flow::{Home, Outcome, ScaleOutcome};
use maud::{DOCTYPE, Markup, PreEscaped, html};

use parts::Page;

const STYLE: &str = include_str!("style.css");

/// The whole page.
pub fn html(outcome: &Outcome) -> String {
    let title = &outcome.plan.title;
    let parts = Page::new(outcome);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (plain(title)) " – markloft report" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                a.skip href="#overview" { "To the verdicts" }
                header {
                    p.kind { "Markings report · " (said(&outcome.plan.name)) }
                    h1 { (said(title)) }
                    p.tally { (tally::whole(outcome)) "." }
                    nav aria-label="Parts of this report" {
                        a href="#overview" { "Across scales" }
                        @for at in &outcome.scales {
                            a href={ "#" (anchor::scale(at.scale)) } { (at.scale.to_string()) }
                        }
                        @if !outcome.together.sheets.is_empty() {
                            a href={ "#" (anchor::sheets(Home::Together)) } { "Shared sheets" }
                        }
                        a href="#cautions" { "Cautions" }
                    }
                }
                main {
                    (overview::overview(outcome))
                    @for (k, at) in outcome.scales.iter().enumerate() { (scale(outcome, k, at, &parts)) }
                    (sheets::shared(outcome))
                    (cautions())
                }
                footer { p { "Lengths are millimetres at model size unless they say full size." } }
                (share::marks(outcome))
                (parts.turns.script())
            }
        }
    };
    share::shared(&page.into_string())
}

/// Everything at one scale.
fn scale(outcome: &Outcome, index: usize, at: &ScaleOutcome, parts: &Page) -> Markup {
    let name = at.scale.to_string();
    let homes = parts.homes(index);
    let guide = guide::guide(outcome, at);
    html! {
        section.scale id=(anchor::scale(at.scale)) {
            h2 { "At " (name) }
            p.tally { (tally::scale(outcome, at)) "." }
            nav aria-label={ "What there is at " (name) } {
                @for (part, of) in parts.named(index) { a href={ "#" (anchor::part(at.scale, part)) } { (said(of)) } }
                @if guide.is_some() { a href={ "#" (anchor::guide(at.scale)) } { "Order of work" } }
                @if !at.pieces.is_empty() { a href={ "#" (anchor::pieces(at.scale)) } { "Pieces" } }
                @if !at.sheets.is_empty() { a href={ "#" (anchor::sheets(Home::Scale(at.scale))) } { "Sheets" } }
                @if outcome.sheets_for(at).any(|kept| kept.home == Home::Together) {
                    a href={ "#" (anchor::sheets(Home::Together)) } { "Shared sheets" }
                }
            }
            (findings::list(&at.findings))
            (parts.parts(outcome, index))
            @if let Some(guide) = guide { (guide) }
            @if !at.pieces.is_empty() { h3 id=(anchor::pieces(at.scale)) { "The pieces at " (name) } }
            (choose::index(at))
            @for alike in tally::alike(&at.pieces) { (card::card(outcome, at, alike, &homes)) }
            (sheets::of_scale(outcome, at))
        }
    }
}

/// Text from a spec: escaped, without steering characters, its direction its own. A number keeps its unit.
fn said(text: &str) -> Markup {
    let bound = plain(text).replace(" mm", "\u{a0}mm").replace(" %", "\u{a0}%");
    html! { bdi { (bound) } }
}

/// What every report says about work at the bench. Common practice, no source.
fn cautions() -> Markup {
    html! {
        section #cautions {
            h2 { "Cautions" }
            ul.cautions {
                li { b { "Try a spare first. " } "The limits for how far films stretch and squeeze are common practice, \
                     not measurements of yours. Lay a spare piece, or a corner of one, before the real one." }
                li { b { "Print at 100 %. " } "Measure both check bars on the sheet with a ruler before anything is cut." }
                li { b { "Blades. " } "Cut away from your fingers, on a mat, with a fresh blade; a blunt one slips." }
                li { b { "Solvents and setting fluids. " } "Air the room, keep them from flames and children, try them on \
                     scrap plastic: some soften it." }
                li { b { "Spray. " } "Wear a mask made for paint mist, in a booth or with the air drawn off." }
                li { b { "Makers' instructions " } "for film, fluids and paints come before anything said here." }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::fixture;
    use super::*;
    use std::sync::Arc;

    #[test]
    fn the_page_asks_for_nothing_and_runs_its_own_script_only() {
        let page = html(&fixture::three_scales());
        // The one address is the name of the SVG namespace, which is never fetched.
        let mut rest = page.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
        assert_eq!(rest.matches("<script").count(), 2, "the bodies and what turns them");
        // Base64 has slashes of its own.
        let bodies = rest.find("<script id=\"bodies\"").unwrap();
        let end = bodies + rest[bodies..].find("</script>").unwrap();
        rest.replace_range(bodies..end, "");
        for asked in [
            "http:",
            "https:",
            "//",
            "<link",
            "<img",
            "<iframe",
            "@import",
            "url(",
            "onload=",
            "onclick=",
            "onerror=",
            "javascript:",
        ] {
            let hit = rest.find(asked).map(|at| &rest[at.saturating_sub(40)..]);
            assert_eq!(hit, None, "{asked}");
        }
    }

    #[test]
    fn hostile_text_is_shown_as_text() {
        let mut outcome = fixture::outcome();
        let plan = Arc::make_mut(&mut outcome.plan);
        plan.title = "<script>alert(1)</script> שלום 🚁 \u{202e}gnp\u{7}".into();
        plan.markings[0].name = "\"><svg onload=x>".into();
        plan.parts[0].limits[0].name = "</svg><b>".into();
        outcome.scales[0].parts = outcome.plan.parts.clone();
        outcome.scales[0].sheets[0].stem = "a\"b".into();
        let page = html(&outcome);
        assert!(
            !page.contains("<script>alert") && !page.contains("<svg onload") && !page.contains("</svg><b>")
        );
        assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt; שלום 🚁 \\u{202e}gnp\\u{7}"));
        assert!(!page.contains('\u{202e}') && !page.contains('\u{7}'));
    }

    #[test]
    fn every_link_within_the_page_leads_somewhere_and_no_place_is_named_twice() {
        let page = html(&fixture::three_scales());
        let cut = |key: &str| -> Vec<String> {
            page.split(key).skip(1).map(|rest| rest.split('"').next().unwrap().to_owned()).collect()
        };
        let mut ids = cut(" id=\"");
        let links = cut("href=\"#");
        assert!(links.len() >= 39, "{}", links.len());
        for link in &links {
            assert!(ids.contains(link), "#{link} leads nowhere");
        }
        let before = ids.len();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), before, "an id twice");
    }

    #[test]
    fn every_picture_says_its_verdict() {
        let page = html(&fixture::outcome());
        let pictures: Vec<&str> = page.split("<svg").skip(1).collect();
        assert!(pictures.len() >= 9, "{}", pictures.len());
        // What pictures share is shown nowhere by itself.
        for picture in pictures.iter().filter(|picture| !picture.starts_with(" class=\"shared\"")) {
            let title = picture.split("<title>").nth(1).unwrap().split("</title>").next().unwrap();
            let says = ["Fits its part", " too long, ", "past visor-edge: ", "2 fit, 1 to trim, 1 oversize"];
            assert!(says.iter().any(|verdict| title.contains(verdict)), "{title}");
        }
    }

    #[test]
    fn headings_come_in_order() {
        let page = html(&fixture::three_scales());
        let levels: Vec<u32> = page
            .match_indices("<h")
            .filter_map(|(at, _)| page[at + 2..].chars().next()?.to_digit(10))
            .collect();
        assert_eq!(levels[0], 1);
        assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
    }
}
