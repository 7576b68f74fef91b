//! Strokes tried as hairlines before they are drawn.
//!
//! usvg works out what every stroke covers while it reads a file, in single
//! precision, and how far a line reaches is known only once transforms, views,
//! `use` and markers are resolved, which usvg does. So it reads the file with
//! strokes that cost nothing first, by style sheets of ours, and lines that reach
//! too far are refused. Left out: how wide strokes are told to be (`measure`).

use super::measure::MOST_STROKED;
use super::survey::Survey;
use super::{Face, Refused, text};
use usvg::roxmltree::Document;
use usvg::{Group, Node, Paint, Path};

/// Only strokes are left, all of them thin.
const HAIRLINES: &str = "*{stroke-width:1!important;fill:none!important}";
/// Markers grow with the line that they stand on: where they reach with its true width, told by a colour.
const MARKERS: &str = "marker *{stroke:none!important;fill:#010203!important}";
const OF_A_MARKER: usvg::Color = usvg::Color { red: 1, green: 2, blue: 3 };

/// Refuses lines with a stroke that reach too far.
pub fn strokes(xml: &Document<'_>, face: Option<&Face>, survey: &Survey<'_>) -> Result<(), Refused> {
    if !xml.input_text().contains("stroke") {
        return Ok(());
    }
    let hairline = |path: &Path| path.stroke().is_some();
    let of_a_marker = |path: &Path| {
        path.fill().is_some_and(|fill| matches!(fill.paint(), Paint::Color(colour) if *colour == OF_A_MARKER))
    };
    reach_within(HAIRLINES, &hairline, xml, face, survey)?;
    if xml.input_text().contains("marker") {
        reach_within(MARKERS, &of_a_marker, xml, face, survey)?;
    }
    Ok(())
}

fn reach_within(
    sheet: &str,
    counts: &dyn Fn(&Path) -> bool,
    xml: &Document<'_>,
    face: Option<&Face>,
    survey: &Survey<'_>,
) -> Result<(), Refused> {
    let options = usvg::Options { style_sheet: Some(sheet.to_owned()), ..text::options(face) };
    // What cannot be read is told when it is read for good.
    let Ok(tree) = usvg::Tree::from_xmltree(xml, &options) else { return Ok(()) };
    if reach(tree.root(), counts) > MOST_STROKED {
        let message = format!("a line with a stroke that reaches more than {MOST_STROKED} units out");
        let help = "bring the drawing to a usual size, or turn its strokes into shapes";
        return Err(Refused::new(survey.saying("stroke"), message, help));
    }
    Ok(())
}

/// How far out the paths that count reach, in their own units or in those of the page.
fn reach(group: &Group, counts: &dyn Fn(&Path) -> bool) -> f64 {
    let mut furthest = 0.0f64;
    for node in group.children() {
        match node {
            Node::Group(inner) => furthest = furthest.max(reach(inner, counts)),
            Node::Path(path) if counts(path) => {
                for bounds in [path.data().bounds(), path.abs_bounding_box()] {
                    for side in [bounds.left(), bounds.top(), bounds.right(), bounds.bottom()] {
                        furthest = furthest.max(f64::from(side.abs()));
                    }
                }
            }
            Node::Path(_) | Node::Image(_) | Node::Text(_) => {}
        }
        node.subroots(|inner| furthest = furthest.max(reach(inner, counts)));
    }
    furthest
}
